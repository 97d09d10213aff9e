package solver

import (
	"errors"
	"flag"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

var variants = flag.Int("variants", 3, "how many variants of each built-in question are drawn")

// bank reads the built-in questions.
func bank(t *testing.T) []*Question {
	t.Helper()
	files, err := filepath.Glob(filepath.Join(questionFolder, "*.yaml"))
	if err != nil || len(files) < 18 {
		t.Fatalf("%d built-in questions, want 18 at least (%v)", len(files), err)
	}
	var out []*Question
	for _, f := range files {
		q, err := ReadFile(f)
		if err != nil {
			t.Fatal(err)
		}
		out = append(out, q)
	}
	return out
}

// Every built-in question keeps to the rules for setting, and shows the faults
// that classes make most; the bank as a whole covers the families.
func TestBankIsSound(t *testing.T) {
	kinds, finds := map[string]bool{}, map[string]bool{}
	for _, q := range bank(t) {
		m, err := NewModel(q)
		if err != nil {
			t.Fatal(err)
		}
		if len(m.Worlds) <= randomWorlds {
			t.Errorf("%s: only %d worlds could be drawn beside it", q.ID, len(m.Worlds)-1)
		}
		for _, s := range m.Shortfalls() {
			t.Errorf("%s: %v", q.ID, s)
		}
		for _, r := range m.Apart().HiddenCommon() {
			t.Errorf("%s: %s gives the right answers", q.ID, r.Fault.ID)
		}
		if q.Minutes == 0 {
			t.Errorf("%s has no time", q.ID)
		}
		for f := range q.Flags {
			kinds[f] = true
		}
		for _, c := range q.Topic.Conditions {
			if m.Holds(c.When) {
				kinds[c.ID] = true
			}
		}
		for _, p := range q.Parts {
			finds[p.Find.Words] = true
		}
	}
	for _, k := range []string{"amidships", "forward", "aft", "port", "starboard", "all", "above", "flat_under_water", "flat_over_water", "passes_flat", "full_breadth", "narrow", "cargo", "empty", "salt", "fresh"} {
		if !kinds[k] {
			t.Errorf("no built-in question is of the kind %s", k)
		}
	}
	for _, f := range bank(t)[0].Topic.Finds {
		if !finds[f.Words] {
			t.Errorf("no built-in question asks for %s", f.Words)
		}
	}
}

// Variants are sound, of the same kind, different from one another, and what
// the chain gives for them the flooded box gives too.
func TestVariants(t *testing.T) {
	for _, q := range bank(t) {
		t.Run(q.ID, func(t *testing.T) {
			list, err := Vary(q, VaryOptions{Count: *variants, Seed: 11})
			if err != nil {
				t.Fatal(err)
			}
			first, err := NewModel(q)
			if err != nil {
				t.Fatal(err)
			}
			answers := map[string]bool{first.Apart().answersText(): true}
			for _, v := range list {
				id := v.Question.ID
				read, err := ReadQuestion(id, v.File)
				if err != nil {
					t.Fatalf("%s does not read back: %v\n%s", id, err, v.File)
				}
				m, err := NewModel(read)
				if err != nil {
					t.Fatal(err)
				}
				if got, want := kindOf(m.Topic, m.eval()), kindOf(first.Topic, first.eval()); got != want {
					t.Errorf("%s is of another kind", id)
				}
				for _, s := range m.Shortfalls() {
					t.Errorf("%s: %v", id, s)
				}
				a := m.Apart()
				for _, r := range a.HiddenCommon() {
					t.Errorf("%s: %s gives the right answers", id, r.Fault.ID)
				}
				if answers[a.answersText()] {
					t.Errorf("%s has the answers of another", id)
				}
				answers[a.answersText()] = true
				b, s := bilgedBox(m)
				if !compareFlood(t, m, b, s) {
					t.Fatalf("%s:\n%s", id, v.File)
				}
			}
		})
	}
}

func TestVaryIsRepeatable(t *testing.T) {
	q := bank(t)[0]
	few, err := Vary(q, VaryOptions{Count: 2, Seed: 5})
	if err != nil {
		t.Fatal(err)
	}
	many, err := Vary(q, VaryOptions{Count: 3, Seed: 5})
	if err != nil {
		t.Fatal(err)
	}
	other, err := Vary(q, VaryOptions{Count: 1, Seed: 6})
	if err != nil {
		t.Fatal(err)
	}
	for i := range few {
		if string(few[i].File) != string(many[i].File) {
			t.Errorf("variant %d of two is not that of three", i+1)
		}
	}
	if few[0].Apart.answersText() == other[0].Apart.answersText() {
		t.Error("another seed gave the same figures")
	}
}

// readEdited reads a built-in question with pieces of its text replaced.
func readEdited(t *testing.T, id string, replace ...string) *Question {
	t.Helper()
	data, err := os.ReadFile(filepath.Join(questionFolder, id+".yaml"))
	if err != nil {
		t.Fatal(err)
	}
	q, err := ReadQuestion(id, []byte(strings.NewReplacer(replace...).Replace(string(data))))
	if err != nil {
		t.Fatal(err)
	}
	return q
}

func TestVaryRefuses(t *testing.T) {
	for _, c := range []struct {
		reason string
		q      *Question
		o      VaryOptions
		want   []string
	}{
		{"a common fault gives the right answer at 50%, whatever else is drawn",
			readEdited(t, "midship-store-space", "60%", "50%"),
			VaryOptions{Count: 1, Seed: 1, Keep: []string{"compartment.permeability"}},
			[]string{"permeability-as-intact", "compartment.permeability", "--allow hidden-fault"}},
		{"a compartment far too long for the ships that are drawn",
			readEdited(t, "midship-store-space", "length: 9 m", "length: 40 m", "depth: 6 m", "depth: 16 m"),
			VaryOptions{Count: 1, Seed: 1, Keep: []string{"compartment.length"}},
			[]string{"compartment.length", "40.00 m", "--allow"}},
		{"a rule that is not there", bank(t)[0], VaryOptions{Count: 1, Allow: []string{"gravity"}}, []string{`"gravity"`, "hidden-fault"}},
		{"a key that is not there", bank(t)[0], VaryOptions{Count: 1, Keep: []string{"vessel.mast"}}, []string{"vessel.mast", "vessel.length"}},
		{"nothing left to draw", readEdited(t, "midship-store-space"), VaryOptions{Count: 1, Keep: []string{"vessel", "compartment"}}, []string{"no figure"}},
	} {
		_, err := Vary(c.q, c.o)
		if err == nil {
			t.Errorf("%s: it was set all the same", c.reason)
			continue
		}
		for _, w := range c.want {
			if !strings.Contains(err.Error(), w) {
				t.Errorf("%s: %q does not say %s", c.reason, err, w)
			}
		}
	}
}

func TestVaryAllows(t *testing.T) {
	q := readEdited(t, "midship-store-space", "60%", "50%")
	list, err := Vary(q, VaryOptions{Count: 2, Seed: 1, Keep: []string{"compartment.permeability"}, Allow: []string{RuleHidden}})
	if err != nil {
		t.Fatal(err)
	}
	for _, v := range list {
		if len(v.Apart.HiddenCommon()) == 0 {
			t.Errorf("%s: at 50%% a share and its complement are the same", v.Question.ID)
		}
		if got := v.Question.Written["compartment.permeability"]; got != "50%" {
			t.Errorf("the permeability kept is %s", got)
		}
	}
}

// A hindrance keeps the key that a program can look at.
func TestVaryTellsTheKey(t *testing.T) {
	q := readEdited(t, "midship-store-space", "60%", "50%")
	_, err := Vary(q, VaryOptions{Count: 1, Seed: 1, Keep: []string{"compartment.permeability"}})
	var s *Shortfall
	if !errors.As(err, &s) || s.Rule != RuleHidden || s.Key != "compartment.permeability" {
		t.Errorf("%v is told as %+v", err, s)
	}
}

func TestQuestionText(t *testing.T) {
	q := readEdited(t, "stowed-hold",
		"title: Narrow hold with cargo bilged", `title: "Hold 2: 'tween # deck"`,
		"draught: 5.2 m", "draught: 520 cm", "minutes: 35", "marking: {principal: 40%, clerical: 2}\nminutes: 35",
		"header: Harrowmere Nautical College, training ship Mere Godwit", `header: "Harrowmere: the Mere Godwit"`)
	again, err := ReadQuestion("again", q.Text("a note", "of two\nlines"))
	if err != nil {
		t.Fatalf("%v\n%s", err, q.Text())
	}
	if again.Title != q.Title || again.Header != q.Header || q.Header == "" || again.Marking != q.Marking || again.Minutes != q.Minutes || len(again.Parts) != len(q.Parts) {
		t.Errorf("another question came back:\n%s", q.Text())
	}
	for id, v := range q.Given {
		if again.Given[id] != v {
			t.Errorf("%s is %v, was %v", id, again.Given[id], v)
		}
	}
}

func TestRewritten(t *testing.T) {
	topic := bank(t)[0].Topic
	for _, c := range []struct {
		text, quantity string
		value, step    float64
		want           string
	}{
		{"6.80 m", "kg", 7.05, 0.05, "7.05 m"},
		{"18 m", "breadth", 18.5, 0.5, "18.5 m"},
		{"96 m", "length", 102, 2, "102 m"},
		{"450 cm", "draught", 4.7, 0.1, "470 cm"},
		{"60%", "permeability", 0.65, 0.05, "65%"},
		{"0.6", "permeability", 0.65, 0.05, "0.65"},
		{"above 1.5 m", "flat_height", 2.1, 0.1, "above 2.1 m"},
		{"1.60 m3/t", "stowage_factor", 1.45, 0.05, "1.45 m3/t"},
	} {
		if got := rewritten(c.text, topic.Quantity(c.quantity), c.value, c.step); got != c.want {
			t.Errorf("%s with %v is written %s, want %s", c.text, c.value, got, c.want)
		}
	}
}
