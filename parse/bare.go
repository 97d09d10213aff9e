package parse

import (
	"slices"
	"strings"
)

func sortTokens(ts []token) {
	slices.SortStableFunc(ts, func(a, b token) int {
		if a.line != b.line {
			return int(a.line - b.line)
		}
		return int(a.from - b.from)
	})
}

// bare reads a statement without "=": a label with its figure ("Sinkage 0.288
// m"), working alone ("14 x 18 x 3"), or a sentence with figures ("GM falls
// from 1.45 to 1.02"). Prose comes back in left.
func (r *lineReader) bare(ts []token) (ps []plan, left []token) {
	if len(ts) == 0 {
		return nil, nil
	}
	if r.isDate(ts) {
		return nil, ts
	}
	for i := range ts {
		if ts[i].kind == tCompare && i > 0 && !r.cell {
			return nil, ts // a comparison states no figure
		}
	}
	// "Sinkage - 0.288 m": a dash for "="
	if i := labelDash(ts); i > 0 {
		eq := ts[i]
		eq.kind, eq.text = tRel, "="
		with := append(append(append([]token(nil), ts[:i]...), eq), ts[i+1:]...)
		return r.plan(with, false)
	}
	if with := r.headedBare(ts); with != nil {
		return r.plan(with, false)
	}
	all := r.parts(ts)
	figures := 0
	for i := range all {
		if !r.worthReading(all[i].expr) {
			all[i].trail = append(append(all[i].trail, all[i].expr...), all[i].notes...)
			sortTokens(all[i].trail)
			all[i].expr, all[i].notes = nil, nil
		} else {
			figures++
		}
	}
	if figures == 0 {
		return nil, ts
	}
	if figures == 1 {
		return r.single(all, ts)
	}
	return r.sentence(all, ts)
}

// worthReading reports whether an expression without "=" claims something: it
// holds a figure, and no operand that was only guessed.
func (r *lineReader) worthReading(ts []token) bool {
	figure := false
	for i := range ts {
		switch ts[i].kind {
		case tNumber, tComma, tAngle:
			figure = true
		case tGuess, tWord:
			return false
		}
	}
	return figure
}

// isDate recognises 12/05/2024 and the like.
func (r *lineReader) isDate(ts []token) bool {
	n := 0
	for i := 0; i+4 < len(ts); i++ {
		if ts[i].kind == tNumber && ts[i+1].kind == tOp && ts[i+1].glued && ts[i+2].kind == tNumber && ts[i+3].is(tOp, ts[i+1].text) && ts[i+4].kind == tNumber && len(ts[i+4].text) == 4 &&
			len(ts[i].text) <= 2 && len(ts[i+2].text) <= 2 && (ts[i+1].text == "/" || ts[i+1].text == "-") {
			n++
		}
	}
	return n > 0 && len(ts) < 9
}

// labelDash finds the dash of "Sinkage - 0.288 m": words, a dash with blanks
// on both sides, one figure and nothing more of arithmetic.
func labelDash(ts []token) int {
	at := -1
	for i := range ts {
		t := &ts[i]
		switch {
		case at < 0 && (t.kind == tWord || t.kind == tName):
		case at < 0 && i > 0 && (t.is(tOp, "-") || t.kind == tDash) && !t.glued && i+1 < len(ts) && !ts[i+1].glued:
			at = i
		case at > 0 && i == at+1 && (isFigure(t.kind) || t.kind == tApprox):
		case at > 0 && i > at+1 && (t.kind == tUnit || t.kind == tPercent || t.kind == tWord || t.kind == tOpen || t.kind == tClose || isFigure(t.kind) && ts[i-1].kind == tApprox):
		default:
			return -1
		}
	}
	if at == len(ts)-1 {
		return -1
	}
	return at
}

// generic are words that announce a result without saying which.
var generic = set("answer ans result total sum results final solution value")

// single makes a step of the one expression of a statement without "=".
func (r *lineReader) single(all []sideParts, ts []token) ([]plan, []token) {
	var p plan
	var s *sideParts
	var before, after []token
	for i := range all {
		switch {
		case len(all[i].expr) > 0:
			s = &all[i]
			before = append(before, s.lead...)
			after = append(after, s.trail...)
			p.words = append(p.words, s.notes...)
		case s == nil:
			before = append(append(before, all[i].lead...), all[i].trail...)
		default:
			after = append(append(after, all[i].lead...), all[i].trail...)
		}
	}
	working := hasOp(s.expr) && !signedFigure(s.expr)
	p.sides = []planSide{{ts: s.expr, approx: s.approx}}
	if sum, figure := resultBehind(s.expr); sum != nil {
		p.sides = []planSide{{ts: sum}, {ts: figure, approx: s.approx}}
	}
	if len(before) > 0 {
		p.label = r.label(before)
		known := r.known(p.label.text)
		if l := r.endsInName(before); !known && l.text != "" {
			p.label, known = l, true
		}
		if !known && len(after) > 0 {
			if l := r.label(after); r.known(l.text) {
				p.label = l
				p.words = append(append(p.words, before...), l.rest...)
				return []plan{p}, nil
			}
		}
		if !known && !working && !r.cell && !r.plainLabel(before, after, s.expr) {
			return nil, ts
		}
		p.words = append(append(p.words, p.label.rest...), after...)
		return []plan{p}, nil
	}
	if len(after) > 0 {
		if l := r.label(after); r.known(l.text) {
			p.label = l
			p.words = append(p.words, l.rest...)
			return []plan{p}, nil
		}
	}
	p.words = append(p.words, after...)
	if working {
		return []plan{p}, nil
	}
	// a figure alone: with a unit or places, and few words behind
	if n := countWords(after); r.cell || n <= 4 && (pointed(s.expr) || len(s.expr[0].text) > 2 && n == 0) {
		return []plan{p}, nil
	}
	return nil, ts
}

func countWords(ts []token) int {
	n := 0
	for i := range ts {
		if ts[i].kind == tWord || ts[i].kind == tName {
			n++
		}
	}
	return n
}

func signedFigure(ts []token) bool {
	return len(ts) > 1 && ts[0].kind == tOp && isFigure(ts[1].kind) && !hasOp(ts[1:])
}

// pointed reports whether a lone figure has a unit, a percent sign or decimals.
func pointed(ts []token) bool {
	for i := range ts {
		if ts[i].kind == tUnit || ts[i].kind == tPercent || ts[i].kind == tAngle || isFigure(ts[i].kind) && figureHasPoint(ts[i].text) {
			return true
		}
	}
	return false
}

// plainLabel reports whether unknown words with a figure behind look like the
// statement of a quantity ("Effective length 8.4 m") and not like prose.
func (r *lineReader) plainLabel(before, after, expr []token) bool {
	if !pointed(expr) || countWords(before) > 6 || countWords(after) > 4 {
		return false
	}
	for i := range before {
		if w := lower(before[i].text); generic[w] {
			return true
		} else if before[i].kind == tWord && chatter[w] {
			return false
		}
	}
	return true
}

// chatter are words of sentences that tell or ask and state no figure.
var chatter = set("i i'm we you he they there when if because using used use see note assume assuming question page from find calculate show mark marks since at with who how why what where until unless please sir")

// directional words lead from one figure of a sentence to the next.
var between = set("from to by of at and until till")

// sentence makes a step of every figure of a sentence such as "GM falls from
// 1.45 to 1.02", each with the verb and the word that leads to it.
func (r *lineReader) sentence(all []sideParts, ts []token) ([]plan, []token) {
	var ps []plan
	label := r.label(all[0].lead)
	known := label.text != "" && r.known(label.text)
	if len(all[0].lead) == 0 {
		if l := r.label(all[len(all)-1].trail); r.known(l.text) {
			label, known = l, true
			all[len(all)-1].trail = l.rest
		}
	}
	if !known {
		// no quantity is named: working is read, the rest is prose
		for i := range all {
			if hasOp(all[i].expr) && !signedFigure(all[i].expr) {
				s := r.side(ts)
				p := plan{sides: []planSide{{ts: s.expr, approx: s.approx}}, words: append(append(s.lead, s.notes...), s.trail...)}
				if len(s.lead) > 0 {
					p.label = r.label(s.lead)
				}
				sortTokens(p.words)
				return []plan{p}, nil
			}
		}
		return r.outcome(ts)
	}
	verb := label.rest
	for n := len(verb); n > 0 && len(all[0].lead) > 0; n-- {
		if between[lower(verb[n-1].text)] {
			verb = verb[:n-1]
			continue
		}
		break
	}
	for i := range all {
		s := &all[i]
		if len(s.expr) == 0 {
			if len(ps) > 0 {
				ps[len(ps)-1].words = append(append(ps[len(ps)-1].words, s.lead...), s.trail...)
			}
			continue
		}
		p := plan{label: label, sides: []planSide{{ts: s.expr, approx: s.approx}}}
		if i == 0 {
			p.words = append(p.words, label.rest...)
		} else {
			lead := s.lead
			if l := r.label(s.lead); l.text != "" && r.known(l.text) && (len(l.text) > 1) {
				p.label, lead = l, l.rest
			} else if l, ok := r.relabel(label, s.lead); ok {
				p.label, lead = l, nil
			} else if !goesOn(s.lead) {
				p.label = r.label(s.lead)
				lead = p.label.rest
			}
			p.words = append(append(p.words, verb...), lead...)
		}
		p.words = append(append(p.words, s.notes...), s.trail...)
		ps = append(ps, p)
	}
	return ps, nil
}

// outcome reads of a sentence that names nothing at its head what it leads up to:
// "Dividing by 8640 makes BM 3.39 m". Where it leads to nothing known it is prose.
func (r *lineReader) outcome(ts []token) ([]plan, []token) {
	for k := len(ts) - 3; k > 0; k-- {
		if ts[k].kind != tWord || !yields[lower(ts[k].text)] {
			continue
		}
		if all := r.parts(ts[k+1:]); len(all) == 1 && len(all[0].lead) > 0 && !hasOp(all[0].expr) && r.worthReading(all[0].expr) && r.known(r.label(all[0].lead).text) {
			ps, left := r.single(all, ts[k+1:])
			if len(ps) > 0 {
				ps[0].words = append(append([]token(nil), ts[:k+1]...), ps[0].words...)
			}
			return ps, left
		}
		break
	}
	return nil, ts
}

// yields are verbs that lead from what is done to what comes of it.
var yields = set("gives giving makes making leaves leaving")

// goesOn reports whether the words before a further figure of a sentence lead
// on with the quantity named first ("to 1.02", "a decrease of 0.43") rather than
// naming another.
func goesOn(lead []token) bool {
	content := false
	last := ""
	for i := range lead {
		if !wordy(&lead[i]) {
			continue
		}
		last = lower(lead[i].text)
		content = content || !between[last] && !noise[last] && !moves[last]
	}
	return !content || between[last]
}

// relabel makes the name of a second figure from that of the first: behind
// "draughts: fwd 5.74 m", the words "aft 3.94 m" are the draught aft.
func (r *lineReader) relabel(first labelled, lead []token) (labelled, bool) {
	ts := trimMarks(lead)
	if len(ts) == 0 || len(ts) > 2 {
		return first, false
	}
	for i := range ts {
		if l := lower(ts[i].text); ts[i].kind != tWord && ts[i].kind != tName || between[l] || noise[l] || moves[l] {
			return first, false
		}
	}
	tail := phraseOf(ts)
	stem := first.text
	for range 2 {
		if text := stem + " " + tail; r.known(text) {
			return labelled{text: text, at: spanOf(ts)}, true
		}
		i := strings.LastIndexByte(stem, ' ')
		if i < 0 {
			break
		}
		stem = stem[:i]
	}
	return first, false
}
