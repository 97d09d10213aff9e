package solver

import "unsafe"

// Room is where environments and the figures that follow from them lie. A
// reading of one script makes many that live no longer than it does: it frees
// them all at once and uses the room again. The zero Room is empty. Not safe
// for concurrent use.
type Room struct {
	envs     Slab[Env]
	derivers Slab[Deriver]
	stated   Slab[Interval]
	memos    Slab[[]Figure]
	figures  Slab[Figure]
}

// Reset frees all environments made in the room; none may be used again.
func (r *Room) Reset() {
	r.envs.Reset()
	r.derivers.Reset()
	r.stated.Reset()
	r.memos.Reset()
	r.figures.Reset()
}

// Slab hands out short slices of one kind from large blocks, and takes them
// all back at once. The zero Slab is empty. Not safe for concurrent use.
type Slab[T any] struct {
	blocks [][]T
	at     int // the block in use
	used   int // how much of it
}

const slabBytes = 1 << 15 // about the size of one block

// Take returns n items. They hold whatever was left in them.
func (s *Slab[T]) Take(n int) []T {
	for ; s.at < len(s.blocks); s.at++ {
		if b := s.blocks[s.at]; s.used+n <= len(b) {
			s.used += n
			return b[s.used-n : s.used : s.used]
		}
		s.used = 0
	}
	var x T
	s.blocks = append(s.blocks, make([]T, max(n, slabBytes/max(1, int(unsafe.Sizeof(x))))))
	s.used = n
	return s.blocks[s.at][:n:n]
}

// One returns one item, which holds whatever was left in it.
func (s *Slab[T]) One() *T { return &s.Take(1)[0] }

// Reset takes everything back. Of more than a usual script needs, the blocks
// are let go.
func (s *Slab[T]) Reset() {
	if len(s.blocks) > mostBlocks {
		clear(s.blocks[mostBlocks:])
		s.blocks = s.blocks[:mostBlocks]
	}
	s.at, s.used = 0, 0
}

const mostBlocks = 64
