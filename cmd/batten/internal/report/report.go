// Package report sets what came of a class on paper: a page of feedback for
// each student, the mark sheets, and the report on the class. Each HTML file
// stands alone, asks nothing of a network, runs no script, prints, and says
// nothing by colour alone.
package report

import (
	"bytes"
	"embed"
	"fmt"
	"html/template"
	"strings"
	"sync"

	"batten/cmd/batten/internal/class"
	"batten/cmd/batten/internal/overrule"
	"batten/cmd/batten/internal/show"
	"batten/diagnose"
	"batten/solver"
)

//go:embed templates
var files embed.FS

// pages are the templates, read when the first page is made.
var pages = sync.OnceValue(func() *template.Template {
	return template.Must(template.New("").Funcs(template.FuncMap{
		"figure":   func(x float64) string { return show.Figure(x, 2) },
		"sentence": show.Sentence,
		"capital":  show.Capital,
		"clean":    show.Clean,
		"add":      func(a, b int) int { return a + b },
	}).ParseFS(files, "templates/*"))
})

// render fills a template; its styles are part of the page.
func render(name string, data any) ([]byte, error) {
	var b bytes.Buffer
	if err := pages().ExecuteTemplate(&b, name, data); err != nil {
		return nil, fmt.Errorf("a page could not be made: %w", err)
	}
	return b.Bytes(), nil
}

// Feedback makes a student's page as HTML and as plain text, by the endings
// of their names.
func Feedback(r *class.Reading, q *solver.Question, reveal show.Reveal) (map[string][]byte, error) {
	f := newFeedback(r, q, reveal)
	html, err := render("feedback.html", f)
	if err != nil {
		return nil, err
	}
	var b bytes.Buffer
	err = show.Script(&b, r.Report, show.Options{Pen: show.NewPen(false), Title: q.Title, Reveal: reveal, FaultTitle: titles(q)})
	if err != nil {
		return nil, err
	}
	f.marks(&b)
	return map[string][]byte{".html": html, ".txt": b.Bytes()}, nil
}

func titles(q *solver.Question) func(string) string {
	return func(id string) string {
		if f := q.Topic.Fault(id); f != nil {
			return f.Title
		}
		return ""
	}
}

// feedback is a student's page.
type feedback struct {
	Who, Title  string
	SoFar, Next string
	Parts       []feedbackPart
	Awarded, Of float64
	Lines       []feedbackLine
	Loose       []note // on a line that is not there
	Remarks     []diagnose.Finding
	Legend      []meaning
	Marker      string
	Word        []string // what the marker changed
	Caution     string
}

type feedbackPart struct {
	diagnose.PartMarks
	Lost string
}

type feedbackLine struct {
	N       int
	Verdict string
	Pieces  []piece
	Why     string
	Notes   []note
}

// piece is a run of a line's characters.
type piece struct {
	Text  string
	Wrong bool
}

// note is what there is to say on one fault.
type note struct {
	Grade, Title, Hedge, Idea, Mend, Carried, Unwritten string
}

type meaning struct{ Word, Means string }

var meanings = []meaning{
	{string(diagnose.Holds), "right"},
	{string(diagnose.Follows), "rightly worked from an earlier slip; not counted again"},
	{string(diagnose.Faulty), "something goes wrong here"},
	{string(diagnose.Unplaced), "the arithmetic is sound, but what it stands for could not be told"},
	{string(diagnose.Unread), "could not be read, so nothing is said about it"},
}

func newFeedback(r *class.Reading, q *solver.Question, reveal show.Reveal) *feedback {
	w := show.WordsOf(r.Report, titles(q))
	f := &feedback{Title: q.Title, Who: show.Clean(r.Script), SoFar: w.SoFar(), Next: w.Next(),
		Awarded: r.Total.Awarded, Of: r.Total.Available, Caution: r.Caution}
	if r.Name != nil && strings.TrimSpace(*r.Name) != "" {
		f.Who = show.Clean(*r.Name)
	}
	for _, p := range r.Parts {
		f.Parts = append(f.Parts, feedbackPart{p, w.Lost(p)})
	}
	said := map[int][]*diagnose.Finding{}
	for i := range r.Findings {
		x := &r.Findings[i]
		if x.Severity == diagnose.Remark {
			rem := *x
			if reveal == show.RevealLine {
				rem.Idea = ""
			}
			f.Remarks = append(f.Remarks, rem)
			continue
		}
		said[x.Line] = append(said[x.Line], x)
	}
	stands := map[diagnose.Verdict]bool{}
	for i := range r.Lines {
		l := &r.Lines[i]
		stands[l.Verdict] = true
		row := feedbackLine{N: l.N, Pieces: pieces(l.Text, said[l.N])}
		if l.Verdict != diagnose.Aside {
			row.Verdict = string(l.Verdict)
		}
		if len(said[l.N]) == 0 {
			row.Why = l.Why
		}
		for _, x := range said[l.N] {
			row.Notes = append(row.Notes, newNote(w, x, reveal))
		}
		delete(said, l.N)
		f.Lines = append(f.Lines, row)
	}
	for i := range r.Findings {
		if x := &r.Findings[i]; said[x.Line] != nil && x.Severity != diagnose.Remark {
			f.Loose = append(f.Loose, newNote(w, x, reveal))
		}
	}
	for _, m := range meanings {
		if stands[diagnose.Verdict(m.Word)] {
			f.Legend = append(f.Legend, m)
		}
	}
	if r.Marker != nil {
		f.Marker = show.Clean(r.Marker.Marker)
		f.Word = wordDone(r.Marker)
	}
	return f
}

func newNote(w show.Words, x *diagnose.Finding, reveal show.Reveal) note {
	n := note{Grade: fmt.Sprintf("%s, %s", x.Severity, show.Cost(x.Cost)), Carried: w.Carried(x)}
	if x.Unwritten != "" {
		n.Unwritten = "The step that goes wrong is not written down: " + x.Unwritten + "."
	}
	switch {
	case reveal == show.RevealLine && show.Missing(x):
		n.Title = show.Sentence(x.Title)
	case reveal == show.RevealLine:
		n.Title = "This is the line to look at again."
	default:
		n.Title, n.Hedge, n.Idea = show.Sentence(x.Title), w.Hedge(x), x.Idea
		if reveal == show.RevealWorking {
			n.Mend = x.Working
		}
	}
	return n
}

// wordDone words what a marker changed.
func wordDone(o *overrule.Outcome) []string {
	var out []string
	for _, d := range o.Done {
		var s string
		switch d.What {
		case "dismissed":
			s = fmt.Sprintf("Line %d: no fault (was: %s).", d.Line, d.Title)
		case "renamed":
			s = fmt.Sprintf("Line %d: %s (was: %s).", d.Line, d.Now, d.Title)
		case "regraded":
			s = fmt.Sprintf("Line %d: counted as %s (%s).", d.Line, d.To, d.Title)
		case "added":
			s = fmt.Sprintf("Line %d: %s", d.Line, show.Sentence(d.Title))
		case "marks":
			s = fmt.Sprintf("Part (%s): %s marks (were %s).", d.Part, show.Figure(d.Marks, 2), show.Figure(d.From, 2))
		}
		out = append(out, show.Clean(s+" "+show.Sentence(d.Reason)))
	}
	return out
}

// shownAtMost bounds how much of one line is shown, in characters.
const shownAtMost = 800

// pieces cuts a line where an underlined run begins or ends.
func pieces(text string, found []*diagnose.Finding) []piece {
	var spans [][2]int
	for _, f := range found {
		if f.Span != nil {
			spans = append(spans, [2]int{f.Span.From, f.Span.To})
		}
	}
	return cut(text, spans)
}

func cut(text string, spans [][2]int) []piece {
	r := []rune(text)
	more := len(r) > shownAtMost
	if more {
		r = r[:shownAtMost]
	}
	wrong := make([]bool, len(r))
	for _, s := range spans {
		for i := max(0, s[0]-1); i < min(len(r), s[1]-1); i++ {
			wrong[i] = true
		}
	}
	var out []piece
	for i := 0; i < len(r); {
		j := i
		for j < len(r) && wrong[j] == wrong[i] {
			j++
		}
		out = append(out, piece{visible(string(r[i:j])), wrong[i]})
		i = j
	}
	if more {
		out = append(out, piece{" … and so on", false})
	}
	return out
}

// visible takes out what would act on a page rather than show, and keeps tabs.
func visible(s string) string {
	parts := strings.Split(s, "\t")
	for i, p := range parts {
		parts[i] = show.Clean(p)
	}
	return strings.Join(parts, "\t")
}

// marks prints what the plain page says beyond the reading: the marks and the
// marker's word.
func (f *feedback) marks(b *bytes.Buffer) {
	fmt.Fprintf(b, "\nMarks\n")
	for _, p := range f.Parts {
		line := fmt.Sprintf("  (%s)  %s of %s  %s", p.Part, show.Figure(p.Awarded, 2), show.Figure(p.Available, 2), p.Find)
		if p.Lost != "" {
			line += ": " + p.Lost
		}
		for i, l := range show.Wrap(line, show.Columns-7) {
			lead := "  "
			if i > 0 {
				lead = "       "
			}
			fmt.Fprintln(b, lead+l)
		}
	}
	fmt.Fprintf(b, "  total %s of %s\n", show.Figure(f.Awarded, 2), show.Figure(f.Of, 2))
	if len(f.Word) == 0 {
		return
	}
	who := "the marker"
	if f.Marker != "" {
		who = f.Marker
	}
	fmt.Fprintf(b, "\nChanged by %s\n", who)
	for _, word := range f.Word {
		for i, l := range show.Wrap(word, show.Columns-4) {
			lead := "  – "
			if i > 0 {
				lead = "    "
			}
			fmt.Fprintln(b, lead+l)
		}
	}
}
