package main

import (
	"errors"

	"github.com/spf13/cobra"

	"batten/cmd/batten/internal/inputs"
	"batten/cmd/batten/internal/show"
	"batten/solver"
)

func newWork(e *env) *cobra.Command {
	return withPapers(e, withHTML(e, &cobra.Command{
		Use:   "work QUESTION",
		Short: "the answer as a marker wants to see it, with a sketch",
		Long: `Works a question: a sketch, then for each part the formula, the figures, and the
answer with its unit. --tell-apart shows in its place which wrong answer each
fault would give; --sheet and --key print papers for students and marker.`,
		Example: `  batten work hold-above-tank-top
  batten work hold-above-tank-top --tell-apart
  batten work hold-above-tank-top --key --html key.html`,
		DisableFlagsInUseLine: true,
		Args:                  atMost(1, "work takes one question"),
		RunE: func(cmd *cobra.Command, args []string) error {
			if len(args) == 0 {
				return errors.New("which question? Name a file, or the id of a built-in one")
			}
			q, err := inputs.One(args[0])
			if err != nil {
				return err
			}
			m, err := solver.NewModel(q)
			if err != nil {
				return err
			}
			return show.Work(e.out, m, e.pen())
		},
	}))
}
