package flood

import "math"

// Plane is a waterline in the ship's axes: its height above the keel is
// Mid amidships on the centre line, and changes evenly along and across.
type Plane struct {
	Mid    float64 // m, above the keel at x = Pivot on the centre line
	Along  float64 // rise for each metre forward: the tangent of the trim angle, positive by the head
	Across float64 // rise for each metre to starboard: the tangent of the heel, positive to starboard
	Pivot  float64 // m, from the after end: half the length
}

// Height is how far above the keel the waterline stands, m.
func (w Plane) Height(x, y float64) float64 {
	return w.Mid + w.Along*(x-w.Pivot) + w.Across*y
}

// extremes are the lowest and the highest of the waterline over a rectangle.
func (w Plane) extremes(c cuboid) (low, high float64) {
	low, high = math.Inf(1), math.Inf(-1)
	for _, x := range []float64{c.x0, c.x1} {
		for _, y := range []float64{c.y0, c.y1} {
			h := w.Height(x, y)
			low, high = math.Min(low, h), math.Max(high, h)
		}
	}
	return low, high
}

// cuboid is a rectangular block, m; z1 may be +Inf.
type cuboid struct{ x0, x1, y0, y1, z0, z1 float64 }

func (b Box) cuboid() cuboid {
	return cuboid{0, b.Length, -b.Breadth / 2, b.Breadth / 2, 0, math.Inf(1)}
}

func (s Space) cuboid() cuboid { return cuboid{s.X0, s.X1, s.Y0, s.Y1, s.Z0, s.Z1} }

// faces are the six sides of the block, each a polygon that runs
// counter-clockwise as seen from outside.
func (c cuboid) faces() [6][]Point {
	at := func(i int) Point {
		p := Point{c.x0, c.y0, c.z0}
		if i&1 != 0 {
			p.X = c.x1
		}
		if i&2 != 0 {
			p.Y = c.y1
		}
		if i&4 != 0 {
			p.Z = c.z1
		}
		return p
	}
	corners := [6][4]int{
		{0, 2, 3, 1}, // floor
		{4, 5, 7, 6}, // top
		{0, 1, 5, 4}, // port
		{2, 6, 7, 3}, // starboard
		{0, 4, 6, 2}, // aft
		{1, 3, 7, 5}, // forward
	}
	var faces [6][]Point
	for f, four := range corners {
		for _, i := range four {
			faces[f] = append(faces[f], at(i))
		}
	}
	return faces
}

// clip is the part of a polygon on which inside is not above zero; inside must
// change evenly from corner to corner, as a distance from a plane does.
func clip(polygon []Point, inside func(Point) float64) []Point {
	var kept []Point
	for i, to := range polygon {
		from := polygon[(i+len(polygon)-1)%len(polygon)]
		a, b := inside(from), inside(to)
		if (a < 0 && b > 0) || (a > 0 && b < 0) {
			t := a / (a - b)
			kept = append(kept, Point{
				X: from.X + t*(to.X-from.X),
				Y: from.Y + t*(to.Y-from.Y),
				Z: from.Z + t*(to.Z-from.Z),
			})
		}
		if b <= 0 {
			kept = append(kept, to)
		}
	}
	return kept
}

// below is the volume, m³, of the part of the block under the waterline, and
// its first moments about the three planes through the origin, m⁴.
//
// Each side of the block is clipped by the plane and joined to one point of
// that plane by tetrahedra, whose signed volumes add up. The cut face itself
// needs no tetrahedra: seen from a point within its own plane it encloses
// nothing.
func (c cuboid) below(w Plane) (volume float64, moment Point) {
	_, high := w.extremes(c)
	if high <= c.z0 {
		return 0, Point{}
	}
	if high < c.z1 {
		c.z1 = high + 1 // above every corner of the plane: clipped away again
	}
	apex := Point{X: (c.x0 + c.x1) / 2, Y: (c.y0 + c.y1) / 2}
	apex.Z = w.Height(apex.X, apex.Y)
	above := func(p Point) float64 { return p.Z - w.Height(p.X, p.Y) }
	for _, face := range c.faces() {
		wet := clip(face, above)
		for i := 2; i < len(wet); i++ {
			p, q, r := wet[0], wet[i-1], wet[i]
			v := det(minus(p, apex), minus(q, apex), minus(r, apex)) / 6
			volume += v
			moment.X += v * (apex.X + p.X + q.X + r.X) / 4
			moment.Y += v * (apex.Y + p.Y + q.Y + r.Y) / 4
			moment.Z += v * (apex.Z + p.Z + q.Z + r.Z) / 4
		}
	}
	return volume, moment
}

func minus(a, b Point) Point { return Point{a.X - b.X, a.Y - b.Y, a.Z - b.Z} }

// det is six times the signed volume of the tetrahedron that three edges from
// one corner span.
func det(a, b, c Point) float64 {
	return a.X*(b.Y*c.Z-b.Z*c.Y) - a.Y*(b.X*c.Z-b.Z*c.X) + a.Z*(b.X*c.Y-b.Y*c.X)
}

// area holds the moments of a plane figure about the axes of x and y: ∫dA,
// ∫x dA, ∫y dA, ∫x² dA, ∫xy dA, ∫y² dA. Distances along are from the plane's
// pivot.
type area struct{ a, x, y, xx, xy, yy float64 }

func (m area) plus(n area, factor float64) area {
	return area{
		m.a + factor*n.a,
		m.x + factor*n.x, m.y + factor*n.y,
		m.xx + factor*n.xx, m.xy + factor*n.xy, m.yy + factor*n.yy,
	}
}

// section holds the moments of the block's cut by the waterline, as seen from
// above (its projection along z): the rectangle from above, less where the
// plane lies under the floor or over the top.
func (c cuboid) section(w Plane) area {
	polygon := []Point{{X: c.x0, Y: c.y0}, {X: c.x1, Y: c.y0}, {X: c.x1, Y: c.y1}, {X: c.x0, Y: c.y1}}
	polygon = clip(polygon, func(p Point) float64 { return c.z0 - w.Height(p.X, p.Y) })
	if !math.IsInf(c.z1, 1) {
		polygon = clip(polygon, func(p Point) float64 { return w.Height(p.X, p.Y) - c.z1 })
	}
	var sum area
	for i := 2; i < len(polygon); i++ {
		sum = sum.plus(triangle(polygon[0], polygon[i-1], polygon[i], w.Pivot), 1)
	}
	return sum
}

// triangle holds the moments of a triangle that runs counter-clockwise. The
// second moments are those of a third of its area in the middle of each edge,
// which is exact for quadratics.
func triangle(p, q, r Point, pivot float64) area {
	a := ((q.X-p.X)*(r.Y-p.Y) - (q.Y-p.Y)*(r.X-p.X)) / 2
	sum := area{a: a}
	for _, edge := range [3][2]Point{{p, q}, {q, r}, {r, p}} {
		x := (edge[0].X+edge[1].X)/2 - pivot
		y := (edge[0].Y + edge[1].Y) / 2
		sum.x += a / 3 * x
		sum.y += a / 3 * y
		sum.xx += a / 3 * x * x
		sum.xy += a / 3 * x * y
		sum.yy += a / 3 * y * y
	}
	return sum
}
