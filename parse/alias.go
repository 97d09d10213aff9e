package parse

import (
	"regexp"
	"strings"
	"sync"
)

// symbolIs is a remark that says what the symbol at the head of its line
// stands for: "h = 1.306 m (h is GM)".
var symbolIs = sync.OnceValue(func() *regexp.Regexp {
	return regexp.MustCompile(`^[\s\-*•]*([A-Za-z]{1,3}\d?)\b.*=.*[(\[]\s*([A-Za-z]{1,3}\d?) (?:is|means|stands for) (?:the |our |your )?([A-Za-z][A-Za-z' ]*[A-Za-z])\s*[)\]]\s*\.?\s*$`)
})

// aliases finds the symbols of the student's own school that a script explains
// in such remarks, and the names that they stand for: capitals (GM) or several
// words. A symbol of two letters that the lexicon knows keeps its meaning.
func (r *scriptReader) aliases() map[string]string {
	var out map[string]string
	for i := r.first; i < len(r.texts); i++ {
		t := r.texts[i].text
		if len(t) > 300 || !strings.Contains(t, " is ") && !strings.Contains(t, " means ") && !strings.Contains(t, " stands for ") {
			continue
		}
		m := symbolIs().FindStringSubmatch(t)
		if m == nil || m[1] != m[2] || len(m[1]) > 1 && r.lines.known(m[1]) {
			continue
		}
		words := strings.Fields(m[3])
		for n := min(len(words), maxPhrase); n > 0; n-- {
			name := strings.Join(words[:n], " ")
			if n == 1 && (len(name) < 2 || len(name) > maxSymbol || name != strings.ToUpper(name)) || shares[lower(words[0])] || !r.lines.known(name) {
				continue
			}
			if out == nil {
				out = map[string]string{}
			}
			if _, told := out[m[1]]; !told {
				out[m[1]] = name
			}
			break
		}
	}
	return out
}

// shares are words that say how a figure is got from a quantity, not its name.
var shares = set("half twice same equal all still now just only less more")

// alias passes on a symbol that the script explains as the name it stands for.
func (w *wordPass) alias(t *token) bool {
	text, n := t.text, 1
	if d := w.peek(1); d.glued && d.kind == tNumber && len(d.text) == 1 {
		text, n = text+d.text, 2
	}
	name, ok := w.aliases[text]
	if !ok || w.strict || lower(w.peek(n).text) == "is" || lower(w.peek(n).text) == "means" || lower(w.peek(n).text) == "stands" {
		return false
	}
	w.put(tName, name, n)
	return true
}
