package diagnose

import (
	"cmp"
	"slices"
)

const (
	worthDeviating = 1.0 // a step that costs less is taken as it is
	mostOther      = 3   // other accounts of one step that are tried
	mostDeviations = 40  // sweeps in all
)

// deviate looks for a cheaper reading near one that was found: one step taken
// otherwise, and the rest read anew. What is dear as it comes to it may be what
// makes the rest right, and a narrow search lost it. Steps that cost something
// are tried: first what would clear a step that was called faulty, then of the
// dearest steps the cheapest other account.
func (m *run) deviate(steps []prepared, best *state) *state {
	sweeps := 0
	defer func() { m.beside = nil }()
	for again := true; again; {
		again = false
		m.beside = best.path()
		for _, d := range m.deviations(steps, m.beside, best.cost) {
			if sweeps++; sweeps > mostDeviations || m.left <= 0 {
				return best
			}
			n := d.to
			if n.then == nil {
				n.then = m.then(&steps[d.step], n)
			}
			m.beams = append(m.beams[:0], make([][]*state, d.step+2)...)
			m.beams[d.step+1] = []*state{n.then}
			if st := m.sweep(steps, d.step+1, 1, best.cost); st != nil && st.cost < best.cost-1e-9 {
				best, again = st, true
				break
			}
		}
	}
	return best
}

// A deviation is another account of a step than the one a reading goes by.
type deviation struct {
	step   int
	to     *successor
	clears bool    // it is right by this account, and was faulty by the other
	turn   int     // which of the accounts of the step, the cheapest first
	saves  float64 // what the step costs now
}

// deviations lists what may be tried near a reading, best first.
func (m *run) deviations(steps []prepared, path []*state, bound float64) []deviation {
	var out []deviation
	for i := range steps {
		taken := &path[i+1].last
		if taken.cost < worthDeviating {
			continue
		}
		for k, n := range m.others(path[i], &steps[i], taken, bound) {
			out = append(out, deviation{i, n, taken.verdict == Faulty && n.o.verdict == Holds, k, taken.cost})
		}
	}
	slices.SortStableFunc(out, func(a, b deviation) int {
		if a.clears != b.clears {
			if a.clears {
				return -1
			}
			return 1
		}
		return cmp.Or(cmp.Compare(a.turn, b.turn), cmp.Compare(b.saves, a.saves))
	})
	return out
}

// path is the states that led to this one, the first before any step.
func (st *state) path() []*state {
	var out []*state
	for b := st; b != nil; b = b.before {
		out = append(out, b)
	}
	slices.Reverse(out)
	return out
}

// others are other accounts of a step than the one taken, the cheapest first.
func (m *run) others(st *state, p *prepared, taken *outcome, bound float64) []*successor {
	next := m.successors(st, p, bound)
	order := make([]*successor, 0, len(next))
	for k := range next {
		if n := &next[k]; n.cost < bound && !n.o.sameAccount(taken) {
			order = append(order, n)
		}
	}
	slices.SortStableFunc(order, func(a, b *successor) int { return cmp.Compare(a.cost, b.cost) })
	out := order[:0]
	for _, n := range order {
		if len(out) == mostOther {
			break
		}
		if !slices.ContainsFunc(out, func(o *successor) bool { return o.o.sameAccount(&n.o) }) {
			out = append(out, n)
		}
	}
	return out
}

// sameAccount reports whether two outcomes say the same of a step: the quantity,
// the verdict, and the first fault.
func (o *outcome) sameAccount(other *outcome) bool {
	fault := func(o *outcome) string {
		if len(o.charges) == 0 {
			return ""
		}
		return o.charges[0].fault
	}
	return o.slot == other.slot && o.verdict == other.verdict && fault(o) == fault(other)
}
