// Package flood works out from first principles how a rectangular box floats
// once a rectangular space inside it is open to the sea.
//
// It knows no formula of the examination room. Volumes are measured, a draught
// is found by searching for the one that carries the ship, and the attitude by
// bringing buoyancy and weight into one vertical. It serves as an independent
// check of answers that are reached by formula.
//
// The model is that of lost buoyancy (Derrett and Barrass, Ship Stability for
// Masters and Mates, 5th ed., ch. 21): the share of the space that water can
// take, its permeability, no longer belongs to the ship, and neither the mass
// of the ship nor its centre of gravity changes.
//
// Lengths are in metres (any unit of length serves as long as the density
// fits it), densities in t/m³, angles in degrees. Axes are fixed to the ship:
// x forward from the after end, y to starboard from the centre line, z up
// from the keel.
package flood

import (
	"errors"
	"fmt"
	"math"
)

// Box is an intact vessel in the shape of a rectangular box, afloat upright
// and on an even keel.
type Box struct {
	Length  float64 // m
	Breadth float64 // m
	Draught float64 // m, before flooding

	// Depth is the height of the deck above the keel, m; 0 where it is not
	// known. The sides are taken to go on above the deck, so that a depth only
	// decides whether the deck is told to be under water.
	Depth float64

	// KG is the height of the centre of gravity above the keel, m, which lies
	// amidships on the centre line; 0 where it is not known.
	KG float64

	Density float64 // of the water, t/m³
}

// Space is a rectangular space inside the box that is open to the sea. The sea
// reaches every part of it that lies below the waterline.
type Space struct {
	X0, X1 float64 // m, from the after end forward
	Y0, Y1 float64 // m, from the centre line, positive to starboard
	Z0, Z1 float64 // m, from the keel up; Z1 may be +Inf where no flat closes it

	// Permeability is the share of the space that water can take, 0 to 1.
	Permeability float64
}

// Point is a place in the ship, m.
type Point struct{ X, Y, Z float64 }

var (
	// ErrSinks is returned where the intact part can't carry the ship at any
	// draught.
	ErrSinks = errors.New("the intact part is too small to carry the ship")

	// ErrCapsizes is returned where no position of rest is met on the way down
	// from upright to the largest angle that is looked at.
	ErrCapsizes = errors.New("no position of rest short of the largest angle looked at")

	// ErrNotConverged is returned where the search ends without an answer.
	ErrNotConverged = errors.New("the search for equilibrium did not settle")

	// ErrNoKG is returned where an answer needs the centre of gravity.
	ErrNoKG = errors.New("the height of the centre of gravity is not known")
)

// Volume is the intact box's volume of displacement, m³.
func (b Box) Volume() float64 { return b.Length * b.Breadth * b.Draught }

// Displacement is the mass of the ship, t.
func (b Box) Displacement() float64 { return b.Volume() * b.Density }

// TPC is the mass that sinks the intact box by one centimetre, t/cm.
func (b Box) TPC() float64 { return b.Length * b.Breadth * b.Density / 100 }

// lostArea is the area, m², that the space takes from a waterplane cutting it.
func (s Space) lostArea() float64 {
	return s.Permeability * (s.X1 - s.X0) * (s.Y1 - s.Y0)
}

// wetHeight is the height of the space, m, that stands below a level waterline.
func (s Space) wetHeight(draught float64) float64 {
	return math.Max(0, math.Min(draught, s.Z1)-s.Z0)
}

// cut tells whether a level waterline passes through the space, between its
// floor and its top. A waterline at the very height of either does not.
func (s Space) cut(draught float64) bool { return s.Z0 < draught && draught < s.Z1 }

// check refuses what is not a box with a space inside it.
func check(b Box, s Space) error {
	for _, v := range []struct {
		name  string
		value float64
	}{
		{"length", b.Length}, {"breadth", b.Breadth}, {"draught", b.Draught}, {"density", b.Density},
	} {
		if !(v.value > 0) || math.IsInf(v.value, 1) {
			return fmt.Errorf("flood: the %s of the box is %g, and must be above zero", v.name, v.value)
		}
	}
	if !(b.Depth >= 0) || !(b.KG >= 0) || math.IsInf(b.KG, 1) {
		return fmt.Errorf("flood: depth %g and KG %g must not be below zero", b.Depth, b.KG)
	}
	// A compartment's end may miss the ship's by what floating-point sums lose.
	slack := 1e-9 * (b.Length + b.Breadth)
	switch {
	case !(s.Permeability >= 0 && s.Permeability <= 1):
		return fmt.Errorf("flood: a permeability of %g is not between 0 and 1", s.Permeability)
	case !(s.X0 < s.X1 && s.X0 >= -slack && s.X1 <= b.Length+slack):
		return fmt.Errorf("flood: the space runs from %g to %g, in a box %g long", s.X0, s.X1, b.Length)
	case !(s.Y0 < s.Y1 && s.Y0 >= -b.Breadth/2-slack && s.Y1 <= b.Breadth/2+slack):
		return fmt.Errorf("flood: the space runs across from %g to %g, in a box %g broad", s.Y0, s.Y1, b.Breadth)
	case !(s.Z0 < s.Z1 && s.Z0 >= 0) || math.IsInf(s.Z0, 0):
		return fmt.Errorf("flood: the space stands from %g to %g above the keel", s.Z0, s.Z1)
	}
	return nil
}
