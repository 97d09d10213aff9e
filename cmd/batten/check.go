package main

import (
	"errors"
	"fmt"
	"io"
	"os"

	"github.com/mattn/go-isatty"
	"github.com/spf13/cobra"

	"batten/cmd/batten/internal/inputs"
	"batten/cmd/batten/internal/show"
	"batten/diagnose"
	"batten/solver"
)

var reveals = map[string]show.Reveal{
	"line":    show.RevealLine,
	"idea":    show.RevealIdea,
	"working": show.RevealWorking,
}

func newCheck(e *env) *cobra.Command {
	var question, reveal string
	var asJSON bool
	cmd := &cobra.Command{
		Use:   "check -q QUESTION [SCRIPT]",
		Short: "for a student: what holds, and where to look again",
		Long: `Reads one worked answer, from a file or pasted in, and says of each line whether
it holds. Below the first line that does not, it says what was misunderstood.

Ends with 0 where the working holds, 1 where something in it is faulty, 2 where
it could not be read.`,
		Example: `  batten check -q hold-above-tank-top answer.txt
  batten check -q hold-above-tank-top --reveal line < answer.txt`,
		DisableFlagsInUseLine: true,
		Args:                  atMost(1, "check reads one script; batten mark reads several"),
		RunE: func(cmd *cobra.Command, args []string) error {
			much, ok := reveals[reveal]
			if !ok {
				return fmt.Errorf("--reveal is line, idea or working, not %q", reveal)
			}
			r, q, err := e.read(question, script(args))
			if err != nil {
				return err
			}
			if asJSON {
				if cmd.Flags().Changed("reveal") {
					show.Withhold(r, much)
				}
				err = show.JSON(e.out, r, "  ")
			} else {
				err = show.Script(e.out, r, e.options(q, much))
			}
			if err == nil && r.FirstFault != nil {
				err = status(exitFaulty)
			}
			return err
		},
	}
	questionFlag(cmd, &question, "the question: a file, or the id of a built-in one")
	cmd.Flags().StringVar(&reveal, "reveal", "idea", "how much to give away: line, idea or working")
	cmd.Flags().BoolVar(&asJSON, "json", false, "print the whole reading as JSON")
	return cmd
}

// read reads one script against its question.
func (e *env) read(question, name string) (*diagnose.Report, *solver.Question, error) {
	qs, err := e.questions(question)
	if err != nil {
		return nil, nil, err
	}
	e.prompt(name)
	r, q, warning, err := newDesk(qs).mark(name, e.in)
	if err != nil {
		return nil, nil, fmt.Errorf("%s: %w", calls(name), err)
	}
	if warning != "" {
		e.say("%s: %s", calls(name), warning)
	}
	return r, q, nil
}

// questions opens what -q stands for, and tells of what it leaves out.
func (e *env) questions(typed string) (*inputs.Questions, error) {
	if typed == "" {
		return nil, errors.New("which question? Say -q FILE, or -q with the id of a built-in one")
	}
	qs, err := inputs.Open(typed)
	if err == nil && qs.Refused != nil {
		e.complain(qs.Refused)
	}
	return qs, err
}

// prompt tells someone at a keyboard what is waited for.
func (e *env) prompt(name string) {
	if f, ok := e.in.(*os.File); ok && name == inputs.Stdin && isatty.IsTerminal(f.Fd()) {
		fmt.Fprintln(e.err, "Paste the working, then end it with Ctrl-D on a line of its own.")
	}
}

// script is the script that the arguments name.
func script(args []string) string {
	if len(args) == 0 {
		return inputs.Stdin
	}
	return args[0]
}

// calls is what a message calls a script.
func calls(name string) string {
	if name == inputs.Stdin {
		return "standard input"
	}
	return name
}

// desk marks scripts. A marker is made once for each question, when the first
// script asks for it.
type desk struct {
	questions *inputs.Questions
	markers   map[*solver.Question]*diagnose.Marker
}

func newDesk(qs *inputs.Questions) *desk {
	return &desk{qs, map[*solver.Question]*diagnose.Marker{}}
}

// mark reads one script against its question. warning is for a person.
func (d *desk) mark(name string, in io.Reader) (r *diagnose.Report, q *solver.Question, warning string, err error) {
	data, err := inputs.Read(name, in)
	if err != nil {
		return nil, nil, "", err
	}
	q, warning, err = d.questions.For(inputs.Header(data))
	if err != nil {
		return nil, nil, "", err
	}
	m := d.markers[q]
	if m == nil {
		if m, err = diagnose.New(q); err != nil {
			return nil, nil, "", err
		}
		d.markers[q] = m
	}
	r, err = m.Mark(name, data)
	return r, q, warning, err
}

// options says how a script of the question is shown.
func (e *env) options(q *solver.Question, much show.Reveal) show.Options {
	return show.Options{
		Pen: e.pen(), Title: q.Title, Reveal: much,
		FaultTitle: func(id string) string {
			if f := q.Topic.Fault(id); f != nil {
				return f.Title
			}
			return ""
		},
		QuantityTitle: func(id string) string {
			if q := q.Topic.Quantity(id); q != nil {
				return q.Title
			}
			return ""
		},
	}
}

func questionFlag(cmd *cobra.Command, to *string, usage string) {
	cmd.Flags().StringVarP(to, "question", "q", "", usage)
}

// atMost refuses more arguments than n, with the reason.
func atMost(n int, why string) cobra.PositionalArgs {
	return func(cmd *cobra.Command, args []string) error {
		if len(args) > n {
			return errors.New(why)
		}
		return nil
	}
}
