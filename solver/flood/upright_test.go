package flood

import (
	"errors"
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/integrate/quad"
)

func near(t *testing.T, what string, got, want, tolerance float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tolerance) {
		t.Errorf("%s: got %.12g, want %.12g within %g", what, got, want, tolerance)
	}
}

// The centre of buoyancy, the waterplane and its second moments against
// gonum's quadrature over the ship's length, breadth and draught.
func TestUprightAgainstQuadrature(t *testing.T) {
	r := rand.New(rand.NewPCG(3, 4))
	var worst float64
	for range 2000 {
		b, s := vessel(r)
		got, err := Upright(b, s)
		if err != nil {
			t.Fatal(err)
		}
		d := got.Draught
		// The share of a slice of the ship that is intact, slice by slice.
		along := func(f func(x, intact float64) float64, height, lost float64) float64 {
			return split([]float64{0, s.X0, s.X1, b.Length}, 0, b.Length, func(x float64) float64 {
				intact := b.Breadth * height
				if x > s.X0 && x < s.X1 {
					intact -= s.Permeability * (s.Y1 - s.Y0) * lost
				}
				return f(x, intact)
			}, 3)
		}
		across := func(f func(y, intact float64) float64, height, lost float64) float64 {
			return split([]float64{-b.Breadth / 2, s.Y0, s.Y1, b.Breadth / 2}, -b.Breadth/2, b.Breadth/2, func(y float64) float64 {
				intact := b.Length * height
				if y > s.Y0 && y < s.Y1 {
					intact -= s.Permeability * (s.X1 - s.X0) * lost
				}
				return f(y, intact)
			}, 3)
		}
		levels := func(f func(z, intact float64) float64) float64 {
			return split([]float64{0, s.Z0, s.Z1, d}, 0, d, func(z float64) float64 {
				intact := b.Length * b.Breadth
				if z > s.Z0 && z < s.Z1 {
					intact -= s.Permeability * (s.X1 - s.X0) * (s.Y1 - s.Y0)
				}
				return f(z, intact)
			}, 3)
		}
		wet := math.Max(0, math.Min(d, s.Z1)-s.Z0)
		cut := 0.0
		if s.Z0 < d && d < s.Z1 {
			cut = 1
		}
		one := func(_, a float64) float64 { return a }
		first := func(q, a float64) float64 { return q * a }
		v := b.Volume()
		x, y := along(first, 1, cut)/along(one, 1, cut), across(first, 1, cut)/across(one, 1, cut)
		for _, c := range []struct {
			what      string
			got, want float64
		}{
			{"volume, by slices along", along(one, d, wet), v},
			{"volume, by slices across", across(one, d, wet), v},
			{"volume, by waterplanes", levels(one), v},
			{"volume told", got.Volume, v},
			{"buoyancy along", got.Buoyancy.X, along(first, d, wet) / v},
			{"buoyancy across", 1 + got.Buoyancy.Y, 1 + across(first, d, wet)/v},
			{"KB", got.KB, levels(first) / v},
			{"waterplane", got.WaterplaneArea, along(one, 1, cut)},
			{"its centroid along", got.WaterplaneX, x},
			{"its centroid across", 1 + got.WaterplaneY, 1 + y},
			{"second moment along", got.InertiaL, along(func(q, a float64) float64 { return (q - x) * (q - x) * a }, 1, cut)},
			{"second moment across", got.InertiaT, across(func(q, a float64) float64 { return (q - y) * (q - y) * a }, 1, cut)},
		} {
			if miss := math.Abs(c.got-c.want) / math.Max(1, math.Abs(c.want)); miss > 1e-11 {
				t.Errorf("%s: got %.14g, want %.14g\n%+v %+v", c.what, c.got, c.want, b, s)
			} else {
				worst = math.Max(worst, miss)
			}
		}
	}
	t.Logf("2000 boxes: within %.1e", worst)
}

// quad's own rule on a known integral, so that the yardstick is measured too.
func TestYardstick(t *testing.T) {
	near(t, "x³ from 1 to 3", quad.Fixed(func(x float64) float64 { return x * x * x }, 1, 3, 3, quad.Legendre{}, 0), 20, 1e-12)
}

// The new draught carries the old volume; water that passes a flat on its way
// up gains on the whole waterplane from there.
func TestSinkage(t *testing.T) {
	b := Box{Length: 100, Breadth: 10, Draught: 5, Density: 1.025}
	space := func(z0, z1, mu float64) Space {
		return Space{X0: 40, X1: 60, Y0: -5, Y1: 5, Z0: z0, Z1: z1, Permeability: mu}
	}
	open := math.Inf(1)
	for _, test := range []struct {
		reason  string
		s       Space
		sinkage float64
	}{
		{"20 of 100 metres lost: 5 × 20 / 80", space(0, open, 1), 1.25},
		{"half of that permeable: 5 × 10 / 90", space(0, open, 0.5), 5.0 * 10 / 90},
		{"solid with cargo: nothing is lost", space(0, open, 0), 0},
		{"above a flat at 2: 3 × 20 / 80", space(2, open, 1), 0.75},
		{"below a flat at 2, waterplane whole: 2 × 20 / 100", space(0, 2, 1), 0.4},
		{"below a flat at 6 the water passes: 6 × 20 / 100", space(0, 6, 1), 1.2},
		{"below a flat at 6.5 it does not reach", space(0, 6.5, 1), 1.25},
		{"above a flat that stays dry", space(5.5, open, 1), 0},
		{"above a flat at the very waterline", space(5, open, 1), 0},
	} {
		got, err := Upright(b, test.s)
		if err != nil {
			t.Errorf("%s: %v", test.reason, err)
			continue
		}
		near(t, test.reason, got.Sinkage, test.sinkage, 1e-13)
	}
}

// Each edge case says what it must.
func TestRefusals(t *testing.T) {
	b := Box{Length: 100, Breadth: 10, Draught: 5, KG: 3, Density: 1.025}
	whole := Space{X0: 0, X1: 100, Y0: -5, Y1: 5, Z1: math.Inf(1), Permeability: 1}
	if _, err := Upright(b, whole); !errors.Is(err, ErrSinks) {
		t.Errorf("upright with the whole box open: %v", err)
	}
	if _, err := Equilibrium(b, whole); !errors.Is(err, ErrSinks) {
		t.Errorf("equilibrium with the whole box open: %v", err)
	}
	half := Space{X0: 40, X1: 60, Y0: -5, Y1: 5, Z1: math.Inf(1), Permeability: 1}
	noKG := b
	noKG.KG = 0
	if _, err := Equilibrium(noKG, half); !errors.Is(err, ErrNoKG) {
		t.Errorf("equilibrium without KG: %v", err)
	}
	if r, err := Upright(noKG, half); err != nil || !math.IsNaN(r.GMT) || !math.IsNaN(r.List) || r.GML != r.BML {
		t.Errorf("upright without KG: %+v, %v", r, err)
	}
	for reason, change := range map[string]func(*Box, *Space){
		"no length":            func(b *Box, _ *Space) { b.Length = 0 },
		"draught not a number": func(b *Box, _ *Space) { b.Draught = math.NaN() },
		"no density":           func(b *Box, _ *Space) { b.Density = 0 },
		"KG under the keel":    func(b *Box, _ *Space) { b.KG = -1 },
		"permeability over 1":  func(_ *Box, s *Space) { s.Permeability = 1.01 },
		"permeability under 0": func(_ *Box, s *Space) { s.Permeability = -0.1 },
		"past the fore end":    func(_ *Box, s *Space) { s.X1 = 101 },
		"past the shell":       func(_ *Box, s *Space) { s.Y0 = -5.1 },
		"upside down":          func(_ *Box, s *Space) { s.Z0, s.Z1 = 4, 2 },
		"back to front":        func(_ *Box, s *Space) { s.X0, s.X1 = 60, 40 },
	} {
		box, s := b, half
		change(&box, &s)
		if _, err := Upright(box, s); err == nil {
			t.Errorf("upright, %s: no refusal", reason)
		}
		if _, err := Equilibrium(box, s); err == nil {
			t.Errorf("equilibrium, %s: no refusal", reason)
		}
	}
	deck := b
	deck.Depth = 6
	if r, err := Upright(deck, half); err != nil || !r.DeckUnder {
		t.Errorf("deck at 6 and draught at 6.25: %v, %v", r.DeckUnder, err)
	}
}
