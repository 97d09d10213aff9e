package parse

import (
	"strings"
)

// Words by which a student takes something back, or doubts it.

var (
	doubtWords = lazily(`\b(can'?t|can ?not|could ?n[o']t|could not|couldn'?t) (possibly )?(be|exceed|have|go|float)\b` +
		`|\bmust (be|have) (a |an |some |gone |made )?(wrong|mistake|error|slip|incorrect)` +
		`|\bimpossible\b|\bnot possible\b|\bunrealistic|\bnot realistic\b|\bimplausible\b|\bunreasonable\b|\bnot reasonable\b|\babsurd\b|\bnonsense\b|\bridiculous|\bsuspicious|\bsuspect\b` +
		`|\bdoubtful\b|\bunlikely\b|\bdubious\b|\bnot sensible\b|\bmakes no sense\b|\b(doesn'?t|does not) make sense\b` +
		`|\b(seems?|looks?|appears?|is|far|way|much|bit|feels?) (to be )?(far |much |way |a bit |rather |very )?too (big|large|small|high|low|much|great|little|deep|long|short)` +
		`|\?+ *too (big|large|small|high|low|much|great)|^\W*too (big|large|small|high|low|much|great|deep)\b` +
		`|\b(seems?|looks?|appears?|feels?|probably|possibly|maybe|think (this|that|it)('?s| is)?|sure (this|that|it)('?s| is)?) (to be )?(is )?(wrong|incorrect|odd|strange|off|funny|silly|weird)` +
		`|\b(doesn'?t|does not|don'?t|do not) (look|seem|feel|sound) (right|correct|sensible|realistic|possible|reasonable|good)` +
		`|\bsomething('?s| is| has)? (gone )?(wrong|amiss|off)|\bgone wrong\b|\bwent wrong\b|\b(mistake|error|slip) (somewhere|in (my|the) working)|\bmade (a|an|some) (mistake|error|slip)` +
		`|\bnot (right|correct) *[?!.]*$|\b(surely|clearly|obviously) (wrong|not right|not correct|incorrect|an error|a mistake)|\bshould not be (more|over|greater|less|negative|above|larger|bigger|this|so)`)

	withdrawWords = lazily(`\b(ignore|disregard|scrap|scratch|strike|cancel|delete|discard|forget|omit|skip)( out)?( all)?( of)?( the| my)? ?(this|that|above|it|last|previous|first|these|those|them|working|attempt|line|lines|everything|all)\b` +
		`|^\W*(ignore|disregard|scrap(ped)?|cancel(led|ed)?|deleted?|crossed out|struck out|void|scratch|discard(ed)?|withdrawn|rubbish|wrong|incorrect|mistake|error|oops|not needed|not required|redo|redone|start again|sorry)\b\W*$` +
		`|\b(crossed|struck|scored) (out|through)\b|\b(above|previous|last line|that|this|it)('?s| is| was)? (is |was )?(wrong|incorrect|not needed|not required|cancelled|a mistake|an error|rubbish|in error|withdrawn|void|scrapped)\b` +
		`|\bwrong\W+(see|redo|try|start|should|correct|again|sorry|ignore|as|because|use)|\b(redone|corrected|correction|redo|again|repeated|done again) (the )?(below|overleaf|next line)\b|\bsee (the )?(below|overleaf|next line)\s*($|[).;,!\]])|\b(start|starting|begin|try|trying|do it|doing it) (again|over)\b` +
		`|[(\[]\s*(wrong|ignore|ignored|cancel|cancelled|not needed|not required|error|mistake|scrap|scrapped|incorrect|void|deleted|crossed out|withdrawn)\s*[)\]]` +
		`|\bdo(n'?t| not) (mark|count|read|use) (this|that|the above|above|it)\b|\bnot to be marked\b`)

	// words that name what they take back: what stands above
	aboveWords = lazily(`\b(ignore|disregard|scrap|scratch|strike( out)?|cancel|delete|discard)\b( out)?( all)?( of)?( the| my)? ?((line|lines|figure|figures|result|working|attempt|one|part)s? )?(above|previous|last|preceding|them|those|these)\b` +
		`|\bforget( all)?( of)? the (line above|above|previous|last)\b|\b(ignore|disregard|scrap|scratch|cancel|delete|discard) that\W*($|[.,;:!)])` +
		`|\b((the|line|lines|working) above|above( line| lines| working| figure)?|previous( line| figure)?|last line)('?s| is| was| are| were)( all)? (wrong|incorrect|a mistake|an error|rubbish|in error|withdrawn|void|scrapped|cancelled)\b` +
		`|^\W*(ignore|scrap|scrapped|wrong|cancel|cancelled|crossed out|struck out|start(ing)? again|start(ing)? over)\W*$`)
	allAbove = lazily(`\b(all|everything|lines|working|attempt|those|these|start(ing)?)\b`)

	wrongAtEnd = lazily(`(\s|-|,|;|\*|<)(wrong|ignore|not needed|not required|cancelled|cancel|scrap|mistake|crossed out)\W*$`)
)

var doubtHints = []string{"can", "could", "must", "possible", "realistic", "plausible", "reason", "absurd", "nonsense", "ridicul", "suspici", "suspect", "doubt", "unlikely", "dubious",
	"sens", "too ", "wrong", "incorrect", "odd", "strange", "weird", "silly", "funny", "look", "seem", "feel", "sound", "mistake", "error", "slip", "right", "not correct", "should not be", "amiss", "off"}

var withdrawHints = []string{"ignore", "disregard", "scrap", "scratch", "strike", "cancel", "delete", "discard", "forget", "omit", "skip", "crossed", "struck", "scored", "void", "withdraw", "rubbish",
	"wrong", "incorrect", "mistake", "error", "oops", "not needed", "not required", "redo", "again", "below", "overleaf", "mark", "count", "sorry", "start"}

func hasAny(t string, hints []string) bool {
	for _, h := range hints {
		if strings.Contains(t, h) {
			return true
		}
	}
	return false
}

// wrongLast reports whether a line of working ends in a word that takes it back.
func wrongLast(t string) bool { return hasAny(t, withdrawHints) && wrongAtEnd.MatchString(t) }

// doubts reports whether words say that a figure can't be right.
func doubts(t string) bool {
	if k := strings.Index(t, "??"); k > 0 && strings.ContainsAny(t[:k], "0123456789") {
		return true
	}
	return hasAny(t, doubtHints) && doubtWords.MatchString(t)
}

// withdraws reports whether words take something back.
func withdraws(t string) bool {
	if !hasAny(t, withdrawHints) {
		return false
	}
	return withdrawWords.MatchString(t)
}

// clause finds the clause of t that takes back what stands above, and holds no
// figure: the bytes from its first to its last, ok false for none.
func clauseAbove(t string) (from, to int, ok bool) {
	if !hasAny(t, withdrawHints) {
		return 0, 0, false
	}
	at := aboveWords.FindStringIndex(t)
	if at == nil {
		return 0, 0, false
	}
	for _, marks := range []string{".;!?:(", ".;!?:(,-"} {
		from, to = at[0], at[1]
		for from > 0 && !(strings.IndexByte(marks, t[from-1]) >= 0 && (t[from] == ' ' || t[from-1] == '(')) {
			from--
		}
		for to < len(t) && !(strings.IndexByte(".;!?:),", t[to]) >= 0 && (to+1 == len(t) || t[to+1] == ' ' || t[to] == ')')) {
			to++
		}
		if from > 0 && t[from-1] == '(' {
			if to < len(t) && t[to] == ')' {
				to++
			}
			from--
		} else if to < len(t) {
			to++
		}
		if !strings.ContainsAny(t[from:to], "=0123456789") {
			return from, to, true
		}
	}
	return 0, 0, false
}
