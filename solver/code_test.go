package solver

import (
	"math"
	"testing"

	"batten/parse"
)

// TestEvalEach: what is evaluated for many figures of one slot together is, to
// the last bit, what each gives by itself.
func TestEvalEach(t *testing.T) {
	slots := map[string]int{"a": 0, "b": 1, "c": 2}
	xs := []float64{-2.5, -1, 0, 0.1, 1, 3, 7.25, 1e200}
	for _, text := range []string{
		"a", "b", "12", "-a", "a + b", "b - a", "a - b x c", "(a + b)/(c - a)", "a/(b - c)", "b/a", "(b - 3)/a",
		"a^2 + b^3", "b^a", "a^a", "a x b x c/12", "2 - (3 - (4 - (5 - (6 - (7 - (8 - (9 - (b - a))))))))",
		"min(a, b, c)", "max(b, 2 - a)", "sqrt(a)", "tan(b) - sqrt(b x a)", "a x (b + c) - a", "-(c - a)/b",
	} {
		e, err := parse.ParseExpr(text, nil)
		if err != nil {
			t.Fatalf("%s: %v", text, err)
		}
		code, err := Compile(e, func(leaf parse.Expr) (int, bool) {
			n, ok := leaf.(*parse.Name)
			if !ok {
				return 0, false
			}
			s, ok := slots[n.Text]
			return s, ok
		})
		if err != nil {
			t.Fatalf("%s: %v", text, err)
		}
		for slot := range len(slots) {
			v := []float64{1.5, -3, 0.7}
			got := make([]float64, len(xs))
			code.EvalEach(append([]float64(nil), v...), slot, xs, got)
			for j, x := range xs {
				v[slot] = x
				if want := code.Eval(v); math.Float64bits(got[j]) != math.Float64bits(want) && !(math.IsNaN(got[j]) && math.IsNaN(want)) {
					t.Errorf("%s with %v in slot %d: %v, want %v", text, x, slot, got[j], want)
				}
			}
		}
	}
}
