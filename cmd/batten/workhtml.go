package main

import (
	"bytes"
	"errors"
	"fmt"
	"os"

	"github.com/spf13/cobra"

	"batten/cmd/batten/internal/inputs"
	"batten/cmd/batten/internal/page"
	"batten/solver"
)

// withHTML gives the work command its --html flag: the same working, written
// to a file as a page that stands alone.
func withHTML(e *env, cmd *cobra.Command) *cobra.Command {
	var file string
	cmd.Flags().StringVar(&file, "html", "", "write the working as a web page to `FILE` (- for standard output)")
	text := cmd.RunE
	cmd.RunE = func(cmd *cobra.Command, args []string) error {
		if !cmd.Flags().Changed("html") || len(args) == 0 {
			return text(cmd, args)
		}
		if file == "" {
			return errors.New("--html wants the name of a file, or - for standard output")
		}
		q, err := inputs.One(args[0])
		if err != nil {
			return err
		}
		m, err := solver.NewModel(q)
		if err != nil {
			return err
		}
		var b bytes.Buffer
		if err := page.Working(&b, m); err != nil {
			return err
		}
		if file == inputs.Stdin {
			_, err := e.out.Write(b.Bytes())
			return err
		}
		if err := os.WriteFile(file, b.Bytes(), 0o644); err != nil {
			return fmt.Errorf("the page could not be written: %w", err)
		}
		e.say("the working is in %s", file)
		return nil
	}
	return cmd
}
