package diagnose

import (
	"math"
	"sort"
	"strings"

	"batten/parse"
	"batten/rules"
	"batten/solver"
)

// graded is the script after marking: what stage six makes of the outcomes.
type graded struct {
	run      *run
	script   *parse.Script
	steps    []prepared
	out      []outcome
	state    *state
	part     []int // step → index of its part, -1 none
	findings []finding
	parts    []PartMarks
	replaced map[int]bool // steps whose figure a later one replaces
	used     map[int]bool // unplaced steps whose figure a later step works on
	last     map[int]int  // slot → last step that states it
}

// finding is a Finding before its words are made.
type finding struct {
	charge   charge
	step     int // -1 none
	part     int
	line     int
	severity Severity
	cost     float64
	waived   bool // kept, but costs nothing
}

func (m *run) grade(s *parse.Script, steps []prepared, best *state) *graded {
	g := &graded{run: m, script: s, steps: steps, out: best.out, state: best,
		replaced: map[int]bool{}, used: map[int]bool{}, last: map[int]int{}}
	g.assignParts()
	g.restated()
	g.usedLocals()
	for i := range g.out {
		o := &g.out[i]
		if g.replaced[i] {
			continue
		}
		for _, c := range o.charges {
			if !c.free {
				g.add(c, i)
			}
		}
		for _, c := range o.remarks {
			g.add(c, i)
		}
		g.wrongWay(i)
	}
	g.dropRepeats()
	g.answers()
	g.doubts()
	g.marks()
	sort.SliceStable(g.findings, func(i, j int) bool {
		a, b := &g.findings[i], &g.findings[j]
		if a.line != b.line {
			return a.line < b.line
		}
		return a.charge.at.From < b.charge.at.From
	})
	return g
}

func (g *graded) fault(id string) *rules.Fault { return g.run.topic.Fault(id) }

func (g *graded) add(c charge, step int) {
	f := finding{charge: c, step: step, part: -1, severity: severityOf(g.fault(c.fault))}
	if step >= 0 {
		f.part = g.part[step]
		f.line = g.steps[step].step.Line
		if c.at.Line > 0 {
			f.line = c.at.Line
		}
	}
	g.findings = append(g.findings, f)
}

// assignParts gives each step its part: the mark it stands under, else the
// first part whose answers rest on its quantity, in the order of the script.
func (g *graded) assignParts() {
	m := g.run
	letters := map[string]int{}
	for i, p := range m.question.Parts {
		letters[p.Letter] = i
	}
	g.part = make([]int, len(g.steps))
	current := 0
	for i := range g.steps {
		g.part[i] = -1
		if k, ok := letters[g.steps[i].step.Part]; ok {
			g.part[i] = k
			current = k
			continue
		}
		// what the question gives may be listed anywhere: it begins no part
		if s := g.out[i].slot; s >= 0 && m.partOf[s] >= 0 && !m.model.Given.Has(s) {
			g.part[i] = m.partOf[s]
			if m.partOf[s] > current {
				current = m.partOf[s]
			}
			continue
		}
		g.part[i] = current
	}
}

// restated finds figures that a later line states again, otherwise: the later
// one replaces the earlier, which is then not charged.
func (g *graded) restated() {
	m := g.run
	for i := len(g.out) - 1; i >= 0; i-- {
		o := &g.out[i]
		if o.slot < 0 || o.verdict == Aside {
			continue
		}
		later, ok := g.last[o.slot]
		if !ok {
			if o.value {
				g.last[o.slot] = i
			}
			continue
		}
		if len(o.charges) == 0 || m.model.Given.Has(o.slot) {
			continue
		}
		l := &g.out[later]
		if !o.value { // a formula in words, and the figures below it rightly worked
			if l.verdict == Holds {
				g.replaced[i] = true
			}
			continue
		}
		if l.verdict == Follows && l.from == i+1 {
			continue // it rests on the earlier one
		}
		slack := 1.01 * math.Max(g.steps[i].slack(o), g.steps[later].slack(l))
		if math.Abs(o.stated-l.stated) > slack && math.Abs(o.stated+l.stated) > slack {
			g.replaced[i] = true
		}
	}
}

func (p *prepared) slack(o *outcome) float64 {
	if p.result == nil {
		return 1e-3 * math.Abs(o.stated)
	}
	return p.result.ulp * math.Max(o.scale, 1e-9)
}

// usedLocals finds the unplaced figures that later working takes up.
func (g *graded) usedLocals() {
	for i := range g.out {
		if g.out[i].slot >= 0 || g.out[i].loc == nil {
			continue
		}
		own := g.out[i].loc
		for j := i + 1; j < len(g.steps) && !g.used[i]; j++ {
			v := g.out[j].verdict
			if v != Holds && v != Follows && v != Unplaced {
				continue
			}
			for k := range g.steps[j].sides {
				for a := range g.steps[j].sides[k].alts {
					for _, l := range g.steps[j].sides[k].alts[a].leaves {
						if l.num != nil && own.value.Holds(l.num.Value, 1e-9*math.Abs(l.num.Value)) ||
							l.name != nil && own.label != "" && l.name.Text == own.label {
							g.used[i] = true
						}
					}
				}
			}
		}
	}
	// one that only leads to another unplaced figure, itself never used, is not of a way
	for i := len(g.out) - 1; i >= 0; i-- {
		if g.used[i] && g.out[i].verdict == Unplaced {
			if g.out[i].loc.tainted {
				g.out[i].verdict = Follows
			} else {
				g.out[i].verdict = Holds
			}
		}
	}
}

// dropRepeats charges the same idea once in a script.
func (g *graded) dropRepeats() {
	var kept []finding
	for _, f := range g.findings {
		again := false
		for _, k := range kept {
			if g.run.topicFault(f.charge.fault) && g.run.sameIdea(k.charge.fault, f.charge.fault) {
				again = true
			}
		}
		if !again {
			kept = append(kept, f)
			continue
		}
		o := &g.out[f.step]
		o.verdict = Follows
	}
	g.findings = kept
}

// answers looks at what each part asked: whether it was reached, its
// direction, its unit and its places.
func (g *graded) answers() {
	m := g.run
	lastLine := len(g.script.Lines)
	for lastLine > 1 && strings.TrimSpace(g.script.Lines[lastLine-1].Text) == "" {
		lastLine--
	}
	for k, part := range m.question.Parts {
		pm := PartMarks{Part: part.Letter, Find: part.Find.Words, Available: part.Marks, Reached: true, Answers: []Answer{}}
		end := 0
		wrote := false
		for i := range g.steps {
			if g.part[i] == k && g.out[i].verdict != Aside {
				wrote = true
				if l := g.steps[i].lastLine(); l > end {
					end = l
				}
			}
		}
		for _, l := range g.script.Lines {
			if l.Part == part.Letter && l.Kind != parse.Aside {
				wrote = true
				if l.N > end {
					end = l.N
				}
			}
		}
		for _, a := range part.Find.Answers {
			s := m.model.Slot(a)
			i, ok := g.last[s]
			if !ok {
				i, ok = g.equivalent(s)
			}
			if !ok {
				pm.Reached = false
				continue
			}
			wrote = true
			o := &g.out[i]
			ans := Answer{Quantity: a, Unit: m.model.Quantities[s].Unit, Line: g.steps[i].resultLine()}
			v := g.signed(i, s)
			ans.Stated = number(v)
			ans.Expected = number(o.expected)
			if o.slot != s {
				ans.Expected = number(m.reference(s))
			}
			pm.Answers = append(pm.Answers, ans)
			g.direction(k, i, s)
			g.unitOf(k, i, s)
			g.roundedEarly(i, s)
		}
		if !pm.Reached {
			id, line := FaultNotReached, end
			if !wrote {
				id, line = FaultNotTried, lastLine
			}
			if line == 0 {
				line = lastLine
			}
			f := finding{charge: charge{fault: id, slot: m.model.Slot(part.Find.Answers[0]), shown: ShownWritten, side: -1}, step: -1, part: k, line: line, severity: severityOf(g.fault(id))}
			g.findings = append(g.findings, f)
		}
		g.parts = append(g.parts, pm)
	}
}

// equivalent finds a step that states another quantity always equal to the
// one asked, so that either answers the part.
func (g *graded) equivalent(slot int) (int, bool) {
	best := -1
	for s, i := range g.last {
		if s != slot && g.run.bySign[slot] && g.run.bySign[s] && same(g.run.right[s], g.run.right[slot]) && i > best {
			best = i
		}
	}
	return best, best >= 0
}

func (p *prepared) resultLine() int {
	if n := len(p.sides); n > 0 && p.sides[n-1].at.Line > 0 {
		return p.sides[n-1].at.Line
	}
	return p.step.Line
}

func (p *prepared) lastLine() int {
	l := p.step.Line
	for i := range p.sides {
		if p.sides[i].at.Line > l {
			l = p.sides[i].at.Line
		}
	}
	return l
}

// senseOf is the direction that words or sign give the figure of a step.
func (g *graded) senseOf(i, slot int) (*rules.Sense, bool) {
	m := g.run
	dir := m.direction(slot)
	if dir == nil {
		return nil, false
	}
	p := &g.steps[i]
	pick := func(words string) (*rules.Sense, bool) {
		s, _ := m.oneSense(dir, words)
		return s, s != nil
	}
	if s, ok := pick(p.step.Label + " " + p.step.Words); ok {
		return s, true
	}
	if s, ok := pick(p.step.Row + " " + p.step.Column); ok {
		return s, true
	}
	if m.bySign[slot] {
		w := p.result
		if w != nil && (w.value < 0 || g.plus(w)) {
			for _, s := range dir.Senses {
				if s.Sign < 0 && w.value < 0 || s.Sign > 0 && w.value > 0 {
					return s, true
				}
			}
		}
	}
	if l := p.resultLine(); l > 0 && l <= len(g.script.Lines) {
		if s, ok := pick(g.script.Lines[l-1].Words); ok {
			return s, true
		}
	}
	return nil, false
}

// oneSense is the direction that words speak of, nil where they speak of none
// or of several; spoken tells the two apart.
func (m *run) oneSense(dir *rules.Direction, words string) (s *rules.Sense, spoken bool) {
	if words == "" {
		return nil, false
	}
	ss := m.topic.Senses(dir.ID, words)
	if len(ss) == 1 {
		return ss[0], true
	}
	// an aside in brackets, and a reason given, may speak of something else
	for _, aside := range []string{"(", " as ", " because ", " since ", " for ", " while "} {
		if i := strings.Index(words, aside); i > 0 {
			if ss := m.topic.Senses(dir.ID, words[:i]); len(ss) == 1 {
				return ss[0], true
			}
		}
	}
	return nil, len(ss) > 1
}

// plus reports whether the student wrote a plus before the figure.
func (g *graded) plus(w *written) bool {
	if w.at.Line < 1 || w.at.Line > len(g.script.Lines) {
		return false
	}
	r := []rune(g.script.Lines[w.at.Line-1].Text)
	for i := w.at.From - 1; i >= 0 && i >= w.at.From-4; i-- {
		if i < len(r) && (r[i] == '+' || r[i] == '＋') {
			return true
		}
		if i < w.at.From-1 && i < len(r) && r[i] != ' ' {
			return false
		}
	}
	return false
}

func (m *run) direction(slot int) *rules.Direction {
	id := m.model.Quantities[slot].Direction
	if id == "" {
		return nil
	}
	for _, d := range m.topic.Directions {
		if d.ID == id {
			return d
		}
	}
	return nil
}

// signed is the stated figure with the sign that word or sign gives it.
func (g *graded) signed(i, slot int) float64 {
	v := g.out[i].stated
	if slot < 0 || !g.run.bySign[slot] {
		return v
	}
	if s, ok := g.senseOf(i, slot); ok && s.Sign != 0 {
		return math.Copysign(v, float64(s.Sign))
	}
	return v
}

// direction checks the sense of an answer: given at all, and the right one by
// the student's own figures.
func (g *graded) direction(part, i, slot int) {
	m := g.run
	dir := m.direction(slot)
	if dir == nil {
		return
	}
	sense, ok := g.senseOf(i, slot)
	spoken := false // of several directions: which is meant is not for us to say
	if !ok {
		// said in words on a later line of the part, or at another statement of it
		for j := range g.out {
			if g.out[j].slot == slot || g.out[j].slot >= 0 && m.bySign[slot] && m.bySign[g.out[j].slot] && same(m.right[g.out[j].slot], m.right[slot]) {
				if s, k := g.senseOf(j, slot); k {
					sense, ok = s, true
				}
			}
		}
		for _, l := range g.script.Lines {
			if ok || l.N < g.steps[i].resultLine() || l.Kind == parse.Unread {
				continue
			}
			if l.Kind == parse.Aside || l.Words != "" {
				text := l.Words
				if text == "" {
					text = l.Text
				}
				s, several := m.oneSense(dir, text)
				if s != nil {
					sense, ok = s, true
				}
				spoken = spoken || several
			}
		}
	}
	step := &g.steps[i]
	at := step.step.LabelAt
	if n := len(step.sides); n > 0 {
		at = step.sides[n-1].at
	}
	c := charge{side: len(step.sides) - 1, at: at, shown: ShownWritten, slot: slot}
	if !ok {
		if dir.Missing != "" && !spoken {
			c.fault = dir.Missing
			g.addAt(c, i, part)
			g.out[i].mark(Faulty)
		}
		return
	}
	if g.wrongSense(i, slot, dir, sense) && dir.Reversed != "" {
		c.fault = dir.Reversed
		g.addAt(c, i, part)
		g.out[i].mark(Faulty)
	}
}

// wrongWay charges a step that is no answer and says, in its own words, that
// something moves the other way than it does.
func (g *graded) wrongWay(i int) {
	m, o := g.run, &g.out[i]
	if o.slot < 0 || !o.value || len(o.charges) > 0 || o.verdict != Holds && o.verdict != Follows || m.isAnswer(o.slot) {
		return
	}
	dir := m.direction(o.slot)
	if dir == nil || dir.Reversed == "" {
		return
	}
	p := &g.steps[i]
	ms := m.wordingOf(p).matches
	if len(ms) == 0 || ms[0].slot != o.slot || ms[0].score < 0.6 || ms[0].score < 0.8 && len(ms) > 1 && ms[1].score > ms[0].score-0.25 {
		return // it may be about something else
	}
	ss := m.topic.Senses(dir.ID, p.step.Label+" "+p.step.Words)
	if len(ss) != 1 || !g.wrongSense(i, o.slot, dir, ss[0]) {
		return
	}
	c := charge{fault: dir.Reversed, side: len(p.sides) - 1, shown: ShownWritten, slot: o.slot}
	if n := len(p.sides); n > 0 {
		c.at = p.sides[n-1].at
	}
	g.addAt(c, i, g.part[i])
	o.mark(Faulty)
}

func (m *Marker) isAnswer(slot int) bool {
	for _, part := range m.question.Parts {
		for _, a := range part.Find.Answers {
			if m.model.Slot(a) == slot {
				return true
			}
		}
	}
	return false
}

func (o *outcome) mark(v Verdict) {
	if o.verdict == Holds || o.verdict == Follows {
		o.verdict = v
	}
}

func (g *graded) wrongSense(i, slot int, dir *rules.Direction, sense *rules.Sense) bool {
	m := g.run
	if !m.bySign[slot] {
		for _, s := range dir.Senses {
			if s.When != nil && m.model.Holds(s.When) {
				return s.ID != sense.ID
			}
		}
		return false
	}
	want := 0.0
	for _, f := range m.expected(g.state, slot) {
		if math.Abs(math.Abs(f.Mid())-math.Abs(g.out[i].stated)) <= math.Max(2*g.steps[i].slack(&g.out[i]), f.Width()) {
			if f.Lo < 0 && f.Hi > 0 {
				return false // so small that rounding alone gives its sign
			}
			want = f.Mid()
			break
		}
	}
	if want == 0 {
		want = g.out[i].expected
	}
	if want == 0 || math.IsNaN(want) || sense.Sign == 0 {
		return false
	}
	return (want > 0) != (sense.Sign > 0)
}

func (g *graded) addAt(c charge, step, part int) {
	g.add(c, step)
	g.findings[len(g.findings)-1].part = part
	if c.at.Line == 0 {
		g.findings[len(g.findings)-1].line = g.steps[step].resultLine()
	}
}

// unitOf remarks on an answer without its unit, and charges one of another kind.
func (g *graded) unitOf(part, i, slot int) {
	m := g.run
	p := &g.steps[i]
	q := m.model.Quantities[slot]
	w := p.result
	if w == nil || g.out[i].slot != slot {
		return
	}
	c := charge{side: len(p.sides) - 1, at: w.at, shown: ShownWritten, slot: slot}
	// a unit given at another statement of the answer will do
	given := w.unit != nil || w.percent
	for j := range g.out {
		if g.out[j].slot == slot && g.steps[j].result != nil && (g.steps[j].result.unit != nil || g.steps[j].result.percent) {
			given = true
		}
	}
	switch {
	case w.unit != nil && !m.unitFits(w.unit, slot):
		c.fault = FaultWrongUnit
		g.addAt(c, i, part)
		g.out[i].mark(Faulty)
	case q.Unit != "" && !given:
		c.fault = FaultNoUnit
		g.addAt(c, i, part)
	}
	if w.digits > 0 && !w.percent && g.out[i].verdict != Faulty {
		least := math.Pow(10, -float64(q.Places))
		if ulp := w.ulp * g.out[i].scale; ulp > least*1.01 && !roundFigure(w, g.out[i].stated, m.reference(slot)) {
			c.fault = FaultPlaces
			best := true
			for j := range g.out {
				if g.out[j].slot == slot && g.steps[j].result != nil && g.steps[j].result.ulp*g.out[j].scale <= least*1.01 {
					best = false
				}
			}
			if best {
				g.addAt(c, i, part)
			}
		}
	}
}

// roundFigure reports whether the figure is exact as written: 0.5 for 0.50.
func roundFigure(w *written, stated, ref float64) bool {
	return solver.Close(stated, ref)
}
