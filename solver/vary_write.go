package solver

import (
	"math"
	"strconv"
	"strings"
	"unicode"

	"batten/parse"
	"batten/rules"
)

// Text writes the question as a file of its own, which reads back as the same
// question. Keys stand in the topic's order, figures and words as they are in
// Written; notes are put at the end as comments.
func (q *Question) Text(notes ...string) []byte {
	var b strings.Builder
	b.WriteString("id: " + scalarText(q.ID) + "\n")
	b.WriteString("topic: " + scalarText(q.Topic.ID) + "\n")
	b.WriteString("title: " + scalarText(q.Title) + "\n")
	if q.Header != "" {
		b.WriteString("header: " + scalarText(q.Header) + "\n")
	}
	var open []string
	for _, k := range q.Topic.Keys {
		text, stands := q.Written[k.Path]
		if !stands {
			continue
		}
		path := strings.Split(k.Path, ".")
		shared := 0
		for shared < len(open) && shared < len(path)-1 && open[shared] == path[shared] {
			shared++
		}
		for i := shared; i < len(path)-1; i++ {
			b.WriteString(strings.Repeat("  ", i) + path[i] + ":\n")
		}
		open = path[:len(path)-1]
		b.WriteString(strings.Repeat("  ", len(path)-1) + path[len(path)-1] + ": " + scalarText(text) + "\n")
	}
	b.WriteString("parts:\n")
	for _, p := range q.Parts {
		b.WriteString("  - {part: " + p.Letter + ", find: " + scalarText(p.Find.Words) + ", marks: " + plainNumberText(p.Marks) + "}\n")
	}
	if q.Marking != q.Topic.Marking {
		b.WriteString("marking: {principal: " + ChargeText(q.Marking.Principal) + ", clerical: " + ChargeText(q.Marking.Clerical) + "}\n")
	}
	if q.Minutes > 0 {
		b.WriteString("minutes: " + strconv.Itoa(q.Minutes) + "\n")
	}
	for _, n := range notes {
		for _, line := range strings.Split(n, "\n") {
			b.WriteString(strings.TrimRight("# "+line, " ") + "\n")
		}
	}
	return []byte(b.String())
}

// ChargeText writes what a fault costs as a question file has it: "50%" of the
// part's marks, or a number of marks.
func ChargeText(c rules.Charge) string {
	if c.Marks > 0 || c.Share == 0 {
		return plainNumberText(c.Marks)
	}
	return plainNumberText(math.Round(c.Share*1e10)/1e8) + "%"
}

func plainNumberText(v float64) string { return strconv.FormatFloat(v, 'f', -1, 64) }

// scalarText writes a text as a YAML value, in quotes where it needs them.
func scalarText(s string) string {
	safe := s != ""
	for i, r := range s {
		switch {
		case unicode.IsLetter(r) || unicode.IsDigit(r):
		case r == ' ' && i > 0 && i < len(s)-1:
		case strings.ContainsRune("-./%()+;'", r) && i > 0:
		default:
			safe = false
		}
	}
	switch strings.ToLower(s) {
	case "null", "true", "false", "yes", "no":
		safe = false
	}
	if safe {
		return s
	}
	return "'" + strings.ReplaceAll(s, "'", "''") + "'"
}

// figureKey is a key of a question whose text holds a figure.
type figureKey struct {
	path     string
	quantity string
}

// figureKeys lists the keys of the question that carry a figure, in the topic's order.
func (q *Question) figureKeys() []figureKey {
	var out []figureKey
	for _, k := range q.Topic.Keys {
		text, stands := q.Written[k.Path]
		if !stands {
			continue
		}
		if _, _, _, ok := cutFigure(text); !ok {
			continue
		}
		id := k.Quantity
		for _, o := range k.Options {
			if o.Figure != "" && strings.HasPrefix(fold(text), fold(o.Word)) {
				id = o.Figure
			}
		}
		if id != "" {
			out = append(out, figureKey{k.Path, id})
		}
	}
	return out
}

// cutFigure parts a key's text into the words before its figure, the figure
// and the unit behind it; ok is false where there is no figure.
func cutFigure(text string) (before, figure, unit string, ok bool) {
	from := strings.IndexAny(text, "0123456789")
	if from < 0 {
		return "", "", "", false
	}
	if from > 0 && text[from-1] == '.' {
		from--
	}
	to := from
	for to < len(text) && strings.IndexByte("0123456789.,", text[to]) >= 0 {
		to++
	}
	return text[:from], text[from:to], text[to:], true
}

// rewritten is a key's text with another figure in it, in the unit and to at
// least the places it had. value and step are in the quantity's own unit.
func rewritten(text string, q *rules.Quantity, value, step float64) string {
	before, old, unit, _ := cutFigure(text)
	scale := 1.0
	switch u := strings.TrimSpace(unit); {
	case u == "%" || strings.EqualFold(u, "percent") || strings.EqualFold(u, "per cent"):
		scale = 100
	case u != "":
		from, ok1 := parse.LookupUnit(q.Unit)
		to, ok2 := parse.LookupUnit(u)
		if ok1 && ok2 {
			scale = from.Factor / to.Factor
		}
	}
	places := placesOf(step * scale)
	if i := strings.LastIndexAny(old, ".,"); i >= 0 {
		places = max(places, len(old)-i-1)
	}
	return before + strconv.FormatFloat(value*scale, 'f', places, 64) + unit
}

// placesOf is how many decimal places a step needs to be written out.
func placesOf(step float64) int {
	for p := 0; p < 6; p++ {
		x := step * math.Pow(10, float64(p))
		if math.Abs(x-math.Round(x)) < 1e-6*math.Max(1, x) && x > 0.5 {
			return p
		}
	}
	return 6
}
