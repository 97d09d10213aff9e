package flood

import (
	"math"
	"math/rand/v2"
	"sort"
	"testing"

	"gonum.org/v1/gonum/integrate/quad"
)

// vessel draws a box and a space inside it, of a ship's proportions.
func vessel(r *rand.Rand) (Box, Space) {
	between := func(low, high float64) float64 { return low + (high-low)*r.Float64() }
	b := Box{Length: between(40, 200), Density: between(1, 1.03)}
	b.Breadth = b.Length / between(4, 9)
	b.Draught = b.Breadth / between(2, 4)
	s := Space{Permeability: between(0, 1), Z1: math.Inf(1)}
	x, y := []float64{between(0, b.Length), between(0, b.Length)}, []float64{between(-0.5, 0.5) * b.Breadth, between(-0.5, 0.5) * b.Breadth}
	sort.Float64s(x)
	sort.Float64s(y)
	s.X0, s.X1, s.Y0, s.Y1 = x[0], x[1], y[0], y[1]
	if r.IntN(2) == 0 {
		s.Z0 = between(0, b.Draught)
	}
	if r.IntN(2) == 0 {
		s.Z1 = s.Z0 + between(0.05, 1)*b.Draught
	}
	return b, s
}

// integrated holds what gonum's Gauss-Legendre quadrature makes of a block
// under a waterline: ∫h, ∫x h, ∫y h and the height's moment, and of its cut
// by the waterline, where h is the height of the block that stands in the water.
//
// The height is broken where the waterline passes the floor or the top; both
// integrals are split there, so that the rule meets polynomials alone.
type integrated struct {
	volume  float64
	moment  Point
	section area
}

func integrate(c cuboid, w Plane) integrated {
	const points = 6
	// breaks in y at a given x, and those x at which a break meets a side.
	level := []float64{c.z0}
	if !math.IsInf(c.z1, 1) {
		level = append(level, c.z1)
	}
	xs := []float64{c.x0, c.x1}
	for _, z := range level {
		for _, y := range []float64{c.y0, c.y1} {
			xs = append(xs, w.Pivot+(z-w.Mid-w.Across*y)/w.Along)
		}
	}
	over := func(f func(x, y float64) float64) float64 {
		return split(xs, c.x0, c.x1, func(x float64) float64 {
			ys := []float64{c.y0, c.y1}
			for _, z := range level {
				ys = append(ys, (z-w.Mid-w.Along*(x-w.Pivot))/w.Across)
			}
			return split(ys, c.y0, c.y1, func(y float64) float64 { return f(x, y) }, points)
		}, points)
	}
	height := func(x, y float64) float64 {
		return math.Max(0, math.Min(w.Height(x, y), c.z1)-c.z0)
	}
	within := func(x, y float64) float64 {
		if h := w.Height(x, y); h > c.z0 && h < c.z1 {
			return 1
		}
		return 0
	}
	var got integrated
	got.volume = over(height)
	got.moment.X = over(func(x, y float64) float64 { return x * height(x, y) })
	got.moment.Y = over(func(x, y float64) float64 { return y * height(x, y) })
	got.moment.Z = over(func(x, y float64) float64 { h := height(x, y); return h * (c.z0 + h/2) })
	got.section = area{
		a:  over(within),
		x:  over(func(x, y float64) float64 { return (x - w.Pivot) * within(x, y) }),
		y:  over(func(x, y float64) float64 { return y * within(x, y) }),
		xx: over(func(x, y float64) float64 { return (x - w.Pivot) * (x - w.Pivot) * within(x, y) }),
		xy: over(func(x, y float64) float64 { return (x - w.Pivot) * y * within(x, y) }),
		yy: over(func(x, y float64) float64 { return y * y * within(x, y) }),
	}
	return got
}

// split integrates f from low to high in pieces between those breaks that lie
// inside.
func split(breaks []float64, low, high float64, f func(float64) float64, points int) float64 {
	var at []float64
	for _, v := range breaks {
		if v >= low && v <= high {
			at = append(at, v)
		}
	}
	sort.Float64s(at)
	var sum float64
	for i := 1; i < len(at); i++ {
		if at[i] > at[i-1] {
			sum += quad.Fixed(f, at[i-1], at[i], points, quad.Legendre{}, 0)
		}
	}
	return sum
}

// Clipped polyhedra and polygons against gonum's numerical integration, on
// drawn boxes under drawn waterlines: gentle ones, steep ones, and those that
// leave the keel or pass a flat.
func TestSolidsAgainstQuadrature(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 2))
	var worst, worstCut float64
	cut := 0
	for range 1500 {
		b, s := vessel(r)
		w := Plane{
			Mid:    b.Draught * (0.3 + r.Float64()),
			Along:  (r.Float64() - 0.5) * 3 * b.Draught / b.Length,
			Across: (r.Float64() - 0.5) * 3 * b.Draught / b.Breadth,
			Pivot:  b.Length / 2,
		}
		for _, c := range []cuboid{b.cuboid(), s.cuboid()} {
			want := integrate(c, w)
			v, m := c.below(w)
			scale := (c.x1 - c.x0) * (c.y1 - c.y0) * b.Draught
			worst = math.Max(worst, relative(scale, v-want.volume))
			worst = math.Max(worst, relative(scale*b.Length, m.X-want.moment.X))
			worst = math.Max(worst, relative(scale*b.Breadth, m.Y-want.moment.Y))
			worst = math.Max(worst, relative(scale*b.Draught, m.Z-want.moment.Z))

			got, a := c.section(w), (c.x1-c.x0)*(c.y1-c.y0)
			if got.a > 0 && got.a < 0.999*a {
				cut++
			}
			d := got.plus(want.section, -1)
			l, br := b.Length, b.Breadth
			for _, q := range []float64{
				relative(a, d.a), relative(a*l, d.x), relative(a*br, d.y),
				relative(a*l*l, d.xx), relative(a*l*br, d.xy), relative(a*br*br, d.yy),
			} {
				worstCut = math.Max(worstCut, q)
			}
		}
	}
	t.Logf("3000 blocks, %d of them cut only in part: volumes and moments within %.1e, waterplanes within %.1e of their size", cut, worst, worstCut)
	if worst > 1e-11 || worstCut > 1e-11 {
		t.Errorf("polyhedra and quadrature differ: %g, waterplanes %g", worst, worstCut)
	}
	if cut < 300 {
		t.Errorf("only %d waterplanes were cut in part: the draw does not try what it should", cut)
	}
}

func relative(scale, difference float64) float64 { return math.Abs(difference) / scale }

// What is dry, what is wholly under water, and a waterline that runs along a
// face of the block.
func TestBelowAtTheEdges(t *testing.T) {
	c := cuboid{2, 6, -1, 2, 1, 4}
	full := 4.0 * 3 * 3
	for _, test := range []struct {
		reason string
		w      Plane
		volume float64
	}{
		{"under the floor", Plane{Mid: 0.5}, 0},
		{"at the floor", Plane{Mid: 1}, 0},
		{"at the top", Plane{Mid: 4}, full},
		{"over the top", Plane{Mid: 9, Along: 0.1, Across: -0.2}, full},
		{"half way", Plane{Mid: 2.5}, full / 2},
		{"floor dry where y is below 0, a triangle of side 2 beyond", Plane{Mid: 1, Across: 1}, 4 * 2 * 2 / 2},
		{"along a diagonal of the section", Plane{Mid: 2, Across: 1}, full / 2},
	} {
		if v, _ := c.below(test.w); math.Abs(v-test.volume) > 1e-12 {
			t.Errorf("%s: volume %g, want %g", test.reason, v, test.volume)
		}
	}
}
