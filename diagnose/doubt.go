package diagnose

import (
	"math"

	"batten/parse"
)

// doubts charges an answer that can't be right and that the student lets
// stand. The slips that caused it keep their findings but cost nothing more;
// where a principal fault was charged already, nothing is added.
func (g *graded) doubts() {
	m := g.run
	if g.doubted() {
		return
	}
	rooted := map[int]bool{} // roots whose doubt is charged or excused already
	for k, part := range m.question.Parts {
		for _, a := range part.Find.Answers {
			s := m.model.Slot(a)
			i, culprit, ok := g.impossible(s, k)
			if !ok {
				continue
			}
			if g.principalIn(k) || g.principalBehind(culprit) {
				continue
			}
			root := culprit
			if r := g.out[culprit].from; r > 0 {
				root = r - 1
			}
			if rooted[root] {
				continue
			}
			rooted[root] = true
			p := &g.steps[i]
			c := charge{fault: FaultDoubtful, slot: s, side: len(p.sides) - 1, shown: ShownWritten}
			if n := len(p.sides); n > 0 {
				c.at = p.sides[n-1].at
			}
			g.addAt(c, i, k)
			g.findings[len(g.findings)-1].line = p.resultLine()
			for j := range g.findings {
				f := &g.findings[j]
				if f.part == k && f.severity == Clerical {
					f.waived = true
				}
			}
			break
		}
	}
}

// impossible finds, for an answer, the stated figure that can't be right among
// it and those it rests on; i is the step to charge: the answer's own, or the
// figure's where the answer was not reached.
func (g *graded) impossible(slot, part int) (i, culprit int, ok bool) {
	m := g.run
	need := m.model.Above[slot]
	need.Add(slot)
	culprit = -1
	for _, b := range m.topic.Bounds {
		s := m.model.Slot(b.Quantity)
		if s < 0 || !need.Has(s) {
			continue
		}
		j, stated := g.last[s]
		if !stated || g.out[j].verdict == Holds || !g.out[j].tainted && len(g.out[j].charges) == 0 {
			continue
		}
		v := g.signed(j, s)
		if g.boundHolds(b.Holds, s, v) {
			continue
		}
		if culprit < 0 || j < culprit {
			culprit = j
		}
	}
	if culprit < 0 {
		return 0, 0, false
	}
	if j, stated := g.last[slot]; stated {
		return j, culprit, g.out[j].verdict != Holds // a right answer can be right
	}
	if g.part[culprit] == part {
		return culprit, culprit, true
	}
	return 0, 0, false
}

// boundHolds evaluates a bound with the student's figure in place and the
// question's own for the rest.
func (g *graded) boundHolds(c parse.Cond, slot int, v float64) bool {
	if math.IsNaN(v) {
		return true
	}
	return g.run.model.HoldsWith(c, slot, v)
}

// doubted reports whether the student writes that a figure must be wrong.
func (g *graded) doubted() bool {
	for _, l := range g.script.Lines {
		if l.Doubt {
			return true
		}
	}
	for i := range g.steps {
		if g.steps[i].step.Doubt {
			return true
		}
	}
	return false
}

func (g *graded) principalIn(part int) bool {
	for _, f := range g.findings {
		if f.part == part && f.severity == Principal && f.charge.fault != FaultNotReached && f.charge.fault != FaultNotTried {
			return true
		}
	}
	return false
}

// principalBehind reports whether the figure's root was charged as principal.
func (g *graded) principalBehind(step int) bool {
	root := step
	if r := g.out[step].from; r > 0 {
		root = r - 1
	}
	for _, f := range g.findings {
		if f.severity == Principal && f.step == root {
			return true
		}
	}
	return false
}

// marks sums what each part loses, each fault once, never below nought.
func (g *graded) marks() {
	q := g.run.question
	for k := range g.parts {
		pm := &g.parts[k]
		principal := g.principalIn(k)
		for j := range g.findings {
			f := &g.findings[j]
			if f.part != k || f.waived {
				continue
			}
			charge := q.Marking.Principal
			switch {
			case f.charge.fault == FaultNotTried:
				f.cost = pm.Available
				pm.Deducted += f.cost
				continue
			case f.charge.fault == FaultNotReached && principal:
				continue // the part was charged as principal already
			case f.severity == Remark:
				continue
			case f.severity == Clerical:
				charge = q.Marking.Clerical
			}
			f.cost = charge.Share * pm.Available
			if charge.Marks > 0 {
				f.cost = charge.Marks
			}
			pm.Deducted += f.cost
		}
		pm.Deducted = tidy(math.Min(pm.Deducted, pm.Available))
		pm.Awarded = tidy(pm.Available - pm.Deducted)
	}
}

// tidy takes the noise of floating point off a mark.
func tidy(x float64) float64 { return math.Round(x*1e6) / 1e6 }

// number is x for the report, nil where there is none.
func number(x float64) *float64 {
	if math.IsNaN(x) || math.IsInf(x, 0) {
		return nil
	}
	v := significant(x)
	return &v
}

// significant takes the noise of floating point off a figure.
func significant(x float64) float64 {
	if x == 0 {
		return 0
	}
	e := math.Floor(math.Log10(math.Abs(x)))
	k := math.Pow(10, 9-e)
	if math.IsInf(k, 0) || k == 0 {
		return x
	}
	return math.Round(x*k) / k
}
