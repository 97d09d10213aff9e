package diagnose

import (
	"math"
	"strconv"
	"strings"
	"unicode"

	"batten/parse"
	"batten/rules"
	"batten/solver"
)

// mended is the line as it should stand, in the student's own figures, below
// the hint that mends it.
func (n *note) mended(def *rules.Fault) string {
	var lines []string
	if def != nil && def.Mend != "" {
		lines = append(lines, rules.Fill(def.Mend, n.fill))
	}
	if own := n.ownLine(); own != "" {
		return strings.Join(append(lines, own), "\n")
	}
	if n.slot < 0 {
		return strings.Join(lines, "\n")
	}
	on := wentWrongIn(n.f, n.slot, n.o)
	if on >= 0 {
		lines = append(lines, n.lineOf(on, -1))
	}
	line := n.lineOf(n.slot, on)
	if n.f.charge.fault == FaultUnexplained && n.f.step >= 0 && strings.HasSuffix(line, " = "+n.result(n.o.stated)) {
		return "" // this way gives what is written: it mends nothing
	}
	lines = append(lines, line)
	return strings.Join(lines, "\n")
}

// wentWrongIn is the quantity in whose working a fault lies, where that is not
// the one the line states: not written at all, or worked inside the line. -1
// where there is none.
func wentWrongIn(f *finding, slot int, o *outcome) int {
	if u := f.charge.unwritten; u > 0 && u-1 != slot {
		return u - 1
	}
	if o == nil {
		return -1
	}
	on := -1
	for _, s := range o.sites {
		switch {
		case s.Fault.ID != f.charge.fault:
		case s.Slot == slot:
			return -1
		case on < 0:
			on = s.Slot
		}
	}
	return on
}

// ownLine is the student's own line with the one thing changed that is wrong
// in it; "" where a fault is not of that kind, or the line is not to be had in
// one piece.
func (n *note) ownLine() string {
	if n.f.step < 0 || n.o == nil {
		return ""
	}
	p := &n.steps[n.f.step]
	c := &n.f.charge
	switch c.fault {
	case FaultNoUnit, FaultWrongUnit:
		if n.slot < 0 || p.result == nil || n.o.scale != 1 && c.fault == FaultNoUnit {
			return ""
		}
		return n.head() + p.result.text + unitBehind(n.run.model.Quantities[n.slot].Unit) + n.sense(n.o.stated)
	case FaultMiscopied, FaultOperand, FaultFactor, FaultOperation:
		if n.text == "" {
			return ""
		}
	case FaultArithmetic, FaultTransposed, FaultDecimal, FaultBrackets, FaultPlaces, FaultRounded:
	default:
		return ""
	}
	if n.side < 0 {
		return ""
	}
	at := p.sides[n.side].at
	text := n.textAt(at)
	if n.text != "" {
		text = n.replaced(at)
	}
	if text == "" || strings.ContainsAny(text, "|\t") || strings.Contains(text, "  ") {
		return ""
	}
	e, err := parse.ParseExpr(text, nil)
	if err != nil {
		return ""
	}
	x, ok := evaluated(e)
	if !ok || !n.near(x) {
		return ""
	}
	return n.head() + text + " = " + n.result(x) + n.sense(x)
}

// replaced is the words of a side with the change made in them.
func (n *note) replaced(side parse.Span) string {
	at := n.at
	if at.Line != side.Line || at.From < side.From || at.To > side.To || n.textAt(at) == "" {
		return ""
	}
	r := []rune(n.script.Lines[side.Line-1].Text)
	text := n.text
	if at.From > side.From || at.To < side.To {
		// part of more: a sum in the place of a figure keeps together
		if e, err := parse.ParseExpr(text, nil); err == nil {
			if b, ok := e.(*parse.Binary); ok && (b.Op == '+' || b.Op == '-') {
				text = "(" + text + ")"
			}
		}
	}
	return strings.TrimSpace(string(r[side.From-1:at.From-1]) + text + string(r[at.To-1:side.To-1]))
}

// head is what stands before the working, with the sign of equality: the student's own name for
// the figure where it is short, else the symbol, if it has one.
func (n *note) head() string {
	const short = 24
	if l := n.steps[n.f.step].step.Label; l != "" && len([]rune(l)) <= short && strings.ContainsFunc(l, unicode.IsLetter) && n.steps[n.f.step].step.Table == 0 {
		return l + " = "
	}
	if n.slot >= 0 {
		return n.run.model.Symbol(n.run.model.Quantities[n.slot].ID) + " = "
	}
	return ""
}

// sense is the direction that belongs to a figure of the line's quantity, in a
// word; "" where it has none.
func (n *note) sense(x float64) string {
	if n.slot < 0 {
		return ""
	}
	m := n.run
	dir := m.direction(n.slot)
	if dir == nil || dir.Missing == "" {
		return ""
	}
	for _, s := range dir.Senses {
		switch {
		case !m.bySign[n.slot]:
			if s.When != nil && m.model.Holds(s.When) {
				return " " + s.ID
			}
		case s.Sign != 0 && x != 0 && (x > 0) == (s.Sign > 0):
			return " (a " + s.ID + ")"
		}
	}
	return ""
}

// lineOf works a quantity by the way nearest to the student's own, with the
// student's figures. through is a quantity that the way should rest on, -1 none.
func (n *note) lineOf(s, through int) string {
	m := n.run
	q := m.model.Quantities[s]
	sym := m.model.Symbol(q.ID)
	way := n.wayOf(s, through)
	if way == nil {
		return sym + " = " + n.told(s, n.slot)
	}
	v := make([]float64, len(m.model.Quantities))
	for _, d := range way.Code.Deps() {
		v[d] = n.studentFigure(d, n.slot)
	}
	x := way.Code.Eval(v)
	whole := true // no figure shown is shorter than the one worked with
	figs := solver.FiguresOf(way.Formula, func(id string) string {
		d := m.model.Slot(id)
		if d < 0 {
			return id
		}
		t := n.figure(d, n.slot)
		if y, ok := numberIn(t); ok && !solver.Close(y, v[d]) {
			whole = false
		}
		return t
	})
	sides := []string{sym}
	if t := solver.SymbolsOf(way.Formula, m.model.Symbol); squeeze(t) != squeeze(sym) {
		sides = append(sides, t)
	}
	if _, bare := way.Formula.(*parse.Name); !bare {
		sides = append(sides, figs)
	}
	sides = append(sides, n.answer(s, x, whole))
	if s == n.slot {
		sides[len(sides)-1] += n.sense(x)
	}
	return strings.Join(sides, " = ")
}

// numberIn reads a figure as it is printed.
func numberIn(t string) (float64, bool) {
	e, err := parse.ParseExpr(t, nil)
	if err != nil {
		return 0, false
	}
	return evaluated(e)
}

func squeeze(s string) string { return strings.ReplaceAll(s, " ", "") }

// answer writes what a mended line comes to: with the student's places, where
// it is the student's line, they are more than the trade's and the figures
// shown bear them out.
func (n *note) answer(s int, x float64, whole bool) string {
	q := *n.run.model.Quantities[s]
	t := strconv.FormatFloat(x, 'f', q.Places, 64)
	if y, err := strconv.ParseFloat(t, 64); s == n.slot && n.f.step >= 0 && n.o.scale == 1 && whole && err == nil && !solver.Close(x, y) {
		const further = 3
		q.Places = min(max(q.Places, n.ownPlaces()), q.Places+further)
	}
	return n.mark(solver.Shown(&q, x))
}

// wayOf chooses among the good ways of working a quantity: the one that reads
// what the student's line reads, from figures the student has; where nothing
// speaks for another, the first, which is the reference.
func (n *note) wayOf(s, through int) *solver.Way {
	m := n.run
	ways := m.model.Ways[s]
	if len(ways) == 0 {
		return nil
	}
	var reads solver.Set
	r := n.f.charge.picks
	if r == nil && n.o != nil {
		r = n.o.read
	}
	if r != nil && s == n.slot {
		for _, k := range r.picks {
			if k.slot >= 0 {
				reads.Add(k.slot)
			}
		}
	}
	best, most := 0, math.Inf(-1)
	for i := range ways {
		score := -0.1 * float64(i)
		deps := ways[i].Code.Deps()
		shared, missing := 0, false
		for _, d := range deps {
			missing = missing || !m.model.Given.Has(d) && !n.state.env.Has().Has(d) && d != through
			if d == through {
				score += 3
			}
			if reads.Has(d) {
				shared++
			}
		}
		if missing {
			score -= 3 // a figure has to be worked first: one or two, it is another way than the student's
		}
		if !reads.Empty() {
			score += 2*float64(shared) - 0.5*float64(len(deps)-shared)
		}
		if score > most {
			best, most = i, score
		}
	}
	return &ways[best]
}
