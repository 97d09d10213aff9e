package show

import (
	"bytes"
	"flag"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"unicode"

	"github.com/google/go-cmp/cmp"
	"github.com/mattn/go-runewidth"

	"batten/diagnose"
)

var update = flag.Bool("update", false, "write what is printed to testdata")

// TestSheets holds the printing of reports against what was looked at and
// found good.
func TestSheets(t *testing.T) {
	titles := map[string]string{"wrong-operand": "another figure of the same kind", "figure-miscopied": ""}
	for _, c := range sheets {
		t.Run(c.name, func(t *testing.T) {
			o := c.options
			o.Title = "Hold bilged above the tank top"
			o.FaultTitle = func(id string) string { return titles[id] }
			var plain, coloured bytes.Buffer
			if err := Script(&plain, c.report(), o); err != nil {
				t.Fatal(err)
			}
			o.Pen = NewPen(true)
			if err := Script(&coloured, c.report(), o); err != nil {
				t.Fatal(err)
			}
			golden(t, c.name, c.reason, plain.String())
			fits(t, plain.String())
			if bare := colours.ReplaceAllString(coloured.String(), ""); blanks(bare) != blanks(plain.String()) {
				t.Errorf("colour changes more than colour:\n%s", cmp.Diff(plain.String(), bare))
			}
		})
	}
}

var colours = regexp.MustCompile("\x1b\\[[0-9;]*m")

// blanks drops blanks at the ends of lines, which colour may leave.
func blanks(s string) string {
	lines := strings.Split(s, "\n")
	for i := range lines {
		lines[i] = strings.TrimRight(lines[i], " ")
	}
	return strings.Join(lines, "\n")
}

// golden compares with a file of testdata, whose first line is the reason why
// it is there.
func golden(t *testing.T, name, reason, got string) {
	t.Helper()
	file := filepath.Join("testdata", name+".txt")
	got = "(" + reason + ")\n" + got
	if *update {
		if err := os.WriteFile(file, []byte(got), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(string(want), got); diff != "" {
		t.Errorf("%s (− kept, + printed):\n%s", file, diff)
	}
}

// fits tells whether text stays within the page and holds nothing that a
// terminal would obey.
func fits(t *testing.T, text string) {
	t.Helper()
	for _, line := range strings.Split(text, "\n") {
		if w := Width(line); w > Columns {
			t.Errorf("%d columns: %q", w, line)
		}
		if i := strings.IndexFunc(line, func(r rune) bool { return unicode.IsControl(r) || unicode.Is(unicode.Bidi_Control, r) }); i >= 0 {
			t.Errorf("a control character in %q", line)
		}
	}
}

func TestClass(t *testing.T) {
	var c Class
	c.Add(halfDraughtReport())
	whole := report("holds|a|x")
	whole.Script = "class/of/students/with/a/long/path/zeta.txt"
	c.Add(whole)
	other := report("holds|a|x")
	other.Question, other.Parts, other.Total = "empty-hold", whole.Parts[:1], diagnose.Total{Available: 15, Awarded: 12.5}
	other.Parts = []diagnose.PartMarks{{Part: "a", Available: 15, Awarded: 12.5}}
	c.Add(other)
	c.Fail("class/picture.png", "it is not text: byte 1 is no character, and a longer reason still that needs a second line")
	var b bytes.Buffer
	if err := c.Print(&b, NewPen(false)); err != nil {
		t.Fatal(err)
	}
	golden(t, "class", "a table for each question, then what could not be marked", b.String())
	fits(t, b.String())
}

// TestWithhold: what is not to be given away is not in the JSON either.
func TestWithhold(t *testing.T) {
	for reveal, gone := range map[Reveal][]string{
		RevealLine:    {"half-draught", "Half the", "Half of", "2.35"},
		RevealIdea:    {"2.35"},
		RevealWorking: nil,
	} {
		r := halfDraughtReport()
		r.Findings[0].Expected = ptr(2.35)
		r.Lines[14].Expected = ptr(2.35)
		r.FirstFault.Fault = r.Findings[0].Fault
		Withhold(r, reveal)
		var b bytes.Buffer
		if err := JSON(&b, r, ""); err != nil {
			t.Fatal(err)
		}
		for _, s := range gone {
			if strings.Contains(b.String(), s) {
				t.Errorf("reveal %d gives away %q", reveal, s)
			}
		}
		if strings.Count(b.String(), "\n") != 1 {
			t.Error("not on one line")
		}
		if strings.Contains(b.String(), `"alternatives":null`) || strings.Contains(b.String(), `"answers":null`) {
			t.Error("a null list")
		}
	}
}

func TestWrap(t *testing.T) {
	for _, c := range []struct {
		reason, text string
		width        int
		want         []string
	}{
		{"nothing gives nothing", "  ", 10, nil},
		{"breaks between words", "one two three", 7, []string{"one two", "three"}},
		{"a word longer than the line is cut", "abcdefgh ij", 5, []string{"abcde", "fgh", "ij"}},
		{"wide letters count two", "体積体積", 4, []string{"体積", "体積"}},
		{"a letter wider than the line does not hang", "体", 1, nil},
	} {
		if diff := cmp.Diff(c.want, Wrap(c.text, c.width)); diff != "" && len(c.want) > 0 {
			t.Errorf("%s: %s", c.reason, diff)
		}
	}
}

// FuzzCells: whatever a line holds, its cells cover columns in order and print
// within the page.
func FuzzCells(f *testing.F) {
	f.Add("KB\x1b[31m = 4.788/2\t体積 e\u0301\xff", 3, 9)
	f.Add("\x1b]0;\x9b\x1b\x1b(", 1, 2)
	f.Fuzz(func(t *testing.T, line string, from, to int) {
		line = strings.ReplaceAll(line, "\n", "")
		text, _ := cells(line)
		last := 1
		for _, c := range text {
			if c.from < last || c.to <= c.from {
				t.Fatalf("cell %+v after column %d", c, last)
			}
			last = c.to
		}
		for _, row := range rows(text, 60, 58) {
			fits(t, join(row))
			if Width(under(row, from, to)) > Columns {
				t.Fatal("a rule beyond the page")
			}
		}
	})
}

// What is told at once must be what the library tells.
func TestOneColumn(t *testing.T) {
	for r := rune(0); r <= 0x10ffff; r++ {
		if oneColumn(r) && runewidth.StringWidth("a"+string(r)+"b") != 3 {
			t.Errorf("%U %c does not take one column", r, r)
		}
	}
}
