package students

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"batten/diagnose"
	"batten/solver"
)

// Families are the kinds of place in which a compartment can stand.
var Families = []string{"amidships", "end", "side"}

// Question is a drawn question and what the generator itself knows of it.
type Question struct {
	Family string
	Kind   string // "amidships above narrow cargo": for the tables of figures
	Text   string // its YAML
	*solver.Question
	Marker *diagnose.Marker

	given  map[string]string // quantity id → figure as the question writes it, without unit
	value  map[string]float64
	is     kind
	parts  []string // what each part asks
	place  string   // "forward end"
	faults []*faultDef
}

// kind says which sort of question it is, worked out from its figures by the
// generator's own reckoning.
type kind struct {
	amidships, end, side      bool
	forward, port             bool
	all, above, below         bool // as the question words it
	under, passes, fullDepth  bool // flat under the old waterline; passed by the new one; keel to waterline
	closed, cut, cutBefore    bool // the space ends under the new waterline; cuts it; cut the old one
	fullBreadth, empty, cargo bool
	kg                        bool
}

// DrawQuestion draws a sound question of the family ("" for any).
func DrawQuestion(r *rng, family string) *Question {
	for {
		f := family
		if f == "" {
			f = Families[r.weighted(0.5, 0.25, 0.25)]
		}
		q := sketchQuestion(r, f)
		if q == nil {
			continue
		}
		sq, err := solver.ReadQuestion("drawn.yaml", []byte(q.Text))
		if err != nil {
			continue
		}
		m, err := diagnose.New(sq)
		if err != nil {
			continue
		}
		q.Question, q.Marker = sq, m
		return q
	}
}

func figureText(x float64, places int) string { return strconv.FormatFloat(x, 'f', places, 64) }

// plainText writes a figure with as many places as it needs.
func plainText(x float64) string { return strconv.FormatFloat(math.Round(x*1e6)/1e6, 'f', -1, 64) }

func sketchQuestion(r *rng, family string) *Question {
	q := &Question{Family: family, given: map[string]string{}, value: map[string]float64{}}
	k := &q.is
	set := func(id, text string) {
		q.given[id] = text
		q.value[id], _ = strconv.ParseFloat(text, 64)
	}
	L := r.step(60, 180, 2)
	if r.chance(0.2) {
		L = r.step(60, 160, 0.5)
	}
	B := math.Round(L*(0.14+0.06*r.Float64())*2) / 2
	if r.chance(0.6) {
		B = math.Round(B)
	}
	d := math.Round(B*(0.24+0.14*r.Float64())*10) / 10
	if r.chance(0.15) {
		d = math.Round(d*20) / 20
	}
	set("length", plainText(L))
	set("breadth", plainText(B))
	dt := plainText(d)
	if r.chance(0.3) {
		dt = figureText(d, 2)
	}
	set("draught", dt)
	l := math.Round(L * (0.08 + 0.14*r.Float64()))
	b := B
	k.fullBreadth = true
	switch family {
	case "amidships":
		k.amidships = true
		q.place = "amidships"
		if r.chance(0.35) {
			b = math.Round(B*(0.45+0.4*r.Float64())*2) / 2
			k.fullBreadth = b >= B
		}
	case "end":
		k.end = true
		k.forward = r.chance(0.6)
		q.place = "aft end"
		if k.forward {
			q.place = "forward end"
		}
		l = math.Round(L * (0.05 + 0.08*r.Float64()))
		if r.chance(0.2) {
			b = math.Round(B*(0.5+0.4*r.Float64())*2) / 2
			k.fullBreadth = b >= B
		}
	case "side":
		k.side = true
		k.port = r.chance(0.5)
		q.place = "starboard side"
		if k.port {
			q.place = "port side"
		}
		l = math.Round(L * (0.06 + 0.1*r.Float64()))
		b = math.Round(B*(0.2+0.3*r.Float64())*2) / 2
		k.fullBreadth = false
	}
	if r.chance(0.15) {
		l += 0.5
	}
	if l < 3 || b < 2 || b > B {
		return nil
	}
	set("comp_length", plainText(l))
	set("comp_breadth", plainText(b))

	h := 0.0
	flooded := "all"
	switch r.weighted(0.4, 0.35, 0.2, 0.05) {
	case 0:
		k.all = true
	case 1:
		k.above = true
		h = math.Round(d*(0.2+0.35*r.Float64())*10) / 10
	case 2:
		k.below, k.under = true, true
		h = math.Round(d*(0.25+0.45*r.Float64())*10) / 10
	default:
		if family != "amidships" {
			k.all = true
			break
		}
		k.below = true
		h = d + math.Round(10*d*0.3*r.Float64())/10
	}
	mu := r.step(0.4, 0.95, 0.05)
	if r.chance(0.2) {
		mu = 1
	}
	var sf, rd float64
	if r.chance(0.22) {
		k.cargo = true
		rd = r.step(0.7, 2.8, 0.05)
		sf = math.Round((1/rd)*(1.15+0.9*r.Float64())*20) / 20
		if sf*rd <= 1.05 {
			return nil
		}
		mu = (sf - 1/rd) / sf
		if mu < 0.12 {
			return nil
		}
	}
	if k.cargo {
		set("stowage_factor", figureText(sf, 2))
		set("relative_density", plainText(rd))
		q.value["permeability"] = mu
	} else {
		set("permeability", plainText(mu))
		k.empty = mu >= 1
	}
	water, rho := "salt", "1.025"
	switch r.weighted(0.75, 0.15, 0.1) {
	case 1:
		water, rho = "fresh", "1.000"
	case 2:
		rho = figureText(r.step(1.005, 1.02, 0.001), 3)
		water = rho + " t/m3"
	}
	set("density", rho)
	if h > 0 {
		set("flat_height", plainText(h))
		flooded = "above " + plainText(h) + " m"
		if k.below {
			flooded = "below " + plainText(h) + " m"
			first := d + l*mu*b*d/(L*B-l*mu*b)
			if !k.under {
				if math.Abs(first-h) < 0.02 || h <= d {
					return nil
				}
				k.passes = first > h
			}
		}
	}
	k.fullDepth = k.all || k.below && !k.under && !k.passes
	k.closed = k.under || k.passes
	k.cut = !k.closed
	k.cutBefore = !k.under

	q.drawParts(r)
	kbm := d/2 + B*B/(12*d)
	wants := false
	for _, p := range q.parts {
		wants = wants || strings.Contains(p, "GM") || p == "list"
	}
	kgText := ""
	if wants || r.chance(0.5) {
		k.kg = true
		kg := math.Round((kbm-0.5-2.2*r.Float64())*20) / 20
		if k.side {
			kg = math.Round((kbm-1.2-1.8*r.Float64())*20) / 20
		}
		if kg < 1 {
			return nil
		}
		kgText = figureText(kg, 2)
		set("kg", kgText)
	}
	q.write(r, water, flooded, kgText)
	return q
}

// drawParts chooses what is asked.
func (q *Question) drawParts(r *rng) {
	k := &q.is
	var parts []string
	if k.cargo && r.chance(0.75) {
		parts = append(parts, "permeability")
	}
	first := pick(r, "sinkage", "bilged draught", "bilged draught")
	switch {
	case k.amidships:
		second := []string{"change of GM", "change of GM", "change of GM", "final GM", "final KM", "final KB"}[r.IntN(6)]
		switch r.weighted(0.7, 0.12, 0.1, 0.08) {
		case 0:
			parts = append(parts, first, second)
		case 1:
			parts = append(parts, second)
		case 2:
			parts = append(parts, first)
		case 3:
			parts = append(parts, first, "final KB", pick(r, "change of GM", "final GM"))
		}
	case k.end:
		switch r.weighted(0.75, 0.25) {
		case 0:
			parts = append(parts, first, "final draughts")
		case 1:
			parts = append(parts, "final draughts")
		}
	case k.side:
		switch r.weighted(0.4, 0.35, 0.25) {
		case 0:
			parts = append(parts, first, "final GM", "list")
		case 1:
			parts = append(parts, first, "list")
		case 2:
			parts = append(parts, "list")
		}
	}
	q.parts = parts
}

// write puts the question down as a tutor would.
func (q *Question) write(r *rng, water, flooded, kg string) {
	var b strings.Builder
	k := &q.is
	p := func(format string, args ...any) { fmt.Fprintf(&b, format+"\n", args...) }
	p("id: drawn-%06d", r.IntN(1000000))
	p("title: A drawn question")
	p("vessel:")
	p("  shape: box")
	p("  length: %s m", q.given["length"])
	p("  breadth: %s m", q.given["breadth"])
	p("  draught: %s m", q.given["draught"])
	if kg != "" {
		p("  kg: %s m", kg)
	}
	p("water: %s", water)
	p("compartment:")
	p("  position: %s", q.place)
	p("  length: %s m", q.given["comp_length"])
	if k.fullBreadth {
		p("  breadth: full")
	} else {
		p("  breadth: %s m", q.given["comp_breadth"])
	}
	p("  flooded: %s", flooded)
	if k.cargo {
		p("  cargo: {stowage_factor: %s m3/t, relative_density: %s}", q.given["stowage_factor"], q.given["relative_density"])
	} else {
		p("  permeability: %s%%", plainText(q.value["permeability"]*100))
	}
	p("parts:")
	for i, x := range q.parts {
		p("  - {part: %c, find: %s, marks: %d}", 'a'+i, x, pick(r, 5, 8, 10, 10, 12, 15, 20))
	}
	if r.chance(0.15) {
		p("marking: {principal: %s, clerical: %s}", pick(r, "40%", "50%", "5"), pick(r, "10%", "2", "1"))
	}
	q.Text = b.String()
	sort := q.place
	switch {
	case k.all:
		sort += ", all"
	case k.above:
		sort += ", above"
	case k.under:
		sort += ", below"
	case k.passes:
		sort += ", flat passed"
	default:
		sort += ", flat over water"
	}
	if !k.fullBreadth && !k.side {
		sort += ", narrow"
	}
	if k.cargo {
		sort += ", cargo"
	} else if k.empty {
		sort += ", empty"
	}
	q.Kind = sort
}
