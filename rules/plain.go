package rules

import (
	"strings"
	"unicode"
	"unicode/utf8"
)

// readPlain reads the part of YAML that these files are written in: mappings
// and lists in blocks or in braces, words bare or quoted, folded texts (>-),
// comments, anchors. It is some ten times as fast as the library, and that is
// most of what starting the program costs. Whatever it is not sure of it
// leaves (ok is false): the library reads the file then, and says what is
// wrong with it. A test holds the two to the same tree, places included.
func readPlain(text string) (n *node, ok bool) {
	if !utf8.ValidString(text) || strings.ContainsFunc(text, func(r rune) bool { return r != '\n' && !unicode.IsPrint(r) }) {
		return nil, false
	}
	p := &plainReader{s: text, line: 1, anchors: map[string]*node{}}
	defer func() {
		if r := recover(); r != nil {
			if r != errNotPlain {
				panic(r)
			}
			n, ok = nil, false
		}
	}()
	p.gap()
	n = p.block(p.column())
	p.gap()
	if p.i < len(p.s) || n.kind != mappingNode {
		p.leave()
	}
	return n, true
}

type notPlain struct{}

var errNotPlain = notPlain{}

// plainReader walks over the text once. Columns count characters from 0.
type plainReader struct {
	s       string
	i       int // the byte that is next
	line    int // from 1
	start   int // the byte at which the line begins
	depth   int
	anchors map[string]*node
	slab    []node // nodes are cut from it, many at a time
}

func (p *plainReader) leave() { panic(errNotPlain) }

// column is the column of the next byte. Only bytes are counted: indentation
// and what stands before it on a line is ASCII, or the reader leaves.
func (p *plainReader) column() int { return p.i - p.start }

func (p *plainReader) peek() byte {
	if p.i < len(p.s) {
		return p.s[p.i]
	}
	return 0
}

// node makes a node at the next byte.
func (p *plainReader) node(kind nodeKind) *node {
	if len(p.slab) == 0 {
		p.slab = make([]node, 256)
	}
	n := &p.slab[0]
	p.slab = p.slab[1:]
	n.kind, n.line, n.column = kind, p.line, p.i-p.start+1
	for _, c := range []byte(p.s[p.start:p.i]) {
		if c >= 0x80 && c < 0xc0 {
			n.column-- // the second and later bytes of a character
		}
	}
	return n
}

func (p *plainReader) newline() {
	p.i++
	p.line++
	p.start = p.i
}

// gap skips blanks, comments and line ends.
func (p *plainReader) gap() {
	for p.i < len(p.s) {
		switch p.s[p.i] {
		case ' ':
			p.i++
		case '\n':
			p.newline()
		case '#':
			if p.i > p.start && p.s[p.i-1] != ' ' {
				return
			}
			p.comment()
		default:
			return
		}
	}
}

func (p *plainReader) comment() {
	for p.i < len(p.s) && p.s[p.i] != '\n' {
		p.i++
	}
}

func (p *plainReader) blanks() {
	for p.peek() == ' ' {
		p.i++
	}
}

// lineEnds reports whether nothing but a comment follows on the line, and skips it.
func (p *plainReader) lineEnds() bool {
	p.blanks()
	if p.peek() == '#' && p.i > p.start && p.s[p.i-1] == ' ' {
		p.comment()
	}
	return p.i >= len(p.s) || p.s[p.i] == '\n'
}

// block reads the mapping or list whose first line begins here, in column indent.
func (p *plainReader) block(indent int) *node {
	if p.depth++; p.depth > 40 {
		p.leave()
	}
	defer func() { p.depth-- }()
	if p.dash() {
		n := p.node(listNode)
		for p.i < len(p.s) && p.column() == indent && p.dash() {
			p.i++
			n.items = append(n.items, p.item(indent))
			p.gap()
		}
		if p.i < len(p.s) && p.column() > indent {
			p.leave()
		}
		return n
	}
	n := p.node(mappingNode)
	for p.i < len(p.s) && p.column() == indent && !p.dash() {
		k := p.key()
		n.pairs = append(n.pairs, pair{k, p.value(indent)})
		p.gap()
	}
	if len(n.pairs) == 0 || p.i < len(p.s) && p.column() > indent {
		p.leave()
	}
	return n
}

// dash reports whether a list's item begins here.
func (p *plainReader) dash() bool {
	return p.peek() == '-' && (p.i+1 >= len(p.s) || p.s[p.i+1] == ' ' || p.s[p.i+1] == '\n')
}

// item reads what stands behind the dash of a list in column indent.
func (p *plainReader) item(indent int) *node {
	if p.lineEnds() {
		p.leave() // an item on lines of its own: not how these files are written
	}
	switch c := p.peek(); {
	case c == '{' || c == '[' || c == '>' || c == '|' || c == '&' || c == '*':
		return p.inline(indent)
	case p.dash():
		return p.block(p.column())
	case p.isKey():
		return p.block(p.column())
	}
	return p.inline(indent)
}

// isKey reports whether a key and its colon stand here.
func (p *plainReader) isKey() bool {
	was := *p
	defer func() { p.i, p.line, p.start = was.i, was.line, was.start }()
	if c := p.peek(); c == '"' || c == '\'' {
		p.quoted()
	} else {
		p.bare(false)
	}
	p.blanks()
	return p.peek() == ':' && (p.i+1 >= len(p.s) || p.s[p.i+1] == ' ' || p.s[p.i+1] == '\n')
}

// key reads a key and its colon.
func (p *plainReader) key() *node {
	var k *node
	if c := p.peek(); c == '"' || c == '\'' {
		k = p.quoted()
	} else {
		k = p.bare(false)
	}
	if p.peek() != ':' || k.text == "" && !k.quoted {
		p.leave()
	}
	p.i++
	if c := p.peek(); c != ' ' && c != '\n' && c != 0 {
		p.leave()
	}
	return k
}

// value reads what stands behind the colon of a key in column indent.
func (p *plainReader) value(indent int) *node {
	anchor := ""
	p.blanks()
	if p.peek() == '&' {
		p.i++
		anchor = p.word()
	}
	var n *node
	if p.lineEnds() {
		p.gap()
		if p.i >= len(p.s) || p.column() <= indent {
			p.leave() // an empty value, or a list not indented
		}
		if !p.dash() && !p.isKey() {
			p.leave()
		}
		n = p.block(p.column())
	} else {
		n = p.inline(indent)
	}
	if anchor != "" {
		p.anchors[anchor] = n
	}
	return n
}

func (p *plainReader) word() string {
	from := p.i
	for c := p.peek(); c >= 'a' && c <= 'z' || c >= 'A' && c <= 'Z' || c >= '0' && c <= '9' || c == '_' || c == '-'; c = p.peek() {
		p.i++
	}
	if from == p.i {
		p.leave()
	}
	return p.s[from:p.i]
}

// inline reads a value that begins on this line and ends it.
func (p *plainReader) inline(indent int) *node {
	var n *node
	switch p.peek() {
	case '{', '[':
		n = p.flow()
	case '"', '\'':
		n = p.quoted()
	case '>':
		return p.folded(indent)
	case '*':
		p.i++
		if n = p.anchors[p.word()]; n == nil {
			p.leave()
		}
	default:
		n = p.bare(false)
		if n.text == "" || p.peek() == ':' {
			p.leave()
		}
		if p.more(indent) {
			p.leave() // bare text over several lines
		}
	}
	if !p.lineEnds() {
		p.leave()
	}
	return n
}

// more reports whether the next line with anything on it is indented further.
func (p *plainReader) more(indent int) bool {
	was := *p
	defer func() { p.i, p.line, p.start = was.i, was.line, was.start }()
	if !p.lineEnds() {
		return true
	}
	p.gap()
	return p.i < len(p.s) && p.column() > indent
}

// flow reads a mapping in braces or a list in brackets, over as many lines as it takes.
func (p *plainReader) flow() *node {
	if p.depth++; p.depth > 40 {
		p.leave()
	}
	defer func() { p.depth-- }()
	open := p.peek()
	n := p.node(listNode)
	end := byte(']')
	if open == '{' {
		n.kind, end = mappingNode, '}'
	}
	p.i++
	for {
		p.gap()
		if p.peek() == end {
			p.i++
			if open == '{' && len(n.pairs) > 0 {
				n.line, n.column = n.pairs[0].key.line, n.pairs[0].key.column
			}
			return n
		}
		if open == '{' {
			var k *node
			if c := p.peek(); c == '"' || c == '\'' {
				k = p.quoted()
			} else {
				k = p.bare(true)
			}
			if p.peek() != ':' || k.text == "" && !k.quoted {
				p.leave()
			}
			p.i++
			if c := p.peek(); c != ' ' && c != '\n' {
				p.leave()
			}
			p.gap()
			n.pairs = append(n.pairs, pair{k, p.flowValue()})
		} else {
			n.items = append(n.items, p.flowValue())
		}
		p.gap()
		switch p.peek() {
		case ',':
			p.i++
		case end:
		default:
			p.leave()
		}
	}
}

func (p *plainReader) flowValue() *node {
	switch p.peek() {
	case '{', '[':
		return p.flow()
	case '"', '\'':
		return p.quoted()
	}
	n := p.bare(true)
	if n.text == "" || p.peek() == ':' {
		p.leave()
	}
	return n
}

// bare reads text without quotation marks, to the end of the line, a comment, a
// colon with a blank behind it or, in a flow, a comma or a closing bracket.
func (p *plainReader) bare(flow bool) *node {
	n := p.node(textNode)
	if strings.IndexByte("-?:,[]{}#&*!|>'\"%@`=<", p.peek()) >= 0 && !p.dashWord() {
		p.leave()
	}
	from := p.i
loop:
	for p.i < len(p.s) {
		switch c := p.s[p.i]; {
		case c == '\n':
			break loop
		case c == ':' && (p.i+1 >= len(p.s) || p.s[p.i+1] == ' ' || p.s[p.i+1] == '\n'):
			break loop
		case c == '#' && p.i > from && p.s[p.i-1] == ' ':
			break loop
		case flow && (c == ',' || c == '}' || c == ']'):
			break loop
		case flow && (c == '{' || c == '['):
			p.leave()
		}
		p.i++
	}
	n.text = strings.TrimRight(p.s[from:p.i], " ")
	if c := p.peek(); len(n.text) < p.i-from && c != '#' {
		p.leave() // the library gives figures before such blanks another place
	}
	switch n.text {
	case "null", "Null", "NULL", "~", "<<":
		p.leave()
	}
	if flow && p.peek() == '\n' {
		// it may run on over the next line
		was := *p
		p.gap()
		c := p.peek()
		p.i, p.line, p.start = was.i, was.line, was.start
		if c != ',' && c != '}' && c != ']' {
			p.leave()
		}
	}
	return n
}

// dashWord reports whether a dash here begins a bare word (-ve).
func (p *plainReader) dashWord() bool {
	return p.peek() == '-' && p.i+1 < len(p.s) && p.s[p.i+1] != ' ' && p.s[p.i+1] != '\n' && p.s[p.i+1] != '-'
}

// quoted reads text in quotation marks that ends on the same line.
func (p *plainReader) quoted() *node {
	n := p.node(textNode)
	n.quoted = true
	mark := p.peek()
	p.i++
	end := strings.IndexByte(p.s[p.i:], mark)
	if end < 0 {
		p.leave()
	}
	n.text = p.s[p.i : p.i+end]
	p.i += end + 1
	if strings.ContainsAny(n.text, "\\\n") || p.peek() == mark {
		p.leave()
	}
	return n
}

// folded reads a text behind ">-", the lines of which are joined by blanks.
func (p *plainReader) folded(indent int) *node {
	n := p.node(textNode)
	if !strings.HasPrefix(p.s[p.i:], ">-\n") {
		p.leave()
	}
	p.i += 2
	p.newline()
	var b strings.Builder
	in := -1
	for p.i < len(p.s) {
		end := strings.IndexByte(p.s[p.i:], '\n')
		if end < 0 {
			end = len(p.s) - p.i
		}
		line := p.s[p.i : p.i+end]
		body := strings.TrimLeft(line, " ")
		if body == "" {
			// a blank line ends the text, or it is no plain one
			rest := strings.TrimLeft(p.s[p.i:], " \n")
			if at := len(p.s) - len(rest); rest != "" && at-(strings.LastIndexByte(p.s[:at], '\n')+1) > indent {
				p.leave()
			}
			break
		}
		if len(line)-len(body) <= indent {
			break
		}
		if in < 0 {
			in = len(line) - len(body)
		}
		if len(line)-len(body) != in || strings.HasSuffix(line, " ") {
			p.leave()
		}
		if b.Len() > 0 {
			b.WriteByte(' ')
		}
		b.WriteString(body)
		p.i += end
		if p.i < len(p.s) {
			p.newline()
		}
	}
	if in < 0 {
		p.leave()
	}
	n.text = b.String()
	return n
}
