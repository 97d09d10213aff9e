package parse

import (
	"math"
	"strings"
)

// Tables whose columns are no quantities but the pieces of one statement:
//
//	Item        | Working   | Figure | Unit
//	Lost volume | 14*18*3   | 756    | m3
//
// Each row is a step like one written on a line.

// heads of columns that hold working, results and units.
var (
	workHeads   = set("working workings calculation calculations calc calcs computation formula formulas formulae substitution method how sum workout expression")
	figureHeads = set("figure figures result results answer answers ans value values = number total")
	unitHeads   = set("unit units")
	smallHeads  = set("and the of in with for numbers & / final my")
)

// worked is one such group of columns.
type worked struct {
	work   []int // columns of working, none where figures stand alone
	figure int
	unit   int // column of units, -1 for none
	column string
}

// first is the column in which the group begins.
func (g *worked) first() int {
	if len(g.work) > 0 {
		return g.work[0]
	}
	return g.figure
}

func headIn(words string, kinds map[string]bool) bool {
	found := false
	for w := range strings.FieldsSeq(lower(words)) {
		w = strings.Trim(w, "():.,")
		switch {
		case kinds[w]:
			found = true
		case w != "" && !smallHeads[w] && !workHeads[w] && !figureHeads[w]:
			return false
		}
	}
	return found
}

// workedColumns finds the groups among the columns, for the rows from row i to
// the next head. alone says that the rows hold nothing else.
func (r *scriptReader) workedColumns(b *tableBlock, i int, cols []column) (groups []worked, alone bool) {
	rows := b.rows[i:]
	for k := 1; k < len(rows); k++ {
		if !rows[k].drawn && r.isHead(b, i+k, false) {
			rows = rows[:k]
			break
		}
	}
	taken := make([]bool, len(cols))
	for c := 0; c < len(cols); c++ {
		if cols[c].label && !headIn(cols[c].words, workHeads) {
			taken[c] = true
			continue
		}
		w := worked{unit: -1}
		f := c
		for f < len(cols) && headIn(cols[f].words, workHeads) {
			w.work = append(w.work, f)
			f++
		}
		certain := len(w.work) > 0
		if !certain {
			w.work, f = []int{c}, c+1
		}
		if f >= len(cols) {
			continue
		}
		left, right := cols[w.work[len(w.work)-1]].words, cols[f].words
		plain := right == "" || headIn(right, figureHeads)
		switch {
		case certain && plain:
		case !certain && left != "" && right != "":
			continue // two quantities
		case !r.agree(rows, w.work[len(w.work)-1], f):
			continue
		}
		if !plain {
			w.column = right
		} else if !certain {
			w.column = left
		}
		w.figure = f
		groups = append(groups, w)
		for _, k := range w.work {
			taken[k] = true
			cols[k].label = false
		}
		taken[f] = true
		c = f
	}
	if len(groups) == 0 {
		// Item | Figure: the head says nothing of the quantity
		only := -1
		for c := range cols {
			if !cols[c].label && headIn(cols[c].words, figureHeads) {
				if only >= 0 {
					return nil, false
				}
				only = c
			}
		}
		if only < 1 || !cols[0].label && !onlyWords(rows, 0) {
			return nil, false
		}
		groups = append(groups, worked{figure: only, unit: -1})
		taken[only] = true
	}
	alone = len(groups) == 1
	for k := range groups {
		g := &groups[k]
		if u := g.figure + 1; u < len(cols) && (headIn(cols[u].words, unitHeads) || cols[u].words == "" && onlyUnits(rows, u)) {
			g.unit = u
			taken[u] = true
		}
	}
	for c := range cols {
		if !taken[c] && !onlyWords(rows, c) {
			alone = false
		}
	}
	return groups, alone
}

// cellAt returns the cell of a row in column c, nil where there is none.
func (rw *row) cellAt(c int) *cell {
	for k := range rw.cells {
		if rw.cells[k].at == c {
			return &rw.cells[k]
		}
	}
	return nil
}

func onlyWords(rows []row, c int) bool {
	for i := range rows {
		if x := rows[i].cellAt(c); x != nil && (x.kind == figureCell || x.kind == namedCell) {
			return false
		}
	}
	return true
}

func onlyUnits(rows []row, c int) bool {
	n := 0
	for i := range rows {
		if x := rows[i].cellAt(c); x != nil && x.kind != blankCell {
			if x.kind != unitCell {
				return false
			}
			n++
		}
	}
	return n > 0
}

// agree reports whether the figures in column f are what the working in column
// c comes to, in most of the rows that hold both.
func (r *scriptReader) agree(rows []row, c, f int) bool {
	both, same := 0, 0
	for i := range rows[:min(len(rows), 40)] {
		a, b := rows[i].cellAt(c), rows[i].cellAt(f)
		if a == nil || b == nil || a.kind != figureCell || b.kind != figureCell {
			continue
		}
		p := &r.texts[rows[i].line]
		if !strings.ContainsAny(strings.TrimLeft(p.text[a.from:a.to], "-+ ="), "+-*/xX(^") {
			return false // no working: not worth reading
		}
		v, working, ok := r.cellValue(p.sub(a.from, a.to))
		w, more, ok2 := r.cellValue(p.sub(b.from, b.to))
		if !ok2 || more || ok && !working {
			return false // a figure beside a figure: two quantities
		}
		both++
		if ok && math.Abs(math.Abs(v)-math.Abs(w)) <= 0.01*math.Abs(v) {
			same++
		}
	}
	return 2*same > both
}

// cellValue reads a cell that holds one expression or one figure.
func (r *scriptReader) cellValue(p plain) (v float64, working, ok bool) {
	steps, _ := r.readCell(p)
	if len(steps) != 1 || len(steps[0].Sides) != 1 {
		return 0, false, false
	}
	e := steps[0].Sides[0].Expr
	v, err := Eval(e, nil)
	_, _, bare := Bare(e)
	return v, !bare, err == nil
}

// readCell reads the text of a cell by itself.
func (r *scriptReader) readCell(p plain) ([]Step, *reading) {
	m := lineMarks{rest: p}
	m.bold()
	r.raw = scan(&m.rest, r.comma, r.raw[:0])
	r.lines.cell = true
	out := r.lines.read(r.settle(r.raw))
	r.lines.cell = false
	return out.steps, &out
}

// workedRow reads the cells of one group in one row into a step, and reports
// whether there was one.
func (r *scriptReader) workedRow(rw *row, g *worked, cols []column, name *cell, rowName string, rowUnit *Unit, table, number int) bool {
	p, l := &r.texts[rw.line], &r.script.Lines[rw.line]
	var s Step
	var words []string
	var others []Step
	add := func(c int) {
		x := rw.cellAt(c)
		if x == nil || x.kind == blankCell {
			return
		}
		if x.kind == wordsCell || x.kind == unitCell && c != g.figure {
			words = append(words, p.text[x.from:x.to])
			return
		}
		steps, out := r.readCell(p.sub(x.from, x.to))
		if len(out.problems) > 0 && l.Problem == nil {
			l.Problem = out.problems[0]
		}
		if len(steps) == 0 {
			words = append(words, p.text[x.from:x.to])
			return
		}
		t := steps[0]
		s.Sides = append(s.Sides, t.Sides...)
		if t.Label != "" {
			if s.Label == "" {
				s.Label, s.LabelAt = t.Label, t.LabelAt
			} else {
				words = append(words, t.Label)
			}
		}
		if t.Words != "" {
			words = append(words, t.Words)
			s.WordsAt = t.WordsAt
		}
		others = append(others, steps[1:]...)
	}
	for _, c := range g.work {
		add(c)
	}
	before := len(s.Sides)
	add(g.figure)
	if len(s.Sides) == 0 {
		return false
	}
	unit := rowUnit
	if cols[g.figure].unit != nil {
		unit = cols[g.figure].unit
	}
	if x := rw.cellAt(g.unit); g.unit >= 0 && x != nil && x.kind == unitCell {
		if u, ok := LookupUnit(strings.Trim(p.text[x.from:x.to], "()[] ")); ok {
			unit = u
		}
	}
	if last := &s.Sides[len(s.Sides)-1]; len(s.Sides) > before && unit != nil && last.Unit == nil && !ownUnit(last.Expr) {
		last.Unit = unit
	}
	s.Line, s.Part, s.Heading = rw.line+1, r.part, r.heading
	s.Withdrawn, s.Doubt = l.Withdrawn, l.Doubt
	if table > 0 {
		s.Table, s.TableRow, s.TableCol = table, number, g.figure+1
		s.Row, s.Column = rowName, g.column
	} else if name != nil && rowName != "" {
		if s.Label != "" {
			words = append(words, s.Label)
		}
		s.Label, s.LabelAt = rowName, Span{rw.line + 1, p.col(name.from), p.endCol(name.to)}
	}
	s.Words = strings.Join(words, " ")
	r.addStep(s)
	for _, o := range others {
		o.Part, o.Heading, o.Row = r.part, r.heading, rowName
		o.Withdrawn, o.Doubt = l.Withdrawn, l.Doubt
		r.addStep(o)
	}
	return true
}
