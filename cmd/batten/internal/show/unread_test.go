package show

import (
	"strings"
	"testing"

	"batten/diagnose"
)

// TestUnreadIsMarked: the place that could not be read has a stroke under it.
func TestUnreadIsMarked(t *testing.T) {
	var b strings.Builder
	r := &diagnose.Report{Lines: []diagnose.LineRow{{N: 1, Text: "GM = 3 +* 4", Span: &diagnose.Columns{From: 9, To: 10},
		StepRow: diagnose.StepRow{Verdict: diagnose.Unread, Why: "two signs stand side by side"}}}}
	s := newSheet(&b, r, Options{})
	s.line(&r.Lines[0], nil)
	got := strings.Split(b.String(), "\n")
	if len(got) < 3 || strings.Index(got[1], rule) != strings.Index(got[0], "* 4") || !strings.Contains(got[2], "two signs") {
		t.Errorf("got\n%s", b.String())
	}
}
