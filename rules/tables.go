package rules

import (
	"sort"
	"strings"
)

// Cells returns the quantities that the crossing of a table's row and column
// may state, best first: by the topic's tables, and by the words of both
// together ("KB" and "before" in a table of before and after). Either may be
// empty. Scores are as Match gives them.
func (t *Topic) Cells(row, column string) []Match {
	best := map[*Quantity]Match{}
	keep := func(m Match) {
		if b, ok := best[m.Quantity]; !ok || m.Score > b.Score {
			best[m.Quantity] = m
		}
	}
	rowSaid, columnSaid := t.lexicon.bag(row), t.lexicon.bag(column)
	for i, table := range t.Tables {
		first := 1 - 0.01*float64(i) // of tables that fit alike, the first
		for _, r := range table.Rows {
			rowFits := t.lexicon.heads(r, rowSaid)
			if rowFits < leastScore {
				continue
			}
			for _, c := range table.Columns {
				id, ok := table.Cells[r.ID][c.ID]
				if !ok {
					continue
				}
				if s := rowFits * t.lexicon.heads(c, columnSaid) * first; s >= leastScore {
					keep(Match{Quantity: t.quantity[id], Score: s})
				}
			}
		}
	}
	for _, m := range t.lexicon.match(strings.TrimSpace(row + " " + column)) {
		m.Score *= 0.97 // a table that has both headings says more than the words do
		keep(m)
	}
	out := make([]Match, 0, len(best))
	for _, q := range t.Quantities {
		if m, ok := best[q]; ok {
			out = append(out, m)
		}
	}
	sort.SliceStable(out, func(i, j int) bool { return out[i].Score > out[j].Score })
	return out
}

// Under returns the quantities that may stand in the row under one in the same
// column of a table, best first; the words of the row alone tell which.
func (t *Topic) Under(row, above string) []Match {
	var out []Match
	said := t.lexicon.bag(row)
	for i, table := range t.Tables {
		for _, c := range table.Columns {
			in := false
			for _, cells := range table.Cells {
				in = in || cells[c.ID] == above
			}
			if !in {
				continue
			}
			for _, r := range table.Rows {
				score := t.lexicon.heads(r, said) * (1 - 0.01*float64(i))
				if q := t.quantity[table.Cells[r.ID][c.ID]]; q != nil && score >= leastScore {
					out = append(out, Match{Quantity: q, Score: score})
				}
			}
		}
	}
	sort.SliceStable(out, func(i, j int) bool { return out[i].Score > out[j].Score })
	return out
}

// heads says how well words, as a bag, name a row or column: 1 for one of its
// names.
func (x *lexicon) heads(a *Axis, said []string) float64 {
	if len(said) == 0 {
		return 0
	}
	best := 0.0
	for _, bag := range x.namesOf(a) {
		shared := common(said, bag)
		spare := len(said) - shared
		if shared > 0 {
			best = max(best, float64(shared)/float64(len(bag))*float64(shared)/(float64(shared)+0.7*float64(spare)))
		}
	}
	return best
}

// bag is what a student wrote as a sorted list of its words, folded.
func (x *lexicon) bag(words string) []string {
	said := x.fold(x.said(words), true)
	sort.Strings(said)
	return said
}

// namesOf are the names of a row or column, as bags.
func (x *lexicon) namesOf(a *Axis) [][]string {
	if v, ok := x.axes.Load(a); ok {
		return v.([][]string)
	}
	var out [][]string
	for _, n := range a.Names {
		if bag := x.fold(strings.Fields(plainWords(n)), false); len(bag) > 0 {
			sort.Strings(bag)
			out = append(out, bag)
		}
	}
	x.axes.Store(a, out)
	return out
}

// RowFit is how well words name the row of the table that they name best,
// between 0 and 1.
func (t *Topic) RowFit(table *Table, words string) float64 {
	best, said := 0.0, t.lexicon.bag(words)
	for _, r := range table.Rows {
		best = max(best, t.lexicon.heads(r, said))
	}
	return best
}

// Heads says how well words head the column of a table: 1 for one of its names.
func (t *Topic) Heads(table *Table, column, words string) float64 {
	for _, c := range table.Columns {
		if c.ID == column {
			return t.lexicon.heads(c, t.lexicon.bag(words))
		}
	}
	return 0
}
