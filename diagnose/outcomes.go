package diagnose

import (
	"math"

	"batten/solver"
)

// What the explanations of a step make of it, and where the fault began.

// outcomes turns explanations into outcomes, the cheapest few; those that cost
// as much as the cheapest and blame something else become its alternatives.
func (m *run) outcomes(st *state, p *prepared, base outcome, ex []explanation, side int) []outcome {
	sortExplanations(ex)
	var out []outcome
	seen := map[string]bool{}
	for _, e := range ex {
		key := ""
		for _, c := range e.charges {
			key += c.fault + "+"
		}
		if e.right {
			key = "right"
		}
		if seen[key] {
			continue
		}
		seen[key] = true
		o := base
		o.cost += e.cost
		o.sites = e.sites
		o.charges = e.charges
		o.read = e.read
		o.bad = side
		o.tainted = true
		p.inUnit(&o, &e)
		switch {
		case e.right:
			o.verdict, o.charges = Holds, nil
			o.bad = -1
			o.tainted = false
			if e.tainted {
				o.verdict, o.tainted = Follows, true
				o.from = m.rootOf(st, e.read)
			}
			if e.read != nil {
				if iv := e.read.value(); !iv.IsVoid() {
					o.expected = iv.Mid() * base.scale
				}
			}
		case m.onlyRemarks(e.charges):
			o.verdict, o.remarks, o.charges = Holds, e.charges, nil
			o.bad = -1
			o.tainted = e.tainted
			o.expected = o.stated
			if e.tainted {
				o.verdict = Follows
				o.from = m.rootOf(st, e.read)
			}
		case e.free:
			o.verdict = Follows
			o.bad = -1
			o.from = m.rootOfFault(st, e.charges)
			o.charges = nil
			o.expected = o.stated
		}
		out = append(out, o)
		if len(out) == keepExplanations {
			break
		}
	}
	return out
}

// inUnit takes a figure written without a unit to be in the one that the reading
// of its working, which gives it, is in.
func (p *prepared) inUnit(o *outcome, e *explanation) {
	w := p.result
	if w == nil || w.unit != nil || w.percent || e.read == nil || e.scale <= 0 || solver.Close(e.scale, o.scale) || o.scale <= 0 {
		return
	}
	if x, ok := e.read.form.literal(); !ok || math.Abs(x-w.value) > w.ulp {
		return
	}
	f := e.scale / o.scale
	o.stated, o.scale = o.stated*f, e.scale
	o.keep = solver.Interval{Lo: o.keep.Lo * f, Hi: o.keep.Hi * f}
}

// onlyRemarks reports whether nothing charged costs anything: a looser formula
// that the trade lets pass.
func (m *run) onlyRemarks(cs []charge) bool {
	for _, c := range cs {
		if severityOf(m.topic.Fault(c.fault)) != Remark {
			return false
		}
	}
	return len(cs) > 0
}

func (m *run) rootOf(st *state, r *reading) int {
	from := 0
	if r == nil {
		return 0
	}
	for _, k := range r.picks {
		if k.slot >= 0 && st.tainted.Has(k.slot) {
			if x := int(st.root[k.slot]); x > 0 && (from == 0 || x < from) {
				from = x
			}
		}
	}
	return from
}

func (m *run) rootOfFault(st *state, cs []charge) int {
	for _, c := range cs {
		for _, x := range st.made {
			if m.sameIdea(x.fault, c.fault) {
				return x.step + 1
			}
		}
	}
	return 0
}
