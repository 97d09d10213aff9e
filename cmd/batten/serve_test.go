package main

import (
	"bufio"
	"context"
	"errors"
	"io"
	"net"
	"net/http"
	"net/url"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
	"time"

	"batten/cmd/batten/internal/inputs"
)

// served starts the server on a free port and returns its address, what it
// says, and what stops it and gives its end.
func served(t *testing.T, listen string) (base string, said *bufio.Scanner, stop func() error) {
	t.Helper()
	questions, err := inputs.Bank()
	if err != nil {
		t.Fatal(err)
	}
	r, w := io.Pipe()
	e := &env{out: bufio.NewWriter(io.Discard), err: w}
	ctx, cancel := context.WithCancel(context.Background())
	done := make(chan error, 1)
	go func() {
		done <- e.serve(ctx, questions, listen)
		w.Close()
	}()
	t.Cleanup(cancel)
	said = bufio.NewScanner(r)
	for said.Scan() {
		if _, rest, ok := strings.Cut(said.Text(), "http://"); ok {
			base, _, _ = strings.Cut(rest, "/")
			break
		}
	}
	if base == "" {
		t.Fatal("it never said where it serves: ", <-done)
	}
	return "http://" + base, said, func() error {
		cancel()
		go io.Copy(io.Discard, r)
		return <-done
	}
}

// TestServeStops: what is being answered when it is told to stop is finished
// first, and then nothing answers any more.
func TestServeStops(t *testing.T) {
	base, _, stop := served(t, "127.0.0.1:0")
	conn, err := net.Dial("tcp", strings.TrimPrefix(base, "http://"))
	if err != nil {
		t.Fatal(err)
	}
	defer conn.Close()
	body := url.Values{"answer": {"(a)\nlost volume = 8.4 x 18 x 3.0 = 453.6 m3"}}.Encode()
	io.WriteString(conn, "POST /q/hold-above-tank-top HTTP/1.1\r\nHost: x\r\nContent-Type: application/x-www-form-urlencoded\r\n"+
		"Content-Length: "+strconv.Itoa(len(body))+"\r\nConnection: close\r\n\r\n"+body[:10])
	time.Sleep(100 * time.Millisecond) // half of it is there
	ended := make(chan error, 1)
	go func() { ended <- stop() }()
	time.Sleep(100 * time.Millisecond)
	io.WriteString(conn, body[10:])
	answer, err := io.ReadAll(conn)
	if err != nil || !strings.HasPrefix(string(answer), "HTTP/1.1 200") || !strings.Contains(string(answer), "453.6 m3") {
		t.Errorf("the answer under way was lost: %v\n%.300s", err, answer)
	}
	select {
	case err := <-ended:
		if err != nil {
			t.Error(err)
		}
	case <-time.After(15 * time.Second):
		t.Fatal("it does not stop")
	}
	if _, err := http.Get(base + "/"); err == nil {
		t.Error("it still answers after it stopped")
	}
}

// TestServeAddresses: this machine alone without a word; a warning for more;
// a reason where it can't be.
func TestServeAddresses(t *testing.T) {
	questions, err := inputs.Bank()
	if err != nil {
		t.Fatal(err)
	}
	try := func(listen string) (string, error) {
		var b strings.Builder
		e := &env{out: bufio.NewWriter(io.Discard), err: &b}
		ctx, cancel := context.WithCancel(context.Background())
		cancel() // it stops as soon as it serves
		err := e.serve(ctx, questions, listen)
		return b.String(), err
	}
	for _, listen := range []string{"127.0.0.1:0", "localhost:0", "0"} {
		if said, err := try(listen); err != nil || strings.Contains(said, "warning") || !strings.Contains(said, "stopped") {
			t.Errorf("%s: %v\n%s", listen, err, said)
		}
	}
	if said, err := try("0.0.0.0:0"); err != nil || !strings.Contains(said, "warning: other machines can reach this") {
		t.Errorf("open to all: %v\n%s", err, said)
	}
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	defer l.Close()
	if _, err := try(l.Addr().String()); err == nil || !strings.Contains(err.Error(), "served at") {
		t.Errorf("a port that is taken: %v", err)
	}
	if _, err := try("127.0.0.1:notaport"); err == nil {
		t.Error("a port that is none was taken")
	}
}

// TestServed: questions of a folder in place of those built in, and a reason
// where there are none.
func TestServed(t *testing.T) {
	dir := t.TempDir()
	e := &env{out: bufio.NewWriter(io.Discard), err: io.Discard}
	if _, err := e.served(dir); err == nil {
		t.Error("an empty folder was served")
	}
	data, err := os.ReadFile("../../testdata/questions/hold-above-tank-top.yaml")
	if err != nil {
		t.Fatal(err)
	}
	mine := strings.Replace(string(data), "id: hold-above-tank-top", "id: mine", 1)
	if err := errors.Join(os.WriteFile(filepath.Join(dir, "mine.yaml"), []byte(mine), 0o644), os.WriteFile(filepath.Join(dir, "bad.yaml"), []byte("id: bad\n"), 0o644)); err != nil {
		t.Fatal(err)
	}
	if qs, err := e.served(dir); err != nil || len(qs) != 1 || qs[0].ID != "mine" {
		t.Errorf("%v, %v", qs, err)
	}
	if qs, err := e.served(""); err != nil || len(qs) < 6 {
		t.Errorf("built in: %d, %v", len(qs), err)
	}
}
