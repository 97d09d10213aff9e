package diagnose

import (
	"sync"
	"sync/atomic"
)

// memo keeps what has been worked out, for all scripts of a question, up to a
// bound: what students write must not be able to fill the memory. It is safe
// for concurrent use; its zero value is empty.
type memo struct {
	kept sync.Map
	n    atomic.Int64
}

const mostKept = 20000

func (m *memo) Load(key any) (any, bool) { return m.kept.Load(key) }

// Store keeps the value, unless the bound is reached.
func (m *memo) Store(key, value any) {
	if m.n.Load() >= mostKept {
		return
	}
	if _, old := m.kept.LoadOrStore(key, value); !old {
		m.n.Add(1)
	}
}
