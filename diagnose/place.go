package diagnose

import (
	"cmp"
	"math"
	"math/bits"
	"slices"
	"strings"

	"batten/parse"
	"batten/solver"
)

// A placement is a quantity that a step may state, and what it costs to take
// it for that, before its figures are judged.
type placement struct {
	slot  int
	cost  float64
	hint  string  // the state of affairs the words speak of
	digit byte    // the digit that told it, 0 none
	named bool    // its label names it well
	more  float64 // what it costs besides where the figure is wrong
}

// place lists what the step may state, from its words, its unit, its form and
// its figure; and what it costs to leave it unplaced.
func (m *run) place(st *state, p *prepared) ([]placement, float64) {
	cost := map[int]placement{}
	put := func(pl placement) {
		if old, ok := cost[pl.slot]; !ok || pl.cost < old.cost {
			cost[pl.slot] = pl
		}
	}
	said := m.wordingOf(p)
	matches, loose := said.matches, said.loose
	if p.step.Table > 0 && p.step.Label == "" {
		matches = said.cells
		if under := m.underAbove(st, p); len(under) > 0 && (len(matches) == 0 || matches[0].score < under[0].score) {
			matches = under
		}
	}
	top := 0.0
	if len(matches) > 0 {
		top = matches[0].score
	}
	if top >= 0.5 {
		for _, mt := range matches {
			if mt.score < top-0.35 {
				break
			}
			pl := placement{slot: mt.slot, cost: 2.5 * (top - mt.score), named: mt.score >= 0.85 && mt.score > top-0.05}
			if top < 0.85 {
				pl.cost += 0.3 + 1.2*(0.85-top)
			}
			m.stateCost(st, &pl, mt.state, said)
			put(pl)
		}
	}
	unplaced := 2.2
	switch {
	case loose:
		unplaced = 2.8
	case top >= 0.6 && said.letter && !m.tellingUnit(p):
		unplaced = 3.4
	case top >= 0.6:
		unplaced = 2.8 + 8*(math.Min(top, 1)-0.6)
	case p.label != "":
		unplaced = 2.4
	}
	if loose {
		m.unlabelled(st, p, said, 0.6, put)
	} else if top < 0.6 {
		extra := 0.2
		if p.label != "" {
			extra = 0.6
		}
		m.unlabelled(st, p, said, extra, put)
		for slot, c := range m.byNear(st, p) {
			pl := placement{slot: slot, cost: extra + c}
			m.stateCost(st, &pl, said.state, said)
			put(pl)
		}
	}
	if p.step.Table > 0 {
		// a row whose other cell is known tells what this one is
		var mates solver.Set
		tables := m.ofTopic[p.step.Table]
		for r := st.rows; r != nil; r = r.next {
			if r.table == p.step.Table && tables&r.tables != 0 {
				tables &= r.tables
			}
			if r.table == p.step.Table && r.row == p.step.TableRow {
				for _, s := range r.mates {
					if !said.column.slots.Has(s) && r.tables&m.tablesOf[s]&said.column.surely != 0 {
						continue // another column of the row's table is meant
					}
					mates.Add(s)
					c := 0.4
					if said.column.cells.Has(s) {
						c = 0.1
					}
					if said.column.slots.Has(s) {
						c = 0
					}
					put(placement{slot: s, cost: c})
				}
			}
		}
		for s, pl := range cost {
			if m.tablesOf[s] != 0 && m.tablesOf[s]&tables == 0 && said.column.slots.Has(s) {
				pl.cost += costOffTable
				cost[s] = pl
			}
		}
		if !mates.Empty() {
			for s, pl := range cost {
				if !mates.Has(s) {
					pl.cost += costOffRow
					cost[s] = pl
				}
			}
		}
	}
	return m.ordered(st, p, cost), unplaced
}

// underAbove lists what a cell of a table without heads may be, by the words of
// its row and by what a cell above it was taken for.
func (m *run) underAbove(st *state, p *prepared) []slotMatch {
	if m.ofTopic[p.step.Table] != anyTable || p.step.Row == "" {
		return nil
	}
	for r := st.rows; r != nil; r = r.next {
		if r.table == p.step.Table && r.col == p.step.TableCol && r.row < p.step.TableRow {
			return m.tableUnder(p.step.Row, r.slot)
		}
	}
	return nil
}

// anyTable stands for all of the topic's tables: what a table without heads may be.
const anyTable = ^uint64(0)

// fitTables finds which of the topic's tables each table of the script may be:
// those that have most of its columns, and of them those that have its rows.
func (m *run) fitTables(steps []prepared) {
	columns, rows := map[int][]string{}, map[int][]string{}
	for i := range steps {
		st := steps[i].step
		if st.Table == 0 || st.Column == "" {
			continue
		}
		if !slices.Contains(columns[st.Table], st.Column) {
			columns[st.Table] = append(columns[st.Table], st.Column)
		}
		if st.Row != "" && !slices.Contains(rows[st.Table], st.Row) {
			rows[st.Table] = append(rows[st.Table], st.Row)
		}
	}
	m.ofTopic = map[int]uint64{}
	for i := range steps {
		m.ofTopic[steps[i].step.Table] = anyTable
	}
	for table, words := range columns {
		fit, suits := uint64(0), make([]float64, len(m.topic.Tables))
		for i := range m.topic.Tables {
			n := 0
			for _, w := range words {
				if m.column(w).tables>>(i%64)&1 != 0 {
					n++
				}
			}
			if suits[i] = float64(n); 2*n >= len(words) {
				fit |= 1 << (i % 64)
			}
		}
		m.ofTopic[table] = m.fitRows(fit, suits, rows[table])
	}
}

// rowsApart is by how much, in rows, the names of a table's rows must suit one
// of the topic's tables better than another.
const rowsApart = 0.4

// fitRows leaves of the topic's tables, a bit each, those that the names of the
// rows suit best besides those of the columns, how many of which each has.
func (m *run) fitRows(tables uint64, suits []float64, rows []string) uint64 {
	if bits.OnesCount64(tables) < 2 || len(rows) < 2 {
		return tables
	}
	most := 0.0
	for i, t := range m.topic.Tables {
		if tables>>(i%64)&1 == 0 {
			continue
		}
		for _, words := range rows {
			fit := m.topic.RowFit(t, words)
			suits[i] += fit * fit // one good name tells more than two vague ones
		}
		most = max(most, suits[i])
	}
	for i := range suits {
		if suits[i] < most-rowsApart {
			tables &^= 1 << (i % 64)
		}
	}
	return tables
}

// costOffRow is what speaks against a cell that has no place in the row of a
// table that its neighbours stand in.
const costOffRow = 1.2

// costFurther is what speaks against a quantity for each that is worked out from
// it on the way to what is asked: next to nothing.
const costFurther = 0.001

// costOffTable is what speaks against a cell of another of the topic's tables
// than the rows above it are of.
const costOffTable = 2.5

// ordered adds what unit and order speak for and sorts, cheapest first.
func (m *run) ordered(st *state, p *prepared, cost map[int]placement) []placement {
	out := make([]placement, 0, len(cost))
	for _, pl := range cost {
		pl.cost += m.unitCost(p, pl.slot) + m.orderCost(st, p, pl.slot)
		if p.step.Table == 0 && !m.asGiven(p, pl.slot) {
			// of two of one name the one that stands nearer to what is asked is meant
			pl.cost += costFurther * float64(m.model.Below[pl.slot].And(m.onWay).Len())
		}
		if !m.onWay.Has(pl.slot) {
			pl.cost += costOffWay
			if pl.named && m.inFormula.Has(pl.slot) {
				pl.cost -= costOffWay - 0.1
			}
		}
		out = append(out, pl)
	}
	slices.SortFunc(out, func(a, b placement) int {
		return cmp.Or(cmp.Compare(a.cost, b.cost), cmp.Compare(a.slot, b.slot))
	})
	kept := out[:min(len(out), worstPlaced)]
	for _, pl := range out[len(kept):] {
		if pl.named { // what its label names is never crowded out
			kept = append(kept, pl)
		}
	}
	return kept
}

// asGiven reports whether the step puts down what the question gives, as it is given.
func (m *run) asGiven(p *prepared, slot int) bool {
	return m.model.Given.Has(slot) && p.result != nil && m.lastWorking(p) < 0 && solver.Close(m.statedAs(p.result, slot)[0].value, m.reference(slot))
}

// unlabelled adds the quantities that the step's form or figure speaks for,
// whatever its words.
func (m *run) unlabelled(st *state, p *prepared, said *wording, extra float64, put func(placement)) {
	for slot, c := range m.byForm(st, p) {
		pl := placement{slot: slot, cost: extra + c}
		m.stateCost(st, &pl, said.state, said)
		put(pl)
	}
	worked := m.lastWorking(p) >= 0
	for slot, c := range m.byFigure(st, p) {
		if worked && m.model.Given.Has(slot) {
			continue // what the question gives nobody works out
		}
		if worked {
			c += 1.0 // its working speaks for something else, or for nothing known
		}
		pl := placement{slot: slot, cost: extra + c}
		if !worked && p.result.unit != nil && m.model.Given.Has(slot) {
			pl.cost = math.Min(pl.cost, costGiven)
		}
		m.stateCost(st, &pl, said.state, said)
		put(pl)
	}
}

// costGiven is what speaks, whatever the words, against what the question gives
// being put down as given, unit and all: less than a slip, more than a fault
// that gives this very figure.
const costGiven = 3.15

// labelled lists what the label may name; where a few words between it and the
// figure make a better name of it ("GM rises by 0.22"), what they name together.
func (m *run) labelled(p *prepared) []slotMatch {
	alone := m.match(p.label)
	if h := p.step.Heading; h != "" && p.label != "" && strings.Count(h, " ") <= 3 && m.topic.StateOf(h) == "" {
		alone = m.headed(h, p.label, alone)
		if whole := m.match(h + " " + p.label); m.topic.Loose(p.label) && len(whole) > 0 && whole[0].score >= 0.9 {
			return whole // the heading tells what the loose word is of
		}
	}
	behind := strings.TrimSpace(p.step.Words)
	if p.label == "" || behind == "" {
		return alone
	}
	if w := firstClause(strings.Fields(behind)); len(w) <= 4 {
		behind = strings.Join(w, " ")
	} else if by := slices.Index(w[:4], "by"); by >= 0 {
		behind = strings.Join(w[:by+1], " ") // of "GM is reduced by 0.43 m, that is, a loss"
	} else {
		return alone
	}
	both := m.match(p.label + " " + behind)
	if before := m.match(behind + " " + p.label); len(before) > 0 && (len(both) == 0 || before[0].score > both[0].score) {
		both = before // "shift of" and "F off centre line"
	}
	if len(both) == 0 || both[0].score < 0.85 || len(alone) > 0 && alone[0].score > both[0].score || len(alone) > 0 && alone[0].slot == both[0].slot && alone[0].score == both[0].score {
		return alone
	}
	return both
}

// firstClause leaves of the words about a figure those before another clause,
// without articles and verbs that say no more than "=".
func firstClause(words []string) []string {
	out := make([]string, 0, len(words))
	for _, w := range words {
		switch w {
		case "the", "The", "a", "an", "its", "her", "was", "is", "were", "are", "lies", "lay", "stands", "stood":
			continue
		case "and", "which", "ie", "so", "because", "as", "since", "where", "while", "but":
			return out
		}
		out = append(out, w)
	}
	return out
}

// headed adds what a label names together with the heading it stands under:
// "Whole box" over "volume".
func (m *run) headed(heading, label string, alone []slotMatch) []slotMatch {
	out := slices.Clone(alone)
	for _, mt := range m.match(heading + " " + label) {
		mt.score -= 0.05
		i := slices.IndexFunc(out, func(x slotMatch) bool { return x.slot == mt.slot })
		if mt.score < 0.85 || i >= 0 && out[i].score >= mt.score {
			continue
		}
		if i >= 0 {
			out[i] = mt
		} else {
			out = append(out, mt)
		}
	}
	slices.SortStableFunc(out, func(a, b slotMatch) int { return cmp.Compare(b.score, a.score) })
	return out
}

// against is what it costs to believe that the words of a label are loosely
// used and its form or figure tells better: more than a common fault where the
// label is just a quantity's name, little where it is one letter.
func (m *run) against(label string, top float64) float64 {
	if oneLetter(label) || m.topic.Loose(label) {
		return 1.0
	}
	if top >= 0.85 {
		return 4.2
	}
	return math.Max(0.8, 0.8+3.4*(top-0.6)/0.4)
}

// tellingUnit reports whether the step's figure has a unit that few quantities
// have: degrees say more than metres.
func (m *run) tellingUnit(p *prepared) bool {
	if p.result == nil || p.result.unit == nil {
		return false
	}
	n := 0
	for s := range m.model.Quantities {
		if m.unitFits(p.result.unit, s) {
			n++
		}
	}
	return n <= 2
}

// oneLetter reports whether a label is a single letter, with or without a
// digit: a name that students give to whatever they like.
func oneLetter(label string) bool {
	return len([]rune(strings.TrimRight(label, "0123456789₀₁₂₃'_ "))) <= 1
}

// stateCost weighs the state of affairs that words, heading and the digit
// behind a symbol speak of against the quantity's own.
func (m *run) stateCost(st *state, pl *placement, said string, by *wording) {
	digit := by.digit
	own := m.model.Quantities[pl.slot].State
	pl.digit = digit
	if own == "" {
		if said != "" {
			pl.cost += 0.2
		}
		return
	}
	switch {
	case said != "":
		pl.hint = said
		if said != own {
			pl.cost += 3.5
		}
	case by.heading != "":
		if by.heading != own {
			pl.cost += by.over
		}
	case digit != 0 && st.digits[digit] != "":
		if st.digits[digit] != own {
			pl.cost += 1.6
		}
	case st.phase != "" && st.phase != own:
		pl.cost += 0.35
	}
	if digit > '1' && own == m.topic.FirstState() && st.digits[digit] != own {
		pl.cost += 1.2 // the higher digit is the later state's
	}
	if digit != 0 {
		// another digit already stands for this state
		for d, s := range st.digits {
			if d != digit && s == own {
				pl.cost += 1.0
			}
		}
	}
}

// topScore is how well the label names the quantity it names best.
func (m *run) topScore(label string) float64 {
	if ms := m.match(label); len(ms) > 0 {
		return ms[0].score
	}
	return 0
}

// trailingDigit is the digit that ends a symbol and may tell a state of affairs;
// that of a distance between two points, such as BB1, does not.
func trailingDigit(label string) byte {
	label = strings.TrimRight(label, " )]}'")
	n := len(label)
	if n < 2 || n == 3 && label[0] == label[1] {
		return 0
	}
	c := label[n-1]
	if c >= '0' && c <= '9' {
		return c
	}
	return 0
}

func (m *run) unitCost(p *prepared, slot int) float64 {
	w := p.result
	if w == nil {
		return 0
	}
	if w.percent {
		if m.units[slot] != nil && m.units[slot].Dim != (parse.Dim{}) {
			return 2.5
		}
		return 0
	}
	if w.unit == nil {
		return 0
	}
	if !m.unitFits(w.unit, slot) {
		return 2.5
	}
	return 0
}

const (
	costAnew    = 0.05 // a figure that is put down once more by its name
	costRenamed = 0.25 // or by another
	costOther   = 1.05 // another figure of what has been stated
)

func (m *run) orderCost(st *state, p *prepared, slot int) float64 {
	c := 0.0
	if iv, ok := st.env.Stated(slot); ok && p.result != nil {
		again := false
		for _, t := range m.statedAs(p.result, slot) {
			if iv.Holds(t.value, t.slack) || m.bySign[slot] && iv.Holds(-t.value, t.slack) {
				again = true
			}
		}
		switch {
		case !again:
			c += costOther
		case p.label != "" && st.aliases.find(p.label) == slot:
			c += costAnew
		default:
			c += costRenamed
		}
	}
	return c
}

// restates reports whether the step's working is no more than one figure, in
// another form or unit: 60/100, 1.025 x 1.
func (p *prepared) restates() bool {
	for k := range p.sides {
		for i := range p.sides[k].alts {
			n := 0
			for _, l := range p.sides[k].alts[i].leaves {
				if l.num == nil || !smallConstant(l.num) {
					n++
				}
			}
			if n > 1 {
				return false
			}
		}
	}
	return true
}
