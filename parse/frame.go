package parse

import (
	"strings"
	"unicode"
	"unicode/utf8"
)

// What stands about the working on a page and is no part of it: the number of
// the page, and ordinals with a sign in front of headings (1º, 2º, 1ª).

var pageMark = lazily(`(?i)(^|\s{2,}|\t|[-–—(|]\s*)((page|pg|sheet|pag|pagina|página|seite)\.?\s*(no\.?\s*)?\d{1,2}(\s*(of|/|de|von)\s*\d{1,2})?|p\.?\s*\d{1,2}\s*of\s*\d{1,2})\s*[-–—)|]*\s*$`)

// cutPageMarks takes the number of the page off the end of each line.
func cutPageMarks(texts []plain) {
	for i := range texts {
		t := texts[i].text
		if len(t) < 3 || len(t) > 200 {
			continue
		}
		if c := lastFilled(t); !isDigit(c) && c != '-' && c != ')' && c != '|' || !strings.ContainsAny(t, "pPsSſ") {
			continue
		}
		at := pageMark.FindStringIndex(t)
		if at == nil || at[0] > 0 && strings.ContainsAny(t[:at[0]], "=≈→") {
			continue // p 1/2 behind working may be a quantity
		}
		texts[i] = texts[i].sub(0, at[0])
	}
}

func lastFilled(t string) byte {
	for i := len(t) - 1; i >= 0; i-- {
		if t[i] != ' ' && t[i] != '\t' {
			return t[i]
		}
	}
	return ' '
}

// ordinal reads an ordinal with a sign at the head of a line as typed: "1º
// DRAUGHT", "2ª) KB", "3° FINAL GM". It returns its number and the bytes that
// it takes, 0 for none.
func ordinal(t string) (number, length int) {
	i := skipBlanks(t, 0)
	d := digits(t, i)
	if d == i || d-i > 2 {
		return 0, 0
	}
	r, n := utf8.DecodeRuneInString(t[d:])
	if r != 'º' && r != 'ª' && r != '°' {
		return 0, 0
	}
	for _, c := range t[i:d] {
		number = 10*number + int(c-'0')
	}
	j := d + n
	for j < len(t) && strings.IndexByte(" \t.):-", t[j]) >= 0 {
		j++
	}
	if c, _ := utf8.DecodeRuneInString(t[j:]); j == d+n || !unicode.IsLetter(c) {
		return 0, 0
	}
	return number, j
}

// cutOrdinals takes such ordinals off the heads of lines. A degree sign is an
// ordinal's only where the lines count 1, 2, …: 4° to port is an angle.
func (r *scriptReader) cutOrdinals() {
	next := 1
	var at []int
	for i := range r.script.Lines {
		if len(r.script.Lines[i].Text) > maxLine {
			continue
		}
		if n, _ := ordinal(r.script.Lines[i].Text); n == next {
			at = append(at, i)
			next++
		}
	}
	if len(at) < 2 {
		return
	}
	for _, i := range at {
		t := r.script.Lines[i].Text
		_, n := ordinal(t)
		p := &r.texts[i]
		col := utf8.RuneCountInString(t[:n]) + 1
		for k := range p.text {
			if p.col(k) >= col {
				*p = p.sub(k, len(p.text))
				break
			}
		}
	}
}
