package rules

import "strings"

// fillWords are the placeholders that are no quantity.
//
//	stated       the figure the student states
//	expected     the one that should stand there
//	quantity     what the quantity is called
//	working      the student's expression
//	gives        what that comes to
//	written      the words of the line that are wrong
//	written_is   the quantity whose figure they are
//	due          the figure that belongs there, by name: "the length, 96 m,"
//	due_working  the working that belongs there
//	missing      what is left out
var fillWords = []string{"stated", "expected", "quantity", "working", "gives", "written", "written_is", "due", "due_working", "missing"}

// inGeneral stands in for a placeholder that has no figure, in a text of which
// no sentence could be filled.
var inGeneral = map[string]string{
	"stated": "the figure written", "expected": "the right figure", "quantity": "quantity",
	"working": "the working", "gives": "another figure", "written": "what is written", "written_is": "something else",
	"due": "the right figure", "due_working": "the right working", "missing": "a part of it",
}

// InGeneral is what a placeholder that is no quantity says where there is no
// script to fill it from.
func InGeneral(word string) (string, bool) {
	s, ok := inGeneral[word]
	return s, ok
}

// Fill puts figures into a template: {draught} becomes what value gives for
// "draught". A sentence with a placeholder that has no figure is left out, so
// that a template may say more where more is known; where no sentence is left,
// the placeholder's own words stand in for the figure ("the lost volume").
func Fill(tmpl string, value func(id string) (string, bool)) string {
	var out []string
	for _, s := range sentences(tmpl) {
		if text, whole := fillSentence(s, value); whole {
			out = append(out, text)
		}
	}
	if len(out) > 0 {
		return strings.Join(out, " ")
	}
	text, _ := fillSentence(tmpl, value)
	return text
}

// fillSentence fills one sentence and reports whether every placeholder had a figure.
func fillSentence(s string, value func(id string) (string, bool)) (string, bool) {
	var b strings.Builder
	whole := true
	for {
		i := strings.IndexByte(s, '{')
		if i < 0 {
			break
		}
		j := strings.IndexByte(s[i:], '}')
		if j < 0 {
			break
		}
		id := s[i+1 : i+j]
		b.WriteString(s[:i])
		v, ok := value(id)
		if !ok {
			whole = false
			if v, ok = inGeneral[id]; !ok {
				v = "the " + strings.ReplaceAll(id, "_", " ")
			}
		}
		if b.Len() == 0 && articled(v) {
			v = strings.ToUpper(v[:1]) + v[1:]
		}
		b.WriteString(v)
		s = s[i+j+1:]
	}
	b.WriteString(s)
	return b.String(), whole
}

// articled tells whether a filling begins with words, so that it takes a
// capital at the head of a sentence; a symbol or the student's own text does not.
func articled(s string) bool {
	return strings.HasPrefix(s, "the ") || strings.HasPrefix(s, "what ") || strings.HasPrefix(s, "another ")
}

// sentences cuts a text behind every full stop that a blank and a capital
// letter or a placeholder follow.
func sentences(s string) []string {
	var out []string
	from := 0
	for i := 0; i+2 < len(s); i++ {
		if s[i] == '.' && s[i+1] == ' ' && (s[i+2] >= 'A' && s[i+2] <= 'Z' || s[i+2] == '{') {
			out = append(out, s[from:i+1])
			from = i + 2
		}
	}
	return append(out, s[from:])
}

// placeholders lists the names in braces.
func placeholders(s string) []string {
	var out []string
	for {
		i := strings.IndexByte(s, '{')
		if i < 0 {
			return out
		}
		j := strings.IndexByte(s[i:], '}')
		if j < 0 {
			return out
		}
		out = append(out, s[i+1:i+j])
		s = s[i+j+1:]
	}
}
