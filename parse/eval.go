package parse

import (
	"errors"
	"math"
)

// EvalError is why an expression has no value, with the place that fails.
type EvalError struct {
	At     Span
	Reason string
}

func (e *EvalError) Error() string { return e.Reason }

var errNoValue = errors.New("an expression without a value")

// Eval works e out. Angles are in degrees. value gives the figure of a name;
// it may be nil where e has none. The result is always a finite number: a
// division by zero, a root of a negative figure or an overflow is an error.
func Eval(e Expr, value func(*Name) (float64, bool)) (float64, error) {
	switch e := e.(type) {
	case *Num:
		return e.Value, nil
	case *Name:
		if value != nil {
			if v, ok := value(e); ok {
				return finite(v, e.At)
			}
		}
		return 0, &EvalError{e.At, "nothing is known of the value of " + e.Text}
	case *Neg:
		v, err := Eval(e.X, value)
		return -v, err
	case *Group:
		return Eval(e.X, value)
	case *Binary:
		x, err := Eval(e.X, value)
		if err != nil {
			return 0, err
		}
		y, err := Eval(e.Y, value)
		if err != nil {
			return 0, err
		}
		return binary(e, x, y)
	case *Call:
		return call(e, value)
	}
	return 0, errNoValue
}

func finite(v float64, at Span) (float64, error) {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return 0, &EvalError{at, "the result is no figure that can be written"}
	}
	return v, nil
}

func binary(e *Binary, x, y float64) (float64, error) {
	switch e.Op {
	case '+':
		return finite(x+y, e.At)
	case '-':
		return finite(x-y, e.At)
	case '*':
		return finite(x*y, e.At)
	case '/':
		if y == 0 {
			return 0, &EvalError{e.Y.Span(), "this divides by zero"}
		}
		return finite(x/y, e.At)
	case '^':
		return finite(power(x, y), e.At)
	}
	return 0, errNoValue
}

// power multiplies out small whole powers, as a calculator and Go's constants do.
func power(x, y float64) float64 {
	switch y {
	case 0:
		return 1
	case 1:
		return x
	case 2:
		return x * x
	case 3:
		return x * x * x
	case 4:
		return x * x * x * x
	}
	return math.Pow(x, y)
}

func call(e *Call, value func(*Name) (float64, bool)) (float64, error) {
	if len(e.Args) == 0 {
		return 0, errNoValue
	}
	v, err := Eval(e.Args[0], value)
	if err != nil {
		return 0, err
	}
	const rad = math.Pi / 180
	switch e.Func {
	case "sqrt":
		if v < 0 {
			return 0, &EvalError{e.At, "a negative figure has no square root"}
		}
		v = math.Sqrt(v)
	case "sin":
		v = math.Sin(v * rad)
	case "cos":
		v = math.Cos(v * rad)
	case "tan":
		if math.Mod(math.Abs(v), 180) == 90 {
			return 0, &EvalError{e.At, "a right angle has no tangent"}
		}
		v = math.Tan(v * rad)
	case "asin", "acos":
		if v < -1 || v > 1 {
			return 0, &EvalError{e.At, "no angle has a sine or cosine over 1"}
		}
		if e.Func == "asin" {
			v = math.Asin(v) / rad
		} else {
			v = math.Acos(v) / rad
		}
	case "atan":
		v = math.Atan(v) / rad
	case "abs":
		v = math.Abs(v)
	case "min", "max":
		for _, a := range e.Args[1:] {
			w, err := Eval(a, value)
			if err != nil {
				return 0, err
			}
			if e.Func == "min" {
				v = min(v, w)
			} else {
				v = max(v, w)
			}
		}
	default:
		return 0, errNoValue
	}
	return finite(v, e.At)
}

// Walk calls visit on e and everything in it, outermost and leftmost first.
// Where visit returns false, what lies inside is passed over.
func Walk(e Expr, visit func(Expr) bool) {
	if e == nil || !visit(e) {
		return
	}
	switch e := e.(type) {
	case *Neg:
		Walk(e.X, visit)
	case *Group:
		Walk(e.X, visit)
	case *Binary:
		Walk(e.X, visit)
		Walk(e.Y, visit)
	case *Call:
		for _, a := range e.Args {
			Walk(a, visit)
		}
	}
}

// Names returns the names in e from left to right, repeats included.
func Names(e Expr) []*Name {
	var out []*Name
	Walk(e, func(e Expr) bool {
		if n, ok := e.(*Name); ok {
			out = append(out, n)
		}
		return true
	})
	return out
}

// Nums returns the written numbers in e from left to right.
func Nums(e Expr) []*Num {
	var out []*Num
	Walk(e, func(e Expr) bool {
		if n, ok := e.(*Num); ok {
			out = append(out, n)
		}
		return true
	})
	return out
}

// Map rebuilds e with every leaf replaced by what leaf gives for it. Parts in
// which nothing changes are shared with e, never altered.
func Map(e Expr, leaf func(Expr) Expr) Expr {
	switch x := e.(type) {
	case *Num, *Name:
		return leaf(e)
	case *Neg:
		if y := Map(x.X, leaf); y != x.X {
			return &Neg{y, x.At}
		}
	case *Group:
		if y := Map(x.X, leaf); y != x.X {
			return &Group{y, x.At}
		}
	case *Binary:
		l, r := Map(x.X, leaf), Map(x.Y, leaf)
		if l != x.X || r != x.Y {
			return &Binary{x.Op, l, r, x.Implied, x.At}
		}
	case *Call:
		args := make([]Expr, len(x.Args))
		same := true
		for i, a := range x.Args {
			args[i] = Map(a, leaf)
			same = same && args[i] == a
		}
		if !same {
			return &Call{x.Func, args, x.At}
		}
	}
	return e
}
