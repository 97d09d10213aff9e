package parse

import "strings"

// The English that joins figures together. No word of any trade is here.

func set(words string) map[string]bool {
	m := map[string]bool{}
	for w := range strings.FieldsSeq(words) {
		m[w] = true
	}
	return m
}

// funcs maps the words for functions to the function.
var funcs = map[string]string{
	"sqrt": "sqrt", "sqr": "sqrt", "root": "sqrt", "sin": "sin", "cos": "cos", "tan": "tan", "tangent": "tan",
	"asin": "asin", "acos": "acos", "atan": "atan", "arcsin": "asin", "arccos": "acos", "arctan": "atan",
	"abs": "abs", "min": "min", "max": "max", "invtan": "atan", "tg": "tan", "arctg": "atan", "arctang": "atan",
}

var inverse = map[string]string{"sin": "asin", "cos": "acos", "tan": "atan", "tg": "atan"}

// signWords are the signs of arithmetic in words, longest first.
var signWords = []struct {
	words []string
	sign  string
}{
	{[]string{"multiplied", "by"}, "*"},
	{[]string{"divided", "by"}, "/"},
	{[]string{"times"}, "*"},
	{[]string{"over"}, "/"},
	{[]string{"plus"}, "+"},
	{[]string{"minus"}, "-"},
	{[]string{"less"}, "-"},
	{[]string{"and", "add"}, "+"},
	{[]string{"added", "to"}, "+"},
}

// linkWords stand for "=" where an expression follows, longest first.
var linkWords = buildLinks(
	"is equal to", "are equal to", "equal to", "equals to", "equals", "equal", "is given by", "given by", "is found to be", "works out at", "works out to be",
	"works out to", "works out as", "work out at", "works out", "comes out at", "comes out to", "comes out as", "comes to", "comes out", "amounts to",
	"which gives us", "which gives", "which equals", "which is", "which makes", "which comes to", "that is", "that gives", "this gives us", "this gives",
	"gives us", "gives me", "gives", "giving us", "giving", "give", "gave", "becomes", "became", "makes", "make", "making", "which leaves", "leaves", "leaving", "leave", "is now", "is then", "is therefore", "is thus", "will be", "would be", "will now be", "must be",
	"to be", "is still", "is also", "is", "are", "was", "were", "being", "ie", "we get", "i get", "get", "we have", "turns out to be", "found to be", "calculated as", "calculated to be", "results in", "is about", "is approximately",
	"is approx", "is roughly", "stays at", "remains at", "remains", "stays",
)

// leftOver end links that name what remains: the result of the working before
// them, and of nothing else.
var leftOver = set("leaves leaving leave")

type link struct {
	words []string
}

func buildLinks(phrases ...string) map[string][]link {
	m := map[string][]link{}
	for _, p := range phrases {
		w := strings.Fields(p)
		m[w[0]] = append(m[w[0]], link{w})
	}
	return m
}

// approxWords mark a figure as rounded or estimated.
var approxWords = set("approx approximately about roughly say around circa c nearly ca")

// joiners open a statement and mean no more than "so".
var joiners = set("so hence thus therefore then and but now also next finally so, consequently accordingly thereby")

// articles are dropped when a run of words is looked up.
var articles = set("the a an our its his her their this that your my")

// breaks are words that no name runs across.
var breaks = set("is are was were equals equal gives giving becomes x and but so hence thus therefore then times plus minus multiplied divided over cubed squared which we where while if with by that")

// holders are words whose "by" is no word of arithmetic: the space taken by a tonne.
var holders = set("taken occupied up filled")

func breaksPhrase(word string) bool {
	if len(word) > 10 {
		return false
	}
	return breaks[lower(word)] || word == "X" || word == "&"
}

// plainEnglish are short words that could be cut into single-letter symbols,
// and never are.
var plainEnglish = set(`a i abt add ah all am an are as at ax bad bag ball be bead bed beg bell belt bid big bit bled blade blah bale bald able
 by dad dead deal dealt debt deed do each ebb eg egg ell end fad fed fell few flag flat for gal gas get glad go had half hall ham has hat
 have he head heal heel held hell help her hid high him his hub hug i'd i'll i'm if ill in is it its label lag lake lamb late law lay lead leak led leg
 less let level lid lie life lift list live load low mad made main make man may me men met mid mm my nb no nor not of off ok on one or our out pay
 per pm put ref sad said saw say see she shell side so sum tab tall tan tell than that the them then they this tie till time to too two up us use via was way we
 web wed well west wet what when will with yes yet you gave dp dps sf dec fig figs sig vale veal vet same base idle idea deck able dale vade blue glue value half heavy delta beta theta alpha beta bulge bible label blade bleed babel valve wide while white whole dwell while`)
