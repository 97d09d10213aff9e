package diagnose

import (
	"math"
	"strings"

	"batten/parse"
	"batten/solver"
)

// repairs looks for the one change to the student's own expression that makes
// it right: another operand, another operation, a factor put back. It gives
// the place of the change, which is the place of the fault.
// scales turn what the expression gives into the quantity's unit.
func (m *run) repairs(st *state, p *prepared, slot, k int, readings []*reading, scales []float64) []explanation {
	var out []explanation
	right := m.right[slot]
	if right == (vec{}) {
		return nil // anything times nought would be right
	}
	for _, r := range readings {
		if m.left <= 0 {
			break
		}
		if r.form.kind == meant && len(out) > 0 {
			break
		}
		for _, u := range scales {
			if u != 1 && len(out) > 0 {
				break
			}
			rep := m.repairerOf(r, slot, right.scale(1/u))
			rep.st, rep.p, rep.side = st, p, k
			out = append(out, rep.operands()...)
			out = append(out, rep.tree()...)
		}
	}
	return out
}

// oneSlip looks for the one figure that was copied wrongly in readings that are
// else as cheap as can be: of a long expression there are too many readings for
// all the slips in it to be among those looked at.
func (m *run) oneSlip(st *state, slot, k int, readings []*reading, scales []float64) []explanation {
	var out []explanation
	for _, r := range readings {
		n := len(r.picks)
		var in [nWorlds][maxLeaves]float64
		for w := range in {
			for i := range r.picks {
				in[w][i] = r.picks[i].vec[w]
			}
		}
		for i := range r.picks {
			l := &r.form.leaves[i]
			if l.num == nil {
				continue
			}
			for _, c := range m.candidates(st, l, slot, true) {
				if !c.slip {
					continue
				}
				m.budget(1)
				var v vec
				for w := range v {
					old := in[w][i]
					in[w][i] = c.vec[w]
					v[w] = r.form.code.Eval(in[w][:n])
					in[w][i] = old
				}
				for _, u := range scales {
					if !same(v.scale(u), m.right[slot]) {
						continue
					}
					e := explanation{cost: r.cost - r.picks[i].cost + c.cost, named: true, tainted: r.tainted || c.tainted, read: r}
					e.charges = []charge{{fault: FaultMiscopied, side: k, at: l.at, shown: ShownWritten, right: c.right, wrote: l.figure(), slot: slot, picks: r}}
					m.copiedAgain(st, &e)
					out = append(out, e)
				}
			}
		}
	}
	return out
}

// copiedAgain lets a slip go free where the same figure was copied wrongly before,
// to the same digits: it was copied from there.
func (m *run) copiedAgain(st *state, e *explanation) {
	c := &e.charges[0]
	for b := st; b.before != nil; b = b.before {
		for i := range b.last.charges {
			if o := &b.last.charges[i]; o.fault == c.fault && o.wrote == c.wrote && c.wrote != 0 {
				c.free, e.free, e.cost = true, true, costFollows+0.3
				return
			}
		}
	}
}

func (r *repairer) hit(v vec) bool {
	return same(v, r.right) || r.bySign[r.slot] && same(v, r.right.scale(-1))
}

func (r *repairer) explanation(fault string, cost float64, at parse.Span) explanation {
	return explanation{
		cost: r.r.cost*0.6 + cost, named: true, tainted: r.r.tainted, read: r.r,
		charges: []charge{{fault: fault, side: r.side, at: at, shown: ShownWritten, slot: r.slot, picks: r.r}},
	}
}

// operands tries every known quantity in the place of each leaf.
func (r *repairer) operands() []explanation {
	var out []explanation
	n := len(r.r.picks)
	var in [nWorlds][maxLeaves]float64
	for w := range in {
		for i := range r.r.picks {
			in[w][i] = r.r.picks[i].vec[w]
		}
	}
	for i := range r.r.picks {
		pk := r.r.picks[i]
		r.budget(len(r.model.Quantities) / 8)
		r.inPlaceOf(i).Each(func(s int) {
			if s == pk.slot || s == r.slot {
				return
			}
			alike := pk.slot >= 0 && r.model.Quantities[s].Unit == r.model.Quantities[pk.slot].Unit
			opaque := pk.slot < 0 && pk.held.Empty() && pk.local == 0 && pk.cost >= 0.5
			if !alike && !opaque {
				return
			}
			var v vec
			ok := true
			for w := range v {
				old := in[w][i]
				in[w][i] = r.Marker.right[s][w]
				v[w] = r.r.form.code.Eval(in[w][:n])
				in[w][i] = old
				if w == 0 && !solver.Close(v[0], r.right[0]) && !(r.bySign[r.slot] && solver.Close(v[0], -r.right[0])) {
					ok = false
					break
				}
			}
			if !ok || !r.hit(v) {
				return
			}
			at := r.r.form.leaves[i].at
			if alike {
				e := r.explanation(FaultOperand, costOperand, at)
				e.charges[0].right = r.figure(s)
				e.charges[0].unwritten = 0
				out = append(out, e)
				return
			}
			// a figure that stands for nothing known, where one is due
			e := r.explanation(FaultMiscopied, costMiscopied+1.6, at)
			e.charges[0].right = r.figure(s)
			want := r.figure(s)
			got := r.r.form.leaves[i].num
			if got == nil {
				return
			}
			if !alikeDigits(got.Text, want, got.Places) {
				e.charges[0].fault = FaultUnexplained
				e.cost = r.r.cost*0.6 + costUnexplained - 0.8
				e.named = false
			}
			out = append(out, e)
		})
	}
	return out
}

// alikeDigits reports whether most of the digits agree, so that copying can
// have turned one into the other.
func alikeDigits(text string, x float64, places int) bool {
	a, b := strings.TrimLeft(digitsOf(text), "0"), strings.TrimLeft(figuresOf(x, places), "0")
	if len(a) != len(b) || len(a) < 2 {
		return false
	}
	n := 0
	for i := range a {
		if a[i] == b[i] {
			n++
		}
	}
	return n*2 >= len(a)
}

func (r *repairer) figure(s int) float64 {
	if iv, ok := r.st.env.Stated(s); ok {
		return iv.Mid()
	}
	if f := r.st.env.Derive().Derived(s); len(f) > 0 {
		return f[0].Mid()
	}
	return r.reference(s)
}

// tree tries another operation at each node, and a factor or a term put back.
func (r *repairer) tree() []explanation {
	nodes := r.parts
	if nodes == nil {
		return nil
	}
	var out []explanation
	root := len(nodes) - 1
	for i := range nodes {
		n := &nodes[i]
		r.budget(3)
		if n.op != 0 && n.y >= 0 {
			x, y := &nodes[n.x].v, &nodes[n.y].v
			for _, op := range []byte{'+', '-', '*', '/'} {
				if op == n.op || n.op == '^' {
					continue
				}
				if r.mends(nodes, i, func(w int) float64 { return solver.Apply(op, x[w], y[w]) }) {
					cost := costOperation
					if (op == '+' || op == '-') && (n.op == '+' || n.op == '-') {
						cost = costSign
					}
					out = append(out, r.explanation(FaultOperation, cost, n.at))
				}
				// a quotient upside down
				if op == '*' && n.op == '/' && r.mends(nodes, i, func(w int) float64 { return solver.Apply('/', y[w], x[w]) }) {
					out = append(out, r.explanation(FaultOperation, costOperation+0.1, n.at))
				}
			}
		}
		if (n.op == '+' || n.op == '-') && n.y >= 0 && i != root {
			r.instead(nodes, i, &out)
		}
		if n.op != 0 && n.op != '^' && n.y >= 0 {
			// one operand too many
			if r.mends(nodes, i, func(w int) float64 { return nodes[n.x].v[w] }) {
				out = append(out, r.tooMany(nodes[n.y].at))
			}
			if (n.op == '*' || n.op == '+') && r.mends(nodes, i, func(w int) float64 { return nodes[n.y].v[w] }) {
				out = append(out, r.tooMany(nodes[n.x].at))
			}
		}
		for _, pw := range []float64{2, 3} {
			if n.leaf && r.mends(nodes, i, func(w int) float64 { return solver.Apply('^', n.v[w], pw) }) {
				out = append(out, r.explanation(FaultFactor, costFactor, n.at))
			}
		}
		// a power too low by one
		if n.op == '^' && r.mends(nodes, i, func(w int) float64 { return n.v[w] * nodes[n.x].v[w] }) {
			out = append(out, r.explanation(FaultFactor, costFactor, n.at))
		}
		if n.up >= 0 && (nodes[n.up].op == '*' || nodes[n.up].op == '^') && i != root {
			continue // a factor left out of a product shows at the product
		}
		r.missing(nodes, i, &out)
	}
	return out
}

// tooMany is a factor or a term that has no place in the formula: no fault of
// the catalogue says so, but where it stands is known.
func (r *repairer) tooMany(at parse.Span) explanation {
	e := r.explanation(FaultUnexplained, costTooMany, at)
	e.named = false
	return e
}

// instead tries, in the place of a sum or difference of two quantities of one
// kind, each other of that kind.
func (r *repairer) instead(nodes []node, i int, out *[]explanation) {
	n := &nodes[i]
	x, y := nodes[n.x].slot, nodes[n.y].slot
	if x < 0 || y < 0 || r.model.Quantities[x].Unit != r.model.Quantities[y].Unit {
		return
	}
	r.budget(1)
	for _, d := range r.dueOf(i) {
		if d.IsVoid() {
			continue
		}
		for k := atLeast(r.values1, d.Lo); k < len(r.byValue) && r.byValue[k].x <= d.Hi; k++ {
			s := r.byValue[k].slot
			if s == r.slot || r.model.Quantities[s].Unit != r.model.Quantities[x].Unit || !r.mends(nodes, i, func(w int) float64 { return r.Marker.right[s][w] }) {
				continue
			}
			e := r.explanation(FaultOperand, costOperand+0.05, n.at)
			e.charges[0].right = r.figure(s)
			*out = append(*out, e)
			return
		}
	}
}

// missing tries each known quantity, and the constants of formulas, as the
// factor or term that was left out at a node.
func (r *repairer) missing(nodes []node, i int, out *[]explanation) {
	n := &nodes[i]
	try := func(q vec, cost float64, ops ...byte) {
		for _, op := range ops {
			if undoes(nodes, i, op, q) {
				continue // what is there already is too much, and nothing is left out
			}
			if r.mends(nodes, i, func(w int) float64 { return solver.Apply(op, n.v[w], q[w]) }) {
				*out = append(*out, r.explanation(FaultFactor, cost, n.at))
			}
		}
	}
	r.budget(3)
	r.wanted(n.v[0], r.dueOf(i)).Each(func(s int) {
		if s == r.slot {
			return
		}
		c := costFactor
		if r.model.Above[s].Has(r.slot) {
			c += 1
		}
		try(r.Marker.right[s], c, '*', '/', '+', '-')
	})
	for _, k := range []float64{2, 3, 12, 100} {
		try(constant(k), costFactor, '*', '/')
	}
}

// undoes reports whether a factor or a term put beside node i would only take
// back the one that stands there.
func undoes(nodes []node, i int, op byte, q vec) bool {
	back := func(n *node) bool {
		return n.y >= 0 && op == opposite[n.op] && same(nodes[n.y].v, q)
	}
	n := &nodes[i]
	return (op == '-' || op == '/') && same(n.v, q) || back(n) || n.up >= 0 && nodes[n.up].x == i && back(&nodes[n.up])
}

var opposite = map[byte]byte{'+': '-', '-': '+', '*': '/', '/': '*'}

// mends reports whether the whole expression is right with the given figures in
// the place of node i, one for each world.
func (r *repairer) mends(nodes []node, i int, figure func(w int) float64) bool {
	same, opposite := true, r.bySign[r.slot]
	for w := 0; w < nWorlds && (same || opposite); w++ {
		x := lifted(nodes, i, w, figure(w))
		same = same && solver.Close(x, r.right[w])
		opposite = opposite && solver.Close(x, -r.right[w])
	}
	return same || opposite
}

// lifted is the whole expression's figure in a world with node i's replaced.
func lifted(nodes []node, i, w int, x float64) float64 {
	for nodes[i].up >= 0 {
		j := nodes[i].up
		n := &nodes[j]
		switch {
		case n.fn != "":
			return math.NaN()
		case n.y < 0:
			x = -x
		case n.x == i:
			x = solver.Apply(n.op, x, nodes[n.y].v[w])
		default:
			x = solver.Apply(n.op, nodes[n.x].v[w], x)
		}
		i = j
	}
	return x
}
