package parse

import (
	"slices"
	"strings"
)

// column is what the head of a table says of one column.
type column struct {
	words string
	unit  *Unit
	label bool // words that head the rows stand here
}

// table reads the table with index k into steps, and returns the line after it.
func (r *scriptReader) table(k int) int {
	b := &r.tables[k]
	if b.part != "" {
		r.part, r.heading = b.part, ""
	}
	for i := b.from; i < b.to; i++ {
		l := &r.script.Lines[i]
		l.Part, l.Heading = r.part, r.heading
	}
	cols := make([]column, b.columns)
	r.labelColumns(b, cols)
	labels := make([]bool, len(cols))
	for c := range cols {
		labels[c] = cols[c].label
	}
	number, rows := 0, 0
	heading := true // rows of words still belong to the head
	var groups []worked
	alone := false
	for i := range b.rows {
		rw := &b.rows[i]
		if rw.drawn {
			continue
		}
		switch {
		case r.isHead(b, i, heading):
			if !heading || number == 0 {
				number, rows = r.nextTable(), 0
				for c := range cols {
					cols[c].words, cols[c].unit = "", nil
				}
				heading = true
			}
			r.head(rw, cols)
			continue
		case number == 0:
			number = r.nextTable()
		}
		if heading {
			for c := range cols {
				cols[c].label = labels[c]
			}
			groups, alone = r.workedColumns(b, i, cols)
		}
		heading = false
		rows++
		r.row(rw, cols, number, rows, groups, alone)
	}
	r.last = -1
	return b.to
}

func (r *scriptReader) nextTable() int {
	r.tableNo++
	return r.tableNo
}

// labelColumns finds the columns at the left that hold words for the rows.
func (r *scriptReader) labelColumns(b *tableBlock, cols []column) {
	for c := range cols {
		words, figures := 0, 0
		for i := range b.rows {
			rw := &b.rows[i]
			if rw.drawn || !hasFigure(rw) {
				continue
			}
			t := r.texts[rw.line].text
			for k := range rw.cells {
				if rw.cells[k].at != c {
					continue
				}
				switch rw.cells[k].kind {
				case wordsCell, mixedCell, unitCell:
					words++
				case figureCell:
					if allDigits(t[rw.cells[k].from:rw.cells[k].to]) && rw.cells[k].to-rw.cells[k].from < 3 && c == 0 && b.columns > 2 {
						break // a number that counts the rows
					}
					figures++
				case namedCell:
					figures++
				}
			}
		}
		if figures >= words && (figures > 0 || c > 0) {
			return
		}
		cols[c].label = true
	}
}

// isHead reports whether row i is the head of a table: words and units alone,
// with figures further down.
func (r *scriptReader) isHead(b *tableBlock, i int, open bool) bool {
	rw := &b.rows[i]
	words := 0
	for k := range rw.cells {
		switch rw.cells[k].kind {
		case figureCell, namedCell:
			return false
		case mixedCell:
			if !open {
				return false
			}
			words++
		case wordsCell, unitCell:
			words++
		}
	}
	if words == 0 || words == 1 && (len(rw.cells) < 2 || rw.cells[0].kind != blankCell && rw.cells[0].at == 0) {
		return false
	}
	for j := i + 1; j < len(b.rows); j++ {
		if hasFigure(&b.rows[j]) {
			return true
		}
	}
	return false
}

// head takes up the words and units that head the columns.
func (r *scriptReader) head(rw *row, cols []column) {
	l, t := &r.script.Lines[rw.line], r.texts[rw.line].text
	l.Words = strings.Join(strings.Fields(strings.ReplaceAll(t, "|", " ")), " ")
	for k := range rw.cells {
		c := &rw.cells[k]
		if c.kind == blankCell || c.at >= len(cols) {
			continue
		}
		words, unit := wordsAndUnit(t[c.from:c.to])
		if whole := t[c.from:c.to]; words == "" && unit != nil && len(whole) == 2 && r.lines.known(whole) && isLetter(rune(whole[0])) && isLetter(rune(whole[1])) {
			words, unit = whole, nil // kg at the head of a column is a height
		}
		col := &cols[c.at]
		if unit != nil {
			col.unit = unit
		}
		if words != "" {
			col.words = strings.TrimSpace(col.words + " " + words)
		}
	}
}

// wordsAndUnit parts a heading such as "Volume (m3)" or "Vol m³".
func wordsAndUnit(t string) (string, *Unit) {
	t = strings.TrimSpace(strings.Trim(strings.TrimSpace(t), "*_:"))
	if u, ok := LookupUnit(strings.Trim(t, "()[] ")); ok && strings.ContainsAny(t, "([") || ok && t == lower(t) && len(t) < 6 {
		return "", u
	}
	for _, open := range []string{"(", "["} {
		if i := strings.LastIndex(t, open); i > 0 {
			if u, ok := LookupUnit(strings.Trim(t[i:], "()[] ")); ok {
				return strings.TrimSpace(t[:i]), u
			}
		}
	}
	for _, in := range []string{" in ", ", ", " / ", "/", " "} {
		if i := strings.LastIndex(t, in); i > 0 {
			if tail := t[i+len(in):]; tail == lower(tail) || in != " " {
				if u, ok := LookupUnit(tail); ok {
					return strings.TrimSpace(t[:i]), u
				}
			}
		}
	}
	return t, nil
}

// rowWords parts the words that head a row from their unit. A unit may be a
// word of the name: "space of a tonne", "moment of 1 t".
func (r *scriptReader) rowWords(t string) (string, *Unit) {
	words, unit := wordsAndUnit(t)
	if unit == nil || words == "" || strings.ContainsAny(t[len(words):], "([,/") {
		return words, unit
	}
	f := strings.Fields(words)
	last := lower(f[len(f)-1])
	if whole := strings.TrimSpace(strings.Trim(t, "*_: ")); r.lines.known(whole) || articles[last] || noise[last] || between[last] || allDigits(last) || last == "one" || last == "per" || last == "each" {
		return whole, nil
	}
	return words, unit
}

// row reads one row of figures.
func (r *scriptReader) row(rw *row, cols []column, table, number int, groups []worked, alone bool) {
	p := &r.texts[rw.line]
	l := &r.script.Lines[rw.line]
	text := lower(p.text)
	l.Doubt = doubts(text)
	l.Withdrawn = withdraws(text) || p.struck == struckAll
	var label, rest []string
	var unit *Unit
	var head *cell
	inGroup := func(c int) bool {
		for k := range groups {
			if g := &groups[k]; c == g.figure || c == g.unit || slices.Contains(g.work, c) {
				return true
			}
		}
		return false
	}
	for k := range rw.cells {
		c := &rw.cells[k]
		if inGroup(c.at) {
			continue
		}
		if c.kind == wordsCell || c.kind == mixedCell || c.kind == unitCell {
			if c.at < len(cols) && cols[c.at].label {
				words, u := r.rowWords(p.text[c.from:c.to])
				if u != nil {
					unit = u
				}
				label = append(label, words)
				head = c
			} else if c.kind == wordsCell {
				rest = append(rest, p.text[c.from:c.to])
			}
		}
	}
	if len(label) == 0 && len(rest) > 0 && hasFigure(rw) {
		label, rest = rest[:1], rest[1:]
	}
	name := strings.TrimSpace(strings.TrimRight(strings.Join(label, " "), ":=- "))
	done := 0
	for k := range rw.cells {
		c := &rw.cells[k]
		if inGroup(c.at) {
			for ; done < len(groups) && c.at >= groups[done].first(); done++ {
				if alone {
					r.workedRow(rw, &groups[done], cols, head, name, unit, 0, number)
				} else {
					r.workedRow(rw, &groups[done], cols, head, name, unit, table, number)
				}
			}
			continue
		}
		inLabel := c.at < len(cols) && cols[c.at].label
		if c.kind == blankCell || c.kind == wordsCell || c.kind == unitCell || c.kind == mixedCell && inLabel {
			continue
		}
		if inLabel && allDigits(p.text[c.from:c.to]) && c.to-c.from < 3 && len(rw.cells) > 2 {
			continue // the number of the row
		}
		r.cell(rw.line, c, cols, name, unit, table, number)
	}
	for k := range rw.extra {
		r.cell(rw.line, &rw.extra[k], nil, "", nil, 0, 0)
	}
	if len(rest) > 0 {
		l.Words = strings.TrimSpace(strings.Join(rest, " ") + " " + l.Words)
	}
	if len(l.Steps) > 0 {
		l.Kind = Working
	} else if l.Problem != nil {
		l.Kind = Unread
	} else {
		l.Words = strings.Join(strings.Fields(strings.ReplaceAll(p.text, "|", " ")), " ")
	}
}

// cell reads one cell into its steps.
func (r *scriptReader) cell(line int, c *cell, cols []column, name string, rowUnit *Unit, table, number int) {
	l := &r.script.Lines[line]
	part := r.texts[line].sub(c.from, c.to)
	m := lineMarks{rest: part}
	m.bold()
	r.raw = scan(&m.rest, r.comma, r.raw[:0])
	r.lines.cell = true
	out := r.lines.read(r.settle(r.raw))
	r.lines.cell = false
	if len(out.problems) > 0 && l.Problem == nil {
		l.Problem = out.problems[0]
	}
	for k := range out.steps {
		s := out.steps[k]
		s.Part, s.Heading = r.part, r.heading
		s.Withdrawn, s.Doubt = l.Withdrawn, l.Doubt
		if table > 0 {
			s.Table, s.TableRow, s.TableCol = table, number, c.at+1
		}
		s.Row = name
		unit := rowUnit
		if c.at < len(cols) {
			s.Column = cols[c.at].words
			if cols[c.at].unit != nil {
				unit = cols[c.at].unit
			}
		}
		if unit != nil {
			for i := range s.Sides {
				if s.Sides[i].Unit == nil && !ownUnit(s.Sides[i].Expr) {
					s.Sides[i].Unit = unit
				}
			}
		}
		r.addStep(s)
	}
	if len(out.steps) == 0 && len(out.words) > 0 {
		l.Words = strings.TrimSpace(l.Words + " " + proseOf(out.words))
	}
}

// ownUnit reports whether an expression says its own unit, or has none to have.
func ownUnit(e Expr) bool {
	for _, n := range Nums(e) {
		if n.Percent || n.Unit != nil {
			return true
		}
	}
	return false
}
