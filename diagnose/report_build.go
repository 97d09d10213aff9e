package diagnose

import "batten/parse"

// report turns the graded script into the contract's answer.
func (m *run) report(name string, s *parse.Script, steps []prepared, best *state) *Report {
	g := m.grade(s, steps, best)
	r := &Report{Schema: 1, Script: name, Question: m.question.ID, Caution: m.topic.Caution, Findings: []Finding{}, Parts: g.parts}
	if s.Name != "" {
		n := s.Name
		r.Name = &n
	}
	r.Lines = g.rows()
	v := g.voice()
	for i := range g.findings {
		f := v.finding(&g.findings[i])
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
