package rules

import "testing"

// TestFillReadsWell: a sentence of which something is not known is left out; where that
// would leave nothing, words in general stand in, and the sentence still reads.
func TestFillReadsWell(t *testing.T) {
	figures := map[string]string{"draught": "4.5 m", "due": "the length, 96 m,", "written": "d2"}
	for _, c := range []struct{ text, want string }{
		{"She floats at {draught}. She sinks by {sinkage}.", "She floats at 4.5 m."},
		{"{due} belongs here.", "The length, 96 m, belongs here."},
		{"{written} stands here.", "d2 stands here."},
		{"{stated} can't be the {quantity} of any ship.", "The figure written can't be the quantity of any ship."},
		{"She sinks by {lost_area}.", "She sinks by the lost area."},
	} {
		got := Fill(c.text, func(id string) (string, bool) { v, ok := figures[id]; return v, ok })
		if got != c.want {
			t.Errorf("Fill(%q) = %q, want %q", c.text, got, c.want)
		}
	}
}

// TestFillWords: every placeholder that is no quantity has its words in general.
func TestFillWords(t *testing.T) {
	for _, w := range fillWords {
		if s, ok := InGeneral(w); !ok || s == "" {
			t.Errorf("{%s} has no words in general", w)
		}
	}
}
