package parse

import (
	"strconv"
	"strings"
	"unicode/utf8"
)

// Vulgar fractions that stand as one character.
const fractions = "½¼¾⅓⅔⅛⅜⅝⅞⅙⅚⅕"

var fractionValue = map[rune]struct {
	value  float64
	places int
}{
	'½': {0.5, 1}, '¼': {0.25, 2}, '¾': {0.75, 2}, '⅓': {1. / 3, 6}, '⅔': {2. / 3, 6}, '⅛': {0.125, 3},
	'⅜': {0.375, 3}, '⅝': {0.625, 3}, '⅞': {0.875, 3}, '⅙': {1. / 6, 6}, '⅚': {5. / 6, 6}, '⅕': {0.2, 1},
}

const (
	badTwoPoints  = "a figure can hold only one decimal point"
	badExponent   = "a letter e between digits can be read in two ways: write the power as x 10^n"
	badTwoFigures = "two figures stand side by side with no sign between them"
)

// digits returns the end of the run of digits that begins at i.
func digits(t string, i int) int {
	for i < len(t) && isDigit(t[i]) {
		i++
	}
	return i
}

// group reports whether a group of exactly three digits stands at i.
func group(t string, i int) bool {
	return digits(t, i) == i+3
}

// lakhs returns the end of the whole part of a number grouped as in India,
// by twos before the last three (1,12,780), whose first digits stand from i to
// k; 0 for none.
func lakhs(t string, i, k int) int {
	if k-i > 2 {
		return 0
	}
	twos := 0
	for k < len(t) && t[k] == ',' && digits(t, k+1) == k+3 {
		k += 3
		twos++
	}
	if twos == 0 || twos > 3 || k >= len(t) || t[k] != ',' || !group(t, k+1) || k+5 < len(t) && t[k+4] == ',' && isDigit(t[k+5]) {
		return 0
	}
	return k + 4
}

// number reads one written number at the scanner's place.
func (s *scanner) number() {
	t, i := s.p.text, s.at
	kind := tNumber
	j := digits(t, i)
	whole := j
	first := j - i
	zero := first > 0 && t[i] == '0'
	word := s.afterWord()

	// thousands
	groups := first >= 1 && first <= 3 && !zero && !word
	if groups {
		k := j
		switch {
		case k < len(t) && t[k] == ' ' && group(t, k+1):
			for k < len(t) && t[k] == ' ' && group(t, k+1) {
				k += 4
			}
			// "2 411 m" is one figure; "18 756/3" or "3 250x2" are too
			j = k
		case !s.comma && lakhs(t, i, k) > 0:
			j = lakhs(t, i, k)
		case !s.comma && k < len(t) && t[k] == ',' && group(t, k+1):
			for k < len(t) && t[k] == ',' && group(t, k+1) {
				k += 4
			}
			j = k
		case s.comma && k < len(t) && t[k] == '.' && group(t, k+1):
			for k < len(t) && t[k] == '.' && group(t, k+1) {
				k += 4
			}
			if k < len(t) && t[k] == '.' && k+1 < len(t) && isDigit(t[k+1]) {
				break
			}
			j, kind = k, tComma
		case s.comma && k < len(t) && t[k] == ',' && group(t, k+1) && k+5 < len(t) && t[k+4] == '.' && isDigit(t[k+5]):
			j = k + 4 // 1,576.8 in a script of decimal commas
		case !s.comma && k < len(t) && t[k] == '.' && group(t, k+1) && k+5 < len(t) && t[k+4] == ',' && isDigit(t[k+5]) && digits(t, k+5) != k+8:
			j, kind = k+4, tComma // 1.576,8
		}
	}
	dot, com := byte('.'), byte(',')
	if kind == tComma {
		dot, com = ',', 0
	} else if j > whole && t[whole] == ',' {
		com = 0
	}
	// decimals
	if j < len(t) && t[j] == dot && j+1 < len(t) && isDigit(t[j+1]) {
		j = digits(t, j+1)
	} else if com != 0 && j < len(t) && t[j] == com && j+1 < len(t) && isDigit(t[j+1]) && j > i {
		if k := digits(t, j+1); !(k < len(t) && t[k] == ',' && k+1 < len(t) && isDigit(t[k+1])) {
			j, kind = k, tComma
		}
	}
	if j < len(t)-1 && t[j] == '.' && isDigit(t[j+1]) {
		for j < len(t)-1 && t[j] == '.' && isDigit(t[j+1]) {
			j = digits(t, j+1)
		}
		s.emitText(tBad, badTwoPoints, i, j)
		return
	}
	// fractions
	if r, n := utf8.DecodeRuneInString(t[j:]); n > 1 && strings.ContainsRune(fractions, r) {
		j += n
	} else if j < len(t)-1 && t[j] == ' ' && j > i {
		if r, n := utf8.DecodeRuneInString(t[j+1:]); n > 1 && strings.ContainsRune(fractions, r) {
			j += 1 + n
		} else if k := mixed(t, j); k > 0 && j == whole {
			j = k
		}
	}
	// 1.2E+03, as a spreadsheet writes it
	if j+3 < len(t) && t[j] == 'E' && (t[j+1] == '+' || t[j+1] == '-') && digits(t, j+2) >= j+4 {
		if k := digits(t, j+2); k <= j+5 {
			s.emit(kind, i, k)
			return
		}
	}
	if j+1 < len(t) && (t[j] == 'e' || t[j] == 'E') && isDigit(t[j+1]) {
		s.emitText(tBad, badExponent, i, digits(t, j+1))
		return
	}
	if j < len(t) && t[j] == '.' && operatorFollows(t, j+1) {
		s.emitText(kind, t[i:j], i, j+1) // "3. x 4": the point belongs to the figure, and says nothing
		return
	}
	s.emit(kind, i, j)
}

// mixed returns the end of a fraction such as the 1/2 of "12 1/2" behind the
// blank at i, or 0. Only fractions of a rule or a tape count: anything else is
// left to be refused as two figures side by side.
func mixed(t string, i int) int {
	a := digits(t, i+1)
	if a == i+1 || a >= len(t)-1 || t[a] != '/' {
		return 0
	}
	b := digits(t, a+1)
	if b < len(t) && (t[b] == '.' || t[b] == ',') && b+1 < len(t) && isDigit(t[b+1]) {
		return 0
	}
	num, den := t[i+1:a], t[a+1:b]
	switch den {
	case "2", "3", "4", "8", "16":
		n, _ := strconv.Atoi(num)
		d, _ := strconv.Atoi(den)
		if n > 0 && n < d {
			return b
		}
	}
	return 0
}

// operatorFollows reports whether the next thing behind i is a sign of
// arithmetic, so that the point before it belongs to the figure ("4. x 3").
func operatorFollows(t string, i int) bool {
	for i < len(t) && t[i] == ' ' {
		i++
	}
	if i >= len(t) {
		return false
	}
	switch t[i] {
	case '+', '*', '/', '^', ')', ']', '}', '=', '%', '-':
		return true
	case 'x', 'X':
		return i+1 < len(t) && (t[i+1] == ' ' || isDigit(t[i+1]))
	}
	return false
}

// numberValue gives the value of a number as the scanner cut it, and the
// digits behind its decimal sign.
func numberValue(text string, comma bool) (value float64, places int, ok bool) {
	frac := 0.
	if n := len(text); n > 0 && text[n-1] >= utf8.RuneSelf {
		r, size := utf8.DecodeLastRuneInString(text)
		f, known := fractionValue[r]
		if !known {
			return 0, 0, false
		}
		frac, places = f.value, f.places
		text = strings.TrimRight(text[:n-size], " ")
		if text == "" {
			return frac, places, true
		}
	} else if k := strings.IndexByte(text, '/'); k > 0 {
		b := strings.LastIndexByte(text, ' ')
		if b < 0 || b > k {
			return 0, 0, false
		}
		n, e1 := strconv.Atoi(text[b+1 : k])
		d, e2 := strconv.Atoi(text[k+1:])
		if e1 != nil || e2 != nil || d == 0 {
			return 0, 0, false
		}
		frac = float64(n) / float64(d)
		places = map[int]int{2: 1, 3: 6, 4: 2, 8: 3, 16: 4}[d]
		text = text[:b]
	}
	var buf [40]byte
	b := buf[:0]
	dot := -1
	for i := 0; i < len(text); i++ {
		switch c := text[i]; {
		case c == ' ', c == ',' && !comma, c == '.' && comma:
		case c == '.', c == ',':
			dot = len(b)
			b = append(b, '.')
		default:
			b = append(b, c)
		}
	}
	v, err := strconv.ParseFloat(string(b), 64)
	if err != nil {
		return 0, 0, false
	}
	if dot >= 0 && frac == 0 {
		places = len(b) - dot - 1
		if e := strings.IndexByte(string(b), 'E'); e >= 0 {
			exp, _ := strconv.Atoi(string(b[e+1:]))
			places = max(0, e-dot-1-exp)
		}
	}
	return v + frac, places, true
}

// decimalComma decides which sign a script writes in its decimals: the comma
// when more figures need one than hold a point. A point before exactly three
// digits may part thousands: where no figure needs a decimal point and some
// show that theirs is the comma (0,216; 13.032,0; 1.666.667), such points are
// not counted.
func decimalComma(lines []plain) bool {
	commas, points, sure, shown := 0, 0, 0, 0
	for k := range lines {
		t := lines[k].text
		for i := 0; i+1 < len(t); i++ {
			c := t[i]
			if c != '.' && c != ',' || !isDigit(t[i+1]) || i > 0 && !isDigit(t[i-1]) && !(c == '.' && strings.IndexByte(" =(+-*/", t[i-1]) >= 0) {
				continue
			}
			if i == 0 && c == ',' {
				continue
			}
			from := i
			for from > 0 && isDigit(t[from-1]) {
				from--
			}
			end := digits(t, i+1)
			if c == '.' {
				if end == i+4 && from < i && end < len(t)-1 && t[end] == ',' && isDigit(t[end+1]) {
					shown++
					continue // 1.576,8: the comma tells
				}
				if next := end < len(t)-1 && t[end] == '.' && isDigit(t[end+1]); next && threes(t, i) > 0 {
					shown++
					i = threes(t, i) - 1 // 1.666.667
					continue
				}
				points++
				if end != i+4 || from == i || i-from > 3 || t[from] == '0' {
					sure++
				}
				i = end - 1
				continue
			}
			if end < len(t)-1 && (t[end] == ',' || t[end] == '.') && isDigit(t[end+1]) {
				i = end // a list, or thousands
				continue
			}
			if end != i+4 || t[from] == '0' {
				commas++
				if t[from] == '0' && i == from+1 && end > i+2 {
					shown++
				}
			}
			i = end - 1
		}
	}
	return commas > points || sure == 0 && commas > 0 && shown > 1
}

// threes returns the end of a number whose points all part groups of three
// digits, the first at i, and that has two of them at least; 0 for none.
func threes(t string, i int) int {
	n := 0
	for i < len(t) && t[i] == '.' && group(t, i+1) {
		i += 4
		n++
	}
	if n < 2 || i+1 < len(t) && t[i] == '.' && isDigit(t[i+1]) {
		return 0
	}
	return i
}
