package diagnose

import (
	"math"
	"slices"
	"strings"

	"batten/solver"
)

// mostTraced bounds how often a script is read again with a fault taken back
// to an earlier line.
const mostTraced = 3

// readAll finds the reading of the script, and takes each fault back to the
// line where it was first written.
func (m *run) readAll(steps []prepared) *state {
	m.solveAll(steps)
	m.nameBefore(steps)
	m.fitTables(steps)
	m.addsUp = sums(steps)
	m.shared = namesOfSeveral(steps)
	best := m.search(steps)
	for n := 0; n < mostTraced; n++ {
		i, slot, ok := m.source(steps, best)
		if !ok {
			break
		}
		if m.taken == nil {
			m.taken = map[int]int{}
		}
		m.taken[i] = slot
		m.left += searchBudget / 4
		dearest := best.cost + m.againFor(&steps[i], slot)
		m.sweep(steps[:i], 0, beamWidth, dearest)
		again := m.sweep(steps, i, beamWidth, dearest)
		if again != nil {
			again.out = again.outcomes()
		}
		if again == nil || again.out[i].verdict != Faulty || again.out[i].slot != slot || again.cost > dearest {
			m.taken[i] = -1
			continue
		}
		best = again
	}
	m.left = max(m.left, reserve)
	m.lookAgain(steps, best)
	m.toWords(steps, best)
	m.toItsName(steps, best)
	return best
}

// costAgain is how much dearer the reading may be in which an intermediate
// figure is the wrong one, over that in which the step that uses it is.
const costAgain = 2.5

// againFor is costAgain for a figure, more where its own label names the quantity.
func (m *run) againFor(p *prepared, slot int) float64 {
	for _, mt := range m.wordingOf(p).matches {
		if mt.slot == slot && mt.score >= 0.6 {
			return costAgain + 1.5
		}
	}
	return costAgain
}

// source finds an intermediate figure of a faulty step that alone is to blame:
// with a quantity of the topic in its place the step would be right. It gives
// the step that states the figure and the quantity that it should have been.
func (m *run) source(steps []prepared, best *state) (step, slot int, ok bool) {
	for i := range best.out {
		o := &best.out[i]
		if o.verdict != Faulty || o.slot < 0 || len(o.charges) != 1 || !o.charges[0].atStep(o) && o.charges[0].unwritten == 0 {
			continue
		}
		if o.read != nil && o.charges[0].unwritten == 0 {
			if step, slot, ok = m.sourceIn(steps, best, i, o.slot, o.read); ok {
				return step, slot, true
			}
		}
		// any reading in which an intermediate figure stands will do
		n := 0
		for k := range steps[i].sides {
			for a := range steps[i].sides[k].alts {
				m.meanings = 3
				m.lift(best, &steps[i].sides[k].alts[a], o.slot, false, func(r *reading) bool {
					n++
					step, slot, ok = m.sourceIn(steps, best, i, o.slot, r)
					return !ok && n < 300
				})
				m.meanings = 0
				if ok {
					return step, slot, true
				}
			}
		}
	}
	return 0, 0, false
}

// sourceIn is source for one reading of the step.
func (m *run) sourceIn(steps []prepared, best *state, i, target int, r *reading) (step, slot int, ok bool) {
	var rep *repairer
	for j, k := range r.picks {
		at := -1
		switch {
		case k.local > 0 && k.local <= len(best.locals):
			at = best.locals[k.local-1].step
		case k.local == 0 && k.slot >= 0 && k.stated && !m.model.Given.Has(k.slot):
			at = statedIn(best, i, k.slot)
		}
		if at < 0 || at >= i {
			continue
		}
		if _, tried := m.taken[at]; tried {
			continue
		}
		if rep == nil {
			rep = m.repairerOf(r, target, m.right[target])
		}
		s, ok := m.standsFor(rep, j, &steps[at])
		if ok && k.local == 0 && !m.namesSooner(&steps[at], s, k.slot) {
			continue
		}
		if ok {
			return at, s, true
		}
	}
	return 0, 0, false
}

// statedIn is the step before the given one that stated the quantity last, rightly, -1 for none.
func statedIn(best *state, before, slot int) int {
	for i := before - 1; i >= 0; i-- {
		if o := &best.out[i]; o.slot == slot && o.value && o.verdict == Holds {
			return i
		}
	}
	return -1
}

// namesSooner reports whether the label of a step names a quantity well, and
// better than the one it was taken for.
func (m *run) namesSooner(p *prepared, slot, than int) bool {
	var a, b float64
	for _, mt := range m.labelled(p) {
		if mt.slot == slot {
			a = mt.score
		}
		if mt.slot == than {
			b = mt.score
		}
	}
	return a >= 0.6 && a > b
}

// atStep reports whether the charge is on the step's own quantity.
func (c *charge) atStep(o *outcome) bool { return c.unwritten == 0 && c.slot == o.slot }

// standsFor finds the quantity that, in the place of the j-th operand, makes
// the step right: of several the one that the figure's own label names best.
func (m *run) standsFor(rep *repairer, j int, p *prepared) (int, bool) {
	best, found := -1.0, -1
	may := rep.inPlaceOf(j)
	for i, k := range rep.r.picks {
		if i != j && k.local > 0 && k.local == rep.r.picks[j].local {
			may = m.all // it stands there twice
		}
	}
	score := func(s int) float64 {
		x := 0.0
		for _, mt := range m.match(p.label) {
			if mt.slot == s {
				x = mt.score
			}
		}
		if m.onWay.Has(s) {
			x += 0.1
		}
		return x
	}
	may.Each(func(s int) {
		if s == rep.slot || m.model.Given.Has(s) || p.result != nil && p.result.unit != nil && !m.unitFits(p.result.unit, s) {
			return
		}
		if !m.rightWith(rep.slot, rep.r, j, s, oneScale) {
			return
		}
		if x := score(s); x > best {
			best, found = x, s
		}
	})
	return found, found >= 0
}

var oneScale = []float64{1}

// rightWith reports whether the reading with the j-th operand taken for the
// quantity s gives the target, in one of the scales.
func (m *run) rightWith(target int, r *reading, j, s int, scales []float64) bool {
	var in [maxLeaves]float64
	var v vec
	for w := range v {
		for i, k := range r.picks {
			in[i] = k.vec[w]
			if i == j || k.local > 0 && k.local == r.picks[j].local {
				in[i] = m.right[s][w]
			}
		}
		v[w] = r.form.code.Eval(in[:len(r.picks)])
		if w == 0 && !m.near(target, v[0], scales) {
			return false
		}
	}
	for _, u := range scales {
		if same(v.scale(u), m.right[target]) || m.bySign[target] && same(v.scale(-u), m.right[target]) {
			return true
		}
	}
	return false
}

// near reports whether a figure in the first world is the quantity's, in one of the scales.
func (m *run) near(slot int, x float64, scales []float64) bool {
	for _, u := range scales {
		if solver.Close(x*u, m.right[slot][0]) || m.bySign[slot] && solver.Close(-x*u, m.right[slot][0]) {
			return true
		}
	}
	return false
}

// reserve is kept for what is looked at behind the search, however long that has been.
const reserve = searchBudget / 20

// lookAgain looks once more at the faulty steps that are left without an
// explanation: where something else seemed to fit better at the time, the search
// has looked for the plain ones alone.
func (m *run) lookAgain(steps []prepared, best *state) {
	out := best.out
	i := len(steps)
	for b := best; b.before != nil; b = b.before {
		i--
		o := &out[i]
		if o.verdict != Faulty || o.slot < 0 || !o.value || len(o.charges) != 1 || !o.blames(FaultUnexplained) {
			continue
		}
		for _, n := range m.assessMiss(b.before, &steps[i], o.slot) {
			if n.verdict == Faulty && len(n.charges) == 1 && !n.blames(FaultUnexplained) && n.cost < costNotFollow {
				o.charges, o.sites, o.bad, o.read = n.charges, n.sites, n.bad, n.read
				break
			}
		}
	}
}

// toWords takes a fault that the figures show back to the words or symbols
// before them that say the same wrong thing: on the row above in the same step,
// or on a line of its own.
func (m *run) toWords(steps []prepared, best *state) {
	out := best.out
	for i := range out {
		o := &out[i]
		if o.verdict != Faulty || o.slot < 0 || len(o.charges) != 1 {
			continue
		}
		c := o.charges[0]
		if !m.formulaFault(c.fault) && c.fault != FaultNotFollow && c.fault != FaultMiscopied && c.fault != FaultUnexplained || c.shown != ShownWritten || c.side < 0 || c.side >= len(steps[i].sides) {
			continue
		}
		p := &steps[i]
		if k, d, ok := m.saidIn(best, p, o.slot, c, c.side); ok {
			o.charges = []charge{d}
			o.bad = k
		}
		j := i - 1
		named := func(j int) bool { return p.label != "" && strings.EqualFold(p.label, steps[j].label) }
		for j >= 0 && (out[j].slot < 0 && out[j].loc == nil && !named(j) || steps[j].step.Withdrawn) {
			j--
		}
		if k := slices.IndexFunc(steps[:i], func(q prepared) bool {
			return q.result == nil && out[q.index].slot == o.slot && named(q.index) && !q.step.Withdrawn
		}); k >= 0 {
			j = k // the formulas may stand together, before all figures
		}
		if j < 0 || out[j].slot != o.slot && !named(j) || steps[j].result != nil || out[j].verdict != Holds && out[j].verdict != Unplaced {
			continue
		}
		if k, d, ok := m.saidIn(best, &steps[j], o.slot, c, len(steps[j].sides)); ok {
			out[j].slot = o.slot
			out[j].verdict, out[j].charges, out[j].bad, out[j].sites = Faulty, []charge{d}, k, o.sites
			out[j].tainted = true
			o.verdict, o.charges, o.bad, o.from = Follows, nil, -1, j+1
			for x := range out {
				if x != i && out[x].from == i+1 {
					out[x].from = j + 1
				}
			}
		}
	}
}

// saysOther reports whether a formula in words or symbols, each of which names a
// quantity, is none that gives the one in the slot.
func (m *run) saysOther(st *state, p *prepared, slot int, sd *side) bool {
	for _, l := range sd.alts[0].leaves {
		if l.name == nil {
			continue
		}
		if ms := m.match(l.name.Text); st.aliases.find(l.name.Text) < 0 && (len(ms) == 0 || ms[0].score < 0.85 || m.topic.Loose(l.name.Text)) {
			return false
		}
	}
	other := false
	for i := range sd.alts {
		right := false
		m.lift(st, &sd.alts[i], slot, false, func(r *reading) bool {
			other = true
			right = same(r.full(), m.right[slot]) || m.bySign[slot] && same(r.full().scale(-1), m.right[slot])
			for _, f := range m.also[slot] {
				right = right || same(r.full().scale(f), m.right[slot]) || same(r.full().scale(1/f), m.right[slot])
			}
			return !right
		})
		if right {
			return false
		}
	}
	return other
}

// formulaFault reports whether the fault is one of a formula, which words can say.
func (m *run) formulaFault(id string) bool {
	return m.topicFault(id) || id == FaultOperation || id == FaultFactor || id == FaultOperand
}

// costFigured is by how much the words may sooner say the right thing and still
// be taken for the wrong one that the figures put in for them show: a letter
// that may stand for either is explained by its figure.
const costFigured = 0.5

// saidIn looks for the fault in the sides of words and symbols before the
// given one.
func (m *run) saidIn(st *state, p *prepared, slot int, c charge, before int) (int, charge, bool) {
	for k := 0; k < before; k++ {
		sd := &p.sides[k]
		if !sd.names || len(sd.alts) == 0 {
			continue
		}
		if c.fault == FaultNotFollow {
			if m.saysOther(st, p, slot, sd) {
				d := c
				d.side, d.at = k, sd.at
				return k, d, true
			}
			continue
		}
		plain := math.Inf(1) // what it costs to read the words as right
		for _, e := range m.explainSide(st, p, slot, k, m.scalesFor(slot, nil)) {
			if e.cost > costNamed+2.5 {
				break
			}
			if e.right && e.read != nil {
				plain = math.Min(plain, e.read.cost)
			}
			spare := costFigured
			if c.unwritten != 0 {
				spare = -costFigured // what a word stands for may be wrong, and the word right
			}
			if e.read != nil && e.read.cost >= plain+spare {
				continue // the words say the right thing
			}
			if len(e.charges) != 1 {
				continue
			}
			copied := c.fault == FaultMiscopied && m.formulaFault(e.charges[0].fault) // as the words say
			if e.charges[0].fault == c.fault || copied && e.read.cost < costFigured && m.saysOther(st, p, slot, sd) {
				d := e.charges[0]
				d.free = false
				if !copied {
					d.alternatives = c.alternatives
				}
				return k, d, true
			}
		}
		if c.fault != FaultMiscopied && m.saysOther(st, p, slot, sd) {
			d := c
			d.side, d.at = k, sd.at
			return k, d, true
		}
	}
	return 0, charge{}, false
}
