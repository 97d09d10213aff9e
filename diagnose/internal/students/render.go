package students

import "strings"

// piece is a written formula with how loosely it holds together.
type piece struct {
	text  string
	level int
}

// style says how one writing of a formula is set.
type style struct {
	leaf    func(n *node) piece
	mul     string
	div     string
	minus   string
	pow     string
	letters bool // single letters stand side by side: LB^3/12V
	loose   bool // brackets of a divisor are left out
	implied bool // a bracketed divisor's factors stand side by side: 12(7776)
	base    bool // what is being written is the base of a power
}

// render writes the formula in the style.
func (st *style) render(n *node) piece {
	switch n.op {
	case 'k':
		return piece{n.text, 5}
	case 'q', 'm':
		return st.leaf(n)
	case 'n':
		x := st.render(n.x)
		return piece{"-" + bracketed(x, 2), 3}
	case 'f':
		x := st.render(n.x)
		return piece{functionText(n.text, x), 5}
	case '^':
		st.base = true // 62 m³ would be a volume
		x := st.render(n.x)
		st.base = false
		return piece{bracketed(x, 5) + st.power(n.y.text), 4}
	}
	if n.op == '*' {
		return st.product(n)
	}
	x, y := st.render(n.x), st.render(n.y)
	switch n.op {
	case '+', '-':
		sign := " + "
		if strings.TrimSpace(st.minus) == st.minus {
			sign = "+"
		}
		if n.op == '-' {
			sign = st.minus
		}
		right := y.text
		if y.level < 2 && n.op == '-' {
			right = "(" + right + ")"
		}
		if strings.HasPrefix(right, "-") || strings.HasPrefix(right, "−") {
			right = "(" + right + ")"
		}
		return piece{bracketed(x, 1) + sign + right, 1}
	}
	// a quotient
	left := bracketed(x, 2)
	right := y.text
	switch {
	case y.level <= 1 || strings.HasPrefix(right, "-"):
		right = "(" + right + ")"
	case y.level == 2 && st.letters && n.y.op == '*' && !strings.ContainsAny(right, " /"):
		// 12V is meant as one
	case y.level == 2 && !(st.loose && plainProduct(n.y)):
		right = "(" + right + ")"
	}
	return piece{left + st.div + right, 2}
}

// plainProduct reports whether a divisor is a product of bare figures, the
// only one whose brackets people leave out.
func plainProduct(n *node) bool {
	for _, f := range n.factors() {
		if f.op != 'k' && f.op != 'q' && f.op != 'm' {
			return false
		}
	}
	return n.op == '*'
}

func (st *style) power(t string) string {
	switch st.pow {
	case "³":
		return string([]rune("⁰¹²³")[t[0]-'0'])
	case "**3":
		return "**" + t
	}
	return "^" + t
}

func bracketed(p piece, atLeast int) string {
	if p.level < atLeast {
		return "(" + p.text + ")"
	}
	return p.text
}

func (st *style) product(n *node) piece {
	var b strings.Builder
	fs := n.factors()
	tight := false
	for i, f := range fs {
		p := st.render(f)
		t := bracketed(p, 2)
		if i > 0 && p.level == 2 && f.op == '/' {
			t = "(" + p.text + ")"
		}
		if strings.HasPrefix(t, "-") {
			t = "(" + t + ")"
		}
		join := st.mul
		isBracket := strings.HasPrefix(t, "(")
		switch {
		case i == 0:
			join = ""
		case st.letters && (tight && (short(t) || isBracket)):
			join = ""
		case st.implied && isBracket:
			join = ""
		}
		b.WriteString(join)
		b.WriteString(t)
		tight = short(t) || isBracket || f.op == 'k'
	}
	return piece{b.String(), 2}
}

// short reports whether a symbol is a single letter, with a power or a prime
// perhaps, so that it may stand against another.
func short(t string) bool {
	r := []rune(t)
	if len(r) == 0 || r[0] >= '0' && r[0] <= '9' {
		return false
	}
	rest := strings.TrimLeft(string(r[1:]), "²³^*0123456789'₁₂")
	return rest == ""
}

func functionText(name string, x piece) string {
	in := x.text
	switch name {
	case "atan":
		return "tan-1 (" + in + ")"
	}
	return name + "(" + in + ")"
}

// symbolic is the style for formulas in letters or words.
func (w *writer) symbolic(edits map[int]edit) *style {
	h := w.hand
	st := &style{mul: h.mul, div: h.div, minus: h.minus, pow: h.pow, letters: h.Symbols == "letters"}
	if st.letters || strings.EqualFold(st.mul, "x") && !h.glued {
		st.mul = " x " // between letters hardly anybody does without the blanks
	}
	st.leaf = func(n *node) piece {
		if f := w.inlined(n.q, edits); f != nil {
			return st.render(f)
		}
		if h.Symbols != "words" {
			if s := w.symbol(n.q); s != "" {
				return piece{s, 5}
			}
		}
		if st.mul == "x" {
			st.mul = " x "
		}
		if st.minus == "-" { // full vol-lost vol: nobody could read that
			st.minus = " - "
		}
		name := w.name(n.q, pick(h.r, "short", "short", "long"))
		if h.Symbols == "words" && w.symbol(n.q) != "" && quants[n.q].places > 0 && w.isGiven(n.q) {
			name = w.symbol(n.q)
		}
		return piece{name, 5}
	}
	return st
}

// inSymbols writes a formula in symbols.
func (w *writer) inSymbols(n *node, edits map[int]edit) string {
	return w.symbolic(edits).render(n).text
}

// inFigures writes a formula in figures.
func (w *writer) inFigures(n *node, edits map[int]edit, loose bool) string {
	h := w.hand
	st := &style{mul: h.mul, div: h.div, minus: h.minus, pow: h.pow, loose: loose, implied: h.implied}
	st.leaf = func(n *node) piece {
		if n.op == 'm' {
			return piece{h.dress(n.text), 5}
		}
		if f := w.inlined(n.q, edits); f != nil {
			return st.render(f)
		}
		t := w.leafFigure(n.q, st.base)
		if strings.HasPrefix(t, "-") || strings.HasPrefix(t, "−") {
			return piece{t, 3}
		}
		return piece{t, 5}
	}
	return st.render(n).text
}

// leafFigure is the figure that stands for a quantity, with its marks.
func (w *writer) leafFigure(q int, base bool) string {
	h := w.hand
	t := w.leafText(w.figures, q)
	if quants[q].unit == "" && quants[q].id == "permeability" {
		return h.ratio(t)
	}
	t = h.dress(t)
	if h.unitsWithin && !base {
		t += strings.TrimRight(h.unit(quants[q].unit), " ")
	}
	return t
}

// inlined is the formula that stands for an unwritten quantity, nil where a
// figure does.
func (w *writer) inlined(q int, edits map[int]edit) *node {
	j := w.at[q]
	if j < 0 {
		return nil
	}
	s := w.steps[j]
	if s.written || !s.inline {
		return nil
	}
	if e, ok := edits[j]; ok && e.way != nil {
		return e.way
	}
	return s.right
}
