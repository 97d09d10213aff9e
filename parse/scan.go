package parse

import (
	"strings"
	"unicode"
	"unicode/utf8"

	"github.com/alecthomas/participle/v2/lexer"
)

// scanner cuts a line into raw tokens. It knows characters only: which words
// are names, units or signs is settled by the words pass.
type scanner struct {
	p     *plain
	comma bool // the script writes a decimal comma
	out   []token
	at    int
	glued bool
	gap   bool
	tab   bool
	over  []int // closing braces that end the upper part of a typeset fraction
}

// scan appends the raw tokens of p to out.
func scan(p *plain, comma bool, out []token) []token {
	s := scanner{p: p, comma: comma, out: out}
	s.run()
	return s.out
}

func (s *scanner) emit(kind lexer.TokenType, from, to int) {
	s.emitText(kind, s.p.text[from:to], from, to)
}

func (s *scanner) emitText(kind lexer.TokenType, text string, from, to int) {
	s.out = append(s.out, token{
		kind: kind, text: text, line: int32(s.p.line),
		from: int32(s.p.col(from)), to: int32(s.p.endCol(to)), glued: s.glued, gap: s.gap, tab: s.tab,
	})
	s.glued, s.gap, s.tab = true, false, false
	s.at = to
}

func (s *scanner) run() {
	t := s.p.text
	for s.at < len(t) {
		i := s.at
		switch c := t[i]; {
		case c == ' ' || c == '\t':
			s.blanks()
		case isDigit(c) || c == '.' && i+1 < len(t) && isDigit(t[i+1]) && !s.afterWord():
			s.number()
		case c == '+':
			if strings.HasPrefix(t[i:], "+-") || strings.HasPrefix(t[i:], "+/-") {
				s.emitText(tOther, "±", i, i+2)
				break
			}
			if n := signWord(t[i:]); n > 0 {
				s.emit(tWord, i, i+n)
				break
			}
			s.emit(tOp, i, i+1)
		case c == '-':
			if n := signWord(t[i:]); n > 0 {
				s.emit(tWord, i, i+n)
				break
			}
			s.minus()
		case c == '*':
			if strings.HasPrefix(t[i:], "**") {
				s.emitText(tOp, "^", i, i+2)
				break
			}
			s.emit(tOp, i, i+1)
		case c == '/' && i+1 < len(t) && t[i+1] == '/':
			s.emit(tOther, i, i+2) // a sign for parallel
		case c == '/' || c == '^':
			s.emit(tOp, i, i+1)
		case strings.HasPrefix(t[i:], "[-]") || strings.HasPrefix(t[i:], "(-)"):
			s.at, s.glued = i+3, false // no unit
		case c == '(' || c == '[' || c == '{':
			s.emit(tOpen, i, i+1)
		case c == ')' || c == ']' || c == '}':
			s.emit(tClose, i, i+1)
			s.stroke(i)
		case c == '=':
			s.equals()
		case c == ':':
			if strings.HasPrefix(t[i:], ":=") {
				s.emitText(tRel, "=", i, i+2)
				break
			}
			if strings.HasPrefix(t[i:], ":-") && (i+2 == len(t) || !isDigit(t[i+2])) {
				s.emitText(tColon, ":", i, i+2)
				break
			}
			s.emit(tColon, i, i+1)
		case c == '~':
			if strings.HasPrefix(t[i:], "~=") {
				s.emitText(tRel, "≈", i, i+2)
				break
			}
			s.emit(tApprox, i, i+1)
		case c == '<' || c == '>' || c == '!':
			if i+1 < len(t) && t[i+1] == '=' {
				s.emit(tCompare, i, i+2)
			} else if c == '!' {
				j := i
				for j < len(t) && t[j] == '!' {
					j++
				}
				s.emitText(tStop, ".", i, j) // it ends a sentence
			} else {
				s.emit(tCompare, i, i+1)
			}
		case c == ',' || c == ';' || c == '|':
			s.emit(tSep, i, i+1)
		case c == '.':
			s.stop()
		case c == '%':
			s.emit(tPercent, i, i+1)
		case c == '\'' || c == '"':
			s.emit(tQuote, i, i+1)
		case c == '\\':
			s.command()
		case c == '$':
			s.at++ // the fence of a formula
			s.glued = false
		case c < utf8.RuneSelf && !isLetter(rune(c)):
			s.emit(tOther, i, i+1)
		default:
			s.symbol()
		}
	}
}

// signWord returns the length of "+ve" or "-ve" at the head of t, 0 for none.
func signWord(t string) int {
	if len(t) < 3 || lower(t[1:3]) != "ve" || len(t) > 3 && (isLetter(rune(t[3])) || isDigit(t[3])) {
		return 0
	}
	return 3
}

func isDigit(c byte) bool { return c >= '0' && c <= '9' }

func isLetter(r rune) bool {
	if r < utf8.RuneSelf {
		return r >= 'a' && r <= 'z' || r >= 'A' && r <= 'Z' || r == '_'
	}
	return unicode.IsLetter(r) || r == '∇'
}

func (s *scanner) afterWord() bool {
	if !s.glued || len(s.out) == 0 {
		return false
	}
	last := &s.out[len(s.out)-1]
	return last.kind == tWord && !endsInSign(last.text)
}

func (s *scanner) blanks() {
	n := 0
	for ; s.at < len(s.p.text); s.at++ {
		switch s.p.text[s.at] {
		case ' ':
			n++
		case '\t':
			n += 2
			s.tab = true
		default:
			s.glued, s.gap = false, n > 1
			return
		}
	}
	s.glued, s.gap = false, n > 1
}

// minus reads "-", the arrows "->" and "-->", and dashes of two signs.
func (s *scanner) minus() {
	t, i := s.p.text, s.at
	switch {
	case strings.HasPrefix(t[i:], "-->"):
		s.emitText(tArrow, "→", i, i+3)
	case strings.HasPrefix(t[i:], "->"):
		s.emitText(tArrow, "→", i, i+2)
	case strings.HasPrefix(t[i:], "--"):
		j := i
		for j < len(t) && t[j] == '-' {
			j++
		}
		s.emitText(tDash, "-", i, j)
	default:
		s.emit(tOp, i, i+1)
	}
}

// equals reads "=", "==", "=>", "=~"; "==" stays told apart for conditions.
func (s *scanner) equals() {
	t, i := s.p.text, s.at
	switch {
	case strings.HasPrefix(t[i:], "==>"):
		s.emitText(tArrow, "→", i, i+3)
	case strings.HasPrefix(t[i:], "=>"):
		s.emitText(tArrow, "→", i, i+2)
	case strings.HasPrefix(t[i:], "=="):
		s.emit(tRel, i, i+2)
	case strings.HasPrefix(t[i:], "=~"):
		s.emitText(tRel, "≈", i, i+2)
	default:
		s.emit(tRel, i, i+1)
	}
}

// stop reads a full stop: inside an abbreviation (K.B.) it joins the letters.
func (s *scanner) stop() {
	i, t := s.at, s.p.text
	if strings.HasPrefix(t[i:], "...") {
		j := i
		for j < len(t) && t[j] == '.' {
			j++
		}
		s.emit(tOther, i, j)
		return
	}
	s.emit(tStop, i, i+1)
}

// symbol reads a word, or a sign that is no ASCII.
func (s *scanner) symbol() {
	t, i := s.p.text, s.at
	r, n := utf8.DecodeRuneInString(t[i:])
	switch {
	case isLetter(r):
		s.word()
	case r == '≈':
		s.emit(tRel, i, i+n)
	case r == '→':
		s.emit(tArrow, i, i+n)
	case r == '∴':
		s.emit(tArrow, i, i+n)
	case r == '°':
		s.emitText(tUnit, "deg", i, i+n)
	case r == '√':
		s.emitText(tFunc, "sqrt", i, i+n)
	case r == '—':
		s.emitText(tDash, "-", i, i+n)
	case r == '≤':
		s.emitText(tCompare, "<=", i, i+n)
	case r == '≥':
		s.emitText(tCompare, ">=", i, i+n)
	case r == '≠':
		s.emitText(tCompare, "!=", i, i+n)
	case strings.ContainsRune(fractions, r):
		s.number()
	default:
		s.emit(tOther, i, i+n)
	}
}

// word reads a run of letters with inner apostrophes, as in ship's, and joins
// abbreviations of single letters, as in K.B.
func (s *scanner) word() {
	t, i := s.p.text, s.at
	j := i
	for j < len(t) {
		if c := t[j]; c < utf8.RuneSelf {
			if isLetter(rune(c)) {
				j++
				continue
			}
			if c == '\'' && j+1 < len(t) && isLetter(rune(t[j+1])) && t[j+1] != 'x' && t[j+1] != 'X' {
				j++
				continue
			}
			if c >= '0' && c <= '9' && j > i && underscored(t[i:j]) {
				j++
				continue
			}
			break
		}
		r, n := utf8.DecodeRuneInString(t[j:])
		if !isLetter(r) {
			break
		}
		j += n
	}
	if j == i+1 && j+1 < len(t) && t[j] == '.' && isLetter(rune(t[j+1])) && t[i] < utf8.RuneSelf {
		if text, end := dotted(t, i); text != "" {
			s.emitText(tWord, text, i, end)
			return
		}
	}
	if j < len(t) && t[j] == '\'' && !s.inQuotes(i) {
		j++ // a prime: KB'
	}
	s.emit(tWord, i, j)
}

// underscored reports whether a word is an identifier such as lost_volume,
// in which digits are letters.
func underscored(w string) bool { return strings.IndexByte(w, '_') >= 0 }

// inQuotes reports whether a quotation mark opens before i: one with a blank
// or a bracket before it.
func (s *scanner) inQuotes(before int) bool {
	t := s.p.text
	for i := 0; i < before; i++ {
		if t[i] == '\'' && i+1 < len(t) && isLetter(rune(t[i+1])) && (i == 0 || t[i-1] == ' ' || t[i-1] == '(' || t[i-1] == '=') {
			return true
		}
	}
	return false
}

// dotted reads single letters each with a full stop: K.B., r.d, t.p.c.
func dotted(t string, i int) (text string, end int) {
	var b strings.Builder
	for i+1 < len(t) && isLetter(rune(t[i])) && t[i+1] == '.' {
		b.WriteByte(t[i])
		i += 2
	}
	if i < len(t) && isLetter(rune(t[i])) && (i+1 == len(t) || !isLetter(rune(t[i+1]))) {
		b.WriteByte(t[i])
		i++
	} else if i < len(t) && isLetter(rune(t[i])) {
		return "", 0 // a.word: no abbreviation
	} else if t[i-1] == '.' && i < len(t) && !(t[i] == ' ' || t[i] == '=' || t[i] == ':') {
		i--
	}
	if b.Len() < 2 {
		return "", 0
	}
	return b.String(), i
}
