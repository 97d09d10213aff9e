package students

import (
	"math"
	"slices"
)

// Truth is what a perfect marker would say of a draw.
type Truth struct {
	Faults []TrueFault
	Lines  []written // what is true of each line
	Marks  []float64 // awarded by part
	// MarksSure is false where the rules leave the marks open to more than one reading.
	MarksSure bool
	// Doubtful: an answer that can't be right stands; a finding of that is no false one.
	Doubtful bool
}

// TrueFault is one fault that was put in.
type TrueFault struct {
	ID       string
	Severity string
	Line     int
	// Else are the lines on which a reader may as well see it: where the name
	// of the wrong step says too little to tell it from a right one of another
	// kind, the fault can be put where that figure is then used.
	Else     []int
	Part     int
	Quantity string
	Ties     []string // other faults that would have been written just so
	Hidden   bool     // rounding leaves no trace of it
	Shown    bool     // formula or figures show it, not the result alone
	again    bool
}

// On reports whether a line is the fault's.
func (f *TrueFault) On(line int) bool { return line == f.Line || slices.Contains(f.Else, line) }

// Names reports whether an id is the fault's, or one of its stated ties.
func (f *TrueFault) Names(id string) bool { return id == f.ID || slices.Contains(f.Ties, id) }

// tell works out the truth of a written draw. It reports false for a draw
// that tells nothing, to be drawn again.
func (d *Draw) tell(cs []*change) bool {
	p, w := d.plan, d.w
	right := p.work(nil)
	rootOf := map[int]int{}
	for k, c := range cs {
		f := TrueFault{ID: c.fault, Severity: c.severity}
		i := d.visible(cs, k)
		if c.cut {
			f.Part = len(d.Question.parts) - 1
			f.Line = w.partEnd[f.Part]
			if c.fault == "part-not-attempted" {
				f.Line = len(w.lines)
				for f.Line > 1 && w.lines[f.Line-1].text == "" {
					f.Line--
				}
			}
			f.Shown = true
			if f.Line == 0 {
				return false
			}
			d.Truth.Faults = append(d.Truth.Faults, f)
			continue
		}
		if i < 0 { // rounding hides it in every line that might show it
			f.Hidden = true
			i = p.root(c)
		}
		if i < 0 || w.drop[i] {
			return false
		}
		if _, taken := rootOf[i]; taken {
			return false
		}
		if !f.Hidden {
			rootOf[i] = k
		}
		f.Part = p.steps[i].part
		f.Quantity = quants[p.steps[i].q].contract()
		f.Line, f.Shown = d.lineOf(c, i)
		if f.Line == 0 {
			return false
		}
		d.Truth.Faults = append(d.Truth.Faults, f)
	}
	for k := range cs {
		d.ties(cs, k)
		d.elsewhere(cs, k, rootOf)
	}
	for j, f := range d.Truth.Faults {
		for k, g := range d.Truth.Faults {
			if j != k && slices.ContainsFunc(append(slices.Clone(g.Ties), g.ID), func(id string) bool { return oneIdea(id, f.ID) }) {
				return false // the second may as well be the first again
			}
		}
	}
	for i, k := range rootOf {
		if d.Truth.Faults[k].Hidden {
			delete(rootOf, i)
		}
	}
	d.lines(cs, right, rootOf)
	// of a script with a hidden fault only the rest can be asked
	d.marks(cs)
	slices.SortStableFunc(d.Truth.Faults, func(a, b TrueFault) int { return a.Line - b.Line })
	return true
}

// lineOf is the line on which a change first shows in its step.
func (d *Draw) lineOf(c *change, i int) (line int, shown bool) {
	at := d.w.at2[i]
	_, own := c.edits[i]
	switch {
	case c.ends != "" || c.figuresRight:
		return at.result, c.working || c.ends != ""
	case at.symbols > 0 && !c.symbolsRight && (own || d.inSymbolsToo(c, i)):
		return at.symbols, true
	case at.figures > 0:
		return at.figures, true
	}
	return at.result, false
}

// inSymbolsToo reports whether the change shows in the symbols of a step by
// way of an unwritten one.
func (d *Draw) inSymbolsToo(c *change, i int) bool {
	found := false
	var walk func(n *node)
	walk = func(n *node) {
		n.each(func(q int) {
			if j := d.plan.at[q]; j >= 0 && d.w.inlined(q, d.w.edits) != nil {
				if _, ok := c.edits[j]; ok {
					found = true
				}
				walk(d.plan.steps[j].right)
			}
		})
	}
	walk(d.plan.steps[i].right)
	return found
}

// lines says what is true of every line.
func (d *Draw) lines(cs []*change, right *worked, rootOf map[int]int) {
	p, w := d.plan, d.w
	tainted := p.tainted(w.edits)
	verdict := make([]accept, len(p.steps))
	for i, s := range p.steps {
		if !s.written {
			continue
		}
		v := okHolds
		if tainted[i] {
			ulp := math.Pow(10, -float64(decimals(w.figures.text[i])))
			v = okFollows
			if math.Abs(w.figures.shown[i]-right.shown[i]) <= 1.01*ulp {
				v |= okHolds
			}
		}
		verdict[i] = v
	}
	grave := func(a, b accept) accept { // of a line that holds several steps
		switch {
		case a == 0:
			return b
		case a == okFaulty || b == okFaulty:
			return okFaulty
		case a&okFollows != 0 && b&okFollows != 0:
			return a & b
		case a&okFollows != 0:
			return a
		case b&okFollows != 0:
			return b
		}
		return a
	}
	set := func(n int, v accept) {
		if n > 0 {
			w.lines[n-1].ok = grave(w.lines[n-1].ok, v)
		}
	}
	for i, s := range p.steps {
		if !s.written || w.drop[i] {
			continue
		}
		at := w.at2[i]
		k, isRoot := rootOf[i]
		if !isRoot {
			for _, n := range distinct(at.symbols, at.figures) {
				if n != at.result {
					set(n, verdict[i]|okHolds)
				}
			}
			set(at.result, verdict[i])
			if at.again > 0 {
				set(at.again, verdict[i]|okAside)
			}
			continue
		}
		bad := d.Truth.Faults[k].Line
		if len(d.Truth.Faults[k].Else) > 0 {
			for _, n := range distinct(at.symbols, at.figures, at.result) {
				set(n, okFaulty|okHolds|okFollows)
			}
			continue
		}
		for _, n := range distinct(at.symbols, at.figures, at.result, at.again) {
			switch {
			case n == bad:
				set(n, okFaulty)
			case n < bad:
				set(n, verdict[i]|okHolds)
			default:
				set(n, okFollows|okHolds|okFaulty|okAside)
			}
		}
	}
	for n := range w.lines {
		if l := &w.lines[n]; l.step <= -2 {
			i := -2 - l.step
			l.ok = verdict[i] | okAside
			if _, isRoot := rootOf[i]; isRoot {
				l.ok = okFollows | okHolds | okAside
			}
		}
	}
	for k := range d.Truth.Faults {
		for _, n := range d.Truth.Faults[k].Else {
			w.lines[n-1].ok |= okFaulty
		}
	}
	d.Truth.Lines = w.lines
}

// visible is the written step in which a change first leaves a trace: where
// only the result stands, it must differ by more than its last place.
func (d *Draw) visible(cs []*change, k int) int {
	p, w, c := d.plan, d.w, cs[k]
	if c.cut {
		return -1
	}
	if c.ends != "" {
		return p.root(c)
	}
	var others []*change
	for j, o := range cs {
		if j != k {
			others = append(others, o)
		}
	}
	base := p.work(merged(others))
	touched := p.touched(c.edits)
	shows := func(i int) bool {
		if line, shown := d.lineOf(c, i); line > 0 && shown && !d.asFigures(cs, k, i) {
			return true
		}
		ulp := 1.01 * math.Pow(10, -float64(decimals(w.figures.text[i])))
		if x := w.figures.shown[i]; math.Abs(x-base.full[i]) > ulp {
			lo, hi := p.spread(merged(others), i)
			return x < lo-ulp || x > hi+ulp
		}
		return false
	}
	first, at := -1, 0
	for i, s := range p.steps {
		if !s.written || w.drop[i] || !touched[i] {
			continue
		}
		// a table may be worked out in another order than it is written
		if line, _ := d.lineOf(c, i); (first < 0 || line < at) && shows(i) {
			first, at = i, line
		}
	}
	return first
}

// asFigures reports whether all that a step shows of a change are figures of
// unwritten steps, such as a right working might have come to.
func (d *Draw) asFigures(cs []*change, k, i int) bool {
	p, w, c := d.plan, d.w, cs[k]
	if _, own := c.edits[i]; own || w.at2[i].figures == 0 || d.inSymbolsToo(c, i) {
		return false
	}
	var others []*change
	for j, o := range cs {
		if j != k {
			others = append(others, o)
		}
	}
	rest := merged(others)
	touched := p.touched(c.edits)
	like := true
	var look func(q int)
	look = func(q int) {
		j := p.at[q]
		if j < 0 || p.steps[j].written || !touched[j] {
			return
		}
		if p.steps[j].inline {
			if _, ok := c.edits[j]; ok {
				like = false // its own wrong formula stands there
			}
			p.steps[j].right.each(look)
			return
		}
		text := p.leafText(w.figures, q)
		ulp := 1.01 * math.Pow(10, -float64(decimals(text)))
		lo, hi := p.spread(rest, j)
		if x := parseFigure(text); x < lo-ulp || x > hi+ulp {
			like = false
		}
	}
	p.steps[i].right.each(look)
	return like
}

// spread is the range of what a student may come to at a step by the same way,
// who rounds other figures than this one did: the places that the trade gives
// a figure, one more, or all that the calculator has. A figure in it that
// stands alone can't be told from a right one.
func (p *plan) spread(edits map[int]edit, i int) (lo, hi float64) {
	lo, hi = math.Inf(1), math.Inf(-1)
	for v := 0; v < 24; v++ {
		var used []float64
		for j := 0; j <= i; j++ {
			s := p.steps[j]
			form := s.right
			e, edited := edits[j]
			if edited && e.way != nil {
				form = e.way
			}
			x := form.eval(func(q int) float64 {
				if k := p.at[q]; k >= 0 {
					return used[k]
				}
				return p.question.value[quants[q].id]
			})
			if edited && e.text != "" {
				x = parseFigure(e.text)
			}
			if j == i {
				lo, hi = math.Min(lo, x), math.Max(hi, x)
			}
			how := 2 // of the first three, each rounds all alike
			if v < 3 {
				how = v
			} else if !s.written || v%2 == 0 {
				how = int(math.Abs(mix(float64(v*131+j))) * 3)
			}
			if how < 2 {
				places := math.Pow(10, float64(quants[s.q].places+how))
				x = math.Round(x*places) / places
			}
			used = append(used, x)
		}
	}
	return lo, hi
}

// elsewhere notes the other lines on which a fault may be seen.
func (d *Draw) elsewhere(cs []*change, k int, rootOf map[int]int) {
	p, w, f := d.plan, d.w, &d.Truth.Faults[k]
	if f.Hidden || cs[k].cut || cs[k].ends != "" {
		return
	}
	i := -1
	for j, x := range rootOf {
		if x == k {
			i = j
		}
	}
	if i < 0 {
		return
	}
	for j, s := range p.steps {
		// its figure may be used above the table in which it is worked out
		if n := w.at2[j].figures; s.written && !w.drop[j] && n > 0 && n < f.Line && p.uses(j, i) {
			f.Else = distinct(append(f.Else, n, w.at2[j].result)...)
		}
	}
	if p.steps[i].answer || !w.weak[i] && !w.vague[i] {
		return
	}
	m := d.Question.Marker.Model()
	ulp := math.Pow(10, -float64(decimals(w.figures.text[i])))
	like := false
	own := &quants[p.steps[i].q]
	for _, q := range m.Quantities {
		if q.ID == own.contract() || w.hand.Units == "everywhere" && q.Unit != own.unit || !w.weak[i] && q.ID != "lost_mass" {
			continue
		}
		v, ok := m.Value(q.ID)
		if ok && math.Abs(v-w.figures.full[i]) <= math.Max(0.5*ulp, 2e-4*math.Abs(v)) { // as good as, whatever was rounded on the way
			like = true
		}
	}
	if !like {
		return
	}
	for j := i + 1; j < len(p.steps); j++ {
		s := p.steps[j]
		if !s.written || w.drop[j] || !p.uses(j, i) {
			continue
		}
		f.Else = distinct(append(f.Else, w.at2[j].symbols, w.at2[j].figures, w.at2[j].result)...)
		f.Ties = append(f.Ties, "wrong-operand")
		return
	}
}

func distinct(ns ...int) []int {
	var out []int
	for _, n := range ns {
		if n > 0 && !slices.Contains(out, n) {
			out = append(out, n)
		}
	}
	return out
}
