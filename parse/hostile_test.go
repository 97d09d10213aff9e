package parse

import (
	"strings"
	"testing"
	"time"
)

// mostTime is what reading the worst script may take: a fifth of it does.
const mostTime = 3 * time.Second

// Input of any kind is answered at once, or refused with a reason.
func TestHostileScripts(t *testing.T) {
	fill := func(line string, size int) string { return strings.Repeat(line, size/len(line)+1)[:size] }
	for name, text := range map[string]string{
		"open brackets":          strings.Repeat("(", 1000),
		"nested brackets":        "KB = " + strings.Repeat("(", 1500) + "1" + strings.Repeat(")", 1500),
		"brackets of pairs":      "KB = " + strings.Repeat("(1)", 1200),
		"bracketed words":        "KB = " + strings.Repeat("(so) ", 700) + "3",
		"signs":                  "KB = " + strings.Repeat("- ", 1900) + "3",
		"powers":                 "KB = " + strings.Repeat("2^", 1900) + "3",
		"names":                  strings.Repeat("lost volume ", 300) + "= 3",
		"letters":                strings.Repeat("L", 3990),
		"words and figures":      strings.Repeat("KB 3 ", 780),
		"colons":                 strings.Repeat("KB: ", 900),
		"commas":                 strings.Repeat("3, ", 1300),
		"relations":              strings.Repeat("= ", 1900),
		"statements":             strings.Repeat("a=3, ", 790),
		"primes":                 strings.Repeat("a' ", 1300),
		"fractions":              "$" + strings.Repeat(`\frac{1}{`, 400),
		"part marks":             strings.Repeat("(a) (b) ", 490),
		"a line too long":        strings.Repeat("KB = 3 ", 5000),
		"open lines":             fill("KB = 3 +\n", 50_000),
		"unclosed lines":         fill("KB = (3\n", 50_000),
		"tables of bars":         fill("| a | 3 | 4 |\n", 200_000),
		"tables of many columns": fill(strings.Repeat("3  ", 1300)+"\n", 200_000),
		"tables of tabs":         fill(strings.Repeat("3\t", 1900)+"\n", 200_000),
		"drawn fractions":        fill(strings.Repeat("3  ", 900)+"\n"+strings.Repeat("---  ", 600)+"= 3\n", 200_000),
		"chains":                 fill("BM = LB^3/12V = 96 x 18^3 / (12 x 7776) = 6.00 m\n", 400_000),
		"blank lines":            strings.Repeat("\n", 19_000),
		"struck":                 strings.Repeat("~~a~~ ", 600),
		"wide characters":        strings.Repeat("ﷺ", 1300),
		"accents":                "a" + strings.Repeat("\u0301", 1900),
		"withdrawn":              fill("this can't be right, ignore above\n", 200_000),
	} {
		start := time.Now()
		s, err := ReadScript([]byte(text), trade)
		took := time.Since(start)
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		checkScript(t, text, s)
		for n := 0; n < 2 && took > mostTime; n++ { // the machine may be busy with other work
			start = time.Now()
			ReadScript([]byte(text), trade)
			took = min(took, time.Since(start))
		}
		if took > mostTime {
			t.Errorf("%s: %d bytes took %v", name, len(text), took)
		}
		t.Logf("%-24s %7d bytes %8.1f ms", name, len(text), float64(took.Microseconds())/1000)
	}
}

func TestRefusedScripts(t *testing.T) {
	for name, c := range map[string]struct{ text, says string }{
		"zero bytes":    {"KB = 3\n\x00\x01", "line 2 holds a zero byte"},
		"UTF-16":        {"\xff\xfeK\x00B\x00", "UTF-16"},
		"bad encoding":  {"KB = 3\nBM = 6 \xb2\n", "line 2 holds bytes of another encoding"},
		"too large":     {strings.Repeat("KB = 3\n", 400_000), "too large"},
		"too many rows": {strings.Repeat("\n", 60_000), "too long"},
	} {
		_, err := ReadScript([]byte(c.text), trade)
		if err == nil || !strings.Contains(err.Error(), c.says) {
			t.Errorf("%s: %v, want an error that says %q", name, err, c.says)
		}
	}
	if s, err := ReadScript(nil, nil); err != nil || len(s.Lines) != 0 {
		t.Errorf("nothing at all: %v %v", s, err)
	}
	s, err := ReadScript([]byte(strings.Repeat("x", 5000)+"\nKB = 3"), trade)
	if err != nil || s.Lines[0].Kind != Unread || s.Lines[1].Kind != Working {
		t.Errorf("a line too long must not stop the rest: %v %v", err, s.Dump()[:80])
	}
}
