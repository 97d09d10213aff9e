package solver

import (
	"math"

	"batten/parse"
	"batten/rules"
)

// spoilt evaluates the chain with some steps written as a fault has them. The
// rest is worked by the reference ways where these lead from the fault to an
// answer. Where they don't, the fault lies on another way: that one is taken
// where it first meets the reference, and nowhere else.
type spoilt struct {
	m       *Model
	changed Set // slots whose figure is not the reference's
	codes   []*Code
	exprs   []parse.Expr // what each code was compiled from

	memo [MaxSlots]float64
	done Set
	busy Set // being worked out
	in   []float64
}

// chain holds what is the same for all rows of a table.
type chain struct {
	m         *Model
	reference []Set // for each slot, all that it rests on by reference ways alone
	answers   Set
	ofAnswers Set // all that some answer rests on by reference ways
}

func newChain(m *Model, answers Set) *chain {
	c := &chain{m: m, reference: make([]Set, len(m.Quantities)), answers: answers}
	for s := range m.Quantities {
		if len(m.Ways[s]) == 0 {
			continue
		}
		for _, d := range m.Ways[s][0].Code.Deps() {
			c.reference[s].Add(d)
			c.reference[s] = c.reference[s].Or(c.reference[d])
		}
	}
	c.ofAnswers = answers
	answers.Each(func(s int) { c.ofAnswers = c.ofAnswers.Or(c.reference[s]) })
	return c
}

func (c *chain) spoilt(sites []*Site) *spoilt {
	n := len(c.m.Quantities)
	sp := &spoilt{m: c.m, codes: make([]*Code, n), exprs: make([]parse.Expr, n), in: make([]float64, n)}
	var wrong Set
	for _, s := range sites {
		wrong.Add(s.Slot)
		sp.codes[s.Slot], sp.exprs[s.Slot] = &s.Code, s.Formula
	}
	sp.changed = wrong
	on := func(w *Way) bool {
		for _, d := range w.Code.Deps() {
			if sp.changed.Has(d) {
				return true
			}
		}
		return false
	}
	// A way that would run back to a wrong formula which reads this very quantity
	// is none: what the formula reads was worked before.
	circle := func(s int, w *Way) bool {
		for _, site := range sites {
			for _, d := range site.Code.Deps() {
				if d != s && !c.reference[d].Has(s) {
					continue
				}
				for _, from := range w.Code.Deps() {
					if from == site.Slot || c.reference[from].Has(site.Slot) {
						return true
					}
				}
			}
		}
		return false
	}
	met := len(sites) == 0 || !wrong.And(c.ofAnswers).Empty()
	for s := range n {
		ways := c.m.Ways[s]
		if wrong.Has(s) || len(ways) == 0 {
			continue
		}
		sp.codes[s], sp.exprs[s] = &ways[0].Code, ways[0].Formula
		asked := c.ofAnswers.Has(s)
		for i := range ways {
			if i > 0 && asked && met {
				break
			}
			if on(&ways[i]) && !circle(s, &ways[i]) {
				met = met || i > 0 && asked
				sp.codes[s], sp.exprs[s] = &ways[i].Code, ways[i].Formula
				sp.changed.Add(s)
				break
			}
		}
	}
	return sp
}

// start forgets the figures of the world before.
func (sp *spoilt) start() { sp.done = Set{} }

// value works the quantity out in a world. With written every figure on the way
// is rounded as it would be written down.
func (sp *spoilt) value(world, s int, written bool) float64 {
	if sp.done.Has(s) {
		return sp.memo[s]
	}
	m := sp.m
	v := m.Worlds[world][s]
	if sp.busy.Has(s) {
		// A wrong formula may read what is itself worked from the quantity it
		// spoils: that was worked before the fault was made, and is right.
		sp.memo[s] = v
		return v
	}
	if written || sp.changed.Has(s) {
		if c := sp.codes[s]; c != nil {
			sp.busy.Add(s)
			for _, d := range c.Deps() {
				sp.value(world, d, written)
			}
			for _, d := range c.Deps() {
				sp.in[d] = sp.memo[d]
			}
			sp.busy.Drop(s)
			v = c.Eval(sp.in)
			if written {
				v = roundWritten(m.Quantities[s], v)
			}
		}
	}
	sp.memo[s] = v
	sp.done.Add(s)
	return v
}

// readings are the answers as a student would have them who makes the fault.
func (sp *spoilt) readings(slots []int) []Reading {
	out := make([]Reading, len(slots))
	sp.start()
	for i, s := range slots {
		out[i].Value = sp.value(0, s, false)
	}
	sp.start()
	for i, s := range slots {
		full, short := out[i].Value, sp.value(0, s, true)
		if math.IsNaN(short) || math.IsInf(short, 0) {
			short = full
		}
		half := unitOf(sp.m.Quantities[s]) / 2
		out[i].Interval = Interval{math.Min(full, short) - half, math.Max(full, short) + half}
	}
	return out
}

// inWorlds are the answers in every world: for each slot, one figure a world.
func (sp *spoilt) inWorlds(slots []int) [][]float64 {
	out := make([][]float64, len(slots))
	for w := range sp.m.Worlds {
		sp.start()
		for i, s := range slots {
			out[i] = append(out[i], sp.value(w, s, false))
		}
	}
	return out
}

// roundWritten rounds a figure to the trade's places, or to three significant
// figures where that is more.
func roundWritten(q *rules.Quantity, v float64) float64 {
	if v == 0 || math.IsNaN(v) || math.IsInf(v, 0) {
		return v
	}
	scale := math.Pow(10, float64(writtenPlaces(q, v)))
	return math.Round(v*scale) / scale
}

// writtenPlaces is how many places a figure is written to.
func writtenPlaces(q *rules.Quantity, v float64) int {
	if v == 0 || math.IsNaN(v) || math.IsInf(v, 0) {
		return q.Places
	}
	return max(q.Places, 2-int(math.Floor(math.Log10(math.Abs(v)))))
}
