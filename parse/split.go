package parse

import "github.com/alecthomas/participle/v2/lexer"

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

// wordsBefore counts the words of a piece that ends in a whole word.
func wordsBefore(ts []token) int {
	n := len(ts)
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
			if i+1 < len(ts) && isFigure(ts[i+1].kind) && f.rel < 0 && !f.figure {
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

func (f *facts) complete() bool { return f.rel >= 0 || f.figure }

// rejoin puts pieces that do not stand on their own back together.
func (r *lineReader) rejoin(segs []segment) []segment {
	out := segs[:1]
	cur := r.facts(out[0].ts)
	for i := 1; i < len(segs); i++ {
		s := segs[i]
		if len(s.ts) == 0 {
			if s.sep == sepColon && i+1 < len(segs) {
				segs[i+1].sep = max(segs[i+1].sep, sepColon)
			}
			continue
		}
		last := &out[len(out)-1]
		if len(last.ts) == 0 {
			last.ts, last.at = s.ts, s.at
			if last.sep == sepNone && s.sep == sepColon {
				last.sep = s.sep
			}
			cur = r.facts(last.ts)
			continue
		}
		f := r.facts(s.ts)
		if s.sep == sepGap && f.words && i+1 < len(segs) && segs[i+1].sep == sepGap && cur.complete() {
			// a name and its figure in columns of their own
			if g := r.facts(segs[i+1].ts); g.figure && g.rel < 0 && !g.known && f.known {
				s.ts = append(append([]token(nil), s.ts...), segs[i+1].ts...)
				f = r.facts(s.ts)
				i++
			}
		}
		if s.sep != sepColon && f.words && i+1 < len(segs) && segs[i+1].sep == sepColon && len(segs[i+1].ts) > 0 && cur.complete() {
			// "KB: 2.25  BM: 6.00": a name, a colon and its figure
			if g := r.facts(segs[i+1].ts); (g.figure || g.op) && !g.label && segs[i+1].ts[0].kind != tWord {
				s.ts = equated(&s, &segs[i+1])
				f = r.facts(s.ts)
				i++
			}
		}
		if s.sep == sepGap && cur.rel > 0 && f.rel < 0 && f.op && isFigure(s.ts[0].kind) && i+1 < len(segs) && segs[i+1].sep == sepColon && len(segs[i+1].ts) > 0 && resultFirst(segs[i+1].ts) && !r.facts(segs[i+1].ts).label {
			// "KB = 2.25   90 x 13 x 4.1: 4797": working behind a gap, a colon and its result
			s.ts = equated(&s, &segs[i+1])
			f = r.facts(s.ts)
			i++
		}
		if s.sep == sepComma && s.at.text == "," && cur.rel > 0 && f.label && !f.figure && !f.op && sayMove(s.ts[:f.rel]) {
			// "1.55 - 1.29 = 0.26 m, a fall = change of GM": the name stands last
			last.ts = append(append(make([]token, 0, len(last.ts)+len(s.ts)), last.ts...), s.ts...)
			cur = r.facts(last.ts)
			continue
		}
		if s.sep == sepStrong && s.at.kind == tStop && f.words && f.known && cur.complete() && i+1 < len(segs) && segs[i+1].sep == sepComma && segs[i+1].at.text == "," && len(segs[i+1].ts) > 0 {
			// ". KB is half of this, 5.43 / 2 = 2.72": the sentence names what its working comes to
			if g := r.facts(segs[i+1].ts); g.rel > 0 && g.op && !g.known && !g.label && isFigure(segs[i+1].ts[0].kind) {
				s.ts = append(append(append([]token(nil), s.ts...), segs[i+1].at), segs[i+1].ts...)
				i++
				out = append(out, s)
				cur = r.facts(s.ts)
				continue
			}
		}
		if s.sep == sepGap && r.resultColumn(last.ts, &cur, &f, s.ts) {
			// working in one column, what it comes to in the next
			eq := s.ts[0]
			eq.kind, eq.text, eq.to, eq.glued = tRel, "=", eq.from, false
			last.ts = append(append(append(make([]token, 0, len(last.ts)+len(s.ts)+1), last.ts...), eq), s.ts...)
			cur = r.facts(last.ts)
			continue
		}
		if s.sep == sepGap {
			if whole := r.workingColumn(last.ts, &cur, &f, s.ts); whole != nil {
				last.ts = whole
				cur = r.facts(whole)
				continue
			}
		}
		if s.sep == sepComma && s.at.text == "," && cur.words && countWords(last.ts) > 2 && f.bare && namedFigure(s.ts) && i+1 < len(segs) && segs[i+1].sep == sepComma && namedFigure(segs[i+1].ts) {
			// "Hold bilged from the keel up, length 14 m, breadth 17 m, depth 7 m"
			last.heads = true
			out = append(out, s)
			cur = f
			continue
		}
		if remark := r.withRemark(last.ts, &cur, &f, &s); remark != nil {
			last.ts = append(append(make([]token, 0, len(last.ts)+len(remark)), last.ts...), remark...)
			cur = r.facts(last.ts)
			continue
		}
		if s.sep == sepComma && cur.figure && byFigure(s.ts) {
			// "GM falls 1.45 -> 1.02, i.e. by 0.43": what they differ by, of the same name
			s.same, s.change = true, true
			out = append(out, s)
			cur = f
			continue
		}
		if r.standsAlone(last.ts, &cur, &f, &s) {
			s.same = s.sep == sepComma && s.at.kind == tWord && isFigure(s.ts[0].kind) && trailsWords(last.ts)
			out = append(out, s)
			cur = f
			continue
		}
		joined := make([]token, 0, len(last.ts)+len(s.ts)+1)
		joined = append(joined, last.ts...)
		switch {
		case s.sep == sepColon && (cur.rel < 0 && !cur.op || cur.rel > 0 && (f.op || endsWorking(last.ts) && resultFirst(s.ts))) && f.rel != 0 && (f.figure || f.op || f.rel > 0) && (f.rel > 0 || s.ts[0].kind != tWord):
			eq := s.at
			eq.kind, eq.text = tRel, "="
			joined = append(joined, eq)
		case s.sep == sepComma && s.at.kind == tWord, s.sep == sepColon:
			joined = append(joined, s.at)
		case s.sep == sepComma && cur.words:
			joined = append(joined, s.at)
		case s.sep == sepComma && isOperand(joined[len(joined)-1].kind) && f.figure && f.rel != 0:
			o := s.at
			o.kind = tOther
			joined = append(joined, o)
		}
		last.ts = append(joined, s.ts...)
		cur = r.facts(last.ts)
	}
	return out
}

// sayMove reports whether words say no more than which way a figure moved: "a fall".
func sayMove(ts []token) bool {
	for i := range ts {
		if l := lower(ts[i].text); !wordy(&ts[i]) || !moveNouns[l] && !articles[l] {
			return false
		}
	}
	return true
}

var moveNouns = set("fall drop rise increase decrease reduction loss gain")

// equated joins two pieces with a colon between them that means "=".
func equated(a, b *segment) []token {
	eq := b.at
	eq.kind, eq.text = tRel, "="
	return append(append(append([]token(nil), a.ts...), eq), b.ts...)
}

// byFigure reports whether a piece is "i.e. by" and a figure.
func byFigure(ts []token) bool {
	n := 0
	for n < len(ts) && ts[n].kind == tWord && (lower(ts[n].text) == "ie" || lower(ts[n].text) == "by") {
		n++
	}
	return n > 0 && lower(ts[n-1].text) == "by" && n < len(ts) && isFigure(ts[n].kind) && !hasOp(ts)
}

// endsWorking reports whether a piece ends in working: an operand behind a sign
// of arithmetic, with no result yet.
func endsWorking(ts []token) bool {
	for i := len(ts) - 1; i >= 0 && !isRel(ts[i].kind); i-- {
		if ts[i].kind == tOp && i > 0 && (isOperand(ts[i-1].kind) || wordy(&ts[i-1])) || ts[i].kind == tFunc {
			return true
		}
	}
	return false
}

// resultFirst reports whether a piece begins with a figure, signed or not, that
// no arithmetic goes on from.
func resultFirst(ts []token) bool {
	if ts[0].is(tOp, "-") || ts[0].is(tOp, "+") {
		ts = ts[1:]
	}
	return len(ts) > 0 && isFigure(ts[0].kind) && !hasOp(ts)
}

// standsAlone reports whether the segment s, with facts f, is a statement of
// its own behind the tokens before, with facts cur.
func (r *lineReader) standsAlone(before []token, cur, f *facts, s *segment) bool {
	if f.leadsRel || s.ts[0].kind == tOp && s.ts[0].text != "-" {
		return false
	}
	switch s.sep {
	case sepArrow:
		return true
	case sepColon:
		// "Bilged: KB = 2.35": the words before the colon are a heading of the line
		return !cur.op && cur.rel < 0 && (f.label || f.bare || f.known && f.rel > 0 && wordy(&s.ts[0]) && len(s.ts[0].text) > 1) || cur.rel >= 0 && f.label
	}
	if !cur.complete() {
		if s.sep == sepStrong && s.at.kind == tStop && cur.words {
			// a sentence of words ends, and a statement begins
			return s.after >= 3 && (f.bare || f.label && f.known && startsUpper(s.ts))
		}
		return s.sep == sepStrong && f.rel > 0 && s.at.text == "|"
	}
	switch {
	case f.label:
		return true
	case s.sep == sepComma && cur.rel >= 0 && anAngle(s.ts):
		return true // "tan list = 0.1399, so 7.96 degrees": of another kind than what it comes from
	case s.sep == sepComma && s.at.kind == tWord && trailsWords(before) && r.parallel(cur, f, s):
		return true
	case f.bare && (cur.rel >= 0 || cur.bare || s.at.is(tSep, ",")):
		return true
	case s.sep == sepGap && f.rel < 0 && isFigure(s.ts[0].kind) && !hasOp(s.ts):
		// a figure in a column of its own
		return true
	case s.sep == sepGap && f.rel < 0 && s.ts[0].tab && signGlued(s.ts) && !hasOp(s.ts[1:]):
		return true
	case s.sep == sepStrong:
		return f.figure || f.rel > 0
	case f.rel > 0 && cur.rel >= 0 && (f.figure || f.op):
		return true
	}
	return false
}

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
