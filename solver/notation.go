package solver

import (
	"strings"

	"batten/parse"
)

// SymbolsOf writes an expression the way a formula stands in a handbook:
// symbols side by side for a product, powers raised, brackets only where they
// are needed: "l μ b (d − h)", "L B³ / (12 V)". symbol gives the symbol of a
// name; where it gives "" the name itself is written.
func SymbolsOf(e parse.Expr, symbol func(id string) string) string {
	w := notation{leaf: func(id string) string {
		if s := symbol(id); s != "" {
			return s
		}
		return id
	}}
	return w.write(e).text
}

// FiguresOf writes an expression with figures in the place of its names, × between
// factors: "14 × 0.60 × 18 × 3.0". value gives the figure of a name as it is to be
// shown, without a unit; where it gives "" the name itself is written.
func FiguresOf(e parse.Expr, value func(id string) string) string {
	w := notation{figures: true, leaf: func(id string) string {
		if s := value(id); s != "" {
			return s
		}
		return id
	}}
	return w.write(e).text
}

// notation writes expressions; figures says which of the two forms.
type notation struct {
	figures bool
	leaf    func(id string) string
}

// piece is a written expression, with what must be known of it to set it next
// to another: how loosely it holds together and what its ends are.
type piece struct {
	text  string
	holds tightness
	// apart: its first or last factor is a figure or a symbol of several words
	// ("depth lost"), which can't stand beside another factor without a ×.
	first, last bool
	// divided: the last thing in it is a divisor, so that a factor set beside
	// it would be taken for a part of the divisor.
	divided bool
}

type tightness uint8

const (
	asSum tightness = iota
	asNegative
	asProduct
	asPower
	asOne
)

func bracket(p piece) piece { return piece{text: "(" + p.text + ")", holds: asOne} }

// atLeast brackets the piece unless it holds together as tightly as asked.
func atLeast(p piece, t tightness) piece {
	if p.holds < t {
		return bracket(p)
	}
	return p
}

func (w *notation) write(e parse.Expr) piece {
	switch e := e.(type) {
	case *parse.Group:
		return w.write(e.X)
	case *parse.Num:
		return w.number(e)
	case *parse.Name:
		return w.name(e)
	case *parse.Neg:
		p := atLeast(w.write(e.X), asProduct)
		return piece{text: "−" + p.text, holds: asNegative, first: true, last: p.last, divided: p.divided}
	case *parse.Call:
		return w.call(e)
	case *parse.Binary:
		switch e.Op {
		case '+', '-':
			return w.sum(e)
		case '*':
			return w.product(e)
		case '/':
			x, y := atLeast(w.write(e.X), asProduct), w.write(e.Y)
			return piece{text: x.text + " / " + atLeast(y, asPower).text, holds: asProduct, divided: true}
		case '^':
			return w.power(e)
		}
	}
	return piece{}
}

func (w *notation) number(e *parse.Num) piece {
	text := strings.TrimSpace(e.Text)
	if e.Percent && !strings.HasSuffix(text, "%") {
		text += "%"
	}
	return piece{text: text, holds: asOne, first: true, last: true}
}

// name writes a symbol or figure. A symbol may itself be a small formula
// ("A − a", "l b"), as the trade has no letter for everything.
func (w *notation) name(e *parse.Name) piece {
	text := w.leaf(e.Text)
	p := piece{text: text, holds: asOne, first: w.figures, last: w.figures}
	if rest, ok := strings.CutPrefix(text, "-"); ok && w.figures {
		return piece{text: "−" + rest, holds: asNegative, first: true, last: true}
	}
	if w.figures {
		return p
	}
	switch {
	case strings.Contains(text, " − ") || strings.Contains(text, " + "):
		p.holds = asSum
	case strings.Contains(text, " / "):
		p.holds, p.divided = asProduct, true
	case strings.Contains(text, " × "):
		p.holds, p.first, p.last = asProduct, true, true
	case strings.Contains(text, " "):
		p.holds = asProduct
		p.first = words(text)
		p.last = p.first
	case strings.ContainsAny(text, "²³⁴"):
		p.holds = asPower
	}
	return p
}

// words reports whether a text of several words is language and no product of
// letters.
func words(text string) bool {
	for _, f := range strings.Fields(text) {
		if len(f) > 1 && strings.Trim(f, "abcdefghijklmnopqrstuvwxyz") == "" {
			return true
		}
	}
	return false
}

func (w *notation) sum(e *parse.Binary) piece {
	x, y := w.write(e.X), w.write(e.Y)
	op, least := " + ", asSum
	if e.Op == '-' || strings.HasPrefix(y.text, "−") {
		least = asProduct
	}
	if e.Op == '-' {
		op = " − "
	}
	return piece{text: x.text + op + atLeast(y, least).text, holds: asSum}
}

func (w *notation) product(e *parse.Binary) piece {
	x, y := w.write(e.X), w.write(e.Y)
	if x.holds < asProduct && x.holds != asNegative {
		x = bracket(x)
	}
	// A quotient on the right is kept together, and so is a product: a (b c)
	// is the same as a b c.
	if y.holds < asProduct || y.holds == asProduct && y.divided {
		y = bracket(y)
	}
	holds := asProduct
	if x.holds == asNegative {
		holds = asNegative
	}
	p := piece{holds: holds, first: x.first, last: y.last}
	if w.figures || x.divided || y.first || x.last && !plainNumber(x.text) {
		p.text = x.text + " × " + y.text
		return p
	}
	p.text = x.text + " " + y.text
	return p
}

// plainNumber reports whether the text is a number alone, which may stand in
// front of a symbol: 12 V.
func plainNumber(s string) bool {
	return s != "" && strings.Trim(s, "0123456789.") == ""
}

const raised = "⁰¹²³⁴⁵⁶⁷⁸⁹"

func (w *notation) power(e *parse.Binary) piece {
	x := w.write(e.X)
	if x.holds < asOne {
		x = bracket(x)
	}
	if n, ok := ungroup(e.Y).(*parse.Num); ok && !n.Percent && n.Text != "" && strings.Trim(n.Text, "0123456789") == "" {
		text := x.text
		for _, d := range n.Text {
			text += string([]rune(raised)[d-'0'])
		}
		return piece{text: text, holds: asPower, first: x.first, last: x.last}
	}
	y := w.write(e.Y)
	if y.holds < asOne {
		y = bracket(y)
	}
	return piece{text: x.text + "^" + y.text, holds: asPower, first: true, last: true}
}

func ungroup(e parse.Expr) parse.Expr {
	for {
		g, ok := e.(*parse.Group)
		if !ok {
			return e
		}
		e = g.X
	}
}

// How functions are written where it is not by their own name.
var functionMarks = map[string]string{"sqrt": "√", "asin": "sin⁻¹", "acos": "cos⁻¹", "atan": "tan⁻¹"}

func (w *notation) call(e *parse.Call) piece {
	name := e.Func
	if m, ok := functionMarks[name]; ok {
		name = m
	}
	var args []string
	for _, a := range e.Args {
		args = append(args, w.write(a).text)
	}
	return piece{text: name + "(" + strings.Join(args, ", ") + ")", holds: asOne, first: true, last: true}
}
