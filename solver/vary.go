package solver

import (
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"sort"
	"strconv"
	"strings"

	"batten/rules"
)

// VaryOptions says what variants of a question are wanted.
type VaryOptions struct {
	Count int
	Seed  uint64   // the same seed gives the same variants, and the first of many are those of few
	Keep  []string // dotted keys whose figures stay as they are
	Allow []string // rules for setting that are waived
}

// Variant is the same question with other figures.
type Variant struct {
	Question *Question
	Model    *Model
	Apart    *Apart // what each fault would give in it
	File     []byte // the question file
}

const (
	drawTries      = 4000 // draws in search of one sound set of figures
	goodCandidates = 8    // sound sets of which the one with the best parted faults is taken
	mostCandidates = 400  // sound sets looked at before faults are told to be inseparable
)

// Vary draws fresh figures for a question: sound ones by the topic's rules for
// setting, in which the faults that a class makes most part from the right
// answer and, as far as can be, from one another. What can't be met is told in
// the error, which joins a [*Shortfall] for each rule that stood in the way.
func Vary(q *Question, o VaryOptions) ([]*Variant, error) {
	m, err := NewModel(q)
	if err != nil {
		return nil, err
	}
	v, err := newVarier(m, o)
	if err != nil {
		return nil, err
	}
	var out []*Variant
	for i := 1; i <= o.Count; i++ {
		x, err := v.variant(i)
		if err != nil {
			if len(out) > 0 {
				return nil, fmt.Errorf("%d of %d could be set, then no more:\n%w", len(out), o.Count, err)
			}
			return nil, err
		}
		out = append(out, x)
	}
	return out, nil
}

// varier draws variants of one question.
type varier struct {
	q     *Question
	topic *rules.Topic
	o     VaryOptions
	allow map[string]bool
	draws []*rules.Draw
	keyOf map[string]figureKey // drawn quantity → its key
	tied  map[string]bool      // givens whose figure a word ties to others
	ties  func(given map[string]float64)
	kind  string // how the conditions decide
	rng   *rand.Rand
	seen  map[string]bool // answers and figures of the variants so far

	drawsMade int
	blame     map[string]*blamed // rule → how often it stood in the way
}

// blamed counts how often a rule stood in the way.
type blamed struct {
	times int
	last  *Shortfall
}

func newVarier(m *Model, o VaryOptions) (*varier, error) {
	q := m.Question
	v := &varier{q: q, topic: q.Topic, o: o, allow: map[string]bool{}, keyOf: map[string]figureKey{}, tied: map[string]bool{}, seen: map[string]bool{}}
	if q.Topic.Setting == nil {
		return nil, fmt.Errorf("the topic %s does not say how its questions are set", q.Topic.ID)
	}
	for _, a := range o.Allow {
		if !contains(RuleNames(q.Topic), a) {
			return nil, fmt.Errorf("there is no rule %q to allow; the rules are %s", a, strings.Join(RuleNames(q.Topic), ", "))
		}
		v.allow[a] = true
	}
	keep := map[string]bool{}
	keys := q.figureKeys()
	for _, k := range o.Keep {
		known := false
		for _, f := range keys {
			if f.path == k || strings.HasPrefix(f.path, k+".") {
				keep[f.path], known = true, true
			}
		}
		if !known {
			var paths []string
			for _, f := range keys {
				paths = append(paths, f.path)
			}
			return nil, fmt.Errorf("the question has no figure at %s that could be kept; it has %s", k, strings.Join(paths, ", "))
		}
	}
	for _, f := range keys {
		if !keep[f.path] {
			v.keyOf[f.quantity] = f
		}
	}
	chosen := map[string]bool{}
	for _, d := range q.Topic.Setting.Draws {
		if _, has := v.keyOf[d.Quantity]; !has || chosen[d.Quantity] || !m.Holds(d.When) {
			continue
		}
		chosen[d.Quantity] = true
		v.draws = append(v.draws, d)
	}
	if len(v.draws) == 0 {
		return nil, errors.New("no figure of the question is left to be drawn afresh")
	}
	tied := m.tied()
	for id := range tied {
		v.tied[id] = true
	}
	v.ties = func(given map[string]float64) {
		for id, x := range tied {
			delete(given, id)
			if f, err := newEvaluator(q.Topic, q.Flags, given).expr(x); err == nil {
				given[id] = f
			}
		}
	}
	v.kind = kindOf(q.Topic, m.eval())
	v.note(m.Apart())
	return v, nil
}

// RuleNames lists the names of the rules for setting that can be waived.
func RuleNames(t *rules.Topic) []string {
	var out []string
	if t.Setting != nil {
		for _, s := range t.Setting.Sound {
			out = append(out, s.ID)
		}
	}
	return append(out, RuleRound, RuleHidden)
}

// kindOf writes down how the topic's conditions decide: figures that decide
// them otherwise make another kind of question.
func kindOf(t *rules.Topic, ev *evaluator) string {
	var b strings.Builder
	for _, c := range t.Conditions {
		switch ok, err := ev.holds(c.When); {
		case err != nil:
			b.WriteByte('?')
		case ok:
			b.WriteByte('1')
		default:
			b.WriteByte('0')
		}
	}
	return b.String()
}

// variant finds the n-th variant.
func (v *varier) variant(n int) (*Variant, error) {
	// A stream of its own for each: the n-th does not hang on how many are asked.
	v.rng = rand.New(rand.NewPCG(v.o.Seed, uint64(n)))
	v.drawsMade, v.blame = 0, map[string]*blamed{}
	var best *Variant
	var rank []int
	good := 0
	for tries, sound := 0, 0; tries < drawTries && sound < mostCandidates && good < goodCandidates; tries++ {
		given, ok := v.draw()
		if !ok {
			continue
		}
		sound++
		x, err := v.build(given, n)
		if err != nil {
			v.accuse(&Shortfall{Rule: "checks", Refusal: Refusal{File: v.q.File, Line: 1, Wrong: err.Error(), Right: "other figures"}})
			continue
		}
		if hidden := x.Apart.HiddenCommon(); len(hidden) > 0 && !v.allow[RuleHidden] {
			v.accuse(x.Apart.Shortfall(hidden[0]))
			continue
		}
		good++
		if r := append([]int{v.alike(x.Apart)}, x.Apart.rank()...); best == nil || less(r, rank) {
			best, rank = x, r
		}
	}
	if best == nil {
		return nil, v.why()
	}
	v.note(best.Apart)
	return v.finish(best)
}

// note remembers the answers of a variant.
func (v *varier) note(t *Apart) {
	v.seen[t.answersText()] = true
	for i, a := range t.Asked {
		v.seen[fmt.Sprint(i, Shown(a.Quantity, a.Right.Value))] = true
	}
}

// alike counts the answers that stand at the same place in another variant.
func (v *varier) alike(t *Apart) int {
	n := 0
	for i, a := range t.Asked {
		if v.seen[fmt.Sprint(i, Shown(a.Quantity, a.Right.Value))] {
			n++
		}
	}
	return n
}

func less(a, b []int) bool {
	for i := range a {
		if a[i] != b[i] {
			return a[i] < b[i]
		}
	}
	return false
}

// draw draws one set of figures and reports whether it is sound.
func (v *varier) draw() (map[string]float64, bool) {
	v.drawsMade++
	given := map[string]float64{}
	for id, x := range v.q.Given {
		given[id] = x
	}
	for _, d := range v.draws {
		delete(given, d.Quantity)
	}
	v.ties(given)
	for _, d := range v.draws {
		x, s := v.figure(d, given)
		if s != nil {
			v.accuse(s)
			return nil, false
		}
		given[d.Quantity] = x
		v.ties(given)
	}
	dr := &drawn{q: v.q, ev: newEvaluator(v.topic, v.q.Flags, given)}
	if kindOf(v.topic, dr.ev) != v.kind {
		v.accuse(&Shortfall{Rule: "kind", Refusal: Refusal{File: v.q.File, Line: 1, Wrong: "the figures make another kind of question", Right: "the kind that it is now"}})
		return nil, false
	}
	if bad := dr.shortfalls(v.allow); len(bad) > 0 {
		for _, s := range bad {
			v.accuse(s)
		}
		return nil, false
	}
	return given, true
}

// figure draws one figure, a multiple of its step.
func (v *varier) figure(d *rules.Draw, given map[string]float64) (float64, *Shortfall) {
	q := v.topic.Quantity(d.Quantity)
	ev := newEvaluator(v.topic, v.q.Flags, given)
	from, to, step := math.Inf(-1), math.Inf(1), d.Step
	if q.Range != nil {
		from, to = q.Range.From, q.Range.To
		if step == 0 {
			step = q.Range.Step
		}
	}
	key := v.keyOf[d.Quantity].path
	fail := func(wrong string) (float64, *Shortfall) {
		dr := &drawn{q: v.q, ev: ev}
		return 0, &Shortfall{Rule: "draw of " + d.Quantity, Refusal: Refusal{
			File: v.q.File, Line: dr.line(key), Key: key, Wrong: wrong, Right: "other figures in the keys it hangs on"}}
	}
	if d.From != nil {
		x, err := ev.expr(d.From)
		if err != nil {
			return fail("no lowest figure of " + q.Title + " can be worked out")
		}
		from = x
	}
	if d.To != nil {
		x, err := ev.expr(d.To)
		if err != nil {
			return fail("no highest figure of " + q.Title + " can be worked out")
		}
		to = x
	}
	low, high := math.Ceil(from/step-1e-9), math.Floor(to/step+1e-9)
	if !(low <= high) || math.IsInf(low, 0) || math.IsInf(high, 0) {
		return fail(fmt.Sprintf("no figure of %s is left between %s and %s", q.Title, Shown(q, from), Shown(q, to)))
	}
	k := low + float64(v.rng.IntN(int(high-low)+1))
	// The figure that a file with it would give, to the last bit.
	x, err := strconv.ParseFloat(strconv.FormatFloat(k*step, 'f', placesOf(step), 64), 64)
	if err != nil {
		return fail("no figure of " + q.Title + " can be drawn")
	}
	return x, nil
}

// build makes a variant of the figures. Its question is not read from a file
// yet: most variants built are only looked at.
func (v *varier) build(given map[string]float64, n int) (*Variant, error) {
	q := *v.q
	q.ID = VariantID(v.q.ID, v.o.Seed, n)
	q.File = q.ID + ".yaml"
	q.Given, q.Written = given, map[string]string{}
	for k, text := range v.q.Written {
		q.Written[k] = text
	}
	for _, d := range v.draws {
		f := v.keyOf[d.Quantity]
		step := d.Step
		qu := v.topic.Quantity(d.Quantity)
		if step == 0 && qu.Range != nil {
			step = qu.Range.Step
		}
		q.Written[f.path] = rewritten(v.q.Written[f.path], qu, given[d.Quantity], step)
	}
	m, err := NewModel(&q)
	if err != nil {
		return nil, err
	}
	x := &Variant{Question: &q, Model: m, Apart: m.Apart()}
	if v.seen[x.Apart.answersText()] {
		return nil, errors.New("the same answers stand in another variant already")
	}
	return x, nil
}

// finish writes the file of a variant and reads it back, so that it passes
// everything that any question file must.
func (v *varier) finish(x *Variant) (*Variant, error) {
	read, err := readQuestion(x.Question.File, x.Question.Text(x.answersNote()...), []*rules.Topic{v.topic})
	if err != nil {
		return nil, err
	}
	for id, f := range x.Question.Given {
		if !Close(read.Given[id], f) {
			return nil, fmt.Errorf("%s reads back as %v, not %v", id, read.Given[id], f)
		}
	}
	m, err := NewModel(read)
	if err != nil {
		return nil, err
	}
	out := &Variant{Question: read, Model: m, Apart: m.Apart()}
	out.File = read.Text(out.answersNote()...)
	return out, nil
}

// VariantID is the id of a variant: that of the question, the seed, the number.
func VariantID(id string, seed uint64, n int) string {
	tail := fmt.Sprintf("-%d-%02d", seed, n)
	return id[:min(len(id), maxIDLength-len(tail))] + tail
}

// answersNote is the reference answers as comments of the question file.
func (x *Variant) answersNote() []string {
	out := []string{"reference answers"}
	for _, a := range x.Apart.Asked {
		out = append(out, fmt.Sprintf("(%s) %s: %s", a.Part.Letter, a.Quantity.Title, Shown(a.Quantity, a.Right.Value)))
	}
	return append(out, x.Question.Topic.Caution)
}

// accuse counts what stood in the way of a draw.
func (v *varier) accuse(s *Shortfall) {
	b := v.blame[s.Rule]
	if b == nil {
		b = &blamed{}
		v.blame[s.Rule] = b
	}
	b.times++
	b.last = s
}

// why says what stood in the way of all draws, the worst first.
func (v *varier) why() error {
	var list []*blamed
	for _, b := range v.blame {
		list = append(list, b)
	}
	sort.Slice(list, func(i, j int) bool {
		if list[i].times != list[j].times {
			return list[i].times > list[j].times
		}
		return list[i].last.Rule < list[j].last.Rule
	})
	errs := []error{fmt.Errorf("%s: no figures were found in %d draws that keep all rules", v.q.ID, v.drawsMade)}
	for i, b := range list {
		if i == 3 || i > 0 && b.times*4 < list[0].times {
			break // what stood in the way now and then is not what prevents it
		}
		errs = append(errs, &hindrance{b.last, b.times, v.drawsMade})
	}
	return errors.Join(errs...)
}

// hindrance is a shortfall with how often it was met.
type hindrance struct {
	*Shortfall
	times, of int
}

func (h *hindrance) Error() string {
	return fmt.Sprintf("%s (in %d of %d draws)", h.Shortfall.Error(), h.times, h.of)
}

func (h *hindrance) Unwrap() error { return h.Shortfall }
