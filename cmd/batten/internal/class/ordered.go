package class

import "context"

// ordered does work on every item, several at once, and delivers the results
// in the order of the items on the caller's own goroutine. No more than a few
// results for each worker wait at any time, however many items there are. When
// ctx ends no further item is begun, those begun are delivered, and the number
// delivered is returned: the items from there on were not touched.
func ordered[T, R any](ctx context.Context, items []T, workers int, work func(T) R, deliver func(int, R)) int {
	type job struct {
		item T
		out  chan R
	}
	const each = 4 // results that may wait for each worker
	queue := make(chan job, each*workers)
	jobs := make(chan job)
	go func() {
		defer close(queue)
		defer close(jobs)
		for _, item := range items {
			j := job{item, make(chan R, 1)}
			select {
			case <-ctx.Done():
				return
			case queue <- j: // its place in the order, and the bound
			}
			jobs <- j // a worker takes it: what has its place is done
		}
	}()
	for range workers {
		go func() {
			for j := range jobs {
				j.out <- work(j.item)
			}
		}()
	}
	n := 0
	for j := range queue {
		deliver(n, <-j.out)
		n++
	}
	return n
}
