package parse

import "strings"

// A fraction typed over three lines:
//
//	      96 x 18^3
//	BM = ----------- = 6.00
//	      12 x 7776

// stacked reads lines i to i+2 where they are a statement with such fractions,
// and reports whether they were.
func (r *scriptReader) stacked(i int) bool {
	if i+2 >= len(r.texts) {
		return false
	}
	for k := i; k <= i+2; k++ {
		if r.script.Lines[k].Problem != nil || r.tableAt(k) >= 0 {
			return false
		}
	}
	over, line, under := &r.texts[i], &r.texts[i+1], &r.texts[i+2]
	if strings.IndexByte(over.text, '=') >= 0 || strings.IndexByte(under.text, '=') >= 0 || strings.IndexByte(line.text, '=') < 0 {
		return false
	}
	bars := strokes(line.text)
	if len(bars) == 0 {
		return false
	}
	tops, bottoms := parted(over.text, line.text, bars), parted(under.text, line.text, bars)
	if tops == nil || bottoms == nil {
		return false
	}
	var ts []token
	bracket := func(p *plain, at [2]int) {
		q := p.sub(at[0], at[1])
		open := token{kind: tOpen, text: "(", line: int32(p.line), from: int32(p.col(at[0])), to: int32(p.col(at[0]))}
		ts = append(ts, open)
		ts = scan(&q, r.comma, ts)
		end := int32(p.endCol(at[1]))
		ts = append(ts, token{kind: tClose, text: ")", line: int32(p.line), from: end, to: end})
	}
	from := 0
	for k, bar := range bars {
		q := line.sub(from, bar[0])
		ts = scan(&q, r.comma, ts)
		bracket(over, tops[k])
		ts = append(ts, token{kind: tOp, text: "/", line: int32(line.line), from: int32(line.col(bar[0])), to: int32(line.endCol(bar[1]))})
		bracket(under, bottoms[k])
		from = bar[1]
	}
	q := line.sub(from, len(line.text))
	r.raw = append(r.raw[:0], scan(&q, r.comma, ts)...)
	m := marksOf(*line)
	r.working(i, i+3, &m)
	return true
}

// strokes finds the runs of dashes that can be lines of fractions.
func strokes(t string) [][2]int {
	var out [][2]int
	for i := 0; i < len(t); i++ {
		c := t[i]
		if c != '-' && c != '_' {
			continue
		}
		j := i
		for j < len(t) && t[j] == c {
			j++
		}
		if j-i >= 3 {
			out = append(out, [2]int{i, j})
		}
		i = j
	}
	return out
}

// parted gives, for each bar, the piece of the text t that stands over or
// under it. It returns nil where a piece stands apart from all bars, or a bar
// has none. Columns are told by bytes: what is not ASCII may shift a little.
func parted(t, line string, bars [][2]int) [][2]int {
	out := make([][2]int, len(bars))
	for k := range out {
		out[k][0] = -1
	}
	column := func(s string, i int) int { return len([]rune(s[:i])) }
	for _, c := range gapCells(t, false) {
		found := false
		a, b := column(t, c.from), column(t, c.to)
		for k, bar := range bars {
			if x, y := column(line, bar[0]), column(line, bar[1]); a <= y && b >= x {
				if out[k][0] >= 0 {
					out[k][1] = c.to
				} else {
					out[k] = [2]int{c.from, c.to}
				}
				found = true
				break
			}
		}
		if !found {
			return nil
		}
	}
	for k := range out {
		if out[k][0] < 0 || out[k][0] >= out[k][1] {
			return nil
		}
	}
	return out
}
