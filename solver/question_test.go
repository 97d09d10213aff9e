package solver

import (
	"bytes"
	"errors"
	"flag"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"batten/rules"
)

var update = flag.Bool("update", false, "write what is refused now into testdata/bad-questions/*.want")

const (
	questionFolder = "../testdata/questions"
	badFolder      = "../testdata/bad-questions"
)

// Each file of testdata/bad-questions says in its first line what is wrong with
// it, where it is text at all; the .want beside it holds the refusals.
func TestBadQuestions(t *testing.T) {
	files, err := filepath.Glob(filepath.Join(badFolder, "*.yaml"))
	if err != nil || len(files) == 0 {
		t.Fatal("no bad questions", err)
	}
	for _, f := range files {
		name := strings.TrimSuffix(filepath.Base(f), ".yaml")
		t.Run(name, func(t *testing.T) {
			data, err := os.ReadFile(f)
			if err != nil {
				t.Fatal(err)
			}
			q, err := ReadQuestion(filepath.Base(f), data)
			if err == nil {
				t.Fatalf("taken as sound: %+v", q)
			}
			got := err.Error() + "\n"
			wantFile := strings.TrimSuffix(f, ".yaml") + ".want"
			if *update {
				if err := os.WriteFile(wantFile, []byte(got), 0o644); err != nil {
					t.Fatal(err)
				}
			}
			want, err := os.ReadFile(wantFile)
			if err != nil {
				t.Fatal(err)
			}
			if d := cmp.Diff(string(want), got); d != "" {
				t.Error(d)
			}
		})
	}
}

func TestQuestionsRead(t *testing.T) {
	questions, err := ReadFolder(questionFolder)
	if err != nil {
		t.Fatal(err)
	}
	if len(questions) < 6 {
		t.Fatalf("%d questions, want 6 or more", len(questions))
	}
	for _, q := range questions {
		if q.ID+".yaml" != filepath.Base(q.File) {
			t.Errorf("%s holds the question %s", q.File, q.ID)
		}
		if _, err := NewModel(q); err != nil {
			t.Errorf("%s: %v", q.ID, err)
		}
	}
}

func TestQuestionFields(t *testing.T) {
	q := mustRead(t, "hold-above-tank-top")
	if q.Title != "Hold bilged above the tank top" || q.Topic.ID != "bilging" || q.Minutes != 30 {
		t.Errorf("title %q, topic %s, minutes %d", q.Title, q.Topic.ID, q.Minutes)
	}
	for id, want := range map[string]float64{"length": 96, "draught": 4.5, "kg": 6.8, "density": 1.025,
		"comp_length": 14, "comp_breadth": 18, "flat_height": 1.5, "permeability": 0.6} {
		if got := q.Given[id]; got != want {
			t.Errorf("%s is %v, want %v", id, got, want)
		}
	}
	for id, want := range map[string]int{"length": 0, "draught": 1, "kg": 2, "density": 3, "comp_breadth": 0, "permeability": 2} {
		if got := q.Places[id]; got != want {
			t.Errorf("%s has %d places, want %d", id, got, want)
		}
	}
	for _, f := range []string{"above", "amidships", "full", "kg_given", "salt"} {
		if !q.Flags[f] {
			t.Errorf("the flag %s is not set", f)
		}
	}
	for _, f := range []string{"below", "all", "depth_given", "cargo"} {
		if q.Flags[f] {
			t.Errorf("the flag %s is set", f)
		}
	}
	if got := q.Written["compartment.flooded"]; got != "above 1.5 m" {
		t.Errorf("flooded is written %q", got)
	}
	if len(q.Parts) != 2 || q.Parts[1].Letter != "b" || q.Parts[1].Marks != 20 || q.Parts[1].Find.Words != "change of GM" {
		t.Errorf("parts %+v", q.Parts)
	}
	want := rules.Marking{Principal: rules.Charge{Share: 0.5}, Clerical: rules.Charge{Share: 0.1}}
	if q.Marking != want {
		t.Errorf("marking %+v", q.Marking)
	}
}

func mustRead(t testing.TB, id string) *Question {
	t.Helper()
	q, err := ReadFile(filepath.Join(questionFolder, id+".yaml"))
	if err != nil {
		t.Fatal(err)
	}
	return q
}

// edited is the sound question of the testdata with some of its text replaced.
func edited(t testing.TB, pairs ...string) []byte {
	t.Helper()
	data, err := os.ReadFile(filepath.Join(questionFolder, "hold-above-tank-top.yaml"))
	if err != nil {
		t.Fatal(err)
	}
	s := string(data)
	for i := 0; i < len(pairs); i += 2 {
		if !strings.Contains(s, pairs[i]) {
			t.Fatalf("nothing to replace: %q", pairs[i])
		}
		s = strings.Replace(s, pairs[i], pairs[i+1], 1)
	}
	return []byte(s)
}

// Ways of writing that a person may choose and that mean one thing only.
func TestWaysOfWriting(t *testing.T) {
	plain, err := ReadQuestion("q.yaml", edited(t))
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		reason string
		pairs  []string
		id     string
		want   float64
		places int
	}{
		{"no space before the unit", []string{"96 m", "96m"}, "length", 96, 0},
		{"the unit in words", []string{"4.5 m", "4.5 metres"}, "draught", 4.5, 1},
		{"a decimal comma", []string{"4.5 m", "4,5 m"}, "draught", 4.5, 1},
		{"a decimal comma before noughts", []string{"4.5 m", "0,500 m", "1.5 m", "0.1 m"}, "draught", 0.5, 3},
		{"centimetres", []string{"4.5 m", "450 cm"}, "draught", 4.5, 2},
		{"millimetres, if known", []string{"4.5 m", "4500 mm"}, "draught", 4.5, 3},
		{"a thousands mark", []string{"96 m", "1,096.5 m"}, "length", 1096.5, 1},
		{"a space for one", []string{"96 m", "1 096 m"}, "length", 1096, 0},
		{"a plus sign", []string{"96 m", "+96 m"}, "length", 96, 0},
		{"a percentage with a space", []string{"60%", "60 %"}, "permeability", 0.6, 2},
		{"a percentage with decimals", []string{"60%", "62.5%"}, "permeability", 0.625, 3},
		{"a fraction of one", []string{"60%", "0.6"}, "permeability", 0.6, 1},
		{"with a comma", []string{"60%", "0,60"}, "permeability", 0.6, 2},
		{"without its nought", []string{"60%", ".6"}, "permeability", 0.6, 1},
		{"in words", []string{"60%", "60 percent"}, "permeability", 0.6, 2},
		{"in quotes", []string{"96 m", `"96 m"`}, "length", 96, 0},
		{"a density", []string{"salt", "1.012 t/m3"}, "density", 1.012, 3},
		{"a density in other units", []string{"salt", "1012 kg/m3"}, "density", 1.012, 3},
		{"a density with a raised figure", []string{"salt", "1.012 t/m³"}, "density", 1.012, 3},
		{"fresh water", []string{"salt", "fresh"}, "density", 1, 3},
		{"a word in capitals", []string{"salt", "Salt"}, "density", 1.025, 3},
		{"a flat with spaces about it", []string{"above 1.5 m", "Above   1.5m"}, "flat_height", 1.5, 1},
		{"a breadth of its own", []string{"breadth: full", "breadth: 6.25 m"}, "comp_breadth", 6.25, 2},
		{"a comment behind it", []string{"96 m", "96 m # long"}, "length", 96, 0},
		{"a tab behind the colon", []string{"length: 96 m", "length:\t96 m"}, "length", 96, 0},
	} {
		t.Run(c.reason, func(t *testing.T) {
			q, err := ReadQuestion("q.yaml", edited(t, c.pairs...))
			if err != nil {
				t.Fatal(err)
			}
			if got := q.Given[c.id]; got != c.want {
				t.Errorf("%s is %v, want %v", c.id, got, c.want)
			}
			if got := q.Places[c.id]; got != c.places {
				t.Errorf("%s has %d places, want %d", c.id, got, c.places)
			}
		})
	}
	for _, c := range []struct {
		reason string
		data   []byte
	}{
		{"line ends of Windows", bytes.ReplaceAll(edited(t), []byte("\n"), []byte("\r\n"))},
		{"a byte order mark", append([]byte("\ufeff"), edited(t)...)},
		{"no line end at the end", bytes.TrimRight(edited(t), "\n")},
		{"no topic", edited(t, "topic: bilging\n", "")},
		{"a start of document", append([]byte("---\n"), edited(t)...)},
		{"letters of parts in brackets", edited(t, "part: a", "part: (A)")},
		{"marks and times with their words", edited(t, "minutes: 30", "minutes: 30 min")},
	} {
		t.Run(c.reason, func(t *testing.T) {
			q, err := ReadQuestion("q.yaml", c.data)
			if err != nil {
				t.Fatal(err)
			}
			if d := cmp.Diff(plain.Given, q.Given); d != "" || len(q.Parts) != 2 || q.Parts[0].Letter != "a" || q.Minutes != 30 {
				t.Errorf("%+v %s", q, d)
			}
		})
	}
}

func TestMarking(t *testing.T) {
	standard := rules.Marking{Principal: rules.Charge{Share: 0.5}, Clerical: rules.Charge{Share: 0.1}}
	for _, c := range []struct {
		text string
		want rules.Marking
	}{
		{"{principal: 40%, clerical: 2}", rules.Marking{Principal: rules.Charge{Share: 0.4}, Clerical: rules.Charge{Marks: 2}}},
		{"{clerical: 1.5 marks}", rules.Marking{Principal: standard.Principal, Clerical: rules.Charge{Marks: 1.5}}},
		{"{principal: 0%}", rules.Marking{Clerical: standard.Clerical}},
		{"{principal: 12.5 %}", rules.Marking{Principal: rules.Charge{Share: 0.125}, Clerical: standard.Clerical}},
	} {
		q, err := ReadQuestion("q.yaml", edited(t, "minutes: 30", "marking: "+c.text))
		if err != nil {
			t.Errorf("%s: %v", c.text, err)
			continue
		}
		if q.Marking != c.want {
			t.Errorf("%s: %+v, want %+v", c.text, q.Marking, c.want)
		}
	}
}

func TestReadFolder(t *testing.T) {
	dir := t.TempDir()
	write := func(name string, data []byte) {
		if err := os.WriteFile(filepath.Join(dir, name), data, 0o644); err != nil {
			t.Fatal(err)
		}
	}
	if _, err := ReadFolder(dir); err == nil || !strings.Contains(err.Error(), "no question in the folder") {
		t.Error("an empty folder:", err)
	}
	write("b.yaml", edited(t, "id: hold-above-tank-top", "id: second"))
	write("a.yaml", edited(t))
	write("notes.txt", []byte("not a question"))
	if err := os.Mkdir(filepath.Join(dir, "x.yaml"), 0o755); err != nil {
		t.Fatal(err)
	}
	qs, err := ReadFolder(dir)
	if err != nil || len(qs) != 2 || qs[0].ID != "hold-above-tank-top" || qs[1].ID != "second" {
		t.Fatal(qs, err)
	}
	write("c.yaml", edited(t))
	write("d.yaml", edited(t, "96 m", "96"))
	qs, err = ReadFolder(dir)
	var r Refusals
	if !errors.As(err, &r) || len(r) != 2 || len(qs) != 2 {
		t.Fatalf("%d questions and %v", len(qs), err)
	}
	if want := filepath.Join(dir, "c.yaml") + `:1: id: the id "hold-above-tank-top" is that of ` + filepath.Join(dir, "a.yaml") + " too; give each question of a folder an id of its own"; r[0].Error() != want {
		t.Errorf("%s, want %s", r[0], want)
	}
	if want := filepath.Join(dir, "d.yaml") + `:6: vessel.length: "96" has no unit; write 96 m`; r[1].Error() != want {
		t.Errorf("%s, want %s", r[1], want)
	}
	for _, path := range []string{filepath.Join(dir, "none.yaml"), dir} {
		if _, err := ReadFile(path); !errors.As(err, &r) || len(r) != 1 {
			t.Errorf("%s: %v", path, err)
		}
	}
	if _, err := ReadFolder(filepath.Join(dir, "none")); !errors.As(err, &r) {
		t.Error(err)
	}
}

// Bytes that are no question, or far more than one, are refused in no time.
func TestHardBytes(t *testing.T) {
	sound := edited(t)
	var deep strings.Builder
	for i := range 250 {
		deep.WriteString(strings.Repeat(" ", i) + "a:\n")
	}
	for name, data := range map[string][]byte{
		"ten megabytes":             bytes.Repeat([]byte("a: b\n"), 2<<20),
		"ten megabytes of nothing":  make([]byte, 10<<20),
		"brackets":                  bytes.Repeat([]byte("["), maxQuestionBytes),
		"braces":                    bytes.Repeat([]byte("{a: "), maxQuestionBytes/4),
		"dashes":                    bytes.Repeat([]byte("- "), maxQuestionBytes/2),
		"one key again and again":   bytes.Repeat([]byte("a: b\n"), 700),
		"many keys":                 manyKeys(900),
		"steps without end":         []byte(deep.String()),
		"a long line":               append([]byte("id: "), bytes.Repeat([]byte("x"), maxQuestionBytes-10)...),
		"a long figure":             edited(t, "96 m", strings.Repeat("9", 5000)+" m"),
		"a long unit":               edited(t, "96 m", "96 "+strings.Repeat("m", 5000)),
		"a long key":                edited(t, "  length: 96 m", "  "+strings.Repeat("length", 2000)+": 96 m"),
		"quotes":                    bytes.Repeat([]byte("'"), maxQuestionBytes),
		"colons":                    bytes.Repeat([]byte(": "), maxQuestionBytes/2),
		"question marks":            bytes.Repeat([]byte("? "), maxQuestionBytes/2),
		"folded text":               append([]byte("id: >\n"), bytes.Repeat([]byte(" a\n"), 20000)...),
		"many parts":                append(sound, bytes.Repeat([]byte("  - {part: a, find: sinkage, marks: 1}\n"), 300)...),
		"two hundred open brackets": []byte("parts: " + strings.Repeat("[", 200) + strings.Repeat("]", 200)),
	} {
		start := time.Now()
		_, err := ReadQuestion("q.yaml", data)
		if took := time.Since(start); took > slow {
			t.Errorf("%s: %v", name, took)
		}
		var r Refusals
		if !errors.As(err, &r) || len(r) == 0 || len(r) > maxRefusals+1 {
			t.Errorf("%s: not refused: %v", name, err)
		}
	}
}

// slow is far more than any question needs, on a busy machine too: it tells of
// reading that grows out of hand.
const slow = 10 * time.Second

func manyKeys(n int) []byte {
	var b strings.Builder
	for i := range n {
		b.WriteString("key-" + strings.Repeat("x", i%30) + string(rune('a'+i%26)) + strings.Repeat("y", i/30) + ": 1\n")
	}
	return []byte(b.String())
}

func FuzzReadQuestion(f *testing.F) {
	for _, pattern := range []string{questionFolder, badFolder} {
		files, _ := filepath.Glob(filepath.Join(pattern, "*.yaml"))
		for _, name := range files {
			data, err := os.ReadFile(name)
			if err != nil {
				f.Fatal(err)
			}
			f.Add(data)
		}
	}
	f.Fuzz(func(t *testing.T, data []byte) {
		start := time.Now()
		q, err := ReadQuestion("q.yaml", data)
		if took := time.Since(start); took > slow {
			t.Fatalf("took %v", took)
		}
		if err == nil {
			if _, err := NewModel(q); err != nil {
				t.Fatalf("sound, and yet no working: %v", err)
			}
			return
		}
		var r Refusals
		if !errors.As(err, &r) || len(r) == 0 || q != nil {
			t.Fatalf("neither a question nor refusals: %v", err)
		}
		lines := bytes.Count(data, []byte("\n")) + bytes.Count(data, []byte("\r")) + 2
		for _, x := range r {
			if x.Wrong == "" || x.Right == "" || x.Line < 0 || x.Line > lines || strings.ContainsAny(x.Error(), "\n\r\x00\x1b") || len(x.Error()) > 1000 {
				t.Fatalf("an odd refusal: %q (line %d of %d)", x.Error(), x.Line, lines)
			}
		}
	})
}
