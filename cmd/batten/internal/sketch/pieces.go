package sketch

import "batten/rules"

// piece is a shape of a sketch in its place, for what draws it by other means
// than characters.
type piece struct {
	Kind, Style    string // as in the topic's data
	X0, Y0, X1, Y1 float64
	Label          string // with its figures
}

// pieces returns what stands in a sketch, in the order in which it is to be
// drawn; nil where the sketch does not belong to the question.
func (v View) pieces(sk *rules.Sketch) []piece {
	var out []piece
	shapes := v.standing(sk)
	for _, layer := range []func(*shape) bool{filled, edged, lined, marked} {
		for _, s := range shapes {
			if layer(s) {
				out = append(out, piece{s.Kind, s.Style, s.x0, s.y0, s.x1, s.y1, s.label})
			}
		}
	}
	return out
}
