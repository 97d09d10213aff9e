package parse

import (
	"math"

	"github.com/alecthomas/participle/v2/lexer"
)

// dropRemarks takes bracketed remarks out of a side: "(decrease)", "(lost
// volume)", "(2 dp)", the number of an equation.
func (r *lineReader) dropRemarks(ts []token, cur *sideParts) []token {
	has := false
	for i := range ts {
		if ts[i].kind == tOpen {
			has = true
			break
		}
	}
	if !has {
		return ts
	}
	out := make([]token, 0, len(ts))
	for i := 0; i < len(ts); i++ {
		t := &ts[i]
		if t.kind != tOpen {
			out = append(out, *t)
			continue
		}
		j := closing(ts, i)
		if j < 0 {
			out = append(out, *t)
			continue
		}
		if !r.isRemark(ts, i, j, out) {
			out = append(out, *t)
			continue
		}
		if r.joinsName(out, ts[i:j+1]) {
			i = j
			continue
		}
		remark := ts[i : j+1]
		if j == len(ts)-1 || len(out) == 0 || isOperand(out[len(out)-1].kind) && j+1 < len(ts) && !startsOperand(&ts[j+1]) {
			if j == len(ts)-1 {
				cur.trail = append(cur.trail, remark...)
			} else {
				cur.notes = append(cur.notes, remark...)
			}
		} else {
			cur.notes = append(cur.notes, remark...)
		}
		i = j
	}
	return out
}

// joinsName adds words in brackets to the name right before them, where the
// lexicon knows the whole: KM(new).
func (r *lineReader) joinsName(out, remark []token) bool {
	if len(out) == 0 || out[len(out)-1].kind != tName || len(remark) > 5 {
		return false
	}
	name := &out[len(out)-1]
	if remark[0].gap || name.glued && len(out) > 1 && isFigure(out[len(out)-2].kind) {
		return false // words on the whole line: B²/12d   (before)
	}
	text := name.text + " " + phraseOf(remark)
	if !r.known(text) {
		return false
	}
	name.text = text
	if last := &remark[len(remark)-1]; last.line == name.line {
		name.to = last.to
	}
	return true
}

// closing finds the bracket that closes the one at i, -1 when none does.
func closing(ts []token, i int) int {
	depth := 0
	for j := i; j < len(ts); j++ {
		switch ts[j].kind {
		case tOpen:
			depth++
		case tClose:
			depth--
			if depth == 0 {
				return j
			}
		}
	}
	return -1
}

// isRemark reports whether the bracket from i to j is words beside the
// working rather than part of it. out is what stands before it.
func (r *lineReader) isRemark(ts []token, i, j int, out []token) bool {
	before := lexer.EOF
	if len(out) > 0 {
		before = out[len(out)-1].kind
	}
	after := lexer.EOF
	if j+1 < len(ts) {
		after = ts[j+1].kind
	}
	words, names, figures, ops := 0, 0, 0, 0
	for k := i + 1; k < j; k++ {
		switch ts[k].kind {
		case tWord, tOther, tQuote, tCompare, tDash, tColon, tSep:
			words++
		case tName:
			names++
		case tNumber, tComma, tAngle:
			figures++
		case tOp, tFunc:
			ops++
		case tRel, tArrow:
			return isOperand(before) || before == lexer.EOF || before == tWord
		}
	}
	if before == tOther && figures == 1 && ops == 0 && after == lexer.EOF {
		return true // … (2)
	}
	operandBefore := isOperand(before) && before != tName || before == tWord
	if r.worked && before == tUnit && after == lexer.EOF && !ts[i].glued && ops > 0 && figures > 0 && !comesTo(ts[i+1:j], &out[len(out)-2]) {
		return true // "18 x 3.6 = 64.8 m2 (the depth is 6.1 - 2.5)": about something in it
	}
	switch {
	case words > 0 && ops == 0 && figures == 0:
		return !(before == tOp && (after == tOp || after == lexer.EOF || after == tRel)) || !guessable(ts[i+1:j])
	case words > 0 && ops == 0:
		return operandBefore || before == lexer.EOF && after == lexer.EOF || before == tName
	case words > 0:
		return operandBefore && !ts[i].glued && !hasSignedFigures(ts[i+1:j])
	case names > 0 && figures == 0 && ops == 0:
		// (lost volume), (V): a note behind a finished figure
		if before == tUnit || before == tPercent || before == tAngle {
			return true
		}
		if isFigure(before) && !ts[i].glued {
			return names > 1 || len(ts[i+1].text) > 2 || figureHasPoint(out[len(out)-1].text)
		}
		return before == tName && !ts[i].glued && len(ts[i+1].text) > 2 || before == tWord
	case names > 0 && r.later && before == tUnit && after == lexer.EOF && !ts[i].glued && !hasOp(out):
		return true // "= 6.516 m (old draught plus sinkage)": how it was got
	case names > 0 && ops == 0:
		// (GM 1.45): a note behind a finished figure
		return (before == tUnit || isFigure(before)) && !ts[i].glued
	case figures == 1 && ops == 0 && (isFigure(before) || before == tUnit || before == tPercent) && !ts[i].glued && restates(ts[i+1:j], before):
		return true
	case figures == 1 && ops == 0 && after == lexer.EOF && j == i+2:
		// (1): the number of an equation, or its marks
		return (before == tUnit || isFigure(before) && figureHasPoint(out[len(out)-1].text)) && !ts[i].glued && len(ts[i+1].text) <= 2 && !hasOp(out)
	}
	return false
}

// comesTo reports whether working comes to the figure before it.
func comesTo(ts []token, figure *token) bool {
	if !isFigure(figure.kind) {
		return true // not told
	}
	e, rest, problem := climbStrict(ts)
	if problem != nil || len(rest) > 0 {
		return false
	}
	f, _, ok := numberValue(figure.text, figure.kind == tComma)
	v, err := Eval(e, nil)
	return !ok || err != nil || math.Abs(math.Abs(v)-f) <= 0.01*f
}

// restates reports whether a figure in brackets behind another only says it
// again: 0.5 (50%), 0.288 m (28.8 cm).
func restates(ts []token, before lexer.TokenType) bool {
	last := ts[len(ts)-1].kind
	return last == tPercent || last == tUnit && before == tUnit
}

func figureHasPoint(s string) bool {
	for i := 0; i < len(s); i++ {
		if s[i] == '.' || s[i] == ',' {
			return true
		}
	}
	return false
}

// hasSignedFigures reports whether a sign stands beside a figure: working, not prose.
func hasSignedFigures(ts []token) bool {
	for i := range ts {
		if ts[i].kind == tOp && !ts[i].glued && (i > 0 && isFigure(ts[i-1].kind) || i+1 < len(ts) && isFigure(ts[i+1].kind)) {
			return true
		}
	}
	return false
}

// resultBehind parts "84 x 15 (1260 m2)", working with what it comes to in
// brackets behind it.
func resultBehind(ts []token) (working, figure []token) {
	n := len(ts)
	open := n - 3
	if open > 0 && ts[open].kind != tOpen {
		open--
	}
	if open < 1 || ts[open].kind != tOpen || ts[n-1].kind != tClose || ts[open].glued || !isOperand(ts[open-1].kind) && ts[open-1].kind != tClose && ts[open-1].kind != tUnit && ts[open-1].kind != tPercent {
		return nil, nil
	}
	f, ok := loneFigure(ts[open+1 : n-1])
	if !ok || !hasOp(ts[:open]) {
		return nil, nil
	}
	e, rest, problem := climbStrict(ts[:open])
	if problem != nil || len(rest) > 0 {
		return nil, nil
	}
	near := 0.01
	if n-open == 4 {
		near = 0.3 // with its unit it is no factor
	}
	if v, err := Eval(e, nil); err != nil && n-open == 4 || err == nil && math.Abs(math.Abs(v)-math.Abs(f)) <= near*math.Max(math.Abs(v), math.Abs(f)) {
		return ts[:open], ts[open+1 : n-1]
	}
	return nil, nil
}

// restated parts "1.45 m (8.25 - 6.80)", a result with its working in brackets
// behind it, from a product such as "18 (96 - 8.4)": the working comes to the
// figure, or the figure has a unit and the working none.
func (r *lineReader) restated(ts []token) (working, figure []token) {
	if working, figure = resultBehind(ts); working != nil {
		return working, figure
	}
	k := 0
	if len(ts) > 0 && ts[0].is(tOp, "-") {
		k = 1
	}
	if k >= len(ts) || !isFigure(ts[k].kind) {
		return nil, nil
	}
	open := k + 1
	if open < len(ts) && (ts[open].kind == tUnit || ts[open].kind == tPercent) {
		open++
	}
	if open >= len(ts)-2 || ts[open].kind != tOpen || ts[open].glued || closing(ts, open) != len(ts)-1 {
		return nil, nil
	}
	if !hasOp(ts[open+1 : len(ts)-1]) {
		// 2.3463 (2.35): the same rounded
		a, ok1 := loneFigure(ts[k:open])
		b, ok2 := loneFigure(ts[open+1 : len(ts)-1])
		if ok1 && ok2 && figureHasPoint(ts[k].text) && math.Abs(a-b) <= 0.01*a {
			return ts[:open], ts[open+1 : len(ts)-1]
		}
		return nil, nil
	}
	inner := ts[open+1 : len(ts)-1]
	e, rest, problem := climbStrict(inner)
	if problem != nil || len(rest) > 0 {
		return nil, nil
	}
	f, _, ok := numberValue(ts[k].text, ts[k].kind == tComma)
	v, err := Eval(e, nil)
	if ok && err == nil && math.Abs(math.Abs(v)-f) <= 0.01*f {
		return inner, ts[:open]
	}
	units := 0
	for i := range inner {
		if inner[i].kind == tUnit {
			units++
		}
	}
	if ts[open-1].kind == tUnit && units == 0 && err == nil {
		return inner, ts[:open]
	}
	return nil, nil
}
