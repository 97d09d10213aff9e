package show

import (
	"strings"
	"unicode"
	"unicode/utf8"

	"github.com/clipperhouse/uax29/v2/graphemes"
	"github.com/mattn/go-runewidth"
)

// tabStop is where a tab leads: the columns an editor or a terminal has, so
// that a student's table stands as it was typed.
const tabStop = 8

// shownAtMost bounds how much of one line of a script is printed, in cells. A
// line of working is never that long; a line of ten megabytes may be.
const shownAtMost = 400

// cellsAtMost bounds the characters of one line that are looked at, since a
// million marks may combine into one column.
const cellsAtMost = 4 * shownAtMost

// columnsAtMost bounds how far along a line is looked at: a line may hold ten
// megabytes of which nothing prints.
const columnsAtMost = 1 << 16

// A cell is one character as a reader sees it: a letter with the marks that
// combine with it, a tab opened into blanks, or nothing at all where the file
// holds something that a terminal would obey.
type cell struct {
	text  string
	width int
	from  int // first column in the file, in characters from 1
	to    int // column after the last
}

func (c cell) blank() bool { return strings.TrimSpace(c.text) == "" }

// cells takes one line of a script apart, with tabs opened and everything
// removed that a terminal would act on rather than print. cut tells that the
// line goes on beyond what is returned.
func cells(line string) (out []cell, cut bool) {
	col, at := 1, 0
	for line != "" {
		if at >= shownAtMost || len(out) >= cellsAtMost || col > columnsAtMost {
			return out, true
		}
		if n := obeyed(line); n > 0 {
			runes := utf8.RuneCountInString(line[:n])
			col += runes
			line = line[n:]
			continue
		}
		text := firstGrapheme(line)
		runes := utf8.RuneCountInString(text)
		c := cell{text: text, from: col, to: col + runes}
		line, col = line[len(text):], col+runes
		switch {
		case text == "\t":
			c.width = tabStop - at%tabStop
			c.text = strings.Repeat(" ", c.width)
		case !utf8.ValidString(text):
			c.text = strings.Repeat("\uFFFD", runes)
			c.width = runewidth.StringWidth(c.text)
		default:
			c.text = strings.Map(dropObeyed, text)
			c.width = runewidth.StringWidth(c.text)
		}
		if c.text == "" {
			continue
		}
		at += c.width
		out = append(out, c)
	}
	return out, false
}

// firstGrapheme returns the first character as a reader sees it. It looks at a
// bounded piece of the line only: one letter may have a million accents.
func firstGrapheme(s string) string {
	const enough = 64
	head := s
	if len(head) > enough {
		end := enough
		for end > 0 && !utf8.RuneStart(head[end]) {
			end--
		}
		if end > 0 {
			head = head[:end]
		}
	}
	it := graphemes.FromString(head)
	if it.Next() {
		return it.Value()
	}
	return head
}

// obeyed is the length in bytes of the control sequence at the start of s, 0
// when there is none. The text between such sequences stays.
func obeyed(s string) int {
	if s[0] == 0x1b {
		return 1 + escape(s[1:])
	}
	r, n := utf8.DecodeRuneInString(s)
	switch {
	case r == '\t', r == utf8.RuneError:
		return 0
	case r == 0x9b: // the one-character form of ESC [
		return n + parameters(s[n:])
	case dropObeyed(r) < 0:
		return n
	}
	return 0
}

// escape is the length of what belongs to an escape character before s.
func escape(s string) int {
	if s == "" {
		return 0
	}
	switch s[0] {
	case '[':
		return 1 + parameters(s[1:])
	case ']', 'P', 'X', '^', '_': // strings, closed by BEL or ESC \
		const longest = 256 // an unclosed one must not swallow the line
		for i := 1; i < len(s) && i < longest; i++ {
			if s[i] == 0x07 {
				return i + 1
			}
			if s[i] == 0x1b && i+1 < len(s) && s[i+1] == '\\' {
				return i + 2
			}
		}
		return 1
	}
	n := 0
	for n < len(s) && s[n] >= 0x20 && s[n] <= 0x2f {
		n++
	}
	if n < len(s) && s[n] >= 0x30 && s[n] <= 0x7e {
		n++
	}
	return n
}

// parameters is the length of the rest of a control sequence after its "[".
func parameters(s string) int {
	n := 0
	for n < len(s) && s[n] >= 0x20 && s[n] <= 0x3f {
		n++
	}
	if n < len(s) && s[n] >= 0x40 && s[n] <= 0x7e {
		n++
	}
	return n
}

// dropObeyed is a mapping for strings.Map that keeps what prints.
func dropObeyed(r rune) rune {
	switch {
	case r < 0x20, r >= 0x7f && r < 0xa0:
		return -1
	case r == '\u2028', r == '\u2029': // ends of lines by another name
		return -1
	case r >= '\u202a' && r <= '\u202e', r >= '\u2066' && r <= '\u2069',
		r == '\u200e', r == '\u200f', r == '\u061c': // they turn the order of what follows
		return -1
	case r == '\ufeff', unicode.Is(unicode.Co, r):
		return -1
	}
	return r
}

// Clean makes text from a script or a file name safe to print on one line.
func Clean(s string) string {
	var b strings.Builder
	for s != "" {
		if n := obeyed(s); n > 0 {
			if s[0] == '\n' || s[0] == '\r' {
				b.WriteByte(' ')
			}
			s = s[n:]
			continue
		}
		r, n := utf8.DecodeRuneInString(s)
		if r == '\t' {
			r = ' '
		}
		b.WriteRune(r)
		s = s[n:]
	}
	return b.String()
}

// Width is how many columns s takes on a terminal.
func Width(s string) int {
	// For anything beyond Latin the library makes a table of two megabytes, which
	// costs more than all else in a short answer: dashes, arrows, raised figures,
	// signs of arithmetic and rules are told at once.
	n := 0
	for _, r := range s {
		if !oneColumn(r) {
			return runewidth.StringWidth(s)
		}
		n++
	}
	return n
}

// oneColumn reports whether a character surely takes one column, whatever
// stands beside it.
func oneColumn(r rune) bool {
	if r < 0x7f {
		return r >= ' '
	}
	if runewidth.DefaultCondition.EastAsianWidth {
		return false
	}
	return r >= 0xa1 && r < 0x300 && r != 0xad || r >= '‐' && r <= '‧' || r >= '⁰' && r <= '₎' || r >= '℀' && r < '⌀' || r >= '─' && r <= '▟'
}

// pad fills s with blanks up to width columns.
func pad(s string, width int) string {
	if n := width - Width(s); n > 0 {
		return s + strings.Repeat(" ", n)
	}
	return s
}

// padLeft puts blanks before s up to width columns.
func padLeft(s string, width int) string {
	if n := width - Width(s); n > 0 {
		return strings.Repeat(" ", n) + s
	}
	return s
}

// clip shortens s to width columns, with three dots for what is gone.
func clip(s string, width int) string {
	if Width(s) <= width {
		return s
	}
	return runewidth.Truncate(s, width, "…")
}

// Wrap breaks prose into lines of at most width columns. A word longer than a
// line is broken where the line ends.
func Wrap(s string, width int) []string {
	var lines []string
	line := ""
	for _, word := range strings.Fields(Clean(s)) {
		for Width(word) > width {
			if line != "" {
				lines, line = append(lines, line), ""
			}
			head := runewidth.Truncate(word, width, "")
			if head == "" { // a character wider than the line
				break
			}
			lines, word = append(lines, head), word[len(head):]
		}
		switch {
		case line == "":
			line = word
		case Width(line)+1+Width(word) <= width:
			line += " " + word
		default:
			lines, line = append(lines, line), word
		}
	}
	if line != "" {
		lines = append(lines, line)
	}
	return lines
}

// rows breaks the cells of one line into rows: the first of at most width
// columns, those after it of at most next. It breaks at the last blank that
// fits, where there is one in the second half of the row.
func rows(line []cell, width, next int) [][]cell {
	var out [][]cell
	for {
		end, at, last := 0, 0, -1
		for end < len(line) && at+line[end].width <= width {
			if line[end].blank() && at > width/2 {
				last = end
			}
			at += line[end].width
			end++
		}
		if end == len(line) {
			return append(out, line)
		}
		if last >= 0 && !line[end].blank() {
			end = last + 1
		}
		if end == 0 { // one character wider than the row
			end = 1
		}
		out = append(out, line[:end])
		line, width = line[end:], next
		for len(line) > 0 && line[0].blank() {
			line = line[1:]
		}
		if len(line) == 0 {
			return out
		}
	}
}

// under draws the rule below those cells of a row that lie in columns from to
// to; "" when none does.
func under(row []cell, from, to int) string {
	first, last := -1, -1
	for i, c := range row {
		if c.to > from && c.from < to {
			if first < 0 {
				first = i
			}
			last = i
		}
	}
	if first < 0 {
		return ""
	}
	// A rule runs under words, not under the blanks round them.
	for first < last && row[first].blank() {
		first++
	}
	for last > first && row[last].blank() {
		last--
	}
	lead, size := 0, 0
	for i, c := range row {
		switch {
		case i < first:
			lead += c.width
		case i <= last:
			size += c.width
		}
	}
	if size == 0 {
		return ""
	}
	n := max(1, size/max(1, Width(rule)))
	return strings.Repeat(" ", lead) + strings.Repeat(rule, n)
}

// rule is the stroke drawn under the student's words: it hugs the line above.
const rule = "▔"
