package diagnose_test

import "testing"

// TestUnwritten: a step is called unwritten only where it stands nowhere: not
// where a row of figures works it, nor where it was stated above.
func TestUnwritten(t *testing.T) {
	for _, c := range []struct{ what, question, script, want string }{
		{"the lost area worked inside the row", "hold-above-tank-top", "intact area = 18 x (96 - 14 x 0.4) = 1627.2 m2", ""},
		{"the lost area left out", "hold-above-tank-top", "intact area = 1627.2 m2", "lost_area"},
		{"KB stated above, another one taken", "hold-above-tank-top", `
lost volume = 14 x 0.6 x 18 x 3 = 453.6 m3
new draught = 4.788 m
(b) After bilging:
KB = (96 x 18 x 4.788 x 2.394 - 8.4 x 18 x 3.288 x 3.144) / 7776 = 2.35 m
BM = 87.6 x 18^3 / (12 x 7776) = 5.475 m
KM = 2.39 + 5.475 = 7.87 m`, ""},
		{"KB as one figure that stands nowhere above", "hold-above-tank-top", `
lost volume = 14 x 0.6 x 18 x 3 = 453.6 m3
new draught = 4.788 m
(b) After bilging:
BM = 87.6 x 18^3 / (12 x 7776) = 5.475 m
KM = 2.39 + 5.475 = 7.87 m`, "kb_bilged"},
	} {
		m := markerFor(t, testCase{header: map[string]string{"question": c.question}})
		r, err := m.Mark("answer", []byte(c.script))
		if err != nil {
			t.Fatal(err)
		}
		found := false
		for _, f := range r.Findings {
			if f.Fault == "answer-not-reached" || f.Fault == "part-not-attempted" {
				continue
			}
			found = true
			if f.Unwritten != c.want {
				t.Errorf("%s: %s in line %d called unwritten: %q, want %q", c.what, f.Fault, f.Line, f.Unwritten, c.want)
			}
		}
		if !found {
			t.Errorf("%s: nothing found", c.what)
		}
	}
}
