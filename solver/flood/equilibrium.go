package flood

import "math"

// Attitude is how the flooded box comes to rest, free to sink, heel and trim.
type Attitude struct {
	Waterline Plane

	Heel float64 // degrees, between the waterline's trace across the ship and the keel; positive to starboard
	Trim float64 // degrees, between the waterline's trace along the ship and the keel; positive by the head

	// Draughts, m, read along the ship's own vertical: at the ends on the
	// centre line, at the sides at half length.
	Forward, Aft, Port, Starboard float64

	Volume   float64 // m³, displaced by what is intact
	Buoyancy Point   // its centre, m

	Residual   float64 // m, how far the centre of buoyancy is from the vertical through G
	Iterations int
	Converged  bool

	// Stable tells that a small push is righted; where GM is zero to within
	// rounding it may be told either way. A ship that is at rest upright with a
	// negative GM is let go to starboard, so that what is told is her angle of
	// loll.
	Stable bool

	DeckUnder bool // the deck's height is known and the waterline is over it at a corner
	KeelOut   bool // the waterline is under the keel at a corner
}

const (
	steepest = 1.7320508075688772 // tan 60°: what heels or trims further is given up
	stride   = 0.1                // the largest change of a tangent in one step
	rounds   = 500
)

// Equilibrium finds the position of rest of the flooded box with no rule of
// small angles: the intact part displaces the old volume, and its centre of
// buoyancy lies in the vertical through G.
//
// Among the attitudes that displace the old volume those of rest are where the
// height of G over the centre of buoyancy, taken square to the water, has a
// minimum. The search goes downhill from upright in damped Newton steps; where
// the surface is not bowl-shaped it takes the size of each curvature for its
// value, which still leads downhill.
func Equilibrium(b Box, s Space) (Attitude, error) {
	if err := check(b, s); err != nil {
		return Attitude{}, err
	}
	if b.KG == 0 {
		return Attitude{}, ErrNoKG
	}
	f := floating{b, s}
	now, err := f.at(0, 0, b.Draught)
	if err != nil {
		return Attitude{}, err
	}
	settled := 1e-14 * (b.Length + b.Breadth)
	for i := 1; i <= rounds; i++ {
		e := now.hessian.eigen()
		if math.Hypot(now.grad[0], now.grad[1]) <= settled {
			if e.low() > -1e-9*b.Length {
				return f.attitude(now, i, e.low() > 0), nil
			}
			// At rest on a ridge: let her go, down the steeper side of it.
			step := e.down()
			if now, err = f.at(now.along+step[0], now.across+step[1], now.mid); err != nil {
				return Attitude{}, err
			}
			continue
		}
		next, ok, err := f.descend(now, e.step(now.grad))
		if err != nil {
			return Attitude{}, err
		}
		if !ok {
			// Nothing lower within rounding: at rest if the slope is as small
			// as rounding can make it.
			if math.Hypot(now.grad[0], now.grad[1]) <= 1e4*settled && e.low() > -1e-9*b.Length {
				return f.attitude(now, i, e.low() > 0), nil
			}
			return f.attitude(now, i, false).unsettled(), ErrNotConverged
		}
		now = next
		if math.Abs(now.along) > steepest || math.Abs(now.across) > steepest {
			return f.attitude(now, i, false).unsettled(), ErrCapsizes
		}
	}
	return f.attitude(now, rounds, false).unsettled(), ErrNotConverged
}

func (a Attitude) unsettled() Attitude {
	a.Converged = false
	return a
}

// floating is the flooded box in any attitude.
type floating struct {
	box   Box
	space Space
}

// state is one attitude at which the old volume is displaced.
type state struct {
	along, across, mid float64
	volume             float64
	buoyancy           Point
	energy             float64    // m, height of G over the centre of buoyancy, square to the water
	grad               [2]float64 // its derivatives by along and across
	hessian            symmetric
}

// measure is the intact volume under a waterline, m³, with its first moments.
func (f floating) measure(w Plane) (float64, Point) {
	v, m := f.box.cuboid().below(w)
	sv, sm := f.space.cuboid().below(w)
	p := f.space.Permeability
	return v - p*sv, Point{m.X - p*sm.X, m.Y - p*sm.Y, m.Z - p*sm.Z}
}

// waterplane holds the moments of the intact waterplane as seen from above.
func (f floating) waterplane(w Plane) area {
	return f.box.cuboid().section(w).plus(f.space.cuboid().section(w), -f.space.Permeability)
}

// at is the state with the given slopes; the height of the waterline is
// searched from near.
//
// The derivatives rest on one fact: for all waterlines z = mid + along x +
// across y the integral of depth over the immersed volume has the volume and
// its moments about x and y for derivatives, and the moments of the waterplane
// for second ones.
func (f floating) at(along, across, near float64) (state, error) {
	w := Plane{Mid: near, Along: along, Across: across, Pivot: f.box.Length / 2}
	w, err := f.carry(w)
	if err != nil {
		return state{}, err
	}
	v, m := f.measure(w)
	st := state{along: along, across: across, mid: w.Mid, volume: v}
	st.buoyancy = Point{m.X / v, m.Y / v, m.Z / v}

	// Arms of buoyancy against G along and across, and the height of G over it.
	ax, ay := st.buoyancy.X-f.box.Length/2, st.buoyancy.Y
	rise := f.box.KG - st.buoyancy.Z + along*ax + across*ay

	// Curvature at constant volume: second moments about the waterplane's own
	// centroid, over the volume.
	p := f.waterplane(w)
	var bx, bxy, by float64
	if p.a > 0 {
		bx, bxy, by = (p.xx-p.x*p.x/p.a)/v, (p.xy-p.x*p.y/p.a)/v, (p.yy-p.y*p.y/p.a)/v
	}

	n2 := 1 + along*along + across*across
	n := math.Sqrt(n2)
	st.energy = rise / n
	st.grad = [2]float64{(ax - rise*along/n2) / n, (ay - rise*across/n2) / n}
	st.hessian = symmetric{
		a: (bx - 2*ax*along/n2 - rise*(1/n2-3*along*along/(n2*n2))) / n,
		b: (bxy - (ax*across+ay*along)/n2 + 3*rise*along*across/(n2*n2)) / n,
		c: (by - 2*ay*across/n2 - rise*(1/n2-3*across*across/(n2*n2))) / n,
	}
	return st, nil
}

// carry moves a waterline up or down until it displaces the old volume: Newton
// steps with the waterplane's area, kept between bounds that close in.
func (f floating) carry(w Plane) (Plane, error) {
	want := f.box.Volume()
	reach := (math.Abs(w.Along)*f.box.Length + math.Abs(w.Across)*f.box.Breadth) / 2
	low, high := -reach, f.box.Draught+reach
	for {
		w.Mid, high = high, 2*high
		if v, _ := f.measure(w); v >= want {
			high = w.Mid
			break
		}
		low = w.Mid
		if high > 1e9*(f.box.Draught+reach) {
			return w, ErrSinks
		}
	}
	w.Mid = math.Max(low, math.Min(high, f.box.Draught))
	best, least := w.Mid, math.Inf(1)
	for range 200 {
		v, _ := f.measure(w)
		miss := v - want
		if math.Abs(miss) < least {
			best, least = w.Mid, math.Abs(miss)
		}
		if least <= 1e-16*want || high-low <= 1e-16*high {
			break
		}
		if miss < 0 {
			low = w.Mid
		} else {
			high = w.Mid
		}
		next := w.Mid - miss/f.waterplane(w).a
		if !(next > low && next < high) {
			next = low + (high-low)/2
			if next <= low || next >= high {
				break
			}
		}
		w.Mid = next
	}
	w.Mid = best
	return w, nil
}

// descend follows a step as far as it leads lower. Close to rest, where
// heights differ by less than rounding, a smaller slope will do.
func (f floating) descend(from state, step [2]float64) (state, bool, error) {
	if size := math.Hypot(step[0], step[1]); size > stride {
		step[0], step[1] = step[0]*stride/size, step[1]*stride/size
	}
	slope := from.grad[0]*step[0] + from.grad[1]*step[1]
	rounding := 1e-14 * (f.box.Length + math.Abs(from.energy))
	for scale := 1.0; scale > 1e-10; scale /= 2 {
		next, err := f.at(from.along+scale*step[0], from.across+scale*step[1], from.mid)
		if err != nil {
			return state{}, false, err
		}
		if next.energy < from.energy+1e-4*scale*slope {
			return next, true, nil
		}
		if next.energy < from.energy+rounding &&
			math.Hypot(next.grad[0], next.grad[1]) < 0.9*math.Hypot(from.grad[0], from.grad[1]) {
			return next, true, nil
		}
	}
	return from, false, nil
}

// attitude words a state in draughts and degrees.
func (f floating) attitude(st state, iterations int, stable bool) Attitude {
	b := f.box
	w := Plane{Mid: st.mid, Along: st.along, Across: st.across, Pivot: b.Length / 2}
	lowest, highest := w.extremes(b.cuboid())
	return Attitude{
		Waterline:  w,
		Heel:       degrees(math.Atan(st.across)),
		Trim:       degrees(math.Atan(st.along)),
		Forward:    w.Height(b.Length, 0),
		Aft:        w.Height(0, 0),
		Port:       w.Height(b.Length/2, -b.Breadth/2),
		Starboard:  w.Height(b.Length/2, b.Breadth/2),
		Volume:     st.volume,
		Buoyancy:   st.buoyancy,
		Residual:   f.offVertical(st),
		Iterations: iterations,
		Converged:  true,
		Stable:     stable,
		DeckUnder:  b.Depth > 0 && highest > b.Depth,
		KeelOut:    lowest < 0,
	}
}

// offVertical is the distance, m, of the centre of buoyancy from the line
// through G square to the water.
func (f floating) offVertical(st state) float64 {
	n := Point{-st.along, -st.across, 1}
	arm := minus(Point{f.box.Length / 2, 0, f.box.KG}, st.buoyancy)
	cross := Point{arm.Y*n.Z - arm.Z*n.Y, arm.Z*n.X - arm.X*n.Z, arm.X*n.Y - arm.Y*n.X}
	return length(cross) / length(n)
}

func length(p Point) float64 { return math.Sqrt(p.X*p.X + p.Y*p.Y + p.Z*p.Z) }

// symmetric is the matrix [a b; b c].
type symmetric struct{ a, b, c float64 }

// eigenpairs are the values of a symmetric matrix with their unit directions,
// the smaller value first.
type eigenpairs struct {
	value     [2]float64
	direction [2][2]float64
}

func (m symmetric) eigen() eigenpairs {
	angle := math.Atan2(2*m.b, m.a-m.c) / 2
	sin, cos := math.Sincos(angle)
	large := m.a*cos*cos + 2*m.b*sin*cos + m.c*sin*sin
	small := m.a*sin*sin - 2*m.b*sin*cos + m.c*cos*cos
	return eigenpairs{
		value:     [2]float64{small, large},
		direction: [2][2]float64{{-sin, cos}, {cos, sin}},
	}
}

func (e eigenpairs) low() float64 { return e.value[0] }

// down is a small first push along the direction of the smaller value, to
// starboard or by the head.
func (e eigenpairs) down() [2]float64 {
	d := e.direction[0]
	if d[1] < 0 || (d[1] == 0 && d[0] < 0) {
		d[0], d[1] = -d[0], -d[1]
	}
	return [2]float64{d[0] * 0.01, d[1] * 0.01}
}

// step is Newton's, with the size of each curvature in place of its value.
func (e eigenpairs) step(grad [2]float64) [2]float64 {
	floor := 1e-9 * math.Max(math.Abs(e.value[0]), math.Abs(e.value[1]))
	var step [2]float64
	for i, d := range e.direction {
		g := grad[0]*d[0] + grad[1]*d[1]
		k := math.Max(math.Abs(e.value[i]), math.Max(floor, 1e-300))
		step[0] -= g / k * d[0]
		step[1] -= g / k * d[1]
	}
	return step
}
