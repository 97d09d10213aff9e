package flood

import "math"

// Result is the flooded box at its new draught, before it heels or trims, with
// the trim and the list that follow from its metacentric heights there. Where
// KG is not known GMT, TanList and List are NaN, and BML stands for GML.
type Result struct {
	Draught    float64 // m, at the middle of the ship, upright and without trim
	Sinkage    float64 // m, how much of it is new
	Volume     float64 // m³, displaced by what is intact
	LostVolume float64 // m³, of the water the space holds up to the old waterline

	Buoyancy Point   // centre of buoyancy, m
	KB       float64 // m, its height

	WaterplaneArea float64 // m², intact
	WaterplaneX    float64 // m, of its centroid from the after end
	WaterplaneY    float64 // m, of its centroid from the centre line, positive to starboard
	InertiaT       float64 // m⁴, second moment about the fore-and-aft axis through its centroid
	InertiaL       float64 // m⁴, second moment about the athwartship axis through its centroid

	BMT, BML float64 // m, second moment over volume
	KMT      float64 // m, KB + BMT
	GMT, GML float64 // m, KB + BM − KG

	// The trim of the examination room: the moment between the centres of
	// gravity and of buoyancy, shared about the centroid of the waterplane.
	TrimMoment float64 // t m, positive by the head
	MCTC       float64 // t m/cm, displacement × GML / (100 L)
	Trim       float64 // cm, positive by the head
	Forward    float64 // m, draught at the fore end
	Aft        float64 // m, draught at the after end

	// TanList is the small-angle list: how far the centre of buoyancy has gone
	// to one side over GMT, positive to starboard. NaN where GMT is not
	// positive, since the rule says nothing there.
	TanList float64
	List    float64 // degrees, its arctangent

	DeckUnder bool // the deck's height is known and the new draught is over it
}

// Upright lets the box sink, upright and without trim, until what is intact
// displaces the old volume again; the new draught is found by halving an
// interval on the volume itself, so a flat that the water passes on its way
// needs no case of its own. Second moments are summed by parallel axes.
func Upright(b Box, s Space) (Result, error) {
	if err := check(b, s); err != nil {
		return Result{}, err
	}
	d, err := draught(b, s)
	if err != nil {
		return Result{}, err
	}
	r := Result{
		Draught:    d,
		Sinkage:    d - b.Draught,
		LostVolume: s.lostArea() * s.wetHeight(b.Draught),
		DeckUnder:  b.Depth > 0 && d > b.Depth,
	}
	midX, midY := (s.X0+s.X1)/2, (s.Y0+s.Y1)/2

	// The whole box to the new waterline, less what the space holds there.
	whole := b.Length * b.Breadth * d
	wet := s.wetHeight(d)
	lost := s.lostArea() * wet
	r.Volume = whole - lost
	r.Buoyancy = Point{
		X: (whole*b.Length/2 - lost*midX) / r.Volume,
		Y: (0 - lost*midY) / r.Volume,
		Z: (whole*d/2 - lost*(s.Z0+wet/2)) / r.Volume,
	}
	r.KB = r.Buoyancy.Z

	// The same for the waterplane, where the water cuts the space.
	var a float64
	if s.cut(d) {
		a = s.lostArea()
	}
	r.WaterplaneArea = b.Length*b.Breadth - a
	r.WaterplaneX = (b.Length*b.Breadth*b.Length/2 - a*midX) / r.WaterplaneArea
	r.WaterplaneY = (0 - a*midY) / r.WaterplaneArea
	about := func(side, area, arm float64) float64 { return area * (side*side/12 + arm*arm) }
	r.InertiaT = about(b.Breadth, b.Length*b.Breadth, r.WaterplaneY) - about(s.Y1-s.Y0, a, midY-r.WaterplaneY)
	r.InertiaL = about(b.Length, b.Length*b.Breadth, b.Length/2-r.WaterplaneX) - about(s.X1-s.X0, a, midX-r.WaterplaneX)

	r.BMT, r.BML = r.InertiaT/r.Volume, r.InertiaL/r.Volume
	r.KMT = r.KB + r.BMT
	r.GMT, r.GML = math.NaN(), r.BML
	if b.KG > 0 {
		r.GMT, r.GML = r.KMT-b.KG, r.KB+r.BML-b.KG
	}

	// G stays amidships; buoyancy that has gone aft of it puts the head down.
	w := b.Displacement()
	r.TrimMoment = w * (b.Length/2 - r.Buoyancy.X)
	r.MCTC = w * r.GML / (100 * b.Length)
	r.Trim = r.TrimMoment / r.MCTC
	r.Forward = d + r.Trim/100*(b.Length-r.WaterplaneX)/b.Length
	r.Aft = d - r.Trim/100*r.WaterplaneX/b.Length

	r.TanList, r.List = math.NaN(), math.NaN()
	if r.GMT > 0 {
		r.TanList = (0 - r.Buoyancy.Y) / r.GMT
		r.List = degrees(math.Atan(r.TanList))
	}
	return r, nil
}

// draught is the level waterline, m, at which the intact part displaces the
// volume the box displaced before. That volume never falls as the waterline
// rises, so halving the interval between two waterlines must end at it.
func draught(b Box, s Space) (float64, error) {
	intact := func(d float64) float64 { return b.Length*b.Breadth*d - s.lostArea()*s.wetHeight(d) }
	low, high := b.Draught, 2*b.Draught
	for intact(high) < b.Volume() {
		low, high = high, 2*high
		if high > 1e9*b.Draught {
			return 0, ErrSinks
		}
	}
	for {
		mid := low + (high-low)/2
		if mid <= low || mid >= high {
			// Neighbouring numbers: the lower one where both carry the ship
			// alike, so that an untouched waterline stays where it is.
			if b.Volume()-intact(low) <= intact(high)-b.Volume() {
				return low, nil
			}
			return high, nil
		}
		if intact(mid) < b.Volume() {
			low = mid
		} else {
			high = mid
		}
	}
}

func degrees(radians float64) float64 { return radians * 180 / math.Pi }
