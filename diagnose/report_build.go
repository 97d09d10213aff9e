package diagnose

import (
	"math"
	"strconv"
	"strings"

	"batten/parse"
	"batten/rules"
	"batten/solver"
)

// report turns the graded script into the contract's answer.
func (m *run) report(name string, s *parse.Script, steps []prepared, best *state) *Report {
	g := m.grade(s, steps, best)
	r := &Report{Schema: 1, Script: name, Question: m.question.ID, Caution: m.topic.Caution, Findings: []Finding{}, Parts: g.parts}
	if s.Name != "" {
		n := s.Name
		r.Name = &n
	}
	r.Lines = g.rows()
	for i := range g.findings {
		f := g.finding(&g.findings[i])
		r.Findings = append(r.Findings, f)
		if r.FirstFault == nil && f.Severity != Remark {
			r.FirstFault = &FirstFault{Line: f.Line, Fault: f.Fault}
		}
	}
	for _, p := range g.parts {
		r.Total.Available += p.Available
		r.Total.Awarded += p.Awarded
	}
	r.Total.Awarded = tidy(r.Total.Awarded)
	return r
}

// grave orders verdicts: the greater speaks for a line of several steps.
func grave(v Verdict) int {
	switch v {
	case Faulty:
		return 5
	case Follows:
		return 4
	case Unplaced:
		return 3
	case Holds:
		return 2
	}
	return 0
}

func (g *graded) rows() []LineRow {
	byLine := make([][]int, len(g.script.Lines)+1)
	for i := range g.steps {
		seen := map[int]bool{}
		put := func(l int) {
			if l > 0 && l < len(byLine) && !seen[l] {
				seen[l] = true
				byLine[l] = append(byLine[l], i)
			}
		}
		put(g.steps[i].step.Line)
		for k := range g.steps[i].sides {
			put(g.steps[i].sides[k].at.Line)
		}
	}
	faultAt := map[int]map[int]bool{}
	for i := range g.findings {
		f := &g.findings[i]
		if f.step < 0 || f.severity == Remark {
			continue
		}
		if faultAt[f.step] == nil {
			faultAt[f.step] = map[int]bool{}
		}
		faultAt[f.step][f.line] = true
	}
	rows := make([]LineRow, 0, len(g.script.Lines))
	for _, l := range g.script.Lines {
		row := LineRow{N: l.N, Text: l.Text, Part: l.Part}
		row.Verdict = Aside
		ids := byLine[l.N]
		var srows []StepRow
		for _, i := range ids {
			srows = append(srows, g.stepRow(i, l.N, faultAt[i]))
		}
		switch {
		case len(srows) == 0 && l.Kind == parse.Unread:
			row.Verdict = Unread
		case len(srows) == 1:
			row.StepRow = srows[0]
		case len(srows) > 1:
			top := 0
			for k := range srows {
				if grave(srows[k].Verdict) > grave(srows[top].Verdict) {
					top = k
				}
			}
			row.StepRow = srows[top]
			row.Steps = srows
		}
		if l.Problem != nil {
			row.Why = l.Problem.Reason
			if at := l.Problem.At; at.Line == l.N && at.To > at.From {
				row.Span = &Columns{at.From, at.To}
			}
			if row.Verdict == Unplaced && row.Stated == nil {
				row.Verdict = Unread // nothing of it came to a figure
			}
		}
		if l.Withdrawn && row.Verdict != Aside {
			row.Verdict = Aside
			row.Why = "withdrawn"
		}
		rows = append(rows, row)
	}
	return rows
}

func (g *graded) stepRow(i, line int, faults map[int]bool) StepRow {
	m := g.run
	o := &g.out[i]
	r := StepRow{Verdict: o.verdict}
	if g.steps[i].step.Withdrawn {
		return StepRow{Verdict: Aside, Why: "withdrawn"}
	}
	if o.slot >= 0 {
		q := m.model.Quantities[o.slot]
		id := q.ID
		r.Quantity = &id
		r.Unit = q.Unit
		r.Stated = number(g.signed(i, o.slot))
		r.Expected = number(o.expected)
	} else if o.value {
		r.Stated = number(o.stated)
		if w := g.steps[i].result; w != nil && w.unit != nil {
			r.Unit = w.unit.Text
		}
	}
	if g.replaced[i] {
		r.Verdict, r.Why = Aside, "a later line replaces it"
		return r
	}
	if len(faults) > 0 {
		switch {
		case faults[line]:
			r.Verdict = Faulty
		default:
			r.Verdict = Holds
			for l := range faults {
				if l < line {
					r.Verdict = Follows
				}
			}
		}
	} else if o.verdict == Faulty {
		r.Verdict = Holds
		if len(o.charges) > 0 {
			r.Verdict = Follows
		}
	}
	if r.Verdict == Follows {
		if o.from > 0 {
			r.From = g.rootLine(o.from - 1)
		}
		if o.verdict == Follows && r.Stated != nil && r.Expected == nil {
			r.Expected = r.Stated
		}
	}
	return r
}

// rootLine is the line of the fault found in a step.
func (g *graded) rootLine(step int) int {
	for _, f := range g.findings {
		if f.step == step && f.severity != Remark {
			return f.line
		}
	}
	return g.steps[step].step.Line
}

// finding words one finding.
func (g *graded) finding(f *finding) Finding {
	m := g.run
	def := g.fault(f.charge.fault)
	out := Finding{Fault: f.charge.fault, Severity: f.severity, Line: f.line, Shown: f.charge.shown, Cost: tidy(f.cost), Alternatives: []string{}}
	if out.Shown == "" {
		out.Shown = ShownWritten
	}
	if f.part >= 0 && f.part < len(m.question.Parts) {
		out.Part = m.question.Parts[f.part].Letter
	}
	out.Alternatives = append(out.Alternatives, f.charge.alternatives...)
	if f.charge.at.Line == f.line && f.charge.at.To > f.charge.at.From {
		out.Span = &Columns{f.charge.at.From, f.charge.at.To}
	}
	slot := f.charge.slot
	var o *outcome
	if f.step >= 0 {
		o = &g.out[f.step]
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
		out.Stated = number(g.signed(f.step, o.slot))
		out.Expected = number(o.expected)
	}
	if u := f.charge.unwritten; u > 0 {
		out.Unwritten = m.model.Quantities[u-1].ID
	}
	if def != nil {
		out.Title = def.Title
		out.Idea = rules.Fill(def.Idea, g.filler(f, slot, o))
	}
	out.Working = g.mended(f, slot, o, def)
	return out
}

// figureText writes a figure of a quantity as the student would read it.
func (g *graded) figureText(slot int, v float64) string {
	return solver.Shown(g.run.model.Quantities[slot], v)
}

// filler gives the figures for a fault's words: the student's own where there
// are any, else what follows from them.
func (g *graded) filler(f *finding, slot int, o *outcome) func(id string) (string, bool) {
	m := g.run
	return func(id string) (string, bool) {
		switch id {
		case "stated":
			if o == nil || !o.value {
				return "", false
			}
			if f.step >= 0 && f.charge.fault == FaultMiscopied && f.charge.at.Line > 0 {
				if t := g.textAt(f.charge.at); t != "" {
					return t, true
				}
			}
			if o.slot < 0 {
				return trim(o.stated), true
			}
			return g.withUnit(f.step, o), true
		case "expected":
			if f.charge.right != 0 {
				return trim(f.charge.right), true
			}
			if o == nil || math.IsNaN(o.expected) {
				return "", false
			}
			if slot < 0 {
				return trim(o.expected), true
			}
			return g.figureText(slot, o.expected), true
		case "quantity":
			if slot < 0 {
				return "figure", true
			}
			return m.model.Quantities[slot].Title, true
		}
		s := m.model.Slot(id)
		if s < 0 {
			return "", false
		}
		return g.figureText(s, g.studentFigure(s, slot)), true
	}
}

// withUnit writes what the student stated, in the student's own figures.
func (g *graded) withUnit(step int, o *outcome) string {
	p := &g.steps[step]
	if w := p.result; w != nil && w.text != "" {
		t := w.text
		if w.value < 0 && !strings.HasPrefix(t, "-") && !strings.HasPrefix(t, "−") {
			t = "−" + t
		}
		if w.percent && !strings.Contains(t, "%") {
			t += "%"
		}
		if w.unit != nil {
			if w.unit.Text == "deg" {
				return t + "°"
			}
			return t + " " + solver.UnitInPrint(w.unit.Text)
		}
		return t
	}
	return g.figureText(o.slot, o.stated)
}

// studentFigure is the student's figure for a quantity; for the one in
// question, and what was not stated, what follows from the others.
func (g *graded) studentFigure(s, not int) float64 {
	if s != not {
		if iv, ok := g.state.env.Stated(s); ok {
			if i, ok := g.last[s]; ok && g.out[i].value {
				return math.Copysign(g.out[i].stated, iv.Mid())
			}
			return iv.Mid()
		}
	}
	env := g.state.env
	if env.Has().Has(not) && not >= 0 {
		env = env.Clone()
		env.Forget(not)
	}
	if f := env.Derive().Derived(s); len(f) > 0 {
		return f[0].Mid()
	}
	return g.run.reference(s)
}

func (g *graded) textAt(at parse.Span) string {
	if at.Line < 1 || at.Line > len(g.script.Lines) {
		return ""
	}
	r := []rune(g.script.Lines[at.Line-1].Text)
	if at.From < 1 || at.To > len(r)+1 || at.From >= at.To {
		return ""
	}
	return strings.TrimSpace(string(r[at.From-1 : at.To-1]))
}

func trim(x float64) string {
	return strings.Replace(strconv.FormatFloat(significantTo(x, 6), 'f', -1, 64), "-", "−", 1)
}

func significantTo(x float64, n int) float64 {
	if x == 0 {
		return 0
	}
	k := math.Pow(10, float64(n-1)-math.Floor(math.Log10(math.Abs(x))))
	return math.Round(x*k) / k
}

// mended is the line as it should stand, in the student's own figures.
func (g *graded) mended(f *finding, slot int, o *outcome, def *rules.Fault) string {
	m := g.run
	if slot < 0 {
		if o != nil && !math.IsNaN(o.expected) && f.step >= 0 {
			if k := m.lastWorking(&g.steps[f.step]); k >= 0 {
				return g.textAt(g.steps[f.step].sides[k].at) + " = " + trim(o.expected)
			}
		}
		return ""
	}
	var lines []string
	if on := wentWrongIn(f, slot, o); on >= 0 {
		lines = append(lines, g.lineOf(on, slot))
	}
	lines = append(lines, g.lineOf(slot, slot))
	if def != nil && def.Mend != "" {
		lines = append([]string{rules.Fill(def.Mend, g.filler(f, slot, o))}, lines...)
	}
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

// lineOf works a quantity by the way nearest to the student's own, with the
// student's figures.
func (g *graded) lineOf(s, not int) string {
	m := g.run
	q := m.model.Quantities[s]
	sym := m.model.Symbol(q.ID)
	ways := m.model.Ways[s]
	if len(ways) == 0 {
		return sym + " = " + g.figureText(s, m.reference(s))
	}
	best, most := 0, -1
	for i := range ways {
		n := 0
		for _, d := range ways[i].Code.Deps() {
			if g.state.env.Has().Has(d) {
				n += 2
			} else if !m.model.Given.Has(d) {
				n--
			}
		}
		if n > most {
			best, most = i, n
		}
	}
	w := ways[best]
	v := make([]float64, len(m.model.Quantities))
	for _, d := range w.Code.Deps() {
		v[d] = g.studentFigure(d, not)
	}
	x := w.Code.Eval(v)
	figs := solver.FiguresOf(w.Formula, func(id string) string {
		d := m.model.Slot(id)
		if d < 0 {
			return id
		}
		if i, ok := g.last[d]; ok && d != not && g.steps[i].result != nil && g.out[i].scale == 1 && g.out[i].value && g.steps[i].result.text != "" && !g.steps[i].result.percent {
			return g.steps[i].result.text
		}
		if p, ok := m.question.Places[id]; ok && m.model.Given.Has(d) {
			return strconv.FormatFloat(v[d], 'f', p, 64)
		}
		return strconv.FormatFloat(v[d], 'f', m.model.Quantities[d].Places, 64)
	})
	parts := []string{sym}
	if t := solver.SymbolsOf(w.Formula, m.model.Symbol); t != sym {
		parts = append(parts, t)
	}
	if t := g.figureText(s, x); t != figs {
		parts = append(parts, figs, t)
	} else {
		parts = append(parts, t)
	}
	return strings.Join(parts, " = ")
}
