package solver

import (
	"fmt"
	"strings"

	"batten/rules"
)

// missing refuses what must stand and does not.
func (r *reader) missing(stands, broken map[string]bool) {
	sets := map[string][]*rules.Key{}
	var order []string
	absent := func(k *rules.Key) bool { return !stands[k.Path] && !brokenAbove(k.Path, broken) }
	whole := map[string]bool{} // groups already missed as a whole
	for _, k := range r.q.Topic.Keys {
		if k.OneOf != "" {
			if len(sets[k.OneOf]) == 0 {
				order = append(order, k.OneOf)
			}
			sets[k.OneOf] = append(sets[k.OneOf], k)
			continue
		}
		if k.Optional || !absent(k) {
			continue
		}
		if g, _, ok := strings.Cut(k.Path, "."); ok && r.lines[g] == 0 {
			if !whole[g] {
				whole[g] = true
				r.refuse(1, g, "the group of keys is missing", "add it, with its keys indented under it: "+strings.Join(children(g, r.q.Topic), ", "))
			}
			r.doubtGroup(g)
			continue
		}
		r.missed(k)
	}
	for _, id := range order {
		r.oneOf(sets[id], stands, broken, whole)
	}
}

func brokenAbove(path string, broken map[string]bool) bool {
	for g := range broken {
		if strings.HasPrefix(path, g+".") || path == g {
			return true
		}
	}
	return false
}

// missed refuses a question for want of the key.
func (r *reader) missed(k *rules.Key) {
	r.doubt(k)
	how := "add it: " + r.accepts(k)
	if len(k.Options) == 0 {
		how = "add it, such as " + r.form(k.Path, []*rules.Key{k})
	}
	r.refuse(r.line(k.Path), k.Path, "it is missing ("+k.Title+")", how)
}

// oneOf refuses a set of keys of which not exactly one stands. Keys that share
// a group of their own, below what all of the set share, stand or fall together.
func (r *reader) oneOf(set []*rules.Key, stands, broken, whole map[string]bool) {
	shared := parent(set[0].Path)
	for _, k := range set {
		for shared != "" && !strings.HasPrefix(k.Path, shared+".") {
			shared = parent(shared)
		}
	}
	if brokenAbove(set[0].Path, broken) || whole[topGroup(set[0].Path)] {
		return
	}
	var names, standing []string
	members := map[string][]*rules.Key{}
	for _, k := range set {
		rest := strings.TrimPrefix(strings.TrimPrefix(k.Path, shared), ".")
		first, _, _ := strings.Cut(rest, ".")
		name := joined(shared, first)
		if len(members[name]) == 0 {
			names = append(names, name)
		}
		members[name] = append(members[name], k)
	}
	for _, n := range names {
		if r.lines[n] != 0 {
			standing = append(standing, n)
		}
	}
	switch len(standing) {
	case 0:
		r.doubt(set...)
		line := 1
		if shared != "" {
			line = r.line(shared)
		}
		var how []string
		for _, n := range names {
			how = append(how, r.form(n, members[n]))
		}
		r.refuse(line, names[0], "it is missing ("+set[0].Title+")", "add "+strings.Join(how, ", or "))
	case 1:
		n := standing[0]
		for _, k := range members[n] {
			if !k.Optional && !stands[k.Path] && !brokenAbove(k.Path, broken) {
				r.missed(k)
			}
		}
	default:
		for _, k := range set {
			for _, f := range k.Flags {
				r.unsure[f] = true
			}
		}
		last := standing[0]
		for _, n := range standing[1:] {
			if r.lines[n] >= r.lines[last] {
				last = n
			}
		}
		var others []string
		for _, n := range standing {
			if n != last {
				others = append(others, fmt.Sprintf("%s on line %d", n, r.lines[n]))
			}
		}
		r.refuse(r.lines[last], last, "it stands beside "+strings.Join(others, " and "), "give one of them alone")
	}
}

func parent(path string) string {
	i := strings.LastIndexByte(path, '.')
	if i < 0 {
		return ""
	}
	return path[:i]
}

func topGroup(path string) string {
	g, _, _ := strings.Cut(path, ".")
	return g
}

// form shows how a key, or a group of keys, would be written.
func (r *reader) form(name string, keys []*rules.Key) string {
	last := name[strings.LastIndexByte(name, '.')+1:]
	if len(keys) == 1 && keys[0].Path == name {
		return last + ": " + exampleFigure(r.q.Topic.Quantity(keys[0].Quantity))
	}
	var in []string
	for _, k := range keys {
		in = append(in, strings.TrimPrefix(k.Path, name+".")+": "+exampleFigure(r.q.Topic.Quantity(k.Quantity)))
	}
	return last + ": {" + strings.Join(in, ", ") + "}"
}

// accepts says what may stand at a key.
func (r *reader) accepts(k *rules.Key) string {
	var words []string
	for _, o := range k.Options {
		w := o.Word
		if o.Figure != "" {
			w += " " + exampleFigure(r.q.Topic.Quantity(o.Figure))
		}
		words = append(words, w)
	}
	if k.Quantity != "" {
		words = append(words, exampleFigure(r.q.Topic.Quantity(k.Quantity)))
	}
	if len(k.Options) == 0 {
		return "a figure, such as " + words[0]
	}
	return oneOf(words)
}

func oneOf(words []string) string {
	if len(words) < 2 {
		return strings.Join(words, "")
	}
	return strings.Join(words[:len(words)-1], ", ") + " or " + words[len(words)-1]
}

// suggest names the nearest of the words where there is one, or all of them.
func suggest(near string, words []string) string {
	if near != "" {
		return "did you mean " + near + "?"
	}
	return "it can be " + oneOf(words)
}
