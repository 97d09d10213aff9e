package main

import (
	"bytes"
	"os"
	"os/exec"
	"strconv"
	"strings"
	"testing"

	"github.com/rogpeppe/go-internal/testscript"
)

func TestMain(m *testing.M) {
	testscript.Main(m, map[string]func(){"batten": main})
}

// TestScripts runs the files of testdata/script: what a user types, and what
// comes back where.
func TestScripts(t *testing.T) {
	testscript.Run(t, testscript.Params{
		Dir: "testdata/script",
		Cmds: map[string]func(*testscript.TestScript, bool, []string){
			"repeat": repeat,
			"exits":  exits,
			"narrow": narrow,
		},
		RequireExplicitExec: true,
	})
}

// repeat FILE N TEXT writes a file of TEXT so many times over; \n, \0 and the
// like are as in Go.
func repeat(ts *testscript.TestScript, neg bool, args []string) {
	n, err := strconv.Atoi(args[1])
	ts.Check(err)
	text, err := strconv.Unquote(`"` + args[2] + `"`)
	ts.Check(err)
	ts.Check(os.WriteFile(ts.MkAbs(args[0]), []byte(strings.Repeat(text, n)), 0o644))
}

// exits CODE ARGS… runs batten and wants just that exit code. What it printed
// is in the files out and err of the work folder, and shown where the
// code is another. "<FILE" among the arguments is standard input.
func exits(ts *testscript.TestScript, neg bool, args []string) {
	want, err := strconv.Atoi(args[0])
	ts.Check(err)
	cmd := exec.Command("batten")
	cmd.Dir = ts.MkAbs(".")
	for _, a := range args[1:] {
		if name, ok := strings.CutPrefix(a, "<"); ok {
			cmd.Stdin = strings.NewReader(ts.ReadFile(name))
			continue
		}
		cmd.Args = append(cmd.Args, a)
	}
	var out, messages bytes.Buffer
	cmd.Stdout, cmd.Stderr = &out, &messages
	err = cmd.Run()
	if _, exited := err.(*exec.ExitError); err != nil && !exited {
		ts.Fatalf("%v", err)
	}
	got := cmd.ProcessState.ExitCode()
	ts.Check(os.WriteFile(ts.MkAbs("out"), out.Bytes(), 0o644))
	ts.Check(os.WriteFile(ts.MkAbs("err"), messages.Bytes(), 0o644))
	if got != want {
		ts.Logf("%s%s", out.String(), messages.String())
		ts.Fatalf("exit code %d, want %d", got, want)
	}
}

// narrow FILE… wants no line over eighty columns, and nothing that a terminal
// would obey.
func narrow(ts *testscript.TestScript, neg bool, args []string) {
	for _, name := range args {
		for i, line := range strings.Split(ts.ReadFile(name), "\n") {
			if n := len([]rune(line)); n > 80 {
				ts.Fatalf("%s:%d: %d characters: %s", name, i+1, n, line)
			}
			if strings.ContainsAny(line, "\x1b\r\x00\x07") {
				ts.Fatalf("%s:%d: a control character: %q", name, i+1, line)
			}
		}
	}
}
