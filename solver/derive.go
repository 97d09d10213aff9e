package solver

import "math"

// Under evaluates a quantity in one world with some quantities' formulas
// replaced by a fault's, and some held at the world's own figures whatever
// they rest on: those a student wrote down and worked on from.
func (m *Model) Under(world, target int, wrong []*Site, held Set) float64 {
	u := under{m: m, v: m.Worlds[world], wrong: wrong, held: held}
	return u.value(target)
}

type under struct {
	m     *Model
	v     []float64
	wrong []*Site
	held  Set
	done  Set
	busy  Set
	memo  [MaxSlots]float64
}

func (u *under) value(s int) float64 {
	if u.held.Has(s) || u.busy.Has(s) {
		return u.v[s]
	}
	if u.done.Has(s) {
		return u.memo[s]
	}
	u.busy.Add(s)
	r := u.v[s]
	if c := u.code(s); c != nil {
		var in [MaxSlots]float64
		for _, d := range c.Deps() {
			in[d] = u.value(d)
		}
		r = c.Eval(in[:len(u.v)])
	}
	u.busy.Drop(s)
	u.memo[s] = r
	u.done.Add(s)
	return r
}

func (u *under) code(s int) *Code {
	for _, w := range u.wrong {
		if w.Slot == s {
			return &w.Code
		}
	}
	if ways := u.m.Ways[s]; len(ways) > 0 {
		// nothing of what it rests on is spoilt: the world's own figure serves
		for _, w := range u.wrong {
			if u.m.Above[s].Has(w.Slot) {
				return &ways[0].Code
			}
		}
	}
	return nil
}

// Figure is a figure as somebody may have it: a range (what was written, or
// what the calculator kept), and what it rests on.
type Figure struct {
	Interval
	Way  *Way // how it was derived, nil when stated or given
	From Set  // the stated slots it rests on, itself included when stated
}

// Env is what a student has stated so far.
type Env struct {
	m      *Model
	stated [MaxSlots]Interval
	has    Set
}

// NewEnv returns an environment in which only the question's givens are known.
func (m *Model) NewEnv() *Env { return &Env{m: m} }

// Clone returns a copy that can go its own way.
func (e *Env) Clone() *Env {
	c := *e
	return &c
}

// State records a stated figure. A later one replaces an earlier.
func (e *Env) State(slot int, r Interval) {
	e.stated[slot] = r
	e.has.Add(slot)
}

// Forget takes a stated figure back.
func (e *Env) Forget(slot int) { e.has.Drop(slot) }

// Has is the set of slots stated so far.
func (e *Env) Has() Set { return e.has }

// Stated returns the stated figure of the slot.
func (e *Env) Stated(slot int) (Interval, bool) { return e.stated[slot], e.has.Has(slot) }

const (
	figuresPerSlot = 4 // different figures kept for one quantity
	figureCombos   = 8 // combinations tried for one way
)

// Deriver works out, in one environment and under given faults, what figures
// a quantity may rightly have. It keeps what it has worked out, so it must be
// thrown away when the environment changes. Not safe for concurrent use.
type Deriver struct {
	m     *Model
	env   *Env
	wrong []*Site
	memo  [MaxSlots][]Figure
	done  Set
	busy  Set
	round *[MaxSlots]float64
}

// DeriveRounded is Derive for a student who rounded the figures that were not
// written down: half[s] is half a unit of the place that quantity s may have
// been rounded to on the way, in the quantity's unit, 0 where it was not.
func (e *Env) DeriveRounded(half *[MaxSlots]float64, wrong ...*Site) *Deriver {
	return &Deriver{m: e.m, env: e, wrong: wrong, round: half}
}

// Derive returns a deriver over the environment; wrong replaces the formulas
// of quantities not stated.
func (e *Env) Derive(wrong ...*Site) *Deriver { return &Deriver{m: e.m, env: e, wrong: wrong} }

// Figures returns the figures the quantity may have: the stated one where it
// was stated, else one for each way that gives another figure.
func (d *Deriver) Figures(s int) []Figure {
	if d.env.has.Has(s) {
		f := Figure{Interval: d.env.stated[s]}
		f.From.Add(s)
		return []Figure{f}
	}
	return d.Derived(s)
}

// used are the figures of a quantity as later working may use it: where it was
// not written down, rounded on the way.
func (d *Deriver) used(s int) []Figure {
	fs := d.Figures(s)
	if d.round == nil || d.round[s] == 0 || d.env.has.Has(s) || d.m.Given.Has(s) {
		return fs
	}
	wide := make([]Figure, len(fs))
	for i, f := range fs {
		f.Lo -= d.round[s]
		f.Hi += d.round[s]
		wide[i] = f
	}
	return wide
}

// Derived is Figures as if the quantity had not been stated: what the
// student's other figures should have given.
func (d *Deriver) Derived(s int) []Figure {
	if d.done.Has(s) {
		return d.memo[s]
	}
	if d.busy.Has(s) {
		return nil
	}
	d.busy.Add(s)
	out := d.derive(s)
	d.busy.Drop(s)
	d.memo[s] = out
	d.done.Add(s)
	return out
}

func (d *Deriver) derive(s int) []Figure {
	if d.m.Given.Has(s) {
		return []Figure{{Interval: Point(d.m.Worlds[0][s])}}
	}
	for _, w := range d.wrong {
		if w.Slot == s {
			return d.combine(nil, w.Code, nil)
		}
	}
	var out []Figure
	for i := range d.m.Ways[s] {
		w := &d.m.Ways[s][i]
		// A further way adds a figure only where the student's own figures
		// stand on it; without any, all ways agree.
		if i > 0 && d.above(w).And(d.env.has).Empty() && len(d.wrong) == 0 {
			continue
		}
		if i > 0 && len(d.wrong) > 0 && d.above(w).And(d.env.has).Empty() {
			continue
		}
		out = d.combine(out, w.Code, w)
		if len(out) >= figuresPerSlot {
			break
		}
	}
	return out
}

func (d *Deriver) above(w *Way) Set {
	var s Set
	for _, x := range w.Code.Deps() {
		s.Add(x)
		s = s.Or(d.m.Above[x])
	}
	return s
}

// combine evaluates the code over every combination of what its slots may be.
func (d *Deriver) combine(out []Figure, c Code, w *Way) []Figure {
	deps := c.Deps()
	alts := make([][]Figure, len(deps))
	for i, x := range deps {
		alts[i] = d.used(x)
		if len(alts[i]) == 0 {
			return out
		}
	}
	var in [MaxSlots]Interval
	pick := make([]int, len(deps))
	for n := 0; n < figureCombos; n++ {
		f := Figure{Way: w}
		for i, x := range deps {
			in[x] = alts[i][pick[i]].Interval
			f.From = f.From.Or(alts[i][pick[i]].From)
		}
		f.Interval = c.Range(in[:len(d.m.Quantities)])
		if !f.IsVoid() {
			out = addFigure(out, f)
		}
		i := 0
		for ; i < len(pick); i++ {
			pick[i]++
			if pick[i] < len(alts[i]) {
				break
			}
			pick[i] = 0
		}
		if i == len(pick) || len(out) >= figuresPerSlot {
			break
		}
	}
	return out
}

func addFigure(out []Figure, f Figure) []Figure {
	for i := range out {
		o := &out[i]
		if near(o.Lo, f.Lo) && near(o.Hi, f.Hi) {
			// the same figure by two ways: the one that rests on more of the
			// student's own figures says more
			if f.From.Len() > o.From.Len() {
				o.From, o.Way = f.From, f.Way
			}
			return out
		}
	}
	return append(out, f)
}

func near(a, b float64) bool {
	return math.Abs(a-b) <= 1e-7*math.Max(math.Abs(a), math.Abs(b))+1e-12
}
