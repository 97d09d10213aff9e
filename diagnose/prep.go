package diagnose

import (
	"math"
	"slices"
	"strings"

	"batten/parse"
	"batten/solver"
)

// A prepared step is a step as read, with everything worked out once that does
// not depend on where it is placed.
type prepared struct {
	step  *parse.Step
	index int
	sides []side
	// result is the bare number the chain ends in, nil where it ends in an expression
	result *written
	label  string   // label, or row and column words of a table
	words  string   // all other words on its lines, lower case
	said   *wording // what its words say, found when first asked for
}

// A written figure: a bare number as the student put it down.
type written struct {
	value   float64 // in the unit written
	ulp     float64 // one unit of the last written place
	digits  int     // significant digits
	unit    *parse.Unit
	percent bool
	signed  bool // an explicit sign stands before it
	at      parse.Span
	text    string
	turned  float64 // by what the figure before it was turned into its unit, 0 where none was
}

// A side is one link of the chain, in each of its readings.
type side struct {
	expr    parse.Expr
	at      parse.Span
	unit    *parse.Unit
	bare    *written // set where it is a bare number
	alts    []form   // readings of an expression; the first is the plain one
	names   bool     // words stand in it as operands
	figures bool     // numbers stand in it that are more than small constants
}

// A form is one reading of an expression's brackets, compiled over its leaves.
type form struct {
	expr   parse.Expr
	kind   formKind
	code   solver.Code
	leaves []leaf

	without  []form // lazily: the forms in which brackets of it are lost
	stripped bool   // they have been found
}

type formKind uint8

const (
	asWritten  formKind = iota
	calculator          // implied products bind no tighter than written ones
	meant               // brackets the student left unwritten
)

// A leaf is a number or a name in an expression.
type leaf struct {
	num  *parse.Num
	name *parse.Name
	at   parse.Span
	ulp  float64
	sig  int
	in   float64 // 1, or what turns its unit into that of its fellows: 29.2 cm beside 3.6 m
}

const maxLeaves = 24

func prepare(s *parse.Script) []prepared {
	out := make([]prepared, 0, len(s.Steps))
	for i := range s.Steps {
		st := &s.Steps[i]
		p := prepared{step: st, words: strings.ToLower(st.Words)}
		p.label = st.Label
		if p.label == "" {
			p.label = strings.TrimSpace(st.Row + " " + st.Column)
		} else if st.Column != "" {
			p.label += " " + st.Column
		}
		sides := st.Sides
		if name, side, ok := nameThenFigure(st); ok {
			p.label, sides = name, []parse.Side{side}
		}
		for j := range sides {
			p.sides = append(p.sides, prepareSide(&sides[j]))
		}
		p.settle()
		if w := p.result; w != nil && w.unit == nil && !w.percent {
			w.unit = unitInWords(p.label)
		}
		rest := p.splitOff()
		p.index = len(out)
		out = append(out, p)
		if rest != nil {
			rest.index = len(out)
			out = append(out, *rest)
		}
	}
	return out
}

// nameThenFigure reads "NAME -4.69 m" and "NAME +0.25 m", with no other
// working, as a name and its signed figure.
func nameThenFigure(st *parse.Step) (string, parse.Side, bool) {
	if st.Label != "" || len(st.Sides) != 1 || st.Table > 0 {
		return "", parse.Side{}, false
	}
	b, ok := st.Sides[0].Expr.(*parse.Binary)
	if !ok || b.Op != '-' && b.Op != '+' {
		return "", parse.Side{}, false
	}
	name, ok := b.X.(*parse.Name)
	num, isNum := b.Y.(*parse.Num)
	if !ok || !isNum {
		return "", parse.Side{}, false
	}
	s := st.Sides[0]
	s.At = num.At
	s.Expr = num
	if b.Op == '-' {
		s.Expr = &parse.Neg{X: num, At: num.At}
	}
	return name.Text, s, true
}

var bracketsApart = strings.NewReplacer("(", " ( ", ")", " ", "[", " ( ", "]", " ")

// unitInWords finds the unit that a label gives: "NAME in cm", "NAME (cm)".
func unitInWords(label string) *parse.Unit {
	f := strings.Fields(bracketsApart.Replace(label))
	for i := 1; i < len(f); i++ {
		if f[i-1] == "in" || f[i-1] == "(" {
			if u, ok := parse.LookupUnit(f[i]); ok && i == len(f)-1 && len(f[i]) >= 2 {
				return u
			}
		}
	}
	return nil
}

// settle takes the number that the chain ends in for its result.
func (p *prepared) settle() {
	p.result = nil
	if n := len(p.sides); n > 0 && p.sides[n-1].bare != nil {
		p.result = p.sides[n-1].bare
		if n > 1 && p.sides[n-2].bare != nil {
			a, b := p.sides[n-2].bare.unit, p.result.unit
			if a != nil && b != nil && a.Dim == b.Dim && a.Factor != b.Factor && b.Factor != 0 {
				p.result.turned = a.Factor / b.Factor // "587.9 + 182.8 = 770.7 cm = 7.707 m"
			}
		}
	}
}

// splitOff parts a second figure from the chain where it can't be the first
// one over again, in another unit or to other places: "= 8.181 m, i.e. 0.181 m
// off the centre line" says two things.
func (p *prepared) splitOff() *prepared {
	n := len(p.sides)
	if n < 3 || p.sides[n-1].bare == nil || p.sides[n-2].bare == nil {
		return nil
	}
	a, b := p.sides[n-2].bare, p.sides[n-1].bare
	if a.value == 0 || b.value == 0 {
		return nil
	}
	r := math.Abs(b.value / a.value)
	for k := -4; k <= 4; k++ {
		f := math.Pow10(k)
		if math.Abs(r-f) <= f*0.001+(a.ulp/math.Abs(a.value)+b.ulp/math.Abs(b.value))*f*1.1 {
			return nil
		}
	}
	if a.unit == nil && b.unit == nil && !(p.workedOut(n-2) && digitsApart(a, b)) {
		return nil
	}
	rest := *p
	rest.sides = p.sides[n-1:]
	rest.label = ""
	p.sides = p.sides[:n-1]
	p.settle()
	rest.settle()
	return &rest
}

// workedOut reports whether the figures before the k-th side come to the figure
// that stands there, so that what is said behind it is something else.
func (p *prepared) workedOut(k int) bool {
	if k < 1 {
		return false
	}
	for i := range p.sides[k-1].alts {
		if x, ok := p.sides[k-1].alts[i].literal(); ok && math.Abs(x-p.sides[k].bare.value) <= 1.01*p.sides[k].bare.ulp {
			return true
		}
	}
	return false
}

// digitsApart reports whether two figures are too unlike for one to be the other
// written down wrongly.
func digitsApart(a, b *written) bool {
	x, y := aligned(digitsOf(a.text), digitsOf(b.text))
	return !transposed(x, y) && !oneDigitOff(x, y) && !swappedApart(x, y)
}

func prepareSide(s *parse.Side) side {
	sd := side{expr: s.Expr, at: s.At, unit: s.Unit}
	if n, v, ok := parse.Bare(s.Expr); ok {
		w := writtenOf(n, v)
		if w.unit == nil {
			w.unit = s.Unit
		}
		w.at = s.At
		_, w.signed = s.Expr.(*parse.Neg)
		sd.bare = &w
		return sd
	}
	add := func(e parse.Expr, k formKind) {
		f, ok := compileForm(e, k)
		if !ok {
			return
		}
		if f.oneUnit() {
			sd.alts = append(sd.alts, f)
			f, _ = compileForm(e, k) // and as it stands: 111 cm / 100 is turned already
		}
		sd.alts = append(sd.alts, f)
	}
	add(s.Expr, asWritten)
	if e, ok := parse.Calculator(s.Expr); ok {
		add(e, calculator)
	}
	for _, e := range parse.Meant(s.Expr) {
		add(e, meant)
	}
	if len(sd.alts) > 0 {
		for _, l := range sd.alts[0].leaves {
			if l.name != nil {
				sd.names = true
			} else if !smallConstant(l.num) {
				sd.figures = true
			}
		}
	}
	return sd
}

func smallConstant(n *parse.Num) bool {
	switch n.Value {
	case 1, 2, 3, 4, 12, 100:
		return n.Unit == nil && n.Places == 0 // 4.00 is something measured
	case 0.5, 0.01:
		return n.Unit == nil
	}
	return false
}

func compileForm(e parse.Expr, k formKind) (form, bool) {
	f := form{expr: e, kind: k}
	powers := exponents(e, nil)
	code, err := solver.Compile(e, func(l parse.Expr) (int, bool) {
		num, _ := l.(*parse.Num)
		name, _ := l.(*parse.Name)
		if num != nil && slices.Contains(powers, num) {
			return 0, false // a power is a power, never a quantity
		}
		for i := range f.leaves {
			if x := &f.leaves[i]; x.num == num && x.name == name {
				return i, true // the same one again
			}
		}
		i := len(f.leaves)
		switch l := l.(type) {
		case *parse.Num:
			w := writtenOf(l, l.Value)
			f.leaves = append(f.leaves, leaf{num: l, at: l.At, ulp: w.ulp, sig: w.digits, in: 1})
		case *parse.Name:
			f.leaves = append(f.leaves, leaf{name: l, at: l.At, in: 1})
		}
		return i, true
	})
	if err != nil || len(f.leaves) > maxLeaves {
		return f, false
	}
	f.code = code
	return f, true
}

// oneUnit turns figures given in a smaller unit than others of their kind in
// the same expression into the base unit, and reports whether there were any.
func (f *form) oneUnit() bool {
	turned := false
	for i := range f.leaves {
		a := &f.leaves[i]
		if a.num == nil || a.num.Unit == nil || a.num.Unit.Factor == 1 {
			continue
		}
		for _, b := range f.leaves {
			if b.num != nil && b.num.Unit != nil && b.num.Unit.Dim == a.num.Unit.Dim && b.num.Unit.Factor == 1 {
				a.in = a.num.Unit.Factor
				a.ulp *= a.in
				turned = true
				break
			}
		}
	}
	return turned
}

// figure is the number as it counts in its expression.
func (l *leaf) figure() float64 { return l.num.Value * l.in }

// exponents adds the numbers that stand as powers.
func exponents(e parse.Expr, out []*parse.Num) []*parse.Num {
	switch e := e.(type) {
	case *parse.Group:
		return exponents(e.X, out)
	case *parse.Neg:
		return exponents(e.X, out)
	case *parse.Call:
		for _, a := range e.Args {
			out = exponents(a, out)
		}
	case *parse.Binary:
		out = exponents(e.X, out)
		if e.Op == '^' {
			if n, _, ok := parse.Bare(e.Y); ok {
				return append(out, n)
			}
		}
		return exponents(e.Y, out)
	}
	return out
}

func writtenOf(n *parse.Num, v float64) written {
	w := written{value: v, unit: n.Unit, percent: n.Percent, text: n.Text, at: n.At}
	places := n.Places
	w.ulp = math.Pow(10, -float64(places))
	lead := false
	for _, r := range n.Text {
		if r >= '0' && r <= '9' {
			if r != '0' {
				lead = true
			}
			if lead {
				w.digits++
			}
		}
	}
	if places == 0 && !n.Percent && strings.ContainsAny(n.Text, "½¼¾/°'′") {
		w.ulp = 1e-6
	}
	return w
}

// eval evaluates the form with the leaves' figures.
func (f *form) eval(v []float64) float64 { return f.code.Eval(v) }

// literal evaluates a form of numbers alone; ok is false where names stand in it.
func (f *form) literal() (float64, bool) {
	var v [maxLeaves]float64
	for i, l := range f.leaves {
		if l.num == nil {
			return 0, false
		}
		v[i] = l.figure()
	}
	x := f.code.Eval(v[:len(f.leaves)])
	return x, !math.IsNaN(x)
}

// name is the step's label with the heading that it stands under.
func (p *prepared) name() string { return p.step.Heading + "\n" + p.label }

// namesOfSeveral finds the names that stand before different figures.
func namesOfSeveral(steps []prepared) map[string]bool {
	figure := map[string]float64{}
	var out map[string]bool
	for i := range steps {
		p := &steps[i]
		if p.label == "" || p.result == nil || p.step.Table > 0 {
			continue
		}
		x, seen := figure[p.name()]
		if seen && math.Abs(x-p.result.value) > 0.01*math.Abs(x) {
			if out == nil {
				out = map[string]bool{}
			}
			out[p.name()] = true
		}
		figure[p.name()] = p.result.value
	}
	return out
}
