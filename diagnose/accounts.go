package diagnose

import (
	"slices"

	"batten/solver"
)

// An account is one way in which the readings of a form account for a quantity's
// figure: the reading is right, or right but for a figure copied wrongly, or the
// formula that a fault gives.
type account struct {
	r     *reading
	h     *hypothesis // nil: it is right
	scale float64     // that turns what it comes to into the quantity's unit
}

// accounts are those of one form with certain meanings of its leaves, whatever
// else is the case in a state: of readings that cost no more than the dearest.
type accounts struct {
	slot    int
	unit    []float64
	dearest float64
	all     []account
	kept    []*reading // the cheapest without a figure copied wrongly, cheapest first, that may be mended
	mended  bool       // whether these were kept
}

// accountsOf finds the accounts of the form as far as readings up to the dearest
// give any. What was found in another state is not looked for again.
func (m *run) accountsOf(st *state, f *form, slot int, unit []float64, dearest float64, mended bool) *accounts {
	lists := m.meaningsOf(st, f, slot, true)
	in := m.senseOf(f, &lists)
	for _, a := range m.senses.accounts[in] {
		if a.slot == slot && a.dearest >= dearest && (a.mended || !mended) && slices.Equal(a.unit, unit) {
			m.budget(len(a.all))
			return a.upTo(dearest)
		}
	}
	a := &accounts{slot: slot, unit: unit, dearest: dearest, mended: mended}
	var held solver.Set
	var hs *hypotheses    // of what the reading before held
	var met []*hypothesis // whose formula the reading is
	hit := func(h *hypothesis) { met = append(met, h) }
	extra := 0.0
	if f.kind == meant {
		extra = costMeant
	}
	m.liftFrom(f, &lists, func(r *reading) bool {
		r.most = dearest
		if r.cost > dearest+1e-9 {
			return true
		}
		r.cost += extra
		if u, right := m.rightIn(r, slot, unit); right {
			a.all = append(a.all, account{m.keep(r), nil, u})
			return true
		}
		if r.vec[0] == 0 && r.full() == (vec{}) {
			return true // nothing at all is told by what comes to nought
		}
		if hs == nil || r.held != held {
			held, hs = r.held, m.hypotheses(slot, r.held)
		}
		matching := func(by, scale float64) {
			met = met[:0]
			hs.matching(r, by, hit)
			for _, h := range m.ownWords(slot, r, met) {
				a.all = append(a.all, account{m.keep(r), h, scale})
			}
		}
		for _, u := range unit {
			matching(u, u)
		}
		if m.bySign[slot] {
			matching(-1, 1)
		}
		if mended && r.slip == 0 {
			a.kept = m.amongCheapest(a.kept, r, true)
		}
		return m.left > 0
	})
	if m.left <= 0 {
		return a // it may not be all
	}
	if m.senses.accounts == nil {
		m.senses.accounts = map[sense][]*accounts{}
	}
	m.senses.accounts[in] = append(m.senses.accounts[in], a)
	return a
}

// costMeant is for brackets that were meant and not written.
const costMeant = 0.8

// upTo is what of them readings give that cost no more.
func (a *accounts) upTo(dearest float64) *accounts {
	if a.dearest == dearest {
		return a
	}
	within := func(r *reading) bool {
		if r.form.kind == meant {
			return r.cost <= dearest+costMeant+1e-9
		}
		return r.cost <= dearest+1e-9
	}
	out := &accounts{slot: a.slot, unit: a.unit, dearest: dearest, mended: a.mended}
	for _, x := range a.all {
		if within(x.r) {
			out.all = append(out.all, x)
		}
	}
	for _, r := range a.kept {
		if within(r) {
			out.kept = append(out.kept, r)
		}
	}
	return out
}

// mostMended is how many readings of an expression, the cheapest, are looked
// at for one change that makes them right.
const mostMended = 5

// amongCheapest puts a reading in its place among the cheapest, if it is one of
// them. A visitor's reading has to be copied to last.
func (m *run) amongCheapest(kept []*reading, r *reading, visited bool) []*reading {
	if len(kept) == mostMended && r.cost >= kept[mostMended-1].cost {
		return kept
	}
	at := len(kept)
	for at > 0 && r.cost < kept[at-1].cost {
		at--
	}
	if visited {
		r = m.keep(r)
	}
	return slices.Insert(kept[:min(len(kept), mostMended-1)], min(at, mostMended-1), r)
}
