package parse

import (
	"reflect"
	"strings"
	"testing"
	"unicode/utf8"
)

func FuzzReadScript(f *testing.F) {
	for _, s := range seeds {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, text string) {
		s, err := ReadScript([]byte(text), trade)
		if err != nil {
			return
		}
		checkScript(t, text, s)
		again, err := ReadScript([]byte(text), trade)
		if err != nil || !reflect.DeepEqual(s, again) {
			t.Fatalf("a second reading differs:\n%s\n%s", s.Dump(), again.Dump())
		}
	})
}

// checkScript holds a script as read against the text it came from: every line
// has its row, every place lies on its line.
func checkScript(t *testing.T, text string, s *Script) {
	t.Helper()
	body := strings.TrimPrefix(text, "\ufeff")
	want := strings.ReplaceAll(strings.ReplaceAll(body, "\r\n", "\n"), "\r", "\n")
	lines := strings.Split(want, "\n")
	if lines[len(lines)-1] == "" {
		lines = lines[:len(lines)-1]
	}
	if len(lines) != len(s.Lines) {
		t.Fatalf("%d lines were read of %d", len(s.Lines), len(lines))
	}
	place := func(what string, at Span) {
		t.Helper()
		if at.Line < 1 || at.Line > len(s.Lines) {
			t.Fatalf("%s: no such line: %v", what, at)
		}
		n := utf8.RuneCountInString(s.Lines[at.Line-1].Text)
		if at.From < 1 || at.To < at.From || at.To > n+1 {
			t.Fatalf("%s: %v lies outside the line %q", what, at, s.Lines[at.Line-1].Text)
		}
	}
	for i := range s.Lines {
		l := &s.Lines[i]
		if l.N != i+1 || l.Text != lines[i] {
			t.Fatalf("line %d is %q, want %q", i+1, l.Text, lines[i])
		}
		switch l.Kind {
		case Working:
			if len(l.Steps) == 0 {
				t.Fatalf("line %d is working without a step", l.N)
			}
		case Unread:
			if l.Problem == nil {
				t.Fatalf("line %d is unread without a reason", l.N)
			}
		case Aside:
			if len(l.Steps) > 0 || l.Problem != nil {
				t.Fatalf("line %d is an aside with steps or a problem", l.N)
			}
		}
		if l.Problem != nil {
			place("problem", l.Problem.At)
			if l.Problem.Reason == "" {
				t.Fatalf("line %d has an empty reason", l.N)
			}
		}
		for _, k := range l.Steps {
			if k < 0 || k >= len(s.Steps) {
				t.Fatalf("line %d names step %d of %d", l.N, k, len(s.Steps))
			}
		}
	}
	for i := range s.Steps {
		st := &s.Steps[i]
		if len(st.Sides) == 0 {
			t.Fatalf("step %d has no side", i)
		}
		found := false
		for _, k := range s.Lines[st.Line-1].Steps {
			found = found || k == i
		}
		if !found {
			t.Fatalf("step %d is not on its line %d", i, st.Line)
		}
		if st.Label != "" {
			place("label", st.LabelAt)
		}
		for _, d := range st.Sides {
			place("side", d.At)
			Walk(d.Expr, func(e Expr) bool {
				place("node", e.Span())
				return true
			})
			if _, bad := d.Expr.(*broken); bad {
				t.Fatal("a broken side came through")
			}
			Meant(d.Expr)
			Unbracketed(d.Expr)
			Calculator(d.Expr)
		}
	}
}

func FuzzParseExpr(f *testing.F) {
	for _, s := range exprSeeds {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, text string) {
		e, err := ParseExpr(text, trade)
		again, err2 := ParseExpr(text, trade)
		if (err == nil) != (err2 == nil) || !reflect.DeepEqual(e, again) {
			t.Fatal("a second reading differs")
		}
		if err != nil {
			p, ok := err.(*Problem)
			if !ok || p.Reason == "" {
				t.Fatalf("an error that is no problem: %v", err)
			}
			if n := utf8.RuneCountInString(text); utf8.ValidString(text) && (p.At.From < 1 || p.At.To > n+1 || p.At.To < p.At.From) {
				t.Fatalf("%v lies outside %q", p.At, text)
			}
			return
		}
		if strings.ContainsAny(e.String(), "\n") {
			t.Fatalf("%q prints over two lines", text)
		}
		if back, err := ParseExpr(e.String(), trade); err != nil {
			t.Fatalf("%q prints as %q, which does not read: %v", text, e.String(), err)
		} else if shape(back) != shape(e) {
			t.Fatalf("%q prints as %q, which reads as %s, not %s", text, e.String(), shape(back), shape(e))
		}
		Eval(e, func(*Name) (float64, bool) { return 3, true })
	})
}
