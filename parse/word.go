package parse

import (
	"strings"
	"unicode/utf8"

	"github.com/alecthomas/participle/v2/lexer"
)

// word settles what the word at hand is.
func (w *wordPass) word() {
	t := &w.in[w.i]
	if !w.strict && w.pair(t) || w.sign(t) || w.half(t) || len(w.aliases) > 0 && w.alias(t) {
		return
	}
	if d := w.peek(1); d.glued && d.kind == tNumber && len(t.text) == 1 && (d.text == "3" || d.text == "2") && !w.strict && w.flatPower(t, t.text+d.text) {
		return
	}
	if text, n := w.phrase(); n > 0 && !w.leavesHyphen(text, n) {
		if f := funcs[lower(t.text)]; f == "" || n > 1 {
			w.put(tName, text, n)
			if !w.strict {
				w.bracketedIndex()
				w.unitBehindName()
			}
			return
		}
	}
	if w.function(t) || w.power(t) {
		return
	}
	if !w.strict && (w.approx(t) || w.link(t)) {
		return
	}
	if w.symbols(t) {
		return
	}
	if d := w.peek(1); d.kind == tNumber && d.glued && len(d.text) <= 2 && allDigits(d.text) && !endsInSign(t.text) {
		w.put(tWord, t.text+d.text, 2)
		return
	}
	// box-shaped: the hyphen of a word is no sign
	text, n := t.text, 1
	for !w.strict && w.peek(n).is(tOp, "-") && w.peek(n).glued && w.peek(n+1).glued && w.peek(n+1).kind == tWord {
		text += "-" + w.peek(n+1).text
		n += 2
	}
	w.put(tWord, text, n)
}

// half reads "half the draught" and "half of L" as ½ times the name behind.
func (w *wordPass) half(t *token) bool {
	if w.strict || len(t.text) != 4 || lower(t.text) != "half" {
		return false
	}
	if k := w.prev(); k != tRel && k != tArrow && k != tOp && k != tOpen {
		return false // "half the draught = 2.25" is a label
	}
	n := 1
	if lower(w.peek(n).text) == "of" {
		n++
	}
	if w.peek(n).kind != tWord || !w.leadsToName(n) {
		return false
	}
	w.put(tNumber, "½", n)
	sign := w.out[len(w.out)-1]
	sign.kind, sign.text, sign.from = tOp, "*", sign.to
	w.out = append(w.out, sign)
	w.articles()
	return true
}

// leavesHyphen reports whether a known word is only the head of a hyphened
// word ("L-shaped"), which is prose. L-l with both known is a difference.
func (w *wordPass) leavesHyphen(text string, n int) bool {
	h, next := w.peek(n), w.peek(n+1)
	if !h.is(tOp, "-") || !h.glued || !next.glued || next.kind != tWord {
		return false
	}
	if w.known(next.text) || w.strict {
		return false
	}
	if d := w.peek(n + 2); d.kind == tNumber && d.glued && w.known(next.text+d.text) {
		return false
	}
	return w.cut(next.text) == nil
}

// bracketedIndex adds to the symbol just read a letter in brackets glued to
// it, where the lexicon knows both as one: GM(L) is GML and no product.
func (w *wordPass) bracketedIndex() {
	name := &w.out[len(w.out)-1]
	o, l, c := w.peek(0), w.peek(1), w.peek(2)
	if !o.is(tOpen, "(") || !o.glued || l.kind != tWord || len(l.text) != 1 || c.kind != tClose || len(name.text) < 2 || len(name.text) > maxSymbol || !w.known(name.text+l.text) {
		return
	}
	name.text += "(" + l.text + ")"
	name.to = c.to
	w.i += 3
}

// unitBehindName takes the unit of a whole side: v = LBd m3.
func (w *wordPass) unitBehindName() {
	t := w.peek(0)
	if t.kind != tWord || w.known(t.text) || len(w.out) < 2 {
		return
	}
	u, n := matchUnit(w.in[w.i:])
	if u == nil {
		return
	}
	switch w.peek(n).kind {
	case lexer.EOF, tRel, tArrow, tSep, tStop:
		if k := w.out[len(w.out)-2].kind; k == tOp || k == tName {
			w.put(tUnit, u.Text, n)
		}
	}
}

// sign reads a multiplication written x, and signs written as words.
func (w *wordPass) sign(t *token) bool {
	if w.operandDue() && w.prev() != tWord {
		return false
	}
	switch {
	case t.text == "x" || t.text == "X":
		if w.prev() == tWord && (noise[lower(w.out[len(w.out)-1].text)] || w.peek(1).kind == tWord && (breaks[lower(w.peek(1).text)] || linkWords[lower(w.peek(1).text)] != nil)) {
			return false // "the x will be": a name
		}
		if n := w.peek(1); t.gap && n.kind == tNumber && n.glued && len(n.text) == 1 && w.peek(2).kind == tRel {
			return false // "1440 m2    x1 = 45": a name
		}
		if n := w.peek(1); n.is(tOp, "-") && !n.glued && !w.peek(2).glued {
			return false // "1700x - 1052": a name, less what follows
		}
		if startsOperand(w.peek(1)) {
			w.put(tOp, "*", 1)
			return true
		}
		return false
	case (t.text[0] == 'x' || t.text[0] == 'X') && len(t.text) > 1:
		// glued to what follows: 14 xL
		rest := t.text[1:]
		if w.prev() == tWord || w.known(t.text) || !(w.known(rest) || w.cut(rest) != nil) && !(t.glued && len(rest) > 2) {
			return false
		}
		at := *t
		at.kind, at.text, at.to = tOp, "*", t.from+1
		w.out = append(w.out, at)
		w.in[w.i].text, w.in[w.i].from, w.in[w.i].glued = rest, t.from+1, true
		return true
	case w.strict:
		return false
	}
	l := lower(t.text)
	if l == "of" {
		// 60% of 14
		k := w.prev()
		if (k == tPercent || k == tNumber || k == tComma) && startsOperand(w.peek(1)) && (w.peek(1).kind != tWord || k == tPercent && w.leadsToName(1)) {
			w.put(tOp, "*", 1)
			return true
		}
		return false
	}
	if w.prev() == tWord {
		return false
	}
	if l == "by" && startsOperand(w.peek(1)) {
		// "12 by 6 by 6": the measures of a space
		if next := w.peek(1).kind; w.measured() && (next == tNumber || next == tComma) {
			w.put(tOp, "*", 1)
			return true
		}
		if sign := w.verbOfBy(); sign != "" {
			w.put(tOp, sign, 1)
			return true
		}
	}
	for i := range signWords {
		s := &signWords[i]
		if s.words[0] != l || len(s.words) == 2 && lower(w.peek(1).text) != s.words[1] {
			continue
		}
		n := len(s.words)
		if next := w.peek(n); !startsOperand(next) || next.kind == tWord && !w.leadsToName(n) {
			return false
		}
		w.put(tOp, s.sign, n)
		w.articles()
		return true
	}
	return false
}

// signX reports whether the token n ahead is an x that multiplies: by itself, and
// an operand behind it.
func (w *wordPass) signX(n int) bool {
	t := w.peek(n)
	return t.kind == tWord && (t.text == "x" || t.text == "X") && !t.glued && startsOperand(w.peek(n+1))
}

// measured reports whether a figure stands before, in working and not behind
// words: "0.7 of 12 by 6", but not "falls from 1.45 by 0.2".
func (w *wordPass) measured() bool {
	n := len(w.out)
	if n > 1 && w.out[n-1].kind == tUnit {
		n--
	}
	if n < 2 || w.out[n-1].kind != tNumber && w.out[n-1].kind != tComma {
		return false
	}
	before := w.out[n-2].kind
	return before == tOp || isRel(before) || before == tOpen
}

// verbOfBy gives the sign of "by" in "multiply 8.4 by 18".
func (w *wordPass) verbOfBy() string {
	for k := len(w.out) - 1; k >= 0 && k > len(w.out)-8; k-- {
		if w.out[k].kind != tWord {
			continue
		}
		switch lower(w.out[k].text) {
		case "multiply", "multiplying":
			return "*"
		case "divide", "dividing":
			return "/"
		}
		return ""
	}
	return ""
}

// leadsToName reports whether the words n tokens on begin with a name, an
// article apart.
func (w *wordPass) leadsToName(n int) bool {
	save := w.i
	defer func() { w.i = save }()
	w.i += n
	if articles[lower(w.peek(0).text)] {
		w.i++
	}
	if k := w.peek(0).kind; k != tWord {
		return startsOperand(w.peek(0))
	}
	_, k := w.phrase()
	return k > 0 || w.cut(w.peek(0).text) != nil || funcs[lower(w.peek(0).text)] != ""
}

// articles drops an article that stands before an operand.
func (w *wordPass) articles() {
	if t := w.peek(0); t.kind == tWord && articles[lower(t.text)] && (len(t.text) > 1 || !w.known(t.text)) {
		w.i++
	}
}

// power reads cubed, squared, "to the power 3".
func (w *wordPass) power(t *token) bool {
	if w.operandDue() {
		return false
	}
	digit, n := "", 1
	switch lower(t.text) {
	case "cubed", "cube":
		digit = "3"
	case "squared", "sqd":
		digit = "2"
	case "to":
		k := 1
		if lower(w.peek(k).text) == "the" {
			k++
		}
		if lower(w.peek(k).text) != "power" {
			return false
		}
		k++
		if lower(w.peek(k).text) == "of" {
			k++
		}
		if d := w.peek(k); d.kind == tNumber && len(d.text) == 1 {
			digit, n = d.text, k+1
		}
	}
	if digit == "" {
		return false
	}
	sign := *t
	sign.kind, sign.text = tOp, "^"
	w.out = append(w.out, sign)
	w.put(tNumber, digit, n)
	return true
}

// function reads the name of a function with the marks that make it an
// inverse: tan-1, tan^-1, inv tan, arc tan, shift tan.
func (w *wordPass) function(t *token) bool {
	l := lower(t.text)
	n := 1
	switch l {
	case "inv", "inverse", "arc", "shift":
		f := inverse[lower(w.peek(1).text)]
		if f == "" || w.peek(1).kind != tWord {
			return false
		}
		// "inverse tan of", "shift tan ("
		if !w.argumentAt(2) {
			return false
		}
		w.put(tFunc, f, 2)
		w.dropOf()
		return true
	case "square", "sq":
		if r := lower(w.peek(1).text); r != "root" && r != "rt" {
			return false
		}
		n = 2
		if lower(w.peek(2).text) == "of" {
			n = 3
		}
		if !w.argumentAt(n) {
			return false
		}
		w.put(tFunc, "sqrt", n)
		return true
	}
	f := funcs[l]
	if f == "" && len(l) > 3 && inverse[l[:3]] != "" && utf8.RuneCountInString(l[3:]) == 1 && w.known(t.text[3:]) {
		// tanθ
		head := *t
		head.kind, head.text, head.to = tFunc, l[:3], t.from+3
		w.out = append(w.out, head)
		w.in[w.i].text, w.in[w.i].from, w.in[w.i].glued = t.text[3:], t.from+3, false
		w.take(tName)
		return true
	}
	if f == "" {
		return false
	}
	if inv := inverse[f]; inv != "" {
		k := 1
		if w.peek(k).is(tOp, "^") {
			k++
			if w.peek(k).is(tOpen, "(") && w.peek(k+3).is(tClose, ")") && w.peek(k+1).is(tOp, "-") && w.peek(k+2).text == "1" {
				w.put(tFunc, inv, k+4)
				return true
			}
		}
		if w.peek(k).is(tOp, "-") && w.peek(k+1).is(tNumber, "1") && w.argumentAt(k+2) {
			w.put(tFunc, inv, k+2)
			return true
		}
	}
	if w.peek(1).is(tOp, "^") && inverse[f] != "" && w.peek(1).glued {
		w.put(tFunc, f, 1) // tan² is refused where it is read
		return true
	}
	switch f {
	case "min", "max", "abs":
		if w.peek(1).kind != tOpen || !w.strict && !w.peek(1).glued {
			return false
		}
		if f != "abs" {
			w.put(tFunc, f, 1)
			w.arguments()
			return true
		}
	case "sqrt":
		if l != "sqrt" && w.peek(1).kind != tOpen && w.peek(1).kind != tNumber {
			return false
		}
	}
	if !w.argumentAt(1) {
		return false
	}
	w.put(tFunc, f, 1)
	w.dropOf()
	return true
}

func (w *wordPass) dropOf() {
	if lower(w.peek(0).text) == "of" && w.peek(0).kind == tWord {
		w.i++
	}
}

// argumentAt reports whether the argument of a function stands n tokens on.
func (w *wordPass) argumentAt(n int) bool {
	t := w.peek(n)
	switch t.kind {
	case tNumber, tComma, tOpen, tBad:
		return !t.gap || t.kind == tOpen
	case tWord:
		if lower(t.text) == "of" {
			return w.argumentAt(n + 1)
		}
		return !t.gap && (w.known(t.text) || w.strict || utf8.RuneCountInString(t.text) == 1)
	}
	return t.is(tOp, "-")
}

// arguments marks the commas between the arguments of min and max, so that
// max(0, 1,200) keeps its thousand and max(1,2) its two figures.
func (w *wordPass) arguments() {
	depth := 0
	for k := 0; ; k++ {
		t := w.peek(k)
		switch {
		case t.kind == lexer.EOF:
			return
		case t.kind == tOpen:
			depth++
		case t.kind == tClose:
			depth--
			if depth == 0 {
				return
			}
		case t.is(tSep, ",") && depth == 1:
			t.kind = tArgSep
		case (t.kind == tComma || t.kind == tNumber) && strings.IndexByte(t.text, ',') >= 0:
			t.kind, t.text = tBad, "this comma may part two figures or stand inside one: put a blank behind it, or leave it out"
		}
	}
}

// approx reads about, say, roughly before a figure.
func (w *wordPass) approx(t *token) bool {
	if !approxWords[lower(t.text)] {
		return false
	}
	k := 1
	if w.peek(1).kind == tStop {
		k = 2
	}
	if n := w.peek(k); n.kind != tNumber && n.kind != tComma || w.known(t.text) {
		return false
	}
	w.put(tApprox, "≈", k)
	w.approxAfter()
	return true
}

// link reads words that mean "=" where an expression follows.
func (w *wordPass) link(t *token) bool {
	if t.text == "" || len(w.out) == 0 {
		// "Is 0.288 m": nothing is said to be equal
		if l := lower(t.text); l != "giving" && l != "gives" && l != "ie" && l != "which" && l != "equals" && l != "this" && l != "we" {
			return false
		}
	}
	links := linkWords[lower(t.text)]
	if w.prev() == tOp || w.prev() == tOpen || w.prev() == tFunc {
		return false
	}
next:
	for i := range links {
		l := &links[i]
		for k, word := range l.words {
			if x := w.peek(k); x.kind != tWord || lower(x.text) != word {
				continue next
			}
		}
		n := len(l.words)
		if w.peek(n).kind == tStop || w.peek(n).is(tSep, ",") {
			n++
		}
		if w.peek(n).kind == tRel {
			// "is = 4.788"
			if n == len(l.words) {
				w.i += n
				return true
			}
			return false
		}
		if rest := leftOver[l.words[len(l.words)-1]]; (rest || !w.expressionAt(n)) && !(w.working() && (rest || w.figureNamedAt(n))) {
			return false
		}
		w.put(tRel, "=", n)
		return true
	}
	return false
}

// working reports whether what stands before, back to the last sign that parts,
// ends in an operand of some arithmetic.
func (w *wordPass) working() bool {
	switch w.prev() {
	case tNumber, tComma, tUnit, tClose:
	default:
		return false
	}
	for k := len(w.out) - 1; k > 0 && !isRel(w.out[k].kind) && w.out[k].kind != tSep && w.out[k].kind != tStop; k-- {
		if w.out[k].kind == tOp {
			return true
		}
	}
	return false
}

// figureNamedAt reports whether a name with its figure stands n tokens on: of
// "480 / 1000 gives a sinkage of 0.48", what is behind "gives".
func (w *wordPass) figureNamedAt(n int) bool {
	if articles[lower(w.peek(n).text)] && w.figureNamedAt(n+1) {
		return true
	}
	if w.peek(n).kind != tWord {
		return false
	}
	save := w.i
	defer func() { w.i = save }()
	w.i += n
	_, k := w.phrase()
	if k == 0 {
		return false
	}
	if l := lower(w.peek(k).text); l == "of" || l == "at" {
		k++
	}
	f := w.peek(k).kind
	return f == tNumber || f == tComma
}

// expressionAt reports whether an expression stands n tokens on: a figure, or
// a name with a sign of arithmetic behind it.
func (w *wordPass) expressionAt(n int) bool {
	t := w.peek(n)
	switch t.kind {
	case tNumber, tComma, tOpen, tFunc, tApprox:
		return true
	case tOp:
		return t.text == "-" && (w.peek(n+1).kind == tNumber || w.peek(n+1).kind == tOpen)
	case tWord:
		if approxWords[lower(t.text)] {
			k := n + 1
			if w.peek(k).kind == tStop {
				k++
			}
			return w.peek(k).kind == tNumber || w.peek(k).kind == tComma
		}
		save := w.i
		defer func() { w.i = save }()
		w.i += n
		if articles[lower(t.text)] && !w.known(t.text) {
			w.i++
		}
		if k := w.peek(0); k.kind != tWord {
			return false
		}
		_, k := w.phrase()
		if k == 0 && w.cut(w.peek(0).text) != nil {
			k = 1
		}
		if k == 0 {
			return false
		}
		s := w.peek(k)
		switch {
		case s.kind == tOp:
			return !s.is(tOp, "-") || !s.glued
		case s.kind == tWord:
			l := lower(s.text)
			return l == "x" || l == "times" || l == "plus" || l == "minus" || l == "divided" || l == "multiplied" || l == "over" || l == "less"
		}
	}
	return false
}
