package parse

import "github.com/alecthomas/participle/v2/lexer"

// The kinds of token. The scanner makes those of the first block; the second
// block comes of the words pass, which asks the lexicon.
const (
	tNumber  lexer.TokenType = -2 - iota // 12, 1,576.8, 12½
	tComma                               // number written with a decimal comma
	tWord                                // letters, with a digit or prime behind them
	tOp                                  // + - * / ^
	tOpen                                // ( [ {
	tClose                               // ) ] }
	tRel                                 // = ≈ :
	tArrow                               // → ∴: "=" or the start of a new statement
	tSep                                 // , ; | and sentence ends
	tStop                                // a full stop
	tColon                               //
	tPercent                             //
	tQuote                               // ' or "
	tCompare                             // < > <= >= == !=
	tDash                                // a dash longer than a minus
	tOther                               // anything else
	tBad                                 // a figure that can't be read: text is the reason
	tName                                // known to the lexicon
	tGuess                               // unknown words that stand where a name must
	tFunc                                // tan, sqrt …
	tUnit                                // canonical text of a unit
	tApprox                              // about, say, ~
	tLabel                               // words for what is stated
	tArgSep                              // comma between the arguments of a function
	tAngle                               // degrees and minutes: 6° 11'
)

var tokenNames = map[string]lexer.TokenType{
	"EOF": lexer.EOF, "Number": tNumber, "Comma": tComma, "Word": tWord, "Op": tOp, "Open": tOpen, "Close": tClose,
	"Relation": tRel, "Arrow": tArrow, "Sep": tSep, "Stop": tStop, "Colon": tColon, "Percent": tPercent, "Quote": tQuote,
	"Compare": tCompare, "Dash": tDash, "Other": tOther, "Bad": tBad, "Name": tName, "Guess": tGuess, "Func": tFunc,
	"Unit": tUnit, "Approx": tApprox, "Label": tLabel, "ArgSep": tArgSep, "Angle": tAngle,
}

// token is one piece of a line, with its place and the white space before it.
type token struct {
	kind     lexer.TokenType
	text     string
	raw      string // a unit of one word: the word as typed
	line     int32
	from, to int32 // columns
	glued    bool  // nothing stands between it and the token before
	gap      bool  // two blanks or more, or a tab, before it
	tab      bool  // a tab before it
	split    bool  // a name cut out of a run of symbols
	brackets bool  // a unit with brackets about it
}

func (t *token) is(kind lexer.TokenType, text string) bool { return t.kind == kind && t.text == text }

func (t *token) span() Span { return Span{int(t.line), int(t.from), int(t.to)} }

// spanOf covers tokens a to b; over several lines, the part on the first.
func spanOf(ts []token) Span {
	if len(ts) == 0 {
		return Span{}
	}
	s := ts[0].span()
	for i := range ts {
		if int(ts[i].line) == s.Line && int(ts[i].to) > s.To {
			s.To = int(ts[i].to)
		}
	}
	return s
}

// join covers a and b; over several lines, the part on the first.
func join(a, b Span) Span {
	if b.Line == a.Line {
		if b.To > a.To {
			a.To = b.To
		}
		if b.From < a.From {
			a.From = b.From
		}
	}
	return a
}

// stream hands tokens to participle. Position.Offset carries the column after
// the token, which participle itself has no use for.
type stream struct {
	tokens []token
	next   int
}

// Next implements lexer.Lexer.
func (s *stream) Next() (lexer.Token, error) {
	if s.next >= len(s.tokens) {
		t := lexer.Token{Type: lexer.EOF}
		if n := len(s.tokens); n > 0 {
			last := &s.tokens[n-1]
			t.Pos = lexer.Position{Line: int(last.line), Column: int(last.to), Offset: int(last.to)}
		}
		return t, nil
	}
	t := &s.tokens[s.next]
	s.next++
	return lexer.Token{Type: t.kind, Value: t.text, Pos: lexer.Position{Line: int(t.line), Column: int(t.from), Offset: int(t.to)}}, nil
}

func spanAt(t *lexer.Token) Span { return Span{t.Pos.Line, t.Pos.Column, t.Pos.Offset} }
