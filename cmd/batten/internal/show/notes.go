package show

import (
	"fmt"
	"strconv"
	"strings"

	"batten/diagnose"
)

// Ids of the faults that say something is missing rather than wrong.
const (
	notReached   = "answer-not-reached"
	notAttempted = "part-not-attempted"
	miscopied    = "figure-miscopied" // what is written is a figure: that needs no saying
)

func missing(f *diagnose.Finding) bool { return f.Fault == notReached || f.Fault == notAttempted }

// firstFault is the finding that the report's first fault names, or nil.
func firstFault(r *diagnose.Report) *diagnose.Finding {
	for i := range r.Findings {
		if r.Findings[i].Severity != diagnose.Remark {
			return &r.Findings[i]
		}
	}
	return nil
}

// noteAt prints what there is to say about a fault, below the line it stands on,
// hung on a dash so that it is not taken for a line of the student's. at are
// the words it is about, where the line has other notes too.
func (s *sheet) noteAt(f *diagnose.Finding, at string) {
	n := &hung{sheet: s}
	if at != "" {
		n.say("On “"+clip(at, 40)+"”:", s.Pen.strong)
	}
	if s.Marks {
		n.say(fmt.Sprintf("%s, %s  [%s]", f.Severity, cost(f.Cost), f.Fault), s.Pen.strong)
	}
	if f.Unwritten != "" {
		n.say("The step that goes wrong is not written down: the "+titled(f.Unwritten, s.QuantityTitle)+".", nil)
	}
	if s.Reveal == RevealLine {
		switch {
		case missing(f):
			n.say(s.called(f), s.Pen.fault)
		case f.Span == nil && f.Unwritten == "":
			n.say("This is the line to look at again.", nil)
		}
		return
	}
	first := f == firstFault(s.r)
	n.say(s.called(f), s.Pen.fault)
	n.say(s.hedge(f, first), nil)
	n.say(f.Idea, nil)
	if s.Reveal == RevealWorking && f.Working != "" {
		n.mend(f.Working, s.Pen.right)
	}
	if first || s.Marks {
		n.say(s.carried(f), s.Pen.carry)
	}
}

// called is the fault in one line. What is missing is told of its part: it
// stands below a line that has no part in it.
func (s *sheet) called(f *diagnose.Finding) string {
	if missing(f) && f.Part != "" {
		return "Part (" + f.Part + "): " + strings.ToLower(f.Title[:min(1, len(f.Title))]) + sentence(f.Title)[min(1, len(f.Title)):]
	}
	return sentence(f.Title)
}

// hung is a note hung on a dash.
type hung struct {
	*sheet
	begun bool
}

func (n *hung) say(text string, ink func(string) string) {
	in := n.margin() + 2
	var lines []string
	for _, piece := range strings.Split(text, "\n") { // each line of a mended working
		lines = append(lines, Wrap(piece, Columns-in)...)
	}
	for _, line := range lines {
		lead := strings.Repeat(" ", in)
		if !n.begun {
			lead, n.begun = strings.Repeat(" ", in-2)+"– ", true
		}
		if ink != nil {
			line = ink(line)
		}
		n.println(lead, line)
	}
}

// mend prints the mended working: the hint, then its lines. One that is wider
// than the sheet goes on below, from a sign of equality.
func (n *hung) mend(working string, ink func(string) string) {
	in := n.margin() + 2
	lead := "To mend it: "
	for _, piece := range strings.Split(working, "\n") {
		if Width(lead+piece) <= Columns-in {
			n.say(lead+piece, ink)
			lead = ""
			continue
		}
		sides := strings.Split(piece, " = ")
		line := lead + sides[0]
		lead = ""
		for i, side := range sides[1:] {
			next := "= " + side
			if i > 0 && Width(line)+1+Width(next) > Columns-in {
				n.say(line, ink)
				n.further(next, ink)
				line = ""
				continue
			}
			if line == "" {
				n.further(next, ink)
				continue
			}
			line += " " + next
		}
		if line != "" {
			n.say(line, ink)
		}
	}
}

// further prints the next side of a chain a little to the right.
func (n *hung) further(text string, ink func(string) string) {
	in := n.margin() + 4
	for _, line := range Wrap(text, Columns-in) {
		n.println(strings.Repeat(" ", in), ink(line))
	}
}

// hedge says how surely the fault is told, where its words alone would claim
// too much.
func (s *sheet) hedge(f *diagnose.Finding, first bool) string {
	switch f.Shown {
	case diagnose.ShownFits:
		if first && f.Fault != miscopied {
			return "Only the figure is written; this is what gives it."
		}
	case diagnose.ShownPossible:
		if len(f.Alternatives) == 0 {
			return "Only the figure is written. This would give it, and so may something else."
		}
		var others []string
		for _, id := range f.Alternatives {
			others = append(others, titled(id, s.FaultTitle))
		}
		return "The figure alone can't tell which it was: what is said here, or " + strings.Join(others, "; or ") + "."
	}
	return ""
}

// carried tells which lines follow rightly from a fault.
func (s *sheet) carried(f *diagnose.Finding) string {
	var lines []int
	for i := range s.r.Lines {
		if row := &s.r.Lines[i]; row.Verdict == diagnose.Follows && row.From == f.Line {
			lines = append(lines, row.N)
		}
	}
	if len(lines) == 0 {
		return ""
	}
	verb := "follow"
	if len(lines) == 1 {
		verb = "follows"
	}
	return fmt.Sprintf("%s %s rightly from here: nothing more is lost.", capital(s.list(lines)), verb)
}

// list names lines: "line 4", "lines 4 to 9", "lines 4 to 7 and 12". A run
// goes on over lines that claim nothing.
func (s *sheet) list(lines []int) string {
	aside := map[int]bool{}
	for i := range s.r.Lines {
		if row := &s.r.Lines[i]; row.Verdict == diagnose.Aside {
			aside[row.N] = true
		}
	}
	var runs []string
	for i := 0; i < len(lines); {
		j := i
		for j+1 < len(lines) && onlyAside(aside, lines[j], lines[j+1]) {
			j++
		}
		switch {
		case j == i:
			runs = append(runs, strconv.Itoa(lines[i]))
		case j == i+1:
			runs = append(runs, strconv.Itoa(lines[i]), strconv.Itoa(lines[j]))
		default:
			runs = append(runs, fmt.Sprintf("%d to %d", lines[i], lines[j]))
		}
		i = j + 1
	}
	noun := "line "
	if len(lines) > 1 {
		noun = "lines "
	}
	return noun + and(runs)
}

func onlyAside(aside map[int]bool, from, to int) bool {
	for n := from + 1; n < to; n++ {
		if !aside[n] {
			return false
		}
	}
	return true
}

// remarks prints what costs nothing, after the lines.
func (s *sheet) remarks() {
	head := false
	said := map[string]bool{}
	for i := range s.r.Findings {
		f := &s.r.Findings[i]
		if f.Severity != diagnose.Remark {
			continue
		}
		lines := s.remarked(f)
		key := f.Fault + f.Idea
		if said[key] {
			continue
		}
		said[key] = true
		if !head {
			s.println(s.Pen.strong("Remarks"), s.Pen.faint(" (they cost nothing)"))
			head = true
		}
		text := sentence(f.Title)
		if s.Reveal > RevealLine && f.Idea != "" {
			text += " " + f.Idea
		}
		if len(lines) > 1 {
			text = capital(s.list(lines)) + ": " + strings.ToLower(text[:1]) + text[1:]
			s.prose(2, text, nil)
			continue
		}
		for j, line := range Wrap(text, Columns-11) {
			label := strings.Repeat(" ", 11)
			if j == 0 {
				label = pad(fmt.Sprintf("  line %d", f.Line), 11)
			}
			s.println(label, line)
		}
	}
	s.gap()
}

// remarked lists the lines of which a remark says the same.
func (s *sheet) remarked(f *diagnose.Finding) []int {
	var lines []int
	for i := range s.r.Findings {
		o := &s.r.Findings[i]
		if o.Fault == f.Fault && o.Idea == f.Idea && (len(lines) == 0 || lines[len(lines)-1] != o.Line) {
			lines = append(lines, o.Line)
		}
	}
	return lines
}

// legend explains the margin words that a reader may not know, where they
// stand on the sheet.
func (s *sheet) legend() {
	stands := map[diagnose.Verdict]bool{}
	for i := range s.r.Lines {
		stands[s.r.Lines[i].Verdict] = true
	}
	for _, e := range []struct {
		verdict diagnose.Verdict
		means   string
	}{
		{diagnose.Follows, "rightly worked from an earlier slip; not counted again"},
		{diagnose.Unplaced, "the arithmetic is sound; write the name of what it gives before it"},
		{diagnose.Unread, "could not be read, so nothing is said about it"},
	} {
		if stands[e.verdict] {
			s.println(s.Pen.verdict(e.verdict, padLeft(string(e.verdict), wordWidth)), "  ", s.Pen.faint(e.means))
		}
	}
	s.gap()
}

// cost words the marks a fault takes.
func cost(marks float64) string {
	switch {
	case marks == 0:
		return "costs nothing more"
	case marks == 1:
		return "costs 1 mark"
	}
	return "costs " + Figure(marks, 2) + " marks"
}

// Figure writes x to at most places decimals, without zeros at the end.
func Figure(x float64, places int) string {
	t := strconv.FormatFloat(x, 'f', places, 64)
	if strings.Contains(t, ".") {
		t = strings.TrimRight(strings.TrimRight(t, "0"), ".")
	}
	if t == "-0" {
		return "0"
	}
	return t
}

// sentence makes a title a sentence of its own.
func sentence(s string) string {
	s = strings.TrimSpace(s)
	if s == "" {
		return ""
	}
	if !strings.HasSuffix(s, ".") && !strings.HasSuffix(s, "?") {
		s += "."
	}
	return capital(s)
}

// capital raises the first letter, unless the word is a symbol such as "v = …".
func capital(s string) string {
	if len(s) > 1 && s[0] >= 'a' && s[0] <= 'z' && s[1] >= 'a' && s[1] <= 'z' {
		return strings.ToUpper(s[:1]) + s[1:]
	}
	return s
}

// and joins words as English does.
func and(words []string) string {
	switch n := len(words); n {
	case 0:
		return ""
	case 1:
		return words[0]
	default:
		return strings.Join(words[:n-1], ", ") + " and " + words[n-1]
	}
}
