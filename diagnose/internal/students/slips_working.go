package students

import (
	"math"
	"strings"
)

// Slips that stand in the working itself: a figure, an operand, a factor, a sign.

// refs lists the leaves of a step's formula that are figures known by then.
func (p *plan) refs(i int) []*node {
	var out []*node
	for _, l := range p.steps[i].right.leaves() {
		if l.op != 'q' {
			continue
		}
		if j := p.at[l.q]; j >= 0 && !p.steps[j].written && p.steps[j].inline {
			continue // not a figure of the line, a formula
		}
		out = append(out, l)
	}
	return out
}

// leafText is the bare text of the figure that stands for a quantity.
func (p *plan) leafText(w *worked, q int) string {
	if t, ok := p.question.given[quants[q].id]; ok && p.at[q] < 0 {
		return t
	}
	return w.text[p.at[q]]
}

// knownFigures lists the figures a student has before him at a step.
func (p *plan) knownFigures(w *worked, before int) map[int]float64 {
	out := map[int]float64{}
	for id, v := range p.question.value {
		if q := slotOf(id); p.isGiven(q) {
			out[q] = v
		}
	}
	for j := 0; j < before; j++ {
		if p.steps[j].written {
			out[p.steps[j].q] = w.shown[j]
		}
	}
	return out
}

// miscopied writes one figure of the working with a digit wrong.
func (p *plan) miscopied(i int, right *worked) *change {
	r := p.hand.r
	refs := p.refs(i)
	if len(refs) == 0 || len(p.steps[i].right.leaves()) < 2 {
		return nil
	}
	l := refs[r.IntN(len(refs))]
	t := p.leafText(right, l.q)
	if quants[l.q].unit == "" || len(strings.ReplaceAll(t, ".", "")) < 2 {
		return nil
	}
	n := miscopy(r, t)
	v := parseFigure(n)
	if n == t || v <= 0 || math.Abs(v-parseFigure(t)) < 0.01*math.Abs(v) {
		return nil
	}
	for _, x := range p.knownFigures(right, i) {
		if math.Abs(x-v) < 1e-9 {
			return nil
		}
	}
	way := p.steps[i].right.swap(l, &node{op: 'm', k: v, text: n, q: l.q})
	c := slip("figure-miscopied", i, edit{way: way})
	c.working, c.symbolsRight = true, true
	return c
}

func miscopy(r *rng, t string) string {
	b := []byte(t)
	var at []int
	for k, c := range b {
		if c >= '0' && c <= '9' {
			at = append(at, k)
		}
	}
	for try := 0; try < 10; try++ {
		k := r.IntN(len(at))
		if r.chance(0.5) && k+1 < len(at) {
			if b[at[k]] == b[at[k+1]] || k == 0 && b[at[1]] == '0' {
				continue
			}
			b[at[k]], b[at[k+1]] = b[at[k+1]], b[at[k]]
			return string(b)
		}
		d := byte('0' + r.IntN(10))
		if d == b[at[k]] || k == 0 && d == '0' {
			continue
		}
		b[at[k]] = d
		return string(b)
	}
	return t
}

// wrongOperand puts another figure of the same kind in the place of the right one.
func (p *plan) wrongOperand(i int, right *worked) *change {
	r := p.hand.r
	refs := p.refs(i)
	if len(refs) == 0 {
		return nil
	}
	l := refs[r.IntN(len(refs))]
	unit := quants[l.q].unit
	if unit == "" {
		return nil
	}
	known := p.knownFigures(right, i)
	var open []int
	for q := range quants {
		v, ok := known[q]
		if !ok || q == l.q || q == p.steps[i].q || quants[q].unit != unit || mentions(p.steps[i].right, q) || onlyPermeability(q, l.q) {
			continue
		}
		old := known[l.q]
		if math.Abs(v-old) < 0.01*math.Abs(old) || v <= 0 {
			continue
		}
		open = append(open, q)
	}
	if len(open) == 0 {
		return nil
	}
	way := p.steps[i].right.swap(l, ref(open[r.IntN(len(open))]))
	c := slip("wrong-operand", i, edit{way: way})
	c.working = true
	return c
}

// onlyPermeability reports whether two quantities differ by the permeability
// alone: one for the other is a fault with a name of its own.
func onlyPermeability(a, b int) bool {
	x, y := quants[a].id, quants[b].id
	for _, k := range []string{"_volume", "_area", "_length"} {
		if x == "comp"+k && y == "lost"+k || y == "comp"+k && x == "lost"+k {
			return true
		}
	}
	return false
}

// factorOmitted leaves out a factor or a term.
func (p *plan) factorOmitted(i int, _ *worked) *change {
	r := p.hand.r
	n := p.steps[i].right
	var open []*node // parents one of whose sides can go
	var walk func(n *node)
	walk = func(n *node) {
		if n.x == nil || n.y == nil {
			if n.x != nil {
				walk(n.x)
			}
			return
		}
		if n.op == '*' || n.op == '+' || n.op == '-' || n.op == '/' {
			open = append(open, n)
		}
		if n.op != '^' {
			walk(n.x)
			walk(n.y)
		}
	}
	walk(n)
	if len(open) == 0 {
		return nil
	}
	at := open[r.IntN(len(open))]
	keep := at.x
	if (at.op == '*' || at.op == '+') && r.chance(0.5) {
		keep = at.y
	}
	way := n.swap(at, keep)
	if way.op == 'q' || way.op == 'k' || len(way.leaves()) < 2 {
		return nil
	}
	c := slip("factor-omitted", i, edit{way: way})
	c.working = true
	return c
}

// operationSwapped writes + for −, × for ÷ or the reverse.
func (p *plan) operationSwapped(i int, _ *worked) *change {
	r := p.hand.r
	n := p.steps[i].right
	var open []*node
	var walk func(n *node)
	walk = func(n *node) {
		if n.x == nil {
			return
		}
		if n.y == nil {
			walk(n.x)
			return
		}
		if n.op != '^' {
			open = append(open, n)
			walk(n.x)
			walk(n.y)
		}
	}
	walk(n)
	if len(open) == 0 {
		return nil
	}
	at := open[r.IntN(len(open))]
	c := *at
	c.op = map[byte]byte{'+': '-', '-': '+', '*': '/', '/': '*'}[at.op]
	out := slip("operation-swapped", i, edit{way: n.swap(at, &c)})
	out.working = true
	return out
}

// fromNowhere writes the right figure behind a working that does not give it.
func (p *plan) fromNowhere(i int, right *worked) *change {
	c := pick(p.hand.r, p.operationSwapped, p.factorOmitted)(i, right)
	if c == nil {
		return nil
	}
	c.fault, c.severity = "does-not-follow", severityOf("does-not-follow")
	e := c.edits[i]
	x := e.way.eval(func(q int) float64 { return p.figure(right, i, q) })
	if math.IsNaN(x) || math.Abs(x-right.full[i]) < 0.02*math.Abs(right.full[i]) {
		return nil
	}
	for _, y := range rebracketed(e.way, func(q int) float64 { return p.figure(right, i, q) }) {
		if math.Abs(y-right.full[i]) < 0.004*math.Abs(right.full[i]) {
			return nil // its brackets may as well have been meant otherwise
		}
	}
	e.text = right.text[i]
	c.edits[i] = e
	c.working = true
	return c
}

// rebracketed lists what a sum comes to where it was meant in brackets: 21 - 9/2
// for (21 - 9)/2.
func rebracketed(n *node, look func(int) float64) []float64 {
	if n.x == nil || n.y == nil {
		return nil
	}
	var out []float64
	for _, x := range rebracketed(n.x, look) {
		out = append(out, operate(n.op, x, n.y.eval(look)))
	}
	for _, y := range rebracketed(n.y, look) {
		out = append(out, operate(n.op, n.x.eval(look), y))
	}
	if y := n.y; (n.op == '+' || n.op == '-') && (y.op == '*' || y.op == '/') {
		out = append(out, operate(y.op, operate(n.op, n.x.eval(look), y.x.eval(look)), y.y.eval(look)))
	}
	return out
}

// ---- faults of what an answer says of itself ---------------------------------

func (p *plan) wordFault(id, what string, of ...string) *change {
	for _, q := range of {
		if i := p.at[slotOf(q)]; i >= 0 && p.steps[i].answer {
			c := slip(id, i, edit{})
			c.ends = what
			return c
		}
	}
	return nil
}

func (p *plan) directionMissing(int, *worked) *change {
	if p.at[slotOf("km_change")] >= 0 {
		return nil // its sign would say the direction
	}
	return p.wordFault("direction-missing", "no direction", "gm_change", "list")
}

func (p *plan) changeReversed(int, *worked) *change {
	return p.wordFault("change-reversed", "reversed", "gm_change")
}

func (p *plan) listReversed(int, *worked) *change {
	return p.wordFault("list-to-intact-side", "reversed", "list")
}

func (p *plan) unitWrong(i int, _ *worked) *change {
	if !p.steps[i].answer || quants[p.steps[i].q].unit == "" {
		return nil
	}
	c := slip("unit-wrong", i, edit{})
	c.ends = "unit " + map[string]string{"m": "m3", "deg": "m"}[quants[p.steps[i].q].unit]
	return c
}

// notReached ends the last part before its answer.
func (p *plan) notReached(int, *worked) *change {
	last := len(p.question.parts) - 1
	n := 0
	for _, s := range p.steps {
		if s.part == last && s.written && !s.answer {
			n++
		}
	}
	if n < 2 {
		return nil
	}
	c := slip("answer-not-reached", len(p.steps)-1, edit{})
	c.cut = true
	return c
}

func (p *plan) notAttempted(int, *worked) *change {
	if len(p.question.parts) < 2 {
		return nil
	}
	c := slip("part-not-attempted", len(p.steps)-1, edit{})
	c.cut = true
	return c
}
