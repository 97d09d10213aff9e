package show

import (
	"fmt"
	"io"

	"batten/diagnose"
)

// Script prints the reading of one script: what is right so far, where to look
// next, the student's lines with their margin words, remarks and the caution.
// With Options.Marks the marks come first.
func Script(w io.Writer, r *diagnose.Report, o Options) error {
	s := newSheet(w, r, o)
	s.title()
	if o.Marks {
		s.marks()
	} else {
		s.prose(0, s.soFar(), nil)
		s.prose(0, s.next(), o.Pen.strong)
		s.gap()
	}
	s.lines()
	s.gap()
	s.remarks()
	s.legend()
	s.prose(0, r.Caution, o.Pen.faint)
	return s.err
}

func (s *sheet) title() {
	title := Clean(s.Title)
	if title == "" {
		title = Clean(s.r.Question)
	}
	who := Clean(s.r.Script)
	if s.r.Name != nil && *s.r.Name != "" {
		who = Clean(*s.r.Name)
	}
	if who == "-" {
		who = ""
	}
	who = clip(who, Columns/2)
	title = clip(title, Columns-Width(who)-2)
	s.println(s.Pen.strong(pad(title, Columns-Width(who))), who)
	s.println()
}

// soFar says what is right, first of all.
func (s *sheet) soFar() string {
	f := firstFault(s.r)
	if f == nil {
		return s.allHolds()
	}
	before := s.count(func(row *diagnose.LineRow) bool {
		return row.Verdict == diagnose.Holds && (row.N < f.Line || missing(f) && row.N == f.Line)
	})
	whole := s.wholeParts()
	switch {
	case len(before) == 0 && len(whole) == 0:
		return ""
	case len(before) == 0:
		return "Right: " + parts(whole) + "."
	}
	last := before[len(before)-1]
	if len(whole) > 0 {
		so := "Right so far: " + parts(whole)
		if s.partOf(last) == f.Part && f.Part != "" {
			so += fmt.Sprintf("; part (%s) as far as line %d", f.Part, last)
		}
		return so + "."
	}
	if len(before) == 1 {
		return fmt.Sprintf("Right so far: line %d.", last)
	}
	return fmt.Sprintf("Right so far: %d lines, down to line %d.", len(before), last)
}

// next says where to look: the line, and what is worked there.
func (s *sheet) next() string {
	f := firstFault(s.r)
	if f == nil {
		return ""
	}
	name := f.Name
	if name == "" && f.Quantity != nil {
		name = *f.Quantity
	}
	switch {
	case f.Fault == notAttempted && len(s.count(claims)) == 0:
		return "There is no working here yet."
	case f.Fault == notAttempted:
		return fmt.Sprintf("Part (%s) is still to be written.", f.Part)
	case f.Fault == notReached:
		return fmt.Sprintf("Part (%s) stops at line %d, before its answer.", f.Part, f.Line)
	case name != "":
		return fmt.Sprintf("Look next at line %d, where the %s is worked.", f.Line, name)
	}
	return fmt.Sprintf("Look next at line %d.", f.Line)
}

// allHolds is the word for a script without a fault. It vouches for no line
// that could not be read or placed.
func (s *sheet) allHolds() string {
	unread := s.count(func(row *diagnose.LineRow) bool { return row.Verdict == diagnose.Unread })
	unplaced := s.count(func(row *diagnose.LineRow) bool { return row.Verdict == diagnose.Unplaced })
	if len(unread)+len(unplaced) == 0 {
		switch len(s.r.Parts) {
		case 0, 1:
			return "Well done: every line holds, down to the answer."
		case 2:
			return "Well done: every line holds, and both answers are right."
		}
		return fmt.Sprintf("Well done: every line holds, and all %d answers are right.", len(s.r.Parts))
	}
	var not []string
	if len(unread) > 0 {
		not = append(not, s.list(unread)+" could not be read")
	}
	if len(unplaced) > 0 {
		not = append(not, s.list(unplaced)+" could not be placed")
	}
	return fmt.Sprintf("Nothing wrong was found, and the answers are right. %s, so nothing is said of that.", capital(and(not)))
}

// parts names parts that are right to the end.
func parts(whole []string) string {
	if len(whole) == 1 {
		return "part " + whole[0] + ", to its answer"
	}
	return "parts " + and(whole) + ", to their answers"
}

// wholeParts lists the parts that reach their answer without a fault.
func (s *sheet) wholeParts() []string {
	spoilt := map[string]bool{}
	for i := range s.r.Findings {
		if f := &s.r.Findings[i]; f.Severity != diagnose.Remark {
			spoilt[f.Part] = true
		}
	}
	for i := range s.r.Lines {
		if row := &s.r.Lines[i]; row.Verdict != diagnose.Holds && row.Verdict != diagnose.Aside {
			spoilt[row.Part] = true
		}
	}
	verdict := map[int]diagnose.Verdict{}
	for i := range s.r.Lines {
		verdict[s.r.Lines[i].N] = s.r.Lines[i].Verdict
	}
	var whole []string
	for _, p := range s.r.Parts {
		// An answer may stand elsewhere than under the mark of its part.
		for _, a := range p.Answers {
			if v, ok := verdict[a.Line]; ok && v != diagnose.Holds {
				spoilt[p.Part] = true
			}
		}
		if p.Reached && !spoilt[p.Part] {
			whole = append(whole, "("+p.Part+")")
		}
	}
	return whole
}

func claims(row *diagnose.LineRow) bool { return row.Verdict != diagnose.Aside }

// count returns the numbers of the lines that are so.
func (s *sheet) count(so func(*diagnose.LineRow) bool) []int {
	var lines []int
	for i := range s.r.Lines {
		if so(&s.r.Lines[i]) {
			lines = append(lines, s.r.Lines[i].N)
		}
	}
	return lines
}

func (s *sheet) partOf(line int) string {
	for i := range s.r.Lines {
		if s.r.Lines[i].N == line {
			return s.r.Lines[i].Part
		}
	}
	return ""
}
