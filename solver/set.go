package solver

import "math/bits"

// MaxSlots is how many quantities one question can have.
const MaxSlots = 256

// Set is a set of slots. It is comparable, so it can key a map.
type Set [MaxSlots / 64]uint64

// Add puts the slot into the set.
func (s *Set) Add(i int) { s[i>>6] |= 1 << (i & 63) }

// Drop takes the slot out of the set.
func (s *Set) Drop(i int) { s[i>>6] &^= 1 << (i & 63) }

// Has reports whether the slot is in the set.
func (s Set) Has(i int) bool { return s[i>>6]&(1<<(i&63)) != 0 }

// Or is the union.
func (s Set) Or(o Set) Set {
	for i := range s {
		s[i] |= o[i]
	}
	return s
}

// And is what both hold.
func (s Set) And(o Set) Set {
	for i := range s {
		s[i] &= o[i]
	}
	return s
}

// AndNot is what the first holds and the second does not.
func (s Set) AndNot(o Set) Set {
	for i := range s {
		s[i] &^= o[i]
	}
	return s
}

// Xor is what one of them holds and the other does not.
func (s Set) Xor(o Set) Set {
	for i := range s {
		s[i] ^= o[i]
	}
	return s
}

// Empty reports whether nothing is in the set.
func (s Set) Empty() bool { return s == Set{} }

// Len counts the slots in the set.
func (s Set) Len() int {
	n := 0
	for _, w := range s {
		n += bits.OnesCount64(w)
	}
	return n
}

// Each calls f for every slot in rising order.
func (s Set) Each(f func(i int)) {
	for w, x := range s {
		for x != 0 {
			b := bits.TrailingZeros64(x)
			f(w*64 + b)
			x &^= 1 << b
		}
	}
}
