package solver

import (
	"fmt"
	"math"
	"os"
	"strconv"
	"strings"
	"testing"

	"github.com/goccy/go-yaml"
)

// published is testdata/published.yaml as far as this test needs it. Each
// example carries its source, which a failure names.
type published struct {
	Examples []struct {
		ID, Source, Read string
		Box              map[string]float64
		Space            struct {
			Position, Flooded string
			Length            float64
			Breadth           any
			Permeability      *float64
		}
		Cargo  map[string]float64
		Expect map[string]struct {
			Printed    string
			Recomputed *float64
			Within     float64
		}
	}
}

// Printed answers of text books and what the same givens come to unrounded:
// Derrett and Barrass, Tupper, Nicholls, Stokoe and others, the source of each
// beside it in testdata/published.yaml.
func TestPublished(t *testing.T) {
	data, err := os.ReadFile("../testdata/published.yaml")
	if err != nil {
		t.Fatal(err)
	}
	var all published
	if err := yaml.Unmarshal(data, &all); err != nil {
		t.Fatal(err)
	}
	tried := 0
	for _, x := range all.Examples {
		if len(x.Box) == 0 {
			continue // a ship that is no box (P3) can't be asked as a question
		}
		tried++
		t.Run(x.ID, func(t *testing.T) {
			var b strings.Builder
			fmt.Fprintf(&b, "id: %s\ntitle: %s\nvessel:\n  shape: box\n", x.ID, strconv.Quote(x.Source))
			for _, k := range []string{"length", "breadth", "draught", "kg"} {
				if v, ok := x.Box[k]; ok {
					fmt.Fprintf(&b, "  %s: %v m\n", k, v)
				}
			}
			fmt.Fprintf(&b, "water: %v t/m3\ncompartment:\n  position: %s\n  length: %v m\n", x.Box["density"], x.Space.Position, x.Space.Length)
			if x.Space.Breadth == "full" {
				b.WriteString("  breadth: full\n")
			} else {
				fmt.Fprintf(&b, "  breadth: %v m\n", x.Space.Breadth)
			}
			fmt.Fprintf(&b, "  flooded: %s\n", x.Space.Flooded)
			if x.Space.Permeability != nil {
				fmt.Fprintf(&b, "  permeability: %v\n", *x.Space.Permeability)
			} else {
				fmt.Fprintf(&b, "  cargo: {stowage_factor: %v m3/t, relative_density: %v}\n", x.Cargo["stowage_factor"], x.Cargo["relative_density"])
			}
			b.WriteString("parts:\n  - {part: a, find: sinkage, marks: 10}\n")
			q, err := ReadQuestion(x.ID, []byte(b.String()))
			if err != nil {
				t.Fatalf("%v\n%s", err, b.String())
			}
			m, err := NewModel(q)
			if err != nil {
				t.Fatal(err)
			}
			for id, want := range x.Expect {
				got, ok := m.Value(id)
				if !ok {
					t.Errorf("%s has no figure (%s)", id, x.Source)
					continue
				}
				if q := m.Topic.Quantity(id); q.Unit == "m" && strings.HasPrefix(id, "trim_share") && want.Recomputed != nil {
					cm := *want.Recomputed / 100 // the table has them in centimetres, as the trim
					want.Recomputed = &cm
				}
				if want.Recomputed != nil && math.Abs(got-*want.Recomputed) > 2e-8*math.Abs(got)+1e-9 {
					t.Errorf("%s is %.9g, recomputed %.9g (%s)", id, got, *want.Recomputed, x.Source)
				}
				if want.Printed == "" {
					continue
				}
				printed, err := strconv.ParseFloat(want.Printed, 64)
				if err != nil {
					t.Fatal(err)
				}
				within := want.Within
				if within == 0 {
					_, decimals, _ := strings.Cut(want.Printed, ".")
					within = math.Pow(10, -float64(len(decimals)))
				}
				if math.Abs(got-printed) > within*(1+1e-9) {
					t.Errorf("%s is %.6g, printed %s within %g (%s, %s)", id, got, want.Printed, within, x.Source, x.Read)
				}
			}
		})
	}
	if tried < 11 {
		t.Errorf("%d examples tried", tried)
	}
}
