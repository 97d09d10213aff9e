package diagnose

import (
	"math"
	"slices"
	"strings"

	"batten/parse"
	"batten/rules"
	"batten/solver"
)

// nWorlds is how many random worlds identity is tested in, at most.
const nWorlds = 3

// vec holds one figure for each random world: a formula's fingerprint.
type vec [nWorlds]float64

func same(a, b vec) bool {
	for i := range a {
		if !solver.Close(a[i], b[i]) {
			return false
		}
	}
	return true
}

func (v vec) scale(f float64) vec {
	for i := range v {
		v[i] *= f
	}
	return v
}

// A state is one way of having read the script so far: what each step was
// taken for and what the student has stated by it. States are never changed
// once made; the search keeps the cheapest few.
type state struct {
	env     *solver.Env
	tainted solver.Set             // stated slots whose figure is wrong or follows from one
	root    [solver.MaxSlots]int16 // for tainted slots: 1 + the step where the fault is
	made    []made                 // faults so far
	locals  []local                // steps that stand for nothing known, but may be used later
	last    outcome                // of the step read last
	before  *state                 // the state before that step, nil at the start
	out     []outcome              // one a step, in a reading of the whole alone
	cost    float64
	phase   string          // state of affairs last spoken of, from the placed quantities
	digits  map[byte]string // what the digits behind symbols have meant so far
	table   *valueTable     // lazily: figures known in this state
	turn    int             // the use of the table's room that was this state's
	aliases *alias          // the student's own names for quantities
	rows    *tableRow       // what the rows of tables have been taken for

	free      []*solver.Site // lazily: what freeSites gives
	freeFound bool
	next      []successor // lazily: the ways in which the next step may be taken
	looked    bool
	upTo      float64 // what they cost at the most, if all have been found
}

// made is a fault the student has made.
type made struct {
	fault     string
	step      int
	unwritten []*solver.Site // where it was made in quantities that were not written down
}

// local is an intermediate figure of the student's own.
type local struct {
	step    int
	label   string
	value   solver.Interval
	vec     vec
	held    solver.Set
	tainted bool
	known   bool      // the fingerprint is that of a formula over known quantities
	others  []meaning // what else its figures may stand for
}

// meaning is one thing that an intermediate figure may stand for.
type meaning struct {
	vec     vec
	held    solver.Set
	tainted bool
}

// alias is a name that the student gave to a quantity; the latest comes first.
type alias struct {
	name string
	slot int
	next *alias
}

func (a *alias) find(name string) int {
	for b := a; b != nil; b = b.next {
		if b.name == name {
			return b.slot
		}
	}
	for b := a; b != nil && len(name) > 3; b = b.next {
		if strings.EqualFold(b.name, name) {
			return b.slot
		}
	}
	return -1
}

// outcomes lists what each step up to this state came to.
func (s *state) outcomes() []outcome {
	n := 0
	for b := s; b.before != nil; b = b.before {
		n++
	}
	out := make([]outcome, n)
	for b := s; b.before != nil; b = b.before {
		n--
		out[n] = b.last
	}
	return out
}

func (s *state) hasMade(fault string) bool {
	for _, m := range s.made {
		if m.fault == fault {
			return true
		}
	}
	return false
}

// tableRow is a row of a table and the quantities its cells may be, as one
// cell of it has shown.
type tableRow struct {
	table, row int
	col        int
	slot       int // what that cell was taken for
	mates      []int
	tables     uint64 // the topic's tables that the cell can stand in
	next       *tableRow
}

// A known figure: something a number in the student's working may stand for.
type known struct {
	iv      solver.Interval
	vec     vec
	slot    int // -1: not a quantity
	scale   float64
	cost    float64
	tainted bool
	stated  bool
	cut     bool         // the number is the figure rounded, and may have been worked with so
	slip    bool         // it has to be assumed that the figure was copied wrongly
	local   int          // 1 + index into locals
	site    *solver.Site // the figure is what this fault would give
	held    solver.Set
	right   float64 // with slip: the figure that should stand there
}

// freeSites are the sites of faults already made that are made everywhere, and
// of those that were made in quantities not written down: what such a quantity
// was taken for is what it is taken for again.
func (m *run) freeSites(st *state) []*solver.Site {
	if len(st.made) == 0 {
		return nil
	}
	if st.freeFound {
		return st.free
	}
	var out []*solver.Site
	for s := range m.model.Quantities {
		if st.env.Has().Has(s) {
			continue
		}
		for _, site := range m.model.Sites[s] {
			if site.Fault.Together && st.hasMade(site.Fault.ID) {
				out = append(out, site)
				break
			}
		}
	}
	for _, x := range st.made {
		for _, site := range x.unwritten {
			if !st.env.Has().Has(site.Slot) && !at(out, site.Slot) {
				out = append(out, site)
			}
		}
	}
	st.free, st.freeFound = out, true
	return out
}

// isFree reports whether the fault, made now, would be an earlier one again.
func (m *run) isFree(st *state, f *rules.Fault) bool {
	for _, x := range st.made {
		if x.fault == f.ID || m.sameIdea(x.fault, f.ID) {
			return true
		}
	}
	return false
}

func (m *run) sameIdea(a, b string) bool {
	if a == b {
		return true
	}
	ga := m.ideas[a]
	for _, x := range ga {
		for _, y := range m.ideas[b] {
			if x == y {
				return true
			}
		}
	}
	return false
}

// candidates lists what a number in the working may stand for, cheapest first.
func (m *run) candidates(st *state, l *leaf, target int, slips bool) []known {
	if l.num == nil {
		return m.named(st, l, target)
	}
	t := m.values(st)
	f := m.findingsOf(t, l)
	for i := range f.lists {
		if x := &f.lists[i]; x.target == target && x.slips == slips {
			return x.list
		}
	}
	out := m.numbers(t, f, l, target, slips)
	f.lists = append(f.lists, meanings{target, slips, out})
	return out
}

func (m *run) numbers(t *valueTable, f *findings, l *leaf, target int, slips bool) []known {
	m.budget(costOfNumber)
	n := l.figure()
	out := m.found[:0]
	direct, reckoned, whole, written := false, false, false, false
	for _, i := range f.near {
		k := t.all[i]
		if m.below(k, target) {
			continue
		}
		if u := l.num.Unit; u != nil && k.slot >= 0 && !m.unitFits(u, k.slot) {
			continue
		}
		if exact, ok := l.is(k.iv); ok || m.toItsPlaces(l, k) {
			c := *k
			if !exact {
				c.cost += costCut
				c.cut = true
			} else if k.cost < costReference {
				whole, written = true, written || k.stated
			}
			out = append(out, c)
			if k.cost < costSpoilt && (exact || l.sig > 2) { // 4.5 may be 4.474, or half of 9
				direct, reckoned = true, reckoned || k.local > 0
			}
		} else if l.sig >= 3 && k.cost < costSpoilt && l.ulp <= 0.006*math.Abs(n) && k.iv.Holds(n, 1.01*l.ulp) {
			c := *k
			c.cost += 0.6
			c.cut = true
			out = append(out, c)
			direct = true
		}
	}
	if whole {
		for i := range out {
			if out[i].cut && out[i].stated && written {
				out[i].cost += costOtherwise
			}
			out[i].cut = false // a figure that is known as it stands is not another one rounded
		}
	}
	if !direct {
		if l.sig >= 2 {
			out = m.forms(t, f, n, l, target, out)
		} else if l.num.Places > 0 {
			out = m.complements(t, n, l, target, out)
		}
	} else if reckoned && l.num.Places > 0 {
		out = m.complements(t, n, l, target, out) // "100 - 60 = 40%" may be what is left of a ratio
	}
	out = append(oncePerSlot(out), l.itself())
	out = spoiltToo(out)
	if slips {
		// kept apart, so that other meanings can't crowd them out
		n := len(out)
		out = m.slips(t, f, l, target, out)
		out = out[:n+len(cheapest(out[n:], maxSlips))]
	}
	return m.lasting(out)
}

// spoiltToo gives the cheapest few, one that a fault gives among them: what
// known figures come to by chance in the head must not crowd it out.
func spoiltToo(all []known) []known {
	at := -1
	for i := range all {
		if all[i].site != nil && (at < 0 || all[i].cost < all[at].cost) {
			at = i
		}
	}
	if at < 0 || len(all) <= maxCandidates {
		return cheapest(all, maxCandidates)
	}
	spoilt := all[at]
	out := cheapest(all, maxCandidates)
	if !slices.ContainsFunc(out, func(k known) bool { return k.site != nil }) {
		out[len(out)-1] = spoilt
	}
	return out
}

// oncePerSlot joins what stands for the same quantity, worked out in several ways
// that cost the same: it must not crowd out others.
func oncePerSlot(all []known) []known {
	out := all[:0]
next:
	for i := range all {
		k := &all[i]
		for j := range out {
			if o := &out[j]; k.slot >= 0 && o.slot == k.slot && o.cost == k.cost && o.scale == k.scale && o.tainted == k.tainted && o.stated == k.stated && o.site == k.site && o.cut == k.cut && o.vec == k.vec {
				o.iv = o.iv.Hull(k.iv)
				continue next
			}
		}
		out = append(out, *k)
	}
	return out
}

// near is how far from the number a figure may lie at the most that it stands for.
func (l *leaf) near() float64 {
	near := math.Max(1e-6*math.Abs(l.figure()), 0.505*l.ulp)
	if l.sig >= 3 || l.num.Places > 0 {
		near = math.Max(near, 1.01*l.ulp)
	}
	return near
}

// is reports whether the number may be a figure of the range as it stands, or
// rounded.
func (l *leaf) is(iv solver.Interval) (exact, ok bool) {
	n := l.figure()
	if iv.Holds(n, 1e-6*math.Abs(n)) {
		return true, true
	}
	return false, (l.sig > 1 || l.num.Places > 0 && !smallConstant(l.num)) && iv.Holds(n, math.Min(0.505*l.ulp, mostRounded*math.Abs(n)))
}

// toItsPlaces reports whether the number is the figure rounded, or cut off, to no
// fewer places than the trade gives it, however small it is.
func (m *run) toItsPlaces(l *leaf, k *known) bool {
	if k.slot < 0 || k.scale != 1 || l.num.Places == 0 || l.num.Places < m.model.Quantities[k.slot].Places {
		return false
	}
	n := l.figure()
	return k.iv.Holds(n, 0.505*l.ulp) || k.iv.Holds(n+math.Copysign(0.5*l.ulp, n), 0.505*l.ulp)
}

// itself is the number taken for no quantity, but for the figure that it is.
func (l *leaf) itself() known {
	n := l.figure()
	cost := 1.5
	switch {
	case smallConstant(l.num):
		cost = 0
	case l.sig <= 2 && n == math.Trunc(n):
		cost = 0.5
	}
	return known{iv: solver.Point(n), vec: constant(n), slot: -1, scale: 1, cost: cost, stated: true}
}

// plain lists what a number or a word stands for if it is just what it seems: a
// quantity stated, given or worked out, or itself. It is not all that candidates
// would list, but needs no table.
func (m *run) plain(st *state, l *leaf, target int) []known {
	if l.num == nil {
		return m.named(st, l, target)
	}
	out := m.found[:0]
	d := st.env.Derive()
	n := l.figure()
	near := l.near()
	for s := range m.model.Quantities {
		iv, stated := st.env.Stated(s)
		given := !stated && m.model.Given.Has(s)
		switch {
		case given:
			iv = solver.Point(m.reference(s))
		case !stated && target >= 0 && (s == target || m.model.Above[s].Has(target)):
			continue
		case !stated:
			iv = d.First(s)
		}
		if !iv.Holds(n, near) {
			continue
		}
		k := known{iv: iv, vec: m.right[s], slot: s, scale: 1, stated: stated || given}
		exact, ok := l.is(iv)
		if !ok && !m.toItsPlaces(l, &k) || l.num.Unit != nil && !m.unitFits(l.num.Unit, s) {
			continue
		}
		switch {
		case given && !m.inFormula.Has(s):
			k.cost = costIdle
		case !k.stated:
			k.cost = costDerived
		}
		if !exact {
			k.cost += costCut
		}
		out = append(out, k)
	}
	return m.lasting(append(out, l.itself()))
}

const (
	costCut       = 0.1 // to take a number for a figure that it is rounded from
	costOtherwise = 6.5 // and more for one that was written, where another that was written or given is just that
)

// cheapest moves the cheapest few to the front, in order, and gives them. Of
// those that cost the same the first go first.
func cheapest(all []known, most int) []known {
	n := 0
	for i := range all {
		if n == most && all[i].cost >= all[n-1].cost {
			continue
		}
		k := all[i]
		at := min(n, most-1)
		for ; at > 0 && all[at-1].cost > k.cost; at-- {
			all[at] = all[at-1]
		}
		all[at] = k
		n = min(n+1, most)
	}
	return all[:n]
}

const (
	maxCandidates = 8
	maxSlips      = 3
	mostRounded   = 0.02 // the share by which a figure is rounded at most when it is put into a sum
)

func constant(n float64) vec { return vec{n, n, n} }

// below reports whether a figure not written down yet is the target itself or
// is worked out from it.
func (m *run) below(k *known, target int) bool {
	return target >= 0 && k.slot >= 0 && !k.stated && (k.slot == target || m.model.Above[k.slot].Has(target))
}

// named lists what a word used as an operand may stand for.
func (m *run) named(st *state, l *leaf, target int) []known {
	text := l.name.Text
	out := m.found[:0]
	for i := range st.locals {
		if lc := &st.locals[len(st.locals)-1-i]; lc.label != "" && lc.label == text {
			out = append(out, known{iv: lc.value, vec: lc.vec, slot: -1, scale: 1, cost: 0, tainted: lc.tainted, stated: true, local: len(st.locals) - i, held: lc.held})
			for _, o := range lc.others {
				out = append(out, known{iv: lc.value, vec: o.vec, slot: -1, scale: 1, cost: 0.05, tainted: o.tainted, stated: true, local: len(st.locals) - i, held: o.held})
			}
			break
		}
	}
	d := st.env.Derive()
	matches := m.match(text)
	own := st.aliases.find(text)
	if own >= 0 {
		matches = append([]slotMatch{{slot: own, score: 1}}, matches...)
	}
	for i, mt := range matches {
		s := mt.slot
		if s == own && i > 0 {
			continue
		}
		if matches[0].score >= 0.9 && mt.score < matches[0].score-0.2 {
			break // a name that is just a quantity's own means no other
		}
		var held solver.Set
		held.Add(s)
		cost := 1.2 * (1 - mt.score)
		if own >= 0 && i > 0 {
			cost += 0.4
		}
		if mt.state != "" && m.model.Quantities[s].State != "" && mt.state != m.model.Quantities[s].State {
			cost += 1.5
		} else if said := st.digits[trailingDigit(text)]; mt.state == "" && own != s && said != "" && m.model.Quantities[s].State != "" && said != m.model.Quantities[s].State {
			cost += 1.2 // the digit has meant another state so far
		}
		iv, ok := st.env.Stated(s)
		if !ok && !m.model.Given.Has(s) {
			cost += 0.2
			if target >= 0 && (s == target || m.model.Above[s].Has(target)) {
				cost += 1.5 // nobody has that figure yet
			}
			if f := d.Derived(s); len(f) > 0 {
				iv = f[0].Interval
				iv.Lo -= m.halves[s] // the figure is written nowhere, and may be a rounded one
				iv.Hi += m.halves[s]
			}
		} else if !ok {
			iv = solver.Point(m.model.Worlds[0][s])
		}
		out = append(out, known{iv: iv, vec: m.right[s], slot: s, scale: 1, cost: cost, tainted: st.tainted.Has(s), stated: ok, held: held})
	}
	return m.lasting(cheapest(out, maxCandidates))
}

func (m *run) unitFits(u *parse.Unit, slot int) bool {
	qu := m.units[slot]
	if qu == nil {
		return u.Dim == parse.Dim{}
	}
	if u.Dim == qu.Dim {
		return true
	}
	for _, a := range m.alsoUnits[slot] {
		if u.Dim == a.Dim {
			return true
		}
	}
	return false
}
