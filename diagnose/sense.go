package diagnose

import (
	"math"
	"math/bits"
	"slices"
)

// The states of a search differ little from one another, and most of what a
// side of a step may mean is the same in many of them. So lists of meanings
// that are the same are one list, known by its first item, and what has been
// found of a form with such lists for its leaves is found once.

// A sense is a form, or several, with the meanings that its leaves have in some
// state: one number for all states in which they are the same.
type sense int32

// link takes a sense on by one more list of meanings, or by one more form.
type link struct {
	before sense
	list   *known
	form   *form
}

// senses are those met with in a run, and what was found of them.
type senses struct {
	lists    map[uint64][]known
	next     map[link]sense
	values   map[sense][]sideValue
	byForm   map[sense][]formMatch
	accounts map[sense][]*accounts
}

func (s *senses) clear() {
	clear(s.lists)
	clear(s.next)
	clear(s.values)
	clear(s.byForm)
	clear(s.accounts)
}

// after is the sense that the link makes.
func (s *senses) after(l link) sense {
	x, ok := s.next[l]
	if !ok {
		if s.next == nil {
			s.next = map[link]sense{}
		}
		x = sense(len(s.next) + 1)
		s.next[l] = x
	}
	return x
}

// senseOf is the sense of the form with the lists of meanings for its leaves.
func (m *run) senseOf(f *form, lists *[maxLeaves][]known) sense {
	x := m.after(link{form: f})
	for _, l := range lists[:len(f.leaves)] {
		if len(l) == 0 {
			return m.after(link{before: x})
		}
		x = m.after(link{before: x, list: &l[0]})
	}
	return x
}

// lasting copies what was found so that it lasts as long as the run: meanings
// found before, in this state or another, are given again.
func (m *run) lasting(found []known) []known {
	m.found = found[:0]
	h := hashOf(found)
	old, ok := m.lists[h]
	if ok && slices.Equal(old, found) {
		return old
	}
	out := m.meant.Take(len(found))
	copy(out, found)
	if !ok {
		if m.lists == nil {
			m.lists = map[uint64][]known{}
		}
		m.lists[h] = out
	}
	return out
}

func hashOf(list []known) uint64 {
	h := uint64(len(list))
	add := func(x uint64) {
		h = bits.RotateLeft64(h^x, 23) * 0x9e3779b97f4a7c15
	}
	for i := range list {
		k := &list[i]
		add(math.Float64bits(k.iv.Lo))
		add(math.Float64bits(k.iv.Hi))
		add(math.Float64bits(k.cost))
		add(math.Float64bits(k.vec[0]))
		add(uint64(k.slot)<<32 ^ uint64(k.local))
	}
	return h
}
