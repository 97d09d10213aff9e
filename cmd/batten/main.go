// Command batten reads a student's worked answer line by line, says where it
// first goes wrong and why, and gives marks.
//
// Each command has a file of its own here; how results are shown, and where
// questions and scripts come from, is in the packages below internal.
package main

import (
	"os"
	"runtime/debug"
)

func main() {
	if os.Getenv("GOGC") == "" {
		// Little lives longer than a script: to collect rarely costs some memory,
		// to collect often a quarter of the time. One script is done before the
		// first collection.
		debug.SetGCPercent(400)
	}
	os.Exit(run(os.Args[1:], os.Stdin, os.Stdout, os.Stderr))
}
