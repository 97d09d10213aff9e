package solver

import (
	"math"
	"testing"
)

// Wrong answers of the hold above the tank top, worked by hand from the fault's
// own words: L 96, B 18, d 4.5, KG 6.80, l 14, h 1.5, μ 0.6.
func TestApartByHand(t *testing.T) {
	m, err := NewModel(readEdited(t, "hold-above-tank-top"))
	if err != nil {
		t.Fatal(err)
	}
	const d2, v = 4.5 + 453.6/1576.8, 7776.0
	a := m.Apart()
	right := a.Asked[1].Right.Value
	for _, c := range []struct {
		fault, at string
		draught   float64
		change    float64 // of GM; NaN where it is not worked here
	}{
		{"waterplane-not-reduced", "intact_area", 4.5 + 453.6/1728, math.NaN()},
		{"permeability-omitted", "lost_length", 4.5 + 756.0/1476, math.NaN()},
		{"sinkage-subtracted", "bilged_draught", 4.5 - 453.6/1576.8, math.NaN()},
		{"half-draught-with-flat", "kb_bilged", d2, d2/2 + 87.6*5832/(12*v) - 8.25},
		{"kb-not-recalculated", "kb_bilged", d2, 2.25 + 87.6*5832/(12*v) - 8.25},
		{"twelve-omitted", "bm_bilged", d2, right + 11*87.6*5832/(12*v)},
		{"volume-to-new-draught-in-bm", "bm_bilged", d2, right - 87.6*5832/12*(1/v-1/(96*18*d2))},
	} {
		// A fault may have several wrong forms at one step: one of them is this.
		found := false
		for _, r := range a.Rows {
			for _, s := range r.Sites {
				near := math.Abs(r.Answers[0].Value-c.draught) < 1e-9 && (math.IsNaN(c.change) || math.Abs(r.Answers[1].Value-c.change) < 1e-9)
				found = found || r.Fault.ID == c.fault && s.Quantity == c.at && near
			}
		}
		if !found {
			t.Errorf("%s at %s has no row with a draught of %.6f and a change of GM of %.6f", c.fault, c.at, c.draught, c.change)
		}
	}
}

// Every row moves an answer; every fault whose sites lie on the way to an
// answer has one; a tie is told from both sides.
func TestApartIsWhole(t *testing.T) {
	for _, q := range bank(t) {
		m, err := NewModel(q)
		if err != nil {
			t.Fatal(err)
		}
		a := m.Apart()
		var on Set
		for _, x := range a.Asked {
			on.Add(x.Slot)
			m.needs(x.Slot, &on)
		}
		rows := map[string]bool{}
		for _, r := range a.Rows {
			rows[r.Fault.ID] = true
			reaches := false
			for i := range a.Asked {
				reaches = reaches || r.Reaches[i]
			}
			if !reaches {
				t.Errorf("%s: %s moves nothing", q.ID, r.Fault.ID)
			}
			for _, o := range r.Same {
				if !containsRow(o.Same, r) {
					t.Errorf("%s: %s ties with %s, not the other way round", q.ID, r.Fault.ID, o.Fault.ID)
				}
			}
		}
		for s, sites := range m.Sites {
			for _, st := range sites {
				if on.Has(s) && !rows[st.Fault.ID] {
					t.Errorf("%s: %s at %s has no row", q.ID, st.Fault.ID, st.Quantity)
				}
			}
		}
	}
}

// A wrong formula may read a quantity that is itself worked, by another good
// way, from what the fault spoils: the table is made all the same, and no step
// of the working contradicts its own figures.
func TestApartRunsInNoCircle(t *testing.T) {
	for _, q := range bank(t) {
		m, err := NewModel(q)
		if err != nil {
			t.Fatal(err)
		}
		table := m.Apart()
		for _, r := range table.Rows {
			for _, p := range table.Working(r) {
				if len(p.Lines) == 0 {
					t.Errorf("%s, %s: part %s has no working", q.ID, r.Fault.ID, p.Part.Letter)
				}
			}
		}
	}
}
