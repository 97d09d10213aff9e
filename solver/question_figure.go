package solver

import (
	"math"
	"strconv"
	"strings"

	"batten/parse"
	"batten/rules"
)

// figure is a number as written in a question, before its unit is looked at.
type figure struct {
	digits string // sign, digits and point alone: "-4.5"
	places int    // digits behind the point
	unit   string // what stands behind the number, "" when nothing does
}

// maxDigits is far beyond what anybody measures, and well within what floating
// point keeps.
const maxDigits = 12

// readFigure splits text into a number and what stands behind it. Where the
// text is no number, wrong says so and right says what would be ("" where only
// the caller knows).
func readFigure(text string) (f figure, wrong, right string) {
	s := text
	switch {
	case strings.HasPrefix(s, "-"):
		f.digits, s = "-", s[1:]
	case strings.HasPrefix(s, "−"):
		f.digits, s = "-", strings.TrimPrefix(s, "−")
	case strings.HasPrefix(s, "+"):
		s = s[1:]
	}
	end := 0
	for end < len(s) && strings.IndexByte("0123456789.,_", s[end]) >= 0 ||
		end+3 < len(s) && end > 0 && s[end] == ' ' && allDigits(s[end+1:end+4]) && (end+4 == len(s) || !digit(s[end+4])) && digit(s[end-1]) {
		end++
	}
	number, rest := s[:end], s[end:]
	if strings.IndexFunc(number, func(r rune) bool { return r >= '0' && r <= '9' }) < 0 {
		return f, quote(text) + " is not a figure", ""
	}
	point := strings.Count(number, ".")
	comma := strings.Count(number, ",")
	switch {
	case strings.Contains(number, "_"):
		return f, quote(text) + " has an underscore in its figure", "write " + strings.ReplaceAll(text, "_", "")
	case point > 1:
		return f, quote(text) + " has more than one decimal point", ""
	case comma == 0:
	case comma == 1 && point == 0:
		whole, part, _ := strings.Cut(number, ",")
		if len(part) == 3 && whole != "" && whole != "0" {
			return f, "the comma in " + quote(text) + " can be a decimal or a thousands mark",
				"write " + whole + "." + part + rest + " or " + whole + part + rest
		}
		number = whole + "." + part
	default:
		// commas as thousands marks must part the digits in threes
		whole, _, _ := strings.Cut(number, ".")
		groups := strings.Split(whole, ",")
		for i, g := range groups {
			if i == 0 && (len(g) == 0 || len(g) > 3) || i > 0 && len(g) != 3 {
				return f, quote(text) + " has commas where no thousands end", "write " + strings.ReplaceAll(number, ",", "") + rest
			}
		}
		if strings.Contains(number[strings.LastIndex(number, ",")+1:], ".") || point == 0 {
			number = strings.ReplaceAll(number, ",", "")
		} else {
			return f, quote(text) + " has commas behind its decimal point", ""
		}
	}
	if strings.Contains(number, " ") {
		whole, part, pointed := strings.Cut(number, ".")
		if pointed && strings.Contains(part, " ") || strings.IndexByte(whole, ' ') > 3 {
			return f, quote(text) + " is not one plain figure", "write the figure out, with its unit"
		}
		number = strings.ReplaceAll(number, " ", "")
	}
	if number == "." || strings.Contains(number, ",") {
		return f, quote(text) + " is not a figure", ""
	}
	if _, part, ok := strings.Cut(number, "."); ok {
		f.places = len(part)
	}
	if len(strings.TrimLeft(number, "0.")) > maxDigits || len(number) > 2*maxDigits {
		return f, quote(text) + " has more digits than anybody measures", "write at most " + strconv.Itoa(maxDigits)
	}
	f.digits += number
	f.unit = strings.TrimSpace(rest)
	if manyFigures(f.unit) {
		return f, quote(text) + " is not one plain figure", "write the figure out, with its unit"
	}
	return f, "", ""
}

// manyFigures reports whether what stands behind a number is no unit but more
// of a number: a power of ten (e3), a sum, a second figure (20 cm).
func manyFigures(rest string) bool {
	exponent := len(rest) > 1 && (rest[0] == 'e' || rest[0] == 'E') && strings.IndexByte("+-0123456789", rest[1]) >= 0
	for i := range len(rest) {
		if digit(rest[i]) && (i == 0 || strings.IndexByte(" +*", rest[i-1]) >= 0) {
			return true
		}
	}
	return exponent
}

func digit(c byte) bool { return c >= '0' && c <= '9' }

func allDigits(s string) bool {
	for i := range len(s) {
		if !digit(s[i]) {
			return false
		}
	}
	return s != ""
}

// in gives the figure, written as it stands, in the canonical unit of the
// quantity, with the decimal places it has there, or says what is wrong with
// its unit.
func (f figure) in(q *rules.Quantity, written string) (value float64, places int, wrong, right string) {
	inUnit := "write it in " + q.Unit + ", such as " + exampleFigure(q)
	if f.unit == "%" || strings.EqualFold(f.unit, "percent") || strings.EqualFold(f.unit, "per cent") {
		if q.Unit != "" {
			return 0, 0, quote(written) + " is a percentage, where a figure in " + q.Unit + " is wanted", inUnit
		}
		return shifted(f.digits, -2), f.places + 2, "", ""
	}
	if f.unit == "" {
		if q.Unit != "" {
			return 0, 0, quote(written) + " has no unit", "write " + f.digits + " " + q.Unit
		}
		return shifted(f.digits, 0), f.places, "", ""
	}
	u, ok := parse.LookupUnit(f.unit)
	if !ok {
		right := "write " + f.digits
		if q.Unit != "" {
			right += " " + q.Unit
		}
		return 0, 0, quote(f.unit) + " is not a unit known here", right
	}
	if q.Unit == "" {
		return 0, 0, quote(written) + " has a unit, where a figure without one is wanted", "write it without, such as " + exampleFigure(q)
	}
	want, ok := parse.LookupUnit(q.Unit)
	if !ok || u.Dim != want.Dim {
		return 0, 0, quote(written) + " is in " + u.Text + ", where a figure in " + q.Unit + " is wanted", inUnit
	}
	// Metric units only: the working is written in the canonical unit, and a
	// power of ten leaves the figures of the question recognisable in it.
	shift := math.Round(math.Log10(u.Factor / want.Factor))
	if math.Abs(u.Factor/want.Factor-math.Pow(10, shift)) > 1e-9*math.Pow(10, shift) {
		v, _ := strconv.ParseFloat(f.digits, 64)
		return 0, 0, quote(written) + " is in " + u.Text + ", where a figure in " + q.Unit + " is wanted",
			"write " + strconv.FormatFloat(v*u.Factor/want.Factor, 'f', q.Places, 64) + " " + q.Unit
	}
	return shifted(f.digits, int(shift)), max(0, f.places-int(shift)), "", ""
}

// shifted is the number times ten to the power of shift, rounded once.
func shifted(digits string, shift int) float64 {
	v, err := strconv.ParseFloat(digits+"e"+strconv.Itoa(shift), 64)
	if err != nil {
		return math.NaN()
	}
	return v
}

// exampleFigure is a sensible figure of the quantity as a person would write it.
func exampleFigure(q *rules.Quantity) string {
	if q == nil || q.Range == nil {
		switch {
		case q == nil:
			return "a figure"
		case q.Unit == "":
			return "a figure without a unit"
		}
		return "a figure in " + q.Unit
	}
	mid := q.Range.From
	if step := q.Range.Step; step > 0 {
		mid += math.Floor((q.Range.To-q.Range.From)/step/2) * step
	}
	s := strconv.FormatFloat(mid, 'f', -1, 64)
	if len(s) > 8 {
		s = strconv.FormatFloat(mid, 'f', q.Places, 64)
	}
	if q.Unit != "" {
		s += " " + q.Unit
	}
	return s
}

// FigureText writes a figure of the quantity the way a message shows it: at
// the trade's places, with its unit.
func FigureText(q *rules.Quantity, value float64) string {
	s := strconv.FormatFloat(value, 'f', q.Places, 64)
	if strings.Trim(s, "-0.") == "" {
		s = strings.TrimPrefix(s, "-")
	}
	if q.Unit != "" {
		s += " " + q.Unit
	}
	return s
}
