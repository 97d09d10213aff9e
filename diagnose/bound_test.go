package diagnose_test

import (
	"strings"
	"testing"
	"time"
)

// TestSearchIsBounded: a row of many figures, each of which may stand for much,
// must not be tried in all its meanings. The time allows for a slow machine; an
// unbounded search takes hours.
func TestSearchIsBounded(t *testing.T) {
	m := markerFor(t, testCase{header: map[string]string{"question": "hold-above-tank-top"}})
	row := "3.0"
	for _, f := range strings.Fields("96 18 4.5 8.4 151.2 453.6 1576.8") {
		row += " + " + f + " x 1.5 / 3.0"
	}
	script := "new draught = " + row + " = 5.012 m\nKB = (" + row + ") / 2 = 2.9 m\n" + row + " = 77.7\n"
	start := time.Now()
	r, err := m.Mark("long", []byte(script))
	if err != nil {
		t.Fatal(err)
	}
	if d := time.Since(start); d > 5*time.Second {
		t.Errorf("three long rows took %v", d)
	}
	if len(r.Lines) < 3 {
		t.Errorf("%d lines told of, want 3", len(r.Lines))
	}
}
