//go:build unix

package main

import (
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
	"time"

	"batten/cmd/batten/internal/class/cohort"
)

// TestMany marks a college in one run, 1 in 100 of its files broken in some
// way, and accounts for every one. BATTEN_MANY says how many; time and peak
// memory are printed with -v.
func TestMany(t *testing.T) {
	n := 400
	if s := os.Getenv("BATTEN_MANY"); s != "" {
		n, _ = strconv.Atoi(s)
	}
	dir := t.TempDir()
	broken := 0
	for i := 1; i <= n; i++ {
		text, _ := cohort.Script(i)
		name := filepath.Join(dir, fmt.Sprintf("s-%06d.txt", i))
		if i%100 == 0 {
			broken++
			switch i / 100 % 5 {
			case 0:
				os.Symlink("nowhere", name)
				continue
			case 1:
				text = "%PDF-1.7\n" + text
			case 2:
				text += "\xb0\xff"
			case 3:
				text = "PK\x03\x04" + text
			case 4:
				put(t, name, nil)
				if err := os.Truncate(name, 17<<20); err != nil { // takes no room on the disk
					t.Fatal(err)
				}
				continue
			}
		}
		put(t, name, []byte(text))
	}
	for _, c := range []struct {
		what string
		args []string
	}{
		{"table", nil},
		{"JSON", []string{"--json"}},
		{"all results", []string{"--out", filepath.Join(t.TempDir(), "out")}},
	} {
		cmd, b := start(t, append([]string{dir}, c.args...)...)
		begun, peak := time.Now(), watch(cmd)
		cmd.Wait()
		took := time.Since(begun)
		if got := cmd.ProcessState.ExitCode(); got != 1 {
			t.Fatalf("%s: exit code %d", c.what, got)
		}
		t.Logf("%d scripts, %d broken, %s: %v (%v of work), %d MB at most", n, broken, c.what, took.Round(10*time.Millisecond), labour(cmd), <-peak)
		if c.what == "JSON" {
			if got := strings.Count(b.String(), "\n"); got != n {
				t.Errorf("%d lines of JSON, want %d", got, n)
			}
			if got := strings.Count(b.String(), `"error":`); got != broken {
				t.Errorf("%d could not be marked, want %d", got, broken)
			}
			continue
		}
		if want := fmt.Sprintf("mean of %d scripts", n-broken); !strings.Contains(b.String(), want) {
			t.Errorf("%s: no %q", c.what, want)
		}
		if i := strings.Index(b.String(), "Not marked"); strings.Count(b.String()[i:], ".txt  ") < broken {
			t.Errorf("%s: not every broken file has its row", c.what)
		}
		if len(c.args) > 1 {
			if rows := sheet(t, c.args[1]); len(rows) != n {
				t.Errorf("%d rows in the mark sheet, want %d", len(rows), n)
			}
			cmd, b := start(t, dir, "--out", c.args[1])
			begun, peak := time.Now(), watch(cmd)
			cmd.Wait()
			t.Logf("again, nothing changed: %v (%v of work), %d MB at most", time.Since(begun).Round(10*time.Millisecond), labour(cmd), <-peak)
			if want := fmt.Sprintf("%d as before", n-broken); !strings.Contains(b.String(), want) {
				t.Errorf("again: no %q", want)
			}
		}
	}
}

// labour is the time of all cores together.
func labour(cmd *exec.Cmd) time.Duration {
	return (cmd.ProcessState.UserTime() + cmd.ProcessState.SystemTime()).Round(10 * time.Millisecond)
}

// watch follows the memory of a process until it ends, and then gives the most
// that it held, in MB. (What the system tells of an ended process counts in the
// one that started it.)
func watch(cmd *exec.Cmd) <-chan int {
	out := make(chan int, 1)
	go func() {
		most := 0
		for {
			data, err := os.ReadFile(fmt.Sprintf("/proc/%d/status", cmd.Process.Pid))
			_, rest, ok := strings.Cut(string(data), "VmHWM:")
			if err != nil || !ok { // it ended, or the system has no such file
				out <- most >> 10
				return
			}
			var kb int
			fmt.Sscan(rest, &kb)
			most = max(most, kb)
			time.Sleep(5 * time.Millisecond)
		}
	}()
	return out
}
