package diagnose

import (
	"math"
	"slices"

	"batten/parse"
	"batten/solver"
)

// valueTable holds the figures known in a state: quantity by quantity, then
// those of the student's own.
type valueTable struct {
	all     []*known
	span    []solver.Interval // the ranges of all, by themselves: most are looked at and passed over
	base    []int32           // indices of those that forms are built from
	rising  []risen           // the same in rising order, once that is asked for
	mates   []int32           // room for what may go with one of them
	copied  []copyable        // those that a number may be a wrong copy of
	from    []start           // where the figures of each quantity begin
	free    []*solver.Site    // what the state's freeSites were
	env     *solver.Env       // and what had been stated in it
	tainted solver.Set
	seen    map[counted]*findings
	turn    int // counts the uses of its room: a state whose table has gone to another makes it anew
}

// start is where the figures of a quantity begin in a table: in all of them, in
// those that forms are built from, and in those that may have been copied.
type start struct{ all, base, copied int }

// counted is a number and what turns it into the unit that it counts in.
type counted struct {
	num *parse.Num
	in  float64
}

// copyable is a figure of a table that a number may be a wrong copy of.
type copyable struct {
	of     int32
	places int8 // how many places it needs to be written in full, -1: more than four
}

// findings are what a table has for one number.
type findings struct {
	near   []int32     // indices of the figures that it is close to
	copies []wrongCopy // and what it may be a wrong copy of, once that was sought
	sought bool
	pairs  []pair // and what gives it worked in the head from two known figures
	paired bool
	lists  []meanings // what it may stand for
}

// wrongCopy is a figure of a table that a number may be a wrong copy of.
type wrongCopy struct {
	of    int32
	cost  float64
	right float64 // the figure that should stand there
}

// meanings are what a number may stand for where a target is looked for, with
// figures copied wrongly or without.
type meanings struct {
	target int
	slips  bool
	list   []known
}

// findingsOf are what the table has for a number.
func (m *run) findingsOf(t *valueTable, l *leaf) *findings {
	key := counted{l.num, l.in}
	if f, ok := t.seen[key]; ok {
		return f
	}
	f := m.findings.One()
	*f = findings{near: f.near[:0], copies: f.copies[:0], pairs: f.pairs[:0], lists: f.lists[:0]}
	n, near := l.figure(), l.near()
	for i := range t.span {
		if t.span[i].Holds(n, near) {
			f.near = append(f.near, int32(i))
		}
	}
	if t.seen == nil {
		t.seen = map[counted]*findings{}
	}
	t.seen[key] = f
	return f
}

const (
	costIdle      = 0.6 // a given that no formula of the topic uses
	costDerived   = 0.3 // a figure not written down before
	costReference = 0.9 // the right figure where the student has another
	costScaled    = 0.8 // in another unit than the quantity's own
	costSpoilt    = 2.0 // a figure only a fault gives
	costForm      = 1.2 // worked in the head from one or two known figures
)

// values is the table of what is known in the state. What can't be other than in
// a table made before, for this state or another, is taken over from there.
func (m *run) values(st *state) *valueTable {
	if st.hasTable() {
		return st.table
	}
	free := m.freeSites(st)
	old, changed := m.tableLike(st, free)
	t := m.newTable(old)
	m.drawn = solver.Set{}
	t.free, t.env, t.tainted = free, st.env, st.tainted
	d := st.env.Derive()
	var df *solver.Deriver
	if len(t.free) > 0 {
		df = m.under(st, t.free)
	}
	for s := 0; s < len(m.model.Quantities); {
		if old == nil || changed.Has(s) {
			m.addFigures(t, st, s, d, df)
			s++
			continue
		}
		end := s + 1
		for end < len(m.model.Quantities) && !changed.Has(end) {
			end++
		}
		t.takeOver(old, s, end)
		s = end
	}
	t.begin()
	for i, l := range st.locals {
		k := m.meant.One()
		*k = known{iv: l.value, vec: l.vec, slot: -1, scale: 1, cost: 0.1, tainted: l.tainted, stated: true, local: i + 1, held: l.held}
		t.base = append(t.base, int32(len(t.all)))
		t.add(k)
		for _, o := range l.others {
			k := m.meant.One()
			*k = known{iv: l.value, vec: o.vec, slot: -1, scale: 1, cost: 0.15, tainted: o.tainted, stated: true, local: i + 1, held: o.held}
			t.add(k)
		}
	}
	st.table, st.turn = t, t.turn
	m.tables = append(m.tables, t)
	return t
}

func (s *state) hasTable() bool { return s.table != nil && s.table.turn == s.turn }

// mostCompared is how many of the tables made last are looked at for the one that
// has most in common with a state.
const mostCompared = 4

// tableLike is, of the tables made last, the one that most can be taken over from,
// and the quantities whose figures may be others in the state; nil where there is
// none.
func (m *run) tableLike(st *state, free []*solver.Site) (*valueTable, solver.Set) {
	var best *valueTable
	var fewest solver.Set
	look := func(t *valueTable) {
		if t.env == nil || (len(free) > 0) != (len(t.free) > 0) {
			return // of another script; or there is something more of every quantity, or less
		}
		var changed solver.Set
		st.env.Unlike(t.env).Or(st.tainted.Xor(t.tainted)).Each(func(s int) { changed = changed.Or(m.tells[s]) })
		changed = m.changedUnder(free, t.free, changed)
		if best == nil || changed.Len() < fewest.Len() {
			best, fewest = t, changed
		}
	}
	for _, t := range m.tables[max(0, len(m.tables)-mostCompared):] {
		look(t)
	}
	for _, t := range m.served[max(0, len(m.served)-mostCompared):] {
		look(t)
	}
	return best, fewest
}

// changedUnder adds to the quantities whose figures may be others those of which
// what follows under faults may be, where the faults were others before.
func (m *run) changedUnder(free, before []*solver.Site, changed solver.Set) solver.Set {
	for _, x := range free {
		if !slices.Contains(before, x) {
			changed = changed.Or(m.tells[x.Slot])
		}
	}
	for _, x := range before {
		if !slices.Contains(free, x) {
			changed = changed.Or(m.tells[x.Slot])
		}
	}
	for again := true; again; {
		again = false
		for _, x := range free {
			for _, d := range x.Code.Deps() {
				if more := m.tells[x.Slot]; changed.Has(d) && more.AndNot(changed) != (solver.Set{}) {
					changed, again = changed.Or(more), true
				}
			}
		}
	}
	return changed
}

// tellsOf finds, for each quantity, those whose figures in a table may be others
// once it is stated: what it is worked out to, rightly or by a fault.
func (m *Marker) tellsOf() []solver.Set {
	read := make([]solver.Set, len(m.model.Quantities)) // quantity → those with a fault that reads it
	for s, sites := range m.model.Sites {
		for _, x := range sites {
			for _, d := range x.Code.Deps() {
				read[d].Add(s)
			}
		}
	}
	out := make([]solver.Set, len(m.model.Quantities))
	for s := range out {
		worked := m.model.Below[s]
		worked.Add(s)
		out[s] = worked
		worked.Each(func(x int) { out[s] = out[s].Or(read[x]) })
	}
	return out
}

// begin marks where the figures of the next quantity start.
func (t *valueTable) begin() {
	t.from = append(t.from, t.end())
}

func (t *valueTable) end() start { return start{len(t.all), len(t.base), len(t.copied)} }

func (t *valueTable) add(k *known) {
	if k.cost < costReference && k.scale == 1 {
		t.copied = append(t.copied, copyable{int32(len(t.all)), int8(placesOf(k.iv.Mid()))})
	}
	t.all = append(t.all, k)
	t.span = append(t.span, k.iv)
}

// takeOver adds the figures of the quantities from s to before end of an older
// table.
func (t *valueTable) takeOver(old *valueTable, s, end int) {
	a, b, at := old.from[s], old.from[end], t.end()
	for _, f := range old.from[s:end] {
		t.from = append(t.from, start{f.all - a.all + at.all, f.base - a.base + at.base, f.copied - a.copied + at.copied})
	}
	t.all = append(t.all, old.all[a.all:b.all]...)
	t.span = append(t.span, old.span[a.all:b.all]...)
	shift := int32(at.all - a.all)
	for _, i := range old.base[a.base:b.base] {
		t.base = append(t.base, i+shift)
	}
	for _, c := range old.copied[a.copied:b.copied] {
		t.copied = append(t.copied, copyable{c.of + shift, c.places})
	}
}

// addFigures adds what the quantity may be written as: what the student has, or
// what follows, rightly (d), under the faults made before (df, nil for none), or
// by a fault of its own.
func (m *run) addFigures(t *valueTable, st *state, s int, d, df *solver.Deriver) {
	t.begin()
	q := m.model.Quantities[s]
	ref := m.model.Worlds[0][s]
	var held solver.Set
	held.Add(s)
	add := func(iv solver.Interval, cost float64, tainted, stated bool, site *solver.Site) {
		if iv.IsVoid() {
			return
		}
		k := m.meant.One()
		*k = known{iv: iv, vec: m.right[s], slot: s, scale: 1, cost: cost, tainted: tainted, stated: stated, site: site, held: held}
		if site != nil {
			k.vec = m.siteVec(site)
			k.held = solver.Set{}
		}
		if site == nil && cost <= costDerived {
			t.base = append(t.base, int32(len(t.all)))
		}
		t.add(k)
		for _, f := range m.also[s] {
			c := m.meant.One()
			*c = *k
			c.iv = solver.Interval{Lo: iv.Lo * f, Hi: iv.Hi * f}
			c.scale = f
			c.vec = k.vec.scale(f)
			c.cost += costScaled
			t.add(c)
		}
		if q.Signed && iv.Hi < 0 { // the size of a signed figure
			c := m.meant.One()
			*c = *k
			c.iv = solver.Interval{Lo: -iv.Hi, Hi: -iv.Lo}
			c.vec = k.vec.scale(-1)
			c.cost += 0.1
			t.add(c)
		}
	}
	switch iv, ok := st.env.Stated(s); {
	case m.model.Given.Has(s) && !ok:
		cost := 0.0
		if !m.inFormula.Has(s) {
			cost = costIdle
		}
		add(solver.Point(ref), cost, false, true, nil)
	case ok:
		add(iv, 0, st.tainted.Has(s), true, nil)
		if !iv.Holds(ref, 1e-9*math.Abs(ref)) {
			add(solver.Point(ref), costReference, false, false, nil)
		}
	default:
		refSeen := false
		for _, f := range d.Derived(s) {
			if f.Holds(ref, 1e-9*math.Abs(ref)) {
				refSeen = true
			}
			add(f.Interval, costDerived, !f.From.And(st.tainted).Empty(), false, nil)
		}
		if df != nil {
			for _, f := range df.Derived(s) {
				add(f.Interval, costDerived+0.1, true, false, nil)
			}
		}
		if !refSeen {
			add(solver.Point(ref), costReference, false, false, nil)
		}
		for _, site := range m.model.Sites[s] {
			if iv := m.siteRange(d, site); !iv.IsVoid() {
				add(iv, costSpoilt+site.Fault.Rarity, true, false, site)
			}
		}
	}
}

// newTable gives an empty table, in the room of one that has served, but for
// the one that is looked at still.
func (m *run) newTable(but *valueTable) *valueTable {
	n := len(m.served)
	if n > 0 && m.served[n-1] == but {
		n--
	}
	if n > 0 {
		t := m.served[n-1]
		m.served = slices.Delete(m.served, n-1, n)
		t.all, t.span = t.all[:0], t.span[:0]
		t.rising = t.rising[:0]
		t.base, t.copied, t.from = t.base[:0], t.copied[:0], t.from[:0]
		clear(t.seen)
		t.turn++
		return t
	}
	return &valueTable{all: make([]*known, 0, 4*len(m.model.Quantities))}
}

// freeTables takes back the tables that none of the states uses. What was
// found in them stays good: it is copied.
func (m *run) freeTables(beam []*state) {
	kept := m.tables[:0]
	for _, t := range m.tables {
		used := false
		for _, st := range beam {
			used = used || st.table == t
		}
		if used {
			kept = append(kept, t)
		} else {
			m.served = append(m.served, t)
		}
	}
	m.tables = kept
}

// siteRange is what a fault gives at its site from the student's figures, those
// that have been looked up for the table already among them.
func (m *run) siteRange(d *solver.Deriver, site *solver.Site) solver.Interval {
	if m.figures == nil {
		m.figures = make([]solver.Interval, len(m.model.Quantities))
	}
	for _, s := range site.Code.Deps() {
		if !m.drawn.Has(s) {
			m.drawn.Add(s)
			m.figures[s] = d.First(s)
		}
		if m.figures[s].IsVoid() {
			return solver.Void()
		}
	}
	return site.Code.Range(m.figures)
}

func (m *run) siteVec(site *solver.Site) vec {
	if v, ok := m.siteVecs[site]; ok {
		return v
	}
	return vec{math.NaN()}
}
