package rules

import (
	"slices"
	"strings"
)

// apart parts words run together: newkb, lostvol, KMnew.
func (x *lexicon) apart(words []string) []string {
	for i := 0; i < len(words); i++ {
		if w := words[i]; len(w) >= 5 && plainASCII(w) && !x.meant(w) {
			if k := x.seam(w); k > 0 {
				words = slices.Insert(words, i+1, w[k:])
				words[i] = w[:k]
				i++
			}
		}
	}
	return words
}

// seam returns where two words, or a word and a symbol, meet in one that is
// neither; 0 where they don't.
func (x *lexicon) seam(w string) int {
	low := strings.ToLower(w)
	word := func(s string) bool { return len(s) >= 3 && (x.vocab[s] || x.synonyms[s] != nil) }
	symbol := func(s string) bool { return letters(s) > 1 && letters(s) <= 4 && x.folded[s] != nil }
	for k := len(low) - 2; k >= 2; k-- {
		if a, b := low[:k], low[k:]; word(a) && (word(b) || symbol(b)) || symbol(a) && word(b) && !x.ignore[b] {
			return k
		}
	}
	return 0
}

// meant reports whether a word is one of the topic's as it stands.
func (x *lexicon) meant(w string) bool {
	low := strings.ToLower(w)
	return x.vocab[low] || x.whole(w, "") || x.synonyms[low] != nil || x.states[low] != nil || x.ignore[low] || x.prose[low]
}
