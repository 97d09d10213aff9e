package class

import (
	"context"
	"math/rand/v2"
	"sync/atomic"
	"testing"
	"time"
)

// TestOrdered lets later items overtake earlier ones: they come out in order,
// and never do many wait.
func TestOrdered(t *testing.T) {
	items := make([]int, 500)
	for i := range items {
		items[i] = i
	}
	var begun, most atomic.Int64
	out := []int{}
	n := ordered(context.Background(), items, 4, func(i int) int {
		if w := begun.Add(1); w > most.Load() {
			most.Store(w)
		}
		time.Sleep(time.Duration(rand.IntN(300)) * time.Microsecond)
		return i * i
	}, func(i, r int) {
		begun.Add(-1)
		out = append(out, r)
	})
	if n != len(items) || len(out) != n {
		t.Fatalf("%d delivered", n)
	}
	for i, r := range out {
		if r != i*i {
			t.Fatalf("result %d is that of another item", i)
		}
	}
	if most.Load() > 4*4+4+2 {
		t.Errorf("%d results waited", most.Load())
	}
}

// TestOrderedStops ends the run midway: what was delivered is all that was
// begun.
func TestOrderedStops(t *testing.T) {
	ctx, cancel := context.WithCancel(context.Background())
	var begun atomic.Int64
	delivered := 0
	n := ordered(ctx, make([]int, 10000), 3, func(int) int { begun.Add(1); return 0 }, func(i, _ int) {
		delivered++
		if i == 100 {
			cancel()
		}
	})
	if n != delivered || int(begun.Load()) != n || n > 200 {
		t.Errorf("%d returned, %d delivered, %d begun", n, delivered, begun.Load())
	}
}
