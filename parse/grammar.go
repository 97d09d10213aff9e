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
//	statement = [ Label ] side { Relation side } [ Label ] .
//	side      = [ Approx ] expression [ Unit ] .
type lineNode struct {
	Statements []*statementNode `parser:"@@ ( Sep @@ )*"`
}

type statementNode struct {
	Label string      `parser:"@Label?"`
	Sides []*sideNode `parser:"@@ ( Relation @@ )*"`
	Last  string      `parser:"@Label?"`
}

type sideNode struct {
	Approx bool   `parser:"@Approx?"`
	Expr   Expr   `parser:"@@"`
	Unit   string `parser:"@Unit?"`
}

// symbolTable is the lexer definition participle builds the grammar against.
// Lines come in as tokens, so it never reads text itself.
type symbolTable struct{}

func (symbolTable) Symbols() map[string]lexer.TokenType { return tokenNames }

func (symbolTable) Lex(string, io.Reader) (lexer.Lexer, error) { return &stream{}, nil }

var lineParser = participle.MustBuild[lineNode](
	participle.Lexer(symbolTable{}),
	participle.ParseTypeWith(climbExpr),
)

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
