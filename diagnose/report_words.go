package diagnose

import (
	"math"
	"strconv"
	"strings"

	"batten/parse"
	"batten/rules"
	"batten/solver"
)

// voice words the findings of a script. It knows how the student writes
// figures, so that a message shows them as they stand on the sheet.
type voice struct {
	*graded
	nums  []*parse.Num // every number of the script, in order
	comma bool         // the student writes a decimal comma
}

func (g *graded) voice() *voice {
	v := &voice{graded: g}
	for i := range g.steps {
		if g.steps[i].step.Withdrawn {
			continue
		}
		for k := range g.steps[i].sides {
			v.nums = append(v.nums, parse.Nums(g.steps[i].sides[k].expr)...)
		}
	}
	commas, points := 0, 0
	for _, n := range v.nums {
		switch {
		case strings.Contains(n.Text, "."):
			points++
		case n.Places > 0 && strings.Contains(n.Text, ","):
			commas++
		}
	}
	v.comma = commas > points
	return v
}

// finding words one finding.
func (v *voice) finding(f *finding) Finding {
	m := v.run
	def := v.fault(f.charge.fault)
	out := Finding{Fault: f.charge.fault, Severity: f.severity, Line: f.line, Shown: f.charge.shown, Cost: tidy(f.cost), Alternatives: []string{}}
	if out.Shown == "" {
		out.Shown = ShownWritten
	}
	if f.part >= 0 && f.part < len(m.question.Parts) {
		out.Part = m.question.Parts[f.part].Letter
	}
	out.Alternatives = append(out.Alternatives, f.charge.alternatives...)
	if len(out.Alternatives) > 0 {
		out.Shown = ShownPossible
	}
	if f.charge.at.Line == f.line && f.charge.at.To > f.charge.at.From {
		out.Span = &Columns{f.charge.at.From, f.charge.at.To}
	}
	slot := f.charge.slot
	var o *outcome
	if f.step >= 0 {
		o = &v.out[f.step]
		if o.slot >= 0 {
			slot = o.slot
		}
	}
	if slot >= 0 {
		q := m.model.Quantities[slot]
		id := q.ID
		out.Quantity, out.Name, out.Unit = &id, q.Title, q.Unit
	}
	if o != nil && o.value {
		out.Stated = number(v.signed(f.step, o.slot))
		out.Expected = number(o.expected)
	}
	if u := f.charge.unwritten; u > 0 {
		out.Unwritten = m.model.Quantities[u-1].ID
	}
	n := v.note(f, slot, o)
	if def != nil {
		out.Title = def.Title
		out.Idea = rules.Fill(def.Idea, n.fill)
	}
	out.Working = n.mended(def)
	return out
}

// note is one finding while it is put into words.
type note struct {
	*voice
	f    *finding
	slot int      // -1 none
	o    *outcome // nil where no step is at fault
	side int      // the side of the step that shows the fault, -1 none
	change
}

func (v *voice) note(f *finding, slot int, o *outcome) *note {
	n := &note{voice: v, f: f, slot: slot, o: o, side: -1}
	if f.step >= 0 {
		p := &v.steps[f.step]
		n.side = f.charge.side
		if n.side < 0 || n.side >= len(p.sides) || len(p.sides[n.side].alts) == 0 {
			n.side = v.run.lastWorking(p)
		}
		n.change = n.changed()
	}
	return n
}

// fill gives the figures for a fault's words: the student's own where there
// are any, else what follows from them.
func (n *note) fill(id string) (string, bool) {
	known := func(s string) (string, bool) { return s, s != "" }
	switch id {
	case "stated":
		if n.o == nil || !n.o.value {
			return "", false
		}
		if n.o.slot < 0 && n.steps[n.f.step].result == nil {
			return n.mark(trim(n.o.stated)), true
		}
		return n.withUnit(n.f.step, n.o), true
	case "expected":
		return known(n.expected())
	case "quantity":
		if n.slot < 0 {
			return "figure", true
		}
		return n.run.model.Quantities[n.slot].Title, true
	case "working":
		return known(n.working())
	case "gives":
		if x, ok := n.worked(); ok {
			return n.result(x), true
		}
		return "", false
	case "written":
		return known(n.textAt(n.at))
	case "written_is":
		if strings.EqualFold(strings.TrimPrefix(n.is, "the "), n.textAt(n.at)) {
			return "not the one", true // its own name says what it is
		}
		return known(n.is)
	case "due":
		return known(n.due)
	case "due_working":
		return known(n.text)
	case "missing":
		return known(n.what)
	}
	s := n.run.model.Slot(id)
	if s < 0 {
		return "", false
	}
	return n.told(s, n.slot), true
}

// expected is what should stand on the line, written as the student writes it.
// A slip in working a line out leaves its figures right: what they give is due.
func (n *note) expected() string {
	if n.o == nil {
		return ""
	}
	x := n.o.expected
	switch n.f.charge.fault {
	case FaultArithmetic, FaultTransposed, FaultDecimal, FaultBrackets, FaultPlaces, FaultRounded:
		if own, ok := n.worked(); ok && n.near(own) {
			return n.result(own)
		}
	}
	if math.IsNaN(x) {
		return ""
	}
	switch {
	case n.slot < 0:
		return n.mark(trim(x))
	case n.run.model.Given.Has(n.slot):
		return n.told(n.slot, n.slot)
	}
	if s := n.o.scale; s != 0 && s != 1 {
		x /= s
	}
	return n.result(x)
}

// working is the student's expression, where it is short enough to be quoted.
func (n *note) working() string {
	const most = 40
	if n.side < 0 {
		return "the line"
	}
	t := n.textAt(n.steps[n.f.step].sides[n.side].at)
	if t == "" || len([]rune(t)) > most || strings.ContainsAny(t, "|\t") || strings.Contains(t, "  ") {
		return "the line"
	}
	return t
}

// worked is what the student's own expression comes to as it stands.
func (n *note) worked() (float64, bool) {
	if n.side < 0 {
		return 0, false
	}
	return evaluated(n.steps[n.f.step].sides[n.side].expr)
}

func evaluated(e parse.Expr) (float64, bool) {
	if e == nil {
		return 0, false
	}
	x, err := parse.Eval(e, nil)
	return x, err == nil
}

// near tells whether a figure as the student would write it is about the one
// that is due: a message that says otherwise would say two things at once.
func (n *note) near(x float64) bool {
	if n.o == nil || n.slot < 0 || math.IsNaN(n.o.expected) {
		return true
	}
	if n.o.scale != 0 {
		x *= n.o.scale
	}
	due := math.Abs(n.o.expected)
	if n.f.charge.fault == FaultPlaces { // what is written holds
		due = math.Abs(n.o.stated)
	}
	const alike = 0.02
	return math.Abs(math.Abs(x)-due) <= alike*due
}

// result writes a figure as the line's result: the student's unit, and the
// student's places where they are more than the trade asks for.
func (n *note) result(x float64) string {
	const further = 3 // places more than the trade's that are still shown
	w := n.steps[n.f.step].result
	places := n.ownPlaces()
	unit := ""
	if n.slot >= 0 {
		q := n.run.model.Quantities[n.slot]
		trade := q.Places
		if s := n.o.scale; s > 0 && s != 1 {
			trade = max(0, trade+int(math.Round(math.Log10(s))))
		}
		places = min(max(places, trade), trade+further)
		unit = q.Unit
	}
	switch {
	case w != nil && w.percent:
		return n.mark(strconv.FormatFloat(100*x, 'f', max(places-2, 0), 64)) + "%"
	case w != nil && w.unit != nil:
		unit = w.unit.Text
	case n.o.scale != 1:
		unit = ""
	}
	t := minus(strconv.FormatFloat(x, 'f', places, 64))
	if n.slot < 0 {
		return n.mark(trim(x)) // what its unit would be is not known
	}
	return n.mark(t) + unitBehind(unit)
}

// ownPlaces is how many decimal places the student gave the line's result.
func (n *note) ownPlaces() int {
	w := n.steps[n.f.step].result
	if w == nil || w.ulp <= 0 || w.ulp >= 1 {
		return 0
	}
	return int(math.Round(-math.Log10(w.ulp)))
}

func unitBehind(unit string) string {
	switch unit {
	case "":
		return ""
	case "deg":
		return "°"
	}
	return " " + solver.UnitInPrint(unit)
}

func minus(s string) string {
	if strings.Trim(s, "-0.") == "" {
		s = strings.TrimPrefix(s, "-")
	}
	return strings.Replace(s, "-", "−", 1)
}

// mark writes a worked figure with the student's decimal mark.
func (v *voice) mark(s string) string {
	if v.comma {
		return strings.Replace(s, ".", ",", 1)
	}
	return s
}

// withUnit writes what the student stated, in the student's own figures.
func (v *voice) withUnit(step int, o *outcome) string {
	p := &v.steps[step]
	if w := p.result; w != nil && w.text != "" {
		t := w.text
		if w.value < 0 && !strings.HasPrefix(t, "-") && !strings.HasPrefix(t, "−") {
			t = "−" + t
		}
		if w.percent && !strings.Contains(t, "%") {
			t += "%"
		}
		if w.unit != nil {
			return t + unitBehind(w.unit.Text)
		}
		return t
	}
	return v.mark(solver.Shown(v.run.model.Quantities[o.slot], o.stated))
}

// told writes a quantity's figure with its unit, for a sentence.
func (v *voice) told(s, not int) string {
	q := v.run.model.Quantities[s]
	if i, ok := v.last[s]; ok && s != not && v.out[i].value {
		w := v.steps[i].result
		if w != nil && w.unit != nil && !w.percent && v.out[i].scale != 1 {
			return v.withUnit(i, &v.out[i])
		}
	}
	return v.figure(s, not) + unitBehind(q.Unit)
}

// figure writes a quantity's figure in its own unit, for working: as the
// student wrote it, as the question gives it, or at the trade's places.
func (v *voice) figure(s, not int) string {
	m := v.run
	q := m.model.Quantities[s]
	x := v.studentFigure(s, not)
	if i, ok := v.last[s]; ok && s != not && v.out[i].value && v.out[i].scale == 1 {
		if w := v.steps[i].result; w != nil && w.text != "" && !w.percent {
			t := strings.TrimLeft(w.text, "-−+ ")
			if x < 0 {
				t = "−" + t
			}
			return t
		}
	}
	if m.model.Given.Has(s) {
		for _, n := range v.nums {
			if !n.Percent && solver.Close(n.Value, x) && (n.Unit == nil || n.Unit.Text == q.Unit) {
				return n.Text
			}
		}
		if p, ok := m.question.Places[q.ID]; ok {
			t := strconv.FormatFloat(x, 'f', p, 64)
			if q.Unit == "" {
				t = plain(t) // a share or a ratio, "60%" in the question
			}
			return v.mark(minus(t))
		}
	}
	t := strconv.FormatFloat(x, 'f', q.Places, 64)
	if p := plain(t); p != t {
		if exact, err := strconv.ParseFloat(p, 64); err == nil && solver.Close(exact, x) {
			t = p
		}
	}
	return v.mark(minus(t))
}

// plain takes the noughts off the end of a decimal fraction.
func plain(t string) string {
	if !strings.Contains(t, ".") {
		return t
	}
	return strings.TrimSuffix(strings.TrimRight(t, "0"), ".")
}

// studentFigure is the student's figure for a quantity; for the one in
// question, and what was not stated, what follows from the others.
func (v *voice) studentFigure(s, not int) float64 {
	if s != not {
		if iv, ok := v.state.env.Stated(s); ok {
			if i, ok := v.last[s]; ok && v.out[i].value {
				return math.Copysign(v.out[i].stated, iv.Mid())
			}
			return iv.Mid()
		}
	}
	env := v.state.env
	if not >= 0 && env.Has().Has(not) {
		env = env.Clone()
		env.Forget(not)
	}
	if f := env.Derive().Derived(s); len(f) > 0 {
		return f[0].Mid()
	}
	return v.run.reference(s)
}

func (v *voice) textAt(at parse.Span) string {
	if at.Line < 1 || at.Line > len(v.script.Lines) {
		return ""
	}
	r := []rune(v.script.Lines[at.Line-1].Text)
	if at.From < 1 || at.To > len(r)+1 || at.From >= at.To {
		return ""
	}
	return strings.TrimSpace(string(r[at.From-1 : at.To-1]))
}

func trim(x float64) string { return minus(strconv.FormatFloat(significantTo(x, 6), 'f', -1, 64)) }

func significantTo(x float64, n int) float64 {
	if x == 0 {
		return 0
	}
	k := math.Pow(10, float64(n-1)-math.Floor(math.Log10(math.Abs(x))))
	return math.Round(x*k) / k
}
