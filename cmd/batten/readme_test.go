package main

import (
	"bytes"
	"os"
	"strings"
	"testing"
)

// TestReadme reruns the example of README.md: the script shown there is the
// file in testdata, the command is the one shown, and what it prints is shown
// to the letter.
func TestReadme(t *testing.T) {
	t.Chdir("../..")
	readme := read(t, "README.md")
	shown := blockAfter(t, readme, "<!-- example: script -->")
	if file := read(t, "testdata/example.txt"); shown != file {
		t.Errorf("README.md shows another script than testdata/example.txt:\n%s", shown)
	}
	command := blockAfter(t, readme, "<!-- example: command -->")
	args, ok := strings.CutPrefix(strings.TrimSpace(command), "go run ./cmd/batten ")
	if !ok {
		t.Fatalf("not a command that this test can rerun: %s", command)
	}
	var out, messages bytes.Buffer
	code := run(strings.Fields(args), strings.NewReader(""), &out, &messages)
	if code != exitFaulty || messages.Len() > 0 {
		t.Errorf("exit code %d, not %d; messages: %s", code, exitFaulty, messages.String())
	}
	if want := blockAfter(t, readme, "<!-- example: output -->"); out.String() != want {
		t.Errorf("README.md shows\n%s\nbut the command prints\n%s", want, out.String())
	}
}

func read(t *testing.T, file string) string {
	t.Helper()
	b, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	return strings.ReplaceAll(string(b), "\r\n", "\n")
}

// blockAfter is the fenced block that follows a mark in a Markdown text.
func blockAfter(t *testing.T, text, mark string) string {
	t.Helper()
	_, rest, ok := strings.Cut(text, mark+"\n")
	if ok {
		_, rest, ok = strings.Cut(rest, "```")
	}
	if ok {
		_, rest, ok = strings.Cut(rest, "\n") // the language of the block
	}
	block, _, closed := strings.Cut(rest, "```\n")
	if !ok || !closed {
		t.Fatalf("README.md has no block after %s", mark)
	}
	return block
}
