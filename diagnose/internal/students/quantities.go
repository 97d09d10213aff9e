package students

import "strings"

// quant is a quantity as the generator knows it: how it is rounded, in which
// unit, and the words that students give it. The words are the generator's own.
type quant struct {
	id     string
	unit   string
	places int
	state  byte // 'i' before bilging, 'b' after: its words then stand without it
	// skip is how readily a student leaves the step unwritten.
	skip  float64
	long  []string // in full
	short []string // cut short
	sym   []string // symbols; the first that is free in a hand is used
	as    string   // the contract's id where the generator's own differs
}

func (q *quant) contract() string {
	if q.as != "" {
		return q.as
	}
	return q.id
}

// words splits a list written with semicolons.
func words(s string) []string {
	if s == "" {
		return nil
	}
	out := strings.Split(s, ";")
	for i := range out {
		out[i] = strings.TrimSpace(out[i])
	}
	return out
}

var quantityIndex = indexQuantities()

func indexQuantities() map[string]int {
	m := make(map[string]int, len(quants))
	for i := range quants {
		m[quants[i].id] = i
	}
	return m
}

// slotOf gives the number of a quantity; a wrong id is a slip of the generator.
func slotOf(id string) int {
	i, ok := quantityIndex[id]
	if !ok {
		panic("no quantity " + id)
	}
	return i
}

var quants = []quant{
	// given
	{"length", "m", 2, 0, 0, words("length of ship;length of vessel;ship's length;length"), words("ship L;L"), words("L"), ""},
	{"breadth", "m", 2, 0, 0, words("breadth of ship;ship's breadth;beam;breadth"), words("ship B;B"), words("B"), ""},
	{"draught", "m", 3, 'i', 0, words("draught"), words("draft"), words("d;T"), ""},
	{"kg", "m", 2, 0, 0, words("KG"), words("KG"), words("KG"), ""},
	{"density", "t/m3", 3, 0, 0, words("density;density of water;water density"), words("density"), words("ρ;rho"), ""},
	{"comp_length", "m", 2, 0, 0, words("length of compartment;compartment length;length of bilged compartment"), words("comp length;l of comp"), words("l"), ""},
	{"comp_breadth", "m", 2, 0, 0, words("breadth of compartment;compartment breadth;width of compartment"), words("comp breadth;b of comp"), words("b"), ""},
	{"flat_height", "m", 2, 0, 0, words("height of flat;flat above keel;height of tank top"), words("flat ht;ht of flat"), words("h"), ""},
	{"permeability", "", 3, 0, 0, words("permeability"), words("perm;perm."), words("μ;u;mu"), ""},
	{"stowage_factor", "m3/t", 2, 0, 0, words("stowage factor"), words("SF;stow factor"), words("SF"), ""},
	{"relative_density", "", 2, 0, 0, words("relative density;relative density of cargo"), words("RD;rel density"), words("RD"), ""},
	// permeability from the cargo
	{"solid_factor", "m3/t", 3, 0, 0.2, words("space taken by 1 tonne of solid cargo;volume of one tonne of cargo;solid stowage factor;volume of 1 t of cargo without gaps"), words("solid SF;vol of 1 t"), nil, ""},
	{"broken_stowage", "m3/t", 3, 0, 0.15, words("broken stowage;space for water;void space per tonne"), words("BS;broken stow;brkn stowage"), words("BS"), ""},
	{"solid_share", "", 3, 0, 0.2, words("fraction occupied by cargo;solid fraction"), words("solid share"), nil, ""},
	// sinkage
	{"lost_length", "m", 2, 0, 0.5, words("effective length;length lost;effective length of compartment;length of lost buoyancy;effective length lost"), words("eff length;lost len;eff. len"), words("le"), ""},
	{"intact_length", "m", 2, 0, 0.45, words("intact length;length of intact waterplane;remaining length"), words("intact len;int. length;rem length"), words("Li"), ""},
	{"lost_depth", "m", 3, 'i', 0.5, words("depth of lost buoyancy;flooded depth;depth of flooded space;depth lost"), words("depth lost;flooded dep"), words("x"), ""},
	{"comp_volume", "m3", 1, 'i', 0.2, words("volume of compartment;gross volume of compartment;compartment volume to waterline"), words("comp vol;vol of comp"), nil, ""},
	{"lost_volume", "m3", 1, 'i', 0.06, words("volume of lost buoyancy;lost volume;volume lost;lost buoyancy"), words("vol lost;lost vol;lost vol.;vol of lost buoyancy;LB"), words("v;vl"), ""},
	{"waterplane_area", "m2", 1, 0, 0.5, words("area of waterplane;whole waterplane area;waterplane area;total waterplane area"), words("WPA;wp area;total WPA"), words("A;WPA"), ""},
	{"lost_area", "m2", 1, 0, 0.45, words("lost area;lost waterplane area;area lost;area of waterplane lost"), words("lost WPA;area lost;lost a"), words("a"), ""},
	{"intact_area", "m2", 1, 0, 0.12, words("intact waterplane area;area of intact waterplane;remaining waterplane area;intact area"), words("IWPA;intact WPA;int. wpa;remaining WPA"), words("IWPA;Ai;A'"), ""},
	{"lost_mass", "t", 1, 0, 0.1, words("mass of lost buoyancy;lost buoyancy in tonnes;weight of lost buoyancy"), words("lost mass;lost wt;wt of lost buoyancy"), words("w"), ""},
	{"tpc", "t/cm", 3, 0, 0.1, words("TPC;TPC of intact waterplane;intact TPC"), words("TPC;new TPC"), words("TPC"), ""},
	{"sinkage_cm", "cm", 1, 0, 0.1, words("sinkage;bodily sinkage;sinkage in cm"), words("sinkage;sink."), words("s"), "sinkage"},
	{"first_sinkage", "m", 3, 0, 0.2, words("first sinkage;sinkage if flat is not reached;trial sinkage"), words("trial sinkage;1st sinkage"), nil, ""},
	{"first_draught", "m", 3, 0, 0.2, words("trial draught;first draught"), words("trial draft;1st draught"), nil, ""},
	{"sinkage", "m", 3, 0, 0.12, words("sinkage;bodily sinkage;mean sinkage;increase in draught;parallel sinkage"), words("sinkage;sink;bodily sink."), words("s;x"), ""},
	{"bilged_draught", "m", 3, 'b', 0.05, words("draught;mean draught"), words("draft;dr"), words("d"), ""},
	// stability
	{"volume", "m3", 1, 0, 0.35, words("volume of displacement;underwater volume;volume displaced;displaced volume"), words("vol of disp;disp vol;vol. of displ.;volume"), words("V;∇"), ""},
	{"displacement", "t", 1, 0, 0.2, words("displacement;displacement of ship"), words("disp;displ"), words("W;Δ"), ""},
	{"kb_initial", "m", 2, 'i', 0.12, words("KB;height of centre of buoyancy;centre of buoyancy above keel"), words("KB"), words("KB"), ""},
	{"second_moment_initial", "m4", 0, 'i', 0.75, words("second moment of area;second moment of waterplane;moment of inertia"), words("2nd moment;I of WP;inertia"), words("I"), ""},
	{"bm_initial", "m", 2, 'i', 0.06, words("BM"), words("BM"), words("BM"), ""},
	{"km_initial", "m", 2, 'i', 0.1, words("KM;height of metacentre"), words("KM"), words("KM"), ""},
	{"gm_initial", "m", 2, 'i', 0.05, words("GM;metacentric height"), words("GM"), words("GM"), ""},
	{"kb_bilged", "m", 2, 'b', 0.08, words("KB;height of centre of buoyancy;centre of buoyancy above keel"), words("KB"), words("KB"), ""},
	{"second_moment_bilged", "m4", 0, 'b', 0.1, words("second moment of area;second moment of intact waterplane;moment of inertia"), words("2nd moment;I of intact WP;inertia"), words("I"), ""},
	{"bm_bilged", "m", 2, 'b', 0.05, words("BM"), words("BM"), words("BM"), ""},
	{"km_bilged", "m", 2, 'b', 0.1, words("KM;height of metacentre"), words("KM"), words("KM"), ""},
	{"gm_bilged", "m", 2, 'b', 0.04, words("GM;metacentric height"), words("GM"), words("GM"), ""},
	{"kb_change", "m", 2, 0, 0.1, words("change in KB;change of KB;rise of B"), words("change KB"), words("ΔKB"), ""},
	{"bm_change", "m", 2, 0, 0.1, words("change in BM;change of BM"), words("change BM"), words("ΔBM"), ""},
	{"km_change", "m", 2, 0, 0.2, words("change in KM;change of KM"), words("change KM"), words("ΔKM"), ""},
	{"gm_change", "m", 2, 0, 0, words("change in GM;change of GM;GM change;change in metacentric height"), words("change GM;change in GM"), words("ΔGM"), ""},
	// moments
	{"full_volume", "m3", 1, 'b', 0.1, words("full volume;volume of whole ship to new waterline;whole volume at new draught;volume to new waterline"), words("full vol;total vol to new WL"), nil, ""},
	{"full_centre", "m", 3, 'b', 0.35, words("centre of full volume;KB of whole ship at new draught;half the new draught"), words("kb of full vol;half new draft"), nil, ""},
	{"full_moment", "m4", 1, 'b', 0.2, words("full moment;moment of whole ship;moment of full volume"), words("full mom;mom of whole"), nil, ""},
	{"lost_depth_bilged", "m", 3, 'b', 0.35, words("flooded depth to new waterline;depth lost at new draught;depth of lost buoyancy to new waterline"), words("new depth lost;new flooded depth"), nil, ""},
	{"lost_volume_bilged", "m3", 1, 'b', 0.1, words("lost volume to new waterline;lost volume at new draught;volume of lost buoyancy to new waterline"), words("new lost vol;lost vol to new WL"), nil, ""},
	{"lost_centre", "m", 3, 'b', 0.2, words("centre of lost volume;KB of lost buoyancy;centre of lost buoyancy above keel;centroid of lost volume"), words("kb of lost vol;kb lost"), words("kb"), ""},
	{"lost_moment", "m4", 1, 'b', 0.2, words("lost moment;moment of lost buoyancy;moment of lost volume"), words("lost mom;mom lost"), nil, ""},
	{"net_volume", "m3", 1, 'b', 0.3, words("net volume;remaining volume;volume remaining"), words("net vol;vol left"), nil, ""},
	{"net_moment", "m4", 1, 'b', 0.2, words("net moment;remaining moment;moment of intact volume"), words("net mom;mom left"), nil, ""},
	{"lost_centre_initial", "m", 3, 'i', 0.2, words("centre of lost buoyancy;centre of lost volume;KB of lost buoyancy"), words("kb of lost vol"), nil, ""},
	{"layer_centre", "m", 3, 0, 0.2, words("centre of layer;centre of new layer;centre of gained layer;centre of gained buoyancy"), words("layer centre;kb of layer"), nil, ""},
	{"buoyancy_lift", "m", 3, 0, 0.3, words("vertical distance moved;distance between centres"), words("dist moved"), nil, ""},
	{"buoyancy_rise", "m", 3, 0, 0.1, words("rise of B;rise in KB;rise of centre of buoyancy"), words("rise of B;BB1"), words("BB1"), ""},
	// blocks
	{"under_flat_volume", "m3", 1, 'b', 0.1, words("volume under flat;volume below the flat;lower block volume"), words("vol below flat;lower vol"), nil, ""},
	{"under_flat_centre", "m", 3, 'b', 0.4, words("centre of lower block;KB of part below flat"), words("kb lower"), nil, ""},
	{"under_flat_moment", "m4", 1, 'b', 0.2, words("moment of lower block;moment of volume below flat"), words("mom lower;lower moment"), nil, ""},
	{"over_flat_volume", "m3", 1, 'b', 0.1, words("volume above flat;volume over the flat;upper block volume"), words("vol above flat;upper vol"), nil, ""},
	{"over_flat_centre", "m", 3, 'b', 0.3, words("centre of upper block;KB of part above flat"), words("kb upper"), nil, ""},
	{"over_flat_moment", "m4", 1, 'b', 0.2, words("moment of upper block;moment of volume above flat"), words("mom upper;upper moment"), nil, ""},
	{"blocks_volume", "m3", 1, 'b', 0.3, words("total volume of blocks;sum of volumes"), words("total vol"), nil, "net_volume"},
	{"blocks_moment", "m4", 1, 'b', 0.3, words("total moment;sum of moments"), words("total mom"), nil, "net_moment"},
	{"ends_volume", "m3", 1, 'b', 0.1, words("volume of intact ends;volume of ends"), words("ends vol"), nil, ""},
	{"ends_centre", "m", 3, 'b', 0.4, words("centre of ends;KB of ends"), words("kb ends"), nil, ""},
	{"ends_moment", "m4", 1, 'b', 0.2, words("moment of ends;moment of intact ends"), words("mom ends"), nil, ""},
	{"upper_ends_volume", "m3", 1, 'b', 0.1, words("volume of ends above flat"), words("ends vol above flat"), nil, ""},
	{"upper_ends_moment", "m4", 1, 'b', 0.2, words("moment of ends above flat"), words("mom ends above flat"), nil, ""},
	{"solid_volume", "m3", 1, 'b', 0.1, words("volume of solid cargo;volume not lost in compartment;cargo volume"), words("cargo vol"), nil, ""},
	{"solid_moment", "m4", 1, 'b', 0.2, words("moment of cargo;moment of solid cargo"), words("cargo mom"), nil, ""},
	{"way_volume", "m3", 1, 'b', 0.1, words("volume in way of compartment;volume below compartment"), words("vol in way"), nil, ""},
	{"way_moment", "m4", 1, 'b', 0.2, words("moment of part in way of compartment"), words("mom in way"), nil, ""},
	// an end
	{"lever_amidships", "m", 2, 0, 0.35, words("distance of compartment from amidships;centre of compartment from amidships;centroid of compartment from midships"), words("dist from amidships;lever from midships"), words("e"), ""},
	{"flotation_from_ap", "m", 3, 0, 0.1, words("F from AP;LCF from AP;centre of flotation from AP"), words("F from AP"), nil, ""},
	{"flotation_shift", "m", 3, 0, 0.1, words("shift of F;movement of F;shift of centre of flotation;F from amidships;LCF from amidships"), words("shift of F;shift F;LCF from mid"), words("f;FF1"), ""},
	{"trim_lever", "m", 3, 0, 0.25, words("trimming lever;lever about new F;distance of lost buoyancy from new F"), words("lever;trim lever"), words("y"), ""},
	{"trimming_moment", "t m", 0, 0, 0.1, words("trimming moment;moment about F"), words("trim moment;TM"), nil, ""},
	{"second_moment_amidships", "m4", 0, 0, 0.2, words("second moment about amidships;I about amidships"), words("I amidships"), nil, ""},
	{"second_moment_long", "m4", 0, 'b', 0.1, words("longitudinal second moment;second moment about new F;longitudinal second moment of intact waterplane"), words("IL;I about F"), words("IL"), ""},
	{"bml_bilged", "m", 2, 'b', 0.05, words("longitudinal BM;BML"), words("BML;BM long"), words("BML"), ""},
	{"kml_bilged", "m", 2, 'b', 0.1, words("longitudinal KM;KML"), words("KML"), words("KML"), ""},
	{"gml_bilged", "m", 2, 'b', 0.1, words("longitudinal GM;GML"), words("GML;GM long"), words("GML"), ""},
	{"mctc", "t m/cm", 2, 0, 0.05, words("MCTC;moment to change trim 1 cm;MCT 1cm"), words("MCTC;MCT1cm"), words("MCTC"), ""},
	{"trim_change", "cm", 1, 0, 0.05, words("change of trim;trim;total trim"), words("trim;COT;ch of trim"), words("t"), ""},
	{"trim_share_damaged_end", "m", 3, 0, 0.15, nil, nil, nil, ""},
	{"trim_share_intact_end", "m", 3, 0, 0.15, nil, nil, nil, ""},
	{"draught_forward", "m", 3, 'b', 0, words("draught forward;forward draught;final draught forward"), words("draft fwd;dr fwd;F draft"), words("dF"), ""},
	{"draught_aft", "m", 3, 'b', 0, words("draught aft;aft draught;final draught aft"), words("draft aft;dr aft;A draft"), words("dA"), ""},
	// a side
	{"lever_centre_line", "m", 2, 0, 0.35, words("distance of compartment from centre line;centre of compartment from centreline;centroid of lost area from centre line"), words("dist off CL;comp to CL"), words("e"), ""},
	{"waterplane_moment", "m3", 1, 0, 0.3, words("moment of intact waterplane about ship side;moment about damaged side"), words("moment about side"), nil, ""},
	{"centroid_from_shell", "m", 3, 0, 0.1, words("centroid of intact waterplane from damaged side;centroid from ship's side"), words("centroid from side"), nil, ""},
	{"flotation_offset", "m", 3, 0, 0.1, words("shift of centroid;centroid off centre line;shift of F off centre line;offset of centroid"), words("offset;shift of F"), words("f;y"), ""},
	{"buoyancy_offset", "m", 3, 0, 0.12, words("shift of B;transverse shift of B;shift of centre of buoyancy off centre line;heeling lever"), words("BB1;shift B;BG"), words("BB1"), ""},
	{"second_moment_centre_line", "m4", 0, 0, 0.15, words("second moment about centre line;I about centreline"), words("I about CL;ICL"), words("ICL"), ""},
	{"second_moment_shell", "m4", 0, 0, 0.1, words("second moment about ship's side;second moment about damaged side"), words("I about side"), nil, ""},
	{"second_moment_trans", "m4", 0, 'b', 0.12, words("second moment of intact waterplane;second moment about new centroid;second moment about centroid"), words("I intact;I about centroid"), words("I"), ""},
	{"tan_list", "", 4, 0, 0.3, words("tan list;tangent of list;tan of angle of list"), words("tan list;tan heel"), words("tan θ;tanθ"), ""},
	{"list", "deg", 1, 0, 0, words("list;angle of list;angle of heel"), words("list;heel"), words("θ"), ""},
	// further names of the rules, so that their formulas can be read
	{"comp_area", "m2", 1, 0, 0.3, words("area of compartment;compartment area"), words("comp area"), nil, ""},
	{"tpc_initial", "t/cm", 3, 'i', 0.3, words("TPC"), words("TPC"), nil, ""},
	{"centroid_from_far_shell", "m", 3, 0, 0.2, words("centroid from intact side"), words("centroid from intact side"), nil, ""},
	{"second_moment_far_shell", "m4", 0, 0, 0.2, words("second moment about intact side"), words("I about intact side"), nil, ""},
}
