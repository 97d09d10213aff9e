package parse

import (
	"math"
	"strconv"
	"strings"

	"github.com/alecthomas/participle/v2/lexer"
)

// maxDepth is how deep brackets, powers and signs may nest.
const maxDepth = 100

// maxSymbol is the longest name, in bytes, that can stand beside another as a
// factor with nothing between: longer ones side by side are prose.
const maxSymbol = 4

// climber reads one expression by precedence climbing: the arithmetic that the
// grammar of the line is given through participle's ParseTypeWith.
type climber struct {
	lex     *lexer.PeekingLexer
	depth   int
	last    lexer.TokenType // kind of the last token taken
	lastAt  Span            // and its place
	symbol  bool            // the last token was a name short enough for a factor
	problem *Problem
}

// broken stands in a chain for what could not be read.
type broken struct {
	problem *Problem
	read    Expr // what was read before the trouble, or nil
	at      Span
}

func (b *broken) Span() Span     { return b.at }
func (b *broken) String() string { return "?" }

// climbExpr reads an expression at the head of lex. It never fails: trouble
// comes back as a *broken, with everything up to the next "=" taken.
func climbExpr(lex *lexer.PeekingLexer) Expr {
	c := climber{lex: lex}
	first := spanAt(lex.Peek())
	e := c.expr(precSum)
	if c.problem == nil {
		switch t := lex.Peek(); t.Type {
		case lexer.EOF, tRel, tArrow, tSep, tUnit, tLabel:
			return e
		default:
			c.fail(spanAt(t), c.unexpected(t))
		}
	}
	at := first
	for {
		t := lex.Peek()
		if t.EOF() || t.Type == tRel || t.Type == tArrow || t.Type == tSep || t.Type == tLabel {
			break
		}
		at = join(at, spanAt(t))
		lex.Next()
	}
	return &broken{c.problem, e, at}
}

func (c *climber) fail(at Span, reason string) {
	if c.problem == nil {
		c.problem = &Problem{at, reason}
	}
}

func (c *climber) next() *lexer.Token {
	t := c.lex.Next()
	c.last, c.lastAt, c.symbol = t.Type, spanAt(t), len(t.Value) <= maxSymbol
	return t
}

// unexpected words why t can't follow what was read.
func (c *climber) unexpected(t *lexer.Token) string {
	switch t.Type {
	case lexer.EOF:
		return "the expression stops short: a figure or a name is missing"
	case tNumber, tComma, tAngle:
		return badTwoFigures
	case tBad:
		return t.Value
	case tClose:
		return "this bracket was never opened"
	case tWord, tGuess:
		return "the word “" + t.Value + "” is not known as a name"
	case tName:
		return "“" + t.Value + "” stands behind a figure with no sign between them"
	case tRel, tArrow, tCompare:
		return "“" + t.Value + "” can't stand inside an expression"
	case tUnit:
		return "the unit " + t.Value + " stands here without a figure"
	}
	return "“" + t.Value + "” can't be read here"
}

// gap is the place at which an operand is missing before t: t itself, or the
// sign behind which it should stand where nothing does.
func (c *climber) gap(t *lexer.Token) Span {
	if at := spanAt(t); at.To > at.From || c.last != tOp {
		return at
	}
	return c.lastAt
}

// missing words why no operand could be read at t.
func (c *climber) missing(t *lexer.Token) string {
	switch t.Type {
	case tBad:
		return t.Value
	case tOp:
		if c.last == tOp {
			return "two signs stand side by side: a figure or a name is missing between them"
		}
		return "a figure or a name is missing before “" + t.Value + "”"
	case tClose:
		if c.last == tOpen {
			return "there is nothing between these brackets"
		}
		return "a figure or a name is missing before the bracket"
	case tWord:
		return "the word “" + t.Value + "” is not known as a name"
	case lexer.EOF, tRel, tArrow, tSep, tLabel:
		if c.last == tOp {
			return "the expression stops short: a figure or a name is missing behind the sign"
		}
		return "a figure or a name is missing here"
	}
	return c.unexpected(t)
}

// expr reads operands joined by operators that bind at least as tight as min.
func (c *climber) expr(min int) Expr {
	c.depth++
	defer func() { c.depth-- }()
	if c.depth > maxDepth {
		c.fail(spanAt(c.lex.Peek()), "brackets and signs are nested too deep to be read")
		return nil
	}
	left := c.operand(min)
	for c.problem == nil {
		t := c.lex.Peek()
		implied := false
		op := Op('*')
		switch t.Type {
		case tOp:
			op = Op(t.Value[0])
		case tOpen, tName, tFunc, tNumber, tComma:
			if !c.impliedBefore(t) {
				return left
			}
			implied = true
		case tUnit:
			// a unit behind a bracket or a name, in the middle of the working
			if !c.unitInside() {
				return left
			}
			c.lex.Next()
			continue
		default:
			return left
		}
		p := precOf(op, implied)
		if p < min {
			return left
		}
		if !implied {
			c.next()
		}
		var right Expr
		if op == '^' {
			right = c.exponent()
		} else {
			right = c.expr(p + 1)
		}
		if c.problem != nil {
			return left
		}
		left = &Binary{Op: op, X: left, Y: right, Implied: implied, At: join(left.Span(), right.Span())}
	}
	return left
}

// impliedBefore reports whether t behind what was just read means a
// multiplication written as nothing at all.
func (c *climber) impliedBefore(t *lexer.Token) bool {
	switch t.Type {
	case tOpen, tFunc:
		return c.last == tNumber || c.last == tComma || c.last == tName || c.last == tClose || c.last == tUnit || c.last == tPercent
	case tName:
		switch c.last {
		case tNumber, tComma, tClose:
			return strings.IndexByte(t.Value, ' ') < 0
		case tName:
			return c.symbol && len(t.Value) <= maxSymbol
		}
		return false
	}
	return c.last == tClose
}

func (c *climber) unitInside() bool {
	save := c.lex.MakeCheckpoint()
	c.lex.Next()
	t := c.lex.Peek()
	c.lex.LoadCheckpoint(save)
	return t.Type == tOp || t.Type == tClose || t.Type == tOpen
}

// exponent reads what stands behind a power sign: it takes a sign of its own
// and further powers, but no implied factor (LB^3L is LB³ times L).
func (c *climber) exponent() Expr {
	c.depth++
	defer func() { c.depth-- }()
	if c.depth > maxDepth {
		c.fail(spanAt(c.lex.Peek()), "brackets and signs are nested too deep to be read")
		return nil
	}
	return c.operand(precPower)
}

// operand reads a sign, and an atom with its powers.
func (c *climber) operand(min int) Expr {
	t := c.lex.Peek()
	if t.Type == tOp && (t.Value == "-" || t.Value == "+") {
		at := spanAt(c.next())
		p := precNeg
		if min > p {
			p = min
		}
		if t.Value == "+" {
			return c.expr(p)
		}
		x := c.expr(p)
		if c.problem != nil {
			return x
		}
		return &Neg{x, join(at, x.Span())}
	}
	x := c.atom()
	if c.problem != nil {
		return x
	}
	if n := c.lex.Peek(); n.Type == tOp && n.Value == "^" && min >= precPower {
		c.next()
		y := c.exponent()
		if c.problem != nil {
			return x
		}
		return &Binary{Op: '^', X: x, Y: y, At: join(x.Span(), y.Span())}
	}
	return x
}

func (c *climber) atom() Expr {
	t := c.lex.Peek()
	switch t.Type {
	case tNumber, tComma, tAngle:
		return c.number()
	case tName, tGuess:
		c.next()
		return &Name{t.Value, spanAt(t)}
	case tFunc:
		return c.call()
	case tOpen:
		at := spanAt(c.next())
		open := t.Value
		if n := c.lex.Peek(); n.Type == tClose {
			c.fail(join(at, spanAt(n)), "there is nothing between these brackets")
			return nil
		}
		x := c.expr(precSum)
		if c.problem != nil {
			return x
		}
		end, ok := c.close(open, at)
		if !ok {
			return x
		}
		return &Group{x, join(join(at, x.Span()), end)}
	}
	c.fail(c.gap(t), c.missing(t))
	return nil
}

// close takes the bracket that closes the one opened at at.
func (c *climber) close(open string, at Span) (Span, bool) {
	t := c.lex.Peek()
	if t.Type != tClose {
		switch t.Type {
		case lexer.EOF, tRel, tArrow, tSep, tLabel, tUnit:
			c.fail(at, "this bracket is never closed")
		default:
			c.fail(spanAt(t), c.unexpected(t))
		}
		return Span{}, false
	}
	want := map[string]string{"(": ")", "[": "]", "{": "}"}[open]
	if t.Value != want {
		c.fail(spanAt(t), "the bracket “"+open+"” is closed by “"+t.Value+"”: one of the two is wrong")
		return Span{}, false
	}
	return spanAt(c.next()), true
}

func (c *climber) number() Expr {
	t := c.next()
	n := &Num{Text: t.Value, At: spanAt(t)}
	if t.Type == tAngle {
		n.Value, n.Places = angleValue(t.Value)
		n.Unit = units["deg"]
		c.last = tUnit
		return n
	}
	v, places, ok := numberValue(t.Value, t.Type == tComma)
	if !ok {
		c.fail(n.At, "this figure can't be read")
		return n
	}
	n.Value, n.Places = v, places
	if t := c.lex.Peek(); t.Type == tPercent {
		n.Value /= 100
		n.Percent = true
		n.Places += 2
		n.At = join(n.At, spanAt(t))
		c.next()
	}
	if t := c.lex.Peek(); t.Type == tUnit {
		n.Unit = units[t.Value]
		n.At = join(n.At, spanAt(t))
		c.next()
	}
	if math.IsInf(n.Value, 0) {
		c.fail(n.At, "this figure is too large")
	}
	return n
}

// angleValue works out degrees, minutes and seconds as the words pass joined them.
func angleValue(text string) (float64, int) {
	v, scale := 0., 1.
	for len(text) > 0 {
		i := 0
		for i < len(text) && !isDigit(text[i]) {
			i++
		}
		j := i
		for j < len(text) && (isDigit(text[j]) || text[j] == '.' || text[j] == ',') {
			j++
		}
		if i == j {
			break
		}
		f, err := strconv.ParseFloat(strings.ReplaceAll(text[i:j], ",", "."), 64)
		if err == nil {
			v += f / scale
		}
		scale *= 60
		text = text[j:]
	}
	return v, 2
}

// call reads a function and its arguments.
func (c *climber) call() Expr {
	t := c.next()
	at, name := spanAt(t), t.Value
	n := c.lex.Peek()
	if n.Type == tOp && n.Value == "^" {
		c.fail(join(at, spanAt(n)), "a power right behind “"+name+"” can't be read: put brackets round the whole and the power behind them")
		return nil
	}
	if n.Type != tOpen {
		x := c.exponent()
		if c.problem != nil {
			return x
		}
		return &Call{name, []Expr{x}, join(at, x.Span())}
	}
	open := spanAt(c.next())
	call := &Call{Func: name}
	for {
		x := c.expr(precSum)
		if c.problem != nil {
			return x
		}
		call.Args = append(call.Args, x)
		if c.lex.Peek().Type != tArgSep {
			break
		}
		c.next()
	}
	end, ok := c.close(n.Value, open)
	if !ok {
		return nil
	}
	call.At = join(at, end)
	if len(call.Args) > 1 && name != "min" && name != "max" {
		c.fail(call.At, "“"+name+"” takes one figure")
	}
	return call
}
