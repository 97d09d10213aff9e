package parse

import (
	"strings"
)

// labelled is a label taken out of a run of words.
type labelled struct {
	text string
	at   Span
	rest []token // the words that are no part of it
}

// noise are words that say nothing of what is stated, at the edges of a label.
var noise = set(`so hence therefore thus then and now also again finally first firstly next secondly lastly but the a an find finding calculate calculating calculated
 calculation compute determine obtain work out working we i get got have has to for from using by since as because of at is are was be will that this which it its
 let take given ans answer result = : - → ∴ > * • ; , . ie eg ok hence, step since if when in on with giving gives becomes equals about say approx approximately`)

// moves are verbs of change. Behind a name they belong to the words, not to the name.
var moves = set(`falls fell fallen drops dropped decreases decreased reduces reduced increases increased rises rose risen changes changed lowers lowered
 has have had been went goes gone moves moved becoming shrinks shrank grows grew then`)

// joinerAt are words dropped in front even where the lexicon might know them.
var joinerAt = set("so hence therefore thus then and now but ∴ → since because as")

// label takes the label out of the words ts: the whole where the lexicon knows
// it or knows no part of it, else the longest part that it knows.
func (r *lineReader) label(ts []token) labelled {
	words := r.expand(ts)
	// marks and joining words at the edges
	lo, hi := 0, len(words)
	for lo < hi && (joinerAt[lower(words[lo].text)] || words[lo].kind == tArrow || words[lo].kind == tSep || words[lo].kind == tColon || words[lo].kind == tOther || words[lo].kind == tStop) {
		lo++
	}
	for hi > lo && (words[hi-1].kind == tStop || words[hi-1].kind == tColon || words[hi-1].kind == tSep || words[hi-1].kind == tOther) {
		hi--
	}
	all := words
	words = words[lo:hi]
	if len(words) == 0 {
		return labelled{rest: ts}
	}
	if hasFunc(words) {
		return r.labelFrom(all, lo, hi, phraseOf(words))
	}
	if len(words) > 1 && words[0].text == "A" {
		// A draft: a symbol where the lexicon says so
		if text := phraseOf(words); r.knownWhole(words, text) {
			return r.labelFrom(all, lo, hi, text)
		}
	}
	if k := r.behindClause(all, lo, hi); k > 0 {
		lo = k
	}
	plainLo, plainHi := lo, hi
	for plainLo < plainHi && noise[lower(all[plainLo].text)] && !symbolI(all, plainLo, plainHi) && !(all[plainLo].kind == tName && plainHi-plainLo == 1) {
		plainLo++
	}
	for plainHi > plainLo && !r.symbolA(all[plainLo:plainHi]) && (noise[lower(all[plainHi-1].text)] || plainHi-plainLo > 1 && moves[lower(all[plainHi-1].text)]) && !(all[plainHi-1].kind == tName && plainHi-plainLo == 1) {
		plainHi--
	}
	if plainLo == plainHi {
		return labelled{rest: ts}
	}
	for k := plainLo + 1; k < plainHi; k++ {
		// "KB is half the draught": what is stated stands before the verb
		if all[k].kind == tWord && states[lower(all[k].text)] && !relative[lower(all[k-1].text)] && r.anyKnown(all[plainLo:k]) {
			plainHi = k
			break
		}
	}
	if text := phraseOf(all[plainLo:plainHi]); r.knownWhole(all[plainLo:plainHi], text) {
		return r.labelFrom(all, plainLo, plainHi, text)
	}
	if text := phraseOf(withoutArticles(all[plainLo:plainHi])); r.known(text) {
		return r.labelFrom(all, plainLo, plainHi, text)
	}
	if k := plainHi - plainLo; k > 3 && holdsFigure(all[plainLo:plainHi]) || stroked(all[plainLo:plainHi]) {
		return r.labelFrom(all, plainLo, plainHi, phraseOf(all[plainLo:plainHi]))
	}
	if allGeneric(all[plainLo:plainHi]) {
		return labelled{rest: ts}
	}
	if i, j, text := r.knownPart(all[plainLo:plainHi]); j > 0 {
		lo, hi := extend(all, plainLo+i, plainLo+j, plainLo, plainHi)
		if hi-lo > j-i {
			text = phraseOf(all[lo:hi])
		}
		return r.labelFrom(all, lo, hi, text)
	}
	return r.labelFrom(all, plainLo, plainHi, phraseOf(all[plainLo:plainHi]))
}

// symbolA reports whether a name ends in the letter a for a quantity: "lost a".
func (r *lineReader) symbolA(ts []token) bool {
	n := len(ts)
	return n > 1 && ts[n-1].text == "a" && r.knownWhole(ts, phraseOf(ts))
}

// behindClause returns where the name of what is stated begins behind a comma,
// where the words before it are a clause of their own: "About F, I", "The
// volume does not change, V". It returns 0 where they are not.
func (r *lineReader) behindClause(ts []token, lo, hi int) int {
	for k := hi - 1; k > lo; k-- {
		if ts[k].kind != tSep || ts[k].text != "," {
			continue
		}
		from := k + 1
		if from < hi && ts[from].glued {
			return 0 // L,B: a list of symbols
		}
		for from < hi && ts[from].kind == tWord && (joinerAt[lower(ts[from].text)] || noise[lower(ts[from].text)]) {
			from++
		}
		if l := lower(ts[k+1].text); l == "whose" || l == "which" {
			return 0
		}
		if from < hi && concludes[lower(ts[k+1].text)] && r.anyKnown(ts[from:hi]) {
			return from // "The flat is tight, so the intact waterplane is the whole"
		}
		if from == hi || !r.knownWhole(ts[from:hi], phraseOf(ts[from:hi])) {
			return 0
		}
		if leads[lower(ts[lo].text)] {
			return from
		}
		for i := lo; i < k; i++ {
			if ts[i].kind == tWord && verbs[lower(ts[i].text)] {
				return from
			}
		}
		if name := phraseOf(ts[from:hi]); len(name) > 1 && k-lo > 4 && !r.known(phraseOf(withoutArticles(ts[lo:k]))) {
			return from // too many words for a name
		}
		return 0
	}
	return 0
}

// concludes are words that open what is concluded from the clause before them.
var concludes = set("so hence therefore thus")

// relative are words that tie a clause to the name before it: the volume which
// is lost.
var relative = set("which that who")

// leads are words that open a clause before a name.
var leads = set("about from for at in with after before on by taking using since as because if when")

// pronounVerbs stand behind I where it is the student and no symbol.
var pronounVerbs = set("get got have had think thought used use find found took take made make will would am can can't could know did do don't need calculated calculate assumed assume")

// symbolI reports whether the word at k is a capital I that stands for a quantity.
func symbolI(ts []token, k, end int) bool {
	if ts[k].text == "i" && k+1 < end && lower(ts[k+1].text) == "about" {
		return true
	}
	if ts[k].text != "I" || ts[k].kind != tName {
		return false
	}
	return k+1 >= end || !pronounVerbs[lower(ts[k+1].text)]
}

// states are verbs with what is stated before them.
var states = set("is are was were equals becomes")

func (r *lineReader) anyKnown(ts []token) bool {
	_, n, _ := r.knownPart(ts)
	return n > 0
}

// knownWhole reports whether ts is one name: the lexicon knows it, and no verb
// stands in it.
func (r *lineReader) knownWhole(ts []token, text string) bool {
	for i := range ts {
		if len(ts) > 1 && ts[i].kind == tWord && breaksPhrase(ts[i].text) && len(ts[i].text) > 1 {
			return false
		}
	}
	return r.known(text)
}

// holdsFigure reports whether a figure stands among words, as in "space taken
// by 1 tonne of cargo": no part of them names the whole.
func holdsFigure(ts []token) bool {
	for i := range ts {
		if i+1 < len(ts) && ts[i].kind == tNumber {
			return true
		}
	}
	return false
}

// stroked reports whether a stroke joins words into one, as in W/P area.
func stroked(ts []token) bool {
	for i := range ts {
		if ts[i].is(tOp, "/") {
			return true
		}
	}
	return false
}

// allGeneric reports whether words only announce a result: Answer, Final result.
func allGeneric(ts []token) bool {
	for i := range ts {
		if l := lower(ts[i].text); !generic[l] && !noise[l] {
			return false
		}
	}
	return true
}

// hasFunc reports whether a function is among the words: tan list names one thing.
func hasFunc(ts []token) bool {
	for i := range ts {
		if ts[i].kind == tFunc {
			return true
		}
	}
	return false
}

func isMark(t *token) bool {
	switch t.kind {
	case tOpen, tClose, tSep, tColon, tStop, tQuote, tOther, tArrow, tDash, tOp:
		return true
	}
	return false
}

// extend widens the known part i to j of a label over the words beside it that
// say more of the same thing ("solid SF", "length of intact part"), up to the
// first joining word or verb.
func extend(ts []token, i, j, lo, hi int) (int, int) {
	part := func(k int) bool {
		l := lower(ts[k].text)
		if ts[k].kind == tNumber && len(ts[k].text) <= 2 || ts[k].kind == tUnit {
			return true
		}
		return wordy(&ts[k]) && !noise[l] && !moves[l] && !states[l] && !breaks[l] && !chatter[l] && !between[l]
	}
	for i > lo && part(i-1) {
		i--
	}
	for j < hi {
		k := j
		if lower(ts[k].text) == "of" {
			k++
			for k < hi && articles[lower(ts[k].text)] {
				k++
			}
		}
		if k >= hi || !part(k) {
			break
		}
		j = k + 1
	}
	return i, j
}

func (r *lineReader) labelFrom(all []token, i, j int, text string) labelled {
	rest := make([]token, 0, len(all)-(j-i))
	rest = append(rest, all[:i]...)
	rest = append(rest, all[j:]...)
	return labelled{text, spanOf(all[i:j]), rest}
}

// expand gives every word a token of its own: names of several words are cut up.
func (r *lineReader) expand(ts []token) []token {
	many := false
	for i := range ts {
		if ts[i].kind == tName && strings.IndexByte(ts[i].text, ' ') >= 0 {
			many = true
		}
	}
	if !many {
		return ts
	}
	out := make([]token, 0, len(ts)+6)
	for i := range ts {
		t := ts[i]
		if t.kind != tName || strings.IndexByte(t.text, ' ') < 0 {
			out = append(out, t)
			continue
		}
		from := t.from
		for w := range strings.FieldsSeq(t.text) {
			u := t
			u.text, u.from = w, from
			n := int32(len([]rune(w)))
			u.to = min(from+n, t.to)
			from = min(from+n+1, t.to)
			out = append(out, u)
		}
		out[len(out)-1].to = t.to
	}
	return out
}

// phraseOf joins words by single blanks, brackets and marks left out.
func phraseOf(ts []token) string {
	if len(ts) == 1 {
		return ts[0].text
	}
	var b strings.Builder
	hyphen := false
	for i := range ts {
		t := &ts[i]
		switch t.kind {
		case tOpen, tClose, tSep, tColon, tStop, tQuote, tOther, tArrow, tDash:
			continue
		case tOp:
			if t.text == "-" && t.glued && b.Len() > 0 {
				b.WriteByte('-')
				hyphen = true
				continue
			}
			if t.text == "/" && b.Len() > 0 {
				b.WriteByte('/')
				hyphen = true
				continue
			}
		}
		if b.Len() > 0 && !hyphen && t.kind != tPercent && !(t.split && t.glued) {
			b.WriteByte(' ')
		}
		hyphen = false
		if t.raw != "" {
			b.WriteString(t.raw)
			continue
		}
		b.WriteString(t.text)
	}
	return b.String()
}

func withoutArticles(ts []token) []token {
	out := make([]token, 0, len(ts))
	for i := range ts {
		if articles[lower(ts[i].text)] && ts[i].kind == tWord || ts[i].kind == tName && (ts[i].text == "a" || ts[i].text == "the") {
			if !(ts[i].text == "a" && i > 0 && i == len(ts)-1) { // at the end it is a symbol: "lost a"
				continue
			}
		}
		out = append(out, ts[i])
	}
	return out
}

// knownPart finds the longest run of words that the lexicon knows; of several
// as long, the one with most letters, then the first. A lone letter among
// words counts only where nothing better does.
func (r *lineReader) knownPart(ts []token) (from, to int, text string) {
	const most = 16
	if len(ts) > most {
		ts = ts[:most]
	}
	for n := min(maxPhrase, len(ts)); n > 0; n-- {
		best := -1
		for i := 0; i+n <= len(ts); i++ {
			if isMark(&ts[i]) || isMark(&ts[i+n-1]) {
				continue
			}
			p := phraseOf(ts[i : i+n])
			if p == "" || !r.knownWhole(ts[i:i+n], p) || n > 1 && (noise[lower(ts[i].text)] || noise[lower(ts[i+n-1].text)] && !(ts[i+n-1].text == "a" && i+n == len(ts))) {
				continue
			}
			if n == 1 && len(p) == 1 && (p == "a" || p == "A" || p == "I" && !symbolI(ts, i, len(ts))) {
				continue
			}
			if best < 0 || n > 1 && len(p) > len(text) || n == 1 && len(text) == 1 && len(p) > 1 && text != "I" {
				best, text = i, p
			}
		}
		if best >= 0 {
			return best, best + n, text
		}
	}
	return 0, 0, ""
}

// proseOf joins tokens as they were spaced, for the words of a step or line.
func proseOf(ts []token) string {
	if len(ts) == 0 {
		return ""
	}
	var b strings.Builder
	for i := range ts {
		t := &ts[i]
		if b.Len() > 0 && !(t.glued && i > 0 && ts[i-1].line == t.line && (ts[i-1].to == t.from)) && t.kind != tClose {
			b.WriteByte(' ')
		}
		b.WriteString(t.text)
	}
	return b.String()
}
