package parse

import (
	"slices"
	"testing"

	"pgregory.net/rapid"
)

func TestReadings(t *testing.T) {
	for _, c := range []struct {
		in, calculator, denominator string
		meant, unbracketed          []string // must be among them
		reason                      string
	}{
		{in: "LB^3/12V", calculator: "(((L*(B^3))/12)*V)", reason: "a calculator divides by 12 alone"},
		{in: "96x18^3/(12x7776)", unbracketed: []string{"(((96*(18^3))/12)*7776)"}, reason: "the one pair left out"},
		{in: "96x18^3/12x7776", denominator: "((96*(18^3))/(12*7776))", meant: []string{"((96*(18^3))/(12*7776))"}, reason: "all that is multiplied belongs under the line"},
		{in: "453.6/18x96-8.4", denominator: "((453.6/(18*96))-8.4)", meant: []string{"(453.6/(18*(96-8.4)))", "((453.6/18)*(96-8.4))", "(453.6/((18*96)-8.4))"}, reason: "a difference in the denominator"},
		{in: "7776x2.25-453/7776", meant: []string{"(((7776*2.25)-453)/7776)"}, reason: "a sum over the line"},
		{in: "96-8.4x18", meant: []string{"((96-8.4)*18)"}, reason: "a difference before a factor"},
		{in: "18x96-8.4", meant: []string{"(18*(96-8.4))"}, reason: "a difference behind one"},
		{in: "8273.7x2.394-453x3/8273-453", meant: []string{"(((8273.7*2.394)-(453*3))/(8273-453))"}, reason: "sums over and under the line"},
		{in: "(96-8.4)x18^3/(12x7776)", unbracketed: []string{
			"(96-(((8.4*(18^3))/12)*7776))", "(96-((8.4*(18^3))/(12*7776)))", "((((96-8.4)*(18^3))/12)*7776)"}, reason: "all pairs, and each alone"},
		{in: "(-2)^2", unbracketed: []string{"(-(2^2))"}, reason: "the sign goes outside the power"},
		{in: "sqrt(2+3)x4", unbracketed: []string{"(sqrt(2)+(3*4))"}, reason: "the root of the first figure alone"},
		{in: "12V", reason: "one product has one reading"},
		{in: "(12)", reason: "a bracket that changes nothing"},
	} {
		e, err := ParseExpr(c.in, trade)
		if err != nil {
			t.Fatalf("%q: %v", c.in, err)
		}
		if x, ok := Calculator(e); ok != (c.calculator != "") || ok && shape(x) != c.calculator {
			t.Errorf("%q on a calculator: %v %v (%s)", c.in, x, ok, c.reason)
		}
		if x, ok := Denominator(e); ok != (c.denominator != "") || ok && shape(x) != c.denominator {
			t.Errorf("%q with all under the line: %v %v (%s)", c.in, x, ok, c.reason)
		}
		has := func(what string, got []Expr, want []string) {
			var shapes []string
			for _, x := range got {
				shapes = append(shapes, shape(x))
			}
			for _, w := range want {
				if !slices.Contains(shapes, w) {
					t.Errorf("%q %s: %s is missing from %v (%s)", c.in, what, w, shapes, c.reason)
				}
			}
			if len(want) == 0 && what == "without brackets" && len(got) > 0 {
				t.Errorf("%q without brackets: %v (%s)", c.in, shapes, c.reason)
			}
		}
		has("as meant", Meant(e), c.meant)
		has("without brackets", Unbracketed(e), c.unbracketed)
	}
}

// Every reading has the leaves of the expression, in their order and places.
func TestReadingsKeepTheLeaves(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		text := anyExpr(t, 4).String()
		e, err := ParseExpr(text, trade)
		if err != nil {
			t.Skip()
		}
		leaves := func(e Expr) (out []Span) {
			Walk(e, func(e Expr) bool {
				switch e.(type) {
				case *Num, *Name:
					out = append(out, e.Span())
				}
				return true
			})
			return out
		}
		want := leaves(e)
		check := func(how string, x Expr) {
			if !slices.Equal(leaves(x), want) {
				t.Fatalf("%s %s is %s: leaves were lost or moved", text, how, x)
			}
		}
		if x, ok := Calculator(e); ok {
			check("on a calculator", x)
		}
		if x, ok := Denominator(e); ok {
			check("with all under the line", x)
		}
		meant := Meant(e)
		if len(meant) > maxMeant {
			t.Fatalf("%d readings", len(meant))
		}
		for _, x := range meant {
			check("as meant", x)
		}
		for _, x := range Unbracketed(e) {
			check("without brackets", x)
		}
		if shape(e) != shape(mustParse(t, text)) {
			t.Fatalf("a reading changed %s itself", text)
		}
	})
}

func mustParse(t *rapid.T, text string) Expr {
	e, err := ParseExpr(text, trade)
	if err != nil {
		t.Fatal(err)
	}
	return e
}
