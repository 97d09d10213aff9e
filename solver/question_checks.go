package solver

import (
	"strings"

	"batten/parse"
	"batten/rules"
)

// checks refuses figures that the topic's data calls unsound, and parts that
// ask for what the data cannot give. What hangs on a figure or a word that is
// missing or was refused is left alone: mending that may mend it too.
func (r *reader) checks() {
	r.negatives()
	ev := newEvaluator(r.q.Topic, r.q.Flags, r.q.Given)
	asked := map[string]bool{}
	for _, p := range r.q.Parts {
		asked[fold(p.Find.Words)] = true
	}
	refused := map[string]bool{}
	for _, x := range r.refused {
		refused[x.Key] = true
	}
	for _, c := range r.q.Topic.Checks {
		if c.Find != "" && !asked[fold(c.Find)] || refused[c.Key] || !r.settled(c.Refuse) {
			continue
		}
		if bad, err := ev.holds(c.Refuse); err != nil || !bad {
			continue
		}
		refused[c.Key] = true // the first thing wrong with a key is the one to mend
		right := r.fill(c.Right, ev)
		if as := r.asPercent(c.Key); as != "" {
			right = "write " + as + " if that is meant"
		}
		r.refuse(r.line(c.Key), c.Key, r.fill(c.Wrong, ev), right)
		r.distrust(c.Key)
		ev = newEvaluator(r.q.Topic, r.q.Flags, r.q.Given)
	}
	sound := len(r.refused) == 0
	for i, p := range r.q.Parts {
		key := r.asked[i]
		if !r.settled(p.Find.When) {
			continue
		}
		if ok, err := ev.holds(p.Find.When); err == nil && !ok {
			why, right, _ := strings.Cut(r.fill(p.Find.Else, ev), "; ")
			if right == "" {
				right = "ask for something else"
			}
			r.refuse(r.lines[key], key, quote(p.Find.Words)+" can't be asked here: "+why, right)
			continue
		}
		if !sound {
			continue
		}
		for _, a := range p.Find.Answers {
			if _, ok := ev.value(a); !ok {
				r.refuse(r.lines[key], key, quote(p.Find.Words)+" can't be had from what is given", "ask for something else, or give more")
				break
			}
		}
	}
}

// settled reports whether a condition can be decided: whether, where words are
// in doubt, it hangs on none of them. Figures that were worked out may hang on
// any word.
func (r *reader) settled(c parse.Cond) bool {
	if len(r.unsure) == 0 {
		return true
	}
	seen := map[string]bool{}
	var walk func(c parse.Cond) bool
	all := func(conds []parse.Cond) bool {
		for _, x := range conds {
			if !walk(x) {
				return false
			}
		}
		return true
	}
	walk = func(c parse.Cond) bool {
		switch c := c.(type) {
		case *parse.Flag:
			if r.unsure[c.Name] || seen[c.Name] {
				return !r.unsure[c.Name]
			}
			seen[c.Name] = true
			for _, d := range r.q.Topic.Conditions {
				if d.ID == c.Name {
					return walk(d.When)
				}
			}
		case *parse.Not:
			return walk(c.X)
		case *parse.And:
			return all(c.Conds)
		case *parse.Or:
			return all(c.Conds)
		case *parse.Compare:
			for _, n := range append(parse.Names(c.X), parse.Names(c.Y)...) {
				if q := r.q.Topic.Quantity(n.Text); q == nil || !q.Given {
					return false
				}
			}
		}
		return true
	}
	return walk(c)
}

// asPercent is the figure of a refused key with the percent sign that it seems
// to want: a share over one, up to a hundred, written bare.
func (r *reader) asPercent(path string) string {
	for _, k := range r.q.Topic.Keys {
		if q := r.q.Topic.Quantity(k.Quantity); k.Path == path && q != nil && contains(q.Also, "%") {
			if v := r.q.Given[q.ID]; v > 1 && v <= 100 && !strings.ContainsAny(r.shown[q.ID], "%p") {
				return r.shown[q.ID] + "%"
			}
		}
	}
	return ""
}

// distrust forgets the figures of a key that was refused, so that nothing is
// told of what follows from them.
func (r *reader) distrust(path string) {
	for _, k := range r.q.Topic.Keys {
		if k.Path == path {
			for _, id := range figuresOfKey(k) {
				delete(r.q.Given, id)
			}
		}
	}
}

func figuresOfKey(k *rules.Key) []string {
	ids := []string{k.Quantity}
	for _, o := range k.Options {
		ids = append(ids, o.Figure)
	}
	return ids
}

// negatives refuses figures below nought where none can rightly be, ahead of
// the topic's own checks, whose words are for figures of a sensible sign.
func (r *reader) negatives() {
	for _, k := range r.q.Topic.Keys {
		for _, id := range figuresOfKey(k) {
			q := r.q.Topic.Quantity(id)
			v, given := r.q.Given[id]
			if q == nil || !given || q.Signed || v >= 0 || r.shown[id] == "" {
				continue
			}
			r.refuse(r.line(k.Path), k.Path, quote(r.shown[id])+" is less than nothing", "write it without the minus sign ("+k.Title+")")
			delete(r.q.Given, id)
		}
	}
}

// fill puts figures into a text of the topic's data: {quantity} becomes its
// figure as the question has it, or as it works out.
func (r *reader) fill(text string, ev *evaluator) string {
	var b strings.Builder
	for {
		before, rest, ok := strings.Cut(text, "{")
		b.WriteString(before)
		if !ok {
			return b.String()
		}
		id, after, ok := strings.Cut(rest, "}")
		if !ok {
			b.WriteString("{" + rest)
			return b.String()
		}
		text = after
		q := r.q.Topic.Quantity(id)
		v, known := ev.value(id)
		switch shown, as := r.shown[id]; {
		case as:
			b.WriteString(plain(shown))
		case q == nil || !known:
			b.WriteString(strings.ReplaceAll(id, "_", " "))
		default:
			b.WriteString(FigureText(q, v))
		}
	}
}
