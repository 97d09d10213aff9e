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

// nameBefore finds lines that name a quantity before a colon and another behind
// it, whose figure has the unit of the first and not of the second: "space of the
// solid: RD = 1.2 m3". The second is then what the figure was taken from.
func (m *run) nameBefore(steps []prepared) {
	for i := range steps {
		p := &steps[i]
		before, w := p.step.Words, p.result
		if before == "" || w == nil || w.unit == nil || p.step.Table > 0 || p.step.Label == "" || p.step.WordsAt.Line != p.step.LabelAt.Line || p.step.WordsAt.To > p.step.LabelAt.From {
			continue
		}
		fits := func(words string) (known, fit bool) {
			for _, mt := range m.match(words) {
				if mt.score >= 0.85 {
					known, fit = true, fit || m.unitFits(w.unit, mt.slot)
				}
			}
			return known, fit
		}
		if known, fit := fits(p.label); !known || fit {
			continue
		}
		if _, fit := fits(before); fit {
			name := prepareSide(&parse.Side{Expr: &parse.Name{Text: p.label, At: p.step.LabelAt}, At: p.step.LabelAt})
			p.label, p.sides = before, append([]side{name}, p.sides...)
		}
	}
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
