package diagnose

import (
	"cmp"
	"math"
	"slices"
	"strings"

	"batten/solver"
)

// opened gives a step that ends in figures without their result the result
// that they come to, so that it can be judged like any other.
func (p *prepared) opened(last int) (*prepared, bool) {
	sd := &p.sides[last]
	x, ok := sd.alts[0].literal()
	if !ok {
		return nil, false
	}
	q := *p
	q.result = &written{value: x, ulp: math.Abs(x) * 2e-4, digits: 4, unit: p.sides[len(p.sides)-1].unit, at: sd.at}
	return &q, true
}

// assessFormula judges a step that states no figure: a formula in words or symbols.
func (m *run) assessFormula(st *state, p *prepared, slot int) []outcome {
	o := outcome{slot: slot, verdict: Holds, stated: math.NaN(), expected: math.NaN(), formula: true, bad: -1}
	scales := m.scalesFor(slot, nil)
	var ex []explanation
	deep := m.shallow
	m.shallow = true // that an unknown wrong formula would be right with a change says nothing here
	for k := range p.sides {
		if len(p.sides[k].alts) == 0 {
			continue
		}
		e := m.explainSide(st, p, slot, k, scales)
		if len(e) > 0 && (len(ex) == 0 || e[0].cost < ex[0].cost) {
			ex = e
		}
	}
	m.shallow = deep
	var out []outcome
	for _, e := range ex {
		switch {
		case len(out) > 0 && (e.right || e.free || e.cost > ex[0].cost+sameWords):
		case e.right:
			o.cost += e.cost
			return []outcome{o}
		case e.named && !e.free && len(e.charges) == 1 && m.topicFault(e.charges[0].fault) && e.cost < 5:
			b := o
			b.verdict, b.cost, b.charges, b.sites, b.bad = Faulty, e.cost, e.charges, e.sites, e.charges[0].side
			if !slices.ContainsFunc(out, func(o outcome) bool { return o.blames(e.charges[0].fault) }) {
				out = append(out, b)
			}
			continue
		case e.free:
			o.verdict, o.cost = Follows, e.cost
			o.from = m.rootOfFault(st, e.charges)
			return []outcome{o}
		}
		break
	}
	if len(out) > 0 {
		// A wrong formula in words. The figures below may still be worked rightly,
		// so the reading in which it is only loosely put is kept too.
		loose := o
		loose.cost += 3.4
		loose.verdict = Unplaced
		return append(out, loose)
	}
	o.verdict = Unplaced
	o.cost += 1.2
	return []outcome{o}
}

// sameWords is by how much a second fault that the same words may be may cost
// more than the first to be kept: figures to come tell them apart.
const sameWords = 0.5

func (m *run) topicFault(id string) bool {
	_, ok := m.faultIndex[id]
	return ok
}

// assessUnplaced judges a step that is taken for nothing known: only its own
// arithmetic can be checked. Its figure may serve later steps.
func (m *run) assessUnplaced(st *state, p *prepared) outcome {
	o := outcome{slot: -1, verdict: Unplaced, stated: math.NaN(), expected: math.NaN(), bad: -1}
	last := m.lastWorking(p)
	if p.result != nil {
		o.stated, o.value = p.result.value, true
	}
	if last < 0 {
		if p.result != nil && (p.label != "" || p.result.digits >= 3) {
			o.loc = &local{step: p.index, label: p.label, value: solver.Point(p.result.value), vec: constant(p.result.value)}
			o.cost += 0.4
		}
		return o
	}
	sd := &p.sides[last]
	if p.result == nil {
		if m.balances(st, p) {
			o.verdict = Holds
			return o
		}
		if x, ok := sd.alts[0].literal(); ok {
			o.loc = m.localOf(st, p, solver.Point(x))
		}
		return o
	}
	if k, want, broken := m.brokenRow(st, p); broken {
		ex := m.rowSlip(p, k, want)
		o.verdict, o.charges, o.cost = Faulty, ex.charges, ex.cost
		o.bad, o.tainted = k, true
		o.loc = m.afterSlip(st, p, want)
		return o
	}
	scales := m.scalesFor(-1, p.result)
	if q := m.inRoundNumbers(p, scales); q != nil {
		p = q
	}
	v, ok := m.gives(st, sd, p.result, append(scales, 100, 0.01))
	if ok {
		iv := rounded(p.result.value, p.result.ulp).Hull(v.iv)
		if iv.Width() > 4*p.result.ulp {
			iv = rounded(p.result.value, p.result.ulp)
		}
		o.loc = m.localOf(st, p, iv)
		return o
	}
	if _, lit := sd.alts[0].literal(); !lit {
		o.cost += 1
		o.loc = &local{step: p.index, label: p.label, value: solver.Point(p.result.value), vec: constant(p.result.value)}
		return o
	}
	x, _ := sd.alts[0].literal()
	ex := m.arithmeticOf(st, p, x)
	o.verdict, o.charges, o.cost = Faulty, ex.charges, ex.cost
	o.expected = x
	o.bad = len(p.sides) - 1
	o.tainted = true
	o.loc = m.afterSlip(st, p, x)
	return o
}

// afterSlip is the intermediate figure of a step whose working gives x, where
// another was written down: it stands for what x does.
func (m *run) afterSlip(st *state, p *prepared, x float64) *local {
	l := m.localOf(st, p, solver.Point(x))
	l.value, l.tainted = solver.Point(p.result.value), true
	for i := range l.others {
		l.others[i].tainted = true
	}
	return l
}

// brokenRow finds the first row of figures that is not what the row before it
// gives, and what it should give.
func (m *run) brokenRow(st *state, p *prepared) (side int, want float64, broken bool) {
	prev := math.NaN()
	for k := range p.sides {
		sd := &p.sides[k]
		if sd.bare != nil || len(sd.alts) == 0 {
			continue
		}
		var vals []float64
		for i := range sd.alts {
			if x, ok := m.formFigure(st, &sd.alts[i]); ok {
				vals = append(vals, x)
			}
		}
		if len(vals) == 0 {
			continue
		}
		if _, lit := sd.alts[0].literal(); !math.IsNaN(prev) && lit {
			hit := false
			for _, x := range vals {
				// rounding along the way is allowed for, and a chain run on from its last figure
				if math.Abs(x-prev) <= 0.004*math.Abs(prev)+1e-9 {
					hit = true
				}
			}
			if !hit && !runsOn(&p.sides[k-1], sd) && !strings.Contains(p.words, "so") {
				return k, prev, true
			}
		}
		prev = math.NaN()
		if sd.figures {
			prev = vals[0]
		}
	}
	return 0, 0, false
}

// runsOn reports whether a row begins with what the row before it comes to:
// 2.25 + 6.00 = 8.25 - 6.80 = 1.45.
func runsOn(before, row *side) bool {
	if len(row.alts) == 0 || len(row.alts[0].leaves) == 0 {
		return false
	}
	first := row.alts[0].leaves[0]
	if first.num == nil {
		return false
	}
	if before.bare != nil {
		return math.Abs(before.bare.value-first.num.Value) <= before.bare.ulp
	}
	for i := range before.alts {
		if x, ok := before.alts[i].literal(); ok && math.Abs(x-first.num.Value) <= first.ulp {
			return true
		}
	}
	return false
}

// rowSlip explains a row of figures that does not come to what it should: by
// one figure in it with a digit wrong, else by arithmetic.
func (m *run) rowSlip(p *prepared, k int, want float64) explanation {
	sd := &p.sides[k]
	e := explanation{cost: costArithmetic, named: true, charges: []charge{{fault: FaultArithmetic, side: k, at: sd.at, shown: ShownWritten, slot: -1}}}
	for i := range sd.alts {
		f := &sd.alts[i]
		var v [maxLeaves]float64
		for j, l := range f.leaves {
			if l.num == nil {
				return e
			}
			v[j] = l.num.Value
		}
		for j, l := range f.leaves {
			if l.sig < 2 {
				continue
			}
			old := v[j]
			for _, c := range digitVariants(l.num) {
				v[j] = c
				if x := f.code.Eval(v[:len(f.leaves)]); math.Abs(x-want) <= 0.0006*math.Abs(want) {
					e.cost = costMiscopied
					e.charges[0] = charge{fault: FaultMiscopied, side: k, at: l.at, shown: ShownWritten, right: c, slot: -1}
					return e
				}
			}
			v[j] = old
		}
	}
	return e
}

func (m *run) arithmeticOf(st *state, p *prepared, x float64) explanation {
	return m.arithmetic(st, p, -1, len(p.sides)-1, pointOf(x))[0]
}

// localOf keeps an unplaced figure for later steps, with the fingerprint of its
// cheapest reading.
func (m *run) localOf(st *state, p *prepared, iv solver.Interval) *local {
	l := &local{step: p.index, label: p.label, value: iv, vec: constant(iv.Mid())}
	type found struct {
		meaning
		cost float64
	}
	var all []found
	best := math.Inf(1)
	for k := range p.sides {
		for i := range p.sides[k].alts {
			f := &p.sides[k].alts[i]
			if f.kind == meant {
				continue
			}
			m.lift(st, f, -1, false, func(r *reading) bool {
				r.most = best + sameMeaning
				c := r.cost + 2*float64(r.opaque)
				if c >= best+sameMeaning || r.opaque > 0 && c >= best {
					return true
				}
				if rv := r.value(); !rv.IsVoid() && !rv.Holds(iv.Mid(), 0.02*math.Abs(iv.Mid())) {
					return true
				}
				if c < best {
					best = c
					l.known = r.opaque == 0 && !r.held.Empty()
					l.tainted = r.tainted
				}
				if r.opaque == 0 && !r.held.Empty() {
					for i := range all {
						if same(all[i].vec, r.full()) {
							all[i].cost = math.Min(all[i].cost, c)
							return true
						}
					}
					all = append(all, found{meaning{r.full(), r.held, r.tainted}, c})
				}
				return true
			})
		}
	}
	if !l.known {
		return l
	}
	slices.SortStableFunc(all, func(a, b found) int { return cmp.Compare(a.cost, b.cost) })
	l.vec, l.held, l.tainted = all[0].vec, all[0].held, all[0].tainted
	for _, f := range all[1:] {
		if f.cost < best+sameMeaning && len(l.others) < 3 {
			l.others = append(l.others, f.meaning)
		}
	}
	return l
}

// sameMeaning is by how much a second meaning of an intermediate figure may be
// dearer than the first to be kept.
const sameMeaning = 0.25

// rounded is what a figure written to the unit of its last place may have
// been before it was rounded.
func rounded(x, ulp float64) solver.Interval {
	return solver.Interval{Lo: x - ulp/2, Hi: x + ulp/2}
}

// balances reports whether an equation between two expressions is true of the
// quantities themselves: L d = (L − l) d1.
func (m *run) balances(st *state, p *prepared) bool {
	if len(p.sides) < 2 {
		return false
	}
	var first []vec
	for k := range p.sides {
		if len(p.sides[k].alts) == 0 {
			return false
		}
		var vs []vec
		m.lift(st, &p.sides[k].alts[0], -1, false, func(r *reading) bool {
			if r.opaque == 0 && !r.held.Empty() {
				vs = append(vs, r.full())
			}
			return len(vs) < 200
		})
		if k == 0 {
			first = vs
			continue
		}
		hit := false
		for _, a := range first {
			for _, b := range vs {
				if same(a, b) {
					hit = true
				}
			}
		}
		if !hit {
			return false
		}
	}
	return true
}

// costKnown is what it costs to leave a bare figure unplaced of which it is known
// where it comes from, whatever its label says.
const costKnown = 2.5

// restatesLocal reports whether a bare figure is an intermediate one put down again.
func (s *state) restatesLocal(p *prepared) bool {
	w := p.result
	if w == nil || len(p.sides) != 1 || w.digits < 3 {
		return false
	}
	for i := range s.locals {
		if s.locals[i].value.Holds(w.value, 0.505*w.ulp) {
			return true
		}
	}
	return false
}

// sums finds the bare cells of tables that are what the cells above them in
// their column come to, each added or taken off.
func sums(steps []prepared) map[int]bool {
	type column struct{ table, col int }
	above := map[column][]*written{}
	var out map[int]bool
	for i := range steps {
		p := &steps[i]
		if p.step.Table == 0 || p.result == nil {
			continue
		}
		at := column{p.step.Table, p.step.TableCol}
		if w := p.result; len(p.sides) == 1 && w.digits >= 4 && addsUp(above[at], w) {
			if out == nil {
				out = map[int]bool{}
			}
			out[p.index] = true
		}
		above[at] = append(above[at], p.result)
	}
	return out
}

func addsUp(cells []*written, total *written) bool {
	n := len(cells)
	if n < 2 || n > 6 {
		return false
	}
	slack := total.ulp
	for _, c := range cells {
		slack += c.ulp / 2
	}
	for signs := 0; signs < 1<<(n-1); signs++ {
		x := cells[0].value
		for i, c := range cells[1:] {
			if signs>>i&1 == 1 {
				x -= c.value
			} else {
				x += c.value
			}
		}
		if math.Abs(x-total.value) <= slack {
			return true
		}
	}
	return false
}
