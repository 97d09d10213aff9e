package page

import (
	"context"
	"errors"
	"fmt"
	"net/http"

	"batten/diagnose"
)

// policy lets a page load what this server serves, send its form back, and
// nothing else.
const policy = "default-src 'none'; style-src 'self'; script-src 'self'; img-src 'self'; form-action 'self'; base-uri 'none'; frame-ancestors 'none'"

// guard sets what every answer carries, bounds every request, and turns a
// panic into a page.
func (s *Site) guard(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		h := w.Header()
		h.Set("Content-Security-Policy", policy)
		h.Set("X-Content-Type-Options", "nosniff")
		h.Set("Referrer-Policy", "no-referrer")
		h.Set("Cross-Origin-Opener-Policy", "same-origin")
		h.Set("Cross-Origin-Resource-Policy", "same-origin")
		h.Set("Permissions-Policy", "camera=(), geolocation=(), microphone=()")
		h.Set("Cache-Control", "private, no-cache")
		r.Body = http.MaxBytesReader(w, r.Body, maxBody)
		defer func() {
			if p := recover(); p != nil {
				if err, ok := p.(error); ok && errors.Is(err, http.ErrAbortHandler) {
					panic(p)
				}
				s.broken(w)
			}
		}()
		next.ServeHTTP(w, r)
	})
}

func (s *Site) broken(w http.ResponseWriter) {
	s.refuse(w, http.StatusInternalServerError, "Something went wrong here", "It is a fault of the program, not of the answer. The answer is still in your browser: go back to it.")
}

var (
	errBusy = errors.New("too many answers are being read")
	errSlow = errors.New("the reading takes too long")
)

// panicked is a panic of the reader.
type panicked struct{ value any }

func (p panicked) Error() string { return fmt.Sprint("the reader panicked: ", p.value) }

// mark reads an answer. No more are read at a time than there are seats, and
// none is waited for longer than the site's patience.
func (s *Site) mark(ctx context.Context, d *desk, answer string) (*diagnose.Report, error) {
	ctx, cancel := context.WithTimeout(ctx, s.patience)
	defer cancel()
	select {
	case s.seats <- struct{}{}:
	case <-ctx.Done():
		return nil, errBusy
	}
	type result struct {
		r   *diagnose.Report
		err error
	}
	done := make(chan result, 1)
	go func() {
		defer func() { <-s.seats }()
		var out result
		defer func() {
			if p := recover(); p != nil {
				out = result{err: panicked{p}}
			}
			done <- out
		}()
		if s.read != nil {
			out.r, out.err = s.read(d.question, "answer", []byte(answer))
			return
		}
		out.r, out.err = d.marker.Mark("answer", []byte(answer))
	}()
	select {
	case out := <-done:
		return out.r, out.err
	case <-ctx.Done():
		return nil, errSlow
	}
}

// unmarked answers, in words, a request whose answer could not be read.
func (s *Site) unmarked(w http.ResponseWriter, err error) {
	var p panicked
	switch {
	case errors.Is(err, errSlow):
		s.refuse(w, http.StatusServiceUnavailable, "This takes too long to read", "It was given up. Go back to your answer and send less of it, one part at a time; or wait a moment and send it again, if many are sending just now.")
	case errors.Is(err, errBusy):
		w.Header().Set("Retry-After", "5")
		s.refuse(w, http.StatusServiceUnavailable, "Too many at once", "Many answers are being read just now. Wait a moment, then send yours again: reload this page, or go back to it.")
	case errors.As(err, &p):
		s.broken(w)
	default:
		s.refuse(w, http.StatusBadRequest, "This answer can't be read", "The reader says: "+err.Error()+". Go back to your answer and look at what was pasted.")
	}
}
