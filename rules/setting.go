package rules

import (
	"slices"

	"batten/parse"
)

// Setting says how questions of the topic are set: how fresh figures are drawn,
// what a question for a class must keep to, and which faults a class makes most.
type Setting struct {
	Draws  []*Draw
	Sound  []*Sound
	Common []string // ids of the faults that a class makes most
	At     Place
}

// Draw says how the figure of a given is drawn. The draws are made in order,
// so From and To may rest on what was drawn before and on all that follows from
// it. The first draw of a quantity whose When holds is used; a given with draws
// of which none holds keeps its figure.
type Draw struct {
	Quantity string
	When     parse.Cond // nil: always
	From, To parse.Expr // nil: the end of the quantity's Range; in the quantity's unit
	Step     float64    // the figure is a multiple of it; 0: the step of the Range
	At       Place
}

// Sound is one thing that a question set for a class keeps to. A question that
// does not is no wrong question: it can be marked, but a tutor would not set it.
type Sound struct {
	ID    string
	Title string     // what it asks for, in a few words
	When  parse.Cond // nil: always; else only such questions are looked at
	Find  string     // words of the find that a part must ask for before this is looked at, "" for always
	Holds parse.Cond
	Key   string // dotted path of the key that is most to blame where it does not hold
	Wrong string // template: what is amiss
	Right string // template: what would be right
	At    Place
}

// setting reads the part of a topic that is about setting questions.
func (l *loader) setting(n *node) {
	if l.topic.Setting != nil {
		l.fail(l.at(n), "setting stands already at %s", l.topic.Setting.At)
		return
	}
	s := &Setting{At: l.at(n)}
	l.topic.Setting = s
	l.mapping(n, fields{
		"draws": each(l, func(n *node) *Draw {
			d := &Draw{At: l.at(n)}
			l.mapping(n, fields{"quantity": l.str(&d.Quantity), "when": l.cond(&d.When), "from": l.formula(&d.From), "to": l.formula(&d.To), "step": l.number(&d.Step)}, "quantity")
			return d
		}, &s.Draws),
		"sound": each(l, func(n *node) *Sound {
			c := &Sound{At: l.at(n)}
			l.mapping(n, fields{
				"id": l.str(&c.ID), "title": l.str(&c.Title), "when": l.cond(&c.When), "find": l.str(&c.Find), "holds": l.cond(&c.Holds),
				"key": l.str(&c.Key), "wrong": l.template(&c.Wrong), "right": l.template(&c.Right),
			}, "id", "title", "holds", "key", "wrong", "right")
			return c
		}, &s.Sound),
		"common": l.strs(&s.Common),
	}, "draws", "sound", "common")
}

// settingSound checks what setting refers to.
func (l *loader) settingSound() {
	t := l.topic
	if t.Setting == nil {
		return
	}
	for _, d := range t.Setting.Draws {
		switch q := t.quantity[d.Quantity]; {
		case q == nil:
			l.fail(d.At, "unknown quantity %s%s", d.Quantity, hint(d.Quantity, keysOf(t.quantity)))
		case !q.Given:
			l.fail(d.At, "%s is drawn, but no question gives it", d.Quantity)
		case d.Step < 0:
			l.fail(d.At, "a step is over nought")
		}
	}
	seen := map[string]bool{}
	for _, s := range t.Setting.Sound {
		if seen[s.ID] {
			l.fail(s.At, "the rule %s stands twice", s.ID)
		}
		seen[s.ID] = true
		l.need(s.At, s.Title, "the title of "+s.ID)
		l.need(s.At, s.Wrong, "what is wrong")
		l.need(s.At, s.Right, "what would be right")
		if !l.hasKey(s.Key) {
			l.fail(s.At, "unknown key %s", s.Key)
		}
		if s.Find != "" && !slices.ContainsFunc(t.Finds, func(f *Find) bool { return f.Words == s.Find }) {
			l.fail(s.At, "unknown find %q", s.Find)
		}
	}
	for _, id := range t.Setting.Common {
		if t.fault[id] == nil {
			l.fail(t.Setting.At, "unknown fault %s%s", id, hint(id, keysOf(t.fault)))
		}
	}
}

// hasKey reports whether a key, or a group of keys, has the path.
func (l *loader) hasKey(path string) bool {
	return slices.ContainsFunc(l.topic.Keys, func(k *Key) bool {
		return k.Path == path || len(k.Path) > len(path) && k.Path[:len(path)+1] == path+"."
	})
}
