package diagnose

import (
	"cmp"
	"math"
	"slices"

	"batten/parse"
	"batten/solver"
)

// complements adds what is left of a known ratio: 0.4 where 0.6 is known. A
// ratio needs but one digit to be told.
func (m *run) complements(t *valueTable, n float64, l *leaf, target int, out []known) []known {
	for _, i := range t.base {
		k := t.all[i]
		if k.slot < 0 || !m.ratio[k.slot] || m.below(k, target) || math.Abs(1-k.iv.Mid()-n) > 0.505*l.ulp {
			continue
		}
		var v vec
		for w := range v {
			v[w] = 1 - k.vec[w]
		}
		out = append(out, known{iv: solver.Point(1 - k.iv.Mid()), vec: v, slot: -1, scale: 1, cost: costForm + k.cost, tainted: k.tainted, held: k.held})
	}
	return out
}

// forms adds what a figure may be where it was worked in the head from one or
// two known ones: a square, a half, a product, a difference.
func (m *run) forms(t *valueTable, f *findings, n float64, l *leaf, target int, out []known) []known {
	tol := 0.505*l.ulp + 1e-9*math.Abs(n)
	add := func(v vec, iv float64, held solver.Set, cost float64, tainted bool) {
		if m.otherThanGiven(v, iv) {
			return
		}
		out = append(out, known{iv: solver.Point(iv), vec: v, slot: -1, scale: 1, cost: cost, tainted: tainted, held: held})
	}
	start := len(out)
	for _, i := range t.base {
		k := t.all[i]
		if m.below(k, target) {
			continue
		}
		x := k.iv.Mid()
		one := func(y float64, f func(float64) float64, cost float64) {
			if math.Abs(y-n) <= tol {
				var v vec
				for w := range v {
					v[w] = f(k.vec[w])
				}
				add(v, y, k.held, costForm+cost+k.cost, k.tainted)
			}
		}
		if k.slot >= 0 && m.ratio[k.slot] {
			one(1-x, func(a float64) float64 { return 1 - a }, 0)
			one(100*x, func(a float64) float64 { return 100 * a }, 0.2)
		}
		one(x*x, func(a float64) float64 { return a * a }, 0)
		one(x*x*x, func(a float64) float64 { return a * a * a }, 0)
		one(x/2, func(a float64) float64 { return a / 2 }, 0)
		one(2*x, func(a float64) float64 { return 2 * a }, 0.1)
		one(12*x, func(a float64) float64 { return 12 * a }, 0.1)
		one(x*x*x/12, func(a float64) float64 { return a * a * a / 12 }, 0.1)
		one(x*x/12, func(a float64) float64 { return a * a / 12 }, 0.2)
		one(x/12, func(a float64) float64 { return a / 12 }, 0.2)
		one(1/x, func(a float64) float64 { return 1 / a }, 0.2)
		one(x/100, func(a float64) float64 { return a / 100 }, 0.2)
		one(100*x, func(a float64) float64 { return 100 * a }, 0.3)
	}
	if l.sig < 3 && len(out) > start || m.left <= 0 {
		return out
	}
	if !f.paired {
		m.budget(len(t.base))
		f.paired = true
		t.pairs(f, n, tol)
	}
	for _, x := range f.pairs {
		p, q := t.all[x.p], t.all[x.q]
		if m.below(p, target) || m.below(q, target) || len(out) >= start+14 {
			continue
		}
		way := &twoKnown[x.way]
		var v vec
		for w := range v {
			v[w] = way.f(p.vec[w], q.vec[w])
		}
		add(v, way.f(p.iv.Mid(), q.iv.Mid()), p.held.Or(q.held), costForm+0.3+way.cost+p.cost+q.cost, p.tainted || q.tainted)
	}
	return out
}

// twoKnown are the ways of working a figure in the head from two known ones.
var twoKnown = [...]struct {
	f    func(a, b float64) float64
	cost float64
}{
	{func(a, b float64) float64 { return a * b }, 0},
	{func(a, b float64) float64 { return a - b }, 0},
	{func(a, b float64) float64 { return b - a }, 0},
	{func(a, b float64) float64 { return a + b }, 0},
	{func(a, b float64) float64 { return a / b }, 0.2},
	{func(a, b float64) float64 { return b / a }, 0.2},
	{func(a, b float64) float64 { return (a + b) / 2 }, 0.3},
	{func(a, b float64) float64 { return (a - b) / 2 }, 0.3},
	{func(a, b float64) float64 { return (b - a) / 2 }, 0.3},
	{func(a, b float64) float64 { return a * b * b * b }, 0.3},
	{func(a, b float64) float64 { return b * a * a * a }, 0.3},
}

// pair is a way in which two figures of a table give a number.
type pair struct {
	p, q int32
	way  int
}

// pairs finds the pairs of known figures that give the number. There are many
// pairs, so for each figure those are looked up that may give it with this one.
func (t *valueTable) pairs(f *findings, n, tol float64) {
	t.sortBase()
	w := tol + 1e-9*math.Abs(n)
	for a, i := range t.base {
		x := t.span[i].Mid()
		t.mates = t.mates[:0]
		if x == 0 || math.Abs(n) <= w {
			for b := a + 1; b < len(t.base); b++ {
				t.mates = append(t.mates, int32(b))
			}
		} else {
			t.between(a, (n-w)/x, (n+w)/x) // x y
			t.between(a, x-n-w, x-n+w)     // x - y
			t.between(a, x+n-w, x+n+w)     // y - x
			t.between(a, n-x-w, n-x+w)     // x + y
			t.between(a, x/(n-w), x/(n+w)) // x/y
			t.between(a, (n-w)*x, (n+w)*x) // y/x
			t.between(a, 2*(n-w)-x, 2*(n+w)-x)
			t.between(a, x-2*(n+w), x-2*(n-w))
			t.between(a, x+2*(n-w), x+2*(n+w))
			t.between(a, math.Cbrt((n-w)/x), math.Cbrt((n+w)/x)) // x y³
			t.between(a, (n-w)/(x*x*x), (n+w)/(x*x*x))           // y x³
			slices.Sort(t.mates)
			t.mates = slices.Compact(t.mates)
		}
		for _, b := range t.mates {
			j := t.base[b]
			y := t.span[j].Mid()
			for way := range twoKnown {
				if math.Abs(twoKnown[way].f(x, y)-n) <= tol {
					f.pairs = append(f.pairs, pair{i, j, way})
				}
			}
		}
	}
}

// sortBase puts the figures that forms are built from in rising order, once for
// a table.
func (t *valueTable) sortBase() {
	if len(t.rising) == len(t.base) {
		return
	}
	t.rising = t.rising[:0]
	for b, i := range t.base {
		t.rising = append(t.rising, risen{t.span[i].Mid(), int32(b)})
	}
	slices.SortFunc(t.rising, func(a, b risen) int { return cmp.Compare(a.x, b.x) })
}

// risen is a figure that forms are built from, and which of them it is.
type risen struct {
	x  float64
	at int32
}

// between adds to the mates of the a-th figure those behind it that lie between
// the two ends, or so near that rounding may put them there.
func (t *valueTable) between(a int, lo, hi float64) {
	if lo > hi {
		lo, hi = hi, lo
	}
	lo -= 1e-12 * math.Abs(lo)
	hi += 1e-12 * math.Abs(hi)
	from, to := 0, len(t.rising)
	for from < to {
		if mid := int(uint(from+to) / 2); t.rising[mid].x < lo {
			from = mid + 1
		} else {
			to = mid
		}
	}
	for ; from < len(t.rising) && t.rising[from].x <= hi; from++ {
		if r := &t.rising[from]; int(r.at) > a {
			t.mates = append(t.mates, r.at)
		}
	}
}

// otherThanGiven reports whether a figure worked in the head amounts to one that
// the question gives, but has another value: nobody works it so.
func (m *run) otherThanGiven(v vec, x float64) bool {
	other := false
	m.rightSlots(v[0], func(s int) {
		if m.model.Given.Has(s) && same(v, m.right[s]) && !solver.Close(x, m.reference(s)) {
			other = true
		}
	})
	return other
}

// slips adds known figures that the number would be with one digit wrong or
// two changed round.
func (m *run) slips(t *valueTable, f *findings, l *leaf, target int, out []known) []known {
	if l.sig < 2 {
		return out
	}
	if !f.sought {
		f.sought = true
		t.copies(f, l)
	}
	for _, x := range f.copies {
		k := t.all[x.of]
		if m.below(k, target) {
			continue
		}
		c := *k
		c.slip = true
		c.right = x.right
		c.cost += x.cost
		out = append(out, c)
	}
	return out
}

// copies finds the figures of the table that the number may be a wrong copy of.
func (t *valueTable) copies(f *findings, l *leaf) {
	n := copyOf(l.num)
	for _, c := range t.copied {
		k := t.all[c.of]
		right := t.span[c.of].Mid()
		cost := n.slipTo(right, int(c.places))
		if cost < 0 && k.stated && k.iv.Width() > 0 {
			// what was written is one end of what it may stand for
			if right = k.iv.Lo; n.slipTo(right, placesOf(right)) < 0 {
				right = k.iv.Hi
			}
			cost = n.slipTo(right, placesOf(right))
		}
		if cost >= 0 {
			f.copies = append(f.copies, wrongCopy{c.of, cost, right})
		}
	}
}

// copied is a number of which it is asked what it may be a wrong copy of.
type copied struct {
	num    *parse.Num
	digits float64 // its digits as one whole number, NaN where there are too many
}

func copyOf(n *parse.Num) copied {
	c := copied{n, 0}
	for _, d := range []byte(n.Text) {
		if d >= '0' && d <= '9' {
			c.digits = 10*c.digits + float64(d-'0')
		}
	}
	if c.digits >= mostDigits {
		c.digits = math.NaN()
	}
	return c
}

// slipTo is what it costs to believe that the number is x copied wrongly, -1
// where it can't be; places is how many x needs.
func (c *copied) slipTo(x float64, places int) float64 {
	n := c.num
	if mayBeSlip(c.digits, x, n.Places) {
		if cost, ok := digitSlip(n.Text, n.Value, x, n.Places); ok {
			return cost
		}
	}
	if places >= 0 && places != n.Places && mayBeSlip(c.digits, x, places) {
		if cost, ok := digitSlip(n.Text, n.Value, x, places); ok {
			return cost
		}
	}
	return -1
}
