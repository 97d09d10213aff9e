package parse

import "slices"

// Pieces of a line that do not stand on their own are joined again.

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
		if s.sep == sepComma && cur.figure && f.rel < 0 && f.known && !f.op && goesFromTo(s.ts) {
			// "= 0.173 m, which takes KB from 3.150 to 3.323 m": a statement from the name on
			if n := slices.IndexFunc(s.ts, func(t token) bool { return t.kind == tName }); n > 0 {
				last.ts = append(append(make([]token, 0, len(last.ts)+n), last.ts...), s.ts[:n]...)
				s.ts = s.ts[n:]
			}
			out = append(out, s)
			cur = r.facts(s.ts)
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

// goesFromTo reports whether a piece tells from which figure to which something goes.
func goesFromTo(ts []token) bool {
	from := false
	for i := 0; i+1 < len(ts); i++ {
		if ts[i].kind == tWord && isFigure(ts[i+1].kind) {
			switch lower(ts[i].text) {
			case "from":
				from = true
			case "to":
				if from {
					return true
				}
			}
		}
	}
	return false
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
			return s.after >= 3 && (f.bare || f.rel > 0 && f.known && startsUpper(s.ts))
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
