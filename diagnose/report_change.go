package diagnose

import (
	"strings"

	"batten/parse"
	"batten/solver"
)

// A change is what one correction to the student's own expression comes to: the
// words it stands in the place of, and what belongs there.
type change struct {
	at   parse.Span // what is to be changed, no span where nothing is
	text string     // what belongs there, in the student's notation
	due  string     // the figure that belongs there, with its name set off by commas
	is   string     // what the student's figure is
	what string     // what is missing
}

// changed finds the change that a general fault asks for. The place is known;
// what belongs there is worked out again here, for its words alone.
func (n *note) changed() change {
	c := &n.f.charge
	ch := change{at: c.at}
	switch c.fault {
	case FaultMiscopied, FaultOperand:
		ch.is, ch.due, ch.text = n.standsFor(), "", ""
		switch s := n.dueSlot(c.right); {
		case s >= 0:
			ch.due, ch.text = n.named(s)+",", n.figure(s, n.slot)
		case c.right != 0:
			ch.due = n.mark(trim(c.right))
			ch.text = ch.due
		case n.slot >= 0 && n.run.model.Given.Has(n.slot):
			ch.due = n.named(n.slot) + ","
		}
	case FaultFactor, FaultOperation:
		n.rejoined(&ch)
	}
	return ch
}

func (n *note) named(s int) string {
	return "the " + n.run.model.Quantities[s].Title + ", " + n.told(s, n.slot)
}

// standsFor names the quantity that the student's figure is, "" where that is
// not known.
func (n *note) standsFor() string {
	r := n.f.charge.picks
	if r == nil || len(r.picks) != len(r.form.leaves) {
		return ""
	}
	for i := range r.form.leaves {
		if r.form.leaves[i].at == n.f.charge.at && r.picks[i].slot >= 0 && !r.picks[i].slip {
			return "the " + n.run.model.Quantities[r.picks[i].slot].Title
		}
	}
	return ""
}

// dueSlot is the quantity whose figure should stand there: one that the line is
// worked from, given or stated if there is one, else any that was.
func (n *note) dueSlot(x float64) int {
	if x == 0 {
		return -1
	}
	m := n.run.model
	found, best := -1, 0
	for s := range m.Quantities {
		rank := 0
		if m.Given.Has(s) || n.state.env.Has().Has(s) {
			rank++
		}
		if n.slot >= 0 && m.Above[n.slot].Has(s) {
			rank += 2
		}
		if s != n.slot && rank > best && solver.Close(n.studentFigure(s, n.slot), x) {
			found, best = s, rank
		}
	}
	return found
}

// rejoined finds the other operation, or the part left out, at the place of
// the fault. Of several that would do, the most familiar is told.
func (n *note) rejoined(ch *change) {
	r := n.f.charge.picks
	if r == nil || n.slot < 0 || n.side < 0 || len(r.picks) != len(r.form.leaves) {
		return
	}
	rep := n.run.repairerOf(r, n.slot, n.run.right[n.slot])
	nodes := rep.parts
	for i := range nodes {
		if nodes[i].at != ch.at {
			continue
		}
		if n.f.charge.fault == FaultOperation {
			n.otherOperation(rep, nodes, i, ch)
		} else {
			n.leftOut(rep, nodes, i, ch)
		}
		if ch.text != "" {
			return
		}
	}
}

func (n *note) otherOperation(rep *repairer, nodes []node, i int, ch *change) {
	b, ok := nodes[i].e.(*parse.Binary)
	if !ok {
		return
	}
	x, y := n.textAt(b.X.Span()), n.textAt(b.Y.Span())
	if x == "" || y == "" {
		return
	}
	try := func(op byte, left, right int, text string) {
		if ch.text == "" && rep.mends(nodes, i, func(w int) float64 { return solver.Apply(op, nodes[left].v[w], nodes[right].v[w]) }) {
			ch.text = text
		}
	}
	for _, op := range []byte{'+', '-', '*', '/'} {
		if op != nodes[i].op {
			try(op, nodes[i].x, nodes[i].y, x+" "+n.sign(op)+" "+y)
		}
	}
	if nodes[i].op == '/' {
		try('/', nodes[i].y, nodes[i].x, y+" / "+x)
	}
}

func (n *note) leftOut(rep *repairer, nodes []node, i int, ch *change) {
	own := n.textAt(nodes[i].at)
	if own == "" {
		return
	}
	e := nodes[i].e
	try := func(op byte, by vec, text, what string) {
		if ch.text != "" || !rep.mends(nodes, i, func(w int) float64 { return solver.Apply(op, nodes[i].v[w], by[w]) }) {
			return
		}
		ch.what = what
		if b, ok := e.(*parse.Binary); ok && (b.Op == '+' || b.Op == '-') && (op == '*' || op == '/' || op == '^') {
			own = "(" + own + ")"
		}
		if op == '^' {
			ch.text = own + n.power(text)
			return
		}
		ch.text = own + " " + n.sign(op) + " " + text
	}
	m := n.run.model
	quantities := func(so func(s int) bool) {
		for s := range m.Quantities {
			if s == n.slot || !so(s) {
				continue
			}
			for _, op := range []byte{'*', '/', '+', '-'} {
				try(op, n.run.Marker.right[s], n.figure(s, n.slot), n.named(s))
			}
		}
	}
	known := func(s int) bool { return m.Given.Has(s) || n.state.env.Has().Has(s) }
	if nodes[i].leaf {
		try('^', constant(3), "3", "the third power")
		try('^', constant(2), "2", "the square")
	}
	quantities(func(s int) bool { return known(s) && !m.Above[s].Has(n.slot) })
	for _, k := range []float64{2, 3, 12, 100} {
		t := trim(k)
		try('/', constant(k), t, "the division by "+t)
		try('*', constant(k), t, "the factor of "+t)
	}
	quantities(func(s int) bool { return !known(s) || m.Above[s].Has(n.slot) })
}

// sign writes an operation the way the student does.
func (n *note) sign(op byte) string {
	text := ""
	if n.side >= 0 {
		text = n.textAt(n.steps[n.f.step].sides[n.side].at)
	}
	pick := func(usual string, others ...string) string {
		for _, s := range others {
			if strings.Contains(text, s) {
				return s
			}
		}
		return usual
	}
	typed := !strings.ContainsAny(text, "×÷·−²³") // with the keys there are
	switch {
	case op == '*' && typed:
		return pick("x", "*")
	case op == '*':
		return pick("×", "·")
	case op == '/':
		return pick("/", "÷")
	case op == '-' && !typed:
		return "−"
	}
	return string(op)
}

// power writes an exponent the way the student does.
func (n *note) power(k string) string {
	if strings.ContainsAny(n.textAt(n.steps[n.f.step].sides[n.side].at), "²³") {
		return strings.NewReplacer("2", "²", "3", "³").Replace(k)
	}
	return "^" + k
}
