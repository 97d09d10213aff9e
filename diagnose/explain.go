package diagnose

import (
	"cmp"
	"math"
	"slices"

	"batten/solver"
)

// An explanation is one account of how a step came to what is written.
type explanation struct {
	cost    float64
	charges []charge
	sites   []*solver.Site
	right   bool // the formula is right: the figure follows, or is only rounded
	named   bool
	free    bool // nothing new: the idea of an earlier fault again
	tainted bool
	read    *reading
	scale   float64 // what turns the reading's figure into the quantity's unit, 0 where it is in that
}

// keepExplanations is how many explanations of a step are carried on.
const keepExplanations = 4

// assessWrong judges a step whose figure is not what it should be.
func (m *run) assessWrong(st *state, p *prepared, slot int, figs []solver.Figure, t target, last int, scales []float64) []outcome {
	if p.result.unit != nil {
		// a unit was written: the figure is meant in that unit and no other
		kept := scales[:0:0]
		for _, f := range scales {
			if f == 1 || solver.Close(f, t.scale) {
				kept = append(kept, f)
			}
		}
		scales = kept
	}
	base := m.newOutcome(slot, t)
	base.verdict = Faulty
	base.expected = bestExpected(figs)
	base.keep = m.signedPoint(p, slot, t, base.expected)
	if last < 0 {
		out := m.outcomes(st, p, base, m.explainValue(st, p, slot, t, figs), -1)
		for i := range out {
			if o := &out[i]; len(o.charges) > 0 && m.formulaFault(o.charges[0].fault) {
				o.keep = o.keep.Hull(rounded(o.keep.Mid(), 2*t.half)) // what the figure is rounded from may have been kept
			}
		}
		return out
	}
	given, gives := m.gives(st, &p.sides[last], p.result, scales)
	ok := make([]bool, len(p.sides))
	for k := range p.sides {
		ok[k] = m.sideFits(st, &p.sides[k], figs, slot, t, scales)
	}
	if gives && m.rightAsWritten(&p.sides[last], p.result, figs, slot, t) {
		gives = false // what it comes to in another unit, or with other brackets, is not what it gives
	}
	if gives {
		if !given.iv.IsVoid() {
			x := t
			x.value = base.keep.Mid()
			base.keep = keepRange(x, solver.Interval{Lo: given.iv.Lo * t.scale, Hi: given.iv.Hi * t.scale})
			base.keep = base.keep.Hull(rounded(x.value, x.slack))
			if (base.keep.Mid() < 0) != (x.value < 0) && m.bySign[slot] {
				base.keep = solver.Interval{Lo: -base.keep.Hi, Hi: -base.keep.Lo}
			}
		}
		k := firstBad(p, ok)
		if k > 0 && ok[k-1] && !p.sides[k-1].names && len(p.sides[k-1].alts) > 0 && !p.sides[k].names {
			// one row of figures does not give the next: the slip lies between
			ex := m.arithmetic(st, p, slot, k, solver.Void())
			return m.outcomes(st, p, base, ex, k)
		}
		ex := m.explainSide(st, p, slot, k, scales)
		if len(ex) > 0 && ex[0].right && p.sides[k].names && !p.sides[k].figures {
			// the formula is right in words: what was put in for them is not
			for j := k + 1; j < len(p.sides); j++ {
				if len(p.sides[j].alts) > 0 && !ok[j] {
					ex, k = m.explainSide(st, p, slot, j, scales), j
					break
				}
			}
		}
		ex = m.comesTo(st, ex, slot, t, scales)
		if words := p.sides[k].names && !p.sides[k].figures; k != last && (words || len(ex) == 0 || ex[0].cost > costNamed+1) {
			// the words may be too loose to tell what the figures tell; but a figure is
			// not miscopied where the words ask for just that wrong one
			dearer := 1.0
			if words {
				dearer = -0.6
			}
			if by := m.comesTo(st, m.explainSide(st, p, slot, last, scales), slot, t, scales); len(by) > 0 && (len(ex) == 0 || by[0].cost < ex[0].cost-dearer && !by[0].right) &&
				!(words && len(ex) > 0 && ex[0].cost < costOperand+1 && by[0].charges[0].fault == FaultMiscopied && m.saysOther(st, p, slot, &p.sides[k])) {
				ex, k = by, last
			}
		}
		ex = append(ex, m.unexplained(p, slot, k))
		return m.outcomes(st, p, base, ex, k)
	}
	if ok[last] {
		x := m.sideFigure(st, &p.sides[last], slot, scales, figs, t)
		if i, ok := m.fits(target{value: x, slack: t.slack}, figs, slot); ok {
			tainted, _ := m.taintOf(st, &figs[i])
			base.cost += m.without(st, slot, &figs[i], tainted, target{value: x, slack: t.slack}, figs)
		}
		ex := m.arithmetic(st, p, slot, len(p.sides)-1, m.keptRange(x, figs, slot, t.slack))
		if e, ok := m.fromNowhere(st, p, slot, t, len(p.sides)-1); ok {
			e.cost = costArithmetic - 0.1 // no slip ends in the right figure
			ex = append(ex, e)
		}
		if sd := &p.sides[last]; sd.names && !sd.figures {
			ex = append(ex, m.behindWords(st, p, slot, t, figs)...)
		}
		return m.outcomes(st, p, base, ex, len(p.sides)-1)
	}
	// the working is wrong, and gives something else besides
	k := firstBad(p, ok)
	ex := m.explainSide(st, p, slot, k, scales)
	if len(ex) > keepExplanations {
		ex = ex[:keepExplanations]
	}
	x := math.NaN()
	if vs := m.valuesOf(st, &p.sides[last], false); len(vs) > 0 {
		x = vs[0].iv.Mid() * t.scale
	}
	slip := m.arithmetic(st, p, slot, len(p.sides)-1, pointOf(x))[0]
	var both []explanation
	for _, e := range ex {
		if e.right {
			s := slip
			s.cost += e.cost
			s.tainted = e.tainted
			both = append(both, s)
			continue
		}
		c := e
		c.charges = append(append([]charge(nil), e.charges...), slip.charges...)
		c.cost += slip.cost
		both = append(both, c)
	}
	for _, e := range m.explainValue(st, p, slot, t, figs) {
		e.cost += 1.5
		both = append(both, e)
	}
	if e, ok := m.fromNowhere(st, p, slot, t, last); ok {
		both = append(both, e)
	}
	both = append(both, m.unexplained(p, slot, k))
	return m.outcomes(st, p, base, both, k)
}

// rightAsWritten reports whether the working, just as it stands, comes to the
// right figure, and not to the one that was written down.
func (m *run) rightAsWritten(sd *side, w *written, figs []solver.Figure, slot int, t target) bool {
	x, ok := sd.alts[0].literal()
	if !ok || sd.alts[0].kind != asWritten || math.Abs(math.Abs(x)-math.Abs(w.value)) <= w.ulp+1e-9*math.Abs(x) {
		return false
	}
	_, ok = m.fits(target{value: x * t.scale, slack: t.slack}, figs, slot)
	return ok
}

// fromNowhere explains a figure that is the right one of the question, though
// what the student has above it gives another.
func (m *run) fromNowhere(st *state, p *prepared, slot int, t target, side int) (explanation, bool) {
	if !m.isReference(t, slot) || m.model.Given.Has(slot) || t.digits < 3 {
		return explanation{}, false
	}
	c := charge{fault: FaultNotFollow, side: side, at: p.sides[side].at, shown: ShownWritten, slot: slot}
	return explanation{cost: costNotFollow, named: true, charges: []charge{c}}, true
}

// comesTo leaves out the explanations by which the formula is right, but would
// give another figure than the one that is written.
func (m *run) comesTo(st *state, ex []explanation, slot int, t target, scales []float64) []explanation {
	out := ex[:0:0]
	for _, e := range ex {
		if e.right && e.read != nil && !m.comes(st, e.read, slot, t, scales) {
			continue
		}
		out = append(out, e)
	}
	return out
}

func (m *run) comes(st *state, r *reading, slot int, t target, scales []float64) bool {
	iv := r.value()
	if iv.IsVoid() {
		return true
	}
	if x, ok := r.form.literal(); ok && m.nearest(st, r, slot) {
		iv = iv.Hull(solver.Point(x)) // with its figures as they are written
	}
	slack := t.slack + 1e-9*math.Abs(t.value)
	for _, f := range scales {
		if f != 1 && !same(r.full().scale(f), m.right[slot]) {
			continue
		}
		x := solver.Interval{Lo: iv.Lo * f, Hi: iv.Hi * f}
		back := solver.Interval{Lo: -x.Hi, Hi: -x.Lo}
		if x.Holds(t.value, slack) || back.Holds(t.value, slack) {
			return true
		}
	}
	return false
}

// nearest reports whether each figure of the reading is taken for what it comes
// nearest to: one that is rounded is then no other.
func (m *run) nearest(st *state, r *reading, slot int) bool {
	for i, k := range r.picks {
		l := &r.form.leaves[i]
		if x := l.figure(); k.iv.Holds(x, 1e-6*math.Abs(x)) {
			continue
		}
		if first := m.candidates(st, l, slot, false)[0]; first.slot != k.slot || first.local != k.local {
			return false
		}
	}
	return true
}

// signedPoint is a stated figure with its sign: where a bare size was written
// for a signed quantity, the words' sign, else that of what was due.
func (m *run) signedPoint(p *prepared, slot int, t target, due float64) solver.Interval {
	v := t.value
	if m.bySign[slot] && v > 0 {
		sign := due
		if d := m.direction(slot); d != nil {
			if ss := m.topic.Senses(d.ID, p.step.Label+" "+p.step.Words); len(ss) == 1 {
				sign = float64(ss[0].Sign)
			}
		}
		if sign < 0 {
			v = -v
		}
	}
	return solver.Point(v)
}

// firstBad is the first side whose figures are not right; sides of words
// alone that nothing speaks against are passed over.
func firstBad(p *prepared, ok []bool) int {
	first := -1
	for k := range p.sides {
		if len(p.sides[k].alts) == 0 && p.sides[k].bare != nil && k == len(p.sides)-1 {
			continue
		}
		if !ok[k] && len(p.sides[k].alts) > 0 {
			first = k
			break
		}
	}
	if first < 0 {
		for k := range p.sides {
			if len(p.sides[k].alts) > 0 {
				return k
			}
		}
		return 0
	}
	return first
}

func (m *run) sideFits(st *state, sd *side, figs []solver.Figure, slot int, t target, scales []float64) bool {
	if sd.bare != nil {
		for _, c := range m.statedAs(sd.bare, slot) {
			if _, ok := m.fits(c, figs, slot); ok {
				return true
			}
		}
		return false
	}
	for _, v := range m.valuesOf(st, sd, false) {
		for _, f := range scales {
			x := v.iv.Mid() * f * t.scale
			if _, ok := m.fits(target{value: x, slack: t.slack}, figs, slot); ok {
				return true
			}
		}
	}
	return false
}

// sideFigure is what a side that is right comes to, in the quantity's unit.
func (m *run) sideFigure(st *state, sd *side, slot int, scales []float64, figs []solver.Figure, t target) float64 {
	best := math.NaN()
	for _, v := range m.valuesOf(st, sd, false) {
		for _, f := range scales {
			x := v.iv.Mid() * f * t.scale
			if _, ok := m.fits(target{value: x, slack: t.slack}, figs, slot); ok {
				return x
			}
			if math.IsNaN(best) {
				best = x
			}
		}
	}
	return best
}

func bestExpected(figs []solver.Figure) float64 {
	if len(figs) == 0 {
		return math.NaN()
	}
	return figs[0].Mid()
}

func (w *written) places() int {
	p := int(math.Round(-math.Log10(w.ulp)))
	if p < 0 || p > 12 {
		return 0
	}
	return p
}

// unexplained is what is left where nothing known gives the figure.
func (m *run) unexplained(p *prepared, slot, side int) explanation {
	at := p.step.LabelAt
	if side >= 0 && side < len(p.sides) {
		at = p.sides[side].at
	} else if n := len(p.sides); n > 0 {
		side = n - 1
		at = p.sides[side].at
	}
	return explanation{cost: costUnexplained, charges: []charge{{fault: FaultUnexplained, side: side, at: at, shown: ShownWritten, slot: slot}}}
}

// dearestReading is what a reading may cost for its step to be explained by it:
// with any fault it would be dearer than a step that nothing explains.
const dearestReading = 12

// explainSide explains a wrong expression: which reading of it is a known
// wrong formula, or a right one with a figure copied wrongly.
func (m *run) explainSide(st *state, p *prepared, slot, k int, scales []float64) []explanation {
	return m.explainBy(st, p, slot, k, scales, dearestReading)
}

// explainBy is explainSide with what a reading may cost.
func (m *run) explainBy(st *state, p *prepared, slot, k int, scales []float64, dearest float64) []explanation {
	sd := &p.sides[k]
	var out []explanation
	var kept []*reading // cheapest first
	unit := []float64{1}
	for _, f := range scales {
		if f != 1 && f > 0 {
			unit = append(unit, f)
		}
	}
	if w := p.result; w != nil && w.unit != nil && w.unit.Factor > 0 && !slices.Contains(unit, w.unit.Factor) {
		unit = append(unit, w.unit.Factor) // all of it in the unit of the result
	}
	// an explanation costs half of what its reading does at the least
	if 2*m.room < dearestReading {
		m.cut = true
		dearest = min(dearest, 2*m.room)
	}
	for i := range sd.alts {
		a := m.accountsOf(st, &sd.alts[i], slot, unit, dearest, !m.shallow)
		for _, x := range a.all {
			out = append(out, m.explanationOf(st, p, slot, k, x))
		}
		if !m.shallow {
			for _, r := range a.kept {
				kept = m.amongCheapest(kept, r, false)
			}
		}
	}
	sortExplanations(out)
	tie(out)
	plain := slices.ContainsFunc(out, func(e explanation) bool { return e.cost < 5 && !e.right })
	if m.shallow {
		return out
	}
	if plain {
		if out[0].cost > costNamed && out[0].charges != nil && out[0].charges[0].fault == FaultMiscopied {
			out = append(out, m.elsewhere(st, slot, k, kept, unit)...)
			sortExplanations(out)
		}
		return out
	}
	if m.room < costFactor && len(st.made) < 2 {
		m.cut = true
		return out
	}
	out = append(out, m.elsewhere(st, slot, k, kept, unit)...)
	out = append(out, m.oneSlip(st, slot, k, kept, unit)...)
	out = append(out, m.repairs(st, p, slot, k, kept, unit)...)
	for _, r := range kept {
		if m.left <= 0 {
			break
		}
		ps := m.pairs(slot, r.held)
		m.budget(len(ps.all) / 8)
		ps.matching(r, 1, func(h *hypothesis) {
			e := explanation{cost: r.cost*0.6 + h.cost, named: true, sites: h.sites, tainted: r.tainted, read: r, charges: m.chargesOf(st, p, slot, k, h, r)}
			e.cost -= m.madeBefore(e.charges)
			if allFree(e.charges) {
				e.free, e.cost = true, r.cost*0.6+0.5
			}
			out = append(out, e)
		})
	}
	sortExplanations(out)
	return out
}

// explanationOf is an account told of a side of the step, as the state has it.
func (m *run) explanationOf(st *state, p *prepared, slot, k int, x account) explanation {
	r := x.r
	e := explanation{tainted: r.tainted, read: r, scale: x.scale}
	copied := func() charge {
		l := &r.form.leaves[r.slip-1]
		return charge{fault: FaultMiscopied, side: k, at: l.at, shown: ShownWritten, right: r.picks[r.slip-1].right, slot: slot}
	}
	if x.h == nil {
		if e.cost, e.right = r.cost*0.5, r.slip == 0; !e.right {
			e.named, e.cost = true, r.cost
			c := copied()
			c.wrote, c.picks = r.form.leaves[r.slip-1].figure(), r
			e.charges = []charge{c}
			m.copiedAgain(st, &e)
		}
		return e
	}
	e.named, e.sites = true, x.h.sites
	e.charges = m.chargesOf(st, p, slot, k, x.h, r)
	e.cost = r.cost*0.6 + x.h.cost + m.contradicted(x.h, r)
	again := allFree(e.charges)
	if again {
		e.free, e.cost = true, r.cost*0.6+0.3
	}
	if r.slip > 0 {
		e.charges = append(e.charges, copied())
		e.cost += costTwo
		if again { // beside the same idea again, the slip alone is new
			e.free, e.cost = false, r.cost+0.3
		}
	}
	return e
}

// tie notes which other faults are the cheapest one's equals: the same formula,
// and nothing that speaks for one of them more than for the other.
func tie(ex []explanation) {
	if len(ex) == 0 || ex[0].right || ex[0].free || len(ex[0].charges) != 1 {
		return
	}
	c := &ex[0].charges[0]
	for _, e := range ex[1:] {
		if e.cost > ex[0].cost+1e-6 {
			return
		}
		if !e.right && !e.free && len(e.charges) == 1 && e.charges[0].fault != c.fault && !slices.Contains(c.alternatives, e.charges[0].fault) && same(e.read.full(), ex[0].read.full()) {
			c.alternatives = append(c.alternatives, e.charges[0].fault)
		}
	}
}

// madeBefore is what two faults together cost less where one of them was made
// before: only the other is new.
func (m *run) madeBefore(cs []charge) float64 {
	less := 0.0
	for _, c := range cs {
		if f := m.topic.Fault(c.fault); c.free && f != nil {
			less += costOf(f) - 0.3
		}
	}
	return less
}

// contradicted is what speaks against a fault that is made everywhere or
// nowhere: right figures in the same expression that it would have changed.
func (m *run) contradicted(h *hypothesis, r *reading) float64 {
	for _, f := range h.faults {
		t, ok := m.touched[f.ID]
		if !ok {
			continue
		}
		for i := range r.picks {
			if k := r.picks[i]; k.slot >= 0 && !k.tainted && k.site == nil && t.Has(k.slot) {
				return costContradicted
			}
		}
	}
	return 0
}

func allFree(cs []charge) bool {
	for _, c := range cs {
		if !c.free {
			return false
		}
	}
	return len(cs) > 0
}

func sortExplanations(ex []explanation) {
	slices.SortStableFunc(ex, func(a, b explanation) int { return cmp.Compare(a.cost, b.cost) })
}
