package parse

import (
	"github.com/alecthomas/participle/v2/lexer"
)

// A line may hold several statements. It is first cut wherever one could end;
// then pieces that do not stand on their own are joined again.

// maxSegments bounds the pieces of one line, and with them the work on it.
const maxSegments = 64

// segment is a piece of a line between two places where a statement could end.
type segment struct {
	ts  []token
	sep sepKind // what stands before it
	at  token   // the token that parted it, if any
	// behind a full stop: how many words stand before it, 0 where the last may
	// be cut short, as in vol.
	after int
	same  bool // a second figure of what the piece before it states
	// what the figures before it differ by
	change bool
	heads  bool // words in front of a list of names with their figures
}

func startsUpper(ts []token) bool { c := ts[0].text[0]; return c >= 'A' && c <= 'Z' }

// wordsBefore counts the words of a piece that ends in a whole word, or in some
// in brackets.
func wordsBefore(ts []token) int {
	n := len(ts)
	if n > 0 && ts[n-1].kind == tClose {
		open := n - 1
		for open > 0 && ts[open].kind != tOpen {
			open--
		}
		if countWords(ts[open:]) < 3 {
			return 0
		}
		return countWords(ts)
	}
	if n == 0 || !wordy(&ts[n-1]) {
		return 0
	}
	words := countWords(ts)
	if k := len(ts[n-1].text); k < 3 || k == 3 && words < 5 {
		return 0
	}
	return words
}

type sepKind uint8

const (
	sepNone   sepKind = iota
	sepStrong         // ; | and the end of a sentence
	sepComma          // a comma, and, so, hence
	sepGap            // white space of some width
	sepColon          // a colon
	sepArrow          // ⇒ before a new label
)

// facts is what can be told of a segment without reading it.
type facts struct {
	rel      int  // index of the first relation outside brackets, -1 for none
	figure   bool // holds a number
	op       bool // holds a sign of arithmetic between operands
	label    bool // only words and small marks stand before the relation
	known    bool // a name stands before the relation or the first figure
	bare     bool // a known name with a figure directly behind it, no relation
	words    bool // nothing but words
	leadsRel bool
}

// outside marks, for each token, whether it stands outside all brackets. A
// bracket that is never closed counts for nothing.
func outside(ts []token, buf []bool) []bool {
	buf = buf[:0]
	for range ts {
		buf = append(buf, true)
	}
	depth := 0
	var opens [64]int
	var spans [][2]int
	for i := range ts {
		switch ts[i].kind {
		case tOpen:
			if depth < len(opens) {
				opens[depth] = i
			}
			depth++
		case tClose:
			if depth > 0 {
				depth--
				if depth < len(opens) {
					spans = append(spans, [2]int{opens[depth], i})
				}
			}
		}
	}
	// the closed pairs come innermost first; an outer pair covers its inner ones
	for k := len(spans) - 1; k >= 0; k-- {
		from, to := spans[k][0], spans[k][1]
		if !buf[from] {
			continue
		}
		for i := from; i <= to; i++ {
			buf[i] = false
		}
	}
	return buf
}

func isRel(k lexer.TokenType) bool { return k == tRel || k == tArrow }

func isFigure(k lexer.TokenType) bool { return k == tNumber || k == tComma || k == tAngle }

// split parts a line into statements.
func (r *lineReader) split(ts []token) []segment {
	r.out = outside(ts, r.out)
	var segs []segment
	cut := func(from, to int, sep sepKind, at token) {
		s := segment{ts: ts[from:to:to], sep: sep, at: at}
		if n := len(segs); n > 0 && at.kind == tStop {
			s.after = wordsBefore(segs[n-1].ts)
		}
		segs = append(segs, s)
	}
	from, sep, at := 0, sepNone, token{}
	unknownEquals(ts)
	for i := range ts {
		if i < from || !r.out[i] && !r.opensPiece(ts, i) {
			continue
		}
		if len(segs) >= maxSegments {
			break // no line of a student has so many statements
		}
		t := &ts[i]
		kind, drop := sepNone, 1
		switch t.kind {
		case tSep:
			kind = sepComma
			if t.text != "," {
				kind = sepStrong
			}
		case tStop:
			if i+1 < len(ts) && !ts[i+1].glued {
				kind = sepStrong
			}
		case tColon:
			kind = sepColon
		case tWord:
			if sepWords[lower(t.text)] && i > from {
				kind = sepComma
			}
		case tDash, tOp:
			// "After bilging - KB = 2.35": a dash behind a heading of the line
			if t.text == "-" && i > from && !t.glued && i+1 < len(ts) && !ts[i+1].glued && headsLine(ts[from:i]) && ts[i+1].kind == tName && r.newLabel(ts[i+1:]) {
				kind = sepColon
			} else if t.text == "-" && i > from && !t.glued && i+1 < len(ts) && !ts[i+1].glued && (isFigure(ts[i-1].kind) || ts[i-1].kind == tUnit) && ts[i+1].kind == tWord && likens[lower(ts[i+1].text)] {
				kind = sepStrong // "13444.4 m3 - same as 2204 x 6.1"
			}
		case tArrow:
			if i > from && (r.newLabel(ts[i+1:]) || hasRel(ts[from:i]) && (symbolsEqual(ts[i+1:]) || unknownEquals(ts[i+1:]))) {
				kind = sepArrow
			}
		}
		if kind == sepNone && i > from && !t.glued && wordy(t) && r.labelBehindResult(ts, from, i) {
			kind, drop = sepGap, 0
		}
		if kind == sepNone && i > from+2 && t.is(tOp, "/") && ts[i-1].kind == tUnit && i+3 < len(ts) && ts[i+1].kind == tName && len(ts[i+1].text) > 1 && isRel(ts[i+2].kind) && r.resultBefore(ts, from, i) {
			kind = sepStrong // KB=2.25m/BM=6.00m
		}
		if kind == sepNone && t.gap && i > from && !isRel(t.kind) && !isRel(ts[i-1].kind) && !signAcross(ts, i) {
			kind, drop = sepGap, 0
		}
		if kind == sepNone {
			continue
		}
		cut(from, i, sep, at)
		from, sep, at = i+drop, kind, *t
	}
	cut(from, len(ts), sep, at)
	return r.rejoin(segs)
}

// opensPiece reports whether a bracket behind a gap may begin a statement: one
// with a relation of its own, as in "l = 12.5   (74 - 12.5) x 12 = 738".
func (r *lineReader) opensPiece(ts []token, i int) bool {
	if ts[i].kind != tOpen || !ts[i].gap || i > 0 && !r.out[i-1] {
		return false
	}
	for j := i + 1; j < len(ts); j++ {
		if r.out[j] && isRel(ts[j].kind) {
			return true
		}
	}
	return false
}

// signAcross reports whether the gap before i stands beside a sign of
// arithmetic with blanks on both sides of it: 3.60  +  0.31.
func signAcross(ts []token, i int) bool {
	if ts[i].kind == tOp && i+1 < len(ts) && ts[i+1].gap && isOperand(ts[i-1].kind) {
		return true
	}
	return i > 1 && ts[i-1].kind == tOp && ts[i-1].gap && isOperand(ts[i-2].kind)
}

// resultBefore reports whether a result stands right before i: a relation, and
// a figure with no name about it.
func (r *lineReader) resultBefore(ts []token, from, i int) bool {
	k := i - 1
	if k > from && (ts[k].kind == tUnit || ts[k].kind == tPercent) {
		k--
	}
	if !isFigure(ts[k].kind) && ts[k].kind != tClose {
		return false
	}
	if k == i-1 && isHalf(&ts[k]) {
		return false // of what follows: KB = ½ d2
	}
	for ; k >= from; k-- {
		switch ts[k].kind {
		case tRel, tArrow:
			return k > from
		case tName, tGuess, tWord:
			return false
		}
	}
	return false
}

// isHalf reports whether a figure is one half, which is seldom a result.
func isHalf(t *token) bool {
	return t.kind == tNumber && (t.text == "½" || t.text == "0.5" || t.text == ".5" || t.raw == "½")
}

// labelBehindResult reports whether the words from i to the next "=" name a
// new quantity: what stands before them is the result of the last one.
func (r *lineReader) labelBehindResult(ts []token, from, i int) bool {
	if !r.resultBefore(ts, from, i) {
		return false
	}
	j, known := i, false
	for j < len(ts) && (wordy(&ts[j]) || ts[j].kind == tNumber && len(ts[j].text) == 1 && j > i) {
		known = known || ts[j].kind == tName && (len(ts[j].text) > 1 || j == i && !hasOp(ts[from:i]))
		j++
	}
	if j == len(ts) || !isRel(ts[j].kind) || j == len(ts)-1 || ts[j].text == ":" {
		return false
	}
	c := ts[i].text[0]
	return known || c >= 'A' && c <= 'Z'
}

// sepWords can stand between two statements.
var sepWords = set("and so hence thus therefore then but while whereas where giving & with")

// likens are words behind a dash that say that a figure comes out another way too.
var likens = set("same equal equals check checks checking also agrees agreeing namely")

// newLabel reports whether ts begins with words for a new quantity and "=".
func (r *lineReader) newLabel(ts []token) bool {
	n := 0
	for i := range ts {
		switch t := &ts[i]; {
		case t.kind == tWord || t.kind == tName:
			n++
		case isRel(t.kind):
			return n > 0
		case t.kind == tNumber && len(t.text) == 1 && n > 0:
		default:
			return false
		}
	}
	return false
}

// headsLine reports whether ts is words alone, with one at least that is no name.
func headsLine(ts []token) bool {
	unknown := false
	for i := range ts {
		switch ts[i].kind {
		case tWord:
			unknown = true
		case tName:
		default:
			return false
		}
	}
	return unknown && ts[len(ts)-1].kind == tWord
}

func (r *lineReader) facts(ts []token) facts {
	f := facts{rel: -1, words: true, label: true}
	depth := 0
	for i := range ts {
		t := &ts[i]
		switch t.kind {
		case tOpen:
			depth++
		case tClose:
			depth--
		case tRel, tArrow:
			if depth <= 0 && f.rel < 0 {
				f.rel = i
				f.leadsRel = i == 0
			}
		case tNumber, tComma, tAngle:
			f.figure = true
			if f.rel < 0 && depth <= 0 && !(len(t.text) == 1 && t.kind == tNumber && i+1 < len(ts) && isRel(ts[i+1].kind)) {
				f.label = false
			}
			f.words = false
		case tOp, tFunc:
			if i > 0 || t.kind == tFunc {
				f.op = true
			}
			if f.rel < 0 {
				f.label = false
			}
			f.words = false
		case tName:
			if f.rel < 0 && !f.figure {
				f.known = true
			}
			next := i + 1 // "floats at 5.193 m", "a KB of 2.35 m"
			if next < len(ts) && ts[next].kind == tWord && leadsOn[lower(ts[next].text)] {
				next++
			}
			if next < len(ts) && isFigure(ts[next].kind) && f.rel < 0 && !f.figure {
				f.bare = true
			}
		case tUnit, tPercent, tBad:
			f.words = false
		}
	}
	if f.rel >= 0 {
		f.words, f.bare = false, false
	}
	f.label = f.label && f.rel > 0
	return f
}

// leadsOn are the small words between a name and its figure.
var leadsOn = set("at of")

func (f *facts) complete() bool { return f.rel >= 0 || f.figure }

func hasRel(ts []token) bool {
	for i := range ts {
		if isRel(ts[i].kind) {
			return true
		}
	}
	return false
}

// symbolsEqual reports whether ts begins with an expression in symbols alone
// and "=": behind an arrow, an equation that follows from the one before.
func symbolsEqual(ts []token) bool {
	names := 0
	for i := range ts {
		switch ts[i].kind {
		case tName:
			names++
		case tOp, tOpen, tClose:
		case tRel:
			return names > 1
		default:
			return false
		}
	}
	return false
}

// anAngle reports whether a piece begins with a figure in degrees.
func anAngle(ts []token) bool {
	if len(ts) > 1 && ts[0].kind == tWord && sepWords[lower(ts[0].text)] {
		ts = ts[1:]
	}
	return ts[0].kind == tAngle || len(ts) > 1 && isFigure(ts[0].kind) && ts[1].kind == tUnit && ts[1].text == "deg"
}

// unknownEquals reports whether ts begins with so many times an unknown and
// "=": 2080 D = 14400. The letter belongs to the figure, with a blank or none.
func unknownEquals(ts []token) bool {
	if len(ts) < 4 || !isFigure(ts[0].kind) || ts[1].kind != tName || len(ts[1].text) > 1 || !isRel(ts[2].kind) {
		return false
	}
	ts[1].glued = true
	return true
}

// parallel reports whether a figure with a unit and words behind "and" is a
// second figure of what stands before it, put in the same way: "46.1 m from
// the bow and 53.9 m from the stern".
func (r *lineReader) parallel(cur, f *facts, s *segment) bool {
	n := len(s.ts)
	if cur.rel < 0 || f.rel >= 0 || f.op || n < 3 || !isFigure(s.ts[0].kind) || s.ts[1].kind != tUnit || lower(s.at.text) != "and" {
		return false
	}
	for i := 2; i < n; i++ {
		if !wordy(&s.ts[i]) && s.ts[i].kind != tStop {
			return false
		}
	}
	return true
}

// trailsWords reports whether words stand behind the last figure of a piece
// that ends in a result with its unit.
func trailsWords(ts []token) bool {
	i := len(ts) - 1
	for i >= 0 && wordy(&ts[i]) {
		i--
	}
	return i > 0 && i < len(ts)-1 && ts[i].kind == tUnit && isFigure(ts[i-1].kind)
}
