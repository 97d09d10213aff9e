package report

import (
	"bytes"
	"encoding/csv"
	"fmt"
	"slices"
	"strings"

	"github.com/xuri/excelize/v2"

	"batten/cmd/batten/internal/class"
	"batten/cmd/batten/internal/show"
	"batten/diagnose"
)

// safe makes text one that a spreadsheet takes for text: what begins like a
// formula gets an apostrophe before it, and nothing in it acts.
func safe(s string) string {
	s = show.Clean(s)
	t := strings.TrimLeft(s, " \t\r\n\u00a0\u200b\ufeff'")
	if t != "" && strings.ContainsRune("=+-−@＝＋－＠|%", []rune(t)[0]) {
		return "'" + s
	}
	return s
}

// cell is text or a figure of a sheet.
type cell struct {
	text   string
	figure float64
	number bool
}

func words(s string) cell   { return cell{text: safe(s)} }
func number(x float64) cell { return cell{figure: x, number: true} }
func whole(n int) cell      { return number(float64(n)) }
func (c cell) String() string {
	return map[bool]string{true: show.Figure(c.figure, 4), false: c.text}[c.number]
}

// letters is the parts that any of the questions has.
func letters(c *class.Class) []string {
	var out []string
	for _, g := range c.Groups {
		for _, p := range g.Question.Parts {
			if !slices.Contains(out, p.Letter) {
				out = append(out, p.Letter)
			}
		}
	}
	slices.Sort(out)
	return out
}

func header(parts []string) []cell {
	h := []cell{words("name"), words("script"), words("question")}
	for _, p := range parts {
		h = append(h, words("part "+p))
	}
	for _, s := range []string{"total", "out of", "principal faults", "clerical faults", "first fault on line", "first fault", "its grade", "what it is", "a person should look", "changed by a marker", "not marked because", "since the last run"} {
		h = append(h, words(s))
	}
	return h
}

func sheetRow(r *class.Row, parts []string, again bool) []cell {
	since := cell{}
	switch {
	case !again:
	case r.Since != "":
		since = words(r.Since)
	case !r.Stopped:
		since = words("as before")
	}
	out := []cell{words(r.Name), words(r.Script), words(r.Question)}
	for _, letter := range parts {
		mark := cell{}
		for _, p := range r.Parts {
			if p.Part == letter {
				mark = number(p.Awarded)
			}
		}
		out = append(out, mark)
	}
	if !r.Marked() {
		return append(out, cell{}, cell{}, cell{}, cell{}, cell{}, cell{}, cell{}, cell{}, cell{}, cell{}, words(r.Failed), since)
	}
	count := map[diagnose.Severity]int{}
	for i := range r.Findings {
		count[r.Findings[i].Severity]++
	}
	out = append(out, number(r.Awarded), number(r.Full), whole(count[diagnose.Principal]), whole(count[diagnose.Clerical]))
	if f := r.First(); f != nil {
		out = append(out, whole(f.Line), words(f.Fault), words(string(f.Severity)), words(f.Title))
	} else {
		out = append(out, cell{}, cell{}, cell{}, cell{})
	}
	changed := ""
	if r.Marker != nil {
		changed = strings.Join(wordDone(r.Marker), " ")
	}
	return append(out, words(strings.Join(r.Eye, "; ")), words(changed), cell{}, since)
}

// CSV makes the mark sheet as text, a row for each script in order.
func CSV(c *class.Class) ([]byte, error) {
	var b bytes.Buffer
	w := csv.NewWriter(&b)
	parts := letters(c)
	line := func(cells []cell) error {
		rec := make([]string, len(cells))
		for i, x := range cells {
			rec[i] = x.String()
		}
		return w.Write(rec)
	}
	if err := line(header(parts)); err != nil {
		return nil, err
	}
	for _, r := range c.Rows {
		if err := line(sheetRow(r, parts, c.Again())); err != nil {
			return nil, err
		}
	}
	w.Flush()
	return b.Bytes(), w.Error()
}

// XLSX makes the mark sheet as a workbook: the marks, and on a second page who
// made which fault.
func XLSX(c *class.Class) (data []byte, err error) {
	f := excelize.NewFile()
	defer f.Close()
	if err := f.SetSheetName("Sheet1", "Marks"); err != nil {
		return nil, err
	}
	bold, err := f.NewStyle(&excelize.Style{Font: &excelize.Font{Bold: true}, Alignment: &excelize.Alignment{WrapText: true, Vertical: "top"}})
	if err != nil {
		return nil, err
	}
	parts := letters(c)
	wide := []float64{22, 26, 24}
	for range parts {
		wide = append(wide, 8)
	}
	wide = append(wide, 8, 8, 10, 10, 10, 28, 11, 44, 50, 40, 50, 40)
	err = fill(f, "Marks", bold, wide, header(parts), 1, func(row func([]cell) error) error {
		for _, r := range c.Rows {
			if err := row(sheetRow(r, parts, c.Again())); err != nil {
				return err
			}
		}
		return nil
	})
	if err != nil {
		return nil, err
	}
	if err := faultSheet(f, c, bold); err != nil {
		return nil, err
	}
	b, err := f.WriteToBuffer()
	if err != nil {
		return nil, fmt.Errorf("the workbook could not be made: %w", err)
	}
	return b.Bytes(), nil
}

// faultSheet is the grid of scripts and faults: the line of each fault.
func faultSheet(f *excelize.File, c *class.Class, bold int) error {
	var ids []string
	head := []cell{words("name"), words("script"), words("question")}
	for _, g := range c.Groups {
		for _, t := range g.Sorted() {
			if !slices.Contains(ids, t.ID) {
				ids = append(ids, t.ID)
				head = append(head, words(t.ID))
			}
		}
	}
	if _, err := f.NewSheet("Faults by line"); err != nil {
		return err
	}
	return fill(f, "Faults by line", bold, []float64{22, 26, 24}, head, 2, func(row func([]cell) error) error {
		for _, r := range c.Rows {
			if !r.Marked() {
				continue
			}
			out := make([]cell, 3+len(ids))
			out[0], out[1], out[2] = words(r.Name), words(r.Script), words(r.Question)
			for i := range r.Findings {
				k := 3 + slices.Index(ids, r.Findings[i].Fault)
				if k >= 3 && !out[k].number {
					out[k] = whole(r.Findings[i].Line)
				}
			}
			if err := row(out); err != nil {
				return err
			}
		}
		return nil
	})
}

// fill writes a sheet row by row, so that a large class is not held in memory.
func fill(f *excelize.File, sheet string, bold int, wide []float64, head []cell, frozen int, rows func(func([]cell) error) error) error {
	w, err := f.NewStreamWriter(sheet)
	if err != nil {
		return err
	}
	for i, x := range wide {
		if err := w.SetColWidth(i+1, i+1, x); err != nil {
			return err
		}
	}
	err = w.SetPanes(&excelize.Panes{Freeze: true, XSplit: frozen, YSplit: 1, TopLeftCell: string(rune('A'+frozen)) + "2", ActivePane: "bottomRight"})
	if err != nil {
		return err
	}
	n := 0
	put := func(cells []cell, style int) error {
		n++
		values := make([]any, len(cells))
		for i, c := range cells {
			switch {
			case c.number:
				values[i] = excelize.Cell{StyleID: style, Value: c.figure}
			case c.text != "":
				const most = 32000 // of a spreadsheet's cell
				t := c.text
				if len(t) > most {
					t = strings.ToValidUTF8(t[:most], "")
				}
				values[i] = excelize.Cell{StyleID: style, Value: t}
			}
		}
		return w.SetRow(fmt.Sprintf("A%d", n), values)
	}
	if err := put(head, bold); err != nil {
		return err
	}
	if err := rows(func(cells []cell) error { return put(cells, 0) }); err != nil {
		return err
	}
	return w.Flush()
}
