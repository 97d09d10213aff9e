package parse

import (
	"fmt"
	"go/constant"
	gotoken "go/token"
	"go/types"
	"math"
	"strconv"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"
	"pgregory.net/rapid"
)

// anyExpr draws an expression of the notation: leaves, signs, powers, implied
// products, brackets where drawn.
func anyExpr(t *rapid.T, depth int) Expr {
	if depth == 0 {
		return leaf(t)
	}
	switch rapid.IntRange(0, 9).Draw(t, "kind") {
	case 0, 1:
		return leaf(t)
	case 2:
		return &Neg{X: anyExpr(t, depth-1)}
	case 3, 4:
		return &Group{X: anyExpr(t, depth-1)}
	case 5:
		return &Call{Func: rapid.SampledFrom([]string{"sqrt", "tan", "atan", "abs"}).Draw(t, "func"), Args: []Expr{anyExpr(t, depth-1)}}
	case 6:
		return &Binary{Op: '*', X: anyExpr(t, depth-1), Y: rapid.SampledFrom([]Expr{&Name{Text: "V"}, &Name{Text: "d"}}).Draw(t, "symbol"), Implied: true}
	}
	op := rapid.SampledFrom([]Op{'+', '-', '*', '/', '^'}).Draw(t, "op")
	return &Binary{Op: op, X: anyExpr(t, depth-1), Y: anyExpr(t, depth-1)}
}

func leaf(t *rapid.T) Expr {
	switch rapid.IntRange(0, 3).Draw(t, "leaf") {
	case 0:
		return &Name{Text: rapid.SampledFrom([]string{"L", "B", "KB1", "vol lost", "lost_volume"}).Draw(t, "name")}
	case 1:
		v := rapid.IntRange(1, 999).Draw(t, "percent")
		return &Num{Value: float64(v) / 100, Text: strconv.Itoa(v), Percent: true}
	}
	text := fmt.Sprintf("%.*f", rapid.IntRange(0, 3).Draw(t, "places"), rapid.Float64Range(0, 999).Draw(t, "value"))
	v, _ := strconv.ParseFloat(text, 64)
	n := &Num{Value: v, Text: text}
	if rapid.Bool().Draw(t, "with unit") {
		n.Unit = units[rapid.SampledFrom([]string{"m", "m3", "t m", "t/m3"}).Draw(t, "unit")]
	}
	return n
}

// What is printed reads back as the same tree, and what was read prints the same again.
func TestPrintedExpressionsReadBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		e := anyExpr(t, 4)
		text := e.String()
		if len(text) > maxExpr/2 {
			t.Skip()
		}
		back, err := ParseExpr(text, trade)
		if err != nil {
			t.Fatalf("%s does not read: %v", text, err)
		}
		if shape(back) != shape(e) {
			t.Fatalf("%s reads as %s, not %s", text, shape(back), shape(e))
		}
		// a tree that was read prints and reads back to the last bracket
		again, err := ParseExpr(back.String(), trade)
		if err != nil {
			t.Fatalf("%s does not read: %v", back, err)
		}
		if d := cmp.Diff(back, again, cmpopts.IgnoreTypes(Span{}), cmpopts.IgnoreFields(Num{}, "Text")); d != "" {
			t.Fatalf("%s reads as another tree than %s (-was +is)\n%s", back, text, d)
		}
	})
}

// plainExpr draws arithmetic that Go's constants have too, in both notations.
func plainExpr(t *rapid.T, depth int) (ours, gos string) {
	if depth == 0 || rapid.IntRange(0, 4).Draw(t, "stop") == 0 {
		s := fmt.Sprintf("%.2f", rapid.Float64Range(0.01, 99).Draw(t, "n"))
		return s, s
	}
	a, ga := plainExpr(t, depth-1)
	switch rapid.IntRange(0, 2).Draw(t, "shape") {
	case 0:
		return "(" + a + ")", "(" + ga + ")"
	case 1:
		return "-(" + a + ")", "-(" + ga + ")"
	}
	b, gb := plainExpr(t, depth-1)
	op := rapid.SampledFrom([]string{"+", "-", "*", "/"}).Draw(t, "op")
	sign := map[string]string{"+": " + ", "-": " − ", "*": rapid.SampledFrom([]string{" x ", "x", " × ", "*", "·"}).Draw(t, "times"), "/": rapid.SampledFrom([]string{"/", " ÷ "}).Draw(t, "over")}[op]
	return a + sign + b, ga + " " + op + " " + gb
}

// The arithmetic agrees with Go's own exact constants.
func TestEvalAgainstGo(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		ours, gos := plainExpr(t, 5)
		tv, goErr := types.Eval(gotoken.NewFileSet(), nil, gotoken.NoPos, gos)
		e, err := ParseExpr(ours, nil)
		if err != nil {
			t.Fatalf("%s: %v", ours, err)
		}
		got, err := Eval(e, nil)
		if goErr != nil {
			if strings.Contains(goErr.Error(), "division by zero") {
				return // exactly zero in Go; here rounding may leave a trace
			}
			t.Fatalf("%s: %v", gos, goErr)
		}
		want, _ := constant.Float64Val(tv.Value)
		if err != nil {
			t.Fatalf("%s: %v, want %v", ours, err, want)
		}
		size := 0.
		Walk(e, func(e Expr) bool {
			if v, err := Eval(e, nil); err == nil {
				size = math.Max(size, math.Abs(v))
			}
			return true
		})
		if math.Abs(got-want) > 1e-9*math.Max(math.Abs(want), 1)+1e-12*size*size {
			t.Fatalf("%s is %v, Go says %v", ours, got, want)
		}
	})
}

func TestEval(t *testing.T) {
	value := func(n *Name) (float64, bool) {
		v, ok := map[string]float64{"L": 96, "B": 18, "V": 7776, "d": 4.5}[n.Text]
		return v, ok
	}
	for _, c := range []struct {
		in   string
		want float64
		err  string
	}{
		{"LB^3/12V", 6, ""}, {"96 x 18^3 / (12 x 7776)", 6, ""}, {"d/2", 2.25, ""}, {"2^-2", 0.25, ""}, {"60% x 14", 8.4, ""}, {"tan 45°", 1, ""},
		{"tan-1 1", 45, ""}, {"sqrt(16)", 4, ""}, {"sin 30 + cos 60", 1, ""}, {"arcsin 0.5", 30, ""}, {"arccos 0.5", 60, ""}, {"max(1, 3, 2) - min(4, 2)", 1, ""}, {"abs(-3)", 3, ""},
		{"0^0", 1, ""}, {"(-2)^3", -8, ""},
		{"1/(2-2)", 0, "divides by zero"}, {"sqrt(-1)", 0, "square root"}, {"arcsin 2", 0, "over 1"}, {"tan 90", 0, "right angle"}, {"10^400", 0, "no figure"}, {"(-8)^0.5", 0, "no figure"},
		{"0^-1", 0, "no figure"}, {"KB + 1", 0, "KB"},
	} {
		e, err := ParseExpr(c.in, trade)
		if err != nil {
			t.Errorf("%q: %v", c.in, err)
			continue
		}
		got, err := Eval(e, value)
		switch {
		case c.err == "" && (err != nil || math.Abs(got-c.want) > 1e-9):
			t.Errorf("%q is %v, %v, want %v", c.in, got, err, c.want)
		case c.err != "" && (err == nil || !strings.Contains(err.Error(), c.err)):
			t.Errorf("%q: %v, want an error that says %q", c.in, err, c.err)
		}
		if math.IsNaN(got) || math.IsInf(got, 0) {
			t.Errorf("%q gives %v", c.in, got)
		}
	}
}

func TestMapSharesWhatItLeaves(t *testing.T) {
	e, _ := ParseExpr("L x (B + 2)", trade)
	if Map(e, func(e Expr) Expr { return e }) != e {
		t.Error("nothing was changed, yet the tree was rebuilt")
	}
	f := Map(e, func(e Expr) Expr {
		if n, ok := e.(*Name); ok && n.Text == "B" {
			return &Num{Value: 18, Text: "18", At: n.At}
		}
		return e
	})
	if f.String() != "L × (18 + 2)" || e.String() != "L × (B + 2)" {
		t.Errorf("%s became %s", e, f)
	}
}
