package solver

import (
	"math"
	"strconv"
	"strings"

	"batten/parse"
	"batten/rules"
)

// key reads the value of one key: a figure, a word, or a word and a figure.
func (r *reader) key(k *rules.Key, e entry) {
	bad := func(wrong, right string) {
		r.doubt(k)
		r.refuse(e.line, k.Path, wrong, right)
	}
	if e.value.kind != textNode {
		bad("it is "+e.value.describe(), r.accepts(k))
		return
	}
	text := strings.Join(strings.Fields(e.value.text), " ")
	if text == "" {
		bad("it is empty", r.accepts(k))
		return
	}
	if e.value.split {
		bad("its value runs on over the next line", "each key has a colon behind it, and its value on the same line")
		return
	}
	r.q.Written[k.Path] = text
	folded := fold(text)
	var words []string
	extra := "" // a word behind which something stands that may not
	for _, o := range k.Options {
		w := fold(o.Word)
		words = append(words, o.Word)
		rest, follows := strings.CutPrefix(folded, w)
		if !follows || rest != "" && rest[0] != ' ' {
			continue
		}
		fields := strings.Fields(text)
		rest = strings.Join(fields[max(0, len(fields)-len(strings.Fields(rest))):], " ")
		switch {
		case o.Figure == "" && rest == "":
		case o.Figure == "":
			extra = o.Word
			continue // a longer phrase may still fit
		default:
			fq := r.q.Topic.Quantity(o.Figure)
			if rest == "" {
				bad(quote(text)+" wants a figure behind it", "such as "+o.Word+" "+exampleFigure(fq))
				return
			}
			r.figure(k, o.Figure, rest, e.line) // the word counts even where its figure does not
		}
		for _, f := range o.Flags {
			r.q.Flags[f] = true
		}
		if o.Value != nil {
			r.valued = append(r.valued, valued{k, o})
		}
		return
	}
	if k.Quantity == "" || len(words) > 0 && !strings.ContainsAny(text, "0123456789") {
		near := nearest(text, words, r.q.Topic.Words.Synonyms)
		switch {
		case extra != "":
			bad("nothing may follow "+quote(extra)+" here", "write "+extra+" alone")
		case near != "":
			bad(quote(text)+" is not known here", "did you mean "+near+"?")
		default:
			bad(quote(text)+" is not known here", "it can be "+r.accepts(k))
		}
		return
	}
	r.figure(k, k.Quantity, text, e.line)
}

// figure reads a figure of the quantity.
func (r *reader) figure(k *rules.Key, quantity, text string, line int) {
	q := r.q.Topic.Quantity(quantity)
	f, wrong, right := readFigure(text)
	if wrong != "" {
		if right == "" {
			right = "write a figure, such as " + exampleFigure(q)
		}
		r.refuse(line, k.Path, wrong, right)
		return
	}
	v, places, wrong, right := f.in(q, text)
	if wrong == "" && (math.IsNaN(v) || math.IsInf(v, 0)) {
		wrong, right = quote(text)+" is not a figure", exampleFigure(q)
	}
	if wrong != "" {
		r.refuse(line, k.Path, wrong, right)
		return
	}
	r.q.Given[quantity], r.q.Places[quantity] = v, places
	r.shown[quantity] = text
}

// values works out the words that stand for a formula ("full": the breadth of
// the whole), once the figures that they rest on are known.
func (r *reader) values() {
	for left := r.valued; len(left) > 0; {
		var later []valued
		for _, v := range left {
			x, err := parse.Eval(v.option.Value, func(n *parse.Name) (float64, bool) {
				f, ok := r.q.Given[n.Text]
				return f, ok
			})
			if err != nil {
				later = append(later, v)
				continue
			}
			id := v.key.Quantity
			r.q.Given[id], r.q.Places[id] = x, r.placesOf(v.option.Value, id)
		}
		if len(later) == len(left) {
			return // a figure they rest on is missing, and refused as such
		}
		left = later
	}
}

// placesOf is how many decimal places the value of a word has: those of the
// number or the quantity it is, else those the trade gives it.
func (r *reader) placesOf(e parse.Expr, id string) int {
	switch e := e.(type) {
	case *parse.Group:
		return r.placesOf(e.X, id)
	case *parse.Num:
		return e.Places
	case *parse.Name:
		if p, ok := r.q.Places[e.Text]; ok {
			return p
		}
	}
	if q := r.q.Topic.Quantity(id); q != nil {
		return q.Places
	}
	return 0
}

// number is a plain number of marks or minutes.
func number(text string) (float64, bool) {
	f, wrong, _ := readFigure(strings.Join(strings.Fields(text), " "))
	if wrong != "" || f.unit != "" {
		return 0, false
	}
	v, err := strconv.ParseFloat(f.digits, 64)
	return v, err == nil
}
