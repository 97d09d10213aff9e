//go:build unix

package main

import (
	"bytes"
	"encoding/csv"
	"encoding/json"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"syscall"
	"testing"
	"time"

	"github.com/xuri/excelize/v2"

	"batten/cmd/batten/internal/class/cohort"
)

const classQuestion = "hold-above-tank-top"

// mark runs batten mark in this process.
func mark(t *testing.T, want int, args ...string) (out, messages string) {
	t.Helper()
	var o, e bytes.Buffer
	if got := run(append([]string{"mark", "-q", classQuestion}, args...), strings.NewReader(""), &o, &e); got != want {
		t.Fatalf("exit code %d, want %d\n%s%s", got, want, o.String(), e.String())
	}
	return o.String(), e.String()
}

func put(t *testing.T, path string, data []byte) {
	t.Helper()
	if err := os.MkdirAll(filepath.Dir(path), 0o777); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(path, data, 0o666); err != nil {
		t.Fatal(err)
	}
}

func content(t *testing.T, path string) string {
	t.Helper()
	data, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	return string(data)
}

// cohortOf writes so many scripts into a new folder.
func cohortOf(t testing.TB, n int) string {
	dir := t.TempDir()
	for i := 1; i <= n; i++ {
		text, _ := cohort.Script(i)
		if err := os.WriteFile(filepath.Join(dir, fmt.Sprintf("s-%05d.txt", i)), []byte(text), 0o666); err != nil {
			t.Fatal(err)
		}
	}
	return dir
}

// reason is why a row of the mark sheet has no marks.
func reason(row []string) string { return row[max(0, len(row)-2)] }

// since is what a row of the mark sheet says is new.
func since(row []string) string { return row[max(0, len(row)-1)] }

// sheet reads the mark sheet, by script.
func sheet(t *testing.T, out string) map[string][]string {
	t.Helper()
	rows, err := csv.NewReader(strings.NewReader(content(t, filepath.Join(out, "marks.csv")))).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	by := map[string][]string{}
	for _, r := range rows[1:] {
		by[filepath.Base(r[1])] = r
	}
	return by
}

// TestExampleClass marks the class that is shipped: all of it has its row, the
// marker's word stands, and a second run finds nothing to do.
func TestExampleClass(t *testing.T) {
	out := filepath.Join(t.TempDir(), "marked")
	table, messages := mark(t, 1, "../../testdata/class", "--out", out)
	if messages != "" {
		t.Errorf("messages: %s", messages)
	}
	for _, want := range []string{"candidate-28.pdf", "it is a PDF", "no UTF-8", "mean of 38 scripts", "* changed", "want a person's eye"} {
		if !strings.Contains(table, want) {
			t.Errorf("the table lacks %q:\n%s", want, table)
		}
	}
	rows := sheet(t, out)
	if len(rows) != 40 {
		t.Errorf("%d rows in the mark sheet, want 40", len(rows))
	}
	for script, total := range map[string]string{"candidate-04.txt": "17", "candidate-12.txt": "33.5", "candidate-30.txt": "26", "candidate-38.txt": "27.5", "candidate-25.txt": "27.5", "candidate-22.txt": "0"} {
		if rows[script][5] != total {
			t.Errorf("%s has %s marks, want %s", script, rows[script][5], total)
		}
	}
	page := content(t, filepath.Join(out, "class.html"))
	for _, want := range []string{"A marker spoke of 7 of 38 scripts", "1 · 1 · 1 · 1", `href="feedback/candidate-13.txt.html"`, "handed in twice?", "How the marks fell", "<svg", "What to teach again", "approved stability information"} {
		if !strings.Contains(page, want) {
			t.Errorf("the report lacks %q", want)
		}
	}
	for _, bad := range []string{"<script", "http://", "https://", "<link", "url("} {
		if strings.Contains(page, bad) {
			t.Errorf("the report holds %q: it must stand alone", bad)
		}
	}
	f, err := excelize.OpenFile(filepath.Join(out, "marks.xlsx"))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	for page, want := range map[string]int{"Marks": 41, "Faults by line": 39} {
		if got, err := f.GetRows(page); err != nil || len(got) != want {
			t.Errorf("the workbook's page %s has %d rows, want %d: %v", page, len(got), want, err)
		}
	}
	again, _ := mark(t, 1, "../../testdata/class", "--out", out)
	if !strings.Contains(again, "Since the last run: 38 as before, 2 still not marked.") {
		t.Errorf("the second run:\n%s", again)
	}
	head, rest, ok := strings.Cut(content(t, filepath.Join(out, "class.html")), `<section class="since">`)
	told, tail, _ := strings.Cut(rest, "</section>")
	if !ok || !strings.Contains(told, "38 as before, 2 still not marked.") || strings.Contains(page, "Since the last run") {
		t.Errorf("the second run's report on what is new: %s", told)
	}
	if head+tail != page {
		t.Error("the second run's report is another than the first's")
	}
}

// TestOddFiles puts every odd thing into a folder. Each has its row and its
// reason, and the rest is marked.
func TestOddFiles(t *testing.T) {
	dir := cohortOf(t, 3)
	at := func(name string) string { return filepath.Join(dir, name) }
	huge, err := os.Create(at("huge.txt"))
	if err != nil {
		t.Fatal(err)
	}
	huge.Truncate(1 << 33)
	huge.Close()
	os.Symlink("nowhere", at("broken-link.txt"))
	os.Symlink(t.TempDir(), at("linked-folder"))
	if err := syscall.Mkfifo(at("pipe"), 0o666); err != nil {
		t.Fatal(err)
	}
	put(t, at("bytes.txt"), []byte{'a', 0xff, 0xfe, '\n'})
	put(t, at("utf16.txt"), []byte("\xff\xfeK\x00B\x00"))
	put(t, at("old.doc"), []byte("\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1rest"))
	put(t, at("bad.docx"), []byte("PK\x03\x04 and no more"))
	put(t, at("photo.jpg"), []byte("\xff\xd8\xff\xe0"))
	put(t, at("~$open.docx"), []byte("owner"))
	put(t, at("below/deep.txt"), []byte("sinkage = 453.6 / 1576.8 = 0.288 m\n"))
	put(t, at("empty.txt"), nil)
	put(t, at("badly-marked.txt"), []byte("KB = 2.25 m\n"))
	put(t, at("badly-marked.marker.yaml"), []byte("dismiss:\n  - {line: 1}\n"))
	put(t, at("=cmd.txt"), []byte("Name: =HYPERLINK(\"x\")\nKB = 2.25 m\n"))
	put(t, at("dash.txt"), []byte("Name: <img src=x onerror=alert(1)>\nKB = 2.25 m\n"))
	put(t, at("nobody.marker.yaml"), nil)
	out := filepath.Join(t.TempDir(), "out")
	table, messages := mark(t, 1, dir, at("vanished.txt"), "--out", out)
	for name, why := range map[string]string{
		"huge.txt": "over 16 MB", "broken-link.txt": "a link to a file that is not there", "linked-folder": "link to a folder", "pipe": "no file that can be read",
		"bytes.txt": "no UTF-8", "utf16.txt": "UTF-16", "old.doc": "old kind", "bad.docx": "damaged", "photo.jpg": "a picture",
		"vanished.txt": "there is no such file", "badly-marked.txt": "badly-marked.marker.yaml:2: dismiss lacks its reason",
	} {
		row := sheet(t, out)[name]
		if row == nil || !strings.Contains(reason(row), why) {
			t.Errorf("%s: row %q, want the reason %q", name, row, why)
		}
	}
	if rows := sheet(t, out); len(rows) != 3+11+4 {
		t.Errorf("%d rows: %s", len(rows), table)
	}
	if !strings.Contains(messages, "nobody.marker.yaml: there is no script of this name") {
		t.Errorf("messages: %s", messages)
	}
	if name := sheet(t, out)["=cmd.txt"][0]; !strings.HasPrefix(name, "'=") {
		t.Errorf("a name that a spreadsheet would work out: %q", name)
	}
	if page := content(t, filepath.Join(out, "class.html")); strings.Contains(page, "<img") {
		t.Error("a name is markup on the page")
	}
	lines, _ := mark(t, 1, dir, "--json")
	var names []string
	for _, l := range strings.Split(strings.TrimSpace(lines), "\n") {
		var row struct{ Script, Error string }
		if err := json.Unmarshal([]byte(l), &row); err != nil {
			t.Fatalf("%v: %s", err, l)
		}
		names = append(names, row.Script)
	}
	if len(names) != 17 || !slices.IsSorted(names) {
		t.Errorf("%d lines of JSON, or out of order: %v", len(names), names)
	}
}

// TestSecondRun changes things between two runs: only what changed is marked,
// and nothing that a person wrote is written over.
func TestSecondRun(t *testing.T) {
	dir, out := cohortOf(t, 6), filepath.Join(t.TempDir(), "out")
	mark(t, 0, dir, "--out", out)
	script := func(n int) string { return filepath.Join(dir, fmt.Sprintf("s-%05d.txt", n)) }
	page := func(n int) string { return filepath.Join(out, "feedback", fmt.Sprintf("s-%05d.txt.txt", n)) }
	old, _ := cohort.Script(3)
	put(t, script(2), []byte(old))                         // changed
	put(t, page(2), []byte("my own words\n"))              // by hand, and its script changed
	put(t, page(4), []byte("my own words on four\n"))      // by hand
	put(t, filepath.Join(out, "marks.csv"), []byte("a\n")) // by hand
	put(t, script(7), []byte(old))                         // new
	put(t, strings.TrimSuffix(script(5), ".txt")+".marker.yaml", []byte("marks:\n  - {part: a, marks: 1, reason: seen}\n"))
	os.Remove(script(6))
	table, messages := mark(t, 0, dir, "--out", out)
	for _, want := range []string{"Since the last run: 1 new, 2 changed, 1 gone, 3 as before.", "s-00002.txt: the script; marks", "s-00005.txt: the marker's word; marks", "s-00006.txt: gone"} {
		if !strings.Contains(strings.Join(strings.Fields(table), " "), want) {
			t.Errorf("the table lacks %q:\n%s", want, table)
		}
	}
	report, _, _ := strings.Cut(content(t, filepath.Join(out, "class.html")), "<h2 class=\"grids\">")
	for _, want := range []string{"<h2>Since the last run", "1 new, 2 changed, 1 gone, 3 as before.", `href="feedback/s-00002.txt.html"`, "The script; marks", "The marker&#39;s word; marks", "s-00006.txt: gone; its page is left"} {
		if !strings.Contains(report, want) {
			t.Errorf("the report on the class lacks %q", want)
		}
	}
	for path, want := range map[string]string{page(2): "my own words\n", page(4): "my own words on four\n", filepath.Join(out, "marks.csv"): "a\n"} {
		if got := content(t, path); got != want {
			t.Errorf("%s was written over: %q", path, got)
		}
	}
	if !strings.Contains(content(t, filepath.Join(out, "feedback", "s-00002.txt.new.txt")), "Marks") || !strings.Contains(messages, "s-00002.txt.new.txt") {
		t.Errorf("the new page beside the old: %s", messages)
	}
	table, _ = mark(t, 0, dir, "--out", out, "--again")
	if strings.Contains(table, "changed,") || strings.Contains(table, "gone") {
		t.Errorf("nothing changed:\n%s", table)
	}
	if got := content(t, page(4)); got != "my own words on four\n" {
		t.Errorf("--again wrote over what a person wrote: %q", got)
	}
	table, _ = mark(t, 0, dir, "--out", out, "--reveal", "line")
	if !strings.Contains(table, "Since the last run: 6 marked again.") {
		t.Errorf("only what feedback tells is new:\n%s", table)
	}
	first, _ := mark(t, 0, dir, "--out", out, "--json")
	plain, _ := mark(t, 0, dir, "--json")
	if first != plain {
		t.Error("readings taken over are not those that marking anew gives")
	}
}

// TestComesAndGoes breaks a script that was marked, and mends it again: each
// run tells it once.
func TestComesAndGoes(t *testing.T) {
	dir, out := cohortOf(t, 3), filepath.Join(t.TempDir(), "out")
	name := "s-00002.txt"
	text := content(t, filepath.Join(dir, name))
	for _, run := range []struct {
		text        string
		exit        int
		tally, says string
	}{
		{text, 0, "", ""},
		{"\xff\xfe" + text, 1, "1 changed, 2 as before", "can't be marked any more (marks were "},
		{"\xff\xfe" + text, 1, "2 as before, 1 still not marked", "as before"},
		{text, 0, "1 changed, 2 as before", "could not be marked before; marks now "},
		{text, 0, "3 as before", "as before"},
	} {
		put(t, filepath.Join(dir, name), []byte(run.text))
		table, _ := mark(t, run.exit, dir, "--out", out)
		if want := "Since the last run: " + run.tally + "."; run.tally != "" && !strings.Contains(table, want) {
			t.Errorf("no %q:\n%s", want, table)
		}
		if got := since(sheet(t, out)[name]); !strings.HasPrefix(got, run.says) || run.says == "" && got != "" {
			t.Errorf("the mark sheet says %q, want %q", got, run.says)
		}
	}
}

// TestFullDisk lets the disk fill up midway.
func TestFullDisk(t *testing.T) {
	dir, out := cohortOf(t, 20), filepath.Join(t.TempDir(), "out")
	pages := 0
	disk.Before = func(path string, size int) error {
		if strings.Contains(path, "feedback") {
			if pages++; pages > 12 {
				return syscall.ENOSPC
			}
		}
		return nil
	}
	defer func() { disk.Before = nil }()
	table, _ := mark(t, 1, dir, "--out", out)
	if !strings.Contains(table, "Marked, but not written") || !strings.Contains(table, "no space left on device") {
		t.Errorf("the table:\n%s", table)
	}
	if rows := sheet(t, out); len(rows) != 20 {
		t.Errorf("%d rows", len(rows))
	}
	disk.Before = nil
	mark(t, 0, dir, "--out", out) // with room again, what is missing is written
	entire(t, out, 20)
}

// entire checks that every student has both pages, ended, and that nothing half
// written lies about.
func entire(t *testing.T, out string, scripts int) {
	t.Helper()
	n := 0
	filepath.Walk(out, func(path string, info os.FileInfo, err error) error {
		switch {
		case err != nil:
			t.Error(err)
		case strings.HasSuffix(path, ".part"):
			t.Errorf("%s was left half written", path)
		case strings.HasSuffix(path, ".html") && !info.IsDir():
			if !strings.HasSuffix(strings.TrimSpace(content(t, path)), "</html>") {
				t.Errorf("%s is not whole", path)
			}
			n++
		case strings.Contains(filepath.Base(path), ".new"):
			t.Errorf("%s: a page of the program's own was taken for a person's", path)
		}
		return nil
	})
	if n != scripts+1 {
		t.Errorf("%d pages, want %d", n, scripts+1)
	}
}

// start runs batten in a process of its own.
func start(t *testing.T, args ...string) (*exec.Cmd, *bytes.Buffer) {
	t.Helper()
	exe, err := os.Executable()
	if err != nil {
		t.Fatal(err)
	}
	cmd := exec.Command(exe)
	cmd.Args = append([]string{"batten", "mark", "-q", classQuestion}, args...)
	var b bytes.Buffer
	cmd.Stdout, cmd.Stderr = &b, &b
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	return cmd, &b
}

// TestKilled kills the run at several moments and starts it again. What was
// done is not done again, and nothing is lost or left half written.
func TestKilled(t *testing.T) {
	const n = 400
	dir, out := cohortOf(t, n), filepath.Join(t.TempDir(), "out")
	for _, wait := range []int{5, 60, 200} {
		cmd, _ := start(t, dir, "--out", out)
		for deadline := time.Now().Add(30 * time.Second); time.Now().Before(deadline); time.Sleep(time.Millisecond) {
			if e, _ := os.ReadDir(filepath.Join(out, "readings")); len(e) >= wait {
				break
			}
		}
		cmd.Process.Kill()
		cmd.Wait()
	}
	f, err := os.OpenFile(filepath.Join(out, ".batten-state.jsonl"), os.O_APPEND|os.O_WRONLY, 0)
	if err != nil {
		t.Fatal(err)
	}
	f.WriteString(`{"key":"s-00001.txt","bas`) // as a kill within a write leaves it
	f.Close()
	cmd, b := start(t, dir, "--out", out)
	if err := cmd.Wait(); err != nil {
		t.Fatalf("%v\n%s", err, b)
	}
	i := strings.Index(b.String(), "Since the last run: ")
	if i < 0 {
		t.Fatalf("nothing was taken over:\n%s", b)
	}
	// A script killed between its entry and its pages is marked again.
	since, _, _ := strings.Cut(b.String()[i+len("Since the last run: "):], ".")
	all, before := 0, 0
	for _, part := range strings.Split(since, ", ") {
		var k int
		var what string
		if _, err := fmt.Sscanf(part, "%d %s", &k, &what); err != nil {
			t.Fatalf("%q: %v", since, err)
		}
		all += k
		if what == "as" {
			before = k
		}
	}
	if all != n || before < 150 {
		t.Errorf("%q accounts for %d, want %d, of them at least 150 as before", since, all, n)
	}
	entire(t, out, n)
}

// TestInterrupted sends what Ctrl-C sends: what is done is kept, what is not is
// told, and all are accounted for.
func TestInterrupted(t *testing.T) {
	const n = 1500
	dir, out := cohortOf(t, n), filepath.Join(t.TempDir(), "out")
	cmd, b := start(t, dir, "--out", out)
	for {
		if e, _ := os.ReadDir(filepath.Join(out, "readings")); len(e) >= 20 {
			break
		}
		time.Sleep(time.Millisecond)
	}
	cmd.Process.Signal(os.Interrupt)
	err := cmd.Wait()
	var exit *exec.ExitError
	if !errors.As(err, &exit) || exit.ExitCode() != 1 {
		t.Fatalf("%v, want exit code 1\n%s", err, b)
	}
	var left, all int
	if _, err := fmt.Sscanf(b.String(), "batten: stopped: %d of %d scripts", &left, &all); err != nil || all != n || left == 0 {
		t.Errorf("%d of %d left: %v\n%.300s", left, all, err, b)
	}
	rows := sheet(t, out)
	stopped := 0
	for _, r := range rows {
		if strings.Contains(reason(r), "stopped before it was reached") {
			stopped++
		}
	}
	if len(rows) != n || stopped != left {
		t.Errorf("%d rows, %d stopped, want %d and %d", len(rows), stopped, n, left)
	}
	entire(t, out, n-left)
}

// TestApart refuses to write among the scripts, and twice at once.
func TestApart(t *testing.T) {
	dir := cohortOf(t, 2)
	if _, m := mark(t, 2, dir, "--out", dir); !strings.Contains(m, "another folder than the scripts'") {
		t.Error(m)
	}
	inside := filepath.Join(dir, "marked") // below the scripts, as people will have it
	mark(t, 0, dir, "--out", inside)
	if table, _ := mark(t, 0, dir, "--out", inside); !strings.Contains(table, "2 as before") || strings.Contains(table, "feedback") {
		t.Errorf("results were taken for scripts:\n%s", table)
	}
}
