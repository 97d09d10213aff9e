package flood

import (
	"errors"
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/diff/fd"
)

// steady draws a vessel that floats upright with a healthy GM once flooded.
func steady(r *rand.Rand, shape func(*rand.Rand, Box, Space) Space) (Box, Space) {
	for {
		b, s := vessel(r)
		s = shape(r, b, s)
		u, err := Upright(b, s)
		if err != nil {
			continue
		}
		b.KG = u.KMT - b.Breadth*(0.02+0.1*r.Float64())
		if b.KG > 0 {
			return b, s
		}
	}
}

func centred(r *rand.Rand, b Box, s Space) Space {
	l, w := (s.X1-s.X0)/2, (s.Y1-s.Y0)/2
	s.X0, s.X1, s.Y0, s.Y1 = b.Length/2-l, b.Length/2+l, -w, w
	return s
}

// A space in the middle of the ship neither heels nor trims her: both ways of
// reckoning must meet in the same draught and centre of buoyancy.
func TestCentredSpacesAgree(t *testing.T) {
	r := rand.New(rand.NewPCG(5, 6))
	var worst float64
	for range 1000 {
		b, s := steady(r, centred)
		u, err := Upright(b, s)
		if err != nil {
			t.Fatal(err)
		}
		e, err := Equilibrium(b, s)
		if err != nil || !e.Converged || !e.Stable {
			t.Fatalf("%+v %+v: %+v, %v", b, s, e, err)
		}
		for _, d := range []float64{
			e.Waterline.Mid - u.Draught, e.Forward - u.Draught, e.Aft - u.Draught, e.Port - u.Draught, e.Starboard - u.Draught,
			e.Buoyancy.X - u.Buoyancy.X, e.Buoyancy.Y - u.Buoyancy.Y, e.Buoyancy.Z - u.Buoyancy.Z, e.Heel, e.Trim,
		} {
			worst = math.Max(worst, math.Abs(d))
		}
	}
	t.Logf("1000 centred spaces: within %.1e m and degrees", worst)
	if worst > 1e-9 {
		t.Errorf("upright and equilibrium differ by %g", worst)
	}
}

// While the sides stand in the water and no flat is passed, the arm that
// rights a box is that of the wall-sided formula (trade handbooks; Derrett and
// Barrass, chapter on stability at moderate angles): with t the tangent of the
// angle, t (GM + BM t²/2) = offset of the centre of buoyancy.
func wallSided(gm, bm, offset float64) float64 {
	low, high := 0.0, 10.0
	for range 200 {
		t := (low + high) / 2
		if t*(gm+bm*t*t/2) < offset {
			low = t
		} else {
			high = t
		}
	}
	return low
}

func TestWallSidedFormula(t *testing.T) {
	r := rand.New(rand.NewPCG(7, 8))
	var worstHeel, worstTrim float64
	heeled, trimmed := 0, 0
	for range 1000 {
		// A side tank amidships, open at the top.
		b, s := steady(r, func(r *rand.Rand, b Box, s Space) Space {
			l, w := (0.02+0.08*r.Float64())*b.Length, (0.1+0.3*r.Float64())*b.Breadth
			return Space{X0: (b.Length - l) / 2, X1: (b.Length + l) / 2, Y0: b.Breadth/2 - w, Y1: b.Breadth / 2, Z1: math.Inf(1), Permeability: s.Permeability}
		})
		u, _ := Upright(b, s)
		e, err := Equilibrium(b, s)
		if err == nil && !e.KeelOut {
			heeled++
			want := wallSided(u.GMT, u.BMT, -u.Buoyancy.Y)
			worstHeel = math.Max(worstHeel, math.Abs(e.Waterline.Across-want))
			// She turns about the centroid of her waterplane.
			worstHeel = math.Max(worstHeel, math.Abs(e.Waterline.Height(b.Length/2, u.WaterplaneY)-u.Draught))
		} else if err != nil && !errors.Is(err, ErrCapsizes) {
			t.Errorf("%+v %+v: %v", b, s, err)
		}

		// An end compartment across the whole breadth.
		b, s = steady(r, func(r *rand.Rand, b Box, s Space) Space {
			l := (0.02 + 0.08*r.Float64()) * b.Length
			return Space{X0: b.Length - l, X1: b.Length, Y0: -b.Breadth / 2, Y1: b.Breadth / 2, Z1: math.Inf(1), Permeability: s.Permeability}
		})
		u, _ = Upright(b, s)
		e, err = Equilibrium(b, s)
		if err != nil {
			t.Errorf("%+v %+v: %v", b, s, err)
		} else if !e.KeelOut {
			trimmed++
			want := wallSided(u.GML, u.BML, b.Length/2-u.Buoyancy.X)
			worstTrim = math.Max(worstTrim, math.Abs(e.Waterline.Along-want)*b.Length)
			worstTrim = math.Max(worstTrim, math.Abs(e.Waterline.Height(u.WaterplaneX, 0)-u.Draught))
		}
	}
	t.Logf("%d side tanks: tangents within %.1e; %d end compartments: draughts within %.1e m", heeled, worstHeel, trimmed, worstTrim)
	if worstHeel > 1e-9 || worstTrim > 1e-8 {
		t.Errorf("wall-sided formula: heel %g, trim %g", worstHeel, worstTrim)
	}
	if heeled < 500 || trimmed < 500 {
		t.Errorf("too few stayed wall-sided: %d, %d", heeled, trimmed)
	}
}

// As a space shrinks, the exact angles go to those of the small-angle rules,
// and what is left between them shrinks faster than the angle does.
func TestSmallSpacesMeetTheRules(t *testing.T) {
	b := Box{Length: 100, Breadth: 16, Draught: 5, KG: 5, Density: 1.025}
	open := math.Inf(1)
	for _, test := range []struct {
		reason string
		space  func(scale float64) Space
		exact  func(Attitude) float64
		rule   func(Result) float64
	}{
		{
			"end compartment",
			func(q float64) Space { return Space{X0: 100 - 10*q, X1: 100, Y0: -8, Y1: 8, Z1: open, Permeability: 1} },
			func(a Attitude) float64 { return (a.Forward - a.Aft) * 100 },
			func(r Result) float64 { return r.Trim },
		},
		{
			"after end, above a flat",
			func(q float64) Space {
				return Space{X0: 0, X1: 10 * q, Y0: -8, Y1: 8, Z0: 2, Z1: open, Permeability: 0.7}
			},
			func(a Attitude) float64 { return (a.Forward - a.Aft) * 100 },
			func(r Result) float64 { return r.Trim },
		},
		{
			"after end, below a flat",
			func(q float64) Space { return Space{X0: 0, X1: 10 * q, Y0: -8, Y1: 8, Z1: 2, Permeability: 0.7} },
			func(a Attitude) float64 { return (a.Forward - a.Aft) * 100 },
			func(r Result) float64 { return r.Trim },
		},
		{
			"side tank, shorter",
			func(q float64) Space {
				return Space{X0: 50 - 5*q, X1: 50 + 5*q, Y0: 3, Y1: 8, Z1: open, Permeability: 1}
			},
			func(a Attitude) float64 { return a.Waterline.Across },
			func(r Result) float64 { return r.TanList },
		},
		{
			"side tank to port, below a flat, narrower",
			func(q float64) Space {
				return Space{X0: 45, X1: 55, Y0: -8, Y1: -8 + 5*q, Z1: 2, Permeability: 0.8}
			},
			func(a Attitude) float64 { return a.Waterline.Across },
			func(r Result) float64 { return r.TanList },
		},
		{
			"a corner, both ways at once",
			func(q float64) Space {
				return Space{X0: 100 - 5*q, X1: 100, Y0: 8 - 5*q, Y1: 8, Z1: open, Permeability: 1}
			},
			func(a Attitude) float64 { return a.Waterline.Across },
			func(r Result) float64 { return r.TanList },
		},
	} {
		var gaps []float64
		for _, scale := range []float64{1, 0.5, 0.1, 0.01} {
			s := test.space(scale)
			u, err := Upright(b, s)
			if err != nil {
				t.Fatal(err)
			}
			e, err := Equilibrium(b, s)
			if err != nil {
				t.Fatalf("%s: %v", test.reason, err)
			}
			gaps = append(gaps, math.Abs(test.exact(e)/test.rule(u)-1))
		}
		t.Logf("%-45s exact over rule, less one: %.2e %.2e %.2e %.2e at 1, ½, ⅒, 1/100 of the size", test.reason, gaps[0], gaps[1], gaps[2], gaps[3])
		if gaps[0] > 0.15 || gaps[1] >= gaps[0] || gaps[2] >= gaps[1] || gaps[3] >= gaps[2] || gaps[3] > 1e-3 {
			t.Errorf("%s: the gap does not close: %v", test.reason, gaps)
		}
	}
}

// Any space anywhere, both angles at once: an answer is in balance by a
// reckoning that shares nothing with the search, and its mirror images are
// answers of the mirrored ships.
func TestAnySpaceBalances(t *testing.T) {
	r := rand.New(rand.NewPCG(9, 10))
	var volume, arm, mirror float64
	settled, capsized, most := 0, 0, 0
	for range 1500 {
		b, s := steady(r, func(_ *rand.Rand, _ Box, s Space) Space { return s })
		e, err := Equilibrium(b, s)
		if errors.Is(err, ErrCapsizes) {
			capsized++
			continue
		}
		if err != nil {
			t.Errorf("%+v %+v: %v", b, s, err)
			continue
		}
		settled++
		most = max(most, e.Iterations)
		whole, lost := integrate(b.cuboid(), e.Waterline), integrate(s.cuboid(), e.Waterline)
		p := s.Permeability
		v := whole.volume - p*lost.volume
		volume = math.Max(volume, math.Abs(v/b.Volume()-1))
		bx := (whole.moment.X - p*lost.moment.X) / v
		by := (whole.moment.Y - p*lost.moment.Y) / v
		bz := (whole.moment.Z - p*lost.moment.Z) / v
		// G and B in one vertical: the line between them runs square to the water.
		arm = math.Max(arm, math.Abs(bx-b.Length/2+e.Waterline.Along*(bz-b.KG)))
		arm = math.Max(arm, math.Abs(by+e.Waterline.Across*(bz-b.KG)))

		m := s
		m.X0, m.X1, m.Y0, m.Y1 = b.Length-s.X1, b.Length-s.X0, -s.Y1, -s.Y0
		f, err := Equilibrium(b, m)
		if err != nil {
			t.Errorf("mirrored %+v %+v: %v", b, s, err)
			continue
		}
		mirror = math.Max(mirror, math.Max(math.Abs(e.Heel+f.Heel), math.Abs(e.Trim+f.Trim)))
		mirror = math.Max(mirror, math.Max(math.Abs(e.Forward-f.Aft), math.Abs(e.Port-f.Starboard)))
	}
	t.Logf("%d at rest, %d capsized, at most %d steps; volume within %.1e, arm within %.1e m, mirror images within %.1e", settled, capsized, most, volume, arm, mirror)
	if volume > 1e-12 || arm > 1e-8 || mirror > 1e-7 {
		t.Errorf("out of balance: volume %g, arm %g m, mirror %g", volume, arm, mirror)
	}
	if settled < 1000 {
		t.Errorf("only %d came to rest", settled)
	}
}

// A ship with a negative GM lies over to her angle of loll, for which the
// wall-sided formula gives tan² = −2 GM / BM.
func TestLoll(t *testing.T) {
	b := Box{Length: 100, Breadth: 16, Draught: 5, Density: 1.025}
	s := Space{X0: 40, X1: 60, Y0: -8, Y1: 8, Z1: math.Inf(1), Permeability: 1}
	u, err := Upright(b, s)
	if err != nil {
		t.Fatal(err)
	}
	b.KG = u.KMT + 0.15
	e, err := Equilibrium(b, s)
	if err != nil || !e.Stable {
		t.Fatalf("%+v, %v", e, err)
	}
	near(t, "tangent of loll", e.Waterline.Across, math.Sqrt(2*0.15/u.BMT), 1e-8)
	u, _ = Upright(b, s)
	if !math.IsNaN(u.List) {
		t.Errorf("a list of %g by the small-angle rule with GM %g", u.List, u.GMT)
	}

	b.KG = u.KMT + 5
	if e, err := Equilibrium(b, s); !errors.Is(err, ErrCapsizes) || e.Converged {
		t.Errorf("GM −5: %+v, %v", e, err)
	}
}

// The deck and the keel are told, not refused.
func TestDeckAndKeel(t *testing.T) {
	b := Box{Length: 100, Breadth: 16, Draught: 5, Depth: 6.5, KG: 6, Density: 1.025}
	s := Space{X0: 85, X1: 100, Y0: -8, Y1: 8, Z1: math.Inf(1), Permeability: 1}
	e, err := Equilibrium(b, s)
	if err != nil {
		t.Fatal(err)
	}
	if !e.DeckUnder || e.Forward <= b.Depth {
		t.Errorf("forward draught %g, deck at %g, told under water: %v", e.Forward, b.Depth, e.DeckUnder)
	}
	b.Depth = 20
	if e, _ = Equilibrium(b, s); e.DeckUnder || e.KeelOut {
		t.Errorf("deck at 20: %+v", e)
	}
	s.X0 = 65
	if e, err = Equilibrium(b, s); err != nil || !e.KeelOut || e.Aft >= 0 {
		t.Errorf("after draught %g, keel told out: %v, %v", e.Aft, e.KeelOut, err)
	}
}

// The derivatives that steer the search, and that decide whether a rest is
// stable, against gonum's finite differences.
func TestDerivatives(t *testing.T) {
	r := rand.New(rand.NewPCG(11, 12))
	central := &fd.Settings{Formula: fd.Central}
	var worst float64
	for range 200 {
		b, s := steady(r, func(_ *rand.Rand, b Box, s Space) Space {
			s.Z0, s.Z1 = 0, math.Inf(1) // a flat would make the curvature jump
			return s
		})
		f := floating{b, s}
		along, across := (r.Float64()-0.5)*b.Draught/b.Length, (r.Float64()-0.5)*0.2
		at := func(along, across float64) state {
			st, err := f.at(along, across, b.Draught)
			if err != nil {
				t.Fatal(err)
			}
			return st
		}
		st := at(along, across)
		for _, c := range []struct {
			got   float64
			along bool
			of    func(state) float64
		}{
			{st.grad[0], true, func(s state) float64 { return s.energy }},
			{st.grad[1], false, func(s state) float64 { return s.energy }},
			{st.hessian.a, true, func(s state) float64 { return s.grad[0] }},
			{st.hessian.b, false, func(s state) float64 { return s.grad[0] }},
			{st.hessian.b, true, func(s state) float64 { return s.grad[1] }},
			{st.hessian.c, false, func(s state) float64 { return s.grad[1] }},
		} {
			want := fd.Derivative(func(v float64) float64 {
				if c.along {
					return c.of(at(v, across))
				}
				return c.of(at(along, v))
			}, map[bool]float64{true: along, false: across}[c.along], central)
			worst = math.Max(worst, math.Abs(c.got-want)/(1+math.Abs(want)))
		}
	}
	t.Logf("200 attitudes: within %.1e", worst)
	if worst > 1e-6 {
		t.Errorf("derivatives are off by %g", worst)
	}
}

// Tender and unstable ships too: each comes to rest or is told to capsize, and
// the search never ends in doubt.
func TestTenderShips(t *testing.T) {
	r := rand.New(rand.NewPCG(13, 14))
	rest, capsized, bare, most := 0, 0, 0, 0
	for i := range 3000 {
		b, s := vessel(r)
		if i%2 == 0 {
			s = centred(r, b, s)
		}
		u, err := Upright(b, s)
		if err != nil {
			t.Fatal(err)
		}
		b.KG = u.KMT + b.Breadth*0.2*(r.Float64()-0.5)
		e, err := Equilibrium(b, s)
		switch {
		case errors.Is(err, ErrCapsizes):
			capsized++
		case err != nil:
			t.Errorf("%+v %+v: %v", b, s, err)
		default:
			rest++
			most = max(most, e.Iterations)
			if e.KeelOut {
				bare++
			}
			if e.Residual > 1e-8 || !e.Stable {
				t.Errorf("%+v %+v: off the vertical by %g, stable %v", b, s, e.Residual, e.Stable)
			}
		}
	}
	t.Logf("%d at rest (%d with the keel out in part), %d capsized, at most %d steps", rest, bare, capsized, most)
}
