package students

// The chain of quantities, in the generator's own words of formulas. Each way
// is right where its condition holds; the first is what most students do.

type way struct {
	when   func(k *kind) bool // nil: always
	weight float64
	tag    string // names the habit, "" for the usual way
	form   *node
}

func w(weight float64, text string, when func(k *kind) bool) way {
	return way{when: when, weight: weight, form: formula(text)}
}

func tagged(weight float64, tag, text string, when func(k *kind) bool) way {
	return way{when: when, weight: weight, tag: tag, form: formula(text)}
}

func isAbove(k *kind) bool        { return k.above }
func isWhole(k *kind) bool        { return !k.cut }
func isClosed(k *kind) bool       { return k.closed }
func isFull(k *kind) bool         { return k.fullDepth }
func isCut(k *kind) bool          { return k.cut }
func fullBreadthCut(k *kind) bool { return k.cut && k.fullBreadth && !k.side }
func narrowCut(k *kind) bool      { return k.cut && !k.fullBreadth && !k.side }
func notPassed(k *kind) bool      { return !k.passes }

var chainWays = buildWays()

func buildWays() map[int][]way {
	out := map[int][]way{}
	for id, ws := range map[string][]way{
		"solid_factor":   {w(1, "1/relative_density", nil)},
		"broken_stowage": {w(1, "stowage_factor - solid_factor", nil)},
		"solid_share":    {w(1, "solid_factor/stowage_factor", nil)},
		"permeability":   {w(1, "broken_stowage/stowage_factor", nil), tagged(0.15, "way: 1 less the solid share", "1 - solid_share", nil)},

		"lost_length":   {w(1, "comp_length*permeability", nil)},
		"intact_length": {w(1, "length - lost_length", nil)},
		"lost_depth": {
			w(1, "draught - flat_height", isAbove),
			w(1, "flat_height", func(k *kind) bool { return k.under }),
			w(1, "draught", func(k *kind) bool { return !k.above && !k.under })},
		"comp_volume": {w(1, "comp_length*comp_breadth*lost_depth", nil)},
		"lost_volume": {
			w(1, "comp_length*permeability*comp_breadth*lost_depth", nil),
			w(0.6, "comp_length*comp_breadth*lost_depth*permeability", nil),
			w(0.5, "lost_length*comp_breadth*lost_depth", func(k *kind) bool { return !k.empty }),
			w(0.2, "lost_area*lost_depth", func(k *kind) bool { return k.cutBefore }),
			w(0.3, "comp_volume*permeability", func(k *kind) bool { return !k.empty })},
		"waterplane_area": {w(1, "length*breadth", nil)},
		"comp_area":       {w(1, "comp_length*comp_breadth", nil)},
		"lost_area": {
			w(1, "comp_length*permeability*comp_breadth", nil),
			w(0.4, "comp_area*permeability", func(k *kind) bool { return !k.empty && k.side }),
			w(0.3, "lost_length*comp_breadth", func(k *kind) bool { return !k.empty })},
		"intact_area": {
			w(1, "waterplane_area - lost_area", isCut),
			w(0.6, "intact_length*breadth", fullBreadthCut),
			w(1, "length*breadth - comp_length*permeability*comp_breadth", isCut),
			w(1, "length*breadth", isClosed)},
		"first_sinkage": {w(1, "lost_volume/(length*breadth - lost_area)", nil)},
		"first_draught": {w(1, "draught + first_sinkage", nil)},
		"lost_mass":     {w(1, "lost_volume*density", nil)},
		"tpc":           {w(1, "intact_area*density/100", notPassed), w(0.2, "density*intact_area/100", notPassed)},
		"sinkage_cm":    {w(1, "lost_mass/tpc", nil)},
		"sinkage": {
			w(1, "lost_volume/intact_area", notPassed),
			tagged(0.12, "way: tonnes and TPC", "sinkage_cm/100", notPassed),
			tagged(0.06, "way: breadth cancelled", "lost_length*lost_depth/intact_length", func(k *kind) bool { return fullBreadthCut(k) && !k.end }),
			tagged(0.06, "way: draught from the volume", "bilged_draught - draught", isFull),
			w(1, "comp_length*permeability*comp_breadth*flat_height/(length*breadth)", func(k *kind) bool { return k.passes })},
		"bilged_draught": {
			w(1, "draught + sinkage", notPassed),
			tagged(0.06, "way: draught from the volume", "volume/intact_area", isFull),
			w(1, "(volume + comp_length*permeability*comp_breadth*flat_height)/(length*breadth)", func(k *kind) bool { return k.passes })},

		"volume":                {w(1, "length*breadth*draught", nil)},
		"displacement":          {w(1, "volume*density", nil), w(0.5, "length*breadth*draught*density", nil)},
		"kb_initial":            {w(1, "draught/2", nil)},
		"second_moment_initial": {w(1, "length*breadth^3/12", nil)},
		"bm_initial": {
			w(1, "length*breadth^3/(12*volume)", nil),
			tagged(0.2, "way: B²/12d before", "breadth^2/(12*draught)", nil),
			tagged(0.2, "way: second moment first", "second_moment_initial/volume", nil)},
		"km_initial": {w(1, "kb_initial + bm_initial", nil)},
		"gm_initial": {w(1, "km_initial - kg", nil)},
		"kb_bilged": {
			w(1, "bilged_draught/2", isFull),
			w(1, "net_moment/volume", func(k *kind) bool { return !k.fullDepth }),
			w(0.15, "net_moment/net_volume", func(k *kind) bool { return !k.fullDepth }),
			tagged(0.05, "way: moments where half would do", "net_moment/volume", isFull),
			tagged(0.12, "way: KB by the rise of B", "kb_initial + buoyancy_rise", notPassed),
			tagged(0.15, "way: KB by two blocks", "blocks_moment/volume", func(k *kind) bool { return k.above || k.closed }),
			tagged(0.05, "way: KB by three blocks", "(under_flat_moment + upper_ends_moment + solid_moment)/volume", func(k *kind) bool { return k.above && !k.empty }),
			tagged(0.04, "way: KB by ends and cargo", "(ends_moment + way_moment + solid_moment)/volume", func(k *kind) bool { return k.above && !k.empty })},
		"second_moment_bilged": {
			w(1, "intact_length*breadth^3/12", fullBreadthCut),
			w(1, "(length*breadth^3 - comp_length*permeability*comp_breadth^3)/12", narrowCut),
			w(1, "length*breadth^3/12", isClosed)},
		"bm_bilged": {
			w(1, "intact_length*breadth^3/(12*volume)", fullBreadthCut),
			w(1, "(length*breadth^3 - comp_length*permeability*comp_breadth^3)/(12*volume)", narrowCut),
			w(1, "length*breadth^3/(12*volume)", func(k *kind) bool { return k.closed && !k.side }),
			w(5, "second_moment_trans/volume", func(k *kind) bool { return k.side }),
			tagged(0.25, "way: second moment first", "second_moment_bilged/volume", func(k *kind) bool { return !k.side }),
			tagged(0.15, "way: B²/12d after", "breadth^2/(12*bilged_draught)", func(k *kind) bool { return k.fullBreadth && k.fullDepth && !k.side })},
		"km_bilged": {w(1, "kb_bilged + bm_bilged", nil)},
		"gm_bilged": {w(1, "km_bilged - kg", nil)},
		"kb_change": {w(1, "kb_bilged - kb_initial", nil)},
		"bm_change": {w(1, "bm_bilged - bm_initial", nil)},
		"km_change": {w(1, "km_bilged - km_initial", nil)},
		"gm_change": {
			w(1, "gm_bilged - gm_initial", nil),
			tagged(0.12, "way: change of KM", "km_change", nil),
			tagged(0.12, "way: ΔKB + ΔBM", "kb_change + bm_change", nil)},

		"full_volume": {w(1, "length*breadth*bilged_draught", nil)},
		"full_centre": {w(1, "bilged_draught/2", nil)},
		"full_moment": {w(1, "full_volume*full_centre", nil)},
		"lost_depth_bilged": {
			w(1, "bilged_draught - flat_height", isAbove),
			w(1, "flat_height", isClosed),
			w(1, "bilged_draught", isFull)},
		"lost_volume_bilged": {
			w(1, "comp_length*permeability*comp_breadth*lost_depth_bilged", nil),
			w(0.3, "lost_length*comp_breadth*lost_depth_bilged", func(k *kind) bool { return !k.empty }),
			w(0.1, "lost_area*lost_depth_bilged", isCut)},
		"lost_centre": {
			w(1, "flat_height + lost_depth_bilged/2", isAbove),
			w(0.4, "(bilged_draught + flat_height)/2", isAbove),
			w(1, "flat_height/2", isClosed),
			w(1, "bilged_draught/2", isFull)},
		"lost_moment": {w(1, "lost_volume_bilged*lost_centre", nil)},
		"net_volume":  {w(1, "full_volume - lost_volume_bilged", nil)},
		"net_moment":  {w(1, "full_moment - lost_moment", nil)},
		"lost_centre_initial": {
			w(1, "flat_height + lost_depth/2", isAbove),
			w(1, "flat_height/2", func(k *kind) bool { return k.under }),
			w(1, "draught/2", func(k *kind) bool { return !k.above && !k.under })},
		"layer_centre":  {w(1, "draught + sinkage/2", nil), w(0.3, "(draught + bilged_draught)/2", nil)},
		"buoyancy_lift": {w(1, "layer_centre - lost_centre_initial", nil)},
		"buoyancy_rise": {
			w(1, "lost_volume*buoyancy_lift/volume", nil),
			w(0.5, "lost_volume*(layer_centre - lost_centre_initial)/volume", nil)},

		"under_flat_volume": {w(1, "length*breadth*flat_height", isAbove), w(1, "(length*breadth - comp_length*permeability*comp_breadth)*flat_height", isClosed)},
		"blocks_volume":     {w(1, "under_flat_volume + over_flat_volume", nil)},
		"blocks_moment":     {w(1, "under_flat_moment + over_flat_moment", nil)},
		"under_flat_centre": {w(1, "flat_height/2", nil)},
		"under_flat_moment": {w(1, "under_flat_volume*under_flat_centre", nil)},
		"over_flat_volume":  {w(1, "intact_area*(bilged_draught - flat_height)", isAbove), w(1, "length*breadth*(bilged_draught - flat_height)", isClosed)},
		"over_flat_centre":  {w(1, "(bilged_draught + flat_height)/2", nil), w(0.5, "flat_height + (bilged_draught - flat_height)/2", nil)},
		"over_flat_moment":  {w(1, "over_flat_volume*over_flat_centre", nil)},
		"ends_volume":       {w(1, "(length*breadth - comp_length*comp_breadth)*bilged_draught", nil), w(1, "(length - comp_length)*breadth*bilged_draught", func(k *kind) bool { return k.fullBreadth })},
		"ends_centre":       {w(1, "bilged_draught/2", nil)},
		"ends_moment":       {w(1, "ends_volume*ends_centre", nil)},
		"upper_ends_volume": {w(1, "(length*breadth - comp_length*comp_breadth)*(bilged_draught - flat_height)", nil)},
		"upper_ends_moment": {w(1, "upper_ends_volume*over_flat_centre", nil)},
		"solid_volume":      {w(1, "comp_length*comp_breadth*(1 - permeability)*lost_depth_bilged", nil)},
		"solid_moment":      {w(1, "solid_volume*lost_centre", nil)},
		"way_volume":        {w(1, "comp_length*comp_breadth*flat_height", isAbove), w(1, "comp_length*comp_breadth*(bilged_draught - flat_height)", isClosed)},
		"way_moment":        {w(1, "way_volume*flat_height/2", isAbove), w(1, "way_volume*(bilged_draught + flat_height)/2", isClosed)},

		"lever_amidships": {w(1, "length/2 - comp_length/2", nil), w(0.4, "(length - comp_length)/2", nil)},
		"flotation_from_ap": {
			w(1, "(length*breadth*length/2 - lost_area*(length - comp_length/2))/intact_area", func(k *kind) bool { return k.forward }),
			w(1, "(length*breadth*length/2 - lost_area*comp_length/2)/intact_area", func(k *kind) bool { return !k.forward })},
		"flotation_shift": {
			w(1, "lost_area*lever_amidships/intact_area", isCut),
			tagged(0.06, "way: F by moments about AP", "length/2 - flotation_from_ap", func(k *kind) bool { return k.cut && k.forward }),
			tagged(0.06, "way: F by moments about AP", "flotation_from_ap - length/2", func(k *kind) bool { return k.cut && !k.forward }),
			tagged(1.2, "way: F by half the length", "comp_length/2", func(k *kind) bool { return k.cut && k.empty && k.fullBreadth })},
		"trim_lever": {
			w(1, "lever_amidships + flotation_shift", isCut),
			w(1, "lever_amidships", isClosed)},
		"trimming_moment": {
			w(1, "lost_volume*density*trim_lever", nil),
			w(0.7, "lost_mass*trim_lever", nil),
			tagged(0.08, "way: moment about amidships", "lost_volume_bilged*density*lever_amidships", isCut)},
		"second_moment_amidships": {
			w(1, "breadth*length^3/12 - permeability*comp_breadth*comp_length^3/12 - lost_area*lever_amidships^2", isCut)},
		"second_moment_long": {
			w(1, "breadth*length^3/12 - permeability*comp_breadth*comp_length^3/12 - lost_area*lever_amidships^2 - intact_area*flotation_shift^2", isCut),
			tagged(0.4, "way: second moment in two steps", "second_moment_amidships - intact_area*flotation_shift^2", isCut),
			w(1, "breadth*length^3/12", isClosed),
			w(2, "breadth*(length - comp_length)^3/12", func(k *kind) bool { return k.cut && k.empty && k.fullBreadth })},
		"bml_bilged": {w(1, "second_moment_long/volume", nil)},
		"kml_bilged": {w(1, "kb_bilged + bml_bilged", nil)},
		"gml_bilged": {
			w(1, "kb_bilged + bml_bilged - kg", func(k *kind) bool { return k.kg }),
			w(0.5, "kml_bilged - kg", func(k *kind) bool { return k.kg })},
		"mctc": {
			w(1, "displacement*gml_bilged/(100*length)", func(k *kind) bool { return k.kg }),
			tagged(0.3, "way: BML for GML", "displacement*bml_bilged/(100*length)", func(k *kind) bool { return k.kg }),
			w(1, "displacement*bml_bilged/(100*length)", func(k *kind) bool { return !k.kg })},
		"trim_change": {w(1, "trimming_moment/mctc", nil)},
		"trim_share_damaged_end": {
			w(1, "trim_change/100*(length/2 + flotation_shift)/length", isCut),
			w(1, "trim_change/100/2", isClosed)},
		"trim_share_intact_end": {
			w(1, "trim_change/100*(length/2 - flotation_shift)/length", isCut),
			w(0.5, "trim_change/100 - trim_share_damaged_end", isCut),
			w(1, "trim_change/100/2", isClosed)},
		"draught_forward": {
			w(1, "bilged_draught + trim_share_damaged_end", func(k *kind) bool { return k.forward }),
			w(1, "bilged_draught - trim_share_intact_end", func(k *kind) bool { return !k.forward })},
		"draught_aft": {
			w(1, "bilged_draught - trim_share_intact_end", func(k *kind) bool { return k.forward }),
			w(1, "bilged_draught + trim_share_damaged_end", func(k *kind) bool { return !k.forward })},

		"lever_centre_line":   {w(1, "breadth/2 - comp_breadth/2", nil), w(0.4, "(breadth - comp_breadth)/2", nil)},
		"waterplane_moment":   {w(1, "length*breadth*breadth/2 - lost_area*comp_breadth/2", nil)},
		"centroid_from_shell": {w(1, "waterplane_moment/intact_area", isCut), w(1, "breadth/2", isWhole)},
		"flotation_offset": {
			w(1, "lost_area*lever_centre_line/intact_area", isCut),
			tagged(0.2, "way: centroid from the shell", "centroid_from_shell - breadth/2", isCut)},
		"buoyancy_offset": {
			w(1, "flotation_offset", isFull),
			w(1, "lost_volume*(lever_centre_line + flotation_offset)/volume", func(k *kind) bool { return k.above }),
			tagged(0.3, "way: B by moments to the new waterline", "lost_volume_bilged*lever_centre_line/volume", isAbove),
			w(1, "lost_volume*lever_centre_line/volume", isClosed)},
		"second_moment_centre_line": {w(1, "length*breadth^3/12 - permeability*comp_length*comp_breadth^3/12 - lost_area*lever_centre_line^2", nil)},
		"second_moment_shell":       {w(1, "length*breadth^3/3 - permeability*comp_length*comp_breadth^3/3", nil)},
		"second_moment_trans": {
			w(1, "length*breadth^3/12 - permeability*comp_length*comp_breadth^3/12 - lost_area*lever_centre_line^2 - intact_area*flotation_offset^2", isCut),
			tagged(0.5, "way: second moment in two steps", "second_moment_centre_line - intact_area*flotation_offset^2", isCut),
			tagged(0.3, "way: second moment about the shell", "second_moment_shell - intact_area*centroid_from_shell^2", isCut),
			w(1, "length*breadth^3/12", isClosed)},
		"tan_list": {w(1, "buoyancy_offset/gm_bilged", nil)},
		"list":     {w(1, "atan(tan_list)", nil)},
	} {
		out[slotOf(id)] = ws
	}
	return out
}

// answersOf gives what a part asks for.
func answersOf(find string) []int {
	switch find {
	case "sinkage":
		return []int{slotOf("sinkage")}
	case "bilged draught":
		return []int{slotOf("bilged_draught")}
	case "change of GM":
		return []int{slotOf("gm_change")}
	case "final GM":
		return []int{slotOf("gm_bilged")}
	case "final KM":
		return []int{slotOf("km_bilged")}
	case "final KB":
		return []int{slotOf("kb_bilged")}
	case "final draughts":
		return []int{slotOf("draught_forward"), slotOf("draught_aft")}
	case "list":
		return []int{slotOf("list")}
	case "permeability":
		return []int{slotOf("permeability")}
	}
	panic("no part asks for " + find)
}
