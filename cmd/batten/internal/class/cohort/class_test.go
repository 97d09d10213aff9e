package cohort

import (
	"bytes"
	"flag"
	"os"
	"path/filepath"
	"testing"
)

var update = flag.Bool("update", false, "write the example class to testdata")

const shipped = "../../../../../testdata/class"

// TestShipped holds the example class on the disk to what writes it. A file
// changed by hand, or one too many, shows here.
func TestShipped(t *testing.T) {
	want := Class()
	if *update {
		if err := os.MkdirAll(shipped, 0o777); err != nil {
			t.Fatal(err)
		}
		for name, data := range want {
			if err := os.WriteFile(filepath.Join(shipped, name), data, 0o666); err != nil {
				t.Fatal(err)
			}
		}
	}
	entries, err := os.ReadDir(shipped)
	if err != nil {
		t.Fatal(err)
	}
	if len(entries) != len(want) {
		t.Errorf("%d files in %s, want %d", len(entries), shipped, len(want))
	}
	for name, data := range want {
		got, err := os.ReadFile(filepath.Join(shipped, name))
		if err != nil {
			t.Error(err)
		} else if !bytes.Equal(got, data) {
			t.Errorf("%s differs; -update writes it anew", name)
		}
	}
}
