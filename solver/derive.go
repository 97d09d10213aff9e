package solver

import "math"

// Figure is a figure as somebody may have it: a range (what was written, or
// what the calculator kept), and what it rests on.
type Figure struct {
	Interval
	Way  *Way // how it was derived, nil when stated or given
	From Set  // the stated slots it rests on, itself included when stated
	// Spoilt: it is what an earlier fault gives, made again where it was not written.
	Spoilt bool
}

// Env is what a student has stated so far. What follows from it is worked out
// once and kept with it, so an Env is not safe for concurrent use.
type Env struct {
	m      *Model
	room   *Room
	stated []Interval
	has    Set
	right  *Deriver // what follows where no formula is spoilt; nil until asked for
}

// NewEnv returns an environment in which only the question's givens are known.
func (m *Model) NewEnv() *Env { return m.NewEnvIn(&Room{}) }

// NewEnvIn is NewEnv in the room given; copies of the environment lie there
// too. It must not be used after the room is reset.
func (m *Model) NewEnvIn(r *Room) *Env {
	e := r.envs.One()
	*e = Env{m: m, room: r, stated: r.stated.Take(len(m.Quantities))}
	clear(e.stated)
	return e
}

// Clone returns a copy that can go its own way.
func (e *Env) Clone() *Env {
	c := e.m.NewEnvIn(e.room)
	c.has = e.has
	copy(c.stated, e.stated)
	if e.right != nil {
		c.right = e.right.clone(c)
	}
	return c
}

// State records a stated figure. A later one replaces an earlier.
func (e *Env) State(slot int, r Interval) {
	e.stated[slot] = r
	e.has.Add(slot)
	e.changed(slot)
}

// Forget takes a stated figure back.
func (e *Env) Forget(slot int) {
	e.has.Drop(slot)
	e.changed(slot)
}

// changed drops what was worked out with the slot's figure, and that alone.
func (e *Env) changed(slot int) {
	if e.right != nil {
		e.right.done = e.right.done.AndNot(e.m.Below[slot])
	}
}

// Has is the set of slots stated so far.
func (e *Env) Has() Set { return e.has }

// Stated returns the stated figure of the slot.
func (e *Env) Stated(slot int) (Interval, bool) { return e.stated[slot], e.has.Has(slot) }

// Unlike is the slots of which something else is stated in the other.
func (e *Env) Unlike(o *Env) Set {
	out := e.has.Xor(o.has)
	e.has.And(o.has).Each(func(s int) {
		if e.stated[s] != o.stated[s] {
			out.Add(s)
		}
	})
	return out
}

const (
	figuresPerSlot = 4 // different figures kept for one quantity
	figureCombos   = 8 // combinations tried for one way
	usualDeps      = 8 // quantities that most formulas read at the most
)

// Deriver works out, in one environment and under given faults, what figures
// a quantity may rightly have. It keeps what it has worked out, so it must be
// thrown away when the environment changes. Not safe for concurrent use.
type Deriver struct {
	m      *Model
	env    *Env
	wrong  []*Site
	right  *Deriver // for quantities that the faults don't touch, nil where there is none
	touch  Set      // the quantities they do touch
	memo   [][]Figure
	done   Set
	busy   Set
	in     []Interval         // room for the figures of one formula
	own    bool               // its figures lie in room, not in that of the environment
	room   []Figure           // room for figures to be kept in
	round  *[MaxSlots]float64 // set for figures rounded on the way: half a unit of the place of each
	within bool               // to anything that rounds so
}

// Derive returns a deriver over the environment; wrong replaces the formulas
// of quantities not stated. Without any it is the environment's own, which
// goes with the environment's changes.
func (e *Env) Derive(wrong ...*Site) *Deriver {
	if len(wrong) == 0 {
		if e.right == nil {
			e.right = e.room.derivers.One()
			n := len(e.m.Quantities)
			*e.right = Deriver{m: e.m, env: e, memo: e.room.memos.Take(n), in: e.room.stated.Take(n)}
		}
		return e.right
	}
	d := newDeriver(e)
	d.under(wrong)
	return d
}

// DeriveAgain is Derive in the room of an earlier deriver, whose figures are
// overwritten. The earlier one may be nil.
func (e *Env) DeriveAgain(d *Deriver, wrong ...*Site) *Deriver {
	if d == nil || d.m != e.m || d == e.right {
		d = newDeriver(e)
	}
	d.env, d.done, d.busy, d.room = e, Set{}, Set{}, d.room[:0]
	d.under(wrong)
	return d
}

// DeriveWithin is DeriveRounded for figures that may have been anything that
// rounds so: what was wrong already need not have been rounded well.
func (e *Env) DeriveWithin(d *Deriver, half *[MaxSlots]float64, wrong ...*Site) *Deriver {
	d = e.DeriveRounded(d, half, wrong...)
	d.within = true
	return d
}

// DeriveRounded derives for a student who rounded the figures that were not
// written down: half[s] is half a unit of the place that quantity s may have
// been rounded to on the way, in the quantity's unit, 0 where it was not;
// wrong replaces the formulas of quantities not stated. It uses the room of an earlier deriver, which may be nil.
func (e *Env) DeriveRounded(d *Deriver, half *[MaxSlots]float64, wrong ...*Site) *Deriver {
	if d == nil || d.m != e.m || d == e.right {
		d = newDeriver(e)
	}
	d.env, d.done, d.busy, d.room = e, Set{}, Set{}, d.room[:0]
	d.wrong, d.right, d.round, d.within = wrong, nil, half, false
	return d
}

func newDeriver(e *Env) *Deriver {
	n := len(e.m.Quantities)
	return &Deriver{m: e.m, env: e, memo: make([][]Figure, n), in: make([]Interval, n), own: true}
}

func (d *Deriver) under(wrong []*Site) {
	d.wrong, d.right, d.touch, d.round = wrong, d.env.Derive(), Set{}, nil
	for _, w := range wrong {
		d.touch.Add(w.Slot)
		d.touch = d.touch.Or(d.m.Below[w.Slot])
	}
}

// clone is a copy of a deriver under no faults for a copy of its environment.
func (d *Deriver) clone(e *Env) *Deriver {
	c := e.room.derivers.One()
	*c = Deriver{m: d.m, env: e, memo: e.room.memos.Take(len(d.memo)), in: d.in, done: d.done}
	copy(c.memo, d.memo)
	return c
}

// First is the stated figure of the quantity where it was stated, else the
// first of those derived; it is void where there is none.
func (d *Deriver) First(s int) Interval {
	if d.env.has.Has(s) {
		return d.env.stated[s]
	}
	if f := d.Derived(s); len(f) > 0 {
		return f[0].Interval
	}
	return Void()
}

// keep puts figures into the deriver's room.
func (d *Deriver) keep(fs ...Figure) []Figure {
	if len(fs) == 0 {
		return nil
	}
	if !d.own {
		out := d.env.room.figures.Take(len(fs))
		copy(out, fs)
		return out
	}
	if len(d.room)+len(fs) > cap(d.room) {
		d.room = make([]Figure, 0, 64+len(fs))
	}
	n := len(d.room)
	d.room = append(d.room, fs...)
	return d.room[n:len(d.room):len(d.room)]
}

// Derived returns the figures that the quantity may have, one for each way that
// gives another, whether or not it was stated: what the student's other figures
// should have given. The slice must not be changed.
func (d *Deriver) Derived(s int) []Figure {
	if d.right != nil && !d.touch.Has(s) {
		return d.right.Derived(s)
	}
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
		return d.keep(Figure{Interval: Point(d.m.Worlds[0][s])})
	}
	var out few
	for _, w := range d.wrong {
		if w.Slot == s {
			d.combine(&out, &w.Code, nil)
			return d.keep(out.f[:out.n]...)
		}
	}
	for i := range d.m.Ways[s] {
		w := &d.m.Ways[s][i]
		// A further way adds a figure only where the student's own figures
		// stand on it; without any, all ways agree.
		if i > 0 && (w.above.And(d.env.has).Empty() || d.round != nil && !d.near(w)) {
			continue
		}
		d.combine(&out, &w.Code, w)
		if out.n >= figuresPerSlot {
			break
		}
	}
	return d.keep(out.f[:out.n]...)
}

// near reports whether the student's own figures stand in the way, and what is
// left of it is one step from them at the most. Any further, and roundings would
// let nearly anything pass.
func (d *Deriver) near(w *Way) bool {
	own, missing := false, -1
	for _, x := range w.Code.Deps() {
		switch {
		case d.env.has.Has(x):
			own = true
		case d.m.Given.Has(x):
		case missing >= 0:
			return false
		default:
			missing = x
		}
	}
	if !own || missing < 0 {
		return own
	}
	known := d.env.has.Or(d.m.Given)
	for i := range d.m.Ways[missing] {
		all := true
		for _, x := range d.m.Ways[missing][i].Code.Deps() {
			all = all && known.Has(x)
		}
		if all {
			return true
		}
	}
	return false
}

// few holds the figures of one quantity while they are worked out.
type few struct {
	n int
	f [figuresPerSlot]Figure
}

// combine evaluates the code over every combination of what its slots may be.
func (d *Deriver) combine(out *few, c *Code, w *Way) {
	deps := c.Deps()
	var usualAlts [usualDeps][]Figure
	var usualPick [usualDeps]int
	alts, pick := usualAlts[:], usualPick[:]
	if len(deps) > usualDeps {
		alts, pick = make([][]Figure, len(deps)), make([]int, len(deps))
	}
	pick = pick[:len(deps)]
	for i, x := range deps {
		if d.env.has.Has(x) {
			continue // one figure: the stated one
		}
		alts[i] = d.Derived(x)
		if len(alts[i]) == 0 {
			return
		}
	}
	for n := 0; n < figureCombos; n++ {
		f := Figure{Way: w}
		for i, x := range deps {
			if alts[i] == nil {
				d.in[x] = d.env.stated[x]
				f.From.Add(x)
				continue
			}
			a := &alts[i][pick[i]]
			d.in[x] = a.Interval
			if d.round != nil && !d.m.Given.Has(x) {
				if h := d.round[x]; d.within {
					d.in[x] = Interval{a.Lo - h, a.Hi + h}
				} else {
					d.in[x] = withRounded(a.Interval, 2*h)
				}
			}
			f.From = f.From.Or(a.From)
		}
		f.Interval = c.Range(d.in)
		if !f.IsVoid() && !(d.round != nil && out.overlaps(&f)) {
			out.add(&f)
		}
		i := 0
		for ; i < len(pick); i++ {
			pick[i]++
			if pick[i] < len(alts[i]) {
				break
			}
			pick[i] = 0
		}
		if i == len(pick) || out.n >= figuresPerSlot {
			break
		}
	}
}

// atHalf is the share of a unit within which a figure lies halfway, and may be
// rounded up or down.
const atHalf = 1e-3

// withRounded is a range with what its figures are when rounded to the unit, or to
// one place more.
func withRounded(iv Interval, unit float64) Interval {
	if unit <= 0 {
		return iv
	}
	out := iv
	for _, u := range [...]float64{unit, unit / 10} {
		out.Lo = math.Min(out.Lo, math.Round(iv.Lo/u-atHalf)*u)
		out.Hi = math.Max(out.Hi, math.Round(iv.Hi/u+atHalf)*u)
	}
	return out
}

// overlaps reports whether a figure lies upon another by the same way: where
// figures were rounded on the way one of them will do, and leaves room for the
// other ways.
func (out *few) overlaps(f *Figure) bool {
	for i := range out.f[:out.n] {
		if o := &out.f[i]; o.Way == f.Way && o.Lo <= f.Hi && f.Lo <= o.Hi {
			return true
		}
	}
	return false
}

func (out *few) add(f *Figure) {
	for i := range out.f[:out.n] {
		o := &out.f[i]
		if closeTo(o.Lo, f.Lo) && closeTo(o.Hi, f.Hi) {
			// the same figure by two ways: the one that rests on more of the
			// student's own figures says more
			if f.From.Len() > o.From.Len() {
				o.From, o.Way = f.From, f.Way
			}
			return
		}
	}
	out.f[out.n] = *f
	out.n++
}

func closeTo(a, b float64) bool {
	return math.Abs(a-b) <= 1e-7*math.Max(math.Abs(a), math.Abs(b))+1e-12
}
