package diagnose

import (
	"cmp"
	"math"
	"slices"

	"batten/solver"
)

const (
	beamWidth        = 6
	beamSpread       = 5.0
	worstPlaced      = 6
	costUnreached    = 3.5
	costOffWay       = 0.4 // a quantity that the reference way does not go by
	costContradicted = 0.6 // a fault made everywhere or nowhere, where a figure is right
	costAhead        = 3.0 // a wrong figure of what comes later than another of that name
	muchDearer       = 2.0
	costLater        = 0.01 // for each step before a fault: of two places for it, the first
)

// search places and judges the steps in order, keeping the cheapest few ways
// of reading the whole.
//
// A narrow search comes first. What a step adds to a reading is never less than
// nothing, so a reading that is dearer halfway than another is at its end can't
// be the cheapest: the wider searches pass it over, and what it would have
// crowded out is dearer still. Of most scripts a wide search has little left to
// look at then. What has been looked at once is kept with the state. First of
// all the script is read straight through, for as long as nothing is wrong;
// then one way alone is followed to the end, for a bound to begin with. Part of
// the work is kept back from these, for what lies near the reading they find.
func (m *run) search(steps []prepared) *state {
	first := m.states.One()
	*first = state{env: m.model.NewEnvIn(&m.envs)}
	m.beams = append(m.beams[:0], []*state{first})
	bound := math.Inf(1)
	m.left -= forMending
	m.straight = true
	best := m.sweep(steps, 0, 1, costNamed)
	m.straight = false
	if best != nil {
		bound = best.cost
	}
	for _, width := range []int{1, 2, beamWidth} {
		if width == 1 || m.left > -mostOverspent {
			if st := m.sweep(steps, 0, width, bound); st != nil && st.cost <= bound {
				best, bound = st, st.cost
			}
		}
		if width == 2 {
			m.left += forMending
			best = m.deviate(steps, best)
			bound = best.cost
			m.beams = append(m.beams[:0], []*state{first})
		}
	}
	best.out = best.outcomes()
	return best
}

// mostOverspent is how much more than it may the narrowest search may spend, which
// has to come to an end, for a wider one to be worth its while.
const mostOverspent = searchBudget / 2

// sweep searches from the given step on, from the states kept before it. It
// keeps so many states at the most after each step, and none that cost more
// than the bound; it gives nil where none is left.
func (m *run) sweep(steps []prepared, from, wide int, bound float64) *state {
	m.beams = m.beams[:from+1]
	beam := m.beams[from]
	for i := from; i < len(steps); i++ {
		p := &steps[i]
		order := m.order[:0]
		dearest := bound // what may be kept costs no more
		if m.beside != nil {
			dearest = min(bound, m.beside[i+1].cost+beamSpread)
		}
		most := dearest
		for _, st := range beam {
			next := m.successors(st, p, dearest)
			for k := range next {
				dearest = min(dearest, next[k].cost+beamSpread)
				if next[k].cost <= most {
					order = append(order, &next[k])
				}
			}
		}
		m.order = order
		if len(order) == 0 {
			return nil
		}
		slices.SortStableFunc(order, func(a, b *successor) int { return cmp.Compare(a.cost, b.cost) })
		limit := order[0].cost + beamSpread
		width := wide
		if m.left < searchBudget/3 {
			width = min(wide, 3)
		}
		if m.left <= 0 {
			width = min(wide, 2)
		}
		var kept []*state
		for _, n := range m.distinct(order, width, limit) {
			if n.then == nil {
				n.then = m.then(p, n)
			}
			kept = append(kept, n.then)
		}
		beam = kept
		m.freeTables(beam)
		m.beams = append(m.beams, beam)
	}
	// a reading that leaves what was asked unfound is the dearer for it
	last := make([]*state, len(beam))
	for i, b := range beam {
		last[i] = m.states.One()
		*last[i] = *b
	}
	beam = last
	for _, st := range beam {
		for _, part := range m.question.Parts {
			for _, a := range part.Find.Answers {
				if s := m.model.Slot(a); s >= 0 && !st.env.Has().Has(s) {
					st.cost += costUnreached
				}
			}
		}
	}
	slices.SortStableFunc(beam, func(a, b *state) int { return cmp.Compare(a.cost, b.cost) })
	return beam[0]
}

// successors are the ways in which the step may be taken in the state, all
// those that cost no more than the dearest: found before, but for a step whose
// quantity has been settled since.
func (m *run) successors(st *state, p *prepared, dearest float64) []successor {
	s, settled := m.taken[p.index]
	settled = settled && s >= 0
	if st.looked && dearest <= st.upTo && !settled {
		return st.next
	}
	m.cut = false
	m.next = m.advance(m.next[:0], st, p, dearest)
	next := m.followed.Take(len(m.next))
	copy(next, m.next)
	if !settled {
		st.next, st.looked, st.upTo = next, true, math.Inf(1)
		if m.cut {
			st.upTo = dearest
		}
	}
	return next
}

// distinct keeps the cheapest states that differ in what was charged or in what
// has been stated: near copies would crowd out the other accounts of the script.
func (m *run) distinct(next []*successor, width int, limit float64) []*successor {
	type key struct {
		has     solver.Set
		charged uint64
		slot    int
		verdict Verdict
	}
	type account struct {
		slot    int
		verdict Verdict
		fault   string
	}
	seen := map[key]bool{}
	alike := map[account]int{}
	var out, spare []*successor
	for _, n := range next {
		if len(out) == width || n.cost > limit {
			break
		}
		last := &n.o
		k := key{has: n.st.env.Has(), slot: last.slot, verdict: last.verdict}
		if last.slot >= 0 && last.value {
			k.has.Add(last.slot)
		}
		charged := func(fault string, step int) {
			for i := 0; i < len(fault); i++ {
				k.charged = k.charged*1099511628211 + uint64(fault[i])
			}
			k.charged = k.charged*31 + uint64(step)
		}
		for _, x := range n.st.made {
			charged(x.fault, x.step)
		}
		for i := range last.charges {
			if c := &last.charges[i]; !c.free {
				charged(c.fault, n.step)
			}
		}
		if seen[k] {
			continue
		}
		seen[k] = true
		a := account{slot: last.slot, verdict: last.verdict}
		if len(last.charges) > 0 {
			a.fault = last.charges[0].fault
		}
		if alike[a]++; alike[a] > (width+1)/2 {
			spare = append(spare, n) // one account of the step must not crowd out the others
			continue
		}
		out = append(out, n)
	}
	last := len(out) - 1
	for _, n := range spare {
		switch {
		case len(out) < width:
			out = append(out, n)
		case last > 0 && out[last].cost > n.cost+muchDearer:
			out[last] = n // another account, but too far-fetched to crowd out this one
			last--
		}
	}
	return out
}

// A successor is a state and one way of taking the next step in it. Most are
// too dear to be followed, so the state after it is only made for the few kept.
type successor struct {
	st   *state
	o    outcome
	pl   placement
	step int
	cost float64
	then *state // the state after it, nil until it is kept
}

func (m *run) successorOf(st *state, p *prepared, o outcome, pl placement) successor {
	n := successor{st: st, o: o, pl: pl, step: p.index, cost: st.cost}
	n.cost += o.cost
	for i := range o.charges {
		if !o.charges[i].free {
			n.cost += costLater * float64(p.index)
			if m.shownRight(st, o.charges[i].fault) {
				n.cost += costContradicted
			}
		}
	}
	return n
}

// advance adds the ways in which the step may be taken in the state. Not all
// that would cost more than the dearest are looked for.
func (m *run) advance(out []successor, st *state, p *prepared, dearest float64) []successor {
	if p.step.Withdrawn {
		return append(out, m.successorOf(st, p, outcome{slot: -1, verdict: Aside, stated: math.NaN(), expected: math.NaN(), bad: -1}, placement{}))
	}
	places, unplaced := m.place(st, p)
	if s, ok := m.taken[p.index]; ok && s >= 0 {
		places, unplaced = []placement{{slot: s, named: true}}, math.Inf(1)
	}
	if m.addsUp[p.index] && !(len(places) > 0 && places[0].named) || st.restatesLocal(p) {
		unplaced = math.Min(unplaced, costKnown)
	}
	before := len(out)
	best := math.Inf(1)
	keep := func(pl placement, os []outcome) {
		for _, o := range os {
			o.cost += pl.cost
			if o.cost < best {
				best = o.cost
			}
			n := m.successorOf(st, p, o, pl)
			dearest = min(dearest, n.cost+beamSpread)
			out = append(out, n)
		}
	}
	// first what is right as it stands; what would have to be explained is only
	// looked at where that is not much dearer
	var miss []placement
	worked := m.lastWorking(p) >= 0 && !p.restates()
	for _, pl := range places {
		if worked && m.model.Given.Has(pl.slot) {
			continue // what the question gives nobody works out
		}
		if os, ok := m.assessFit(st, p, pl.slot); ok {
			if pl.named && os[0].verdict == Faulty && m.ahead(st, p, pl.slot, places) {
				pl.cost += costAhead
			}
			keep(pl, os)
			if m.lastWorking(p) < 0 { // a bare figure may be a wrong one as well
				if m.isLoose(os) {
					miss = append(miss, pl)
				} else if p.otherUnit(&os[0]) {
					pl.more = costOtherUnit
					miss = append(miss, pl)
				}
			}
		} else {
			miss = append(miss, pl)
		}
	}
	if top := m.topScore(p.label); math.IsInf(best, 1) && top >= 0.6 {
		// no quantity of that name fits: the name may be loosely used
		seen := map[int]bool{}
		for _, pl := range places {
			seen[pl.slot] = true
		}
		other := map[int]placement{}
		said := *m.wordingOf(p)
		said.digit = 0 // no mark of a name so used
		m.unlabelled(st, p, &said, m.against(p.label, top), func(pl placement) {
			if old, ok := other[pl.slot]; !seen[pl.slot] && (!ok || pl.cost < old.cost) {
				other[pl.slot] = pl
			}
		})
		for _, pl := range m.ordered(st, p, other) {
			if os, ok := m.assessFit(st, p, pl.slot); ok {
				keep(pl, os)
			}
		}
	}
	for _, pl := range miss {
		if pl.cost > best-0.3 {
			continue
		}
		pl.cost += pl.more
		if room := dearest - st.cost - pl.cost; room < 0 || m.straight {
			m.cut = true
		} else {
			if pl.named && m.ahead(st, p, pl.slot, places) {
				pl.cost += costAhead
			}
			m.shallow = best < costFactor-1+pl.cost // something much cheaper holds than a change of the formula
			m.room = room
			keep(pl, m.assessMiss(st, p, pl.slot))
			m.shallow, m.room = false, math.Inf(1)
		}
	}
	if m.left <= 0 && unplaced > costUnexplained-1.5 && !math.IsInf(best, 1) && !oneLetter(p.label) && !m.shared[p.name()] {
		unplaced = costUnexplained + 0.5 // nothing is left to look ahead: a name that says what it is is believed
	}
	if best > unplaced || len(out) == before {
		o := m.assessUnplaced(st, p)
		o.cost += unplaced
		out = append(out, m.successorOf(st, p, o, placement{slot: -1}))
	}
	return out
}

// costOtherUnit is what speaks against a slip where the figure is right in
// another unit, which was not written.
const costOtherUnit = 1.2

// otherUnit reports whether a bare figure is what it should be only in another
// unit than the quantity's own, which was not written.
func (p *prepared) otherUnit(o *outcome) bool {
	return p.result != nil && p.result.unit == nil && !p.result.percent && o.value && o.scale > 0 && o.scale != 1
}

// ahead reports whether the student has not come so far as the quantity: what has
// its name in an earlier state of affairs, and it rests on, has not been stated
// yet, nor anything between.
func (m *run) ahead(st *state, p *prepared, slot int, places []placement) bool {
	if p.step.Table > 0 || m.earlier[slot].Empty() {
		return false
	}
	for _, pl := range places {
		if !pl.named || !m.earlier[slot].Has(pl.slot) || st.env.Has().Has(pl.slot) {
			continue
		}
		past := false
		m.rests[slot].And(st.env.Has()).Each(func(x int) { past = past || m.rests[x].Has(pl.slot) })
		if !past {
			return true
		}
	}
	return false
}

// shownRight reports whether a fault that is made everywhere or nowhere can't
// have been made: a figure that it would have changed has been right, or a step
// where it belongs went without it, whatever else was wrong there.
func (m *run) shownRight(st *state, fault string) bool {
	t, ok := m.touched[fault]
	if !ok {
		return false
	}
	for b := st; b.before != nil; b = b.before {
		o := &b.last
		if o.slot < 0 || !o.value || !t.Has(o.slot) {
			continue
		}
		if o.verdict == Holds || m.siteOf[fault].Has(o.slot) && !o.blames(FaultUnexplained) {
			return true
		}
	}
	return false
}

func (o *outcome) blames(fault string) bool {
	for i := range o.charges {
		if o.charges[i].fault == fault {
			return true
		}
	}
	return false
}

// then is the state after a step was taken in the way given.
func (m *run) then(p *prepared, s *successor) *state {
	st, o, pl := s.st, &s.o, &s.pl
	n := m.states.One()
	*n = *st
	n.table = nil
	n.cost = s.cost
	n.last, n.before = *o, st
	n.free, n.freeFound = nil, false
	n.next, n.looked = nil, false
	if o.loc != nil {
		n.locals = append(append([]local(nil), st.locals...), *o.loc)
	}
	for _, c := range o.charges {
		if !c.free {
			x := made{fault: c.fault, step: p.index}
			for _, site := range o.sites {
				if site.Fault.ID == c.fault && site.Slot != o.slot {
					x.unwritten = append(x.unwritten, site)
				}
			}
			n.made = append(append([]made(nil), n.made...), x)
		}
	}
	if o.slot < 0 {
		if o.loc == nil && len(o.charges) == 0 {
			n.table = st.table
		}
		return n
	}
	if l := p.step.Label; l != "" && st.aliases.find(l) != o.slot {
		n.aliases = &alias{l, o.slot, st.aliases}
	}
	if p.step.Table > 0 && p.step.TableRow > 0 {
		for _, mates := range m.rowMates[o.slot] {
			n.rows = &tableRow{p.step.Table, p.step.TableRow, p.step.TableCol, o.slot, mates, m.tablesOf[o.slot], n.rows}
		}
	}
	q := m.model.Quantities[o.slot]
	if q.State != "" {
		n.phase = q.State
	}
	if pl.digit != 0 && pl.hint == "" && q.State != "" {
		d := make(map[byte]string, len(st.digits)+1)
		for k, v := range st.digits {
			d[k] = v
		}
		d[pl.digit] = q.State
		n.digits = d
	}
	if o.value {
		n.env = st.env.Clone()
		iv := o.keep
		if iv.IsVoid() {
			iv = solver.Point(o.stated)
		}
		n.env.State(o.slot, iv)
		n.tainted.Drop(o.slot)
		if o.tainted {
			n.tainted.Add(o.slot)
			root := int16(o.from)
			if o.verdict == Faulty || root == 0 {
				root = int16(p.index + 1)
			}
			n.root[o.slot] = root
		}
	} else {
		n.table = st.table
	}
	return n
}
