package diagnose

import (
	"math"
	"slices"

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
