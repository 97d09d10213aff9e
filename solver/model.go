package solver

import (
	"fmt"
	"math"
	"math/rand"
	"strings"
	"sync"

	"batten/parse"
	"batten/rules"
)

// Model is the chain of quantities of one question, compiled: which quantities
// have a figure in it, by which ways, and how each fault would spoil them.
// It is made once for a question, never changes and is safe for concurrent use.
type Model struct {
	Question *Question
	Topic    *rules.Topic
	// Quantities holds the quantities that have a figure here; the index is the
	// slot. Each stands after all that any of its ways reads.
	Quantities []*rules.Quantity
	// Ways holds, for each slot, the ways that hold in this question; the first is
	// the reference. Empty for a given.
	Ways [][]Way
	// Sites holds, for each slot, what the topic's faults would write there.
	Sites [][]*Site
	// Worlds holds figures for all slots: Worlds[0] is the question itself, the
	// others are other questions of the same kind, drawn at random (the same in
	// every run). Two formulas that agree in all worlds are the same formula.
	Worlds [][]float64
	// Above holds, for each slot, every slot its ways may rest on.
	Above []Set
	// Below holds, for each slot, every slot whose ways may rest on it.
	Below []Set
	Given Set // the slots whose figures the question gives

	slot       map[string]int
	conditions map[string]bool
	holding    sync.Map // what Holds has found, by condition
}

// Way is one derivation, compiled over the model's slots.
type Way struct {
	*rules.Way
	Slot  int
	Code  Code
	above Set // every slot it may rest on
}

// Site is a wrong formula at a quantity, compiled over the model's slots.
type Site struct {
	*rules.Site
	Fault *rules.Fault
	Slot  int
	Code  Code
}

const randomWorlds = 3

// Slot returns the slot of the quantity, or -1 where it has no figure here.
func (m *Model) Slot(id string) int {
	if s, ok := m.slot[id]; ok {
		return s
	}
	return -1
}

// Value returns the reference figure of the quantity, in its own unit.
func (m *Model) Value(id string) (float64, bool) {
	if s, ok := m.slot[id]; ok {
		return m.Worlds[0][s], true
	}
	return 0, false
}

// Holds evaluates a condition on the question's reference figures; nil holds.
func (m *Model) Holds(c parse.Cond) bool {
	if c == nil {
		return true
	}
	if v, ok := m.holding.Load(c); ok {
		return v.(bool)
	}
	ok, err := m.eval().holds(c)
	m.holding.Store(c, err == nil && ok)
	return err == nil && ok
}

// eval returns an evaluator primed with the reference figures.
func (m *Model) eval() *evaluator {
	e := newEvaluator(m.Topic, m.Question.Flags, m.Question.Given)
	for i, q := range m.Quantities {
		e.values[q.ID] = m.Worlds[0][i]
	}
	return e
}

// EvalExpr evaluates a formula over quantity ids on the reference figures.
func (m *Model) EvalExpr(x parse.Expr) (float64, error) { return m.eval().expr(x) }

// NewModel compiles the chain of a question. It fails where the topic's data
// cannot give a figure that a part asks for.
func NewModel(q *Question) (*Model, error) {
	t := q.Topic
	m := &Model{Question: q, Topic: t, slot: map[string]int{}}
	ev := newEvaluator(t, q.Flags, q.Given)
	active := map[string][]*rules.Way{}
	for _, qu := range t.Quantities {
		if _, ok := ev.value(qu.ID); !ok {
			continue
		}
		if _, given := q.Given[qu.ID]; given {
			active[qu.ID] = nil
			continue
		}
		for _, w := range qu.Ways {
			if ok, err := ev.holds(w.When); err != nil || !ok {
				continue
			}
			if v, err := ev.expr(w.Formula); err == nil && !math.IsNaN(v) {
				active[qu.ID] = append(active[qu.ID], w)
			}
		}
	}
	// order: depth first over the ways that hold
	state := map[string]int{}
	var visit func(id string) error
	visit = func(id string) error {
		switch state[id] {
		case 1:
			return fmt.Errorf("%s: its ways run in a circle", id)
		case 2:
			return nil
		}
		state[id] = 1
		for _, w := range active[id] {
			for _, n := range Names(w.Formula) {
				if _, ok := active[n]; ok {
					if err := visit(n); err != nil {
						return err
					}
				}
			}
		}
		state[id] = 2
		m.slot[id] = len(m.Quantities)
		m.Quantities = append(m.Quantities, t.Quantity(id))
		return nil
	}
	for _, qu := range t.Quantities {
		if _, ok := active[qu.ID]; ok {
			if err := visit(qu.ID); err != nil {
				return nil, err
			}
		}
	}
	if len(m.Quantities) > MaxSlots {
		return nil, fmt.Errorf("more than %d quantities", MaxSlots)
	}
	bind := func(leaf parse.Expr) (int, bool) {
		n, ok := leaf.(*parse.Name)
		if !ok {
			return 0, false
		}
		s, ok := m.slot[n.Text]
		return s, ok
	}
	m.Ways = make([][]Way, len(m.Quantities))
	m.Above = make([]Set, len(m.Quantities))
	for s, qu := range m.Quantities {
		if _, given := q.Given[qu.ID]; given {
			m.Given.Add(s)
		}
		for _, w := range active[qu.ID] {
			code, err := Compile(w.Formula, bind)
			if err != nil {
				continue // it reads a quantity that has no figure here
			}
			way := Way{Way: w, Slot: s, Code: code}
			for _, d := range code.Deps() {
				way.above.Add(d)
				way.above = way.above.Or(m.Above[d])
			}
			m.Ways[s] = append(m.Ways[s], way)
			m.Above[s] = m.Above[s].Or(way.above)
		}
		if len(m.Ways[s]) == 0 && !m.Given.Has(s) {
			return nil, fmt.Errorf("%s: no way of it holds", qu.ID)
		}
	}
	m.Below = make([]Set, len(m.Quantities))
	for s := range m.Quantities {
		m.Above[s].Each(func(a int) { m.Below[a].Add(s) })
	}
	for _, p := range q.Parts {
		for _, a := range p.Find.Answers {
			if m.Slot(a) < 0 {
				return nil, fmt.Errorf("part %s asks for %s, which the data can't give", p.Letter, a)
			}
		}
	}
	m.Worlds = [][]float64{m.figures(ev)}
	m.drawWorlds(ev)
	m.Sites = make([][]*Site, len(m.Quantities))
	ref := m.eval() // one for all sites: there are hundreds
	for _, f := range append(append([]*rules.Fault(nil), t.Faults...), t.Generic...) {
		for _, st := range f.Sites {
			s, ok := m.slot[st.Quantity]
			if !ok {
				continue
			}
			if holds, err := ref.holds(st.When); err != nil || !holds {
				continue
			}
			code, err := Compile(st.Formula, bind)
			if err != nil {
				continue
			}
			if m.sameEverywhere(code, s) {
				continue // in this question the wrong formula is right
			}
			m.Sites[s] = append(m.Sites[s], &Site{st, f, s, code})
		}
	}
	return m, nil
}

func (m *Model) sameEverywhere(c Code, slot int) bool {
	for _, w := range m.Worlds {
		if !Close(c.Eval(w), w[slot]) {
			return false
		}
	}
	return true
}

// Close reports whether two figures are the same up to the noise of floating
// point: the test of algebraic identity in one world.
func Close(a, b float64) bool {
	d := math.Abs(a - b)
	return d <= 1e-9*math.Max(math.Abs(a), math.Abs(b)) || d < 1e-12
}

func (m *Model) figures(ev *evaluator) []float64 {
	v := make([]float64, len(m.Quantities))
	for i, q := range m.Quantities {
		x, ok := ev.value(q.ID)
		if !ok {
			x = math.NaN()
		}
		v[i] = x
	}
	return v
}

// drawWorlds draws other questions of the same kind: the same words, other
// figures, every condition and every way deciding as in the question itself.
func (m *Model) drawWorlds(ref *evaluator) {
	rng := rand.New(rand.NewSource(1))
	q := m.Question
	tied := m.tied()
	want := m.decisions(ref)
	spread := 0.3
	for try := 0; len(m.Worlds) <= randomWorlds; try++ {
		if try%150 == 149 {
			spread *= 0.5
		}
		if try > 3000 {
			break // kinds hemmed in this tightly do without; identity is then weaker, never wrong
		}
		given := make(map[string]float64, len(q.Given))
		for _, qu := range m.Quantities {
			v, ok := q.Given[qu.ID]
			if !ok {
				continue
			}
			// A ratio of just one (an empty space, fresh water) may rightly be left
			// out of a formula, and a nought too.
			if v != 1 && v != 0 || qu.Unit != "" && qu.Unit != "t/m3" {
				v *= 1 + spread*(2*rng.Float64()-1)
			}
			if qu.Unit == "" && q.Given[qu.ID] < 1 && v >= 1 {
				v = q.Given[qu.ID]
			}
			given[qu.ID] = v
		}
		for id, x := range tied {
			if v, err := (newEvaluator(m.Topic, q.Flags, given)).expr(x); err == nil {
				given[id] = v
			}
		}
		ev := newEvaluator(m.Topic, q.Flags, given)
		if m.decisions(ev) != want {
			continue
		}
		v := m.figures(ev)
		bad := false
		for i := range v {
			// a figure that changes sign, or vanishes, is another kind of question
			if math.IsNaN(v[i]) || (v[i] > 0) != (m.Worlds[0][i] > 0) && !m.Quantities[i].Signed {
				bad = true
			}
		}
		if !bad {
			m.Worlds = append(m.Worlds, v)
		}
	}
}

// tied returns the givens whose figure a word of the question ties to others
// ("full": the breadth of the ship).
func (m *Model) tied() map[string]parse.Expr {
	out := map[string]parse.Expr{}
	for _, k := range m.Topic.Keys {
		w, ok := m.Question.Written[k.Path]
		if !ok || k.Quantity == "" {
			continue
		}
		for _, o := range k.Options {
			if o.Value != nil && strings.EqualFold(strings.TrimSpace(w), o.Word) && len(Names(o.Value)) > 0 {
				out[k.Quantity] = o.Value
			}
		}
	}
	return out
}

// decisions writes down how every condition and every way decides.
func (m *Model) decisions(ev *evaluator) string {
	var b strings.Builder
	put := func(c parse.Cond) {
		ok, err := ev.holds(c)
		switch {
		case err != nil:
			b.WriteByte('?')
		case ok:
			b.WriteByte('1')
		default:
			b.WriteByte('0')
		}
	}
	for _, c := range m.Topic.Conditions {
		put(c.When)
	}
	for _, q := range m.Quantities {
		for _, w := range q.Ways {
			put(w.When)
		}
	}
	return b.String()
}

// Names returns the names that stand in an expression, in order, repeats kept.
func Names(e parse.Expr) []string {
	var out []string
	var walk func(e parse.Expr)
	walk = func(e parse.Expr) {
		switch e := e.(type) {
		case *parse.Name:
			out = append(out, e.Text)
		case *parse.Neg:
			walk(e.X)
		case *parse.Group:
			walk(e.X)
		case *parse.Binary:
			walk(e.X)
			walk(e.Y)
		case *parse.Call:
			for _, a := range e.Args {
				walk(a)
			}
		}
	}
	walk(e)
	return out
}

// HoldsWith evaluates a condition with one quantity's figure put in place of
// its reference and all others as the reference has them.
func (m *Model) HoldsWith(c parse.Cond, slot int, v float64) bool {
	if x, ok := c.(*parse.Compare); ok {
		// mostly two formulas over the quantities of the chain
		figure := func(n *parse.Name) (float64, bool) {
			s := m.Slot(n.Text)
			if s == slot {
				return v, true
			}
			return m.Worlds[0][max(s, 0)], s >= 0
		}
		l, errL := parse.Eval(x.X, figure)
		r, errR := parse.Eval(x.Y, figure)
		if errL == nil && errR == nil {
			return compare(x.Op, l, r)
		}
	}
	e := m.eval()
	e.values[m.Quantities[slot].ID] = v
	ok, err := e.holds(c)
	return err != nil || ok
}
