package show

import (
	"fmt"
	"io"
	"strings"

	"batten/rules"
	"batten/solver"
)

// Catalogue prints every fault under its group: what is particular to each
// topic first, then what can happen to any quantity.
func Catalogue(w io.Writer, topics []*rules.Topic, pen Pen) error {
	s := &sheet{Options: Options{Pen: pen}, w: w}
	var generic []*rules.Fault
	for _, t := range topics {
		s.println(pen.strong(sentenceless(t.Title)))
		s.println()
		s.groups(t.Faults)
		generic = t.Generic // the same for all topics
	}
	s.println(pen.strong("On any quantity"))
	s.println()
	s.groups(generic)
	s.prose(0, "principal: of understanding. clerical: of carrying out. remark: costs nothing. "+
		"batten faults ID shows one in full.", pen.faint)
	return s.err
}

// groups prints faults by group, in the order in which the groups come up.
func (s *sheet) groups(faults []*rules.Fault) {
	var order []string
	by := map[string][]*rules.Fault{}
	for _, f := range faults {
		if by[f.Group] == nil {
			order = append(order, f.Group)
		}
		by[f.Group] = append(by[f.Group], f)
	}
	for _, g := range order {
		if g != "" && len(order) > 1 {
			s.println(s.Pen.carry(capital(g)))
		}
		for _, f := range by[g] {
			s.println("  ", s.Pen.strong(pad(f.ID, Columns-13)), padLeft(f.Severity, 10))
			s.prose(6, sentence(f.Title), nil)
		}
		s.println()
	}
}

// Fault prints one fault in full. models are worked questions to take figures
// from for its words: the one whose figures stand in its example serves.
func Fault(w io.Writer, t *rules.Topic, f *rules.Fault, models []*solver.Model, pen Pen) error {
	words := unfilled
	if m := exemplified(f, models); m != nil {
		words = func(_ *rules.Topic, s string) string { return filled(m, s) }
	}
	s := &sheet{Options: Options{Pen: pen}, w: w}
	s.println(pen.strong(pad(f.ID, Columns-11)), padLeft(f.Severity, 10))
	s.prose(0, sentence(f.Title), pen.fault)
	s.println()
	s.labelled("instead of", f.Example.Right, pen.right)
	s.labelled("is written", f.Example.Wrong, pen.fault)
	s.println()
	s.prose(0, words(t, f.Idea), nil)
	s.prose(0, words(t, f.Mend), nil)
	if where := places(t, f); len(where) > 0 {
		s.println()
		s.println("Arises in the working of")
		const most = 6
		if n := len(where); n > most {
			where = append(where[:most:most], fmt.Sprintf("%d more that rest on the same idea", n-most))
		}
		for _, p := range where {
			for i, l := range Wrap(p, Columns-4) {
				lead := "  · "
				if i > 0 {
					lead = "    "
				}
				s.println(lead, l)
			}
		}
	}
	return s.err
}

// labelled prints an example line after its label, wrapped to its column.
func (s *sheet) labelled(label, text string, ink func(string) string) {
	if text == "" {
		return
	}
	const at = 14
	for i, line := range Wrap(text, Columns-at) {
		if i > 0 {
			label = ""
		}
		s.println("  ", s.Pen.faint(pad(label, at-2)), ink(line))
	}
}

// places names the quantities that a fault spoils, and in which questions.
func places(t *rules.Topic, f *rules.Fault) []string {
	var out []string
	seen := map[string]bool{}
	for _, site := range f.Sites {
		q := t.Quantity(site.Quantity)
		if q == nil {
			continue
		}
		p := "the " + q.Title
		if w := whenWords(t, site.When); w != "" {
			p += ", where " + w
		}
		if !seen[p] {
			seen[p] = true
			out = append(out, p)
		}
	}
	return out
}

// sentenceless is a title as a heading: no full stop.
func sentenceless(s string) string { return capital(strings.TrimSuffix(strings.TrimSpace(s), ".")) }
