package students

import "math"

// marks works out what a script earns, by the contract.
func (d *Draw) marks(cs []*change) {
	q := d.Question
	t := &d.Truth
	t.MarksSure = true
	if d.Hand.Marks == "none" && len(q.parts) > 1 {
		// which part a step belongs to is then a matter of opinion
		for _, f := range t.Faults {
			t.MarksSure = t.MarksSure && (f.Quantity == "" || d.answersIt(f.Quantity))
		}
	}
	parts := len(q.parts)
	principal0 := make([]bool, parts) // a principal fault was charged in the part
	deduct := make([]float64, parts)
	cost := func(part int, severity string) float64 {
		m := q.Question.Parts[part].Marks
		c := q.Marking.Clerical
		if severity == principal {
			c = q.Marking.Principal
		}
		if c.Marks > 0 {
			return c.Marks
		}
		return c.Share * m
	}
	for k := range t.Faults {
		f := &t.Faults[k]
		if f.Hidden || len(f.Ties) > 0 && d.tiesDiffer(f) {
			t.MarksSure = false
		}
		if f.ID == "answer-not-reached" || f.ID == "part-not-attempted" {
			continue
		}
		deduct[f.Part] += cost(f.Part, f.Severity)
		if f.Severity == principal {
			principal0[f.Part] = true
		}
	}
	d.doubts(cs, cost, principal0, deduct)
	for k := range t.Faults {
		f := &t.Faults[k]
		switch f.ID {
		case "answer-not-reached":
			if !principal0[f.Part] {
				deduct[f.Part] += cost(f.Part, principal)
			}
		case "part-not-attempted":
			deduct[f.Part] = q.Question.Parts[f.Part].Marks
		}
	}
	for i := range deduct {
		t.Marks = append(t.Marks, math.Max(0, q.Question.Parts[i].Marks-deduct[i]))
	}
}

// answersIt reports whether a part asks for the quantity.
func (d *Draw) answersIt(id string) bool {
	for _, s := range d.plan.steps {
		if s.answer && quants[s.q].contract() == id {
			return true
		}
	}
	return false
}

func (d *Draw) tiesDiffer(f *TrueFault) bool {
	for _, id := range f.Ties {
		if severityOf(id) != f.Severity {
			return true
		}
	}
	return false
}

// doubts charges answers that can't be right and were let stand.
func (d *Draw) doubts(cs []*change, cost func(int, string) float64, principal0 []bool, deduct []float64) {
	p, w, t := d.plan, d.w, &d.Truth
	bad := make([]bool, len(p.steps))
	any := false
	for i, s := range p.steps {
		if s.written && !w.drop[i] && w.impossible(i) {
			bad[i], any = true, true
		}
	}
	if !any {
		return
	}
	if w.doubted {
		// the slip alone is charged; where other figures that can't be stood
		// undoubted beside it, how much was seen is a matter of opinion
		for i := range bad {
			if bad[i] && !p.steps[i].answer {
				t.MarksSure, t.Doubtful = false, true
			}
		}
		return
	}
	t.Doubtful = true
	charged := false
	for part := range p.question.parts {
		here := false
		for i, s := range p.steps {
			here = here || bad[i] && s.part == part
		}
		if !here {
			continue
		}
		if principal0[part] {
			continue
		}
		// the root: which fault caused it
		var clericalHere float64
		earlier := false
		for k, f := range t.Faults {
			taints := p.tainted(cs[k].edits)
			causes := false
			for i, s := range p.steps {
				// a KB is judged by the draught as the student has it
				by := quants[s.q].id == "kb_bilged" && p.at[slotOf("bilged_draught")] >= 0 && taints[p.at[slotOf("bilged_draught")]]
				causes = causes || bad[i] && s.part == part && (taints[i] || by)
			}
			switch {
			case !causes:
			case f.Part == part:
				clericalHere += cost(part, f.Severity)
			case f.Severity == principal || charged:
				earlier = true
			}
		}
		if earlier {
			continue
		}
		deduct[part] += cost(part, principal) - clericalHere
		principal0[part] = true
		charged = true
	}
	if len(t.Faults) > 1 {
		t.MarksSure = false // which of two caused it is a matter of opinion
	}
}

// impossible reports whether the figure of a step can't be right, by the
// bounds of the trade.
func (w *writer) impossible(i int) bool {
	p := w.plan
	x := w.figures.shown[i]
	draught := p.question.value["draught"]
	breadth := p.question.value["breadth"]
	newDraught := math.NaN()
	if j := p.at[slotOf("bilged_draught")]; j >= 0 {
		newDraught = w.figures.shown[j]
	}
	switch quants[p.steps[i].q].id {
	case "permeability":
		return x < 0 || x > 1
	case "sinkage":
		return x < 0 || x > draught
	case "sinkage_cm":
		return x < 0 || x > 100*draught
	case "bilged_draught":
		return x < draught || x > 2*draught
	case "kb_initial":
		return x <= 0 || x >= draught
	case "kb_bilged":
		return x <= 0 || x >= newDraught
	case "bm_initial", "bm_bilged":
		return x <= 0 || x > breadth
	case "gm_initial", "gm_bilged", "gm_change":
		return math.Abs(x) > breadth
	case "draught_forward", "draught_aft":
		return x < 0 || x > breadth
	case "list":
		return x < 0 || x > 45
	}
	return false
}
