package rules

import "strings"

// fillWords are the placeholders that are no quantity: the figure the student
// stated, the one that should stand there, and what the quantity is called.
var fillWords = []string{"stated", "expected", "quantity"}

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
		if v, ok := value(id); ok {
			b.WriteString(v)
		} else {
			whole = false
			b.WriteString("the " + strings.ReplaceAll(id, "_", " "))
		}
		s = s[i+j+1:]
	}
	b.WriteString(s)
	return b.String(), whole
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
