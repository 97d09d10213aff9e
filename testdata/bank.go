// Package testdata holds the questions that come with the program. They lie
// here because the tests read them too, and are built in so that the program
// has something to work on wherever it is installed.
package testdata

import "embed"

// Questions holds the built-in questions as questions/ID.yaml.
//
//go:embed questions/*.yaml
var Questions embed.FS
