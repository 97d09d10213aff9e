package rules

import (
	"fmt"
	"math"
	"math/rand"

	"batten/parse"
)

// figures works the quantities of one question out, lazily and straight from
// the data. A quantity whose figure can't be had is NaN.
type figures struct {
	t      *Topic
	flags  map[string]bool
	values map[string]float64
	conds  map[string]bool
	busy   map[string]bool
}

func newFigures(t *Topic, flags map[string]bool, given map[string]float64) *figures {
	f := &figures{t: t, flags: flags, values: make(map[string]float64, len(t.Quantities)), conds: map[string]bool{}, busy: map[string]bool{}}
	for id, v := range given {
		f.values[id] = v
	}
	return f
}

// value is the figure of a quantity by the first way that holds.
func (f *figures) value(id string) (float64, bool) {
	if v, ok := f.values[id]; ok {
		return v, !math.IsNaN(v)
	}
	q := f.t.Quantity(id)
	if q == nil || f.busy[id] {
		return 0, false
	}
	f.busy[id] = true
	v := math.NaN()
	if f.holds(q.When) {
		for _, w := range q.Ways {
			if x, ok := f.way(w); ok {
				v = x
				break
			}
		}
	}
	delete(f.busy, id)
	f.values[id] = v
	return v, !math.IsNaN(v)
}

// way is the figure a way gives, where it holds.
func (f *figures) way(w *Way) (float64, bool) {
	if !f.holds(w.When) {
		return 0, false
	}
	v, err := f.expr(w.Formula)
	return v, err == nil
}

func (f *figures) expr(e parse.Expr) (float64, error) {
	return parse.Eval(e, func(n *parse.Name) (float64, bool) { return f.value(n.Text) })
}

// holds evaluates a condition; one that rests on a missing figure does not hold.
func (f *figures) holds(c parse.Cond) bool {
	ok, known := f.cond(c)
	return ok && known
}

func (f *figures) cond(c parse.Cond) (holds, known bool) {
	switch c := c.(type) {
	case nil:
		return true, true
	case *parse.Flag:
		if v, ok := f.flags[c.Name]; ok {
			return v, true
		}
		if v, ok := f.conds[c.Name]; ok {
			return v, true
		}
		for _, d := range f.t.Conditions {
			if d.ID == c.Name {
				v, ok := f.cond(d.When)
				if ok {
					f.conds[c.Name] = v
				}
				return v, ok
			}
		}
		return false, true
	case *parse.Not:
		v, ok := f.cond(c.X)
		return !v, ok
	case *parse.And:
		for _, x := range c.Conds {
			if v, ok := f.cond(x); !ok || !v {
				return false, ok
			}
		}
		return true, true
	case *parse.Or:
		all := true
		for _, x := range c.Conds {
			v, ok := f.cond(x)
			if ok && v {
				return true, true
			}
			all = all && ok
		}
		return false, all
	case *parse.Compare:
		x, err1 := f.expr(c.X)
		y, err2 := f.expr(c.Y)
		if err1 != nil || err2 != nil {
			return false, false
		}
		return compare(c.Op, x, y), true
	}
	return false, false
}

func compare(op string, x, y float64) bool {
	same := close9(x, y)
	switch op {
	case "<":
		return x < y && !same
	case "<=":
		return x < y || same
	case ">":
		return x > y && !same
	case ">=":
		return x > y || same
	case "==":
		return same
	case "!=":
		return !same
	}
	return false
}

// close9 reports whether two figures agree up to the noise of floating point.
func close9(x, y float64) bool {
	return math.Abs(x-y) <= 1e-9*math.Max(math.Abs(x), math.Abs(y))+1e-12
}

// draw makes a question up: an option or a figure for every key, figures from
// the givens' ranges.
func (t *Topic) draw(rng *rand.Rand) *figures {
	flags, given := map[string]bool{}, map[string]float64{}
	pick := map[string]string{} // one_of → the prefix chosen
	for _, k := range t.Keys {
		if k.OneOf != "" {
			if _, ok := pick[k.OneOf]; !ok {
				pick[k.OneOf] = t.oneOf(k.OneOf, rng)
			}
			if prefix(k.Path, t.siblings(k.OneOf)) != pick[k.OneOf] {
				continue
			}
		} else if k.Optional && rng.Intn(3) == 0 {
			continue
		}
		for _, f := range k.Flags {
			flags[f] = true
		}
		figure := k.Quantity
		if n := len(k.Options); n > 0 && (k.Quantity == "" || rng.Intn(2) == 0) {
			o := k.Options[rng.Intn(n)]
			for _, f := range o.Flags {
				flags[f] = true
			}
			figure = o.Figure
			if o.Value != nil {
				f := newFigures(t, flags, given)
				if v, err := f.expr(o.Value); err == nil {
					given[k.Quantity] = v
				}
			}
		}
		if q := t.Quantity(figure); q != nil && q.Range != nil {
			r := q.Range
			given[figure] = r.From + r.Step*float64(rng.Intn(int((r.To-r.From)/r.Step+1.5)))
		}
	}
	return newFigures(t, flags, given)
}

// siblings lists the paths of the keys that share a set of which one stands.
func (t *Topic) siblings(set string) []string {
	var out []string
	for _, k := range t.Keys {
		if k.OneOf == set {
			out = append(out, k.Path)
		}
	}
	return out
}

func (t *Topic) oneOf(set string, rng *rand.Rand) string {
	paths := t.siblings(set)
	return prefix(paths[rng.Intn(len(paths))], paths)
}

// prefix groups keys that go together: those with the same parent, where the
// parent is not that of all keys of the set.
func prefix(path string, all []string) string {
	parent := parentOf(path)
	for _, p := range all {
		if len(parentOf(p)) < len(parent) {
			return parent
		}
	}
	return path
}

func parentOf(path string) string {
	for i := len(path) - 1; i >= 0; i-- {
		if path[i] == '.' {
			return path[:i]
		}
	}
	return ""
}

const (
	leastDraws = 120  // questions drawn in any case
	mostDraws  = 6000 // questions drawn in search of one that shows a fault
)

// prove draws questions and refuses what can never do its work: a site that
// never differs from the right figure, a way that never holds or gives another
// figure than the reference, a find that can't be answered where it should.
func (t *Topic) prove() error {
	rng := rand.New(rand.NewSource(7))
	seen := map[any]bool{}
	refused := map[any]*Error{}
	refuse := func(what any, at Place, format string, args ...any) {
		if refused[what] == nil {
			refused[what] = &Error{at, fmt.Sprintf(format, args...)}
		}
	}
	missing := 0
	for _, q := range t.Quantities {
		missing += len(q.Ways)
	}
	faults := append(append([]*Fault(nil), t.Faults...), t.Generic...)
	for _, f := range faults {
		missing += len(f.Sites)
	}
	missing += len(t.Finds)
	see := func(what any) {
		if !seen[what] {
			seen[what] = true
			missing--
		}
	}
	for sound, tries := 0, 0; tries < mostDraws && (sound < leastDraws || missing > 0); tries++ {
		f := t.draw(rng)
		if t.refuses(f) {
			continue
		}
		sound++
		for _, q := range t.Quantities {
			right, ok := f.value(q.ID)
			if !ok {
				continue
			}
			for _, w := range q.Ways {
				v, ok := f.way(w)
				if !ok {
					continue
				}
				see(w)
				if _, given := f.values[q.ID]; given && !close6(v, right) {
					refuse(w, w.At, "this way gives %.6g for %s, where the first that holds gives %.6g", v, q.ID, right)
				}
			}
		}
		for _, fault := range faults {
			for _, s := range fault.Sites {
				right, ok := f.value(s.Quantity)
				if seen[s] || !ok || !f.holds(s.When) {
					continue
				}
				if wrong, err := f.expr(s.Formula); err == nil && !close6(wrong, right) {
					see(s)
				}
			}
		}
		for _, find := range t.Finds {
			if !f.holds(find.When) {
				continue
			}
			see(find)
			for _, a := range find.Answers {
				if _, ok := f.value(a); !ok {
					refuse(find, find.At, "%s can't be derived for every question that may ask for %s", a, find.Words)
				}
			}
		}
	}
	for _, q := range t.Quantities {
		for _, w := range q.Ways {
			if !seen[w] {
				refuse(w, w.At, "this way of %s never holds", q.ID)
			}
		}
	}
	for _, f := range faults {
		for _, s := range f.Sites {
			if !seen[s] {
				refuse(s, s.At, "%s can never differ from the right %s here", f.ID, s.Quantity)
			}
		}
	}
	for _, find := range t.Finds {
		if !seen[find] {
			refuse(find, find.At, "no question can ask for %s", find.Words)
		}
	}
	l := &loader{topic: t}
	for _, e := range refused {
		l.errs = append(l.errs, e)
	}
	if len(l.errs) == 0 {
		return nil
	}
	return l.joined()
}

func close6(x, y float64) bool {
	return math.Abs(x-y) <= 1e-6*math.Max(math.Abs(x), math.Abs(y))+1e-9
}

// refuses reports whether a check turns the question away, whatever is asked.
func (t *Topic) refuses(f *figures) bool {
	for _, c := range t.Checks {
		if f.holds(c.Refuse) {
			return true
		}
	}
	return false
}
