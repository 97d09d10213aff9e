package papers

import (
	"flag"
	"fmt"
	"io/fs"
	"sort"
	"strings"
	"testing"

	"batten/diagnose"
	"batten/solver"
	"batten/testdata"
)

var (
	promised = flag.Int("variants", 1, "how many variants of each built-in question the table is held to")
	missed   = flag.Bool("missed", false, "print every script whose fault is not found")
)

// What the table promises is that a script which shows a row's fault is told as
// that fault, or as one that the table says gives the same answers. The engine
// is held to it on scripts in which every line is worked out, and on scripts of
// bare results. Over all rows of one variant of each built-in question 99.0%
// and 99.8% were told (966 scripts each); the floors leave room for another
// draw. An ordinary run looks at some of the rows. Scripts without a fault must
// not be charged at all.
const (
	floorWorked  = 0.97
	floorResults = 0.97
	someRows     = 4 // one row in so many, where one variant of each is asked for
)

func TestTableKeepsItsPromise(t *testing.T) {
	files, err := fs.Glob(testdata.Questions, "questions/*.yaml")
	if err != nil || len(files) == 0 {
		t.Fatal("no built-in questions", err)
	}
	worked, results := tally{}, tally{}
	seen := 0
	for _, f := range files {
		data, err := testdata.Questions.ReadFile(f)
		if err != nil {
			t.Fatal(err)
		}
		q, err := solver.ReadQuestion(f, data)
		if err != nil {
			t.Fatal(err)
		}
		list, err := solver.Vary(q, solver.VaryOptions{Count: *promised, Seed: 3})
		if err != nil {
			t.Fatal(err)
		}
		for _, v := range list {
			m, err := diagnose.New(v.Question)
			if err != nil {
				t.Fatal(err)
			}
			for _, figures := range []bool{true, false} {
				text := script(v.Apart.Working(nil), figures)
				if r := mark(t, m, text); r.FirstFault != nil {
					t.Errorf("%s: a right script is charged with %s:\n%s", v.Question.ID, r.FirstFault.Fault, text)
				}
			}
			for _, row := range v.Apart.Rows {
				if row.Hidden || !written(row) {
					continue
				}
				if seen++; *promised == 1 && !*missed && seen%someRows != 0 {
					continue
				}
				worked.try(t, m, v, row, true)
				results.try(t, m, v, row, false)
			}
		}
	}
	worked.report(t, "worked out", floorWorked)
	results.report(t, "bare results", floorResults)
}

// written reports whether every answer of the row is a figure to write down.
func written(r *solver.Row) bool {
	for _, a := range r.Answers {
		if a.Value != a.Value {
			return false
		}
	}
	return true
}

// script writes a working down as a student would type it.
func script(parts []solver.WorkingPart, figures bool) string {
	var b strings.Builder
	for _, p := range parts {
		fmt.Fprintf(&b, "(%s)\n", p.Part.Letter)
		for _, l := range p.Lines {
			b.WriteString(l.Title)
			if figures && l.Figures != "" {
				b.WriteString(" = " + l.Figures)
			}
			b.WriteString(" = " + l.Answer)
			if l.Sense != "" {
				b.WriteString(" " + l.Sense)
			}
			b.WriteString("\n")
		}
	}
	return b.String()
}

func mark(t *testing.T, m *diagnose.Marker, text string) *diagnose.Report {
	t.Helper()
	r, err := m.Mark("script", []byte(text))
	if err != nil {
		t.Fatalf("%v\n%s", err, text)
	}
	return r
}

// tally counts scripts whose fault was found.
type tally struct {
	tried, named, tied int
	lost               map[string]int
}

func (c *tally) try(t *testing.T, m *diagnose.Marker, v *solver.Variant, row *solver.Row, figures bool) {
	text := script(v.Apart.Working(row), figures)
	r := mark(t, m, text)
	c.tried++
	same := map[string]bool{}
	for _, o := range row.Same {
		same[o.Fault.ID] = true
	}
	for _, group := range v.Question.Topic.SameIdea {
		for _, id := range group {
			if id == row.Fault.ID {
				for _, o := range group {
					same[o] = true
				}
			}
		}
	}
	named, tied := false, false
	var told []string
	for _, f := range r.Findings {
		told = append(told, f.Fault)
		named = named || f.Fault == row.Fault.ID
		tied = tied || same[f.Fault]
		for _, a := range f.Alternatives {
			tied = tied || a == row.Fault.ID
		}
	}
	switch {
	case named:
		c.named++
	case tied:
		c.tied++
	default:
		if c.lost == nil {
			c.lost = map[string]int{}
		}
		c.lost[row.Fault.ID]++
		if *missed {
			t.Logf("%s, %s at %s (figures %v): told %v\n%s", v.Question.ID, row.Fault.ID, row.Sites[0].Quantity, figures, told, text)
		}
	}
}

func (c *tally) report(t *testing.T, what string, floor float64) {
	t.Helper()
	share := float64(c.named+c.tied) / float64(c.tried)
	t.Logf("%s: %d scripts, %d named, %d told among ties, %.1f%%", what, c.tried, c.named, c.tied, 100*share)
	var ids []string
	for id := range c.lost {
		ids = append(ids, id)
	}
	sort.Slice(ids, func(i, j int) bool {
		return c.lost[ids[i]] > c.lost[ids[j]] || c.lost[ids[i]] == c.lost[ids[j]] && ids[i] < ids[j]
	})
	for _, id := range ids {
		t.Logf("  not found: %s, %d times", id, c.lost[id])
	}
	if share < floor {
		t.Errorf("%s: %.1f%% of the faults are found, want %.0f%%", what, 100*share, 100*floor)
	}
}
