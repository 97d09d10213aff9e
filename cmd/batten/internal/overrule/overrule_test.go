package overrule

import (
	"strings"
	"testing"

	"batten/diagnose"
	"batten/solver"
	"batten/testdata"
)

func question(t *testing.T) *solver.Question {
	t.Helper()
	data, err := testdata.Questions.ReadFile("questions/hold-above-tank-top.yaml")
	if err != nil {
		t.Fatal(err)
	}
	q, err := solver.ReadQuestion("q.yaml", data)
	if err != nil {
		t.Fatal(err)
	}
	return q
}

// reading has a principal fault on line 4 (part a), a clerical one on line 9
// (part b), a line that follows, and an answer not reached that costs nothing.
func reading() *diagnose.Report {
	return &diagnose.Report{
		Lines: []diagnose.LineRow{
			{N: 3, Part: "a", StepRow: diagnose.StepRow{Verdict: diagnose.Holds}},
			{N: 4, Part: "a", StepRow: diagnose.StepRow{Verdict: diagnose.Faulty}},
			{N: 5, Part: "a", StepRow: diagnose.StepRow{Verdict: diagnose.Follows, From: 4}},
			{N: 9, Part: "b", StepRow: diagnose.StepRow{Verdict: diagnose.Faulty}},
		},
		Findings: []diagnose.Finding{
			{Fault: "draught-for-lost-depth", Severity: diagnose.Principal, Part: "a", Line: 4, Cost: 7.5},
			{Fault: "answer-not-reached", Severity: diagnose.Principal, Part: "a", Line: 5},
			{Fault: "direction-missing", Severity: diagnose.Clerical, Part: "b", Line: 9, Cost: 2},
		},
		FirstFault: &diagnose.FirstFault{Line: 4, Fault: "draught-for-lost-depth"},
		Parts: []diagnose.PartMarks{
			{Part: "a", Available: 15, Deducted: 7.5, Awarded: 7.5}, {Part: "b", Available: 20, Deducted: 2, Awarded: 18}},
		Total: diagnose.Total{Available: 35, Awarded: 25.5},
	}
}

func TestApply(t *testing.T) {
	q := question(t)
	for _, c := range []struct {
		reason, word string
		awarded      float64
		first        string
		done, lost   int
		check        func(*diagnose.Report) bool
	}{
		{"an empty word agrees with everything", ``, 25.5, "draught-for-lost-depth", 0, 0, nil},
		{"a dismissed fault gives its marks back, and the line holds", `dismiss: [{line: 9, reason: said aloud}]`,
			27.5, "draught-for-lost-depth", 1, 0, func(r *diagnose.Report) bool { return r.Lines[3].Verdict == diagnose.Holds }},
		{"the missing answer costs once nothing else pays for it", `dismiss: [{line: 4, fault: draught-for-lost-depth, reason: x}]`,
			25.5, "answer-not-reached", 1, 0, func(r *diagnose.Report) bool { return r.Lines[2].Verdict == diagnose.Holds }},
		{"graded down, the missing answer costs in its place", "change:\n  - line: 4\n    severity: clerical\n    reason: a slip\n", 24, "draught-for-lost-depth", 1, 0, nil},
		{"named otherwise, with the other's grade", "change:\n  - {line: 9, to: half-draught-with-flat, reason: x}\n", 17.5, "draught-for-lost-depth", 1, 0,
			func(r *diagnose.Report) bool { return r.Findings[2].Title != "" && r.Findings[2].Cost == 10 }},
		{"added, in the order of lines", "add:\n  - {line: 3, title: in the margin, severity: clerical, reason: x}\n", 24, "by-marker", 1, 0,
			func(r *diagnose.Report) bool {
				return r.Findings[0].Line == 3 && r.Lines[0].Verdict == diagnose.Faulty
			}},
		{"marks set whatever was found", "marks:\n  - {part: B, marks: 20, reason: x}\n", 27.5, "draught-for-lost-depth", 1, 0, nil},
		{"what is not there is told, and changes nothing", "dismiss:\n  - {line: 7, reason: x}\nchange:\n  - {line: 3, to: twelve-omitted, reason: x}\nadd:\n  - {line: 99, title: y, reason: x}\n",
			25.5, "draught-for-lost-depth", 0, 3, nil},
	} {
		w, err := ReadOne("m.yaml", []byte(c.word))
		if err == nil {
			err = w.Check(q)
		}
		if err != nil {
			t.Errorf("%s: %v", c.reason, err)
			continue
		}
		r := reading()
		out := Apply(q, r, w)
		if r.Total.Awarded != c.awarded || len(out.Done) != c.done || len(out.Lost) != c.lost || r.FirstFault.Fault != c.first {
			t.Errorf("%s: %v marks, %d done, lost %v, first %v", c.reason, r.Total.Awarded, len(out.Done), out.Lost, r.FirstFault)
		}
		if c.check != nil && !c.check(r) {
			t.Errorf("%s: %+v", c.reason, r)
		}
		if out.Was.Awarded != 25.5 || out.Was.Findings != 3 {
			t.Errorf("%s: the reading before is not kept: %+v", c.reason, out.Was)
		}
	}
	if Apply(q, reading(), nil) != nil {
		t.Error("no word has no outcome")
	}
}

func TestRefused(t *testing.T) {
	q := question(t)
	for _, c := range []struct{ reason, word, want string }{
		{"an unknown key", "dismis: []\n", `m.yaml:1: a marker's file has no key "dismis"; did you mean dismiss?`},
		{"no reason", "dismiss:\n  - line: 3\n", "m.yaml:2: dismiss lacks its reason"},
		{"an empty reason", "dismiss:\n  - line: 3\n    reason: ''\n", "empty reason"},
		{"no line", "\n\nadd:\n  - {title: x, reason: y}\n", "m.yaml:4: add lacks its line"},
		{"a line that is none", "dismiss:\n  - {line: two, reason: y}\n", "m.yaml:2: the number of a line"},
		{"a word for a list", "marks: 3\n", "m.yaml:1: a list is wanted"},
		{"an unknown severity", "change:\n  - {line: 3, severity: grave, reason: y}\n", "m.yaml:2: severity is principal, clerical or remark"},
		{"a change to nothing", "change:\n  - {line: 3, reason: y}\n", "to which fault"},
		{"a key twice", "marker: A\nmarker: B\n", "m.yaml:2:"},
		{"no YAML", "dismiss: [\n", "not sound YAML"},
		{"an unknown fault", "change:\n  - {line: 3, to: half-draugt-with-flat, reason: y}\n", "nearest: half-draught-with-flat"},
		{"an unknown part", "marks:\n  - {part: c, marks: 1, reason: y}\n", `has no part "c"`},
		{"more marks than there are", "marks:\n  - {part: b, marks: 21, reason: y}\n", "part (b) has 20 marks, not 21"},
		{"two documents", "marker: A\n---\nmarker: B\n", "second document"},
	} {
		w, err := ReadOne("m.yaml", []byte(c.word))
		if err == nil {
			err = w.Check(q)
		}
		if err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: %v, want %q", c.reason, err, c.want)
		}
	}
}

func FuzzRead(f *testing.F) {
	f.Add("scripts:\n  a.txt:\n    dismiss:\n      - {line: 3, reason: x}\n")
	f.Add("marker: &a [*a]\n")
	f.Fuzz(func(t *testing.T, s string) {
		ReadOne("m.yaml", []byte(s))
		ReadClass("m.yaml", []byte(s))
	})
}
