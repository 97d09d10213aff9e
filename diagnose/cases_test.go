package diagnose_test

import (
	"flag"
	"fmt"
	"os"
	"path/filepath"
	"sort"
	"strconv"
	"strings"
	"sync"
	"testing"

	"golang.org/x/tools/txtar"

	"batten/diagnose"
	"batten/rules"
	"batten/solver"
)

var showCases = flag.Bool("cases.show", false, "print the reading of each case that fails")

// A testCase is one archive: a header that says why it is here and what it
// shows, a script, and what must be found. The header's keys:
//
//	reason:     why the case is here
//	question:   id of a question in testdata/questions, or "own" with a question.yaml in the archive
//	shows:      FAULT written | FAULT figures — what it is evidence of
//	looks-like: FAULT — right lines that look like this fault
//	way:        a right way of working that must hold
//
// The file "want" has one line for each thing that must be so:
//
//	holds                    nothing but remarks is found
//	LINE FAULT [FROM-TO]     a finding, with its columns where they matter; a|b where a tie is honest
//	remark LINE FAULT        a remark (others are not looked at)
//	LINE = VERDICT           the line's verdict
//	marks PART N             marks awarded
type testCase struct {
	file   string
	header map[string]string
	script []byte
	own    []byte
	want   []string
}

func readCases(t testing.TB) []testCase { return readArchives(t, "*.txtar") }

// owedCases are true cases that the diagnosis does not meet yet. They are kept
// beside the others, by the ending .todo, until it does.
func owedCases(t testing.TB) []testCase { return readArchives(t, "*.txtar.todo") }

// TestOwedCases fails for an owed case that is met: it must then be renamed, so
// that it is held from there on.
func TestOwedCases(t *testing.T) {
	owed := owedCases(t)
	for _, c := range owed {
		r, err := markerFor(t, c).Mark(c.file, c.script)
		if err == nil && len(compare(c.want, r)) == 0 {
			t.Errorf("%s is met now: drop .todo from its name", c.file)
		}
	}
	t.Logf("%d cases owed", len(owed))
}

func readArchives(t testing.TB, pattern string) []testCase {
	files, err := filepath.Glob("../testdata/cases/" + pattern)
	if err != nil {
		t.Fatal(err)
	}
	sort.Strings(files)
	var out []testCase
	for _, f := range files {
		a, err := txtar.ParseFile(f)
		if err != nil {
			t.Fatal(err)
		}
		c := testCase{file: filepath.Base(f), header: map[string]string{}}
		for _, l := range strings.Split(string(a.Comment), "\n") {
			if k, v, ok := strings.Cut(l, ":"); ok {
				c.header[strings.TrimSpace(k)] = strings.TrimSpace(v)
			}
		}
		for _, file := range a.Files {
			switch file.Name {
			case "script":
				c.script = file.Data
			case "question.yaml":
				c.own = file.Data
			case "want":
				for _, l := range strings.Split(string(file.Data), "\n") {
					if l = strings.TrimSpace(l); l != "" && !strings.HasPrefix(l, "#") {
						c.want = append(c.want, l)
					}
				}
			}
		}
		out = append(out, c)
	}
	return out
}

var markers sync.Map

func markerFor(t testing.TB, c testCase) *diagnose.Marker {
	id := c.header["question"]
	if id != "own" {
		if m, ok := markers.Load(id); ok {
			return m.(*diagnose.Marker)
		}
	}
	var q *solver.Question
	var err error
	if id == "own" {
		q, err = solver.ReadQuestion(c.file, c.own)
	} else {
		q, err = solver.ReadFile("../testdata/questions/" + id + ".yaml")
	}
	if err != nil {
		t.Fatalf("%s: %v", c.file, err)
	}
	m, err := diagnose.New(q)
	if err != nil {
		t.Fatalf("%s: %v", c.file, err)
	}
	if id != "own" {
		markers.Store(id, m)
	}
	return m
}

func TestCases(t *testing.T) {
	for _, c := range readCases(t) {
		t.Run(strings.TrimSuffix(c.file, ".txtar"), func(t *testing.T) {
			if c.header["reason"] == "" {
				t.Errorf("%s does not say why it is here", c.file)
			}
			r, err := markerFor(t, c).Mark(c.file, c.script)
			if err != nil {
				t.Fatal(err)
			}
			if bad := compare(c.want, r); len(bad) > 0 {
				t.Errorf("%s (%s)\n%s", c.file, c.header["reason"], strings.Join(bad, "\n"))
				if *showCases {
					t.Log("\n" + dump(r))
				}
			}
		})
	}
}

// compare lists what the report has too little, too much or otherwise.
func compare(want []string, r *diagnose.Report) []string {
	var bad []string
	used := make([]bool, len(r.Findings))
	for _, w := range want {
		f := strings.Fields(w)
		switch {
		case w == "holds":
		case f[0] == "marks" && len(f) == 3:
			n, _ := strconv.ParseFloat(f[2], 64)
			for _, p := range r.Parts {
				if p.Part == f[1] && p.Awarded != n {
					bad = append(bad, fmt.Sprintf("part %s: %g marks, want %g", f[1], p.Awarded, n))
				}
			}
		case f[0] == "remark" && len(f) == 3:
			if !hasFinding(r, used, f[1], f[2], "") {
				bad = append(bad, "missing: "+w)
			}
		case len(f) == 3 && f[1] == "=":
			n, _ := strconv.Atoi(f[0])
			if n < 1 || n > len(r.Lines) || string(r.Lines[n-1].Verdict) != f[2] {
				got := "no such line"
				if n >= 1 && n <= len(r.Lines) {
					got = string(r.Lines[n-1].Verdict)
				}
				bad = append(bad, fmt.Sprintf("line %d is %s, want %s", n, got, f[2]))
			}
		default:
			span := ""
			if len(f) > 2 {
				span = f[2]
			}
			if !hasFinding(r, used, f[0], f[1], span) {
				bad = append(bad, "missing: "+w)
			}
		}
	}
	for i, f := range r.Findings {
		if !used[i] && f.Severity != diagnose.Remark {
			bad = append(bad, fmt.Sprintf("unexpected: line %d %s (%s, %s) %v", f.Line, f.Fault, f.Severity, f.Shown, f.Alternatives))
		}
	}
	return bad
}

func hasFinding(r *diagnose.Report, used []bool, line, fault, span string) bool {
	for i, f := range r.Findings {
		if used[i] || strconv.Itoa(f.Line) != line {
			continue
		}
		for _, id := range strings.Split(fault, "|") {
			if f.Fault != id {
				continue
			}
			if span != "" && (f.Span == nil || fmt.Sprintf("%d-%d", f.Span.From, f.Span.To) != span) {
				continue
			}
			used[i] = true
			return true
		}
	}
	return false
}

func dump(r *diagnose.Report) string {
	var b strings.Builder
	for _, l := range r.Lines {
		q := ""
		if l.Quantity != nil {
			q = *l.Quantity
		}
		fmt.Fprintf(&b, "%3d %-8s %-20s | %s\n", l.N, l.Verdict, q, l.Text)
	}
	for _, f := range r.Findings {
		fmt.Fprintf(&b, "    line %d %s %s %s %v: %s\n", f.Line, f.Fault, f.Severity, f.Shown, f.Alternatives, f.Idea)
	}
	return b.String()
}

// TestEveryFaultHasCases reads the catalogue: each fault needs one case where
// it is written out and one where only figures show it.
func TestEveryFaultHasCases(t *testing.T) {
	have := map[string]map[string]bool{}
	for _, c := range readCases(t) {
		f := strings.Fields(c.header["shows"])
		if len(f) != 2 {
			continue
		}
		if have[f[0]] == nil {
			have[f[0]] = map[string]bool{}
		}
		have[f[0]][f[1]] = true
	}
	for _, topic := range rules.Builtin() {
		for _, f := range append(append([]*rules.Fault(nil), topic.Faults...), topic.Generic...) {
			for _, how := range []string{"written", "figures"} {
				if !have[f.ID][how] {
					t.Errorf("%s has no case where it is shown by %s", f.ID, how)
				}
			}
		}
	}
	if len(have) == 0 {
		t.Error("no cases at all")
	}
	if _, err := os.Stat("../testdata/cases"); err != nil {
		t.Error(err)
	}
}
