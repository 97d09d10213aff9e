package parse

import (
	"regexp"
	"sync"
)

// pattern is a regular expression that is compiled when it is first asked: a
// script asks few of them, and one script's answer need not wait for all. It is
// safe for concurrent use.
type pattern func() *regexp.Regexp

func lazily(text string) pattern {
	return sync.OnceValue(func() *regexp.Regexp { return regexp.MustCompile(text) })
}

// MatchString reports whether the pattern is found in the text.
func (p pattern) MatchString(t string) bool { return p().MatchString(t) }

// FindStringIndex gives where the pattern is first found, nil where it is not.
func (p pattern) FindStringIndex(t string) []int { return p().FindStringIndex(t) }
