package rules

import (
	"slices"
	"strings"

	"batten/parse"
)

// finish names what was read, reads the formulas and checks the whole.
func (l *loader) finish() {
	t := l.topic
	t.quantity, t.fault = map[string]*Quantity{}, map[string]*Fault{}
	for _, q := range t.Quantities {
		if q.ID == "" {
			continue
		}
		if before := t.quantity[q.ID]; before != nil {
			l.fail(q.At, "the quantity %s stands already at %s", q.ID, before.At)
			continue
		}
		t.quantity[q.ID] = q
	}
	for _, f := range slices.Concat(t.Faults, t.Generic) {
		if f.ID == "" {
			continue
		}
		if before := t.fault[f.ID]; before != nil {
			l.fail(f.At, "the fault %s stands already at %s", f.ID, before.At)
			continue
		}
		t.fault[f.ID] = f
	}
	for _, k := range t.Keys {
		for _, f := range k.Flags {
			l.flags[f] = true
		}
		for _, o := range k.Options {
			for _, f := range o.Flags {
				l.flags[f] = true
			}
		}
	}
	conditions := map[string]*Condition{}
	for _, c := range t.Conditions {
		switch {
		case c.ID == "":
			continue
		case l.flags[c.ID]:
			l.fail(c.At, "%s is a flag or a condition already", c.ID)
		case t.quantity[c.ID] != nil:
			l.fail(c.At, "%s is a quantity already", c.ID)
		}
		l.flags[c.ID] = true
		conditions[c.ID] = c
	}
	l.readFormulas()
	for _, read := range l.later {
		read()
	}
	l.generics()
	for _, check := range []func(){l.topicTexts, l.keys, l.quantitiesSound, l.faultsSound, l.references, l.tablesSound, l.wordsSound, l.sketchesSound, l.settingSound} {
		check()
	}
	if len(l.errs) == 0 {
		l.circles(conditions)
	}
}

// generics gives the topic's own sites to generic faults.
func (l *loader) generics() {
	for _, a := range l.added {
		f := l.topic.fault[a.fault.text]
		if f == nil || !slices.Contains(l.topic.Generic, f) {
			l.fail(a.fault.at, "%s is no fault of %s", a.fault.text, genericName)
			continue
		}
		f.Sites = append(f.Sites, a.site)
	}
}

// need refuses a missing text.
func (l *loader) need(at Place, text, what string) {
	if strings.TrimSpace(text) == "" {
		l.fail(at, "%s is missing", what)
	}
}

func (l *loader) topicTexts() {
	at := Place{l.first, 1, 1}
	l.need(at, l.topic.ID, "the topic's id")
	l.need(at, l.topic.Title, "the topic's title")
	l.need(at, l.topic.Caution, "the topic's caution")
}

func (l *loader) keys() {
	t, seen := l.topic, map[string]bool{}
	carried := map[string]bool{}
	for _, k := range t.Keys {
		l.need(k.At, k.Title, "the title of the key "+k.Path)
		if seen[k.Path] {
			l.fail(k.At, "the key %s stands twice", k.Path)
		}
		seen[k.Path] = true
		carried[k.Quantity] = true
		l.given(k.At, k.Quantity)
		if k.Quantity == "" && len(k.Options) == 0 {
			l.fail(k.At, "the key %s carries neither a figure nor a word", k.Path)
		}
		words := map[string]bool{}
		for _, o := range k.Options {
			if words[o.Word] {
				l.fail(o.At, "the word %q stands twice at the key %s", o.Word, k.Path)
			}
			words[o.Word] = true
			l.given(o.At, o.Figure)
			carried[o.Figure] = true
			if o.Value != nil && k.Quantity == "" {
				l.fail(o.At, "%q stands for a figure, but the key %s carries none", o.Word, k.Path)
			}
		}
	}
	for _, q := range t.Quantities {
		if q.Given && q.ID != "" && !carried[q.ID] {
			l.fail(q.At, "%s is given, but no key carries it", q.ID)
		}
	}
}

// given refuses a key's quantity that is unknown or not a given.
func (l *loader) given(at Place, id string) {
	if id == "" {
		return
	}
	switch q := l.topic.quantity[id]; {
	case q == nil:
		l.fail(at, "unknown quantity %s%s", id, hint(id, keysOf(l.topic.quantity)))
	case !q.Given:
		l.fail(at, "%s has no given: true, though a key carries it", id)
	}
}

func (l *loader) quantitiesSound() {
	t := l.topic
	for _, q := range t.Quantities {
		l.need(q.At, q.ID, "the quantity's id")
		l.need(q.At, q.Title, "the title of "+q.ID)
		if q.Places < 0 || q.Places > 9 {
			l.fail(q.At, "%s has %d places", q.ID, q.Places)
		}
		if !q.Given && len(q.Ways) == 0 {
			l.fail(q.At, "%s is neither given nor has a formula", q.ID)
		}
		if q.Given && q.Range == nil {
			l.fail(q.At, "%s is given, so it needs a range", q.ID)
		}
		if q.State != "" && t.Words.States[q.State] == nil {
			l.fail(q.At, "unknown state %s of %s%s", q.State, q.ID, hint(q.State, keysOf(t.Words.States)))
		}
		if q.Direction != "" && !slices.ContainsFunc(t.Directions, func(d *Direction) bool { return d.ID == q.Direction }) {
			l.fail(q.At, "unknown direction %s of %s", q.Direction, q.ID)
		}
		if u, ok := parse.LookupUnit(q.Unit); ok {
			for _, also := range q.Also {
				if v, ok := parse.LookupUnit(also); ok && v.Dim != u.Dim && !looseUnit(u, v) {
					l.fail(q.At, "%s is in %s and can't be stated in %s", q.ID, q.Unit, also)
				}
			}
		}
	}
}

// looseUnit allows for units that students write one power of a length short:
// a moment of volume in m3, a space per tonne in m3.
func looseUnit(u, v *parse.Unit) bool {
	return v.Dim.Mass == 0 && v.Dim.Angle == 0 && u.Dim.Angle == 0 && v.Dim.Length == 3
}

func (l *loader) faultsSound() {
	t := l.topic
	for _, f := range slices.Concat(t.Faults, t.Generic) {
		l.need(f.At, f.ID, "the fault's id")
		l.need(f.At, f.Title, "the title of "+f.ID)
		l.need(f.At, f.Idea, "the idea of "+f.ID)
		l.need(f.At, f.Example.Wrong, "the wrong line in the example of "+f.ID)
		l.need(f.At, f.Example.Right, "the right line in the example of "+f.ID)
		l.need(f.At, f.Group, "the group of "+f.ID)
		if !slices.Contains([]string{"principal", "clerical", "remark"}, f.Severity) {
			l.fail(f.At, "the severity of %s is %q; it is principal, clerical or remark", f.ID, f.Severity)
		}
		for _, s := range f.Sites {
			if q := t.quantity[s.Quantity]; q == nil {
				l.fail(s.At, "unknown quantity %s%s", s.Quantity, hint(s.Quantity, keysOf(t.quantity)))
			} else if len(q.Ways) == 0 {
				l.fail(s.At, "%s is given: no step of it can be spoilt", s.Quantity)
			}
		}
	}
	for _, f := range t.Faults {
		if len(f.Sites) == 0 && !slices.ContainsFunc(t.Directions, func(d *Direction) bool { return d.Missing == f.ID || d.Reversed == f.ID }) {
			l.fail(f.At, "%s has no sites and no direction names it: it could never be found", f.ID)
		}
	}
}

// references checks what names something else.
func (l *loader) references() {
	t := l.topic
	unknown := func(at Place, id string) {
		if id != "" && t.fault[id] == nil {
			l.fail(at, "unknown fault %s%s", id, hint(id, keysOf(t.fault)))
		}
	}
	for id, at := range l.idea {
		unknown(at, id)
	}
	ids := map[string]bool{}
	for _, d := range t.Directions {
		unknown(d.At, d.Missing)
		unknown(d.At, d.Reversed)
		if ids[d.ID] {
			l.fail(d.At, "the direction %s stands twice", d.ID)
		}
		ids[d.ID] = true
	}
	words := map[string]bool{}
	for _, f := range t.Finds {
		if words[f.Words] {
			l.fail(f.At, "the find %q stands twice", f.Words)
		}
		words[f.Words] = true
		if f.When != nil {
			l.need(f.At, f.Else, "else, the reason why it can't be found,")
		}
		if len(f.Answers) == 0 {
			l.fail(f.At, "the find %q has no answers", f.Words)
		}
		for _, a := range f.Answers {
			if t.quantity[a] == nil {
				l.fail(f.At, "unknown quantity %s%s", a, hint(a, keysOf(t.quantity)))
			}
		}
	}
	for _, c := range t.Checks {
		l.need(c.At, c.Wrong, "what is wrong")
		l.need(c.At, c.Right, "what would be right")
		if c.Find != "" && !words[c.Find] {
			l.fail(c.At, "unknown find %q", c.Find)
		}
		if !slices.ContainsFunc(t.Keys, func(k *Key) bool { return k.Path == c.Key || strings.HasPrefix(k.Path, c.Key+".") }) {
			l.fail(c.At, "unknown key %s", c.Key)
		}
	}
	for _, b := range t.Bounds {
		l.need(b.At, b.Says, "what the bound says")
		if t.quantity[b.Quantity] == nil {
			l.fail(b.At, "unknown quantity %s%s", b.Quantity, hint(b.Quantity, keysOf(t.quantity)))
		}
	}
}

func (l *loader) tablesSound() {
	for _, t := range l.topic.Tables {
		has := func(axes []*Axis, id string) bool {
			return slices.ContainsFunc(axes, func(a *Axis) bool { return a.ID == id })
		}
		for row, cells := range t.Cells {
			if !has(t.Rows, row) {
				l.fail(t.At, "the table %s has cells in a row %s, which it has not", t.ID, row)
			}
			for col := range cells {
				if !has(t.Columns, col) {
					l.fail(t.At, "the table %s has a cell in a column %s, which it has not", t.ID, col)
				}
			}
		}
	}
}

func (l *loader) wordsSound() {
	for state := range l.topic.Words.Headings {
		if l.topic.Words.States[state] == nil {
			l.fail(Place{l.first, 1, 1}, "headings speak of an unknown state %s", state)
		}
	}
}

// styles are those in which the shapes of a sketch may be drawn.
var styles = []string{"hull", "sea", "waterline-before", "waterline-after", "flat", "flooded", "intact", "dimension", "axis"}

func (l *loader) sketchesSound() {
	kinds := map[string]int{"rect": 4, "line": 4, "mark": 2}
	for _, s := range l.topic.Sketches {
		l.need(s.At, s.Title, "the title of the sketch "+s.ID)
		for _, h := range s.Shapes {
			n, ok := kinds[h.Kind]
			switch {
			case !ok:
				l.fail(h.At, "unknown kind of shape %q; it is rect, line or mark", h.Kind)
			case len(h.Coords) != n:
				l.fail(h.At, "a %s has %d coordinates, not %d", h.Kind, n, len(h.Coords))
			}
			switch {
			case h.Style == "":
			case h.Kind != "mark" && !slices.Contains([]string{"hull", "axis", "dimension"}, h.Style) && l.topic.Legend[h.Style] == "" && slices.Contains(styles, h.Style):
				l.fail(h.At, "the legend does not say what the style %s stands for", h.Style)
			case !slices.Contains(styles, h.Style):
				l.fail(h.At, "unknown style %q%s", h.Style, hint(h.Style, slices.Clone(styles)))
			}
		}
	}
}

// circles refuses ways that rest on themselves, through formulas or conditions.
func (l *loader) circles(conditions map[string]*Condition) {
	t := l.topic
	const (
		open = iota + 1
		done
	)
	state := map[string]int{}
	var path []string
	var visit func(id string)
	cond := func(c parse.Cond) {
		walkCond(c, func(f string) {
			if conditions[f] != nil {
				visit(f)
			}
		}, func(e parse.Expr) {
			for _, n := range parse.Names(e) {
				visit(n.Text)
			}
		})
	}
	visit = func(id string) {
		switch state[id] {
		case done:
			return
		case open:
			from := slices.Index(path, id)
			at := Place{}
			if q := t.quantity[id]; q != nil {
				at = q.At
			} else {
				at = conditions[id].At
			}
			l.fail(at, "%s rests on itself: %s", id, strings.Join(append(slices.Clone(path[from:]), id), " ← "))
			return
		}
		state[id] = open
		path = append(path, id)
		if q := t.quantity[id]; q != nil {
			cond(q.When)
			for _, w := range q.Ways {
				cond(w.When)
				for _, n := range parse.Names(w.Formula) {
					visit(n.Text)
				}
			}
		} else {
			cond(conditions[id].When)
		}
		path = path[:len(path)-1]
		state[id] = done
	}
	for _, q := range t.Quantities {
		visit(q.ID)
	}
	for _, c := range t.Conditions {
		visit(c.ID)
	}
}

// template reads a text with placeholders and refuses one that names nothing.
func (l *loader) template(to *string) func(*node) {
	return func(n *node) {
		*to = l.word(n)
		text, at := *to, l.at(n)
		l.later = append(l.later, func() {
			for _, id := range placeholders(text) {
				if l.topic.quantity[id] == nil && !slices.Contains(fillWords, id) {
					l.fail(at, "the placeholder {%s} names nothing%s", id, hint(id, append(keysOf(l.topic.quantity), fillWords...)))
				}
			}
			if strings.Count(text, "{") != strings.Count(text, "}") || strings.Count(text, "{") != len(placeholders(text)) {
				l.fail(at, "a brace without its fellow in %q", text)
			}
		})
	}
}
