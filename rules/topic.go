// Package rules holds the topics as data: quantities, conditions, ways of
// deriving them, faults, bounds and the words for feedback, in YAML files
// written in the notation that students write, and the loader that checks them.
//
// No type here knows a ship. A new topic is a new YAML file.
package rules

import "batten/parse"

// Place is where a piece of data stands, for messages: file, line and column from 1.
type Place struct {
	File         string
	Line, Column int
}

// Topic is one family of questions: what is given, what follows from it and
// how, and how it goes wrong.
type Topic struct {
	ID      string
	Title   string
	Caution string // one line that goes with everything a user sees

	Keys       []*Key
	Conditions []*Condition
	Quantities []*Quantity
	Checks     []*Check
	Finds      []*Find
	Faults     []*Fault // the topic's own
	Generic    []*Fault // those that can arise on any quantity, from generic.yaml; same for all topics
	SameIdea   [][]string
	Bounds     []*Bound
	Directions []*Direction
	Tables     []*Table
	Words      Words
	Marking    Marking
	Sketches   []*Sketch
	Legend     map[string]string // what the styles of the sketches stand for
	Statement  []*Sentence       // the question in words
	Setting    *Setting          // nil where the topic says nothing of setting questions

	// filled by the loader
	quantity map[string]*Quantity
	fault    map[string]*Fault
	lexicon  *lexicon
}

// Key is one key of a question file, by its dotted path ("vessel.length").
type Key struct {
	Path     string
	Quantity string // the quantity whose figure it carries, "" for a key of words only
	Optional bool
	// OneOf names a set of keys (or groups of keys sharing a prefix) of which exactly one must stand.
	OneOf   string
	Options []*Option // words that may stand in place of a figure, or before it
	Flags   []string  // flags it sets by standing in the question at all ("kg_given")
	Title   string    // what to call it in a message
	At      Place
}

// Option is a word that a key accepts.
type Option struct {
	Word  string
	Flags []string // flags it sets
	// Value is a formula for the key's quantity (salt: 1.025; full: breadth), nil when none.
	Value parse.Expr
	// Figure names the quantity whose figure follows the word ("above 1.5 m"), "" when none follows.
	Figure string
	At     Place
}

// Condition is a named condition over flags, other conditions and figures.
// It is evaluated lazily on the chain: it may name derived quantities.
type Condition struct {
	ID    string
	When  parse.Cond
	Title string
	At    Place
}

// Quantity is something a question gives or a step states.
type Quantity struct {
	ID        string
	Title     string   // what a person calls it: "volume of lost buoyancy"
	Symbol    string   // how the reference working writes it: "v"
	Unit      string   // canonical unit of its figure, as parse.LookupUnit knows it; "" for a pure ratio
	Also      []string // other units students state it in (cm for m, % for a ratio)
	Places    int      // decimal places the trade gives it
	Given     bool     // its figure comes from a key
	Signed    bool     // may rightly be negative
	State     string   // which of Words.States it belongs to, "" when to none
	Names     []string // phrases students use, any order of words, synonyms folded
	Symbols   []string // symbols students use, case kept
	NotSaid   []*NotSaid
	Ways      []*Way
	When      parse.Cond // nil: always; else the quantity exists only in such questions
	Direction string     // name of a Direction, "" when it has none
	Range     *Range     // for a given: sensible figures, for drawing questions
	At        Place
}

// NotSaid lists words, and symbols with their case, that speak against a
// quantity in questions where When holds: "aft" where it lies forward.
type NotSaid struct {
	When  parse.Cond // nil: always
	Words []string
}

// Range bounds the sensible figures of a given: multiples of Step from From to To.
type Range struct{ From, To, Step float64 }

// Way is one derivation of a quantity. The first whose When holds is the
// reference; all whose When holds are right.
type Way struct {
	When    parse.Cond // nil: always
	Formula parse.Expr
	Why     string // one sentence for the working, may be ""
	At      Place
}

// Check refuses a question: Refuse holds → the key is wrong.
type Check struct {
	Refuse parse.Cond
	Key    string
	Find   string // words of the find that a part must ask for before this is checked, "" for always
	Wrong  string // template: what is wrong
	Right  string // template: what would be right
	At     Place
}

// Find is what a part may ask for.
type Find struct {
	Words   string     // "change of GM"
	Ask     string     // the sentence in which a paper asks for it
	Answers []string   // quantities
	When    parse.Cond // nil: always
	Else    string     // why not, when When does not hold
	At      Place
}

// Fault is a misunderstanding or slip.
type Fault struct {
	ID       string
	Title    string  // one line: what was done
	Severity string  // principal, clerical, remark
	Group    string  // the heading of the catalogue it stands under
	Rarity   float64 // added cost of explaining by it; 0 = common
	// Together: where the fault is made it is made at every site of the
	// question; otherwise each site can go wrong by itself (a second one follows from the first).
	Together bool
	Sites    []*Site
	Idea     string // template: the misunderstanding, in the student's own figures
	Mend     string // template: the hint that mends it; "" = the mended line alone
	Example  Example
	At       Place
}

// Site is a quantity whose step the fault spoils, and what is written there instead.
type Site struct {
	Quantity string
	Formula  parse.Expr
	When     parse.Cond
	At       Place
}

// Example shows a fault: a line as a student writes it, and the line mended.
type Example struct{ Wrong, Right string }

// Bound says what a figure can be: Holds is false for an answer that can't be right.
type Bound struct {
	Quantity string
	Holds    parse.Cond
	Says     string // template: why it can't be
	At       Place
}

// Direction is a set of senses of a signed or sided answer.
type Direction struct {
	ID       string
	Missing  string // fault when no sense is given
	Reversed string // fault when the wrong one is
	Senses   []*Sense
	At       Place
}

// Sense is one direction. The right sense is the one whose When holds, or,
// where no sense has a When, the one whose Sign is the sign of the figure.
type Sense struct {
	ID    string
	Sign  int
	Words []string // words and short phrases that say it
	When  parse.Cond
}

// Table is a layout students use: rows and columns whose crossing is a quantity.
type Table struct {
	ID      string
	Columns []*Axis
	Rows    []*Axis
	Cells   map[string]map[string]string // row id → column id → quantity id
	At      Place
}

// Axis is a row or column of a table: its id and the words that head it.
type Axis struct {
	ID    string
	Names []string
}

// Words is the vocabulary for reading labels.
type Words struct {
	Synonyms map[string]string   // word or phrase → what it is folded to, lower case
	Letters  map[string]string   // letters, case kept, that stand for a word beside other words ("l of compartment")
	Ignore   []string            // words that carry nothing ("the", "value")
	Loose    []string            // words that name a kind of figure and no quantity by themselves ("volume")
	Prose    []string            // ordinary words that are never a symbol or a slip of the keyboard ("it", "is")
	States   map[string][]string // state → words and phrases that say it ("bilged": new, final, after bilging)
	Headings map[string][]string // the same for words that say it in a heading only ("initial": intact)
}

// Marking is the share of a part's marks (or a number of marks) each severity costs.
type Marking struct{ Principal, Clerical Charge }

// Charge is a share of the part's marks (Share) or, if Marks > 0, that many marks.
type Charge struct{ Share, Marks float64 }

// Sketch is a drawing of the question: rectangles and lines with coordinates
// as formulas, drawn in characters or SVG by whoever shows it.
type Sketch struct {
	ID, Title string
	When      parse.Cond
	Shapes    []*Shape
	At        Place
}

// Shape is one piece of a sketch. X right, Y up, in the topic's length unit.
type Shape struct {
	Kind   string       // rect, line, mark (a short label at a point)
	Style  string       // hull, sea, waterline-before, waterline-after, flat, flooded, intact, dimension, axis
	Coords []parse.Expr // rect and line: x0 y0 x1 y1; mark: x y
	Label  string       // template, may be ""
	When   parse.Cond
	At     Place
}

// Sentence is a piece of the question in words, as a paper prints it: those
// whose When holds follow one another.
type Sentence struct {
	When parse.Cond // nil: always
	Text string     // template
	At   Place
}

// Quantity returns the quantity with the id, or nil.
func (t *Topic) Quantity(id string) *Quantity { return t.quantity[id] }

// Fault returns the fault with the id, the topic's own or a generic one, or nil.
func (t *Topic) Fault(id string) *Fault { return t.fault[id] }
