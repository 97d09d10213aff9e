package class

import (
	"context"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"batten/cmd/batten/internal/inputs"
	"batten/diagnose"
)

// hanging is a run whose readings come to no end for scripts so named.
func hanging(t *testing.T, free <-chan struct{}) *Marking {
	t.Helper()
	qs, err := inputs.Open("hold-above-tank-top")
	if err != nil {
		t.Fatal(err)
	}
	return &Marking{Questions: qs, Workers: 2, Limit: 150 * time.Millisecond,
		read: func(m *diagnose.Marker, name string, text []byte) (*diagnose.Report, error) {
			if strings.Contains(string(text), "hang") {
				<-free
			}
			if strings.Contains(string(text), "panic") {
				panic("within")
			}
			return m.Mark(name, text)
		}}
}

func scripts(t *testing.T, texts ...string) []Item {
	t.Helper()
	dir := t.TempDir()
	for i, text := range texts {
		if err := os.WriteFile(filepath.Join(dir, fmt.Sprintf("s-%03d.txt", i)), []byte(text), 0o666); err != nil {
			t.Fatal(err)
		}
	}
	return List([]string{dir}, "", func(string) {})
}

// TestLimit lets two of seven scripts hang: each has its row and its reason,
// and the rest are marked in their order.
func TestLimit(t *testing.T) {
	free := make(chan struct{})
	defer close(free)
	m := hanging(t, free)
	var rows []*Row
	n := m.Run(context.Background(), scripts(t, "KB = 2.25 m", "hang", "KB = 2.25 m", "panic", "KB = 2.25 m", "hang", "KB = 2.25 m"),
		func(r *Result) { rows = append(rows, r.Row) })
	if n != 7 || m.Overrun() {
		t.Fatalf("%d delivered", n)
	}
	for i, want := range []string{"", "took over 0.15 s and was given up", "", "went wrong on it (within)", "", "given up", ""} {
		if got := rows[i].Failed; want == "" && got != "" || !strings.Contains(got, want) {
			t.Errorf("script %d: %q, want %q", i, got, want)
		}
	}
}

// TestLimitLetsGo frees readings that were given up: they count no more.
func TestLimitLetsGo(t *testing.T) {
	free := make(chan struct{})
	m := hanging(t, free)
	texts := make([]string, mostAdrift-1)
	for i := range texts {
		texts[i] = "hang"
	}
	m.Run(context.Background(), scripts(t, texts...), func(*Result) {})
	if m.Overrun() {
		t.Error("so many are let be")
	}
	close(free)
	for range 200 {
		m.watch.mu.Lock()
		left := m.watch.adrift
		m.watch.mu.Unlock()
		if left == 0 {
			return
		}
		time.Sleep(5 * time.Millisecond)
	}
	t.Error("readings that ended still count")
}

// TestOverrun lets every script hang: after some the run stops, and those that
// were not begun are told apart.
func TestOverrun(t *testing.T) {
	free := make(chan struct{})
	defer close(free)
	m := hanging(t, free)
	m.Limit = 30 * time.Millisecond
	texts := make([]string, 60)
	for i := range texts {
		texts[i] = "hang"
	}
	given := 0
	n := m.Run(context.Background(), scripts(t, texts...), func(r *Result) {
		if r.Row.Marked() {
			t.Errorf("%s was marked", r.Row.Script)
		}
		if !r.Row.Stopped {
			given++
		}
	})
	if !m.Overrun() || n >= 60 || given < mostAdrift {
		t.Errorf("%d delivered, %d given up, overrun %v", n, given, m.Overrun())
	}
}

// TestStopWhileReading does not wait for the limit where the run is stopped.
func TestStopWhileReading(t *testing.T) {
	free := make(chan struct{})
	defer close(free)
	m := hanging(t, free)
	m.Limit = time.Hour
	ctx, cancel := context.WithCancel(context.Background())
	time.AfterFunc(50*time.Millisecond, cancel)
	begun := time.Now()
	var rows []*Row
	m.Run(ctx, scripts(t, "hang"), func(r *Result) { rows = append(rows, r.Row) })
	if len(rows) != 1 || !rows[0].Stopped || time.Since(begun) > grace+5*time.Second {
		t.Errorf("%v after %v", rows, time.Since(begun))
	}
}
