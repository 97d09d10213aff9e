package diagnose

import (
	"math"

	"batten/solver"
)

// rooms is room that the reading of one script uses again and again, and the
// next script after it.
type rooms struct {
	envs     solver.Room // what the states have stated, and what follows
	states   solver.Slab[state]
	followed solver.Slab[successor]
	next     []successor
	order    []*successor
	figures  []solver.Interval        // for the figures of one formula
	half     [solver.MaxSlots]float64 // for roundings
	hypos    map[hypoKey]*hypotheses  // of the marker's, those this script has asked for
	byFault  [][]*solver.Site         // for the sites of each fault of the topic
	sets     [][]*solver.Site         // for the ways of making one fault
	vecs     []vec                    // for what they give
	tables   []*valueTable            // those of the states looked at
	served   []*valueTable            // those that have served
	spare    *solver.Deriver          // for deriving under faults
}

// newRun starts the reading of a script.
func (m *Marker) newRun() *run {
	r, ok := m.idle.Get().(*rooms)
	if !ok {
		r = &rooms{}
	}
	return &run{Marker: m, left: searchBudget, room: math.Inf(1), rooms: r}
}

// done gives a run's room to the next. Nothing of what was found may lie in it.
func (m *Marker) done(r *run) {
	x := r.rooms
	x.envs.Reset()
	x.states.Reset()
	x.followed.Reset()
	x.served = append(x.served, x.tables...)
	x.tables = x.tables[:0]
	if len(x.served) > mostTables {
		clear(x.served[mostTables:])
		x.served = x.served[:mostTables]
	}
	if len(x.hypos) > mostTables*100 {
		x.hypos = nil
	}
	m.idle.Put(x)
}

// mostTables is how many tables are kept for the next script.
const mostTables = 40
