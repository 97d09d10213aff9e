package parse

import "strings"

// tableBlock is a run of lines that make one table, or several with the same
// columns below one another.
type tableBlock struct {
	from, to int // lines, to excluded
	rows     []row
	columns  int
	bars     bool
	part     string // part mark in front of the first row
}

// cutMark takes the part mark m off the first cell of a row.
func cutMark(t string, cells []cell, m *lineMarks) bool {
	n := len(t) - len(m.rest.text)
	if n < 0 || t[n:] != m.rest.text || cells[0].to <= n {
		return false
	}
	c := &cells[0]
	c.col += n - c.from
	c.from = min(n+skipBlanks(t[n:], 0), c.to)
	c.kind = kindOf(t[c.from:c.to])
	return true
}

// tableAt returns the index of the table that line i belongs to, -1 for none.
func (r *scriptReader) tableAt(i int) int {
	if r.inTable == nil {
		return -1
	}
	return int(r.inTable[i]) - 1
}

// findTables marks the lines that are rows of tables.
func (r *scriptReader) findTables() {
	for i := r.first; i < len(r.texts); {
		t := r.texts[i].text
		var b *tableBlock
		switch {
		case r.script.Lines[i].Problem != nil:
		case strings.IndexByte(t, '|') >= 0:
			b = r.barBlock(i)
		case strings.Contains(t, "  ") || strings.IndexByte(t, '\t') >= 0:
			b = r.gapBlock(i)
		}
		if b == nil {
			i++
			continue
		}
		r.tables = append(r.tables, *b)
		if r.inTable == nil {
			r.inTable = make([]int32, len(r.texts))
		}
		for k := b.from; k < b.to; k++ {
			r.inTable[k] = int32(len(r.tables))
		}
		i = b.to
	}
}

// barBlock collects the rows of a table drawn with bars from line i on.
func (r *scriptReader) barBlock(i int) *tableBlock {
	b := &tableBlock{from: i, bars: true}
	filled := 0
	end := i
	framed := true
	for k := i; k < len(r.texts) && strings.IndexByte(r.texts[k].text, '|') >= 0; k++ {
		if t := r.texts[k].text; !drawn(t) && t[skipBlanks(t, 0)] != '|' {
			framed = false // a bar in front of another row parts off a blank cell
		}
	}
	for k := i; k < len(r.texts); k++ {
		t := r.texts[k].text
		switch {
		case r.script.Lines[k].Problem != nil:
			k = len(r.texts)
			continue
		case drawn(t):
			b.rows = append(b.rows, row{line: k, drawn: true})
			if strings.IndexByte(t, '|') >= 0 {
				end = k + 1
			}
			continue
		case strings.IndexByte(t, '|') < 0:
			k = len(r.texts)
			continue
		}
		rw := row{line: k, cells: barCells(t, framed)}
		for c := range rw.cells {
			rw.cells[c].at = c
		}
		b.rows = append(b.rows, rw)
		b.columns = max(b.columns, len(rw.cells))
		filled++
		end = k + 1
	}
	if filled < 2 || b.columns < 2 {
		return nil
	}
	if !framed {
		r.nameColumn(b)
	}
	b.close(end)
	return b
}

// nameColumn parts the names of rows from the figures of the first column where
// blanks alone stand between them:
//
//	       volume | centre | moment
//	ship     7776 |   2.25 | 17496
func (r *scriptReader) nameColumn(b *tableBlock) {
	indent := func(rw *row) int { return rw.cells[0].from }
	head := -1
	named := 0
	for k := range b.rows {
		rw := &b.rows[k]
		if rw.drawn || len(rw.cells) == 0 {
			continue
		}
		if head < 0 {
			head = k
			continue
		}
		if _, _, ok := r.nameAndFigure(rw); ok {
			named++
		}
	}
	if head < 0 || named < 2 || b.rows[head].cells[0].kind != wordsCell || indent(&b.rows[head]) < 3 {
		return
	}
	for k := range b.rows {
		rw := &b.rows[k]
		if rw.drawn || len(rw.cells) == 0 {
			continue
		}
		if name, figure, ok := r.nameAndFigure(rw); ok {
			rw.cells = append([]cell{name, figure}, rw.cells[1:]...)
		} else if c := rw.cells[0]; k == head || c.kind != wordsCell {
			rw.cells = append([]cell{{from: c.from, to: c.from}}, rw.cells...)
		} else {
			rw.cells = append([]cell{c, {from: c.to, to: c.to}}, rw.cells[1:]...)
		}
		for c := range rw.cells {
			rw.cells[c].at = c
		}
	}
	b.columns++
}

// nameAndFigure parts the first cell of a row at a wide gap into words and a figure.
func (r *scriptReader) nameAndFigure(rw *row) (name, figure cell, ok bool) {
	t, c := r.texts[rw.line].text, rw.cells[0]
	i := strings.LastIndex(t[c.from:c.to], "  ")
	if i < 0 {
		return name, figure, false
	}
	name, figure = newCell(t, c.from, c.from+i), newCell(t, c.from+i, c.to)
	return name, figure, name.kind == wordsCell && figure.kind == figureCell
}

func (b *tableBlock) close(end int) {
	b.to = end
	for len(b.rows) > 0 && b.rows[len(b.rows)-1].line >= end {
		b.rows = b.rows[:len(b.rows)-1]
	}
}

// gapBlock collects the rows of a table laid out with blanks or tabs.
func (r *scriptReader) gapBlock(i int) *tableBlock {
	b := &tableBlock{from: i}
	end, alone := i, 0
	for k := i; k < len(r.texts); k++ {
		t := r.texts[k].text
		if r.script.Lines[k].Problem != nil || strings.TrimSpace(t) == "" || strings.IndexByte(t, '|') >= 0 {
			break
		}
		if drawn(t) {
			b.rows = append(b.rows, row{line: k, drawn: true})
			continue
		}
		cells := gapCells(t, false)
		if len(cells) < 2 {
			// a lone total under its column, or words that head the rows below
			if len(b.rows) < 2 || alone > 1 || cells[0].kind != figureCell && !r.rowBelow(k) || cells[0].kind == figureCell && cells[0].col < 6 {
				break
			}
			alone++
			b.rows = append(b.rows, row{line: k, cells: cells})
			if cells[0].kind == figureCell {
				end = k + 1
			}
			continue
		}
		cells, extra := apart(cells)
		if !rowLike(t, cells) {
			break
		}
		if m := marksOf(r.texts[k]); m.part != "" {
			if k > i || !cutMark(t, cells, &m) {
				break
			}
			b.part = m.part
		}
		alone = 0
		b.rows = append(b.rows, row{line: k, cells: cells, extra: extra})
		end = k + 1
	}
	b.close(end)
	if !b.plausible() {
		return nil
	}
	r.align(b)
	return b
}

// apart parts statements that stand behind the last column of a row from it.
func apart(cells []cell) (row, extra []cell) {
	n := len(cells)
	for n > 3 && cells[n-1].kind == namedCell {
		n--
	}
	if n == len(cells) || cells[n-1].kind != figureCell || cells[n-2].kind != figureCell && cells[n-2].kind != blankCell {
		return cells, nil
	}
	return cells[:n], cells[n:]
}

func (r *scriptReader) rowBelow(k int) bool {
	if k+1 >= len(r.texts) {
		return false
	}
	cells := gapCells(r.texts[k+1].text, false)
	return len(cells) > 1 && rowLike(r.texts[k+1].text, cells)
}

// rowLike reports whether the cells of a line can be those of a row: no sign
// of arithmetic hangs over into the gap, and no cell in the middle is a name
// for the one behind it.
func rowLike(t string, cells []cell) bool {
	figures := 0
	for k := range cells {
		c := t[cells[k].from:cells[k].to]
		if strings.HasPrefix(c, "=") || strings.HasSuffix(c, "=") || strings.HasPrefix(c, "≈") || strings.HasPrefix(c, "→") || strings.HasPrefix(c, "∴") {
			return false
		}
		switch c {
		case "x", "X":
			if k > 0 || len(cells) > 2 {
				return false
			}
		case "*", "+", "/", ":":
			return false
		}
		if last := c[len(c)-1]; len(c) > 1 && (last == '+' || last == '/' || last == '*') {
			return false
		}
		switch cells[k].kind {
		case namedCell:
			return false
		case figureCell:
			figures++
		case wordsCell, mixedCell:
			if figures > 0 && k+1 < len(cells) && cells[k+1].kind == figureCell {
				return false // KB  2.25  BM  6.00: pairs
			}
		}
	}
	return true
}

// plausible reports whether rows laid out with blanks are a table: a header
// with figures below, or two rows of figures.
func (b *tableBlock) plausible() bool {
	header, data := false, 0
	first := true
	for i := range b.rows {
		rw := &b.rows[i]
		if rw.drawn || len(rw.cells) < 2 {
			continue
		}
		figures := 0
		for k := range rw.cells {
			if rw.cells[k].kind == figureCell {
				figures++
			}
		}
		switch {
		case figures == 0 && first:
			header = true
		case figures > 0:
			data++
		}
		first = false
	}
	return header && data > 0 || data > 1
}

// align gives every cell of a table laid out with blanks its column.
func (r *scriptReader) align(b *tableBlock) {
	if r.alignTabs(b) {
		return
	}
	var model *row
	for i := range b.rows {
		if rw := &b.rows[i]; len(rw.cells) > b.columns {
			b.columns, model = len(rw.cells), rw
		}
	}
	if model == nil {
		return
	}
	anchors := append([]cell(nil), model.cells...)
	seenData := false
	for i := range b.rows {
		rw := &b.rows[i]
		n := len(rw.cells)
		header := !seenData && !hasFigure(rw)
		seenData = seenData || !header && !rw.drawn
		switch {
		case n == b.columns:
			for k := range rw.cells {
				rw.cells[k].at = k
			}
		case header && n == b.columns-1 && n > 0 && rw.cells[0].col > 1 && anchors[0].kind != figureCell:
			for k := range rw.cells {
				rw.cells[k].at = k + 1
			}
		default:
			next := 0
			for k := range rw.cells {
				best, score := next, -1<<20
				for a := next; a < b.columns-(n-1-k); a++ {
					if s := nearness(&rw.cells[k], &anchors[a]); s > score {
						best, score = a, s
					}
				}
				rw.cells[k].at = best
				next = best + 1
			}
		}
	}
}

// nearness is high where two cells stand under one another.
func nearness(a, b *cell) int {
	if over := min(a.end, b.end) - max(a.col, b.col); over > 0 {
		return over
	}
	return -min(abs(a.col-b.col), abs(a.end-b.end))
}

func abs(n int) int {
	if n < 0 {
		return -n
	}
	return n
}

func hasFigure(rw *row) bool {
	for k := range rw.cells {
		if rw.cells[k].kind == figureCell {
			return true
		}
	}
	return false
}

// alignTabs takes each tab for the start of a cell, where all rows agree on
// how many there are.
func (r *scriptReader) alignTabs(b *tableBlock) bool {
	n := -1
	split := make([][]cell, len(b.rows))
	tabs := r.sameTabs(b)
	if tabs == 0 {
		tabs = r.singleTabs(b)
	}
	for i := range b.rows {
		if b.rows[i].drawn {
			continue
		}
		t := r.texts[b.rows[i].line].text
		if strings.IndexByte(t, '\t') < 0 {
			return false
		}
		split[i] = gapCells(t, true)
		for tabs > 0 && len(split[i]) <= tabs {
			split[i] = append(split[i], cell{from: len(t), to: len(t)}) // blank cells at the end of the row
		}
		if n >= 0 && len(split[i]) != n {
			return false
		}
		n = len(split[i])
	}
	for i := range b.rows {
		if b.rows[i].drawn {
			continue
		}
		for k := range split[i] {
			split[i][k].at = k
		}
		b.rows[i].cells = split[i]
	}
	b.columns = n
	return n > 1
}

// singleTabs returns the most tabs of a row, where each row has its columns
// parted by one tab and by nothing else, some of them more than others; else 0.
func (r *scriptReader) singleTabs(b *tableBlock) int {
	most := 0
	for i := range b.rows {
		if b.rows[i].drawn {
			continue
		}
		t := r.texts[b.rows[i].line].text
		if strings.Contains(t, "  ") || strings.Contains(t, "\t\t") {
			return 0
		}
		most = max(most, strings.Count(t, "\t"))
	}
	return most
}

// sameTabs returns how many tabs each row has, where all have as many and
// nothing else parts the columns: a table out of a spreadsheet.
func (r *scriptReader) sameTabs(b *tableBlock) int {
	n := -1
	for i := range b.rows {
		if b.rows[i].drawn {
			continue
		}
		t := r.texts[b.rows[i].line].text
		if strings.Contains(t, "  ") || n >= 0 && strings.Count(t, "\t") != n {
			return 0
		}
		n = strings.Count(t, "\t")
	}
	return n
}
