package class

import (
	"context"
	"errors"
	"fmt"
	"sync"
	"time"
)

// Limits on one script, so that none holds up the rest: results come out in
// order, and all that are behind it wait.
const (
	// Limit is what the reading of a script may take. It is some forty times
	// what the slowest takes.
	Limit = 20 * time.Second
	// grace is what those that are being read may still take when the run is
	// stopped.
	grace = 2 * time.Second
	// mostAdrift is how many readings that came to no end may go on at once.
	// They take time and memory from the rest: with more, no script is begun.
	mostAdrift = 8
)

var errStopped = errors.New("the run was stopped while it was being read")

// watch bounds how long is waited for a reading. A reading can't be ended from
// outside: one that is given up goes on by itself, adrift, until it ends or the
// program does, and what it finds is dropped. So it must write nothing.
type watch struct {
	limit time.Duration
	stop  context.CancelFunc // begins no more scripts

	mu     sync.Mutex
	adrift int
	full   bool // so many were adrift that the run was stopped
}

// within does the work f for at most the limit; without one where a person may
// be typing it.
func within[T any](ctx context.Context, w *watch, limited bool, f func() (T, error)) (T, error) {
	type answer struct {
		got T
		err error
	}
	out := make(chan answer, 1)
	gone := false // guarded by w.mu
	done := false
	go func() {
		var a answer
		defer func() {
			if p := recover(); p != nil {
				a.err = wentWrong(p)
			}
			w.mu.Lock()
			done = true
			if gone {
				w.adrift--
			}
			w.mu.Unlock()
			out <- a
		}()
		a.got, a.err = f()
	}()
	var late <-chan time.Time
	rest := time.Duration(0)
	if limited {
		t := time.NewTimer(w.limit)
		defer t.Stop()
		late, rest = t.C, min(grace, w.limit)
	}
	var none T
	why := fmt.Errorf("reading it took over %.3g s and was given up: a person must read it", w.limit.Seconds())
	select {
	case a := <-out:
		return a.got, a.err
	case <-late:
	case <-ctx.Done():
		why = errStopped
		select {
		case a := <-out:
			return a.got, a.err
		case <-time.After(rest):
		}
	}
	w.mu.Lock()
	defer w.mu.Unlock()
	if done { // in the nick of time
		a := <-out
		return a.got, a.err
	}
	gone = true
	if w.adrift++; w.adrift >= mostAdrift && !errors.Is(why, errStopped) {
		w.full = true
		w.stop()
	}
	return none, why
}

func wentWrong(p any) error {
	return fmt.Errorf("batten went wrong on it (%v): please report it, with the script", p)
}
