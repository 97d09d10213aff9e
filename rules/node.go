package rules

import (
	"math"

	"github.com/goccy/go-yaml"
	"github.com/goccy/go-yaml/ast"
	"github.com/goccy/go-yaml/parser"
	"github.com/goccy/go-yaml/token"
)

// node is one value of a YAML file with its place: text, a mapping or a list.
type node struct {
	kind         nodeKind
	quoted       bool // text that stood in quotation marks
	line, column int  // from 1; of a mapping, those of its first key
	text         string
	pairs        []pair
	items        []*node
}

type pair struct{ key, value *node }

type nodeKind uint8

const (
	textNode nodeKind = iota // an empty value is text without a letter
	mappingNode
	listNode
)

// readYAML reads any YAML file with the library.
func readYAML(name string, data []byte) (*node, *Error) {
	f, err := parser.ParseBytes(data, 0, parser.AllowDuplicateMapKey())
	if err != nil {
		at := Place{name, 1, 1}
		if s, ok := err.(*yaml.SyntaxError); ok {
			if s.Token != nil && s.Token.Position != nil {
				at.Line, at.Column = s.Token.Position.Line, s.Token.Position.Column
			}
			return nil, &Error{at, "not sound YAML: " + s.Message}
		}
		return nil, &Error{at, "not sound YAML: " + err.Error()}
	}
	r := &treeReader{anchors: map[string]*node{}, left: maxNodes}
	var body *node
	for _, d := range f.Docs {
		if d.Body == nil {
			continue
		}
		n := r.node(d.Body)
		if body != nil {
			return nil, &Error{Place{name, n.line, n.column}, "a second document begins here; one file holds one"}
		}
		body = n
	}
	switch {
	case r.left <= 0:
		return nil, &Error{Place{name, 1, 1}, "the file holds far more than a topic"}
	case r.unknown != nil:
		return nil, &Error{Place{name, r.unknown.line, r.unknown.column}, "nothing stands behind *" + r.unknown.text}
	case body == nil:
		return nil, &Error{Place{name, 1, 1}, "the file is empty"}
	}
	return body, nil
}

// maxNodes bounds what one file may hold.
const maxNodes = 200_000

// treeReader turns the library's tree into nodes; anchors are resolved.
type treeReader struct {
	anchors map[string]*node
	unknown *node // an alias of no anchor
	left    int
}

func (r *treeReader) node(n ast.Node) *node {
	out := place(n)
	if r.left--; r.left <= 0 {
		return out
	}
	switch n := n.(type) {
	case nil, *ast.NullNode:
	case *ast.AnchorNode:
		v := r.node(n.Value)
		r.anchors[n.Name.String()] = v
		return v
	case *ast.AliasNode:
		if v := r.anchors[n.Value.String()]; v != nil {
			return v
		}
		out.text = n.Value.String()
		r.unknown = out
	case *ast.MappingNode:
		out.kind = mappingNode
		for _, v := range n.Values {
			r.pair(out, v)
		}
	case *ast.MappingValueNode:
		out.kind = mappingNode
		r.pair(out, n)
	case *ast.SequenceNode:
		out.kind = listNode
		for _, v := range n.Values {
			out.items = append(out.items, r.node(v))
		}
	case *ast.StringNode:
		out.text = n.Value
	case *ast.LiteralNode:
		if n.Value != nil {
			out.text = n.Value.Value
		}
	default:
		if t := n.GetToken(); t != nil {
			out.text = t.Value
		}
	}
	return out
}

func (r *treeReader) pair(out *node, v *ast.MappingValueNode) {
	k := r.node(v.Key)
	if len(out.pairs) == 0 {
		out.line, out.column = k.line, k.column
	}
	out.pairs = append(out.pairs, pair{k, r.node(v.Value)})
}

// place makes a node with its place and nothing else.
func place(n ast.Node) *node {
	out := &node{line: 1, column: 1}
	if n == nil {
		return out
	}
	if t := n.GetToken(); t != nil {
		out.quoted = t.Type == token.DoubleQuoteType || t.Type == token.SingleQuoteType
		if t.Position != nil {
			out.line, out.column = min(max(t.Position.Line, 1), math.MaxInt32), max(t.Position.Column, 1)
		}
	}
	return out
}
