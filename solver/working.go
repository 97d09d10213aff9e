package solver

import (
	"math"
	"strconv"
	"strings"

	"batten/parse"
	"batten/rules"
)

// WorkingPart is the reference working of one part of a question.
type WorkingPart struct {
	Part  Part
	Lines []WorkingLine
}

// WorkingLine is one step of the reference working: what is worked out, the
// formula in symbols, the same in figures, the answer.
type WorkingLine struct {
	Quantity string // id
	Title    string // "volume of lost buoyancy"
	Symbol   string // "v"
	Symbols  string // formula in symbols, "" where it would say the symbol over again
	Figures  string // formula in figures, "" where it would say the answer over again
	Answer   string // "453.6 m³", at the places the trade gives it
	Sense    string // which way it goes, where that is part of the answer: "fall", "to port"
	Value    float64
	Why      string // one sentence, may be ""
	Asked    bool   // an answer that the part asks for
}

// String is the line as a marker wants to see it:
// "v = l μ b (d − h) = 14 × 0.60 × 18 × 3.0 = 453.6 m³".
func (l WorkingLine) String() string {
	var b strings.Builder
	b.WriteString(l.Symbol)
	for _, s := range []string{l.Symbols, l.Figures, l.Answer} {
		if s != "" {
			b.WriteString(" = ")
			b.WriteString(s)
		}
	}
	if l.Sense != "" {
		b.WriteString(" (" + l.Sense + ")")
	}
	return b.String()
}

// Working is the reference working of every part, in order. A quantity is
// worked where it is first needed and not again.
func (m *Model) Working() []WorkingPart { return m.workingBy(m.needs, m.WorkingLine) }

// workingBy goes through the parts in order: needs adds a quantity and all it is
// worked from, line works one.
func (m *Model) workingBy(needs func(s int, into *Set), line func(s int) WorkingLine) []WorkingPart {
	var out []WorkingPart
	var done Set
	for _, p := range m.Question.Parts {
		wp := WorkingPart{Part: p}
		var need, asked Set
		for _, a := range p.Find.Answers {
			if s := m.Slot(a); s >= 0 {
				asked.Add(s)
				needs(s, &need)
			}
		}
		need.Each(func(s int) {
			if m.Given.Has(s) || done.Has(s) && !asked.Has(s) {
				return
			}
			done.Add(s)
			l := line(s)
			l.Asked = asked.Has(s)
			wp.Lines = append(wp.Lines, l)
		})
		out = append(out, wp)
	}
	return out
}

// needs adds the slot, and all that its reference way rests on.
func (m *Model) needs(s int, into *Set) {
	if into.Has(s) {
		return
	}
	into.Add(s)
	if len(m.Ways[s]) == 0 {
		return
	}
	for _, d := range m.Ways[s][0].Code.Deps() {
		m.needs(d, into)
	}
}

// WorkingLine works out the quantity in the slot by its reference way.
func (m *Model) WorkingLine(s int) WorkingLine {
	q := m.Quantities[s]
	v := m.Worlds[0][s]
	l := WorkingLine{Quantity: q.ID, Title: q.Title, Symbol: m.Symbol(q.ID), Value: v, Answer: Shown(q, v), Sense: m.sense(q, v)}
	if len(m.Ways[s]) == 0 {
		return l
	}
	w := m.Ways[s][0]
	l.Why = w.Why
	l.Symbols = SymbolsOf(w.Formula, m.Symbol)
	l.Figures = m.figuresFor(w.Formula, q, v)
	if len(parse.Names(w.Formula)) == 0 {
		l.Symbols, l.Figures = "", ""
		if _, bare := ungroup(w.Formula).(*parse.Num); !bare {
			l.Figures = SymbolsOf(w.Formula, m.Symbol)
		}
	}
	if strings.ReplaceAll(l.Symbols, " ", "") == strings.ReplaceAll(l.Symbol, " ", "") {
		l.Symbols = ""
	}
	if _, alone := ungroup(w.Formula).(*parse.Name); alone {
		l.Figures = ""
	}
	return l
}

// sense is the id of the right sense of a quantity that has a direction, ""
// where it has none or goes neither way.
func (m *Model) sense(q *rules.Quantity, v float64) string {
	for _, d := range m.Topic.Directions {
		if d.ID != q.Direction || v == 0 {
			continue
		}
		for _, s := range d.Senses {
			if s.When != nil && m.Holds(s.When) || s.When == nil && s.Sign != 0 && (s.Sign > 0) == (v > 0) {
				return s.ID
			}
		}
	}
	return ""
}

// Symbol is how the reference working writes a quantity.
func (m *Model) Symbol(id string) string {
	if q := m.Topic.Quantity(id); q != nil && q.Symbol != "" {
		return q.Symbol
	}
	return id
}

// figuresFor writes a formula in figures. Givens stand as the question has
// them; what was worked out before stands at the trade's places, or at one or
// more further places where the figures shown would otherwise not give the
// answer shown. The chain itself rounds nothing.
func (m *Model) figuresFor(e parse.Expr, q *rules.Quantity, value float64) string {
	want := plainFigure(value, q.Places)
	for extra := 0; ; extra++ {
		show := func(id string) string { return m.figure(id, extra) }
		got, err := parse.Eval(e, func(n *parse.Name) (float64, bool) {
			v, err := strconv.ParseFloat(show(n.Text), 64)
			return v, err == nil
		})
		if extra == 3 || err == nil && plainFigure(got, q.Places) == want {
			return FiguresOf(e, show)
		}
	}
}

// figure is a reference figure as it stands in the working, with extra places
// where it is not a given.
func (m *Model) figure(id string, extra int) string {
	s := m.Slot(id)
	if s < 0 {
		return id
	}
	if places, ok := m.Question.Places[id]; ok && m.Given.Has(s) {
		return plainFigure(m.Worlds[0][s], places)
	}
	v, places := m.Worlds[0][s], m.Quantities[s].Places
	if short := plainFigure(v, places); exactly(short, v) {
		return short
	}
	return plainFigure(v, places+extra)
}

// exactly reports whether a written figure is the figure itself.
func exactly(written string, v float64) bool {
	w, err := strconv.ParseFloat(written, 64)
	return err == nil && Close(w, v)
}

// plainFigure writes a figure at so many places, with no minus before nought.
func plainFigure(v float64, places int) string {
	if math.IsNaN(v) {
		return "?"
	}
	s := strconv.FormatFloat(v, 'f', places, 64)
	if strings.Trim(s, "-0.") == "" {
		s = strings.TrimPrefix(s, "-")
	}
	return s
}

// Shown writes a figure of the quantity as the working shows it: at the trade's
// places, with a true minus sign, and its unit in print ("m³").
func Shown(q *rules.Quantity, value float64) string {
	s := strings.Replace(plainFigure(value, q.Places), "-", "−", 1)
	switch q.Unit {
	case "":
		return s
	case "deg":
		return s + "°"
	}
	return s + " " + UnitInPrint(q.Unit)
}

var raise = strings.NewReplacer("m2", "m²", "m3", "m³", "m4", "m⁴")

// UnitInPrint writes a unit the way print does: "m³/t" for "m3/t".
func UnitInPrint(unit string) string { return raise.Replace(unit) }
