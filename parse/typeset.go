package parse

import (
	"strings"

	"github.com/alecthomas/participle/v2/lexer"
)

// Students who copy from a typesetting program leave commands with a
// backslash in their lines. The few that stand for arithmetic are read.
var commands = map[string]struct {
	kind lexer.TokenType
	text string
}{
	"times": {tOp, "*"}, "cdot": {tOp, "*"}, "ast": {tOp, "*"}, "div": {tOp, "/"}, "approx": {tRel, "≈"}, "simeq": {tRel, "≈"}, "sqrt": {tFunc, "sqrt"},
	"mu": {tWord, "μ"}, "theta": {tWord, "θ"}, "rho": {tWord, "ρ"}, "nabla": {tWord, "∇"}, "Delta": {tWord, "Δ"}, "therefore": {tArrow, "∴"},
	"rightarrow": {tArrow, "→"}, "Rightarrow": {tArrow, "→"}, "to": {tArrow, "→"}, "implies": {tArrow, "→"}, "tan": {tWord, "tan"}, "arctan": {tWord, "arctan"},
	"sin": {tWord, "sin"}, "cos": {tWord, "cos"}, "circ": {tUnit, "deg"}, "degree": {tUnit, "deg"}, "%": {tPercent, "%"},
}

// command reads a backslash and what follows it.
func (s *scanner) command() {
	t, i := s.p.text, s.at
	j := i + 1
	for j < len(t) && (t[j] >= 'a' && t[j] <= 'z' || t[j] >= 'A' && t[j] <= 'Z') {
		j++
	}
	if j == i+1 && j < len(t) && t[j] == '%' {
		j++
	}
	name := t[i+1 : j]
	switch name {
	case "frac", "dfrac", "tfrac":
		if end := braceEnd(t, j); end > 0 && end+1 < len(t) && t[end+1] == '{' {
			s.over = append(s.over, end)
		}
		s.skip(j)
		return
	case "left", "right", "mathrm", "text", "textrm", "mathbf", "displaystyle", "quad", "big", "Big":
		s.skip(j)
		return
	case "":
		// \\, \, and the like: space
		if j < len(t) && strings.IndexByte(",;:! \\[](){}", t[j]) >= 0 {
			s.skip(j + 1)
			return
		}
	}
	c, ok := commands[name]
	if !ok {
		s.emit(tOther, i, max(j, i+1))
		return
	}
	s.emitText(c.kind, c.text, i, j)
	if c.kind == tWord {
		s.glued = false
	}
}

// skip goes on at j as if blanks had stood there.
func (s *scanner) skip(j int) {
	s.at, s.glued = j, false
}

// stroke adds the division of a typeset fraction behind its upper part.
func (s *scanner) stroke(i int) {
	for _, k := range s.over {
		if k == i {
			s.emitText(tOp, "/", i, i+1)
			s.at = i + 1
			return
		}
	}
}

// braceEnd returns the index of the brace that closes the one at i, 0 for none.
func braceEnd(t string, i int) int {
	if i >= len(t) || t[i] != '{' {
		return 0
	}
	depth := 0
	for ; i < len(t); i++ {
		switch t[i] {
		case '{':
			depth++
		case '}':
			depth--
			if depth == 0 {
				return i
			}
		}
	}
	return 0
}
