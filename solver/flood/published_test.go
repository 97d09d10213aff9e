package flood

import (
	"fmt"
	"math"
	"os"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/goccy/go-yaml"
)

// published is testdata/published.yaml; its head says what each key means.
type published struct {
	Books          map[string]string
	Examples       []example
	Permeabilities []struct {
		What, Formula, Source, Read, Note string
		Low, High                         float64 // percent
	}
	Water map[string]struct {
		Density      float64
		TPCDivisor   string `yaml:"tpc_divisor"`
		Source, Read string
	}
}

type example struct {
	ID, Source, Read, Note, Unit string
	Box                          *struct{ Length, Breadth, Draught, KG, Density float64 }
	InitialGM                    float64 `yaml:"initial_gm"`
	Assumed                      []string
	NoKG                         bool `yaml:"no_kg"`
	Space                        *struct {
		Position         string
		Length           float64
		Breadth, Flooded string
		Permeability     *float64
	}
	Cargo *struct {
		StowageFactor   float64 `yaml:"stowage_factor"`
		RelativeDensity float64 `yaml:"relative_density"`
	}
	Ship   *struct{ Draught, TPC, Density float64 }
	Tank   *tank
	Expect map[string]expected
	Exact  map[string]float64
}

type tank struct {
	Position                              string
	Length, Breadth, Height, Permeability float64
}

type expected struct {
	Printed    string
	Recomputed *float64
	Within     float64
	Why        string
}

func readPublished(t *testing.T) published {
	t.Helper()
	text, err := os.ReadFile("../../testdata/published.yaml")
	if err != nil {
		t.Fatal(err)
	}
	var p published
	if err := yaml.UnmarshalWithOptions(text, &p, yaml.Strict()); err != nil {
		t.Fatal(err)
	}
	return p
}

// given is the example as a box and a space.
func (e example) given() (Box, Space, error) {
	if e.Ship != nil {
		// A ship of whom only TPC is known: a box with that waterplane does as
		// well, since the tank's top is under water and takes nothing from it.
		const length = 100
		area := e.Ship.TPC * 100 / e.Ship.Density
		b := Box{Length: length, Breadth: area / length, Draught: e.Ship.Draught, Density: e.Ship.Density}
		return b, Space{
			X0: (length - e.Tank.Length) / 2, X1: (length + e.Tank.Length) / 2,
			Y0: -e.Tank.Breadth / 2, Y1: e.Tank.Breadth / 2,
			Z1: e.Tank.Height, Permeability: e.Tank.Permeability,
		}, nil
	}
	b := Box{Length: e.Box.Length, Breadth: e.Box.Breadth, Draught: e.Box.Draught, KG: e.Box.KG, Density: e.Box.Density}
	s := Space{Z1: math.Inf(1)}
	switch {
	case e.Space.Permeability != nil:
		s.Permeability = *e.Space.Permeability
	case e.Cargo != nil:
		s.Permeability = e.stow()["permeability"]
	default:
		return b, s, fmt.Errorf("no permeability")
	}
	breadth := b.Breadth
	if e.Space.Breadth != "full" {
		v, err := strconv.ParseFloat(e.Space.Breadth, 64)
		if err != nil {
			return b, s, err
		}
		breadth = v
	}
	s.X0, s.X1 = (b.Length-e.Space.Length)/2, (b.Length+e.Space.Length)/2
	s.Y0, s.Y1 = -breadth/2, breadth/2
	switch e.Space.Position {
	case "amidships":
	case "forward end":
		s.X0, s.X1 = b.Length-e.Space.Length, b.Length
	case "aft end":
		s.X0, s.X1 = 0, e.Space.Length
	case "starboard side":
		s.Y0, s.Y1 = b.Breadth/2-breadth, b.Breadth/2
	case "port side":
		s.Y0, s.Y1 = -b.Breadth/2, -b.Breadth/2+breadth
	default:
		return b, s, fmt.Errorf("position %q", e.Space.Position)
	}
	if where, height, ok := strings.Cut(e.Space.Flooded, " "); ok {
		v, err := strconv.ParseFloat(height, 64)
		if err != nil {
			return b, s, err
		}
		switch where {
		case "above":
			s.Z0 = v
		case "below":
			s.Z1 = v
		default:
			return b, s, fmt.Errorf("flooded %q", e.Space.Flooded)
		}
	} else if e.Space.Flooded != "all" {
		return b, s, fmt.Errorf("flooded %q", e.Space.Flooded)
	}
	return b, s, nil
}

// stow is the permeability of a stow, per tonne of it (D&B p. 207).
func (e example) stow() map[string]float64 {
	if e.Cargo == nil {
		return nil
	}
	solid := 1 / e.Cargo.RelativeDensity
	broken := e.Cargo.StowageFactor - solid
	return map[string]float64{
		"solid_factor": solid, "broken_stowage": broken, "permeability": broken / e.Cargo.StowageFactor,
	}
}

// quantities are a result's figures under the names and with the signs of the
// examination room: sizes, from what was measured in the ship's axes.
func quantities(b Box, s Space) (map[string]float64, error) {
	dry := s
	dry.Permeability = 0
	before, err := Upright(b, dry)
	if err != nil {
		return nil, err
	}
	r, err := Upright(b, s)
	if err != nil {
		return nil, err
	}
	shift := math.Abs(r.WaterplaneX - b.Length/2)
	trim := math.Abs(r.Trim)
	q := map[string]float64{
		"lost_length": s.Permeability * (s.X1 - s.X0), "intact_length": b.Length - s.Permeability*(s.X1-s.X0),
		"lost_volume": r.LostVolume, "lost_mass": r.LostVolume * b.Density, "tpc": b.TPC(),
		"lost_area": before.WaterplaneArea - r.WaterplaneArea, "intact_area": r.WaterplaneArea,
		"sinkage": r.Sinkage, "bilged_draught": r.Draught,
		"volume": b.Volume(), "displacement": b.Displacement(),
		"kb_initial": before.KB, "bm_initial": before.BMT, "km_initial": before.KMT, "gm_initial": before.GMT,
		"kb_bilged": r.KB, "bm_bilged": r.BMT, "km_bilged": r.KMT, "gm_bilged": r.GMT,
		"km_change": r.KMT - before.KMT, "gm_change": r.GMT - before.GMT,
		"flotation_shift": shift, "flotation_offset": math.Abs(r.WaterplaneY), "buoyancy_offset": math.Abs(r.Buoyancy.Y),
		"trim_lever":      math.Abs(r.WaterplaneX - (s.X0+s.X1)/2),
		"trimming_moment": math.Abs(r.TrimMoment), "second_moment_long": r.InertiaL, "second_moment_trans": r.InertiaT,
		"bml_bilged": r.BML, "gml_bilged": r.GML, "mctc": r.MCTC, "trim_change": trim,
		"trim_share_damaged_end": trim * (b.Length/2 + shift) / b.Length,
		"trim_share_intact_end":  trim * (b.Length/2 - shift) / b.Length,
		"draught_forward":        r.Forward, "draught_aft": r.Aft,
		"tan_list": math.Abs(r.TanList), "list": math.Abs(r.List),
	}
	return q, nil
}

// unit is one in the last place of a printed figure.
func unit(printed string) float64 {
	_, places, _ := strings.Cut(printed, ".")
	return math.Pow(10, -float64(len(places)))
}

// Published worked examples, from testdata/published.yaml: every printed
// figure within what rounding on the way can do, every recomputed one tightly,
// and the exact heel and trim beside them. Where the table says "memory" the
// print itself was not at hand.
func TestPublishedExamples(t *testing.T) {
	p := readPublished(t)
	printed, recomputed, exact, worst := 0, 0, 0, 0.0
	for _, e := range p.Examples {
		t.Run(e.ID, func(t *testing.T) {
			if e.Read != "text" && e.Read != "memory" {
				t.Errorf("read %q: must tell text or memory", e.Read)
			}
			b, s, err := e.given()
			if err != nil {
				t.Fatal(err)
			}
			q, err := quantities(b, s)
			if err != nil {
				t.Fatal(err)
			}
			for name, v := range e.stow() {
				q[name] = v
			}
			if e.NoKG && b.KG != 0 {
				t.Errorf("no_kg, and a KG of %g", b.KG)
			}
			if e.InitialGM != 0 {
				near(t, "KG from the GM given", b.KG, q["km_initial"]-e.InitialGM, 1e-9)
			}
			for name, want := range e.Expect {
				got, ok := q[name]
				if !ok {
					t.Errorf("%s: no such quantity", name)
					continue
				}
				if want.Printed != "" {
					v, err := strconv.ParseFloat(want.Printed, 64)
					if err != nil {
						t.Errorf("%s: %v", name, err)
					}
					within := unit(want.Printed)
					if want.Within != 0 {
						within = want.Within
						if want.Why == "" {
							t.Errorf("%s: a tolerance of its own and no reason", name)
						}
					}
					near(t, name+" as printed, "+e.Source+" ("+e.Read+")", got, v, within*(1+1e-9))
					printed++
				}
				if want.Recomputed == nil {
					t.Errorf("%s: not recomputed", name)
					continue
				}
				near(t, name+" recomputed", got, *want.Recomputed, 1e-9+1e-8*math.Abs(*want.Recomputed))
				worst = math.Max(worst, math.Abs(got-*want.Recomputed)/math.Max(1, math.Abs(*want.Recomputed)))
				recomputed++
			}
			if len(e.Exact) == 0 {
				return
			}
			a, err := Equilibrium(b, s)
			if err != nil {
				t.Fatal(err)
			}
			for name, want := range e.Exact {
				got, ok := map[string]float64{
					"heel": math.Abs(a.Heel), "trim": math.Abs(a.Trim), "draught_forward": a.Forward, "draught_aft": a.Aft,
				}[name]
				if !ok {
					t.Errorf("exact %s: no such figure", name)
				}
				near(t, "exact "+name, got, want, 1e-8*math.Max(1, want))
				exact++
			}
		})
	}
	t.Logf("%d examples: %d printed figures; %d recomputed ones within %.1e; %d exact ones", len(p.Examples), printed, recomputed, worst, exact)
	if printed < 40 || recomputed < 120 {
		t.Errorf("only %d printed and %d recomputed figures were checked", printed, recomputed)
	}
}

// The permeabilities of rules and handbooks lie from 0 to 1, and over all of
// them a hold is taken, sinks the ship deeper the more water it takes, and
// does nothing at 0.
func TestPublishedPermeabilities(t *testing.T) {
	p := readPublished(t)
	var all []float64
	for _, f := range p.Permeabilities {
		if f.Low > f.High || f.Low < 0 || f.High > 100 || f.Source == "" || (f.Read != "text" && f.Read != "memory") {
			t.Errorf("%s: %g to %g percent, source %q, read %q", f.What, f.Low, f.High, f.Source, f.Read)
		}
		all = append(all, f.Low/100, f.High/100)
	}
	slices.Sort(all)
	all = slices.Compact(all)
	if all[0] != 0 || all[len(all)-1] != 1 {
		t.Errorf("the figures run from %g to %g, and a question's from 0 to 1", all[0], all[len(all)-1])
	}
	b := Box{Length: 100, Breadth: 16, Draught: 5, KG: 6, Density: 1.025}
	last := -1.0
	for _, mu := range all {
		r, err := Upright(b, Space{X0: 40, X1: 60, Y0: -8, Y1: 8, Z1: math.Inf(1), Permeability: mu})
		if err != nil {
			t.Fatalf("permeability %g: %v", mu, err)
		}
		// μv/(A − μa), D&B pp. 204-209.
		near(t, fmt.Sprint("sinkage at ", mu), r.Sinkage, mu*20*16*5/(1600-mu*320), 1e-12)
		if r.Sinkage <= last {
			t.Errorf("permeability %g sinks her by %g, a smaller one by %g", mu, r.Sinkage, last)
		}
		last = r.Sinkage
	}
}

// TPC in salt water as the area over a printed divisor.
func TestPublishedWater(t *testing.T) {
	p := readPublished(t)
	for name, w := range p.Water {
		if w.TPCDivisor == "" {
			continue
		}
		divisor, err := strconv.ParseFloat(w.TPCDivisor, 64)
		if err != nil {
			t.Fatal(err)
		}
		b := Box{Length: 100, Breadth: 16, Draught: 5, Density: w.Density}
		near(t, name+" water, "+w.Source, 1600/b.TPC(), divisor, unit(w.TPCDivisor)/2)
	}
}
