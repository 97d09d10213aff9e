package diagnose

import (
	"batten/solver"
)

// Marker reads scripts against one question. It is made once for a question
// and safe for concurrent use.
type Marker struct {
	question *solver.Question
}
