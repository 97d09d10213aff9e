package diagnose

import (
	"math"

	"batten/parse"
	"batten/rules"
	"batten/solver"
)

// Ids of the faults that the engine itself finds, on any quantity.
const (
	FaultArithmetic  = "arithmetic-slip"
	FaultTransposed  = "digits-transposed"
	FaultDecimal     = "decimal-point-shifted"
	FaultBrackets    = "brackets-lost"
	FaultMiscopied   = "figure-miscopied"
	FaultOperand     = "wrong-operand"
	FaultFactor      = "factor-omitted"
	FaultOperation   = "operation-swapped"
	FaultDoubtful    = "doubtful-answer-let-stand"
	FaultNotFollow   = "does-not-follow"
	FaultUnexplained = "unexplained"
	FaultNotReached  = "answer-not-reached"
	FaultNotTried    = "part-not-attempted"
	FaultRounded     = "rounded-early"
	FaultUnwritten   = "brackets-unwritten"
	FaultNoUnit      = "unit-missing"
	FaultWrongUnit   = "unit-wrong"
	FaultPlaces      = "places-off"
)

// Costs of believing in each, in the same currency as the named faults'.
const (
	costTransposed   = 3.2
	costDecimal      = 3.3
	costBrackets     = 3.0
	costArithmetic   = 3.5
	costOperand      = 4.6
	costFactor       = 4.4
	costOperation    = 4.5
	costSign         = 4.3 // + for −, or − for +
	costTooMany      = 4.7
	costNotFollow    = 5.0
	costUnexplained  = 7.0
	costFollows      = 0.05
	costUnplaced     = 3.0
	costWorksOnWrong = 3.0 // a right figure worked from one that was charged
	costRounded      = 0.4 // a figure that holds only by rounding what was not written
)

// A charge is one fault found in a step.
type charge struct {
	fault        string
	side         int // which side shows it, -1: the result alone
	at           parse.Span
	shown        string
	alternatives []string
	unwritten    int     // 1 + slot of the unwritten step that went wrong, 0: the step itself
	right        float64 // for a copied figure: what should stand there
	wrote        float64 // for a copied figure: what stands there
	free         bool    // the same idea as an earlier one: follows
	slot         int
	picks        *reading
}

// An outcome is what a step comes to when taken for a quantity.
type outcome struct {
	slot     int // -1: not placed
	verdict  Verdict
	cost     float64
	charges  []charge
	remarks  []charge
	stated   float64         // in the quantity's unit; NaN when no figure was stated
	scale    float64         // quantity's unit = written figure × scale
	expected float64         // NaN when unknown
	keep     solver.Interval // what later steps may work on from
	tainted  bool
	from     int // 1 + step of the root it follows from
	sites    []*solver.Site
	loc      *local
	uses     []int // locals used (step indices)
	sense    string
	value    bool // a figure was stated
	formula  bool // only a formula was written
	bad      int  // side that first goes wrong, for the rows of a chain over several lines; -1 none
	why      string
	read     *reading
}

// assessFit judges a step taken for the quantity in the slot where its figure
// is what it should be, or where it states none; ok is false where the figure
// is another, and has to be explained.
func (m *run) assessFit(st *state, p *prepared, slot int) (out []outcome, ok bool) {
	last := m.lastWorking(p)
	if p.result == nil {
		if last < 0 {
			return nil, true
		}
		q, lit := p.opened(last)
		if !lit {
			return m.assessFormula(st, p, slot), true
		}
		p = q
	}
	figs := m.expected(st, slot)
	scales := m.scalesFor(slot, p.result)
	if q := m.inRoundNumbers(p, scales); q != nil {
		p = q
	}
	for _, t := range m.statedAs(p.result, slot) {
		if k, ok := m.fits(t, figs, slot); ok {
			return m.assessRight(st, p, slot, figs, k, t, last, scales), true
		}
	}
	if out, ok := m.assessAgain(st, p, slot); ok {
		return out, true
	}
	if out, ok := m.assessRounded(st, p, slot, last, scales); ok {
		return out, true
	}
	return m.assessLoose(st, p, slot, last, scales)
}

// assessAgain judges a wrong figure that is put down once more, in an answer or
// a table: it follows from where it was first written.
func (m *run) assessAgain(st *state, p *prepared, slot int) ([]outcome, bool) {
	iv, ok := st.env.Stated(slot)
	if !ok || !st.tainted.Has(slot) || m.lastWorking(p) >= 0 {
		return nil, false
	}
	for _, t := range m.statedAs(p.result, slot) {
		x := t.value
		if m.bySign[slot] && iv.Mid() < 0 && x > 0 {
			x = -x
		}
		if !iv.Holds(x, t.half+1e-9*math.Abs(x)) {
			continue
		}
		o := m.newOutcome(slot, t)
		o.verdict, o.tainted, o.from, o.cost = Follows, true, int(st.root[slot]), costFollows
		o.expected, o.keep = x, iv
		return []outcome{o}, true
	}
	return nil, false
}

// assessRounded judges a figure that is what it should be only if figures that
// were not written down were rounded on the way, as the trade lets them be.
// Where the step's own working is written it tells by itself, and the figures
// in it are not rounded further.
func (m *run) assessRounded(st *state, p *prepared, slot, last int, scales []float64) ([]outcome, bool) {
	if m.model.Given.Has(slot) {
		return nil, false
	}
	var figs []solver.Figure
	for _, t := range m.statedAs(p.result, slot) {
		if figs == nil {
			m.spare = st.env.DeriveRounded(m.spare, m.roundings(&m.short, slot, t))
			figs = append(figs, m.spare.Derived(slot)...)
		}
		if k, ok := m.fits(t, figs, slot); ok {
			if last >= 0 && !(p.sides[last].names && !p.sides[last].figures) {
				if _, ok := m.gives(st, &p.sides[last], p.result, scales); !ok {
					return nil, false
				}
			}
			out := m.assessRight(st, p, slot, figs, k, t, last, scales)
			for i := range out {
				out[i].cost += costRounded
			}
			return out, true
		}
	}
	return nil, false
}

// roundings gives half a unit of the place that each quantity not written down
// may have been rounded to: the trade's own places, and
// no fewer places than the stated figure has where that is of the same kind.
func (m *run) roundings(places *[solver.MaxSlots]float64, slot int, t target) *[solver.MaxSlots]float64 {
	half := &m.half
	*half = *places
	for s := range m.model.Quantities {
		if m.units[s] != nil && m.units[s] == m.units[slot] && half[s] > t.slack/2 {
			half[s] = t.slack / 2
		}
	}
	return half
}

// assessMiss judges a step whose figure is not what the quantity in the slot
// should have. It returns the outcomes worth keeping, cheapest first: more than
// one where the evidence so far can't tell between explanations.
func (m *run) assessMiss(st *state, p *prepared, slot int) []outcome {
	last := m.lastWorking(p)
	if p.result == nil {
		q, lit := p.opened(last)
		if !lit {
			return nil
		}
		p = q
	}
	figs := m.expected(st, slot)
	ts := m.statedAs(p.result, slot)
	if p.step.Table > 0 && p.result.value < 0 && len(ts) > 1 && ts[1].scale == -ts[0].scale {
		ts = ts[1:] // a row that is taken off
	}
	scales := m.scalesFor(slot, p.result)
	out := m.assessWrong(st, p, slot, figs, ts[0], last, scales)
	if last >= 0 {
		return out
	}
	for _, t := range ts[1:] { // in another unit, which was not written
		if t.scale < 0 {
			continue
		}
		for _, o := range m.assessWrong(st, p, slot, figs, t, last, scales) {
			if len(o.charges) == 0 || m.topicFault(o.charges[0].fault) {
				o.cost += 0.6
				out = append(out, o)
			}
		}
	}
	return out
}

// lastWorking is the index of the last side that is an expression, -1 if none.
func (m *run) lastWorking(p *prepared) int {
	for i := len(p.sides) - 1; i >= 0; i-- {
		if len(p.sides[i].alts) > 0 {
			return i
		}
	}
	return -1
}

// expected are the figures the quantity may rightly have here: what follows
// from the student's own, under the faults already made, and the reference.
func (m *run) expected(st *state, slot int) []solver.Figure {
	right := st.env.Derive().Derived(slot)
	free := m.freeSites(st)
	if len(free) == 0 {
		return right
	}
	spoilt := m.under(st, free).Derived(slot)
	figs := append(m.figs.Take(len(right) + len(spoilt))[:0], right...)
	for _, f := range spoilt {
		f.Way = nil
		f.From = f.From.Or(st.tainted)
		f.Spoilt = true
		figs = append(figs, f)
	}
	return figs
}

// under derives what follows from the state's figures under faults, in room that
// the next call uses again.
func (m *run) under(st *state, wrong []*solver.Site) *solver.Deriver {
	m.spare = st.env.DeriveAgain(m.spare, wrong...)
	return m.spare
}

func (m *Marker) reference(slot int) float64 { return m.model.Worlds[0][slot] }

// costUnseen is what speaks against working that would rest on an earlier fault
// made once more in a step that stands nowhere: its figures may be what they say.
const costUnseen = 0.8

// isReference reports whether the figure is the right one, by right figures
// rounded as a student may round them.
func (m *run) isReference(t target, slot int) bool {
	r := m.reference(slot)
	d := math.Abs(t.value - r)
	if m.bySign[slot] {
		d = math.Min(d, math.Abs(t.value+r))
	}
	return d <= t.slack+1e-9*math.Abs(r)
}

func (m *run) taintOf(st *state, f *solver.Figure) (bool, int) {
	bad := f.From.And(st.tainted)
	if bad.Empty() && f.Spoilt {
		// the fault stands in a formula, no figure is wrong yet
		for _, x := range st.made {
			if _, ok := m.touched[x.fault]; ok || len(x.unwritten) > 0 {
				return true, x.step + 1
			}
		}
	}
	if bad.Empty() {
		return false, 0
	}
	from := 0
	bad.Each(func(i int) {
		if r := int(st.root[i]); r > 0 && (from == 0 || r < from) {
			from = r
		}
	})
	return true, from
}

// assessRight judges a step whose figure is what it should be. It holds (or
// follows), unless its own working does not give it.
func (m *run) assessRight(st *state, p *prepared, slot int, figs []solver.Figure, idx int, t target, last int, scales []float64) []outcome {
	f := figs[idx]
	o := m.newOutcome(slot, t)
	o.expected = middle(f.Interval)
	o.keep = keepRange(t, f.Interval)
	tainted, from := m.taintOf(st, &f)
	for i := idx + 1; i < len(figs) && !tainted && m.isReference(t, slot); i++ {
		// where rounding hides the difference, it may as well come of a wrong figure
		if _, ok := m.fits(t, figs[i:i+1], slot); ok && figs[i].Way != nil {
			tainted, from = m.taintOf(st, &figs[i])
		}
	}
	o.tainted, o.from = tainted, from
	if tainted && !m.isReference(t, slot) {
		o.verdict, o.cost = Follows, costFollows
		if f.Spoilt && last >= 0 && !at(m.freeSites(st), slot) {
			o.cost += costUnseen
		}
	}
	if t.scale > 0 && t.scale != 1 && p.result.unit == nil && !p.result.percent {
		o.cost += 0.6
	}
	o.cost += m.without(st, slot, &f, tainted, t, figs)
	if last < 0 {
		return []outcome{o}
	}
	sd := &p.sides[last]
	if !tainted && m.worksOnWrong(st, p, slot) {
		o.cost += costWorksOnWrong
	}
	if v, ok := m.gives(st, sd, p.result, scales); ok {
		if v.form.kind == meant {
			o.remarks = append(o.remarks, charge{fault: FaultUnwritten, at: sd.at, side: last, shown: ShownWritten, slot: slot})
		}
		o.keep = o.keep.Hull(keptOf(&o, p.result, v.exact, scales))
		return m.writtenFault(st, p, slot, o, figs, last, v, scales)
	}
	return m.notGiven(st, p, slot, o, last, scales)
}

// without is what speaks against faults made before in a figure that goes without
// them: one that is made at all of its sites or none spoils all of them.
func (m *run) without(st *state, slot int, f *solver.Figure, tainted bool, t target, figs []solver.Figure) float64 {
	if m.fitsSpoilt(t, figs) {
		return 0
	}
	cost := 0.0
	for _, x := range st.made {
		if m.spoils(x.fault, slot) && (!tainted || m.goesWithout(st, f, x.fault)) {
			cost += 2
		}
	}
	return cost
}

// keptOf is what the calculator shows where the written figures of a working
// are put into it, which may be kept as well as what was written down.
func keptOf(o *outcome, w *written, x float64, scales []float64) solver.Interval {
	for _, f := range scales {
		if y := x * f; math.Abs(math.Abs(y)-math.Abs(w.value)) <= w.ulp*1.000001 {
			return solver.Point(math.Copysign(y*o.scale, o.keep.Mid()))
		}
	}
	return solver.Void()
}

// fitsSpoilt reports whether the figure is, as rounded, also what a fault made
// before would give: then it speaks neither for nor against that.
func (m *run) fitsSpoilt(t target, figs []solver.Figure) bool {
	for i := range figs {
		if figs[i].Spoilt && figs[i].Holds(t.value, t.slack+1e-9*math.Abs(t.value)) {
			return true
		}
	}
	return false
}

// worksOnWrong reports whether a right figure is worked from one that was taken
// to be wrong: then that was no wrong one, but something else.
func (m *run) worksOnWrong(st *state, p *prepared, slot int) bool {
	if len(st.made) == 0 {
		return false
	}
	for k := range p.sides {
		if len(p.sides[k].alts) == 0 {
			continue
		}
		for i := range p.sides[k].alts[0].leaves {
			l := &p.sides[k].alts[0].leaves[i]
			if l.num == nil || l.sig < 3 {
				continue
			}
			x, wrong := l.figure(), false
			for s := range m.model.Quantities {
				iv, ok := st.env.Stated(s)
				if !ok && m.model.Given.Has(s) {
					iv, ok = solver.Point(m.reference(s)), true
				}
				if !ok || !iv.Holds(x, 0.505*l.ulp) {
					continue
				}
				if s == slot || !st.tainted.Has(s) || math.Abs(x-m.reference(s)) <= 0.505*l.ulp {
					wrong = false // or right by itself, wherever it came from
					break
				}
				wrong = true
			}
			if wrong {
				return true
			}
		}
	}
	return false
}

// notGiven judges a right figure that the working beside it does not give: a
// figure copied wrongly in the working, else a figure from nowhere.
func (m *run) notGiven(st *state, p *prepared, slot int, o outcome, last int, scales []float64) []outcome {
	sd := &p.sides[last]
	if sd.figures {
		if c, ok := m.copiedWrong(st, sd, last, p.result, scales, slot); ok {
			bad := o
			bad.verdict, bad.cost = Faulty, o.cost+costMiscopied
			bad.charges = []charge{c}
			bad.bad = last
			return []outcome{bad}
		}
	}
	// working that cannot be followed at all (half of it in words) proves nothing,
	// unless it is plainly a known wrong one
	if !sd.figures && sd.names {
		o.cost += 0.5
		return m.writtenFault(st, p, slot, o, nil, last, sideValue{exact: math.NaN()}, scales)
	}
	if _, ok := sd.alts[0].literal(); !ok {
		o.cost += 0.8
		return []outcome{o}
	}
	// a chain run on (2.25 + 6.00 = 8.25 - 6.80 = 1.45) is judged by its last link
	bad := o
	bad.verdict, bad.cost = Faulty, o.cost+costNotFollow
	bad.charges = []charge{{fault: FaultNotFollow, side: last, at: sd.at, shown: ShownWritten, slot: slot}}
	bad.bad = last
	return []outcome{bad}
}

// copiedWrong looks for one figure of the working that, put right, makes it
// give the written result.
func (m *run) copiedWrong(st *state, sd *side, k int, w *written, scales []float64, slot int) (charge, bool) {
	best := math.Inf(1)
	var c charge
	for i := range sd.alts {
		f := &sd.alts[i]
		m.lift(st, f, slot, true, func(r *reading) bool {
			if r.most = best; r.slip == 0 || r.cost >= best {
				return true
			}
			var in [maxLeaves]solver.Interval
			for j := range r.picks {
				in[j] = r.picks[j].iv
			}
			iv := f.code.Range(in[:len(r.picks)])
			for _, s := range scales {
				if (solver.Interval{Lo: iv.Lo * s, Hi: iv.Hi * s}).Holds(w.value, w.ulp) {
					best = r.cost
					pick := r.picks[r.slip-1]
					c = charge{fault: FaultMiscopied, side: k, at: f.leaves[r.slip-1].at, shown: ShownWritten, right: pick.right, slot: slot}
				}
			}
			return true
		})
		if best < math.Inf(1) {
			return c, true
		}
	}
	return c, false
}

func (m *run) newOutcome(slot int, t target) outcome {
	return outcome{slot: slot, verdict: Holds, stated: t.value, scale: t.scale, value: true, expected: math.NaN(), bad: -1}
}

// middle is the figure to tell of a range, NaN where there is none.
func middle(iv solver.Interval) float64 {
	if iv.IsVoid() {
		return math.NaN()
	}
	return iv.Mid()
}

// keepRange is what later steps may work on from: the written figure, or what
// the calculator kept.
func keepRange(t target, f solver.Interval) solver.Interval {
	if f.IsVoid() {
		return solver.Point(t.value)
	}
	// a stated size of a signed figure keeps the figure's own sign
	if (t.value > 0) != (f.Mid() > 0) && f.Mid() != 0 && t.value != 0 {
		t.value = -t.value
	}
	iv := solver.Point(t.value).Hull(f)
	if iv.Width() > 4*t.slack && t.slack > 0 {
		// the range has grown too wide to tell anything: hold it to the rounding
		lo, hi := t.value-t.slack, t.value+t.slack
		iv = solver.Interval{Lo: math.Max(iv.Lo, lo), Hi: math.Min(iv.Hi, hi)}
	}
	return iv
}

// spoils reports whether a fault that is made at all of its sites or none
// changes the quantity: a right figure there speaks against it.
func (m *run) spoils(fault string, slot int) bool {
	t, ok := m.touched[fault]
	return ok && t.Has(slot)
}

// goesWithout reports whether a figure was worked from a right one not written
// down that the fault would have changed.
func (m *run) goesWithout(st *state, f *solver.Figure, fault string) bool {
	if f.Way == nil {
		return false
	}
	for _, d := range f.Way.Code.Deps() {
		if st.env.Has().Has(d) || m.model.Given.Has(d) || !m.spoils(fault, d) {
			continue
		}
		from := st.env.Derive().Derived(d)
		if len(from) > 0 && (from[0].From.And(st.tainted).Empty() || m.goesWithout(st, &from[0], fault)) {
			return true
		}
	}
	return false
}

func severityOf(f *rules.Fault) Severity {
	if f == nil {
		return Principal
	}
	return Severity(f.Severity)
}
