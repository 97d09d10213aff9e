package rules

// Match is one quantity a phrase may name, with how well it fits.
type Match struct {
	Quantity *Quantity
	// Score is 1 for a phrase that is exactly a name or symbol of it, less
	// the more words are left over or missing. Candidates under 0.3 are not returned.
	Score float64
	// State is the state the phrase's words say ("bilged" in "new KB"), "" when none.
	State string
}
