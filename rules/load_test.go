package rules

import "testing"

func TestBuiltinTopicsAreSound(t *testing.T) {
	for _, n := range names(builtin) {
		if _, err := Load(builtin, n); err != nil {
			t.Errorf("%s:\n%v", n, err)
		}
	}
}
