package students

import "math"

// changesOf lists every way in which the faults can be made in the plan, the
// ones that alter nothing left out.
func (p *plan) changesOf(defs []*faultDef) []*change {
	var out []*change
	// judged in full figures: rounding can make a difference where the formula makes none
	rounding := p.hand.Rounding
	p.hand.Rounding = "full"
	defer func() { p.hand.Rounding = rounding }()
	right := p.work(nil)
	add := func(c *change) {
		if c != nil && p.matters(c, right) {
			out = append(out, c)
		}
	}
	for _, f := range defs {
		switch {
		case f.rewrite != nil:
			add(p.rewriteChange(f))
		case f.together:
			add(p.togetherChange(f))
		default:
			for _, s := range f.sites {
				add(p.siteChange(f, s))
			}
		}
	}
	return out
}

func (p *plan) newChange(f *faultDef) *change {
	return &change{fault: f.id, severity: f.severity, edits: map[int]edit{}, again: map[int]bool{}}
}

// form fits a wrong formula to the plan: with its steps' names, and with
// formulas for what it has no steps for.
func (p *plan) form(s siteDef) (int, *node, bool) {
	i := p.at[s.q]
	if i < 0 || s.when != nil && !s.when(p.is) {
		return -1, nil, false
	}
	n, ok := p.expand(s.form, i, 0)
	if !ok || len(n.leaves()) > 12 {
		return -1, nil, false
	}
	if p.hand.fold {
		for j := 0; j < i; j++ {
			t := p.steps[j]
			if t.written && t.right.op == '*' && t.q != s.q {
				n = n.folded(t.q, t.right)
			}
		}
	}
	return i, n, true
}

func (p *plan) siteChange(f *faultDef, s siteDef) *change {
	i, n, ok := p.form(s)
	if !ok {
		return nil
	}
	c := p.newChange(f)
	c.edits[i] = edit{way: n}
	return c
}

func (p *plan) togetherChange(f *faultDef) *change {
	c := p.newChange(f)
	for _, s := range f.sites {
		i, n, ok := p.form(s)
		if !ok {
			continue
		}
		if _, twice := c.edits[i]; twice || p.restsOnEdited(p.steps[i].right, i, c.edits) {
			continue
		}
		c.edits[i] = edit{way: n}
	}
	return c.marked()
}

// marked notes which edit comes first: the others are the same idea again.
func (c *change) marked() *change {
	if len(c.edits) == 0 {
		return nil
	}
	first := math.MaxInt
	for i := range c.edits {
		first = min(first, i)
	}
	for i := range c.edits {
		if i != first {
			c.again[i] = true
		}
	}
	return c
}

func (p *plan) rewriteChange(f *faultDef) *change {
	if p.at[slotOf("solid_volume")] >= 0 {
		return nil // who reckons with the cargo's volume knows what permeability is
	}
	c := p.newChange(f)
	for i, s := range p.steps {
		if n := f.rewrite(p, s.q, s.right); n != nil {
			c.edits[i] = edit{way: n}
		}
	}
	if i := p.at[slotOf("lost_volume")]; f.id == "permeability-in-volume-only" && i >= 0 && p.restsOnEdited(p.steps[i].right, i, c.edits) {
		return nil // worked from that area, the volume is without it too
	}
	return c.marked()
}

// restsOnEdited reports whether a formula uses an edited step, through
// whatever lies between.
func (p *plan) restsOnEdited(n *node, before int, edits map[int]edit) bool {
	found := false
	n.each(func(q int) {
		j := p.at[q]
		if j < 0 || j >= before || found {
			return
		}
		if _, ok := edits[j]; ok {
			found = true
			return
		}
		found = p.restsOnEdited(p.steps[j].right, j, edits)
	})
	return found
}

// matters reports whether the change makes any difference to the figures.
func (p *plan) matters(c *change, right *worked) bool {
	if c == nil {
		return false
	}
	wrong := p.work(c.edits)
	differs := false
	for i := range p.steps {
		if math.IsNaN(wrong.full[i]) || math.IsInf(wrong.full[i], 0) {
			return false
		}
		if math.Abs(wrong.full[i]-right.full[i]) > 1e-9*math.Abs(right.full[i]) {
			differs = true
		}
	}
	if !differs {
		return false
	}
	return p.root(c) >= 0
}

// root is the written step in which a change first shows, -1 if none does.
func (p *plan) root(c *change) int {
	touched := p.touched(c.edits)
	for i, s := range p.steps {
		if s.written && touched[i] {
			return i
		}
	}
	return -1
}

// repeat lets the student go wrong in the same way again where another step
// gives the chance, as one who has the idea wrong mostly does.
func (p *plan) repeat(c *change, all []*change) {
	first := math.MaxInt
	for i := range c.edits {
		first = min(first, i)
	}
	for _, o := range all {
		if !oneIdea(o.fault, c.fault) || o == c || len(o.edits) != 1 {
			continue
		}
		must := c.fault == "permeability-omitted" && o.fault == "permeability-omitted-from-moments"
		if c.fault == "permeability-in-volume-only" || c.fault == "permeability-in-area-only" && o.fault != "permeability-omitted-from-moments" {
			continue
		}
		for i, e := range o.edits {
			_, edited := c.edits[i]
			if edited || i <= first || p.restsOnEdited(p.steps[i].right, i, c.edits) && !must {
				continue
			}
			if must || p.hand.r.chance(0.5) {
				c.edits[i] = e
				c.again[i] = true
			}
		}
	}
}

// settle fits the plan to a change: steps that now have nothing to work out,
// or that nothing uses any more, are not written.
func (p *plan) settle(cs []*change) {
	edits := merged(cs)
	for i, e := range edits {
		s := p.steps[i]
		if e.way != nil && (e.way.op == 'q' || e.way.op == 'k') && !s.answer && p.isGivenRef(e.way) {
			s.written, s.inline = false, true
		}
	}
	used := make([]bool, len(p.steps))
	var use func(i int)
	use = func(i int) {
		if used[i] {
			return
		}
		used[i] = true
		n := p.steps[i].right
		if e, ok := edits[i]; ok && e.way != nil {
			n = e.way
		}
		n.each(func(q int) {
			if j := p.at[q]; j >= 0 {
				use(j)
			}
		})
	}
	for i, s := range p.steps {
		if s.answer || quants[s.q].contract() == "net_volume" {
			use(i)
		}
	}
	for i, s := range p.steps {
		if !used[i] {
			s.written = false
		}
	}
	for _, s := range p.steps {
		if cm := p.at[slotOf("sinkage_cm")]; s.answer && !s.written && (cm < 0 || !p.steps[cm].written) {
			s.written = true // what stood for it is gone
		}
	}
}

func (p *plan) isGivenRef(n *node) bool { return n.op == 'k' || p.isGiven(n.q) }

func merged(cs []*change) map[int]edit {
	out := map[int]edit{}
	for _, c := range cs {
		for i, e := range c.edits {
			o := out[i]
			if e.way != nil {
				o.way = e.way
			}
			if e.text != "" {
				o.text = e.text
			}
			out[i] = o
		}
	}
	return out
}
