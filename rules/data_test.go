package rules

import (
	"math"
	"slices"
	"strconv"
	"strings"
	"testing"

	"batten/parse"
)

func bilging(t testing.TB) *Topic {
	t.Helper()
	top, ok := Topics("bilging")
	if !ok {
		t.Fatal("no topic bilging")
	}
	return top
}

func TestBuiltinTopicsAreSound(t *testing.T) {
	all := names(builtin)
	if len(all) == 0 {
		t.Fatal("no topics")
	}
	for _, n := range all {
		if _, err := Load(builtin, n); err != nil {
			t.Errorf("%s:\n%v", n, err)
		}
	}
}

// Quantities that the JSON answer may name: they must all be in the topic.
func TestQuantitiesOfTheContract(t *testing.T) {
	ids := strings.Fields(`length breadth draught depth kg density comp_length comp_breadth flat_height
		permeability stowage_factor relative_density solid_factor broken_stowage
		lost_length intact_length lost_depth lost_volume lost_area intact_area sinkage bilged_draught
		volume displacement kb_initial bm_initial km_initial gm_initial
		full_volume full_centre full_moment lost_depth_bilged lost_volume_bilged lost_centre lost_moment
		net_volume net_moment kb_bilged bm_bilged km_bilged gm_bilged km_change gm_change
		flotation_shift trim_lever trimming_moment second_moment_long bml_bilged gml_bilged mctc trim_change
		trim_share_damaged_end trim_share_intact_end draught_forward draught_aft
		flotation_offset buoyancy_offset second_moment_trans tan_list list
		second_moment_initial second_moment_bilged lost_mass tpc layer_centre buoyancy_rise kb_change bm_change`)
	top := bilging(t)
	for _, id := range ids {
		if top.Quantity(id) == nil {
			t.Errorf("no quantity %s", id)
		}
	}
	for _, find := range []string{"sinkage", "bilged draught", "change of GM", "final GM", "final KM", "final KB", "final draughts", "list", "permeability"} {
		if !slices.ContainsFunc(top.Finds, func(f *Find) bool { return f.Words == find }) {
			t.Errorf("no find %q", find)
		}
	}
	keys := strings.Fields(`vessel.shape vessel.length vessel.breadth vessel.draught vessel.depth vessel.kg water
		compartment.position compartment.length compartment.breadth compartment.flooded compartment.permeability
		compartment.cargo.stowage_factor compartment.cargo.relative_density`)
	for _, key := range keys {
		if !slices.ContainsFunc(top.Keys, func(k *Key) bool { return k.Path == key }) {
			t.Errorf("no key %s", key)
		}
	}
}

// The catalogue: id, severity, and the quantities whose step the fault spoils
// ("-" for one that a direction finds).
const catalogue = `
permeability-omitted principal lost_length lost_volume lost_area
permeability-as-intact principal lost_length lost_volume lost_area
permeability-in-volume-only principal lost_area intact_length intact_area
permeability-in-area-only principal lost_volume
permeability-as-percent-figure clerical lost_length lost_volume
solid-share-for-permeability principal permeability
broken-stowage-over-solid principal permeability
relative-density-for-solid-factor principal solid_factor broken_stowage
draught-for-lost-depth principal lost_depth lost_volume lost_depth_bilged lost_volume_bilged
flat-height-for-lost-depth principal lost_depth lost_volume lost_depth_bilged lost_volume_bilged
wrong-side-of-flat principal lost_depth lost_volume
ship-dimension-for-compartment principal lost_volume
density-in-lost-volume clerical lost_volume
waterplane-not-reduced principal intact_area sinkage
lost-area-for-intact-area principal intact_area sinkage
waterplane-reduced-under-flat principal intact_area sinkage
sinkage-inverted principal sinkage
sinkage-subtracted principal bilged_draught
sinkage-as-draught principal bilged_draught
breadth-not-cubed principal bm_initial bm_bilged
breadth-squared-not-cubed principal bm_initial bm_bilged
twelve-omitted principal bm_initial bm_bilged
length-cubed-for-breadth principal bm_initial bm_bilged
half-draught-with-flat principal kb_bilged
kb-not-recalculated principal kb_bilged km_bilged
sinkage-omitted-from-lost-depth principal lost_depth_bilged lost_volume_bilged lost_centre
initial-draught-in-moments principal full_volume full_centre full_moment
flat-height-omitted-from-centre principal lost_centre
lost-centre-at-half-draught principal lost_centre
lost-moment-added principal net_moment
moment-over-full-volume principal kb_bilged
moment-division-inverted principal kb_bilged
permeability-omitted-from-moments principal lost_volume_bilged
waterplane-not-reduced-in-bm principal bm_bilged
waterplane-reduced-in-bm-under-flat principal bm_bilged
volume-to-new-draught-in-bm principal bm_bilged
bm-subtracted-from-kb principal km_initial km_bilged
kb-and-bm-multiplied principal km_initial km_bilged
kg-subtracted-twice principal gm_change
change-reversed clerical -
direction-missing clerical -
lever-from-amidships principal trim_lever trimming_moment
flotation-left-amidships principal trim_share_damaged_end trim_share_intact_end draught_forward draught_aft
trim-shares-swapped principal trim_share_damaged_end trim_share_intact_end draught_forward draught_aft
trim-applied-reversed principal draught_forward draught_aft
full-length-in-bml principal second_moment_long bml_bilged
breadth-cubed-in-bml principal second_moment_long bml_bilged
hundred-omitted-from-mctc clerical mctc
density-omitted-from-moment principal trimming_moment
sinkage-omitted-from-end-draughts principal draught_forward draught_aft
centimetres-added-to-metres clerical draught_forward draught_aft
second-moment-about-centre-line principal second_moment_trans bm_bilged
second-moment-about-amidships principal second_moment_long bml_bilged
parallel-axis-added principal second_moment_trans
parallel-axis-omitted principal lost_second_moment_centre_line second_moment_centre_line second_moment_trans
lever-from-centre-line principal buoyancy_offset
flotation-shift-for-buoyancy principal buoyancy_offset tan_list
flotation-toward-damage principal trim_lever flotation_from_aft flotation_from_forward trimming_moment
displacement-changed principal displacement mctc
whole-waterplane-in-bm principal second_moment_trans bm_bilged
offset-from-shell principal flotation_offset buoyancy_offset
initial-gm-for-list principal tan_list
tangent-inverted principal tan_list
list-to-intact-side clerical -
tangent-not-undone clerical list`

const genericCatalogue = `
arithmetic-slip clerical
digits-transposed clerical
decimal-point-shifted clerical
brackets-lost clerical
figure-miscopied clerical
wrong-operand principal
factor-omitted principal
operation-swapped principal
doubtful-answer-let-stand principal
does-not-follow principal
unexplained principal
answer-not-reached principal
part-not-attempted principal
rounded-early remark
brackets-unwritten remark
approximate-formula remark
unit-missing remark
unit-wrong clerical
places-off remark`

func TestCatalogueOfFaults(t *testing.T) {
	top := bilging(t)
	seen := map[string]bool{}
	check := func(lines string, generic bool) {
		for line := range strings.SplitSeq(strings.TrimSpace(lines), "\n") {
			f := strings.Fields(line)
			fault := top.Fault(f[0])
			seen[f[0]] = true
			if fault == nil {
				t.Errorf("no fault %s", f[0])
				continue
			}
			if fault.Severity != f[1] {
				t.Errorf("%s is %s, not %s", f[0], fault.Severity, f[1])
			}
			if slices.Contains(top.Generic, fault) != generic {
				t.Errorf("%s stands in the wrong file", f[0])
			}
			for _, q := range f[2:] {
				if q == "-" {
					if len(fault.Sites) > 0 {
						t.Errorf("%s has sites, though it is about words", f[0])
					}
				} else if !slices.ContainsFunc(fault.Sites, func(s *Site) bool { return s.Quantity == q }) {
					t.Errorf("%s has no site at %s", f[0], q)
				}
			}
		}
	}
	check(catalogue, false)
	check(genericCatalogue, true)
	for _, f := range slices.Concat(top.Faults, top.Generic) {
		if !seen[f.ID] {
			t.Errorf("%s stands in no catalogue", f.ID)
		}
	}
	if len(top.SameIdea) != 8 {
		t.Errorf("%d groups of one idea, not 8", len(top.SameIdea))
	}
}

// Ideas are one to three plain sentences, without blame.
func TestWordsOfFaults(t *testing.T) {
	top := bilging(t)
	blame := []string{"careless", "check your work", "stupid", "obvious", "of course", "you should have", "simply", "just ", "silly", "wrongly"}
	for _, f := range slices.Concat(top.Faults, top.Generic) {
		n := len(sentences(f.Idea))
		if n > 4 {
			t.Errorf("%s: the idea has %d sentences", f.ID, n)
		}
		for _, b := range blame {
			if strings.Contains(strings.ToLower(f.Idea+f.Title+f.Mend), b) {
				t.Errorf("%s says %q", f.ID, b)
			}
		}
		if strings.HasSuffix(f.Title, ".") {
			t.Errorf("%s: a title is no sentence", f.ID)
		}
		none := Fill(f.Idea, func(string) (string, bool) { return "", false })
		if none == "" || strings.ContainsAny(none, "{}") {
			t.Errorf("%s: with no figure known the idea is %q", f.ID, none)
		}
	}
}

// The arithmetic of every example's right line, and of the wrong ones whose
// fault is not in the arithmetic, must be what it says.
func TestExamplesAddUp(t *testing.T) {
	top := bilging(t)
	slips := []string{"arithmetic-slip", "brackets-lost", "digits-transposed", "decimal-point-shifted", "does-not-follow", "brackets-unwritten"}
	for _, f := range slices.Concat(top.Faults, top.Generic) {
		addsUp(t, f.ID, f.Example.Right)
		if !slices.Contains(slips, f.ID) {
			addsUp(t, f.ID, f.Example.Wrong)
		}
	}
}

// addsUp works the last formula of a line and compares it with its result.
func addsUp(t *testing.T, id, line string) {
	t.Helper()
	sides := strings.Split(line, "=")
	if len(sides) < 3 {
		return
	}
	e, err := parse.ParseExpr(strings.TrimSpace(sides[len(sides)-2]), noNames{})
	if err != nil {
		t.Errorf("%s: %q: %v", id, line, err)
		return
	}
	got, err := parse.Eval(e, nil)
	if err != nil {
		t.Errorf("%s: %q: %v", id, line, err)
		return
	}
	result, _, _ := strings.Cut(strings.TrimSpace(sides[len(sides)-1]), " ")
	want, err := strconv.ParseFloat(result, 64)
	if err != nil {
		t.Errorf("%s: %q: %v", id, line, err)
		return
	}
	_, decimals, _ := strings.Cut(result, ".")
	if math.Abs(got-want) > 0.5000001*math.Pow(10, -float64(len(decimals))) {
		t.Errorf("%s: %q is %.5f", id, line, got)
	}
}

type noNames struct{}

func (noNames) Known(string) bool { return false }

// Every quantity must be found by its own symbol, title and names, and every
// unit must be one that the reader knows.
func TestNamesFindTheirQuantity(t *testing.T) {
	top := bilging(t)
	for _, q := range top.Quantities {
		for _, n := range append(append([]string{q.Title}, q.Names...), q.Symbols...) {
			if top.lexicon.isProduct(n) {
				continue
			}
			i := slices.IndexFunc(top.Match(n), func(m Match) bool { return m.Quantity == q })
			if i < 0 || top.Match(n)[i].Score < 0.9 {
				t.Errorf("%q does not find %s", n, q.ID)
			}
			if !top.Known(n) && n != q.Title {
				t.Errorf("%q is not known", n)
			}
		}
	}
}

func TestStatesAndDirections(t *testing.T) {
	top := bilging(t)
	for _, q := range top.Quantities {
		if (q.Direction == "change" || q.Direction == "part change") != strings.HasSuffix(q.ID, "_change") && q.ID != "trim_change" {
			t.Errorf("%s: direction %q", q.ID, q.Direction)
		}
	}
	if top.Quantity("list").Direction != "side" || top.Quantity("trim_change").Direction != "trim" {
		t.Error("list and trim have their own directions")
	}
}
