package parse

import (
	"fmt"
	"strings"
)

// Cond is a condition over flags and figures: *Flag, *Compare, *And, *Or or *Not.
type Cond interface {
	// Span is the place of the condition.
	Span() Span
	// String writes it so that ParseCond reads the same condition back.
	String() string
}

// Flag is a bare word that holds or does not.
type Flag struct {
	Name string
	At   Span
}

// Compare holds when X stands to Y as Op says: one of < <= > >= == !=.
type Compare struct {
	Op   string
	X, Y Expr
	At   Span
}

// And holds when all of Conds hold.
type And struct {
	Conds []Cond
	At    Span
}

// Or holds when any of Conds holds.
type Or struct {
	Conds []Cond
	At    Span
}

// Not holds when X does not.
type Not struct {
	X  Cond
	At Span
}

func (c *Flag) Span() Span    { return c.At }
func (c *Compare) Span() Span { return c.At }
func (c *And) Span() Span     { return c.At }
func (c *Or) Span() Span      { return c.At }
func (c *Not) Span() Span     { return c.At }

func (c *Flag) String() string    { return c.Name }
func (c *Compare) String() string { return c.X.String() + " " + c.Op + " " + c.Y.String() }
func (c *And) String() string     { return condList(c.Conds, " and ", false) }
func (c *Or) String() string      { return condList(c.Conds, " or ", true) }
func (c *Not) String() string {
	switch c.X.(type) {
	case *And, *Or, *Compare:
		return "not (" + c.X.String() + ")"
	}
	return "not " + c.X.String()
}

func condList(cs []Cond, word string, isOr bool) string {
	parts := make([]string, len(cs))
	for i, c := range cs {
		parts[i] = c.String()
		_, or := c.(*Or)
		_, and := c.(*And)
		if or || and && !isOr {
			parts[i] = "(" + parts[i] + ")"
		}
	}
	return strings.Join(parts, word)
}

// ParseCond reads a condition: flags, comparisons of expressions, and, or,
// not, and brackets. A word that lex knows can't be a flag. The error is a
// *Problem.
func ParseCond(text string, lex Lexicon) (Cond, error) {
	ts, problem := strictTokens(text, condLexicon{lex})
	if problem != nil {
		return nil, problem
	}
	c := condReader{ts: ts, lex: lex}
	out := c.or()
	if c.problem == nil && c.i < len(ts) {
		c.fail(c.ts[c.i].span(), fmt.Sprintf("“%s” can't stand here: “and” or “or” is missing", c.ts[c.i].text))
	}
	if c.problem != nil {
		return nil, c.problem
	}
	return out, nil
}

// condLexicon keeps the words of conditions from being taken for names.
type condLexicon struct{ lex Lexicon }

func (l condLexicon) Known(phrase string) bool {
	for w := range strings.FieldsSeq(phrase) {
		if isCondWord(w) {
			return false
		}
	}
	return l.lex != nil && l.lex.Known(phrase)
}

func isCondWord(w string) bool { return w == "and" || w == "or" || w == "not" }

type condReader struct {
	ts      []token
	i       int
	depth   int
	lex     Lexicon
	problem *Problem
}

func (c *condReader) fail(at Span, reason string) {
	if c.problem == nil {
		c.problem = &Problem{at, reason}
	}
}

func (c *condReader) word(text string) bool {
	return c.i < len(c.ts) && c.ts[c.i].kind == tWord && c.ts[c.i].text == text
}

func (c *condReader) end() Span {
	if len(c.ts) == 0 {
		return Span{1, 1, 1}
	}
	s := c.ts[len(c.ts)-1].span()
	s.From = s.To
	return s
}

func (c *condReader) or() Cond {
	first := c.and()
	if c.problem != nil || !c.word("or") {
		return first
	}
	o := &Or{Conds: []Cond{first}, At: first.Span()}
	for c.problem == nil && c.word("or") {
		c.i++
		if x := c.and(); c.problem == nil {
			o.Conds = append(o.Conds, x)
			o.At = join(o.At, x.Span())
		}
	}
	return o
}

func (c *condReader) and() Cond {
	first := c.not()
	if c.problem != nil || !c.word("and") {
		return first
	}
	a := &And{Conds: []Cond{first}, At: first.Span()}
	for c.problem == nil && c.word("and") {
		c.i++
		if x := c.not(); c.problem == nil {
			a.Conds = append(a.Conds, x)
			a.At = join(a.At, x.Span())
		}
	}
	return a
}

func (c *condReader) not() Cond {
	c.depth++
	defer func() { c.depth-- }()
	if c.i >= len(c.ts) {
		c.fail(c.end(), "the condition stops short")
		return nil
	}
	t := c.ts[c.i]
	if c.depth > maxDepth {
		c.fail(t.span(), "the condition is nested too deep to be read")
		return nil
	}
	switch {
	case c.word("not"):
		c.i++
		x := c.not()
		if c.problem != nil {
			return nil
		}
		return &Not{x, join(t.span(), x.Span())}
	case t.kind == tOpen && c.bracketsCondition():
		c.i++
		x := c.or()
		if c.problem != nil {
			return nil
		}
		if c.i >= len(c.ts) || c.ts[c.i].kind != tClose {
			c.fail(t.span(), "this bracket is never closed")
			return nil
		}
		c.i++
		return x
	case t.kind == tWord && !c.compares():
		if isCondWord(t.text) {
			c.fail(t.span(), fmt.Sprintf("a condition is missing before “%s”", t.text))
			return nil
		}
		c.i++
		return &Flag{t.text, t.span()}
	}
	return c.compare()
}

// bracketsCondition reports whether the bracket at hand holds a condition
// rather than the first part of an expression.
func (c *condReader) bracketsCondition() bool {
	depth := 0
	for i := c.i; i < len(c.ts); i++ {
		switch t := &c.ts[i]; t.kind {
		case tOpen:
			depth++
		case tClose:
			depth--
			if depth == 0 {
				return i == c.i+2 && c.ts[i-1].kind == tWord // (flag)
			}
		case tCompare, tRel:
			return true
		case tWord:
			if isCondWord(t.text) {
				return true
			}
		}
	}
	return false
}

// compares reports whether the word at hand is the first side of a comparison.
func (c *condReader) compares() bool {
	if c.i+1 >= len(c.ts) {
		return false
	}
	switch c.ts[c.i+1].kind {
	case tCompare, tRel, tOp:
		return true
	}
	return false
}

func comparison(t *token) string {
	switch {
	case t.kind == tCompare && t.text != "!":
		return t.text
	case t.kind == tRel && (t.text == "==" || t.text == "="):
		return "=="
	}
	return ""
}

// compare reads a comparison; a < b < c stands for a < b and b < c.
func (c *condReader) compare() Cond {
	x := c.expr()
	if c.problem != nil {
		return nil
	}
	var all []Cond
	for c.i < len(c.ts) {
		op := comparison(&c.ts[c.i])
		if op == "" {
			break
		}
		c.i++
		y := c.expr()
		if c.problem != nil {
			return nil
		}
		all = append(all, &Compare{op, x, y, join(x.Span(), y.Span())})
		x = y
	}
	switch len(all) {
	case 0:
		c.fail(x.Span(), fmt.Sprintf("“%s” is a figure: it must be compared with another", x))
		return nil
	case 1:
		return all[0]
	}
	return &And{all, join(all[0].Span(), all[len(all)-1].Span())}
}

func (c *condReader) expr() Expr {
	if c.i >= len(c.ts) {
		c.fail(c.end(), "the comparison stops short: a figure or a name is missing")
		return nil
	}
	e, rest, problem := climbStrict(c.ts[c.i:])
	if problem != nil {
		c.fail(problem.At, problem.Reason)
		return nil
	}
	c.i = len(c.ts) - len(rest)
	return e
}
