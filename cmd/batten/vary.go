package main

import (
	"errors"
	"fmt"
	"math/rand/v2"
	"os"
	"regexp"
	"strings"

	"github.com/spf13/cobra"

	"batten/cmd/batten/internal/inputs"
	"batten/cmd/batten/internal/papers"
	"batten/rules"
	"batten/solver"
)

// mostVariants bounds one run: a year's classes, and a few seconds of work.
const mostVariants = 500

const aboutVary = `Draws fresh figures for a question and writes into the folder: each variant as a
question file with its reference answers, one sheet for the students and one key
for the marker, both as Markdown and as a web page to print.

The figures are sound by the topic's rules, and chosen so that the faults that
classes make most give answers of their own. The same seed gives the same
variants. --keep holds the figures of a key; --allow waives a rule:
%s
Ends with 0 where all was written, 2 where nothing was.`

func newVary(e *env) *cobra.Command {
	o := solver.VaryOptions{}
	var folder string
	var overwrite bool
	cmd := &cobra.Command{
		Use:   "vary QUESTION --out FOLDER",
		Short: "fresh figures for a question: variants, a sheet and a key",
		Example: `  batten vary hold-above-tank-top --count 30 --seed 7 --out paper/
  batten mark -q paper/ class/`,
		DisableFlagsInUseLine: true,
		Args:                  atMost(1, "vary takes one question"),
		RunE: func(cmd *cobra.Command, args []string) error {
			switch {
			case len(args) == 0:
				return errors.New("which question? Name a file, or the id of a built-in one")
			case folder == "":
				return errors.New("where to? Say --out FOLDER")
			case o.Count < 1 || o.Count > mostVariants:
				return fmt.Errorf("--count is a number from 1 to %d", mostVariants)
			}
			if !cmd.Flags().Changed("seed") {
				o.Seed = uint64(rand.IntN(100000))
			}
			return e.vary(args[0], o, folder, overwrite)
		},
	}
	help := cmd.HelpFunc()
	cmd.SetHelpFunc(func(cmd *cobra.Command, args []string) {
		cmd.Long = fmt.Sprintf(aboutVary, ruleList()) // only now: the rules have to be read for it
		help(cmd, args)
	})
	cmd.Flags().IntVar(&o.Count, "count", 1, "how many `VARIANTS`")
	cmd.Flags().Uint64Var(&o.Seed, "seed", 0, "a `NUMBER` that the figures are drawn from; one is picked where none is given")
	cmd.Flags().StringVar(&folder, "out", "", "the `FOLDER` to write into")
	cmd.Flags().StringSliceVar(&o.Keep, "keep", nil, "a `KEY` whose figure stays, such as vessel.length")
	cmd.Flags().StringSliceVar(&o.Allow, "allow", nil, "a `RULE` that is waived")
	cmd.Flags().BoolVar(&overwrite, "overwrite", false, "replace files of the same names; variants of an earlier run are named and stay")
	return cmd
}

// ruleList names the rules that can be waived, in lines of the help page.
func ruleList() string {
	var out, line string
	seen := map[string]bool{}
	for _, t := range rules.Builtin() {
		for _, n := range solver.RuleNames(t) {
			if seen[n] {
				continue
			}
			seen[n] = true
			if len(line)+len(n) > 74 {
				out, line = out+"  "+line+"\n", ""
			}
			line += n + " "
		}
	}
	return strings.ReplaceAll(out+"  "+line+"\n", " \n", "\n")
}

// vary draws the variants of a question and writes them with their papers.
func (e *env) vary(question string, o solver.VaryOptions, folder string, overwrite bool) error {
	q, err := inputs.One(question)
	if err != nil {
		return err
	}
	variants, err := solver.Vary(q, o)
	if err != nil {
		return err
	}
	var files []papers.File
	var models []*solver.Model
	var tables []*solver.Apart
	for _, v := range variants {
		files = append(files, papers.File{Name: v.Question.ID + ".yaml", Data: v.File})
		models, tables = append(models, v.Model), append(tables, v.Apart)
	}
	sheet, key := papers.Sheet(q.Title, models), papers.Key(q.Title+": key", tables)
	files = append(files,
		papers.File{Name: "sheet.md", Data: sheet.Markdown()}, papers.File{Name: "sheet.html", Data: sheet.HTML()},
		papers.File{Name: "key.md", Data: key.Markdown()}, papers.File{Name: "key.html", Data: key.HTML()})
	if err := papers.WriteSet(folder, files, overwrite); err != nil {
		return err
	}
	for _, v := range variants {
		fmt.Fprintln(e.out, v.Question.ID)
	}
	e.say("%s in %s, with sheet and key; seed %d draws them again", count(len(variants), "variant"), folder, o.Seed)
	if old := earlier(folder, q.ID, variants); len(old) > 0 {
		e.say("%s of an earlier run still in %s, on neither sheet nor key: %s. Take away what is not wanted, or mark -q %s reads it too",
			count(len(old), "variant"), folder, span(old), folder)
	}
	return nil
}

// earlier names the variants of a question in a folder that are none of these.
// They are told and left: nothing says that they were not given out.
func earlier(folder, id string, these []*solver.Variant) []string {
	now := map[string]bool{}
	for _, v := range these {
		now[v.Question.ID] = true
	}
	variant := regexp.MustCompile("^" + regexp.QuoteMeta(id) + `-[0-9]+-[0-9]{2,}$`)
	files, err := os.ReadDir(folder)
	if err != nil {
		return nil
	}
	var out []string
	for _, f := range files {
		if name, ok := strings.CutSuffix(f.Name(), ".yaml"); ok && !now[name] && variant.MatchString(name) {
			out = append(out, name)
		}
	}
	return out
}

// span names the first and the last of a long list.
func span(names []string) string {
	if len(names) > 3 {
		return names[0] + " to " + names[len(names)-1]
	}
	return strings.Join(names, ", ")
}

func count(n int, what string) string {
	if n == 1 {
		return "1 " + what
	}
	return fmt.Sprintf("%d %ss", n, what)
}
