package show

import (
	"fmt"
	"io"
	"strconv"
	"strings"

	"batten/diagnose"
)

// Reveal says how much of a fault is given away.
type Reveal int

const (
	RevealLine    Reveal = iota // the place alone
	RevealIdea                  // what was misunderstood
	RevealWorking               // and the line mended
)

// Options say how a report is to be shown.
type Options struct {
	Pen    Pen
	Title  string // of the question
	Reveal Reveal
	Marks  bool // with marks: for a marker
	// FaultTitle and QuantityTitle give what a person calls a fault or a
	// quantity; nil, or "" from them, leaves the id.
	FaultTitle, QuantityTitle func(id string) string
}

func titled(id string, title func(string) string) string {
	if title != nil {
		if t := title(id); t != "" {
			return strings.TrimSuffix(t, ".")
		}
	}
	return id
}

// wordWidth is the room for a margin word: the longest is "unplaced".
const wordWidth = 9

// sheet prints one script.
type sheet struct {
	Options
	w       io.Writer
	r       *diagnose.Report
	numbers int  // width of the line numbers
	open    bool // the last line printed was not blank
	err     error
}

func newSheet(w io.Writer, r *diagnose.Report, o Options) *sheet {
	digits := 3
	if n := len(r.Lines); n > 0 {
		digits = max(digits, len(strconv.Itoa(r.Lines[n-1].N)))
	}
	return &sheet{Options: o, w: w, r: r, numbers: digits}
}

func (s *sheet) println(parts ...string) {
	line := strings.TrimRight(strings.Join(parts, ""), " ")
	s.open = line != ""
	if s.err == nil {
		_, s.err = fmt.Fprintln(s.w, line)
	}
}

// gap prints a blank line unless one stands there already.
func (s *sheet) gap() {
	if s.open {
		s.println()
	}
}

// prose prints text wrapped, each line after indent blanks.
func (s *sheet) prose(indent int, text string, ink func(string) string) {
	for _, line := range Wrap(text, Columns-indent) {
		if ink != nil {
			line = ink(line)
		}
		s.println(strings.Repeat(" ", indent), line)
	}
}

// margin is the width of all that stands left of the student's words.
func (s *sheet) margin() int { return wordWidth + 1 + s.numbers + 2 }

// lines prints the student's own lines with their margin words, and what there
// is to say about each below it.
func (s *sheet) lines() {
	said := map[int][]*diagnose.Finding{}
	for i := range s.r.Findings {
		f := &s.r.Findings[i]
		if f.Severity != diagnose.Remark {
			said[f.Line] = append(said[f.Line], f)
		}
	}
	for i := range s.r.Lines {
		row := &s.r.Lines[i]
		s.line(row, said[row.N])
		delete(said, row.N)
	}
	// A finding on a line that is not there: an empty script, say.
	for i := range s.r.Findings {
		if f := &s.r.Findings[i]; said[f.Line] != nil && f.Severity != diagnose.Remark {
			s.noteAt(f, "")
			s.gap()
		}
	}
}

func (s *sheet) line(row *diagnose.LineRow, found []*diagnose.Finding) {
	word := string(row.Verdict)
	if row.Verdict == diagnose.Aside {
		word = ""
	}
	text, cut := cells(row.Text)
	room := Columns - s.margin()
	// What does not fit goes on below, a little to the right.
	const further = 2
	why, beside := row.Why, ""
	for _, f := range found {
		if !missing(f) {
			why = "" // the note says it
		}
	}
	if b := "   (" + Clean(why) + ")"; why != "" && row.Verdict == diagnose.Aside && widthOf(text)+Width(b) <= room {
		why, beside = "", b
	}
	spans, ink := s.marked(row, found, why)
	for i, piece := range rows(text, room, room-further) {
		lead := 0
		if i == 0 {
			s.println(
				s.Pen.verdict(row.Verdict, padLeft(word, wordWidth)), " ",
				s.Pen.faint(padLeft(strconv.Itoa(row.N), s.numbers)), "  ",
				join(piece), s.Pen.faint(beside))
		} else {
			lead = further
			s.println(strings.Repeat(" ", s.margin()+lead), join(piece))
		}
		s.rule(spans, ink, piece, lead)
	}
	if cut {
		s.prose(s.margin(), "… and so on: the line is too long to print whole.", s.Pen.faint)
	}
	s.prose(s.margin(), why, s.Pen.doubt)
	for _, f := range found {
		at := ""
		if len(found) > 1 && f.Span != nil {
			at = words(text, *f.Span)
		}
		s.noteAt(f, at)
	}
	if len(found) > 0 {
		s.gap()
	}
}

func widthOf(line []cell) int {
	n := 0
	for _, c := range line {
		n += c.width
	}
	return n
}

// words are those of a line that lie in the columns.
func words(line []cell, at diagnose.Columns) string {
	var b strings.Builder
	for _, c := range line {
		if c.to > at.From && c.from < at.To {
			b.WriteString(c.text)
		}
	}
	return strings.TrimSpace(b.String())
}

func join(line []cell) string {
	var b strings.Builder
	for _, c := range line {
		b.WriteString(c.text)
	}
	return b.String()
}

// marked lists what of a line is underlined, and in which ink: what the
// findings are about, or what could not be read where the reason is told.
func (s *sheet) marked(row *diagnose.LineRow, found []*diagnose.Finding, why string) ([]diagnose.Columns, func(string) string) {
	var out []diagnose.Columns
	for _, f := range found {
		if f.Span != nil {
			out = append(out, *f.Span)
		}
	}
	if at := UnreadAt(row); len(out) == 0 && why != "" && at != nil {
		return []diagnose.Columns{*at}, s.Pen.doubt
	}
	return out, s.Pen.fault
}

// UnreadAt is the place in a line that could not be read, nil where that is the
// whole of it: then the words beside it say enough.
func UnreadAt(row *diagnose.LineRow) *diagnose.Columns {
	if row.Span == nil {
		return nil
	}
	r := []rune(row.Text)
	from, to := min(max(0, row.Span.From-1), len(r)), min(max(0, row.Span.To-1), len(r))
	if from >= to || strings.TrimSpace(string(r[:from])+string(r[to:])) == "" {
		return nil
	}
	return row.Span
}

// rule draws the strokes under those cells of piece that lie in the spans.
func (s *sheet) rule(spans []diagnose.Columns, ink func(string) string, piece []cell, lead int) {
	var strokes []rune
	for _, at := range spans {
		for i, r := range []rune(under(piece, at.From, at.To)) {
			if i == len(strokes) {
				strokes = append(strokes, r)
			} else if r != ' ' {
				strokes[i] = r
			}
		}
	}
	if len(strokes) > 0 {
		s.println(strings.Repeat(" ", s.margin()+lead), ink(string(strokes)))
	}
}
