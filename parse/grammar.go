package parse

import (
	"io"

	"github.com/alecthomas/participle/v2"
	"github.com/alecthomas/participle/v2/lexer"
)

// The grammar of a line of working. By the time it is parsed, the line holds
// no prose any more: words are names, labels or have been set aside.
//
//	line      = statement { Sep statement } .
//	statement = [ Label ] side { Relation side } .
//	side      = [ Approx ] expression [ Unit ] .
//
// A statement is read by hand, with the arithmetic in it: each optional element
// of a grammar costs participle a copy of its state.
type lineNode struct {
	Statements []*statementNode `parser:"@@ ( Sep @@ )*"`
}

type statementNode struct {
	Label string
	Sides []*sideNode
}

type sideNode struct {
	approx bool
	expr   Expr
	unit   *Unit
}

// Parse reads a statement.
func (s *statementNode) Parse(lex *lexer.PeekingLexer) error {
	if t := lex.Peek(); t.Type == tLabel {
		s.Label = t.Value
		lex.Next()
	}
	s.Sides = append(s.Sides, parseSide(lex))
	for lex.Peek().Type == tRel {
		lex.Next()
		s.Sides = append(s.Sides, parseSide(lex))
	}
	return nil
}

// parseSide reads one side.
func parseSide(lex *lexer.PeekingLexer) *sideNode {
	s := &sideNode{}
	if lex.Peek().Type == tApprox {
		lex.Next()
		s.approx = true
	}
	s.expr = climbExpr(lex)
	if t := lex.Peek(); t.Type == tUnit {
		s.unit = units[t.Value]
		lex.Next()
	}
	return s
}

// symbolTable is the lexer definition participle builds the grammar against.
// Lines come in as tokens, so it never reads text itself.
type symbolTable map[string]lexer.TokenType

func (t symbolTable) Symbols() map[string]lexer.TokenType { return t }

func (symbolTable) Lex(string, io.Reader) (lexer.Lexer, error) { return &stream{}, nil }

var lineParser = participle.MustBuild[lineNode](participle.Lexer(symbolTable(tokenNames)))

// parseLine reads the tokens of a line whose words have been settled.
func parseLine(ts []token) (*lineNode, *Problem) {
	peek, err := lexer.Upgrade(&stream{tokens: ts})
	if err == nil {
		var line *lineNode
		if line, err = lineParser.ParseFromLexer(peek); err == nil {
			return line, nil
		}
	}
	at := spanOf(ts)
	if pe, ok := err.(participle.Error); ok {
		if p := pe.Position(); p.Line > 0 {
			at = Span{p.Line, p.Column, max(p.Offset, p.Column)}
		}
	}
	return nil, &Problem{at, "this can't be read as working"}
}
