package main

import (
	"fmt"

	"github.com/spf13/cobra"

	"batten/cmd/batten/internal/class"
	"batten/cmd/batten/internal/inputs"
	"batten/cmd/batten/internal/report"
	"batten/cmd/batten/internal/show"
	"batten/diagnose"
)

func newMark(e *env) *cobra.Command {
	var o markOptions
	var reveal string
	cmd := &cobra.Command{
		Use:   "mark -q QUESTION [SCRIPT or FOLDER …]",
		Short: "for a marker: the same, with marks; a class in one table",
		Long: `Reads one script and gives its marks by part, with the grade of each fault and
what it costs. Of several scripts, or of folders, it prints a table. Plain text
and Word documents (.docx) are read.

-q may be a folder of questions: each script then names its own in a first line
such as "Question: hold-above-tank-top". Of a folder of scripts every file is
read but hidden ones and those that end in .yaml.

A marker's word is final: what NAME.marker.yaml beside a script says, or
marker.yaml for a whole folder, stands over what is found.

With --out it writes a report on the class, mark sheets, and a page of feedback
for each student. Run again, it marks only what changed, and tells what that is;
nothing that a person wrote there is overwritten. Ctrl-C keeps what is done.

Ends with 0 where every script was marked, 1 where some could not be, 2 where
nothing could be done.`,
		Example: `  batten mark -q hold-above-tank-top answer.txt
  batten mark -q hold-above-tank-top class/ --out marked/
  batten mark -q questions/ class/ --json > marks.jsonl`,
		DisableFlagsInUseLine: true,
		RunE: func(cmd *cobra.Command, args []string) error {
			var ok bool
			if o.reveal, ok = reveals[reveal]; !ok {
				return fmt.Errorf("--reveal is line, idea or working, not %q", reveal)
			}
			if o.out == "" && (o.again || cmd.Flags().Changed("reveal")) {
				return fmt.Errorf("--again and --reveal are about what --out FOLDER writes")
			}
			qs, err := e.questions(o.question)
			if err != nil {
				return err
			}
			if len(args) == 0 {
				args = []string{inputs.Stdin}
			}
			e.prompt(args[0])
			var p printer = &classPrinter{e: e, table: show.Class{Titles: qs.Title}}
			switch {
			case o.asJSON:
				p = &linePrinter{e: e}
			case len(args) == 1 && !inputs.IsFolder(args[0]) && o.out == "":
				p = &sheetPrinter{e: e}
			}
			return e.markAll(qs, args, &o, p)
		},
	}
	questionFlag(cmd, &o.question, "the question, or a folder of questions")
	cmd.Flags().BoolVar(&o.asJSON, "json", false, "print one JSON object a script and line")
	cmd.Flags().StringVar(&o.out, "out", "", "write feedback, mark sheets and a report on the class to this folder")
	cmd.Flags().BoolVar(&o.again, "again", false, "with --out: mark unchanged scripts again too")
	cmd.Flags().StringVar(&reveal, "reveal", "idea", "with --out: how much feedback gives away: line, idea or working")
	return cmd
}

// printer shows the results as they come, in order.
type printer interface {
	result(*class.Result) error
	// end is told of the class where there are results on the disk, else nil.
	end(*class.Class) error
}

// sheetPrinter prints one script in full.
type sheetPrinter struct{ e *env }

func (p *sheetPrinter) result(r *class.Result) error {
	if !r.Row.Marked() {
		return fmt.Errorf("%s: %s", calls(r.Row.Script), r.Row.Failed)
	}
	o := p.e.options(r.Question, show.RevealWorking)
	o.Marks = true
	if err := show.Script(p.e.out, r.Reading.Report, o); err != nil {
		return err
	}
	return report.Word(p.e.out, r.Reading.Marker)
}

func (p *sheetPrinter) end(*class.Class) error { return nil }

// classPrinter prints the table of several.
type classPrinter struct {
	e     *env
	table show.Class
}

func (p *classPrinter) result(r *class.Result) error {
	row := r.Row
	if !row.Marked() {
		p.table.Fail(calls(row.Script), row.Failed)
		return nil
	}
	t := show.ClassRow{Script: row.Script, Name: row.Name, Question: row.Question, Total: row.Awarded, Full: row.Full,
		Marker: row.Marker != nil && len(row.Marker.Done) > 0}
	for _, part := range row.Parts {
		t.Parts = append(t.Parts, diagnose.PartMarks{Part: part.Part, Available: part.Available, Awarded: part.Awarded})
	}
	if f := row.First(); f != nil {
		t.Fault, t.Line, t.Grade = f.Fault, f.Line, f.Severity
	}
	p.table.AddRow(t)
	return nil
}

func (p *classPrinter) end(c *class.Class) error {
	if err := p.table.Print(p.e.out, p.e.pen()); err != nil || c == nil {
		return err
	}
	return report.Since(p.e.out, c)
}

// linePrinter prints JSON Lines.
type linePrinter struct{ e *env }

func (p *linePrinter) result(r *class.Result) error {
	switch {
	case !r.Row.Marked():
		return show.JSONFailure(p.e.out, r.Row.Script, fmt.Errorf("%s", r.Row.Failed))
	case r.Reading == nil:
		_, err := p.e.out.Write(r.JSON)
		return err
	}
	line, err := r.Reading.JSON()
	if err == nil {
		_, err = p.e.out.Write(line)
	}
	return err
}

func (p *linePrinter) end(c *class.Class) error {
	if c == nil {
		return nil
	}
	return report.Since(p.e.err, c)
}
