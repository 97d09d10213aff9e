package main

import (
	"bufio"
	"errors"
	"fmt"
	"io"
	"os"
	"runtime/debug"
	"strings"

	"github.com/fatih/color"
	"github.com/spf13/cobra"

	"batten/cmd/batten/internal/show"
)

// Exit codes. What they mean for each command is part of the contract.
const (
	exitFaulty = 1 // check: something is faulty; mark: some could not be marked
	exitFailed = 2 // it could not be done
)

// commands lists the commands in the order of the help page. A new one has a
// file of its own and a line here.
var commands = []func(*env) *cobra.Command{
	newCheck,
	newMark,
	newWork,
	newFaults,
	newVary,
	newServe,
}

// env is what a command has to work with.
type env struct {
	in      io.Reader
	out     *bufio.Writer // results
	err     io.Writer     // messages for people
	noColor bool
	colour  bool // whether the terminal shows it
}

// status ends a command with an exit code and nothing more to say.
type status int

func (s status) Error() string { return fmt.Sprintf("exit status %d", int(s)) }

// run does one command line and returns its exit code.
func run(args []string, in io.Reader, out, messages io.Writer) int {
	e := &env{in: in, out: bufio.NewWriter(out), err: messages, colour: !color.NoColor && out == io.Writer(os.Stdout)}
	root := newRoot(e)
	root.SetArgs(args)
	err := root.Execute()
	var s status
	if ferr := e.out.Flush(); ferr != nil && (err == nil || errors.As(err, &s)) {
		err = fmt.Errorf("the result could not be written: %w", ferr)
	}
	switch {
	case err == nil:
		return 0
	case errors.As(err, &s):
		return int(s)
	}
	e.complain(err)
	return exitFailed
}

func newRoot(e *env) *cobra.Command {
	root := &cobra.Command{
		Use:           "batten",
		Short:         "a marker for worked answers in ship stability",
		Long:          about,
		Version:       version(),
		SilenceErrors: true,
		SilenceUsage:  true,
		Args:          cobra.NoArgs,
		RunE:          func(cmd *cobra.Command, _ []string) error { return cmd.Help() },
	}
	root.SetIn(e.in)
	root.SetOut(e.out)
	root.SetErr(e.err)
	root.SetVersionTemplate("batten {{.Version}}\n")
	root.SetUsageTemplate(usage)
	root.SetHelpTemplate(help)
	root.CompletionOptions.HiddenDefaultCmd = true
	cobra.EnableCommandSorting = false // students come first
	root.SetHelpCommand(&cobra.Command{
		Use: "help [COMMAND]", Short: "what a command does, and its flags", Hidden: true,
		RunE: func(cmd *cobra.Command, args []string) error {
			about, rest, err := cmd.Root().Find(args)
			if err != nil || len(rest) > 0 {
				return fmt.Errorf("there is no command %q", strings.Join(args, " "))
			}
			return about.Help()
		},
	})
	root.PersistentFlags().BoolVar(&e.noColor, "no-color", false, "print without colour (so does NO_COLOR)")
	for _, make := range commands {
		root.AddCommand(make(e))
	}
	return root
}

const about = `batten reads a worked answer to a ship-stability question line by line and says
where it first goes wrong, why, and what that costs.`

const help = `{{with or .Long .Short}}{{. | trimTrailingWhitespaces}}

{{end}}{{.UsageString}}`

const usage = `{{if .HasAvailableSubCommands}}{{range .Commands}}{{if .IsAvailableCommand}}  {{.UseLine}}
      {{.Short}}
{{end}}{{end}}
QUESTION is a file, or the id of a question that is built in.
"batten help COMMAND" tells more; "batten --version" says which batten this is.
{{else}}  {{.UseLine}}
{{if .HasExample}}
{{.Example}}
{{end}}{{if .HasAvailableInheritedFlags}}
{{end}}{{.Flags.FlagUsagesWrapped 78 | trimTrailingWhitespaces}}
{{end}}`

// pen is the pen for results.
func (e *env) pen() show.Pen { return show.NewPen(e.colour && !e.noColor) }

// complain prints an error for a person.
func (e *env) complain(err error) {
	for _, line := range strings.Split(err.Error(), "\n") {
		fmt.Fprintln(e.err, "batten:", show.Clean(line))
	}
}

// say prints a message for a person.
func (e *env) say(format string, args ...any) {
	fmt.Fprintln(e.err, "batten:", show.Clean(fmt.Sprintf(format, args...)))
}

// version is that of the module, or of the commit it was built from.
func version() string {
	info, ok := debug.ReadBuildInfo()
	if !ok {
		return "unknown"
	}
	v, dirty := info.Main.Version, ""
	if v != "" && v != "(devel)" {
		return v
	}
	v = "devel"
	for _, s := range info.Settings {
		switch {
		case s.Key == "vcs.revision" && len(s.Value) >= 12:
			v += " " + s.Value[:12]
		case s.Key == "vcs.modified" && s.Value == "true":
			dirty = ", changed since"
		}
	}
	return v + dirty + " (" + info.GoVersion + ")"
}
