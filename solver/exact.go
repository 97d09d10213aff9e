package solver

import (
	"errors"
	"fmt"
	"math"

	"batten/rules"
	"batten/solver/flood"
)

// Exact sets what a paper's method gives beside how the ship would really come
// to rest: free to sink, trim and heel, with no rule for small angles.
type Exact struct {
	Rows  []ExactRow
	Notes []string // what the method, or the paper, can't bear; sentences
}

// ExactRow is one figure, by the working and exactly.
type ExactRow struct {
	Quantity      *rules.Quantity // with the places in which the two are shown
	Worked, Exact float64
}

// Print writes both figures, and by how much the worked one is the larger or
// the smaller.
func (r ExactRow) Print() (worked, exact, apart string) {
	worked, exact = Shown(r.Quantity, r.Worked), Shown(r.Quantity, r.Exact)
	unit := math.Pow(10, float64(r.Quantity.Places))
	// By what is printed, so that the three figures of a row agree.
	d := (math.Round(math.Abs(r.Worked)*unit) - math.Round(math.Abs(r.Exact)*unit)) / unit
	switch {
	case worked == exact:
		apart = "the same"
	case d > 0:
		apart = Shown(r.Quantity, d) + " more"
	default:
		apart = Shown(r.Quantity, -d) + " less"
	}
	return worked, exact, apart
}

// SteepList is the list, in degrees, from which on the rule for small angles
// is not to be leant on.
const SteepList = 15

// A body from first principles is no formula, so that this is the one place
// where the solver knows what a topic is about. Topics without an entry are
// worked by their formulas alone.
var firstPrinciples = map[string]func(*Model) *Exact{"bilging": bilgedExactly}

// Exact works the question from first principles and compares. It is nil where
// the method leaves nothing out and nothing is to be warned of.
func (m *Model) Exact() *Exact {
	work := firstPrinciples[m.Topic.ID]
	if work == nil {
		return nil
	}
	x := work(m)
	if x == nil || len(x.Rows)+len(x.Notes) == 0 {
		return nil
	}
	return x
}

// bilgedBox is the box and the flooded space of a question on bilging, from
// its figures and words.
func bilgedBox(m *Model) (flood.Box, flood.Space) {
	g, f := m.Question.Given, m.Question.Flags
	b := flood.Box{Length: g["length"], Breadth: g["breadth"], Draught: g["draught"], Depth: g["depth"], KG: g["kg"], Density: g["density"]}
	mu, _ := m.Value("permeability")
	l, w := g["comp_length"], g["comp_breadth"]
	s := flood.Space{X0: (b.Length - l) / 2, Y0: -w / 2, Z1: math.Inf(1), Permeability: mu}
	switch {
	case f["above"]:
		s.Z0 = g["flat_height"]
	case f["below"]:
		s.Z1 = g["flat_height"]
	}
	switch {
	case f["forward"]:
		s.X0 = b.Length - l
	case f["aft"]:
		s.X0 = 0
	case f["port"]:
		s.Y0 = -b.Breadth / 2
	case f["starboard"]:
		s.Y0 = b.Breadth/2 - w
	}
	s.X1, s.Y1 = s.X0+l, s.Y0+w
	return b, s
}

func bilgedExactly(m *Model) *Exact {
	b, s := bilgedBox(m)
	f := m.Question.Flags
	x := &Exact{}
	if b.KG == 0 {
		if f["end"] || f["side"] {
			x.note("KG is not given, and without it how she would really lie can't be worked.")
		}
		return x
	}
	side, deck := "", b.Depth > 0
	sign := 1.0 // of a heel to the damaged side, of a trim by the damaged end
	switch {
	case f["port"]:
		side, sign = "port", -1
	case f["starboard"]:
		side = "starboard"
	case f["aft"]:
		sign = -1
	}
	a, err := flood.Equilibrium(b, s)
	switch {
	case errors.Is(err, flood.ErrSinks):
		x.note("Worked exactly she does not stay afloat.")
	case errors.Is(err, flood.ErrCapsizes):
		x.note("Worked exactly she does not come to rest: she capsizes.")
	case err != nil: // nothing that could be told for sure
		return x
	case f["end"]:
		x.row(m, "draught_forward", a.Forward, 0)
		x.row(m, "draught_aft", a.Aft, 0)
		x.row(m, "trim_change", sign*100*(a.Forward-a.Aft), 0)
	case f["side"]:
		x.row(m, "list", sign*a.Heel, 1)
	}
	heel := math.Abs(a.Heel)
	if list, ok := m.Value("list"); ok && err == nil {
		if list >= SteepList || heel >= SteepList {
			x.note("The rule for small angles serves to about %d°; a list of %s is more than it can bear.", SteepList, Shown(m.Topic.Quantity("list"), list))
		}
		low, _ := m.Value("bilged_draught")
		tan, _ := m.Value("tan_list")
		low += b.Breadth / 2 * tan
		worst := math.Max(low, math.Max(a.Port, a.Starboard))
		if deck && worst >= b.Depth {
			x.note("The deck edge goes under on the %s side: the water stands up to %.2f m above the keel there, and her depth is %.2f m. Neither working holds from there on.", side, worst, b.Depth)
			deck = false
		}
	}
	if err != nil {
		return x
	}
	if gm, ok := m.Value("gm_bilged"); ok && gm <= 0 && heel > 0.05 {
		x.note("GM after bilging is not positive, so she does not stay upright: worked exactly she comes to rest with a heel of %.1f°.", heel)
	} else if !f["side"] && heel > 0.05 {
		x.note("She is not stable upright: worked exactly she comes to rest with a heel of %.1f°.", heel)
	}
	if deck && a.DeckUnder {
		x.note("Worked exactly the deck goes under, at a depth of %.2f m. Neither working holds from there on.", b.Depth)
	}
	if a.KeelOut {
		x.note("Worked exactly the bottom comes out of the water at a corner, which the method does not reckon with.")
	}
	return x
}

func (x *Exact) note(format string, args ...any) {
	x.Notes = append(x.Notes, fmt.Sprintf(format, args...))
}

// row adds a figure that the working has, in the trade's places and some more.
func (x *Exact) row(m *Model, id string, exact float64, more int) {
	worked, ok := m.Value(id)
	if !ok {
		return
	}
	q := *m.Topic.Quantity(id)
	q.Places += more
	x.Rows = append(x.Rows, ExactRow{&q, worked, exact})
}
