// Package diagnose reads a student's script against a question's chain of
// quantities and says where it first goes wrong, why, and what that costs.
//
// It knows no trade: quantities, faults and words all come from the topic.
package diagnose

// Verdict is the word for one line or step.
type Verdict string

const (
	Holds    Verdict = "holds"    // right
	Follows  Verdict = "follows"  // a wrong figure, rightly worked from an earlier fault
	Faulty   Verdict = "faulty"   // a new fault starts here
	Unplaced Verdict = "unplaced" // sound arithmetic, but what it stands for could not be told
	Unread   Verdict = "unread"   // could not be read
	Aside    Verdict = "aside"    // claims nothing
)

// Severity of a fault.
type Severity string

const (
	Principal Severity = "principal"
	Clerical  Severity = "clerical"
	Remark    Severity = "remark"
)

// How a fault shows itself.
const (
	ShownWritten  = "written"  // in the student's own formula or figures
	ShownFits     = "fits"     // only in the result, and nothing else gives it
	ShownPossible = "possible" // other faults give it too
)

// Report is the whole reading of one script. Its JSON form is the contract's.
type Report struct {
	Schema     int         `json:"schema"`
	Script     string      `json:"script"`
	Name       *string     `json:"name"`
	Question   string      `json:"question"`
	Lines      []LineRow   `json:"lines"`
	Findings   []Finding   `json:"findings"`
	FirstFault *FirstFault `json:"first_fault"`
	Parts      []PartMarks `json:"parts"`
	Total      Total       `json:"total"`
	Caution    string      `json:"caution"`
}

// StepRow is what was made of one step (or of a line that holds one).
type StepRow struct {
	Verdict  Verdict  `json:"verdict"`
	Quantity *string  `json:"quantity"`
	Stated   *float64 `json:"stated"`   // in Unit, with the sign the student's word or sign gives
	Expected *float64 `json:"expected"` // what the student's own earlier figures should have given
	Unit     string   `json:"unit,omitempty"`
	// Why is a short word for the reader on anything that needs one ("the bracket is not closed"), "" mostly.
	Why string `json:"why,omitempty"`
	// Rests on: for a step that follows, the line of the fault it follows from; 0 otherwise.
	From int `json:"from_line,omitempty"`
}

// LineRow is one line of the file.
type LineRow struct {
	N    int    `json:"n"`
	Text string `json:"text"`
	Part string `json:"part,omitempty"`
	StepRow
	// Span is the place in the line that could not be read; Why tells the reason.
	Span  *Columns  `json:"span,omitempty"`
	Steps []StepRow `json:"steps,omitempty"` // where the line holds several
}

// Columns is a half-open range of columns in characters, from 1.
type Columns struct {
	From int `json:"from"`
	To   int `json:"to"`
}

// Finding is one fault at its root.
type Finding struct {
	Fault    string   `json:"fault"`
	Title    string   `json:"title"` // the fault in one line
	Severity Severity `json:"severity"`
	Part     string   `json:"part"`
	Line     int      `json:"line"`
	Quantity *string  `json:"quantity"`
	Name     string   `json:"name,omitempty"` // what a person calls the quantity
	Span     *Columns `json:"span"`
	Shown    string   `json:"shown"`
	Stated   *float64 `json:"stated"`
	Expected *float64 `json:"expected"`
	Unit     string   `json:"unit,omitempty"`
	Idea     string   `json:"idea"`    // the misunderstanding, in the student's own figures
	Working  string   `json:"working"` // the mended line
	// Unwritten names the step that was not written down and went wrong, "" where the line itself shows it.
	Unwritten    string   `json:"unwritten,omitempty"`
	Alternatives []string `json:"alternatives"`
	Cost         float64  `json:"cost"` // marks it costs, after the rule that each is charged once
}

// FirstFault is the first finding that is not a remark.
type FirstFault struct {
	Line  int    `json:"line"`
	Fault string `json:"fault"`
}

// PartMarks are the marks of one part.
type PartMarks struct {
	Part      string   `json:"part"`
	Find      string   `json:"find"`
	Available float64  `json:"available"`
	Deducted  float64  `json:"deducted"`
	Awarded   float64  `json:"awarded"`
	Reached   bool     `json:"reached"`
	Answers   []Answer `json:"answers"`
}

// Answer is an answer asked for and found.
type Answer struct {
	Quantity string   `json:"quantity"`
	Stated   *float64 `json:"stated"`
	Expected *float64 `json:"expected"`
	Unit     string   `json:"unit,omitempty"`
	Line     int      `json:"line"`
}

// Total of the script.
type Total struct {
	Available float64 `json:"available"`
	Awarded   float64 `json:"awarded"`
}
