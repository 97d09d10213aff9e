package parse

import "math"

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
