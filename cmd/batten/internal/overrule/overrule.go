// Package overrule is the marker's word on a script: a file beside it, written
// by hand, that dismisses a finding, changes it, adds one or sets marks, each
// with its reason. What the marker says stands; what was found before it is
// kept, so that the two can be compared.
package overrule

import (
	"fmt"
	"math"
	"path/filepath"
	"slices"

	"batten/cmd/batten/internal/show"
	"batten/diagnose"
	"batten/rules"
	"batten/solver"
)

// Word is what a marker says of one script. Each entry knows where it stands.
type Word struct {
	Marker  string // who says so, "" where the file does not tell
	At      Place  // of the word as a whole
	Dismiss []Dismiss
	Change  []Change
	Add     []Add
	Marks   []Marks
}

// Place is a line of a marker's file.
type Place struct {
	File string
	Line int
}

func (p Place) String() string { return fmt.Sprintf("%s:%d", p.File, p.Line) }

// Dismiss says that what was found on a line is no fault; with no Fault named,
// all that was found there.
type Dismiss struct {
	At     Place
	Line   int
	Fault  string
	Reason string
}

// Change says that a finding is another fault, or of another severity.
type Change struct {
	At       Place
	Line     int
	Fault    string // the finding meant, "" where the line has but one
	To       string // another fault, "" for the same
	Severity diagnose.Severity
	Reason   string
}

// Add says that a fault stands where none was found.
type Add struct {
	At       Place
	Line     int
	Part     string // "" for the part of the line
	Fault    string // of the catalogue, "" where Title says it in words
	Title    string
	Severity diagnose.Severity
	Reason   string
}

// Marks sets the marks of a part, whatever was found.
type Marks struct {
	At     Place
	Part   string
	Marks  float64
	Reason string
}

// Done is one thing that a marker's word changed, for those who read the
// result.
type Done struct {
	What   string  `json:"what"` // dismissed, renamed, regraded, added, marks
	Line   int     `json:"line,omitempty"`
	Part   string  `json:"part,omitempty"`
	Fault  string  `json:"fault,omitempty"` // as found, or as added
	Title  string  `json:"title,omitempty"`
	To     string  `json:"to,omitempty"`  // the fault or severity that it is now
	Now    string  `json:"now,omitempty"` // that fault's title and severity
	From   float64 `json:"from,omitempty"`
	Marks  float64 `json:"marks,omitempty"` // marks of the part, where they were set
	Reason string  `json:"reason"`
}

// Outcome is what came of a marker's word.
type Outcome struct {
	Marker string `json:"by,omitempty"`
	Done   []Done `json:"changes"`
	// Lost holds the entries that met nothing: the finding they speak of is not
	// there (any more). They change nothing.
	Lost []string `json:"lost,omitempty"`
	// Was is the reading before the marker's word.
	Was Before `json:"was"`
}

// Before is what is compared with the marker's word.
type Before struct {
	Line     int       `json:"line"` // first faulty line, 0 for none
	Fault    string    `json:"fault,omitempty"`
	Findings int       `json:"findings"` // without remarks
	Awarded  float64   `json:"awarded"`
	Parts    []float64 `json:"parts"`
}

// Apply changes the reading as the marker says. A nil word changes nothing and
// has no outcome.
func Apply(q *solver.Question, r *diagnose.Report, w *Word) *Outcome {
	if w == nil {
		return nil
	}
	a := &applier{q: q, r: r, out: &Outcome{Marker: w.Marker, Done: []Done{}, Was: before(r)}}
	touched := map[string]bool{}
	for _, d := range w.Dismiss {
		a.dismiss(d, touched)
	}
	for _, c := range w.Change {
		a.change(c, touched)
	}
	for _, add := range w.Add {
		a.add(add, touched)
	}
	a.recount(touched)
	for _, m := range w.Marks {
		a.set(m)
	}
	a.total()
	return a.out
}

func before(r *diagnose.Report) Before {
	b := Before{Awarded: r.Total.Awarded}
	if r.FirstFault != nil {
		b.Line, b.Fault = r.FirstFault.Line, r.FirstFault.Fault
	}
	for i := range r.Findings {
		if r.Findings[i].Severity != diagnose.Remark {
			b.Findings++
		}
	}
	for _, p := range r.Parts {
		b.Parts = append(b.Parts, p.Awarded)
	}
	return b
}

type applier struct {
	q   *solver.Question
	r   *diagnose.Report
	out *Outcome
}

func (a *applier) lost(at Place, format string, args ...any) {
	at.File = filepath.Base(at.File) // reports are read elsewhere
	a.out.Lost = append(a.out.Lost, fmt.Sprintf("%s: %s", at, fmt.Sprintf(format, args...)))
}

func (a *applier) find(line int, fault string) int {
	return slices.IndexFunc(a.r.Findings, func(f diagnose.Finding) bool {
		return f.Line == line && (fault == "" || f.Fault == fault)
	})
}

func (a *applier) dismiss(d Dismiss, touched map[string]bool) {
	met := false
	for i := a.find(d.Line, d.Fault); i >= 0; i = a.find(d.Line, d.Fault) {
		f := a.r.Findings[i]
		met = true
		touched[f.Part] = true
		a.r.Findings = slices.Delete(a.r.Findings, i, i+1)
		a.out.Done = append(a.out.Done, Done{What: "dismissed", Line: f.Line, Part: f.Part, Fault: f.Fault, Title: f.Title, Reason: d.Reason})
	}
	if !met {
		a.lost(d.At, "nothing to dismiss: %s was not found on line %d", orFault(d.Fault), d.Line)
		return
	}
	if a.find(d.Line, "") < 0 {
		a.clear(d.Line)
	}
}

func orFault(id string) string {
	if id == "" {
		return "a fault"
	}
	return id
}

// clear takes the verdict back from a line that has no fault left, and from
// the lines that followed from it.
func (a *applier) clear(line int) {
	settle := func(s *diagnose.StepRow, own bool) {
		if own && s.Verdict == diagnose.Faulty || s.Verdict == diagnose.Follows && s.From == line {
			s.Verdict, s.From = diagnose.Holds, 0
		}
	}
	for i := range a.r.Lines {
		row := &a.r.Lines[i]
		settle(&row.StepRow, row.N == line)
		for j := range row.Steps {
			settle(&row.Steps[j], row.N == line)
		}
	}
}

func (a *applier) change(c Change, touched map[string]bool) {
	i := a.find(c.Line, c.Fault)
	if i < 0 {
		a.lost(c.At, "nothing to change: %s was not found on line %d", orFault(c.Fault), c.Line)
		return
	}
	f := &a.r.Findings[i]
	touched[f.Part] = true
	if c.To != "" && c.To != f.Fault {
		done := Done{What: "renamed", Line: f.Line, Part: f.Part, Fault: f.Fault, Title: f.Title, To: c.To, Reason: c.Reason}
		a.name(f, c.To, "", c.Reason)
		if f.Severity = c.Severity; f.Severity == "" {
			f.Severity = diagnose.Severity(a.q.Topic.Fault(c.To).Severity)
		}
		f.Cost = a.cost(f)
		done.Now = fmt.Sprintf("%s, %s", f.Title, f.Severity)
		a.out.Done = append(a.out.Done, done)
		return
	}
	if c.Severity != "" && c.Severity != f.Severity {
		a.out.Done = append(a.out.Done, Done{What: "regraded", Line: f.Line, Part: f.Part, Fault: f.Fault, Title: f.Title, To: string(c.Severity), Reason: c.Reason})
		f.Severity = c.Severity
		f.Cost = a.cost(f)
	}
}

// name makes a finding that of another fault, in the catalogue's words and the
// marker's.
func (a *applier) name(f *diagnose.Finding, id, title, reason string) {
	f.Fault, f.Title, f.Shown, f.Alternatives = id, title, diagnose.ShownWritten, []string{}
	f.Idea = show.Sentence(reason)
	if known := a.q.Topic.Fault(id); known != nil {
		if title == "" {
			f.Title = known.Title
		}
		f.Idea = rules.Fill(known.Idea, func(string) (string, bool) { return "", false })
	}
}

func (a *applier) add(add Add, touched map[string]bool) {
	f := diagnose.Finding{Line: add.Line, Part: add.Part, Severity: add.Severity}
	a.name(&f, add.Fault, add.Title, add.Reason)
	if f.Fault == "" {
		f.Fault = "by-marker"
	}
	if f.Severity == "" {
		f.Severity = diagnose.Principal
		if known := a.q.Topic.Fault(add.Fault); known != nil {
			f.Severity = diagnose.Severity(known.Severity)
		}
	}
	row := slices.IndexFunc(a.r.Lines, func(l diagnose.LineRow) bool { return l.N == add.Line })
	if row < 0 {
		a.lost(add.At, "nothing to add to: the script has no line %d", add.Line)
		return
	}
	line := &a.r.Lines[row]
	if f.Part == "" {
		f.Part = line.Part
	}
	if f.Part == "" && len(a.r.Parts) > 0 {
		f.Part = a.r.Parts[0].Part
	}
	if f.Severity != diagnose.Remark {
		line.Verdict = diagnose.Faulty
	}
	f.Quantity = line.Quantity
	if f.Quantity != nil {
		if q := a.q.Topic.Quantity(*f.Quantity); q != nil {
			f.Name = q.Title
		}
	}
	f.Cost = a.cost(&f)
	touched[f.Part] = true
	at := slices.IndexFunc(a.r.Findings, func(g diagnose.Finding) bool { return g.Line > f.Line })
	if at < 0 {
		at = len(a.r.Findings)
	}
	a.r.Findings = slices.Insert(a.r.Findings, at, f)
	a.out.Done = append(a.out.Done, Done{What: "added", Line: f.Line, Part: f.Part, Fault: f.Fault, Title: f.Title, Reason: add.Reason})
}

// cost is what a finding costs by the question's scheme.
func (a *applier) cost(f *diagnose.Finding) float64 {
	charge := a.q.Marking.Principal
	switch f.Severity {
	case diagnose.Remark:
		return 0
	case diagnose.Clerical:
		charge = a.q.Marking.Clerical
	}
	if charge.Marks > 0 {
		return charge.Marks
	}
	if p := a.part(f.Part); p != nil {
		return charge.Share * p.Available
	}
	return 0
}

func (a *applier) part(letter string) *diagnose.PartMarks {
	for i := range a.r.Parts {
		if a.r.Parts[i].Part == letter {
			return &a.r.Parts[i]
		}
	}
	return nil
}

const notReached = "answer-not-reached"

// recount takes the costs of the parts that changed together.
func (a *applier) recount(touched map[string]bool) {
	for letter := range touched {
		p := a.part(letter)
		if p == nil {
			continue
		}
		sum, principal := 0.0, false
		var short *diagnose.Finding
		for i := range a.r.Findings {
			f := &a.r.Findings[i]
			if f.Part != letter {
				continue
			}
			sum += f.Cost
			switch {
			case f.Fault == notReached && f.Cost == 0:
				short = f
			case f.Severity == diagnose.Principal && f.Cost > 0:
				principal = true
			}
		}
		if short != nil && !principal { // nothing else pays for the missing answer now
			short.Cost = a.cost(short)
			sum += short.Cost
		}
		p.Deducted = tidy(min(sum, p.Available))
		p.Awarded = tidy(p.Available - p.Deducted)
	}
}

func (a *applier) set(m Marks) {
	p := a.part(m.Part)
	if p == nil {
		a.lost(m.At, "no marks to set: the question has no part %q", m.Part)
		return
	}
	a.out.Done = append(a.out.Done, Done{What: "marks", Part: m.Part, From: p.Awarded, Marks: m.Marks, Reason: m.Reason})
	p.Awarded = m.Marks
	p.Deducted = tidy(p.Available - m.Marks)
}

func (a *applier) total() {
	a.r.Total.Awarded = 0
	for _, p := range a.r.Parts {
		a.r.Total.Awarded = tidy(a.r.Total.Awarded + p.Awarded)
	}
	a.r.FirstFault = nil
	for i := range a.r.Findings {
		if f := &a.r.Findings[i]; f.Severity != diagnose.Remark {
			a.r.FirstFault = &diagnose.FirstFault{Line: f.Line, Fault: f.Fault}
			return
		}
	}
}

// tidy takes the dust of binary arithmetic off marks.
func tidy(x float64) float64 { return math.Round(x*1e6) / 1e6 }
