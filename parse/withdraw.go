package parse

import (
	"math"
	"strings"
)

// ownFigure is a figure that is no constant of a formula.
var ownFigure = lazily(`[0-9]{3}|[0-9][.,][0-9]`)

// unbracket takes off the brackets about a whole line that holds a statement:
// "(sinkage = 0.325 m)".
func (m *lineMarks) unbracket() {
	t := strings.TrimRight(m.rest.text, " \t.,;")
	from := skipBlanks(t, 0)
	if len(t)-from < 5 || strings.IndexByte("([{", t[from]) < 0 || strings.IndexByte(")]}", t[len(t)-1]) < 0 || !strings.ContainsAny(t, "=≈") || !ownFigure.MatchString(t) {
		return
	}
	depth := 0
	for i := from; i < len(t); i++ {
		switch t[i] {
		case '(', '[', '{':
			depth++
		case ')', ']', '}':
			depth--
			if depth == 0 && i < len(t)-1 {
				return
			}
		}
	}
	if depth == 0 {
		m.rest, m.aside = m.rest.sub(from+1, len(t)-1), true
	}
}

// takesBack cuts from a line of working the clause that withdraws what stands
// above it, and returns its words: "Ignore the line above. Lost volume = …".
func (r *scriptReader) takesBack(m *lineMarks) string {
	t := lower(m.rest.text)
	if len(t) != len(m.rest.text) {
		return ""
	}
	from, to, ok := clauseAbove(t)
	if !ok || !strings.ContainsAny(t[:from]+t[to:], "0123456789=") {
		return ""
	}
	words := strings.TrimSpace(m.rest.text[from:to])
	switch {
	case strings.TrimSpace(t[:from]) == "":
		m.rest = m.rest.sub(to, len(t))
	case strings.TrimSpace(t[to:]) == "":
		m.rest = m.rest.sub(0, from)
	default:
		m.rest = m.rest.without([][2]int{{from, to}})
	}
	return words
}

// takesBackFigures reports whether a line without "=" takes figures back that
// it names: "the 1.418 and 8.318 are wrong, disregard them".
func (r *scriptReader) takesBackFigures(m *lineMarks) bool {
	t := lower(m.rest.text)
	return !strings.ContainsAny(t, "=≈→") && hasAny(t, withdrawHints) && sentence(r.raw) && aboveWords.MatchString(t)
}

// reach is how many lines back something can be withdrawn.
const reach = 60

// withdrawAbove marks what line i takes back: the figures that it names, else
// the last line of working above it, or the run of lines where it says so.
func (r *scriptReader) withdrawAbove(i int) {
	l := &r.script.Lines[i]
	text := lower(l.Words)
	if !aboveWords.MatchString(text) && !wrongAlone(text) {
		return
	}
	if l.Kind == Aside {
		if named := r.figuresOf(i); len(named) > 0 {
			any := false
			for j := i - 1; j >= max(0, i-reach) && r.script.Lines[j].Part == l.Part; j-- {
				any = r.withdrawFigures(j, named) || any
			}
			if any {
				return
			}
		}
	}
	all := allAbove.MatchString(text)
	done := false
	for j := i - 1; j >= max(0, i-reach); j-- {
		a := &r.script.Lines[j]
		if a.Part != l.Part || done && strings.TrimSpace(a.Text) == "" {
			return
		}
		if len(a.Steps) == 0 {
			continue
		}
		for _, k := range a.Steps {
			r.withdrawStep(k, i)
		}
		if done = true; !all {
			return
		}
	}
}

// withdrawStep takes step k back, with every line above line i that holds
// nothing else.
func (r *scriptReader) withdrawStep(k, i int) {
	r.script.Steps[k].Withdrawn = true
	for j := r.script.Steps[k].Line - 1; j < i; j++ {
		l := &r.script.Lines[j]
		on, all := false, true
		for _, s := range l.Steps {
			on = on || s == k
			all = all && r.script.Steps[s].Withdrawn
		}
		if !on {
			break
		}
		l.Withdrawn = all
	}
}

// figuresOf gives the figures with a decimal sign in the sentence of line i
// that takes something back.
func (r *scriptReader) figuresOf(i int) []float64 {
	p := r.texts[i]
	if t := lower(p.text); len(t) == len(p.text) {
		if at := aboveWords.FindStringIndex(t); at != nil {
			from, to := at[0], at[1]
			for from > 0 && !sentenceEnd(t, from-1) {
				from--
			}
			for to < len(t) && !sentenceEnd(t, to) {
				to++
			}
			p = p.sub(from, to)
		}
	}
	var out []float64
	for _, t := range scan(&p, r.comma, nil) {
		if isFigure(t.kind) && figureHasPoint(t.text) {
			if v, _, ok := numberValue(t.text, t.kind == tComma); ok {
				out = append(out, v)
			}
		}
	}
	return out
}

// sentenceEnd reports whether a sentence ends with the byte at i.
func sentenceEnd(t string, i int) bool {
	return strings.IndexByte(".;!?", t[i]) >= 0 && (i+1 == len(t) || t[i+1] == ' ')
}

// withdrawFigures takes back the steps on line j that end in one of the
// figures, and reports whether there was one.
func (r *scriptReader) withdrawFigures(j int, figures []float64) bool {
	any := false
	for _, k := range r.script.Lines[j].Steps {
		if n, v, ok := r.script.Steps[k].Result(); ok && n.At.Line == j+1 {
			for _, f := range figures {
				if math.Abs(v-f) <= 1e-9*math.Abs(f) {
					r.withdrawStep(k, j+1)
					any = true
				}
			}
		}
	}
	return any
}
