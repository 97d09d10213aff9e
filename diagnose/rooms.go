package diagnose

import (
	"math"
	"sync"

	"batten/solver"
)

// rooms is room that the reading of one script uses again and again, and the
// next script after it, of whatever question.
type rooms struct {
	of       *Marker     // whose script was read in it last
	envs     solver.Room // what the states have stated, and what follows
	states   solver.Slab[state]
	followed solver.Slab[successor]
	senses
	meant    solver.Slab[known] // what numbers and words may stand for
	findings solver.Slab[findings]
	picks    solver.Slab[*known] // what readings take them for
	readings solver.Slab[reading]
	targets  solver.Slab[target]
	figs     solver.Slab[solver.Figure]
	nodes    []node // for the parts of one expression
	dues     []solver.Interval
	options  *options // what the leaves of a form may be taken for, nil while it is in use
	next     []successor
	found    []known // for what one number may stand for, while it is looked for
	order    []*successor
	figures  []solver.Interval        // for the figures of one table
	drawn    solver.Set               // which of them have been looked up
	half     [solver.MaxSlots]float64 // for roundings
	hypos    map[hypoKey]*hypotheses  // of the marker's, those this script has asked for
	byFault  [][]*solver.Site         // for the sites of each fault of the topic
	sets     [][]*solver.Site         // for the ways of making one fault
	supposed []hypothesis             // for the hypotheses of one quantity, as they are found
	tables   []*valueTable            // those of the states looked at
	served   []*valueTable            // those that have served
	spare    *solver.Deriver          // for deriving under faults
}

// idle holds the rooms of runs that are done.
var idle sync.Pool

// newRun starts the reading of a script.
func (m *Marker) newRun() *run {
	r, ok := idle.Get().(*rooms)
	if !ok {
		r = &rooms{}
	}
	if r.of != m {
		r.of, r.figures, r.hypos, r.byFault = m, nil, nil, nil
	}
	return &run{Marker: m, left: searchBudget, room: math.Inf(1), rooms: r}
}

// done gives a run's room to the next. Nothing of what was found may lie in it.
func (m *Marker) done(r *run) {
	x := r.rooms
	x.envs.Reset()
	x.states.Reset()
	x.followed.Reset()
	x.senses.clear()
	x.meant.Reset()
	x.findings.Reset()
	x.picks.Reset()
	x.readings.Reset()
	x.targets.Reset()
	x.figs.Reset()
	x.served = append(x.served, x.tables...)
	x.tables = x.tables[:0]
	for _, t := range x.served {
		t.env, t.free = nil, nil
	}
	if len(x.served) > mostTables {
		clear(x.served[mostTables:])
		x.served = x.served[:mostTables]
	}
	if len(x.hypos) > mostTables*100 {
		x.hypos = nil
	}
	idle.Put(x)
}

// mostTables is how many tables are kept for the next script.
const mostTables = 40
