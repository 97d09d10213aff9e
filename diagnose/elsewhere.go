package diagnose

import (
	"slices"

	"batten/rules"
	"batten/solver"
)

// costElsewhere is what it costs more to blame a figure in a working on what went
// wrong where it was worked out.
const costElsewhere = 0.2

// elsewhere explains a working that would be right but for one figure, which
// stands for nothing known: the figure is that of a quantity that was not written
// down, and some fault on the way to it gives just this.
func (m *run) elsewhere(st *state, slot, k int, readings []*reading, scales []float64) []explanation {
	var out []explanation
	seen := map[[2]int]bool{}
	for _, r := range readings {
		for j, pick := range r.picks {
			l := &r.form.leaves[j]
			if l.num == nil || l.sig < 3 || pick.cost < 0.5 || pick.local > 0 || m.left <= 0 {
				continue
			}
			for s := range m.model.Quantities {
				if s == slot || st.env.Has().Has(s) || m.model.Given.Has(s) || m.model.Above[s].Has(slot) || seen[[2]int{j, s}] || l.num.Unit != nil && !m.unitFits(l.num.Unit, s) || !m.rightWith(slot, r, j, s, scales) {
					continue
				}
				seen[[2]int{j, s}] = true
				out = append(out, m.elsewhereIn(st, slot, k, r, j, s)...)
			}
		}
	}
	return out
}

// elsewhereIn takes the j-th figure of the reading for that of the quantity s.
func (m *run) elsewhereIn(st *state, slot, k int, r *reading, j, s int) []explanation {
	l := &r.form.leaves[j]
	x := l.figure()
	t := target{value: x, slack: l.ulp, half: 0.505 * l.ulp, scale: 1, has: true, digits: l.sig}
	if m.mayBeRight(st, s, t) {
		return nil
	}
	var out []explanation
	again := withAgain(m.freeSites(st), m.looseSites(st))
	m.giving(st, s, t, m.unwrittenFaults(st, s), again, func(h *hypothesis, more float64) {
		e := explanation{cost: 0.6*(r.cost-r.picks[j].cost) + h.cost + more + costElsewhere + 0.3*float64(len(h.sites)-1), named: true, sites: h.sites, tainted: r.tainted, read: r}
		e.charges = m.unwrittenCharges(st, h.faults, h.sites, charge{side: k, at: l.at, shown: ShownWritten, slot: slot})
		e.cost -= m.madeBefore(e.charges)
		if allFree(e.charges) {
			e.free, e.cost = true, 0.4
		}
		out = append(out, e)
	})
	sortExplanations(out)
	if len(out) > 1 && !out[0].free {
		c := &out[0].charges[0]
		for _, e := range out[1:] {
			if o := e.charges[0].fault; o != c.fault && !e.free && !slices.Contains(c.alternatives, o) {
				c.alternatives = append(c.alternatives, o)
				c.shown = ShownPossible
			}
		}
	}
	return out
}

// mayBeRight reports whether a figure that was not stated is what the quantity may
// rightly have, figures rounded on the way or not.
func (m *run) mayBeRight(st *state, s int, t target) bool {
	if _, ok := m.fits(t, m.expected(st, s), s); ok {
		return true
	}
	m.spare = st.env.DeriveRounded(m.spare, m.roundings(&m.short, s, t))
	_, ok := m.fits(t, m.spare.Derived(s), s)
	return ok
}

// unwrittenCharges are those of faults at the sites, which lie in steps left out
// but where the site is the step's own.
func (m *run) unwrittenCharges(st *state, faults []*rules.Fault, sites []*solver.Site, like charge) []charge {
	var out []charge
	for _, f := range faults {
		c := like
		c.fault, c.free = f.ID, m.isFree(st, f)
		on := -1
		for _, s := range sites {
			if s.Fault == f && (on < 0 || s.Slot == c.slot) {
				on = s.Slot
			}
		}
		if on >= 0 && on != c.slot {
			c.unwritten = on + 1
		}
		out = append(out, c)
	}
	return out
}
