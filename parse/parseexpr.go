package parse

import (
	"fmt"
	"unicode/utf8"

	"github.com/alecthomas/participle/v2/lexer"
)

// maxExpr is the longest expression or line that is read, in bytes.
const maxExpr = 4000

// anyName is the lexicon in which every single word is a name.
type anyName struct{}

func (anyName) Known(phrase string) bool {
	for _, r := range phrase {
		if r == ' ' || r == '-' || r == '/' {
			return false
		}
	}
	return true
}

// ParseExpr reads one arithmetic expression in the notation of students and of
// rules alike. Every word must be a name that lex knows; where lex is nil, any
// word is a name. The error is a *Problem.
func ParseExpr(text string, lex Lexicon) (Expr, error) {
	ts, problem := strictTokens(text, lex)
	if problem != nil {
		return nil, problem
	}
	e, rest, problem := climbStrict(ts)
	if problem != nil {
		return nil, problem
	}
	if len(rest) > 0 && rest[0].kind == tWord {
		return nil, &Problem{rest[0].span(), fmt.Sprintf("the word “%s” is not known as a name", rest[0].text)}
	}
	if len(rest) > 0 {
		return nil, &Problem{rest[0].span(), fmt.Sprintf("“%s” can't stand behind the end of the expression", rest[0].text)}
	}
	return e, nil
}

// strictTokens cuts the notation of rules into tokens.
func strictTokens(text string, lex Lexicon) ([]token, *Problem) {
	whole := Span{1, 1, utf8.RuneCountInString(text) + 1}
	switch {
	case len(text) > maxExpr:
		return nil, &Problem{whole, "the expression is too long to be read"}
	case !utf8.ValidString(text):
		return nil, &Problem{whole, "the expression holds bytes that are no text"}
	}
	if lex == nil {
		lex = anyName{}
	}
	p := plainText(text, 1)
	raw := scan(&p, false, make([]token, 0, 16))
	if n := len(raw); n > 1 && raw[n-1].kind == tStop {
		raw = raw[:n-1] // the end of a sentence
	}
	if len(raw) == 0 {
		return nil, &Problem{Span{1, 1, 1}, "there is no expression here"}
	}
	w := wordPass{namer: newNamer(lex), strict: true, in: raw, out: make([]token, 0, len(raw)+4)}
	return w.run(), nil
}

// climbStrict reads an expression at the head of ts and returns what is left.
func climbStrict(ts []token) (Expr, []token, *Problem) {
	peek, err := lexer.Upgrade(&stream{tokens: ts})
	if err != nil {
		return nil, nil, &Problem{spanOf(ts), "the expression can't be read"}
	}
	c := climber{lex: peek}
	e := c.expr(precSum)
	if c.problem == nil {
		if t := peek.Peek(); t.Type == tUnit {
			return nil, nil, &Problem{spanAt(t), c.unexpected(t)}
		}
	}
	if c.problem == nil {
		switch t := peek.Peek(); t.Type {
		case lexer.EOF, tCompare, tRel, tClose, tWord, tSep, tArgSep, tName:
		default:
			c.fail(spanAt(t), c.unexpected(t))
		}
	}
	if c.problem != nil {
		return nil, nil, c.problem
	}
	return e, ts[peek.Cursor():], nil
}
