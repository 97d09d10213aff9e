package solver

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"batten/parse"
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
var commonKeys = []string{"id", "topic", "title", "parts", "marking", "minutes"}

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
	const right = "letters, digits and hyphens, such as id: hold-above-tank-top"
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
			what := string(c)
			if c == ' ' {
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

// keys reads every key of the topic, refusing those that it does not know,
// those that are missing and those of which only one may stand.
//
// A topic with lists of like items (weights loaded, tanks, holds) will need a
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
				// {draught: 4,5 m}: the comma has parted the figure
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
// within braces: {draught: 4,5 m} is draught: 4 and an empty key "5 m".
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

// key reads the value of one key: a figure, a word, or a word and a figure.
func (r *reader) key(k *rules.Key, e entry) {
	bad := func(wrong, right string) {
		r.doubt(k)
		r.refuse(e.line, k.Path, wrong, right)
	}
	if e.value.kind != textNode {
		bad("it is "+e.value.describe(), r.accepts(k))
		return
	}
	text := strings.Join(strings.Fields(e.value.text), " ")
	if text == "" {
		bad("it is empty", r.accepts(k))
		return
	}
	if e.value.split {
		bad("its value runs on over the next line", "each key has a colon behind it, and its value on the same line")
		return
	}
	r.q.Written[k.Path] = text
	folded := fold(text)
	var words []string
	extra := "" // a word behind which something stands that may not
	for _, o := range k.Options {
		w := fold(o.Word)
		words = append(words, o.Word)
		rest, follows := strings.CutPrefix(folded, w)
		if !follows || rest != "" && rest[0] != ' ' {
			continue
		}
		fields := strings.Fields(text)
		rest = strings.Join(fields[max(0, len(fields)-len(strings.Fields(rest))):], " ")
		switch {
		case o.Figure == "" && rest == "":
		case o.Figure == "":
			extra = o.Word
			continue // a longer phrase may still fit
		default:
			fq := r.q.Topic.Quantity(o.Figure)
			if rest == "" {
				bad(quote(text)+" wants a figure behind it", "such as "+o.Word+" "+exampleFigure(fq))
				return
			}
			r.figure(k, o.Figure, rest, e.line) // the word counts even where its figure does not
		}
		for _, f := range o.Flags {
			r.q.Flags[f] = true
		}
		if o.Value != nil {
			r.valued = append(r.valued, valued{k, o})
		}
		return
	}
	if k.Quantity == "" || len(words) > 0 && !strings.ContainsAny(text, "0123456789") {
		near := nearest(text, words, r.q.Topic.Words.Synonyms)
		switch {
		case extra != "":
			bad("nothing may follow "+quote(extra)+" here", "write "+extra+" alone")
		case near != "":
			bad(quote(text)+" is not known here", "did you mean "+near+"?")
		default:
			bad(quote(text)+" is not known here", "it can be "+r.accepts(k))
		}
		return
	}
	r.figure(k, k.Quantity, text, e.line)
}

// figure reads a figure of the quantity.
func (r *reader) figure(k *rules.Key, quantity, text string, line int) {
	q := r.q.Topic.Quantity(quantity)
	f, wrong, right := readFigure(text)
	if wrong != "" {
		if right == "" {
			right = "write a figure, such as " + exampleFigure(q)
		}
		r.refuse(line, k.Path, wrong, right)
		return
	}
	v, places, wrong, right := f.in(q, text)
	if wrong == "" && (math.IsNaN(v) || math.IsInf(v, 0)) {
		wrong, right = quote(text)+" is not a figure", exampleFigure(q)
	}
	if wrong != "" {
		r.refuse(line, k.Path, wrong, right)
		return
	}
	r.q.Given[quantity], r.q.Places[quantity] = v, places
	r.shown[quantity] = text
}

// values works out the words that stand for a formula ("full": the breadth of
// the ship), once the figures that they rest on are known.
func (r *reader) values() {
	for left := r.valued; len(left) > 0; {
		var later []valued
		for _, v := range left {
			x, err := parse.Eval(v.option.Value, func(n *parse.Name) (float64, bool) {
				f, ok := r.q.Given[n.Text]
				return f, ok
			})
			if err != nil {
				later = append(later, v)
				continue
			}
			id := v.key.Quantity
			r.q.Given[id], r.q.Places[id] = x, r.placesOf(v.option.Value, id)
		}
		if len(later) == len(left) {
			return // a figure they rest on is missing, and refused as such
		}
		left = later
	}
}

// placesOf is how many decimal places the value of a word has: those of the
// number or the quantity it is, else those the trade gives it.
func (r *reader) placesOf(e parse.Expr, id string) int {
	switch e := e.(type) {
	case *parse.Group:
		return r.placesOf(e.X, id)
	case *parse.Num:
		return e.Places
	case *parse.Name:
		if p, ok := r.q.Places[e.Text]; ok {
			return p
		}
	}
	if q := r.q.Topic.Quantity(id); q != nil {
		return q.Places
	}
	return 0
}

// number is a plain number of marks or minutes.
func number(text string) (float64, bool) {
	f, wrong, _ := readFigure(strings.Join(strings.Fields(text), " "))
	if wrong != "" || f.unit != "" {
		return 0, false
	}
	v, err := strconv.ParseFloat(f.digits, 64)
	return v, err == nil
}
