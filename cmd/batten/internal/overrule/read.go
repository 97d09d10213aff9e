package overrule

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"github.com/goccy/go-yaml"
	"github.com/goccy/go-yaml/ast"
	"github.com/goccy/go-yaml/parser"

	"batten/cmd/batten/internal/near"
	"batten/diagnose"
	"batten/solver"
)

// MostBytes bounds a marker's file.
const MostBytes = 1 << 20

// Paper is one marker's file as read: the word on the script that it lies
// beside, or, in a file for a class, on each script by name.
type Paper struct {
	Own     *Word
	Scripts map[string]*Word
	Lines   map[string]int // script → line of the file, for messages
}

// ReadOne reads the file of one script.
func ReadOne(file string, data []byte) (*Word, error) {
	p, err := read(file, data, false)
	if err != nil {
		return nil, err
	}
	return p.Own, nil
}

// ReadClass reads the file of a class.
func ReadClass(file string, data []byte) (*Paper, error) { return read(file, data, true) }

func read(file string, data []byte, class bool) (*Paper, error) {
	d := &decoder{file: file}
	if len(data) > MostBytes {
		return nil, fmt.Errorf("%s: it is over %d kB: too large for a marker's file", file, MostBytes>>10)
	}
	f, err := parser.ParseBytes(data, 0)
	if err != nil {
		var s *yaml.SyntaxError
		if errors.As(err, &s) && s.GetToken() != nil {
			return nil, fmt.Errorf("%s:%d: this is not sound YAML: %s", file, s.GetToken().Position.Line, s.GetMessage())
		}
		return nil, fmt.Errorf("%s: this is not sound YAML", file)
	}
	var body ast.Node
	for _, doc := range f.Docs {
		switch {
		case doc.Body == nil || doc.Body.Type() == ast.NullType || doc.Body.Type() == ast.CommentType:
		case body != nil:
			d.wrong(doc.Body, "a second document: a marker's file has one")
		default:
			body = doc.Body
		}
	}
	p := &Paper{Own: &Word{At: Place{file, 1}}}
	switch {
	case body == nil:
	case class:
		d.class(body, p)
	default:
		d.word(body, p.Own, true)
	}
	if len(d.errs) > 0 {
		return nil, errors.Join(d.errs...)
	}
	return p, nil
}

type decoder struct {
	file string
	errs []error
}

func (d *decoder) place(n ast.Node) Place {
	line := 1
	if t := n.GetToken(); t != nil && t.Position != nil {
		line = t.Position.Line
	}
	if m, ok := n.(*ast.MappingNode); ok && len(m.Values) > 0 {
		line = d.place(m.Values[0].Key).Line
	}
	if m, ok := n.(*ast.MappingValueNode); ok {
		line = d.place(m.Key).Line
	}
	return Place{d.file, line}
}

func (d *decoder) wrong(n ast.Node, format string, args ...any) {
	const most = 20
	if len(d.errs) < most {
		d.errs = append(d.errs, fmt.Errorf("%s: %s", d.place(n), fmt.Sprintf(format, args...)))
	}
}

// fields hands the values of a mapping to those who read them, by key.
func (d *decoder) fields(n ast.Node, what string, read map[string]func(ast.Node)) {
	var values []*ast.MappingValueNode
	switch m := n.(type) {
	case *ast.MappingNode:
		values = m.Values
	case *ast.MappingValueNode:
		values = []*ast.MappingValueNode{m}
	default:
		d.wrong(n, "%s has keys, each with its value: %s", what, strings.Join(sorted(read), ", "))
		return
	}
	seen := map[string]bool{}
	for _, v := range values {
		key := strings.Trim(v.Key.GetToken().Value, `"'`)
		switch f := read[key]; {
		case f == nil:
			hint := "; there are " + strings.Join(sorted(read), ", ")
			if close := near.Words(key, sorted(read)); len(close) > 0 {
				hint = "; did you mean " + close[0] + "?"
			}
			d.wrong(v.Key, "%s has no key %q%s", what, key, hint)
		case seen[key]:
			d.wrong(v.Key, "%q stands twice", key)
		default:
			f(v.Value)
		}
		seen[key] = true
	}
}

func sorted(m map[string]func(ast.Node)) []string {
	var keys []string
	for k := range m {
		keys = append(keys, k)
	}
	slices.Sort(keys)
	return keys
}

func (d *decoder) class(n ast.Node, p *Paper) {
	p.Scripts, p.Lines = map[string]*Word{}, map[string]int{}
	d.fields(n, "a marker's file for a class", map[string]func(ast.Node){
		"marker": d.text(&p.Own.Marker),
		"scripts": func(n ast.Node) {
			read := map[string]func(ast.Node){}
			var values []*ast.MappingValueNode
			switch m := n.(type) {
			case *ast.MappingNode:
				values = m.Values
			case *ast.MappingValueNode:
				values = []*ast.MappingValueNode{m}
			}
			for _, v := range values {
				name := strings.Trim(v.Key.GetToken().Value, `"'`)
				if v.Value.Type() == ast.MappingType || v.Value.Type() == ast.MappingValueType || v.Value.Type() == ast.NullType {
					read[name] = func(n ast.Node) {
						w := &Word{At: d.place(v.Key)}
						if n.Type() != ast.NullType {
							d.word(n, w, false)
						}
						p.Scripts[name], p.Lines[name] = w, w.At.Line
					}
					continue
				}
				read[name] = func(n ast.Node) { d.wrong(n, "what is said of %s has keys: dismiss, change, add, marks", name) }
			}
			d.fields(n, "scripts", read)
		},
	})
	for _, w := range p.Scripts {
		if w.Marker == "" {
			w.Marker = p.Own.Marker
		}
	}
}

func (d *decoder) word(n ast.Node, w *Word, own bool) {
	if own {
		w.At = d.place(n)
	}
	d.fields(n, "a marker's file", map[string]func(ast.Node){
		"marker": d.text(&w.Marker),
		"dismiss": d.each(func(n ast.Node) {
			x := Dismiss{At: d.place(n)}
			d.entry(n, "dismiss", &x.Reason, map[string]func(ast.Node){"line": d.whole(&x.Line), "fault": d.text(&x.Fault)}, "line")
			w.Dismiss = append(w.Dismiss, x)
		}),
		"change": d.each(func(n ast.Node) {
			x := Change{At: d.place(n)}
			d.entry(n, "change", &x.Reason, map[string]func(ast.Node){
				"line": d.whole(&x.Line), "fault": d.text(&x.Fault), "to": d.text(&x.To), "severity": d.severity(&x.Severity)}, "line")
			if x.To == "" && x.Severity == "" {
				d.wrong(n, "change says neither to which fault (to:) nor to which severity (severity:)")
			}
			w.Change = append(w.Change, x)
		}),
		"add": d.each(func(n ast.Node) {
			x := Add{At: d.place(n)}
			d.entry(n, "add", &x.Reason, map[string]func(ast.Node){
				"line": d.whole(&x.Line), "part": d.letter(&x.Part), "fault": d.text(&x.Fault), "title": d.text(&x.Title), "severity": d.severity(&x.Severity)}, "line")
			if x.Fault == "" && x.Title == "" {
				d.wrong(n, "add names no fault: fault: with an id of the catalogue, or title: in your own words")
			}
			w.Add = append(w.Add, x)
		}),
		"marks": d.each(func(n ast.Node) {
			x := Marks{At: d.place(n)}
			d.entry(n, "marks", &x.Reason, map[string]func(ast.Node){"part": d.letter(&x.Part), "marks": d.number(&x.Marks)}, "part", "marks")
			w.Marks = append(w.Marks, x)
		}),
	})
}

// entry reads one entry of a list, which must have its reason and the keys
// that it can't do without.
func (d *decoder) entry(n ast.Node, what string, reason *string, read map[string]func(ast.Node), need ...string) {
	found := map[string]bool{}
	read["reason"] = d.text(reason)
	for k, f := range read {
		read[k] = func(n ast.Node) { found[k] = true; f(n) }
	}
	before := len(d.errs)
	d.fields(n, what, read)
	if len(d.errs) > before {
		return
	}
	for _, k := range append(need, "reason") {
		if !found[k] {
			d.wrong(n, "%s lacks its %s", what, k)
		}
	}
	if found["reason"] && strings.TrimSpace(*reason) == "" {
		d.wrong(n, "%s has an empty reason", what)
	}
}

func (d *decoder) each(f func(ast.Node)) func(ast.Node) {
	return func(n ast.Node) {
		s, ok := n.(*ast.SequenceNode)
		if !ok {
			d.wrong(n, "a list is wanted here, each entry after a dash")
			return
		}
		for _, v := range s.Values {
			f(v)
		}
	}
}

func (d *decoder) text(to *string) func(ast.Node) {
	return func(n ast.Node) {
		switch v := n.(type) {
		case *ast.StringNode:
			*to = v.Value
		case *ast.LiteralNode:
			*to = strings.TrimSpace(v.Value.Value)
		case *ast.IntegerNode, *ast.FloatNode, *ast.BoolNode:
			*to = n.GetToken().Value
		default:
			d.wrong(n, "words are wanted here")
		}
	}
}

func (d *decoder) letter(to *string) func(ast.Node) {
	read := d.text(to)
	return func(n ast.Node) {
		read(n)
		*to = strings.ToLower(strings.Trim(*to, "() "))
	}
}

func (d *decoder) number(to *float64) func(ast.Node) {
	return func(n ast.Node) {
		v, err := strconv.ParseFloat(n.GetToken().Value, 64)
		if err != nil || math.IsInf(v, 0) || math.IsNaN(v) || v < 0 {
			d.wrong(n, "marks are a number, 0 or more")
			return
		}
		*to = v
	}
}

func (d *decoder) whole(to *int) func(ast.Node) {
	return func(n ast.Node) {
		v, err := strconv.Atoi(n.GetToken().Value)
		if err != nil || v < 1 {
			d.wrong(n, "the number of a line is wanted here, from 1")
			return
		}
		*to = v
	}
}

func (d *decoder) severity(to *diagnose.Severity) func(ast.Node) {
	return func(n ast.Node) {
		switch s := diagnose.Severity(strings.ToLower(n.GetToken().Value)); s {
		case diagnose.Principal, diagnose.Clerical, diagnose.Remark:
			*to = s
		default:
			d.wrong(n, "severity is principal, clerical or remark, not %q", n.GetToken().Value)
		}
	}
}

// Check holds a word against the question: the faults and parts that it names
// must be known, and marks no more than there are.
func (w *Word) Check(q *solver.Question) error {
	var errs []error
	fault := func(at Place, id string) {
		if id == "" || q.Topic.Fault(id) != nil {
			return
		}
		var ids []string
		for _, f := range slices.Concat(q.Topic.Faults, q.Topic.Generic) {
			ids = append(ids, f.ID)
		}
		hint := "; batten faults lists them"
		if close := near.Words(id, ids); len(close) > 0 {
			hint = "; nearest: " + strings.Join(close, ", ")
		}
		errs = append(errs, fmt.Errorf("%s: there is no fault %q%s", at, id, hint))
	}
	part := func(at Place, letter string) *solver.Part {
		for i := range q.Parts {
			if q.Parts[i].Letter == letter {
				return &q.Parts[i]
			}
		}
		if letter != "" {
			errs = append(errs, fmt.Errorf("%s: %s has no part %q", at, q.ID, letter))
		}
		return nil
	}
	for _, c := range w.Change {
		fault(c.At, c.To)
	}
	for _, a := range w.Add {
		fault(a.At, a.Fault)
		part(a.At, a.Part)
	}
	for _, m := range w.Marks {
		if p := part(m.At, m.Part); p != nil && m.Marks > p.Marks {
			errs = append(errs, fmt.Errorf("%s: part (%s) has %v marks, not %v", m.At, m.Part, p.Marks, m.Marks))
		}
	}
	return errors.Join(errs...)
}
