package show

import (
	"io"
	"strings"

	"batten/cmd/batten/internal/sketch"
	"batten/rules"
	"batten/solver"
)

// Work prints the reference working of a question: what is given, a sketch of
// it, and each part step by step to its answer.
func Work(w io.Writer, m *solver.Model, pen Pen) error {
	s := &sheet{Options: Options{Pen: pen}, w: w}
	q := m.Question
	if q.Header != "" {
		s.prose(0, q.Header, pen.faint)
	}
	s.prose(0, q.Title, pen.strong)
	s.println()
	s.given(m)
	for _, d := range Drawings(m, false) {
		s.sketch(d)
	}
	for _, p := range m.Working() {
		s.part(p)
	}
	if x := m.Exact(); x != nil {
		s.exact(x)
	}
	s.prose(0, m.Topic.Caution, pen.faint)
	return s.err
}

// given lists the question's figures as its file has them.
func (s *sheet) given(m *solver.Model) {
	type item struct{ symbol, title, text string }
	var items []item
	wide := 0
	for _, k := range m.Topic.Keys {
		text := m.Question.Written[k.Path]
		if text == "" {
			continue
		}
		it := item{"", Clean(k.Title), Clean(text)}
		if k.Quantity != "" {
			it.symbol = m.Symbol(k.Quantity)
		}
		wide = max(wide, Width(it.title))
		items = append(items, it)
	}
	for _, it := range items {
		s.println("  ", pad(it.title, min(wide, Columns-20)), "  ", s.Pen.faint(pad(it.symbol, 4)), it.text)
	}
	s.println()
}

func (s *sheet) sketch(d *sketch.Drawing) {
	s.println(s.Pen.strong(d.Title), s.Pen.faint(" (not to scale)"))
	s.println()
	for _, row := range d.Rows {
		s.println("  ", row)
	}
	s.println()
	line := ""
	for _, e := range d.Legend {
		piece := e.Sample + " " + e.Means
		if line != "" && Width(line)+3+Width(piece) > Columns-2 {
			s.println("  ", s.Pen.faint(line))
			line = ""
		}
		if line != "" {
			line += "   "
		}
		line += piece
	}
	if line != "" {
		s.println("  ", s.Pen.faint(line))
	}
	s.gap()
}

func (s *sheet) part(p solver.WorkingPart) {
	marks := Figure(p.Part.Marks, 2) + " marks"
	s.println(s.Pen.strong("("+p.Part.Letter+") "+capital(p.Part.Find.Words)), s.Pen.faint(", "+marks))
	s.println()
	var answers []string
	for _, l := range p.Lines {
		title := capital(l.Title)
		if l.Why != "" {
			title += ": " + strings.TrimSuffix(l.Why, ".")
		}
		s.prose(2, title, s.Pen.faint)
		s.equation(l)
		if l.Asked {
			answer := l.Title + " " + l.Answer
			if l.Sense != "" {
				answer += " (" + l.Sense + ")"
			}
			answers = append(answers, answer)
		}
	}
	s.println()
	s.prose(2, "Answer: "+strings.Join(answers, "; "), s.Pen.right)
	s.println()
}

// equation prints a step on one line or, where it is too long for that, with
// each of its sides on a line, the signs of equality below one another.
func (s *sheet) equation(l solver.WorkingLine) {
	const in = 6
	if text := l.String(); Width(text) <= Columns-in {
		s.println(strings.Repeat(" ", in), text)
		return
	}
	lead := strings.Repeat(" ", in) + l.Symbol
	answer := l.Answer
	if l.Sense != "" {
		answer += " (" + l.Sense + ")"
	}
	for _, side := range []string{l.Symbols, l.Figures, answer} {
		if side == "" {
			continue
		}
		lead += " = "
		for _, piece := range Wrap(side, Columns-Width(lead)) {
			s.println(lead, piece)
			lead = strings.Repeat(" ", Width(lead))
		}
		lead = strings.Repeat(" ", Width(lead)-3)
	}
}

// How the comparison with the exact working is headed and told, on every surface.
const (
	ExactTitle = "How far the method is from the truth"
	ExactWords = "The exact figures are those of the box at rest, free to sink, trim and heel, found by trial with no rule for small angles. The answers of the paper are those of the working."
)

// exact prints what the method gives beside what is so.
func (s *sheet) exact(x *solver.Exact) {
	s.println(s.Pen.strong(ExactTitle))
	s.println()
	if len(x.Rows) > 0 {
		const figures = 16
		lead := func(text string) string { return strings.Repeat(" ", max(1, figures-Width(text))) + text }
		wide := 0
		for _, r := range x.Rows {
			wide = max(wide, Width(r.Quantity.Title))
		}
		s.println("  ", s.Pen.faint(pad("", wide)+lead("by the working")+lead("exactly")+lead("the working is")))
		for _, r := range x.Rows {
			worked, exact, apart := r.Print()
			s.println("  ", pad(capital(r.Quantity.Title), wide), lead(worked), lead(exact), lead(apart))
		}
		s.println()
		s.prose(2, ExactWords, s.Pen.faint)
		if len(x.Notes) > 0 {
			s.println()
		}
	}
	for _, n := range x.Notes {
		s.prose(2, n, s.Pen.strong)
	}
	s.println()
}

// filled fills the figures of a question into a label, givens as they are
// written in its file.
func filled(m *solver.Model, label string) string {
	return rules.Fill(label, func(id string) (string, bool) {
		q := m.Topic.Quantity(id)
		v, ok := m.Value(id)
		if q == nil || !ok {
			return "", false
		}
		if places, given := m.Question.Places[id]; given {
			shown := *q
			shown.Places = places
			q = &shown
		}
		return solver.Shown(q, v), true
	})
}

// unfilled words a template without figures to fill it from: each slot stands
// as the name of its figure. A sentence about the words of one line is not said
// where there is no line.
func unfilled(t *rules.Topic, s string) string {
	return rules.Fill(s, func(id string) (string, bool) {
		if w, ok := rules.InGeneral(id); ok {
			return w, id == "stated" || id == "expected" || id == "quantity"
		}
		if q := t.Quantity(id); q != nil {
			return "the " + q.Title, true
		}
		return strings.ReplaceAll(id, "_", " "), true
	})
}
