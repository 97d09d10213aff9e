package diagnose

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"sort"
	"strings"
	"sync"

	"batten/parse"
	"batten/rules"
	"batten/solver"
)

// Marker reads scripts against one question. It is made once for a question
// and is safe for concurrent use.
type Marker struct {
	question *solver.Question
	model    *solver.Model
	topic    *rules.Topic

	all        solver.Set           // every slot
	reads      []solver.Set         // slot → what its first way and its faults read
	wayReads   []solver.Set         // slot → what all its ways read
	rests      []solver.Set         // slot → all that the reference way to it goes by
	earlier    []solver.Set         // slot → what it rests on and has its name in another state of affairs
	worlds     [nWorlds]int         // the model's worlds that fingerprints are taken in
	right      []vec                // fingerprint of each slot
	byValue    []rightAt            // the same, sorted by the first world's figure
	siteVecs   map[*solver.Site]vec // fingerprint of each wrong formula
	bySite     []siteAt             // sorted likewise
	units      []*parse.Unit        // unit of each slot, nil for a ratio
	also       [][]float64          // other units: figure there = figure × factor
	alsoUnits  [][]*parse.Unit      // the same units themselves
	ratio      []bool               // a pure ratio between 0 and 1
	bySign     []bool               // its direction is told by its sign
	ideas      map[string][]int     // fault → groups of one idea it belongs to
	faultIndex map[string]int
	faults     []*rules.Fault        // those of every topic, then the topic's own
	siteFaults [][]int               // slot → for each of its sites, the index of the fault among them
	loose      []looseWay            // formulas that the trade lets pass with a remark
	touched    map[string]solver.Set // quantities that come out otherwise where a fault is made at all its sites; only faults made together
	siteOf     map[string]solver.Set // the quantities at whose steps such a fault is made
	tells      []solver.Set          // slot → those whose figures may be others once it is stated
	inFormula  solver.Set            // quantities that some formula of the topic, right or wrong, rests on
	onWay      solver.Set            // quantities on the reference way to what is asked
	rowMates   map[int][][]int       // slot → the rows of tables it stands in
	tablesOf   []uint64              // slot → the topic's tables it stands in, a bit each
	spoiltOnce *sync.Once
	spoilt     []rightAt // fingerprints of quantities under each single fault, sorted
	spoiltVecs []vec
	values1    []float64                // the first world's figures of byValue by themselves, which are searched
	sites1     []float64                // and those of bySite
	spoilt1    []float64                // and those of spoilt
	halves     [solver.MaxSlots]float64 // half a unit of the place each quantity is rounded to at the coarsest, three figures at least
	short      [solver.MaxSlots]float64 // the same, one figure at least
	partOf     []int                    // slot → index of the first part that needs it, -1 none
	hypoCache  *memo
	pairCache  *memo
	matchCache *memo
	columns    *memo
	leastCache *memo // slot → the least difference that a known fault makes to it
}

type rightAt struct {
	x    float64
	slot int
}

type siteAt struct {
	x    float64
	site *solver.Site
}

// run is the reading of one script: the marker and how much search is left.
type run struct {
	*Marker
	left int
	*rooms
	meanings int             // how many meanings of each operand are tried, 0: all
	beams    [][]*state      // the ways of reading kept before each step
	ofTopic  map[int]uint64  // table of the script → the topic's tables that have most of its columns
	addsUp   map[int]bool    // cells that the cells above them come to
	shared   map[string]bool // names that stand before different figures under one heading: of more things than one
	taken    map[int]int     // steps whose figure has to be taken for a quantity, -1: tried in vain
	shallow  bool            // another reading of the step already holds: look for the plain explanations only
	room     float64         // what an explanation of the step may cost at the most
	straight bool            // what is wrong is not looked into
	beside   []*state        // a reading of the whole that a search keeps near to, nil for none
	cut      bool            // something was left out because it would cost more
}

// searchBudget bounds the work on one script, in readings or the like.
const searchBudget = 18000

// What other work costs in readings.
const (
	costOfUnder  = 14 // to work a quantity under a fault
	costOfNumber = 30 // to find what a number may stand for
	costOfForm   = 20 // to begin with a form
)

// forMending is the part of it that the narrow searches must leave: mending a
// reading where it is dear finds more than a little more of their work.
const forMending = searchBudget * 2 / 5

func (m *run) budget(n int) { m.left -= n }

// New makes a marker for the question. It fails where the question's topic
// cannot work it.
func New(q *solver.Question) (*Marker, error) {
	model, err := solver.NewModel(q)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", q.ID, err)
	}
	m := &Marker{
		question: q, model: model, topic: q.Topic,
		siteVecs: map[*solver.Site]vec{}, ideas: map[string][]int{}, faultIndex: map[string]int{},
		hypoCache: &memo{}, pairCache: &memo{}, matchCache: &memo{}, columns: &memo{}, leastCache: &memo{}, spoiltOnce: &sync.Once{}, rowMates: map[int][][]int{},
	}
	m.reads = make([]solver.Set, len(model.Quantities))
	m.wayReads = make([]solver.Set, len(model.Quantities))
	for s := range m.reads {
		m.all.Add(s)
		for i := range model.Ways[s] {
			for _, d := range model.Ways[s][i].Code.Deps() {
				m.wayReads[s].Add(d)
				if i == 0 {
					m.reads[s].Add(d)
				}
			}
		}
		for _, x := range model.Sites[s] {
			for _, d := range x.Code.Deps() {
				m.reads[s].Add(d)
			}
		}
	}
	m.rests = make([]solver.Set, len(model.Quantities))
	for s := range m.rests {
		m.rests[s] = m.goesBy(s)
	}
	m.earlier = make([]solver.Set, len(model.Quantities))
	for s, q := range model.Quantities {
		m.rests[s].AndNot(model.Given).Each(func(x int) {
			o := model.Quantities[x]
			if o.State != q.State && len(o.Names) > 0 && len(q.Names) > 0 && o.Names[0] == q.Names[0] {
				m.earlier[s].Add(x)
			}
		})
	}
	for w := range m.worlds {
		m.worlds[w] = m.world(w)
	}
	n := len(model.Quantities)
	m.right = make([]vec, n)
	m.units = make([]*parse.Unit, n)
	m.also = make([][]float64, n)
	m.alsoUnits = make([][]*parse.Unit, n)
	m.ratio = make([]bool, n)
	m.bySign = make([]bool, n)
	dirs := map[string]*rules.Direction{}
	for _, d := range m.topic.Directions {
		dirs[d.ID] = d
	}
	for s, qu := range model.Quantities {
		for w := 0; w < nWorlds; w++ {
			m.right[s][w] = model.Worlds[m.world(w)][s]
		}
		m.byValue = append(m.byValue, rightAt{m.right[s][0], s})
		if u, ok := parse.LookupUnit(qu.Unit); ok {
			m.units[s] = u
		}
		for _, a := range qu.Also {
			if a == "%" {
				m.also[s] = append(m.also[s], 100)
			} else if u, ok := parse.LookupUnit(a); ok && m.units[s] != nil {
				m.alsoUnits[s] = append(m.alsoUnits[s], u)
				if u.Factor != m.units[s].Factor {
					m.also[s] = append(m.also[s], m.units[s].Factor/u.Factor)
				}
			}
		}
		if x := math.Abs(m.reference(s)); x > 0 {
			first := -math.Floor(math.Log10(x)) // the place of its first figure
			m.halves[s] = 0.5 * math.Pow(10, -max(float64(qu.Places), first+2))
			m.short[s] = 0.5 * math.Pow(10, -max(float64(qu.Places), first))
		}
		m.ratio[s] = qu.Unit == "" && model.Worlds[0][s] > 0 && model.Worlds[0][s] <= 1
		if d := dirs[qu.Direction]; d != nil {
			m.bySign[s] = true
			for _, sn := range d.Senses {
				if sn.When != nil {
					m.bySign[s] = false
				}
			}
		}
	}
	sort.Slice(m.byValue, func(i, j int) bool { return m.byValue[i].x < m.byValue[j].x })
	for _, v := range m.byValue {
		m.values1 = append(m.values1, v.x)
	}
	for s := range model.Quantities {
		for _, w := range model.Ways[s] {
			for _, d := range w.Code.Deps() {
				m.inFormula.Add(d)
			}
		}
		for _, site := range model.Sites[s] {
			for _, d := range site.Code.Deps() {
				m.inFormula.Add(d)
			}
			var v vec
			for w := range v {
				v[w] = site.Code.Eval(model.Worlds[m.world(w)])
			}
			m.siteVecs[site] = v
			if !math.IsNaN(v[0]) {
				m.bySite = append(m.bySite, siteAt{v[0], site})
			}
		}
	}
	sort.Slice(m.bySite, func(i, j int) bool { return m.bySite[i].x < m.bySite[j].x })
	for _, v := range m.bySite {
		m.sites1 = append(m.sites1, v.x)
	}
	for i, g := range m.topic.SameIdea {
		for _, f := range g {
			m.ideas[f] = append(m.ideas[f], i)
		}
	}
	for i, f := range m.topic.Faults {
		m.faultIndex[f.ID] = i
	}
	m.faults = slices.Concat(m.topic.Generic, m.topic.Faults)
	faultAt := map[*rules.Fault]int{}
	for i, f := range m.faults {
		faultAt[f] = i
	}
	m.siteFaults = make([][]int, n)
	for s, sites := range model.Sites {
		for _, site := range sites {
			m.siteFaults[s] = append(m.siteFaults[s], faultAt[site.Fault])
		}
	}
	m.tells = m.tellsOf()
	m.touched = m.touchedBy()
	m.loose = m.looseWays()
	m.siteOf = map[string]solver.Set{}
	for s, sites := range model.Sites {
		for _, x := range sites {
			set := m.siteOf[x.Fault.ID]
			set.Add(s)
			m.siteOf[x.Fault.ID] = set
		}
	}
	m.partOf = m.assignParts()
	m.tablesOf = make([]uint64, len(model.Quantities))
	for i, t := range m.topic.Tables {
		for _, r := range t.Rows {
			var row []int
			for _, c := range t.Columns {
				if s := model.Slot(t.Cells[r.ID][c.ID]); s >= 0 {
					row = append(row, s)
				}
			}
			for _, s := range row {
				m.rowMates[s] = append(m.rowMates[s], row)
				m.tablesOf[s] |= 1 << (i % 64)
			}
		}
	}
	for _, p := range q.Parts {
		for _, a := range p.Find.Answers {
			if s := model.Slot(a); s >= 0 {
				m.onWay = m.onWay.Or(m.rests[s])
				m.onWay.Add(s)
			}
		}
	}
	return m, nil
}

// goesBy is all that the reference way to a quantity goes by.
func (m *Marker) goesBy(slot int) solver.Set {
	var out solver.Set
	var need func(s int)
	need = func(s int) {
		if w := m.model.Ways[s]; len(w) > 0 {
			for _, d := range w[0].Code.Deps() {
				if !out.Has(d) {
					out.Add(d)
					need(d)
				}
			}
		}
	}
	need(slot)
	return out
}

// touchedBy finds, for each fault that is made at all of its sites or none, the
// quantities that it changes, so that it can be seen in a rounded figure.
func (m *Marker) touchedBy() map[string]solver.Set {
	sites := map[*rules.Fault][]*solver.Site{}
	for s := range m.model.Quantities {
		for _, site := range m.model.Sites[s] {
			if site.Fault.Together {
				sites[site.Fault] = append(sites[site.Fault], site)
			}
		}
	}
	out := map[string]solver.Set{}
	for f, list := range sites {
		set := onePerSlot(list)
		var x [1]float64
		var touched solver.Set
		for s := range m.model.Quantities {
			m.model.Under([]int{m.world(0)}, s, set, nil, solver.Set{}, x[:])
			if m.model.Given.Has(s) || solver.Close(x[0], m.right[s][0]) {
				continue
			}
			m.model.Under([]int{0}, s, set, nil, solver.Set{}, x[:])
			if !(math.Abs(x[0]-m.reference(s)) <= 2*m.halves[s]) {
				touched.Add(s)
			}
		}
		out[f.ID] = touched
	}
	return out
}

// world maps the k-th random world to the model's; where none could be drawn
// the question itself serves.
func (m *Marker) world(k int) int {
	if k+1 < len(m.model.Worlds) {
		return k + 1
	}
	return len(m.model.Worlds) - 1
}

// spoiltSlots calls f for the quantities that some single fault, here or in a
// step left out, would give the fingerprint.
func (m *Marker) spoiltSlots(v func() vec, x float64, f func(slot int)) {
	m.spoiltOnce.Do(func() {
		r := m.newRun()
		type row struct {
			at rightAt
			v  vec
		}
		var rows []row
		for s := range m.model.Quantities {
			if m.model.Given.Has(s) {
				continue
			}
			helds := []solver.Set{{}}
			if w := m.model.Ways[s]; len(w) > 0 {
				var deps solver.Set
				for _, d := range w[0].Code.Deps() {
					deps.Add(d)
				}
				helds = append(helds, deps)
			}
			for _, h := range helds {
				for _, hy := range r.hypotheses(s, h).all {
					rows = append(rows, row{rightAt{hy.vec[0], s}, hy.vec})
				}
			}
		}
		slices.SortStableFunc(rows, func(a, b row) int { return cmp.Compare(a.at.x, b.at.x) })
		for _, r := range rows {
			m.spoilt = append(m.spoilt, r.at)
			m.spoilt1 = append(m.spoilt1, r.at.x)
			m.spoiltVecs = append(m.spoiltVecs, r.v)
		}
	})
	tol := 1e-9 * math.Abs(x)
	for i := atLeast(m.spoilt1, x-tol); i < len(m.spoilt) && m.spoilt[i].x <= x+tol; i++ {
		if same(v(), m.spoiltVecs[i]) {
			f(m.spoilt[i].slot)
		}
	}
}

// cells lists the quantities that a table's row and column may cross at.
func (m *Marker) cells(row, column string) []slotMatch {
	key := row + "\x00" + column
	if v, ok := m.matchCache.Load(key); ok {
		return v.([]slotMatch)
	}
	var out []slotMatch
	said := m.topic.StateOf(column)
	for _, x := range m.topic.Cells(row, column) {
		if s := m.model.Slot(x.Quantity.ID); s >= 0 {
			st := x.State
			if st == "" {
				st = said
			}
			out = append(out, slotMatch{s, x.Score - m.spokenAgainst(x.Quantity, row+" "+column), st})
		}
	}
	m.matchCache.Store(strings.Clone(key), out)
	return out
}

// tableUnder lists the quantities that may stand in a row of a table under the one
// in the slot.
func (m *Marker) tableUnder(row string, slot int) []slotMatch {
	above := m.model.Quantities[slot].ID
	key := row + "\x00\x00" + above
	if v, ok := m.matchCache.Load(key); ok {
		return v.([]slotMatch)
	}
	var out []slotMatch
	for _, x := range m.topic.Under(row, above) {
		if s := m.model.Slot(x.Quantity.ID); s >= 0 && !slices.ContainsFunc(out, func(o slotMatch) bool { return o.slot == s }) {
			out = append(out, slotMatch{s, x.Score - m.spokenAgainst(x.Quantity, row), ""})
		}
	}
	m.matchCache.Store(strings.Clone(key), out)
	return out
}

// assignParts gives each quantity the first part whose answers rest on it.
func (m *Marker) assignParts() []int {
	out := make([]int, len(m.model.Quantities))
	for i := range out {
		out[i] = -1
	}
	for i, p := range m.question.Parts {
		for _, a := range p.Find.Answers {
			s := m.model.Slot(a)
			if s < 0 {
				continue
			}
			need := m.model.Above[s]
			need.Add(s)
			need.Each(func(x int) {
				if out[x] < 0 {
					out[x] = i
				}
			})
		}
	}
	return out
}

type slotMatch struct {
	slot  int
	score float64
	state string
}

// match lists the quantities of this question that a phrase may name.
func (m *Marker) match(phrase string) []slotMatch {
	if phrase == "" {
		return nil
	}
	if v, ok := m.matchCache.Load(phrase); ok {
		return v.([]slotMatch)
	}
	var out []slotMatch
	for _, x := range m.topic.Match(phrase) {
		if s := m.model.Slot(x.Quantity.ID); s >= 0 {
			out = append(out, slotMatch{s, x.Score - m.spokenAgainst(x.Quantity, phrase), x.State})
		}
	}
	sort.SliceStable(out, func(i, j int) bool { return out[i].score > out[j].score })
	m.matchCache.Store(strings.Clone(phrase), out)
	return out
}

// spokenAgainst is what a phrase loses as a name of the quantity by words that
// speak against it.
func (m *Marker) spokenAgainst(q *rules.Quantity, phrase string) float64 {
	for _, n := range q.NotSaid {
		if (n.When == nil || m.model.Holds(n.When)) && m.topic.SaysAny(phrase, n.Words) {
			return 0.5
		}
	}
	return 0
}

// Model gives the compiled chain the marker judges by.
func (m *Marker) Model() *solver.Model { return m.model }

// Question gives the question the marker was made for.
func (m *Marker) Question() *solver.Question { return m.question }

// Mark reads a script and reports on every line of it. The error is for bytes
// that are no text, or too many; everything else is answered in the report.
func (m *Marker) Mark(name string, data []byte) (*Report, error) {
	s, err := parse.ReadScript(data, m.topic)
	if err != nil {
		return nil, err
	}
	r := m.newRun()
	defer m.done(r)
	steps := prepare(s)
	best := r.readAll(steps)
	return r.report(name, s, steps, best), nil
}
