package solver

import (
	"fmt"
	"math"
	"strings"

	"batten/rules"
)

// Names of the rules for setting that hold for every topic; those of a topic's
// own stand in its data.
const (
	RuleRound  = "round"        // no answer is suspiciously round
	RuleHidden = "hidden-fault" // no common fault gives the right answers
)

// Shortfall is one rule for setting that a question does not keep to.
type Shortfall struct {
	Rule string // the name by which it is waived
	Refusal
}

func (s *Shortfall) Error() string {
	return fmt.Sprintf("%s: %s; right would be %s (--allow %s)", s.Key, s.Wrong, s.Right, s.Rule)
}

// Shortfalls lists what a question that can be marked does not keep to as one
// to be set for a class: the topic's own rules, and answers that are not
// suspiciously round. Whether faults can be told apart is in [Model.Apart].
func (m *Model) Shortfalls() []*Shortfall {
	d := &drawn{q: m.Question, ev: m.eval()}
	return d.shortfalls(nil)
}

// drawn is a question by its figures alone, before a chain is compiled for it.
type drawn struct {
	q  *Question
	ev *evaluator
}

// shortfalls checks the rules that are not waived, in order.
func (d *drawn) shortfalls(allow map[string]bool) []*Shortfall {
	var out []*Shortfall
	asked := map[string]bool{}
	for _, p := range d.q.Parts {
		asked[p.Find.Words] = true
	}
	if s := d.q.Topic.Setting; s != nil {
		for _, r := range s.Sound {
			if allow[r.ID] || r.Find != "" && !asked[r.Find] {
				continue
			}
			if ok, err := d.ev.holds(r.When); err != nil || !ok {
				continue
			}
			if ok, err := d.ev.holds(r.Holds); err == nil && ok {
				continue
			}
			out = append(out, &Shortfall{r.ID, d.refusal(r.Key, r.Wrong, r.Right)})
		}
	}
	if allow[RuleRound] {
		return out
	}
	for i, p := range d.q.Parts {
		for _, a := range p.Find.Answers {
			q := d.q.Topic.Quantity(a)
			if v, ok := d.ev.value(a); ok && suspicious(q, v) {
				key := fmt.Sprintf("parts[%d].find", i+1)
				out = append(out, &Shortfall{RuleRound, Refusal{
					File: d.q.File, Line: d.q.Lines[key], Key: key,
					Wrong: fmt.Sprintf("the answer to part %s, %s %s, is suspiciously round", p.Letter, q.Title, Shown(q, v)),
					Right: "other figures, so that a guess does not hit it",
				}})
			}
		}
	}
	return out
}

// suspicious reports whether an answer is rounder than chance makes figures: at
// the trade's places (two at least) it ends in two noughts.
func suspicious(q *rules.Quantity, v float64) bool {
	s := plainFigure(v, max(q.Places, 2))
	return strings.HasSuffix(s, "00") && !math.IsNaN(v)
}

func (d *drawn) refusal(key, wrong, right string) Refusal {
	return Refusal{File: d.q.File, Line: d.line(key), Key: key, Wrong: d.fill(wrong), Right: d.fill(right)}
}

// line is the line of the key, or of the nearest group above it that stands.
func (d *drawn) line(path string) int {
	for {
		if l, ok := d.q.Lines[path]; ok {
			return l
		}
		i := strings.LastIndexByte(path, '.')
		if i < 0 {
			return 1
		}
		path = path[:i]
	}
}

func (d *drawn) fill(text string) string {
	return rules.Fill(text, func(id string) (string, bool) {
		q := d.q.Topic.Quantity(id)
		v, ok := d.ev.value(id)
		if q == nil || !ok {
			return "", false
		}
		return Shown(q, v), true
	})
}
