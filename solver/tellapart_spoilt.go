package solver

import (
	"math"

	"batten/rules"
)

// spoilt evaluates the chain with some steps written as a fault has them. The
// rest is worked by the reference ways where these lead from the fault to an
// answer; where they don't, the fault lies on another way, and that is taken.
type spoilt struct {
	m     *Model
	at    [MaxSlots]*Site
	wrong Set
	above []Set // for each slot, all that it may rest on in this reading
	codes [MaxSlots]*Code
	known Set // slots whose code is settled

	memo [MaxSlots]float64
	done Set
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
	sp := &spoilt{m: c.m, above: c.reference, in: make([]float64, len(c.m.Quantities))}
	for _, s := range sites {
		sp.at[s.Slot] = s
		sp.wrong.Add(s.Slot)
	}
	if sp.wrong.And(c.ofAnswers).Empty() {
		sp.above = c.m.Above
	}
	return sp
}

// rests reports whether the quantity is spoilt or rests on one that is.
func (sp *spoilt) rests(s int) bool {
	return sp.wrong.Has(s) || !sp.above[s].And(sp.wrong).Empty()
}

// code is what the quantity is worked by here; nil for a given.
func (sp *spoilt) code(s int) *Code {
	if sp.known.Has(s) {
		return sp.codes[s]
	}
	sp.known.Add(s)
	ways := sp.m.Ways[s]
	switch {
	case sp.at[s] != nil:
		sp.codes[s] = &sp.at[s].Code
	case len(ways) > 0:
		sp.codes[s] = &ways[0].Code
		if !sp.rests(s) {
			break
		}
		for i := range ways {
			on := false
			for _, d := range ways[i].Code.Deps() {
				on = on || sp.rests(d)
			}
			if on {
				sp.codes[s] = &ways[i].Code
				break
			}
		}
	}
	return sp.codes[s]
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
	if written || sp.rests(s) {
		if c := sp.code(s); c != nil {
			for _, d := range c.Deps() {
				sp.value(world, d, written)
			}
			for _, d := range c.Deps() {
				sp.in[d] = sp.memo[d]
			}
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
	places := float64(q.Places)
	if p := 2 - math.Floor(math.Log10(math.Abs(v))); p > places {
		places = p
	}
	scale := math.Pow(10, places)
	return math.Round(v*scale) / scale
}
