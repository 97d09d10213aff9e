package diagnose

import (
	"math"

	"batten/parse"
)

// solveAll turns the equations of a script into what they state of their unknown.
func (m *run) solveAll(steps []prepared) {
	for i := range steps {
		steps[i].solve(func(x float64) bool {
			for s := range m.model.Quantities {
				if m.model.Given.Has(s) && math.Abs(m.reference(s)-x) <= 1e-3*math.Abs(x) {
					return true
				}
			}
			for j := range steps[:i] {
				if w := steps[j].result; w != nil && math.Abs(w.value-x) <= math.Max(w.ulp, 1e-3*math.Abs(x)) {
					return true
				}
			}
			return false
		})
	}
}

// solve turns an equation in one unknown into what it states of that: "1700x -
// 1052 = 8840" says that x is (8840 + 1052)/1700. A name that would come to a
// figure known by then is no unknown: there the figure is put in for it.
func (p *prepared) solve(known func(x float64) bool) {
	if p.step.Table > 0 || len(p.sides) < 2 {
		return
	}
	unknown := ""
	var with, free []int
	for k := range p.sides {
		name, n := unknownIn(p.sides[k].expr)
		switch {
		case n == 0:
			free = append(free, k)
		case n == 1 && p.sides[k].figures && (unknown == "" || unknown == name):
			unknown = name
			with = append(with, k)
		default:
			return
		}
	}
	if len(with) == 0 || len(free) == 0 || p.label != "" && p.label != unknown {
		return
	}
	var out []side
	for _, k := range with {
		other := free[0]
		for _, f := range free {
			if f > k {
				other = f
				break
			}
		}
		e := isolated(p.sides[k].expr, p.sides[other].expr)
		if e == nil {
			return
		}
		s := prepareSide(&parse.Side{Expr: e, At: p.sides[k].at})
		if len(s.alts) == 0 {
			return
		}
		if x, ok := s.alts[0].literal(); !ok || known(x) {
			return
		}
		if first, last := p.sides[0].at, p.sides[len(p.sides)-1].at; first.Line == last.Line {
			s.at = parse.Span{Line: first.Line, From: first.From, To: last.To}
		}
		out = append(out, s)
	}
	p.label, p.sides = unknown, out
	p.settle()
}

// unknownIn is the name that stands in an expression, and how often names do.
func unknownIn(e parse.Expr) (name string, n int) {
	switch e := e.(type) {
	case *parse.Name:
		return e.Text, 1
	case *parse.Group:
		return unknownIn(e.X)
	case *parse.Neg:
		return unknownIn(e.X)
	case *parse.Binary:
		x, i := unknownIn(e.X)
		y, j := unknownIn(e.Y)
		if i == 0 {
			x = y
		}
		return x, i + j
	case *parse.Call:
		for _, a := range e.Args {
			if x, i := unknownIn(a); i > 0 {
				name, n = x, n+2 // within a function it is not solved for
			}
		}
	}
	return name, n
}

// isolated gives what the one name in e must be for e to be equal to x, nil where
// that is not to be had by the four operations.
func isolated(e, x parse.Expr) parse.Expr {
	at := x.Span()
	made := func(op parse.Op, a, b parse.Expr) parse.Expr {
		return &parse.Binary{Op: op, X: grouped(a), Y: grouped(b), At: at}
	}
	switch e := e.(type) {
	case *parse.Name:
		return x
	case *parse.Group:
		return isolated(e.X, x)
	case *parse.Neg:
		return isolated(e.X, &parse.Neg{X: grouped(x), At: at})
	case *parse.Binary:
		_, left := unknownIn(e.X)
		switch {
		case e.Op == '+' && left == 1:
			return isolated(e.X, made('-', x, e.Y))
		case e.Op == '+':
			return isolated(e.Y, made('-', x, e.X))
		case e.Op == '-' && left == 1:
			return isolated(e.X, made('+', x, e.Y))
		case e.Op == '-':
			return isolated(e.Y, made('-', e.X, x))
		case e.Op == '*' && left == 1:
			return isolated(e.X, made('/', x, e.Y))
		case e.Op == '*':
			return isolated(e.Y, made('/', x, e.X))
		case e.Op == '/' && left == 1:
			return isolated(e.X, made('*', x, e.Y))
		case e.Op == '/':
			return isolated(e.Y, made('/', e.X, x))
		}
	}
	return nil
}

// grouped puts brackets round an expression that needs them as an operand.
func grouped(e parse.Expr) parse.Expr {
	if _, ok := e.(*parse.Binary); ok {
		return &parse.Group{X: e, At: e.Span()}
	}
	return e
}
