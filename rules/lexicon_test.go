package rules

import (
	"slices"
	"strings"
	"sync"
	"testing"
)

// Phrases as students write them, with the quantities that may stand first: all
// of the best score are listed where several are as good.
func TestMatchFindsTheQuantity(t *testing.T) {
	tests := []struct {
		phrases string // separated by |
		want    string // ids, any of which may be best
		state   string
	}{
		{"vol lost|lost vol.|Lost Volume|Volume of lost buoyancy|vol of lost buoyancy|lost volume|volume lost|v|loss of buoyancy|flooded volume|volumn lost|lost volumn|volume of the lost buoyancy|vol. of water in hold|effective volume", "lost_volume", ""},
		{"lost buoyancy|buoyancy lost", "lost_volume lost_mass", ""},
		{"mass of lost buoyancy|lost buoyancy in tonnes|mass of water", "lost_mass", ""},
		{"vol_lost|lost_vol|v.lost|lost_volume|v_lost", "lost_volume", ""},
		{"wp_area_intact|intact_waterplane|wp.intact", "intact_area", ""},
		{"wp_area|area_wp", "waterplane_area intact_area", ""},
		{"l_hold|l_tank|hold_length|length.hold", "comp_length", ""},
		{"b_hold|b_comp|breadth_room", "comp_breadth", ""},
		{"d_bilged|new_draught|d.new", "bilged_draught", "bilged"},
		{"draught.mean|mean_draft", "bilged_draught draught", ""},
		{"KB_bilged|KB.new|new_KB", "kb_bilged", "bilged"},
		{"GM_before|GM.initial", "gm_initial", "initial"},
		{"I_wp", "second_moment_initial second_moment_bilged second_moment_trans second_moment_long", ""},
		{"I_L|I.long", "second_moment_long", ""},
		{"GM.long|GM_L|GM(L)", "gml_bilged", ""},
		{"t_f|t_a|trim.fwd", "trim_share_damaged_end trim_share_intact_end", ""},
		{"d_F", "draught_forward", ""},
		{"F.from_AP", "flotation_from_aft", ""},
		{"tan_list", "tan_list", ""},
		{"delta_GM", "gm_change", ""},
		{"rise_in_draft", "sinkage", ""},
		{"V|volume of displacement|underwater volume|displaced volume", "volume", ""},
		{"W|Δ|displacement|displ|ship's displacement", "displacement", ""},
		{"IWPA|intact WPA|area of intact waterplane|Intact waterplane area|intact area|intact water plane area|remaining area|A − a", "intact_area", ""},
		{"a|lost area|WPA lost|area of lost waterplane|lost waterplane area", "lost_area", ""},
		{"WPA|waterplane area|area of waterplane|AWP", "waterplane_area intact_area", ""},
		{"lost length|length lost|length of lost buoyancy|lμ", "lost_length", ""},
		{"effective length", "lost_length intact_length", ""},
		{"intact length|remaining length|length of intact waterplane", "intact_length", ""},
		{"l|length of compartment|compartment length|length of hold|tank length", "comp_length", ""},
		{"L|length|length of ship|LBP", "length", ""},
		{"B|breadth|beam|width|breadth of the vessel", "breadth", ""},
		{"b|breadth of compartment|width of tank", "comp_breadth", ""},
		{"h|height of flat|height of tank top|tank top height|double bottom height", "flat_height", ""},
		{"μ|µ|mu|perm|permeability|permeability of the hold|permeabilty", "permeability", ""},
		{"depth of lost buoyancy|lost depth|depth of flooding|depth flooded", "lost_depth", ""},
		{"new depth of flooding|depth flooded after sinkage|depth to new waterline|new depth lost", "lost_depth_bilged", "bilged"},
		{"sinkage|bodily sinkage|parallel sinkage|increase in draught|rise in draft|mean sinkage|δd|Δd|ΔT|sinkge", "sinkage", ""},
		{"TMD|d2|T2|d₂", "bilged_draught", ""},
		{"new draft|new draught|draught after bilging|final d|final draught|bilged draught|new mean draught|resulting draught|draft after flooding|new draugth|final draught (m)", "bilged_draught", "bilged"},
		{"d0|T0", "draught", ""},
		{"original draught|initial draft|draught before bilging|old draught", "draught", "initial"},
		{"d1", "bilged_draught draught", ""},
		{"KB|kb|K.B.|centre of buoyancy", "kb_initial kb_bilged", ""},
		{"KB2|KB₂|KB'|KB1", "kb_bilged", ""},
		{"new KB|fluid KB|final KB (m)|KB after bilging|KB of bilged ship|bilged KB|KB (new)|new kb", "kb_bilged", "bilged"},
		{"KB0|KB(0)", "kb_initial", ""},
		{"initial KB|old KB|KB before bilging|original KB", "kb_initial", "initial"},
		{"BM|bm|BMT", "bm_initial bm_bilged", ""},
		{"new BM|BM after bilging|bilged BM", "bm_bilged", "bilged"},
		{"KM|km", "km_initial km_bilged", ""},
		{"final KM|KM after bilging", "km_bilged", "bilged"},
		{"GM|gm|metacentric height", "gm_initial gm_bilged", ""},
		{"GM0", "gm_initial", ""},
		{"initial GM|GM before flooding", "gm_initial", "initial"},
		{"new GM|final GM|GM after bilging", "gm_bilged", "bilged"},
		{"loss of GM|loss in GM|change of GM|change in GM|ΔGM|decrease in GM|reduction of GM|GM change|GM reduced by|difference in GM|fall in GM", "gm_change", ""},
		{"rise of KB|change of KB|increase in KB", "kb_change", ""},
		{"loss of BM|change in BM", "bm_change", ""},
		{"change in KM|ΔKM|reduction in KM", "km_change", ""},
		{"KG|kg", "kg", ""},
		{"TPC|tpc|T.P.C.|tonnes per cm|tonnes per centimetre immersion", "tpc", ""},
		{"solid factor|volume of 1 tonne", "solid_factor", ""},
		{"broken stowage|broken stow|void space", "broken_stowage", ""},
		{"SF|stowage factor|sf", "stowage_factor", ""},
		{"RD|relative density|rel density|specific gravity", "relative_density", ""},
		{"ρ|density|density of water|density of sea water", "density", ""},
		{"moment of lost buoyancy|lost moment|moment lost", "lost_moment", ""},
		{"net moment|remaining moment", "net_moment", ""},
		{"kb of lost buoyancy|centre of lost buoyancy", "lost_centre lost_centre_initial", ""},
		{"full volume|whole volume", "full_volume", ""},
		{"second moment of area|moment of inertia|2nd moment of area|second moment", "second_moment_initial second_moment_bilged second_moment_trans second_moment_long", ""},
		{"BML|BM_L|longitudinal BM|long. BM", "bml_bilged", ""},
		{"GML|longitudinal GM", "gml_bilged", ""},
		{"MCTC|MCT 1cm|MCT1cm|mctc", "mctc", ""},
		{"trim|change of trim|COT|trim change", "trim_change", ""},
		{"trimming moment|moment about new F", "trimming_moment", ""},
		{"draught forward|forward draught|fwd draft|draft fwd|dF", "draught_forward", ""},
		{"draught aft|aft draft|dA", "draught_aft", ""},
		{"final draught forward|new draft fwd", "draught_forward", "bilged"},
		{"trim forward|change of draught forward|trim aft", "trim_share_damaged_end trim_share_intact_end", ""},
		{"LCF|shift of F|shift of LCF", "flotation_shift flotation_offset", ""},
		{"tan list|tan θ|tanθ|tangent of list", "tan_list", ""},
		{"new height of centre of buoyaancy", "kb_bilged kb_initial", "bilged"},
		{"list|angle of list|heel|angle of heel|θ", "list", ""},
		{"shift of B", "buoyancy_rise buoyancy_offset", ""},
		{"BG|heeling lever|B off centre line", "buoyancy_offset", ""},
		{"ICL|I_CL|I CL|second moment about centre line", "second_moment_centre_line", ""},
		{"centroid from centre line", "flotation_offset", ""},
	}
	top := bilging(t)
	for _, c := range tests {
		for phrase := range strings.SplitSeq(c.phrases, "|") {
			got := top.Match(phrase)
			if len(got) == 0 {
				if phrase != "A − a" { // a formula, no phrase
					t.Errorf("%q finds nothing", phrase)
				}
				continue
			}
			if phrase == "A − a" {
				continue
			}
			if !slices.Contains(strings.Fields(c.want), got[0].Quantity.ID) {
				t.Errorf("%q finds %s (%.2f), not %s", phrase, got[0].Quantity.ID, got[0].Score, c.want)
			}
			if got[0].State != c.state {
				t.Errorf("%q says the state %q, not %q", phrase, got[0].State, c.state)
			}
			if !top.Known(phrase) {
				t.Errorf("%q is not known", phrase)
			}
		}
	}
}

func TestProseIsNotKnown(t *testing.T) {
	top := bilging(t)
	prose := []string{
		"", " ", "the ship sinks until", "therefore", "it", "is", "a ship", "because the hold is flooded", "new", "after bilging", "initial condition",
		"the intact part", "as the space is open to the sea", "x", "LB", "Lb", "bd", "lb", "12", "so we get", "using the formula", "the compartment", "hold",
		"where the volume is unchanged", "check", "part a", "assume", "she floats", "water enters", "box", "ship", "vessel", "first", "m", "of", "in the hold and the engine room",
		"lost", "intact", "full", "the whole of it", "?", "()", "½", "\x00", strings.Repeat("very ", 40) + "long", "this must be wrong", "answer",
	}
	for _, p := range prose {
		if p == "x" || p == "m" { // symbols that students use for a depth and a mass
			continue
		}
		if top.Known(p) {
			t.Errorf("%q is known, as %s", p, top.Match(p)[0].Quantity.ID)
		}
	}
}

// A symbol of one letter keeps its case.
func TestCaseOfSymbols(t *testing.T) {
	top := bilging(t)
	for symbol, want := range map[string]string{"v": "lost_volume", "V": "volume", "l": "comp_length", "L": "length", "b": "comp_breadth", "B": "breadth",
		"a": "lost_area", "A": "waterplane_area", "d": "draught bilged_draught", "h": "flat_height"} {
		if got := top.Match(symbol); len(got) == 0 || !slices.Contains(strings.Fields(want), got[0].Quantity.ID) {
			t.Errorf("%q finds %v, not %s", symbol, got, want)
		}
	}
}

func TestSenses(t *testing.T) {
	top := bilging(t)
	tests := []struct{ dir, words, want string }{
		{"change", "(decrease)", "fall"},
		{"change", "GM reduced by", "fall"},
		{"change", "an increase of", "rise"},
		{"change", "Loss of", "fall"},
		{"change", "goes down", "fall"},
		{"change", "less stable", "fall"},
		{"change", "rises", "rise"},
		{"change", "+ve", "rise"},
		{"change", "change of", ""},
		{"change", "", ""},
		{"change", "increase, then a fall", "rise fall"},
		{"part change", "drop in KB", "fall"},
		{"side", "to port", "to port"},
		{"side", "(P)", "to port"},
		{"side", "STBD", "to starboard"},
		{"side", "towards the starboard side", "to starboard"},
		{"side", "4.2 degrees", ""},
		{"trim", "by the head", "by head"},
		{"trim", "by stern", "by stern"},
		{"no such", "by stern", ""},
	}
	for _, c := range tests {
		var got []string
		for _, s := range top.Senses(c.dir, c.words) {
			got = append(got, s.ID)
		}
		if strings.Join(got, " ") != c.want {
			t.Errorf("%s: %q says %q, not %q", c.dir, c.words, got, c.want)
		}
	}
}

func TestStateOf(t *testing.T) {
	top := bilging(t)
	for words, want := range map[string]string{
		"Initial condition": "initial", "Bilged:": "bilged", "Before bilging": "initial", "After bilging": "bilged", "Intact": "initial", "Intact condition": "initial",
		"Final condition": "bilged", "In the damaged condition": "bilged", "New KB": "bilged", "Stability": "", "": "", "Before and after": "", "ORIGINAL": "initial",
		"Prior to flooding": "initial", "Condition after damage": "bilged",
	} {
		if got := top.StateOf(words); got != want {
			t.Errorf("%q says %q, not %q", words, got, want)
		}
	}
}

func TestCells(t *testing.T) {
	top := bilging(t)
	tests := []struct{ row, column, want string }{
		{"Whole ship", "Volume", "full_volume"},
		{"Full", "vol (m3)", "full_volume"},
		{"Whole", "KB", "full_centre"},
		{"Whole ship", "Moment", "full_moment"},
		{"Less lost buoyancy", "Volume (m³)", "lost_volume_bilged"},
		{"Lost", "KB (m)", "lost_centre"},
		{"lost", "moment", "lost_moment"},
		{"Hold", "Volume", "lost_volume_bilged"},
		{"Remaining", "Moment", "net_moment"},
		{"Net", "Volume", "net_volume"},
		{"Net", "KB", "kb_bilged"},
		{"KB", "Before", "kb_initial"},
		{"KB", "After", "kb_bilged"},
		{"GM", "bilged", "gm_bilged"},
		{"After", "KM", "km_bilged"},
		{"", "GM", "gm_initial"},
		{"Sinkage", "", "sinkage"},
		{"Intact ends", "Volume", "ends_volume"},
	}
	for _, c := range tests {
		got := top.Cells(c.row, c.column)
		if len(got) == 0 || got[0].Quantity.ID != c.want {
			t.Errorf("%q × %q finds %v, not %s", c.row, c.column, ids2(got), c.want)
		}
	}
}

func ids2(m []Match) (out []string) {
	for _, x := range m {
		out = append(out, x.Quantity.ID)
	}
	return out
}

func TestFill(t *testing.T) {
	value := func(id string) (string, bool) {
		v, ok := map[string]string{"draught": "4.788 m", "stated": "2.39 m"}[id]
		return v, ok
	}
	for tmpl, want := range map[string]string{
		"no placeholder":                            "no placeholder",
		"she floats at {draught}.":                  "she floats at 4.788 m.",
		"First. It is {stated}. It was {kg}. Last.": "First. It is 2.39 m. Last.",
		"only {lost_volume} here":                   "only the lost volume here",
		"{draught} and {stated}":                    "4.788 m and 2.39 m",
		"a {brace":                                  "a {brace",
		"At 3.5 m. {kg} is gone. Kept.":             "At 3.5 m. Kept.",
	} {
		if got := Fill(tmpl, value); got != want {
			t.Errorf("%q gives %q, not %q", tmpl, got, want)
		}
	}
}

func TestLexiconIsSafeForManyReaders(t *testing.T) {
	top := bilging(t)
	var wait sync.WaitGroup
	for i := range 8 {
		wait.Go(func() {
			for j := range 200 {
				top.Known(strings.Repeat("x", i) + "lost volume" + strings.Repeat("y", j))
				top.Match("new KB")
			}
		})
	}
	wait.Wait()
}

func FuzzMatch(f *testing.F) {
	for _, s := range []string{"vol lost", "KB₁'", "Δ", "T.P.C.", "(m3", "½ ∇ \u0304", "a-b-c", "δGM'", strings.Repeat("a ", 300)} {
		f.Add(s)
	}
	top := bilging(f)
	f.Fuzz(func(t *testing.T, phrase string) {
		for _, m := range top.lexicon.find(phrase) {
			if m.Score < leastScore || m.Score > 1 || m.Quantity == nil {
				t.Errorf("%q: %+v", phrase, m)
			}
		}
		top.Known(phrase)
		top.StateOf(phrase)
		top.Senses("change", phrase)
		top.Cells(phrase, phrase)
	})
}
