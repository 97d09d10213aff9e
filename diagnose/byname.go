package diagnose

import "slices"

// toItsName takes a fault back to where a figure was written under the name of
// what does not change, though it is another quantity's: "Volume after bilging =
// 64 x 11 x 3.79", and BM by that. As that other quantity the figure is right;
// where nothing else is made of it, its name says what the student took it for.
func (m *run) toItsName(steps []prepared, best *state) {
	out := best.out
	for i := range out {
		o := &out[i]
		if o.verdict != Faulty || o.slot < 0 || len(o.charges) != 1 || o.read == nil || !m.topicFault(o.charges[0].fault) {
			continue
		}
		for x, k := range o.read.picks {
			if k.slot < 0 || !k.stated {
				continue
			}
			j := m.statedAt(out[:i], k.slot)
			if j < 0 || m.usedElsewhere(out, k.slot, i, j) {
				continue
			}
			if q := m.unchangedBy(&steps[j], best, o.slot, k.slot); q >= 0 && m.rightWith(o.slot, o.read, x, q, m.scalesFor(o.slot, steps[i].result)) {
				m.moveTo(steps, out, i, j, q)
				break
			}
		}
	}
}

// statedAt is the last step that rightly states the quantity with working, -1 for none.
func (m *run) statedAt(out []outcome, slot int) int {
	for j := len(out) - 1; j >= 0; j-- {
		if o := &out[j]; o.slot == slot && o.value {
			if o.verdict == Holds && len(o.charges) == 0 {
				return j
			}
			return -1
		}
	}
	return -1
}

// usedElsewhere reports whether a right step but the two rests on the quantity.
func (m *run) usedElsewhere(out []outcome, slot, but, and int) bool {
	for x := range out {
		o := &out[x]
		if x == but || x == and || o.slot < 0 || o.verdict != Holds {
			continue
		}
		if o.read != nil && slices.ContainsFunc(o.read.picks, func(k *known) bool { return k.slot == slot }) {
			return true
		}
		if ways := m.model.Ways[o.slot]; len(ways) > 0 && slices.Contains(ways[0].Code.Deps(), slot) {
			return true
		}
	}
	return false
}

// unchangedBy is a quantity of no state of affairs of its own that the target
// rests on and that the step's words name for the later state, as well as the
// one that its figure is; -1 for none.
func (m *run) unchangedBy(p *prepared, best *state, target, slot int) int {
	said := m.wordingOf(p)
	matches := said.matches
	if p.step.Table > 0 && p.step.Label == "" {
		matches = said.cells
	}
	own := 0.0
	for _, mt := range matches {
		if mt.slot == slot {
			own = mt.score
		}
	}
	for _, mt := range matches {
		q := m.model.Quantities[mt.slot]
		// a 1 says after only to a student who writes it so, and has no other figure of that name
		later := m.later(mt.state) || said.digit > '1' || m.later(best.digits[said.digit]) && !best.env.Has().Has(mt.slot)
		if mt.slot != slot && q.State == "" && later && mt.score >= 0.9 && mt.score > own-0.1 && !m.model.Given.Has(mt.slot) &&
			m.model.Above[target].Has(mt.slot) && m.units[mt.slot] != nil && m.units[slot] != nil && m.units[mt.slot].Dim == m.units[slot].Dim {
			return mt.slot
		}
	}
	return -1
}

// later reports whether a state of affairs is named, and not the first one.
func (m *run) later(state string) bool { return state != "" && state != m.topic.FirstState() }

// moveTo charges step j, taken for the quantity in the slot, with what step i is
// charged with, which then follows.
func (m *run) moveTo(steps []prepared, out []outcome, i, j, slot int) {
	o, at := &out[i], &out[j]
	c := o.charges[0]
	c.side = max(m.lastWorking(&steps[j]), 0)
	c.at, c.slot, c.unwritten, c.picks = steps[j].sides[c.side].at, slot, 0, nil
	at.slot, at.expected = slot, m.reference(slot)
	at.verdict, at.charges, at.bad, at.sites, at.tainted = Faulty, []charge{c}, c.side, o.sites, true
	o.verdict, o.charges, o.bad, o.from = Follows, nil, -1, j+1
	for x := range out {
		if x != i && out[x].from == i+1 {
			out[x].from = j + 1
		}
	}
}
