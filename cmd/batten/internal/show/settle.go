package show

import "batten/diagnose"

// Settle makes a report fit for JSON: no list is null, and no figure one that
// JSON can't hold.
func Settle(r *diagnose.Report) { settle(r) }
