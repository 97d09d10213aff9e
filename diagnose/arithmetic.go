package diagnose

import (
	"math"

	"batten/parse"
	"batten/solver"
)

// arithmetic explains a written figure that the working does not give: by the
// particular slips first. iv is what the working gives, in the quantity's unit:
// a range where some of its figures may have been kept in full.
func (m *run) arithmetic(st *state, p *prepared, slot, side int, iv solver.Interval) []explanation {
	at := p.sides[side].at
	mk := func(id string, cost float64) explanation {
		return explanation{cost: cost, named: true, charges: []charge{{fault: id, side: side, at: at, shown: ShownWritten, slot: slot}}}
	}
	w := p.sides[side].bare
	if w == nil {
		e := mk(FaultArithmetic, costArithmetic)
		for _, s := range m.explainSide(st, p, slot, side, []float64{1}) {
			if len(s.charges) == 1 && s.charges[0].fault == FaultMiscopied {
				e = s
				break
			}
		}
		if e.charges[0].fault == FaultArithmetic && side > 0 && len(p.sides[side-1].alts) > 0 {
			// one figure of the row with a digit wrong
			if x, ok := m.formFigure(st, &p.sides[side-1].alts[0]); ok {
				if r := m.rowSlip(p, side, x); r.charges[0].fault == FaultMiscopied {
					r.charges[0].slot = slot
					e = r
				}
			}
		}
		return []explanation{e}
	}
	if iv.IsVoid() {
		return []explanation{mk(FaultArithmetic, costArithmetic)}
	}
	scale := 1.0
	if alts := m.statedAs(w, slot); len(alts) > 0 {
		scale = alts[0].scale
	}
	xw, half := iv.Mid()/scale, iv.Width()/2/math.Abs(scale) // in the unit written
	if _, ok := shifted(w.value, xw, w.ulp, half); ok {
		return []explanation{mk(FaultDecimal, costDecimal)}
	}
	if k := m.lastWorking(p); k >= 0 {
		for i := range p.sides[k].alts {
			for _, f := range p.sides[k].alts[i].withoutBrackets() {
				if y, ok := m.formFigure(st, &f); ok && math.Abs(y-w.value) <= 1.01*w.ulp+math.Abs(y/xw)*half && math.Abs(y-xw) > 2*w.ulp {
					return []explanation{mk(FaultBrackets, costBrackets)}
				}
			}
		}
	}
	if w.transposed(xw, half+6e-5*math.Abs(xw)) {
		return []explanation{mk(FaultTransposed, costTransposed)}
	}
	return []explanation{mk(FaultArithmetic, costArithmetic)}
}

// withoutBrackets are the forms in which brackets of it are lost.
func (f *form) withoutBrackets() []form {
	if !f.stripped {
		f.stripped = true
		for _, e := range parse.Unbracketed(f.expr) {
			if x, ok := compileForm(e, asWritten); ok {
				f.without = append(f.without, x)
			}
		}
	}
	return f.without
}

// keptRange is what a right working comes to, with its figures as written or as
// the calculator may have kept them.
func (m *run) keptRange(x float64, figs []solver.Figure, slot int, slack float64) solver.Interval {
	iv := pointOf(x)
	if k, ok := m.fits(target{value: x, slack: slack}, figs, slot); ok && !iv.IsVoid() && figs[k].Holds(x, slack) {
		iv = iv.Hull(figs[k].Interval)
	}
	return iv
}

// pointOf is the range of just that figure, void where it is none.
func pointOf(x float64) solver.Interval {
	if math.IsNaN(x) {
		return solver.Void()
	}
	return solver.Point(x)
}

// formFigure evaluates a form with the figures as written, words by the
// student's own figures.
func (m *run) formFigure(st *state, f *form) (float64, bool) {
	if x, ok := f.literal(); ok {
		return x, true
	}
	var in [maxLeaves]float64
	for i := range f.leaves {
		l := &f.leaves[i]
		if l.num != nil {
			in[i] = l.figure()
			continue
		}
		c := m.named(st, l, -1)
		if len(c) == 0 {
			return 0, false
		}
		in[i] = c[0].iv.Mid()
	}
	x := f.code.Eval(in[:len(f.leaves)])
	return x, !math.IsNaN(x)
}
