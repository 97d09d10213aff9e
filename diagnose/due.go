package diagnose

import (
	"math"

	"batten/parse"
	"batten/solver"
)

// What would have to stand in the place of a part of an expression for the whole
// to be right. It is reckoned back from the whole, in the first world; so of all
// quantities the few that may stand there are known at once.

// A repairer looks at one reading of an expression that is not right for the
// quantity in the slot.
type repairer struct {
	*run
	st    *state
	p     *prepared
	slot  int
	side  int
	r     *reading
	right vec    // what the expression should come to
	parts []node // its parts, operands before what they stand in; nil where they can't be told
	fn    bool   // there is a function among them
}

// node is a part of the expression with its figures.
type node struct {
	e        parse.Expr
	v        vec
	x, y     int // operands' indices, -1 none
	op       byte
	up       int
	at       parse.Span
	leaf     bool
	slot     int // of a leaf: the quantity that it is, -1 none
	fn       string
	due, end int // where in dues the ranges that are due here begin and end
}

// repairerOf is a repairer of the reading, in room that the next one uses again.
func (m *run) repairerOf(r *reading, slot int, right vec) *repairer {
	rep := &repairer{run: m, r: r, slot: slot, right: right}
	if rep.parts = rep.split(); rep.parts != nil {
		rep.reckonBack()
	}
	return rep
}

// reckonBack finds for each node what should stand there, all else left as it
// is: void where that can't be said, nothing where nothing would do. Where the
// sign may be either there are two such ranges. Each is a little wide, for the
// noise of floating point: what lies in it has to be tried.
func (r *repairer) reckonBack() {
	nodes := r.parts
	root := len(nodes) - 1
	slack := 2e-9*math.Abs(r.right[0]) + 2e-12
	dues := append(r.dues[:0], solver.Interval{Lo: r.right[0] - slack, Hi: r.right[0] + slack})
	if r.bySign[r.slot] {
		dues = append(dues, solver.Interval{Lo: -r.right[0] - slack, Hi: -r.right[0] + slack})
	}
	nodes[root].due, nodes[root].end = 0, len(dues)
	for i := root; i >= 0; i-- {
		n := &nodes[i]
		if n.x < 0 || n.fn != "" {
			continue
		}
		back := func(to int, f func(d solver.Interval)) {
			nodes[to].due = len(dues)
			for k := n.due; k < n.end; k++ {
				f(dues[k])
			}
			nodes[to].end = len(dues)
		}
		put := func(d ...solver.Interval) { dues = append(dues, d...) }
		if n.y < 0 {
			back(n.x, func(d solver.Interval) { put(solver.Interval{Lo: -d.Hi, Hi: -d.Lo}) })
			continue
		}
		x, y := solver.Point(nodes[n.x].v[0]), solver.Point(nodes[n.y].v[0])
		switch n.op {
		case '+':
			back(n.x, func(d solver.Interval) { put(d.Op('-', y)) })
			back(n.y, func(d solver.Interval) { put(d.Op('-', x)) })
		case '-':
			back(n.x, func(d solver.Interval) { put(d.Op('+', y)) })
			back(n.y, func(d solver.Interval) { put(x.Op('-', d)) })
		case '*':
			back(n.x, func(d solver.Interval) { put(d.Op('/', y)) })
			back(n.y, func(d solver.Interval) { put(d.Op('/', x)) })
		case '/':
			back(n.x, func(d solver.Interval) { put(d.Op('*', y)) })
			back(n.y, func(d solver.Interval) { put(x.Op('/', d)) })
		case '^':
			back(n.x, func(d solver.Interval) { put(roots(d, y.Lo)...) })
			back(n.y, func(solver.Interval) { put(solver.Void()) })
		}
	}
	r.dues = dues
}

// dueOf is what should stand in the place of a node.
func (r *repairer) dueOf(i int) []solver.Interval {
	return r.dues[r.parts[i].due:r.parts[i].end]
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
				return r.all
			}
			r.valued(q, &out)
		}
	}
	return out
}

// inPlaceOf are the quantities that may make the whole right in the place of the
// j-th leaf: all of them where that can't be said.
func (r *repairer) inPlaceOf(j int) solver.Set {
	if r.parts == nil || r.fn {
		return r.all
	}
	at := r.r.form.leaves[j].at
	for i := range r.parts {
		if n := &r.parts[i]; !n.leaf || n.at != at {
			continue
		}
		var out solver.Set
		for _, d := range r.dueOf(i) {
			if d.IsVoid() {
				return r.all
			}
			r.valued(d, &out)
		}
		return out
	}
	return r.all
}

// valued adds the quantities whose figure in the first world lies in the range.
func (m *Marker) valued(d solver.Interval, out *solver.Set) {
	for i := atLeast(m.values1, d.Lo); i < len(m.byValue) && m.byValue[i].x <= d.Hi; i++ {
		out.Add(m.byValue[i].slot)
	}
}

// split lists the expression's parts, operands before what they stand in, nil
// where they can't be told.
func (r *repairer) split() []node {
	out := r.nodes[:0]
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
			i, ok := r.r.form.leafAt(e.Span())
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
			r.fn = true
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

// leafAt is the leaf that stands at the place.
func (f *form) leafAt(at parse.Span) (int, bool) {
	for i := len(f.leaves) - 1; i >= 0; i-- {
		if f.leaves[i].at == at {
			return i, true
		}
	}
	return 0, false
}
