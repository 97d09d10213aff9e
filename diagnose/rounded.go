package diagnose

import "math"

// roundedEarly remarks on a right figure that was cut so short that an answer
// worked from it comes out otherwise, at the places the trade gives it.
func (g *graded) roundedEarly(answer, slot int) {
	m := g.run
	o := &g.out[answer]
	if o.verdict != Holds || o.slot != slot || !o.value {
		return
	}
	place := math.Pow(10, -float64(m.model.Quantities[slot].Places))
	if math.Abs(math.Abs(o.stated)-math.Abs(m.reference(slot))) <= 1.5*place {
		return
	}
	for i := 0; i < answer; i++ {
		c := &g.out[i]
		p := &g.steps[i]
		if c.slot < 0 || c.verdict != Holds || !c.value || p.result == nil || m.isAnswer(c.slot) && len(g.findings) > 0 && g.remarked(i, FaultPlaces) {
			continue
		}
		if !m.model.Above[slot].Has(c.slot) || m.model.Given.Has(c.slot) {
			continue
		}
		own := math.Pow(10, -float64(m.model.Quantities[c.slot].Places))
		if p.result.ulp*c.scale > 9*own && !roundFigure(p.result, c.stated, m.reference(c.slot)) && !g.remarked(i, FaultRounded) {
			g.add(charge{fault: FaultRounded, side: len(p.sides) - 1, at: p.result.at, shown: ShownWritten, slot: c.slot}, i)
			return
		}
	}
}

// remarked reports whether the step has a finding of the fault.
func (g *graded) remarked(step int, fault string) bool {
	for i := range g.findings {
		if g.findings[i].step == step && g.findings[i].charge.fault == fault {
			return true
		}
	}
	return false
}
