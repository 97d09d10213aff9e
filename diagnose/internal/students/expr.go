package students

import (
	"fmt"
	"math"

	"batten/parse"
)

// node is a formula as the generator handles it: 'k' a constant, 'q' a
// quantity, 'm' a quantity's figure miscopied, 'n' minus, 'f' a function, or
// one of + - * / ^.
type node struct {
	op   byte
	k    float64
	text string // the constant as written, or the name of the function
	q    int
	x, y *node
}

func constant(k float64) *node { return &node{op: 'k', k: k, text: plainText(k)} }
func ref(q int) *node          { return &node{op: 'q', q: q} }
func join(op byte, x, y *node) *node {
	return &node{op: op, x: x, y: y}
}

var formulas = map[string]*node{}

// formula reads a formula over ids of quantities. It is called while the
// package is set up, so that a slip in one is found at once.
func formula(text string) *node {
	if n, ok := formulas[text]; ok {
		return n
	}
	e, err := parse.ParseExpr(text, nil)
	if err != nil {
		panic(text + ": " + err.Error())
	}
	n, err := fromExpr(e)
	if err != nil {
		panic(text + ": " + err.Error())
	}
	formulas[text] = n
	return n
}

// fromExpr turns a formula of the rules into a node.
func fromExpr(e parse.Expr) (*node, error) {
	switch e := e.(type) {
	case *parse.Num:
		return constant(e.Value), nil
	case *parse.Name:
		q, ok := quantityIndex[e.Text]
		if !ok {
			return nil, fmt.Errorf("%s is no quantity of the generator's", e.Text)
		}
		return ref(q), nil
	case *parse.Group:
		return fromExpr(e.X)
	case *parse.Neg:
		x, err := fromExpr(e.X)
		if err != nil {
			return nil, err
		}
		return &node{op: 'n', x: x}, nil
	case *parse.Binary:
		x, err := fromExpr(e.X)
		if err != nil {
			return nil, err
		}
		y, err := fromExpr(e.Y)
		if err != nil {
			return nil, err
		}
		return join(byte(e.Op), x, y), nil
	case *parse.Call:
		if len(e.Args) != 1 {
			return nil, fmt.Errorf("%s of several figures", e.Func)
		}
		x, err := fromExpr(e.Args[0])
		if err != nil {
			return nil, err
		}
		return &node{op: 'f', text: e.Func, x: x}, nil
	}
	return nil, fmt.Errorf("no formula: %T", e)
}

// eval works the formula out; look gives a quantity's figure.
func (n *node) eval(look func(q int) float64) float64 {
	switch n.op {
	case 'k', 'm':
		return n.k
	case 'q':
		return look(n.q)
	case 'n':
		return -n.x.eval(look)
	case 'f':
		return apply(n.text, n.x.eval(look))
	}
	x, y := n.x.eval(look), n.y.eval(look)
	return operate(n.op, x, y)
}

func apply(name string, x float64) float64 {
	switch name {
	case "atan":
		return math.Atan(x) * 180 / math.Pi
	case "tan":
		return math.Tan(x * math.Pi / 180)
	case "sqrt":
		return math.Sqrt(x)
	}
	return math.NaN()
}

func operate(op byte, x, y float64) float64 {
	switch op {
	case '+':
		return x + y
	case '-':
		return x - y
	case '*':
		return x * y
	case '/':
		return x / y
	case '^':
		return math.Pow(x, y)
	}
	return math.NaN()
}

// each calls f for every quantity in the formula, in order, repeats included.
func (n *node) each(f func(q int)) {
	switch n.op {
	case 'k', 'm':
	case 'q':
		f(n.q)
	case 'n', 'f':
		n.x.each(f)
	default:
		n.x.each(f)
		n.y.each(f)
	}
}

// leaves lists the leaves of the formula in order.
func (n *node) leaves() []*node {
	switch n.op {
	case 'k', 'q', 'm':
		return []*node{n}
	case 'n', 'f':
		return n.x.leaves()
	}
	return append(n.x.leaves(), n.y.leaves()...)
}

// swap returns the formula with one node (that very one) replaced by another.
func (n *node) swap(old, with *node) *node {
	if n == old {
		return with
	}
	c := *n
	if n.x != nil {
		c.x = n.x.swap(old, with)
	}
	if n.y != nil {
		c.y = n.y.swap(old, with)
	}
	return &c
}

// factors flattens a product.
func (n *node) factors() []*node {
	if n.op == '*' {
		return append(n.x.factors(), n.y.factors()...)
	}
	return []*node{n}
}

func product(of []*node) *node {
	p := of[0]
	for _, f := range of[1:] {
		p = join('*', p, f)
	}
	return p
}

// equal reports whether two formulas are written alike.
func (n *node) equal(m *node) bool {
	if n.op != m.op || n.q != m.q && n.op == 'q' || n.k != m.k && n.op == 'k' || n.text != m.text && n.op == 'f' {
		return false
	}
	if n.x != nil && !n.x.equal(m.x) {
		return false
	}
	return n.y == nil || n.y.equal(m.y)
}

// shuffled puts the factors of products into another order, as people do.
// Powers and constants keep to where they are at home.
func (n *node) shuffled(r *rng) *node {
	if n.op == 'k' || n.op == 'q' || n.op == 'm' {
		return n
	}
	if n.op == '*' {
		fs := n.factors()
		plain := true
		for i, f := range fs {
			fs[i] = f.shuffled(r)
			if f.op != 'q' {
				plain = false
			}
		}
		if plain {
			r.Shuffle(len(fs), func(i, j int) { fs[i], fs[j] = fs[j], fs[i] })
		}
		return product(fs)
	}
	c := *n
	if n.x != nil {
		c.x = n.x.shuffled(r)
	}
	if n.y != nil {
		c.y = n.y.shuffled(r)
	}
	return &c
}

// folded replaces products that have a name of their own by that name.
func (n *node) folded(name int, of *node) *node {
	if n.op == 'k' || n.op == 'q' || n.op == 'm' {
		return n
	}
	want := of.factors()
	if n.op == '*' && of.op == '*' {
		fs := n.factors()
		used := make([]bool, len(fs))
		found := 0
		for _, w := range want {
			for i, f := range fs {
				if !used[i] && f.equal(w) {
					used[i] = true
					found++
					break
				}
			}
		}
		if found == len(want) {
			out := []*node{}
			put := false
			for i, f := range fs {
				if !used[i] {
					out = append(out, f.folded(name, of))
				} else if !put {
					out = append(out, ref(name))
					put = true
				}
			}
			return product(out)
		}
		for i := range fs {
			fs[i] = fs[i].folded(name, of)
		}
		return product(fs)
	}
	if n.equal(of) {
		return ref(name)
	}
	c := *n
	if n.x != nil {
		c.x = n.x.folded(name, of)
	}
	if n.y != nil {
		c.y = n.y.folded(name, of)
	}
	return &c
}
