package rules

import (
	"cmp"
	"slices"
	"sort"
	"strings"
	"unicode"

	"batten/parse"
)

// find works a phrase out: its words are folded, the words that say a state
// taken off, and what is left is held against all symbols and names.
func (x *lexicon) find(text string) []Match {
	if len(text) > longPhrase {
		return nil
	}
	raw := x.tokens(text)
	if len(raw) == 0 || len(raw) > maxPhrase {
		return nil
	}
	best := make([]Match, len(x.topic.Quantities))
	keep := func(q int, m Match) {
		if b := &best[q]; m.Score > b.Score || m.Score == b.Score && m.spare < b.spare {
			m.Quantity = x.topic.Quantities[q]
			best[q] = m
		}
	}
	words := make([]string, len(raw))
	for i, r := range raw {
		words[i] = strings.ToLower(r)
	}
	index := indexOf(raw)
	state := x.read(words, index, 0, keep)
	x.bySymbol(raw, state, keep)
	if spelt, ok := x.letters(raw, words); ok {
		x.read(spelt, index, 1, keep)
	}
	var out []Match
	for _, m := range best {
		if m.Quantity != nil && m.Score >= leastScore {
			out = append(out, m)
		}
	}
	sort.SliceStable(out, func(i, j int) bool { return out[i].Score > out[j].Score })
	return out
}

// read holds the words against the names, with the words that say a state taken
// off and with them in their place, and returns the state.
func (x *lexicon) read(words []string, index string, slips int, keep func(int, Match)) string {
	folded, more := x.foldSlips(words, true)
	slips += more
	bare, state := x.split(folded, x.states)
	if strings.Contains(state, " ") {
		state = "" // both said: it is about the change from one to the other
	}
	x.byName(bare, slips, state, index, keep)
	if len(bare) != len(folded) {
		x.byName(folded, slips, "", index, keep)
	}
	return state
}

// letters puts the words for letters that stand beside other words.
func (x *lexicon) letters(raw, words []string) (out []string, any bool) {
	for i, r := range raw {
		if r == "a" && (i < len(raw)-1 || i == 0 || x.ignore[words[i-1]]) {
			out = append(out, words[i]) // an article, or the mark of a part
			continue
		}
		if w, ok := x.topic.Words.Letters[r]; ok {
			out = append(out, strings.Fields(w)...)
			any = true
			continue
		}
		out = append(out, words[i])
	}
	return out, any && len(raw) > 1
}

// bySymbol matches a phrase that is one symbol, with words beside it that say a
// state or nothing: KB, KB1, new KB, KB of ship.
func (x *lexicon) bySymbol(raw []string, state string, keep func(int, Match)) {
	symbol, split := "", false
	for i, r := range raw {
		low := strings.ToLower(r)
		if x.ignore[low] || x.prose[low] && r != strings.ToUpper(r) || low == "a" && len(raw) > 1 || x.stateWord(raw, i) {
			continue
		}
		if digits(r) && symbol != "" {
			continue
		}
		if symbol != "" && letters(symbol+r) > 5 {
			return
		}
		if symbol != "" {
			split = true
		}
		symbol += r
	}
	if symbol == "" {
		return
	}
	index := indexOf(raw)
	try := func(s, index string, score float64) {
		weight := 1.0
		if x.isProduct(s) {
			weight = 0.65 // LB is length times breadth to most, and lost buoyancy to some
		}
		for _, q := range x.exact[s] {
			keep(q, x.stated(q, state, index, score*weight))
		}
		if letters(s) > 1 {
			for _, q := range x.folded[strings.ToLower(s)] {
				keep(q, x.stated(q, state, index, score*0.96*weight))
			}
		}
	}
	if split { // one symbol written in two: tan θ, I CL
		for _, q := range x.exact[symbol] {
			keep(q, x.stated(q, state, "", 0.95))
		}
		return
	}
	try(symbol, "", 1)
	if base, tail := cutIndex(symbol); tail != "" && base != "" {
		try(base, tail, 1)
	} else if index != "" {
		try(symbol, index, 1)
	}
}

// isProduct reports whether a symbol reads as two symbols of givens side by side.
func (x *lexicon) isProduct(s string) bool {
	if len(s) != 2 {
		return false
	}
	for i := range s {
		if !slices.ContainsFunc(x.exact[s[i:i+1]], func(q int) bool { return x.topic.Quantities[q].Given }) {
			return false
		}
	}
	return true
}

// stateWord reports whether the word at i belongs to a phrase that says a state.
func (x *lexicon) stateWord(raw []string, i int) bool {
	words := make([]string, len(raw))
	for j, r := range raw {
		words[j] = strings.ToLower(r)
	}
	for from := 0; from <= i; from++ {
		if p, ok := x.states.at(words[from:]); ok && from+len(p.words) > i {
			return true
		}
	}
	return false
}

// byName holds a bag of words against every name that shares one with it.
func (x *lexicon) byName(words []string, slips int, state, index string, keep func(int, Match)) {
	if len(words) == 0 {
		return
	}
	bag := make([]int32, 0, maxPhrase)
	spare := 0 // words that stand in no name
	for _, w := range words {
		if digits(w) {
			continue
		}
		if id, ok := x.number[w]; ok {
			bag = append(bag, id)
		} else {
			spare++
		}
	}
	slices.Sort(bag)
	seen := x.scratch.Get().(*[]bool)
	defer x.scratch.Put(seen)
	for _, w := range bag {
		for _, i := range x.posting[w] {
			if (*seen)[i] {
				continue
			}
			(*seen)[i] = true
			n := &x.names[i]
			shared := common(bag, n.words)
			over := len(bag) + spare - shared
			score := float64(shared) / float64(len(n.words)) * float64(shared) / (float64(shared) + 0.7*float64(over))
			if score < leastScore {
				continue
			}
			if n.state != "" && n.state != state {
				score *= 0.6
			}
			for range slips {
				score *= 0.95
			}
			m := x.stated(n.quantity, state, index, score)
			m.spare = over
			keep(n.quantity, m)
		}
	}
	for _, w := range bag {
		for _, i := range x.posting[w] {
			(*seen)[i] = false
		}
	}
}

// stated weighs a score by the state that the phrase says against the
// quantity's own. A bare 0, 1, 2 or a dash behind a symbol is only a hint:
// some number the states 0 and 1, others 1 and 2.
func (x *lexicon) stated(q int, state, index string, score float64) Match {
	own := x.topic.Quantities[q].State
	first, last := x.early, x.late
	switch {
	case state != "" && own == "":
		score *= 0.93
	case state != "" && own != state:
		score *= 0.4
	case state == "" && own != "":
		score *= 0.99
	}
	if index != "" && state == "" {
		switch {
		case own == "":
			score *= 0.97
		case index == "0" && own == last, (index == "2" || index == "'") && own == first:
			score *= 0.85
		case index == "1" && own == first:
			score *= 0.98
		case len(index) > 1 || index > "2" && index != "'":
			score *= 0.8
		}
	}
	return Match{Score: score, State: state}
}

// common counts the words that two sorted bags share.
func common[T cmp.Ordered](a, b []T) int {
	n, i, j := 0, 0, 0
	for i < len(a) && j < len(b) {
		switch {
		case a[i] == b[j]:
			n++
			i++
			j++
		case a[i] < b[j]:
			i++
		default:
			j++
		}
	}
	return n
}

// slip finds the word of the vocabulary that a longer word is one stroke of
// the keyboard from, or "".
func (x *lexicon) slip(w string) string {
	n := len([]rune(w))
	if n < 5 || x.prose[w] || x.ignore[w] {
		return ""
	}
	if v, ok := x.slipped.Load(w); ok {
		return v.(string)
	}
	found := x.nearest(w, n)
	if x.cached.Add(1) <= maxCached {
		x.slipped.Store(strings.Clone(w), found)
	}
	return found
}

func (x *lexicon) nearest(w string, n int) string {
	for _, k := range []int{n, n - 1, n + 1} {
		if k < 5 {
			continue
		}
		for _, v := range x.byLength[k] {
			if distance(w, v, 2) < 2 {
				return strings.Join(x.fold([]string{v}, false), " ")
			}
		}
	}
	return ""
}

// fold applies the synonyms and drops what carries nothing. Words keep their order.
func (x *lexicon) fold(words []string, mend bool) []string {
	out, _ := x.foldSlips(words, mend)
	return out
}

// foldSlips is fold that also mends slips of the keyboard and counts them.
func (x *lexicon) foldSlips(words []string, mend bool) (out []string, slips int) {
	out = make([]string, 0, len(words))
	var mended []string // the words with their slips mended
	for i := 0; i < len(words); {
		if s, ok := x.states.at(words[i:]); ok && len(s.words) > 1 {
			out = append(out, s.words...)
			i += len(s.words)
			continue
		}
		if p, ok := x.synonyms.at(words[i:]); ok {
			out = append(out, p.value...)
			i += len(p.words)
			continue
		}
		w := words[i]
		i++
		if x.ignore[w] || w == "a" && len(words) > 1 {
			continue
		}
		if base, tail := cutIndex(w); tail != "" && base != "" && !digits(w) {
			w = base
			if p, ok := x.synonyms.at([]string{w}); ok {
				out = append(out, p.value...)
				continue
			}
		}
		one := singular(w)
		if one != w {
			if p, ok := x.synonyms.at([]string{one}); ok {
				out = append(out, p.value...)
				continue
			}
			w = one
		}
		if mend && !x.vocab[w] {
			if s := x.slip(w); s != "" {
				slips++
				w = s
				if mended == nil {
					mended = slices.Clone(words)
				}
				mended[i-1] = s
			}
		}
		out = append(out, strings.Fields(w)...)
	}
	if mended != nil && len(words) > 1 {
		return x.fold(mended, false), slips // a phrase with the word in it may be read as one
	}
	return out, slips
}

// split takes the phrases that say a state off the words and returns the state:
// "" for none, several joined by blanks.
func (x *lexicon) split(words []string, states phrases[string]) (rest []string, state string) {
	var said []string
	for i := 0; i < len(words); {
		if p, ok := states.at(words[i:]); ok {
			if !slices.Contains(said, p.value) {
				said = append(said, p.value)
			}
			i += len(p.words)
			continue
		}
		rest = append(rest, words[i])
		i++
	}
	return rest, strings.Join(said, " ")
}

// singular takes the s of a plural off.
func singular(w string) string {
	if len(w) > 4 && strings.HasSuffix(w, "s") && !strings.HasSuffix(w, "ss") && !strings.HasSuffix(w, "us") && !strings.HasSuffix(w, "is") {
		return w[:len(w)-1]
	}
	return w
}

// cutIndex parts a symbol from the digits or dashes behind it: KB1, d2, KB'.
func cutIndex(s string) (base, tail string) {
	i := len(s)
	for i > 0 && (s[i-1] >= '0' && s[i-1] <= '9' || s[i-1] == '\'') {
		i--
	}
	return s[:i], s[i:]
}

// indexOf is the index that a phrase carries: digits or a dash behind a symbol,
// or a number alone behind the words.
func indexOf(raw []string) string {
	for i := len(raw) - 1; i >= 0; i-- {
		if digits(raw[i]) {
			if i > 0 {
				return raw[i]
			}
			continue
		}
		if _, tail := cutIndex(raw[i]); tail != "" {
			return tail
		}
	}
	return ""
}

func digits(s string) bool {
	for i := 0; i < len(s); i++ {
		if s[i] < '0' || s[i] > '9' {
			return false
		}
	}
	return s != ""
}

func letters(s string) int {
	n := 0
	for _, r := range s {
		if unicode.IsLetter(r) {
			n++
		}
	}
	return n
}

// plainRunes are the letters and marks that word processors put for plain ones.
var plainRunes = strings.NewReplacer(
	"₀", "0", "₁", "1", "₂", "2", "₃", "3", "₄", "4", "₅", "5", "₆", "6", "₇", "7", "₈", "8", "₉", "9",
	"’", "'", "‘", "'", "′", "'", "´", "'", "`", "'", "″", "''", "“", " ", "”", " ", "\"", " ",
	"µ", "μ", "∆", "Δ", "Ω", "Ω", "ϑ", "θ", "ϕ", "φ", "\u0304", "", "\u00a0", " ", "\u2009", " ", "–", "-", "—", "-", "−", "-",
	"ᵢ", "i", "ₗ", "l", "ₜ", "t", "ₐ", "a", "_", "",
)

// tokens cuts a phrase into words and symbols, case kept. Units in brackets
// are dropped, other brackets only open and close.
func tokens(text string) []string {
	if plainASCII(text) {
		return strings.Fields(text)
	}
	text = plainRunes.Replace(text)
	text = dropUnits(text)
	var out []string
	for _, w := range strings.FieldsFunc(text, func(r rune) bool {
		return unicode.IsSpace(r) || strings.ContainsRune("()[]{},;:=|?!*•", r)
	}) {
		w = strings.Trim(w, ".-")
		if w == "" || w == "'" {
			continue
		}
		if strings.Contains(w, ".") {
			w = strings.ReplaceAll(w, ".", "") // T.P.C.
		}
		out = append(out, changes(w)...)
	}
	return out
}

// tokens is tokens for what a student wrote: a name as programmers write them
// (lost_volume, draught.fwd) is parted into its words, unless it is a symbol
// of the topic as it stands (t_f, I_L, K.B.).
func (x *lexicon) tokens(text string) []string {
	return x.apart(x.joined(text))
}

// joined is tokens for what has bars and points in its words.
func (x *lexicon) joined(text string) []string {
	if !strings.ContainsAny(text, "_.") {
		return tokens(text)
	}
	fields := strings.Fields(text)
	for i, f := range fields {
		parts := strings.FieldsFunc(f, func(r rune) bool { return r == '_' || r == '.' })
		if len(parts) < 2 {
			continue
		}
		if !strings.Contains(f, "_") && !slices.ContainsFunc(parts, func(p string) bool { return letters(p) > 1 }) {
			continue // T.P.C.
		}
		if j := tokens(f); len(j) == 1 && x.whole(j[0], parts[len(parts)-1]) {
			continue
		}
		fields[i] = strings.Join(parts, " ")
	}
	return tokens(strings.Join(fields, " "))
}

// whole reports whether a token is a symbol or a word of the topic, an index
// behind it apart. A symbol in another case counts only where its last part
// is no word of its own: I_wp is no IWP.
func (x *lexicon) whole(s, last string) bool {
	base, _ := cutIndex(s)
	if x.exact[s] != nil || x.exact[base] != nil {
		return true
	}
	if letters(last) > 1 && x.vocab[strings.ToLower(last)] {
		return false
	}
	low := strings.ToLower(base)
	return x.vocab[strings.ToLower(s)] || letters(base) > 1 && (x.folded[low] != nil || x.vocab[low])
}

// said is plainWords for what a student wrote.
func (x *lexicon) said(text string) []string {
	words := x.tokens(text)
	for i, w := range words {
		words[i] = strings.ToLower(w)
	}
	return words
}

// plainASCII reports whether a text is letters, digits and blanks alone.
func plainASCII(s string) bool {
	for i := 0; i < len(s); i++ {
		if c := s[i] | 0x20; (c < 'a' || c > 'z') && s[i] != ' ' && (s[i] < '0' || s[i] > '9') {
			return false
		}
	}
	return true
}

// changes parts the sign of a change from its symbol: ΔGM is the change of GM.
// A one-letter symbol keeps its sign (Δd).
func changes(w string) []string {
	for _, sign := range []string{"Δ", "δ"} {
		if rest, ok := strings.CutPrefix(w, sign); ok && letters(rest) > 1 {
			return []string{"change", rest}
		}
	}
	if strings.Contains(w, "-") {
		return strings.FieldsFunc(w, func(r rune) bool { return r == '-' })
	}
	return []string{w}
}

// dropUnits takes brackets that hold a unit out of a phrase: KB (m).
func dropUnits(text string) string {
	for from := 0; ; {
		i := strings.IndexAny(text[from:], "([")
		if i < 0 {
			return text
		}
		i += from
		j := strings.IndexAny(text[i:], ")]")
		if j < 0 {
			return text
		}
		if j > 40 {
			from = i + 1
			continue
		}
		if _, ok := parse.LookupUnit(text[i+1 : i+j]); ok {
			text = text[:i] + " " + text[i+j+1:]
			from = i
			continue
		}
		from = i + 1
	}
}

// plainWords writes a phrase of the data or of a student as lower-case words
// with single blanks.
func plainWords(text string) string { return strings.ToLower(strings.Join(tokens(text), " ")) }

// plainSymbol writes a symbol of the data as a student's is read.
func plainSymbol(text string) string {
	return strings.Join(strings.Fields(strings.ReplaceAll(plainRunes.Replace(text), ".", "")), "")
}

// distance counts the strokes between two words: a letter more, less or other,
// or two neighbours changed round. From limit on it returns limit.
func distance(a, b string, limit int) int {
	s, t := []rune(a), []rune(b)
	if d := len(s) - len(t); d >= limit || -d >= limit {
		return limit
	}
	before, last, row := make([]int, len(t)+1), make([]int, len(t)+1), make([]int, len(t)+1)
	for j := range last {
		last[j] = j
	}
	for i := 1; i <= len(s); i++ {
		row[0] = i
		least := i
		for j := 1; j <= len(t); j++ {
			cost := 1
			if s[i-1] == t[j-1] {
				cost = 0
			}
			row[j] = min(last[j]+1, row[j-1]+1, last[j-1]+cost)
			if i > 1 && j > 1 && s[i-1] == t[j-2] && s[i-2] == t[j-1] {
				row[j] = min(row[j], before[j-2]+1)
			}
			least = min(least, row[j])
		}
		if least >= limit {
			return limit
		}
		before, last, row = last, row, before
	}
	return min(last[len(t)], limit)
}
