package diagnose

import (
	"slices"

	"batten/rules"
	"batten/solver"
)

// Looser formulas that the trade lets pass with a remark.

// looseWay is such a formula, at all the places where it can stand.
type looseWay struct {
	fault *rules.Fault
	sites []*solver.Site
	below solver.Set // the quantities that come out otherwise by it
}

func (m *Marker) looseWays() []looseWay {
	var out []looseWay
	for _, f := range m.faults {
		if Severity(f.Severity) != Remark {
			continue
		}
		w := looseWay{fault: f}
		for s, sites := range m.model.Sites {
			for _, x := range sites {
				if x.Fault == f {
					w.sites = append(w.sites, x)
					w.below.Add(s)
					w.below = w.below.Or(m.model.Below[s])
				}
			}
		}
		if w.sites = onePerSlot(w.sites); len(w.sites) > 0 {
			out = append(out, w)
		}
	}
	return out
}

// assessLoose judges a figure that is what it should be by a looser formula, in
// this step or in one that was not written down.
func (m *run) assessLoose(st *state, p *prepared, slot, last int, scales []float64) ([]outcome, bool) {
	for i := range m.loose {
		w := &m.loose[i]
		if !w.below.Has(slot) {
			continue
		}
		for _, t := range m.statedAs(p.result, slot) {
			figs := append([]solver.Figure(nil), m.under(st, w.sites).Derived(slot)...)
			k, ok := m.fits(t, figs, slot)
			if !ok {
				m.spare = st.env.DeriveRounded(m.spare, m.roundings(&m.short, slot, t), w.sites...)
				figs = append(figs[:0], m.spare.Derived(slot)...)
				k, ok = m.fits(t, figs, slot)
			}
			if !ok {
				continue
			}
			if last >= 0 && !(p.sides[last].names && !p.sides[last].figures) {
				if _, ok := m.gives(st, &p.sides[last], p.result, scales); !ok {
					return nil, false
				}
			}
			out := m.assessRight(st, p, slot, figs, k, t, last, scales)
			for j := range out {
				o := &out[j]
				if o.cost += costOf(w.fault); !st.loosely(w.fault.ID) {
					side := len(p.sides) - 1
					o.remarks = append(o.remarks, charge{fault: w.fault.ID, side: side, at: p.sides[side].at, shown: ShownFits, slot: slot})
				}
			}
			return out, true
		}
	}
	return nil, false
}

// isLoose reports whether a step holds by a looser formula alone.
func (m *run) isLoose(os []outcome) bool {
	for i := range os {
		for _, c := range os[i].remarks {
			if slices.ContainsFunc(m.loose, func(w looseWay) bool { return w.fault.ID == c.fault }) {
				return true
			}
		}
	}
	return false
}

// loosely reports whether the looser formula was remarked on already.
func (s *state) loosely(fault string) bool {
	for b := s; b.before != nil; b = b.before {
		for i := range b.last.remarks {
			if b.last.remarks[i].fault == fault {
				return true
			}
		}
	}
	return false
}

// looseSites are those of the looser formulas that the student has gone by, as
// far as they lie in steps left out.
func (m *run) looseSites(st *state) []*solver.Site {
	var out []*solver.Site
	for i := range m.loose {
		if st.loosely(m.loose[i].fault.ID) {
			for _, x := range m.loose[i].sites {
				if !st.env.Has().Has(x.Slot) {
					out = append(out, x)
				}
			}
		}
	}
	return out
}
