package diagnose

import (
	"strings"

	"batten/solver"
)

// wording is what the words of a step say, whatever was taken of the steps
// before it.
type wording struct {
	matches []slotMatch // what its label may name
	cells   []slotMatch // what its row and column may cross at
	state   string      // the state of affairs that its label speaks of
	heading string      // and that of its heading
	over    float64     // what speaks against another state than the heading's
	digit   byte        // the digit behind its label, 0 none
	letter  bool        // its label is one letter
	loose   bool        // its label says only what kind of figure it is
	column  *column     // what the words over its column head
}

func (m *run) wordingOf(p *prepared) *wording {
	if p.said == nil {
		p.said = &wording{
			matches: m.labelled(p), cells: m.cells(p.step.Row, p.step.Column),
			state: m.topic.StateOf(p.label), heading: m.topic.StateOf(p.step.Heading),
			digit: trailingDigit(p.label), letter: oneLetter(p.label),
			loose:  p.step.Table == 0 && m.topic.Loose(p.label),
			column: m.column(p.step.Column),
			over:   costHeaded,
		}
		if ms := m.match(p.step.Heading); len(ms) > 0 && ms[0].score >= 0.85 {
			p.said.over = costHeaded / 2 // "KB after" is over the steps that lead to it, whatever theirs
		}
	}
	return p.said
}

// costHeaded is what speaks against a quantity of another state of affairs than
// the heading over its step speaks of.
const costHeaded = 2.2

// column is what words over a column of a table may head.
type column struct {
	slots  solver.Set // the quantities that stand in a column of one of the topic's tables that the words head
	cells  solver.Set // the quantities that the words may name in any row
	tables uint64     // the topic's tables a column of which they head, a bit each
	surely uint64     // the same, where there is little doubt
}

func (m *Marker) column(words string) *column {
	out := &column{}
	if words == "" {
		return out
	}
	if v, ok := m.columns.Load(words); ok {
		return v.(*column)
	}
	for i, t := range m.topic.Tables {
		for _, c := range t.Columns {
			score := m.topic.Heads(t, c.ID, words)
			if score >= 0.85 {
				out.surely |= 1 << (i % 64)
			}
			if score < 0.6 {
				continue
			}
			out.tables |= 1 << (i % 64)
			for _, row := range t.Cells {
				if s := m.model.Slot(row[c.ID]); s >= 0 {
					out.slots.Add(s)
				}
			}
		}
	}
	for _, mt := range m.cells("", words) {
		out.cells.Add(mt.slot)
	}
	m.columns.Store(strings.Clone(words), out)
	return out
}
