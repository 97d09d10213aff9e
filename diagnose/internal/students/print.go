package students

import (
	"fmt"
	"io"
	"sort"
	"strings"
	"time"
)

// percent writes a share for the eye.
func percent(c Count) string {
	if c.Of == 0 {
		return "–"
	}
	return fmt.Sprintf("%.1f", 100*c.Share())
}

// WriteSummary writes the figures of all draws, then by family, kind, fault and habit.
func (f *Figures) WriteSummary(w io.Writer) {
	a := &f.All
	us := func(d time.Duration) time.Duration { return d.Round(time.Microsecond) }
	fmt.Fprintf(w, "%d scripts, seed %d, %s (marking %s each, half within %s, 99 of 100 within %s, slowest %s: script %d)\n", a.Scripts, f.Seed, f.Took.Round(time.Millisecond),
		us(f.Marking/time.Duration(max(1, a.Scripts))), us(f.Within(0.5)), us(f.Within(0.99)), us(f.Slowest), f.SlowestN)
	row := func(name string, c Count) {
		fmt.Fprintf(w, "  %-34s %6s %%   %d of %d\n", name, percent(c), c.Right, c.Of)
	}
	row("first faulty line right", a.Line)
	row("fault named", a.Named)
	row("fault named, or among ties", a.NamedOrTie)
	row("both of two", a.Both)
	row("right scripts not accused", a.Innocent)
	row("right lines not called faulty", a.Spared)
	row("faulty scripts, nothing added", a.NoExtra)
	row("lines read", a.Read)
	row("lines placed", a.Placed)
	row("verdict of the line right", a.Verdicts)
	row("marks exact", a.Marks)
	fmt.Fprintf(w, "  faults hidden by rounding %d, with ties %d\n", a.Hidden, a.Tied)
	for _, x := range f.Failures {
		fmt.Fprintf(w, "  BROKEN %s\n", x)
	}
	table(w, "by family", f.Family, false)
	table(w, "by kind of question", f.Kind, true)
	table(w, "by fault (of scripts that hold it)", f.Fault, true)
	table(w, "by way of writing", f.Habit, false)
	ranking(w, "put in → named, most often first", f.Confused)
	ranking(w, "right scripts accused of", f.Accused)
}

// table writes tallies, worst first or by name.
func table(w io.Writer, title string, of map[string]*Tally, worst bool) {
	keys := make([]string, 0, len(of))
	for k := range of {
		keys = append(keys, k)
	}
	sort.Strings(keys)
	if worst {
		sort.SliceStable(keys, func(i, j int) bool { return of[keys[i]].NamedOrTie.Share() < of[keys[j]].NamedOrTie.Share() })
	}
	fmt.Fprintf(w, "\n%s\n%-44s %6s %6s %6s %6s %6s %6s %6s %6s %6s\n", title, "", "n", "line", "named", "+ties", "inno.", "read", "placed", "verd.", "marks")
	for _, k := range keys {
		t := of[k]
		fmt.Fprintf(w, "%-44s %6d %6s %6s %6s %6s %6s %6s %6s %6s\n", cut(k, 44), t.Scripts, percent(t.Line), percent(t.Named), percent(t.NamedOrTie), percent(t.Innocent),
			percent(t.Read), percent(t.Placed), percent(t.Verdicts), percent(t.Marks))
	}
}

func cut(s string, n int) string {
	r := []rune(s)
	if len(r) > n {
		return string(r[:n-1]) + "…"
	}
	return s
}

// ranking writes what was counted, most often first.
func ranking(w io.Writer, title string, of map[string]int) {
	keys := make([]string, 0, len(of))
	for k := range of {
		keys = append(keys, k)
	}
	sort.Strings(keys)
	sort.SliceStable(keys, func(i, j int) bool { return of[keys[i]] > of[keys[j]] })
	if len(keys) == 0 {
		return
	}
	fmt.Fprintf(w, "\n%s\n", title)
	for i, k := range keys {
		if i == 40 {
			break
		}
		fmt.Fprintf(w, "%5d  %s\n", of[k], k)
	}
}

// Write sets a draw out to be read: the question, the script with its line
// numbers, what is true of it and what the tool said.
func (r *Result) Write(w io.Writer) {
	d := r.Draw
	fmt.Fprintf(w, "== script %d: %s (%s)\n", d.N, d.Question.Kind, strings.Join(d.Question.parts, "; "))
	for _, x := range r.Wrongs {
		fmt.Fprintf(w, "   ! %s\n", x)
	}
	for _, f := range d.Truth.Faults {
		note := ""
		if len(f.Ties) > 0 {
			note += " ties " + strings.Join(f.Ties, ", ")
		}
		if f.Hidden {
			note += " hidden by rounding"
		}
		fmt.Fprintf(w, "   put in: line %d %s (%s) on %s%s\n", f.Line, f.ID, f.Severity, f.Quantity, note)
	}
	if r.Report != nil {
		for _, f := range r.Report.Findings {
			q := ""
			if f.Quantity != nil {
				q = " on " + *f.Quantity
			}
			alt := ""
			if len(f.Alternatives) > 0 {
				alt = " or " + strings.Join(f.Alternatives, ", ")
			}
			fmt.Fprintf(w, "   said:   line %d %s (%s, %s)%s%s\n", f.Line, f.Fault, f.Severity, f.Shown, q, alt)
		}
	}
	for _, l := range strings.Split(strings.TrimSpace(d.Question.Text), "\n") {
		if !strings.HasPrefix(l, "id:") && !strings.HasPrefix(l, "title:") && !strings.HasSuffix(l, ":") && !strings.Contains(l, "shape") {
			fmt.Fprintf(w, "   | %s\n", strings.TrimSpace(l))
		}
	}
	for i, l := range strings.Split(strings.TrimSuffix(d.Script, "\n"), "\n") {
		v, q := "", ""
		if r.Report != nil && i < len(r.Report.Lines) {
			row := r.Report.Lines[i]
			v = string(row.Verdict)
			if row.Quantity != nil {
				q = *row.Quantity
			}
			if v == "aside" {
				v = ""
			}
		}
		mark := " "
		for _, f := range d.Truth.Faults {
			if f.Line == i+1 {
				mark = "*"
			}
		}
		fmt.Fprintf(w, "%s%3d  %-72s  %-8s %s\n", mark, i+1, l, v, q)
	}
	fmt.Fprintln(w)
}
