// Package papers lays questions out for print: a sheet for the students, a key
// for the marker, and the table of what each fault would give.
//
// A paper is made once, as blocks, and written as Markdown or as a web page
// that stands alone; the two say the same. It decides nothing about ships.
package papers

import (
	"strings"

	"batten/cmd/batten/internal/show"
	"batten/cmd/batten/internal/sketch"
	"batten/solver"
)

// Paper is what is printed, from top to bottom.
type Paper struct {
	Title  string
	blocks []block
}

// block is one piece of a paper.
type block interface{}

type (
	// heading opens a section; level 1 is that of the paper.
	heading struct {
		level int
		text  string
	}
	// prose is a paragraph; faint for what is told beside the matter.
	prose struct {
		text  string
		faint bool
	}
	// table has a head and rows of as many cells; figures are the columns set
	// to the right, strong the rows that stand out.
	table struct {
		head    []string
		rows    [][]string
		figures map[int]bool
		strong  map[int]bool
	}
	// items is a list of short texts.
	items []string
	// drawn is a sketch: in characters for Markdown, as a picture for the page.
	drawn struct {
		chars   *sketch.Drawing
		picture *sketch.Picture
	}
	// field is a line to be filled in by hand.
	field struct{ name string }
	// room is so many blank lines for an answer.
	room struct{ lines int }
	// pageEnd begins a new page.
	pageEnd struct{}
)

func (p *Paper) add(b ...block) { p.blocks = append(p.blocks, b...) }

// Markdown writes the paper in the plain form of Markdown that every reader of
// it knows, with tables in pipes.
func (p *Paper) Markdown() []byte {
	var b strings.Builder
	for i, x := range p.blocks {
		if i > 0 {
			b.WriteString("\n")
		}
		switch x := x.(type) {
		case heading:
			b.WriteString(strings.Repeat("#", x.level) + " " + markdown(x.text) + "\n")
		case prose:
			if x.faint {
				b.WriteString("*" + markdown(x.text) + "*\n")
			} else {
				b.WriteString(markdown(x.text) + "\n")
			}
		case table:
			x.markdown(&b)
		case items:
			for _, t := range x {
				b.WriteString("- " + markdown(t) + "\n")
			}
		case drawn:
			b.WriteString("```text\n" + strings.ReplaceAll(x.text(), "```", "'''") + "\n```\n")
		case field:
			b.WriteString(markdown(x.name) + ": ______________________________\n")
		case room:
			b.WriteString("&nbsp;\n" + strings.Repeat("\n&nbsp;\n", min(x.lines, 4)-1))
		case pageEnd:
			b.WriteString("---\n")
		}
	}
	return []byte(b.String())
}

// text is a sketch in characters under its title, with what its strokes mean.
func (d drawn) text() string {
	out := d.chars.Title + " (not to scale)\n\n" + strings.Join(d.chars.Rows, "\n") + "\n"
	for _, e := range d.chars.Legend {
		out += "\n" + e.Sample + "  " + e.Means
	}
	return out
}

// sketches adds the sketches of a question; for the students' eyes none of
// their labels has a figure that is still to be worked.
func (p *Paper) sketches(m *solver.Model, question bool) {
	chars, pictures := show.Drawings(m, question), show.Pictures(m, question, m.Question.ID+"-")
	for i := range chars {
		p.add(drawn{chars[i], pictures[i]})
	}
}

func (t table) markdown(b *strings.Builder) {
	row := func(cells []string) { b.WriteString("| " + strings.Join(cells, " | ") + " |\n") }
	head, rule := make([]string, len(t.head)), make([]string, len(t.head))
	for i, h := range t.head {
		head[i], rule[i] = markdown(h), "---"
		if t.figures[i] {
			rule[i] = "--:"
		}
	}
	row(head)
	row(rule)
	for n, r := range t.rows {
		cells := make([]string, len(r))
		for i, c := range r {
			cells[i] = markdown(c)
			if t.strong[n] && c != "" {
				cells[i] = "**" + cells[i] + "**"
			}
		}
		row(cells)
	}
}

// markdown escapes what Markdown would take for its own.
func markdown(s string) string {
	s = strings.Join(strings.Fields(show.Clean(s)), " ")
	var b strings.Builder
	for i, r := range s {
		switch {
		case strings.ContainsRune("\\`*_[]<>|~", r):
			b.WriteByte('\\')
		case i == 0 && strings.ContainsRune("#+->", r):
			b.WriteByte('\\')
		case r == '&':
			b.WriteString("&amp;")
			continue
		}
		b.WriteRune(r)
	}
	return b.String()
}
