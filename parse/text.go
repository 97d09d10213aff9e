package parse

import (
	"strings"
	"unicode"
	"unicode/utf8"

	"golang.org/x/text/unicode/norm"
)

// plain is one line of text brought to a small alphabet: every kind of dash is
// "-", every multiplication mark "*", "³" is "^3". cols keeps, for each byte,
// the column of the character it came from, so that places are always those
// of the line as typed. cols is nil when text is the typed line itself in ASCII.
type plain struct {
	text   string
	cols   []int32
	end    int // column after the last character as typed
	line   int
	struck struckPart
}

// struckPart says how much of a line the student struck through.
type struckPart uint8

const (
	struckNone  struckPart = iota
	struckSome             // the struck pieces were taken out of the text
	struckFirst            // so they were, a statement at the head of the line among them: words are left
	struckAll              // nothing else stood on the line: the text is kept
)

// col returns the column of byte offset i.
func (p *plain) col(i int) int {
	if p.cols == nil {
		return i + 1
	}
	if i >= len(p.cols) {
		return p.end
	}
	return int(p.cols[i])
}

// endCol returns the column after the character whose last byte is at i-1.
func (p *plain) endCol(i int) int {
	if p.cols == nil {
		return i + 1
	}
	if i <= 0 {
		return 1
	}
	return int(p.cols[i-1]) + 1
}

// sub returns the part of p from byte i to byte j.
func (p *plain) sub(i, j int) plain {
	q := plain{text: p.text[i:j], line: p.line, end: p.endCol(j), struck: p.struck}
	if p.cols != nil {
		q.cols = p.cols[i:j]
		return q
	}
	if i > 0 {
		q.cols = make([]int32, j-i)
		for k := range q.cols {
			q.cols[k] = int32(i + k + 1)
		}
	}
	return q
}

// same maps characters of word processors to the one that is read. What is
// not here goes through NFKC.
var same = map[rune]string{
	'\u00a0': " ", '\u202f': " ", '\u205f': " ", '\u3000': " ", '\u2007': " ",
	'\u200b': "", '\u200c': "", '\u200d': "", '\u2060': "", '\ufeff': "", '\u00ad': "",
	'\u200e': "", '\u200f': "", '\ufe0e': "", '\ufe0f': "",
	'‘': "'", '’': "'", '‛': "'", '′': "'", 'ʹ': "'", '´': "'", 'ʼ': "'", '`': "'",
	'“': "\"", '”': "\"", '„': "\"", '″': "\"", 'ʺ': "\"",
	'−': "-", '–': "-", '‒': "-", '‐': "-", '‑': "-", '﹣': "-", '－': "-", '⁻': "^-",
	'—': "—", '―': "—",
	'×': "*", '✕': "*", '✖': "*", '⨯': "*", '∗': "*", '⁎': "*", '·': "*", '⋅': "*", '∙': "*", '᛫': "*", '・': "*", '☓': "*", '╳': "*", '⨉': "*",
	'÷': "/", '∕': "/", '⁄': "/", '➗': "/", '➕': "+", '➖': "-",
	'≈': "≈", '≅': "≈", '≃': "≈", '≒': "≈", '≐': "≈", '∼': "≈", '≋': "≈",
	'≡': "=", '＝': "=", '≔': "=", '꞊': "=", '═': "=",
	'→': "→", '⇒': "→", '⟹': "→", '➔': "→", '⟶': "→", '➜': "→", '⇨': "→", '➡': "→", '►': "→",
	'°': "°", 'º': "°", '˚': "°", '⁰': "^0",
	'½': "½", '¼': "¼", '¾': "¾", '⅓': "⅓", '⅔': "⅔", '⅛': "⅛", '⅜': "⅜", '⅝': "⅝", '⅞': "⅞", '⅙': "⅙", '⅚': "⅚", '⅕': "⅕",
	'µ': "μ", '∆': "Δ", '▽': "∇", '∑': "Σ", '∅': "ø", '⌀': "ø", 'ℓ': "l", 'Ω': "Ω",
	'≤': "≤", '≥': "≥", '≠': "≠", '…': "...", '│': "|", '┃': "|", '¦': "|", '∣': "|", '║': "|", '￨': "|",
	'①': "(1)", '②': "(2)", '③': "(3)", '④': "(4)", '⑤': "(5)", '⑥': "(6)", '⑦': "(7)", '⑧': "(8)", '⑨': "(9)", '⑩': "(10)",
	'─': "-", '━': "-", '‾': "_", '\t': "\t",
}

// superscripts are written as a power sign and the digit; a run of them shares one sign.
var superscript = map[rune]byte{
	'²': '2', '³': '3', '¹': '1', '⁴': '4', '⁵': '5', '⁶': '6', '⁷': '7', '⁸': '8', '⁹': '9', '⁰': '0', '⁻': '-', '⁺': '+',
}

const (
	strikeLong  = '\u0336'
	strikeShort = '\u0335'
	strikeSlash = '\u0338'
)

// plainText brings one line (without its line end) to the small alphabet.
func plainText(s string, line int) plain {
	p := plain{text: s, line: line, end: len(s) + 1}
	if isPlain(s) {
		return p
	}
	b := make([]byte, 0, len(s)+8)
	cols := make([]int32, 0, len(s)+8)
	struck := make([]bool, 0, len(s)+8)
	anyStruck := false
	put := func(t string, col int) {
		for i := 0; i < len(t); i++ {
			b = append(b, t[i])
			cols = append(cols, int32(col))
			struck = append(struck, false)
		}
	}
	col, last := 0, 0 // last: where the previous character begins in b
	inSuper, tilde := false, false
	for i := 0; i < len(s); {
		r, n := utf8.DecodeRuneInString(s[i:])
		i += n
		col++
		if r == '~' && i < len(s) && s[i] == '~' && (tilde || strings.Contains(s[i+1:], "~~")) {
			tilde = !tilde
			i++
			col++
			inSuper = false
			continue
		}
		if r == strikeLong || r == strikeShort || r == strikeSlash {
			for k := last; k < len(b); k++ {
				struck[k] = true
				anyStruck = true
			}
			continue
		}
		if d, ok := superscript[r]; ok {
			if !inSuper {
				last = len(b)
				put("^", col)
			}
			inSuper = true
			put(string(rune(d)), col)
			continue
		}
		inSuper = false
		if unicode.Is(unicode.Mn, r) {
			continue // an accent of its own adds nothing to a figure or a name
		}
		last = len(b)
		switch {
		case r >= ' ' && r < 0x7f && r != '`' || r == '\t':
			put(s[i-n:i], col)
		case r < ' ' || r == 0x7f:
			put(" ", col)
		default:
			if t, ok := same[r]; ok {
				put(t, col)
			} else {
				put(norm.NFKC.String(s[i-n:i]), col)
			}
		}
		if tilde {
			for k := last; k < len(b); k++ {
				struck[k] = true
				anyStruck = true
			}
		}
	}
	p.end = col + 1
	if anyStruck {
		b, cols, p.struck = dropStruck(b, cols, struck)
	}
	p.text, p.cols = string(b), cols
	return p
}

// isPlain reports whether s needs no change at all.
func isPlain(s string) bool {
	for i := 0; i < len(s); i++ {
		if c := s[i]; c < ' ' && c != '\t' || c >= 0x7f || c == '`' || c == '~' && i+1 < len(s) && s[i+1] == '~' {
			return false
		}
	}
	return true
}

// dropStruck takes struck characters out, unless nothing that counts stands beside them.
func dropStruck(b []byte, cols []int32, struck []bool) ([]byte, []int32, struckPart) {
	left := false
	for i, c := range b {
		if !struck[i] && (c >= '0' && c <= '9' || c >= 'a' && c <= 'z' || c >= 'A' && c <= 'Z' || c >= 0x80) {
			left = true
			break
		}
	}
	if !left {
		return b, cols, struckAll
	}
	n := 0
	statement := strikesStatement(b, struck)
	for i := range b {
		if struck[i] {
			// a single blank keeps the neighbours apart
			if n > 0 && b[n-1] != ' ' {
				b[n], cols[n] = ' ', cols[i]
				n++
			}
			continue
		}
		if b[i] == ' ' && n > 0 && b[n-1] == ' ' && i > 0 && struck[i-1] {
			continue
		}
		b[n], cols[n] = b[i], cols[i]
		n++
	}
	if statement && remark(string(b[:n])) {
		return b[:n], cols[:n], struckFirst
	}
	return b[:n], cols[:n], struckSome
}

// strikesStatement reports whether the first thing on a line, bullets apart,
// is struck through and holds a "=".
func strikesStatement(b []byte, struck []bool) bool {
	i := 0
	for i < len(b) && strings.IndexByte(" \t-*>", b[i]) >= 0 && !struck[i] {
		i++
	}
	for ; i < len(b) && struck[i]; i++ {
		if b[i] == '=' {
			return true
		}
	}
	return false
}

// remark reports whether what is left of a line is words about what was struck.
func remark(t string) bool {
	t = strings.TrimLeft(t, " \t-*>([")
	return t != "" && isLetter(rune(t[0])) && strings.Contains(t, " ") && !strings.ContainsAny(t, "=≈")
}
