package solver

import (
	"errors"
	"fmt"
	"math"

	"batten/parse"
	"batten/rules"
)

// evaluator works figures out lazily from the givens, straight from the data:
// it decides which ways and conditions hold before a model is compiled.
type evaluator struct {
	topic  *rules.Topic
	flags  map[string]bool
	values map[string]float64 // known so far; NaN: known to have none
	conds  map[string]int8    // 1 holds, 2 does not
	busy   map[string]bool
}

var errCircle = errors.New("runs in a circle")

func newEvaluator(t *rules.Topic, flags map[string]bool, given map[string]float64) *evaluator {
	e := &evaluator{topic: t, flags: flags, values: make(map[string]float64, 64), conds: map[string]int8{}, busy: map[string]bool{}}
	for k, v := range given {
		e.values[k] = v
	}
	return e
}

// value is the figure of a quantity by the first way that holds and gives one.
func (e *evaluator) value(id string) (float64, bool) {
	if v, ok := e.values[id]; ok {
		return v, !math.IsNaN(v)
	}
	q := e.topic.Quantity(id)
	if q == nil || e.busy[id] {
		return 0, false
	}
	e.busy[id] = true
	defer delete(e.busy, id)
	v := math.NaN()
	if ok, err := e.holds(q.When); err == nil && ok {
		for _, w := range q.Ways {
			if ok, err := e.holds(w.When); err != nil || !ok {
				continue
			}
			if x, err := e.expr(w.Formula); err == nil {
				v = x
				break
			}
		}
	}
	e.values[id] = v
	return v, !math.IsNaN(v)
}

func (e *evaluator) expr(x parse.Expr) (float64, error) {
	return parse.Eval(x, func(n *parse.Name) (float64, bool) { return e.value(n.Text) })
}

func (e *evaluator) holds(c parse.Cond) (bool, error) {
	switch c := c.(type) {
	case nil:
		return true, nil
	case *parse.Flag:
		return e.flag(c.Name)
	case *parse.Not:
		ok, err := e.holds(c.X)
		return !ok, err
	case *parse.And:
		for _, x := range c.Conds {
			if ok, err := e.holds(x); err != nil || !ok {
				return false, err
			}
		}
		return true, nil
	case *parse.Or:
		var first error
		for _, x := range c.Conds {
			ok, err := e.holds(x)
			if err == nil && ok {
				return true, nil
			}
			if first == nil {
				first = err
			}
		}
		return false, first
	case *parse.Compare:
		x, err := e.expr(c.X)
		if err != nil {
			return false, err
		}
		y, err := e.expr(c.Y)
		if err != nil {
			return false, err
		}
		return compare(c.Op, x, y), nil
	}
	return false, fmt.Errorf("not a condition: %T", c)
}

func compare(op string, x, y float64) bool {
	same := Close(x, y)
	switch op {
	case "<":
		return x < y && !same
	case "<=":
		return x < y || same
	case ">":
		return x > y && !same
	case ">=":
		return x > y || same
	case "==", "=":
		return same
	case "!=":
		return !same
	}
	return false
}

func (e *evaluator) flag(name string) (bool, error) {
	if v, ok := e.flags[name]; ok {
		return v, nil
	}
	switch e.conds[name] {
	case 1:
		return true, nil
	case 2:
		return false, nil
	}
	for _, c := range e.topic.Conditions {
		if c.ID != name {
			continue
		}
		key := "?" + name
		if e.busy[key] {
			return false, errCircle
		}
		e.busy[key] = true
		defer delete(e.busy, key)
		ok, err := e.holds(c.When)
		if err != nil {
			return false, err
		}
		e.conds[name] = 2
		if ok {
			e.conds[name] = 1
		}
		return ok, nil
	}
	return false, nil // a flag of a word the question does not use
}
