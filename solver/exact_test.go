package solver

import (
	"math"
	"strings"
	"testing"
)

// Examples of testdata/published.yaml as questions.
const p8 = `id: p8
title: Fore end compartment, Tupper ex. 4.5
vessel: {shape: box, length: 60 m, breadth: 10 m, draught: 3 m, kg: 2.5 m}
water: salt
compartment: {position: forward end, length: 8 m, breadth: full, flooded: all, permeability: 100%}
parts:
  - {part: a, find: final draughts, marks: 10}
`

const p9 = `id: p9
title: Side compartment, a handout on side bilging
vessel: {shape: box, length: 100 m, breadth: 8 m, draught: 4 m, kg: 3 m}
water: salt
compartment: {position: port side, length: 5 m, breadth: 4 m, flooded: all, permeability: 100%}
parts:
  - {part: a, find: list, marks: 10}
`

func modelOf(t *testing.T, text string) *Model {
	t.Helper()
	q, err := ReadQuestion("q", []byte(text))
	if err != nil {
		t.Fatal(err)
	}
	m, err := NewModel(q)
	if err != nil {
		t.Fatal(err)
	}
	return m
}

// wallSided solves tan θ (GM + BM tan² θ / 2) = offset: what rights a ship
// whose sides stand upright in the water (trade handbooks, moderate angles).
func wallSided(gm, bm, offset float64) float64 {
	low, high := 0.0, 2.0
	for range 100 {
		t := (low + high) / 2
		if t*(gm+bm*t*t/2) < offset {
			low = t
		} else {
			high = t
		}
	}
	return low
}

func TestExact(t *testing.T) {
	near := func(what string, got, want, within float64) {
		t.Helper()
		if math.Abs(got-want) > within {
			t.Errorf("%s is %.6f, want %.6f", what, got, want)
		}
	}

	// P8: Tupper ex. 4.5. Exact end draughts by the wall-sided formula lengthwise,
	// GML 64.327, BML 65.096, B shifted 4 m from amidships, the turn about F.
	x := modelOf(t, p8).Exact()
	if x == nil || len(x.Rows) != 3 {
		t.Fatalf("P8: %+v", x)
	}
	tan := wallSided(64.32707, 65.09630, 4)
	near("P8 forward", x.Rows[0].Exact, 3.461538+34*tan, 1e-4)
	near("P8 aft", x.Rows[1].Exact, 3.461538-26*tan, 1e-4)
	near("P8 trim", x.Rows[2].Exact, 6000*tan, 0.01)
	near("P8 forward by the working", x.Rows[0].Worked, 5.57573, 1e-5)

	// P9: 8.32° by the rule, 8.03° exactly (testdata/published.yaml).
	x = modelOf(t, p9).Exact()
	if x == nil || len(x.Rows) != 1 || len(x.Notes) != 0 {
		t.Fatalf("P9: %+v", x)
	}
	near("P9 list", x.Rows[0].Exact, math.Atan(wallSided(0.350641, 1.299359, 0.0512821))*180/math.Pi, 1e-4)
	if w, e, d := x.Rows[0].Print(); w != "8.32°" || e != "8.03°" || d != "0.29° more" {
		t.Errorf("P9 is printed %s, %s, %s", w, e, d)
	}

	// The same at the other side, and at the other end.
	other := modelOf(t, strings.Replace(p9, "port", "starboard", 1)).Exact()
	near("P9 to starboard", other.Rows[0].Exact, x.Rows[0].Exact, 1e-9)
	fore, aft := modelOf(t, p8).Exact(), modelOf(t, strings.Replace(p8, "forward", "aft", 1)).Exact()
	near("P8 aft end", aft.Rows[1].Exact, fore.Rows[0].Exact, 1e-9)
	near("P8 trim aft", aft.Rows[2].Exact, fore.Rows[2].Exact, 1e-9)

	// Nothing to say of a ship that stays upright on an even keel.
	if x := modelOf(t, strings.NewReplacer("forward end", "amidships", "final draughts", "final GM").Replace(p8)).Exact(); x != nil {
		t.Errorf("amidships: %+v", x)
	}
}

func TestExactWarns(t *testing.T) {
	for _, c := range []struct {
		reason, text string
		replace      []string
		want         string
	}{
		{"a list over what the rule can bear", p9, []string{"kg: 3 m", "kg: 3.18 m"}, "The rule for small angles serves to about 15°; a list of 16."},
		{"the deck edge under, where no list is asked", p9, []string{"kg: 3 m", "depth: 4.5 m, kg: 3 m", "find: list", "find: final GM"}, "The deck edge goes under on the port side"},
		{"no KG", p8, []string{", kg: 2.5 m", ""}, "KG is not given"},
		{"a GM lost", p8, []string{"forward end", "amidships", "final draughts", "final GM", "kg: 2.5 m", "kg: 4.5 m"}, "GM after bilging is not positive"},
	} {
		x := modelOf(t, strings.NewReplacer(c.replace...).Replace(c.text)).Exact()
		if x == nil || !strings.Contains(strings.Join(x.Notes, "\n"), c.want) {
			t.Errorf("%s: %+v, want %q", c.reason, x, c.want)
		}
	}
	// The bank is set so that there is nothing to be warned of.
	for _, q := range bank(t) {
		m, err := NewModel(q)
		if err != nil {
			t.Fatal(err)
		}
		if x := m.Exact(); x != nil {
			for _, n := range x.Notes {
				if !strings.Contains(n, "KG is not given") {
					t.Errorf("%s: %s", q.ID, n)
				}
			}
		}
	}
}
