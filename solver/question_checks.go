package solver

import "strings"

// checks refuses figures that the topic's data calls unsound, and parts that
// ask for what the data cannot give. With figures missing it looks at what the
// rest decides; with a word missing nothing is certain, so it keeps still.
func (r *reader) checks() {
	if r.doubtful {
		return
	}
	r.negatives()
	ev := newEvaluator(r.q.Topic, r.q.Flags, r.q.Given)
	asked := map[string]bool{}
	for _, p := range r.q.Parts {
		asked[fold(p.Find.Words)] = true
	}
	refusedKeys := map[string]bool{}
	for _, x := range r.refused {
		refusedKeys[x.Key] = true
	}
	for _, c := range r.q.Topic.Checks {
		if c.Find != "" && !asked[fold(c.Find)] || refusedKeys[c.Key] {
			continue
		}
		if bad, err := ev.holds(c.Refuse); err != nil || !bad {
			continue
		}
		refusedKeys[c.Key] = true // the first thing wrong with a key is the one to mend
		r.refuse(r.line(c.Key), c.Key, r.fill(c.Wrong, ev), r.fill(c.Right, ev))
	}
	sound := len(r.refused) == 0
	for i, p := range r.q.Parts {
		key := r.asked[i]
		line := r.lines[key]
		ok, err := ev.holds(p.Find.When)
		if err == nil && !ok {
			r.refuse(line, key, quote(p.Find.Words)+" can't be asked here", r.fill(p.Find.Else, ev))
			continue
		}
		if !sound {
			continue
		}
		for _, a := range p.Find.Answers {
			if _, ok := ev.value(a); !ok {
				r.refuse(line, key, quote(p.Find.Words)+" can't be had from what is given", "ask for something else, or give more")
				break
			}
		}
	}
}

// negatives refuses figures below nought where none can rightly be, ahead of
// the topic's own checks, whose words are for figures of a sensible sign.
func (r *reader) negatives() {
	done := map[string]bool{}
	for _, k := range r.q.Topic.Keys {
		ids := []string{k.Quantity}
		for _, o := range k.Options {
			ids = append(ids, o.Figure)
		}
		for _, id := range ids {
			q := r.q.Topic.Quantity(id)
			v, given := r.q.Given[id]
			if q == nil || !given || done[id] || q.Signed || v >= 0 {
				continue
			}
			done[id] = true
			r.refuse(r.line(k.Path), k.Path, "a "+q.Title+" of "+r.shown[id]+" is less than nothing", "write it without the minus sign")
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
