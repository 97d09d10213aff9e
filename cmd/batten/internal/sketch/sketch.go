// Package sketch draws a topic's sketches in characters.
//
// The shapes and their coordinates are data of the topic; nothing here knows
// what they picture. A drawing is no scale plan: edges that would fall on one
// row or column are held apart, so that everything named can be seen.
package sketch

import (
	"math"
	"slices"
	"strings"

	"batten/parse"
	"batten/rules"
)

// Chain gives the figures and conditions of a question.
type Chain interface {
	EvalExpr(parse.Expr) (float64, error)
	Holds(parse.Cond) bool
}

// Drawing is a finished picture: its rows, and what its strokes stand for.
type Drawing struct {
	Title  string
	Rows   []string
	Legend []Entry
}

// Entry of a legend: a sample of the stroke and what it is.
type Entry struct{ Sample, Means string }

// Size of the picture in characters. Labels of level lines stand to the right
// of it, in the room that is left of the page.
const (
	width  = 54
	height = 13
	page   = 78
)

// Least room between two edges, in columns and rows.
const (
	apartX = 3
	apartY = 2
)

type shape struct {
	*rules.Shape
	x0, y0, x1, y1 float64
	label          string
}

func (s *shape) level() bool   { return s.Kind == "line" && close(s.y0, s.y1) }
func (s *shape) upright() bool { return s.Kind == "line" && close(s.x0, s.x1) }

func close(a, b float64) bool {
	return math.Abs(a-b) <= 1e-9*math.Max(1, math.Max(math.Abs(a), math.Abs(b)))
}

// View is what a sketch is drawn with.
type View struct {
	Chain Chain
	Label func(string) string // fills in the figures of a label's template
	// Told reports whether a quantity may be seen; nil lets all be seen. Where it
	// may not, no line or point is drawn that would show where it lies, and
	// labels end before it.
	Told func(id string) bool
	// Places lets lines and points stand where they lie all the same: only the
	// labels end before what may not be seen.
	Places bool
	Means  map[string]string // what the styles stand for
}

// Draw draws a sketch in characters. It returns nil where the sketch does not
// belong to the question or has nothing to show.
func Draw(sk *rules.Sketch, v View) *Drawing {
	shapes := v.standing(sk)
	if len(shapes) == 0 {
		return nil
	}
	c := newCanvas(shapes)
	for _, layer := range []func(*shape) bool{filled, edged, lined} {
		for _, s := range shapes {
			if layer(s) {
				c.draw(s)
			}
		}
	}
	for _, s := range shapes {
		c.name(s)
	}
	return &Drawing{Title: sk.Title, Rows: c.rows(), Legend: v.legend(shapes)}
}

// standing returns the shapes that stand in a sketch, each in its place.
func (v View) standing(sk *rules.Sketch) []*shape {
	if !v.Chain.Holds(sk.When) {
		return nil
	}
	var shapes []*shape
	for _, rs := range sk.Shapes {
		if !v.Chain.Holds(rs.When) || !v.seen(rs) {
			continue
		}
		if s := place(rs, v.Chain); s != nil {
			s.label = strings.TrimSpace(v.Label(v.told(rs.Label)))
			shapes = append(shapes, s)
		}
	}
	return shapes
}

// seen reports whether a shape may be shown: areas always, a line or a point
// where nothing untold decides its place. An axis tells nothing by its length.
func (v View) seen(rs *rules.Shape) bool {
	point := rs.Kind == "mark" && rs.Style == ""
	if v.Told == nil || v.Places || rs.Style == "axis" || rs.Kind != "line" && !point {
		return true
	}
	for _, x := range rs.Coords {
		for _, n := range parse.Names(x) {
			if !v.Told(n.Text) {
				return false
			}
		}
	}
	return true
}

// told cuts a label before the first figure that may not be seen.
func (v View) told(label string) string {
	for at := 0; v.Told != nil; {
		i := strings.IndexByte(label[at:], '{')
		if i < 0 {
			break
		}
		from := at + i
		n := strings.IndexByte(label[from:], '}')
		if n < 0 {
			break
		}
		if !v.Told(label[from+1 : from+n]) {
			return strings.TrimRight(label[:from], " ,")
		}
		at = from + n
	}
	return label
}

func filled(s *shape) bool { return s.Kind == "rect" && strokes[s.Style].fill != 0 }
func edged(s *shape) bool  { return s.Kind == "rect" && strokes[s.Style].fill == 0 }
func lined(s *shape) bool  { return s.Kind == "line" }
func marked(s *shape) bool { return s.Kind == "mark" }

// place evaluates a shape's coordinates; nil where one of them has no figure.
func place(rs *rules.Shape, chain Chain) *shape {
	var at [4]float64
	need := 4
	if rs.Kind == "mark" {
		need = 2
	}
	if len(rs.Coords) < need {
		return nil
	}
	for i := range need {
		v, err := chain.EvalExpr(rs.Coords[i])
		if err != nil || math.IsNaN(v) || math.IsInf(v, 0) {
			return nil
		}
		at[i] = v
	}
	s := &shape{Shape: rs, x0: at[0], y0: at[1], x1: at[2], y1: at[3]}
	if rs.Kind == "mark" {
		s.x1, s.y1 = s.x0, s.y0
	}
	if rs.Kind == "rect" {
		s.x0, s.x1 = min(s.x0, s.x1), max(s.x0, s.x1)
		s.y0, s.y1 = min(s.y0, s.y1), max(s.y0, s.y1)
	}
	return s
}

// scale carries figures to columns or rows. The edges of shapes have places of
// their own, at least so far apart; what lies between is interpolated.
type scale struct {
	values []float64
	places []int
}

func newScale(values []float64, size, apart int) *scale {
	slices.Sort(values)
	values = slices.CompactFunc(values, close)
	n := len(values)
	s := &scale{values: values, places: make([]int, n)}
	if n < 2 {
		return s
	}
	if apart*(n-1) > size {
		apart = max(1, size/(n-1))
	}
	for i, v := range values {
		s.places[i] = int(math.Round((v - values[0]) / (values[n-1] - values[0]) * float64(size)))
	}
	for i := 1; i < n; i++ {
		s.places[i] = max(s.places[i], s.places[i-1]+apart)
	}
	for i, last := n-1, size; i >= 0; i-- {
		s.places[i] = min(s.places[i], last)
		last = s.places[i] - apart
	}
	return s
}

func (s *scale) at(v float64) int {
	n := len(s.values)
	i, found := slices.BinarySearchFunc(s.values, v, func(a, b float64) int {
		switch {
		case close(a, b):
			return 0
		case a < b:
			return -1
		}
		return 1
	})
	switch {
	case found:
		return s.places[i]
	case i == 0:
		return s.places[0]
	case i == n:
		return s.places[n-1]
	}
	part := (v - s.values[i-1]) / (s.values[i] - s.values[i-1])
	return s.places[i-1] + int(math.Round(part*float64(s.places[i]-s.places[i-1])))
}
