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
			rep := &repairer{run: m, st: st, p: p, slot: slot, side: k, r: r, right: right.scale(1 / u)}
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

type repairer struct {
	*run
	st    *state
	p     *prepared
	slot  int
	side  int
	r     *reading
	right vec
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
		for s := range r.model.Quantities {
			if s == pk.slot || s == r.slot {
				continue
			}
			alike := pk.slot >= 0 && r.model.Quantities[s].Unit == r.model.Quantities[pk.slot].Unit
			opaque := pk.slot < 0 && pk.held.Empty() && pk.local == 0 && pk.cost >= 0.5
			if !alike && !opaque {
				continue
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
				continue
			}
			at := r.r.form.leaves[i].at
			if alike {
				e := r.explanation(FaultOperand, costOperand, at)
				e.charges[0].right = r.figure(s)
				e.charges[0].unwritten = 0
				out = append(out, e)
				continue
			}
			// a figure that stands for nothing known, where one is due
			e := r.explanation(FaultMiscopied, costMiscopied+1.6, at)
			e.charges[0].right = r.figure(s)
			want := r.figure(s)
			got := r.r.form.leaves[i].num
			if got == nil {
				continue
			}
			if !alikeDigits(got.Text, want, got.Places) {
				e.charges[0].fault = FaultUnexplained
				e.cost = r.r.cost*0.6 + costUnexplained - 0.8
				e.named = false
			}
			out = append(out, e)
		}
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

// node is a part of the expression with its figures.
type node struct {
	e    parse.Expr
	v    vec
	x, y int // operands' indices, -1 none
	op   byte
	up   int
	at   parse.Span
	leaf bool
	slot int // of a leaf: the quantity that it is, -1 none
	fn   string
}

// tree tries another operation at each node, and a factor or a term put back.
func (r *repairer) tree() []explanation {
	nodes := r.parts()
	if len(nodes) == 0 {
		return nil
	}
	due := r.due(nodes)
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
			r.instead(nodes, i, due, &out)
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
		r.missing(nodes, i, due, &out)
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
func (r *repairer) instead(nodes []node, i int, due [][]solver.Interval, out *[]explanation) {
	n := &nodes[i]
	x, y := nodes[n.x].slot, nodes[n.y].slot
	if x < 0 || y < 0 || r.model.Quantities[x].Unit != r.model.Quantities[y].Unit {
		return
	}
	r.budget(1)
	for _, d := range due[i] {
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
func (r *repairer) missing(nodes []node, i int, due [][]solver.Interval, out *[]explanation) {
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
	r.wanted(n.v[0], due[i]).Each(func(s int) {
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

// due gives for each node what should stand there in the first world, all else
// left as it is: void where that can't be said, nothing where nothing would do.
// Where the sign may be either there are two such ranges. Each is a little wide,
// for the noise of floating point: what lies in it has to be tried.
func (r *repairer) due(nodes []node) [][]solver.Interval {
	out := make([][]solver.Interval, len(nodes))
	root := len(nodes) - 1
	slack := 2e-9*math.Abs(r.right[0]) + 2e-12
	out[root] = append(out[root], solver.Interval{Lo: r.right[0] - slack, Hi: r.right[0] + slack})
	if r.bySign[r.slot] {
		out[root] = append(out[root], solver.Interval{Lo: -r.right[0] - slack, Hi: -r.right[0] + slack})
	}
	for i := root; i >= 0; i-- {
		n := &nodes[i]
		if n.x < 0 || n.fn != "" {
			continue
		}
		x := solver.Point(nodes[n.x].v[0])
		put := func(i int, d ...solver.Interval) { out[i] = append(out[i], d...) }
		if n.y < 0 {
			for _, d := range out[i] {
				put(n.x, solver.Interval{Lo: -d.Hi, Hi: -d.Lo})
			}
			continue
		}
		y := solver.Point(nodes[n.y].v[0])
		for _, d := range out[i] {
			switch n.op {
			case '+':
				put(n.x, d.Op('-', y))
				put(n.y, d.Op('-', x))
			case '-':
				put(n.x, d.Op('+', y))
				put(n.y, x.Op('-', d))
			case '*':
				put(n.x, d.Op('/', y))
				put(n.y, d.Op('/', x))
			case '/':
				put(n.x, d.Op('*', y))
				put(n.y, x.Op('/', d))
			case '^':
				put(n.x, roots(d, y.Lo)...)
				put(n.y, solver.Void())
			}
		}
	}
	return out
}

// roots are the ranges of which the power is the given one.
func roots(d solver.Interval, power float64) []solver.Interval {
	switch {
	case d.IsVoid():
	case power == 2 && d.Hi < 0:
		return nil
	case power == 2:
		r := solver.Interval{Lo: math.Sqrt(max(d.Lo, 0)) * (1 - 1e-9), Hi: math.Sqrt(d.Hi) * (1 + 1e-9)}
		return []solver.Interval{r, {Lo: -r.Hi, Hi: -r.Lo}}
	case power == 3 && d.Lo > 0:
		return []solver.Interval{{Lo: math.Cbrt(d.Lo) * (1 - 1e-9), Hi: math.Cbrt(d.Hi) * (1 + 1e-9)}}
	}
	return []solver.Interval{solver.Void()}
}

// wanted are the quantities that, as a factor or a term beside x, may give what
// is due; all of them where that can't be said.
func (r *repairer) wanted(x float64, due []solver.Interval) solver.Set {
	var out solver.Set
	n := solver.Point(x)
	for _, d := range due {
		for _, q := range []solver.Interval{d.Op('/', n), n.Op('/', d), d.Op('-', n), n.Op('-', d)} {
			if q.IsVoid() {
				for s := range r.model.Quantities {
					out.Add(s)
				}
				return out
			}
			for i := atLeast(r.values1, q.Lo); i < len(r.byValue) && r.byValue[i].x <= q.Hi; i++ {
				out.Add(r.byValue[i].slot)
			}
		}
	}
	return out
}

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

// parts lists the expression's parts, operands before what they stand in, in
// room that the next call uses again.
func (r *repairer) parts() []node {
	out := r.nodes[:0]
	leaf := map[parse.Span]int{}
	for i, l := range r.r.form.leaves {
		leaf[l.at] = i
	}
	bad := false
	var walk func(e parse.Expr) int
	add := func(n node) int {
		n.up = -1
		if !n.leaf {
			n.slot = -1
		}
		out = append(out, n)
		i := len(out) - 1
		if n.x >= 0 {
			out[n.x].up = i
		}
		if n.y >= 0 {
			out[n.y].up = i
		}
		return i
	}
	walk = func(e parse.Expr) int {
		switch e := e.(type) {
		case *parse.Group:
			return walk(e.X)
		case *parse.Num, *parse.Name:
			i, ok := leaf[e.Span()]
			if n, isNum := e.(*parse.Num); !ok && isNum {
				return add(node{e: e, v: constant(n.Value), x: -1, y: -1, leaf: true, slot: -1, at: n.At})
			}
			if !ok {
				bad = true
				return add(node{e: e, x: -1, y: -1})
			}
			return add(node{e: e, v: r.r.picks[i].vec, x: -1, y: -1, leaf: true, slot: r.r.picks[i].slot, at: e.Span()})
		case *parse.Neg:
			x := walk(e.X)
			return add(node{e: e, v: out[x].v.scale(-1), x: x, y: -1, op: 'n', at: e.At})
		case *parse.Binary:
			x := walk(e.X)
			y := walk(e.Y)
			n := node{e: e, x: x, y: y, op: byte(e.Op), at: e.At}
			for w := range n.v {
				n.v[w] = solver.Apply(n.op, out[x].v[w], out[y].v[w])
			}
			return add(n)
		case *parse.Call:
			bad = bad || len(e.Args) != 1
			if bad {
				return add(node{e: e, x: -1, y: -1})
			}
			x := walk(e.Args[0])
			return add(node{e: e, x: x, y: -1, fn: e.Func, at: e.At, v: vec{math.NaN()}})
		}
		bad = true
		return add(node{e: e, x: -1, y: -1})
	}
	walk(r.r.form.expr)
	r.nodes = out
	if bad {
		return nil
	}
	return out
}
