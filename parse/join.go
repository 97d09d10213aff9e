package parse

import (
	"math"
	"strings"
)

// A statement may run over several lines.

// joinLines adds to the raw tokens of line i those of the lines that it runs
// over, and returns the line after them.
func (r *scriptReader) joinLines(i int, m *lineMarks) int {
	next := i + 1
	for next < len(r.texts) && next-i < maxJoined && len(r.raw) > 0 && len(r.raw) < 1500 {
		j := next
		if strings.TrimSpace(r.texts[j].text) == "" {
			// a label with its "=" one blank line below
			if next != i+1 || looksLikeWorking(r.raw) {
				break
			}
			if j = r.nextFilled(next); j == 0 {
				break
			}
		}
		if r.tableAt(j) >= 0 || r.script.Lines[j].Problem != nil || drawn(r.texts[j].text) {
			break
		}
		below := marksOf(r.texts[j])
		if below.part != "" || below.heading {
			break
		}
		text := strings.TrimSpace(r.texts[j].text)
		at := len(r.raw)
		switch {
		case stopsShort(r.raw):
			below.rest = r.texts[j] // a dash at its head is a sign, no bullet
		case unclosed(r.raw):
			if !r.closesBelow(j) {
				return next
			}
			below.rest = r.texts[j]
		case !looksLikeWorking(r.raw) && len(r.raw) <= 10 && (text[0] == '=' || strings.HasPrefix(text, "≈") || strings.HasPrefix(text, ":=")) && !strings.HasPrefix(text, "=>") && !m.heading:
			if r.raw[len(r.raw)-1].kind == tColon {
				r.raw = r.raw[:len(r.raw)-1]
			}
		case beginsWithSign(text) && looksLikeWorking(r.raw) && !standsAlone(text):
			below.rest = r.texts[j]
		default:
			return next
		}
		r.raw = scan(&below.rest, r.comma, r.raw)
		if at < len(r.raw) {
			r.raw[at].glued = false
		}
		if stopsShort(r.raw[:at]) && r.lines.newLabel(r.raw[at:]) {
			// "KB =" left empty, and a new statement below
			r.raw = r.raw[:at]
			return next
		}
		next = j + 1
	}
	return next
}

// beginsWithSign reports whether a line goes on with a sign that needs an
// operand before it.
func beginsWithSign(t string) bool {
	if len(t) < 3 {
		return false
	}
	switch t[0] {
	case '+', '/':
		return isDigit(t[1]) || t[1] == ' ' || t[1] == '(' || isLetter(rune(t[1]))
	case '*':
		return isDigit(t[1]) || t[1] == ' ' && (isDigit(t[2]) || t[2] == '(')
	case 'x', 'X':
		return t[1] == ' ' && (isDigit(t[2]) || t[2] == '(')
	}
	return false
}

// standsAlone reports whether a line that begins with a "+" is an entry of an
// account, complete in itself, and no more of the sum above it: what it writes
// behind the sign comes to its result, or its result has a sign of its own.
func standsAlone(t string) bool {
	working, result, ok := strings.Cut(t, "=")
	if !ok || t[0] != '+' {
		return false
	}
	result = strings.TrimSpace(result)
	if strings.HasPrefix(result, "+") {
		return true
	}
	e, err := ParseExpr(working[1:], nil)
	if err != nil {
		return false
	}
	if _, bare := e.(*Num); bare {
		return false // "+ 2554.8 = 43147.7" runs on
	}
	is, err := ParseExpr(result, nil)
	if err != nil {
		return false
	}
	x, err := Eval(e, nil)
	if err != nil {
		return false
	}
	y, err := Eval(is, nil)
	return err == nil && math.Abs(x-y) <= 0.002*math.Abs(y)
}

func unclosed(ts []token) bool {
	n := 0
	for i := range ts {
		switch ts[i].kind {
		case tOpen:
			n++
		case tClose:
			n--
		}
	}
	return n > 0
}

// closesBelow reports whether line j closes a bracket that it did not open,
// and is no statement of its own.
func (r *scriptReader) closesBelow(j int) bool {
	n := 0
	for k := j; k < len(r.texts) && k < j+3; k++ {
		for _, c := range r.texts[k].text {
			switch c {
			case '(', '[', '{':
				n++
			case ')', ']', '}':
				n--
				if n < 0 {
					return true
				}
			case '=':
				if n == 0 {
					return false
				}
			}
		}
	}
	return false
}
