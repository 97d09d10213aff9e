package parse

import (
	"strings"
	"unicode/utf8"
)

// lineMarks are the marks in front of what a line says.
type lineMarks struct {
	part    string // part mark, lower case, "" for none
	heading bool   // marked as a heading by # or by heavy type
	rest    plain  // the line without its marks
	aside   bool   // brackets stood about the whole line
}

// bulletSigns open a line of a list.
const bulletSigns = "•▪◦●○‣■□◆◇➢✓✔➤»"

// marksOf takes bullets, numbers and part marks off the front of a line.
func marksOf(p plain) lineMarks {
	m := lineMarks{rest: p}
	m.bold()
	m.framed()
	bullet := true
	for range 6 {
		t := m.rest.text
		i := skipBlanks(t, 0)
		if i > 0 {
			m.rest = m.rest.sub(i, len(t))
			continue
		}
		if t == "" {
			return m
		}
		if n := bulletAt(t); n > 0 && bullet {
			if t[0] == '#' {
				m.heading = true
			}
			m.rest = m.rest.sub(n, len(t))
			continue
		}
		if m.part == "" {
			if part, n := partMark(t); n > 0 {
				m.part, m.rest, bullet = part, m.rest.sub(n, len(t)), true
				continue
			}
		}
		if n := numberMark(t); n > 0 {
			m.rest = m.rest.sub(n, len(t))
			continue
		}
		return m
	}
	return m
}

func skipBlanks(t string, i int) int {
	for i < len(t) && (t[i] == ' ' || t[i] == '\t') {
		i++
	}
	return i
}

// bold takes away the stars of heavy and slanted type. B**3 is a power and
// stays, as do the stars of multiplications.
func (m *lineMarks) bold() {
	t := m.rest.text
	if strings.IndexByte(t, '*') < 0 && !strings.Contains(t, "__") || drawn(t) {
		return
	}
	if s := strings.TrimSpace(t); len(s) > 4 && (strings.HasPrefix(s, "**") && strings.HasSuffix(s, "**") || strings.HasPrefix(s, "__") && strings.HasSuffix(s, "__")) {
		m.heading = true
	}
	var cuts [][2]int
	opened := -1   // index in cuts of a single star that may open slanted type
	heavy := false // heavy type has begun and not ended
	for i := 0; i < len(t); i++ {
		if t[i] != '*' && t[i] != '_' {
			continue
		}
		n := 1
		for i+n < len(t) && t[i+n] == t[i] {
			n++
		}
		before, after := byte(' '), byte(' ')
		if i > 0 {
			before = t[i-1]
		}
		if i+n < len(t) {
			after = t[i+n]
		}
		word := isAlnum(before) || before == ')' || before >= utf8.RuneSelf
		switch {
		case n == 2 || n == 3 && t[i] == '*' || n > 2 && t[i] == '_': // or a line drawn to write on
			if j := skipBlanks(t, i+n); t[i] == '*' && word && j < len(t) && (isDigit(t[j]) || t[j] == '-' || t[j] == '(') && n == 2 && !(heavy && after == ' ') {
				break // a power
			}
			heavy = !heavy
			cuts = append(cuts, [2]int{i, i + n})
		case n == 1 && t[i] == '*' && opened < 0 && (before == ' ' || before == '(') && isLetter(rune(after)) && after != '_':
			if j := strings.IndexByte(t[i+1:], '*'); j > 0 && slantedEnd(t, i+1+j) && !strings.ContainsAny(t[i+1:i+1+j], "=0123456789") {
				opened = i + 1 + j
				cuts = append(cuts, [2]int{i, i + 1})
			}
		case n == 1 && i == opened:
			cuts = append(cuts, [2]int{i, i + 1})
			opened = -1
		}
		i += n - 1
	}
	m.rest = m.rest.without(cuts)
}

// slantedEnd reports whether the star at i closes slanted type: a word before
// it, and no operand behind.
func slantedEnd(t string, i int) bool {
	if !isAlnum(t[i-1]) && t[i-1] != ':' && t[i-1] != ')' && t[i-1] != '.' {
		return false
	}
	return i+1 >= len(t) || t[i+1] == ':' || t[i+1] == '.' || t[i+1] == ',' || t[i+1] == ' ' && i+2 < len(t) && t[i+2] != ' ' && !isDigit(t[i+2]) || strings.TrimSpace(t[i+1:]) == ""
}

// framed takes away what is drawn before and behind a heading on its own line:
// "=== Part A ===", "--- Step 1: lost buoyancy ---".
func (m *lineMarks) framed() {
	t := m.rest.text
	from, to := skipBlanks(t, 0), len(strings.TrimRight(t, " \t"))
	if from >= to || strings.IndexByte("-=~_.", t[from]) < 0 {
		return
	}
	head, tail := from, to
	for head < to && t[head] == t[from] {
		head++
	}
	for tail > head && t[tail-1] == t[from] {
		tail--
	}
	inner := strings.TrimSpace(t[head:tail])
	if head-from < 2 || head-from < 3 && to-tail < 2 || inner == "" || t[head] != ' ' && head-from < 3 || !isLetter(rune(inner[0])) && inner[0] != '(' {
		return
	}
	m.rest = m.rest.sub(head, tail)
}

// without returns p with pieces cut out; columns stay those of the line.
func (p plain) without(cuts [][2]int) plain {
	if len(cuts) == 0 {
		return p
	}
	q := plain{line: p.line, end: p.end, struck: p.struck, cols: []int32{}}
	var b strings.Builder
	from := 0
	for _, c := range append(cuts, [2]int{len(p.text), len(p.text)}) {
		b.WriteString(p.text[from:c[0]])
		for i := from; i < c[0]; i++ {
			q.cols = append(q.cols, int32(p.col(i)))
		}
		from = c[1]
	}
	q.text = b.String()
	return q
}

func isAlnum(c byte) bool { return isDigit(c) || c >= 'a' && c <= 'z' || c >= 'A' && c <= 'Z' }

// bulletAt returns the length of a bullet at the head of t, 0 for none.
func bulletAt(t string) int {
	r, n := utf8.DecodeRuneInString(t)
	switch {
	case strings.ContainsRune(bulletSigns, r):
		return n
	case strings.HasPrefix(t, "// "), strings.HasPrefix(t, "% "), strings.HasPrefix(t, "/* "):
		// a remark in the manner of programmers
		if j := skipBlanks(t, 2); j < len(t) && (isLetter(rune(t[j])) || t[j] == '(') {
			return j
		}
	case r == '#':
		for n < len(t) && t[n] == '#' {
			n++
		}
		return n
	case r == '>':
		return 1
	case r == '-' || r == '*' || r == '—':
		// with a blank behind it, and no second operand before it
		j := skipBlanks(t, n)
		if j > n && j < len(t) && t[j] != '=' {
			return n
		}
		if r == '—' {
			return n
		}
		if r == '-' && j == n && n+1 < len(t) && isLetter(rune(t[n])) && isLetter(rune(t[n+1])) && strings.Contains(t, "=") {
			return n // -KB = 2.25: a label has no sign
		}
	}
	return 0
}

// operatorAt reports whether a sign of arithmetic or a relation stands at i,
// so that what stands before it was an operand and no mark.
func operatorAt(t string, i int) bool {
	i = skipBlanks(t, i)
	if i >= len(t) {
		return false
	}
	switch t[i] {
	case '+', '*', '/', '^':
		j := skipBlanks(t, i+1)
		return j >= len(t) || t[j] != '='
	case '-':
		return i+1 < len(t) && (t[i+1] != ' ' || i > 0 && t[i-1] != ' ')
	case 'x', 'X':
		if j := skipBlanks(t, i+1); j < len(t) && (t[j] == '=' || t[j] == ':') {
			return false // x = 0.288: a quantity of that name
		}
		return i+1 < len(t) && (t[i+1] == ' ' || isDigit(t[i+1]) || t[i+1] == '(')
	}
	return false
}

func isPartLetter(c byte) bool { return c >= 'a' && c <= 'h' || c >= 'A' && c <= 'H' }

// partMark reads a part mark in any usual form at the head of t, and returns
// its letter in lower case and the length of what it takes.
func partMark(t string) (string, int) {
	if len(t) == 0 {
		return "", 0
	}
	i := 0
	l := t
	if len(l) > 40 {
		l = l[:40]
	}
	l = lower(l)
	if len(l) != min(len(t), 40) {
		return "", 0 // a letter that changes its length: no mark has one
	}
	word := func(w string) bool {
		if strings.HasPrefix(l[i:], w) && (i+len(w) == len(l) || !isAlnum(l[i+len(w)])) {
			i += len(w)
			for i < len(l) && (l[i] == ' ' || l[i] == '.' || l[i] == ':' || l[i] == '-' || l[i] == '\t') {
				i++
			}
			return true
		}
		return false
	}
	opened := false // a word that announces a part or an answer
	question := false
	for _, w := range []string{"for", "answer", "answers", "ans", "solution", "sol", "soln", "final answer"} {
		if word(w) {
			opened = true
			for word("to") || word("for") || word("of") || word("question") {
			}
			break
		}
	}
	part := word("part") || word("pt") || word("section")
	if !part {
		// Q1, Question 1, 1, Qn. 2
		j := i
		for _, w := range []string{"question", "qn", "q"} {
			if strings.HasPrefix(l[i:], w) {
				k := i + len(w)
				for k < len(l) && (l[k] == ' ' || l[k] == '.' || l[k] == ':') {
					k++
				}
				if d := digits(l, k); d > k && d-k <= 2 {
					i, question = d, true
				}
				break
			}
		}
		if !question {
			if d := digits(l, i); d > i && d-i <= 2 && d < len(l) && (l[d] == '(' || isPartLetter(l[d]) || (l[d] == '.' || l[d] == ' ') && d+1 < len(l) && (l[d+1] == '(' || isPartLetter(l[d+1]) && d+2 < len(l) && l[d+2] == ')')) {
				i, question = d, true
			}
		}
		if question {
			for i < len(l) && (l[i] == ' ' || l[i] == '.' || l[i] == '-' || l[i] == ',' || l[i] == ':') {
				i++
			}
			if strings.HasPrefix(l[i:], "part") {
				part = word("part")
			}
		} else {
			i = j
		}
	}
	if i >= len(l) {
		return "", 0
	}
	// the letter with its brackets
	from := i
	open := byte(0)
	if c := l[i]; c == '(' || c == '[' || c == '{' || c == '<' {
		open = c
		i++
		if i < len(l) && l[i] == ' ' {
			i++
		}
	}
	if i >= len(l) || !isPartLetter(l[i]) {
		return "", 0
	}
	letter := l[i : i+1]
	i++
	if open != 0 && i < len(l) && l[i] == ' ' {
		i++
	}
	closed := false
	if i < len(l) {
		switch c := l[i]; {
		case c == ')' || c == ']' || c == '}' || c == '>' && open == '<':
			closed = true
			i++
			if i < len(l) && (l[i] == '.' || l[i] == ':') {
				i++
			}
		case open != 0:
			return "", 0
		}
	}
	if open != 0 && !closed {
		return "", 0
	}
	switch {
	case closed:
		if operatorAt(t, i) || i < len(t) && (t[i] == '(' && !romanAt(t, i) || t[i] == '^' || open != 0 && isAlnum(t[i]) && !(i+1 < len(t) && isLetter(rune(t[i])) && isLetter(rune(t[i+1])))) {
			return "", 0
		}
		if open == 0 && (opened || part || question || from == 0) || open != 0 {
			return letter, i
		}
	case part || question || opened && i == len(l):
		if i == len(l) {
			return letter, i
		}
		switch l[i] {
		case '.', ':', '-', ',':
			return letter, i + 1
		case ' ', '\t':
			if operatorAt(t, i) || question && !part && strings.HasPrefix(strings.TrimLeft(t[i:], " \t"), "=") {
				return "", 0
			}
			j := skipBlanks(l, i)
			if j < len(l) && (l[j] == '-' || l[j] == ':') {
				return letter, j + 1
			}
			return letter, i
		}
	default:
		rest := strings.TrimSpace(t[i:])
		if rest == "" || rest == ":" || rest == "." || rest == "-" {
			return letter, len(t)
		}
		if t[i] == '.' && i+1 < len(t) && (t[i+1] == ' ' || t[i+1] == '\t') && !operatorAt(t, i+1) && rest[1:] != "" && strings.TrimSpace(rest[1:])[0] != '=' {
			return letter, i + 1
		}
		if marks := strings.TrimSpace(rest); strings.HasPrefix(marks, "(") && strings.HasSuffix(marks, "marks)") {
			return letter, len(t)
		}
	}
	return "", 0
}

// romanAt reports whether a roman number in brackets stands at i: (ii).
func romanAt(t string, i int) bool {
	j := i + 1
	for j < len(t) && (t[j] == 'i' || t[j] == 'v' || t[j] == 'x' || t[j] == 'I' || t[j] == 'V') {
		j++
	}
	return j > i+1 && j < len(t) && t[j] == ')'
}

// numberMark returns the length of a number that only counts lines: "1) ",
// "2. ", "(3) ", "(ii) ", "Step 3:", "Q1.".
func numberMark(t string) int {
	l := t
	if len(l) > 24 {
		l = l[:24]
	}
	l = lower(l)
	if len(l) != min(len(t), 24) {
		return 0
	}
	i := 0
	word := false
	for _, w := range []string{"step", "stage", "line", "question", "qn", "qu", "q", "no", "item", "eqn", "equation", "note", "remark"} {
		if strings.HasPrefix(l, w) {
			j := len(w)
			for j < len(l) && (l[j] == ' ' || l[j] == '.' || l[j] == '#') {
				j++
			}
			if d := digits(l, j); d > j && d-j <= 2 && (w != "no" && w != "line") {
				i, word = d, true
				break
			}
		}
	}
	open := false
	if !word {
		if l[0] == '(' || l[0] == '[' {
			open = true
			i = 1
		}
		j := i
		if d := digits(l, i); d > i && d-i <= 2 {
			i = d
		} else {
			for i < len(l) && (l[i] == 'i' || l[i] == 'v' || l[i] == 'x') {
				i++
			}
			if i == j || i-j > 4 || !open && i-j == 1 && l[j] != 'i' && !(i < len(l) && l[i] == ')') {
				return 0
			}
		}
	}
	if i >= len(l) {
		if word {
			return i
		}
		return 0
	}
	switch l[i] {
	case ')', ']':
		i++
	case '.', ':', ',':
		if open || l[i] == ',' && !word {
			return 0
		}
		i++
		if !word && l[i-1] == ':' {
			return 0
		}
	case ' ', '-':
		if !word {
			return 0
		}
		j := skipBlanks(l, i)
		if j < len(l) && (l[j] == '-' || l[j] == ':' || l[j] == ')') {
			j++
		}
		return j
	default:
		return 0
	}
	if i < len(t) && t[i] != ' ' && t[i] != '\t' && !word {
		// "1)KB = " but not "(12)(7776)" or "1.25"
		if !isLetter(rune(t[i])) || t[i] == 'x' || t[i-1] == '.' {
			return 0
		}
	}
	if operatorAt(t, i) || strings.HasPrefix(strings.TrimLeft(t[i:], " \t"), "=") && open {
		return 0
	}
	return i
}

// drawn reports whether a line is only drawn: ----, ====, * * *.
func drawn(t string) bool {
	n := 0
	for _, r := range t {
		switch r {
		case '-', '=', '_', '*', '~', '+', '|', ':', '.', '#', '—', '/', '\\', '≈':
			n++
		case ' ', '\t':
		default:
			return false
		}
	}
	return n >= 2
}
