package main

import (
	"errors"
	"fmt"

	"github.com/spf13/cobra"

	"batten/cmd/batten/internal/inputs"
	"batten/cmd/batten/internal/papers"
	"batten/solver"
)

// withPapers gives the work command the papers of a tutor: the table of what
// each fault would give, the students' sheet and the marker's key. Sheet and
// key are Markdown, or a web page where --html names a file.
func withPapers(e *env, cmd *cobra.Command) *cobra.Command {
	var apart, sheet, key bool
	cmd.Flags().BoolVar(&apart, "tell-apart", false, "show the wrong answers that each fault would give")
	cmd.Flags().BoolVar(&sheet, "sheet", false, "print the students' blank answer sheet, in Markdown")
	cmd.Flags().BoolVar(&key, "key", false, "print the full key, in Markdown")
	working := cmd.RunE
	cmd.RunE = func(cmd *cobra.Command, args []string) error {
		asked := 0
		for _, f := range []bool{apart, sheet, key} {
			if f {
				asked++
			}
		}
		switch {
		case asked == 0 || len(args) == 0:
			return working(cmd, args)
		case asked > 1:
			return errors.New("--tell-apart, --sheet and --key are three papers: ask for one at a time")
		}
		q, err := inputs.One(args[0])
		if err != nil {
			return err
		}
		m, err := solver.NewModel(q)
		if err != nil {
			return err
		}
		file, _ := cmd.Flags().GetString("html")
		switch {
		case apart && file != "":
			return errors.New("--tell-apart is for the terminal; --key has the same table as a page")
		case apart:
			return papers.TellApart(e.out, m.Apart())
		case sheet:
			return e.paper(papers.Sheet(q.Title, []*solver.Model{m}), file)
		}
		return e.paper(papers.Key(q.Title+": key", []*solver.Apart{m.Apart()}), file)
	}
	return cmd
}

// paper prints a paper as Markdown, or writes it to a file as a web page.
func (e *env) paper(p *papers.Paper, file string) error {
	switch file {
	case "":
		_, err := e.out.Write(p.Markdown())
		return err
	case inputs.Stdin:
		_, err := e.out.Write(p.HTML())
		return err
	}
	if err := papers.WriteFile(file, p.HTML()); err != nil {
		return fmt.Errorf("the page could not be written: %w", err)
	}
	e.say("the page is in %s", file)
	return nil
}
