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
	rows     []ClassRow
	points   float64 // all marks awarded, for the mean
	full     float64 // marks there were
}

// ClassRow is a script's row in the table.
type ClassRow struct {
	Script, Name, Question string
	Parts                  []diagnose.PartMarks
	Total, Full            float64
	// The first fault, where there is one.
	Fault string
	Line  int
	Grade diagnose.Severity
	// Marker tells that a marker changed what was found.
	Marker bool
}

// Add takes a script's row from its reading.
func (c *Class) Add(r *diagnose.Report) {
	row := ClassRow{Script: r.Script, Question: r.Question, Parts: r.Parts, Total: r.Total.Awarded, Full: r.Total.Available}
	if r.Name != nil {
		row.Name = *r.Name
	}
	if f := firstFault(r); f != nil {
		row.Fault, row.Line, row.Grade = f.Fault, f.Line, f.Severity
	}
	c.AddRow(row)
}

// AddRow takes a script's row.
func (c *Class) AddRow(row ClassRow) {
	t := c.table(&row)
	t.rows = append(t.rows, row)
	t.points += row.Total
}

// Fail takes the row of a script that could not be marked.
func (c *Class) Fail(script, reason string) { c.failed = append(c.failed, failure{script, reason}) }

func (c *Class) table(row *ClassRow) *table {
	for _, t := range c.tables {
		if t.question == row.Question {
			return t
		}
	}
	t := &table{question: row.Question, parts: row.Parts, full: row.Full}
	c.tables = append(c.tables, t)
	return t
}

// folder is what all names of the table's scripts begin with, to the last
// stroke; "" where there is but one.
func (t *table) folder() string {
	if len(t.rows) < 2 {
		return ""
	}
	common := t.rows[0].Script
	for i := range t.rows {
		for !strings.HasPrefix(t.rows[i].Script, common) {
			common = common[:len(common)-1]
		}
	}
	return common[:strings.LastIndexAny(common, `/\`)+1]
}

// first words the first fault: its line, its grade, its id.
func (r *ClassRow) first() string {
	if r.Fault == "" {
		return "none"
	}
	grade := "P"
	if r.Grade == diagnose.Clerical {
		grade = "C"
	}
	line := fmt.Sprintf("%2d", r.Line)
	if r.Line == 0 { // of an empty script
		line = " –"
	}
	return fmt.Sprintf("%s %s %s", line, grade, r.Fault)
}

// Room in the table: the student's name and the script's, at most; each mark.
const (
	nameRoom   = 18
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
		folder := ""
		if len(c.tables) == 1 {
			folder = c.tables[0].folder()
		}
		for _, f := range c.failed {
			name := clipLeft(Clean(strings.TrimPrefix(f.script, folder)), scriptRoom)
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
	folder := t.folder()
	if folder != "" {
		s.println(pen.faint(clip("  scripts in "+Clean(folder), Columns)))
	}
	names, scripts := len("name"), len("script")
	for i := range t.rows {
		names = max(names, min(nameRoom, Width(Clean(t.rows[i].Name))))
		scripts = max(scripts, min(scriptRoom, Width(Clean(t.rows[i].Script[len(folder):]))))
	}
	// Many parts, or long names, take from the script's room first.
	scripts = max(8, min(scripts, Columns-names-markRoom*len(t.parts)-40))
	lead := 2 + names + 2 + scripts
	head := pad("  "+pad("name", names)+"  script", lead)
	of := pad(strings.Repeat(" ", names+4)+"out of", lead)
	for _, p := range t.parts {
		head += padLeft("("+p.Part+")", markRoom)
		of += padLeft(Figure(p.Available, 2), markRoom)
	}
	s.println(pen.faint(head + padLeft("total", markRoom+1) + "  first fault"))
	s.println(pen.faint(of + padLeft(Figure(t.full, 2), markRoom+1)))
	grades, marker := false, false
	for i := range t.rows {
		r := &t.rows[i]
		line := "  " + pad(clip(Clean(r.Name), names), names) + "  " + pad(clipLeft(Clean(r.Script[len(folder):]), scripts), scripts)
		for _, p := range r.Parts {
			line += padLeft(Figure(p.Awarded, 2), markRoom)
		}
		sign := " "
		if r.Marker {
			sign, marker = "*", true
		}
		line += padLeft(Figure(r.Total, 2), markRoom+1) + sign + " "
		grades = grades || r.Fault != ""
		// The marks are what matters: many parts push the words out, not the marks.
		s.println(line, clip(r.first(), max(12, Columns-Width(line))))
	}
	if n := len(t.rows); n > 1 {
		mean := pad(fmt.Sprintf("  mean of %d scripts", n), lead+markRoom*len(t.parts))
		s.println(pen.strong(mean + padLeft(Figure(t.points/float64(n), 1), markRoom+1)))
	}
	var key []string
	if grades {
		key = append(key, "first fault: its line, P for principal or C for clerical, its name")
	}
	if marker {
		key = append(key, "* changed by the marker")
	}
	if len(key) > 0 {
		s.prose(2, strings.Join(key, "; "), pen.faint)
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
