package students

import (
	"errors"
	"strings"

	"batten/rules"
)

var errNoQuantity = errors.New("no quantity of the generator's")

// A faultDef is a fault of the topic as the generator makes it: from the
// contract's list, with formulas of the generator's own, and whatever further
// sites the rules have.
type faultDef struct {
	id       string
	severity string
	together bool // made at every site at once
	sites    []siteDef
	rewrite  func(p *plan, q int, way *node) *node // in place of sites: how it spoils any way; nil: not that one
}

type siteDef struct {
	q    int
	when func(k *kind) bool
	form *node
}

// A change is a fault made in a plan: what it puts in the place of which steps.
type change struct {
	fault    string
	severity string
	edits    map[int]edit
	generic  bool
	// working: the fault shows in the formula or the figures, so the step must
	// have them written (an arithmetic slip is none without them).
	working bool
	// symbolsRight: the formula in symbols, where written, is still right.
	symbolsRight bool
	// figuresRight: the figures of the working are right, only the result is not.
	figuresRight bool
	again        map[int]bool // edits that are the same idea gone wrong again
	ends         string       // for faults of a step's words: what is done to them
	cut          bool         // the script stops short
}

const (
	principal = "principal"
	clerical  = "clerical"
)

// severities follow the contract's list of faults; what is not here is principal.
var severities = map[string]string{
	"permeability-as-percent-figure": clerical, "density-in-lost-volume": clerical, "change-reversed": clerical, "direction-missing": clerical,
	"hundred-omitted-from-mctc": clerical, "centimetres-added-to-metres": clerical, "list-to-intact-side": clerical, "tangent-not-undone": clerical,
	"arithmetic-slip": clerical, "digits-transposed": clerical, "decimal-point-shifted": clerical, "brackets-lost": clerical, "figure-miscopied": clerical, "unit-wrong": clerical,
}

func severityOf(id string) string {
	if s, ok := severities[id]; ok {
		return s
	}
	return principal
}

// sameIdea: the second of a group follows from the first.
var sameIdea = [][]string{
	{"waterplane-not-reduced", "waterplane-not-reduced-in-bm", "full-length-in-bml", "whole-waterplane-in-bm"},
	{"waterplane-reduced-under-flat", "waterplane-reduced-in-bm-under-flat"},
	{"permeability-omitted", "permeability-in-volume-only", "permeability-in-area-only", "permeability-omitted-from-moments"},
	{"flat-height-for-lost-depth", "wrong-side-of-flat"},
	{"breadth-not-cubed", "breadth-squared-not-cubed"},
	{"lever-from-amidships", "flotation-left-amidships"},
}

func oneIdea(a, b string) bool {
	if a == b {
		return true
	}
	for _, g := range sameIdea {
		x, y := false, false
		for _, id := range g {
			x = x || id == a
			y = y || id == b
		}
		if x && y {
			return true
		}
	}
	return false
}

func hasFlat(k *kind) bool         { return k.above || k.closed }
func isUnder(k *kind) bool         { return k.under }
func notAllVolume(k *kind) bool    { return k.above || k.under }
func isNarrow(k *kind) bool        { return !k.fullBreadth }
func endCut(k *kind) bool          { return k.end && k.cut }
func forward(k *kind) bool         { return k.forward }
func aft(k *kind) bool             { return !k.forward }
func closedAmidships(k *kind) bool { return k.closed && !k.side }

var ownFaults = buildFaults()

func buildFaults() []*faultDef {
	var out []*faultDef
	def := func(id string, together bool, sites ...siteDef) *faultDef {
		f := &faultDef{id: id, severity: severityOf(id), together: together, sites: sites}
		out = append(out, f)
		return f
	}
	at := func(q, text string, when func(k *kind) bool) siteDef { return siteDef{slotOf(q), when, formula(text)} }
	mu := slotOf("permeability")

	def("permeability-omitted", true).rewrite = func(p *plan, q int, way *node) *node { return without(way, mu) }
	def("permeability-as-intact", true).rewrite = func(p *plan, q int, way *node) *node {
		if !mentions(way, mu) || q == slotOf("solid_volume") || p.is.empty {
			return nil // of an empty space nobody thinks that nothing floods
		}
		return replace(way, mu, formula("1 - permeability"))
	}
	def("permeability-in-volume-only", true).rewrite = func(p *plan, q int, way *node) *node {
		switch quants[q].id {
		case "lost_volume", "lost_volume_bilged", "lost_length", "comp_volume", "under_flat_volume", "solid_volume":
			return nil
		}
		if !p.is.cutBefore {
			return nil
		}
		bare := replace(way, slotOf("lost_length"), ref(slotOf("comp_length")))
		if x := without(bare, mu); x != nil {
			return x
		}
		if bare != way {
			return bare
		}
		return nil
	}
	def("permeability-in-area-only", false,
		at("lost_volume", "comp_length*comp_breadth*lost_depth", func(k *kind) bool { return k.cutBefore }))
	def("permeability-as-percent-figure", false,
		at("lost_length", "comp_length*permeability*100", nil),
		at("lost_volume", "comp_length*permeability*100*comp_breadth*lost_depth", nil))
	def("solid-share-for-permeability", false, at("permeability", "solid_factor/stowage_factor", nil))
	def("broken-stowage-over-solid", false, at("permeability", "broken_stowage/solid_factor", nil))
	def("relative-density-for-solid-factor", false,
		at("solid_factor", "relative_density", nil),
		at("broken_stowage", "stowage_factor - relative_density", nil))

	def("draught-for-lost-depth", false,
		at("lost_depth", "draught", notAllVolume),
		at("lost_volume", "comp_length*permeability*comp_breadth*draught", notAllVolume),
		at("lost_depth_bilged", "bilged_draught", hasFlat),
		at("lost_volume_bilged", "comp_length*permeability*comp_breadth*bilged_draught", hasFlat),
		at("lost_volume_bilged", "comp_length*permeability*comp_breadth*draught", hasFlat))
	def("flat-height-for-lost-depth", false,
		at("lost_depth", "flat_height", isAbove),
		at("lost_volume", "comp_length*permeability*comp_breadth*flat_height", isAbove),
		at("lost_depth_bilged", "flat_height", isAbove),
		at("lost_volume_bilged", "comp_length*permeability*comp_breadth*flat_height", isAbove))
	def("wrong-side-of-flat", false,
		at("lost_depth", "draught - flat_height", isUnder),
		at("lost_volume", "comp_length*permeability*comp_breadth*(draught - flat_height)", isUnder))
	def("ship-dimension-for-compartment", false,
		at("lost_volume", "comp_length*permeability*breadth*lost_depth", isNarrow))
	def("density-in-lost-volume", false,
		at("lost_volume", "comp_length*permeability*comp_breadth*lost_depth*density", nil),
		at("sinkage", "lost_volume*density/intact_area", notPassed))
	def("waterplane-not-reduced", false,
		at("intact_area", "length*breadth", isCut),
		at("sinkage", "lost_volume/(length*breadth)", isCut))
	def("lost-area-for-intact-area", false,
		at("intact_area", "comp_length*permeability*comp_breadth", nil),
		at("sinkage", "lost_volume/(comp_length*permeability*comp_breadth)", notPassed),
		at("sinkage", "lost_volume/(comp_length*comp_breadth)", notPassed))
	def("waterplane-reduced-under-flat", false,
		at("intact_area", "length*breadth - comp_length*permeability*comp_breadth", isUnder),
		at("sinkage", "lost_volume/(length*breadth - comp_length*permeability*comp_breadth)", isUnder))
	def("sinkage-inverted", false, at("sinkage", "intact_area/lost_volume", notPassed))
	def("sinkage-subtracted", false, at("bilged_draught", "draught - sinkage", nil))
	def("sinkage-as-draught", false, at("bilged_draught", "sinkage", nil))

	def("breadth-not-cubed", false,
		at("second_moment_initial", "length*breadth/12", nil),
		at("bm_initial", "length*breadth/(12*volume)", nil),
		at("second_moment_bilged", "intact_length*breadth/12", fullBreadthCut),
		at("second_moment_bilged", "length*breadth/12", isClosed),
		at("bm_bilged", "intact_length*breadth/(12*volume)", fullBreadthCut),
		at("bm_bilged", "(length*breadth - comp_length*permeability*comp_breadth)/(12*volume)", narrowCut),
		at("bm_bilged", "length*breadth/(12*volume)", closedAmidships))
	def("breadth-squared-not-cubed", false,
		at("second_moment_initial", "length*breadth^2/12", nil),
		at("bm_initial", "length*breadth^2/(12*volume)", nil),
		at("second_moment_bilged", "intact_length*breadth^2/12", fullBreadthCut),
		at("bm_bilged", "intact_length*breadth^2/(12*volume)", fullBreadthCut),
		at("bm_bilged", "(length*breadth^2 - comp_length*permeability*comp_breadth^2)/(12*volume)", narrowCut),
		at("bm_bilged", "length*breadth^2/(12*volume)", closedAmidships))
	def("twelve-omitted", false,
		at("second_moment_initial", "length*breadth^3", nil),
		at("bm_initial", "length*breadth^3/volume", nil),
		at("second_moment_bilged", "intact_length*breadth^3", fullBreadthCut),
		at("second_moment_bilged", "length*breadth^3", isClosed),
		at("bm_bilged", "intact_length*breadth^3/volume", fullBreadthCut),
		at("bm_bilged", "(length*breadth^3 - comp_length*permeability*comp_breadth^3)/volume", narrowCut),
		at("bm_bilged", "length*breadth^3/volume", closedAmidships))
	def("length-cubed-for-breadth", false,
		at("second_moment_initial", "length^3*breadth/12", nil),
		at("bm_initial", "length^3*breadth/(12*volume)", nil),
		at("second_moment_bilged", "intact_length^3*breadth/12", fullBreadthCut),
		at("bm_bilged", "intact_length^3*breadth/(12*volume)", fullBreadthCut),
		at("bm_bilged", "length^3*breadth/(12*volume)", closedAmidships))
	def("half-draught-with-flat", false, at("kb_bilged", "bilged_draught/2", hasFlat))
	def("kb-not-recalculated", false,
		at("kb_bilged", "kb_initial", nil),
		at("km_bilged", "kb_initial + bm_bilged", nil))
	def("sinkage-omitted-from-lost-depth", false,
		at("lost_depth_bilged", "draught - flat_height", isAbove),
		at("lost_volume_bilged", "comp_length*permeability*comp_breadth*lost_depth", isAbove),
		at("lost_centre", "flat_height + lost_depth/2", isAbove))
	def("initial-draught-in-moments", false,
		at("full_volume", "length*breadth*draught", nil),
		at("full_centre", "draught/2", nil))
	def("flat-height-omitted-from-centre", false, at("lost_centre", "lost_depth_bilged/2", isAbove))
	def("lost-centre-at-half-draught", false, at("lost_centre", "bilged_draught/2", hasFlat))
	def("lost-moment-added", false, at("net_moment", "full_moment + lost_moment", nil))
	def("moment-over-full-volume", false, at("kb_bilged", "net_moment/full_volume", nil))
	def("moment-division-inverted", false, at("kb_bilged", "volume/net_moment", nil))
	def("permeability-omitted-from-moments", false, at("lost_volume_bilged", "comp_length*comp_breadth*lost_depth_bilged", nil))
	def("waterplane-not-reduced-in-bm", false,
		at("second_moment_bilged", "length*breadth^3/12", isCut),
		at("bm_bilged", "length*breadth^3/(12*volume)", func(k *kind) bool { return k.cut && !k.side }))
	def("waterplane-reduced-in-bm-under-flat", false,
		at("bm_bilged", "(length*breadth^3 - comp_length*permeability*comp_breadth^3)/(12*volume)", closedAmidships))
	def("volume-to-new-draught-in-bm", false,
		at("bm_bilged", "intact_length*breadth^3/(12*length*breadth*bilged_draught)", fullBreadthCut),
		at("bm_bilged", "length*breadth^3/(12*length*breadth*bilged_draught)", closedAmidships),
		at("bm_bilged", "second_moment_trans/(length*breadth*bilged_draught)", func(k *kind) bool { return k.side }))
	def("bm-subtracted-from-kb", false,
		at("km_initial", "bm_initial - kb_initial", nil),
		at("km_initial", "kb_initial - bm_initial", nil),
		at("km_bilged", "bm_bilged - kb_bilged", nil),
		at("km_bilged", "kb_bilged - bm_bilged", nil))
	def("kb-and-bm-multiplied", false,
		at("km_initial", "kb_initial*bm_initial", nil),
		at("km_bilged", "kb_bilged*bm_bilged", nil))
	def("kg-subtracted-twice", false,
		at("gm_change", "gm_bilged - km_initial", nil),
		at("gm_change", "km_bilged - gm_initial", nil))

	def("lever-from-amidships", false,
		at("trim_lever", "lever_amidships", isCut),
		at("trimming_moment", "lost_volume*density*lever_amidships", isCut))
	def("flotation-left-amidships", true,
		at("trim_share_damaged_end", "trim_change/100/2", isCut),
		at("trim_share_intact_end", "trim_change/100/2", isCut))
	def("trim-shares-swapped", true,
		at("trim_share_damaged_end", "trim_change/100*(length/2 - flotation_shift)/length", isCut),
		at("trim_share_intact_end", "trim_change/100*(length/2 + flotation_shift)/length", isCut))
	def("trim-applied-reversed", true,
		at("draught_forward", "bilged_draught - trim_share_damaged_end", forward),
		at("draught_aft", "bilged_draught + trim_share_intact_end", forward),
		at("draught_forward", "bilged_draught + trim_share_intact_end", aft),
		at("draught_aft", "bilged_draught - trim_share_damaged_end", aft))
	def("full-length-in-bml", false,
		at("second_moment_long", "breadth*length^3/12", endCut),
		at("bml_bilged", "breadth*length^3/(12*volume)", endCut))
	def("breadth-cubed-in-bml", false,
		at("second_moment_long", "length*breadth^3/12", nil),
		at("bml_bilged", "length*breadth^3/(12*volume)", nil))
	def("hundred-omitted-from-mctc", false,
		at("mctc", "displacement*gml_bilged/length", func(k *kind) bool { return k.kg }),
		at("mctc", "displacement*bml_bilged/length", func(k *kind) bool { return !k.kg }))
	def("density-omitted-from-moment", false, at("trimming_moment", "lost_volume*trim_lever", nil))
	def("sinkage-omitted-from-end-draughts", true,
		at("draught_forward", "draught + trim_share_damaged_end", forward),
		at("draught_aft", "draught - trim_share_intact_end", forward),
		at("draught_forward", "draught - trim_share_intact_end", aft),
		at("draught_aft", "draught + trim_share_damaged_end", aft))
	def("centimetres-added-to-metres", true,
		at("draught_forward", "bilged_draught + trim_share_damaged_end*100", forward),
		at("draught_aft", "bilged_draught - trim_share_intact_end*100", forward),
		at("draught_forward", "bilged_draught - trim_share_intact_end*100", aft),
		at("draught_aft", "bilged_draught + trim_share_damaged_end*100", aft))

	def("second-moment-about-centre-line", false,
		at("second_moment_trans", "length*breadth^3/12 - permeability*comp_length*comp_breadth^3/12 - lost_area*lever_centre_line^2", isCut),
		at("bm_bilged", "second_moment_centre_line/volume", func(k *kind) bool { return k.side && k.cut }))
	def("parallel-axis-added", false,
		at("second_moment_trans", "length*breadth^3/12 - permeability*comp_length*comp_breadth^3/12 - lost_area*lever_centre_line^2 + intact_area*flotation_offset^2", isCut),
		at("second_moment_trans", "second_moment_centre_line + intact_area*flotation_offset^2", isCut))
	def("whole-waterplane-in-bm", false,
		at("second_moment_trans", "length*breadth^3/12", isCut),
		at("bm_bilged", "length*breadth^3/(12*volume)", func(k *kind) bool { return k.side && k.cut }))
	def("offset-from-shell", false,
		at("flotation_offset", "centroid_from_shell", isCut))
	def("initial-gm-for-list", false, at("tan_list", "buoyancy_offset/gm_initial", nil))
	def("tangent-inverted", false, at("tan_list", "gm_bilged/buoyancy_offset", nil))
	def("tangent-not-undone", false, at("list", "tan_list", nil))
	return out
}

func mentions(n *node, q int) bool {
	found := false
	n.each(func(x int) { found = found || x == q })
	return found
}

// replace puts a formula in the place of every mention of a quantity.
func replace(n *node, q int, with *node) *node {
	if !mentions(n, q) {
		return n
	}
	if n.op == 'q' {
		return with
	}
	c := *n
	c.x = replace(n.x, q, with)
	if n.y != nil {
		c.y = replace(n.y, q, with)
	}
	return &c
}

// without leaves a quantity out of the products it stands in; nil where it
// does not stand in one.
func without(n *node, q int) *node {
	if !mentions(n, q) {
		return nil
	}
	switch n.op {
	case '*':
		if n.x.op == 'q' && n.x.q == q {
			return n.y
		}
		if n.y.op == 'q' && n.y.q == q {
			return n.x
		}
	case 'k', 'q':
		return nil
	}
	c := *n
	done := false
	if mentions(n.x, q) {
		x := without(n.x, q)
		if x == nil {
			return nil
		}
		c.x, done = x, true
	}
	if n.y != nil && mentions(n.y, q) {
		y := without(n.y, q)
		if y == nil {
			return nil
		}
		c.y, done = y, true
	}
	if !done {
		return nil
	}
	return &c
}

// rulesSites turns the sites of the topic's own data that hold for this
// question, and that the generator has no formula of its own for, into faults.
func rulesSites(q *Question) []*faultDef {
	var out []*faultDef
	m := q.Marker.Model()
	for _, f := range q.Topic.Faults {
		d := &faultDef{id: f.ID, severity: severityOf(f.ID), together: f.Together}
		for _, sites := range m.Sites {
			for _, s := range sites {
				if s.Fault != f {
					continue
				}
				if x, err := fromRules(s.Site); err == nil {
					d.sites = append(d.sites, x)
				}
			}
		}
		if len(d.sites) > 0 {
			out = append(out, d)
		}
	}
	return out
}

func fromRules(s *rules.Site) (siteDef, error) {
	n, err := fromExpr(s.Formula)
	if err != nil {
		return siteDef{}, err
	}
	i, ok := quantityIndex[s.Quantity]
	if !ok || strings.HasSuffix(s.Quantity, "m_change") { // which way a change counts is the generator's own affair
		return siteDef{}, errNoQuantity
	}
	return siteDef{q: i, form: n}, nil
}
