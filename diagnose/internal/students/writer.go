package students

import (
	"strings"
)

// accept is the set of verdicts that are right for a line.
type accept uint8

const (
	okHolds accept = 1 << iota
	okFollows
	okFaulty
	okAside
	okUnplaced
)

// written line, with what is true of it.
type written struct {
	text string
	ok   accept
	step int // its first step, -1 none
}

// where the sides of a step stand.
type places struct{ symbols, figures, result, again int }

// writer writes one plan down in its hand.
type writer struct {
	*plan
	figures *worked // the student's own figures, faults and all
	edits   map[int]edit
	ends    map[int]string // faults of a step's words
	force   map[int]bool   // steps that must show their figures
	right   map[int]bool   // steps whose formula in symbols stays right
	lines   []written
	at2     []places // per step
	partEnd []int    // last line of working per part
	drop    map[int]bool
	weak    map[int]bool // steps whose name says little: none, or a letter
	vague   map[int]bool // lost buoyancy: a volume or a mass

	before, after string
	symPick       int
	shareWord     int
	slipped       bool
	marked        int // part whose mark stands, -1 none
	inlineMark    string
	state         byte
	table         bool
	withdrawn     bool
	joins         bool // the next line goes on behind the last
	between       string
	doubted       bool
}

func newWriter(p *plan) *writer {
	w := &writer{plan: p, ends: map[int]string{}, force: map[int]bool{}, right: map[int]bool{}, drop: map[int]bool{}, weak: map[int]bool{}, vague: map[int]bool{}, marked: -1}
	w.symPick = p.hand.r.IntN(6)
	w.between = pick(p.hand.r, "; ", "   ", ", ")
	if p.hand.Comma && w.between == ", " {
		w.between = "; "
	}
	return w
}

func (w *writer) line(text string, ok accept, step int) int {
	w.lines = append(w.lines, written{text, ok, step})
	return len(w.lines)
}

// put writes text in front of which an inline part mark may stand.
func (w *writer) put(text string, step int) int {
	if w.inlineMark != "" {
		text = w.inlineMark + " " + text
		w.inlineMark = ""
	}
	n := 0
	if last := len(w.lines); w.joins && last > 0 && w.lines[last-1].step >= 0 && w.steps[w.lines[last-1].step].part == w.steps[step].part && !(w.table && tableMember(w.steps[w.lines[last-1].step].q)) && !strings.HasPrefix(text, w.hand.Lead) {
		n = last
		w.lines[n-1].text += w.between + text
	} else {
		n = w.line(text, 0, step)
	}
	w.joins = false
	if p := w.steps[step].part; p < len(w.partEnd) {
		w.partEnd[p] = n
	}
	return n
}

// write sets the whole script down.
func (w *writer) write() {
	h := w.hand
	w.at2 = make([]places, len(w.steps))
	w.partEnd = make([]int, len(w.question.parts))
	w.table = h.Table != "lines" && w.hasTable()
	w.headers()
	if h.data {
		w.data()
	}
	for i, s := range w.steps {
		if !s.written || w.drop[i] {
			continue
		}
		w.part(s.part)
		w.heading(s)
		if w.table && tableMember(s.q) {
			if id := quants[s.q].id; id == "net_moment" || id == "blocks_moment" {
				w.moments(id)
			}
			continue
		}
		if h.withdraw && !w.withdrawn && h.r.chance(0.2) && !s.answer {
			w.takeBack(i)
		}
		w.joins = h.pairs && h.Chain != "lines" && h.r.chance(0.35)
		w.step(i)
		w.joins = false
		w.doubt(i)
		if h.blanks && h.r.chance(0.2) {
			w.line("", okAside, -1)
		}
		if h.prose && h.r.chance(0.15) {
			w.line(pick(h.r, prose...), okAside, -1)
		}
	}
	w.summary()
}

// doubt says of an answer that can't be right that it can't, where the hand
// looks at its answers.
func (w *writer) doubt(i int) {
	if w.hand.doubts && w.steps[i].answer && w.impossible(i) {
		w.doubted = true
		w.line(pick(w.hand.r, "this can't be right", "this can't be right, too big", "must be wrong somewhere", "impossible - I have made a mistake somewhere"), okAside, -1)
	}
}

var prose = []string{
	"Taking moments about the keel", "The ship floats on an even keel", "Using the lost buoyancy method", "KG does not change",
	"displacement stays the same", "Now for the new waterline", "The displacement and KG remain constant.", "vessel is box shaped so",
	"Lost buoyancy method used.", "assume no trim", "Now find stability", "Note: sketch on separate sheet", "--------", "as before",
}

func (w *writer) headers() {
	h := w.hand
	name := "Name: " + pick(h.r, "A. Student", "J Okafor", "Maria Lind", "cadet 14", "R. Dsouza", "Tomasz K.")
	id := "Question: " + w.question.ID
	switch h.header {
	case "name":
		w.line(name, okAside, -1)
	case "name, question":
		w.line(name, okAside, -1)
		w.line(id, okAside, -1)
	case "question, name":
		w.line(id, okAside, -1)
		w.line(name, okAside, -1)
	}
	if h.header != "" && h.blanks {
		w.line("", okAside, -1)
	}
}

// data lists what the question gives.
func (w *writer) data() {
	h := w.hand
	var items []string
	for _, id := range []string{"length", "breadth", "draught", "comp_length", "comp_breadth", "flat_height", "kg"} {
		t, ok := w.question.given[id]
		if !ok || id == "comp_breadth" && w.is.fullBreadth {
			continue
		}
		name := w.symbol(slotOf(id))
		u := ""
		if h.Units != "never" {
			u = h.unit("m")
		}
		items = append(items, name+h.equals()+h.dress(t)+u)
	}
	if h.r.chance(0.5) {
		w.line(strings.Join(items, pick(h.r, ", ", "   ", "; ")), okHolds|okAside, -1)
		return
	}
	for _, t := range items {
		w.line(t, okHolds|okAside, -1)
	}
}

// equals is the sign between sides.
func (h *Hand) equals() string {
	if h.colon && h.r.chance(0.5) {
		return pick(h.r, ": ", " := ", " → ")
	}
	return h.eq
}

// part sets a part mark where a new part begins.
func (w *writer) part(k int) {
	if w.marked == k {
		return
	}
	h := w.hand
	first := w.marked < 0
	w.marked = k
	if h.Marks == "none" {
		if !first && h.blanks {
			w.line("", okAside, -1)
		}
		return
	}
	if !first && h.blanks {
		w.line("", okAside, -1)
	}
	c := string(rune('a' + k))
	if h.Marks == "inline (a)" {
		w.inlineMark = "(" + c + ")"
		return
	}
	t := strings.Replace(h.Marks, "a)", c+")", 1)
	switch h.Marks {
	case "Part a":
		t = "Part " + c
	case "PART A)":
		t = "PART " + strings.ToUpper(c) + ")"
	case "### part a":
		t = "### part " + c
	case "a.":
		t = c + "."
	case "a":
		t = c
	case "Q1 a)":
		t = "Q1 " + c + ")"
	}
	w.line(t, okAside, -1)
}

// heading sets a heading over the figures before or after bilging.
func (w *writer) heading(s *step) {
	h := w.hand
	if !h.headings || w.question.parts[s.part] == "sinkage" || w.question.parts[s.part] == "bilged draught" || w.question.parts[s.part] == "permeability" {
		return
	}
	st := quants[s.q].state
	if st == 0 || st == w.state || quantityIsLoss(quants[s.q].id) {
		return
	}
	if h.Order == "quantity by quantity" && h.State != "headings" {
		return
	}
	w.state = st
	if w.inlineMark != "" {
		w.line(w.inlineMark, okAside, -1)
		w.inlineMark = ""
	}
	t := pick(h.r, "Before bilging", "Initial condition", "Initial condition:", "Before bilging:", "INITIAL")
	if st == 'b' {
		t = pick(h.r, "After bilging", "Bilged condition", "Bilged condition:", "After bilging:", "BILGED", "New condition")
	}
	w.line(t, okAside, -1)
}

// text puts the lines together.
func (w *writer) text() string {
	var b strings.Builder
	for _, l := range w.lines {
		b.WriteString(l.text)
		b.WriteByte('\n')
	}
	t := b.String()
	if w.hand.processor {
		t = strings.ReplaceAll(t, " x ", " × ")
		t = strings.ReplaceAll(t, " - ", " − ")
		t = strings.ReplaceAll(t, " m\n", "\u00a0m\n")
		t = strings.ReplaceAll(t, "can't", "can’t")
	}
	return t
}
