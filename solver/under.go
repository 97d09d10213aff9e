package solver

import "sync"

// Under evaluates a quantity in some worlds with some quantities' formulas
// replaced by a fault's, and some held at the world's own figures whatever
// they rest on: those a student wrote down and worked on from. The figure of
// worlds[i] goes to out[i]. Quantities are worked by their first way, but for
// the one of which another is given by (nil for none).
func (m *Model) Under(worlds []int, target int, wrong []*Site, by *Way, held Set, out []float64) {
	u := underRoom.Get().(*under)
	u.m, u.wrong, u.by, u.held = m, wrong, by, held
	u.touch, u.done, u.busy = Set{}, Set{}, Set{}
	u.order = u.order[:0]
	for _, w := range wrong {
		u.touch.Add(w.Slot)
		u.touch = u.touch.Or(m.Below[w.Slot])
	}
	u.need(target)
	u.v = append(u.v[:0], m.Worlds[0]...)
	for i, w := range worlds {
		v := m.Worlds[w]
		copy(u.v, v)
		for _, s := range u.order {
			u.v[s.slot] = s.code.Eval(u.v)
		}
		out[i] = u.v[target]
	}
	u.m, u.wrong, u.by = nil, nil, nil
	underRoom.Put(u)
}

// under finds the order in which the spoilt formulas are worked. What none of
// them touches has the world's own figure; so has, where faults run in a
// circle, what is still being worked.
type under struct {
	m     *Model
	wrong []*Site
	by    *Way
	held  Set
	touch Set // what the wrong formulas can change
	done  Set
	busy  Set
	order []spoiltStep
	v     []float64
}

type spoiltStep struct {
	slot int
	code *Code
}

var underRoom = sync.Pool{New: func() any { return &under{} }}

func (u *under) need(s int) {
	if !u.touch.Has(s) || u.held.Has(s) || u.busy.Has(s) || u.done.Has(s) {
		return
	}
	if c := u.code(s); c != nil {
		u.busy.Add(s)
		for _, d := range c.Deps() {
			u.need(d)
		}
		u.busy.Drop(s)
		u.order = append(u.order, spoiltStep{s, c})
	}
	u.done.Add(s)
}

func (u *under) code(s int) *Code {
	for _, w := range u.wrong {
		if w.Slot == s {
			return &w.Code
		}
	}
	if u.by != nil && u.by.Slot == s {
		return &u.by.Code
	}
	if ways := u.m.Ways[s]; len(ways) > 0 {
		return &ways[0].Code
	}
	return nil
}
