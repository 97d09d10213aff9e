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

// mostCut is the share by which a whole figure may be rounded to a round number.
const mostCut = 0.05

// inRoundNumbers is the step with its result taken to the place to which it has
// been rounded, where noughts stand for the figures cut off: 90 x 16 x 6 = 8600.
// It gives nil where the working tells of no such rounding.
func (m *run) inRoundNumbers(p *prepared, scales []float64) *prepared {
	w, last := p.result, m.lastWorking(p)
	if last < 0 || w.ulp != 1 || w.value == 0 || math.Mod(w.value, 10) != 0 || math.Abs(w.value) < 100 {
		return nil
	}
	for i := range p.sides[last].alts {
		x, ok := p.sides[last].alts[i].literal()
		if !ok {
			return nil
		}
		for _, s := range scales {
			if math.Abs(x*s-w.value) <= 1 {
				return nil // not rounded further than it looks
			}
			for place := 10.0; math.Mod(w.value, place) == 0 && place <= 2*mostCut*math.Abs(w.value); place *= 10 {
				if math.Round(x*s/place)*place == w.value {
					q, r := *p, *w
					r.ulp = place
					q.result = &r
					return &q
				}
			}
		}
	}
	return nil
}
