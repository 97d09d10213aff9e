package show

import (
	"batten/diagnose"
	"batten/rules"
	"batten/solver"
)

// Words says what a report has to say in whole sentences, for other surfaces
// than the terminal: one wording serves them all.
type Words struct{ s *sheet }

// WordsOf makes the words for a report. faultTitle gives the title of a fault
// that is named as an alternative.
func WordsOf(r *diagnose.Report, faultTitle func(id string) string) Words {
	return Words{&sheet{Options: Options{FaultTitle: faultTitle}, r: r}}
}

// SoFar says what is right, first of all; "" when there is nothing to say.
func (w Words) SoFar() string { return w.s.soFar() }

// Next says where to look, "" when there is nothing more to mend.
func (w Words) Next() string { return w.s.next() }

// Hedge says how surely a fault is told, where its words alone claim too much.
func (w Words) Hedge(f *diagnose.Finding) string { return w.s.hedge(f, true) }

// Carried tells which lines follow rightly from a fault.
func (w Words) Carried(f *diagnose.Finding) string { return w.s.carried(f) }

// Lines names lines: "lines 4 to 7 and 12".
func (w Words) Lines(lines []int) string { return w.s.list(lines) }

// Lost says in a few words where a part's marks went.
func (w Words) Lost(p diagnose.PartMarks) string { return w.s.why(p) }

// Missing tells whether the finding is about something that is not there.
func Missing(f *diagnose.Finding) bool { return missing(f) }

// First is the finding that the report's first fault names, or nil.
func First(r *diagnose.Report) *diagnose.Finding { return firstFault(r) }

// Cost words the marks a fault takes.
func Cost(marks float64) string { return cost(marks) }

// Sentence makes a title a sentence of its own.
func Sentence(s string) string { return sentence(s) }

// Capital raises the first letter, unless the word is a symbol.
func Capital(s string) string { return capital(s) }

// And joins words as English does.
func And(words []string) string { return and(words) }

// Filled fills the figures of a question into a label or a sentence.
func Filled(m *solver.Model, label string) string { return filled(m, label) }

// Unfilled words a template without figures to fill it from.
func Unfilled(t *rules.Topic, s string) string { return unfilled(t, s) }

// Arises names the quantities that a fault spoils, and in which questions.
func Arises(t *rules.Topic, f *rules.Fault) []string { return places(t, f) }
