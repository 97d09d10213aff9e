package diagnose

import (
	"cmp"
	"math"
	"slices"

	"batten/rules"
	"batten/solver"
)

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
	first []float64             // the first world's figures by themselves, which are searched
	rest  func(*hypothesis) vec // gives the figures in all worlds, where only the first world's are kept: nil where all are
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
		v := h.all[i].vec
		if h.rest != nil {
			v = h.rest(&h.all[i])
		}
		if same(r.full().scale(scale), v) {
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
// formula does not rest, nor on one that is always as great, nor on all that it is
// worked from.
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
		rests := m.rests[s]
		rests.Drop(s)
		like := !rests.Empty() && rests.AndNot(uses).Empty() // L B³/12, where the formula has L and B
		uses.Each(func(u int) { like = like || same(m.right[s], m.right[u]) })
		if !like {
			n++
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
	model, worlds := m.model, m.worlds // the pairs outlive the run
	rest := func(h *hypothesis) (v vec) {
		model.Under(worlds[:], slot, h.sites, h.by, held, v[:])
		return v
	}
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
			m.model.Under(m.worlds[:1], slot, set, by, held, h.vec[:1])
			if x := h.vec[0]; math.IsNaN(x) {
				continue
			} else if solver.Close(x, a.vec[0]) || solver.Close(x, b.vec[0]) || solver.Close(x, m.right[slot][0]) {
				if v := rest(&h); same(v, a.vec) || same(v, b.vec) || same(v, m.right[slot]) {
					continue
				}
			}
			out = append(out, h)
		}
	}
	h := inOrder(out)
	h.rest = rest
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
