package sketch

import "batten/rules"

// Piece is a shape of a sketch in its place, for whoever draws it by other
// means than characters.
type Piece struct {
	Kind, Style    string // as in the topic's data
	X0, Y0, X1, Y1 float64
	Label          string // with its figures
}

// Pieces returns what stands in a sketch on the figures of a chain, in the
// order in which it is to be drawn; nil where the sketch does not belong to
// the question.
func Pieces(sk *rules.Sketch, chain Chain, label func(string) string) []Piece {
	var out []Piece
	shapes := standing(sk, chain, label)
	for _, layer := range []func(*shape) bool{filled, edged, lined, marked} {
		for _, s := range shapes {
			if layer(s) {
				out = append(out, Piece{s.Kind, s.Style, s.x0, s.y0, s.x1, s.y1, s.label})
			}
		}
	}
	return out
}

// Means says what a style stands for in a legend, "" where it needs no words.
func Means(style string) string { return strokes[style].means }

// Scale carries figures to places along one side of a picture. Figures that
// matter stand at least so far apart.
type Scale struct{ s *scale }

// NewScale makes a scale of the given size over the figures that matter.
func NewScale(figures []float64, size, apart int) Scale { return Scale{newScale(figures, size, apart)} }

// At is the place of a figure.
func (s Scale) At(figure float64) int { return s.s.at(figure) }
