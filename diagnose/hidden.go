package diagnose

import (
	"math"
	"slices"

	"batten/solver"
)

// Faults that rounding hides: the figure is what it should be, within its
// places, and the formula beside it is not.

// writtenFault looks at a right figure whose formula, in figures or in words,
// is plainly a known wrong one.
func (m *run) writtenFault(st *state, p *prepared, slot int, o outcome, figs []solver.Figure, last int, v sideValue, scales []float64) []outcome {
	o.read = v.read
	sd := &p.sides[last]
	if m.reference(slot) == 0 || !sd.figures && !sd.names {
		return []outcome{o}
	}
	var e explanation
	found := false
	if m.misses(p, slot, &o, figs, v) {
		if ex := m.explainSide(st, p, slot, last, scales); len(ex) > 0 {
			e = ex[0]
			// what rests on a wrong figure may seem another known fault
			sure := o.verdict != Follows || !e.tainted || len(e.charges) == 1 && !m.topicFault(e.charges[0].fault)
			found = sure && e.cost < 5 && e.named && !e.right && !e.free && len(e.charges) == 1 && (e.charges[0].fault != FaultMiscopied || m.slipOfGiven(&e.charges[0]))
		}
	}
	if !found && m.mayHide(slot, o.slackOf(p)) && !m.readsRight(st, sd, slot, scales) {
		e, found = m.plainFault(st, p, slot, last, scales)
	}
	switch {
	case found && m.onlyRemarks(e.charges):
		o.remarks = append(o.remarks, e.charges...)
		o.cost += e.cost
	case found:
		o.verdict, o.charges, o.sites, o.bad, o.tainted, o.from = Faulty, e.charges, e.sites, last, true, 0
		o.cost += e.cost
	}
	return []outcome{o}
}

// slipOfGiven reports whether the figure copied wrongly is one that the question
// gives, of which there is no doubt.
func (m *run) slipOfGiven(c *charge) bool {
	if c.picks == nil || c.picks.slip == 0 {
		return false
	}
	s := c.picks.picks[c.picks.slip-1].slot
	return s >= 0 && m.model.Given.Has(s)
}

// leastMissed is the share by which figures put together exactly differ from what
// they should give, for that to be no rounding.
const leastMissed = 0.002

// misses reports whether the figures of the working, taken exactly, miss what
// they should give, though the written result does not.
func (m *run) misses(p *prepared, slot int, o *outcome, figs []solver.Figure, v sideValue) bool {
	if math.IsNaN(v.exact) {
		return false
	}
	x := v.exact * o.scale
	for _, f := range m.scalesFor(slot, p.result) {
		if math.Abs(x*f-o.stated) <= 0.05*math.Abs(o.stated) {
			x *= f
			break
		}
	}
	_, fits := m.fits(target{value: x, slack: math.Min(0.02*o.slackOf(p), leastMissed*math.Abs(x))}, figs, slot)
	return !fits
}

// mayHide reports whether some known fault changes the quantity by so little
// that a figure with the slack may be that of either.
func (m *run) mayHide(slot int, slack float64) bool {
	var least float64
	if x, ok := m.leastCache.Load(slot); ok {
		least = x.(float64)
	} else {
		least = math.Inf(1)
		right := m.reference(slot)
		for _, h := range m.hypotheses(slot, solver.Set{}).all {
			var x [1]float64
			m.model.Under([]int{0}, slot, h.sites, h.by, solver.Set{}, x[:])
			if d := math.Abs(x[0] - right); d > 1e-9*math.Abs(right) {
				least = math.Min(least, d)
			}
		}
		m.leastCache.Store(slot, least)
	}
	return least <= 2*slack+0.004*math.Abs(m.reference(slot))
}

// costPlainly is by how much cheaper one way to read a formula must be than another
// to be what it plainly says.
const costPlainly = 0.8

// readsRight reports whether the expression may be read as a right way to the
// quantity without anything far-fetched.
func (m *run) readsRight(st *state, sd *side, slot int, scales []float64) bool {
	right := false
	most := costReference
	if !sd.figures {
		most = costPlainly // words are just what they say
	}
	n := 0
	visit := func(r *reading) bool {
		n++
		r.most = most
		right = r.cost <= r.most && m.isRight(r, slot, scales)
		return !right && n < 300
	}
	// mostly each figure is just what it seems
	var lists [maxLeaves][]known
	for i := range sd.alts[0].leaves {
		lists[i] = m.plain(st, &sd.alts[0].leaves[i], slot)
	}
	if m.liftFrom(&sd.alts[0], &lists, visit); right {
		return true
	}
	for i := range sd.alts {
		if m.lift(st, &sd.alts[i], slot, false, visit); right {
			return true
		}
	}
	return false
}

// isRight reports whether the reading is a right way to the quantity.
func (m *run) isRight(r *reading, slot int, scales []float64) bool {
	_, right := m.rightIn(r, slot, scales)
	return right
}

// rightIn is isRight with the scale in which the reading is right.
func (m *run) rightIn(r *reading, slot int, scales []float64) (float64, bool) {
	for _, u := range scales {
		if u > 0 && solver.Close(r.vec[0]*u, m.right[slot][0]) && same(r.full().scale(u), m.right[slot]) {
			return u, true
		}
	}
	return 1, m.bySign[slot] && solver.Close(-r.vec[0], m.right[slot][0]) && same(r.full().scale(-1), m.right[slot])
}

// costPlain is what the reading may cost by which an expression plainly is a
// known wrong formula.
const costPlain = 1.0

// plainFault is the known wrong formula that the expression plainly is, each of
// its figures and words taken for what lies nearest.
func (m *run) plainFault(st *state, p *prepared, slot, k int, scales []float64) (explanation, bool) {
	deep := m.shallow
	m.shallow = true
	defer func() { m.shallow = deep }()
	// what is right at less is told by such readings; those that are dearer matter
	// only where one of these is a fault, and another account may come before it
	near := m.explainBy(st, p, slot, k, scales, costPlain+costPlainly)
	if !slices.ContainsFunc(near, func(e explanation) bool { return m.plainly(&e) && e.read.cost <= costPlain }) {
		return explanation{}, false
	}
	ex := m.explainSide(st, p, slot, k, scales)
	right := math.Inf(1)
	for _, e := range ex {
		if e.right || e.free && e.read != nil {
			right = math.Min(right, e.read.cost) // or no more than what went wrong before
		}
	}
	for _, e := range ex {
		if m.plainly(&e) {
			return e, e.read.cost <= costPlain && e.read.cost+costPlainly < right
		}
	}
	return explanation{}, false
}

// plainly reports whether the explanation is one fault of the topic.
func (m *run) plainly(e *explanation) bool {
	return !e.right && e.named && !e.free && len(e.charges) == 1 && m.topicFault(e.charges[0].fault)
}

func (o *outcome) slackOf(p *prepared) float64 {
	if p.result == nil {
		return 1e-6
	}
	return p.result.ulp * o.scale
}
