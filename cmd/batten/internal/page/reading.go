package page

import (
	"html/template"
	"regexp"
	"strconv"
	"strings"
	"sync"
	"unicode"

	"batten/cmd/batten/internal/show"
	"batten/diagnose"
	"batten/rules"
)

// Reading is a report as a student's page shows it.
type Reading struct {
	SoFar, Next string
	Holds       bool // nothing is left to mend
	Rows        []Row
	Loose       []*Note // on lines that are not there
	Remarks     []Remark
	Legend      []Meaning
}

// Row is one line of the answer with its margin.
type Row struct {
	N       int
	Verdict string // "" where the line claims nothing
	From    int    // the line it follows from
	Pieces  []Piece
	Why     string
	Notes   []*Note
	Changed string // a word on what changed since the last sending
	Was     string // how the line read then
	Cut     bool
}

// Piece is a run of characters of a line, underlined or not.
type Piece struct {
	Text   string
	Wrong  bool
	Unread bool // could not be read
}

// Note is what there is to say about one fault.
type Note struct {
	ID        string // of its places on the page
	First     bool
	Line      int
	Place     string // where, and what is worked there
	At        string // the underlined words
	Unwritten string
	Title     string
	Hedge     string
	Idea      string
	Hint      string
	Steps     []Step
	Carried   string
	Fault     string // id, "" where the catalogue has no page for it
	Mend      *Mend
	// For a marker.
	Severity string
	Cost     string
	Part     string
}

// Step is one step of the mended working, and what leads to the next.
type Step struct {
	Label string
	Text  string
	Next  *Step
}

// Mend is the line as it stands, to be changed where it is.
type Mend struct {
	N            int
	Text, Answer string
}

// Remark costs nothing.
type Remark struct {
	Line       int
	Title, Say string
}

// Meaning explains a margin word.
type Meaning struct{ Word, Means string }

var meanings = []Meaning{
	{string(diagnose.Holds), "right"},
	{string(diagnose.Follows), "rightly worked from an earlier slip; not counted again"},
	{string(diagnose.Faulty), "something goes wrong here"},
	{string(diagnose.Unplaced), "the arithmetic is sound; write the name of what it gives before it"},
	{string(diagnose.Unread), "could not be read, so nothing is said about it"},
}

// read makes the student's page of a report.
func read(d *desk, rep *diagnose.Report, ch *Changes, answer string) *Reading {
	w := words(d, rep)
	out := &Reading{SoFar: w.SoFar(), Next: w.Next(), Holds: rep.FirstFault == nil}
	var loose []*Note
	out.Rows, loose = rows(d, rep, w, answer)
	out.Loose = loose
	if ch != nil {
		ch.mark(out.Rows)
	}
	out.Remarks = remarks(rep)
	out.Legend = legend(rep)
	return out
}

func words(d *desk, rep *diagnose.Report) show.Words {
	return show.WordsOf(rep, func(id string) string {
		if f := d.question.Topic.Fault(id); f != nil {
			return f.Title
		}
		return ""
	})
}

// rows makes the lines with their notes. answer is the text as sent, for the
// first fault's line to be mended in its place.
func rows(d *desk, rep *diagnose.Report, w show.Words, answer string) (out []Row, loose []*Note) {
	first := show.First(rep)
	said := map[int][]*diagnose.Finding{}
	for i := range rep.Findings {
		if f := &rep.Findings[i]; f.Severity != diagnose.Remark {
			said[f.Line] = append(said[f.Line], f)
		}
	}
	for i := range rep.Lines {
		l := &rep.Lines[i]
		row := Row{N: l.N, From: l.From, Why: l.Why}
		if l.Verdict != diagnose.Aside {
			row.Verdict = string(l.Verdict)
		}
		found := said[l.N]
		delete(said, l.N)
		row.Pieces, row.Cut = pieces(l, found)
		for _, f := range found {
			n := note(d, w, l.Text, f, f == first)
			if n.First && !show.Missing(f) && answer != "" {
				n.Mend = &Mend{N: l.N, Text: visible(l.Text), Answer: answer}
			}
			row.Notes = append(row.Notes, n)
			row.Why = ""
		}
		out = append(out, row)
	}
	for i := range rep.Findings {
		if f := &rep.Findings[i]; said[f.Line] != nil && f.Severity != diagnose.Remark {
			loose = append(loose, note(d, w, "", f, f == first))
		}
	}
	return out, loose
}

// note words one fault, from its place down to the mended working.
func note(d *desk, w show.Words, text string, f *diagnose.Finding, first bool) *Note {
	n := &Note{
		ID: "f" + strconv.Itoa(f.Line) + "-" + f.Fault, First: first, Line: f.Line,
		Title: show.Sentence(f.Title), Hedge: w.Hedge(f), Idea: f.Idea, Carried: w.Carried(f),
		Severity: string(f.Severity), Cost: show.Cost(f.Cost), Part: f.Part,
	}
	if d.question.Topic.Fault(f.Fault) != nil {
		n.Fault = f.Fault
	}
	name := f.Name
	switch {
	case show.Missing(f):
		n.Place = show.Sentence(f.Title)
	case f.Unwritten != "":
		n.Unwritten = f.Unwritten
		if q := d.question.Topic.Quantity(f.Unwritten); q != nil {
			n.Unwritten = q.Title
		}
		n.Place = "The step that goes wrong is not written down: " + n.Unwritten + "."
	case name != "":
		n.Place = "This is where the " + lower(name) + " is worked."
	default:
		n.Place = "This is the line to look at again."
	}
	if f.Span != nil {
		r := []rune(text)
		if from, to := f.Span.From-1, f.Span.To-1; 0 <= from && from < to && to <= len(r) && to-from <= 80 {
			n.At = visible(strings.TrimSpace(string(r[from:to])))
		}
	}
	n.Hint, n.Steps = steps(f.Working)
	return n
}

// lower lowers the first letter of a name that stands within a sentence, but
// not that of a symbol such as KB.
func lower(s string) string {
	r := []rune(s)
	if len(r) > 1 && unicode.IsUpper(r[0]) && unicode.IsLower(r[1]) {
		r[0] = unicode.ToLower(r[0])
	}
	return string(r)
}

// steps takes the mended working apart: the hint, then the formula, the
// figures and the answer, to be opened one after the other.
func steps(working string) (hint string, out []Step) {
	for _, l := range strings.Split(working, "\n") {
		l = strings.TrimSpace(l)
		if l == "" {
			continue
		}
		sides := strings.Split(l, " = ")
		switch {
		case len(sides) == 1:
			hint = strings.TrimSpace(hint + " " + l)
		case len(sides) == 2:
			out = append(out, Step{"The mended line", l, nil})
		default:
			out = append(out, Step{"How the line begins", sides[0] + " = " + sides[1], nil})
			for i, side := range sides[2:] {
				label := "With the figures"
				if i == len(sides)-3 {
					label = "What it comes to"
				}
				out = append(out, Step{label, "= " + side, nil})
			}
		}
	}
	return hint, out
}

// Chain links the steps so that each is opened inside the one before.
func (n *Note) Chain() *Step {
	var next *Step
	for i := len(n.Steps) - 1; i >= 0; i-- {
		s := n.Steps[i]
		s.Next = next
		next = &s
	}
	return next
}

// shownAtMost bounds how much of one line is shown, in characters.
const shownAtMost = 2000

// pieces cuts a line where an underlined run begins or ends: what a finding is
// about, or what could not be read.
func pieces(l *diagnose.LineRow, found []*diagnose.Finding) (out []Piece, cut bool) {
	r := []rune(l.Text)
	if len(r) > shownAtMost {
		r, cut = r[:shownAtMost], true
	}
	const wrong, unread = 1, 2
	marks := make([]byte, len(r))
	mark := func(at *diagnose.Columns, as byte) {
		if at == nil {
			return
		}
		for i := max(0, at.From-1); i < min(len(r), at.To-1); i++ {
			marks[i] = as
		}
	}
	for _, f := range found {
		mark(f.Span, wrong)
	}
	if len(found) == 0 && l.Why != "" {
		mark(show.UnreadAt(l), unread)
	}
	for i := 0; i < len(r); {
		j := i
		for j < len(r) && marks[j] == marks[i] {
			j++
		}
		out = append(out, Piece{visible(string(r[i:j])), marks[i] == wrong, marks[i] == unread})
		i = j
	}
	return out, cut
}

// visible puts a mark in the place of characters that would act rather than
// show: controls, and those that turn the direction of what follows.
func visible(s string) string {
	return strings.Map(func(r rune) rune {
		if r == '\t' || r >= ' ' && r < 0x7f {
			return r
		}
		if unicode.IsControl(r) || unicode.Is(unicode.Bidi_Control, r) || r == 0x2028 || r == 0x2029 || r == 0xfeff {
			return '\uFFFD'
		}
		return r
	}, s)
}

func remarks(rep *diagnose.Report) []Remark {
	var out []Remark
	for i := range rep.Findings {
		if f := &rep.Findings[i]; f.Severity == diagnose.Remark {
			out = append(out, Remark{f.Line, show.Sentence(f.Title), f.Idea})
		}
	}
	return out
}

// legend explains the margin words that stand on the page.
func legend(rep *diagnose.Report) []Meaning {
	stands := map[string]bool{}
	for i := range rep.Lines {
		stands[string(rep.Lines[i].Verdict)] = true
	}
	var out []Meaning
	for _, m := range meanings {
		if stands[m.Word] {
			out = append(out, m)
		}
	}
	return out
}

// Sheet is a report as a marker's page shows it.
type Sheet struct {
	Name    string
	Parts   []PartRow
	Awarded string
	Of      string
	Rows    []Row
	Loose   []*Note
	Remarks []Remark
	Legend  []Meaning
}

// PartRow is the marks of one part.
type PartRow struct{ Part, Find, Awarded, Of, Lost, Answers string }

// sheet makes the marker's page of a report.
func sheet(d *desk, rep *diagnose.Report) *Sheet {
	w := words(d, rep)
	out := &Sheet{
		Awarded: show.Figure(rep.Total.Awarded, 2), Of: show.Figure(rep.Total.Available, 2),
		Remarks: remarks(rep), Legend: legend(rep),
	}
	if rep.Name != nil {
		out.Name = visible(*rep.Name)
	}
	out.Rows, out.Loose = rows(d, rep, w, "")
	for _, p := range rep.Parts {
		lost := w.Lost(p)
		if p.Awarded == p.Available {
			lost = "nothing"
		}
		out.Parts = append(out.Parts, PartRow{
			Part: p.Part, Find: show.Capital(p.Find), Lost: lost, Answers: answers(d.question.Topic, p),
			Awarded: show.Figure(p.Awarded, 2), Of: show.Figure(p.Available, 2),
		})
	}
	return out
}

// answers lists what was stated of what a part asks.
func answers(t *rules.Topic, p diagnose.PartMarks) string {
	var out []string
	for _, a := range p.Answers {
		q := t.Quantity(a.Quantity)
		if q == nil || a.Stated == nil {
			continue
		}
		out = append(out, q.Title+" "+stated(*a.Stated, a.Unit)+", line "+strconv.Itoa(a.Line))
	}
	if len(out) == 0 {
		return "not reached"
	}
	return show.Capital(strings.Join(out, "; "))
}

var lowered = sync.OnceValue(func() *regexp.Regexp { return regexp.MustCompile(`_([\pL\pN]+)`) })

// maths prints a formula: what stands behind a low line is set low.
func maths(s string) template.HTML {
	return template.HTML(lowered().ReplaceAllString(template.HTMLEscapeString(s), "<sub>$1</sub>"))
}
