package students

import "slices"

// Options narrow what is drawn.
type Options struct {
	Family string // one of Families, "" for all
	Fault  string // the first fault drawn, "" for any
	Faults int    // how many faults: -1 any number
	Warm   bool   // the time of each script is the least of three once it was read before
}

// A Draw is one script with everything that is true of it.
type Draw struct {
	N        int
	Question *Question
	Script   string
	Hand     *Hand
	Truth    Truth

	plan *plan
	w    *writer
}

// scriptsPerQuestion is how many scripts are drawn on one question: making a
// question and its marker takes longer than a script.
const scriptsPerQuestion = 4

// questionFor draws the question of the n-th script.
func questionFor(seed uint64, n int, o Options) *Question {
	return DrawQuestion(newRNG(seed, uint64(n/scriptsPerQuestion)*2), o.Family)
}

// drawScript draws the n-th script on its question.
func drawScript(q *Question, seed uint64, n int, o Options) *Draw {
	r := newRNG(seed, uint64(n)*2+1)
	for try := 0; ; try++ {
		if d := tryScript(q, r, o, try); d != nil {
			d.N = n
			return d
		}
		if try > 400 {
			return nil // the fault asked for has no place in this question
		}
	}
}

func tryScript(q *Question, r *rng, o Options, try int) *Draw {
	h := drawHand(r)
	p := makePlan(q, h)
	if p.hand.Table != "lines" {
		p.wholeTable()
	}
	count := o.Faults
	if count < 0 {
		count = r.weighted(0.3, 0.45, 0.25)
	}
	if o.Fault != "" && count == 0 {
		count = 1
	}
	cs, ok := p.choose(r, count, o.Fault)
	if !ok || !p.sound(cs) {
		return nil
	}
	w := newWriter(p)
	w.edits = merged(cs)
	w.figures = p.work(w.edits)
	for _, c := range cs {
		i := p.root(c)
		if c.ends != "" {
			for k := range c.edits {
				w.ends[k] = c.ends
			}
		}
		if c.working && i >= 0 {
			w.force[i] = true
		}
		if c.symbolsRight && i >= 0 {
			w.right[i] = true
		}
		if c.cut {
			p.cut(w, c)
			h.summary, h.pairs = "nothing", false
		}
	}
	w.write()
	d := &Draw{Question: q, Hand: h, plan: p, w: w}
	if !d.tell(cs) {
		return nil
	}
	d.Script = w.text()
	if h.Comma && !tellsComma(d.Script) {
		return nil
	}
	return d
}

// wholeTable writes every figure of the table of moments down, so that there
// is a table to write.
func (p *plan) wholeTable() {
	for _, s := range p.steps {
		if tableQuantities[s.q] {
			s.written = true
		}
	}
}

// choose makes the faults of a draw in the plan.
func (p *plan) choose(r *rng, count int, want string) ([]*change, bool) {
	if count == 0 {
		return nil, true
	}
	var topical, generic int
	for k := 0; k < count; k++ {
		if r.chance(0.65) {
			topical++
		} else {
			generic++
		}
	}
	if want != "" {
		topical, generic = count-1, 1
		for _, f := range p.question.defs() {
			if f.id == want {
				topical, generic = count, 0
			}
		}
	}
	var cs []*change
	for k := 0; k < topical; k++ {
		all := p.changesOf(p.question.defs())
		var ids []string
		for _, c := range all {
			if !slices.Contains(ids, c.fault) && p.apart(cs, c) {
				ids = append(ids, c.fault)
			}
		}
		if len(ids) == 0 {
			return nil, false
		}
		id := ids[r.IntN(len(ids))]
		if want != "" && k == 0 {
			id = want
		}
		var open []*change
		for _, c := range all {
			if c.fault == id && p.apart(cs, c) {
				open = append(open, c)
			}
		}
		if len(open) == 0 {
			return nil, false
		}
		c := open[r.IntN(len(open))]
		p.repeat(c, all)
		cs = append(cs, c)
	}
	p.settle(cs)
	for _, c := range cs {
		if p.root(c) < 0 {
			return nil, false
		}
	}
	last := -1
	for k := 0; k < generic; k++ {
		only := ""
		if k == 0 && topical == 0 {
			only = want
		}
		c := p.drawSlip(r, cs, last, only)
		if c == nil {
			return nil, false
		}
		cs = append(cs, c)
		for i := range c.edits {
			last = max(last, i)
		}
	}
	return cs, true
}

// apart reports whether a change can be made beside the others: at other
// steps, of another idea, and showing somewhere else.
func (p *plan) apart(cs []*change, c *change) bool {
	for _, o := range cs {
		if oneIdea(o.fault, c.fault) || p.root(o) == p.root(c) || o.cut && c.cut {
			return false
		}
		for i := range c.edits {
			if _, ok := o.edits[i]; ok {
				return false
			}
		}
	}
	return true
}

// drawSlip makes one generic fault, worked out on top of those made before.
func (p *plan) drawSlip(r *rng, cs []*change, after int, only string) *change {
	base := p.work(merged(cs))
	var weights []float64
	for _, s := range slipKinds {
		x := s.weight
		if only != "" && s.id != only {
			x = 0
		}
		weights = append(weights, x)
	}
	var open []int
	for i, s := range p.steps {
		if s.written && i > after {
			open = append(open, i)
		}
	}
	if len(open) == 0 {
		return nil
	}
	for try := 0; try < 30; try++ {
		s := slipKinds[r.weighted(weights...)]
		i := open[r.IntN(len(open))]
		if _, taken := merged(cs)[i]; taken || p.isChange(i) && s.id != "unit-wrong" && s.id != "direction-missing" && s.id != "change-reversed" && s.id != "wrong-operand" {
			continue
		}
		c := s.make(p, i, base)
		if c == nil {
			continue
		}
		root := p.root(c)
		if root < 0 && !c.cut || !p.apart(cs, c) {
			continue
		}
		if c.ends == "" && !c.cut && c.edits[i].way != nil {
			x := c.edits[i].way.eval(func(q int) float64 { return p.figure(base, i, q) })
			if x <= 0 && base.full[i] > 0 || x != x || x > 150*base.full[i] || x < base.full[i]/150 {
				continue // nobody lets such a figure stand
			}
			if d := x - base.full[i]; c.edits[i].text == "" && d < 0.004*base.full[i] && -d < 0.004*base.full[i] {
				continue
			}
		}
		return c
	}
	return nil
}

// sound reports whether the whole working with the faults can be gone through.
func (p *plan) sound(cs []*change) bool {
	f := p.work(merged(cs))
	for i, s := range p.steps {
		x := f.full[i]
		if x != x || x > 1e10 || x < -1e10 {
			return false
		}
		if !s.written {
			continue
		}
		if x <= 0 && !p.maySink(s.q) || f.shown[i] == 0 {
			return false
		}
	}
	return true
}

// maySink: quantities that can rightly be negative.
func (p *plan) maySink(q int) bool {
	switch quants[q].id {
	case "gm_initial", "gm_bilged", "gm_change", "km_change", "kb_change", "bm_change":
		return true
	}
	return false
}

// cut leaves unwritten what a script that stops short does not have.
func (p *plan) cut(w *writer, c *change) {
	last := len(p.question.parts) - 1
	for i, s := range p.steps {
		if s.part != last {
			continue
		}
		if c.fault == "part-not-attempted" || s.answer {
			w.drop[i] = true
		}
	}
}

// defs are the faults that can be made in the question, the generator's own
// first, then the sites that only the rules have.
func (q *Question) defs() []*faultDef {
	if q.faults == nil {
		q.faults = append(q.faults, ownFaults...)
		for _, f := range rulesSites(q) {
			if f.together {
				own := false
				for _, o := range ownFaults {
					own = own || o.id == f.id
				}
				if own {
					continue
				}
			}
			q.faults = append(q.faults, f)
		}
	}
	return q.faults
}

// tellsComma reports whether a script with decimal commas shows that it has
// them: 5,385 alone might as well be five thousand.
func tellsComma(t string) bool {
	n := 0
	for i := 1; i+1 < len(t); i++ {
		if t[i] != ',' || !isDigit(t[i-1]) || !isDigit(t[i+1]) {
			continue
		}
		j := i + 1
		for j < len(t) && isDigit(t[j]) {
			j++
		}
		if j-i != 4 || t[i-1] == '0' && (i < 2 || !isDigit(t[i-2])) {
			n++
		}
	}
	return n >= 2
}

func isDigit(c byte) bool { return c >= '0' && c <= '9' }
