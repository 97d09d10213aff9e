// Package class marks a folder of scripts: several at once, told in order, each
// with its row whatever it is, and nothing done twice that was done before.
package class

import (
	"fmt"
	"strings"

	"batten/cmd/batten/internal/overrule"
	"batten/cmd/batten/internal/show"
	"batten/diagnose"
	"batten/rules"
)

// Row is what is kept of one script after it was marked: enough for tables and
// the report on the class, not the reading itself.
type Row struct {
	Script   string            `json:"script"` // as given
	Key      string            `json:"-"`      // its name among the results
	Name     string            `json:"name,omitempty"`
	Question string            `json:"question,omitempty"`
	Parts    []Part            `json:"parts,omitempty"`
	Full     float64           `json:"full,omitempty"`
	Awarded  float64           `json:"awarded"`
	Findings []Finding         `json:"findings,omitempty"`
	Verdicts Verdicts          `json:"verdicts"`
	Eye      []string          `json:"eye,omitempty"` // why a person should look at it
	Marker   *overrule.Outcome `json:"marker,omitempty"`
	Sum      string            `json:"sum,omitempty"` // fingerprint of the file

	Failed  string   `json:"-"` // why it could not be marked, "" where it was
	Stopped bool     `json:"-"` // it was not reached: the run was stopped
	Since   string   `json:"-"` // what is new since the last run, where there was one
	Before  bool     `json:"-"` // taken over from an earlier run
	Say     []string `json:"-"` // messages for a person
}

// Part is the marks of one part.
type Part struct {
	Part      string  `json:"part"`
	Available float64 `json:"of"`
	Awarded   float64 `json:"awarded"`
	Reached   bool    `json:"reached"`
}

// Finding is a finding without its words, but for a sample of them.
type Finding struct {
	Fault    string            `json:"fault"`
	Title    string            `json:"title"`
	Severity diagnose.Severity `json:"severity"`
	Part     string            `json:"part,omitempty"`
	Line     int               `json:"line"`
	Quantity string            `json:"quantity,omitempty"`
	Shown    string            `json:"shown,omitempty"`
	Others   []string          `json:"others,omitempty"`
	Cost     float64           `json:"cost"`
	Text     string            `json:"text,omitempty"` // the student's line
	From     int               `json:"from,omitempty"` // columns of Text
	To       int               `json:"to,omitempty"`
	Idea     string            `json:"idea,omitempty"`
}

// Verdicts counts the lines of a script by verdict.
type Verdicts struct {
	Holds, Follows, Faulty, Unplaced, Unread int
}

func (v Verdicts) claims() int { return v.Holds + v.Follows + v.Faulty + v.Unplaced + v.Unread }

// First is the first finding that is not a remark, nil where there is none.
func (r *Row) First() *Finding {
	for i := range r.Findings {
		if r.Findings[i].Severity != diagnose.Remark {
			return &r.Findings[i]
		}
	}
	return nil
}

// Marked tells whether the script has its marks.
func (r *Row) Marked() bool { return r.Failed == "" && !r.Stopped }

// Called is what people call the script: its student, or its file.
func (r *Row) Called() string {
	if r.Name != "" {
		return r.Name
	}
	return r.File()
}

// File is the script's file as pages name it, without the way to it.
func (r *Row) File() string {
	if r.Key != "" {
		return r.Key
	}
	return r.Script
}

// clip bounds what is kept of a text.
func clip(s string, most int) string {
	n := 0
	for i := range s {
		if n == most {
			return s[:i] + "…"
		}
		n++
	}
	return s
}

const (
	mostText = 160 // characters of a line that are kept
	mostIdea = 500
	mostName = 80
)

// newRow takes the row from a reading.
func newRow(r *diagnose.Report, out *overrule.Outcome) *Row {
	row := &Row{Script: r.Script, Question: r.Question, Full: r.Total.Available, Awarded: r.Total.Awarded, Marker: out}
	if r.Name != nil {
		row.Name = clip(strings.TrimSpace(show.Clean(*r.Name)), mostName)
	}
	for _, p := range r.Parts {
		row.Parts = append(row.Parts, Part{p.Part, p.Available, p.Awarded, p.Reached})
	}
	texts := map[int]string{}
	for i := range r.Lines {
		l := &r.Lines[i]
		texts[l.N] = l.Text
		switch l.Verdict {
		case diagnose.Holds:
			row.Verdicts.Holds++
		case diagnose.Follows:
			row.Verdicts.Follows++
		case diagnose.Faulty:
			row.Verdicts.Faulty++
		case diagnose.Unplaced:
			row.Verdicts.Unplaced++
		case diagnose.Unread:
			row.Verdicts.Unread++
		}
	}
	for i := range r.Findings {
		f := &r.Findings[i]
		k := Finding{Fault: f.Fault, Title: f.Title, Severity: f.Severity, Part: f.Part, Line: f.Line, Shown: f.Shown,
			Others: f.Alternatives, Cost: f.Cost, Text: clip(texts[f.Line], mostText), Idea: clip(f.Idea, mostIdea)}
		if f.Quantity != nil {
			k.Quantity = *f.Quantity
		}
		if f.Span != nil {
			k.From, k.To = f.Span.From, f.Span.To
		}
		row.Findings = append(row.Findings, k)
	}
	return row
}

// Faults that say that something is missing or not understood.
const (
	unexplained  = "unexplained"
	notFollow    = "does-not-follow"
	notReached   = "answer-not-reached"
	notAttempted = "part-not-attempted"
)

// Lines that could not be read make a script one for a person's eye when they
// are so many, or such a share of those that claim something.
const (
	manyUnread  = 4
	unreadShare = 0.25
)

// wantsEye lists why a person should look at the script.
func wantsEye(row *Row, t *rules.Topic) []string {
	var why []string
	for i := range row.Findings {
		f := &row.Findings[i]
		switch {
		case f.Fault == unexplained || f.Fault == notFollow:
			why = append(why, fmt.Sprintf("line %d is wrong, and nothing that is known explains how", f.Line))
		case f.Shown == diagnose.ShownPossible && f.Severity != diagnose.Remark:
			others := make([]string, 0, len(f.Others))
			for _, id := range f.Others {
				if known := t.Fault(id); known != nil {
					id = known.Title
				}
				others = append(others, id)
			}
			s := fmt.Sprintf("line %d may be “%s”", f.Line, f.Title)
			if len(others) > 0 {
				s += ", or as well “" + strings.Join(others, "”, “") + "”"
			} else {
				s += ", or something else"
			}
			why = append(why, s)
		}
	}
	v := row.Verdicts
	dark := v.Unread + v.Unplaced
	switch {
	case v.claims() == 0:
		why = append(why, "there is no working in it")
	case dark >= manyUnread || float64(dark) >= unreadShare*float64(v.claims()):
		var what []string
		if v.Unread > 0 {
			what = append(what, fmt.Sprintf("%d could not be read", v.Unread))
		}
		if v.Unplaced > 0 {
			what = append(what, fmt.Sprintf("%d could not be told what they stand for", v.Unplaced))
		}
		if dark > 0 {
			why = append(why, fmt.Sprintf("of %d lines of working, %s", v.claims(), strings.Join(what, " and ")))
		}
	}
	if row.Marker != nil {
		for _, l := range row.Marker.Lost {
			why = append(why, "the marker's word met nothing: "+l)
		}
	}
	return why
}
