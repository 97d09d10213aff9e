package parse

import (
	"math"
	"strings"
)

// headsItsWorking reports whether the first word of a statement, which could
// be a function or a factor of what stands behind it, names what that comes
// to: "tan .1813/1.296 = .1399", "I (110-20*0.444)*17^3/12 = 41397". The
// figures decide: without the word they give the next side.
func (r *lineReader) headsItsWorking(raw []rawSide) bool {
	if len(raw) < 2 || len(raw[0].ts) < 3 {
		return false
	}
	head, rest := &raw[0].ts[0], raw[0].ts[1:]
	switch {
	case head.is(tFunc, "tan"):
		if !isFigure(rest[0].kind) && rest[0].kind != tOpen || !hasOp(rest) {
			return false
		}
	case head.kind == tName:
		if rest[0].kind != tOpen || rest[0].glued {
			return false
		}
	default:
		return false
	}
	x, ok1 := figuresOnly(rest)
	y, ok2 := figuresOnly(raw[1].ts)
	return ok1 && ok2 && math.Abs(x-y) <= 0.01*math.Abs(y)
}

// figuresOnly works out a side in figures alone.
func figuresOnly(ts []token) (float64, bool) {
	clean := make([]token, 0, len(ts))
	for i := range ts {
		switch ts[i].kind {
		case tNumber, tComma, tOp, tOpen, tClose, tPercent:
			clean = append(clean, ts[i])
		case tUnit:
		case tWord, tName, tStop:
			if len(clean) == 0 || !isOperand(clean[len(clean)-1].kind) {
				return 0, false
			}
			return workedOut(clean) // words behind the figure
		default:
			return 0, false
		}
	}
	return workedOut(clean)
}

func workedOut(ts []token) (float64, bool) {
	if len(ts) == 0 {
		return 0, false
	}
	e, rest, problem := climbStrict(ts)
	if problem != nil || len(rest) > 0 {
		return 0, false
	}
	v, err := Eval(e, nil)
	return v, err == nil
}

// headedBare puts the "=" into "wpa (92*15)-(15*15*.7576)", a name with
// working in figures behind it that begins with a bracket and a statement with
// no "=": a product with the name would come to nothing.
func (r *lineReader) headedBare(ts []token) []token {
	if with := boxed(ts); with != nil {
		return with
	}
	if len(ts) < 4 || ts[0].kind != tName || ts[1].kind != tOpen || ts[1].glued {
		return nil
	}
	if _, ok := figuresOnly(ts[1:]); !ok || !hasOp(ts[1:]) {
		return nil
	}
	eq := ts[1]
	eq.kind, eq.text, eq.to, eq.glued = tRel, "=", eq.from, false
	return append([]token{ts[0], eq}, ts[1:]...)
}

// boxed reads a name with its figure in brackets behind it, as if with an "=":
// "List [4.7° to port]". In round brackets the figure has its unit, else it
// may be the number of an equation.
func boxed(ts []token) []token {
	n := len(ts)
	open := 0
	for open < n && wordy(&ts[open]) {
		open++
	}
	if open == 0 || open+2 >= n || ts[open].kind != tOpen || ts[open].glued || closing(ts, open) != n-1 || !isFigure(ts[open+1].kind) {
		return nil
	}
	unit := ts[open+1].kind == tAngle
	for i := open + 2; i < n-1; i++ {
		if ts[i].kind == tUnit || ts[i].kind == tPercent {
			unit = true
		} else if !wordy(&ts[i]) {
			return nil
		}
	}
	if !unit && ts[open].text != "[" {
		return nil
	}
	eq := ts[open]
	eq.kind, eq.text, eq.to, eq.glued = tRel, "=", eq.from, false
	out := append(append(make([]token, 0, n), ts[:open]...), eq)
	return append(out, ts[open+1:n-1]...)
}

// percent stands for a percent sign among units behind labels.
var percent = &Unit{Text: "%", Factor: 0.01}

// give gives the last side the unit that stands behind the label, where it is
// a figure with none.
func (s *Step) give(u *Unit) {
	if u == nil || len(s.Sides) == 0 {
		return
	}
	last := &s.Sides[len(s.Sides)-1]
	n, _, ok := Bare(last.Expr)
	if !ok || last.Unit != nil || ownUnit(last.Expr) {
		return
	}
	if u != percent {
		last.Unit = u
	} else if n.Value > 1 {
		n.Percent, n.Value, n.Places = true, n.Value/100, n.Places+2
	}
}

// bracketedUnit takes a unit in brackets off the end of the words before a
// "=": "Sinkage (cm)", "Area lost (a) [m2]".
func bracketedUnit(ts []token) ([]token, *Unit) {
	n := len(ts)
	if n < 2 {
		return ts, nil
	}
	if last := &ts[n-1]; last.kind == tUnit && last.brackets && !isFigure(ts[n-2].kind) {
		return ts[:n-1], units[last.text]
	}
	if ts[n-1].kind != tClose {
		return ts, nil
	}
	for i := n - 2; i > 0 && i > n-2-maxUnitTokens; i-- {
		if ts[i].kind != tOpen {
			continue
		}
		if !wordy(&ts[i-1]) && ts[i-1].kind != tClose {
			return ts, nil
		}
		inner := ts[i+1 : n-1]
		if len(inner) == 1 && inner[0].kind == tPercent {
			return ts[:i], percent
		}
		if u, ok := LookupUnit(proseOf(inner)); ok && !(ts[i].glued && len(ts[i-1].text) == 1) {
			return ts[:i], u
		}
		break
	}
	return ts, nil
}

// withRemark gives the tokens of a piece of a chain that begins with words on
// how its formula is used: "BM = B squared / 12d with the new draught = 272.25 /
// (12 x 5.561)". What stands behind their "=" is a quotient as what stands
// before them, and no value of a draught. It returns nil for any other piece.
func (r *lineReader) withRemark(before []token, cur, f *facts, s *segment) []token {
	if s.sep != sepComma || lower(s.at.text) != "with" || cur.rel <= 0 || !f.label || f.rel < 0 {
		return nil
	}
	side := before
	for i := range before {
		if isRel(before[i].kind) {
			side = before[i+1:]
		}
	}
	behind := s.ts[f.rel+1:]
	for i := range behind {
		if isRel(behind[i].kind) {
			behind = behind[:i]
			break
		}
	}
	if !divided(side) || !divided(behind) {
		return nil
	}
	for i := range s.ts[:f.rel] {
		if !wordy(&s.ts[i]) {
			return nil
		}
	}
	open, shut := s.at, s.ts[f.rel]
	open.kind, open.text, open.to = tOpen, "(", open.from
	shut.kind, shut.text, shut.to = tClose, ")", shut.from
	out := append([]token{open, s.at}, s.ts[:f.rel]...)
	for i := range out[1:] {
		out[i+1].kind = tWord
	}
	return append(append(out, shut), s.ts[f.rel:]...)
}

func divided(ts []token) bool {
	for i := range ts {
		if ts[i].is(tOp, "/") {
			return true
		}
	}
	return false
}

// namedFigure reports whether a piece is a name with its figure, and a unit at most.
func namedFigure(ts []token) bool {
	return (len(ts) == 2 || len(ts) == 3 && ts[2].kind == tUnit) && ts[0].kind == tName && isFigure(ts[1].kind)
}

// endsInName gives the name that stands last in words before a figure, joining
// words apart: "the ship has a positive GM of 0.361 m".
func (r *lineReader) endsInName(ts []token) labelled {
	all := r.expand(ts)
	hi := len(all)
	for hi > 0 && lower(all[hi-1].text) == "of" {
		hi--
	}
	if hi == len(all) {
		return labelled{}
	}
	for lo := max(0, hi-maxPhrase); lo < hi; lo++ {
		if noise[lower(all[lo].text)] && hi-lo > 1 || isMark(&all[lo]) {
			continue
		}
		if text := phraseOf(all[lo:hi]); len(text) > 1 && r.knownWhole(all[lo:hi], text) {
			return r.labelFrom(all, lo, hi, text)
		}
	}
	return labelled{}
}

// headNoun gives the words of a clause before its first verb or joining word:
// the hold of "Hold bilged from the keel up".
func headNoun(ts []token) []token {
	for len(ts) > 1 && noise[lower(ts[0].text)] {
		ts = ts[1:]
	}
	for i := 1; i < len(ts); i++ {
		if l := lower(ts[i].text); verbs[l] || noise[l] || between[l] || leads[l] || len(l) > 4 && strings.HasSuffix(l, "ed") {
			return ts[:i]
		}
	}
	return ts
}
