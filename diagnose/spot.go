package diagnose

import (
	"batten/parse"
	"batten/rules"
)

// chargesOf turns a hypothesis into charges on a side of the step.
func (m *run) chargesOf(st *state, p *prepared, slot, k int, h *hypothesis, r *reading) []charge {
	var out []charge
	for _, f := range h.faults {
		c := charge{fault: f.ID, side: k, at: p.sides[k].at, shown: ShownWritten, slot: slot, free: m.isFree(st, f), picks: nil}
		on := -1
		for _, s := range h.sites {
			if s.Fault == f && (on < 0 || s.Slot == slot) {
				on = s.Slot
			}
		}
		if on >= 0 && on != slot && (r == nil || m.hides(st, r, h, f, on)) {
			c.unwritten = on + 1
		}
		if r != nil {
			if at, ok := m.spotOf(r, f, h, slot); ok {
				c.at = at
			}
		}
		out = append(out, c)
	}
	return out
}

// hides tells whether a quantity that was not stated, or what is worked from
// it, stands in the reading as one figure, so that how it was worked can't be
// seen. Where none does, the row works it itself.
func (m *run) hides(st *state, r *reading, h *hypothesis, f *rules.Fault, slot int) bool {
	if st.env.Has().Has(slot) {
		return false
	}
	for _, k := range r.picks {
		if k.stated {
			continue
		}
		if k.slot == slot || k.slot >= 0 && m.model.Above[k.slot].Has(slot) || m.wrongFigure(k, h, f, slot) {
			return true
		}
	}
	return false
}

// wrongFigure tells whether a leaf is what a fault gives for the quantity in
// whose working it arises.
func (m *run) wrongFigure(k *known, h *hypothesis, f *rules.Fault, slot int) bool {
	for _, s := range h.sites {
		if s.Fault == f && s.Slot == slot && same(k.vec, m.siteVec(s)) {
			return true
		}
	}
	return false
}

// spotOf narrows the place to the one leaf that only the wrong formula reads,
// or that is what the wrong formula gives. A figure that the right working
// takes too, under whatever name, is not what is wrong: where something was
// left out there is no such leaf.
func (m *run) spotOf(r *reading, f *rules.Fault, h *hypothesis, slot int) (parse.Span, bool) {
	var at parse.Span
	n := 0
	for i := range r.picks {
		k := r.picks[i]
		if k.site != nil && k.site.Fault == f {
			return r.form.leaves[i].at, true
		}
		for _, s := range h.sites {
			if s.Slot != slot && m.wrongFigure(k, h, f, s.Slot) {
				return r.form.leaves[i].at, true
			}
		}
		if k.slot < 0 || k.slot == slot || m.rightlyRead(k, slot) {
			continue
		}
		at = r.form.leaves[i].at
		n++
	}
	return at, n == 1
}

// rightlyRead tells whether the right working of a quantity takes a leaf's
// figure: that of a quantity it is worked from, or of one that is always equal.
func (m *run) rightlyRead(k *known, slot int) bool {
	if m.model.Above[slot].Has(k.slot) {
		return true
	}
	for s := range m.model.Quantities {
		if m.model.Above[slot].Has(s) && same(k.vec, m.right[s]) {
			return true
		}
	}
	return false
}
