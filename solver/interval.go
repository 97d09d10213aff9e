package solver

import "math"

// Interval is a closed range of figures: what a written, rounded figure may
// stand for. Lo > Hi (or a NaN bound) means no figure at all.
type Interval struct{ Lo, Hi float64 }

// Point is the interval that holds just x.
func Point(x float64) Interval { return Interval{x, x} }

// Void is the interval that holds nothing.
func Void() Interval { return Interval{math.NaN(), math.NaN()} }

// IsVoid reports whether nothing lies in the interval.
func (a Interval) IsVoid() bool { return !(a.Lo <= a.Hi) }

// Holds reports whether x lies in the interval widened by slack on both sides.
func (a Interval) Holds(x, slack float64) bool { return x >= a.Lo-slack && x <= a.Hi+slack }

// Hull is the smallest interval around both.
func (a Interval) Hull(b Interval) Interval {
	if a.IsVoid() {
		return b
	}
	if b.IsVoid() {
		return a
	}
	return Interval{math.Min(a.Lo, b.Lo), math.Max(a.Hi, b.Hi)}
}

// Mid is the middle of the interval.
func (a Interval) Mid() float64 { return (a.Lo + a.Hi) / 2 }

// Width is Hi − Lo.
func (a Interval) Width() float64 { return a.Hi - a.Lo }

// Range evaluates the code over intervals: the result holds every figure that
// the code gives for figures from the slots' intervals (it may be wider, as
// interval arithmetic forgets where a slot stands twice; Moore, Interval
// Analysis, 1966). It is void where some choice has no result.
func (c *Code) Range(v []Interval) Interval {
	if c.deep <= usualStack {
		var st [usualStack]Interval
		return c.spread(v, st[:])
	}
	var st [maxStack]Interval
	return c.spread(v, st[:])
}

func (c *Code) spread(v []Interval, st []Interval) Interval {
	n := 0
	for i := range c.ins {
		in := &c.ins[i]
		switch in.op {
		case 'k':
			st[n] = Point(in.k)
			n++
		case 'v':
			st[n] = v[in.slot]
			n++
		case 'n':
			st[n-1] = Interval{-st[n-1].Hi, -st[n-1].Lo}
		case 'f':
			if in.fn >= 8 {
				n--
				a, b := st[n-1], st[n]
				if in.fn == 8 {
					st[n-1] = Interval{math.Min(a.Lo, b.Lo), math.Min(a.Hi, b.Hi)}
				} else {
					st[n-1] = Interval{math.Max(a.Lo, b.Lo), math.Max(a.Hi, b.Hi)}
				}
				continue
			}
			st[n-1] = range1(in.fn, st[n-1])
		default:
			n--
			st[n-1] = range2(in.op, st[n-1], st[n])
		}
		if n > 0 && st[n-1].IsVoid() {
			return Void()
		}
	}
	if n == 0 || math.IsInf(st[0].Lo, 0) || math.IsInf(st[0].Hi, 0) {
		return Void()
	}
	return st[0]
}

func range1(fn uint8, a Interval) Interval {
	switch fn {
	case 2, 7: // cos, abs: not monotone about zero
		lo, hi := apply1(fn, a.Lo), apply1(fn, a.Hi)
		if lo > hi {
			lo, hi = hi, lo
		}
		if a.Lo < 0 && a.Hi > 0 {
			if fn == 7 {
				lo = 0
			} else {
				hi = 1
			}
		}
		return Interval{lo, hi}
	case 5: // acos falls
		return Interval{apply1(fn, a.Hi), apply1(fn, a.Lo)}
	}
	return Interval{apply1(fn, a.Lo), apply1(fn, a.Hi)}
}

// Op works one operation out over intervals: + - * / ^. It is void where some
// choice has no result.
func (a Interval) Op(op byte, b Interval) Interval { return range2(op, a, b) }

func range2(op byte, a, b Interval) Interval {
	switch op {
	case '+':
		return Interval{a.Lo + b.Lo, a.Hi + b.Hi}
	case '-':
		return Interval{a.Lo - b.Hi, a.Hi - b.Lo}
	case '/':
		if b.Lo <= 0 && b.Hi >= 0 {
			return Void()
		}
		return span4(a.Lo/b.Lo, a.Lo/b.Hi, a.Hi/b.Lo, a.Hi/b.Hi)
	case '*':
		return span4(a.Lo*b.Lo, a.Lo*b.Hi, a.Hi*b.Lo, a.Hi*b.Hi)
	case '^':
		r := span4(Apply('^', a.Lo, b.Lo), Apply('^', a.Lo, b.Hi), Apply('^', a.Hi, b.Lo), Apply('^', a.Hi, b.Hi))
		if a.Lo < 0 && a.Hi > 0 && b.Lo == b.Hi && math.Mod(b.Lo, 2) == 0 {
			r.Lo = 0
		}
		return r
	}
	return Void()
}

func span4(a, b, c, d float64) Interval { return Interval{min(a, b, c, d), max(a, b, c, d)} }
