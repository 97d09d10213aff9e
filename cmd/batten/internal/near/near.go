// Package near finds the names that a person may have meant.
package near

import (
	"cmp"
	"slices"
	"strings"
)

// atMost is how many names are offered.
const atMost = 3

// Words returns the names nearest to what was typed, the nearest first; none
// where nothing is near. Both the letters and the hyphened words count.
func Words(typed string, names []string) []string {
	typed = strings.ToLower(typed)
	type guess struct {
		name string
		far  float64
	}
	var found []guess
	for _, name := range names {
		letters := float64(distance(typed, name)) / float64(max(len(typed), len(name), 1))
		far := min(letters, 1-shared(typed, name)*0.8)
		if strings.HasPrefix(name, typed) && len(typed) >= 3 {
			far = min(far, 0.1)
		}
		if far <= 0.45 {
			found = append(found, guess{name, far})
		}
	}
	slices.SortStableFunc(found, func(a, b guess) int { return cmp.Compare(a.far, b.far) })
	var out []string
	for _, g := range found[:min(atMost, len(found))] {
		out = append(out, g.name)
	}
	return out
}

// shared is the share of the typed words that stand in the name.
func shared(typed, name string) float64 {
	split := func(r rune) bool { return r == '-' || r == ' ' || r == '_' }
	words := strings.FieldsFunc(typed, split)
	in := strings.FieldsFunc(name, split)
	if len(words) == 0 {
		return 0
	}
	n := 0
	for _, w := range words {
		if slices.Contains(in, w) {
			n++
		}
	}
	return float64(n) / float64(max(len(words), 1))
}

// distance counts the letters to change, add, drop or swap with their
// neighbour to make b of a.
func distance(a, b string) int {
	const longest = 80 // nothing longer is near to any name
	if len(a) > longest || len(b) > longest {
		return max(len(a), len(b))
	}
	before := make([]int, len(b)+1)
	last := make([]int, len(b)+1)
	row := make([]int, len(b)+1)
	for j := range last {
		last[j] = j
	}
	for i := 1; i <= len(a); i++ {
		row[0] = i
		for j := 1; j <= len(b); j++ {
			change := 1
			if a[i-1] == b[j-1] {
				change = 0
			}
			row[j] = min(last[j]+1, row[j-1]+1, last[j-1]+change)
			if i > 1 && j > 1 && a[i-1] == b[j-2] && a[i-2] == b[j-1] {
				row[j] = min(row[j], before[j-2]+1)
			}
		}
		before, last, row = last, row, before
	}
	return last[len(b)]
}
