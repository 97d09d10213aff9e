package diagnose

import (
	"batten/parse"
	"batten/solver"
)

// rooms is room that the reading of one script uses again and again.
type rooms struct {
	figures []solver.Interval        // for the figures of one formula
	half    [solver.MaxSlots]float64 // for roundings
	hypos   map[hypoKey][]hypothesis // of the marker's, those this script has asked for
	slipped map[slipKey]float64      // what slipTo has found
	tables  []*valueTable            // those of the states looked at
	served  []*valueTable            // those that have served
	spare   *solver.Deriver          // for deriving under faults
}

type slipKey struct {
	num *parse.Num
	x   float64
}
