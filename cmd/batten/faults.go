package main

import (
	"fmt"
	"strings"

	"github.com/spf13/cobra"

	"batten/cmd/batten/internal/inputs"
	"batten/cmd/batten/internal/near"
	"batten/cmd/batten/internal/show"
	"batten/rules"
	"batten/solver"
)

func newFaults(e *env) *cobra.Command {
	return &cobra.Command{
		Use:   "faults [ID]",
		Short: "the faults that can be named; one in full with an example",
		Long: `Lists the faults that can be named, grouped, with what each costs. With an ID it
shows that one in full: what is misunderstood, where it arises, an example.`,
		Example:               "  batten faults half-draught-with-flat",
		DisableFlagsInUseLine: true,
		Args:                  atMost(1, "faults shows one fault at a time"),
		RunE: func(cmd *cobra.Command, args []string) error {
			topics := rules.Builtin()
			if len(args) == 0 {
				return show.Catalogue(e.out, topics, e.pen())
			}
			var ids []string
			for _, t := range topics {
				if f := t.Fault(strings.ToLower(args[0])); f != nil {
					return show.Fault(e.out, t, f, worked(), e.pen())
				}
				for _, f := range append(t.Faults[:len(t.Faults):len(t.Faults)], t.Generic...) {
					ids = append(ids, f.ID)
				}
			}
			msg := fmt.Sprintf("there is no fault %q", args[0])
			if close := near.Words(args[0], ids); len(close) > 0 {
				return fmt.Errorf("%s; nearest: %s", msg, strings.Join(close, ", "))
			}
			return fmt.Errorf("%s; batten faults lists them all", msg)
		},
	}
}

// worked works the built-in questions; their figures make the words of a fault
// concrete.
func worked() []*solver.Model {
	questions, err := inputs.Bank()
	if err != nil {
		return nil
	}
	var models []*solver.Model
	for _, q := range questions {
		if m, err := solver.NewModel(q); err == nil {
			models = append(models, m)
		}
	}
	return models
}
