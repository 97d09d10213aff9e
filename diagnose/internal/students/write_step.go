package students

import (
	"math"
	"strings"
)

// step writes one step on one line or several.
func (w *writer) step(i int) {
	h := w.hand
	s := w.steps[i]
	form := s.right
	if e, ok := w.edits[i]; ok && e.way != nil {
		form = e.way
	}
	shown := form
	if w.right[i] {
		shown = s.right
	}
	if w.flip(i) {
		form, shown = reversed(form), reversed(shown)
	}
	bare := form.op == 'q' || form.op == 'k'
	withSymbols, withFigures := w.shape(i)
	symbols, figures := "", ""
	label := w.label(s.q)
	if withSymbols {
		symbols = w.inSymbols(shown, w.edits)
		if strings.EqualFold(symbols, label) {
			symbols = ""
		}
	}
	loose := h.unbracketed && !w.force[i]
	if withFigures && !bare {
		figures = w.inFigures(form, w.edits, loose)
	}
	result, tail := w.result(i)
	if w.bareLabel(i, figures) {
		label = ""
	}
	if label == "" && symbols != "" && figures != "" {
		symbols = ""
	}
	w.weak[i] = len([]rune(strings.TrimRight(label, "12'₁₂"))) <= 2
	low := strings.ToLower(label)
	w.vague[i] = quants[s.q].id == "lost_volume" && !strings.Contains(low, "vol")
	at := &w.at2[i]
	if w.asSentence(i, label, symbols, figures, result+tail) {
		return
	}
	eq := h.equals
	last := eq()
	if h.approx && h.r.chance(0.4) {
		last = pick(h.r, " ≈ ", " ≈ ", " ≈ ", " ~ ")
	}
	var sides []string
	if symbols != "" {
		sides = append(sides, symbols)
	}
	if figures != "" {
		sides = append(sides, figures)
	}
	sides = append(sides, result)
	switch {
	case len(sides) == 1: // a result alone
		at.result = w.put(w.alone(label, result)+tail, i)
	case h.Chain == "lines" && h.r.chance(0.8):
		text := sides[0]
		if label != "" {
			text = label + eq() + sides[0]
		}
		n := w.put(text, i)
		set := func(k, n int) {
			if symbols == "" {
				k++
			}
			switch k {
			case 0:
				at.symbols = n
			case 1:
				at.figures = n
			}
			if figures == "" && k == 1 {
				at.figures = 0
			}
		}
		set(0, n)
		for k := 1; k < len(sides); k++ {
			t := h.Lead + sides[k]
			if k == len(sides)-1 {
				at.result = w.put(t+tail, i)
			} else {
				set(k, w.put(t, i))
			}
		}
	case h.Chain == "formula first" && symbols != "" && label != "" && len(sides) > 2:
		at.symbols = w.put(label+eq()+symbols, i)
		n := w.put(label+eq()+figures+last+result+tail, i)
		at.figures, at.result = n, n
	default:
		text := strings.Join(sides[:len(sides)-1], eq()) + last + result + tail
		switch {
		case label != "" && h.tail && figures != "" && symbols == "":
			text = figures + last + result + tail + " = " + label
		case label != "":
			text = label + eq() + text
		}
		n := w.put(text, i)
		at.result = n
		if symbols != "" {
			at.symbols = n
		}
		if figures != "" {
			at.figures = n
		}
	}
	w.direction(i)
}

// shape decides what of formula and figures a step shows.
func (w *writer) shape(i int) (symbols, figures bool) {
	h := w.hand
	shape := h.Shape
	if shape == "mixed" {
		shape = pick(h.r, "formula, figures, result", "figures, result", "figures, result", "formula, result", "result only")
	} else if h.r.chance(0.08) {
		shape = pick(h.r, "formula, figures, result", "figures, result")
	}
	switch shape {
	case "formula, figures, result":
		symbols, figures = true, true
	case "figures, result":
		figures = true
	case "formula, result":
		symbols = true
	}
	if h.Skip == "answers only" {
		symbols, figures = false, false
	}
	if w.force[i] {
		figures = true
	}
	if n := len(w.opened(w.steps[i].right).leaves()); n > 14 {
		symbols = false
		if n > 20 && !w.force[i] {
			figures = false
		}
	}
	return symbols, figures
}

// bareLabel: now and then figures stand without a name.
func (w *writer) bareLabel(i int, figures string) bool {
	h := w.hand
	return h.Bare > 0 && figures != "" && !w.steps[i].answer && h.r.chance(h.Bare)
}

// alone writes a name and its figure, nothing between them.
func (w *writer) alone(label, result string) string {
	h := w.hand
	switch {
	case h.colon:
		return label + ": " + result
	case h.r.chance(0.06):
		return label + "   " + result
	case len(label) > 4 && h.r.chance(0.06):
		return label + " " + result
	}
	return label + h.eq + result
}

// asSentence writes the step as prose, where the hand does so now and then.
func (w *writer) asSentence(i int, label, symbols, figures, result string) bool {
	h := w.hand
	id := quants[w.steps[i].q].id
	if !h.sentences || label == "" || !h.r.chance(0.4) || w.isChange(i) || id == "list" || shouting(label) {
		return false
	}
	low := strings.ToLower(label[:1]) + label[1:]
	if len(label) < 4 {
		low = label
	}
	text := figures
	if text != "" {
		text += h.eq + result
	} else {
		text = result
	}
	lead := pick(h.r, "The "+low+" is ", "Therefore the "+low+" is ", "So "+low+" = ", "Hence "+low+" = ", "the "+low+" will be ")
	n := w.put(lead+text, i)
	w.at2[i].result = n
	if figures != "" {
		w.at2[i].figures = n
	}
	w.direction(i)
	return true
}

// flip reports whether a change is reckoned the other way round, so that its
// size comes out positive.
func (w *writer) flip(i int) bool {
	if !w.isChange(i) || w.figures.shown[i] >= 0 || w.signed(i) {
		return false
	}
	form := w.steps[i].right
	if e, ok := w.edits[i]; ok && e.way != nil {
		form = e.way
	}
	return form.op == '-'
}

func reversed(n *node) *node {
	if n.op != '-' {
		return n
	}
	return join('-', n.y, n.x)
}

// signed reports whether a change carries its sign.
func (w *writer) signed(i int) bool {
	if w.ends[i] != "" {
		return false
	}
	if w.steps[i].answer && w.hand.change != "signed" {
		return false
	}
	return true
}

// result is the figure of a step with its unit, and what stands behind it.
func (w *writer) result(i int) (result, tail string) {
	h := w.hand
	s := w.steps[i]
	c := &quants[s.q]
	t := w.figures.text[i]
	unit := ""
	if h.Units == "everywhere" || h.Units == "answers" && s.answer {
		unit = h.unit(c.unit)
	}
	if u, ok := strings.CutPrefix(w.ends[i], "unit "); ok {
		unit = h.unit(u)
	}
	switch {
	case w.isChange(i):
		if !w.signed(i) {
			t = strings.TrimPrefix(t, "-")
		}
		t = h.dress(t)
		if w.signed(i) && w.figures.shown[i] > 0 && s.answer {
			t = "+" + t
		}
		if !w.signed(i) && s.answer && w.ends[i] != "no direction" && h.change == "size and word" || w.ends[i] == "reversed" {
			tail = w.changeWord(i)
		}
		return t + unit, tail
	case c.id == "permeability" || c.id == "solid_share":
		return h.ratio(t), ""
	case c.id == "list":
		if w.ends[i] != "no direction" {
			tail = " " + w.side(i)
		}
	case c.id == "trim_change" && h.r.chance(0.3):
		tail = " by the head"
		if !w.is.forward {
			tail = " by the stern"
		}
	}
	return h.dress(t) + unit, tail
}

func (w *writer) changeWord(i int) string {
	fall := w.figures.shown[i] < 0
	if w.ends[i] == "reversed" {
		fall = !fall
	}
	r := w.hand.r
	if fall {
		return pick(r, " (decrease)", " decrease", " reduction", " (reduction)", ", a fall", " less")
	}
	return pick(r, " (increase)", " increase", " (rise)", ", a rise", " more")
}

// side is the word for the side she lists to.
func (w *writer) side(i int) string {
	port := w.is.port
	if w.ends[i] == "reversed" {
		port = !port
	}
	r := w.hand.r
	if port {
		return pick(r, "to port", "port", "(to port)", "to port side")
	}
	return pick(r, "to starboard", "to stbd", "(to starboard)", "starboard")
}

// direction adds the sentence that says which way an answer goes, where the
// line itself did not.
func (w *writer) direction(i int) {
	h := w.hand
	s := w.steps[i]
	if !s.answer || !w.isChange(i) || h.change != "sentence" || w.ends[i] != "" {
		return
	}
	t := h.dress(strings.TrimPrefix(w.figures.text[i], "-")) + h.unit("m")
	fall := w.figures.shown[i] < 0
	verb := pick(h.r, "GM has decreased by ", "GM reduced by ", "GM falls by ", "Therefore GM decreases by ")
	if !fall {
		verb = pick(h.r, "GM has increased by ", "GM increases by ", "GM rises by ", "Therefore GM goes up by ")
	}
	w.at2[i].again = w.line(verb+t, 0, i)
	w.partEnd[s.part] = w.at2[i].again
}

// takeBack writes a wrong first try and withdraws it.
func (w *writer) takeBack(i int) {
	h := w.hand
	s := w.steps[i]
	w.withdrawn = true
	x := w.figures.shown[i]
	_, t := h.round(x*pick(h.r, 1.1, 0.9, 1.27), decimals(w.figures.text[i]))
	if math.IsNaN(x) || t == w.figures.text[i] {
		return
	}
	text := w.label(s.q) + h.eq + h.dress(t)
	ok := okAside | okHolds | okFollows | okUnplaced
	if h.r.chance(0.5) {
		w.line(text+pick(h.r, "   wrong, see below", "  - wrong, see below", " (wrong, see below)"), ok, -1)
		return
	}
	w.line(text, ok, -1)
	w.line(pick(h.r, "ignore above", "ignore the above line", "wrong, see below"), ok, -1)
}
