package students

import "strings"

// The table of moments, and what is stated again at the end.

// A layout is a table of moments: its rows with volume, centre and moment.
// The last row is the sum, whose step closes the table.
type layout struct {
	rows  [][3]string
	names [][]string
}

var layouts = map[string]layout{
	"net_moment": {
		rows: [][3]string{{"full_volume", "full_centre", "full_moment"}, {"lost_volume_bilged", "lost_centre", "lost_moment"}, {"net_volume", "", "net_moment"}},
		names: [][]string{{"whole ship", "full", "whole", "to new WL", "total"}, {"lost", "less lost", "lost buoyancy", "bilged comp", "less lost part"},
			{"net", "remaining", "remainder", "balance"}}},
	"blocks_moment": {
		rows: [][3]string{{"under_flat_volume", "under_flat_centre", "under_flat_moment"}, {"over_flat_volume", "over_flat_centre", "over_flat_moment"}, {"blocks_volume", "", "blocks_moment"}},
		names: [][]string{{"below flat", "lower", "under the flat", "lower block"}, {"above flat", "upper", "over the flat", "upper block"},
			{"total", "sum", "totals"}}},
}

// tableQuantities are all that can stand in a table.
var tableQuantities = func() map[int]bool {
	out := map[int]bool{}
	for _, l := range layouts {
		for _, r := range l.rows {
			for _, id := range r {
				if id != "" {
					out[slotOf(id)] = true
				}
			}
		}
	}
	return out
}()

func tableMember(q int) bool { return tableQuantities[q] }

// hasTable reports whether the plan takes moments that can be tabled.
func (p *plan) hasTable() bool {
	found := false
	for close, l := range layouts {
		if p.at[slotOf(close)] < 0 {
			continue
		}
		for _, r := range l.rows {
			for _, id := range r {
				if id == "" {
					continue
				}
				i := p.at[slotOf(id)]
				sum := id == "net_volume" || id == "blocks_volume"
				if i < 0 && !sum || i >= 0 && !p.steps[i].written {
					return false
				}
			}
		}
		found = true
	}
	return found
}

// moments writes the table.
func (w *writer) moments(close string) {
	l := layouts[close]
	h := w.hand
	r := h.r
	bar := h.Table == "bars" || h.Table == "markdown"
	cells := r.chance(0.3) && h.Table != "spaces"
	vol, kb, mom := pick(r, "volume", "vol", "Volume", "vol (m3)"), pick(r, "KB", "centre", "kb", "lever"), pick(r, "moment", "Moment", "mom")
	rows := [][]string{{"", vol, kb, mom}}
	var names [3]string
	for k := range names {
		names[k] = pick(r, l.names[k]...)
	}
	if names[0] != "total" && r.chance(0.2) {
		names[2] = "total"
	}
	var of [3][3]int
	for row, ids := range l.rows {
		line := []string{w.cased(names[row])}
		for col, id := range ids {
			of[row][col] = -1
			t := ""
			if id != "" {
				if i := w.at[slotOf(id)]; i >= 0 && w.steps[i].written && !w.drop[i] {
					of[row][col] = i
					t = h.dress(w.figures.text[i])
					if (cells || w.force[i]) && row < 2 {
						form := w.steps[i].right
						if e, ok := w.edits[i]; ok && e.way != nil {
							form = e.way
						}
						if form.op != 'q' && form.op != 'k' {
							t = w.inFigures(form, w.edits, false) + " = " + t
							w.at2[i].figures = -1
						}
					}
				}
			}
			line = append(line, t)
		}
		rows = append(rows, line)
	}
	head := r.chance(0.85)
	for k, line := range rows {
		if k == 0 && !head {
			continue
		}
		if k == 3 && r.chance(0.2) && !bar {
			w.line(strings.Repeat("-", 40), okAside, -1)
		}
		text := w.row(line)
		if k == 0 {
			if w.inlineMark != "" {
				w.line(w.inlineMark, okAside, -1)
				w.inlineMark = ""
			}
			w.line(text, okAside, -1)
			if h.Table == "markdown" {
				w.line("|---|---|---|---|", okAside, -1)
			}
			continue
		}
		n := 0
		for _, i := range of[k-1] {
			if i < 0 {
				continue
			}
			if n == 0 {
				n = w.put(text, i)
			}
			w.at2[i].result = n
			if w.at2[i].figures == -1 {
				w.at2[i].figures = n
			}
		}
	}
}

func (w *writer) row(cells []string) string {
	h := w.hand
	switch h.Table {
	case "tabs":
		return strings.Join(cells, "\t")
	case "bars":
		return strings.TrimLeft(strings.Join(cells, " | "), " ")
	case "markdown":
		return "| " + strings.Join(cells, " | ") + " |"
	}
	var b strings.Builder
	for k, c := range cells {
		if k > 0 && k < len(cells) {
			b.WriteString("  ")
		}
		width := 12
		if k == 0 {
			width = 16
		}
		if k == len(cells)-1 {
			width = 0
		}
		if c == "" && k == 2 {
			c = "-"
		}
		b.WriteString(c)
		for n := len([]rune(c)); n < width; n++ {
			b.WriteByte(' ')
		}
	}
	return b.String()
}

// summary states some figures again at the end.
func (w *writer) summary() {
	h := w.hand
	switch h.summary {
	case "answers again":
		if h.blanks {
			w.line("", okAside, -1)
		}
		if h.r.chance(0.5) {
			w.line(pick(h.r, "Answers", "Answers:", "ANSWERS", "Summary"), okAside, -1)
		}
		for i, s := range w.steps {
			if s.answer && s.written && !w.drop[i] && w.ends[i] == "" {
				result, tail := w.result(i)
				label := w.label(s.q)
				if h.Marks != "none" && h.r.chance(0.5) {
					label = "(" + string(rune('a'+s.part)) + ") " + label
				}
				w.again(label+h.eq+result+tail, i)
			}
		}
	case "before-after table":
		w.beforeAfter()
	case "column of figures":
		first := true
		for i, s := range w.steps {
			if s.written && !w.drop[i] && (s.answer || quants[s.q].places == 2 && quants[s.q].unit == "m" && quants[s.q].state == 'b') && !w.isChange(i) && w.ends[i] == "" {
				if first {
					w.line("", okAside, -1)
					first = false
				}
				name := w.label(s.q)
				w.again(name+strings.Repeat(" ", max(2, 24-len([]rune(name))))+h.dress(w.figures.text[i])+h.unit(quants[s.q].unit), i)
			}
		}
	}
}

func (w *writer) again(text string, i int) {
	n := w.line(text, 0, i)
	w.lines[n-1].step = -2 - i // stated again
	if p := w.steps[i].part; p < len(w.partEnd) && w.marked == p {
		w.partEnd[p] = n
	}
}

// beforeAfter writes the figures of both conditions side by side.
func (w *writer) beforeAfter() {
	h := w.hand
	type pair struct {
		name string
		i, b int
	}
	var rows []pair
	for _, x := range [][3]string{{"KB", "kb_initial", "kb_bilged"}, {"BM", "bm_initial", "bm_bilged"}, {"KM", "km_initial", "km_bilged"}, {"GM", "gm_initial", "gm_bilged"}} {
		i, b := w.at[slotOf(x[1])], w.at[slotOf(x[2])]
		if i >= 0 && b >= 0 && w.steps[i].written && w.steps[b].written && !w.drop[i] && !w.drop[b] {
			rows = append(rows, pair{x[0], i, b})
		}
	}
	if len(rows) < 2 {
		return
	}
	w.line("", okAside, -1)
	bar := pick(h.r, "   ", "\t", " | ")
	w.line(strings.Join([]string{"  ", pick(h.r, "before", "initial", "Before"), pick(h.r, "after", "bilged", "After")}, bar), okAside, -1)
	for _, x := range rows {
		n := w.line(strings.Join([]string{x.name, h.dress(w.figures.text[x.i]), h.dress(w.figures.text[x.b])}, bar), 0, x.b)
		w.lines[n-1].step = -2 - x.b
	}
}
