package solver

import (
	"errors"
	"fmt"
	"math"
	"slices"

	"batten/parse"
)

// Code is an expression compiled for repeated evaluation over numbered slots.
// The zero Code is empty and evaluates to NaN. A Code is immutable.
type Code struct {
	ins  []ins
	deps []int // slots read, each once, in order of first use
	deep int   // stack depth needed
}

type ins struct {
	op   byte // 'k' constant, 'v' slot, 'n' negate, + - * / ^, 'f' function
	fn   uint8
	slot int32
	k    float64
}

const (
	maxStack   = 48
	usualStack = 8
)

var errDeep = errors.New("the expression is nested too deeply")

var functions = []string{"sqrt", "sin", "cos", "tan", "asin", "acos", "atan", "abs", "min", "max"}

func functionIndex(name string) int {
	for i, f := range functions {
		if f == name {
			return i
		}
	}
	return -1
}

// Compile turns an expression into code. bind gives the slot of a leaf (a
// name, or a number that stands for a quantity) and whether it has one; a
// number without a slot is a constant, a name without one an error.
func Compile(e parse.Expr, bind func(leaf parse.Expr) (slot int, ok bool)) (Code, error) {
	var c Code
	depth := 0
	push := func() error {
		depth++
		if depth > c.deep {
			c.deep = depth
		}
		if depth > maxStack {
			return errDeep
		}
		return nil
	}
	reads := func(s int) {
		if !slices.Contains(c.deps, s) {
			c.deps = append(c.deps, s)
		}
		c.ins = append(c.ins, ins{op: 'v', slot: int32(s)})
	}
	var emit func(e parse.Expr) error
	emit = func(e parse.Expr) error {
		switch e := e.(type) {
		case *parse.Num:
			if s, ok := bind(e); ok {
				reads(s)
			} else {
				c.ins = append(c.ins, ins{op: 'k', k: e.Value})
			}
			return push()
		case *parse.Name:
			s, ok := bind(e)
			if !ok {
				return fmt.Errorf("%q names nothing here", e.Text)
			}
			reads(s)
			return push()
		case *parse.Group:
			return emit(e.X)
		case *parse.Neg:
			if err := emit(e.X); err != nil {
				return err
			}
			c.ins = append(c.ins, ins{op: 'n'})
			return nil
		case *parse.Binary:
			if err := emit(e.X); err != nil {
				return err
			}
			if err := emit(e.Y); err != nil {
				return err
			}
			c.ins = append(c.ins, ins{op: byte(e.Op)})
			depth--
			return nil
		case *parse.Call:
			f := functionIndex(e.Func)
			if f < 0 {
				return fmt.Errorf("%q is not a function known here", e.Func)
			}
			two := e.Func == "min" || e.Func == "max"
			if two && len(e.Args) < 2 || !two && len(e.Args) != 1 {
				return fmt.Errorf("%s has the wrong number of figures", e.Func)
			}
			for i, a := range e.Args {
				if err := emit(a); err != nil {
					return err
				}
				if i > 0 {
					c.ins = append(c.ins, ins{op: 'f', fn: uint8(f)})
					depth--
				}
			}
			if !two {
				c.ins = append(c.ins, ins{op: 'f', fn: uint8(f)})
			}
			return nil
		}
		return fmt.Errorf("not an expression: %T", e)
	}
	if e == nil {
		return c, errors.New("no expression")
	}
	if err := emit(e); err != nil {
		return Code{}, err
	}
	return c, nil
}

// Deps returns the slots the code reads. The slice must not be changed.
func (c Code) Deps() []int { return c.deps }

// Empty reports whether there is nothing to evaluate.
func (c Code) Empty() bool { return len(c.ins) == 0 }

// Eval evaluates the code over the slots' figures; the result is NaN where the
// arithmetic has none (division by zero, the root of a negative number).
func (c *Code) Eval(v []float64) float64 {
	// most formulas need little room, and clearing it costs as much as the sum
	if c.deep <= usualStack {
		var st [usualStack]float64
		return c.eval(v, st[:])
	}
	var st [maxStack]float64
	return c.eval(v, st[:])
}

func (c *Code) eval(v []float64, st []float64) float64 {
	n := 0
	for i := range c.ins {
		in := &c.ins[i]
		switch in.op {
		case 'k':
			st[n] = in.k
			n++
		case 'v':
			st[n] = v[in.slot]
			n++
		case 'n':
			st[n-1] = -st[n-1]
		case 'f':
			if in.fn >= 8 {
				n--
				st[n-1] = apply2(in.fn, st[n-1], st[n])
				continue
			}
			st[n-1] = apply1(in.fn, st[n-1])
		case '+':
			n--
			st[n-1] += st[n]
		case '-':
			n--
			st[n-1] -= st[n]
		case '*':
			n--
			st[n-1] *= st[n]
		default:
			n--
			st[n-1] = Apply(in.op, st[n-1], st[n])
		}
	}
	if n == 0 || math.IsInf(st[0], 0) {
		return math.NaN()
	}
	return st[0]
}

// EvalEach evaluates the code for each of the figures xs of one slot, the other
// slots having those in v, and puts what they come to into out, which has room
// for as many. Each is what Eval would give, at less cost: what does not hang on
// the slot is worked out once. The slot's own figure in v may be overwritten.
func (c *Code) EvalEach(v []float64, slot int, xs, out []float64) {
	if c.deep <= usualStack {
		var st [usualStack]float64
		c.evalEach(v, slot, xs, out, st[:])
		return
	}
	var st [maxStack]float64
	c.evalEach(v, slot, xs, out, st[:])
}

func (c *Code) evalEach(v []float64, slot int, xs, out, st []float64) {
	n, at := 0, -1 // where on the stack the figures stand that hang on the slot: in out
	out = out[:len(xs)]
	for i := range c.ins {
		in := &c.ins[i]
		switch in.op {
		case 'k':
			st[n] = in.k
			n++
		case 'v':
			if int(in.slot) == slot {
				if at >= 0 { // it stands there twice
					for j, x := range xs {
						v[slot] = x
						out[j] = c.Eval(v)
					}
					return
				}
				copy(out, xs)
				at = n
			} else {
				st[n] = v[in.slot]
			}
			n++
		case 'n':
			if at == n-1 {
				for j := range out {
					out[j] = -out[j]
				}
			} else {
				st[n-1] = -st[n-1]
			}
		case 'f':
			two := in.fn >= 8
			if two {
				n--
			}
			switch {
			case at == n && two:
				for j := range out {
					out[j] = apply2(in.fn, st[n-1], out[j])
				}
				at = n - 1
			case at == n-1 && two:
				for j := range out {
					out[j] = apply2(in.fn, out[j], st[n])
				}
			case at == n-1:
				for j := range out {
					out[j] = apply1(in.fn, out[j])
				}
			case two:
				st[n-1] = apply2(in.fn, st[n-1], st[n])
			default:
				st[n-1] = apply1(in.fn, st[n-1])
			}
		default:
			n--
			switch at {
			case n:
				applyRight(in.op, st[n-1], out)
				at = n - 1
			case n - 1:
				applyLeft(in.op, out, st[n])
			default:
				st[n-1] = Apply(in.op, st[n-1], st[n])
			}
		}
	}
	for j := range out {
		if at < 0 && n > 0 {
			out[j] = st[0]
		}
		if n == 0 || math.IsInf(out[j], 0) {
			out[j] = math.NaN()
		}
	}
}

// applyLeft works one operation out for each left operand.
func applyLeft(op byte, xs []float64, y float64) {
	switch op {
	case '+':
		for j := range xs {
			xs[j] += y
		}
	case '-':
		for j := range xs {
			xs[j] -= y
		}
	case '*':
		for j := range xs {
			xs[j] *= y
		}
	default:
		for j := range xs {
			xs[j] = Apply(op, xs[j], y)
		}
	}
}

// applyRight works one operation out for each right operand.
func applyRight(op byte, x float64, ys []float64) {
	switch op {
	case '+':
		for j := range ys {
			ys[j] = x + ys[j]
		}
	case '-':
		for j := range ys {
			ys[j] = x - ys[j]
		}
	case '*':
		for j := range ys {
			ys[j] = x * ys[j]
		}
	default:
		for j := range ys {
			ys[j] = Apply(op, x, ys[j])
		}
	}
}

func apply2(fn uint8, x, y float64) float64 {
	if fn == 8 {
		return math.Min(x, y)
	}
	return math.Max(x, y)
}

func apply1(fn uint8, x float64) float64 {
	const deg = math.Pi / 180
	switch fn {
	case 0:
		return math.Sqrt(x)
	case 1:
		return math.Sin(x * deg)
	case 2:
		return math.Cos(x * deg)
	case 3:
		return math.Tan(x * deg)
	case 4:
		return math.Asin(x) / deg
	case 5:
		return math.Acos(x) / deg
	case 6:
		return math.Atan(x) / deg
	case 7:
		return math.Abs(x)
	}
	return math.NaN()
}

// Apply works one operation out: + - * / ^. It is NaN where there is no result.
func Apply(op byte, x, y float64) float64 {
	switch op {
	case '+':
		return x + y
	case '-':
		return x - y
	case '*':
		return x * y
	case '/':
		if y == 0 {
			return math.NaN()
		}
		return x / y
	case '^':
		switch y {
		case 2:
			return x * x
		case 3:
			return x * x * x
		}
		return math.Pow(x, y)
	}
	return math.NaN()
}
