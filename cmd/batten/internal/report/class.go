package report

import (
	"cmp"
	"fmt"
	"html/template"
	"slices"
	"strings"
	"time"

	"batten/cmd/batten/internal/class"
	"batten/cmd/batten/internal/show"
	"batten/diagnose"
)

// Class makes the report on a class.
func Class(c *class.Class, when time.Time) ([]byte, error) {
	v := &classView{When: when.Format("2 January 2006"), Scripts: len(c.Rows), Since: newSince(c)}
	v.Marked = v.Scripts - len(c.Failed)
	for _, r := range c.Failed {
		switch {
		case r.Stopped:
			if v.Missed++; v.Missed == 1 {
				v.MissedFrom = r.File()
			}
		case len(v.Failed) == mostGrid:
			v.FailedMore++
		default:
			v.Failed = append(v.Failed, r)
		}
	}
	for _, g := range c.Groups {
		v.Groups = append(v.Groups, newGroup(g))
		if v.Caution == "" {
			v.Caution = g.Question.Topic.Caution
		}
	}
	v.Title = "A class and its answers"
	if len(v.Groups) == 1 {
		v.Title = v.Groups[0].Title
	}
	return render("class.html", v)
}

type classView struct {
	Title, When, Caution string
	Scripts, Marked      int
	Groups               []*groupView
	Failed               []*class.Row
	FailedMore           int // that are not listed
	Missed               int // were not reached: the run was stopped
	MissedFrom           string
	Since                *sinceView
}

type groupView struct {
	ID, Title string
	Of        float64
	N         int
	Glance    []string
	Marks     template.HTML
	Squares   bool // the plot shows each script
	Steps     []stepView
	Stops     bool
	Pairs     []pairView
	Remarks   int
	Teach     []teachView
	Short     []string       // what was left unwritten
	More      []*class.Tally // faults that few made
	Noted     []*class.Tally // remarks
	Eye       []eyeView
	EyeMore   int // that are not listed
	Word      []wordView
	WordMore  int
	Agree     *class.Agreement
	Keys      []keyView
	Grid      []gridRow
	TooMany   bool
	LeftOut   int // faults without a column
	Letters   []string
}

// stepView is a step at which somebody was lost or an answer stands, or a run
// of those in between.
type stepView struct {
	*class.Step
	Bar     template.HTML
	Begin   bool   // of its part
	Between string // a run of steps at which nobody was lost
}

type pairView struct {
	pair
	Bar template.HTML
}

type teachView struct {
	*class.Tally
	Share   string
	Lines   []sampleView
	Idea    string
	Mend    string
	Should  string
	Bar     template.HTML
	Unknown bool // what is misunderstood is not known
}

type sampleView struct{ Pieces []piece }

type eyeView struct {
	Who, Script, Page string
	Why               []string
}

type wordView struct {
	Who, Page, By string
	Done          []string
}

type keyView struct{ Letter, Title, Grade string }

type gridRow struct {
	Who, Page string
	File      string // where others have the same name
	Cells     []cellView
	Marks     []string
	Total     string
	Eye, Word bool
}

type cellView struct{ Sign, Says string }

// Bounds on what the page spells out: a page is read, a sheet is searched.
const (
	mostTaught = 7
	mostGrid   = 400
	mostKeys   = 18
)

func newGroup(g *class.Group) *groupView {
	v := &groupView{ID: g.Question.ID, Title: g.Question.Title, N: len(g.Rows)}
	var marks []float64
	for _, r := range g.Rows {
		v.Of = r.Full
		marks = append(marks, r.Awarded)
	}
	median := medianOf(marks)
	v.Marks = marksPlot(marks, v.Of, median)
	v.Squares = anySquares(marks, v.Of)
	steps := g.Steps()
	v.steps(steps)
	v.pairs(g)
	v.teach(g)
	v.people(g)
	v.Glance = glance(g, steps, marks, median, v.Of)
	return v
}

// steps lists the steps, with the runs that everybody passed folded.
func (v *groupView) steps(steps []*class.Step) {
	part := ""
	var run []*class.Step
	fold := func() {
		switch len(run) {
		case 0:
			return
		case 1:
			s := run[0]
			v.Steps = append(v.Steps, stepView{Step: s, Bar: stepBar(s, v.N), Begin: s.Part != part})
			part = s.Part
		default:
			first, last := run[0], run[len(run)-1]
			join := " to "
			if len(run) == 2 {
				join = " and "
			}
			v.Steps = append(v.Steps, stepView{Step: first, Begin: first.Part != part,
				Between: fmt.Sprintf("%d steps, nobody lost: %s%s%s", len(run), lower(first.Title), join, lower(last.Title))})
			part = first.Part
		}
		run = nil
	}
	for _, s := range steps {
		v.Stops = v.Stops || s.Stopped > 0
		if len(run) > 0 && run[0].Part != s.Part {
			fold()
		}
		if s.Fell+s.Stopped == 0 && !s.Asked {
			run = append(run, s)
			continue
		}
		fold()
		v.Steps = append(v.Steps, stepView{Step: s, Bar: stepBar(s, v.N), Begin: s.Part != part})
		part = s.Part
	}
	fold()
}

func medianOf(marks []float64) float64 {
	if len(marks) == 0 {
		return 0
	}
	s := slices.Sorted(slices.Values(marks))
	n := len(s)
	if n%2 == 1 {
		return s[n/2]
	}
	return (s[n/2-1] + s[n/2]) / 2
}

// glance says the whole in a few sentences.
func glance(g *class.Group, steps []*class.Step, marks []float64, median, full float64) []string {
	n, clean, sum := len(g.Rows), 0, 0.0
	for _, r := range g.Rows {
		if r.First() == nil {
			clean++
		}
		sum += r.Awarded
	}
	out := []string{fmt.Sprintf("%s marked, out of %s. The middle mark is %s, the mean %s.",
		plural(n, "script", "scripts"), show.Figure(full, 2), show.Figure(median, 1), show.Figure(sum/float64(max(1, n)), 1))}
	switch clean {
	case 0:
		out = append(out, "No script is without a fault.")
	case n:
		out = append(out, "No fault was found in any of them.")
		return out
	default:
		out = append(out, fmt.Sprintf("Of them %s without a fault.", pluralAre(clean)))
	}
	if len(steps) > 0 {
		worst := slices.MaxFunc(steps, func(a, b *class.Step) int { return cmp.Compare(a.Fell, b.Fell) })
		if worst.Fell > 1 {
			out = append(out, fmt.Sprintf("More first go wrong at the %s than at any other step: %d.", lower(worst.Title), worst.Fell))
		}
	}
	if all := g.Sorted(); len(all) > 0 && all[0].Made > 1 && all[0].Severity != diagnose.Remark {
		out = append(out, fmt.Sprintf("The fault made most: %s, by %d.", strings.TrimSuffix(lower(all[0].Title), "."), all[0].Made))
	}
	return out
}

func plural(n int, one, many string) string {
	if n == 1 {
		return "1 " + one
	}
	return fmt.Sprintf("%d %s", n, many)
}

func pluralAre(n int) string {
	if n == 1 {
		return "1 is"
	}
	return fmt.Sprintf("%d are", n)
}

func lower(s string) string {
	if len(s) > 1 && s[0] >= 'A' && s[0] <= 'Z' && s[1] >= 'a' && s[1] <= 'z' {
		return strings.ToLower(s[:1]) + s[1:]
	}
	return s
}

func (v *groupView) pairs(g *class.Group) {
	at := map[string]*pair{}
	var order []*pair
	for _, p := range g.Question.Parts {
		at[p.Letter] = &pair{Part: p.Letter, Find: p.Find.Words}
		order = append(order, at[p.Letter])
	}
	most := 0.0
	for _, r := range g.Rows {
		for i := range r.Findings {
			f := &r.Findings[i]
			p := at[f.Part]
			switch {
			case f.Severity == diagnose.Remark:
				v.Remarks++
			case p == nil:
			case f.Severity == diagnose.Principal:
				p.Principal++
				p.PrincipalCost += f.Cost
			default:
				p.Clerical++
				p.ClericalTo += f.Cost
			}
		}
	}
	for _, p := range order {
		most = max(most, p.PrincipalCost, p.ClericalTo)
	}
	for _, p := range order {
		v.Pairs = append(v.Pairs, pairView{*p, pairBar(*p, most)})
	}
}

// teach sorts the faults into what to teach again, what few made, and remarks.
func (v *groupView) teach(g *class.Group) {
	for _, t := range g.Sorted() {
		switch {
		case t.Severity == diagnose.Remark:
			v.Noted = append(v.Noted, t)
		case t.ID == "part-not-attempted":
			v.Short = append(v.Short, fmt.Sprintf("%s nothing for a part.", wrote(t.Made)))
		case t.ID == "answer-not-reached":
			v.Short = append(v.Short, fmt.Sprintf("%s some of a part, but not its answer.", wrote(t.Made)))
		case len(v.Teach) < mostTaught && (t.Made > 1 || v.N < 8):
			v.Teach = append(v.Teach, newTeach(g, t))
		default:
			v.More = append(v.More, t)
		}
	}
}

func wrote(n int) string {
	if n == 1 {
		return "One wrote"
	}
	return fmt.Sprintf("%d wrote", n)
}

func newTeach(g *class.Group, t *class.Tally) teachView {
	v := teachView{Tally: t, Share: fmt.Sprintf("%d of %d", t.Made, len(g.Rows)), Idea: t.Idea}
	d := newDrawing(120, 9, v.Share)
	d.rect(.5, .5, 119, 8, "rest")
	d.rect(.5, .5, 119*float64(t.Made)/float64(max(1, len(g.Rows))), 8, "share")
	v.Bar = d.html()
	for _, s := range t.Samples {
		var spans [][2]int
		if s.From > 0 {
			spans = append(spans, [2]int{s.From, s.To})
		}
		v.Lines = append(v.Lines, sampleView{cut(strings.TrimRight(s.Text, " "), spans)})
	}
	if f := g.Question.Topic.Fault(t.ID); f != nil {
		if f.Mend != "" {
			v.Mend = show.Filled(g.Model, f.Mend)
		}
		v.Unknown = t.ID == "unexplained" || t.ID == "does-not-follow"
	}
	if slot := g.Model.Slot(t.Quantity); slot >= 0 && len(g.Model.Ways[slot]) > 0 {
		v.Should = g.Model.WorkingLine(slot).String()
	}
	return v
}

// people makes the tables that name students.
func (v *groupView) people(g *class.Group) {
	v.Agree = g.Agreement()
	faults := g.Sorted()
	var columns []string
	for i, t := range faults {
		if i >= mostKeys || t.Severity == diagnose.Remark {
			v.LeftOut = len(faults) - i
			break
		}
		columns = append(columns, t.ID)
		v.Letters = append(v.Letters, letter(i))
		v.Keys = append(v.Keys, keyView{letter(i), t.Title, string(t.Severity)})
	}
	v.TooMany = len(g.Rows) > mostGrid
	called := map[string]int{}
	for _, r := range g.Rows {
		called[r.Called()]++
	}
	for _, r := range g.Rows {
		switch {
		case len(r.Eye) == 0:
		case len(v.Eye) == mostGrid:
			v.EyeMore++
		default:
			v.Eye = append(v.Eye, eyeView{show.Clean(r.Called()), show.Clean(r.File()), pageOf(r), r.Eye})
		}
		switch {
		case r.Marker == nil || len(r.Marker.Done) == 0:
		case len(v.Word) == mostGrid:
			v.WordMore++
		default:
			v.Word = append(v.Word, wordView{show.Clean(r.Called()), pageOf(r), show.Clean(r.Marker.Marker), wordDone(r.Marker)})
		}
		if !v.TooMany {
			row := newGridRow(r, columns)
			if called[r.Called()] > 1 {
				row.File = show.Clean(r.File())
			}
			v.Grid = append(v.Grid, row)
		}
	}
}

func letter(i int) string {
	if i < 26 {
		return string(rune('A' + i))
	}
	return string(rune('A'+i/26-1)) + string(rune('A'+i%26))
}

// Signs of the grid.
const (
	signPrincipal = "■"
	signClerical  = "△"
	signRemark    = "·"
)

func newGridRow(r *class.Row, columns []string) gridRow {
	row := gridRow{Who: show.Clean(r.Called()), Page: pageOf(r), Total: show.Figure(r.Awarded, 2),
		Eye: len(r.Eye) > 0, Word: r.Marker != nil && len(r.Marker.Done) > 0}
	for _, p := range r.Parts {
		row.Marks = append(row.Marks, show.Figure(p.Awarded, 2))
	}
	row.Cells = make([]cellView, len(columns))
	for i := range r.Findings {
		f := &r.Findings[i]
		k := slices.Index(columns, f.Fault)
		if k < 0 {
			continue
		}
		sign := signPrincipal
		switch f.Severity {
		case diagnose.Clerical:
			sign = signClerical
		case diagnose.Remark:
			sign = signRemark
		}
		if row.Cells[k].Sign == "" || sign == signPrincipal {
			row.Cells[k].Sign = sign
		}
		row.Cells[k].Says = strings.TrimPrefix(fmt.Sprintf("%s, line %d", row.Cells[k].Says, f.Line), ", ")
	}
	return row
}
