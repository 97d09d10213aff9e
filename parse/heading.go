package parse

import (
	"slices"
	"strings"
	"unicode"
)

// marksOnly is the number of marks that a part carries.
var marksOnly = lazily(`(?i)^[(\[]?\s*\d+\s*(marks?|mks?|pts?|points)\s*[)\]]?$`)

// headingOf decides whether line i, which holds no working, is a heading, and
// gives its words.
func (r *scriptReader) headingOf(i int, m *lineMarks) (string, bool) {
	words := strings.TrimSpace(strings.Trim(strings.TrimSpace(m.rest.text), "*_#=-—:.•~ \t"))
	if words == "" {
		return "", false
	}
	raw := r.raw
	if i := strings.IndexByte(words, '('); i > 0 && words[len(words)-1] == ')' && len(strings.Fields(words[:i])) <= 4 && len(strings.Fields(words[i:])) > 2 {
		// AFTER (her volume stays the same): a remark behind the heading
		words = strings.TrimSpace(words[:i])
		for k := range raw {
			if raw[k].kind == tOpen {
				raw = raw[:k]
				break
			}
		}
	}
	if n := len(strings.Fields(words)); n > 9 || marksOnly.MatchString(words) {
		return "", false
	}
	if doing[lower(strings.Fields(words)[0])] && !m.heading {
		return "", false // "Taking moments about the keel:" tells what is done, not where
	}
	if k, _, ok := strings.Cut(words, ":"); ok && notHeads[lower(strings.TrimSpace(k))] {
		return "", false
	}
	colon := strings.HasSuffix(strings.TrimRight(strings.TrimSpace(m.rest.text), "*_ -—"), ":")
	underlined := i+1 < len(r.texts) && drawn(r.texts[i+1].text) && strings.TrimSpace(r.texts[i+1].text) != ""
	switch {
	case m.heading, colon, underlined, m.part != "", capitals(words):
		return words, true
	}
	return words, headingWords(raw)
}

func capitals(t string) bool {
	upper := 0
	for _, c := range t {
		if unicode.IsLower(c) {
			return false
		}
		if unicode.IsUpper(c) {
			upper++
		}
	}
	return upper > 2
}

// doing are words that open a note of what is done next.
var doing = set("taking using finding calculating to find calculate therefore so hence thus now then assuming applying considering working note we substituting from where")

// notHeads are words with a colon that open a line of particulars.
var notHeads = set("name question date candidate student class page number note notes subject paper sheet centre id nom time")

// verbs are words that make a line a sentence and no heading.
var verbs = set(`is are was were be been being has have had do does did will would can could may might must shall should let find calculate calculated use used using assume assumed
 assuming gives give given get got take taken see note noted means remains remain stays stay changes change'd because since so therefore hence thus i we you it this that these those there please sorry
 not no yes don't can't won't didn't isn't doesn't ignore wrong check checked same here if when which as mark marks sinks rises cancel cancels cancelled`)

// headingWords reports whether a few words read as a heading: short, and with no verb.
func headingWords(ts []token) bool {
	n := 0
	for i := range ts {
		switch ts[i].kind {
		case tWord, tName:
			n++
			for w := range strings.FieldsSeq(ts[i].text) {
				if verbs[lower(w)] {
					return false
				}
			}
		case tStop:
			if i == len(ts)-1 && n > 2 {
				return false
			}
		case tNumber, tComma:
			if len(ts[i].text) > 2 {
				return false
			}
		case tOther:
			if ts[i].text == "?" || ts[i].text == "!" {
				return false
			}
		}
	}
	return n > 0 && n <= 6
}

// inWords reports whether an equation has nothing but words on both sides:
// "volume before = volume after" claims no figure.
func inWords(ts []token) bool {
	words := 0
	for i := range ts {
		switch ts[i].kind {
		case tWord:
			words++
		case tRel, tStop, tSep:
		default:
			return false
		}
	}
	return words >= 4 && ts[len(ts)-1].kind != tRel
}

// inCapitals reports whether a script is typed in capitals.
func inCapitals(texts []plain) bool {
	upper, lower := 0, 0
	for i := range texts {
		for _, c := range texts[i].text {
			switch {
			case unicode.IsUpper(c):
				upper++
			case unicode.IsLower(c) && c != 'x':
				lower++
			}
		}
	}
	return upper > 40 && lower*50 < upper
}

// sentence reports whether raw tokens are prose with figures in it rather than
// working: no relation, and words enough.
func sentence(ts []token) bool {
	words := 0
	for i := range ts {
		switch ts[i].kind {
		case tRel, tArrow:
			return false
		case tWord:
			words++
		}
	}
	return words >= 4
}

// furtherSum is a sum among words.
var furtherSum = lazily(`\d( [a-z]{1,2}\d?)? [*/+-] \d`)

// equates reports whether a sign says that something is so much; a colon may
// as well lead to what it is made of.
func equates(ts []token) bool {
	return slices.ContainsFunc(ts, func(t token) bool { return t.kind == tArrow || t.kind == tRel && t.text != ":" })
}

// signsFigures reports whether a sign of arithmetic stands beside a figure.
func signsFigures(ts []token) bool {
	for i := range ts {
		if ts[i].kind == tOp && (i > 0 && isFigure(ts[i-1].kind) || i+1 < len(ts) && isFigure(ts[i+1].kind)) || ts[i].kind == tBad {
			return true
		}
	}
	return false
}

// ofThat reports whether a line begins with a word for what the line before
// it is about: "whole box: vol = …", and below "its KB = …".
func ofThat(ts []token) bool {
	return len(ts) > 1 && ts[0].kind == tWord && (lower(ts[0].text) == "its" || lower(ts[0].text) == "it's")
}
