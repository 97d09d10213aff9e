package solver

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"batten/rules"
)

const (
	maxMarks   = 1000
	maxMinutes = 24 * 60
)

var partKeys = []string{"part", "find", "marks"}

// parts reads what is asked.
func (r *reader) parts(common map[string]entry) {
	const right = "a list such as - {part: a, find: …, marks: 15}"
	e, ok := common["parts"]
	switch {
	case !ok:
		r.refuse(1, "parts", "the parts are missing", "add them: "+right)
		return
	case e.value.kind != listNode:
		r.refuse(e.line, "parts", "this is "+e.value.describe()+", where a list is wanted", right)
		return
	case len(e.value.items) == 0:
		r.refuse(e.line, "parts", "no part is asked", right)
		return
	}
	first := map[string]int{} // letter → line
	for i, item := range e.value.items {
		path := fmt.Sprintf("parts[%d]", i+1)
		line := max(item.line, e.line)
		if item.kind != mappingNode {
			r.refuse(line, path, "this is "+item.describe()+", where a part is wanted", right)
			continue
		}
		p := Part{}
		have := map[string]entry{}
		for _, x := range item.entries {
			have[x.key] = x
			if !contains(partKeys, x.key) {
				hint := "a part has " + oneOf(partKeys)
				if near := nearest(x.key, partKeys, nil); near != "" {
					hint = "did you mean " + near + "?"
				}
				r.refuse(x.line, joined(path, x.key), "the key is not known here", hint)
			}
		}
		sound := r.partLetter(&p, have, path, line, first)
		if x, ok := have["find"]; ok {
			p.Find = r.find(x, joined(path, "find"))
		} else {
			r.refuse(line, joined(path, "find"), "what the part asks for is missing", "add it: "+oneOf(findWords(r.q.Topic)))
		}
		if m, ok := r.marks(have, path, line); ok && sound && p.Find != nil {
			p.Marks = m
			r.q.Parts = append(r.q.Parts, p)
			r.lines[joined(path, "find")] = have["find"].line
			r.asked = append(r.asked, joined(path, "find"))
		}
	}
}

func contains(words []string, w string) bool {
	for _, x := range words {
		if x == w {
			return true
		}
	}
	return false
}

func (r *reader) partLetter(p *Part, have map[string]entry, path string, line int, first map[string]int) bool {
	path = joined(path, "part")
	const right = "a letter, such as part: a"
	x, ok := have["part"]
	if !ok {
		r.refuse(line, path, "the letter of the part is missing", right)
		return false
	}
	letter := strings.ToLower(strings.Trim(x.value.text, "()[]. "))
	if x.value.kind != textNode || len(letter) != 1 || letter[0] < 'a' || letter[0] > 'z' {
		r.refuse(x.line, path, "the part is "+x.value.describe(), right)
		return false
	}
	if l, twice := first[letter]; twice {
		r.refuse(x.line, path, fmt.Sprintf("part %s stands on line %d already", letter, l), "give each part a letter of its own")
		return false
	}
	first[letter] = x.line
	p.Letter = letter
	return true
}

func findWords(t *rules.Topic) []string {
	words := make([]string, len(t.Finds))
	for i, f := range t.Finds {
		words[i] = f.Words
	}
	return words
}

func (r *reader) find(x entry, path string) *rules.Find {
	words := findWords(r.q.Topic)
	if x.value.kind == textNode {
		for _, f := range r.q.Topic.Finds {
			if fold(f.Words) == fold(x.value.text) {
				return f
			}
		}
	}
	if x.value.kind != textNode {
		r.refuse(x.line, path, "it is "+x.value.describe(), "it can be "+oneOf(words))
		return nil
	}
	r.refuse(x.line, path, quote(x.value.text)+" is not something that can be asked", suggest(nearest(x.value.text, words, r.q.Topic.Words.Synonyms), words))
	return nil
}

func (r *reader) marks(have map[string]entry, path string, line int) (float64, bool) {
	path = joined(path, "marks")
	const right = "a number over 0, such as marks: 15"
	x, ok := have["marks"]
	if !ok {
		r.refuse(line, path, "the marks are missing", right)
		return 0, false
	}
	v, ok := number(x.value.text)
	switch {
	case x.value.kind != textNode || !ok:
		r.refuse(x.line, path, "the marks are "+x.value.describe(), right)
	case v <= 0:
		r.refuse(x.line, path, "the marks are "+plain(x.value.text), right)
	case v > maxMarks:
		r.refuse(x.line, path, "the marks are "+plain(x.value.text), fmt.Sprintf("at most %d", maxMarks))
	default:
		return v, true
	}
	return 0, false
}

// marking reads what a fault costs, where the question says so.
func (r *reader) marking(common map[string]entry) {
	r.q.Marking = r.q.Topic.Marking
	e, ok := common["marking"]
	if !ok {
		return
	}
	if e.value.kind != mappingNode {
		r.refuse(e.line, "marking", "this is "+e.value.describe()+", where keys of its own are wanted", "{principal: 50%, clerical: 10%}")
		return
	}
	known := []string{"principal", "clerical"}
	for _, x := range e.value.entries {
		path := joined("marking", x.key)
		r.lines[path] = x.line
		var c *rules.Charge
		switch x.key {
		case "principal":
			c = &r.q.Marking.Principal
		case "clerical":
			c = &r.q.Marking.Clerical
		default:
			r.refuse(x.line, path, "the key is not known here", suggest(nearest(x.key, known, nil), known))
			continue
		}
		r.charge(c, x, path)
	}
}

func (r *reader) charge(c *rules.Charge, x entry, path string) {
	const right = "a share of the part's marks, such as 50%, or a number of marks, such as 2"
	text := strings.Join(strings.Fields(x.value.text), " ")
	text = strings.TrimSpace(strings.TrimSuffix(strings.TrimSuffix(text, " mark"), " marks"))
	f, wrong, _ := readFigure(text)
	v, err := strconv.ParseFloat(f.digits, 64)
	switch {
	case x.value.kind != textNode || wrong != "" || err != nil || f.unit != "" && f.unit != "%":
		r.refuse(x.line, path, "the charge is "+x.value.describe(), right)
	case v < 0:
		r.refuse(x.line, path, "the charge is "+plain(text)+", less than nothing", right)
	case f.unit == "%" && v > 100:
		r.refuse(x.line, path, "the charge is "+plain(text)+", more than the part has", right)
	case v > maxMarks:
		r.refuse(x.line, path, "the charge is "+plain(text), right)
	case f.unit == "%":
		*c = rules.Charge{Share: shifted(f.digits, -2)}
	default:
		*c = rules.Charge{Marks: v}
	}
}

func (r *reader) minutes(common map[string]entry) {
	e, ok := common["minutes"]
	if !ok {
		return
	}
	const right = "a whole number, such as minutes: 30"
	text := strings.ToLower(strings.Join(strings.Fields(e.value.text), " "))
	for _, unit := range []string{"minutes", "mins", "min"} {
		text = strings.TrimSpace(strings.TrimSuffix(text, unit))
	}
	v, isNumber := number(text)
	switch {
	case e.value.kind != textNode || !isNumber || v != math.Trunc(v) || v <= 0:
		r.refuse(e.line, "minutes", "the time allowed is "+e.value.describe(), right)
	case v > maxMinutes:
		r.refuse(e.line, "minutes", "the time allowed is longer than a day", right)
	default:
		r.q.Minutes = int(v)
	}
}
