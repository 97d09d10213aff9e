package solver

import (
	"fmt"
	"math"
	"sort"
	"strings"

	"batten/rules"
)

// Apart is the table of what each fault would give in one question: for each
// fault that can arise in it, at each of its sites, the answers to every part.
// It is what a tutor marks by hand with, and what tells whether faults can be
// told apart by their answers.
type Apart struct {
	Model *Model
	Asked []Asked // every answer asked for, in the order of parts
	Rows  []*Row  // in the catalogue's order

	slots []int // of Asked
	chain *chain
}

// Asked is one answer that a part asks for.
type Asked struct {
	Part     Part
	Quantity *rules.Quantity
	Slot     int
	Right    Reading
}

// Reading is an answer as a student may have it: Value with every figure kept
// in full, and the range that rounding leaves, from the full figures to those
// rounded at each line, widened by half a unit of the last place on both sides.
type Reading struct {
	Value float64
	Interval
}

// near reports whether rounding could make the two one.
func (r Reading) near(o Reading) bool { return r.Lo <= o.Hi && o.Lo <= r.Hi }

// Row is what one fault gives, made at one step or at all its steps.
type Row struct {
	Fault  *rules.Fault
	Common bool // one that a class makes most, made at its root
	// Sites are the steps at which the fault, made there alone, gives these
	// answers; with Throughout it is made at all of them at once.
	Sites      []*Site
	Throughout bool
	Answers    []Reading // beside Asked
	// Reaches: the fault moves this answer, if not in these figures then in others.
	Reaches []bool
	// Right: the answer is within rounding of the right one.
	Right []bool
	// Hidden: it moves answers, but in these figures all come out right.
	Hidden bool
	// Same are the rows of other faults whose answers are all within rounding
	// of these; Always are those of them that give the same whatever the figures.
	Same, Always []*Row

	worlds [][]float64 // the answers in every world, for what holds whatever the figures
}

// Apart works the table out.
func (m *Model) Apart() *Apart {
	t := &Apart{Model: m}
	for _, p := range m.Question.Parts {
		for _, a := range p.Find.Answers {
			if s := m.Slot(a); s >= 0 {
				t.Asked = append(t.Asked, Asked{Part: p, Quantity: m.Quantities[s], Slot: s})
			}
		}
	}
	var asked Set
	for _, a := range t.Asked {
		asked.Add(a.Slot)
		t.slots = append(t.slots, a.Slot)
	}
	c := newChain(m, asked)
	t.chain = c
	for i, r := range c.spoilt(nil).readings(t.slots) {
		t.Asked[i].Right = r
	}
	common := map[string]bool{}
	if m.Topic.Setting != nil {
		for _, id := range m.Topic.Setting.Common {
			common[id] = true
		}
	}
	sites := map[*rules.Fault][]*Site{}
	for _, list := range m.Sites {
		for _, s := range list {
			sites[s.Fault] = append(sites[s.Fault], s)
		}
	}
	for _, f := range m.Topic.Faults {
		list := sites[f]
		if len(list) == 0 {
			continue
		}
		sort.SliceStable(list, func(i, j int) bool { return list[i].Slot < list[j].Slot })
		var rows []*Row
		if !f.Together {
			for _, s := range list {
				rows = t.add(c, rows, f, []*Site{s}, false)
			}
		}
		if first := onePerSlot(list); f.Together || len(first) > 1 {
			rows = t.add(c, rows, f, first, true)
		}
		// The root of a fault is its first step; made at a later one alone it
		// is a rarer thing, and no reason to turn figures down.
		for _, r := range rows {
			r.Common = common[f.ID] && (r.Throughout || r.Sites[0] == list[0])
		}
		t.Rows = append(t.Rows, rows...)
	}
	t.compare()
	return t
}

// onePerSlot keeps the first site of each quantity.
func onePerSlot(list []*Site) []*Site {
	var out []*Site
	for i, s := range list {
		if i == 0 || list[i-1].Slot != s.Slot {
			out = append(out, s)
		}
	}
	return out
}

// add works one row out and adds it, unless it reaches no answer; one that
// gives what an earlier row of the fault gives is told there.
func (t *Apart) add(c *chain, rows []*Row, f *rules.Fault, sites []*Site, throughout bool) []*Row {
	r := &Row{Fault: f, Sites: sites, Throughout: throughout}
	sp := c.spoilt(sites)
	r.Answers, r.worlds = sp.readings(t.slots), sp.inWorlds(t.slots)
	reaches, hidden := false, true
	for i, a := range t.Asked {
		moves := false
		for w, v := range r.worlds[i] {
			moves = moves || !Close(v, t.Model.Worlds[w][a.Slot])
		}
		x := &r.Answers[i]
		if !moves {
			*x = a.Right
		}
		near := !math.IsNaN(x.Value) && x.near(a.Right)
		reaches = reaches || moves
		hidden = hidden && (!moves || near)
		r.Reaches = append(r.Reaches, moves)
		r.Right = append(r.Right, near)
	}
	if !reaches {
		return rows
	}
	r.Hidden = hidden
	for _, o := range rows {
		if sameAnswers(o, r) {
			if !throughout {
				o.Sites = append(o.Sites, sites...)
			}
			return rows
		}
	}
	return append(rows, r)
}

func sameAnswers(a, b *Row) bool {
	for i := range a.Answers {
		x, y := a.Answers[i].Value, b.Answers[i].Value
		if !Close(x, y) && !(math.IsNaN(x) && math.IsNaN(y)) {
			return false
		}
	}
	return true
}

// always reports whether two rows give the same answers whatever the figures.
func always(a, b *Row) bool {
	for i := range a.worlds {
		for w := range a.worlds[i] {
			if !Close(a.worlds[i][w], b.worlds[i][w]) {
				return false
			}
		}
	}
	return true
}

// compare finds the rows that can't be told apart by their answers.
func (t *Apart) compare() {
	for i, a := range t.Rows {
		for _, b := range t.Rows[i+1:] {
			if a.Fault == b.Fault || a.Hidden || b.Hidden {
				continue
			}
			same := true
			for k := range a.Answers {
				if !a.Answers[k].near(b.Answers[k]) {
					same = false
					break
				}
			}
			if !same {
				continue
			}
			a.Same, b.Same = append(a.Same, b), append(b.Same, a)
			if always(a, b) {
				a.Always, b.Always = append(a.Always, b), append(b.Always, a)
			}
		}
	}
}

// HiddenCommon lists the rows of common faults that give the right answers.
func (t *Apart) HiddenCommon() []*Row {
	var out []*Row
	for _, r := range t.Rows {
		if r.Common && r.Hidden {
			out = append(out, r)
		}
	}
	return out
}

// Shortfall words a hidden row as a reason not to set the question.
func (t *Apart) Shortfall(r *Row) *Shortfall {
	var given []string
	need := Set{}
	for _, s := range r.Sites {
		for _, d := range s.Code.Deps() {
			need.Add(d)
			need = need.Or(t.Model.Above[d])
		}
	}
	for _, k := range t.Model.Question.figureKeys() {
		if s := t.Model.Slot(k.quantity); s >= 0 && need.Has(s) {
			given = append(given, k.path)
		}
	}
	key := "parts"
	if len(given) > 0 {
		key = given[len(given)-1]
	}
	return &Shortfall{RuleHidden, Refusal{
		File: t.Model.Question.File, Line: t.Model.Question.Lines[key], Key: key,
		Wrong: fmt.Sprintf("the fault %s (%s) gives the right answer here", r.Fault.ID, r.Fault.Title),
		Right: "other figures, or a part that asks for more",
	}}
}

// Clearly is how many units of the last place an answer should lie off the
// right one for a marker to see it at a glance.
const clearly = 6

// rank orders tables: the fewer common faults that hide, that give each other's
// answers or that lie near the right one, the better.
func (t *Apart) rank() []int {
	hiddenCommon, same, close, rest := 0, 0, 0, 0
	for _, r := range t.Rows {
		if r.Hidden {
			rest++
			if r.Common {
				hiddenCommon++
			}
		}
		for _, o := range r.Same {
			if containsRow(r.Always, o) {
				continue
			}
			if r.Common && o.Common {
				same++
			} else {
				rest++
			}
		}
		if r.Common && !r.Hidden && t.margin(r) < clearly {
			close++
		}
	}
	return []int{hiddenCommon, same, close, rest}
}

func containsRow(list []*Row, r *Row) bool {
	for _, x := range list {
		if x == r {
			return true
		}
	}
	return false
}

// margin is how far off the right answer the row lies, in units of the last
// place, at the answer where it lies farthest.
func (t *Apart) margin(r *Row) float64 {
	far := 0.0
	for i, a := range t.Asked {
		d := math.Abs(r.Answers[i].Value-a.Right.Value) / unitOf(a.Quantity)
		if math.IsNaN(d) {
			return math.Inf(1)
		}
		far = math.Max(far, d)
	}
	return far
}

// answersText is the right answers as they are shown, to tell variants apart.
func (t *Apart) answersText() string {
	var b strings.Builder
	for _, a := range t.Asked {
		b.WriteString(Shown(a.Quantity, a.Right.Value) + ";")
	}
	return b.String()
}

// unitOf is one unit of the last place that the trade gives the quantity.
func unitOf(q *rules.Quantity) float64 { return math.Pow(10, -float64(q.Places)) }
