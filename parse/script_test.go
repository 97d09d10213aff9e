package parse

import (
	"flag"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/rogpeppe/go-internal/txtar"
)

var update = flag.Bool("update", false, "write what the reader gives into testdata/scripts")

// Every archive in testdata/scripts says why it is there, holds a script, and
// what must be read from it.
func TestReadScript(t *testing.T) {
	files, err := filepath.Glob("testdata/scripts/*.txtar")
	if err != nil || len(files) == 0 {
		t.Fatal("no scripts", err)
	}
	for _, file := range files {
		t.Run(strings.TrimSuffix(filepath.Base(file), ".txtar"), func(t *testing.T) {
			a, err := txtar.ParseFile(file)
			if err != nil {
				t.Fatal(err)
			}
			if len(strings.TrimSpace(string(a.Comment))) == 0 {
				t.Error("the archive does not say why it is there")
			}
			if len(a.Files) != 2 || a.Files[0].Name != "script" || a.Files[1].Name != "read" {
				t.Fatal("want the files script and read")
			}
			text := string(a.Files[0].Data)
			s, err := ReadScript([]byte(text), trade)
			if err != nil {
				t.Fatal(err)
			}
			checkScript(t, text, s)
			if *update {
				a.Files[1].Data = []byte(s.Dump())
				if err := os.WriteFile(file, txtar.Format(a), 0o644); err != nil {
					t.Fatal(err)
				}
				return
			}
			if d := cmp.Diff(string(a.Files[1].Data), s.Dump()); d != "" {
				t.Errorf("(-want +got)\n%s", d)
			}
			// the kind of line end and a mark at the head change nothing
			for _, other := range []string{"\ufeff" + text, strings.ReplaceAll(text, "\n", "\r\n"), strings.ReplaceAll(text, "\n", "\r"), strings.TrimSuffix(text, "\n")} {
				s, err := ReadScript([]byte(other), trade)
				if err != nil {
					t.Fatal(err)
				}
				if d := cmp.Diff(string(a.Files[1].Data), s.Dump()); d != "" {
					t.Errorf("with other line ends (-want +got)\n%s", d)
				}
			}
		})
	}
}
