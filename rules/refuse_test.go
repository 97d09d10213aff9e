package rules

import (
	"errors"
	"slices"
	"strings"
	"testing"
	"testing/fstest"
)

// A small sound topic. The refusals change or add a line of it.
const small = `id: areas
title: Areas
caution: for study only
keys:
  - {key: plate.length, quantity: length, title: length}
  - {key: plate.breadth, quantity: breadth, title: breadth, options: [{word: square, flags: [square], value: length}]}
conditions:
  - {id: long, when: length > breadth, title: longer than broad}
quantities:
  - {id: length, title: length, symbol: L, unit: m, places: 2, given: true, names: [length], range: {from: 2, to: 9, step: 1}}
  - {id: breadth, title: breadth, symbol: B, unit: m, places: 2, given: true, names: [breadth], range: {from: 2, to: 9, step: 1}}
  - {id: area, title: area, symbol: A, unit: m2, places: 1, names: [area], formula: length * breadth}
  - {id: third, title: a third, symbol: T, unit: m2, places: 1, state: after, names: [third], ways: [{formula: area / 3}]}
finds:
  - {find: area, answers: [area]}
checks:
  - {key: plate.length, refuse: length > 100, wrong: "{length} is too long", right: under 100 m}
bounds:
  - {quantity: area, holds: area > 0, says: "{stated} can't be"}
directions:
  - {id: way, missing: sum-for-product, senses: [{id: up, sign: 1, words: [up]}, {id: down, sign: -1, words: [down]}]}
tables:
  - {id: sums, columns: [{id: area, names: [area]}], rows: [{id: all, names: [all]}], cells: {all: {area: area}}}
words:
  states: {after: [after]}
marking: {principal: 50%, clerical: 10%}
group: areas
faults:
  - id: sum-for-product
    title: added
    severity: principal
    sites:
      - {quantity: area, formula: length + breadth}
    idea: "{length} and {breadth} are multiplied."
    example: {wrong: A = 2 + 3 = 5, right: A = 2 x 3 = 6}
same_idea:
  - [sum-for-product]
sketches:
  - {id: plan, title: Plan, shapes: [{kind: rect, style: hull, at: ["0", "0", length, breadth]}]}
`

const smallGeneric = `group: generic
faults:
  - {id: slip, title: slip, severity: clerical, idea: a slip., example: {wrong: a, right: b}}
`

func smallFS(topic string) fstest.MapFS {
	return fstest.MapFS{"areas.yaml": {Data: []byte(topic)}, "generic.yaml": {Data: []byte(smallGeneric)}}
}

func TestSmallTopicLoads(t *testing.T) {
	top, err := Load(smallFS(small), "areas.yaml")
	if err != nil {
		t.Fatal(err)
	}
	if top.Marking.Principal.Share != 0.5 || len(top.Quantities) != 4 || top.Fault("slip") == nil || !top.Known("area") {
		t.Errorf("%+v", top)
	}
}

func TestRefusals(t *testing.T) {
	tests := []struct {
		reason   string
		old, new string // the first is replaced by the second
		at       string // place of the error, line:column, found in the changed text where it starts with a word
		says     string
	}{
		{"an unknown key of the file", "title: Areas", "titel: Areas", "2:1", "unknown key titel (is title meant?)"},
		{"an unknown key deeper down", "symbol: A,", "symbl: A,", "12:29", "unknown key symbl (is symbol meant?)"},
		{"a key that stands twice", "caution: for", "title: again\ncaution: for", "3:1", "the key title stands twice"},
		{"a text that is missing", "caution: for study only\n", "", "1:1", "the topic's caution is missing"},
		{"a title that is missing", "title: added", "title: ''", "", "the title of sum-for-product is missing"},
		{"an idea that is missing", `idea: "{length} and {breadth} are multiplied."`, "mend: x", "", "idea is missing"},
		{"half an example", "{wrong: A = 2 + 3 = 5, right: A = 2 x 3 = 6}", "{wrong: x}", "", "right is missing"},
		{"a bad severity", "severity: principal", "severity: grave", "", `the severity of sum-for-product is "grave"`},
		{"a quantity twice", "id: third", "id: area", "13:6", "the quantity area stands already at areas.yaml:12:6"},
		{"an unknown name in a formula", "formula: length * breadth", "formula: length * bredth", "12:94", "unknown quantity bredth (is breadth meant?)"},
		{"a formula that can't be read", "formula: length * breadth", "formula: length * )", "", "can't be read"},
		{"an unknown flag", "when: length > breadth", "when: squar", "", "unknown flag or condition squar (is square meant?)"},
		{"an unknown quantity in a comparison", "when: length > breadth", "when: length > broad", "", "can't be read"},
		{"an unknown unit", "unit: m2, places: 1, names: [area]", "unit: acres, places: 1, names: [area]", "12:46", `unknown unit "acres"`},
		{"a figure where a number is due", "places: 1, names: [area]", "places: one, names: [area]", "", "a whole number is wanted here"},
		{"a circle", "formula: length * breadth", "formula: third * 3", "12:6", "area rests on itself: area ← third ← area"},
		{"a circle through a condition", "ways: [{formula: area / 3}]", "ways: [{formula: area / 3, when: third > 2}]", "13:6", "third rests on itself: third ← third"},
		{"an unknown state", "state: after", "state: later", "13:6", "unknown state later of third"},
		{"a given without a range", ", range: {from: 2, to: 9, step: 1}}\n  - {id: breadth", "}\n  - {id: breadth", "10:6", "length is given, so it needs a range"},
		{"a key of a quantity that is not given", "quantity: length, title", "quantity: area, title", "", "area has no given: true"},
		{"a site at a given", "quantity: area, formula: length + breadth", "quantity: length, formula: length + breadth", "", "length is given: no step of it can be spoilt"},
		{"a site at an unknown quantity", "quantity: area, formula: length + breadth", "quantity: aera, formula: length + breadth", "", "unknown quantity aera (is area meant?)"},
		{"a fault that can never differ", "formula: length + breadth", "formula: breadth * length", "", "sum-for-product can never differ from the right area here"},
		{"ways that disagree", "ways: [{formula: area / 3}]", "ways: [{formula: area / 3}, {formula: area / 4}]", "", "for third, where the first that holds gives"},
		{"a way that never holds", "ways: [{formula: area / 3}]", "ways: [{formula: area / 3}, {formula: area / 3, when: length > 10}]", "", "this way of third never holds"},
		{"a find that can't be derived", "formula: length * breadth", "formula: sqrt(length - 5) * breadth", "", "area can't be derived for every question"},
		{"a find of what is no quantity", "answers: [area]", "answers: [aera]", "", "unknown quantity aera (is area meant?)"},
		{"a find without its reason", "answers: [area]", "answers: [area], when: long", "", "else, the reason why it can't be found, is missing"},
		{"one idea of an unknown fault", "- [sum-for-product]", "- [sum-of-product]", "", "unknown fault sum-of-product (is sum-for-product meant?)"},
		{"one idea twice", "- [sum-for-product]", "- [sum-for-product]\n  - [sum-for-product]", "", "stands under one idea already"},
		{"a direction of an unknown fault", "missing: sum-for-product", "missing: some", "", "unknown fault some"},
		{"a placeholder that names nothing", "{length} and {breadth} are", "{length} and {bredth} are", "", "the placeholder {bredth} names nothing (is breadth meant?)"},
		{"a brace without its fellow", "{length} is too long", "{length is too long", "", "a brace without its fellow"},
		{"a check at an unknown key", "key: plate.length, refuse", "key: plate.lenght, refuse", "", "unknown key plate.lenght"},
		{"a table's cell of nothing", "cells: {all: {area: area}}", "cells: {all: {area: aera}}", "", "unknown quantity aera"},
		{"a table's cell in no row", "cells: {all: {area: area}}", "cells: {none: {area: area}}", "", "which it has not"},
		{"a shape of no kind", "kind: rect", "kind: circle", "", `unknown kind of shape "circle"`},
		{"a shape of no style", "style: hull", "style: hul", "", `unknown style "hul" (is hull meant?)`},
		{"a style that the legend leaves out", "style: hull", "style: sea", "", "the legend does not say what the style sea stands for"},
		{"a shape with too few points", `["0", "0", length, breadth]`, `["0", length, breadth]`, "", "a rect has 4 coordinates, not 3"},
		{"a bad charge", "principal: 50%", "principal: half", "", "a share of the marks (50%)"},
		{"a share over the whole", "principal: 50%", "principal: 150%", "", "a share of the marks (50%)"},
		{"a bare list where keys are due", "marking: {principal: 50%, clerical: 10%}", "marking: [50%]", "", "keys with their values are wanted here"},
		{"no YAML", "keys:\n", "keys: [\n", "", "not sound YAML"},
		{"a formula and ways", "names: [third],", "names: [third], formula: area / 3,", "13:6", "third has both formula and ways"},
		{"a unit of another kind", "names: [area], formula", "names: [area], also: [t], formula", "12:6", "can't be stated in t"},
	}
	for _, c := range tests {
		if !strings.Contains(small, c.old) {
			t.Errorf("%s: %q does not stand in the topic", c.reason, c.old)
			continue
		}
		_, err := Load(smallFS(strings.Replace(small, c.old, c.new, 1)), "areas.yaml")
		if err == nil {
			t.Errorf("%s: not refused", c.reason)
			continue
		}
		var first *Error
		if !errors.As(err, &first) {
			t.Errorf("%s: %v has no place", c.reason, err)
			continue
		}
		lines := strings.Split(err.Error(), "\n")
		i := slices.IndexFunc(lines, func(l string) bool { return strings.Contains(l, c.says) })
		if i < 0 {
			t.Errorf("%s: says\n%v\nnot %q", c.reason, err, c.says)
			continue
		}
		if !strings.HasPrefix(lines[i], "areas.yaml:"+c.at) {
			t.Errorf("%s: is told of %s, not %s", c.reason, lines[i], c.at)
		}
	}
}

// All that is wrong is told at once, in the order of lines.
func TestEveryErrorIsTold(t *testing.T) {
	bad := strings.NewReplacer("title: Areas", "titel: Areas", "formula: length * breadth", "formula: length * bredth", "severity: principal", "severity: grave").Replace(small)
	_, err := Load(smallFS(bad), "areas.yaml")
	if err == nil {
		t.Fatal("not refused")
	}
	var places []string
	for l := range strings.SplitSeq(err.Error(), "\n") {
		places = append(places, strings.SplitN(l, ":", 3)[1])
	}
	if want := []string{"1", "2", "12", "29"}; !slices.Equal(places, want) {
		t.Errorf("lines %v, not %v:\n%v", places, want, err)
	}
}

// A fault that has no site and that no direction names could never be found.
func TestFaultThatNothingFinds(t *testing.T) {
	bad := strings.NewReplacer("    sites:\n      - {quantity: area, formula: length + breadth}\n", "", "missing: sum-for-product, ", "").Replace(small)
	_, err := Load(smallFS(bad), "areas.yaml")
	if err == nil || !strings.Contains(err.Error(), "it could never be found") {
		t.Errorf("%v", err)
	}
}

func TestFolderOfFiles(t *testing.T) {
	head, faults, _ := strings.Cut(small, "group: areas\n")
	files := fstest.MapFS{
		"areas/topic.yaml":  {Data: []byte(head + "files: [faults]\n")},
		"areas/faults.yaml": {Data: []byte("group: areas\n" + faults)},
	}
	if _, err := Load(files, "areas"); err != nil {
		t.Errorf("a folder is refused: %v", err)
	}
	if got := names(files); !slices.Equal(got, []string{"areas"}) {
		t.Errorf("topics %v", got)
	}
	files["areas/more.yaml"] = &fstest.MapFile{Data: []byte("bounds: []\n")}
	if _, err := Load(files, "areas"); err == nil || !strings.Contains(err.Error(), "more.yaml stands in the folder, but not under files") {
		t.Errorf("a file not listed: %v", err)
	}
	delete(files, "areas/faults.yaml")
	if _, err := Load(files, "areas"); err == nil || !strings.Contains(err.Error(), "there is no file faults.yaml") {
		t.Errorf("a file that is missing: %v", err)
	}
	if _, err := Load(files, "nothing"); err == nil {
		t.Error("a topic that is missing is loaded")
	}
}

func FuzzLoad(f *testing.F) {
	f.Add(small)
	f.Add("")
	f.Add("quantities: [{id: x, formula: x}]")
	f.Add("a: &b [*b]")
	f.Fuzz(func(t *testing.T, text string) {
		if len(text) > 8000 {
			return
		}
		_, _ = read(smallFS(text), "areas.yaml")
	})
}
