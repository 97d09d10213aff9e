package parse

import "math"

// Working and its result in columns of their own on one line:
//
//	Lost volume    14 x 18 x 3    756 m3

// signGlued reports whether ts begins with a sign and a figure right behind it.
func signGlued(ts []token) bool {
	return len(ts) > 1 && (ts[0].is(tOp, "-") || ts[0].is(tOp, "+")) && ts[1].glued && isFigure(ts[1].kind)
}

// resultColumn reports whether the piece ts, with facts f, that stands in a
// column of its own is what the expression in the column before it comes to.
func (r *lineReader) resultColumn(before []token, cur, f *facts, ts []token) bool {
	if f.rel >= 0 || r.cell || !isFigure(ts[0].kind) && !signGlued(ts) {
		return false
	}
	end := 1 + b2i(!isFigure(ts[0].kind))
	value, _, ok := numberValue(ts[end-1].text, ts[end-1].kind == tComma)
	if !ok || hasOp(ts[1:]) {
		return false
	}
	for i := end; i < len(ts); i++ {
		if isFigure(ts[i].kind) && figureHasPoint(ts[i].text) {
			return false
		}
	}
	working := lastSide(before)
	if len(working) == len(before) && !cur.known && !cur.op {
		return false
	}
	e := r.expression(working)
	if e == nil {
		return false
	}
	v, err := Eval(e, nil)
	if err != nil {
		return cur.rel >= 0 && len(Names(e)) > 0 // a formula
	}
	if cur.rel >= 0 && ts[0].tab {
		return true
	}
	return math.Abs(math.Abs(v)-value) <= 0.3*math.Max(math.Abs(v), value)
}

// workingColumn gives the pieces before and ts as one statement, where ts is a
// column of working behind the figure that it comes to:
//
//	KM after = 8.277 m      3.462 + 4.815
//
// It gives nil where ts is anything else.
func (r *lineReader) workingColumn(before []token, cur, f *facts, ts []token) []token {
	if cur.rel < 0 || f.rel >= 0 || r.cell {
		return nil
	}
	figure := lastSide(before)
	value, ok := loneFigure(figure)
	if !ok {
		return nil
	}
	e := r.expression(ts)
	if e == nil {
		return nil
	}
	if v, err := Eval(e, nil); err == nil && math.Abs(math.Abs(v)-math.Abs(value)) > 0.3*math.Max(math.Abs(v), math.Abs(value)) {
		return nil
	}
	eq := figure[0]
	eq.kind, eq.text, eq.to, eq.glued = tRel, "=", eq.from, false
	out := make([]token, 0, len(before)+len(ts)+1)
	out = append(append(out, before[:len(before)-len(figure)]...), ts...)
	return append(append(out, eq), figure...)
}

// lastSide gives the tokens behind the last relation outside brackets.
func lastSide(ts []token) []token {
	depth, from := 0, 0
	for i := range ts {
		switch ts[i].kind {
		case tOpen:
			depth++
		case tClose:
			depth--
		case tRel, tArrow:
			if depth <= 0 {
				from = i + 1
			}
		}
	}
	return ts[from:]
}

// expression reads the one expression of a side, if it is working, words left
// out: nil for a figure alone and for anything that can't be read.
func (r *lineReader) expression(ts []token) Expr {
	if len(ts) == 0 {
		return nil
	}
	all := r.parts(ts)
	var found []token
	for i := range all {
		if len(all[i].expr) == 0 {
			continue
		}
		if found != nil {
			return nil
		}
		found = all[i].expr
	}
	if !hasOp(found) && !implied(found) || signedFigure(found) {
		return nil
	}
	e, rest, problem := climbStrict(found)
	if problem != nil || len(rest) > 0 {
		return nil
	}
	if _, _, bare := Bare(e); bare {
		return nil
	}
	return e
}

// implied reports whether factors stand side by side, as in 0.4(9)(13).
func implied(ts []token) bool {
	for i := 1; i < len(ts); i++ {
		if ts[i].kind == tOpen && isOperand(ts[i-1].kind) {
			return true
		}
	}
	return false
}
