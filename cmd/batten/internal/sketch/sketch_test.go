package sketch

import (
	"errors"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"batten/parse"
	"batten/rules"
)

// figures is a chain whose formulas are plain numbers.
type figures struct{}

func (figures) EvalExpr(e parse.Expr) (float64, error) {
	if n, ok := e.(*parse.Num); ok {
		return n.Value, nil
	}
	return 0, errors.New("no figure")
}

func (figures) Holds(c parse.Cond) bool { return c == nil }

// plain shows everything, labels as they are.
var plain = View{Chain: figures{}, Label: func(s string) string { return s },
	Means: map[string]string{"flooded": "flooded: buoyancy lost", "waterline-before": "the waterline before"}}

func shapeOf(kind, style, label string, at ...float64) *rules.Shape {
	s := &rules.Shape{Kind: kind, Style: style, Label: label}
	for _, v := range at {
		s.Coords = append(s.Coords, &parse.Num{Value: v})
	}
	return s
}

func TestDraw(t *testing.T) {
	box := []*rules.Shape{
		shapeOf("rect", "flooded", "", 40, 1.5, 54, 4.788),
		shapeOf("rect", "hull", "", 0, 0, 96, 7),
		shapeOf("line", "waterline-before", "before", 0, 4.5, 96, 4.5),
		shapeOf("line", "waterline-after", "after", 0, 4.788, 96, 4.788),
		shapeOf("line", "flat", "", 40, 1.5, 54, 1.5),
		shapeOf("mark", "", "A", 10, 3),
	}
	for _, c := range []struct {
		reason string
		shapes []*rules.Shape
		want   string
	}{
		{"waterlines a hand's breadth apart stand on rows of their own", box, `
┌────────────────────────────────────────────────────┐
│                                                    │
~~~~~~~~~~~~~~~~~~~~~~~~~~~~~~~~~~~~~~~~~~~~~~~~~~~~~~  after
│                     ░░░░░░░░░                      │
- - - - - - - - - - - -░-░-░-░- - - - - - - - - - - -│  before
│                     ░░░░░░░░░                      │
│     A               ░░░░░░░░░                      │
│                     ░░░░░░░░░                      │
│                     ░░░░░░░░░                      │
│                     ━━━━━━━━━                      │
│                                                    │
│                                                    │
└────────────────────────────────────────────────────┘
`},
		{"a label stands beside what it names, over no stroke; one too long for the page goes on below", []*rules.Shape{
			shapeOf("rect", "hull", "", 0, 0, 16, 10),
			shapeOf("line", "waterline-after", "6.218 m, list 8.0° to starboard", 0, 4, 16, 7),
			shapeOf("mark", "", "down 7.000 m", 16, 7),
			shapeOf("line", "dimension", "b 1 m", 15, -2, 16, -2),
			shapeOf("line", "dimension", "B 16 m", 0, -4, 16, -4),
		}, `
┌────────────────────────────────────────────────────┐
│                                                    │
│                                       down 7.000 m │
│                                       ~~~~~~~~~~~~~~  6.218 m,
│             ~~~~~~~~~~~~~~~~~~~~~~~~~~             │  list 8.0° to starboard
~~~~~~~~~~~~~~                                       │
│                                                    │
│                                                    │
└────────────────────────────────────────────────────┘

                                            b 1 m ├──┤

├───────────────────────B 16 m───────────────────────┤
`},
		{"a formula without a figure leaves its shape out", []*rules.Shape{
			{Kind: "line", Style: "flat", Coords: []parse.Expr{&parse.Name{Text: "x"}, nil, nil, nil}},
		}, ""},
		{"one point alone is no scale", []*rules.Shape{shapeOf("mark", "", "here", 3, 3)}, "\n  here\n"},
		{"the same place four times over draws nothing wild", []*rules.Shape{shapeOf("rect", "hull", "", 1, 1, 1, 1)}, "\n│\n"},
	} {
		got := ""
		if d := Draw(&rules.Sketch{Shapes: c.shapes}, plain); d != nil {
			got = "\n" + strings.Join(d.Rows, "\n") + "\n"
		}
		if diff := cmp.Diff(c.want, got); diff != "" {
			t.Errorf("%s:\n%s\n%s", c.reason, diff, got)
		}
	}
}

// TestScale: edges keep their order and their distance, however crowded.
func TestScale(t *testing.T) {
	for _, values := range [][]float64{
		{0, 100}, {0, 0.001, 0.002, 100}, {0, 99.9, 99.95, 100}, {-5, 5, 4.9999, 0},
		{0, 1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12, 13, 14, 15, 16},
	} {
		s := newScale(append([]float64(nil), values...), 12, 2)
		for i := 1; i < len(s.places); i++ {
			if s.places[i] < s.places[i-1] || (len(values) <= 7 && s.places[i]-s.places[i-1] < 2) {
				t.Errorf("%v → %v", s.values, s.places)
			}
		}
		if s.places[0] < 0 && len(values) <= 7 || s.places[len(s.places)-1] > 12 {
			t.Errorf("%v → %v: off the picture", s.values, s.places)
		}
	}
}

// TestUntold: with a figure that may not be seen, no line shows where it lies;
// with its place it stands there, but its label ends before the figure.
func TestUntold(t *testing.T) {
	sk := &rules.Sketch{Shapes: []*rules.Shape{
		shapeOf("rect", "hull", "", 0, 0, 9, 9),
		{Kind: "line", Style: "waterline-after", Label: "after {d}", Coords: []parse.Expr{&parse.Num{}, &parse.Name{Text: "d"}, &parse.Num{Value: 9}, &parse.Name{Text: "d"}}},
	}}
	v := View{Chain: deep{}, Label: plain.Label, Told: func(string) bool { return false }}
	if rows := strings.Join(Draw(sk, v).Rows, ""); strings.Contains(rows, "~") {
		t.Errorf("the line is drawn: %s", rows)
	}
	v.Places = true
	if rows := strings.Join(Draw(sk, v).Rows, ""); !strings.Contains(rows, "~") || !strings.Contains(rows, "after") || strings.Contains(rows, "{d}") {
		t.Errorf("the line is not drawn, or its figure told: %s", rows)
	}
}

// deep is a chain in which every name is 5.
type deep struct{ figures }

func (d deep) EvalExpr(e parse.Expr) (float64, error) {
	if _, ok := e.(*parse.Name); ok {
		return 5, nil
	}
	return d.figures.EvalExpr(e)
}

// TestReachesTheWaterline: a flooded area ends at the waterline after, however
// that slopes.
func TestReachesTheWaterline(t *testing.T) {
	sk := &rules.Sketch{Shapes: []*rules.Shape{
		shapeOf("rect", "flooded", "", 80, 0, 100, 8),
		shapeOf("rect", "hull", "", 0, 0, 100, 10),
		shapeOf("line", "waterline-after", "", 0, 2, 100, 8),
	}}
	p := SVG("x", sk, plain)
	if p == nil || !strings.Contains(string(p.SVG), `<path class="s-flooded"`) {
		t.Errorf("the area's top does not slope: %+v", p)
	}
	for y, row := range Draw(sk, plain).Rows {
		if i, j := strings.LastIndex(row, "~"), strings.Index(row, "░"); i >= 0 && j >= 0 && j < i {
			t.Errorf("row %d: flooded over the waterline: %s", y, row)
		}
	}
}

func TestLegend(t *testing.T) {
	d := Draw(&rules.Sketch{Shapes: []*rules.Shape{
		shapeOf("rect", "hull", "", 0, 0, 9, 9),
		shapeOf("rect", "flooded", "", 1, 1, 2, 2),
		shapeOf("rect", "flooded", "", 3, 3, 4, 4),
		shapeOf("line", "waterline-before", "", 0, 5, 9, 5),
	}}, plain)
	want := []Entry{{"░░░░", "flooded: buoyancy lost"}, {"- - ", "the waterline before"}}
	if diff := cmp.Diff(want, d.Legend); diff != "" {
		t.Error(diff)
	}
}
