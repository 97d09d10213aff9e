package diagnose

import (
	"math"

	"batten/solver"
)

// What a written figure may mean, and what the working beside it comes to.

// target is a figure the step states, in the quantity's own unit.
type target struct {
	value  float64
	slack  float64 // one unit of the last written place
	half   float64
	cut    float64 // what may have been cut off a figure of one digit
	scale  float64
	has    bool
	digits int
}

// statedAs gives the ways the written figure may be meant, as figures in the
// quantity's unit: as written, or in another unit students use for it.
func (m *run) statedAs(w *written, slot int) []target {
	mk := func(f float64) target {
		a := math.Abs(f)
		t := target{value: w.value * f, slack: w.ulp * a, half: 0.505 * w.ulp * a, scale: f, has: true, digits: w.digits}
		if w.digits < 2 && w.value != 0 {
			t.slack = t.half
			if w.ulp < 1 && slot >= 0 && !m.model.Given.Has(slot) {
				t.cut = w.ulp * a
			}
		}
		return t
	}
	if slot < 0 {
		return append(m.targets.Take(1)[:0], mk(1))
	}
	base := 1.0
	if w.unit != nil {
		if qu := m.units[slot]; qu != nil && qu.Dim == w.unit.Dim && w.unit.Factor > 0 {
			base = w.unit.Factor / qu.Factor
		}
	}
	out := append(m.targets.Take(2 + len(m.also[slot]))[:0], mk(base))
	if w.value < 0 && !m.model.Quantities[slot].Signed {
		out = append(out, mk(-base)) // taken off: the row of a table, or a loss
	}
	if w.unit != nil {
		return out
	}
	for _, f := range m.also[slot] {
		if w.percent {
			continue
		}
		out = append(out, mk(1/f))
	}
	return out
}

// finest is the share of a figure that nobody is held to, however many places
// are written: parts of the working were rounded too.
const finest = 2e-5

// fits reports whether the stated figure is one of those expected. For a
// quantity with a sense, the bare size will do.
func (m *run) fits(t target, figs []solver.Figure, slot int) (int, bool) {
	slack := t.slack
	if slot >= 0 && 2*t.half*math.Pow10(m.model.Quantities[slot].Places) > 1000 {
		slack = math.Min(slack, mostRounded*math.Abs(t.value)) // 5 is not 5.181 rounded, but another figure
	}
	slack = math.Max(slack, finest*math.Abs(t.value))
	hit := func(f solver.Interval) bool {
		return f.Holds(t.value, slack) || t.cut > 0 && f.Holds(t.value+math.Copysign(t.cut/2, t.value), t.cut/2)
	}
	for i := range figs {
		if hit(figs[i].Interval) {
			return i, true
		}
	}
	if m.bySign[slot] {
		for i := range figs {
			if hit(solver.Interval{Lo: -figs[i].Hi, Hi: -figs[i].Lo}) {
				return i, true
			}
		}
	}
	return -1, false
}

// sideValue is what a side comes to, and by which reading of its brackets.
type sideValue struct {
	iv    solver.Interval
	exact float64 // from the figures as written, NaN where words stand in it
	form  *form
	read  *reading // set where words or kept figures had to be read
}

// valuesOf lists what a side may come to in the state: the figures as written
// in each reading of the brackets, and, where wide is set, with figures the
// calculator may have kept in full.
func (m *run) valuesOf(st *state, sd *side, wide bool) []sideValue {
	var out []sideValue
	for i := range sd.alts {
		f := &sd.alts[i]
		if x, ok := f.literal(); ok && !wide {
			out = append(out, sideValue{iv: solver.Point(x), exact: x, form: f})
			continue
		}
		if !wide && !sd.names {
			continue
		}
		m.meanings = 3
		lists := m.meaningsOf(st, f, -1, false)
		m.meanings = 0
		out = append(out, m.valuesIn(f, &lists)...)
	}
	return out
}

// valuesIn lists what a form may come to with the meanings of its leaves.
func (m *run) valuesIn(f *form, lists *[maxLeaves][]known) []sideValue {
	in := m.senseOf(f, lists)
	if best, ok := m.senses.values[in]; ok {
		return best
	}
	var best []sideValue
	n := 0
	m.liftFrom(f, lists, func(r *reading) bool {
		if r.most = 4; r.cost > r.most {
			return true
		}
		iv := r.value()
		if iv.IsVoid() {
			return true
		}
		n++
		for _, b := range best {
			if nearly(b.iv, iv) {
				return n < 200
			}
		}
		best = append(best, sideValue{iv: iv, exact: math.NaN(), form: f, read: m.keep(r)})
		return len(best) < 8 && n < 200
	})
	if m.senses.values == nil {
		m.senses.values = map[sense][]sideValue{}
	}
	m.senses.values[in] = best
	return best
}

func nearly(a, b solver.Interval) bool {
	return math.Abs(a.Lo-b.Lo) <= 1e-6*math.Abs(a.Lo) && math.Abs(a.Hi-b.Hi) <= 1e-6*math.Abs(a.Hi)
}

// gives reports whether a side comes to the written figure, and by which of
// its readings. Both unit scales are tried: 464.9/16.16 = 28.77 cm = 0.2877.
func (m *run) gives(st *state, sd *side, w *written, scales []float64) (sideValue, bool) {
	slack := math.Max(w.ulp, finest*math.Abs(w.value)) + 1e-9*math.Abs(w.value)
	try := func(vs []sideValue) (sideValue, bool) {
		for _, v := range vs {
			for _, f := range scales {
				iv := solver.Interval{Lo: v.iv.Lo * f, Hi: v.iv.Hi * f}
				if iv.Holds(w.value, slack) || (iv.Hi < 0 && solver.Interval{Lo: -iv.Hi, Hi: -iv.Lo}.Holds(w.value, slack)) {
					return v, true
				}
				if iv.Lo > 0 && w.value < 0 && iv.Holds(-w.value, slack) {
					return v, true
				}
			}
		}
		return sideValue{}, false
	}
	if v, ok := try(m.valuesOf(st, sd, false)); ok {
		return v, true
	}
	if !sd.names || sd.figures {
		return try(m.valuesOf(st, sd, true))
	}
	return sideValue{}, false
}

func (m *run) scalesFor(slot int, w *written) []float64 {
	out := []float64{1}
	if slot >= 0 {
		out = append(out, m.also[slot]...)
		for _, f := range m.also[slot] {
			out = append(out, 1/f)
		}
	}
	if w != nil && w.percent {
		out = append(out, 1, 0.01)
	}
	if w != nil && w.unit != nil && w.unit.Factor != 1 && w.unit.Factor != 0 {
		out = append(out, 1/w.unit.Factor)
	}
	if w != nil && w.turned != 0 {
		out = append(out, w.turned)
	}
	return out
}
