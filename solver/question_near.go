package solver

import (
	"strings"
	"unicode"
)

// quote puts what a user wrote between quotation marks, on one line and short.
func quote(s string) string { return `"` + plain(s) + `"` }

// plain makes what a user wrote fit into one line of a message: control
// and invisible characters become spaces, runs of spaces one, and a long text is cut.
func plain(s string) string {
	s = strings.Join(strings.FieldsFunc(s, func(r rune) bool { return unicode.IsSpace(r) || unicode.In(r, unicode.Cc, unicode.Cf) }), " ")
	const most = 40
	n := 0
	for i := range s {
		if n == most {
			return s[:i] + "…"
		}
		n++
	}
	return s
}

// joined joins a dotted path and one more key.
func joined(path, key string) string {
	if path == "" {
		return plain(key)
	}
	return path + "." + plain(key)
}

// nearest returns which of the known words the text most likely stands for, or
// "" where none is near: one or two slips of the keyboard, a part of the word,
// or one word of several. Words are the same whose synonyms are.
func nearest(text string, known []string, synonyms map[string]string) string {
	same := func(s string) string {
		words := strings.Fields(fold(s))
		for i, w := range words {
			if x, ok := synonyms[w]; ok {
				words[i] = x
			}
		}
		return strings.Join(words, " ")
	}
	t := fold(text)
	if t == "" || len(t) > 60 {
		return ""
	}
	best, bestCost := "", 1<<30
	for _, k := range known {
		f := fold(k)
		if same(t) == same(f) {
			return k
		}
		d := distance(t, f)
		limit := max(1, min(len(t), len(f))/3)
		if d > limit {
			// a beginning or a whole word of a known phrase: "port" for "port side"
			if len(t) >= 3 && (strings.HasPrefix(f, t) || strings.HasPrefix(t, f) && len(f) >= 3 || strings.Contains(" "+f+" ", " "+t+" ")) {
				d = limit
			} else {
				continue
			}
		}
		if d < bestCost {
			best, bestCost = k, d
		}
	}
	return best
}

// fold brings words to one form: lower case, underscores and hyphens as spaces, single spaces.
func fold(s string) string {
	s = strings.ToLower(s)
	s = strings.NewReplacer("_", " ", "-", " ", "\u00a0", " ").Replace(s)
	return strings.Join(strings.Fields(s), " ")
}

// distance is how many letters must be put in, taken out, changed or swapped
// with their neighbour to turn a into b (optimal string alignment).
func distance(a, b string) int {
	x, y := []rune(a), []rune(b)
	prev2 := make([]int, len(y)+1)
	prev := make([]int, len(y)+1)
	row := make([]int, len(y)+1)
	for j := range prev {
		prev[j] = j
	}
	for i := 1; i <= len(x); i++ {
		row[0] = i
		for j := 1; j <= len(y); j++ {
			cost := 1
			if x[i-1] == y[j-1] {
				cost = 0
			}
			row[j] = min(prev[j]+1, row[j-1]+1, prev[j-1]+cost)
			if i > 1 && j > 1 && x[i-1] == y[j-2] && x[i-2] == y[j-1] {
				row[j] = min(row[j], prev2[j-2]+1)
			}
		}
		prev2, prev, row = prev, row, prev2
	}
	return prev[len(y)]
}
