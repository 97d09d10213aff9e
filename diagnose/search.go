package diagnose

import (
	"math"
	"sort"

	"batten/solver"
)

const (
	beamWidth     = 12
	beamSpread    = 5.0
	worstPlaced   = 6
	costUnreached = 2.5
	costOffWay    = 0.4  // a quantity that the reference way does not go by
	costLater     = 0.01 // for each step before a fault: of two places for it, the first
)

// search places and judges the steps in order, keeping the cheapest few ways
// of reading the whole. It goes on from the given step where the steps before
// it have been read already.
func (m *run) search(steps []prepared, from int) *state {
	if from == 0 {
		m.beams = append(m.beams[:0], []*state{{env: m.model.NewEnv()}})
	}
	m.beams = m.beams[:from+1]
	beam := m.beams[from]
	for i := from; i < len(steps); i++ {
		p := &steps[i]
		var next []*state
		for _, st := range beam {
			next = append(next, m.advance(st, p)...)
		}
		sort.SliceStable(next, func(a, b int) bool { return next[a].cost < next[b].cost })
		limit := next[0].cost + beamSpread
		width := beamWidth
		if m.left < searchBudget/3 {
			width = 3
		}
		if m.left <= 0 {
			width = 1
		}
		beam = distinct(next, width, limit)
		m.beams = append(m.beams, beam)
	}
	// a reading that leaves what was asked unfound is the dearer for it
	last := make([]*state, len(beam))
	for i, b := range beam {
		st := *b
		last[i] = &st
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
	sort.SliceStable(beam, func(a, b int) bool { return beam[a].cost < beam[b].cost })
	return beam[0]
}

// distinct keeps the cheapest states that differ in what was charged or in what
// has been stated: near copies would crowd out the other accounts of the script.
func distinct(next []*state, width int, limit float64) []*state {
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
	var out, spare []*state
	for _, st := range next {
		if len(out) == width || st.cost > limit {
			break
		}
		last := &st.out[len(st.out)-1]
		k := key{has: st.env.Has(), slot: last.slot, verdict: last.verdict}
		for _, x := range st.made {
			for _, c := range []byte(x.fault) {
				k.charged = k.charged*1099511628211 + uint64(c)
			}
			k.charged = k.charged*31 + uint64(x.step)
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
			spare = append(spare, st) // one account of the step must not crowd out the others
			continue
		}
		out = append(out, st)
	}
	for _, st := range spare {
		if len(out) < width {
			out = append(out, st)
		}
	}
	return out
}

// advance gives the states that follow from taking the step in each way.
func (m *run) advance(st *state, p *prepared) []*state {
	if p.step.Withdrawn {
		return []*state{m.then(st, p, outcome{slot: -1, verdict: Aside, stated: math.NaN(), expected: math.NaN(), bad: -1}, placement{})}
	}
	places, unplaced := m.place(st, p)
	if s, ok := m.taken[p.index]; ok && s >= 0 {
		places, unplaced = []placement{{slot: s, named: true}}, math.Inf(1)
	}
	var out []*state
	best := math.Inf(1)
	keep := func(pl placement, os []outcome) {
		for _, o := range os {
			o.cost += pl.cost
			if o.cost < best {
				best = o.cost
			}
			out = append(out, m.then(st, p, o, pl))
		}
	}
	// first what is right as it stands; what would have to be explained is only
	// looked at where that is not much dearer
	var miss []placement
	for _, pl := range places {
		if os, ok := m.assessFit(st, p, pl.slot); ok {
			keep(pl, os)
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
		m.unlabelled(st, p, m.against(p.label, top), m.topic.StateOf(p.step.Heading), 0, func(pl placement) {
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
		if pl.cost+costNamed <= best+costNamed-0.3 {
			m.shallow = !math.IsInf(best, 1)
			keep(pl, m.assessMiss(st, p, pl.slot))
			m.shallow = false
		}
	}
	if best > unplaced || len(out) == 0 {
		o := m.assessUnplaced(st, p)
		o.cost += unplaced
		out = append(out, m.then(st, p, o, placement{slot: -1}))
	}
	return out
}

// then is the state after a step came to the outcome.
func (m *run) then(st *state, p *prepared, o outcome, pl placement) *state {
	n := *st
	n.table = nil
	n.cost += o.cost
	n.out = append(append(make([]outcome, 0, len(st.out)+8), st.out...), o)
	if o.loc != nil {
		n.locals = append(append([]local(nil), st.locals...), *o.loc)
	}
	for _, c := range o.charges {
		if !c.free {
			n.made = append(append([]made(nil), n.made...), made{c.fault, p.index})
			n.cost += costLater * float64(p.index)
		}
	}
	if o.slot < 0 {
		if o.loc == nil && len(o.charges) == 0 {
			n.table = st.table
		}
		return &n
	}
	if l := p.step.Label; l != "" && st.aliases.find(l) != o.slot {
		n.aliases = &alias{l, o.slot, st.aliases}
	}
	if p.step.Table > 0 && p.step.TableRow > 0 {
		for _, mates := range m.rowMates[o.slot] {
			n.rows = &tableRow{p.step.Table, p.step.TableRow, mates, n.rows}
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
	return &n
}
