package near

import (
	"testing"

	"github.com/google/go-cmp/cmp"
)

func TestWords(t *testing.T) {
	names := []string{"half-draught-with-flat", "twelve-omitted", "breadth-not-cubed", "breadth-squared-not-cubed", "sinkage-inverted"}
	for _, c := range []struct {
		reason, typed string
		want          []string
	}{
		{"a letter dropped", "twelve-omited", []string{"twelve-omitted"}},
		{"neighbours swapped", "siknage-inverted", []string{"sinkage-inverted"}},
		{"one word of several", "cubed", []string{"breadth-not-cubed", "breadth-squared-not-cubed"}},
		{"the beginning", "half", []string{"half-draught-with-flat"}},
		{"nothing near", "xyzzy", nil},
		{"nothing typed", "", nil},
	} {
		if diff := cmp.Diff(c.want, Words(c.typed, names)); diff != "" {
			t.Errorf("%s: %s", c.reason, diff)
		}
	}
}
