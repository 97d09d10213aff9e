package rules

import (
	"math"
	"math/rand"
	"testing"
)

// Figures of published worked examples, and of one question of each family.
// D&B: D. R. Derrett, C. B. Barrass, Ship Stability for Masters and Mates, 5th
// ed., 1999. Tupper: E. C. Tupper, Introduction to Naval Architecture.
func TestChainGivesPublishedFigures(t *testing.T) {
	type g map[string]float64
	tests := []struct {
		source string
		flags  []string
		given  g
		want   g
		within float64 // the last place of the print, or of the recomputed figures
	}{
		{
			source: "D&B ch. 21 ex. 2, pp. 206–207, read in a stored copy; KG from the printed KM 12.1 and GM 0.9",
			flags:  []string{"amidships", "all", "kg_given"},
			given:  g{"length": 150, "breadth": 24, "draught": 5, "kg": 11.2, "density": 1.025, "comp_length": 20, "comp_breadth": 24, "permeability": 1},
			want: g{"kb_initial": 2.5, "bm_initial": 9.6, "km_initial": 12.1, "gm_initial": 0.9, "lost_volume": 2400, "sinkage": 0.7692,
				"bilged_draught": 5.7692, "kb_bilged": 2.8846, "bm_bilged": 8.32, "km_bilged": 11.2046, "gm_bilged": 0.0046},
			within: 5e-5,
		},
		{
			source: "D&B p. 209, read in a stored copy: timber in a midship compartment",
			flags:  []string{"amidships", "all", "cargo"},
			given:  g{"length": 150, "breadth": 20, "draught": 5, "density": 1.025, "comp_length": 15, "comp_breadth": 20, "stowage_factor": 1.5, "relative_density": 0.8},
			want:   g{"solid_factor": 1.25, "broken_stowage": 0.25, "permeability": 0.16667, "bilged_draught": 5.0847},
			within: 5e-5,
		},
		{
			source: "published problem slides no. 4, read in a stored copy; KG from the printed KM 2.5 and GM 0.6",
			flags:  []string{"amidships", "all", "kg_given"},
			given:  g{"length": 40, "breadth": 6, "draught": 2, "kg": 1.9, "density": 1.025, "comp_length": 10, "comp_breadth": 6, "permeability": 1},
			want:   g{"kb_initial": 1, "bm_initial": 1.5, "km_initial": 2.5, "sinkage": 0.6667, "bilged_draught": 2.6667, "gm_bilged": 0.5583},
			within: 5e-5,
		},
		{
			source: "givens of Tupper ex. 4.5, p. 76, read in a stored copy; figures recomputed by lost buoyancy",
			flags:  []string{"end", "forward", "all", "kg_given"},
			given:  g{"length": 60, "breadth": 10, "draught": 3, "kg": 2.5, "density": 1.025, "comp_length": 8, "comp_breadth": 10, "permeability": 1},
			want:   g{"sinkage": 0.4615, "bml_bilged": 65.0963, "gml_bilged": 64.3271, "trim_change": 373.09, "draught_forward": 5.5757, "draught_aft": 1.8448},
			within: 5e-3,
		},
		{
			source: "the same without KG: BML stands for GML",
			flags:  []string{"end", "forward", "all"},
			given:  g{"length": 60, "breadth": 10, "draught": 3, "density": 1.025, "comp_length": 8, "comp_breadth": 10, "permeability": 1},
			want:   g{"draught_forward": 5.551, "draught_aft": 1.864},
			within: 5e-4,
		},
		{
			source: "academy handout on side bilging, read in a stored copy; GM and angle recomputed",
			flags:  []string{"side", "starboard", "all", "kg_given"},
			given:  g{"length": 100, "breadth": 8, "draught": 4, "kg": 3, "density": 1.025, "comp_length": 5, "comp_breadth": 4, "permeability": 1},
			want: g{"waterplane_area": 800, "intact_area": 780, "waterplane_moment": 3160, "centroid_from_shell": 4.0513, "flotation_offset": 0.05128,
				"sinkage": 0.1026, "second_moment_trans": 4157.95, "bm_bilged": 1.2994, "kb_bilged": 2.0513, "gm_bilged": 0.3506, "list": 8.32},
			within: 5e-3,
		},
		{
			source: "D&B ch. 34, from memory, not verified: list 6° 11′",
			flags:  []string{"side", "port", "all", "kg_given"},
			given:  g{"length": 100, "breadth": 18, "draught": 7.5, "kg": 4, "density": 1.025, "comp_length": 15, "comp_breadth": 9, "permeability": 1},
			want:   g{"list": 6.18},
			within: 5e-3,
		},
		{
			source: "worked by hand: space above a flat, μ 60%",
			flags:  []string{"amidships", "above", "kg_given"},
			given:  g{"length": 96, "breadth": 18, "draught": 4.5, "kg": 6.8, "density": 1.025, "comp_length": 14, "comp_breadth": 18, "flat_height": 1.5, "permeability": 0.6},
			want: g{"lost_volume": 453.6, "intact_area": 1576.8, "sinkage": 0.28767, "kb_bilged": 2.3459, "bm_bilged": 5.475,
				"gm_bilged": 1.0209, "gm_change": -0.4291, "net_volume": 7776},
			within: 5e-5,
		},
		{
			source: "worked by hand: the water passes the flat, and the whole waterplane takes the last of the sinkage",
			flags:  []string{"amidships", "below", "kg_given"},
			given:  g{"length": 100, "breadth": 20, "draught": 5, "kg": 7, "density": 1.025, "comp_length": 15, "comp_breadth": 20, "flat_height": 5.2, "permeability": 0.9},
			want:   g{"first_draught": 5.7803, "bilged_draught": (100*20*5 + 15*0.9*20*5.2) / (100 * 20.0), "bm_bilged": 20 * 20 / (12 * 5.0), "net_volume": 10000},
			within: 5e-5,
		},
		{
			source: "worked by hand: the flat over the water is not reached",
			flags:  []string{"amidships", "below"},
			given:  g{"length": 100, "breadth": 20, "draught": 5, "density": 1.025, "comp_length": 15, "comp_breadth": 20, "flat_height": 6, "permeability": 0.9},
			want:   g{"lost_depth": 5, "bilged_draught": 5 / 0.865, "kb_bilged": 2.5 / 0.865},
			within: 5e-5,
		},
	}
	for _, c := range tests {
		flags := map[string]bool{}
		for _, f := range c.flags {
			flags[f] = true
		}
		f := newFigures(bilging(t), flags, c.given)
		for id, want := range c.want {
			got, ok := f.value(id)
			if !ok || math.Abs(got-want) > c.within {
				t.Errorf("%s:\n  %s is %.5f (%v), not %.5f", c.source, id, got, ok, want)
			}
		}
	}
}

// Truths that hold whatever the figures: displacement is kept, GM and KM change
// alike, the draughts at the ends differ by the trim.
func TestChainKeepsItsTruths(t *testing.T) {
	top := bilging(t)
	rng := rand.New(rand.NewSource(3))
	near := func(what string, x, y float64) {
		t.Helper()
		if math.Abs(x-y) > 1e-8*math.Max(1, math.Abs(x)) {
			t.Errorf("%s: %g and %g", what, x, y)
		}
	}
	sound := 0
	for sound < 300 {
		f := top.draw(rng)
		if top.refuses(f) {
			continue
		}
		sound++
		v := func(id string) float64 {
			x, ok := f.value(id)
			if !ok {
				t.Fatalf("no %s with %v and %v", id, f.flags, f.values)
			}
			return x
		}
		near("the volume displaced comes back", v("net_volume"), v("volume"))
		for _, b := range top.Bounds {
			if _, ok := f.value(b.Quantity); ok && !f.holds(b.Holds) {
				t.Errorf("%s: the reference answer is out of bounds (%s)", b.Quantity, b.Says)
			}
		}
		if f.flags["kg_given"] {
			near("GM and KM change alike", v("gm_change"), v("km_change"))
		}
		if f.flags["end"] {
			near("trim", math.Abs(v("draught_forward")-v("draught_aft")), v("trim_change")/100)
			near("shares", v("trim_share_damaged_end")+v("trim_share_intact_end"), v("trim_change")/100)
		}
	}
}

// Every sketch must draw for the questions it is meant for.
func TestSketchesDraw(t *testing.T) {
	top := bilging(t)
	rng := rand.New(rand.NewSource(5))
	drawn := map[*Shape]bool{}
	for range 3000 {
		f := top.draw(rng)
		if top.refuses(f) {
			continue
		}
		for _, s := range top.Sketches {
			if !f.holds(s.When) {
				continue
			}
			for _, h := range s.Shapes {
				if !f.holds(h.When) {
					continue
				}
				drawn[h] = true
				for i, c := range h.Coords {
					if _, err := f.expr(c); err != nil {
						t.Fatalf("%s: coordinate %d of a %s: %v", h.At, i, h.Kind, err)
					}
				}
				for _, id := range placeholders(h.Label) {
					if _, ok := f.value(id); !ok {
						t.Errorf("%s: {%s} has no figure", h.At, id)
					}
				}
			}
		}
	}
	for _, s := range top.Sketches {
		for _, h := range s.Shapes {
			if !drawn[h] {
				t.Errorf("%s: this shape is never drawn", h.At)
			}
		}
	}
}
