package papers

import (
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"batten/solver"
)

// question is one whose title tries to be markup and an escape sequence.
const question = `id: odd-title
title: "Hold <b>2</b> & *3* | #4\u001b[31m"
vessel: {shape: box, length: 96 m, breadth: 18 m, draught: 4.5 m, kg: 6.80 m}
water: salt
compartment: {position: amidships, length: 14 m, breadth: full, flooded: above 1.5 m, permeability: 60%}
parts:
  - {part: a, find: bilged draught, marks: 15}
  - {part: b, find: change of GM, marks: 20}
marking: {principal: 40%, clerical: 2}
minutes: 30
`

func model(t *testing.T, text string) *solver.Model {
	t.Helper()
	q, err := solver.ReadQuestion("odd", []byte(strings.ReplaceAll(text, `\u001b[31m`, "")))
	if err != nil {
		t.Fatal(err)
	}
	q.Title += "\x1b[31m"
	m, err := solver.NewModel(q)
	if err != nil {
		t.Fatal(err)
	}
	return m
}

func TestSheetAndKey(t *testing.T) {
	m := model(t, question)
	caution := strings.Fields(m.Topic.Caution)[0]
	for _, c := range []struct {
		reason string
		paper  []byte
		want   []string
		never  []string
	}{
		{"a sheet tells what is asked, not the answers", Sheet("s", []*solver.Model{m, m}).Markdown(),
			[]string{"96 m", "15 marks", "30 minutes", "odd-title", caution, "\n---\n", `\<b\>2`}, []string{"4.788", "0.43", "453.6", "\x1b", "<b>"}},
		{"the same as a page", Sheet("s", []*solver.Model{m}).HTML(),
			[]string{"<!doctype html>", "96 m", "@media print", "&lt;b&gt;2", "&amp; *3*"}, []string{"4.788", "453.6", "\x1b", "<b>", "http:", "https:", "<script"}},
		{"a key has the working, what faults cost and give", Key("k", []*solver.Apart{m.Apart()}).Markdown(),
			[]string{"4.788 m", "−0.43 m (fall)", "453.6 m³", "half-draught-with-flat", "−6", "−2", "direction-missing", caution}, []string{"\x1b", "<b>"}},
		{"a key of several begins with all answers", Key("k", []*solver.Apart{m.Apart(), m.Apart()}).HTML(),
			[]string{"<th class=\"figure\">(a) draught after bilging</th>", "−0.43 m (fall)"}, []string{"\x1b", "<b>", "https:"}},
	} {
		for _, w := range c.want {
			if !strings.Contains(string(c.paper), w) {
				t.Errorf("%s: %q is missing", c.reason, w)
			}
		}
		for _, w := range c.never {
			if strings.Contains(string(c.paper), w) {
				t.Errorf("%s: %q stands in it", c.reason, w)
			}
		}
	}
}

// The students' sketch pictures what is given and nothing that follows from it;
// the key's shows all. Each picture of a page has ids of its own.
func TestSketches(t *testing.T) {
	const end = `id: fore
title: Fore end
header: The college & its ship
vessel: {shape: box, length: 100 m, breadth: 16 m, draught: 5 m, depth: 9 m, kg: 6.10 m}
water: salt
compartment: {position: forward end, length: 10 m, breadth: full, flooded: all, permeability: 80%}
parts:
  - {part: a, find: final draughts, marks: 10}
`
	m := model(t, end)
	sheet, key := Sheet("s", []*solver.Model{m}), Key("k", []*solver.Apart{m.Apart()})
	for _, c := range []struct {
		reason      string
		paper       []byte
		want, never []string
	}{
		{"sheet in characters", sheet.Markdown(), []string{"*The college &amp; its ship*\n\n# Fore end", "Elevation, looking to port (not to scale)", "░░░", "WL 5 m", "l 10 m", "the waterline before"}, []string{"~~~~", "W₁L₁", "the waterline after", "Waterplane", "7.084"}},
		{"sheet as a page", sheet.HTML(), []string{"<svg", "WL 5 m", "s-flooded"}, []string{`class="s-waterline-after"`, "W₁L₁", "s-point\" cx", "Waterplane", "7.084"}},
		{"key in characters", key.Markdown(), []string{"~~~~", "W₁L₁ 5.435 m", "F 7.084 m", "Waterplane (not to scale)"}, nil},
		{"key as a page", key.HTML(), []string{`class="s-waterline-after"`, "W₁L₁ 5.435 m", "F 7.084 m", `id="fore-elevation-t"`, `id="fore-plan-t"`}, nil},
	} {
		for _, w := range c.want {
			if !strings.Contains(string(c.paper), w) {
				t.Errorf("%s: %q is missing", c.reason, w)
			}
		}
		for _, w := range c.never {
			if strings.Contains(string(c.paper), w) {
				t.Errorf("%s: %q stands in it", c.reason, w)
			}
		}
	}
}

func TestTellApart(t *testing.T) {
	var b strings.Builder
	if err := TellApart(&b, model(t, question).Apart()); err != nil {
		t.Fatal(err)
	}
	for _, w := range []string{"* sinkage-subtracted", "4.212 m", "−0.38 m  * half-draught-with-flat", "same answers, whatever"} {
		if !strings.Contains(b.String(), w) {
			t.Errorf("%q is missing in\n%s", w, b.String())
		}
	}
	if err := TellApart(full{}, model(t, question).Apart()); err == nil {
		t.Error("a full disk is not told")
	}
}

// full is a disk with no room left.
type full struct{}

func (full) Write([]byte) (int, error) { return 0, errors.New("no room") }

func TestWriteSet(t *testing.T) {
	root := t.TempDir()
	dir := filepath.Join(root, "deep", "set")
	files := []File{{"a.txt", []byte("one")}, {"b.txt", []byte("two")}}
	if err := WriteSet(dir, files, false); err != nil {
		t.Fatal(err)
	}
	holds(t, dir, map[string]string{"a.txt": "one", "b.txt": "two"})

	// refused: not a byte changes
	again := []File{{"b.txt", []byte("new")}, {"c.txt", []byte("new")}}
	if err := WriteSet(dir, again, false); err == nil || !strings.Contains(err.Error(), "b.txt") {
		t.Errorf("overwritten without being asked: %v", err)
	}
	holds(t, dir, map[string]string{"a.txt": "one", "b.txt": "two"})

	if err := WriteSet(dir, again, true); err != nil {
		t.Fatal(err)
	}
	holds(t, dir, map[string]string{"a.txt": "one", "b.txt": "new", "c.txt": "new"})

	// a folder stands where the last file should go: all is put back
	if err := os.MkdirAll(filepath.Join(dir, "stage-name", "x"), 0o755); err != nil {
		t.Fatal(err)
	}
	bad := []File{{"b.txt", []byte("newest")}, {"d.txt", []byte("newest")}, {filepath.Join("none", "e.txt"), nil}}
	if err := WriteSet(dir, bad, true); err == nil {
		t.Error("a set with a file that can't be written was written")
	}
	os.RemoveAll(filepath.Join(dir, "stage-name"))
	holds(t, dir, map[string]string{"a.txt": "one", "b.txt": "new", "c.txt": "new"})

	// a file in the way of the folder; no folder is left behind
	if err := WriteSet(filepath.Join(dir, "a.txt"), files, false); err == nil {
		t.Error("a file was taken for a folder")
	}
	if err := WriteSet(filepath.Join(dir, "a.txt", "x"), files, false); err == nil {
		t.Error("a folder was made below a file")
	}
	holds(t, dir, map[string]string{"a.txt": "one", "b.txt": "new", "c.txt": "new"})
}

func TestPlaceIsUndone(t *testing.T) {
	dir := t.TempDir()
	stage := filepath.Join(dir, "stage")
	if err := os.Mkdir(stage, 0o755); err != nil {
		t.Fatal(err)
	}
	for name, text := range map[string]string{"a.txt": "old", "stage/a.txt": "new"} {
		if err := os.WriteFile(filepath.Join(dir, name), []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	// b.txt was never prepared: a.txt must come back
	if err := place(dir, stage, []File{{"a.txt", nil}, {"b.txt", nil}}); err == nil {
		t.Fatal("a file that is not there was moved")
	}
	os.RemoveAll(stage)
	holds(t, dir, map[string]string{"a.txt": "old"})
}

// holds wants a folder with just these files.
func holds(t *testing.T, dir string, want map[string]string) {
	t.Helper()
	entries, err := os.ReadDir(dir)
	if err != nil {
		t.Fatal(err)
	}
	for _, e := range entries {
		data, err := os.ReadFile(filepath.Join(dir, e.Name()))
		if err != nil || string(data) != want[e.Name()] {
			t.Errorf("%s holds %q, want %q (%v)", e.Name(), data, want[e.Name()], err)
		}
	}
	if len(entries) != len(want) {
		t.Errorf("%d files, want %d: %v", len(entries), len(want), entries)
	}
}
