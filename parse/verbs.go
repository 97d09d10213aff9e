package parse

// Arithmetic told by a verb with its two figures:
//
//	Dividing the lost volume 480 by the area 1000 gives 0.48
//	Taking KG 6.00 from KM 6.49 leaves 0.49
//
// What stands between a verb and its first figure names that figure; it is no
// name of the result.

// pairVerbs maps a verb to the signs that stand for it before its first figure and
// for the word between the two, and to the words that may stand there.
var pairVerbs = map[string]*pairVerb{}

type pairVerb struct {
	lead, sign string
	between    map[string]bool
}

func init() {
	for _, v := range []struct {
		forms string
		verb  pairVerb
	}{
		{"add adding", pairVerb{"", "+", set("to and")}},
		{"take taking subtract subtracting deduct deducting", pairVerb{"-", "+", set("from")}},
		{"multiply multiplying", pairVerb{"", "*", set("by")}},
		{"divide dividing", pairVerb{"", "/", set("by")}},
	} {
		for form := range set(v.forms) {
			pairVerbs[form] = &v.verb
		}
	}
}

// pair reads such a verb where both its figures follow, and marks the sign
// between them.
func (w *wordPass) pair(t *token) bool {
	v := pairVerbs[lower(t.text)]
	if v == nil || isOperand(w.prev()) || w.prev() == tOp || w.prev() == tOpen {
		return false
	}
	first, n := w.figureAfter(1, nil)
	if n == 0 {
		return false
	}
	// a unit may stand between the figure and the word
	joint := n
	for joint < n+3 && !v.between[lower(w.peek(joint).text)] {
		joint++
	}
	if w.peek(joint).kind != tWord {
		return false
	}
	if _, n = w.figureAfter(joint+1, v.between); n == 0 {
		return false
	}
	at := &w.in[w.i+joint]
	at.kind, at.text = tOp, v.sign
	if v.lead != "" {
		w.put(tOp, v.lead, 1)
		first--
	}
	w.i += first
	return true
}

// figureAfter looks from n on for a figure with no more than the words of its
// name before it. It gives its place and the place behind it, 0 for none.
func (w *wordPass) figureAfter(n int, but map[string]bool) (at, behind int) {
	for k := n; k < n+7; k++ {
		switch x := w.peek(k); x.kind {
		case tNumber, tComma:
			return k, k + 1
		case tWord:
			if l := lower(x.text); but[l] || linkWords[l] != nil {
				return 0, 0
			}
		default:
			return 0, 0
		}
	}
	return 0, 0
}
