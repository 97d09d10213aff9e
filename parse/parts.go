package parse

import "strings"

// severalParts reads a line with more than one part mark, such as "(a) 4.788 m
// (b) GM falls 0.43 m", piece by piece, and reports whether line i was one.
func (r *scriptReader) severalParts(i int, m *lineMarks) bool {
	if m.part == "" {
		return false
	}
	cuts := innerMarks(m.rest.text, m.part[0])
	if len(cuts) == 0 {
		return false
	}
	l := &r.script.Lines[i]
	from := 0
	for k := 0; k <= len(cuts); k++ {
		to := len(m.rest.text)
		if k < len(cuts) {
			to = cuts[k]
		}
		piece := marksOf(m.rest.sub(from, to))
		if piece.part != "" {
			r.part, r.heading = piece.part, ""
		}
		piece.part = r.part
		from = to
		if strings.TrimSpace(piece.rest.text) == "" {
			continue
		}
		r.last = -1
		r.raw = scan(&piece.rest, r.comma, r.raw[:0])
		if looksLikeWorking(r.raw) {
			words, doubt, withdrawn, problem, kind := l.Words, l.Doubt, l.Withdrawn, l.Problem, l.Kind
			r.working(i, i+1, &piece)
			l.Words = strings.TrimSpace(words + " " + l.Words)
			l.Doubt, l.Withdrawn = l.Doubt || doubt, l.Withdrawn || withdrawn
			if problem != nil {
				l.Problem = problem
			}
			if kind == Working {
				l.Kind = kind
			}
		} else {
			l.Words = strings.TrimSpace(l.Words + " " + piece.rest.text)
		}
	}
	l.Part = m.part
	if len(l.Steps) > 0 {
		l.Kind = Working
	}
	return true
}

// innerMarks finds the part marks inside a line, each the next letter behind
// the last: a lone letter in brackets, or with one behind it that nothing opened,
// with a blank on both sides.
func innerMarks(t string, letter byte) []int {
	var out []int
	depth := 0
	for i := 1; i+2 < len(t); i++ {
		parted := t[i-1] == ' ' || t[i-1] == '\t' || t[i-1] == ';' || t[i-1] == ','
		k := i // the letter of the mark that may begin at i
		if t[i] == '(' {
			k++
			depth++
		} else if t[i] == ')' {
			depth--
		}
		if !parted || k+2 >= len(t) || t[k+1] != ')' || t[k+2] != ' ' || k == i && depth > 0 {
			continue
		}
		if c := t[k] | 0x20; c == letter+1 && isPartLetter(t[k]) && !operatorAt(t, k+2) {
			out = append(out, i)
			letter = c
		}
	}
	return out
}
