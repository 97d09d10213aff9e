package class

import (
	"cmp"
	"fmt"
	"slices"
	"strings"
	"time"

	"batten/cmd/batten/internal/show"
	"batten/diagnose"
	"batten/solver"
)

// Class is what is known of a class after its run. It keeps a row a script.
type Class struct {
	Rows    []*Row // every script, in order
	Groups  []*Group
	Failed  []*Row // could not be marked, or were not reached
	Changes []Change
	Last    time.Time  // of the last run, zero where not known
	Gone    []Departed // scripts of the last run that are not there any more
	Taken   int        // scripts taken over unchanged
	Redone  int        // unchanged, but marked again: asked for, by another batten, or their pages were not whole
	Still   int        // could not be marked in the last run either
	Missed  int        // not reached
	// Reported tells that the report on the class was written.
	Reported bool
	// Unwritten holds why pages of scripts could not be written.
	Unwritten []Unwritten

	again bool // there was an earlier run
	sums  map[string]*Row
}

// Unwritten is a script whose pages could not be written.
type Unwritten struct{ Script, Reason string }

// Change is a script of which something is new since the last run.
type Change struct {
	Row  *Row
	New  bool   // the last run did not have it
	What string // what is new
	From string // marks before, "" for none
	To   string // marks now, "" for none
}

// Words says the change in a line.
func (c *Change) Words() string {
	switch {
	case c.New && c.To == "":
		return "new; not marked: " + c.Row.Failed
	case c.New:
		return "new; marks " + c.To
	case c.To == "":
		return fmt.Sprintf("%s (marks were %s, and its page is left): %s", c.What, c.From, c.Row.Failed)
	case c.From == "":
		return c.What + "; marks now " + c.To
	case c.From == c.To:
		return c.What + "; marks as before, " + c.To
	}
	return fmt.Sprintf("%s; marks %s, now %s", c.What, c.From, c.To)
}

// tools tells whether nothing is new but the program or what it was asked to
// tell, and the marks are what they were.
func (c *Change) tools() bool {
	rest := strings.NewReplacer(changedProgram, "", changedSettings, "", ", ", "").Replace(c.What)
	return rest == "" && c.From == c.To
}

// Departed is a script that is not there any more.
type Departed struct {
	Script string
	Page   bool // there are pages of it
}

// Tallied counts what became of all scripts since the last run, in words.
func (c *Class) Tallied() []string {
	fresh := 0
	for i := range c.Changes {
		if c.Changes[i].New {
			fresh++
		}
	}
	var out []string
	for _, x := range []struct {
		n    int
		what string
	}{{fresh, "new"}, {len(c.Changes) - fresh, "changed"}, {len(c.Gone), "gone"}, {c.Redone, "marked again"},
		{c.Taken, "as before"}, {c.Still, "still not marked"}, {c.Missed, "not reached"}} {
		if x.n > 0 {
			out = append(out, fmt.Sprintf("%d %s", x.n, x.what))
		}
	}
	return out
}

// Group is the scripts that answer one question.
type Group struct {
	Question *solver.Question
	Model    *solver.Model
	Rows     []*Row
	Faults   []*Tally
	byFault  map[string]*Tally
}

// Tally is one fault with those who made it.
type Tally struct {
	ID       string
	Title    string
	Severity diagnose.Severity // the gravest it was given
	Made     int               // scripts that show it
	First    int               // scripts in which it is the first fault
	Cost     float64           // marks it cost the class
	Surely   int               // scripts in which nothing else explains it
	Quantity string            // where it was made first
	Samples  []Sample
	Idea     string
	seen     map[string]bool
}

// Sample is a line that shows a fault.
type Sample struct {
	Line     int
	Text     string
	From, To int
}

const mostSamples = 3

// Add takes a result. Results come in order.
func (c *Class) Add(res *Result) {
	row := res.Row
	c.Rows = append(c.Rows, row)
	c.since(res)
	if !row.Marked() {
		c.Failed = append(c.Failed, row)
		return
	}
	if res.Problem != "" {
		c.Unwritten = append(c.Unwritten, Unwritten{row.Script, res.Problem})
	}
	c.twice(row)
	c.group(res.Question).add(row)
	for i := range row.Findings { // the words were only wanted for the samples
		row.Findings[i].Text, row.Findings[i].Idea = "", ""
	}
}

// since takes what is new of a script since the last run.
func (c *Class) since(res *Result) {
	row := res.Row
	c.again = c.again || res.Known
	switch {
	case row.Stopped:
		c.Missed++
	case res.Changed != "":
		ch := Change{Row: row, New: !res.Known, What: res.Changed}
		if row.Marked() {
			ch.To = figure(row.Awarded)
		}
		if res.Was != nil {
			ch.From = figure(*res.Was)
		}
		row.Since = ch.Words()
		if ch.tools() { // the whole class: it would hide what is new in earnest
			c.Redone++
			return
		}
		c.Changes = append(c.Changes, ch)
	case !row.Marked():
		c.Still++
	case row.Before:
		c.Taken++
	case res.Known:
		c.Redone++
	}
}

// Again tells whether the folder of results knew an earlier run.
func (c *Class) Again() bool { return c.again || len(c.Gone) > 0 }

// twice looks for a file that was handed in under two names.
func (c *Class) twice(row *Row) {
	if row.Sum == "" || row.Verdicts.claims() == 0 {
		return
	}
	if c.sums == nil {
		c.sums = map[string]*Row{}
	}
	if first := c.sums[row.Sum]; first != nil {
		row.Eye = append(slices.Clip(row.Eye), fmt.Sprintf("the file is the same, byte for byte, as %s: handed in twice?", first.File()))
		return
	}
	c.sums[row.Sum] = row
}

func (c *Class) group(q *solver.Question) *Group {
	for _, g := range c.Groups {
		if g.Question == q {
			return g
		}
	}
	g := &Group{Question: q, byFault: map[string]*Tally{}}
	g.Model, _ = solver.NewModel(q) // it marked a script: it can be made
	c.Groups = append(c.Groups, g)
	return g
}

var gravity = map[diagnose.Severity]int{diagnose.Principal: 2, diagnose.Clerical: 1}

func (g *Group) add(row *Row) {
	g.Rows = append(g.Rows, row)
	here := map[string]bool{}
	first := row.First()
	for i := range row.Findings {
		f := &row.Findings[i]
		t := g.byFault[f.Fault]
		if t == nil {
			t = &Tally{ID: f.Fault, Title: f.Title, Severity: f.Severity, Quantity: f.Quantity, seen: map[string]bool{}}
			if known := g.Question.Topic.Fault(f.Fault); known != nil {
				t.Title = known.Title
			}
			g.byFault[f.Fault] = t
			g.Faults = append(g.Faults, t)
		}
		if gravity[f.Severity] > gravity[t.Severity] {
			t.Severity = f.Severity
		}
		if f == first {
			t.First++
		}
		t.Cost += f.Cost
		if !here[f.Fault] {
			here[f.Fault] = true
			t.Made++
			if f.Shown != diagnose.ShownPossible {
				t.Surely++
			}
		}
		if f.Text != "" && len(t.Samples) < mostSamples && !t.seen[f.Text] && f.Fault != notReached && f.Fault != notAttempted {
			t.seen[f.Text] = true
			t.Samples = append(t.Samples, Sample{f.Line, f.Text, f.From, f.To})
		}
		if t.Idea == "" {
			t.Idea = f.Idea
		}
	}
}

// Sorted is the faults, those that most made first; remarks stand last.
func (g *Group) Sorted() []*Tally {
	out := slices.Clone(g.Faults)
	slices.SortStableFunc(out, func(a, b *Tally) int {
		ra, rb := a.Severity == diagnose.Remark, b.Severity == diagnose.Remark
		switch {
		case ra != rb && ra:
			return 1
		case ra != rb:
			return -1
		}
		return cmp.Or(cmp.Compare(b.Made, a.Made), cmp.Compare(b.Cost, a.Cost), cmp.Compare(a.ID, b.ID))
	})
	return out
}

// Step is one step of the reference working, with the scripts whose first fault
// is there.
type Step struct {
	Quantity string
	Title    string
	Symbol   string
	Part     string
	Asked    bool
	Fell     int // went wrong here
	Stopped  int // stopped short before this answer
	Standing int // nothing wrong up to here and with it
}

// Steps follows the class down the working.
func (g *Group) Steps() []*Step {
	var steps []*Step
	at := map[string]int{}
	for _, p := range g.Model.Working() {
		for _, l := range p.Lines {
			if _, twice := at[l.Quantity]; twice {
				continue
			}
			at[l.Quantity] = len(steps)
			steps = append(steps, &Step{Quantity: l.Quantity, Title: l.Title, Symbol: l.Symbol, Part: p.Part.Letter, Asked: l.Asked})
		}
	}
	for _, row := range g.Rows {
		f := row.First()
		if f == nil || len(steps) == 0 {
			continue
		}
		s := steps[g.stepOf(f, at, steps)]
		if f.Fault == notReached || f.Fault == notAttempted {
			s.Stopped++
		} else {
			s.Fell++
		}
	}
	standing := len(g.Rows)
	for _, s := range steps {
		standing -= s.Fell + s.Stopped
		s.Standing = standing
	}
	return steps
}

// stepOf finds the step of the reference working at which a fault stands: its
// own, or, for a quantity of another way, the first that may rest on it, or the
// answer of its part.
func (g *Group) stepOf(f *Finding, at map[string]int, steps []*Step) int {
	if i, ok := at[f.Quantity]; ok {
		return i
	}
	if slot := g.Model.Slot(f.Quantity); slot >= 0 {
		for i, s := range steps {
			if g.Model.Above[g.Model.Slot(s.Quantity)].Has(slot) {
				return i
			}
		}
	}
	last := len(steps) - 1
	for i, s := range steps {
		if s.Part == f.Part {
			last = i
		}
	}
	return last
}

// Agreement is how often what was found and what the marker says were the same,
// over the scripts that a marker has spoken of.
type Agreement struct {
	Scripts   int
	SameLine  int // the first faulty line
	SameFault int // and the first fault
	Found     int // findings, without remarks, before the marker's word
	Stood     int // of those, left as they were
	Dismissed int
	Renamed   int
	Regraded  int
	Added     int
	Exact     int // total marks the same
	WithinOne int
	Parts     int // marks of parts
	PartExact int
	PartOne   int
}

// Agreement compares the findings with the markers' words.
func (g *Group) Agreement() *Agreement {
	a := &Agreement{}
	for _, row := range g.Rows {
		if row.Marker != nil {
			a.add(row)
		}
	}
	return a
}

func (a *Agreement) add(row *Row) {
	was := row.Marker.Was
	a.Scripts++
	line, fault := 0, ""
	if f := row.First(); f != nil {
		line, fault = f.Line, f.Fault
	}
	if line == was.Line {
		a.SameLine++
		if fault == was.Fault {
			a.SameFault++
		}
	}
	a.Found += was.Findings
	hit := map[string]bool{}
	for _, d := range row.Marker.Done {
		key := fmt.Sprint(d.Line, d.Fault)
		switch d.What {
		case "dismissed":
			a.Dismissed++
			hit[key] = true
		case "renamed":
			a.Renamed++
			hit[key] = true
			hit[fmt.Sprint(d.Line, d.To)] = true
		case "regraded":
			if !hit[key] {
				a.Regraded++
			}
			hit[key] = true
		case "added":
			a.Added++
		}
	}
	near := func(x, y, by float64) bool { return x-y <= by+1e-9 && y-x <= by+1e-9 }
	if near(row.Awarded, was.Awarded, 0) {
		a.Exact++
	}
	if near(row.Awarded, was.Awarded, 1) {
		a.WithinOne++
	}
	for i, p := range row.Parts {
		if i >= len(was.Parts) {
			break
		}
		a.Parts++
		if near(p.Awarded, was.Parts[i], 0) {
			a.PartExact++
		}
		if near(p.Awarded, was.Parts[i], 1) {
			a.PartOne++
		}
	}
	a.Stood = max(0, a.Found-a.Dismissed-a.Renamed-a.Regraded)
}

func figure(x float64) string { return show.Figure(x, 2) }
