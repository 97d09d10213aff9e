// Package students writes worked answers as students would and measures the
// diagnosis on them.
//
// A draw is a sound question, none, one or two faults, and a way of writing.
// The generator works the student's own chain with the faults in their places,
// writes the script, and knows the truth of every line of it. Its formulas of
// the chain and its words for quantities are its own, so that what is measured
// is not the same data twice; only the ids of faults and quantities, which are
// part of the contract, are shared.
//
// A draw depends on its seed and number alone: the same seed gives the same
// scripts on every machine and with any number of workers.
package students

import "math/rand/v2"

// rng is a source of chance with the few shapes of choice that draws need.
type rng struct{ *rand.Rand }

func newRNG(seed, stream uint64) *rng {
	return &rng{rand.New(rand.NewPCG(seed*0x9e3779b97f4a7c15+1, stream*0xbf58476d1ce4e5b9+7))}
}

// chance is true in about p of the calls.
func (r *rng) chance(p float64) bool { return r.Float64() < p }

// pick chooses one of the values.
func pick[T any](r *rng, of ...T) T { return of[r.IntN(len(of))] }

// weighted chooses an index by its weight.
func (r *rng) weighted(w ...float64) int {
	sum := 0.0
	for _, x := range w {
		sum += x
	}
	x := r.Float64() * sum
	for i, y := range w {
		if x < y {
			return i
		}
		x -= y
	}
	return len(w) - 1
}

// step draws a multiple of by from lo to hi.
func (r *rng) step(lo, hi, by float64) float64 {
	n := int((hi-lo)/by + 0.5)
	return lo + by*float64(r.IntN(n+1))
}
