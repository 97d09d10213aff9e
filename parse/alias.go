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

// naming is a sentence in which a student says what a symbol is to stand for:
// "let x be the sinkage", "let the sinkage be x", "call the new draught x". In
// the first form more of them may follow: ", K the KB after bilging".
var naming = sync.OnceValue(func() [3]*regexp.Regexp {
	const symbol, words = `([A-Za-z]{1,2}\d?)`, `([A-Za-z][A-Za-z' -]*[A-Za-z])`
	return [...]*regexp.Regexp{
		regexp.MustCompile(`(?i:\blet) ` + symbol + ` (?:(?i:be|denote|stand for|represent)|=) (?:the |our )?` + words),
		regexp.MustCompile(`(?i:\blet) (?:the |our )?` + words + ` be ` + symbol + `\s*(?:[.,;:)]|$)`),
		regexp.MustCompile(`(?i:\bcall) (?:the |our )?` + words + ` ` + symbol + `\s*(?:[.,;:)]|$)`),
	}
})

// namedNext is a naming that goes on from the one before it.
var namedNext = sync.OnceValue(func() *regexp.Regexp {
	return regexp.MustCompile(`^,\s*(?:and )?([A-Za-z]{1,2}\d?) (?:be )?the ([A-Za-z][A-Za-z' -]*[A-Za-z])`)
})

// aliases finds the symbols that a script explains, in a remark or where it
// names its unknowns, and the names that they stand for. A symbol of two letters
// that the lexicon knows keeps its meaning, and so does one that is given two.
func (r *scriptReader) aliases() map[string]string {
	var out map[string]string
	twice := map[string]bool{}
	put := func(symbol, name string) {
		if name == "" || len(symbol) > 1 && r.lines.known(symbol) || symbol == "a" || symbol == "I" {
			return
		}
		if out == nil {
			out = map[string]string{}
		}
		if old, told := out[symbol]; told && old != name {
			twice[symbol] = true
		} else {
			out[symbol] = name
		}
	}
	for i := r.first; i < len(r.texts); i++ {
		t := r.texts[i].text
		if len(t) > 300 {
			continue
		}
		if strings.Contains(t, " is ") || strings.Contains(t, " means ") || strings.Contains(t, " stands for ") {
			if m := symbolIs().FindStringSubmatch(t); m != nil && m[1] == m[2] {
				put(m[1], r.nameIn(m[3], false))
			}
		}
		if m := namesLine().FindStringSubmatch(t); m != nil && r.lines.cut(m[1]) != nil {
			put(m[1], m[1]) // LB: here a name, and no product of two symbols
		}
		if l := lower(t); !strings.Contains(l, "let ") && !strings.Contains(l, "call ") {
			continue
		}
		forms := naming()
		for _, m := range forms[0].FindAllStringSubmatchIndex(t, -1) {
			put(t[m[2]:m[3]], r.nameIn(t[m[4]:m[5]], true))
			for rest := t[m[1]:]; ; {
				n := namedNext().FindStringSubmatchIndex(rest)
				if n == nil {
					break
				}
				put(rest[n[2]:n[3]], r.nameIn(rest[n[4]:n[5]], true))
				rest = rest[n[1]:]
			}
		}
		for _, form := range forms[1:] {
			if m := form.FindStringSubmatch(t); m != nil && r.lines.known(m[1]) {
				put(m[2], m[1])
			}
		}
	}
	for s := range twice {
		delete(out, s)
	}
	return out
}

// namesLine is two or three capitals at the head of a line that say what it gives.
var namesLine = sync.OnceValue(func() *regexp.Regexp {
	return regexp.MustCompile(`^[\s\-*•]*([A-Z]{2,3})\s*[=:]\s*[^\s=]`)
})

// nameIn is the longest name that the words begin with, "" for none: capitals
// (GM) or several words, or any one word where plain is set.
func (r *scriptReader) nameIn(text string, plain bool) string {
	words := strings.Fields(text)
	for n := min(len(words), maxPhrase); n > 0; n-- {
		name := strings.Join(words[:n], " ")
		if n == 1 && (len(name) < 2 || name != strings.ToUpper(name) && (!plain || len(name) < 4)) || shares[lower(words[0])] || !r.lines.known(name) {
			continue
		}
		return name
	}
	return ""
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
	if !ok || w.strict || isWordy(w.prev()) && lower(w.out[len(w.out)-1].text) == "let" || lower(w.peek(n).text) == "is" || lower(w.peek(n).text) == "means" || lower(w.peek(n).text) == "stands" {
		return false
	}
	if p := w.peek(n); name == t.text && (p.is(tOp, "^") || p.glued && p.kind == tNumber) {
		return false // LB³ is none but the product
	}
	if w.factorBefore(t) {
		at := *t
		at.kind, at.text, at.to = tOp, "*", t.from
		w.out = append(w.out, at)
	}
	w.put(tName, name, n)
	return true
}

// factorBefore reports whether the figure that stands right before the symbol
// at hand is its factor: "1700x", or "→ 2080 D", where no other statement ends.
func (w *wordPass) factorBefore(t *token) bool {
	if k := w.prev(); !isFigure(k) && k != tClose {
		return false
	}
	if t.glued {
		return true
	}
	if k := w.prev(); k == tClose || len(w.out) == 1 {
		return len(w.out) == 1
	}
	switch w.out[len(w.out)-2].kind {
	case tOp, tArrow, tSep, tColon:
		return true
	}
	return false
}
