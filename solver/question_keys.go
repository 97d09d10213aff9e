package solver

import (
	"fmt"
	"strings"
	"unicode"

	"batten/rules"
)

// reader reads one question from its tree, collecting refusals as it goes.
type reader struct {
	q       *Question
	refused []*Refusal
	lines   map[string]int    // dotted path of a key or group that stands in the file → its line
	shown   map[string]string // quantity → its figure as it stands in the file, for messages
	valued  []valued          // words that stand for a formula, worked out when all figures are in
	asked   []string          // for each part read, the path of its find
	// unsure holds the flags that words which could not be read, or are
	// missing, might have set: what hangs on them can't be checked.
	unsure map[string]bool
}

// valued is a word of a key that stands for the value of a formula.
type valued struct {
	key    *rules.Key
	option *rules.Option
}

// The keys that every question has, whatever its topic.
var commonKeys = []string{"id", "topic", "title", "header", "parts", "marking", "minutes"}

func (r *reader) refuse(line int, key, wrong, right string) {
	r.refused = append(r.refused, &Refusal{Line: max(line, 1), Key: key, Wrong: wrong, Right: right})
}

// doubt notes that what the keys would have said is not known.
func (r *reader) doubt(keys ...*rules.Key) {
	for _, k := range keys {
		for _, f := range k.Flags {
			if !r.q.Flags[f] {
				r.unsure[f] = true
			}
		}
		for _, o := range k.Options {
			for _, f := range o.Flags {
				r.unsure[f] = true
			}
		}
	}
}

// doubtGroup notes the same of all keys under a group.
func (r *reader) doubtGroup(path string) {
	for _, k := range r.q.Topic.Keys {
		if strings.HasPrefix(k.Path, path+".") {
			r.doubt(k)
		}
	}
}

// line is the line of the key, or of the nearest group above it that stands.
func (r *reader) line(path string) int {
	for {
		if l, ok := r.lines[path]; ok {
			return l
		}
		i := strings.LastIndexByte(path, '.')
		if i < 0 {
			return 1
		}
		path = path[:i]
	}
}

func (r *reader) question(root *node, topics []*rules.Topic) {
	common := map[string]entry{}
	for _, e := range root.entries {
		common[e.key] = e
		r.lines[plain(e.key)] = e.line
	}
	r.q.Topic = r.topic(common, topics)
	if r.q.Topic == nil {
		return
	}
	r.id(common)
	r.title(common)
	r.header(common)
	r.keys(root)
	r.values()
	r.minutes(common)
	r.marking(common)
	r.parts(common)
	r.checks()
}

func (r *reader) topic(common map[string]entry, topics []*rules.Topic) *rules.Topic {
	ids := make([]string, len(topics))
	for i, t := range topics {
		ids[i] = t.ID
	}
	e, ok := common["topic"]
	if !ok {
		if len(topics) == 1 {
			return topics[0]
		}
		r.refuse(1, "topic", "the topic is missing", "add it: "+oneOf(ids))
		return nil
	}
	if e.value.kind == textNode {
		for _, t := range topics {
			if fold(e.value.text) == fold(t.ID) {
				return t
			}
		}
	}
	r.refuse(e.line, "topic", "the topic is "+e.value.describe()+", which is not known", suggest(nearest(e.value.text, ids, nil), ids))
	if len(topics) == 1 {
		return topics[0] // the rest can be looked at all the same
	}
	return nil
}

const maxIDLength = 80

func (r *reader) id(common map[string]entry) {
	e, ok := common["id"]
	const right = "letters, digits and hyphens, such as id: question-2b"
	switch {
	case !ok:
		r.refuse(1, "id", "the id is missing", right)
		return
	case e.value.kind != textNode || e.value.text == "":
		r.refuse(e.line, "id", "the id is "+e.value.describe(), right)
		return
	}
	id := e.value.text
	for _, c := range id {
		if (c < 'a' || c > 'z') && (c < 'A' || c > 'Z') && (c < '0' || c > '9') && c != '-' {
			what := quote(string(c))
			if unicode.IsSpace(c) {
				what = "a space"
			}
			r.refuse(e.line, "id", "the id "+quote(id)+" holds "+what, right)
			return
		}
	}
	if len(id) > maxIDLength {
		r.refuse(e.line, "id", fmt.Sprintf("the id has %d letters", len(id)), fmt.Sprintf("at most %d", maxIDLength))
		return
	}
	r.q.ID = id
}

func (r *reader) title(common map[string]entry) {
	e, ok := common["title"]
	const right = "a few words that say what the question is"
	switch {
	case !ok:
		r.refuse(1, "title", "the title is missing", right)
	case e.value.kind != textNode || strings.TrimSpace(e.value.text) == "":
		r.refuse(e.line, "title", "the title is "+e.value.describe(), right)
	case len(e.value.text) > 200:
		r.refuse(e.line, "title", "the title is longer than a line", right)
	default:
		r.q.Title = strings.Join(strings.Fields(e.value.text), " ")
	}
}

// header is the line over the title on papers: whose they are.
func (r *reader) header(common map[string]entry) {
	e, ok := common["header"]
	const right = "the line to stand over the title on papers, such as the college and the ship"
	switch {
	case !ok:
	case e.value.kind != textNode || strings.TrimSpace(e.value.text) == "":
		r.refuse(e.line, "header", "the header is "+e.value.describe(), right)
	case len(e.value.text) > 200:
		r.refuse(e.line, "header", "the header is longer than a line", right)
	default:
		r.q.Header = strings.Join(strings.Fields(e.value.text), " ")
	}
}

// keys reads every key of the topic, refusing those that it does not know,
// those that are missing and those of which only one may stand.
//
// A topic with lists of like items (masses, areas) will need a
// key whose value is a list of groups; walk is the place to send its items on,
// each with a path that carries its number.
func (r *reader) keys(root *node) {
	t := r.q.Topic
	keys := map[string]*rules.Key{}
	groups := map[string]bool{}
	for _, k := range t.Keys {
		keys[k.Path] = k
		for i, c := range k.Path {
			if c == '.' {
				groups[k.Path[:i]] = true
			}
		}
	}
	broken := map[string]bool{} // groups that are no groups: what is under them is not missed
	stands := map[string]bool{} // keys that stand, well or badly
	var walk func(n *node, path string)
	walk = func(n *node, path string) {
		for i, e := range n.entries {
			p := joined(path, e.key)
			if path == "" && isCommon(e.key) {
				continue
			}
			if _, seen := r.lines[p]; !seen {
				r.lines[p] = e.line
			}
			k := keys[p]
			switch {
			case i+1 < len(n.entries) && isParted(e, n.entries[i+1]):
				// {size: 4,5 m}: the comma has parted the figure
				stands[p] = true
				whole := e.value.text + "," + n.entries[i+1].key
				r.refuse(e.line, p, "within braces a comma parts two keys, and so "+quote(whole), "write the figure with a decimal point")
			case i > 0 && isParted(n.entries[i-1], e):
			case k == nil && !groups[p]:
				r.unknown(e, path, p, t)
			case k == nil && e.value.kind != mappingNode:
				broken[p] = true
				r.doubtGroup(p)
				r.refuse(e.line, p, "this is "+e.value.describe()+", where keys of its own are wanted", "indented under it: "+strings.Join(children(p, t), ", "))
			case k == nil:
				walk(e.value, p)
			default:
				stands[p] = true
				for _, f := range k.Flags {
					r.q.Flags[f] = true
				}
				r.key(k, e)
			}
		}
	}
	walk(root, "")
	r.missing(stands, broken)
}

func isCommon(key string) bool {
	for _, k := range commonKeys {
		if k == key {
			return true
		}
	}
	return false
}

// children are the keys and groups right under a path, in the topic's order.
func children(path string, t *rules.Topic) []string {
	var out []string
	seen := map[string]bool{}
	for _, k := range t.Keys {
		rest := k.Path
		if path != "" {
			if !strings.HasPrefix(rest, path+".") {
				continue
			}
			rest = rest[len(path)+1:]
		}
		name, _, _ := strings.Cut(rest, ".")
		if !seen[name] {
			seen[name] = true
			out = append(out, name)
		}
	}
	return out
}

// isParted reports whether two entries are one whose figure has a decimal comma
// within braces: {size: 4,5 m} is size: 4 and an empty key "5 m".
func isParted(e, next entry) bool {
	return next.value.kind == emptyNode && next.key != "" && digit(next.key[0]) &&
		e.value.kind == textNode && e.value.text != "" && digit(e.value.text[len(e.value.text)-1])
}

// unknown refuses a key that no topic has, naming the one most likely meant.
func (r *reader) unknown(e entry, path, p string, t *rules.Topic) {
	here := children(path, t)
	if path == "" {
		here = append(append([]string{}, commonKeys...), here...)
	}
	wrong := "the key is not known here"
	if near := nearest(e.key, here, t.Words.Synonyms); near != "" {
		r.refuse(e.line, p, wrong, "did you mean "+near+"?")
		return
	}
	var elsewhere []string
	for _, k := range t.Keys {
		if i := strings.LastIndexByte(k.Path, '.'); fold(k.Path[i+1:]) == fold(e.key) {
			elsewhere = append(elsewhere, k.Path)
		}
	}
	for _, k := range commonKeys {
		if path != "" && fold(k) == fold(e.key) {
			elsewhere = append(elsewhere, k+" (not indented)")
		}
	}
	if len(elsewhere) > 0 {
		r.refuse(e.line, p, wrong, "its place is "+strings.Join(elsewhere, " or "))
		return
	}
	r.refuse(e.line, p, wrong, "the keys here are "+strings.Join(here, ", "))
}
