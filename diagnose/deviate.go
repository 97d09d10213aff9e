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
// are tried, the dearest first.
func (m *run) deviate(steps []prepared, best *state) *state {
	sweeps := 0
	defer func() { m.beside = nil }()
	for again := true; again; {
		again = false
		path := best.path()
		m.beside = path
		var dear []int
		for i := range steps {
			if path[i+1].last.cost >= worthDeviating {
				dear = append(dear, i)
			}
		}
		slices.SortStableFunc(dear, func(a, b int) int { return cmp.Compare(path[b+1].last.cost, path[a+1].last.cost) })
		for _, i := range dear {
			for _, n := range m.others(path[i], &steps[i], &path[i+1].last, best.cost) {
				if sweeps++; sweeps > mostDeviations || m.left <= 0 {
					return best
				}
				if n.then == nil {
					n.then = m.then(&steps[i], n)
				}
				m.beams = append(m.beams[:0], make([][]*state, i+2)...)
				m.beams[i+1] = []*state{n.then}
				if st := m.sweep(steps, i+1, 1, best.cost); st != nil && st.cost < best.cost-1e-9 {
					best, again = st, true
					break
				}
			}
			if again {
				break
			}
		}
	}
	return best
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
