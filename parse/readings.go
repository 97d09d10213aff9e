package parse

// Other readings of what a student wrote: the same leaves in the same order
// with the brackets elsewhere. Leaves keep their places in the file; the new
// inner nodes have the place from their first leaf to their last.

// item is one element of an expression laid flat: a leaf, a sign, a function
// or a bracket.
type item struct {
	kind    itemKind
	leaf    Expr
	op      Op
	implied bool
	fn      *Call
	pair    int // brackets: which pair; -1 for one that the student did not write
	at      Span
}

type itemKind uint8

const (
	leafItem itemKind = iota
	opItem
	negItem
	funcItem
	openItem
	closeItem
)

// flattener lays a tree flat.
type flattener struct {
	items []item
	pairs int
}

func flatten(e Expr) *flattener {
	f := &flattener{}
	f.add(e)
	return f
}

func (f *flattener) bracketed(e Expr, written bool, at Span) {
	pair := -1
	if written {
		pair = f.pairs
		f.pairs++
	}
	f.items = append(f.items, item{kind: openItem, pair: pair, at: at})
	f.add(e)
	f.items = append(f.items, item{kind: closeItem, pair: pair, at: at})
}

func (f *flattener) add(e Expr) {
	switch e := e.(type) {
	case *Group:
		f.bracketed(e.X, true, e.At)
	case *Neg:
		f.items = append(f.items, item{kind: negItem, at: e.At})
		f.part(e.X, prec(e.X) < precNeg)
	case *Call:
		if len(e.Args) != 1 {
			f.items = append(f.items, item{kind: leafItem, leaf: e})
			return
		}
		f.items = append(f.items, item{kind: funcItem, fn: e, at: e.At})
		switch e.Args[0].(type) {
		case *Num, *Name:
			f.bracketed(e.Args[0], false, e.Args[0].Span())
		default:
			f.bracketed(e.Args[0], true, e.At)
		}
	case *Binary:
		p := precOf(e.Op, e.Implied)
		left, right := prec(e.X) < p, prec(e.Y) <= p
		if e.Op == '^' {
			left, right = prec(e.X) <= p, prec(e.Y) < p
			if _, neg := e.Y.(*Neg); neg {
				right = false
			}
		} else if _, neg := e.Y.(*Neg); neg {
			right = false
		}
		f.part(e.X, left)
		f.items = append(f.items, item{kind: opItem, op: e.Op, implied: e.Implied, at: e.At})
		f.part(e.Y, right)
	default:
		f.items = append(f.items, item{kind: leafItem, leaf: e})
	}
}

// part lays an operand flat; where the tree needs brackets that no one wrote,
// it gets a pair that can't be taken off.
func (f *flattener) part(e Expr, brackets bool) {
	if brackets {
		f.bracketed(e, false, e.Span())
		return
	}
	f.add(e)
}

// rebuilder reads items back into a tree. drop says which written pairs of
// brackets are left out; -1 drops all of them.
type rebuilder struct {
	items   []item
	i       int
	loose   bool // implied multiplication binds like a written one
	drop    func(pair int) bool
	changed bool
}

func (r *rebuilder) kept(it *item) bool { return it.pair < 0 || r.drop == nil || !r.drop(it.pair) }

func (r *rebuilder) peek() *item {
	for r.i < len(r.items) {
		it := &r.items[r.i]
		if (it.kind == openItem || it.kind == closeItem) && !r.kept(it) {
			r.i++
			continue
		}
		return it
	}
	return nil
}

func (r *rebuilder) prec(it *item) int {
	if r.loose && it.implied {
		return precProduct
	}
	return precOf(it.op, it.implied)
}

func (r *rebuilder) expr(min int) Expr {
	left := r.operand(min)
	for left != nil {
		it := r.peek()
		if it == nil || it.kind != opItem {
			return left
		}
		p := r.prec(it)
		if p < min {
			return left
		}
		r.i++
		var right Expr
		if it.op == '^' {
			right = r.operand(precPower)
		} else {
			right = r.expr(p + 1)
		}
		if right == nil {
			return nil
		}
		left = &Binary{it.op, left, right, it.implied, join(left.Span(), right.Span())}
	}
	return left
}

func (r *rebuilder) operand(min int) Expr {
	it := r.peek()
	if it == nil {
		return nil
	}
	r.i++
	var x Expr
	switch it.kind {
	case negItem:
		p := max(precNeg, min)
		if r.loose {
			p = max(precProduct+1, min)
		}
		if x = r.expr(p); x == nil {
			return nil
		}
		return &Neg{x, join(it.at, x.Span())}
	case leafItem:
		x = it.leaf
	case openItem:
		if x = r.expr(precSum); x == nil {
			return nil
		}
		if c := r.peek(); c == nil || c.kind != closeItem {
			return nil
		}
		r.i++
		if it.pair >= 0 {
			x = &Group{x, it.at}
		}
	case funcItem:
		if n := r.peek(); n != nil && n.kind == openItem {
			r.i++
			if x = r.expr(precSum); x == nil {
				return nil
			}
			if c := r.peek(); c == nil || c.kind != closeItem {
				return nil
			}
			r.i++
		} else if x = r.operand(precPower); x == nil {
			return nil
		}
		x = &Call{it.fn.Func, []Expr{x}, it.at}
	default:
		return nil
	}
	if n := r.peek(); n != nil && n.kind == opItem && n.op == '^' && min >= precPower {
		r.i++
		y := r.operand(precPower)
		if y == nil {
			return nil
		}
		return &Binary{'^', x, y, false, join(x.Span(), y.Span())}
	}
	return x
}

func (r *rebuilder) whole() Expr {
	e := r.expr(precSum)
	if e == nil || r.peek() != nil {
		return nil
	}
	return e
}

// maxReading is the largest expression, in items, of which other readings are made.
const maxReading = 400

// Calculator gives the reading of a pocket calculator, on which a
// multiplication written as nothing binds no tighter than another: LB^3/12V is
// (LB^3/12) times V. ok is false where that is the tree that e is already.
func Calculator(e Expr) (Expr, bool) {
	if !divides(e) {
		return nil, false
	}
	f := flatten(e)
	if len(f.items) > maxReading {
		return nil, false
	}
	r := rebuilder{items: f.items, loose: true}
	out := r.whole()
	return out, out != nil
}

// divides reports whether anything in e is divided by an implied product.
func divides(e Expr) bool {
	found := false
	Walk(e, func(e Expr) bool {
		if b, ok := e.(*Binary); ok && b.Op == '/' {
			if y, ok := b.Y.(*Binary); ok && y.Implied {
				found = true
			}
		}
		return !found
	})
	return found
}

// Unbracketed gives what a calculator makes of the same keys with brackets
// left out: all of them, and each pair alone. Readings that are no different
// from e as a calculator takes it are left out.
func Unbracketed(e Expr) []Expr {
	f := flatten(e)
	if f.pairs == 0 || len(f.items) > maxReading {
		return nil
	}
	const most = 12
	base := (&rebuilder{items: f.items, loose: true}).whole()
	if base == nil {
		return nil
	}
	seen := map[string]bool{shape(base): true, shape(e): true}
	var out []Expr
	add := func(drop func(int) bool) {
		r := rebuilder{items: f.items, loose: true, drop: drop}
		x := r.whole()
		if x == nil {
			return
		}
		if s := shape(x); !seen[s] {
			seen[s] = true
			out = append(out, x)
		}
	}
	add(func(int) bool { return true })
	for pair := range min(f.pairs, most) {
		add(func(p int) bool { return p == pair })
	}
	return out
}
