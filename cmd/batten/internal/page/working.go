package page

import (
	"bytes"
	"crypto/sha256"
	"encoding/base64"
	"html/template"
	"io"
	"net/http"
	"strings"

	"batten/cmd/batten/internal/show"
	"batten/cmd/batten/internal/sketch"
	"batten/rules"
	"batten/solver"
)

// helpers are the functions that templates use beside the standard ones.
var helpers = template.FuncMap{
	"maths":    maths,
	"capital":  show.Capital,
	"sentence": show.Sentence,
	"lower":    lower,
	"pair":     func(a, b any) [2]any { return [2]any{a, b} },
}

// worked is the reference working as a page shows it.
type worked struct {
	Paper
	Parts    []workedPart
	Drawings []*sketch.Picture
	Exact    *exactly
}

// exactly is the comparison with how the ship would really lie.
type exactly struct {
	Title, Words string
	Rows         [][4]string // what, by the working, exactly, how far off
	Notes        []string
}

func exactOf(m *solver.Model) *exactly {
	x := m.Exact()
	if x == nil {
		return nil
	}
	out := &exactly{Title: show.ExactTitle, Words: show.ExactWords, Notes: x.Notes}
	for _, r := range x.Rows {
		worked, exact, apart := r.Print()
		out.Rows = append(out.Rows, [4]string{show.Capital(r.Quantity.Title), worked, exact, apart})
	}
	return out
}

type workedPart struct {
	Letter, Find, Marks string
	Lines               []workedLine
	Answer              string
}

type workedLine struct {
	Title, Why, Symbol string
	Sides              []string // each after a sign of equality
	Asked              bool
}

// reference makes the reference working of a question.
func reference(m *solver.Model) worked {
	out := worked{Paper: paper(m), Drawings: show.Pictures(m, false, ""), Exact: exactOf(m)}
	for _, p := range m.Working() {
		wp := workedPart{Letter: p.Part.Letter, Find: show.Capital(p.Part.Find.Words), Marks: show.Figure(p.Part.Marks, 2)}
		var answers []string
		for _, l := range p.Lines {
			wl := workedLine{Title: show.Capital(l.Title), Why: show.Sentence(l.Why), Symbol: l.Symbol, Asked: l.Asked}
			answer := l.Answer
			if l.Sense != "" {
				answer += " (" + l.Sense + ")"
			}
			for _, side := range []string{l.Symbols, l.Figures, answer} {
				if side != "" {
					wl.Sides = append(wl.Sides, side)
				}
			}
			if l.Asked {
				answers = append(answers, l.Title+" "+answer)
			}
			wp.Lines = append(wp.Lines, wl)
		}
		wp.Answer = show.Capital(strings.Join(answers, "; "))
		out.Parts = append(out.Parts, wp)
	}
	return out
}

func (s *Site) working(w http.ResponseWriter, r *http.Request) {
	d := s.desk(w, r)
	if d == nil {
		return
	}
	s.show(w, http.StatusOK, "working", frame{Title: "Working: " + d.question.Title, Caution: d.question.Topic.Caution, Body: reference(d.model())})
}

// Working writes the reference working as a page that stands alone: its style
// is inside, and it asks for nothing from anywhere.
func Working(w io.Writer, m *solver.Model) error {
	pages, err := readTemplates()
	if err != nil {
		return err
	}
	style, err := staticFiles.ReadFile("static/style.css")
	if err != nil {
		return err
	}
	hash := sha256.Sum256(style)
	f := frame{
		Title: "Working: " + m.Question.Title, Caution: m.Question.Topic.Caution,
		Style:  template.CSS(style),
		Policy: "default-src 'none'; style-src 'sha256-" + base64.StdEncoding.EncodeToString(hash[:]) + "'",
		Body:   reference(m),
	}
	var b bytes.Buffer
	if err := pages["working"].Execute(&b, f); err != nil {
		return err
	}
	_, err = w.Write(b.Bytes())
	return err
}

// group is faults under one heading of the catalogue.
type group struct {
	Title  string
	Faults []*rules.Fault
}

// shelf is the catalogue of one topic, or of what all have in common.
type shelf struct {
	Title  string
	Groups []group
}

func (s *Site) catalogue(w http.ResponseWriter, r *http.Request) {
	var out []shelf
	var generic []*rules.Fault
	for _, t := range s.topics() {
		out = append(out, shelf{t.Title, groups(t.Faults)})
		generic = t.Generic
	}
	if len(generic) > 0 {
		out = append(out, shelf{"On any quantity", groups(generic)})
	}
	s.show(w, http.StatusOK, "faults", frame{Title: "Faults that can be named", Body: out})
}

// groups sorts faults under their headings, in the order these come up.
func groups(faults []*rules.Fault) []group {
	var out []group
	at := map[string]int{}
	for _, f := range faults {
		i, ok := at[f.Group]
		if !ok {
			i = len(out)
			at[f.Group] = i
			out = append(out, group{Title: show.Capital(f.Group)})
		}
		out[i].Faults = append(out[i].Faults, f)
	}
	return out
}

func (s *Site) fault(w http.ResponseWriter, r *http.Request) {
	for _, t := range s.topics() {
		f := t.Fault(r.PathValue("id"))
		if f == nil {
			continue
		}
		s.show(w, http.StatusOK, "fault", frame{Title: show.Capital(f.Title), Caution: t.Caution, Body: struct {
			*rules.Fault
			Said, Mended string
			Arises       []string
		}{f, show.Unfilled(t, f.Idea), show.Unfilled(t, f.Mend), show.Arises(t, f)}})
		return
	}
	s.refuse(w, http.StatusNotFound, "There is no such fault", "The catalogue lists them all.")
}
