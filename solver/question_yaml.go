package solver

import (
	"bytes"
	"errors"
	"fmt"
	"regexp"
	"strings"
	"sync"
	"unicode/utf8"

	"github.com/goccy/go-yaml"
	"github.com/goccy/go-yaml/ast"
	"github.com/goccy/go-yaml/lexer"
	"github.com/goccy/go-yaml/parser"
	"github.com/goccy/go-yaml/token"
)

// Limits on a question file. A question of a paper is well under two
// kilobytes; the limits keep the YAML reader, whose cost grows with the square
// of the nesting, far from any second.
const (
	maxQuestionBytes  = 64 << 10
	maxQuestionTokens = 4000
	maxQuestionNested = 12
)

// entry is one "key: value" of a question file, with the line of its key.
type entry struct {
	key   string
	line  int
	value *node
}

// node is one value of a question file, freed from the YAML library: a figure
// or words (text), a mapping (entries), a list (items) or nothing at all.
type node struct {
	line    int
	kind    nodeKind
	text    string // kind textNode: as written, quotes taken off
	split   bool   // the text runs over more than one line of the file
	entries []entry
	items   []*node
}

type nodeKind uint8

const (
	emptyNode nodeKind = iota
	textNode
	mappingNode
	listNode
)

// describe says what a node is, for "is X, where Y is wanted".
func (n *node) describe() string {
	switch n.kind {
	case textNode:
		if strings.TrimSpace(n.text) == "" {
			return "empty"
		}
		return quote(n.text)
	case mappingNode:
		return "a group of keys"
	case listNode:
		return "a list"
	}
	return "empty"
}

// readTree reads the bytes of a question file as YAML. What it returns is a
// mapping, never nil, or else the refusals say why there is none; the two can
// stand together (a key written twice leaves a usable tree).
func readTree(data []byte) (root *node, refused []*Refusal) {
	if r := unreadable(data); r != nil {
		return nil, []*Refusal{r}
	}
	text := strings.TrimPrefix(string(data), "\ufeff")
	text = strings.ReplaceAll(strings.ReplaceAll(text, "\r\n", "\n"), "\r", "\n")
	if r := tabIndented(text); r != nil {
		return nil, []*Refusal{r}
	}
	defer func() {
		// The YAML reader is a library fed with any bytes whatever.
		if p := recover(); p != nil {
			root, refused = nil, []*Refusal{{Line: 1, Wrong: "the file is not YAML that can be read", Right: plainYAML}}
		}
	}()
	tokens := lexer.Tokenize(text)
	if r := forbidden(tokens); r != nil {
		return nil, []*Refusal{r}
	}
	file, err := parser.Parse(tokens, 0, parser.AllowDuplicateMapKey())
	if err != nil {
		return nil, []*Refusal{syntaxRefusal(err, text, tokens)}
	}
	var body ast.Node
	for _, d := range file.Docs {
		if d == nil || d.Body == nil {
			continue
		}
		if body != nil {
			return nil, []*Refusal{{Line: lineOf(d.Body), Wrong: "a second question begins here",
				Right: "one file holds one question: give it a file of its own"}}
		}
		body = d.Body
	}
	if body == nil {
		return nil, []*Refusal{{Line: 1, Wrong: "the file is empty",
			Right: "a question has at least an id, a title, its figures and its parts"}}
	}
	t := &treeReader{}
	root = t.node(body, "")
	if root.kind != mappingNode {
		return nil, append(t.refused, &Refusal{Line: root.line, Wrong: "the file is " + shapeWord(root) + ", not keys with their values",
			Right: plainYAML})
	}
	return root, t.refused
}

const plainYAML = "one key a line, a colon, a space and its value, such as \"id: my-question\""

func shapeWord(n *node) string {
	if n.kind == listNode {
		return "a list"
	}
	return "bare text"
}

func tooLarge(size int64) *Refusal {
	return &Refusal{Line: 1, Wrong: fmt.Sprintf("the file has %d bytes", size),
		Right: fmt.Sprintf("a question has at most %d", maxQuestionBytes)}
}

// unreadable refuses what is not text of a sensible size.
func unreadable(data []byte) *Refusal {
	if len(data) > maxQuestionBytes {
		return tooLarge(int64(len(data)))
	}
	if len(bytes.TrimSpace(data)) == 0 {
		return &Refusal{Line: 1, Wrong: "the file is empty",
			Right: "a question has at least an id, a title, its figures and its parts"}
	}
	line := 1
	for i := 0; i < len(data); {
		r, size := utf8.DecodeRune(data[i:])
		switch {
		case r == utf8.RuneError && size == 1:
			return &Refusal{Line: line, Wrong: fmt.Sprintf("the file is not UTF-8 text (byte 0x%02x)", data[i]),
				Right: "save it as plain text in UTF-8"}
		case r == '\n':
			line++
		case r < ' ' && r != '\t' && r != '\r', r == 0x7f, r >= 0x80 && r < 0xa0, r == 0x2028, r == 0x2029:
			return &Refusal{Line: line, Wrong: fmt.Sprintf("there is a control character (U+%04X)", r),
				Right: "save it as plain text in UTF-8"}
		}
		i += size
	}
	return nil
}

// tabIndented refuses the first line that is indented with a tab, which YAML
// doesn't allow, in words that say so.
func tabIndented(text string) *Refusal {
	for i, l := range strings.Split(text, "\n") {
		rest := strings.TrimLeft(l, " ")
		if strings.HasPrefix(rest, "\t") && strings.TrimSpace(rest) != "" {
			return &Refusal{Line: i + 1, Wrong: "the line is indented with a tab", Right: "indent it with spaces"}
		}
	}
	return nil
}

// forbidden refuses what YAML has and a question has no use for (anchors,
// aliases, tags, directives), and nesting or length beyond any question.
func forbidden(tokens token.Tokens) *Refusal {
	if len(tokens) > maxQuestionTokens {
		return &Refusal{Line: 1, Wrong: "the file holds far more than a question", Right: "one file holds one question"}
	}
	open, dashes, dashLine := 0, 0, 0
	for _, t := range tokens {
		line := max(t.Position.Line, 1)
		what := ""
		switch t.Type {
		case token.AnchorType:
			what = "a YAML anchor (&)"
		case token.AliasType:
			what = "a YAML alias (*)"
		case token.MergeKeyType:
			what = "a YAML merge key (<<)"
		case token.TagType:
			what = "a YAML tag (!)"
		case token.MappingKeyType:
			what = "a YAML complex key (?)"
		case token.DirectiveType:
			what = "a YAML directive (%)"
		case token.SequenceStartType, token.MappingStartType:
			open++
		case token.SequenceEndType, token.MappingEndType:
			open--
		case token.SequenceEntryType:
			if line != dashLine {
				dashes, dashLine = 0, line
			}
			dashes++
		}
		if what != "" {
			return &Refusal{Line: line, Wrong: what + " stands here", Right: "write the value out; words that begin with such a mark stand in quotes"}
		}
		if open > maxQuestionNested || dashes > maxQuestionNested || t.Position.IndentNum > 200 {
			return &Refusal{Line: line, Wrong: "the values are nested too deeply", Right: "a question has keys, and keys of a group under them"}
		}
	}
	return nil
}

// syntaxRefusal words an error of the YAML reader for a person.
func syntaxRefusal(err error, text string, tokens token.Tokens) *Refusal {
	r := &Refusal{Line: 1, Wrong: "the file is not sound YAML", Right: plainYAML}
	var s *yaml.SyntaxError
	if !errors.As(err, &s) {
		return r
	}
	if s.Token != nil && s.Token.Position != nil {
		r.Line = max(s.Token.Position.Line, 1)
	}
	lines := strings.Split(text, "\n")
	here := ""
	if r.Line <= len(lines) {
		here = lines[r.Line-1]
	}
	m := s.Message
	switch {
	case strings.Contains(m, "'}' must be"):
		r.Line = openedOn(tokens, r.Line)
		r.Wrong, r.Right = "a brace { is opened and not closed", "{key: value, key: value}"
	case strings.Contains(m, "']' must be"):
		r.Line = openedOn(tokens, r.Line)
		r.Wrong, r.Right = "a bracket [ is opened and not closed", "[value, value]"
	case strings.Contains(m, "non-map value") && noSpace().MatchString(here):
		r.Wrong, r.Right = "there is no space behind the colon", noSpace().ReplaceAllString(strings.TrimSpace(plain(here)), "$1: $2")
	case strings.Contains(m, "non-map value") && !strings.Contains(here, ":"):
		r.Wrong, r.Right = "there is no colon in the line", "a key has a colon and a space behind it"
	case strings.Contains(m, "mapping value is not allowed"):
		// The library names the line of the key above when it is the next
		// line that is indented too far.
		if strings.Count(here, ":") < 2 && r.Line < len(lines) {
			r.Line++
			r.Wrong, r.Right = "the line is indented further than the key above it allows", "keys of one group begin in the same column"
			break
		}
		r.Wrong, r.Right = "there is a second colon in the value", "put a value with a colon in quotes: title: \"Question 2: again\""
	case strings.Contains(m, "end token '}'"), strings.Contains(m, "flow map"):
		r.Wrong, r.Right = "a brace { is opened and not closed as it should be", "{key: value, key: value}"
	case strings.Contains(m, "token ']'"), strings.Contains(m, "sequence end"):
		r.Wrong, r.Right = "a bracket [ is opened and not closed", "[value, value]"
	case strings.Contains(m, "corresponding to"):
		r.Wrong, r.Right = "a bracket or brace is closed that was not opened", "{key: value, key: value}"
	case strings.Contains(m, "quoted text"):
		r.Wrong, r.Right = "a quotation mark is opened and not closed", "close it on the same line"
	case strings.Contains(m, "reserved character"), strings.Contains(m, "cannot start any token"):
		r.Wrong, r.Right = "the value begins with a mark that YAML keeps for itself", "put the value in quotes"
	case strings.Contains(m, "not allowed in this context"), strings.Contains(m, "non-map value"):
		r.Wrong, r.Right = "the line does not fit under the one above it", "keys of one group begin in the same column, each with a colon and a space"
	}
	return r
}

// openedOn is the line of the last bracket or brace that is open where the
// line ends; the line itself where none is.
func openedOn(tokens token.Tokens, line int) int {
	var open []int
	for _, t := range tokens {
		if t.Position.Line > line {
			break
		}
		switch t.Type {
		case token.SequenceStartType, token.MappingStartType:
			if t.Position.Line < line {
				open = append(open, t.Position.Line)
			}
		case token.SequenceEndType, token.MappingEndType:
			if len(open) > 0 && t.Position.Line < line {
				open = open[:len(open)-1]
			}
		}
	}
	if len(open) == 0 {
		return line
	}
	return max(open[len(open)-1], 1)
}

// noSpace is a key whose colon has its value right behind it.
var noSpace = sync.OnceValue(func() *regexp.Regexp { return regexp.MustCompile(`^(\s*[A-Za-z_-]+):(\S.*)`) })

// treeReader turns the library's tree into nodes, collecting refusals.
type treeReader struct{ refused []*Refusal }

// node turns n, which stands under the dotted path, into a node.
func (t *treeReader) node(n ast.Node, path string) *node {
	out := &node{line: lineOf(n)}
	switch n := n.(type) {
	case nil, *ast.NullNode:
		// "key: null" and "key:" both leave the key empty.
	case *ast.MappingNode:
		out.kind = mappingNode
		t.entries(out, n.Values, path)
	case *ast.MappingValueNode:
		out.kind = mappingNode
		t.entries(out, []*ast.MappingValueNode{n}, path)
	case *ast.SequenceNode:
		out.kind = listNode
		for i, v := range n.Values {
			out.items = append(out.items, t.node(v, fmt.Sprintf("%s[%d]", path, i+1)))
		}
	case *ast.LiteralNode:
		out.kind, out.split = textNode, true
		if n.Value != nil {
			out.text = strings.TrimSpace(n.Value.Value)
		}
	default:
		tk := n.GetToken()
		if tk == nil {
			break
		}
		out.kind, out.text = textNode, tk.Value
		out.split = strings.Contains(strings.TrimSpace(tk.Origin), "\n")
	}
	return out
}

func (t *treeReader) entries(out *node, values []*ast.MappingValueNode, path string) {
	first := map[string]int{}
	for _, v := range values {
		if v == nil || v.Key == nil {
			continue
		}
		e := entry{line: lineOf(v.Key)}
		if tk := v.Key.GetToken(); tk != nil {
			e.key = strings.TrimSpace(tk.Value)
		}
		e.value = t.node(v.Value, joined(path, e.key))
		if out.line == 0 || e.line < out.line {
			out.line = e.line
		}
		if l, twice := first[e.key]; twice {
			t.refused = append(t.refused, &Refusal{Line: e.line, Key: joined(path, e.key),
				Wrong: fmt.Sprintf("the key stands twice, on line %d and here", l), Right: "leave one of them"})
			continue
		}
		first[e.key] = e.line
		out.entries = append(out.entries, e)
	}
}

func lineOf(n ast.Node) int {
	if n == nil {
		return 0
	}
	if m, ok := n.(*ast.MappingNode); ok && len(m.Values) > 0 && m.Values[0].Key != nil {
		n = m.Values[0].Key
	}
	if m, ok := n.(*ast.MappingValueNode); ok && m.Key != nil {
		n = m.Key
	}
	tk := n.GetToken()
	if tk == nil || tk.Position == nil {
		return 0
	}
	return max(tk.Position.Line, 1)
}
