package show

import (
	"fmt"
	"io"
	"strings"

	"batten/diagnose"
)

// Class is the short summary of several scripts: a table for each question, in
// the order in which the questions came up, then what could not be marked.
//
// It keeps a row a script, not the readings.
type Class struct {
	tables []*table
	failed []failure
	// Titles gives a question's title; nil or "" leaves its id.
	Titles func(question string) string
}

type failure struct{ script, reason string }

type table struct {
	question string
	parts    []diagnose.PartMarks
	rows     []classRow
	points   float64 // all marks awarded, for the mean
	full     float64 // marks there were
}

type classRow struct {
	script  string
	awarded []float64
	total   float64
	faults  string
}

// Add takes a script's row from its reading.
func (c *Class) Add(r *diagnose.Report) {
	t := c.table(r)
	row := classRow{script: r.Script, total: r.Total.Awarded, faults: faultWords(r)}
	if r.Name != nil && *r.Name != "" {
		row.script += "  " + *r.Name
	}
	for _, p := range r.Parts {
		row.awarded = append(row.awarded, p.Awarded)
	}
	t.rows = append(t.rows, row)
	t.points += r.Total.Awarded
}

// Fail takes the row of a script that could not be marked.
func (c *Class) Fail(script, reason string) { c.failed = append(c.failed, failure{script, reason}) }

func (c *Class) table(r *diagnose.Report) *table {
	for _, t := range c.tables {
		if t.question == r.Question {
			return t
		}
	}
	t := &table{question: r.Question, parts: r.Parts, full: r.Total.Available}
	c.tables = append(c.tables, t)
	return t
}

// faultWords counts a script's faults and says where the first stands.
func faultWords(r *diagnose.Report) string {
	count := map[diagnose.Severity]int{}
	for i := range r.Findings {
		count[r.Findings[i].Severity]++
	}
	var words []string
	for _, s := range []diagnose.Severity{diagnose.Principal, diagnose.Clerical} {
		if count[s] > 0 {
			words = append(words, fmt.Sprintf("%d %s", count[s], s))
		}
	}
	if len(words) == 0 {
		return "none"
	}
	return fmt.Sprintf("%s, from line %d", strings.Join(words, ", "), r.FirstFault.Line)
}

// Room in the table: the script's name, each mark, the words on its faults.
const (
	scriptRoom = 30
	markRoom   = 6
)

// Print prints the summary.
func (c *Class) Print(w io.Writer, pen Pen) error {
	s := &sheet{Options: Options{Pen: pen}, w: w}
	for _, t := range c.tables {
		c.print(s, t, pen)
	}
	if len(c.failed) > 0 {
		s.println(pen.strong("Not marked"))
		for _, f := range c.failed {
			name := clipLeft(Clean(f.script), scriptRoom)
			for i, line := range Wrap(f.reason, Columns-scriptRoom-4) {
				if i > 0 {
					name = ""
				}
				s.println("  ", pad(name, scriptRoom), "  ", pen.doubt(line))
			}
		}
		s.println()
	}
	return s.err
}

func (c *Class) print(s *sheet, t *table, pen Pen) {
	title := ""
	if c.Titles != nil {
		title = c.Titles(t.question)
	}
	if title == "" {
		title = t.question
	}
	s.println(pen.strong(clip(Clean(title), Columns)))
	s.println()
	head, of := pad("  script", scriptRoom+2), pad("  marks there are", scriptRoom+2)
	for _, p := range t.parts {
		head += padLeft("("+p.Part+")", markRoom)
		of += padLeft(Figure(p.Available, 2), markRoom)
	}
	s.println(pen.faint(head + padLeft("total", markRoom+1) + "  faults"))
	s.println(pen.faint(of + padLeft(Figure(t.full, 2), markRoom+1)))
	for _, r := range t.rows {
		line := "  " + pad(clipLeft(Clean(r.script), scriptRoom), scriptRoom)
		for _, m := range r.awarded {
			line += padLeft(Figure(m, 2), markRoom)
		}
		line += padLeft(Figure(r.total, 2), markRoom+1) + "  "
		// The marks are what matters: many parts push the words out, not the marks.
		s.println(line, clip(r.faults, max(12, Columns-Width(line))))
	}
	if n := len(t.rows); n > 1 {
		mean := pad(fmt.Sprintf("  mean of %d scripts", n), scriptRoom+2+markRoom*len(t.parts))
		s.println(pen.strong(mean + padLeft(Figure(t.points/float64(n), 1), markRoom+1)))
	}
	s.println()
}

// clipLeft shortens a path from the left: its end tells files apart.
func clipLeft(s string, width int) string {
	if Width(s) <= width {
		return s
	}
	r := []rune(s)
	for len(r) > 0 && Width(string(r)) > width-1 {
		r = r[1:]
	}
	return "…" + string(r)
}
