package students

import (
	"math"
	"sort"
	"strconv"
)

// A step is one quantity that the student works out, written down or not.
type step struct {
	q       int
	way     *node // as this student works it, faults and all
	right   *node // as it should be worked by the same way
	part    int
	written bool
	inline  bool // unwritten: its formula stands in the lines that use it, not its figure
	answer  bool
	tag     string
}

// A plan is the student's whole way through the question.
type plan struct {
	question *Question
	is       *kind
	hand     *Hand
	steps    []*step
	at       []int // quantity → its step, -1 none
}

// worked holds the figures of one working of a plan.
type worked struct {
	full  []float64 // as the calculator keeps them
	shown []float64 // as written
	text  []string  // the written figure, undecorated
}

// chooseWays settles by which way each quantity will be worked.
func chooseWays(h *Hand, k *kind) map[int]way {
	out := map[int]way{}
	for q := range quants { // in order, for the same draw every time
		ws, ok := chainWays[q]
		if !ok {
			continue
		}
		var open []way
		var weights []float64
		for _, x := range ws {
			if x.when == nil || x.when(k) {
				open = append(open, x)
				weights = append(weights, x.weight)
			}
		}
		if len(open) > 0 {
			out[q] = open[h.r.weighted(weights...)]
		}
	}
	// a draught had from the volume, and a sinkage had from the draught, go together
	s, d := slotOf("sinkage"), slotOf("bilged_draught")
	if out[s].tag == "way: draught from the volume" {
		out[d] = chainWays[d][1]
	}
	// second moments first for one state, first for both
	if h.Order == "second moment first" {
		for _, id := range []string{"bm_initial", "bm_bilged"} {
			for _, x := range chainWays[slotOf(id)] {
				if x.tag == "way: second moment first" && (x.when == nil || x.when(k)) {
					out[slotOf(id)] = x
				}
			}
		}
	}
	return out
}

// makePlan lays out the steps to every answer, in an order that can be worked.
func makePlan(q *Question, h *Hand) *plan {
	p := &plan{question: q, is: &q.is, hand: h, at: make([]int, len(quants))}
	for i := range p.at {
		p.at[i] = -1
	}
	ways := chooseWays(h, p.is)
	var visit func(s, part int)
	visit = func(s, part int) {
		if p.at[s] >= 0 || p.isGiven(s) {
			return
		}
		x, ok := ways[s]
		if !ok {
			panic("no way to " + quants[s].id + " in " + q.Kind)
		}
		if s == slotOf("kb_bilged") && h.Order == "second moment first" && q.is.side {
			if b := slotOf("second_moment_trans"); p.at[b] < 0 {
				visit(b, part)
			}
		}
		if sum, ok := map[string]string{"net_moment": "net_volume", "blocks_moment": "blocks_volume"}[quants[s].id]; ok && h.Table != "lines" && h.r.chance(0.6) {
			visit(slotOf(sum), part)
		}
		var deps []int
		x.form.each(func(d int) { deps = append(deps, d) })
		sort.SliceStable(deps, func(i, j int) bool { return quants[deps[i]].state == 'i' && quants[deps[j]].state != 'i' })
		for _, d := range deps {
			visit(d, part)
		}
		if p.at[s] >= 0 {
			return
		}
		form := x.form.shuffled(h.r)
		p.at[s] = len(p.steps)
		p.steps = append(p.steps, &step{q: s, way: form, right: form, part: part, written: true, tag: x.tag})
	}
	for i, find := range q.parts {
		if find == "change of GM" || find == "final GM" || find == "final KM" {
			p.foresee(visit, ways, find, i)
		}
		for _, a := range answersOf(find) {
			visit(a, i)
		}
	}
	for i, find := range q.parts {
		for _, a := range answersOf(find) {
			s := p.steps[p.at[a]]
			s.answer = true
			s.part = i
		}
	}
	p.leaveOut()
	for _, s := range p.steps {
		if s.tag != "" {
			h.tag(s.tag)
		}
	}
	return p
}

// foresee visits some quantities before those that need them, where the hand
// works in another order than the formulas'.
func (p *plan) foresee(visit func(s, part int), ways map[int]way, find string, part int) {
	do := func(ids ...string) {
		for _, id := range ids {
			if s := slotOf(id); p.needed(ways, find, s) {
				visit(s, part)
			}
		}
	}
	switch p.hand.Order {
	case "second moment first":
		do("second_moment_initial", "second_moment_bilged")
	case "quantity by quantity":
		do("kb_initial", "kb_bilged", "bm_initial", "bm_bilged")
	}
}

// needed reports whether the answers of a find rest on the quantity.
func (p *plan) needed(ways map[int]way, find string, s int) bool {
	seen := map[int]bool{}
	var walk func(x int) bool
	walk = func(x int) bool {
		if x == s {
			return true
		}
		if seen[x] || p.isGiven(x) {
			return false
		}
		seen[x] = true
		found := false
		ways[x].form.each(func(d int) { found = found || walk(d) })
		return found
	}
	for _, a := range answersOf(find) {
		if walk(a) {
			return true
		}
	}
	return false
}

// leaveOut decides which steps stay in the student's head.
func (p *plan) leaveOut() {
	h := p.hand
	for _, s := range p.steps {
		if s.answer {
			continue
		}
		c := &quants[s.q]
		if s.way.op == 'q' || s.way.op == 'k' { // nothing to work out
			s.written = false
			s.inline = true
			continue
		}
		if h.skips(c) {
			s.written = false
			s.inline = h.r.chance(0.7)
			if len(s.way.leaves()) > 4 && h.Skip != "answers only" {
				s.inline = false
			}
		}
	}
	p.tidyUnits()
}

// tidyUnits keeps a sinkage in centimetres and its figure in metres apart.
func (p *plan) tidyUnits() {
	h := p.hand
	i := p.at[slotOf("sinkage_cm")]
	if i < 0 {
		return
	}
	cm, m := p.steps[i], p.steps[p.at[slotOf("sinkage")]]
	cm.written = true
	if m.answer {
		// without its unit an answer in centimetres would be one in metres
		if h.Units == "everywhere" && h.r.chance(0.5) {
			m.written, m.inline = false, false
		}
	} else {
		m.written = h.r.chance(0.3)
		m.inline = h.r.chance(0.5)
	}
}

func (p *plan) isGiven(q int) bool {
	_, ok := p.question.given[quants[q].id]
	return ok
}

// expand replaces what the plan lacks (or works only later) by formulas.
func (p *plan) expand(form *node, before, depth int) (*node, bool) {
	if depth > 12 {
		return nil, false
	}
	switch form.op {
	case 'k':
		return form, true
	case 'q':
		if p.isGiven(form.q) || p.at[form.q] >= 0 && p.at[form.q] < before {
			return form, true
		}
		for _, x := range chainWays[form.q] {
			if x.when == nil || x.when(p.is) {
				return p.expand(x.form, before, depth+1)
			}
		}
		return nil, false
	}
	c := *form
	var ok bool
	if c.x, ok = p.expand(form.x, before, depth+1); !ok {
		return nil, false
	}
	if form.y != nil {
		if c.y, ok = p.expand(form.y, before, depth+1); !ok {
			return nil, false
		}
	}
	return &c, true
}

// An edit puts a wrong formula, or a wrong result, in the place of a step's.
type edit struct {
	way  *node
	text string // the figure written down, whatever the working gives; "" where it is what it gives
}

// work works the plan out with some steps edited.
func (p *plan) work(edits map[int]edit) *worked {
	n := len(p.steps)
	w := &worked{make([]float64, n), make([]float64, n), make([]string, n)}
	for i, s := range p.steps {
		form := s.right
		e, edited := edits[i]
		if edited && e.way != nil {
			form = e.way
		}
		x := form.eval(func(q int) float64 { return p.figure(w, i, q) })
		places := p.hand.placesOf(s.q)
		if math.Abs(x) < 1 && quants[s.q].unit != "" && quants[s.q].places > 0 && math.Abs(x) < math.Pow(10, -float64(places))*3 {
			// a figure so small gets more places from anybody, but not where it is the
			// difference of figures that have no more; where that leaves nothing of it,
			// the calculator is looked at again
			switch {
			case x != 0 && (p.hand.Rounding == "full" || !form.sums()):
				places += 2
			case math.Abs(x) < math.Pow(10, -float64(places))/2:
				x = form.eval(func(q int) float64 { return p.kept(w, q) })
				places += 2
			}
		}
		w.full[i] = x
		w.shown[i], w.text[i] = p.hand.round(x, places)
		if edited && e.text != "" { // the slip stands as it was made, and is worked on from
			w.text[i] = e.text
			w.shown[i], _ = strconv.ParseFloat(e.text, 64)
			w.full[i] = w.shown[i]
		}
	}
	return w
}

// sums reports whether the formula does nothing but add and take away.
func (n *node) sums() bool {
	return n.op == 'q' || (n.op == '+' || n.op == '-') && n.x.sums() && n.y.sums()
}

// kept is the figure of a quantity in full.
func (p *plan) kept(w *worked, q int) float64 {
	if v, ok := p.question.value[quants[q].id]; ok && p.at[q] < 0 {
		return v
	}
	return w.full[p.at[q]]
}

// figure is what the student uses for a quantity in a later step.
func (p *plan) figure(w *worked, user, q int) float64 {
	if v, ok := p.question.value[quants[q].id]; ok && p.at[q] < 0 {
		return v
	}
	i := p.at[q]
	s := p.steps[i]
	if !s.written && s.inline {
		return w.full[i]
	}
	switch p.hand.Rounding {
	case "full":
		return w.full[i]
	case "mixed":
		if (user*31+q*17)%3 == 0 {
			return w.full[i]
		}
	}
	return w.shown[i]
}

// touched lists, for every step, whether its own formula (with what is
// unwritten in it) holds an edited step.
func (p *plan) touched(edits map[int]edit) []bool {
	out := make([]bool, len(p.steps))
	for i, s := range p.steps {
		if _, ok := edits[i]; ok {
			out[i] = true
			continue
		}
		s.right.each(func(q int) {
			if j := p.at[q]; j >= 0 && j < i && !p.steps[j].written && out[j] {
				out[i] = true
			}
		})
	}
	return out
}

// tainted lists, for every step, whether it rests on an edited one.
func (p *plan) tainted(edits map[int]edit) []bool {
	out := make([]bool, len(p.steps))
	for i, s := range p.steps {
		form := s.right
		if e, ok := edits[i]; ok {
			out[i] = true
			if e.way != nil {
				form = e.way
			}
		}
		form.each(func(q int) {
			if j := p.at[q]; j >= 0 && j < i && out[j] {
				out[i] = true
			}
		})
	}
	return out
}

// uses reports whether the formula of step j, with what is unwritten in it,
// holds the figure of step i.
func (p *plan) uses(j, i int) bool {
	found := false
	p.steps[j].way.each(func(q int) {
		k := p.at[q]
		if k == i || k >= 0 && k < j && !p.steps[k].written && p.uses(k, i) {
			found = true
		}
	})
	return found
}
