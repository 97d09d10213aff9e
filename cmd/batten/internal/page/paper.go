package page

import (
	"net/http"
	"strconv"
	"strings"

	"batten/cmd/batten/internal/show"
	"batten/cmd/batten/internal/sketch"
	"batten/rules"
	"batten/solver"
)

// Paper is a question as an exam paper prints it.
type Paper struct {
	ID       string
	Title    string
	Header   string // "" where the question has none
	Words    string // "" where the topic has none: then the figures alone
	Given    []GivenRow
	Parts    []Asked
	Marks    string
	Minutes  int
	Drawings []*sketch.Picture // what is given
	Outlook  []*sketch.Picture // what becomes of it, without the figures asked for
}

// Asked is one part of a question.
type Asked struct{ Letter, Ask, Marks string }

// GivenRow is one figure that the question gives.
type GivenRow struct{ Title, Symbol, Text string }

// paper makes the printed question. Its sketches keep the figures back that are
// still to be worked.
func paper(m *solver.Model) Paper {
	q := m.Question
	p := Paper{ID: q.ID, Title: q.Title, Header: q.Header, Minutes: q.Minutes, Words: statement(m)}
	total := 0.0
	for _, part := range q.Parts {
		ask := part.Find.Ask
		if ask == "" {
			ask = "Find the " + part.Find.Words + "."
		}
		total += part.Marks
		p.Parts = append(p.Parts, Asked{part.Letter, ask, show.Figure(part.Marks, 2)})
	}
	p.Marks = show.Figure(total, 2)
	for _, k := range q.Topic.Keys {
		text := q.Written[k.Path]
		if text == "" {
			continue
		}
		row := GivenRow{Title: show.Capital(k.Title), Text: visible(text)}
		if k.Quantity != "" {
			row.Symbol = m.Symbol(k.Quantity)
		}
		p.Given = append(p.Given, row)
	}
	p.Drawings, p.Outlook = show.Pictures(m, true, "q-"), show.Outlook(m, "o-")
	return p
}

// statement is the question in words, with its figures as its file has them.
func statement(m *solver.Model) string {
	var pieces []string
	for _, s := range m.Topic.Statement {
		if m.Holds(s.When) {
			pieces = append(pieces, fill(m, s.Text))
		}
	}
	return strings.Join(pieces, " ")
}

// fill fills a template: a given as it is written where that is a figure, all
// else as the working shows it.
func fill(m *solver.Model, text string) string {
	return rules.Fill(text, func(id string) (string, bool) {
		for _, k := range m.Topic.Keys {
			w := strings.TrimSpace(m.Question.Written[k.Path])
			if k.Quantity == id && w != "" && w[0] >= '0' && w[0] <= '9' {
				return together(visible(solver.UnitInPrint(w))), true
			}
		}
		v := show.Filled(m, "{"+id+"}")
		return together(v), !strings.HasPrefix(v, "the ")
	})
}

// together keeps a figure and its unit on one line.
func together(s string) string { return strings.ReplaceAll(s, " ", "\u00a0") }

// entry is a question in the list of all.
type entry struct {
	ID, Title, Asks, Marks string
	Minutes                int
	Topic                  string
}

func (s *Site) index(w http.ResponseWriter, r *http.Request) {
	var list []entry
	for _, q := range s.questions {
		e := entry{ID: q.ID, Title: q.Title, Minutes: q.Minutes, Topic: q.Topic.Title}
		total := 0.0
		var asks []string
		for _, p := range q.Parts {
			total += p.Marks
			asks = append(asks, p.Find.Words)
		}
		e.Marks, e.Asks = show.Figure(total, 2), show.Capital(show.And(asks))
		list = append(list, e)
	}
	s.show(w, http.StatusOK, "index", frame{Title: "Questions", Body: list})
}

// stated writes a figure of a student's as it would be read.
func stated(v float64, unit string) string {
	t := strings.Replace(strconv.FormatFloat(v, 'f', -1, 64), "-", "−", 1)
	switch unit {
	case "":
		return t
	case "deg":
		return t + "°"
	}
	return t + " " + solver.UnitInPrint(unit)
}
