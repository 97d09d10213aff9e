package rules

import (
	"io/fs"
	"strings"

	"batten/parse"
)

// file reads one file of the topic.
func (l *loader) file(fsys fs.FS, name string) {
	body := l.document(fsys, name)
	if body == nil {
		return
	}
	t := l.topic
	l.mapping(body, fields{
		"id":      l.str(&t.ID),
		"title":   l.str(&t.Title),
		"caution": l.str(&t.Caution),
		"files": func(n *node) {
			l.list(n, func(v *node) { l.files = append(l.files, placed{l.word(v), l.at(v)}) })
		},
		"group":         l.str(&l.group),
		"keys":          each(l, l.key, &t.Keys),
		"conditions":    each(l, l.condition, &t.Conditions),
		"quantities":    each(l, l.quantity, &t.Quantities),
		"checks":        each(l, l.check, &t.Checks),
		"finds":         each(l, l.find, &t.Finds),
		"faults":        each(l, l.fault, &t.Faults),
		"generic_sites": l.genericSites,
		"same_idea":     l.sameIdea,
		"bounds":        each(l, l.bound, &t.Bounds),
		"directions":    each(l, l.direction, &t.Directions),
		"tables":        each(l, l.table, &t.Tables),
		"words":         l.words,
		"marking":       l.marking,
		"sketches":      each(l, l.sketch, &t.Sketches),
		"legend":        l.legend,
		"statement":     each(l, l.sentence, &t.Statement),
		"setting":       l.setting,
	})
}

// generic reads the faults that can arise on any quantity.
func (l *loader) generic(fsys fs.FS) {
	if body := l.document(fsys, genericName); body != nil {
		l.mapping(body, fields{"group": l.str(&l.group), "faults": each(l, l.fault, &l.topic.Generic)}, "faults")
	}
}

// each reads a list whose items are read by item.
func each[T any](l *loader, item func(*node) *T, to *[]*T) func(*node) {
	return func(n *node) {
		l.list(n, func(v *node) { *to = append(*to, item(v)) })
	}
}

func (l *loader) key(n *node) *Key {
	k := &Key{At: l.at(n)}
	l.mapping(n, fields{
		"key": l.str(&k.Path), "quantity": l.str(&k.Quantity), "optional": l.flag(&k.Optional), "one_of": l.str(&k.OneOf),
		"title": l.str(&k.Title), "flags": l.strs(&k.Flags),
		"options": each(l, func(n *node) *Option {
			o := &Option{At: l.at(n)}
			l.mapping(n, fields{"word": l.str(&o.Word), "flags": l.strs(&o.Flags), "value": l.formula(&o.Value), "figure": l.str(&o.Figure)}, "word")
			return o
		}, &k.Options),
	}, "key", "title")
	return k
}

func (l *loader) condition(n *node) *Condition {
	c := &Condition{At: l.at(n)}
	l.mapping(n, fields{"id": l.str(&c.ID), "when": l.cond(&c.When), "title": l.str(&c.Title)}, "id", "when", "title")
	return c
}

func (l *loader) quantity(n *node) *Quantity {
	q := &Quantity{At: l.at(n)}
	single := &Way{At: q.At}
	alone := false
	l.mapping(n, fields{
		"id": l.str(&q.ID), "title": l.str(&q.Title), "symbol": l.str(&q.Symbol), "unit": l.unit(&q.Unit),
		"also": func(n *node) {
			l.list(n, func(v *node) {
				var u string
				l.unit(&u)(v)
				q.Also = append(q.Also, u)
			})
		},
		"places": l.integer(&q.Places), "given": l.flag(&q.Given), "signed": l.flag(&q.Signed), "state": l.str(&q.State),
		"names": l.strs(&q.Names), "symbols": l.strs(&q.Symbols), "when": l.cond(&q.When), "direction": l.str(&q.Direction),
		"not_said": each(l, func(n *node) *NotSaid {
			w := &NotSaid{}
			l.mapping(n, fields{"when": l.cond(&w.When), "words": l.strs(&w.Words)}, "words")
			return w
		}, &q.NotSaid),
		"formula": func(n *node) {
			alone = true
			single.At = l.at(n)
			l.formula(&single.Formula)(n)
		},
		"why": l.str(&single.Why),
		"ways": each(l, func(n *node) *Way {
			w := &Way{At: l.at(n)}
			l.mapping(n, fields{"formula": l.formula(&w.Formula), "when": l.cond(&w.When), "why": l.str(&w.Why)}, "formula")
			return w
		}, &q.Ways),
		"range": func(n *node) {
			q.Range = &Range{}
			l.mapping(n, fields{"from": l.number(&q.Range.From), "to": l.number(&q.Range.To), "step": l.number(&q.Range.Step)}, "from", "to", "step")
			if r := q.Range; r.Step <= 0 || r.To < r.From {
				l.fail(l.at(n), "a range goes from a figure up to a larger one, by a step over nought")
			}
		},
	}, "id", "title", "symbol", "unit", "places", "names")
	switch {
	case alone && len(q.Ways) > 0:
		l.fail(q.At, "%s has both formula and ways; keep one of them", q.ID)
	case alone:
		q.Ways = []*Way{single}
	case single.Why != "":
		l.fail(q.At, "%s has a why, but no formula that it speaks of", q.ID)
	}
	return q
}

// unit reads a unit; "" and "%" are those of a pure ratio.
func (l *loader) unit(to *string) func(*node) {
	return func(n *node) {
		text := l.word(n)
		if text == "" || text == "%" {
			*to = text
			return
		}
		u, ok := parse.LookupUnit(text)
		if !ok {
			l.fail(l.at(n), "unknown unit %q", text)
			return
		}
		*to = u.Text
	}
}

func (l *loader) check(n *node) *Check {
	c := &Check{At: l.at(n)}
	l.mapping(n, fields{"refuse": l.cond(&c.Refuse), "key": l.str(&c.Key), "find": l.str(&c.Find), "wrong": l.template(&c.Wrong), "right": l.template(&c.Right)},
		"refuse", "key", "wrong", "right")
	return c
}

func (l *loader) find(n *node) *Find {
	f := &Find{At: l.at(n)}
	l.mapping(n, fields{"find": l.str(&f.Words), "ask": l.str(&f.Ask), "answers": l.strs(&f.Answers), "when": l.cond(&f.When), "else": l.str(&f.Else)}, "find", "answers")
	return f
}

func (l *loader) fault(n *node) *Fault {
	f := &Fault{At: l.at(n), Group: l.group}
	l.mapping(n, fields{
		"id": l.str(&f.ID), "title": l.str(&f.Title), "severity": l.str(&f.Severity), "group": l.str(&f.Group), "rarity": l.number(&f.Rarity),
		"together": l.flag(&f.Together), "idea": l.template(&f.Idea), "mend": l.template(&f.Mend),
		"sites": each(l, l.site, &f.Sites),
		"example": func(n *node) {
			l.mapping(n, fields{"wrong": l.str(&f.Example.Wrong), "right": l.str(&f.Example.Right)}, "wrong", "right")
		},
	}, "id", "title", "severity", "idea", "example")
	return f
}

func (l *loader) site(n *node) *Site {
	s := &Site{At: l.at(n)}
	l.mapping(n, fields{"quantity": l.str(&s.Quantity), "formula": l.formula(&s.Formula), "when": l.cond(&s.When)}, "quantity", "formula")
	return s
}

// genericSites reads sites that the topic gives to faults of generic.yaml.
func (l *loader) genericSites(n *node) {
	l.list(n, func(n *node) {
		s, name := &Site{At: l.at(n)}, placed{at: l.at(n)}
		l.mapping(n, fields{"fault": l.str(&name.text), "quantity": l.str(&s.Quantity), "formula": l.formula(&s.Formula), "when": l.cond(&s.When)},
			"fault", "quantity", "formula")
		l.added = append(l.added, addedSite{name, s})
	})
}

func (l *loader) sameIdea(n *node) {
	l.list(n, func(n *node) {
		var group []string
		l.list(n, func(v *node) {
			id := l.word(v)
			if before, twice := l.idea[id]; twice {
				l.fail(l.at(v), "%s stands under one idea already, on line %d", id, before.Line)
			}
			l.idea[id] = l.at(v)
			group = append(group, id)
		})
		l.topic.SameIdea = append(l.topic.SameIdea, group)
	})
}

func (l *loader) bound(n *node) *Bound {
	b := &Bound{At: l.at(n)}
	l.mapping(n, fields{"quantity": l.str(&b.Quantity), "holds": l.cond(&b.Holds), "says": l.template(&b.Says)}, "quantity", "holds", "says")
	return b
}

func (l *loader) direction(n *node) *Direction {
	d := &Direction{At: l.at(n)}
	l.mapping(n, fields{
		"id": l.str(&d.ID), "missing": l.str(&d.Missing), "reversed": l.str(&d.Reversed),
		"senses": each(l, func(n *node) *Sense {
			s := &Sense{}
			l.mapping(n, fields{"id": l.str(&s.ID), "sign": l.integer(&s.Sign), "words": l.strs(&s.Words), "when": l.cond(&s.When)}, "id", "words")
			return s
		}, &d.Senses),
	}, "id", "senses")
	return d
}

func (l *loader) table(n *node) *Table {
	t := &Table{At: l.at(n), Cells: map[string]map[string]string{}}
	axis := func(n *node) *Axis {
		a := &Axis{}
		l.mapping(n, fields{"id": l.str(&a.ID), "names": l.strs(&a.Names)}, "id", "names")
		return a
	}
	l.mapping(n, fields{
		"id": l.str(&t.ID), "columns": each(l, axis, &t.Columns), "rows": each(l, axis, &t.Rows),
		"cells": func(n *node) {
			rows, _ := l.entries(n)
			for _, r := range rows {
				row := map[string]string{}
				cells, _ := l.entries(r.value)
				for _, c := range cells {
					at, col, id := l.at(c.key), c.key.text, l.word(c.value)
					row[col] = id
					l.later = append(l.later, func() {
						if l.topic.quantity[id] == nil {
							l.fail(at, "unknown quantity %s%s", id, hint(id, keysOf(l.topic.quantity)))
						}
					})
				}
				t.Cells[r.key.text] = row
			}
		},
	}, "id", "columns", "rows", "cells")
	return t
}

func (l *loader) words(n *node) {
	w := &l.topic.Words
	states := func(to *map[string][]string) func(*node) {
		return func(n *node) {
			*to = map[string][]string{}
			pairs, _ := l.entries(n)
			for _, p := range pairs {
				var list []string
				l.strs(&list)(p.value)
				(*to)[p.key.text] = list
			}
		}
	}
	l.mapping(n, fields{
		"synonyms": func(n *node) {
			w.Synonyms = map[string]string{}
			pairs, _ := l.entries(n)
			for _, p := range pairs {
				key := strings.ToLower(p.key.text)
				if _, twice := w.Synonyms[key]; twice {
					l.fail(l.at(p.key), "the word %q stands twice among the synonyms", key)
				}
				w.Synonyms[key] = strings.ToLower(l.word(p.value))
			}
		},
		"letters": func(n *node) {
			w.Letters = map[string]string{}
			pairs, _ := l.entries(n)
			for _, p := range pairs {
				w.Letters[p.key.text] = strings.ToLower(l.word(p.value))
			}
		},
		"ignore": l.strs(&w.Ignore), "prose": l.strs(&w.Prose), "loose": l.strs(&w.Loose), "states": states(&w.States), "headings": states(&w.Headings),
	})
}

func (l *loader) marking(n *node) {
	charge := func(to *Charge) func(*node) {
		return func(n *node) {
			text := l.word(n)
			share := strings.HasSuffix(text, "%")
			e, err := parse.ParseExpr(text, nil)
			num, v, ok := (*parse.Num)(nil), 0.0, false
			if err == nil {
				num, v, ok = parse.Bare(e)
			}
			if !ok || v < 0 || share && (!num.Percent || v > 1) {
				l.fail(l.at(n), "a share of the marks (50%%) or a number of them is wanted here, not %q", text)
				return
			}
			if share {
				to.Share = v
			} else {
				to.Marks = v
			}
		}
	}
	m := &l.topic.Marking
	l.mapping(n, fields{"principal": charge(&m.Principal), "clerical": charge(&m.Clerical)}, "principal", "clerical")
}

func (l *loader) sketch(n *node) *Sketch {
	s := &Sketch{At: l.at(n)}
	l.mapping(n, fields{
		"id": l.str(&s.ID), "title": l.str(&s.Title), "when": l.cond(&s.When),
		"shapes": each(l, func(n *node) *Shape {
			h := &Shape{At: l.at(n)}
			l.mapping(n, fields{
				"kind": l.str(&h.Kind), "style": l.str(&h.Style), "label": l.template(&h.Label), "when": l.cond(&h.When),
				"at": func(n *node) {
					l.list(n, func(v *node) {
						h.Coords = append(h.Coords, nil)
						i := len(h.Coords) - 1
						var e parse.Expr
						l.formula(&e)(v)
						l.later = append(l.later, func() { h.Coords[i] = e })
					})
				},
			}, "kind", "at")
			return h
		}, &s.Shapes),
	}, "id", "title", "shapes")
	return s
}

// legend reads what the styles of the sketches stand for.
func (l *loader) legend(n *node) {
	words := map[string]*string{}
	fs := fields{}
	for _, style := range styles {
		w := new(string)
		words[style], fs[style] = w, l.str(w)
	}
	l.mapping(n, fs)
	l.topic.Legend = map[string]string{}
	for style, w := range words {
		if *w != "" {
			l.topic.Legend[style] = *w
		}
	}
}

func (l *loader) sentence(n *node) *Sentence {
	s := &Sentence{At: l.at(n)}
	l.mapping(n, fields{"when": l.cond(&s.When), "text": l.template(&s.Text)}, "text")
	return s
}
