package show

import (
	"encoding/json"
	"io"
	"math"

	"batten/diagnose"
)

// JSON prints a report as one JSON object, on one line where indent is "".
func JSON(w io.Writer, r *diagnose.Report, indent string) error {
	settle(r)
	return encode(w, r, indent)
}

// JSONFailure prints the row of a script that could not be marked.
func JSONFailure(w io.Writer, script string, reason error) error {
	return encode(w, struct {
		Schema int    `json:"schema"`
		Script string `json:"script"`
		Error  string `json:"error"`
	}{1, script, reason.Error()}, "")
}

func encode(w io.Writer, v any, indent string) error {
	enc := json.NewEncoder(w)
	enc.SetEscapeHTML(false) // students write < and &
	enc.SetIndent("", indent)
	return enc.Encode(v)
}

// settle gives every list its brackets, and takes out figures that JSON can't
// hold: a program at the other end must never meet a null list or no object.
func settle(r *diagnose.Report) {
	if r.Lines == nil {
		r.Lines = []diagnose.LineRow{}
	}
	if r.Findings == nil {
		r.Findings = []diagnose.Finding{}
	}
	if r.Parts == nil {
		r.Parts = []diagnose.PartMarks{}
	}
	for i := range r.Lines {
		row := &r.Lines[i]
		finite(&row.Stated, &row.Expected)
		for j := range row.Steps {
			finite(&row.Steps[j].Stated, &row.Steps[j].Expected)
		}
	}
	for i := range r.Findings {
		f := &r.Findings[i]
		finite(&f.Stated, &f.Expected)
		if f.Alternatives == nil {
			f.Alternatives = []string{}
		}
	}
	for i := range r.Parts {
		p := &r.Parts[i]
		if p.Answers == nil {
			p.Answers = []diagnose.Answer{}
		}
		for j := range p.Answers {
			finite(&p.Answers[j].Stated, &p.Answers[j].Expected)
		}
	}
}

func finite(figures ...**float64) {
	for _, f := range figures {
		if *f != nil && (math.IsNaN(**f) || math.IsInf(**f, 0)) {
			*f = nil
		}
	}
}

// Withhold takes out of a report what is not to be given away: with
// RevealIdea the mended lines and the figures they lead to, with RevealLine all
// but the places.
func Withhold(r *diagnose.Report, reveal Reveal) {
	if reveal >= RevealWorking {
		return
	}
	for i := range r.Lines {
		row := &r.Lines[i]
		withholdStep(&row.StepRow)
		for j := range row.Steps {
			withholdStep(&row.Steps[j])
		}
	}
	for i := range r.Findings {
		f := &r.Findings[i]
		f.Working, f.Expected = "", nil
		if reveal == RevealLine {
			f.Fault, f.Title, f.Idea, f.Alternatives = "", "", "", nil
		}
	}
	if r.FirstFault != nil && reveal == RevealLine {
		r.FirstFault.Fault = ""
	}
	for i := range r.Parts {
		for j := range r.Parts[i].Answers {
			r.Parts[i].Answers[j].Expected = nil
		}
	}
}

func withholdStep(s *diagnose.StepRow) {
	if s.Verdict == diagnose.Faulty {
		s.Expected = nil
	}
}
