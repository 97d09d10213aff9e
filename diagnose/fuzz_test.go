package diagnose_test

import (
	"bytes"
	"encoding/json"
	"flag"
	"path/filepath"
	"strings"
	"testing"
	"time"
	"unicode/utf8"

	"batten/diagnose"
	"batten/parse"
	"batten/solver"
)

// FuzzMark holds the whole of a check to its promises, whatever is in the
// script: an answer or a refusal, every line told of once and in its order,
// places within their lines, marks within bounds, a valid JSON form, and the
// same answer the second time.
func FuzzMark(f *testing.F) {
	files, err := filepath.Glob("../testdata/questions/*.yaml")
	if err != nil || len(files) == 0 {
		f.Fatal("no questions", err)
	}
	index := map[string]uint8{}
	for i, name := range files {
		index[strings.TrimSuffix(filepath.Base(name), ".yaml")] = uint8(i)
	}
	fuzzing := flag.Lookup("test.fuzz").Value.String() != ""
	for i, c := range append(readCases(f), owedCases(f)...) {
		if fuzzing && i%20 > 0 {
			continue // running them all would leave a short fuzz no time of its own
		}
		if k, ok := index[c.header["question"]]; ok {
			f.Add(k, c.script)
		}
	}
	for name, text := range heavy {
		f.Log(name)
		f.Add(index["hold-above-tank-top"], []byte(text))
	}
	markers := make([]*diagnose.Marker, len(files))
	f.Fuzz(func(t *testing.T, k uint8, script []byte) {
		i := int(k) % len(files)
		if markers[i] == nil {
			q, err := solver.ReadFile(files[i])
			if err != nil {
				t.Fatal(err)
			}
			if markers[i], err = diagnose.New(q); err != nil {
				t.Fatal(err)
			}
		}
		start := time.Now()
		r, err := markers[i].Mark("fuzz", script)
		if d := time.Since(start); d > 20*time.Second { // far more than any script needs, on a slow machine too
			t.Errorf("%d bytes took %v", len(script), d)
		}
		s, refused := parse.ReadScript(script, markers[i].Question().Topic)
		if (err == nil) != (refused == nil) {
			t.Fatalf("marked: %v, read: %v", err, refused)
		}
		if err != nil {
			if err.Error() == "" {
				t.Fatal("refused without a reason")
			}
			return
		}
		checkReport(t, s, r)
		one, err := json.Marshal(r)
		if err != nil {
			t.Fatalf("no JSON: %v", err)
		}
		again, err := markers[i].Mark("fuzz", script)
		if err != nil {
			t.Fatal(err)
		}
		if two, _ := json.Marshal(again); !bytes.Equal(one, two) {
			t.Fatalf("answered otherwise the second time:\n%s\n%s", one, two)
		}
	})
}

func checkReport(t *testing.T, s *parse.Script, r *diagnose.Report) {
	t.Helper()
	if len(r.Lines) != len(s.Lines) {
		t.Fatalf("%d lines told of, want %d", len(r.Lines), len(s.Lines))
	}
	verdicts := map[diagnose.Verdict]bool{diagnose.Holds: true, diagnose.Follows: true, diagnose.Faulty: true, diagnose.Unplaced: true, diagnose.Unread: true, diagnose.Aside: true}
	for i, l := range r.Lines {
		if l.N != i+1 || l.Text != s.Lines[i].Text {
			t.Fatalf("row %d is line %d, %q, want %q", i+1, l.N, l.Text, s.Lines[i].Text)
		}
		for _, step := range append([]diagnose.StepRow{l.StepRow}, l.Steps...) {
			if !verdicts[step.Verdict] {
				t.Fatalf("line %d: verdict %q", l.N, step.Verdict)
			}
			if step.From < 0 || step.From > len(r.Lines) {
				t.Fatalf("line %d follows from line %d", l.N, step.From)
			}
		}
		if l.Verdict == diagnose.Unread && l.Why == "" {
			t.Fatalf("line %d is unread without a reason", l.N)
		}
		if s.Lines[i].Kind == parse.Unread && l.Verdict == diagnose.Aside && l.Why == "" {
			t.Fatalf("line %d could not be read and is passed over in silence", l.N)
		}
	}
	last := 0
	for _, f := range r.Findings {
		if len(r.Lines) > 0 && (f.Line < 1 || f.Line > len(r.Lines)) {
			t.Fatalf("%s on line %d of %d", f.Fault, f.Line, len(r.Lines))
		}
		if f.Line < last {
			t.Fatalf("%s on line %d told after one on line %d", f.Fault, f.Line, last)
		}
		last = f.Line
		if f.Fault == "" || f.Title == "" {
			t.Fatalf("a finding without words: %+v", f)
		}
		if f.Span != nil {
			n := utf8.RuneCountInString(r.Lines[f.Line-1].Text)
			if f.Span.From < 1 || f.Span.To <= f.Span.From || f.Span.To > n+1 {
				t.Fatalf("%s: columns %+v of %d", f.Fault, *f.Span, n)
			}
		}
	}
	total := 0.0
	for _, p := range r.Parts {
		if p.Awarded < 0 || p.Awarded > p.Available {
			t.Fatalf("part %s: %g of %g marks", p.Part, p.Awarded, p.Available)
		}
		total += p.Awarded
	}
	if d := total - r.Total.Awarded; d > 1e-6 || d < -1e-6 {
		t.Fatalf("total %g, the parts give %g", r.Total.Awarded, total)
	}
}
