package page

import (
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"batten/diagnose"
)

// report makes a report by hand: each line of script is "verdict text".
func report(script string, findings ...diagnose.Finding) *diagnose.Report {
	r := &diagnose.Report{Findings: findings}
	for i, l := range strings.Split(script, "\n") {
		verdict, text, _ := strings.Cut(l, " ")
		row := diagnose.LineRow{N: i + 1, Text: text}
		row.Verdict = diagnose.Verdict(verdict)
		r.Lines = append(r.Lines, row)
	}
	return r
}

func finding(fault, quantity, name string, line int) diagnose.Finding {
	return diagnose.Finding{Fault: fault, Severity: diagnose.Principal, Part: "b", Line: line, Quantity: &quantity, Name: name}
}

func TestCompare(t *testing.T) {
	kb := finding("half-draught", "kb_bilged", "KB after bilging", 2)
	before := report("holds KB = 2.25\nfaulty KB1 = 2.39\nfollows KM = 7.87", kb)
	for _, c := range []struct {
		reason  string
		after   *diagnose.Report
		summary []string
		words   string // what stands in the margins, line by line
	}{
		{"nothing done", before, []string{"Nothing is changed since the last sending."}, "||"},
		{"the line mended, what follows still old", report("holds KB = 2.25\nholds KB1 = 2.35\nfaulty KM = 7.87", finding("miscopied", "km_bilged", "KM after bilging", 3)),
			[]string{"Line 2 changed.", "Line 2 now holds.", "Mended: the KB after bilging.", "New: the KM after bilging, line 3."}, "|changed|was follows"},
		{"wrong in another way is still to mend", report("holds KB = 2.25\nfaulty KB1 = 2.41\nfollows KM = 7.87", finding("other", "kb_bilged", "KB after bilging", 2)),
			[]string{"Line 2 changed.", "Still to mend: the KB after bilging, line 2."}, "|changed|"},
		{"lines put in between keep the others", report("holds KB = 2.25\naside a note\nholds BM = 6\nfaulty KB1 = 2.39\nfollows KM = 7.87", kb),
			[]string{"Lines 2 and 3 changed.", "Still to mend: the KB after bilging, line 2."}, "|new|new||"},
		{"a line taken out", report("holds KB = 2.25\nfollows KM = 7.87"),
			[]string{"One line was taken out.", "Mended: the KB after bilging."}, "|"},
		{"all taken out but one", report("holds x = 1"),
			[]string{"Line 1 changed.", "2 lines were taken out.", "Mended: the KB after bilging."}, "changed"},
	} {
		got := Compare(before, c.after)
		if diff := cmp.Diff(c.summary, got.Summary); diff != "" {
			t.Errorf("%s:\n%s", c.reason, diff)
		}
		rows := make([]Row, len(c.after.Lines))
		for i, l := range c.after.Lines {
			rows[i] = Row{N: l.N, Pieces: []Piece{{Text: l.Text}}}
			if l.Verdict != diagnose.Aside {
				rows[i].Verdict = string(l.Verdict)
			}
		}
		got.mark(rows)
		var words []string
		for _, r := range rows {
			words = append(words, r.Changed)
		}
		if w := strings.Join(words, "|"); w != c.words {
			t.Errorf("%s: margins %q, want %q", c.reason, w, c.words)
		}
	}
}

// TestCompareLong: two long answers with nothing in common take no long time,
// and every line has its row.
func TestCompareLong(t *testing.T) {
	var a, b []diagnose.LineRow
	for i := range 1500 {
		a = append(a, diagnose.LineRow{N: i + 1, Text: strings.Repeat("a", i%50)})
		b = append(b, diagnose.LineRow{N: i + 1, Text: strings.Repeat("b", i%70)})
	}
	if got := align(a, b); len(got) != len(b) || kept(got) != len(a) {
		t.Errorf("%d rows, %d kept", len(got), kept(got))
	}
}

func TestSteps(t *testing.T) {
	hint, got := steps("Cube the breadth.\nBM = L B³ / 12 V = 96 × 18³ / (12 × 7776) = 6.00 m")
	want := []Step{{Label: "How the line begins", Text: "BM = L B³ / 12 V"}, {Label: "With the figures", Text: "= 96 × 18³ / (12 × 7776)"}, {Label: "What it comes to", Text: "= 6.00 m"}}
	if diff := cmp.Diff(want, got); diff != "" || hint != "Cube the breadth." {
		t.Errorf("%q\n%s", hint, diff)
	}
	if hint, got := steps(""); hint != "" || got != nil {
		t.Errorf("nothing gives %q, %v", hint, got)
	}
}

// TestPieces: an underline stands under its characters, wherever the span ends.
func TestPieces(t *testing.T) {
	at := func(from, to int) []*diagnose.Finding {
		return []*diagnose.Finding{{Span: &diagnose.Columns{From: from, To: to}}}
	}
	for _, c := range []struct {
		reason, text string
		found        []*diagnose.Finding
		want         []Piece
	}{
		{"in the middle", "KB = 4/2 = 2", at(6, 9), []Piece{{Text: "KB = "}, {Text: "4/2", Wrong: true}, {Text: " = 2"}}},
		{"letters of many bytes", "½×² = 4", at(2, 4), []Piece{{Text: "½"}, {Text: "×²", Wrong: true}, {Text: " = 4"}}},
		{"over the end of the line", "abc", at(3, 99), []Piece{{Text: "ab"}, {Text: "c", Wrong: true}}},
		{"before its beginning", "abc", at(-4, 2), []Piece{{Text: "a", Wrong: true}, {Text: "bc"}}},
		{"turned round", "abc", at(3, 1), []Piece{{Text: "abc"}}},
		{"two that overlap", "abcdef", append(at(2, 4), at(3, 6)...), []Piece{{Text: "a"}, {Text: "bcde", Wrong: true}, {Text: "f"}}},
		{"controls are shown, not obeyed", "a\u202eb\x07\t", nil, []Piece{{Text: "a\ufffdb\ufffd\t"}}},
	} {
		got, _ := pieces(&diagnose.LineRow{Text: c.text}, c.found)
		if diff := cmp.Diff(c.want, got); diff != "" {
			t.Errorf("%s:\n%s", c.reason, diff)
		}
	}
}

// TestUnreadPlace: what could not be read is marked, but not where that is the
// whole line, nor under a note that speaks of something else.
func TestUnreadPlace(t *testing.T) {
	at := &diagnose.Columns{From: 8, To: 9}
	row := func(text string, at *diagnose.Columns) *diagnose.LineRow {
		return &diagnose.LineRow{Text: text, Span: at, StepRow: diagnose.StepRow{Verdict: diagnose.Unread, Why: "why"}}
	}
	marked := []Piece{{Text: "GM = 3 "}, {Text: "#", Unread: true}, {Text: " 4"}}
	if got, _ := pieces(row("GM = 3 # 4", at), nil); !slices.Equal(got, marked) {
		t.Errorf("%+v, want %+v", got, marked)
	}
	for what, l := range map[string]*diagnose.LineRow{
		"the whole line": row("  GM # 4", &diagnose.Columns{From: 3, To: 9}),
		"beyond its end": row("GM", at),
	} {
		if got, _ := pieces(l, nil); len(got) != 1 || got[0].Unread {
			t.Errorf("%s: %+v", what, got)
		}
	}
	if got, _ := pieces(row("GM = 3 # 4", at), []*diagnose.Finding{{Span: &diagnose.Columns{From: 1, To: 3}}}); len(got) != 2 || got[1].Unread {
		t.Errorf("beside a finding: %+v", got)
	}
}
