package main

import (
	"fmt"

	"github.com/spf13/cobra"

	"batten/cmd/batten/internal/inputs"
	"batten/cmd/batten/internal/show"
	"batten/diagnose"
	"batten/solver"
)

func newMark(e *env) *cobra.Command {
	var question string
	var asJSON bool
	cmd := &cobra.Command{
		Use:   "mark -q QUESTION [SCRIPT or FOLDER …]",
		Short: "for a marker: the same, with marks; a class in one table",
		Long: `Reads one script and gives its marks by part, with the grade of each fault and
what it costs. Of several scripts, or of folders, it prints a summary.

-q may be a folder of questions: each script then names its own in a first line
such as "Question: hold-above-tank-top". Of a folder of scripts every file is
read but hidden ones and those that end in .yaml.

Ends with 0 where every script was marked, 1 where some could not be, 2 where
nothing could be done.`,
		Example: `  batten mark -q hold-above-tank-top answer.txt
  batten mark -q questions/ class/ --json > marks.jsonl`,
		DisableFlagsInUseLine: true,
		RunE: func(cmd *cobra.Command, args []string) error {
			qs, err := e.questions(question)
			if err != nil {
				return err
			}
			if len(args) == 0 {
				args = []string{inputs.Stdin}
			}
			e.prompt(args[0])
			var p printer = &classPrinter{e: e, class: show.Class{Titles: qs.Title}}
			switch {
			case asJSON:
				p = &linePrinter{e: e}
			case len(args) == 1 && !inputs.IsFolder(args[0]):
				p = &sheetPrinter{e: e}
			}
			return e.markAll(newDesk(qs), args, p)
		},
	}
	questionFlag(cmd, &question, "the question, or a folder of questions")
	cmd.Flags().BoolVar(&asJSON, "json", false, "print one JSON object a script and line")
	return cmd
}

// markAll marks every script; one that can't be marked has its reason shown
// and does not stop the rest.
func (e *env) markAll(d *desk, args []string, p printer) error {
	done, failed := 0, 0
	var broken error // of the output: nothing more can be told
	inputs.Each(args, func(name string, err error) {
		if broken != nil {
			return
		}
		var r *diagnose.Report
		var q *solver.Question
		var warning string
		if err == nil {
			r, q, warning, err = d.mark(name, e.in)
		}
		if warning != "" {
			e.say("%s: %s", calls(name), warning)
		}
		if err != nil {
			failed++
			broken = p.failed(name, err)
			return
		}
		done++
		broken = p.marked(r, q)
	})
	if broken == nil {
		broken = p.end()
	}
	switch {
	case broken != nil:
		return broken
	case done == 0:
		return status(exitFailed)
	case failed > 0:
		return status(exitFaulty)
	}
	return nil
}

// printer shows the readings as they come.
type printer interface {
	marked(*diagnose.Report, *solver.Question) error
	failed(script string, reason error) error
	end() error
}

// sheetPrinter prints one script in full.
type sheetPrinter struct{ e *env }

func (p *sheetPrinter) marked(r *diagnose.Report, q *solver.Question) error {
	o := p.e.options(q, show.RevealWorking)
	o.Marks = true
	return show.Script(p.e.out, r, o)
}

func (p *sheetPrinter) failed(script string, reason error) error {
	return fmt.Errorf("%s: %w", calls(script), reason)
}

func (p *sheetPrinter) end() error { return nil }

// classPrinter prints the summary of several.
type classPrinter struct {
	e     *env
	class show.Class
}

func (p *classPrinter) marked(r *diagnose.Report, _ *solver.Question) error {
	p.class.Add(r)
	return nil
}

func (p *classPrinter) failed(script string, reason error) error {
	p.class.Fail(calls(script), reason.Error())
	return nil
}

func (p *classPrinter) end() error { return p.class.Print(p.e.out, p.e.pen()) }

// linePrinter prints JSON Lines.
type linePrinter struct{ e *env }

func (p *linePrinter) marked(r *diagnose.Report, _ *solver.Question) error {
	return show.JSON(p.e.out, r, "")
}

func (p *linePrinter) failed(script string, reason error) error {
	return show.JSONFailure(p.e.out, script, reason)
}

func (p *linePrinter) end() error { return nil }
