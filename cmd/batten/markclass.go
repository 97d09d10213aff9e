package main

import (
	"context"
	"fmt"
	"os"
	"os/signal"
	"path/filepath"
	"syscall"
	"time"

	"github.com/mattn/go-isatty"
	"github.com/schollz/progressbar/v3"

	"batten/cmd/batten/internal/class"
	"batten/cmd/batten/internal/inputs"
	"batten/cmd/batten/internal/report"
	"batten/cmd/batten/internal/show"
	"batten/cmd/batten/internal/whole"
	"batten/solver"
)

// markOptions is what a person asks of mark.
type markOptions struct {
	question, out string
	asJSON, again bool
	reveal        show.Reveal
}

// disk is where results are written; a test may fill it up.
var disk = &whole.Disk{}

// markAll marks every script; one that can't be marked has its reason shown
// and does not stop the rest.
func (e *env) markAll(qs *inputs.Questions, args []string, o *markOptions, p printer) (err error) {
	if err := apart(args, o.out); err != nil {
		return err
	}
	items := class.List(args, o.out, func(s string) { e.say("%s", s) })
	m := &class.Marking{Questions: qs, Stdin: e.in, Again: o.again, NeedJSON: o.asJSON}
	var about *class.Class
	if o.out != "" {
		about = &class.Class{}
		m.Program = version() + " " + class.ProgramSum()
		m.Settings = fmt.Sprint(o.reveal)
		m.Pages = func(key string, r *class.Reading, q *solver.Question) (map[string][]byte, error) {
			return feedback(key, r, q, o.reveal)
		}
		if m.State, err = class.OpenState(o.out, disk); err != nil {
			return err
		}
		defer func() {
			if cerr := m.State.Close(); cerr != nil {
				e.complain(cerr)
				if err == nil {
					err = status(exitFaulty)
				}
			}
		}()
	}

	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	defer stop()
	context.AfterFunc(ctx, stop) // a second Ctrl-C ends at once
	ctx, cancel := context.WithCancel(ctx)
	defer cancel()

	bar := e.bar(len(items), o.asJSON)
	done, failed := 0, 0
	var broken error // of the output: nothing more can be told
	deliver := func(r *class.Result) {
		if bar != nil {
			bar.Add(1)
		}
		for _, s := range r.Row.Say {
			if bar != nil {
				bar.Clear()
			}
			e.say("%s: %s", calls(r.Row.Script), s)
		}
		switch {
		case !r.Row.Marked():
			failed++
		case r.Problem != "":
			done++
			failed++
		default:
			done++
		}
		if broken == nil {
			if broken = p.result(r); broken != nil {
				cancel()
			}
		}
		if about != nil {
			about.Add(r)
		}
	}
	reached := m.Run(ctx, items, deliver)
	if bar != nil {
		bar.Clear()
	}
	if m.Overrun() {
		e.say("too many scripts came to no end: no more were begun")
	}
	if reached < len(items) && broken == nil {
		e.say("stopped: %d of %d scripts were not reached; what is done is kept", len(items)-reached, len(items))
	}
	for _, it := range items[reached:] {
		deliver(class.Stopped(it))
	}
	if about != nil {
		about.Gone, about.Last = m.State.Gone(items), m.State.LastRun()
		if werr := e.sheets(m.State, about); werr != nil {
			e.complain(werr)
			failed++
		} else {
			about.Reported = true
		}
	}
	if broken == nil {
		broken = p.end(about)
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

// apart refuses to write results among the scripts.
func apart(args []string, out string) error {
	if out == "" {
		return nil
	}
	o, err := os.Stat(out)
	if err != nil {
		return nil // it is still to be made
	}
	if !o.IsDir() {
		return fmt.Errorf("--out names a folder; %s is a file", out)
	}
	for _, a := range args {
		if i, err := os.Stat(a); err == nil && os.SameFile(i, o) {
			return fmt.Errorf("--out must be another folder than the scripts': %s", filepath.Join(out, "marked")+" would do")
		}
	}
	return nil
}

// feedback makes the pages of one student.
func feedback(key string, r *class.Reading, q *solver.Question, reveal show.Reveal) (map[string][]byte, error) {
	pages, err := report.Feedback(r, q, reveal)
	files := map[string][]byte{}
	for ending, data := range pages {
		files["feedback/"+key+ending] = data
	}
	return files, err
}

// sheets writes what is about the class as a whole.
func (e *env) sheets(state *class.State, about *class.Class) error {
	files := map[string][]byte{}
	var err error
	now := time.Now()
	if files["class.html"], err = report.Class(about, now); err != nil {
		return err
	}
	if files["marks.csv"], err = report.CSV(about); err != nil {
		return err
	}
	if files["marks.xlsx"], err = report.XLSX(about); err != nil {
		return err
	}
	say, err := state.PutClass(files, now)
	for _, s := range say {
		e.say("%s", s)
	}
	return err
}

// bar is the progress bar, on a terminal alone; else nil.
func (e *env) bar(scripts int, asJSON bool) *progressbar.ProgressBar {
	f, ok := e.err.(*os.File)
	if !ok || !isatty.IsTerminal(f.Fd()) || scripts < 2 {
		return nil
	}
	if asJSON && isatty.IsTerminal(os.Stdout.Fd()) {
		return nil // the lines show how far it is
	}
	return progressbar.NewOptions(scripts,
		progressbar.OptionSetWriter(f),
		progressbar.OptionSetDescription("marking"),
		progressbar.OptionShowCount(),
		progressbar.OptionSetWidth(28),
		progressbar.OptionThrottle(100*time.Millisecond),
		progressbar.OptionClearOnFinish(),
		progressbar.OptionSetTheme(progressbar.Theme{Saucer: "=", SaucerHead: ">", SaucerPadding: " ", BarStart: "[", BarEnd: "]"}),
	)
}
