package main

import (
	"context"
	"errors"
	"fmt"
	"log"
	"net"
	"net/http"
	"os"
	"os/signal"
	"runtime"
	"strings"
	"syscall"
	"time"

	"github.com/spf13/cobra"
	"golang.org/x/net/netutil"

	"batten/cmd/batten/internal/inputs"
	"batten/cmd/batten/internal/page"
	"batten/solver"
)

// usualAddress is where the page is served unless something else is said.
const usualAddress = "127.0.0.1:8240"

// Limits of the server. A request is some kilobytes and its answer is made in
// milliseconds: whoever takes longer holds a place that others want.
const (
	headerTime  = 5 * time.Second
	requestTime = 20 * time.Second
	answerTime  = 30 * time.Second
	idleTime    = 60 * time.Second
	stopTime    = 10 * time.Second
	connections = 512
)

func newServe(e *env) *cobra.Command {
	var question, listen string
	cmd := &cobra.Command{
		Use:   "serve [-q QUESTIONS] [--listen ADDRESS]",
		Short: "the same as a web page on this machine",
		Long: `Serves a web page on which a student chooses a question, pastes a working, and
reads what there is to say beside each line. It serves the questions that are
built in, or those of -q. Nothing that is sent is kept.

It can be reached from this machine alone unless --listen opens it. Ctrl-C
stops it; what is being answered is finished first.`,
		Example: `  batten serve
  batten serve -q questions/ --listen 192.0.2.10:8240`,
		DisableFlagsInUseLine: true,
		Args:                  atMost(0, "serve takes no argument; questions are named with -q"),
		RunE: func(cmd *cobra.Command, _ []string) error {
			questions, err := e.served(question)
			if err != nil {
				return err
			}
			ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
			defer stop()
			return e.serve(ctx, questions, listen)
		},
	}
	questionFlag(cmd, &question, "a question, or a folder of questions, in place of those built in")
	cmd.Flags().StringVar(&listen, "listen", usualAddress, "the address to serve at; port 0 takes a free one")
	return cmd
}

// served lists the questions to serve.
func (e *env) served(typed string) ([]*solver.Question, error) {
	if typed == "" {
		return inputs.Bank()
	}
	qs, err := e.questions(typed)
	if err != nil {
		return nil, err
	}
	return qs.All(), nil
}

// serve serves the questions until the context ends.
func (e *env) serve(ctx context.Context, questions []*solver.Question, address string) error {
	site, err := page.New(questions, 2*runtime.GOMAXPROCS(0))
	if err != nil {
		return err
	}
	l, err := net.Listen("tcp", fullAddress(address))
	switch {
	case errors.Is(err, syscall.EADDRINUSE):
		return fmt.Errorf("something else is served at %s already; --listen 127.0.0.1:0 takes a free port", address)
	case err != nil:
		return fmt.Errorf("it can't be served at %s: %w", address, err)
	}
	server := &http.Server{
		Handler:           site.Handler(),
		ReadHeaderTimeout: headerTime,
		ReadTimeout:       requestTime,
		WriteTimeout:      answerTime,
		IdleTimeout:       idleTime,
		MaxHeaderBytes:    16 << 10,
		ErrorLog:          log.New(said{e}, "", 0),
	}
	if at, ok := l.Addr().(*net.TCPAddr); ok && !at.IP.IsLoopback() {
		e.say("warning: other machines can reach this. Whoever does can use it, and what is sent is not encrypted on its way.")
	}
	e.say("serving %d questions at http://%s/ (Ctrl-C stops it)", len(questions), l.Addr())
	done := make(chan error, 1)
	go func() { done <- server.Serve(netutil.LimitListener(l, connections)) }()
	select {
	case err := <-done:
		return fmt.Errorf("the server stopped: %w", err)
	case <-ctx.Done():
	}
	end, cancel := context.WithTimeout(context.Background(), stopTime)
	defer cancel()
	if err := server.Shutdown(end); err != nil {
		server.Close()
		return errors.New("stopped before every answer was finished")
	}
	e.say("stopped")
	return nil
}

// fullAddress takes a port alone for one on this machine.
func fullAddress(address string) string {
	if !strings.Contains(address, ":") {
		return net.JoinHostPort("127.0.0.1", address)
	}
	return address
}

// said passes the server's own messages on to a person.
type said struct{ e *env }

func (s said) Write(p []byte) (int, error) {
	s.e.say("%s", strings.TrimSpace(string(p)))
	return len(p), nil
}
