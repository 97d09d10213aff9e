package parse

import (
	"math"
	"slices"
)

// lineReader reads lines of working into steps. Its buffers are used again
// from line to line; one reader serves one script.
type lineReader struct {
	*namer
	out    []bool
	gram   []token // tokens of the grammar
	arena  []token // space for the pieces of one line
	later  bool    // the side at hand stands behind a "="
	worked bool    // a side before it holds working
	last   bool    // and no other side follows
	cell   bool    // a cell of a table is being read: a figure alone is a statement
}

// reading is what a line gave.
type reading struct {
	steps     []Step
	main      int    // index of the step that a line below goes on with; a clause with "where" is none
	continues bool   // the first step goes on with the one above
	prefix    string // words before a colon, in front of the statements
	prefixed  []token
	words     []token // prose that belongs to no step
	problems  []*Problem
	clause    string // words in front of a list of figures that all belong to what they name
	working   bool   // the line looks like working
}

// plan is one statement sorted into its pieces, ready for the grammar.
type plan struct {
	label     labelled
	sides     []planSide
	words     []token
	continues bool
	clause    bool  // begins with "where"
	open      bool  // a relation with nothing behind it
	unit      *Unit // in brackets behind the label: Sinkage (cm) =
	openAt    token
}

type planSide struct {
	ts     []token
	approx bool
	arrow  bool // an arrow stands before it
}

// read reads the settled tokens of one line, or of several that go on in one another.
func (r *lineReader) read(ts []token) reading {
	var out reading
	var plans []plan
	if len(ts) == 0 {
		return out
	}
	r.arena = r.arena[:0]
	segs := r.split(ts)
	for i := range segs {
		f := r.facts(segs[i].ts)
		if i+1 < len(segs) && segs[i+1].sep == sepColon && f.rel < 0 && !f.op {
			out.prefixed = append(out.prefixed, segs[i].ts...)
			continue
		}
		if segs[i].heads {
			out.clause = phraseOf(headNoun(segs[i].ts))
		}
		ps, left := r.plan(segs[i].ts, i == 0)
		if len(ps) == 0 && len(plans) > 0 {
			plans[len(plans)-1].words = append(plans[len(plans)-1].words, left...)
			continue
		}
		if segs[i].same && len(ps) == 1 && ps[0].label.text == "" && len(plans) > 0 {
			ps[0].label = plans[len(plans)-1].label
			ps[0].label.rest = nil
			if segs[i].change {
				ps[0].words = append(moved(plans[len(plans)-1].words), ps[0].words...)
			}
		}
		for k := range ps {
			ps[k].clause = segs[i].sep == sepComma && (segs[i].at.text == "where" || segs[i].at.text == "with")
		}
		plans = append(plans, ps...)
		out.words = append(out.words, left...)
		out.working = out.working || f.rel >= 0 || f.op && f.figure && !r.isDate(segs[i].ts)
	}
	if len(out.prefixed) > 0 {
		out.prefix = phraseOf(out.prefixed)
		if len(plans) > 0 {
			plans[0].words = append(append([]token(nil), out.prefixed...), plans[0].words...)
		} else {
			out.words = append(out.prefixed, out.words...)
		}
	}
	r.parse(plans, &out)
	return out
}

// moved gives the words behind a name that say how its figure moved, without
// from and to.
func moved(words []token) []token {
	var out []token
	for i := range words {
		if l := lower(words[i].text); wordy(&words[i]) && l != "from" && l != "to" {
			out = append(out, words[i])
		}
	}
	return out
}

// parse puts the plans through the grammar and makes steps of what comes back.
func (r *lineReader) parse(plans []plan, out *reading) {
	ts := r.gram[:0]
	var used []*plan
	for i := range plans {
		p := &plans[i]
		if len(p.sides) == 0 {
			if p.open {
				at := p.openAt.span()
				out.problems = append(out.problems, &Problem{at, "nothing that can be read stands behind the “" + p.openAt.text + "”"})
			}
			out.words = append(out.words, p.words...)
			continue
		}
		if len(used) > 0 {
			ts = append(ts, token{kind: tSep, text: ";", line: ts[len(ts)-1].line, from: ts[len(ts)-1].to, to: ts[len(ts)-1].to})
		}
		used = append(used, p)
		if p.label.text != "" {
			at := p.label.at
			ts = append(ts, token{kind: tLabel, text: p.label.text, line: int32(at.Line), from: int32(at.From), to: int32(at.To)})
		}
		for k, s := range p.sides {
			if k > 0 {
				at := s.ts[0]
				at.kind, at.text, at.to = tRel, "=", at.from
				ts = append(ts, at)
			}
			if s.approx {
				at := s.ts[0]
				at.kind, at.text, at.to = tApprox, "≈", at.from
				ts = append(ts, at)
			}
			ts = append(ts, s.ts...)
		}
	}
	if len(used) == 0 {
		return
	}
	r.gram = ts
	line, problem := parseLine(ts)
	if problem != nil {
		out.problems = append(out.problems, problem)
		return
	}
	for i, st := range line.Statements {
		if i >= len(used) {
			break
		}
		p := used[i]
		step := Step{Label: p.label.text, LabelAt: p.label.at, Line: p.line()}
		for _, n := range st.Sides {
			if b, ok := n.expr.(*broken); ok {
				out.problems = append(out.problems, b.problem)
				continue
			}
			step.Sides = append(step.Sides, sideOf(n))
		}
		step.give(p.unit)
		words := p.words
		slices.SortStableFunc(words, func(a, b token) int {
			if a.line != b.line {
				return int(a.line - b.line)
			}
			return int(a.from - b.from)
		})
		step.Words, step.WordsAt = proseOf(words), spanOf(words)
		if len(step.Sides) == 0 {
			out.words = append(out.words, words...)
			continue
		}
		if p.continues && len(out.steps) == 0 {
			out.continues = true
		}
		if !p.clause {
			out.main = len(out.steps)
		}
		out.steps = append(out.steps, step)
	}
}

func (p *plan) line() int {
	if p.label.text != "" && (len(p.sides) == 0 || p.label.at.Line < int(p.sides[0].ts[0].line)) {
		return p.label.at.Line
	}
	return int(p.sides[0].ts[0].line)
}

// sideOf finishes a side: a unit behind the last figure of a longer expression
// is the unit of the whole.
func sideOf(n *sideNode) Side {
	s := Side{Expr: n.expr, At: n.expr.Span(), Approx: n.approx, Unit: n.unit}
	if n.unit != nil {
		return s
	}
	if num, _, ok := Bare(n.expr); ok {
		s.Unit = num.Unit
		return s
	}
	last, ok := lastLeaf(n.expr).(*Num)
	if !ok || last.Unit == nil || last.Unit.Dim.Angle != 0 {
		return s
	}
	others, united := 0, false
	Walk(n.expr, func(e Expr) bool {
		switch e := e.(type) {
		case *Num:
			if e != last {
				others++
				united = united || e.Unit != nil
			}
		case *Name:
			others++
		}
		return true
	})
	if others == 0 || united {
		return s
	}
	s.Unit = last.Unit
	last.Unit = nil
	last.At.To = last.At.From + len([]rune(last.Text))
	if last.Percent {
		last.At.To++
	}
	return s
}

// plan sorts one statement into label, sides and words. It gives several
// statements for a sentence with several figures, and none for prose; left
// holds the words of prose.
func (r *lineReader) plan(ts []token, first bool) (ps []plan, left []token) {
	ts = trimMarks(ts)
	var p plan
	lead := false
	for len(ts) > 0 && isRel(ts[0].kind) {
		// "∴ KB = 2.35" is new, "∴ 0.288 m" and "= 0.288 m" go on
		lead = true
		p.openAt = ts[0]
		ts = trimMarks(ts[1:])
	}
	raw := r.sides(ts)
	if lead && first && len(raw) > 0 {
		p.continues = true
	}
	if len(raw) == 1 && !lead {
		return r.bare(ts)
	}
	if len(raw) == 0 {
		p.open = lead
		if lead {
			return []plan{p}, nil
		}
		return nil, ts
	}
	start := 0
	if !lead {
		raw[0].ts, p.unit = bracketedUnit(raw[0].ts)
	}
	if !lead && r.headsItsWorking(raw) {
		p.label, p.open = r.label(raw[0].ts[:1]), false
		raw[0].ts = raw[0].ts[1:]
	}
	if figure := lead && len(raw) == 1 && isFigure(raw[0].ts[0].kind); r.isLabel(raw[0].ts) && (len(raw) > 1 || lead) && !figure {
		p.label = r.label(raw[0].ts)
		p.words = append(p.words, p.label.rest...)
		start = 1
		p.continues = false
		if len(raw) == 1 {
			// "∴ sinkage" or "= sinkage": words behind the sign name the step above
			p.label.rest = nil
			p.words = nil
			p.continues = true
			if lead && first {
				return []plan{{label: labelled{}, continues: true, words: ts}}, nil
			}
			return nil, ts
		}
	}
	worked := false // a side before the one at hand holds working
	led := false    // the label stood before the working, with no "=" between
	for k := start; k < len(raw); k++ {
		if k == 0 && len(raw) > 1 && r.scattered(raw[0].ts) {
			// figures among words before the first "=": no one of them is what is stated
			p.label = r.label(wordsOf(raw[0].ts))
			p.words = append(p.words, p.label.rest...)
			continue
		}
		r.later, r.last, r.worked = k > 0 || lead, k == len(raw)-1, worked
		s := r.side(raw[k].ts)
		r.later, r.last, r.worked = false, true, false
		worked = worked || hasOp(raw[k].ts)
		if len(s.lead) > 0 {
			if k == 0 && p.label.text == "" && !lead {
				p.label, led = r.label(s.lead), hasOp(s.expr)
				p.words = append(p.words, p.label.rest...)
			} else if l := r.label(s.lead); k == len(raw)-1 && (p.label.text == "" || led || len(p.label.rest) > 5 || !r.known(p.label.text)) && len(s.expr) > 0 && !hasOp(s.expr) && r.known(l.text) {
				// "480 / 1000 = sinkage 0.48", "KM 6.4 - KG 6 = GM 0.4": the name stands before the last
				// figure, and goes before one in a sentence that leads up to it
				p.label = l
				p.words = append(p.words, l.rest...)
			} else {
				p.words = append(p.words, s.lead...)
			}
		}
		p.words = append(p.words, s.notes...)
		if len(s.expr) == 0 {
			// a side of words: the name of what is stated, written last
			if p.label.text == "" && len(s.trail) > 0 {
				p.label = r.label(s.trail)
				p.words = append(p.words, p.label.rest...)
			} else {
				p.words = append(p.words, s.trail...)
				if len(s.trail) == 0 && len(s.notes) == 0 && raw[k].rel.line > 0 {
					p.open, p.openAt = true, raw[k].rel
				}
			}
			continue
		}
		if k < len(raw)-1 && hasOp(s.expr) && pointsBack(s.trail) {
			p.words = append(append(p.words, s.expr...), s.trail...)
			continue
		}
		if k == len(raw)-1 && p.label.text == "" && len(s.trail) > 0 {
			l := r.label(s.trail)
			if r.known(l.text) {
				p.label = l
				p.words = append(p.words, l.rest...)
				s.trail = nil
			}
		}
		p.words = append(p.words, s.trail...)
		if name := onlyName(s.expr); name && p.label.text == "" && len(raw) > 1 {
			p.label = r.label(s.expr)
			continue
		}
		if working, figure := r.restated(s.expr); working != nil {
			p.sides = append(p.sides, planSide{ts: working})
			s.expr = figure
		}
		p.sides = append(p.sides, planSide{s.expr, s.approx || raw[k].rel.text == "≈", raw[k].rel.is(tArrow, "→")})
		if len(s.second) > 0 && k < len(raw)-1 && k > 0 {
			// "= 8273.7 m3 at 2.394 m = 19807 m4": the chain does not go on through the words
			q := plan{}
			if s.product {
				q.sides = []planSide{{ts: s.second}}
			}
			ps = append(ps, p)
			p = q
		}
	}
	if p.label.text != "" {
		p.continues = p.continues && lead
	}
	return append(ps, fromTo(p)...), nil
}

// scattered reports whether a side holds several figures parted by words and
// no working.
func (r *lineReader) scattered(ts []token) bool {
	all := r.parts(ts)
	if len(all) < 2 {
		return false
	}
	for i := range all {
		if hasOp(all[i].expr) {
			return false
		}
	}
	return true
}

func wordsOf(ts []token) []token {
	out := make([]token, 0, len(ts))
	for i := range ts {
		if wordy(&ts[i]) {
			out = append(out, ts[i])
		}
	}
	return out
}

// pointsBack reports whether words behind working stand for a figure of it that
// is written elsewhere: "432/12600 of that".
func pointsBack(ts []token) bool {
	return len(ts) > 1 && lower(ts[0].text) == "of" && pointers[lower(ts[1].text)]
}

var pointers = set("that this it these those them which")

// fromTo parts "GM: 1.45 -> 1.02", where the arrow leads from one figure to
// another and does not mean "=", into two statements.
func fromTo(p plan) []plan {
	n := len(p.sides)
	if n < 2 || !p.sides[n-1].arrow {
		return []plan{p}
	}
	a, ok1 := loneFigure(p.sides[n-2].ts)
	b, ok2 := loneFigure(p.sides[n-1].ts)
	if !ok1 || !ok2 || a == b || math.Abs(a-b) <= 0.02*math.Max(math.Abs(a), math.Abs(b)) {
		return []plan{p}
	}
	q := p
	q.sides = []planSide{p.sides[n-1]}
	q.continues = false
	arrow := p.sides[n-1].ts[0]
	arrow.kind, arrow.text, arrow.to = tWord, "to", arrow.from
	q.words = append([]token{arrow}, p.words...)
	p.sides = p.sides[: n-1 : n-1]
	from := arrow
	from.text, from.from, from.to = "from", p.sides[n-2].ts[0].from, p.sides[n-2].ts[0].from
	p.words = append([]token{from}, p.words...)
	return []plan{p, q}
}

// loneFigure gives the value of a side that is one figure, with a sign and a unit at most.
func loneFigure(ts []token) (float64, bool) {
	sign := 1.
	if len(ts) > 1 && ts[0].is(tOp, "-") {
		sign, ts = -1, ts[1:]
	}
	if len(ts) == 0 || len(ts) > 2 || !isFigure(ts[0].kind) || len(ts) == 2 && ts[1].kind != tUnit || ts[0].kind == tAngle {
		return 0, false
	}
	v, _, ok := numberValue(ts[0].text, ts[0].kind == tComma)
	return sign * v, ok
}

func onlyName(ts []token) bool {
	return len(ts) == 1 && (ts[0].kind == tName || ts[0].kind == tGuess)
}

type rawSide struct {
	rel token // the relation before it
	ts  []token
}

// sides parts a statement at its relations outside brackets. A side with
// nothing in it is left out, unless it is the last.
func (r *lineReader) sides(ts []token) []rawSide {
	out := make([]rawSide, 0, 4)
	r.out = outside(ts, r.out)
	from := 0
	rel := token{}
	for i := 0; i <= len(ts); i++ {
		if i < len(ts) && !(isRel(ts[i].kind) && (r.out[i] || ts[i].text != ":")) {
			continue
		}
		if i < len(ts) && !r.out[i] {
			continue
		}
		if i > from || i == len(ts) && rel.kind != 0 {
			out = append(out, rawSide{rel, ts[from:i:i]})
		}
		if i < len(ts) {
			if i > from || rel.kind == 0 || rel.text != "≈" {
				rel = ts[i]
			}
			from = i + 1
		}
	}
	return out
}

// trimMarks drops marks at the edges that mean nothing.
func trimMarks(ts []token) []token {
	for len(ts) > 0 {
		t := &ts[0]
		if t.kind == tSep || t.kind == tColon || t.kind == tStop || t.kind == tDash {
			ts = ts[1:]
			continue
		}
		break
	}
	for len(ts) > 0 {
		t := &ts[len(ts)-1]
		if t.kind == tSep || t.kind == tStop || t.kind == tColon {
			ts = ts[:len(ts)-1]
			continue
		}
		break
	}
	return ts
}

// isLabel reports whether the first side of a statement is nothing but words:
// letters, small figures as marks, bracketed remarks.
func (r *lineReader) isLabel(ts []token) bool {
	words := 0
	for i := range ts {
		t := &ts[i]
		switch t.kind {
		case tWord:
			words++
		case tName:
			words++
			if i > 0 && ts[i-1].kind == tName && (t.split || ts[i-1].split) && t.glued && !initials(ts) {
				return false // LBd: a product
			}
		case tNumber:
			if len(t.text) > 2 || !allDigits(t.text) || words == 0 && (i+1 >= len(ts) || ts[i+1].kind != tWord && ts[i+1].kind != tName) {
				return false
			}
			if i+1 < len(ts) && (ts[i+1].kind == tOp || ts[i+1].kind == tUnit && words == 0) {
				return false
			}
		case tOpen, tClose, tQuote, tOther, tStop, tSep, tColon, tDash, tUnit:
			// vol of 1 t: a small figure is part of the name
			if t.kind == tUnit && i > 0 && isFigure(ts[i-1].kind) && len(ts[i-1].text) > 2 {
				return false
			}
		case tFunc:
			// tan list: the function with a plain name
			if i == 0 && t.text == "tan" && len(ts) == 4 && ts[1].kind == tOpen && wordy(&ts[2]) && ts[3].kind == tClose {
				continue
			}
			if i+2 != len(ts) || ts[i+1].kind != tName && ts[i+1].kind != tWord {
				return false
			}
		case tOp:
			if t.text == "-" && !t.glued && i > 0 && i+1 < len(ts) && !ts[i+1].glued && r.dashInLabel(ts, i) {
				continue // "KB - initial"
			}
			if !t.glued || t.text != "-" && t.text != "/" || i+1 >= len(ts) || !ts[i+1].glued || i == 0 {
				return false
			}
			if t.text == "/" && len(ts[i-1].text) == 1 && len(ts[i+1].text) == 1 && longWord(ts) {
				continue // W/P area
			}
			// W/L, cross-section: words both sides, not two known symbols
			if ts[i-1].kind == tName && ts[i+1].kind == tName || !wordy(&ts[i-1]) || !wordy(&ts[i+1]) {
				return false
			}
		case tArrow:
		default:
			return false
		}
	}
	return words > 0
}

// initials reports whether a side is two or three capitals, such as LB: the
// first letters of a name as well as a product of symbols, so that it can't be
// held to be the product.
func initials(ts []token) bool {
	if len(ts) > 3 {
		return false
	}
	for i := range ts {
		if c := ts[i].text; len(c) != 1 || c[0] < 'A' || c[0] > 'Z' || i > 0 && !ts[i].glued {
			return false
		}
	}
	return true
}

// dashInLabel reports whether the dash at i parts the words of a label rather
// than two operands: nothing but words stands around it, and one of the two
// neighbours is no name.
func (r *lineReader) dashInLabel(ts []token, i int) bool {
	for k := range ts {
		if k != i && !wordy(&ts[k]) && ts[k].kind != tOpen && ts[k].kind != tClose && ts[k].kind != tStop {
			return false
		}
	}
	return ts[i-1].kind == tName && ts[i+1].kind != tName
}

// longWord reports whether a word of some length is among ts.
func longWord(ts []token) bool {
	for i := range ts {
		if wordy(&ts[i]) && len(ts[i].text) > 3 {
			return true
		}
	}
	return false
}

func wordy(t *token) bool { return t.kind == tWord || t.kind == tName }

// open reports whether raw tokens stop short: a line that goes on in the next.
func stopsShort(ts []token) bool {
	if len(ts) == 0 {
		return false
	}
	last := &ts[len(ts)-1]
	switch last.kind {
	case tRel, tArrow:
		return true
	case tOp:
		return len(ts) > 1
	case tWord:
		return (last.text == "x" || last.text == "X") && len(ts) > 1 && (isFigure(ts[len(ts)-2].kind) || ts[len(ts)-2].kind == tClose)
	}
	return false
}
