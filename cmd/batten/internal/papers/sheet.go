package papers

import (
	"fmt"
	"strings"

	"batten/cmd/batten/internal/show"
	"batten/rules"
	"batten/solver"
)

// Sheet is the paper that students get: each question on a page of its own,
// with what is given, what is asked for how many marks, and room to answer.
func Sheet(title string, models []*solver.Model) *Paper {
	p := &Paper{Title: title}
	for i, m := range models {
		if i > 0 {
			p.add(pageEnd{})
		}
		p.question(m)
	}
	return p
}

func (p *Paper) question(m *solver.Model) {
	q := m.Question
	p.header(q)
	p.add(heading{1, q.Title}, prose{text: about(q)}, field{"Name"})
	if words := statement(m); words != "" {
		p.add(prose{text: words})
	} else {
		p.add(given(m))
	}
	p.sketches(m, true)
	for _, part := range q.Parts {
		p.add(heading{2, fmt.Sprintf("(%s) %s [%s]", part.Letter, ask(part), marks(part.Marks))}, room{lines: roomFor(m, part)})
	}
	p.add(prose{text: "Show the formula and the figures of each step. A typed answer begins with two lines, Name: and your name, Question: and " + q.ID + "."},
		prose{text: m.Topic.Caution, faint: true})
}

// header is the line over a title: whose paper it is.
func (p *Paper) header(q *solver.Question) {
	if q.Header != "" {
		p.add(prose{text: q.Header, faint: true})
	}
}

// about is the line under a title: which question, how long, for how much.
func about(q *solver.Question) string {
	total := 0.0
	for _, part := range q.Parts {
		total += part.Marks
	}
	out := "Question " + q.ID + " · " + marks(total)
	if q.Minutes > 0 {
		out += fmt.Sprintf(" · %d minutes", q.Minutes)
	}
	return out
}

func marks(v float64) string {
	if v == 1 {
		return "1 mark"
	}
	return show.Figure(v, 2) + " marks"
}

// ask is what a part asks for, in words.
func ask(part solver.Part) string {
	if part.Find.Ask != "" {
		return part.Find.Ask
	}
	return "Find the " + part.Find.Words + "."
}

// roomFor is how many blank lines an answer wants: one for each step, and some.
func roomFor(m *solver.Model, part solver.Part) int {
	for _, w := range m.Working() {
		if w.Part.Letter == part.Letter {
			return min(3+len(w.Lines), 16)
		}
	}
	return 6
}

// statement is the question in words, with its figures.
func statement(m *solver.Model) string {
	var out []string
	for _, s := range m.Topic.Statement {
		if m.Holds(s.When) {
			out = append(out, rules.Fill(s.Text, func(id string) (string, bool) { return figure(m, id) }))
		}
	}
	return strings.Join(out, " ")
}

// figure is a figure as the question has it, or as the working shows it.
func figure(m *solver.Model, id string) (string, bool) {
	for _, k := range m.Topic.Keys {
		w := strings.TrimSpace(m.Question.Written[k.Path])
		if k.Quantity == id && w != "" && w[0] >= '0' && w[0] <= '9' {
			return solver.UnitInPrint(w), true
		}
	}
	if _, ok := m.Value(id); !ok {
		return "", false
	}
	return show.Filled(m, "{"+id+"}"), true
}

// given lists what the question gives, as its file has it.
func given(m *solver.Model) table {
	t := table{head: []string{"Given", ""}}
	for _, k := range m.Topic.Keys {
		if text := m.Question.Written[k.Path]; text != "" {
			t.rows = append(t.rows, []string{show.Capital(k.Title), solver.UnitInPrint(text)})
		}
	}
	return t
}
