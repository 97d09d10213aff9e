package parse

import (
	"strings"
)

// A colon for division.

// freeColon is a colon with blanks on both sides between two figures, with a
// "=" before it and another behind.
var freeColon = lazily(`=[^=]*[0-9)] : [0-9(][^=]*=`)

// dividesByColon reports whether a script writes divisions with a colon.
func dividesByColon(lines []plain) bool {
	for i := range lines {
		if strings.Contains(lines[i].text, " : ") && freeColon.MatchString(lines[i].text) {
			return true
		}
	}
	return false
}

// ratio reports whether a colon stands for a division: between two figures
// behind a "=", with another "=" to come.
func (w *wordPass) ratio() bool {
	n := len(w.out)
	if w.colon && w.between() {
		return true
	}
	if w.strict || n < 2 || !isFigure(w.out[n-1].kind) && w.out[n-1].kind != tClose && w.out[n-1].kind != tUnit || w.peek(1).kind != tNumber && w.peek(1).kind != tComma {
		return false
	}
	before := false
	for i := range w.out {
		before = before || isRel(w.out[i].kind)
	}
	return before && (w.peek(2).kind == tRel || w.peek(2).kind == tWord && w.peek(3).kind == tRel)
}

// between reports whether the sign at hand stands free between two operands
// behind a "=": v : A in the script of one who divides with a colon.
func (w *wordPass) between() bool {
	t, next := w.peek(0), w.peek(1)
	if t.glued || next.glued || !isOperand(w.prev()) || !startsOperand(next) {
		return false
	}
	if next.kind == tWord && !w.known(next.text) && w.cut(next.text) == nil {
		return false
	}
	for i := range w.out {
		if isRel(w.out[i].kind) {
			return true
		}
	}
	return false
}
