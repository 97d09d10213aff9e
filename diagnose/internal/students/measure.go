package students

import (
	"cmp"
	"fmt"
	"math"
	"runtime"
	"slices"
	"sort"
	"strings"
	"sync"
	"time"

	"batten/diagnose"
)

// Count is how often something went right, of how many.
type Count struct{ Right, Of int }

func (c *Count) add(right bool) {
	c.Of++
	if right {
		c.Right++
	}
}

// Share is the part that went right, 1 where there was nothing to get wrong.
func (c Count) Share() float64 {
	if c.Of == 0 {
		return 1
	}
	return float64(c.Right) / float64(c.Of)
}

// Tally is what is counted, of all draws or of some.
type Tally struct {
	Scripts    int
	Line       Count // first faulty line right, of scripts with a fault that shows
	Named      Count // and the fault named
	NamedOrTie Count // named, or among ties: the tool's own, or those the truth knows
	Both       Count // both of two faults found and named
	Innocent   Count // right scripts accused of nothing
	Spared     Count // right lines not called faulty
	Read       Count // lines of working that could be read
	Placed     Count // lines of working whose quantity was told
	Verdicts   Count // lines with the right verdict
	NoExtra    Count // scripts with a fault in which nothing else was charged
	Marks      Count // marks of every part exact, where the rules leave no doubt of them
	Hidden     int   // faults of which rounding left no trace
	Tied       int   // faults that another would have been written just like
}

// Figures is the outcome of a measurement.
type Figures struct {
	Seed     uint64
	N        int
	All      Tally
	Family   map[string]*Tally
	Kind     map[string]*Tally
	Fault    map[string]*Tally
	Habit    map[string]*Tally
	Confused map[string]int // "fault put in → fault named"
	Accused  map[string]int // what right scripts were accused of
	Worst    []*Result
	Results  []*Result // all draws, in their order
	Slowest  time.Duration
	SlowestN int
	Took     time.Duration
	Marking  time.Duration // time in Mark alone, all workers together
	Failures []string      // broken promises: a line without its row, an error, an answer that differs
}

// Result is one draw with what the tool said of it.
type Result struct {
	Draw    *Draw
	Report  *diagnose.Report
	Err     error
	Took    time.Duration
	Bad     float64 // how wrong it is, for the order of reading
	Wrongs  []string
	line    bool
	named   bool
	tied    bool
	both    Count
	accused bool
	extra   bool
	marks   Count
	verdict struct{ spared, read, placed, right Count }
}

// Measure draws n scripts from the seed and marks each.
func Measure(n int, seed uint64, o Options) *Figures {
	start := time.Now()
	f := &Figures{Seed: seed, N: n, Family: map[string]*Tally{}, Kind: map[string]*Tally{}, Fault: map[string]*Tally{}, Habit: map[string]*Tally{}, Confused: map[string]int{}, Accused: map[string]int{}}
	groups := (n + scriptsPerQuestion - 1) / scriptsPerQuestion
	results := make([]*Result, n)
	var wg sync.WaitGroup
	next := make(chan int)
	for range runtime.GOMAXPROCS(0) {
		wg.Go(func() {
			runtime.LockOSThread() // so that the time of one script is its own
			for g := range next {
				q := questionFor(seed, g*scriptsPerQuestion, o)
				for i := g * scriptsPerQuestion; i < min(n, (g+1)*scriptsPerQuestion); i++ {
					if d := drawScript(q, seed, i, o); d != nil {
						results[i] = mark(d)
						if o.Warm {
							results[i].Took = leastOfThree(d)
						}
					}
				}
			}
		})
	}
	for g := range groups {
		next <- g
	}
	close(next)
	wg.Wait()
	for _, r := range results {
		if r != nil {
			f.Results = append(f.Results, r)
			f.add(r)
		}
	}
	sort.SliceStable(f.Worst, func(i, j int) bool { return f.Worst[i].Bad > f.Worst[j].Bad })
	f.Took = time.Since(start)
	return f
}

// Longest are the n scripts that took most time to mark, the longest first.
func (f *Figures) Longest(n int) []*Result {
	out := slices.Clone(f.Results)
	slices.SortStableFunc(out, func(a, b *Result) int { return cmp.Compare(b.Took, a.Took) })
	return out[:min(n, len(out))]
}

// Within is the time in which the share of the scripts was marked, each by itself.
func (f *Figures) Within(share float64) time.Duration {
	all := f.Longest(len(f.Results))
	if len(all) == 0 {
		return 0
	}
	i := int(float64(len(all)) * (1 - share))
	return all[min(max(i, 0), len(all)-1)].Took
}

// One draws a single script again, by its number.
func One(n int, seed uint64, o Options) *Result {
	q := questionFor(seed, n/scriptsPerQuestion*scriptsPerQuestion, o)
	if d := drawScript(q, seed, n, o); d != nil {
		return mark(d)
	}
	return nil
}

// leastOfThree is how long the script takes once it has been read before: what
// else the machine does can make one reading seem many times as long.
func leastOfThree(d *Draw) time.Duration {
	least := time.Duration(math.MaxInt64)
	for range 3 {
		start := threadTime()
		_, _ = safely(d)
		least = min(least, threadTime()-start)
	}
	return least
}

func mark(d *Draw) *Result {
	r := &Result{Draw: d}
	start := threadTime()
	r.Report, r.Err = safely(d)
	r.Took = threadTime() - start
	if r.Err != nil {
		r.wrong(100, "no report: %v", r.Err)
		return r
	}
	r.judge()
	return r
}

func safely(d *Draw) (rep *diagnose.Report, err error) {
	defer func() {
		if x := recover(); x != nil {
			err = fmt.Errorf("panic: %v at %s", x, strings.Join(whereFrom(), " < "))
		}
	}()
	return d.Question.Marker.Mark("drawn", []byte(d.Script))
}

func (r *Result) wrong(bad float64, format string, args ...any) {
	r.Bad += bad
	r.Wrongs = append(r.Wrongs, fmt.Sprintf(format, args...))
}

// findings are those that accuse.
func (r *Result) findings() []*diagnose.Finding {
	var out []*diagnose.Finding
	for i := range r.Report.Findings {
		if r.Report.Findings[i].Severity != diagnose.Remark {
			out = append(out, &r.Report.Findings[i])
		}
	}
	return out
}

// shown are the faults that left a trace, in the order of lines.
func (t *Truth) shown() []*TrueFault {
	var out []*TrueFault
	for i := range t.Faults {
		if !t.Faults[i].Hidden {
			out = append(out, &t.Faults[i])
		}
	}
	return out
}

func names(f *diagnose.Finding, t *TrueFault) bool {
	return t.Names(f.Fault) || slices.Contains(f.Alternatives, t.ID)
}

// judge compares the report with the truth.
func (r *Result) judge() {
	t := &r.Draw.Truth
	found := r.findings()
	shown := t.shown()
	if len(t.Faults) == 0 && len(found) > 0 {
		r.accused = true
		r.wrong(20, "a right script accused of %s on line %d", found[0].Fault, found[0].Line)
	}
	if len(shown) > 0 {
		r.judgeFaults(found, shown)
	}
	for _, x := range found {
		if len(t.Faults) > 0 && !r.expected(x) {
			r.extra = true
			r.wrong(3, "charged besides: %s on line %d", x.Fault, x.Line)
		}
	}
	r.judgeLines()
	if t.MarksSure {
		ok := len(r.Report.Parts) == len(t.Marks)
		for i := range t.Marks {
			if ok && !nearly(r.Report.Parts[i].Awarded, t.Marks[i]) {
				ok = false
			}
		}
		r.marks.add(ok)
		if !ok {
			var got []float64
			for _, p := range r.Report.Parts {
				got = append(got, p.Awarded)
			}
			r.wrong(0.5, "marks %v, should be %v", got, t.Marks)
		}
	}
}

func nearly(a, b float64) bool { return a-b < 1e-6 && b-a < 1e-6 }

// expected reports whether a finding is one of the faults that were put in.
func (r *Result) expected(x *diagnose.Finding) bool {
	t := &r.Draw.Truth
	if x.Fault == "doubtful-answer-let-stand" && t.Doubtful {
		return true
	}
	for i := range t.Faults {
		if f := &t.Faults[i]; f.On(x.Line) {
			return true
		}
	}
	return false
}

// hidden reports whether a finding is a fault of which rounding left no trace that
// had to be seen.
func (r *Result) hidden(x *diagnose.Finding) bool {
	for i := range r.Draw.Truth.Faults {
		if f := &r.Draw.Truth.Faults[i]; f.Hidden && f.On(x.Line) && names(x, f) {
			return true
		}
	}
	return false
}

func (r *Result) judgeFaults(found []*diagnose.Finding, shown []*TrueFault) {
	first := shown[0]
	var top *diagnose.Finding
	for _, x := range found {
		if !r.hidden(x) {
			top = x
			break
		}
	}
	switch {
	case top == nil:
		r.wrong(6, "nothing found; line %d holds %s", first.Line, first.ID)
	case !first.On(top.Line) && !(len(first.Else) > 0 && slices.ContainsFunc(shown, func(f *TrueFault) bool { return f.On(top.Line) })):
		r.wrong(6, "first fault on line %d (%s), should be line %d (%s)", top.Line, top.Fault, first.Line, first.ID)
	default:
		r.line = true
	}
	for _, x := range found {
		if !first.On(x.Line) {
			continue
		}
		for _, f := range shown {
			if f.On(x.Line) && names(x, f) {
				r.tied = true
				if x.Fault == f.ID {
					r.named = true
				}
			}
		}
	}
	if r.line && !r.tied {
		r.wrong(3, "line %d named %s, is %s", first.Line, top.Fault, first.ID)
	}
	if len(shown) == 2 {
		n := 0
		for _, f := range shown {
			for _, x := range found {
				if f.On(x.Line) && names(x, f) {
					n++
					break
				}
			}
		}
		r.both.add(n == 2)
		if n < 2 {
			r.wrong(1, "%d of two faults found", n)
		}
	}
}

func (r *Result) judgeLines() {
	t := &r.Draw.Truth
	if len(r.Report.Lines) != len(t.Lines) {
		r.wrong(50, "%d rows for %d lines", len(r.Report.Lines), len(t.Lines))
		return
	}
	for i, l := range r.Report.Lines {
		ok := t.Lines[i].ok
		v := map[diagnose.Verdict]accept{diagnose.Holds: okHolds, diagnose.Follows: okFollows, diagnose.Faulty: okFaulty, diagnose.Aside: okAside, diagnose.Unplaced: okUnplaced}[l.Verdict]
		work := ok != okAside
		if ok&okFaulty == 0 {
			r.verdict.spared.add(v != okFaulty)
			if v == okFaulty {
				r.wrong(1, "line %d called faulty", i+1)
			}
		}
		if work {
			r.verdict.read.add(l.Verdict != diagnose.Unread)
			if l.Verdict == diagnose.Unread {
				r.wrong(1, "line %d unread: %s", i+1, l.Why)
			}
			placed := l.Verdict != diagnose.Unplaced || ok&okUnplaced != 0
			r.verdict.placed.add(placed)
			if !placed {
				r.wrong(0.5, "line %d unplaced", i+1)
			}
		} else if l.Verdict == diagnose.Unread {
			r.wrong(0.5, "line %d, an aside, unread: %s", i+1, l.Why)
		}
		right := ok&v != 0
		r.verdict.right.add(right)
		if !right && l.Verdict != diagnose.Unread && l.Verdict != diagnose.Unplaced && v != okFaulty {
			r.wrong(0.3, "line %d %s, should be %s", i+1, l.Verdict, ok)
		}
	}
}

func (a accept) String() string {
	var out []string
	for i, s := range []string{"holds", "follows", "faulty", "aside", "unplaced"} {
		if a&(1<<i) != 0 {
			out = append(out, s)
		}
	}
	return strings.Join(out, " or ")
}

func (f *Figures) add(r *Result) {
	d := r.Draw
	if r.Err != nil {
		f.Failures = append(f.Failures, fmt.Sprintf("script %d: %v", d.N, r.Err))
	} else if len(r.Report.Lines) != len(d.Truth.Lines) {
		f.Failures = append(f.Failures, fmt.Sprintf("script %d: %d rows for %d lines", d.N, len(r.Report.Lines), len(d.Truth.Lines)))
	}
	f.Marking += r.Took
	if r.Took > f.Slowest {
		f.Slowest, f.SlowestN = r.Took, d.N
	}
	tallies := []*Tally{&f.All, tallyOf(f.Family, d.Question.Family), tallyOf(f.Kind, d.Question.Kind)}
	for _, t := range slices.Compact(slices.Sorted(slices.Values(d.Hand.tags))) {
		tallies = append(tallies, tallyOf(f.Habit, t))
	}
	for i := range d.Truth.Faults {
		tallies = append(tallies, tallyOf(f.Fault, d.Truth.Faults[i].ID))
	}
	if len(d.Truth.Faults) == 0 {
		tallies = append(tallies, tallyOf(f.Fault, "(none)"))
	}
	for _, t := range tallies {
		t.add(r)
	}
	if shown := d.Truth.shown(); r.Err == nil && len(shown) > 0 && !r.tied {
		named := "nothing"
		for _, x := range r.findings() {
			named = x.Fault
			if !shown[0].On(x.Line) {
				named += " (elsewhere)"
			}
			break
		}
		f.Confused[shown[0].ID+" → "+named]++
	}
	if r.accused {
		x := r.findings()[0]
		q := "–"
		if x.Quantity != nil {
			q = *x.Quantity
		}
		f.Accused[x.Fault+" on "+q]++
	}
	if r.Bad > 0 {
		f.Worst = append(f.Worst, r)
	}
}

func tallyOf(m map[string]*Tally, key string) *Tally {
	t := m[key]
	if t == nil {
		t = &Tally{}
		m[key] = t
	}
	return t
}

func (t *Tally) add(r *Result) {
	t.Scripts++
	truth := &r.Draw.Truth
	if len(truth.Faults) == 0 {
		t.Innocent.add(!r.accused && r.Err == nil)
	} else {
		t.NoExtra.add(!r.extra && r.Err == nil)
	}
	if len(truth.shown()) > 0 {
		t.Line.add(r.line)
		t.Named.add(r.named)
		t.NamedOrTie.add(r.tied)
	}
	for _, x := range truth.Faults {
		if x.Hidden {
			t.Hidden++
		}
		if len(x.Ties) > 0 {
			t.Tied++
		}
	}
	for _, p := range []struct{ to, from *Count }{{&t.Both, &r.both}, {&t.Marks, &r.marks}, {&t.Spared, &r.verdict.spared}, {&t.Read, &r.verdict.read},
		{&t.Placed, &r.verdict.placed}, {&t.Verdicts, &r.verdict.right}} {
		p.to.Right += p.from.Right
		p.to.Of += p.from.Of
	}
}

// whereFrom lists the engine's functions at the place of a panic, innermost first.
func whereFrom() []string {
	pc := make([]uintptr, 32)
	frames := runtime.CallersFrames(pc[:runtime.Callers(3, pc)])
	var out []string
	for {
		f, more := frames.Next()
		if i := strings.LastIndexByte(f.File, '/'); strings.HasPrefix(f.Function, "batten/") && !strings.Contains(f.Function, "students") && len(out) < 4 {
			out = append(out, fmt.Sprintf("%s:%d", f.File[i+1:], f.Line))
		}
		if !more {
			return out
		}
	}
}
