package parse

import (
	"strings"

	"github.com/alecthomas/participle/v2/lexer"
)

// namer answers which words are names, asking the lexicon once for each phrase.
type namer struct {
	lex   Lexicon
	memo  map[string]bool
	quick [128]byte
}

func newNamer(lex Lexicon) *namer { return &namer{lex: lex} }

func (n *namer) known(phrase string) bool {
	if n.lex == nil || phrase == "" {
		return false
	}
	if k, ok := n.memo[phrase]; ok {
		return k
	}
	k := n.lex.Known(phrase)
	if n.memo == nil {
		n.memo = map[string]bool{}
	}
	n.memo[phrase] = k
	return k
}

func (n *namer) knownBytes(phrase []byte) bool {
	if k, ok := n.memo[string(phrase)]; ok { // no copy is made for the look-up
		return k
	}
	return n.known(string(phrase))
}

// wordPass turns raw tokens into those of the grammar: names, units,
// functions, signs written as words. strict is the notation of rules, in which
// every word must be a name.
type wordPass struct {
	*namer
	strict  bool
	in      []token
	out     []token
	i       int
	calls   int               // open brackets of functions with several arguments
	colon   bool              // the script writes a colon for division
	caps    bool              // the script is in capitals
	aliases map[string]string // symbols that the script explains
}

func (w *wordPass) run() []token {
	for w.i < len(w.in) {
		t := &w.in[w.i]
		switch t.kind {
		case tNumber, tComma:
			w.number()
		case tWord:
			w.word()
		case tOther:
			if t.text == "•" || t.text == "✓" || t.text == "✔" {
				w.i++ // a mark of the editor
				break
			}
			w.take(tOther)
		case tClose:
			w.take(tClose)
			w.unit()
		case tStop:
			// lost vol./area: the point of an abbreviation
			if n := w.peek(1); t.glued && (n.kind == tOp || n.kind == tRel || n.kind == tClose || w.signX(1)) && isWordy(w.prev()) {
				w.i++
				break
			}
			if w.dotProduct() {
				w.put(tOp, "*", 1)
				break
			}
			w.take(tStop)
		case tOp:
			if t.text == "*" && !w.strict && w.starForX() {
				w.put(tName, "x", 1)
				break
			}
			w.take(tOp)
		case tColon:
			if w.ratio() {
				w.take(tOp)
				w.out[len(w.out)-1].text = "/"
				break
			}
			w.take(tColon)
		case tDash:
			if w.operandDue() || w.i+1 < len(w.in) && w.in[w.i+1].kind == tWord {
				w.take(tDash)
				break
			}
			w.take(tOp)
			w.out[len(w.out)-1].text = "-"
		case tRel:
			w.take(tRel)
			if !w.strict {
				if r := &w.out[len(w.out)-1]; r.text == "==" {
					r.text = "="
				}
			}
		case tApprox:
			w.take(tApprox)
			w.approxAfter()
		default:
			w.take(t.kind)
		}
	}
	return w.out
}

func isWordy(k lexer.TokenType) bool { return k == tWord || k == tName }

// starForX reports whether a multiplication sign stands where only an operand
// can, in a script whose quantity x an editor has turned into a sign.
func (w *wordPass) starForX() bool {
	k := w.prev()
	if k == tWord {
		// "the × will be", "So × ="
		last := lower(w.out[len(w.out)-1].text)
		return (articles[last] || joiners[last]) && (w.peek(1).kind == tRel || linkWords[lower(w.peek(1).text)] != nil) && w.known("x")
	}
	if k != tOp && k != tRel && k != tOpen && k != lexer.EOF && k != tSep {
		return false
	}
	switch n := w.peek(1); {
	case n.kind == tRel, k != lexer.EOF && k != tSep && (n.kind == tOp || n.kind == tClose || n.kind == lexer.EOF || n.is(tWord, "x")):
		return w.known("x")
	}
	return false
}

// take passes the token at hand on as kind.
func (w *wordPass) take(kind lexer.TokenType) {
	t := w.in[w.i]
	t.kind = kind
	w.out = append(w.out, t)
	w.i++
}

// put passes on tokens i to j as one of kind.
func (w *wordPass) put(kind lexer.TokenType, text string, n int) {
	t := w.in[w.i]
	t.kind, t.text = kind, text
	if n > 1 && w.in[w.i+n-1].line == t.line {
		t.to = w.in[w.i+n-1].to
	}
	w.out = append(w.out, t)
	w.i += n
}

func (w *wordPass) prev() lexer.TokenType {
	if len(w.out) == 0 {
		return lexer.EOF
	}
	return w.out[len(w.out)-1].kind
}

func (w *wordPass) peek(n int) *token {
	if w.i+n < len(w.in) {
		return &w.in[w.i+n]
	}
	return &noToken
}

var noToken = token{kind: lexer.EOF}

func isOperand(k lexer.TokenType) bool {
	switch k {
	case tNumber, tComma, tAngle, tName, tGuess, tClose, tPercent, tUnit:
		return true
	}
	return false
}

func (w *wordPass) operandDue() bool { return !isOperand(w.prev()) }

// startsOperand reports whether an operand can begin with t.
func startsOperand(t *token) bool {
	switch t.kind {
	case tNumber, tComma, tOpen, tWord, tFunc, tBad:
		return true
	}
	return t.is(tOp, "-")
}

func (w *wordPass) number() {
	if w.rank() {
		return
	}
	w.take(w.in[w.i].kind)
	w.fraction()
	if w.peek(0).kind == tPercent {
		w.take(tPercent)
		return
	}
	if t := w.peek(0); t.kind == tWord && !t.gap {
		switch lower(t.text) {
		case "percent", "pct":
			w.put(tPercent, "%", 1)
			return
		case "per":
			if u := lower(w.peek(1).text); u == "cent" {
				w.put(tPercent, "%", 2)
				return
			}
		}
	}
	w.unit()
}

// ranks are the ordinals that people write with a figure.
var ranks = map[string]string{"1st": "first", "2nd": "second", "3rd": "third"}

// rank reads 2nd and the like as the word that it is.
func (w *wordPass) rank() bool {
	t, s := &w.in[w.i], w.peek(1)
	if w.strict || !s.glued || s.kind != tWord || !allDigits(t.text) || len(t.text) > 2 {
		return false
	}
	text := t.text + lower(s.text)
	word, ok := ranks[text]
	if !ok {
		if l := lower(s.text); l != "th" || len(t.text) > 2 {
			return false
		}
		word = text
	}
	s.text, s.from, s.glued, s.gap, s.tab = word, t.from, t.glued, t.gap, t.tab
	w.i++
	w.word()
	return true
}

// figureAlone reports whether one figure stands at hand and ends the
// statement, with a unit at most.
func (w *wordPass) figureAlone() bool {
	if k := w.peek(0).kind; k != tNumber && k != tComma {
		return false
	}
	n := 1
	if t := w.peek(n); t.kind == tPercent {
		n++
	} else if _, k := matchUnit(w.in[min(w.i+n, len(w.in)):]); k > 0 {
		n += k
	}
	switch w.peek(n).kind {
	case lexer.EOF, tStop, tSep, tOpen:
		return true
	}
	return false
}

// fraction writes the sign into "1/12 LB^3" and "60/100 (14 x 18)": a proper
// fraction in figures with a blank behind it is one factor, and what follows
// does not belong under its line.
func (w *wordPass) fraction() {
	n := len(w.out)
	if n < 3 || n > 3 && (w.out[n-4].is(tOp, "^") || w.out[n-4].is(tOp, "/")) {
		return
	}
	num, line, den := &w.out[n-3], &w.out[n-2], &w.out[n-1]
	if !line.is(tOp, "/") || !line.glued || !den.glued || num.kind != tNumber || !allDigits(num.text) || !allDigits(den.text) ||
		len(num.text) > len(den.text) || len(num.text) == len(den.text) && num.text >= den.text {
		return
	}
	t := w.peek(0)
	if t.glued || t.gap || t.kind != tOpen && t.kind != tWord || t.kind == tWord && (t.text == "x" || t.text == "X" || w.strictWord(t)) {
		return
	}
	if t.kind == tWord {
		if u, _ := matchUnit(w.in[w.i:]); u != nil && !w.known(t.text) || !w.leadsToName(0) {
			return
		}
	}
	sign := *den
	sign.kind, sign.text, sign.from = tOp, "*", den.to
	w.out = append(w.out, sign)
}

// strictWord reports whether a word behind a figure means something else than a factor.
func (w *wordPass) strictWord(t *token) bool {
	l := lower(t.text)
	return l == "of" || breaks[l]
}

// approxAfter turns a sign of approximation behind an operand into a relation:
// "2.346 say 2.35".
func (w *wordPass) approxAfter() {
	n := len(w.out)
	if n > 2 && w.out[n-2].is(tSep, ",") && (isFigure(w.out[n-3].kind) || w.out[n-3].kind == tUnit || w.out[n-3].kind == tPercent) && w.figureAlone() {
		// "= 0.4286, say 42.9 %"
		w.out[n-2] = w.out[n-1]
		w.out = w.out[:n-1]
		n--
	}
	if n > 1 && (isFigure(w.out[n-2].kind) || w.out[n-2].kind == tUnit || w.out[n-2].kind == tPercent || w.out[n-2].kind == tClose || w.out[n-1].text == "~" && w.worded()) {
		w.out[n-1].kind, w.out[n-1].text = tRel, "≈"
	}
}

// worded reports whether the sign just passed on stands behind a name, or
// behind the last word of working written in words: "= d + rise of level ~ 4.79".
func (w *wordPass) worded() bool {
	n := len(w.out)
	if w.out[n-2].kind != tWord || n < 4 {
		return w.out[n-2].kind == tName
	}
	op := false
	for i := n - 3; i >= 0 && w.out[i].kind != tSep && w.out[i].kind != tStop; i-- {
		op = op || w.out[i].kind == tOp
		if isRel(w.out[i].kind) {
			return op
		}
	}
	return false
}

// unit takes a unit that stands at hand, behind a figure, a bracket or a name.
func (w *wordPass) unit() {
	t := w.peek(0)
	if t.kind == tOpen && (t.text == "(" || t.text == "[") {
		// a unit in brackets: 4.788 (m)
		if w.peek(1).kind != tWord && w.peek(1).kind != tUnit || t.glued && w.known(w.peek(1).text) {
			return
		}
		u, n := matchUnit(w.in[w.i+1:])
		if u == nil || w.peek(n+1).kind != tClose {
			return
		}
		w.put(tUnit, u.Text, n+2)
		w.out[len(w.out)-1].brackets = true
		return
	}
	if t.kind != tWord && t.kind != tUnit || w.i == 0 {
		return
	}
	if t.kind == tWord && w.strict && w.prev() != tNumber && w.prev() != tComma && w.known(t.text) {
		return
	}
	if w.keepsName(t) {
		return
	}
	if t.glued && t.text == "o" && !w.known("o") && (w.prev() == tNumber || w.prev() == tComma) {
		w.put(tUnit, "deg", 1) // 4.2o, a degree sign that was typed
		return
	}
	if w.unitAndSign() {
		return
	}
	u, n := matchUnit(w.in[w.i:])
	if u == nil {
		return
	}
	if next := w.peek(n); next.is(tOp, "^") && next.glued {
		return // a power of a symbol: no unit has it
	}
	if u.Text == "deg" && (w.prev() == tNumber || w.prev() == tComma) {
		w.angle(n)
		return
	}
	word := t.text
	w.put(tUnit, u.Text, n)
	if n == 1 && t.kind == tWord {
		w.out[len(w.out)-1].raw = word
	}
}

// keepsName reports whether the word t behind a figure is a symbol rather
// than a unit: capitals that the lexicon knows, as in 6.80 KG.
func (w *wordPass) keepsName(t *token) bool {
	if t.kind != tWord || !unitWords[lower(t.text)] {
		return false
	}
	if w.caps && (t.text == "M" || t.text == "T") {
		// 0.946 M in a script in capitals: no product with a symbol
		switch k := w.peek(1).kind; {
		case !isFigure(w.prev()):
		case k == tOp, k == tOpen, k == tNumber:
		default:
			return false
		}
	}
	return t.text != lower(t.text) && w.known(t.text)
}

// unitAndSign splits a unit with a multiplication glued to it: 14mx18mx3m,
// 58 sq mx46.5.
func (w *wordPass) unitAndSign() bool {
	for k := range 3 {
		t := w.peek(k)
		n := len(t.text)
		if t.kind != tWord || t.gap || k > 0 && t.glued {
			return false
		}
		if n < 2 || n > 8 || t.text[n-1] != 'x' && t.text[n-1] != 'X' {
			continue
		}
		if !startsOperand(w.peek(k+1)) || w.known(t.text) {
			return false
		}
		words := make([]token, 0, 3)
		words = append(words, w.in[w.i:w.i+k+1]...)
		words[k].text = t.text[:n-1]
		u, taken := matchUnit(words)
		if u == nil || taken != k+1 {
			return false
		}
		sign := *t
		sign.kind, sign.text, sign.from, sign.glued = tOp, "*", t.to-1, true
		w.put(tUnit, u.Text, k+1)
		w.out[len(w.out)-1].to--
		w.out = append(w.out, sign)
		return true
	}
	return false
}

// angle takes a degree sign with the minutes and seconds behind it, if any.
func (w *wordPass) angle(n int) {
	text := w.out[len(w.out)-1].text + "°"
	k, took := n, false
	for _, marks := range [2][6]string{{"'", "min", "mins", "minutes", "minute", "m"}, {"\"", "sec", "secs", "seconds", "second", "s"}} {
		if t := w.peek(k); t.kind == tOther && t.text == "," || t.kind == tSep && t.text == "," {
			break
		}
		f, m := w.peek(k), w.peek(k+1)
		if f.kind != tNumber && f.kind != tComma || f.gap || m.kind != tWord && m.kind != tQuote {
			break
		}
		mark := lower(m.text)
		found := false
		for i, s := range marks {
			found = found || mark == s && (i < 5 || m.glued)
		}
		if !found {
			break
		}
		text += " " + f.text + [2]string{"'", "\""}[b2i(took)]
		took = true
		k += 2
	}
	if !took {
		w.put(tUnit, "deg", n)
		return
	}
	last := &w.out[len(w.out)-1]
	end := w.peek(k - 1)
	last.kind, last.text, last.to = tAngle, text, end.to
	w.i += k
}

func b2i(b bool) int {
	if b {
		return 1
	}
	return 0
}

// lower is strings.ToLower that does not copy what is lower already.
func lower(s string) string { return strings.ToLower(s) }

// maxPhrase is how many words a name can have.
const maxPhrase = 8

// phrase returns the longest run of words at hand that the lexicon knows, and
// how many tokens it takes. Keywords of arithmetic end a run.
func (w *wordPass) phrase() (text string, n int) {
	var ends [maxPhrase]int
	var cut [maxPhrase]int
	var tokens [maxPhrase]int
	buf := w.quick[:0]
	words := 0
	hyphens := false
	for k := 0; words < maxPhrase; {
		t := w.peek(k)
		if t.kind != tWord || k > 0 && (t.gap || t.line != w.in[w.i].line) {
			break
		}
		if k == 0 && articles[lower(t.text)] {
			// a name has no article; the letter a may be a symbol
			if len(t.text) == 1 && w.known(t.text) {
				return t.text, 1
			}
			return "", 0
		}
		if breaksPhrase(t.text) && (k > 0 || len(t.text) > 1) && !(t.text == "by" && holders[string(buf[cut[max(words-1, 0)]:])]) || len(buf)+len(t.text) > 100 {
			break
		}
		if words > 0 {
			buf = append(buf, ' ')
		}
		cut[words] = len(buf)
		buf = append(buf, t.text...)
		k++
		// a digit behind the letters belongs to them: KB1; or stands apart: GM 1
		if d := w.peek(k); d.kind == tNumber && d.glued && len(d.text) <= 2 && allDigits(d.text) && !endsInSign(t.text) {
			buf = append(buf, d.text...)
			k++
		}
		ends[words], tokens[words] = len(buf), k
		words++
		if d := w.peek(k); words > 1 && d.text == "1" && d.kind == tNumber && !d.glued && !d.gap && (t.text == "of" || t.text == "by") && w.peek(k+1).kind == tWord {
			buf = append(buf, " 1"...) // the volume of 1 tonne
			k++
		}
		switch t := w.peek(k); {
		case t.is(tOp, "-") && t.glued && w.peek(k+1).glued && w.peek(k+1).kind == tWord:
			hyphens = true
			k++
		case t.kind == tStop && t.glued && w.peek(k+1).kind == tWord && !w.peek(k+1).gap:
			k++
		case t.is(tOp, "/") && t.glued && w.peek(k+1).glued && w.peek(k+1).kind == tWord && len(t.text) < 3:
			// W/L as a word: tried whole, with its stroke
			if tail := w.peek(k + 1); len(buf)+1+len(tail.text) < 100 {
				whole := append(append(append([]byte(nil), buf...), '/'), tail.text...)
				if w.knownBytes(whole) {
					return string(whole), k + 2
				}
			}
			goto done
		}
	}
done:
	for m := words; m > 0; m-- {
		run := buf[:ends[m-1]]
		if m > 1 && edgeNoise(string(run[cut[m-1]:])) {
			continue // a joining word at the end is no part of a name
		}
		if t := w.peek(tokens[m-1]); t.kind == tNumber && len(t.text) == 1 && !t.glued && !t.gap && isDigit(t.text[0]) {
			with := append(append([]byte(nil), run...), ' ', t.text[0])
			if u := w.peek(tokens[m-1] + 1); u.kind == tWord && !u.gap && len(u.text) < 4 {
				// MCT 1cm
				whole := append([]byte(nil), with...)
				if !u.glued {
					whole = append(whole, ' ')
				}
				if whole = append(whole, u.text...); w.knownBytes(whole) {
					return string(whole), tokens[m-1] + 2
				}
			}
			if w.knownBytes(with) && !w.digitIsFigure(tokens[m-1]) {
				return string(with), tokens[m-1] + 1
			}
		}
		if w.knownBytes(run) {
			return string(run), tokens[m-1]
		}
		if hyphens && m > 1 {
			h := strings.ReplaceAll(string(run), " ", "-")
			if w.known(h) {
				return h, tokens[m-1]
			}
		}
	}
	return "", 0
}

// edgeNoise reports whether a word can't be the last of a name. A capital
// alone is a symbol: second moment I.
func edgeNoise(word string) bool {
	if len(word) == 1 && word[0] <= 'Z' {
		return false
	}
	return noise[lower(word)]
}

// digitIsFigure reports whether the lone digit n tokens on is a figure of the
// working ("KB 2 + 3") and no mark of a name ("GM 1 = ").
func (w *wordPass) digitIsFigure(n int) bool {
	t := w.peek(n + 1)
	if k := w.peek(n + 2).kind; t.kind == tOp && (t.glued || t.text == "/") && (k == tNumber || k == tComma) {
		return true // space per tonne 1/0.95
	}
	return w.peek(n).text > "3" || t.kind == tUnit || t.kind == tPercent || t.kind == tWord && unitWords[lower(t.text)] || t.kind == lexer.EOF
}

func allDigits(s string) bool {
	for i := 0; i < len(s); i++ {
		if !isDigit(s[i]) {
			return false
		}
	}
	return s != ""
}

// endsInSign reports whether a word ends in an x that may be a multiplication.
func endsInSign(s string) bool {
	c := s[len(s)-1]
	return c == 'x' || c == 'X'
}
