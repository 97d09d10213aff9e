package students

import (
	"math"
	"slices"
)

// A signature is all that a reader can tell of a step from its writing.
type signature struct {
	text    string
	figures float64
	leaves  float64
	symbols float64
}

// signatures are those of every written step under the edits, in the shape
// that the draw has.
func (d *Draw) signatures(edits map[int]edit, f *worked, right map[int]bool) []signature {
	p, w := d.plan, d.w
	out := make([]signature, len(p.steps))
	for i, s := range p.steps {
		if !s.written || w.drop[i] {
			continue
		}
		form := s.right
		if e, ok := edits[i]; ok && e.way != nil {
			form = e.way
		}
		sig := signature{text: f.text[i]}
		if w.at2[i].figures > 0 {
			sig.figures, sig.leaves = d.figureMark(form, edits, f)
		}
		if w.at2[i].symbols > 0 {
			if right[i] {
				form = s.right
			}
			sig.symbols = d.symbolMark(form, edits)
		}
		out[i] = sig
	}
	return out
}

// figureMark is what a formula in figures comes to, as written, and a sum
// over the figures in it that hardly two sets share.
func (d *Draw) figureMark(n *node, edits map[int]edit, f *worked) (value, leaves float64) {
	var walk func(n *node) float64
	walk = func(n *node) float64 {
		switch n.op {
		case 'k':
			leaves += mix(n.k)
			return n.k
		case 'm':
			leaves += mix(n.k)
			return n.k
		case 'q':
			if x := d.w.inlined(n.q, edits); x != nil {
				return walk(x)
			}
			v := parseFigure(d.plan.leafText(f, n.q))
			leaves += mix(v)
			return v
		case 'n':
			return -walk(n.x)
		case 'f':
			return apply(n.text, walk(n.x))
		}
		x := walk(n.x)
		return operate(n.op, x, walk(n.y))
	}
	value = walk(n)
	return value, leaves
}

func mix(x float64) float64 { return math.Mod(math.Sin(x*12.9898+1)*43758.5453, 1) }

// symbolMark is what a formula in symbols comes to in a world where every
// quantity has a figure of its own.
func (d *Draw) symbolMark(n *node, edits map[int]edit) float64 {
	var walk func(n *node) float64
	walk = func(n *node) float64 {
		switch n.op {
		case 'k':
			return n.k
		case 'q', 'm':
			if x := d.w.inlined(n.q, edits); x != nil {
				return walk(x)
			}
			return 1.5 + math.Abs(mix(float64(n.q+3)))
		case 'n':
			return -walk(n.x)
		case 'f':
			return apply(n.text, walk(n.x))
		}
		x := walk(n.x)
		return operate(n.op, x, walk(n.y))
	}
	return walk(n)
}

func alike(a, b []signature) bool {
	near := func(x, y float64) bool { return math.Abs(x-y) <= 1e-9*math.Max(math.Abs(x), math.Abs(y))+1e-12 }
	for i := range a {
		if a[i].text != b[i].text || !near(a[i].figures, b[i].figures) || math.Abs(a[i].leaves-b[i].leaves) > 1e-6 || !near(a[i].symbols, b[i].symbols) {
			return false
		}
	}
	return true
}

// ties finds what else would have been written just as the k-th change was.
func (d *Draw) ties(cs []*change, k int) {
	p, w := d.plan, d.w
	c := cs[k]
	f := &d.Truth.Faults[k]
	if f.Hidden || c.cut || c.ends != "" {
		return
	}
	var others []*change
	for j, o := range cs {
		if j != k {
			others = append(others, o)
		}
	}
	mine := d.signatures(w.edits, w.figures, w.right)
	rest := merged(others)
	base := p.work(rest)
	if alike(mine, d.signatures(rest, base, nil)) {
		f.Hidden = true
		return
	}
	var named []string
	i := p.root(c)
	for _, a := range p.changesOf(singles(d.Question.defs())) {
		if e, ok := a.edits[i]; ok && c.fault == "does-not-follow" {
			// the wrong working may as well be a fault's, the right figure slipped in
			e.text = c.edits[i].text
			a.edits[i] = e
		}
		if a.fault == c.fault || slices.Contains(named, a.fault) {
			continue
		}
		clash := false
		for i := range a.edits {
			if _, ok := rest[i]; ok {
				clash = true
			}
		}
		if clash {
			continue
		}
		edits := merged(append(slices.Clone(others), a))
		g := p.work(edits)
		same := true
		for i, s := range p.steps { // cheap first
			if s.written && !w.drop[i] && g.text[i] != w.figures.text[i] {
				same = false
				break
			}
		}
		if same && alike(mine, d.signatures(edits, g, w.right)) {
			named = append(named, a.fault)
		}
	}
	if c.generic && c.fault != "does-not-follow" && len(named) > 0 && !c.figuresRight {
		// a fault of the topic says better what this is
		f.ID, f.Ties = named[0], named[1:]
		c.fault, c.severity = f.ID, severityOf(f.ID)
		f.Severity = c.severity
		return
	}
	f.Ties = named
	if !f.Shown {
		now, was := w.figures.text[i], base.text[i]
		if isTransposed(now, was) && !c.generic && c.fault != "digits-transposed" {
			f.Ties = append(f.Ties, "digits-transposed")
		}
		if isShift(w.figures.full[i], base.full[i]) && c.fault != "decimal-point-shifted" {
			f.Ties = append(f.Ties, "decimal-point-shifted")
		}
		if c.generic && c.working {
			f.Ties = append(f.Ties, "unexplained", "arithmetic-slip")
		}
	}
	if c.fault == "wrong-operand" || c.fault == "does-not-follow" {
		f.Ties = append(f.Ties, d.miscopyTies(c, i)...)
	}
}

// singles adds to the faults those made at all their sites at once as made at
// one alone.
func singles(defs []*faultDef) []*faultDef {
	out := defs
	for _, f := range defs {
		if f.together && f.rewrite == nil {
			one := *f
			one.together = false
			out = append(out[:len(out):len(out)], &one)
		}
	}
	return append(out[:len(out):len(out)], writtenOtherwise...)
}

// writtenOtherwise are faults in other words than those in which they are
// drawn: what leaves F out of a share of the trim has left it amidships.
var writtenOtherwise = []*faultDef{{id: "flotation-left-amidships", severity: severityOf("flotation-left-amidships"), sites: []siteDef{
	{slotOf("trim_share_damaged_end"), isCut, formula("trim_change/100*(length/2)/length")},
	{slotOf("trim_share_intact_end"), isCut, formula("trim_change/100*(length/2)/length")},
}}}

// miscopyTies: an operand that differs from the right one by a digit may as
// well be a slip of the pen.
func (d *Draw) miscopyTies(c *change, i int) []string {
	e := c.edits[i]
	if e.way == nil {
		return nil
	}
	a, b := d.plan.steps[i].right.leaves(), e.way.leaves()
	if len(a) != len(b) {
		return nil
	}
	for k := range a {
		if a[k].op != 'q' || b[k].op != 'q' || a[k].q == b[k].q {
			continue
		}
		x, y := d.plan.leafText(d.w.figures, a[k].q), d.plan.leafText(d.w.figures, b[k].q)
		if isTransposed(x, y) || oneDigitApart(x, y) {
			return []string{"figure-miscopied"}
		}
	}
	return nil
}

func oneDigitApart(a, b string) bool {
	if len(a) != len(b) {
		return len(a)-len(b) == 1 || len(b)-len(a) == 1
	}
	n := 0
	for k := range a {
		if a[k] != b[k] {
			n++
		}
	}
	return n <= 1
}
