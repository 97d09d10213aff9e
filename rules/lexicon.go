package rules

import (
	"slices"
	"sort"
	"strings"
	"sync"
	"sync/atomic"
)

// Match is one quantity a phrase may name, with how well it fits.
type Match struct {
	Quantity *Quantity
	// Score is 1 for a phrase that is exactly a name or symbol of it, less
	// the more words are left over or missing. Candidates under 0.3 are not returned.
	Score float64
	// State is the state the phrase's words say ("bilged" in "new KB"), "" when none.
	State string
	// spare counts the phrase's words that are no part of the name.
	spare int
}

const (
	leastScore = 0.3 // candidates under it are not returned
	knownScore = 0.7 // a phrase with less names nothing for sure
	maxPhrase  = 12  // words of the longest phrase that is looked at
	longPhrase = 300 // bytes of the longest
	maxCached  = 1 << 14
)

// lexicon is a topic's vocabulary, made ready for matching. It is immutable
// but for its cache, which is safe for concurrent use.
type lexicon struct {
	topic    *Topic
	synonyms phrases[[]string]
	states   phrases[string]
	headings phrases[string]
	ignore   map[string]bool
	prose    map[string]bool
	vocab    map[string]bool  // every word that means something
	byLength map[int][]string // the same, for slips of the keyboard
	exact    map[string][]int // symbol → quantities
	folded   map[string][]int // the same in lower case, for symbols of two letters or more
	names    []name
	number   map[string]int32 // words of names, numbered
	posting  [][]int32        // number of a word → names that hold it
	scratch  sync.Pool        // *[]bool, as long as names: which were looked at
	senses   map[string]*direction
	// the first and the last state, in the order in which quantities have them
	early, late string

	cache   sync.Map // phrase → []Match
	axes    sync.Map // *Axis → the bags of its names
	slipped sync.Map // word → the word it is a slip for, or ""
	cached  atomic.Int64
}

// direction is a direction with the words of each of its senses.
type direction struct {
	*Direction
	phrases func() [][][]string
}

// name is one phrase for a quantity, as a bag of folded words.
type name struct {
	quantity int
	words    []int32 // numbers of its words, sorted
	state    string  // the state that was taken off the words, and that a phrase must say then
}

// phrases finds the longest of several phrases at a place in a list of words.
type phrases[V any] map[string][]phrase[V]

type phrase[V any] struct {
	words []string
	value V
}

func (p phrases[V]) add(words []string, v V) {
	if len(words) == 0 {
		return
	}
	list := append(p[words[0]], phrase[V]{words, v})
	sort.SliceStable(list, func(i, j int) bool { return len(list[i].words) > len(list[j].words) })
	p[words[0]] = list
}

// at returns the longest phrase that stands at the head of words.
func (p phrases[V]) at(words []string) (phrase[V], bool) {
	for _, c := range p[words[0]] {
		if len(c.words) <= len(words) && slices.Equal(c.words, words[:len(c.words)]) {
			return c, true
		}
	}
	return phrase[V]{}, false
}

func newLexicon(t *Topic) *lexicon {
	x := &lexicon{
		topic: t, synonyms: phrases[[]string]{}, states: phrases[string]{}, headings: phrases[string]{},
		ignore: set(t.Words.Ignore), prose: set(t.Words.Prose), vocab: map[string]bool{}, byLength: map[int][]string{},
		exact: map[string][]int{}, folded: map[string][]int{}, number: map[string]int32{}, senses: map[string]*direction{},
	}
	for from, to := range t.Words.Synonyms {
		value := strings.Fields(to)
		for i, w := range value {
			value[i] = singular(w)
		}
		x.synonyms.add(strings.Fields(plainWords(from)), value)
		for _, w := range append(strings.Fields(plainWords(from)), strings.Fields(to)...) {
			x.vocab[w] = true
		}
	}
	for state, list := range t.Words.States {
		for _, p := range list {
			words := strings.Fields(plainWords(p))
			x.states.add(words, state)
			x.headings.add(words, state)
			for _, w := range words {
				x.vocab[w] = true
			}
		}
	}
	for state, list := range t.Words.Headings {
		for _, p := range list {
			x.headings.add(strings.Fields(plainWords(p)), state)
		}
	}
	for _, d := range t.Directions {
		x.senses[d.ID] = &direction{d, sync.OnceValue(func() [][][]string {
			out := make([][][]string, len(d.Senses))
			for i, s := range d.Senses {
				for _, w := range s.Words {
					out[i] = append(out[i], strings.Fields(plainWords(w)))
				}
			}
			return out
		})}
	}
	for i, q := range t.Quantities {
		for _, s := range q.Symbols {
			s = plainSymbol(s)
			x.exact[s] = addOnce(x.exact[s], i)
			if low := strings.ToLower(s); letters(s) > 1 && !x.prose[low] {
				x.folded[low] = addOnce(x.folded[low], i)
			}
		}
		for _, n := range q.Names {
			x.addName(i, n)
		}
		x.addName(i, q.Title)
		if q.State != "" && x.early == "" {
			x.early = q.State
		}
		if q.State != x.early && q.State != "" && x.late == "" {
			x.late = q.State
		}
	}
	x.scratch.New = func() any {
		s := make([]bool, len(x.names))
		return &s
	}
	for w := range x.vocab {
		n := len([]rune(w))
		x.byLength[n] = append(x.byLength[n], w)
	}
	for _, list := range x.byLength {
		sort.Strings(list)
	}
	return x
}

// addName indexes a name as it is; and where it says the state that the
// quantity has, also with those words taken off, as a phrase's are.
func (x *lexicon) addName(q int, text string) {
	words := slices.DeleteFunc(x.fold(strings.Fields(plainWords(text)), false), digits)
	x.index(q, words, "")
	if bare, state := x.split(words, x.states); state != "" && state == x.topic.Quantities[q].State {
		x.index(q, bare, state)
	}
}

func (x *lexicon) index(q int, words []string, state string) {
	if len(words) == 0 {
		return
	}
	n := name{quantity: q, state: state}
	for _, w := range words {
		id, ok := x.number[w]
		if !ok {
			id = int32(len(x.posting))
			x.number[w] = id
			x.vocab[w] = true
			x.posting = append(x.posting, nil)
		}
		n.words = append(n.words, id)
	}
	slices.Sort(n.words)
	for _, i := range x.posting[n.words[0]] {
		if m := x.names[i]; m.quantity == q && (m.state == "" || m.state == state) && slices.Equal(m.words, n.words) {
			return
		}
	}
	x.names = append(x.names, n)
	for i, id := range n.words {
		if i == 0 || n.words[i-1] != id {
			x.posting[id] = append(x.posting[id], int32(len(x.names)-1))
		}
	}
}

func set(words []string) map[string]bool {
	m := make(map[string]bool, len(words))
	for _, w := range words {
		m[w] = true
	}
	return m
}

func addOnce(list []int, i int) []int {
	if slices.Contains(list, i) {
		return list
	}
	return append(list, i)
}

// Known reports whether the whole phrase names at least one quantity, with no
// meaningful word left over. It is what makes a topic a parse.Lexicon.
func (t *Topic) Known(phrase string) bool {
	for _, m := range t.lexicon.match(phrase) {
		if m.Score < knownScore {
			return false
		}
		if m.spare == 0 {
			return true
		}
	}
	return false
}

// Match returns the quantities that the phrase may name, best first; those
// that fit alike stand in the topic's order.
func (t *Topic) Match(phrase string) []Match { return slices.Clone(t.lexicon.match(phrase)) }

// match is Match from the cache. The slice must not be changed.
func (x *lexicon) match(phrase string) []Match {
	if m, ok := x.cache.Load(phrase); ok {
		return m.([]Match)
	}
	m := x.find(phrase)
	if len(phrase) <= 80 && x.cached.Add(1) <= maxCached {
		x.cache.Store(strings.Clone(phrase), m)
	}
	return m
}

// Senses returns the senses of the direction that the words say, in the order
// of the topic; a word that a longer phrase of another sense holds is not
// counted for its own.
func (t *Topic) Senses(dir string, words string) []*Sense {
	d := t.lexicon.senses[dir]
	if d == nil {
		return nil
	}
	said := strings.Fields(plainWords(words))
	phrases := d.phrases()
	var out []*Sense
	for i := 0; i < len(said); {
		var best *Sense
		length := 0
		for k, s := range d.Senses {
			for _, p := range phrases[k] {
				if len(p) > length && len(p) <= len(said)-i && slices.Equal(p, said[i:i+len(p)]) {
					best, length = s, len(p)
				}
			}
		}
		if best == nil {
			i++
			continue
		}
		if !slices.Contains(out, best) {
			out = append(out, best)
		}
		i += length
	}
	slices.SortStableFunc(out, func(a, b *Sense) int { return slices.Index(d.Senses, a) - slices.Index(d.Senses, b) })
	return out
}

// SaysAny reports whether one of the words stands in the phrase: as students
// write it, synonyms folded, or as it is with its case.
func (t *Topic) SaysAny(phrase string, words []string) bool {
	if slices.ContainsFunc(strings.Fields(phrase), func(w string) bool { return slices.Contains(words, w) }) {
		return true
	}
	folded := t.lexicon.fold(t.lexicon.said(phrase), true)
	return slices.ContainsFunc(folded, func(w string) bool { return slices.Contains(words, w) })
}

// StateOf returns the state that the words of a heading say, "" where they say
// none, or more than one.
func (t *Topic) StateOf(words string) string {
	x := t.lexicon
	_, state := x.split(x.fold(x.said(words), true), x.headings)
	if strings.Contains(state, " ") {
		return ""
	}
	return state
}

// Loose reports whether the phrase says only what kind of figure it is.
func (t *Topic) Loose(phrase string) bool {
	words := t.lexicon.said(phrase)
	return len(words) > 0 && !slices.ContainsFunc(words, func(w string) bool {
		return !t.lexicon.ignore[w] && !slices.Contains(t.Words.Loose, w)
	})
}

// FirstState is the state that the topic's quantities name first: how things
// were to begin with. "" where none has a state.
func (t *Topic) FirstState() string { return t.lexicon.early }
