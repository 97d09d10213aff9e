package inputs

import (
	"os"
	"path/filepath"
	"testing"

	"github.com/google/go-cmp/cmp"
)

func TestHeader(t *testing.T) {
	for _, c := range []struct{ reason, script, want string }{
		{"the first line", "Question: empty-hold\nx = 1", "empty-hold"},
		{"after the name", "Name: A\r\n\r\nquestion :  empty-hold \r\nx", "empty-hold"},
		{"before the name, with a byte order mark", "\xef\xbb\xbf\nQUESTION: q\nName: A", "q"},
		{"not after the working has begun", "x = 1\nQuestion: q", ""},
		{"not in a third line", "Name: A\nName: B\nQuestion: q", ""},
		{"nothing", "", ""},
	} {
		if got := Header([]byte(c.script)); got != c.want {
			t.Errorf("%s: %q, want %q", c.reason, got, c.want)
		}
	}
}

// TestEach: folders in name order, theirs too; neither hidden files nor
// questions; an empty folder has its word.
func TestEach(t *testing.T) {
	dir := t.TempDir()
	for _, name := range []string{"b.txt", "a.txt", "deep/c.txt", ".hidden/x.txt", ".rc", "q.yaml", "z"} {
		file := filepath.Join(dir, name)
		if err := os.MkdirAll(filepath.Dir(file), 0o755); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(file, nil, 0o644); err != nil {
			t.Fatal(err)
		}
	}
	bare := t.TempDir()
	var got []string
	Each([]string{"first", dir, bare, Stdin}, func(name string, err error) {
		if rel, e := filepath.Rel(dir, name); e == nil && filepath.IsLocal(rel) {
			name = filepath.ToSlash(rel)
		}
		if name == bare {
			name = "bare"
		}
		if err != nil {
			name += ": " + err.Error()
		}
		got = append(got, name)
	})
	want := []string{"first", "a.txt", "b.txt", "deep/c.txt", "z", "bare: there is no script in this folder", "-"}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Error(diff)
	}
}

// TestBank: every built-in question is sound, and is found by its id.
func TestBank(t *testing.T) {
	for _, id := range BuiltIn() {
		q, err := One(id)
		if err != nil {
			t.Errorf("%v", err)
		} else if q.ID != id {
			t.Errorf("the file %s.yaml holds the question %s", id, q.ID)
		}
	}
	if len(BuiltIn()) == 0 {
		t.Error("there is no built-in question")
	}
}
