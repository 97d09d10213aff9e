package parse

import (
	"strconv"
	"strings"
)

// shape writes a tree down with every operation bracketed and brackets of the
// student left out, so that two readings can be told apart.
func shape(e Expr) string {
	var b strings.Builder
	writeShape(&b, e)
	return b.String()
}

func writeShape(b *strings.Builder, e Expr) {
	switch e := e.(type) {
	case *Group:
		writeShape(b, e.X)
	case *Neg:
		b.WriteString("(-")
		writeShape(b, e.X)
		b.WriteByte(')')
	case *Binary:
		b.WriteByte('(')
		writeShape(b, e.X)
		b.WriteByte(byte(e.Op))
		writeShape(b, e.Y)
		b.WriteByte(')')
	case *Call:
		b.WriteString(e.Func)
		for _, a := range e.Args {
			b.WriteByte('(')
			writeShape(b, a)
			b.WriteByte(')')
		}
	case *Num:
		b.WriteString(strconv.FormatFloat(e.Value, 'g', -1, 64))
	case *Name:
		b.WriteString(e.Text)
	}
}

// term is one factor or summand of a level: an operand with the sign before it.
type term struct {
	op Op
	x  Expr
}

// level is a run of operands joined by + - × / with no brackets among them.
type level []term

// levelOf lays the sums and products at the head of e flat. Implied products,
// powers and brackets stay whole.
func levelOf(e Expr) level {
	var out level
	var walk func(e Expr, op Op)
	walk = func(e Expr, op Op) {
		b, ok := e.(*Binary)
		if ok && !b.Implied && b.Op != '^' {
			p := precOf(b.Op, false)
			if op == 0 || p >= precOf(op, false) {
				walk(b.X, op)
				if y, ok := b.Y.(*Binary); ok && !y.Implied && y.Op != '^' && prec(y) > p {
					walk(y, b.Op)
				} else {
					out = append(out, term{b.Op, b.Y})
				}
				return
			}
		}
		out = append(out, term{op, e})
	}
	walk(e, 0)
	return out
}

// tree puts a level back together by the common precedence.
func (l level) tree() Expr {
	var sum Expr
	var sumOp Op
	var product Expr
	flush := func() {
		if sum == nil {
			sum = product
		} else {
			sum = binaryOf(sumOp, sum, product)
		}
	}
	for i, t := range l {
		switch {
		case i == 0:
			product = t.x
		case t.op == '*' || t.op == '/':
			product = binaryOf(t.op, product, t.x)
		default:
			flush()
			sumOp, product = t.op, t.x
		}
	}
	flush()
	return sum
}

func binaryOf(op Op, x, y Expr) Expr {
	return &Binary{Op: op, X: x, Y: y, At: join(x.Span(), y.Span())}
}

func isSum(op Op) bool { return op == '+' || op == '-' }

// fold returns l with the terms from i to j (j left out) made one operand.
func (l level) fold(i, j int) level {
	if j-i < 2 {
		return l
	}
	inner := append(level(nil), l[i:j]...)
	inner[0].op = 0
	out := append(level(nil), l[:i]...)
	out = append(out, term{l[i].op, inner.tree()})
	return append(out, l[j:]...)
}

// denominators folds every run of factors that follows a division.
func (l level) denominators() level {
	for i := 1; i < len(l); i++ {
		if l[i].op != '/' {
			continue
		}
		j := i + 1
		for j < len(l) && l[j].op == '*' {
			j++
		}
		l = l.fold(i, j)
	}
	return l
}

// oneDenominator gives, for a product with several divisions, the readings in
// which the factors behind one of them alone belong under it: a / b × c / d × e
// as a / b × c / (d × e). What holds for all of them Denominator says.
func (l level) oneDenominator() []level {
	var out []level
	for i := len(l) - 2; i > 0; i-- {
		if l[i].op != '/' || l[i+1].op != '*' {
			continue
		}
		j := i + 1
		for j < len(l) && l[j].op == '*' {
			j++
		}
		out = append(out, l.fold(i, j))
	}
	if len(out) < 2 {
		return nil
	}
	return out
}

// Denominator gives the reading in which all that is multiplied behind a "/"
// belongs under it: 96 × 18^3 / 12 × 7776 as 96 × 18^3 / (12 × 7776). ok is
// false where that changes nothing.
func Denominator(e Expr) (Expr, bool) {
	out := rewriteLevels(e, level.denominators)
	if out == e {
		return nil, false
	}
	return out, true
}

// rewriteLevels rebuilds every level of e by f; what f leaves alone is shared with e.
func rewriteLevels(e Expr, f func(level) level) Expr {
	switch x := e.(type) {
	case *Group:
		if y := rewriteLevels(x.X, f); y != x.X {
			return &Group{y, x.At}
		}
	case *Neg:
		if y := rewriteLevels(x.X, f); y != x.X {
			return &Neg{y, x.At}
		}
	case *Call:
		args, changed := make([]Expr, len(x.Args)), false
		for i, a := range x.Args {
			args[i] = rewriteLevels(a, f)
			changed = changed || args[i] != a
		}
		if changed {
			return &Call{x.Func, args, x.At}
		}
	case *Binary:
		if x.Op == '^' || x.Implied {
			l, r := rewriteLevels(x.X, f), rewriteLevels(x.Y, f)
			if l != x.X || r != x.Y {
				return &Binary{x.Op, l, r, x.Implied, x.At}
			}
			return e
		}
		l := levelOf(e)
		changed := false
		for i := range l {
			y := rewriteLevels(l[i].x, f)
			changed = changed || y != l[i].x
			l[i].x = y
		}
		if m := f(l); len(m) != len(l) || changed {
			return m.tree()
		}
	}
	return e
}

const maxMeant = 8

// Meant gives the readings of e that a student may have meant who leaves
// brackets unwritten, the likeliest first and at most eight:
//
//	a / b × c        a / (b × c)
//	a / b × c / d × e   a / b × c / (d × e), a / (b × c) / d × e
//	a − b / c        (a − b) / c
//	a × b − c        a × (b − c), also a / (b − c)
//	a − b × c        (a − b) × c
//	a / b × c − d    a / (b × (c − d)), a / (b × c − d)
//	a − b / c − d    (a − b) / (c − d)
func Meant(e Expr) []Expr {
	if n := len(Nums(e)) + len(Names(e)); n > 60 {
		return nil
	}
	seen := map[string]bool{shape(e): true}
	var out []Expr
	add := func(x Expr) {
		if x == nil || len(out) >= maxMeant {
			return
		}
		if s := shape(x); !seen[s] {
			seen[s] = true
			out = append(out, x)
		}
	}
	if d, ok := Denominator(e); ok {
		add(d)
	}
	e = unwrap(e)
	for _, l := range levels(e) {
		for _, m := range l.level.meant() {
			add(l.put(m.tree()))
		}
	}
	return out
}

// unwrap takes off brackets and signs that enclose the whole.
func unwrap(e Expr) Expr {
	for {
		g, ok := e.(*Group)
		if !ok {
			return e
		}
		e = g.X
	}
}

// placed is a level of an expression with the way to put another in its place.
type placed struct {
	level level
	put   func(Expr) Expr
}

// levels finds the levels of e with two signs at least: its own and those in brackets.
func levels(e Expr) []placed {
	var out []placed
	var find func(e Expr, put func(Expr) Expr)
	find = func(e Expr, put func(Expr) Expr) {
		if len(out) >= 4 {
			return
		}
		switch x := e.(type) {
		case *Group:
			find(x.X, func(y Expr) Expr { return put(&Group{y, x.At}) })
		case *Neg:
			find(x.X, func(y Expr) Expr { return put(&Neg{y, x.At}) })
		case *Call:
			if len(x.Args) == 1 {
				find(x.Args[0], func(y Expr) Expr { return put(&Call{x.Func, []Expr{y}, x.At}) })
			}
		case *Binary:
			if x.Op == '^' || x.Implied {
				find(x.X, func(y Expr) Expr { return put(&Binary{x.Op, y, x.Y, x.Implied, x.At}) })
				find(x.Y, func(y Expr) Expr { return put(&Binary{x.Op, x.X, y, x.Implied, x.At}) })
				return
			}
			l := levelOf(e)
			if len(l) > 2 {
				out = append(out, placed{l, put})
			}
			for i := range l {
				find(l[i].x, func(y Expr) Expr {
					m := append(level(nil), l...)
					m[i].x = y
					return put(m.tree())
				})
			}
		}
	}
	find(e, func(e Expr) Expr { return e })
	return out
}

// meant gives the ways to set brackets in a level that students leave unwritten.
func (l level) meant() []level {
	var out []level
	n := len(l)
	lastDiv, firstSum, lastSum := -1, -1, -1
	for i := 1; i < n; i++ {
		switch {
		case l[i].op == '/':
			lastDiv = i
		case isSum(l[i].op):
			if firstSum < 0 {
				firstSum = i
			}
			lastSum = i
		}
	}
	if firstSum < 0 {
		return l.oneDenominator()
	}
	if lastDiv > firstSum {
		// a sum over a quotient: (a − b) / c, with what follows under the line too
		over := l.fold(0, lastDiv)
		out = append(out, over)
		if n > lastDiv+1 {
			under := l.fold(lastDiv, n).fold(0, lastDiv)
			out = append(out, under, over.denominators())
		}
	}
	for i := 1; i < n; i++ {
		if l[i].op == '/' && i < lastSum {
			// everything behind the line belongs under it
			if i+1 < n && l[i+1].op == '*' {
				// a / b × (c − d): the factor holds the sum
				k := lastSum - 1
				for k > i && l[k].op != '*' {
					k--
				}
				if k > i {
					f := l.fold(k, n)
					out = append(out, f.fold(i, len(f)), f)
				}
			}
			out = append(out, l.fold(i, n))
		}
	}
	for i := 1; i < n-1; i++ {
		// a × (b − c)
		if l[i].op == '*' && isSum(l[i+1].op) {
			j := i + 1
			for j < n && isSum(l[j].op) {
				j++
			}
			out = append(out, l.fold(i, j))
			if j < n {
				out = append(out, l.fold(i, n))
			}
		}
		// (a − b) × c
		if isSum(l[i].op) && l[i+1].op == '*' {
			j := i
			for j > 1 && isSum(l[j-1].op) {
				j--
			}
			from := j - 1
			out = append(out, l.fold(from, i+1))
		}
	}
	return out
}
