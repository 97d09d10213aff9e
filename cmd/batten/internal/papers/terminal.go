package papers

import (
	"fmt"
	"io"
	"strings"

	"batten/cmd/batten/internal/show"
	"batten/solver"
)

// TellApart prints the table of what each fault would give, set to the
// terminal's columns, and what a tutor who sets the question should know of it.
func TellApart(w io.Writer, t *solver.Apart) error {
	p := &printer{w: w}
	m := t.Model
	p.wrap("", m.Question.Title)
	p.line("")
	p.wrap("", "What each fault would give, made at the step named and worked on rightly. * is among the faults that classes make most; = comes out within rounding of the right answer.")
	for i, a := range t.Asked {
		p.line("")
		p.wrap("", fmt.Sprintf("(%s) %s: %s", a.Part.Letter, show.Capital(a.Quantity.Title), answer(m, a.Quantity, a.Right.Value)))
		p.line("")
		for _, r := range bySize(t, i) {
			figure := "no figure"
			if v := r.Answers[i].Value; v == v {
				figure = solver.Shown(a.Quantity, v)
			}
			p.row(figure, r.Right[i], r, madeAt(t, r))
		}
	}
	p.line("")
	same := Inseparable(t)
	if len(same) == 0 {
		p.wrap("", "Every fault gives answers of its own.")
	} else {
		p.wrap("", "Not to be told apart by the answers:")
		for _, s := range same {
			p.wrap("  ", s)
		}
	}
	if short := m.Shortfalls(); len(short) > 0 {
		p.line("")
		p.wrap("", "Before it is set for a class:")
		for _, s := range short {
			p.wrap("  ", fmt.Sprintf("%s: %s; right would be %s", s.Key, s.Wrong, s.Right))
		}
	}
	p.line("")
	p.wrap("", m.Topic.Caution)
	return p.err
}

// printer prints lines and keeps the first error.
type printer struct {
	w   io.Writer
	err error
}

func (p *printer) line(s string) {
	if p.err == nil {
		_, p.err = fmt.Fprintln(p.w, strings.TrimRight(s, " "))
	}
}

// wrap prints a text over as many lines as it needs, those after the first
// indented.
func (p *printer) wrap(indent, text string) {
	hang := indent
	if indent != "" {
		hang += "  "
	}
	for i, l := range show.Wrap(show.Clean(text), show.Columns-len(hang)) {
		if i == 0 {
			p.line(indent + l)
		} else {
			p.line(hang + l)
		}
	}
}

const (
	figureColumns = 14
	faultColumns  = 35
)

// row prints one wrong answer: figure, marks, fault, the steps it is made at.
func (p *printer) row(figure string, right bool, r *solver.Row, at string) {
	mark := [2]byte{' ', ' '}
	if right {
		mark[0] = '='
	}
	if r.Common {
		mark[1] = '*'
	}
	lead := strings.Repeat(" ", max(0, figureColumns-show.Width(figure))) + figure + " " + string(mark[:]) + " "
	id := r.Fault.ID + strings.Repeat(" ", max(0, faultColumns-len(r.Fault.ID)))
	left := show.Columns - show.Width(lead) - len(id) - 1
	for i, l := range show.Wrap(at, left) {
		if i == 0 {
			p.line(lead + id + " " + l)
		} else {
			p.line(strings.Repeat(" ", show.Width(lead)+len(id)+1) + l)
		}
	}
}
