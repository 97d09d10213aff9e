package diagnose

import (
	"math"
	"slices"

	"batten/rules"
	"batten/solver"
)

// explainValue explains a bare result: which faults in this step, or in those
// that were not written, would give it. Where more than one does, they are
// told as alternatives.
func (m *run) explainValue(st *state, p *prepared, slot int, t target, figs []solver.Figure) []explanation {
	return m.explainFigure(st, p, slot, t, figs, true)
}

// costBehindWords is by how much a fault that gives just the figure is sooner
// believed than a slip that could have given any.
const costBehindWords = 0.6

// behindWords explains a figure behind a formula in words that is right: what
// went wrong lies in what the words stand for and was not written.
func (m *run) behindWords(st *state, p *prepared, slot int, t target, figs []solver.Figure) []explanation {
	var out []explanation
	for _, e := range m.explainFigure(st, p, slot, t, figs, false) {
		behind := true
		for i := range e.charges {
			c := &e.charges[i]
			for _, s := range e.sites {
				if c.unwritten == 0 && s.Fault.ID == c.fault && s.Slot != slot {
					c.unwritten = s.Slot + 1 // made everywhere, but not in the words
				}
			}
			behind = behind && c.unwritten != 0
		}
		if behind {
			if t.digits >= 3 && !e.free {
				e.cost -= costBehindWords
			}
			out = append(out, e)
		}
	}
	return out
}

// explainFigure is explainValue, with pairs of faults or without.
func (m *run) explainFigure(st *state, p *prepared, slot int, t target, figs []solver.Figure, pairs bool) []explanation {
	side := len(p.sides) - 1
	at := p.sides[side].at
	var fits []explanation
	add := func(faults []*rules.Fault, sites []*solver.Site, cost float64) {
		e := explanation{cost: cost, named: true, sites: sites}
		e.charges = m.unwrittenCharges(st, faults, sites, charge{side: side, at: at, shown: ShownFits, slot: slot})
		e.cost -= m.madeBefore(e.charges)
		if allFree(e.charges) {
			e.free, e.cost = true, 0.4
		}
		fits = append(fits, e)
	}
	hs := m.unwrittenFaults(st, slot)
	again := withAgain(m.freeSites(st), m.looseSites(st)) // what went wrong before goes wrong again in steps left out
	m.giving(st, slot, t, hs, again, func(h *hypothesis, more float64) {
		add(h.faults, h.sites, h.cost+0.3*float64(len(h.sites)-1)+more)
	})
	if t.digits >= 2 {
		for i := range figs {
			x := figs[i].Mid() / t.scale
			w := p.result
			if _, ok := shifted(w.value, x, w.ulp, figs[i].Width()/2/math.Abs(t.scale)); ok {
				fits = append(fits, m.generic(FaultDecimal, costDecimal, side, p, slot))
				break
			}
			if w.digits >= 3 && w.transposed(x, figs[i].Width()/math.Abs(t.scale)) {
				fits = append(fits, m.generic(FaultTransposed, costTransposed, side, p, slot))
				break
			}
			if m.model.Given.Has(slot) {
				if c, ok := digitSlip(w.text, w.value, x, w.places()); ok {
					fits = append(fits, m.generic(FaultMiscopied, c, side, p, slot))
					break
				}
			}
		}
		// A figure put down once more, for a table or an answer, may be miscopied.
		if iv, ok := st.env.Stated(slot); ok {
			if c, ok := digitSlip(p.result.text, p.result.value, iv.Mid()/t.scale, p.result.places()); ok && c <= costMiscopied {
				fits = append(fits, m.generic(FaultMiscopied, c-0.2, side, p, slot))
			}
		}
	}
	particular := slices.ContainsFunc(fits, func(e explanation) bool {
		return e.charges[0].fault == FaultDecimal || e.charges[0].fault == FaultTransposed
	})
	if c, ok := m.addedUp(st, p, figs); ok && !particular {
		fits = append(fits, m.generic(FaultArithmetic, c, side, p, slot))
	}
	if pairs && len(fits) == 0 && t.digits >= 4 && m.left > 0 && len(st.made) > 0 {
		n := 0
		before := make([]bool, len(hs)) // the fault was made before
		for i := range hs {
			before[i] = m.isFree(st, hs[i].faults[0])
		}
		for i := range hs {
			for j := i + 1; j < len(hs) && m.left > 0; j++ {
				if !before[i] && !before[j] {
					continue // two new ones at once are dearer than to leave it unexplained
				}
				a, b := &hs[i], &hs[j]
				if a.faults[0] == b.faults[0] || m.sameIdea(a.faults[0].ID, b.faults[0].ID) {
					continue
				}
				set := together(a, b)
				if set == nil {
					continue
				}
				m.budget(costOfUnder)
				if m.hits(m.under(st, set).Derived(slot), t, slot) {
					n++
					add([]*rules.Fault{a.faults[0], b.faults[0]}, set, a.cost+b.cost+costTwo+0.5)
				}
			}
		}
		if n > 3 {
			fits = nil // so many pairs give it that none of them says anything
		}
	}
	sortExplanations(fits)
	// One figure, several faults that give it: all are told.
	if len(fits) > 0 && !fits[0].free {
		var others []string
		seen := map[string]bool{fits[0].charges[0].fault: true}
		for _, f := range fits[1:] {
			if len(f.charges) != len(fits[0].charges) || f.free {
				continue
			}
			for _, c := range f.charges {
				if !seen[c.fault] && len(others) < 5 {
					seen[c.fault] = true
					others = append(others, c.fault)
				}
			}
		}
		if len(others) > 0 {
			for i := range fits[0].charges {
				fits[0].charges[i].shown = ShownPossible
				fits[0].charges[i].alternatives = others
			}
			for f := 1; f < len(fits); f++ {
				var alt []string
				for id := range seen {
					if id != fits[f].charges[0].fault {
						alt = append(alt, id)
					}
				}
				for i := range fits[f].charges {
					fits[f].charges[i].shown = ShownPossible
					fits[f].charges[i].alternatives = sorted(alt)
				}
			}
		}
	}
	if e, ok := m.fromNowhere(st, p, slot, t, side); ok {
		e.charges[0].shown = ShownFits
		fits = append(fits, e)
	}
	e := m.unexplained(p, slot, side)
	if st.env.Has().Has(slot) {
		e.cost++
	}
	return append(fits, e)
}

// hits reports whether the stated figure is one of those, to half of its last place.
func (m *run) hits(figs []solver.Figure, t target, slot int) bool {
	for i := range figs {
		f := figs[i].Interval
		if f.Holds(t.value, 1.01*t.half+1e-9*math.Abs(t.value)) {
			return true
		}
		if m.bySign[slot] && (solver.Interval{Lo: -f.Hi, Hi: -f.Lo}).Holds(t.value, 1.01*t.half) {
			return true
		}
	}
	return false
}

// giving calls f for each of the hypotheses that gives the figure, with what it
// costs more to believe; again are the sites of faults made before. Where none
// does, figures that were not written down may have been rounded on the way.
func (m *run) giving(st *state, slot int, t target, hs []hypothesis, again []*solver.Site, f func(h *hypothesis, more float64)) {
	found := false
	for i := range hs {
		h := &hs[i]
		m.budget(costOfUnder)
		if (t.digits >= 2 || t.half < 0.5*math.Abs(t.scale)) && (m.hits(m.under(st, h.sites).Derived(slot), t, slot) || len(again) > 0 && m.hits(m.under(st, withAgain(h.sites, again)).Derived(slot), t, slot)) {
			found = true
			f(h, 0)
		}
	}
	if found || t.digits < 3 || m.left <= 0 {
		return
	}
	half := m.roundings(&m.halves, slot, t)
	for i := range hs {
		h := &hs[i]
		m.budget(costOfUnder)
		m.spare = st.env.DeriveWithin(m.spare, half, withAgain(h.sites, again)...)
		if m.hits(m.spare.Derived(slot), t, slot) {
			f(h, costRounded)
		}
	}
}

// withAgain adds to the sites of a new fault those where earlier ones are made
// again.
func withAgain(sites, again []*solver.Site) []*solver.Site {
	if len(again) == 0 {
		return sites
	}
	out := append([]*solver.Site(nil), sites...)
	for _, a := range again {
		if !at(sites, a.Slot) {
			out = append(out, a)
		}
	}
	return out
}

// costAddedUp is the cost of a cell reckoned wrongly from other cells: no less
// than to believe that it is something else.
const costAddedUp = costUnexplained - 0.5

// addedUp says what it costs to take a wrong cell of a table for one that was
// reckoned wrongly, where all that it is worked from stands above it.
func (m *run) addedUp(st *state, p *prepared, figs []solver.Figure) (float64, bool) {
	for i := range figs {
		w := figs[i].Way
		if w == nil {
			continue
		}
		all := len(w.Code.Deps()) > 1
		for _, d := range w.Code.Deps() {
			if !st.env.Has().Has(d) && !m.model.Given.Has(d) {
				all = false
			}
		}
		if all && p.step.Table > 0 {
			return costAddedUp, true
		}
	}
	return 0, false
}

func (m *run) generic(id string, cost float64, side int, p *prepared, slot int) explanation {
	return explanation{cost: cost, named: true, charges: []charge{{fault: id, side: side, at: p.sides[side].at, shown: ShownFits, slot: slot}}}
}

// unwrittenFaults are the single faults that could lie in this step or in a
// step before it that the student did not write.
func (m *run) unwrittenFaults(st *state, slot int) []hypothesis {
	held := st.env.Has()
	held.Drop(slot)
	return m.hypotheses(slot, held).all
}
