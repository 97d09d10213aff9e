package parse

import (
	"bytes"
	"cmp"
	"fmt"
	"math"
	"strings"
	"unicode/utf8"
)

const (
	maxScript = 1 << 20
	maxLines  = 20_000
	maxLine   = 4000 // bytes of one line
	maxJoined = 12   // lines that one statement can run over
)

// ReadScript reads a student's worked answer. It fails only for what is no
// text at all, or is too large to be an answer; anything else gives a Script
// in which every line of the file has its row. lex tells which words are
// names; it may be nil.
func ReadScript(data []byte, lex Lexicon) (*Script, error) {
	texts, err := splitLines(data)
	if err != nil {
		return nil, err
	}
	r := &scriptReader{
		script: &Script{Lines: make([]Line, len(texts))},
		texts:  make([]plain, len(texts)),
		lines:  &lineReader{namer: newNamer(lex)},
		last:   -1,
	}
	for i, t := range texts {
		r.script.Lines[i] = Line{N: i + 1, Text: t}
		if len(t) > maxLine {
			r.script.Lines[i].Kind = Unread
			r.script.Lines[i].Problem = &Problem{Span{i + 1, 1, utf8.RuneCountInString(t) + 1}, "this line is too long to be read"}
			r.texts[i] = plain{line: i + 1, end: 1}
			continue
		}
		r.texts[i] = plainText(t, i+1)
	}
	cutPageMarks(r.texts)
	r.cutOrdinals()
	r.comma = decimalComma(r.texts)
	r.colon = r.comma && dividesByColon(r.texts)
	r.header()
	r.caps = inCapitals(r.texts[r.first:])
	r.alias = r.aliases()
	r.findTables()
	for i := r.first; i < len(texts); {
		i = r.line(i)
	}
	r.finish()
	return r.script, nil
}

// splitLines checks that data is text and cuts it at any kind of line end.
func splitLines(data []byte) ([]string, error) {
	if len(data) > maxScript {
		return nil, fmt.Errorf("the script is too large: %d bytes, where an answer takes a few thousand", len(data))
	}
	switch {
	case bytes.HasPrefix(data, []byte{0xff, 0xfe}), bytes.HasPrefix(data, []byte{0xfe, 0xff}):
		return nil, fmt.Errorf("the script is saved as UTF-16: save it as plain text in UTF-8")
	case bytes.IndexByte(data, 0) >= 0:
		return nil, fmt.Errorf("the script is no plain text: line %d holds a zero byte", 1+bytes.Count(data[:bytes.IndexByte(data, 0)], []byte{'\n'}))
	}
	data = bytes.TrimPrefix(data, []byte("\ufeff"))
	if !utf8.Valid(data) {
		line := 1
		for rest := data; len(rest) > 0; {
			c, n := utf8.DecodeRune(rest)
			if c == utf8.RuneError && n == 1 {
				break
			}
			if c == '\n' {
				line++
			}
			rest = rest[n:]
		}
		return nil, fmt.Errorf("the script is no UTF-8 text: line %d holds bytes of another encoding", line)
	}
	text := string(data)
	var out []string
	for len(text) > 0 {
		i := strings.IndexAny(text, "\r\n")
		if i < 0 {
			out = append(out, text)
			break
		}
		out = append(out, text[:i])
		if text[i] == '\r' && i+1 < len(text) && text[i+1] == '\n' {
			i++
		}
		text = text[i+1:]
		if len(out) > maxLines {
			return nil, fmt.Errorf("the script is too long: over %d lines", maxLines)
		}
	}
	return out, nil
}

// scriptReader goes through a script from top to bottom.
type scriptReader struct {
	script  *Script
	texts   []plain
	lines   *lineReader
	comma   bool              // decimals are written with a comma
	colon   bool              // and divisions with a colon
	caps    bool              // all is written in capitals
	alias   map[string]string // symbols that the script explains, and their names
	first   int               // the first line behind the header
	part    string
	heading string
	subject string // words in front of the colon of the last line of working: what "its" refers to
	last    int    // index of the step a continuation belongs to, -1 for none
	tables  []tableBlock
	tableNo int     // the number of the last table
	inTable []int32 // for each line, 1 + index of its table, 0 for none
	raw     []token
	toks    []token
}

// header reads the lines Name: and Question:, in either order before all else.
func (r *scriptReader) header() {
	for i := range r.texts {
		t := strings.TrimSpace(strings.Trim(strings.TrimSpace(r.texts[i].text), "*#"))
		if t == "" {
			continue
		}
		key, value, ok := strings.Cut(t, ":")
		if !ok {
			return
		}
		value = strings.TrimSpace(strings.Trim(strings.TrimSpace(value), "*"))
		switch lower(strings.TrimSpace(strings.Trim(strings.TrimSpace(key), "*"))) {
		case "name":
			if r.script.Name != "" {
				return
			}
			r.script.Name = r.asTyped(i, value)
		case "question":
			if r.script.Question != "" {
				return
			}
			r.script.Question = r.asTyped(i, value)
		default:
			return
		}
		r.script.Lines[i].Words = value
		r.first = i + 1
	}
}

// asTyped gives the words behind the colon of line i as they stand in the file.
func (r *scriptReader) asTyped(i int, plain string) string {
	_, v, ok := strings.Cut(r.script.Lines[i].Text, ":")
	if !ok {
		return plain
	}
	return strings.TrimSpace(strings.Trim(strings.TrimSpace(v), "*"))
}

// line reads line i and those that it runs over, and returns the next.
func (r *scriptReader) line(i int) int {
	l, p := &r.script.Lines[i], &r.texts[i]
	l.Part, l.Heading = r.part, r.heading
	if l.Problem != nil {
		r.last = -1
		return i + 1
	}
	if strings.TrimSpace(p.text) == "" {
		return i + 1
	}
	if k := r.tableAt(i); k >= 0 {
		return r.table(k)
	}
	if drawn(p.text) {
		l.Words = ""
		return i + 1
	}
	m := marksOf(*p)
	if m.part != "" && !r.isSymbolLine(i, &m) {
		r.part, r.heading, r.last = m.part, "", -1
		l.Part, l.Heading = r.part, ""
	} else if m.part != "" {
		m = lineMarks{rest: *p}
	}
	if strings.TrimSpace(m.rest.text) == "" {
		return i + 1
	}
	if r.stacked(i) {
		return i + 3
	}
	if r.severalParts(i, &m) {
		return i + 1
	}
	if m.rest.struck == struckFirst {
		l.Words, l.Withdrawn = strings.TrimSpace(m.rest.text), true
		return i + 1
	}
	m.unbracket()
	r.raw = scan(&m.rest, r.comma, r.raw[:0])
	if r.takesBackFigures(&m) {
		r.prose(i, &m)
		return i + 1
	}
	above := r.takesBack(&m)
	if above != "" {
		r.raw = scan(&m.rest, r.comma, r.raw[:0])
	}
	next := r.joinLines(i, &m)
	words := r.raw
	if next == i+1 && (!looksLikeWorking(words) || pointsOut(words)) {
		r.prose(i, &m)
		return next
	}
	r.working(i, next, &m)
	if above != "" {
		l.WithdrawsAbove = true
		l.Words = strings.TrimSpace(above + " " + l.Words)
	}
	return next
}

// isSymbolLine reports whether a lone letter is a symbol whose "=" stands on
// the next line, rather than a part mark.
func (r *scriptReader) isSymbolLine(i int, m *lineMarks) bool {
	if strings.TrimSpace(m.rest.text) != "" || len(strings.TrimSpace(r.texts[i].text)) > 2 {
		return false
	}
	j := r.nextFilled(i)
	return j > 0 && strings.HasPrefix(strings.TrimSpace(r.texts[j].text), "=")
}

// nextFilled returns the next line that is not blank, at most two on; 0 for none.
func (r *scriptReader) nextFilled(i int) int {
	for j := i + 1; j < len(r.texts) && j <= i+2; j++ {
		if strings.TrimSpace(r.texts[j].text) != "" {
			return j
		}
	}
	return 0
}

// looksLikeWorking reports whether raw tokens hold anything that could claim a figure.
func looksLikeWorking(ts []token) bool {
	for i := range ts {
		switch ts[i].kind {
		case tNumber, tComma, tRel, tBad, tFunc:
			return true
		case tArrow:
			if i > 0 {
				return true
			}
		case tOp:
			if !ts[i].glued || i+1 < len(ts) && !ts[i+1].glued {
				return true
			}
		}
	}
	return false
}

// pointsOut reports whether an arrow between words is all the working there is:
// "flat is tight → nothing of the waterplane is lost".
func pointsOut(ts []token) bool {
	arrow := false
	for i := range ts {
		switch ts[i].kind {
		case tArrow:
			arrow = true
		case tOp:
			if !ts[i].glued {
				return false
			}
		case tWord, tSep, tStop, tQuote, tDash, tOther, tColon:
		default:
			return false
		}
	}
	return arrow && countWords(ts) > 6
}

// settle runs the words pass over the raw tokens. What it returns is good until
// it is called again.
func (r *scriptReader) settle(raw []token) []token {
	w := wordPass{namer: r.lines.namer, in: raw, out: r.toks[:0], colon: r.colon, caps: r.caps, aliases: r.alias}
	out := w.run()
	r.toks = out
	return out
}

// working reads lines i to next as working.
func (r *scriptReader) working(i, next int, m *lineMarks) {
	l := &r.script.Lines[i]
	text := lower(m.rest.text)
	out := r.lines.read(r.settle(r.raw))
	if len(out.steps) == 1 && len(out.steps[0].Sides) == 1 && !equates(r.raw) && furtherSum.MatchString(out.steps[0].Words) {
		// "two rectangles: 56 m x 11.5 m and 14 m x 8.5 m" tells measures, and what
		// they come to nowhere
		out.steps, out.working = nil, false
	}
	if len(out.steps) == 0 && (len(out.problems) == 0 && (!out.working || sentence(r.raw) || inWords(r.raw)) || sentence(r.raw) && !signsFigures(r.raw)) {
		r.prose(i, m)
		r.fill(i, next, nil, nil)
		return
	}
	if out.prefix != "" && !m.aside && len(out.steps) > 0 && !r.lines.known(out.prefix) && headingWords(out.prefixed) && !allGeneric(out.prefixed) {
		r.heading = out.prefix
		l.Heading = out.prefix
	}
	if ofThat(r.raw) {
		if r.subject != "" && len(out.steps) > 0 && out.steps[0].Label != "" {
			out.steps[0].Label = r.subject + " " + out.steps[0].Label // its KB
		}
	} else {
		r.subject = out.prefix
	}
	doubt := doubts(text)
	withdrawn := withdraws(text) || m.rest.struck == struckAll || !doubt && wrongLast(text)
	l.Words, l.Doubt, l.Withdrawn = proseOf(out.words), doubt, withdrawn
	if len(out.steps) == 0 && len(out.problems) == 0 {
		out.problems = append(out.problems, &Problem{spanOf(r.raw), "this looks like working, but no figure or formula in it could be read"})
	}
	var steps []int
	for k := range out.steps {
		s := &out.steps[k]
		if k == 0 && out.continues && m.part == "" && r.goesOn(s) {
			r.extend(s, doubt, withdrawn)
		} else {
			s.Part, s.Heading = r.part, cmp.Or(out.clause, r.heading)
			s.Withdrawn, s.Doubt = withdrawn, doubt
			r.script.Steps = append(r.script.Steps, *s)
			r.last = len(r.script.Steps) - 1
		}
		steps = append(steps, r.last)
	}
	if len(steps) == 0 {
		r.last = -1
	} else if out.main < len(steps) {
		r.last = steps[out.main]
	}
	r.fill(i, next, steps, out.problems)
}

// fill gives the lines from i to next, over which a statement ran, their rows:
// the steps with a piece on them, and what could not be read.
func (r *scriptReader) fill(i, next int, steps []int, problems []*Problem) {
	for j := i; j < next; j++ {
		l := &r.script.Lines[j]
		if strings.TrimSpace(r.texts[j].text) == "" {
			l.Part, l.Heading = r.part, r.heading
			continue
		}
		if j > i {
			l.Part, l.Heading = r.part, r.heading
			t := lower(r.texts[j].text)
			l.Doubt, l.Withdrawn = doubts(t), withdraws(t)
		}
		for k, step := range steps {
			s := &r.script.Steps[step]
			// a step goes on till the next begins, however its pieces lie
			ends := k+1 == len(steps) || r.script.Steps[steps[k+1]].Line > j+1
			if begins := s.Line <= j+1 || k == 0; begins && ends || s.on(j+1) {
				r.mark(j, step)
				s.Doubt = s.Doubt || l.Doubt
				s.Withdrawn = s.Withdrawn || l.Withdrawn
			}
		}
		for _, p := range problems {
			if p.At.Line == j+1 && l.Problem == nil {
				l.Problem = p
			}
		}
		if len(l.Steps) == 0 && len(problems) > 0 {
			l.Kind = Unread
			if l.Problem == nil {
				l.Problem = problems[0]
			}
		}
		for _, k := range l.Steps {
			if w := r.script.Steps[k].Words; w != "" && !strings.Contains(l.Words, w) && j == i {
				l.Words = strings.TrimSpace(l.Words + " " + w)
			}
		}
	}
}

// on reports whether a piece of the step stands on line n.
func (s *Step) on(n int) bool {
	if s.Line == n || s.LabelAt.Line == n {
		return true
	}
	for i := range s.Sides {
		if s.Sides[i].At.Line == n {
			return true
		}
	}
	return false
}

func (r *scriptReader) addStep(s Step) {
	r.script.Steps = append(r.script.Steps, s)
	r.last = len(r.script.Steps) - 1
	r.mark(s.Line-1, r.last)
}

// mark notes that a step has a piece on line i.
func (r *scriptReader) mark(i, step int) {
	l := &r.script.Lines[i]
	l.Kind = Working
	if n := len(l.Steps); n == 0 || l.Steps[n-1] != step {
		l.Steps = append(l.Steps, step)
	}
}

// goesOn reports whether a statement that begins with "=" or "∴" belongs to
// the step above rather than being one of its own.
func (r *scriptReader) goesOn(s *Step) bool {
	if r.last < 0 {
		return false
	}
	above := &r.script.Steps[r.last]
	if above.Table > 0 {
		return false
	}
	_, _, done := above.Result()
	if done && s.Label != "" && !strings.EqualFold(s.Label, above.Label) && !(above.Label == "" && sameFigure(s, above)) {
		return false // "= 4.788 m new draught": a result with a name of its own
	}
	// "∴ 453.6/1576.8 = 0.288" behind a finished result starts afresh
	return !(done && len(s.Sides) > 1 && !startsWithEqual(r.raw))
}

// sameFigure reports whether two steps end in the same figure, rounding apart.
func sameFigure(a, b *Step) bool {
	_, x, ok1 := a.Result()
	_, y, ok2 := b.Result()
	return ok1 && ok2 && math.Abs(x-y) <= 0.01*math.Max(math.Abs(x), math.Abs(y))
}

func startsWithEqual(ts []token) bool {
	for i := range ts {
		if ts[i].kind == tRel {
			return true
		}
		if ts[i].kind != tArrow {
			return false
		}
	}
	return false
}

// extend adds the sides of a continuation on line i to the last step.
func (r *scriptReader) extend(s *Step, doubt, withdrawn bool) {
	above := &r.script.Steps[r.last]
	above.Sides = append(above.Sides, s.Sides...)
	if above.Label == "" && s.Label != "" {
		above.Label, above.LabelAt = s.Label, s.LabelAt
	}
	if s.Words != "" {
		if above.Words == "" {
			above.WordsAt = s.WordsAt
			above.Words = s.Words
		} else {
			above.Words += " " + s.Words
		}
	}
	above.Doubt = above.Doubt || doubt
	above.Withdrawn = above.Withdrawn || withdrawn
}

// prose files a line that claims nothing: a heading, a note, a withdrawal.
func (r *scriptReader) prose(i int, m *lineMarks) {
	l := &r.script.Lines[i]
	l.Words = strings.TrimSpace(m.rest.text)
	text := lower(l.Words)
	l.Doubt = doubts(text)
	if withdraws(text) && !(l.Doubt && !strings.Contains(text, "ignore")) || wrongAlone(text) {
		l.WithdrawsAbove = true
	}
	if m.rest.struck == struckAll {
		l.Withdrawn, l.WithdrawsAbove = true, false
		return
	}
	if l.Doubt || l.WithdrawsAbove {
		return
	}
	if h, ok := r.headingOf(i, m); ok {
		r.heading, r.last = h, -1
		l.Heading = h
	}
}

func wrongAlone(t string) bool {
	t = strings.Trim(t, " .!-*()[]~<>^")
	return t == "wrong" || t == "ignore"
}

// finish clears what only the reading needed.
func (r *scriptReader) finish() {
	for i := range r.script.Lines {
		l := &r.script.Lines[i]
		if l.WithdrawsAbove {
			r.withdrawAbove(i)
		}
		if l.Kind == Aside {
			l.Problem = nil
		}
	}
}
