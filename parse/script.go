package parse

// Script is a student's worked answer as read: stage one of the diagnosis.
type Script struct {
	Name     string // from the "Name:" header, "" when absent
	Question string // from the "Question:" header, "" when absent
	Lines    []Line // every line of the file, in order; Lines[i].N == i+1
	Steps    []Step // every statement found, in order of reading
}

// LineKind says what a line of the file is.
type LineKind uint8

const (
	Aside   LineKind = iota // blank, heading, note, drawn line, header, part mark alone: claims nothing
	Working                 // holds at least (a piece of) one step
	Unread                  // looks like working, but could not be read: Problem says why and where
)

// Line is one line of the file.
type Line struct {
	N       int    // from 1
	Text    string // as it stands in the file, without the line end
	Kind    LineKind
	Part    string   // part mark in force on this line, lower case ("a"), "" before any
	Heading string   // words of the heading in force ("Initial condition"), "" when none
	Steps   []int    // indices into Script.Steps of the steps with a piece on this line
	Problem *Problem // set when Kind is Unread
	Words   string   // prose of an aside or of what stands beside the working, for doubts and directions
	Doubt   bool     // the student writes that a figure must be wrong, impossible, unrealistic …
	// Withdraws: the student takes back in words what stands on this line
	// ("wrong, see below" behind a step, struck through) …
	Withdrawn bool
	// … or what stands above it ("ignore above" alone on its line).
	WithdrawsAbove bool
}

// Problem is why something could not be read, worded for a person.
type Problem struct {
	At     Span
	Reason string
}

func (p *Problem) Error() string { return p.Reason }

// Step is one statement: a label, a chain of expressions, a result.
//
//	BM = LB^3/12V = 96 x 18^3 / (12 x 7776) = 6.00 m
//
// has the label "BM" and three sides, the last of which is a bare number. A
// label may also stand last ("14 x 0.6 = 8.4 m = lost length") or come from a
// table's row and column.
type Step struct {
	Line               int    // the line on which it begins
	Part               string // part mark in force
	Heading            string // heading in force: the nearest heading line above, "" when none
	Label              string // the student's words for what is stated, marks and joining words removed; "" when none
	LabelAt            Span
	Row                string // table: words that head the row
	Column             string // table: words that head the column
	Table              int    // tables are numbered from 1; 0 outside tables
	TableRow, TableCol int
	Sides              []Side // in order, at least one
	Words              string // every other word on the step's lines: "(decrease)", "to port", "reduced by"
	WordsAt            Span
	Withdrawn          bool
	Doubt              bool
}

// Side is one link of a step's chain.
type Side struct {
	Expr   Expr
	Unit   *Unit // unit of the whole side: "= 453.6 m3"
	At     Span
	Approx bool // written with ≈ or "about"
}

// Result returns the last side when it is a bare (possibly signed) number,
// with its signed value; ok is false where the step ends in an expression.
func (s *Step) Result() (n *Num, value float64, ok bool) {
	if len(s.Sides) == 0 {
		return nil, 0, false
	}
	return Bare(s.Sides[len(s.Sides)-1].Expr)
}

// Bare returns the number that e is, through brackets and signs.
func Bare(e Expr) (n *Num, value float64, ok bool) {
	switch e := e.(type) {
	case *Num:
		return e, e.Value, true
	case *Neg:
		n, v, ok := Bare(e.X)
		return n, -v, ok
	case *Group:
		return Bare(e.X)
	}
	return nil, 0, false
}
