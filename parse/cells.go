package parse

import (
	"strings"
	"unicode/utf8"
)

// cell is one field of a row, before it is read.
type cell struct {
	from, to int // bytes of the line, blanks trimmed
	col, end int // columns on the page, tabs widened
	kind     cellKind
	at       int // column of the table it belongs to
}

type cellKind uint8

const (
	blankCell  cellKind = iota
	wordsCell           // words, with digits only as marks: KB1
	unitCell            // a unit alone
	figureCell          // a figure or working
	mixedCell           // words with a figure among them
	namedCell           // a statement with a label of its own: KB = 2.25
)

// row is one line of a table.
type row struct {
	line  int
	cells []cell
	extra []cell // statements of their own behind the last column
	drawn bool
}

const maxCells = 40

// barCells cuts a line at its bars. Blank cells count. framed says that a bar
// stands before the first cell of every row.
func barCells(t string, framed bool) []cell {
	from, to := skipBlanks(t, 0), len(strings.TrimRight(t, " \t"))
	if framed && from < to && t[from] == '|' {
		from++
	}
	if to > from && t[to-1] == '|' {
		to--
	}
	var out []cell
	for start := from; start <= to && len(out) < maxCells; {
		end := strings.IndexByte(t[start:to], '|')
		if end < 0 {
			end = to - start
		}
		out = append(out, newCell(t, start, start+end))
		start += end + 1
	}
	return out
}

// gapCells cuts a line at tabs and at two blanks or more. With every set, each
// tab begins a cell, so that blank cells count.
func gapCells(t string, every bool) []cell {
	var out []cell
	page := 0 // the column on the page of byte i
	start, startPage := -1, 0
	flush := func(end int) {
		if start >= 0 {
			c := newCell(t, start, end)
			c.col, c.end = startPage, startPage+utf8.RuneCountInString(t[c.from:c.to])
			out = append(out, c)
			start = -1
		}
	}
	for i := 0; i < len(t) && len(out) < maxCells; i++ {
		switch {
		case t[i] == '\t':
			flush(i)
			if every && (i == 0 || t[i-1] == '\t') {
				out = append(out, cell{from: i, to: i, col: page, end: page})
			}
			page += 8 - page%8
		case t[i] == ' ' && (start < 0 || i+1 < len(t) && (t[i+1] == ' ' || t[i+1] == '\t')):
			flush(i)
			page++
		default:
			if start < 0 {
				start, startPage = i, page
			}
			if utf8.RuneStart(t[i]) {
				page++
			}
		}
	}
	flush(len(t))
	return out
}

func newCell(t string, from, to int) cell {
	for from < to && (t[from] == ' ' || t[from] == '\t') {
		from++
	}
	for to > from && (t[to-1] == ' ' || t[to-1] == '\t') {
		to--
	}
	// an answer boxed: [4.7° port]
	if in := t[from:to]; len(in) > 2 && in[0] == '[' && strings.IndexAny(in[1:], "[]") == len(in)-2 && strings.IndexAny(in, "0123456789") == 1 {
		return cell{from: from + 1, to: to - 1, kind: kindOf(t[from+1 : to-1])}
	}
	return cell{from: from, to: to, kind: kindOf(t[from:to])}
}

// partOf is a share of something, in words: 30% of tank.
var partOf = lazily(`^\d+(\.\d+)? ?% [A-Za-z']{2,} [A-Za-z' ]*[A-Za-z]$`)

// kindOf tells from the characters alone what a cell holds.
func kindOf(t string) cellKind {
	t = strings.Trim(t, "*_ ")
	switch lower(t) {
	case "", "-", "—", "--", "---", ".", "..", "...", "n/a", "nil", "''", "\"", "?":
		return blankCell
	}
	if d := digits(t, 0); d > 0 && d < 3 && len(t) > d+2 && isLetter(rune(t[d])) {
		switch lower(t[d : d+2]) {
		case "st", "nd", "rd", "th":
			if !isLetter(rune(t[d+2])) {
				return kindOf("n" + t[d:]) // 2nd moment: an ordinal is no figure
			}
		}
	}
	if partOf.MatchString(t) {
		return wordsCell // 10% under flat: a row's name
	}
	equal := strings.IndexAny(t, "=≈")
	if equal > 0 {
		if labelText(t[:equal]) {
			return namedCell
		}
		return figureCell
	}
	if equal == 0 {
		return figureCell
	}
	free, letters := false, false // a digit that is no mark of a word; letters
	for i, c := range t {
		switch {
		case isLetter(c):
			letters = true
		case c < utf8.RuneSelf && isDigit(byte(c)):
			if i == 0 || !markBefore(t, i) {
				free = true
			}
		case strings.ContainsRune(fractions, c):
			free = true
		}
	}
	if !letters {
		if free || strings.ContainsAny(t, "0123456789") {
			return figureCell
		}
		if t == "%" || t == "°" {
			return unitCell
		}
		return wordsCell
	}
	if !free {
		if _, ok := LookupUnit(strings.Trim(t, "()[]")); ok && len(t) < 30 {
			return unitCell
		}
		return wordsCell
	}
	switch c := t[0]; {
	case isDigit(c), c == '.', c == '-', c == '+', c == '(' && len(t) > 1 && (isDigit(t[1]) || t[1] == '('), c == '~', c >= 0xc2 && !isLetter(firstRune(t)):
		return figureCell
	}
	return mixedCell
}

func firstRune(t string) rune {
	r, _ := utf8.DecodeRuneInString(t)
	return r
}

// markBefore reports whether the digit at i belongs to a word or a unit: KB1, m^3.
func markBefore(t string, i int) bool {
	for i > 0 && isDigit(t[i-1]) {
		i--
	}
	if i == 0 {
		return false
	}
	if t[i-1] == '^' && i > 1 {
		i--
	}
	r, _ := utf8.DecodeLastRuneInString(t[:i])
	return isLetter(r) && !(i > 1 && (r == 'x' || r == 'X') && (isDigit(t[i-2]) || t[i-2] == ' '))
}

// labelText reports whether what stands before a "=" is a label and no working.
func labelText(t string) bool {
	letters := false
	for i, c := range t {
		switch {
		case isLetter(c):
			letters = true
		case c == '*' || c == '+' || c == '^':
			return false
		case c < utf8.RuneSelf && isDigit(byte(c)) && !markBefore(t, i):
			return false
		}
	}
	return letters
}
