package diagnose

import (
	"cmp"
	"math"
	"slices"

	"batten/rules"
	"batten/solver"
)

// A reading is an expression with every leaf taken for something: a formula
// over quantities.
type reading struct {
	form    *form
	picks   []*known
	vec     vec // only the first world's figure until fill
	cost    float64
	held    solver.Set // quantities that stand in it as leaves
	tainted bool       // rests on a wrong figure of the student's
	slip    int        // 1 + index of a leaf copied wrongly
	opaque  int        // numbers that stand for nothing known
	filled  bool
	most    float64 // dearer readings are passed over from here on: the visitor may lower it
}

const (
	maxReadings = 300 // of one form
	fewReadings = 120 // where no work is left to look ahead
)

// lift enumerates the readings of a form in the state, calling visit until it
// returns false. Readings that assume more than one copying slip are left out,
// and so are those that take a number for what is only worked out from the
// target (-1: none): nobody has that figure yet.
func (m *run) lift(st *state, f *form, target int, slips bool, visit func(*reading) bool) {
	lists := m.meaningsOf(st, f, target, slips)
	m.liftFrom(f, &lists, visit)
}

// meaningsOf lists what each leaf of the form may stand for.
func (m *run) meaningsOf(st *state, f *form, target int, slips bool) (lists [maxLeaves][]known) {
	for i := range f.leaves {
		lists[i] = m.candidates(st, &f.leaves[i], target, slips)
		if m.meanings > 0 && len(lists[i]) > m.meanings {
			lists[i] = lists[i][:m.meanings]
		}
	}
	return lists
}

// liftFrom enumerates the readings of a form in which each leaf is taken for
// one of those listed for it.
func (m *run) liftFrom(f *form, lists *[maxLeaves][]known, visit func(*reading) bool) {
	n := len(f.leaves)
	if n == 0 {
		return
	}
	m.budget(costOfForm)
	if !m.shorten(lists[:n]) {
		return
	}
	// Readings follow one another like the counts of a milometer, the first leaf
	// fastest: what the leaves from i on have in common is kept in from[i]. Where
	// that is too dear already, the leaves before i need not be tried. Readings that
	// differ only in the first leaf that may be more than one thing are evaluated
	// together.
	o := m.options
	m.options = nil // the visitor may look for readings too
	if o == nil {
		o = &options{}
	}
	defer func() { m.options = o }()
	o.fill(lists[:n])
	first := 0
	for first < n-1 && len(lists[first]) == 1 {
		first++
	}
	var pick [maxLeaves]int
	var figure, cost [maxLeaves]float64
	var from [maxLeaves + 1]common
	r := m.readings.One()
	*r = reading{form: f, picks: m.picks.Take(n), most: math.Inf(1)}
	lead := 0.0
	for i := range first {
		k := &o.of[i][0]
		r.picks[i], figure[i] = &lists[i][0], k.figure
		lead += k.cost
		from[n].add(k, i)
	}
	fastest := o.of[first]
	for i := n - 1; ; {
		for ; i > first; i-- {
			k := &o.of[i][pick[i]]
			c := &from[i]
			*c = from[i+1]
			c.add(k, i)
			if c.slips > 1 || c.cost+o.least[i] > r.most+1e-8 {
				break
			}
			r.picks[i] = &lists[i][pick[i]]
			figure[i], cost[i] = k.figure, k.cost
		}
		if i == first {
			f.code.EvalEach(figure[:n], first, o.figures, o.values)
			rest := &from[first+1]
			for j := range fastest {
				k := &fastest[j]
				c := *rest
				if c.add(k, first); c.slips > 1 || c.cost > r.most+1e-9 {
					continue
				}
				m.budget(1)
				if r.vec[0] = o.values[j]; math.IsNaN(r.vec[0]) {
					continue
				}
				r.picks[first] = &lists[first][j]
				r.cost, r.held, r.tainted, r.slip, r.opaque, r.filled = lead+k.cost, c.held, c.tainted, int(c.slip), int(c.opaque), false
				for _, x := range cost[first+1 : n] {
					r.cost += x
				}
				if !visit(r) {
					return
				}
			}
			i++
		}
		for ; i < n; i++ {
			pick[i]++
			if pick[i] < len(lists[i]) {
				break
			}
			pick[i] = 0
		}
		if i == n {
			return
		}
	}
}

// shorten leaves out meanings until there are few enough readings: the same number
// twice in one expression may stand for two things, but of too many what is dearest
// beside another meaning goes first. It is false where there is no reading.
func (m *run) shorten(lists [][]known) bool {
	total := 1.0
	for _, l := range lists {
		total *= float64(len(l))
	}
	most := float64(maxReadings)
	if m.left <= 0 {
		most = fewReadings
	}
	for total > most {
		worst, at := -1.0, -1
		for i, l := range lists {
			if k := len(l) - 1; k > 0 && l[k].cost-l[0].cost > worst {
				worst, at = l[k].cost-l[0].cost, i
			}
		}
		if at < 0 {
			break
		}
		total *= float64(len(lists[at])-1) / float64(len(lists[at]))
		lists[at] = lists[at][:len(lists[at])-1]
	}
	return total > 0
}

// An option is what a leaf may be taken for, as far as readings are enumerated by it.
type option struct {
	figure, cost          float64 // the figure in the first world
	held                  solver.Set
	tainted, slip, opaque bool
}

// options are those of all leaves of a form.
type options struct {
	all             []option
	of              [maxLeaves][]option
	least           [maxLeaves]float64 // what the leaves before, of which there is a choice, cost at the least
	figures, values []float64          // of the first leaf of which there is a choice, and of the form with each
}

func (o *options) fill(lists [][]known) {
	total := 0
	for _, l := range lists {
		total += len(l)
	}
	o.all = slices.Grow(o.all[:0], total)
	least, chosen := 0.0, false
	for i, l := range lists {
		at := len(o.all)
		o.least[i] = least
		cheapest := math.Inf(1)
		for j := range l {
			k := &l[j]
			o.all = append(o.all, option{
				figure: k.vec[0], cost: k.cost, held: k.held, tainted: k.tainted, slip: k.slip,
				opaque: k.slot < 0 && k.cost >= 1.5 && k.local == 0 && k.held.Empty(),
			})
			cheapest = min(cheapest, k.cost)
		}
		o.of[i] = o.all[at:]
		if !chosen && (len(l) > 1 || i == len(lists)-1) {
			chosen = true
			o.figures = o.figures[:0]
			for j := range l {
				o.figures = append(o.figures, l[j].vec[0])
			}
			o.values = slices.Grow(o.values[:0], len(l))[:len(l)]
		}
		if chosen {
			least += cheapest
		}
	}
}

// common is what some leaves of a reading come to together.
type common struct {
	cost    float64
	held    solver.Set
	slips   int32 // how many of them are copied wrongly
	slip    int32 // 1 + index of the one that is
	opaque  int32
	tainted bool
}

// add takes one leaf more, the i-th, for k.
func (c *common) add(k *option, i int) {
	c.cost += k.cost
	c.held = c.held.Or(k.held)
	c.tainted = c.tainted || k.tainted
	if k.slip {
		c.slips++
		c.slip = int32(i) + 1
	}
	if k.opaque {
		c.opaque++
	}
}

// world evaluates the reading in one random world.
func (r *reading) world(w int) float64 {
	var in [maxLeaves]float64
	for i, k := range r.picks {
		in[i] = k.vec[w]
	}
	return r.form.code.Eval(in[:len(r.picks)])
}

// full is the reading's fingerprint in all worlds.
func (r *reading) full() vec {
	if !r.filled {
		for w := 1; w < nWorlds; w++ {
			r.vec[w] = r.world(w)
		}
		r.filled = true
	}
	return r.vec
}

// keep copies a reading so that it outlives its visit, though not the run.
func (m *run) keep(r *reading) *reading {
	c := m.readings.One()
	*c = *r
	c.picks = m.picks.Take(len(r.picks))
	copy(c.picks, r.picks)
	return c
}

// value is the range of what the form gives with the readings' figures, each
// as it was, or as it is written where that is the figure rounded.
func (r *reading) value() solver.Interval {
	var in [maxLeaves]solver.Interval
	for i := range r.picks {
		in[i] = r.picks[i].iv
		if r.form.leaves[i].num == nil {
			continue
		}
		x := solver.Point(r.form.leaves[i].figure())
		if r.picks[i].slip {
			in[i] = x
		} else if k := r.picks[i]; k.cut || k.stated && k.iv.Hi > k.iv.Lo {
			// whatever rounds to what is written may have been worked with
			h := r.form.leaves[i].ulp / 2
			in[i] = in[i].Hull(solver.Interval{Lo: x.Lo - h, Hi: x.Hi + h})
		}
	}
	return r.form.code.Range(in[:len(r.picks)])
}

// A hypothesis is a set of faults and the formula that they would give for a
// quantity, expanded down to the quantities that stand in the reading.
type hypothesis struct {
	sites  []*solver.Site
	or     [][]*solver.Site // other places where the same faults come to the same
	by     *solver.Way      // another way than the first by which a quantity is worked, nil for none
	faults []*rules.Fault
	vec    vec
	cost   float64
}

type hypoKey struct {
	slot int
	held solver.Set
}

const (
	costNamed     = 3.0
	costTwo       = 0.6 // two faults in one step, over the sum of them
	costMiscopied = 3.6
)

func costOf(f *rules.Fault) float64 {
	c := costNamed + f.Rarity
	if f.Severity == string(Remark) {
		c = 1
	}
	return c
}

// hypotheses are the single faults that could spoil the quantity, given the
// quantities that stand in the student's own formula.
func (m *run) hypotheses(slot int, held solver.Set) *hypotheses {
	held = held.And(m.model.Above[slot])
	key := hypoKey{slot, held}
	if h, ok := m.hypos[key]; ok {
		return h
	}
	if m.hypos == nil {
		m.hypos = map[hypoKey]*hypotheses{}
	}
	asked := key
	held = m.met(slot, held)
	key.held = held
	if h, ok := m.hypoCache.Load(key); ok {
		m.hypos[asked] = h.(*hypotheses)
		return h.(*hypotheses)
	}
	out := m.spoiltBy(m.supposed[:0], slot, held, nil)
	for i := 1; i < len(m.model.Ways[slot]); i++ {
		out = m.spoiltBy(out, slot, held, &m.model.Ways[slot][i])
	}
	m.supposed = out
	h := inOrder(out)
	m.hypoCache.Store(key, h)
	m.hypos[asked] = h
	return h
}

// spoiltBy adds the single faults that spoil the quantity where each is worked
// by its first way, but for the one of which another is given: only what that
// one makes of them is new then.
func (m *run) spoiltBy(out []hypothesis, slot int, held solver.Set, by *solver.Way) []hypothesis {
	reach, depth := m.reach(slot, held, by)
	var direct solver.Set // what the other way itself goes by
	if by != nil {
		for _, d := range by.Code.Deps() {
			direct.Add(d)
		}
		reach.Drop(by.Slot)
	}
	if m.byFault == nil {
		m.byFault = make([][]*solver.Site, len(m.faults))
	}
	reach.Each(func(s int) {
		for i, f := range m.siteFaults[s] {
			m.byFault[f] = append(m.byFault[f], m.model.Sites[s][i])
		}
	})
	for f, fault := range m.faults {
		sites := m.byFault[f]
		m.byFault[f] = sites[:0]
		faults := m.faults[f : f+1 : f+1]
		sets := m.sets[:0]
		if len(sites) > 1 {
			if all := onePerSlot(sites); len(all) > 1 {
				sets = append(sets, all)
			}
		}
		for _, s := range sites {
			if fault.Together && len(sets) > 0 && s.Slot != slot {
				continue
			}
			sets = append(sets, m.alone(s))
		}
		m.sets = sets
		first := 0
		if by == nil {
			first = len(out)
		}
	next:
		for _, set := range sets {
			if by != nil && !fault.Together && !slices.ContainsFunc(set, func(s *solver.Site) bool { return direct.Has(s.Slot) }) {
				continue
			}
			h := hypothesis{sites: set, by: by, faults: faults, cost: costOf(fault)}
			if by != nil {
				h.cost += costOtherWay
			}
			if !at(set, slot) {
				h.cost += 0.3 + costDeeper*float64(depth[set[0].Slot]) // in a step left out, not in this one
			}
			m.model.Under(m.worlds[:], slot, set, by, held, h.vec[:])
			if math.IsNaN(h.vec[0]) || same(m.right[slot], h.vec) {
				continue
			}
			for i := first; i < len(out); i++ {
				if x := &out[i]; same(x.vec, h.vec) {
					if by == nil {
						x.or = append(x.or, set)
					}
					continue next
				}
			}
			out = append(out, h)
		}
	}
	return out
}

// hypotheses are those of one quantity, in the order of the first world's figure.
type hypotheses struct {
	all   []hypothesis
	first []float64 // the first world's figures by themselves, which are searched
}

// inOrder copies them into that order; of those with one figure the first go first.
func inOrder(all []hypothesis) *hypotheses {
	order := make([]int, len(all))
	for i := range order {
		order[i] = i
	}
	slices.SortFunc(order, func(i, j int) int { return cmp.Or(cmp.Compare(all[i].vec[0], all[j].vec[0]), cmp.Compare(i, j)) })
	h := &hypotheses{all: make([]hypothesis, len(all)), first: make([]float64, len(all))}
	for i, k := range order {
		h.all[i], h.first[i] = all[k], all[k].vec[0]
	}
	return h
}

// atLeast is the index of the first of the figures, in rising order, that is
// not less than x.
func atLeast(figures []float64, x float64) int {
	lo, hi := 0, len(figures)
	for lo < hi {
		if mid := int(uint(lo+hi) / 2); figures[mid] < x {
			lo = mid + 1
		} else {
			hi = mid
		}
	}
	return lo
}

// alone is the set of just that site.
func (m *Marker) alone(site *solver.Site) []*solver.Site {
	all := m.model.Sites[site.Slot]
	i := slices.Index(all, site)
	return all[i : i+1 : i+1]
}

// met is the part of the held quantities that is met on the way back from the
// slot, right or wrong: what lies behind others that are held makes no
// difference to what a fault gives.
func (m *run) met(slot int, held solver.Set) solver.Set {
	var found, seen solver.Set
	var todo [solver.MaxSlots]int16
	todo[0] = int16(slot)
	seen.Add(slot)
	for n := 1; n > 0; {
		n--
		read := m.reads[todo[n]]
		if int(todo[n]) == slot {
			read = read.Or(m.wayReads[slot])
		}
		found = found.Or(read)
		read.AndNot(held).AndNot(seen).Each(func(d int) {
			seen.Add(d)
			todo[n] = int16(d)
			n++
		})
	}
	return held.And(found)
}

// matching calls f for each hypothesis whose formula is that of the reading,
// up to the scale.
func (h *hypotheses) matching(r *reading, scale float64, f func(h *hypothesis)) {
	x := r.vec[0] * scale
	tol := 1e-9 * math.Abs(x)
	for i := atLeast(h.first, x-tol); i < len(h.first) && h.first[i] <= x+tol; i++ {
		if same(r.full().scale(scale), h.all[i].vec) {
			f(&h.all[i])
		}
	}
}

// ownWords are those of the faults that all give the reading's formula whose own
// has most to do with the figures that stand in it: I/(V − v) may come to what
// L B³/(12 V) comes to, but is not it.
func (m *run) ownWords(slot int, r *reading, hs []*hypothesis) []*hypothesis {
	if len(hs) < 2 {
		return hs
	}
	out := hs[:0:0]
	fewest := math.MaxInt
	for _, h := range hs {
		n := m.strangers(slot, r, h)
		if n < fewest {
			out, fewest = out[:0], n
		}
		if n == fewest {
			out = append(out, h)
		}
	}
	return out
}

// strangers is how many quantities stand in the reading on which the fault's
// formula does not rest, nor on one that is always as great.
func (m *run) strangers(slot int, r *reading, h *hypothesis) int {
	uses := m.model.Above[slot]
	for _, s := range h.sites {
		if s.Slot != slot {
			continue
		}
		uses = solver.Set{}
		for _, d := range s.Code.Deps() {
			uses.Add(d)
			uses = uses.Or(m.model.Above[d])
		}
		break
	}
	n := 0
	r.held.AndNot(uses).Each(func(s int) {
		n++
		like := false
		uses.Each(func(u int) { like = like || same(m.right[s], m.right[u]) })
		if like {
			n--
		}
	})
	return n
}

func at(sites []*solver.Site, slot int) bool {
	for _, s := range sites {
		if s.Slot == slot {
			return true
		}
	}
	return false
}

func onePerSlot(sites []*solver.Site) []*solver.Site {
	var out []*solver.Site
	var seen solver.Set
	for _, s := range sites {
		if !seen.Has(s.Slot) {
			seen.Add(s.Slot)
			out = append(out, s)
		}
	}
	return out
}

// costOtherWay is for a way that is not the first: of two accounts that come to
// the same, the one by the usual way.
const costOtherWay = 0.2

// costDeeper is for each step left out that lies between this one and the fault:
// of two accounts that come to the same, the one that assumes less.
const costDeeper = 0.02

// reach is the slot and all that lies between it and the held quantities, with
// how many steps each is away.
func (m *run) reach(slot int, held solver.Set, by *solver.Way) (out solver.Set, depth [solver.MaxSlots]int) {
	todo := []int{slot}
	out.Add(slot)
	for len(todo) > 0 {
		s := todo[0]
		todo = todo[1:]
		if ways := m.model.Ways[s]; len(ways) > 0 {
			way := &ways[0]
			if by != nil && by.Slot == s {
				way = by
			}
			for _, d := range way.Code.Deps() {
				if !held.Has(d) && !out.Has(d) {
					out.Add(d)
					depth[d] = depth[s] + 1
					todo = append(todo, d)
				}
			}
		}
	}
	return out, depth
}

// pairs combines two single faults that spoil different quantities.
func (m *run) pairs(slot int, held solver.Set) *hypotheses {
	held = m.met(slot, held.And(m.model.Above[slot]))
	key := hypoKey{slot, held}
	if h, ok := m.pairCache.Load(key); ok {
		return h.(*hypotheses)
	}
	single := m.hypotheses(slot, held).all
	var out []hypothesis
	for i := range single {
		for j := i + 1; j < len(single) && len(out) < 1500; j++ {
			a, b := &single[i], &single[j]
			if a.faults[0] == b.faults[0] || m.sameIdea(a.faults[0].ID, b.faults[0].ID) {
				continue
			}
			set := together(a, b)
			if set == nil || a.by != nil && b.by != nil && a.by != b.by {
				continue
			}
			by := a.by
			if by == nil {
				by = b.by
			}
			h := hypothesis{sites: set, by: by, faults: []*rules.Fault{a.faults[0], b.faults[0]}, cost: a.cost + b.cost + costTwo}
			m.model.Under(m.worlds[:], slot, set, by, held, h.vec[:])
			if math.IsNaN(h.vec[0]) || same(h.vec, a.vec) || same(h.vec, b.vec) || same(h.vec, m.right[slot]) {
				continue
			}
			out = append(out, h)
		}
	}
	h := inOrder(out)
	m.pairCache.Store(key, h)
	return h
}

// together gives the sites at which two faults can be made side by side: each
// leaves the other its place. It gives nil where there are none.
func together(a, b *hypothesis) []*solver.Site {
	for i := -1; i < len(a.or); i++ {
		x := a.sites
		if i >= 0 {
			x = a.or[i]
		}
		for j := -1; j < len(b.or); j++ {
			y := b.sites
			if j >= 0 {
				y = b.or[j]
			}
			if !overlap(x, y) {
				return append(append([]*solver.Site(nil), x...), y...)
			}
		}
	}
	return nil
}

func overlap(a, b []*solver.Site) bool {
	for _, x := range a {
		for _, y := range b {
			if x.Slot == y.Slot {
				return true
			}
		}
	}
	return false
}
