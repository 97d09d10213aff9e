package solver

import (
	"errors"
	"fmt"
	"math"
	"math/rand"
	"strings"
	"testing"

	"batten/solver/flood"
)

// The chain of formulas against the flooded box from first principles, on
// random questions of every kind: position, what is flooded, breadth, with and
// without KG.
func TestChainAgainstFlood(t *testing.T) {
	rng := rand.New(rand.NewSource(7))
	span := func(from, to float64) float64 { return math.Round((from+(to-from)*rng.Float64())*100) / 100 }
	each := 12
	if testing.Short() {
		each = 3
	}
	kinds := map[string]int{}
	refused := 0
	for _, position := range []string{"amidships", "forward end", "aft end", "port side", "starboard side"} {
		for _, flooded := range []string{"all", "above", "below", "below, over the waterline"} {
			for _, full := range []bool{true, false} {
				if full && strings.HasSuffix(position, "side") {
					continue
				}
				kind := fmt.Sprintf("%s, %s, full breadth %v", position, flooded, full)
				for sound := 0; sound < each; {
					b := flood.Box{Length: span(50, 180), Density: 1 + span(0, 3)/100}
					b.Breadth = span(b.Length/9, b.Length/5)
					b.Draught = span(b.Breadth/5, b.Breadth/2)
					if rng.Intn(4) > 0 {
						b.KG = span(b.Draught*0.6, b.Draught*1.3)
					}
					l, w, mu := span(4, b.Length/4), b.Breadth, span(0.05, 1)
					if !full {
						w = span(b.Breadth/5, b.Breadth*0.9)
					}
					s := flood.Space{X0: (b.Length - l) / 2, Y0: -w / 2, Z1: math.Inf(1), Permeability: mu}
					words := flooded
					switch flooded {
					case "above":
						s.Z0 = span(0.1, b.Draught*0.95)
						words = fmt.Sprintf("above %v m", s.Z0)
					case "below":
						s.Z1 = span(0.1, b.Draught)
						words = fmt.Sprintf("below %v m", s.Z1)
					case "below, over the waterline":
						s.Z1 = span(b.Draught, b.Draught*1.2)
						words = fmt.Sprintf("below %v m", s.Z1)
					}
					switch position {
					case "forward end":
						s.X0 = b.Length - l
					case "aft end":
						s.X0 = 0
					case "port side":
						s.Y0 = -b.Breadth / 2
					case "starboard side":
						s.Y0 = b.Breadth/2 - w
					}
					s.X1, s.Y1 = s.X0+l, s.Y0+w
					breadth := fmt.Sprintf("%v m", w)
					if full {
						breadth = "full"
					}
					kg := ""
					if b.KG > 0 {
						kg = fmt.Sprintf("  kg: %v m\n", b.KG)
					}
					text := fmt.Sprintf("id: q\ntitle: drawn\nvessel:\n  shape: box\n  length: %v m\n  breadth: %v m\n  draught: %v m\n%swater: %v t/m3\n"+
						"compartment:\n  position: %s\n  length: %v m\n  breadth: %s\n  flooded: %s\n  permeability: %v\nparts:\n  - {part: a, find: sinkage, marks: 10}\n",
						b.Length, b.Breadth, b.Draught, kg, b.Density, position, l, breadth, words, mu)
					q, err := ReadQuestion("drawn", []byte(text))
					var r Refusals
					if errors.As(err, &r) {
						// she sinks too deep, or an end comes out
						if refused++; refused > 5000 {
							t.Fatalf("%s: hardly any question is sound: %v", kind, err)
						}
						continue
					}
					if err != nil {
						t.Fatal(err)
					}
					sound++
					kinds[kind]++
					m, err := NewModel(q)
					if err != nil {
						t.Fatalf("%v\n%s", err, text)
					}
					if !compareFlood(t, m, b, s) {
						t.Fatalf("%s:\n%s", kind, text)
					}
				}
			}
		}
	}
	if len(kinds) != 32 {
		t.Errorf("%d kinds of question were tried, want 32", len(kinds))
	}
	t.Logf("%d kinds, %d questions each, %d drawn and refused", len(kinds), each, refused)
}

// compareFlood compares every quantity that both know.
func compareFlood(t *testing.T, m *Model, b flood.Box, s flood.Space) bool {
	r, err := flood.Upright(b, s)
	if err != nil {
		t.Error(err)
		return false
	}
	good := true
	same := func(id string, want float64) {
		got, ok := m.Value(id)
		if !ok {
			t.Errorf("%s has no figure, from first principles %.9g", id, want)
			good = false
			return
		}
		if math.Abs(got-want) > 1e-8*math.Abs(want)+1e-8 {
			t.Errorf("%s is %.9g, from first principles %.9g", id, got, want)
			good = false
		}
	}
	none := func(id string) {
		if got, ok := m.Value(id); ok {
			t.Errorf("%s is %.9g, where it should have no figure", id, got)
			good = false
		}
	}
	f := m.Question.Flags
	same("sinkage", r.Sinkage)
	same("bilged_draught", r.Draught)
	same("volume", r.Volume)
	same("volume", b.Volume())
	same("displacement", b.Displacement())
	if !m.holdsFlag("passes_flat") { // there the trade's table works the first answer with the waterplane cut
		same("lost_volume", r.LostVolume)
		same("intact_area", r.WaterplaneArea)
	}
	same("kb_initial", b.Draught/2)
	same("bm_initial", b.Breadth*b.Breadth/(12*b.Draught))
	same("kb_bilged", r.KB)
	if f["amidships"] || f["side"] {
		same("bm_bilged", r.BMT)
		same("km_bilged", r.KMT)
		if b.KG > 0 {
			same("gm_bilged", r.GMT)
			gm := b.Draught/2 + b.Breadth*b.Breadth/(12*b.Draught) - b.KG
			same("gm_initial", gm)
			same("gm_change", r.GMT-gm)
			same("km_change", r.GMT-gm)
		} else {
			none("gm_bilged")
		}
	}
	if f["end"] {
		sign := 1.0
		if f["aft"] {
			sign = -1
		}
		same("flotation_shift", sign*(b.Length/2-r.WaterplaneX))
		same("trimming_moment", sign*r.TrimMoment)
		same("second_moment_long", r.InertiaL)
		same("bml_bilged", r.BML)
		same("gml_bilged", r.GML)
		same("mctc", r.MCTC)
		same("trim_change", sign*r.Trim)
		same("draught_forward", r.Forward)
		same("draught_aft", r.Aft)
	}
	if f["side"] {
		same("flotation_offset", math.Abs(r.WaterplaneY))
		same("buoyancy_offset", math.Abs(r.Buoyancy.Y))
		same("second_moment_trans", r.InertiaT)
		if b.KG > 0 && r.GMT > 0 {
			same("tan_list", math.Abs(r.TanList))
			same("list", math.Abs(r.List))
		}
	}
	return good
}

// holdsFlag reports whether a flag or condition of the topic holds.
func (m *Model) holdsFlag(id string) bool {
	ok, err := m.eval().flag(id)
	return err == nil && ok
}
