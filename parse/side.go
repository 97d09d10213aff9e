package parse

import "github.com/alecthomas/participle/v2/lexer"

// sideParts is one side of a statement with its arithmetic told from its prose.
type sideParts struct {
	lead    []token // words before the expression
	expr    []token // the expression, clean
	trail   []token // words behind it
	notes   []token // words inside it: "14 m long x 18 m wide", "(lost volume)"
	approx  bool
	second  []token // where words part two expressions: the second, or their product
	product bool    // the words were "at": second is the product of the two
}

// side sorts the tokens of a side. Words count as operands only where signs
// of arithmetic make them so.
func (r *lineReader) side(ts []token) sideParts {
	all := r.parts(ts)
	if len(all) == 1 {
		return all[0]
	}
	// several expressions: the one that is working, else the first
	pick := 0
	for i := range all {
		if hasOp(all[i].expr) {
			pick = i
			break
		}
	}
	s := all[pick]
	if pick+1 < len(all) && len(all[pick+1].expr) > 0 {
		next := &all[pick+1]
		s.second = next.expr
		if len(next.lead) == 1 && (lower(next.lead[0].text) == "at" || next.lead[0].text == "@") {
			sign := next.lead[0]
			sign.kind, sign.text = tOp, "*"
			s.second = append(append(append([]token(nil), s.expr...), sign), next.expr...)
			s.product = true
		}
	}
	for i := range all {
		switch {
		case i < pick:
			s.lead = append(append(s.lead, all[i].flat()...), all[i].trail...)
		case i > pick:
			s.trail = append(append(s.trail, all[i].lead...), all[i].flat()...)
			s.trail = append(s.trail, all[i].trail...)
		}
	}
	sortTokens(s.lead)
	sortTokens(s.trail)
	return s
}

func (s *sideParts) flat() []token { return append(append([]token(nil), s.expr...), s.notes...) }

func hasOp(ts []token) bool {
	for i := range ts {
		if ts[i].kind == tOp && i > 0 || ts[i].kind == tFunc {
			return true
		}
	}
	return false
}

// parts cuts a side into expressions with the words around each.
func (r *lineReader) parts(ts []token) []sideParts {
	var out []sideParts
	cur := sideParts{}
	ts = r.dropRemarks(ts, &cur)
	cur.expr = r.room(len(ts))
	for i := 0; i < len(ts); {
		t := &ts[i]
		switch t.kind {
		case tApprox:
			cur.approx = true
			i++
			continue
		case tCompare:
			if n := len(cur.expr); n > 0 && isOperand(cur.expr[n-1].kind) {
				// "1.45 m > 0.15 m": what it is compared with is a remark
				cur.trail = append(cur.trail, ts[i:]...)
				return append(out, cur)
			}
			fallthrough
		case tWord, tName, tGuess, tOther, tQuote, tDash, tStop, tColon, tSep, tArrow:
			if n := len(cur.expr); t.kind == tName && !t.glued && n > 0 && isHalf(&cur.expr[n-1]) && (n == 1 || cur.expr[n-2].kind == tOp) {
				sign := *t
				sign.kind, sign.text, sign.raw = tOp, "*", ""
				cur.expr = append(cur.expr, sign, *t)
				i++
				continue
			}
			if unknown(ts, i, cur.expr) {
				sign := *t
				sign.kind, sign.text, sign.raw, sign.to = tOp, "*", "", sign.from
				cur.expr = append(cur.expr, sign, guess(ts[i:i+1]))
				i++
				continue
			}
			j := i + 1
			for j < len(ts) && isProse(&ts[j]) {
				j++
			}
			before, after := lexer.EOF, lexer.EOF
			if len(cur.expr) > 0 {
				before = cur.expr[len(cur.expr)-1].kind
			}
			var next *token = &noToken
			if j < len(ts) {
				next = &ts[j]
				after = next.kind
			}
			if t.kind == tOther && t.text == "," && j > i+1 && len(cur.expr) > 0 && after == tOp {
				// "= l b^3, its moment x 12": a remark behind the working
				cur.trail = append(cur.trail, ts[i:]...)
				return append(out, cur)
			}
			if k := wordedOperand(ts, i, j, before); k > 0 {
				cur.expr = append(cur.expr, guess(ts[i:k]))
				i = k
				continue
			}
			run := r.sortRun(&cur, ts[i:j], before, next)
			if run.breaks && after != lexer.EOF {
				// another expression begins behind these words
				out = append(out, cur)
				cur = sideParts{lead: run.words}
			}
			i = j
			continue
		}
		if isFigure(t.kind) && len(cur.lead) > 0 && labelFigure(cur.expr) {
			// "vol of 1 t 0.385": the small figure belongs to the words before it
			cur.lead = append(cur.lead, cur.expr...)
			cur.expr = cur.expr[:0]
		}
		cur.expr = append(cur.expr, *t)
		i++
	}
	return append(out, cur)
}

// unknown reports whether the letter at i is the unknown of an equation, with
// its factor right before it: 2592 + 1576.8X.
func unknown(ts []token, i int, before []token) bool {
	t, n := &ts[i], len(before)
	if t.kind != tWord || len(t.text) != 1 || !t.glued || n < 3 || !isFigure(before[n-1].kind) || before[n-2].kind != tOp {
		return false
	}
	return i+1 == len(ts) || ts[i+1].kind == tOp || ts[i+1].kind == tClose
}

// labelFigure reports whether an expression so far is one small whole figure,
// with a unit at most.
func labelFigure(ts []token) bool {
	return (len(ts) == 1 || len(ts) == 2 && ts[1].kind == tUnit) && ts[0].kind == tNumber && len(ts[0].text) <= 2 && allDigits(ts[0].text)
}

// room gives an empty run with space for n tokens, good until the next line.
func (r *lineReader) room(n int) []token {
	if len(r.arena)+n > cap(r.arena) {
		r.arena = make([]token, 0, max(256, 2*n))
	}
	k := len(r.arena)
	r.arena = r.arena[:k+n]
	return r.arena[k : k : k+n]
}

// wordedOperand returns the end of an operand in words with a small figure
// among them, as in "SF - space taken by 1 tonne of cargo", that begins at i
// and whose first words end at j. It returns 0 where the figure is an operand
// of its own.
func wordedOperand(ts []token, i, j int, before lexer.TokenType) int {
	if before != tOp && before != tOpen || j >= len(ts) || ts[j].kind != tNumber || len(ts[j].text) > 2 || !allDigits(ts[j].text) {
		return 0
	}
	k := j + 1
	if k < len(ts) && ts[k].kind == tUnit {
		k++
	}
	end := k
	for end < len(ts) && wordy(&ts[end]) {
		end++
	}
	if end == k && j-i < 2 {
		return 0
	}
	for m := i; m < end; m++ {
		if !wordy(&ts[m]) && m != j && m != j+1 {
			return 0
		}
	}
	return end
}

func isProse(t *token) bool {
	switch t.kind {
	case tWord, tName, tGuess, tOther, tQuote, tDash, tCompare, tStop, tColon, tSep, tArrow:
		return true
	}
	return false
}

// junk reports whether a run holds nothing but signs that mean something
// unknown, so that what they join can't be told.
func junk(ts []token) bool {
	for i := range ts {
		if ts[i].kind != tOther && ts[i].kind != tCompare || ts[i].text == "?" || ts[i].text == "!" {
			return false
		}
	}
	return len(ts) > 0
}

type runResult struct {
	breaks bool
	words  []token
}

// sortRun decides on a run of words and names that stands behind a token of
// kind before and in front of next.
func (r *lineReader) sortRun(cur *sideParts, run []token, before lexer.TokenType, next *token) runResult {
	start := len(cur.expr) == 0
	opBefore := before == tOp || before == tOpen || before == tFunc
	opAfter := next.kind == tOp || next.kind == tClose
	head, tail := 0, 0 // names at the edges of the run
	for head < len(run) && run[head].kind == tName {
		head++
	}
	for tail < len(run)-head && run[len(run)-1-tail].kind == tName {
		tail++
	}
	end := next.kind == lexer.EOF
	if head == len(run) {
		return r.names(cur, run, before, next)
	}
	// names and words mixed, or words alone
	words := run
	if n, ok := r.wider(run, head, tail, opBefore || start && r.later, next); ok {
		cur.notes = append(cur.notes, run[:n]...)
		cur.expr = append(cur.expr, guess(run[n:]))
		return runResult{}
	}
	switch {
	case opBefore && head > 0:
		// "x GM after bilging": the name is the operand, the words a note
		n := r.factors(run[:head], false)
		cur.expr = append(cur.expr, run[:n]...)
		words = run[n:]
		if opAfter && tail > 0 {
			words = run[n : len(run)-tail] // a name on the other side of the words: a note too
			cur.notes = append(cur.notes, run[len(run)-tail:]...)
		}
		if end {
			cur.trail = append(cur.trail, words...)
		} else if opAfter {
			cur.notes = append(cur.notes, words...)
		} else {
			return runResult{true, words}
		}
	case !opBefore && opAfter && tail > 0 && (start || before == lexer.EOF):
		n := r.factors(run[len(run)-tail:], true)
		cur.lead = append(cur.lead, run[:len(run)-n]...)
		cur.expr = append(cur.expr, run[len(run)-n:]...)
	case opBefore && tail > 0 && head == 0 && (opAfter || end):
		// "x the GM": small words before the operand
		n := r.factors(run[len(run)-tail:], true)
		cur.notes = append(cur.notes, run[:len(run)-n]...)
		cur.expr = append(cur.expr, run[len(run)-n:]...)
	case opBefore && end && r.isRemarkDash(cur):
		cur.expr = cur.expr[:len(cur.expr)-1]
		cur.trail = append(cur.trail, words...)
	case opBefore && (end || opAfter) && before != tOpen || opBefore && opAfter:
		if !guessable(words) {
			cur.expr = append(cur.expr, words...)
			return runResult{}
		}
		cur.expr = append(cur.expr, guess(words))
	case opBefore:
		cur.notes = append(cur.notes, words...)
	case start && opAfter:
		if next.kind == tOp && next.text != "-" && guessable(words) {
			w := stripNoise(words)
			cur.lead = append(cur.lead, words[:len(words)-len(w)]...)
			cur.expr = append(cur.expr, guess(w))
		} else if next.kind == tOp && guessable(words) && next.text == "-" {
			w := stripNoise(words)
			cur.lead = append(cur.lead, words[:len(words)-len(w)]...)
			cur.expr = append(cur.expr, guess(w))
		} else {
			cur.lead = append(cur.lead, words...)
		}
	case junk(words) && !start && !end:
		// signs that can't be read, between two operands
		cur.expr = append(cur.expr, words...)
	case start && end:
		cur.trail = append(cur.trail, words...)
	case start:
		// with names last and a bracket or function behind: V(…)
		if tail > 0 && (next.kind == tOpen && next.glued || next.kind == tFunc) {
			n := r.factors(run[len(run)-tail:], true)
			cur.lead = append(cur.lead, run[:len(run)-n]...)
			cur.expr = append(cur.expr, run[len(run)-n:]...)
			break
		}
		cur.lead = append(cur.lead, words...)
	case opAfter:
		cur.notes = append(cur.notes, words...)
	case end:
		cur.trail = append(cur.trail, words...)
	default:
		return runResult{true, words}
	}
	return runResult{}
}

// wider reports whether a run of words with a name at one end is one operand:
// "SF - solid SF", "lever from amidships x". What is named is then not the
// bare name. n is the number of joining words in front.
func (r *lineReader) wider(run []token, head, tail int, operandDue bool, next *token) (n int, ok bool) {
	if !operandDue || next.kind != tOp && next.kind != tClose && (next.kind != lexer.EOF || head > 0 && r.last) || head+tail == 0 {
		return 0, false
	}
	for n < len(run) && noise[lower(run[n].text)] && run[n].kind == tWord {
		n++
	}
	rest := run[n:]
	if len(rest) < 2 || len(rest) > 4 {
		return 0, false
	}
	for i := range rest {
		l := lower(rest[i].text)
		if !wordy(&rest[i]) || chatter[l] && l != "from" || moves[l] || states[l] || breaks[l] || i == len(rest)-1 && noise[l] {
			return 0, false
		}
		if rest[i].kind == tName && i > 0 && rest[i-1].kind == tName {
			return 0, false // two names side by side are no name
		}
	}
	return n, rest[0].kind != rest[len(rest)-1].kind || len(rest) > 2
}

// names decides on a run of nothing but known names.
func (r *lineReader) names(cur *sideParts, run []token, before lexer.TokenType, next *token) runResult {
	start := len(cur.expr) == 0
	opBefore := before == tOp || before == tOpen || before == tFunc
	opAfter := next.kind == tOp || next.kind == tClose
	end := next.kind == lexer.EOF
	factor := next.kind == tOpen && (next.glued || len(run) == 1 && len(run[0].text) <= maxSymbol) || next.kind == tFunc
	switch {
	case opBefore && (opAfter || end || factor || next.kind == tUnit):
		n := r.factors(run, false)
		if end && n < len(run) {
			cur.expr = append(cur.expr, run[:n]...)
			cur.trail = append(cur.trail, run[n:]...)
			break
		}
		cur.expr = append(cur.expr, run[:n]...)
		cur.notes = append(cur.notes, run[n:]...)
	case opBefore:
		// "+ BM 5.25": a name beside its figure
		cur.notes = append(cur.notes, run...)
	case start && (opAfter || factor):
		n := r.factors(run, true)
		cur.lead = append(cur.lead, run[:len(run)-n]...)
		cur.expr = append(cur.expr, run[len(run)-n:]...)
	case start && end:
		n := r.factors(run, true)
		if n < len(run) && len(run[0].text) <= maxSymbol {
			cur.expr = append(cur.expr, guess(run)) // "A draft": a letter that tells which
			break
		}
		cur.lead = append(cur.lead, run[:len(run)-n]...)
		cur.expr = append(cur.expr, run[len(run)-n:]...)
	case start && next.kind == tUnit:
		cur.expr = append(cur.expr, run...)
	case start:
		cur.lead = append(cur.lead, run...)
	case run[0].glued && before != tUnit && before != tPercent, before == tClose && len(run[0].text) <= maxSymbol && !end,
		(isFigure(before) || before == tClose || before == tUnit && opAfter) && len(run[0].text) <= maxSymbol && (opAfter || factor || end && hasOp(cur.expr)):
		// 12V, 12 V, (…)V
		n := r.factors(run, false)
		if before == tUnit {
			cur.notes = append(cur.notes, run...)
			break
		}
		cur.expr = append(cur.expr, run[:n]...)
		if end {
			cur.trail = append(cur.trail, run[n:]...)
		} else {
			cur.notes = append(cur.notes, run[n:]...)
		}
	case opAfter:
		cur.notes = append(cur.notes, run...)
	case end:
		cur.trail = append(cur.trail, run...)
	default:
		return runResult{true, run}
	}
	return runResult{}
}

// factors returns how many names at the head of run (at its end, where last is
// set) can stand side by side as factors.
func (r *lineReader) factors(run []token, last bool) int {
	n := 1
	at := func(k int) *token {
		if last {
			return &run[len(run)-1-k]
		}
		return &run[k]
	}
	if len(at(0).text) > maxSymbol {
		return 1
	}
	for n < len(run) && len(at(n).text) <= maxSymbol {
		n++
	}
	return n
}

// isRemarkDash reports whether the last sign of the expression so far is a
// dash before a remark: what stands before it is a finished figure.
func (r *lineReader) isRemarkDash(cur *sideParts) bool {
	n := len(cur.expr)
	if n < 2 || !cur.expr[n-1].is(tOp, "-") {
		return false
	}
	body := cur.expr[:n-1]
	if body[0].is(tOp, "-") {
		body = body[1:]
	}
	return len(body) > 0 && isFigure(body[0].kind) && (len(body) == 1 || len(body) == 2 && (body[1].kind == tUnit || body[1].kind == tPercent))
}

// guessable reports whether unknown words can be taken for one operand: a few
// plain words with no marks among them.
func guessable(words []token) bool {
	if len(words) == 0 || len(words) > 6 {
		return false
	}
	for i := range words {
		if words[i].kind != tWord && words[i].kind != tName {
			return false
		}
	}
	return true
}

func guess(words []token) token {
	t := words[0]
	t.kind, t.text = tGuess, phraseOf(words)
	if s := spanOf(words); len(words) > 1 {
		t.to = int32(s.To)
	}
	return t
}

func stripNoise(ts []token) []token {
	for len(ts) > 1 && noise[lower(ts[0].text)] {
		ts = ts[1:]
	}
	return ts
}
