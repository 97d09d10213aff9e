package parse

import "strings"

// String methods write an expression in the notation that ParseExpr reads.
// Brackets are added where a tree that no one typed (a reading) needs them.

func (e *Num) String() string    { return printed(e) }
func (e *Name) String() string   { return printed(e) }
func (e *Neg) String() string    { return printed(e) }
func (e *Binary) String() string { return printed(e) }
func (e *Call) String() string   { return printed(e) }
func (e *Group) String() string  { return printed(e) }

func printed(e Expr) string {
	var b strings.Builder
	write(&b, e)
	return b.String()
}

// Binding strengths: the one precedence table of the notation. Higher binds
// tighter; an implied multiplication is tighter than a written one, so that
// LB^3/12V divides by the whole of 12V.
const (
	precSum     = 1
	precProduct = 2
	precImplied = 3
	precNeg     = 3
	precPower   = 4
	precAtom    = 5
)

func precOf(op Op, implied bool) int {
	switch {
	case implied:
		return precImplied
	case op == '+' || op == '-':
		return precSum
	case op == '*' || op == '/':
		return precProduct
	}
	return precPower
}

func prec(e Expr) int {
	switch e := e.(type) {
	case *Binary:
		return precOf(e.Op, e.Implied)
	case *Neg:
		return precNeg
	}
	return precAtom
}

func write(b *strings.Builder, e Expr) {
	switch e := e.(type) {
	case *Num:
		b.WriteString(e.Text)
		if e.Percent && !strings.HasSuffix(e.Text, "%") {
			b.WriteByte('%')
		}
		if e.Unit != nil && !degreesAndMinutes(e) {
			if e.Unit.Text != "deg" {
				b.WriteByte(' ')
				b.WriteString(e.Unit.Text)
			} else {
				b.WriteString("°")
			}
		}
	case *Name:
		b.WriteString(e.Text)
	case *Neg:
		b.WriteByte('-')
		if _, again := firstLeaf(e.X).(*Neg); again && prec(e.X) >= precNeg {
			b.WriteByte(' ') // two signs side by side make a dash
		}
		writeIn(b, e.X, prec(e.X) < precNeg)
	case *Group:
		b.WriteByte('(')
		write(b, e.X)
		b.WriteByte(')')
	case *Call:
		b.WriteString(e.Func)
		b.WriteByte('(')
		for i, a := range e.Args {
			if i > 0 {
				b.WriteString(", ")
			}
			write(b, a)
		}
		b.WriteByte(')')
	case *Binary:
		writeBinary(b, e)
	}
}

func writeBinary(b *strings.Builder, e *Binary) {
	p := precOf(e.Op, e.Implied)
	left := prec(e.X) < p
	right := prec(e.Y) <= p
	if e.Op == '^' {
		n, _ := e.X.(*Num)
		left = prec(e.X) <= p || n != nil && n.Unit != nil // 18 m^3 is read as 18 m³
		_, neg := e.Y.(*Neg)
		right = prec(e.Y) < p && !neg
		if neg {
			right = prec(e.Y.(*Neg).X) < p
		}
	} else if _, neg := e.Y.(*Neg); neg {
		right = e.Implied
	}
	if e.Implied {
		// what can't stand side by side, or would be read as one word, is bracketed
		right = right || !followsImplied(e.X, e.Y)
		left = left || endsOpen(e.X)
	}
	writeIn(b, e.X, left)
	switch {
	case e.Implied:
		switch n := lastLeaf(e.X).(type) {
		case *Name:
			if !left {
				b.WriteByte(' ')
			}
		case *Num:
			if n.Unit != nil && !left {
				b.WriteByte(' ')
			}
		}
	case e.Op == '^':
		b.WriteByte('^')
	case e.Op == '*':
		b.WriteString(" × ")
	default:
		b.WriteByte(' ')
		b.WriteByte(byte(e.Op))
		b.WriteByte(' ')
	}
	writeIn(b, e.Y, right)
}

func writeIn(b *strings.Builder, e Expr, brackets bool) {
	if brackets {
		b.WriteByte('(')
	}
	write(b, e)
	if brackets {
		b.WriteByte(')')
	}
}

// followsImplied reports whether y can be written right behind x with nothing
// between and still be read as their product.
func followsImplied(x, y Expr) bool {
	switch y := firstLeaf(y).(type) {
	case *Group:
		return true
	case *Name:
		if y.Text == "x" || y.Text == "X" {
			return false // between two factors the letter is a sign
		}
		switch x := lastLeaf(x).(type) {
		case *Name:
			return len(x.Text) <= maxSymbol && len(y.Text) <= maxSymbol
		case *Num:
			return x.Unit == nil && !x.Percent
		case *Call:
			return true
		}
		return strings.IndexByte(y.Text, ' ') < 0
	case *Call:
		return true
	case *Num:
		_, ok := lastLeaf(x).(*Group)
		return ok
	}
	return false
}

// endsOpen reports whether something written right behind x would be taken
// into its last factor.
func endsOpen(x Expr) bool {
	switch x := x.(type) {
	case *Neg:
		return true
	case *Binary:
		return x.Op != '^' && endsOpen(x.Y)
	}
	return false
}

func firstLeaf(e Expr) Expr {
	for {
		b, ok := e.(*Binary)
		if !ok {
			return e
		}
		e = b.X
	}
}

func lastLeaf(e Expr) Expr {
	for {
		switch x := e.(type) {
		case *Binary:
			e = x.Y
		case *Neg:
			e = x.X
		default:
			return e
		}
	}
}

// degreesAndMinutes reports whether the text of n holds its unit already.
func degreesAndMinutes(n *Num) bool { return strings.Contains(n.Text, "'") }
