// Command measure draws scripts, marks them and prints how well that went.
//
//	go run ./diagnose/internal/students/measure -n 2000 -seed 7 -worst 10
package main

import (
	"bufio"
	"encoding/json"
	"flag"
	"fmt"
	"os"
	"os/exec"
	"runtime/debug"
	"runtime/pprof"
	"strings"
	"time"

	"batten/diagnose/internal/students"
)

func main() {
	n := flag.Int("n", 2000, "how many scripts")
	seed := flag.Uint64("seed", 1, "seed of the draws")
	worst := flag.Int("worst", 0, "print so many of the scripts that went worst")
	family := flag.String("family", "", "draw questions of one family only: "+strings.Join(students.Families, ", "))
	fault := flag.String("fault", "", "put this fault into every script")
	faults := flag.Int("faults", -1, "how many faults a script: 0, 1 or 2; -1 for any")
	one := flag.Int("one", -1, "draw this script alone and print it")
	show := flag.Int("show", 0, "print the first so many scripts, right or wrong")
	match := flag.String("match", "", "print only scripts of which something wrong is said that holds this text")
	add := flag.Bool("append", false, "add the figures to testdata/history.tsv")
	slowest := flag.Int("slowest", 0, "print so many of the scripts that took longest")
	warm := flag.Bool("warm", false, "take the time of each script when it has been read before, as in the midst of a class: the least of three")
	reports := flag.String("reports", "", "write the answers to this file, a JSON object a line, to be compared with those of another day")
	profile := flag.String("profile", "", "write a profile of the working time to this file")
	flag.Parse()
	o := students.Options{Family: *family, Fault: *fault, Faults: *faults, Warm: *warm}
	if *one >= 0 {
		if r := students.One(*one, *seed, o); r != nil {
			r.Write(os.Stdout)
		}
		return
	}
	if *show > 0 {
		for i := range *show {
			if r := students.One(i, *seed, o); r != nil {
				r.Write(os.Stdout)
			}
		}
		return
	}
	if *profile != "" {
		file, err := os.Create(*profile)
		if err == nil {
			err = pprof.StartCPUProfile(file)
		}
		if err != nil {
			fmt.Fprintln(os.Stderr, err)
			os.Exit(1)
		}
	}
	debug.SetGCPercent(400) // as the command does
	f := students.Measure(*n, *seed, o)
	pprof.StopCPUProfile()
	if *reports != "" {
		if err := writeReports(*reports, f); err != nil {
			fmt.Fprintln(os.Stderr, err)
			os.Exit(1)
		}
	}
	for _, r := range f.Longest(*slowest) {
		fmt.Printf("%s\n", r.Took)
		r.Write(os.Stdout)
	}
	printed := 0
	for _, r := range f.Worst {
		if printed == *worst {
			break
		}
		if *match == "" || strings.Contains(strings.Join(r.Wrongs, "\n"), *match) {
			r.Write(os.Stdout)
			printed++
		}
	}
	f.WriteSummary(os.Stdout)
	if *add {
		if err := appendTo("testdata/history.tsv", f); err != nil {
			fmt.Fprintln(os.Stderr, err)
			os.Exit(1)
		}
	}
}

// writeReports writes what was answered to each script, in the order drawn.
func writeReports(path string, f *students.Figures) error {
	file, err := os.Create(path)
	if err != nil {
		return err
	}
	w := bufio.NewWriter(file)
	enc := json.NewEncoder(w)
	for _, r := range f.Results {
		if err := enc.Encode(r.Report); err != nil {
			file.Close()
			return err
		}
	}
	if err := w.Flush(); err != nil {
		file.Close()
		return err
	}
	return file.Close()
}

const head = "date\tcommit\tseed\tn\tline\tnamed\tnamed_or_tie\tboth\tinnocent\tspared\tread\tplaced\tverdicts\tmarks\tms_each\tms_slowest\n"

// appendTo adds one line of figures to the history.
func appendTo(path string, f *students.Figures) error {
	commit, err := exec.Command("git", "rev-parse", "--short", "HEAD").Output()
	if err != nil {
		return fmt.Errorf("the commit can't be told: %w", err)
	}
	_, missing := os.Stat(path)
	file, err := os.OpenFile(path, os.O_APPEND|os.O_CREATE|os.O_WRONLY, 0o644)
	if err != nil {
		return err
	}
	defer file.Close()
	if missing != nil {
		if _, err := file.WriteString(head); err != nil {
			return err
		}
	}
	a := &f.All
	_, err = fmt.Fprintf(file, "%s\t%s\t%d\t%d", time.Now().UTC().Format("2006-01-02"), strings.TrimSpace(string(commit)), f.Seed, a.Scripts)
	if err != nil {
		return err
	}
	for _, c := range []students.Count{a.Line, a.Named, a.NamedOrTie, a.Both, a.Innocent, a.Spared, a.Read, a.Placed, a.Verdicts, a.Marks} {
		if _, err := fmt.Fprintf(file, "\t%.2f", 100*c.Share()); err != nil {
			return err
		}
	}
	each := float64(f.Marking.Microseconds()) / 1000 / float64(max(1, a.Scripts))
	_, err = fmt.Fprintf(file, "\t%.2f\t%.1f\n", each, float64(f.Slowest.Microseconds())/1000)
	return err
}
