package rules

import (
	"fmt"
	"io/fs"
	"math"
	"slices"
	"sort"
	"strconv"
	"strings"
	"sync"

	"batten/parse"
)

// loader reads YAML files into one topic and gathers what is wrong with them.
type loader struct {
	topic *Topic
	first string // the file that says what the topic is
	name  string // the file being read
	group string // group of the faults of the file being read
	errs  []*Error
	files []placed // further files that topic.yaml lists

	read  map[string]*document // files parsed beforehand
	jobs  []*job               // formulas and conditions: read when all names are known
	later []func()             // what else waits for all names
	flags map[string]bool      // flags and conditions of the topic
	added []addedSite          // sites for generic faults
	idea  map[string]Place     // where a fault stands among those of one idea
}

// placed is a word with its place.
type placed struct {
	text string
	at   Place
}

// addedSite is a site that the topic gives to a generic fault.
type addedSite struct {
	fault placed
	site  *Site
}

func (l *loader) fail(at Place, format string, args ...any) {
	l.errs = append(l.errs, &Error{at, fmt.Sprintf(format, args...)})
}

// document is one YAML file, parsed.
type document struct {
	body *node
	errs []*Error
}

// prefetch parses files side by side: reading YAML is most of what loading costs.
func (l *loader) prefetch(fsys fs.FS, names []string) {
	docs := make([]*document, len(names))
	var wait sync.WaitGroup
	for i, n := range names {
		wait.Go(func() { docs[i] = readDocument(fsys, n) })
	}
	wait.Wait()
	for i, n := range names {
		l.read[n] = docs[i]
	}
}

// document returns the mapping of one file, or nil after a failure.
func (l *loader) document(fsys fs.FS, name string) *node {
	l.name, l.group = name, ""
	d := l.read[name]
	if d == nil {
		d = readDocument(fsys, name)
	}
	l.errs = append(l.errs, d.errs...)
	return d.body
}

// readDocument reads one file: by the quick reader where its YAML is as plain
// as that wants, else by the library, which also words what is wrong.
func readDocument(fsys fs.FS, name string) *document {
	data, err := fs.ReadFile(fsys, name)
	if err != nil {
		return &document{errs: []*Error{{Place{name, 1, 1}, err.Error()}}}
	}
	if n, ok := readPlain(string(data)); ok {
		return &document{body: n}
	}
	n, e := readYAML(name, data)
	if e != nil {
		return &document{errs: []*Error{e}}
	}
	return &document{body: n}
}

// at is the place of a node.
func (l *loader) at(n *node) Place {
	if n == nil {
		return Place{l.name, 1, 1}
	}
	return Place{l.name, n.line, n.column}
}

// inside is the place where the text of a plain value begins, behind a quotation mark.
func (l *loader) inside(n *node) Place {
	p := l.at(n)
	if n.quoted {
		p.Column++
	}
	return p
}

// fields are the keys a mapping may have, each with what reads its value.
type fields map[string]func(*node)

// mapping reads a mapping strictly: an unknown key or one that stands twice is
// refused, and so is a missing one of those that must stand.
func (l *loader) mapping(n *node, f fields, must ...string) {
	values, ok := l.entries(n)
	if !ok {
		return
	}
	seen := map[string]bool{}
	for _, v := range values {
		key := v.key.text
		switch read := f[key]; {
		case seen[key]:
			l.fail(l.at(v.key), "the key %s stands twice", key)
		case read == nil:
			l.fail(l.at(v.key), "unknown key %s%s", key, hint(key, keysOf(f)))
		default:
			read(v.value)
		}
		seen[key] = true
	}
	for _, k := range must {
		if !seen[k] {
			l.fail(l.at(n), "%s is missing", k)
		}
	}
}

// entries returns the pairs of a mapping, or fails.
func (l *loader) entries(n *node) ([]pair, bool) {
	if n.kind == mappingNode {
		return n.pairs, true
	}
	l.fail(l.at(n), "keys with their values are wanted here")
	return nil, false
}

// list reads every item of a list.
func (l *loader) list(n *node, item func(*node)) {
	if n.kind != listNode {
		l.fail(l.at(n), "a list is wanted here")
		return
	}
	for _, v := range n.items {
		item(v)
	}
}

// word reads a plain value as text.
func (l *loader) word(n *node) string {
	if n.kind != textNode {
		l.fail(l.at(n), "plain text is wanted here")
		return ""
	}
	return strings.TrimSpace(n.text)
}

func (l *loader) str(to *string) func(*node) {
	return func(n *node) { *to = l.word(n) }
}

func (l *loader) strs(to *[]string) func(*node) {
	return func(n *node) {
		l.list(n, func(v *node) { *to = append(*to, l.word(v)) })
	}
}

func (l *loader) flag(to *bool) func(*node) {
	return func(n *node) {
		switch l.word(n) {
		case "true":
			*to = true
		case "false":
			*to = false
		default:
			l.fail(l.at(n), "true or false is wanted here")
		}
	}
}

func (l *loader) number(to *float64) func(*node) {
	return func(n *node) {
		v, err := strconv.ParseFloat(l.word(n), 64)
		if err != nil || math.IsNaN(v) || math.IsInf(v, 0) {
			l.fail(l.at(n), "a number is wanted here, not %q", l.word(n))
		}
		*to = v
	}
}

func (l *loader) integer(to *int) func(*node) {
	return func(n *node) {
		v, err := strconv.Atoi(l.word(n))
		if err != nil {
			l.fail(l.at(n), "a whole number is wanted here, not %q", l.word(n))
		}
		*to = v
	}
}

// ids is the lexicon of the rules' own notation: the ids of quantities.
type ids map[string]*Quantity

func (q ids) Known(phrase string) bool { return q[phrase] != nil }

// job is a formula or a condition that waits until every name is known.
type job struct {
	text    string
	at      Place
	isCond  bool
	formula *parse.Expr
	cond    *parse.Cond
	err     error
}

// formula reads a formula once every quantity of the topic is known.
func (l *loader) formula(to *parse.Expr) func(*node) {
	return func(n *node) { l.jobs = append(l.jobs, &job{text: l.word(n), at: l.inside(n), formula: to}) }
}

// cond reads a condition once every name of the topic is known.
func (l *loader) cond(to *parse.Cond) func(*node) {
	return func(n *node) {
		l.jobs = append(l.jobs, &job{text: l.word(n), at: l.inside(n), isCond: true, cond: to})
	}
}

// readFormulas parses what waits, on all processors, and checks its names.
func (l *loader) readFormulas() {
	const chunk = 64
	known := ids(l.topic.quantity)
	// The same words stand in many places, conditions above all: they are parsed
	// once, and what comes of them, which never changes, is shared.
	type words struct {
		text   string
		isCond bool
	}
	twin := map[words]*job{}
	var distinct []*job
	for _, j := range l.jobs {
		w := words{j.text, j.isCond}
		if twin[w] == nil {
			twin[w] = j
			distinct = append(distinct, j)
		}
	}
	var wait sync.WaitGroup
	for jobs := range slices.Chunk(distinct, chunk) {
		wait.Go(func() {
			for _, j := range jobs {
				if j.isCond {
					*j.cond, j.err = parse.ParseCond(j.text, known)
				} else {
					*j.formula, j.err = parse.ParseExpr(j.text, nil) // any word is a name; which are known is told better below
				}
			}
		})
	}
	wait.Wait()
	for _, j := range l.jobs {
		if first := twin[words{j.text, j.isCond}]; first != j {
			j.err = first.err
			if j.isCond {
				*j.cond = *first.cond
			} else {
				*j.formula = *first.formula
			}
		}
		switch {
		case j.err != nil && j.isCond:
			l.fail(j.at, "the condition %q can't be read: %v", j.text, j.err)
		case j.err != nil:
			l.fail(j.at, "the formula %q can't be read: %v", j.text, j.err)
		case j.isCond:
			walkCond(*j.cond, func(flag string) {
				if !l.flags[flag] {
					l.fail(j.at, "unknown flag or condition %s%s", flag, hint(flag, keysOf(l.flags)))
				}
			}, func(parse.Expr) {})
		default:
			for _, name := range parse.Names(*j.formula) {
				if l.topic.quantity[name.Text] == nil {
					at := j.at
					at.Column += name.At.From - 1
					l.fail(at, "unknown quantity %s%s", name.Text, hint(name.Text, keysOf(l.topic.quantity)))
				}
			}
		}
	}
}

// walkCond visits the flags of a condition and the formulas it compares.
func walkCond(c parse.Cond, flag func(string), expr func(parse.Expr)) {
	switch c := c.(type) {
	case *parse.Flag:
		flag(c.Name)
	case *parse.Not:
		walkCond(c.X, flag, expr)
	case *parse.And:
		for _, x := range c.Conds {
			walkCond(x, flag, expr)
		}
	case *parse.Or:
		for _, x := range c.Conds {
			walkCond(x, flag, expr)
		}
	case *parse.Compare:
		expr(c.X)
		expr(c.Y)
	}
}

// hint names the known word that is nearest to one that is not known.
func hint(word string, known []string) string {
	best, dist := "", len(word)/3+1
	sort.Strings(known)
	for _, k := range known {
		if d := distance(word, k, dist); d < dist {
			best, dist = k, d
		}
	}
	if best == "" {
		return ""
	}
	return " (is " + best + " meant?)"
}

func keysOf[V any](m map[string]V) []string {
	out := make([]string, 0, len(m))
	for k := range m {
		out = append(out, k)
	}
	return out
}
