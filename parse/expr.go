// Package parse reads plain arithmetic, lines of working and whole scripts.
//
// It knows grammar, units and the English that joins figures together, but no
// quantity of any trade: which words are names is asked of a [Lexicon].
package parse

// Lexicon tells the reader which words are names of quantities.
//
// The reader hands over words as the student typed them (case kept, joined by
// single spaces). A lexicon must be safe for concurrent use.
type Lexicon interface {
	// Known reports whether the whole phrase names at least one quantity,
	// either as a symbol ("KB1", "μ") or in words ("vol lost").
	Known(phrase string) bool
}

// Span is a half-open range of columns on one line of the file. Line counts
// from 1; From and To are columns in characters (runes) from 1, To excluded.
type Span struct{ Line, From, To int }

// Expr is a node of an arithmetic expression: *Num, *Name, *Neg, *Binary,
// *Call or *Group.
type Expr interface {
	// Span is the place in the file of the whole expression. For an
	// expression that runs over several lines it covers the first.
	Span() Span
	// String writes the expression so that ParseExpr reads it back as the
	// same tree.
	String() string
}

// Num is a written number.
type Num struct {
	Value   float64 // in the unit as written; percent already divided by 100; degrees in degrees
	Text    string  // as written, without the unit
	Places  int     // digits written after the decimal point, in the unit as written (60% has Places 2: its value is 0.60)
	Percent bool
	Unit    *Unit // unit written directly behind it, or nil
	At      Span
}

// Name is a word, phrase or symbol the lexicon knows (or, in rules, an identifier).
type Name struct {
	Text string // as written, words joined by single spaces
	At   Span
}

// Neg is unary minus.
type Neg struct {
	X  Expr
	At Span
}

// Op is a binary operator: one of + - * / ^ .
type Op byte

// Binary joins two expressions.
type Binary struct {
	Op      Op
	X, Y    Expr
	Implied bool // a multiplication written as nothing at all: 12V, 12(7776), LB
	At      Span
}

// Call applies one of: sqrt, sin, cos, tan, asin, acos, atan, abs, min, max. Angles are
// in degrees. Cubed and squared are read as powers, not calls.
type Call struct {
	Func string
	Args []Expr
	At   Span
}

// Group is an expression in brackets of any of the three kinds. It is kept in
// the tree because a lost bracket is a fault that markers know.
type Group struct {
	X  Expr
	At Span
}

func (e *Num) Span() Span    { return e.At }
func (e *Name) Span() Span   { return e.At }
func (e *Neg) Span() Span    { return e.At }
func (e *Binary) Span() Span { return e.At }
func (e *Call) Span() Span   { return e.At }
func (e *Group) Span() Span  { return e.At }

// Unit is a unit of measurement as written by a person.
type Unit struct {
	Text   string  // canonical: m, m2, m3, m4, cm, t, t/m3, t m, t m/cm, t/cm, m3/t, deg, ft, …
	Dim    Dim     // what kind of quantity it measures
	Factor float64 // value in base units (metre, tonne, degree) = value as written × Factor
}

// Dim is the kind of a unit: exponents of length, mass and angle.
type Dim struct{ Length, Mass, Angle int8 }
