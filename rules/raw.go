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

	"github.com/goccy/go-yaml"
	"github.com/goccy/go-yaml/ast"
	"github.com/goccy/go-yaml/parser"
	"github.com/goccy/go-yaml/token"

	"batten/parse"
)

// loader reads YAML files into one topic and gathers what is wrong with them.
type loader struct {
	topic   *Topic
	first   string // the file that says what the topic is
	name    string // the file being read
	group   string // group of the faults of the file being read
	errs    []*Error
	anchors map[string]ast.Node
	files   []placed // further files that topic.yaml lists

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
	body ast.Node
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
func (l *loader) document(fsys fs.FS, name string) ast.Node {
	l.name, l.group, l.anchors = name, "", map[string]ast.Node{}
	d := l.read[name]
	if d == nil {
		d = readDocument(fsys, name)
	}
	l.errs = append(l.errs, d.errs...)
	return d.body
}

func readDocument(fsys fs.FS, name string) *document {
	fail := func(line, column int, format string, args ...any) *document {
		return &document{errs: []*Error{{Place{name, line, column}, fmt.Sprintf(format, args...)}}}
	}
	data, err := fs.ReadFile(fsys, name)
	if err != nil {
		return fail(1, 1, "%v", err)
	}
	f, err := parser.ParseBytes(data, 0, parser.AllowDuplicateMapKey())
	if err != nil {
		if s, ok := err.(*yaml.SyntaxError); ok && s.Token != nil && s.Token.Position != nil {
			return fail(s.Token.Position.Line, s.Token.Position.Column, "not sound YAML: %s", s.Message)
		}
		return fail(1, 1, "not sound YAML: %v", err)
	}
	d := &document{}
	for _, doc := range f.Docs {
		switch {
		case doc.Body == nil:
		case d.body != nil:
			at := doc.Body.GetToken().Position
			return fail(at.Line, at.Column, "a second document begins here; one file holds one")
		default:
			d.body = doc.Body
		}
	}
	if d.body == nil {
		return fail(1, 1, "the file is empty")
	}
	return d
}

// at is the place of a node.
func (l *loader) at(n ast.Node) Place {
	p := Place{File: l.name, Line: 1, Column: 1}
	switch m := n.(type) {
	case *ast.MappingNode:
		if len(m.Values) > 0 && m.Values[0].Key != nil {
			n = m.Values[0].Key
		}
	case *ast.MappingValueNode:
		if m.Key != nil {
			n = m.Key
		}
	}
	if n != nil {
		if t := n.GetToken(); t != nil && t.Position != nil {
			p.Line, p.Column = t.Position.Line, t.Position.Column
		}
	}
	return p
}

// inside is the place where the text of a plain value begins, behind a quotation mark.
func (l *loader) inside(n ast.Node) Place {
	p := l.at(n)
	if t := n.GetToken(); t != nil && (t.Type == token.DoubleQuoteType || t.Type == token.SingleQuoteType) {
		p.Column++
	}
	return p
}

// plain follows anchors and aliases to the node they stand for.
func (l *loader) plain(n ast.Node) ast.Node {
	switch m := n.(type) {
	case *ast.AnchorNode:
		if m.Name != nil {
			l.anchors[m.Name.String()] = m.Value
		}
		return m.Value
	case *ast.AliasNode:
		if v, ok := l.anchors[m.Value.String()]; ok {
			return v
		}
		l.fail(l.at(n), "nothing stands behind *%s", m.Value.String())
	}
	return n
}

// fields are the keys a mapping may have, each with what reads its value.
type fields map[string]func(ast.Node)

// mapping reads a mapping strictly: an unknown key or one that stands twice is
// refused, and so is a missing one of those that must stand.
func (l *loader) mapping(n ast.Node, f fields, must ...string) {
	values, ok := l.entries(n)
	if !ok {
		return
	}
	seen := map[string]bool{}
	for _, v := range values {
		key := scalar(v.Key)
		switch read := f[key]; {
		case seen[key]:
			l.fail(l.at(v.Key), "the key %s stands twice", key)
		case read == nil:
			l.fail(l.at(v.Key), "unknown key %s%s", key, hint(key, keysOf(f)))
		default:
			read(l.plain(v.Value))
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
func (l *loader) entries(n ast.Node) ([]*ast.MappingValueNode, bool) {
	switch m := n.(type) {
	case *ast.MappingNode:
		return m.Values, true
	case *ast.MappingValueNode:
		return []*ast.MappingValueNode{m}, true
	}
	l.fail(l.at(n), "keys with their values are wanted here")
	return nil, false
}

// list reads every item of a list.
func (l *loader) list(n ast.Node, item func(ast.Node)) {
	s, ok := n.(*ast.SequenceNode)
	if !ok {
		l.fail(l.at(n), "a list is wanted here")
		return
	}
	for _, v := range s.Values {
		item(l.plain(v))
	}
}

// scalar returns the text of a plain value.
func scalar(n ast.Node) string {
	switch m := n.(type) {
	case nil, *ast.NullNode:
		return ""
	case *ast.StringNode:
		return m.Value
	case *ast.LiteralNode:
		if m.Value != nil {
			return strings.TrimRight(m.Value.Value, "\n")
		}
		return ""
	}
	if t := n.GetToken(); t != nil {
		return t.Value
	}
	return ""
}

// word reads a plain value as text.
func (l *loader) word(n ast.Node) string {
	switch n.(type) {
	case *ast.MappingNode, *ast.MappingValueNode, *ast.SequenceNode:
		l.fail(l.at(n), "plain text is wanted here")
		return ""
	}
	return strings.TrimSpace(scalar(n))
}

func (l *loader) str(to *string) func(ast.Node) {
	return func(n ast.Node) { *to = l.word(n) }
}

func (l *loader) strs(to *[]string) func(ast.Node) {
	return func(n ast.Node) {
		l.list(n, func(v ast.Node) { *to = append(*to, l.word(v)) })
	}
}

func (l *loader) flag(to *bool) func(ast.Node) {
	return func(n ast.Node) {
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

func (l *loader) number(to *float64) func(ast.Node) {
	return func(n ast.Node) {
		v, err := strconv.ParseFloat(l.word(n), 64)
		if err != nil || math.IsNaN(v) || math.IsInf(v, 0) {
			l.fail(l.at(n), "a number is wanted here, not %q", l.word(n))
		}
		*to = v
	}
}

func (l *loader) integer(to *int) func(ast.Node) {
	return func(n ast.Node) {
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
func (l *loader) formula(to *parse.Expr) func(ast.Node) {
	return func(n ast.Node) { l.jobs = append(l.jobs, &job{text: l.word(n), at: l.inside(n), formula: to}) }
}

// cond reads a condition once every name of the topic is known.
func (l *loader) cond(to *parse.Cond) func(ast.Node) {
	return func(n ast.Node) {
		l.jobs = append(l.jobs, &job{text: l.word(n), at: l.inside(n), isCond: true, cond: to})
	}
}

// readFormulas parses what waits, on all processors, and checks its names.
func (l *loader) readFormulas() {
	const chunk = 64
	known := ids(l.topic.quantity)
	var wait sync.WaitGroup
	for jobs := range slices.Chunk(l.jobs, chunk) {
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
