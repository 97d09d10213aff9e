package diagnose

import (
	"math"
	"slices"

	"batten/solver"
)

// What a step's form and its figure speak for, whatever its words.

// byForm finds the quantities whose formula, right or wrong as a known fault
// has it, is that of the step's working.
func (m *run) byForm(st *state, p *prepared) map[int]float64 {
	out := map[int]float64{}
	k := m.lastWorking(p)
	if k < 0 {
		return out
	}
	put := func(slot int, c float64) {
		if old, ok := out[slot]; !ok || c < old {
			out[slot] = c
		}
	}
	for k := range p.sides {
		for i := range p.sides[k].alts {
			f := &p.sides[k].alts[i]
			if f.kind == meant {
				continue
			}
			lists := m.meaningsOf(st, f, -1, false)
			for _, x := range m.matchesOf(f, &lists) {
				put(x.slot, x.cost)
			}
		}
	}
	return out
}

// A formMatch is a quantity whose formula a form may be.
type formMatch struct {
	slot int
	cost float64
}

// matchesOf finds the quantities whose formula a form may be with the meanings
// of its leaves.
func (m *run) matchesOf(f *form, lists *[maxLeaves][]known) []formMatch {
	in := m.senseOf(f, lists)
	if out, ok := m.senses.byForm[in]; ok {
		return out
	}
	var out []formMatch
	put := func(slot int, c float64) {
		for i := range out {
			if x := &out[i]; x.slot == slot {
				x.cost = math.Min(x.cost, c)
				return
			}
		}
		out = append(out, formMatch{slot, c})
	}
	n := 0
	m.liftFrom(f, lists, func(r *reading) bool {
		n++
		if r.opaque > 0 || r.held.Empty() {
			return n < 1500
		}
		for _, u := range [...]float64{1, 100, 0.01} {
			v := r.vec.scale(u)
			full := func() vec { return r.full().scale(u) }
			pen := 0.0
			if u != 1 {
				pen = 0.8
			}
			m.rightSlots(v[0], func(slot int) {
				if same(full(), m.right[slot]) {
					put(slot, pen+r.cost*0.4)
				}
			})
			if u != 1 {
				continue
			}
			m.rightSlots(-v[0], func(slot int) {
				if m.bySign[slot] && same(full().scale(-1), m.right[slot]) {
					put(slot, 0.1+r.cost*0.4)
				}
			})
			m.spoiltSlots(func() vec { return r.full() }, v[0], func(slot int) {
				put(slot, 0.4+r.cost*0.4)
			})
			m.siteSlots(v[0], func(site *solver.Site) {
				if same(full(), m.siteVecs[site]) {
					put(site.Slot, 0.3+r.cost*0.4)
				}
			})
		}
		return n < 1500
	})
	if m.senses.byForm == nil {
		m.senses.byForm = map[sense][]formMatch{}
	}
	m.senses.byForm[in] = out
	return out
}

// byNear finds the quantities not stated yet whose figure the step's comes
// close to, where it is worked out and must stand for something.
func (m *run) byNear(st *state, p *prepared) map[int]float64 {
	out := map[int]float64{}
	w := p.result
	if w == nil || w.digits < 3 || m.lastWorking(p) < 0 {
		return out
	}
	d := st.env.Derive()
	m.onWay.Each(func(slot int) {
		if st.env.Has().Has(slot) || m.model.Given.Has(slot) || w.unit != nil && !m.unitFits(w.unit, slot) {
			return
		}
		for _, t := range m.statedAs(w, slot)[:1] {
			for _, f := range d.Derived(slot) {
				if x := math.Abs(f.Mid()); x > 0 && math.Abs(math.Abs(t.value)-x) <= 0.1*x {
					out[slot] = 1.4 + 4*math.Abs(math.Abs(t.value)-x)/x
				}
			}
		}
	})
	return out
}

func (m *run) rightSlots(x float64, f func(slot int)) {
	tol := 1e-9 * math.Abs(x)
	for i := atLeast(m.values1, x-tol); i < len(m.byValue) && m.byValue[i].x <= x+tol; i++ {
		f(m.byValue[i].slot)
	}
}

func (m *run) siteSlots(x float64, f func(s *solver.Site)) {
	tol := 1e-9 * math.Abs(x)
	for i := atLeast(m.sites1, x-tol); i < len(m.bySite) && m.bySite[i].x <= x+tol; i++ {
		f(m.bySite[i].site)
	}
}

// byFigure finds the quantities whose figure the step's is, where it is
// written sharply enough to tell.
func (m *run) byFigure(st *state, p *prepared) map[int]float64 {
	out := map[int]float64{}
	w := p.result
	if w == nil || w.digits < 3 && w.unit == nil {
		return out
	}
	d := st.env.Derive()
	for slot, q := range m.model.Quantities {
		if w.unit != nil && !m.unitFits(w.unit, slot) {
			continue
		}
		ts := m.statedAs(w, slot)
		for _, t := range ts {
			if w.unit == nil && math.Abs(t.scale) != ts[0].scale {
				break
			}
			stated, has := st.env.Stated(slot)
			hits := func(iv solver.Interval) bool {
				return iv.Holds(t.value, t.half) || q.Signed && iv.Holds(-t.value, t.half)
			}
			var figs []solver.Figure
			if !has {
				figs = d.Derived(slot)
			}
			if has && hits(stated) || slices.ContainsFunc(figs, func(f solver.Figure) bool { return hits(f.Interval) }) {
				c := 1.3
				if w.digits >= 4 {
					c = 1.0
				}
				if has || m.model.Given.Has(slot) {
					c -= 0.3
				}
				if old, ok := out[slot]; !ok || c < old {
					out[slot] = c
				}
			}
		}
	}
	return out
}
