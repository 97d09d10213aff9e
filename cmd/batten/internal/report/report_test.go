package report

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"batten/cmd/batten/internal/class"
)

func TestSafe(t *testing.T) {
	for in, want := range map[string]string{
		"Candidate 07":     "Candidate 07",
		"=1+1":             "'=1+1",
		"+44":              "'+44",
		"-2":               "'-2",
		"−2":               "'−2",
		"@SUM(A1)":         "'@SUM(A1)",
		"\t=1":             "' =1",
		"  =1":             "'  =1",
		"\u200b=1":         "'\u200b=1",
		"＝1":               "'＝1",
		"a\nb":             "a b",
		"\x1b[31mred":      "red",
		"":                 "",
		"two words = fine": "two words = fine",
	} {
		if got := safe(in); got != want {
			t.Errorf("safe(%q) = %q, want %q", in, got, want)
		}
	}
}

func TestBins(t *testing.T) {
	for _, c := range []struct {
		reason string
		marks  []float64
		full   float64
		want   string
	}{
		{"fives, full marks apart", []float64{0, 4.5, 5, 34.5, 35}, 35, "0–4:2 5–9:1 10–14:0 15–19:0 20–24:0 25–29:0 30–34:1 35:1"},
		{"few marks, one by one", []float64{0, 1, 2.5, 3}, 3, "0:1 1:1 2:1 3:1"},
		{"marks that are no multiple of the stretch", []float64{12, 12.5}, 12.5, "0–1:0 2–3:0 4–5:0 6–7:0 8–9:0 10–11:0 12:1 12.5:1"},
		{"a question without marks", []float64{0}, 0, "0:0 0:1"},
	} {
		var got []string
		for _, b := range bins(c.marks, c.full) {
			got = append(got, b.Label+":"+string(rune('0'+b.N)))
		}
		if s := strings.Join(got, " "); s != c.want {
			t.Errorf("%s: %s, want %s", c.reason, s, c.want)
		}
	}
}

// TestNothing makes everything of a class of which nothing could be marked.
func TestNothing(t *testing.T) {
	c := &class.Class{}
	c.Add(&class.Result{Row: &class.Row{Script: "<b>.txt", Failed: "it is a picture"}})
	page, err := Class(c, time.Now())
	if err != nil || !strings.Contains(string(page), "&lt;b&gt;.txt") || !strings.Contains(string(page), "0 of 1 scripts") {
		t.Errorf("%v\n%s", err, page)
	}
	if data, err := CSV(c); err != nil || !strings.Contains(string(data), "it is a picture") {
		t.Errorf("%v\n%s", err, data)
	}
	if _, err := XLSX(c); err != nil {
		t.Error(err)
	}
}

// TestFolded makes the page of a large class that was stopped: it stays one
// that can be read, and tells what it leaves out.
func TestFolded(t *testing.T) {
	c := &class.Class{}
	for i := range mostGrid + 7 {
		c.Add(&class.Result{Row: &class.Row{Script: fmt.Sprintf("broken-%03d.txt", i), Failed: "it is a picture"}})
	}
	for i := range 900 {
		c.Add(&class.Result{Row: &class.Row{Script: fmt.Sprintf("late-%03d.txt", i), Failed: "the run was stopped", Stopped: true}})
	}
	page, err := Class(c, time.Now())
	if err != nil {
		t.Fatal(err)
	}
	for _, want := range []string{"And 7 more", "stopped with 900 still to be marked, from late-000.txt on", "0 of 1307 scripts"} {
		if !strings.Contains(string(page), want) {
			t.Errorf("the page lacks %q", want)
		}
	}
	if n := strings.Count(string(page), "<tr>"); n > mostGrid+10 {
		t.Errorf("%d rows on the page", n)
	}
}
