package show

import (
	"strings"

	"batten/diagnose"
)

// A report made by hand: each line of script is "verdict|part|text", and for a
// line that follows "follows:15|b|text", where 15 is where it follows from.
func report(script string, findings ...diagnose.Finding) *diagnose.Report {
	r := &diagnose.Report{
		Schema: 1, Script: "answer.txt", Question: "hold-above-tank-top",
		Findings: findings,
		Caution:  "For study only: on board the approved stability information decides.",
	}
	for i, l := range strings.Split(script, "\n") {
		f := strings.SplitN(l, "|", 3)
		row := diagnose.LineRow{N: i + 1, Part: f[1], Text: f[2]}
		verdict, from, _ := strings.Cut(f[0], ":")
		for _, c := range from {
			row.From = row.From*10 + int(c-'0')
		}
		row.Verdict = diagnose.Verdict(verdict)
		if verdict == "" {
			row.Verdict = diagnose.Aside
		}
		r.Lines = append(r.Lines, row)
	}
	for _, f := range findings {
		if f.Severity != diagnose.Remark && r.FirstFault == nil {
			r.FirstFault = &diagnose.FirstFault{Line: f.Line, Fault: f.Fault}
		}
	}
	r.Parts = []diagnose.PartMarks{
		{Part: "a", Find: "bilged draught", Available: 15, Awarded: 15, Reached: true},
		{Part: "b", Find: "change of GM", Available: 20, Awarded: 20, Reached: true},
	}
	r.Total = diagnose.Total{Available: 35, Awarded: 35}
	return r
}

// at marks the words of a line that a finding is about.
func at(line, words string) *diagnose.Columns {
	i := strings.Index(line, words)
	from := len([]rune(line[:i])) + 1
	return &diagnose.Columns{From: from, To: from + len([]rune(words))}
}

const halfDraught = `|a|Name: A. Cadet
|a|(a)
holds|a|lost length = 14 x 0.6 = 8.4 m
holds|a|lost depth = 4.5 - 1.5 = 3.0 m
holds|a|lost volume = 8.4 x 18 x 3.0 = 453.6 m3
holds|a|intact WPA = (96 - 8.4) x 18 = 1576.8 m2
holds|a|sinkage = 453.6 / 1576.8 = 0.288 m
holds|a|new draught = 4.5 + 0.288 = 4.788 m
|b|
|b|(b) Initial:
holds|b|KB = 4.5 / 2 = 2.25 m
holds|b|BM = LB^3/12V = 96 x 18^3 / (12 x 7776) = 6.00 m
holds|b|KM = 8.25 m
|b|Bilged:
faulty|b|KB = 4.788/2 = 2.39 m
holds|b|BM = 87.6 x 18^3 / (12 x 7776) = 5.475 m
follows:15|b|KM = 2.39 + 5.475 = 7.87 m
follows:15|b|change in GM = 8.25 - 7.87 = 0.38 m (decrease)`

func halfDraughtReport() *diagnose.Report {
	name := "A. Cadet"
	r := report(halfDraught, diagnose.Finding{
		Fault: "half-draught-with-flat", Severity: diagnose.Principal, Part: "b", Line: 15,
		Title: "Half the new draught taken as KB over a flat", Name: "KB after bilging",
		Span: at("KB = 4.788/2 = 2.39 m", "4.788/2"), Shown: diagnose.ShownWritten,
		Idea: "Half of 4.788 is the height of the centre of a plain box. Here the box has water let in " +
			"above 1.5 m only, so what still floats is fuller low down, and its centre lies lower than half way.",
		Working: "KB = (8273.7 x 2.394 - 497.1 x 3.144) / 7776 = 2.35 m", Cost: 10,
	}, diagnose.Finding{
		Fault: "places-off", Severity: diagnose.Remark, Part: "b", Line: 16,
		Title: "More places than the figure can bear", Idea: "5.475 is given to two places as a rule: 5.48 m.",
	})
	r.Name = &name
	r.Parts[1].Deducted, r.Parts[1].Awarded = 10, 10
	r.Total.Awarded = 25
	return r
}

func ptr[T any](x T) *T { return &x }

// sheets are the reports whose printing is kept in testdata, with the reason
// why each is there.
var sheets = []struct {
	name, reason string
	report       func() *diagnose.Report
	options      Options
}{
	{"half-draught-line", "the place alone: nothing of the idea", halfDraughtReport, Options{Reveal: RevealLine}},
	{"half-draught-idea", "one principal fault with what follows from it", halfDraughtReport, Options{Reveal: RevealIdea}},
	{"half-draught-marks", "the same for a marker", halfDraughtReport, Options{Reveal: RevealWorking, Marks: true}},
	{"holds", "nothing wrong: short", func() *diagnose.Report {
		return report("holds|a|lost length = 8.4 m\n|a|\nholds|b|GM = 0.43 m (decrease)")
	}, Options{Reveal: RevealIdea}},
	{"not-vouched-for", "nothing wrong, but not all could be told", func() *diagnose.Report {
		r := report("holds|a|lost length = 8.4 m\nunplaced|a|8.4 x 18 = 151.2\nunread|a|= (4.5 + 0.288 = 4.788\nholds|b|GM = 0.43 m (decrease)")
		r.Lines[2].Why = "the bracket opened in column 3 is not closed"
		return r
	}, Options{Reveal: RevealIdea}},
	{"tabs-and-wide", "a rule stands under the words it is about, whatever stands before them", func() *diagnose.Report {
		wide := "体積\tKB\u0301 =\t4.788/2 = 2.39 ｍ"
		flag := "🇬🇧 👩‍🏫 e\u0301 = 4.788/2"
		return report("faulty|b|"+wide+"\nfaulty|b|"+flag,
			diagnose.Finding{Fault: "x", Severity: diagnose.Principal, Part: "b", Line: 1, Title: "half the draught", Span: at(wide, "4.788/2"), Idea: "Tabs and wide letters."},
			diagnose.Finding{Fault: "x", Severity: diagnose.Principal, Part: "b", Line: 2, Title: "half the draught", Span: at(flag, "4.788/2"), Idea: "Letters of several characters."})
	}, Options{Reveal: RevealIdea}},
	{"long-line", "a long line goes on below, the rule with it", func() *diagnose.Report {
		long := "KB after bilging = (96 x 18 x 4.788 x 2.394 - 8.4 x 18 x 3.288 x 1.644) / (96 x 18 x 4.5) = 19,000.55 / 7776 = 2.444 m above the keel"
		return report("faulty|b|"+long+"\nholds|b|"+strings.Repeat("9", 150),
			diagnose.Finding{Fault: "flat-height-omitted-from-centre", Severity: diagnose.Principal, Part: "b", Line: 1,
				Title: "the flat left out of the centre of what was lost", Span: at(long, "3.288 x 1.644) / (96"), Idea: "A span over the end of a row."})
	}, Options{Reveal: RevealIdea}},
	{"obeyed", "nothing in a script moves the cursor or colours the screen", func() *diagnose.Report {
		text := "KB\x1b[31m = \x1b]0;title\x074.788/2\x07\x9b = \u202e2.39\r m\x00 \xff"
		r := report("faulty|b|"+text, diagnose.Finding{Fault: "x", Severity: diagnose.Principal, Part: "b", Line: 1,
			Title: "half the \x1b[2Jdraught", Span: at(text, "4.788/2"), Idea: "figures \x1b[5mof\x1b[0m the student\x00"})
		r.Name = ptr("A\x1b[1mB")
		return r
	}, Options{Reveal: RevealIdea}},
	{"possible", "two faults give the same figure: both are told, neither as certain", func() *diagnose.Report {
		return report("faulty|a|lost volume = 604.8 m3\nunplaced|a|x = 2",
			diagnose.Finding{Fault: "permeability-as-intact", Severity: diagnose.Principal, Part: "a", Line: 1, Name: "volume of lost buoyancy",
				Title: "one less the permeability taken for it", Shown: diagnose.ShownPossible, Idea: "604.8 is what 40% of the hold gives.",
				Alternatives: []string{"wrong-operand", "figure-miscopied"}, Unwritten: "lost length"})
	}, Options{Reveal: RevealIdea}},
	{"nothing-written", "an empty script has its word too", func() *diagnose.Report {
		r := report("|a|",
			diagnose.Finding{Fault: notAttempted, Severity: diagnose.Principal, Part: "a", Line: 1, Title: "nothing is written for this part", Cost: 15},
			diagnose.Finding{Fault: notAttempted, Severity: diagnose.Principal, Part: "b", Line: 1, Title: "nothing is written for this part", Cost: 20})
		r.Lines = r.Lines[:0]
		r.Parts[0].Awarded, r.Parts[0].Reached, r.Parts[1].Awarded, r.Parts[1].Reached = 0, false, 0, false
		r.Total.Awarded = 0
		return r
	}, Options{Reveal: RevealIdea, Marks: true}},
	{"stops-short", "part (b) stops before its answer: what is there still holds", func() *diagnose.Report {
		r := report("holds|a|sinkage = 0.288 m\nholds|a|new draught = 4.788 m\nholds|b|KB = 2.25 m",
			diagnose.Finding{Fault: notReached, Severity: diagnose.Principal, Part: "b", Line: 3, Title: "the part stops before its answer", Idea: "The change of GM is still to come.", Cost: 10})
		r.Parts[1].Reached = false
		return r
	}, Options{Reveal: RevealLine}},
	{"two-on-a-line", "two notes below one line say which words each is about; what is taken back has its word beside it", func() *diagnose.Report {
		text := "KB = 4.788/2 = 2.39 m, BM = 96 x 18^3 / (12 x 7776) = 6.00 m"
		r := report("|b|KB = 2.25 m\nfaulty|b|"+text,
			diagnose.Finding{Fault: "x", Severity: diagnose.Principal, Part: "b", Line: 2, Title: "half the draught", Span: at(text, "4.788/2"), Working: "Take moments.\nKB = 2.35 m"},
			diagnose.Finding{Fault: "y", Severity: diagnose.Principal, Part: "b", Line: 2, Title: "the whole waterplane", Span: at(text, "96 x 18^3")})
		r.Lines[0].Why = "a later line replaces it"
		return r
	}, Options{Reveal: RevealWorking}},
}
