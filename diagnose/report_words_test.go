package diagnose_test

import (
	"strings"
	"testing"

	"batten/diagnose"
)

// TestWords: messages and mended lines are in the student's own figures, units
// and decimal mark, say what was found and what was due, and leave no sentence
// half filled.
func TestWords(t *testing.T) {
	for _, c := range []struct {
		what, question, script, fault string
		idea, working                 []string
	}{
		{"a slip: the student's line with its result put right", "hold-above-tank-top",
			"(a)\nlost vol = 14 x 0.6 x 18 x 3.0 = 455.6 m3\nIWPA = 18 x (96 - 8.4) = 1576.8 m2\nsinkage = 455.6 / 1576.8 = 0.289 m\nnew draught = 4.789 m\n",
			"arithmetic-slip", []string{"14 x 0.6 x 18 x 3.0 comes to 453.6 m³, not 455.6 m³."}, []string{"lost vol = 14 x 0.6 x 18 x 3.0 = 453.6 m³"}},
		{"a copied figure: which, and what belongs there", "hold-above-tank-top",
			"(a)\nlost vol = 14 x 0.6 x 18 x 3.0 = 453.6 m3\nIWPA = 18 x (96 - 8.4) = 1576.8 m2\nsinkage = 435.6 / 1576.8 = 0.276 m\nnew draught = 4.776 m\n",
			"figure-miscopied", []string{"435.6 stands where the volume of lost buoyancy, 453.6 m³, belongs."}, []string{"sinkage = 453.6 / 1576.8 = 0.288 m"}},
		{"another quantity: what it is, and what is wanted", "midship-store-space",
			"(a) 9 × 0.6 × 13 × 3.6 = 252.7 m3\n72 × 13 - 9 × 0.6 × 13 = 865.8 m2\nsinkage = 252.7 / 865.8 = 0.292 m\n(b) bilged draught = 6 + 0.292 = 6.292 m\n",
			"wrong-operand", []string{"takes the draught before bilging, 3.6 m, in that place."}, []string{"bilged draught = 3.6 + 0.292 = 3.892 m"}},
		{"a factor left out: which, and where", "midship-store-space",
			"(a) Lost volume = 9 × 0.6 × 3.6 = 19.44 m3\nIntact area = 66.6 × 13 = 865.8 m2\nSinkage = 19.44 / 865.8 = 0.022 m\n(b) Bilged draught = 3.6 + 0.022 = 3.622 m\n",
			"factor-omitted", []string{"9 × 0.6 × 3.6 × 13 belongs where 9 × 0.6 × 3.6 stands.", "What is missing is the breadth"}, []string{"Lost volume = 9 × 0.6 × 3.6 × 13 = 252.72 m³"}},
		{"an operation: the working that belongs there", "hold-above-tank-top",
			"(b)\nBefore:\nKB = 4.5 / 2 = 2.25 m\nBM = 96 x 18^3 / (12 x 7776) = 6.00 m\nKM = 2.25 + 6.00 = 8.25 m\nGM = 8.25 + 6.80 = 15.05 m\n",
			"operation-swapped", []string{"8.25 - 6.80 belongs where 8.25 + 6.80 stands."}, []string{"GM = 8.25 - 6.80 = 1.45 m"}},
		{"a decimal comma stays one", "hold-above-tank-top",
			"(a)\nlost vol = 14 x 18 x 3,0 = 756,0 m3\n",
			"permeability-omitted", []string{"Only 0,6 of the space is lost"}, []string{"permeability of 0,6 before", "= 453,6 m³"}},
		{"a given as the student writes it, not at the trade's places", "hold-above-tank-top",
			"(a)\nlost vol = 14 x .6 x 18 x 3.0 = 453.6 m3\nIWPA = 18 x (96 - 8.4) = 1576.8 m2\nsinkage = 453.6 / 1576.8 = 0.288 m\nnew draught = 4.788 m\n(b)\nKB = 4.788 / 2 = 2.394 m\n",
			"half-draught-with-flat", []string{"the flat at 1.5 m only"}, []string{"/ 7776 = 2.35 m"}},
		{"a direction: the word that was wanted", "hold-above-tank-top",
			"(b)\nBefore:\nGM = 1.45 m\nAfter:\nGM = 1.02 m\nchange of GM = 0.43 m\n",
			"direction-missing", nil, []string{"(a fall)"}},
		{"a unit: the student's own figure with it", "hold-above-tank-top",
			"(a)\nlost vol = 453.6 m3\nIWPA = 1576.8 m2\nsinkage = 0.288 m\nnew draught = 4.5 + 0.288 = 4.788\n",
			"unit-missing", []string{"A unit behind the figure says what it measures."}, []string{"new draught = 4.788 m"}},
	} {
		r, err := markerFor(t, testCase{header: map[string]string{"question": c.question}}).Mark("answer", []byte(c.script))
		if err != nil {
			t.Fatal(err)
		}
		var found *diagnose.Finding
		for i := range r.Findings {
			f := &r.Findings[i]
			if strings.ContainsAny(f.Idea+f.Working, "{}") || strings.Contains(f.Idea, "NaN") {
				t.Errorf("%s: a place was left open: %q %q", c.what, f.Idea, f.Working)
			}
			if f.Fault == c.fault && found == nil {
				found = f
			}
		}
		if found == nil {
			t.Errorf("%s: %s was not found among %v", c.what, c.fault, faultsOf(r))
			continue
		}
		for _, want := range c.idea {
			if !strings.Contains(found.Idea, want) {
				t.Errorf("%s: the idea lacks %q:\n%s", c.what, want, found.Idea)
			}
		}
		for _, want := range c.working {
			if !strings.Contains(found.Working, want) {
				t.Errorf("%s: the mended line lacks %q:\n%s", c.what, want, found.Working)
			}
		}
	}
}

func faultsOf(r *diagnose.Report) []string {
	var out []string
	for i := range r.Findings {
		out = append(out, r.Findings[i].Fault)
	}
	return out
}
