package parse

import (
	"strings"
	"unicode/utf8"

	"github.com/alecthomas/participle/v2/lexer"
)

// piece is a symbol cut from a word, or the sign between two.
type piece struct {
	from, to int // bytes
	sign     byte
}

// maxCut is the longest word that is tried as a product of symbols.
const maxCut = 12

// cut splits a word into symbols that the lexicon knows (LBd), with x between
// them as a sign (LxBxd): the fewest symbols, so the longest. It returns nil
// where the word is no product.
func (n *namer) cut(word string) []piece {
	if len(word) >= 2 && plainEnglish[english(word)] {
		return nil
	}
	return n.cutAny(word)
}

// cutAny is cut for a word that stands where only an operand can: there even
// an English one may be a product, as in "moment = we".
func (n *namer) cutAny(word string) []piece {
	if len(word) < 2 || len(word) > maxCut*2 || utf8.RuneCountInString(word) > maxCut {
		return nil
	}
	type state struct {
		cost   int
		from   int
		sign   bool // an x sign stands before the symbol
		symbol bool
	}
	var best [maxCut*2 + 1]state
	for i := range best {
		best[i].cost = 1 << 20
	}
	best[0].cost = 0
	for i := 0; i < len(word); i++ {
		if best[i].cost >= 1<<20 || !utf8.RuneStart(word[i]) {
			continue
		}
		for lead := 0; lead < 2; lead++ {
			from := i
			if lead == 1 {
				if i == 0 || word[i] != 'x' && word[i] != 'X' {
					break
				}
				from++
			}
			for to := from + 1; to <= len(word) && to-from <= 8; to++ {
				if to < len(word) && (!utf8.RuneStart(word[to]) || isDigit(word[to])) || isDigit(word[from]) {
					continue
				}
				if from == 0 && to == len(word) {
					continue
				}
				if lettersIn(word[from:to]) > 1 && !(from == 0 || lead == 1) || lettersIn(word[from:to]) > 1 && to < len(word) && word[to] != 'x' && word[to] != 'X' {
					continue // GML is a name that is not known, and no GM times L
				}
				if cost := best[i].cost + 4 - lead; cost < best[to].cost && n.known(word[from:to]) {
					best[to] = state{cost, i, lead == 1, true}
				}
			}
		}
	}
	if best[len(word)].cost >= 1<<20 {
		return nil
	}
	var out []piece
	for j := len(word); j > 0; {
		s := best[j]
		from := s.from
		if s.sign {
			from++
		}
		out = append(out, piece{from, j, 0})
		if s.sign {
			out = append(out, piece{s.from, from, '*'})
		}
		j = s.from
	}
	for i, j := 0, len(out)-1; i < j; i, j = i+1, j-1 {
		out[i], out[j] = out[j], out[i]
	}
	if !plausible(word, out) {
		return nil
	}
	return out
}

// english gives a word as a list of English has it: The is the, but LBd stays.
func english(word string) string {
	if word[0] >= 'A' && word[0] <= 'Z' && word[1:] == strings.ToLower(word[1:]) {
		return strings.ToLower(word)
	}
	return word
}

// neverProduct are words that can stand alone behind "=" and mean themselves.
var neverProduct = set("abt the and all are was has had see nil low max min ok yes no bad same half void this that high next then good")

// plausible refuses a product that repeats a symbol side by side ("all") or
// has more symbols than any formula writes in one go.
func plausible(word string, ps []piece) bool {
	if len(ps) > 9 || len(ps) > 5 && !strings.ContainsAny(word, "xX") && isASCII(word) && word[1:] == strings.ToLower(word[1:]) {
		return false // Sideways is a word
	}
	for i := 1; i < len(ps); i++ {
		if ps[i].sign != 0 || ps[i-1].sign != 0 {
			continue
		}
		a, b := word[ps[i-1].from:ps[i-1].to], word[ps[i].from:ps[i].to]
		if a == b && (a[0] < 'A' || a[0] > 'Z') {
			return false
		}
	}
	return true
}

// likeEnglish reports whether a word could be English, whatever its letters
// stand for: same, side, head.
func likeEnglish(word string) bool {
	return len(word) > 3 && !strings.ContainsAny(word, "xX") && word == strings.ToLower(word) && strings.ContainsAny(word, "aeiou") && isASCII(word)
}

// enclosed reports whether the word at hand is an operand all by itself: signs
// on both sides, or nothing.
func (w *wordPass) enclosed(n int) bool {
	switch w.prev() {
	case tOp, tRel, tOpen, tFunc:
	default:
		return false
	}
	switch w.peek(n).kind {
	case tOp, tRel, tClose, lexer.EOF:
		return true
	}
	return false
}

func isASCII(s string) bool {
	for i := 0; i < len(s); i++ {
		if s[i] >= utf8.RuneSelf {
			return false
		}
	}
	return true
}

func lettersIn(s string) int {
	n := 0
	for _, c := range s {
		if isLetter(c) {
			n++
		}
	}
	return n
}

// symbols passes on a word that is a product of symbols, where it stands among
// signs and figures; in prose it stays a word.
func (w *wordPass) symbols(t *token) bool {
	word, n := t.text, 1
	if d := w.peek(1); d.kind == tNumber && d.glued && len(d.text) <= 2 && allDigits(d.text) && !endsInSign(word) {
		word, n = word+d.text, 2
	}
	if len(word) < 2 || !w.amongSigns(n) {
		return false
	}
	// an x sign at the end: Lx 14
	if endsInSign(word) && startsOperand(w.peek(1)) {
		head := word[:len(word)-1]
		if w.known(head) {
			w.emitPieces(t, word, []piece{{0, len(head), 0}, {len(head), len(word), '*'}}, 1)
			return true
		}
		if ps := w.cut(head); ps != nil {
			w.emitPieces(t, word, append(ps, piece{len(head), len(word), '*'}), 1)
			return true
		}
	}
	if n == 2 && w.flatPower(t, word) {
		return true
	}
	if ps := w.cut(word); ps != nil && (!likeEnglish(word) || w.enclosed(n)) {
		w.emitPieces(t, word, ps, n)
		return true
	} else if ps == nil && len(word) < 5 && !neverProduct[english(word)] && w.enclosed(n) {
		if ps := w.cutAny(word); ps != nil {
			w.emitPieces(t, word, ps, n)
			return true
		}
	}
	if n == 2 {
		return false
	}
	return false
}

// flatPower reads LB3, a cube that lost its mark: LB³. Only capitals are read
// so, since d2 and KB1 are names, and a square only over a figure: B2/12d.
func (w *wordPass) flatPower(t *token, word string) bool {
	k := len(word) - 1
	head, digit := word[:k], word[k]
	if digit != '3' && digit != '2' || isDigit(head[len(head)-1]) {
		return false
	}
	ps := w.cut(head)
	if ps == nil {
		if !w.known(head) || utf8.RuneCountInString(head) > 1 {
			return false
		}
		ps = []piece{{0, len(head), 0}}
	}
	last := head[ps[len(ps)-1].from:]
	if utf8.RuneCountInString(last) > 1 || last[0] < 'A' || last[0] > 'Z' {
		return false
	}
	if digit == '2' && !(w.peek(2).is(tOp, "/") && w.peek(3).kind == tNumber) {
		return false // M1 - M2
	}
	if w.prev() == lexer.EOF && isRel(w.peek(2).kind) {
		return false // "L3 = " names something
	}
	w.emitPieces(t, head, ps, 1)
	d := w.in[w.i]
	d.kind = tOp
	d.text = "^"
	d.to = d.from
	w.out = append(w.out, d)
	w.take(tNumber)
	return true
}

func (w *wordPass) emitPieces(t *token, word string, ps []piece, n int) {
	runes := 0
	last := 0
	for i, p := range ps {
		out := *t
		runes += utf8.RuneCountInString(word[last:p.from])
		last = p.from
		out.from = min(t.from+int32(runes), t.to)
		end := out.from + int32(utf8.RuneCountInString(word[p.from:p.to]))
		if i == len(ps)-1 && n == 1 && p.to == len(t.text) {
			end = t.to
		}
		out.to = end
		if i > 0 {
			out.glued, out.gap = true, false
		}
		if p.sign != 0 {
			out.kind, out.text = tOp, "*"
		} else {
			out.kind, out.text, out.split = tName, word[p.from:p.to], true
		}
		w.out = append(w.out, out)
	}
	w.i += n
}

// amongSigns reports whether the word at hand stands among signs and figures:
// something of arithmetic on one side at least, and prose on neither.
func (w *wordPass) amongSigns(n int) bool {
	if w.strict {
		return true
	}
	before, after := 0, 0 // 1: arithmetic, -1: prose
	switch w.prev() {
	case tOp, tOpen, tFunc, tRel, tArrow, tNumber, tComma, tClose, tName, tApprox:
		before = 1
		if p := &w.out[len(w.out)-1]; p.kind == tName && !p.split && len(p.text) > 3 {
			before = 0
		}
	case tWord:
		before = -1
	}
	next := w.peek(n)
	switch next.kind {
	case tOp:
		after = 1
		if next.text == "-" && next.glued && w.peek(n+1).kind == tWord {
			after = 0
		}
	case tRel, tArrow:
		after = 1
	case tOpen, tClose:
		after = 1
	case tWord:
		l := lower(next.text)
		if l == "x" || funcs[l] != "" || w.cut(next.text) != nil || w.known(next.text) {
			after = 1
		} else if u, _ := matchUnit(w.in[w.i+n:]); u == nil && l != "cubed" && l != "squared" {
			after = -1
		}
	case lexer.EOF, tSep:
		after = 0
	}
	if isRel(next.kind) && (before < 0 || w.prev() == tName && !w.out[len(w.out)-1].split) {
		// words before "=" are a label: only capitals are symbols there
		t := w.peek(0)
		return strings.ToUpper(t.text) == t.text && strings.ToLower(t.text) != t.text
	}
	if before < 0 && after > 0 && (next.kind == tOp || next.kind == tRel || next.kind == tOpen) {
		return true // "Area LB = 96 x 18"
	}
	return before >= 0 && after >= 0 && before+after > 0
}

// dotProduct reports whether the point at hand stands between two symbols of a
// formula: LBd.rho, l.b.mu.
func (w *wordPass) dotProduct() bool {
	t, n := w.peek(0), w.peek(1)
	if w.strict || !t.glued || !n.glued || n.kind != tWord || len(n.text) > 3 || w.prev() != tName || len(w.out[len(w.out)-1].text) > 3 {
		return false
	}
	if !w.known(n.text) && w.cut(n.text) == nil {
		return false
	}
	for i := range w.out {
		if isRel(w.out[i].kind) {
			return true
		}
	}
	return false
}
