package diagnose

import (
	"batten/parse"
)

// solveFor turns an equation in one unknown into what it states of that:
// "1700x - 1052 = 8840" says that x is (8840 + 1052)/1700. The unknown is a
// symbol of the student's that has had no figure yet.
func (p *prepared) solveFor(isUnknown func(name string) bool) bool {
	if p.step.Table > 0 || len(p.sides) < 2 {
		return false
	}
	unknown := ""
	var with, free []int
	for k := range p.sides {
		name, n := unknownIn(p.sides[k].expr)
		switch {
		case n == 0 && name == "":
			free = append(free, k)
		case n == 1 && (unknown == "" || unknown == name):
			unknown = name
			with = append(with, k)
		default:
			return false
		}
	}
	if len(with) == 0 || len(free) == 0 || p.label != "" && p.label != unknown || !isUnknown(unknown) {
		return false
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
		e := solve(p.sides[k].expr, p.sides[other].expr)
		if e == nil {
			return false
		}
		s := prepareSide(&parse.Side{Expr: e, At: p.sides[k].at})
		if s.bare == nil && len(s.alts) == 0 {
			return false
		}
		s.at.To = max(s.at.To, p.sides[len(p.sides)-1].at.To)
		if last := p.sides[len(p.sides)-1].at; last.Line == s.at.Line {
			s.at.From = min(s.at.From, p.sides[0].at.From)
		}
		out = append(out, s)
	}
	p.label, p.sides = unknown, out
	p.settle()
	return true
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

// solve gives what the one name in e must be for e to be equal to x, nil where
// that is not to be had by the four operations.
func solve(e, x parse.Expr) parse.Expr {
	at := x.Span()
	made := func(op parse.Op, a, b parse.Expr) parse.Expr {
		return &parse.Binary{Op: op, X: grouped(a), Y: grouped(b), At: at}
	}
	switch e := e.(type) {
	case *parse.Name:
		return x
	case *parse.Group:
		return solve(e.X, x)
	case *parse.Neg:
		return solve(e.X, &parse.Neg{X: grouped(x), At: at})
	case *parse.Binary:
		_, left := unknownIn(e.X)
		switch {
		case e.Op == '+' && left == 1:
			return solve(e.X, made('-', x, e.Y))
		case e.Op == '+':
			return solve(e.Y, made('-', x, e.X))
		case e.Op == '-' && left == 1:
			return solve(e.X, made('+', x, e.Y))
		case e.Op == '-':
			return solve(e.Y, made('-', e.X, x))
		case e.Op == '*' && left == 1:
			return solve(e.X, made('/', x, e.Y))
		case e.Op == '*':
			return solve(e.Y, made('/', x, e.X))
		case e.Op == '/' && left == 1:
			return solve(e.X, made('*', x, e.Y))
		case e.Op == '/':
			return solve(e.Y, made('/', e.X, x))
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
