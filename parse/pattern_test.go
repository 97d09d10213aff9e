package parse

import "testing"

// TestPatternsCompile asks every pattern once: one that does not compile would
// be found out by a student.
func TestPatternsCompile(t *testing.T) {
	for _, p := range []pattern{pageMark, freeColon, ownFigure, doubtWords, withdrawWords, aboveWords, allAbove, wrongAtEnd, partOf, marksOnly} {
		p.MatchString("")
	}
}
