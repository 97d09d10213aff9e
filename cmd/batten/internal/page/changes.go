package page

import (
	"fmt"
	"strings"

	"batten/cmd/batten/internal/show"
	"batten/diagnose"
)

// Changes is what is different between two sendings of an answer.
type Changes struct {
	None    bool
	Summary []string
	lines   []lineChange // one for each line of the later sending
}

// lineChange is what became of one line. was is its row in the earlier
// sending, nil for a line that was not there.
type lineChange struct {
	was    *diagnose.LineRow
	edited bool
}

// Compare tells what changed from one reading of an answer to the next.
func Compare(before, after *diagnose.Report) *Changes {
	c := &Changes{lines: align(before.Lines, after.Lines)}
	edited, better := []int{}, []int{}
	for i := range after.Lines {
		row, l := &after.Lines[i], c.lines[i]
		if l.edited && (strings.TrimSpace(row.Text) != "" || l.was != nil) {
			edited = append(edited, row.N)
		}
		if l.was != nil && row.Verdict == diagnose.Holds && l.was.Verdict != diagnose.Holds && l.was.Verdict != diagnose.Aside {
			better = append(better, row.N)
		}
	}
	gone := len(before.Lines) - kept(c.lines)
	if len(edited) == 0 && gone == 0 {
		c.None = true
		c.Summary = []string{"Nothing is changed since the last sending."}
		return c
	}
	w := show.WordsOf(after, nil)
	say := func(format string, args ...any) { c.Summary = append(c.Summary, fmt.Sprintf(format, args...)) }
	if len(edited) > 0 {
		say("%s changed.", show.Capital(w.Lines(edited)))
	}
	if gone == 1 {
		say("One line was taken out.")
	} else if gone > 1 {
		say("%d lines were taken out.", gone)
	}
	if len(better) > 0 {
		verb := "hold"
		if len(better) == 1 {
			verb = "holds"
		}
		say("%s now %s.", show.Capital(w.Lines(better)), verb)
	}
	mended, still, fresh := faultsChanged(before, after)
	for _, f := range mended {
		say("Mended: %s.", whatOf(f))
	}
	for _, f := range still {
		say("Still to mend: %s, line %d.", whatOf(f), f.Line)
	}
	for _, f := range fresh {
		say("New: %s, line %d.", whatOf(f), f.Line)
	}
	return c
}

// whatOf names a fault by what is worked there, so that nothing is given away.
func whatOf(f *diagnose.Finding) string {
	switch {
	case show.Missing(f) && f.Part != "":
		return "the rest of part (" + f.Part + ")"
	case f.Name != "":
		return "the " + lower(f.Name)
	}
	return "a step of part (" + f.Part + ")"
}

// faultsChanged sorts faults into those mended, those still there, and new ones.
func faultsChanged(before, after *diagnose.Report) (mended, still, fresh []*diagnose.Finding) {
	key := func(f *diagnose.Finding) string {
		q := ""
		if f.Quantity != nil {
			q = *f.Quantity
		}
		return f.Part + "\x00" + q
	}
	// By the quantity first: a step that is wrong in another way is still to mend.
	was := map[string][]*diagnose.Finding{}
	var order []string
	for i := range before.Findings {
		if f := &before.Findings[i]; f.Severity != diagnose.Remark {
			k := key(f)
			if was[k] == nil {
				order = append(order, k)
			}
			was[k] = append(was[k], f)
		}
	}
	for i := range after.Findings {
		f := &after.Findings[i]
		if f.Severity == diagnose.Remark {
			continue
		}
		if k := key(f); len(was[k]) > 0 {
			was[k] = was[k][1:]
			still = append(still, f)
		} else {
			fresh = append(fresh, f)
		}
	}
	for _, k := range order {
		mended = append(mended, was[k]...)
	}
	return mended, still, fresh
}

// mark puts a word on what changed into the margin of each line.
func (c *Changes) mark(rows []Row) {
	for i := range rows {
		if i >= len(c.lines) {
			return
		}
		l, row := c.lines[i], &rows[i]
		switch {
		case c.None:
		case l.edited && l.was == nil && len(row.Pieces) > 0:
			row.Changed = "new"
		case l.edited && l.was != nil:
			row.Changed = "changed"
			row.Was = visible(l.was.Text)
		case l.was != nil && row.Verdict != "" && string(l.was.Verdict) != row.Verdict && l.was.Verdict != diagnose.Aside:
			row.Changed = "was " + string(l.was.Verdict)
		}
	}
}

// alignAtMost bounds the work of finding which lines stayed.
const alignAtMost = 1 << 21

// align finds for each later line the earlier one that it was. Lines that are
// the same keep their order; of what lies between, line by line is one changed.
func align(before, after []diagnose.LineRow) []lineChange {
	out := make([]lineChange, len(after))
	for i := range out {
		out[i].edited = true
	}
	same := func(i, j int) bool {
		return strings.TrimRight(before[i].Text, " \t") == strings.TrimRight(after[j].Text, " \t")
	}
	keep := func(i, j int) { out[j] = lineChange{was: &before[i]} }
	lo := 0
	for lo < len(before) && lo < len(after) && same(lo, lo) {
		keep(lo, lo)
		lo++
	}
	bEnd, aEnd := len(before), len(after)
	for bEnd > lo && aEnd > lo && same(bEnd-1, aEnd-1) {
		bEnd, aEnd = bEnd-1, aEnd-1
		keep(bEnd, aEnd)
	}
	// what lies between: the longest run of lines that stayed
	i, j := lo, lo
	pair := func(bTo, aTo int) {
		for ; i < bTo && j < aTo; i, j = i+1, j+1 {
			out[j].was = &before[i]
		}
		i, j = bTo, aTo
	}
	if n, m := bEnd-lo, aEnd-lo; n*m <= alignAtMost {
		best := make([][]int32, n+1)
		for x := range best {
			best[x] = make([]int32, m+1)
		}
		for x := n - 1; x >= 0; x-- {
			for y := m - 1; y >= 0; y-- {
				if same(lo+x, lo+y) {
					best[x][y] = best[x+1][y+1] + 1
				} else {
					best[x][y] = max(best[x+1][y], best[x][y+1])
				}
			}
		}
		for x, y := 0, 0; x < n && y < m; {
			switch {
			case same(lo+x, lo+y):
				pair(lo+x, lo+y)
				keep(i, j)
				i, j, x, y = i+1, j+1, x+1, y+1
			case best[x+1][y] >= best[x][y+1]:
				x++
			default:
				y++
			}
		}
	}
	pair(bEnd, aEnd)
	return out
}

// kept counts the earlier lines that are still there, changed or not.
func kept(lines []lineChange) int {
	n := 0
	for _, l := range lines {
		if l.was != nil {
			n++
		}
	}
	return n
}
