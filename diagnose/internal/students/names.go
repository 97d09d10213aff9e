package students

import (
	"strings"
	"unicode"
)

// label is what the student calls a quantity where it is stated.
func (w *writer) label(q int) string {
	style := w.hand.Label
	if style == "mixed" {
		style = pick(w.hand.r, "long", "short", "symbol")
	}
	t := w.name(q, style)
	if w.hand.Typo && !w.slipped && len(t) > 9 && w.hand.r.chance(0.3) {
		w.slipped = true
		t = mistype(w.hand.r, t)
	}
	return w.cased(t)
}

// name is a name of the quantity in the style, the same for the whole script.
func (w *writer) name(q int, style string) string {
	key := q*8 + len(style)
	if t, ok := w.hand.words[key]; ok {
		return t
	}
	t := w.makeName(q, style)
	w.hand.words[key] = t
	return t
}

func (w *writer) makeName(q int, style string) string {
	h := w.hand
	c := &quants[q]
	if t := w.endName(q, style); t != "" {
		return t
	}
	if style == "symbol" {
		if s := w.symbol(q); s != "" {
			return s
		}
		style = "short"
	}
	list := c.long
	if style == "short" && len(c.short) > 0 {
		list = c.short
	}
	base := list[h.r.IntN(len(list))]
	if h.draft {
		base = strings.ReplaceAll(base, "draught", "draft")
	}
	if c.id == "kg" || c.state == 0 || c.state == 'i' && quantityIsLoss(c.id) {
		return base
	}
	return w.stated(base, c)
}

// quantityIsLoss: words that say themselves that they are of the old waterline.
func quantityIsLoss(id string) bool {
	switch id {
	case "lost_depth", "lost_volume", "comp_volume", "draught", "lost_centre_initial":
		return true
	}
	return false
}

// stated adds the word for before or after bilging.
func (w *writer) stated(base string, c *quant) string {
	h := w.hand
	letters := strings.ToUpper(base) == base && len(base) <= 3
	// these say in themselves which waterline they go to
	if c.state == 'b' && c.id != "bilged_draught" && !strings.HasPrefix(c.id, "k") && !strings.HasPrefix(c.id, "b") && !strings.HasPrefix(c.id, "g") && !strings.HasPrefix(c.id, "second_moment_bilged") {
		return base
	}
	if c.id == "bml_bilged" || c.id == "kml_bilged" || c.id == "gml_bilged" {
		return base
	}
	switch h.State {
	case "words behind":
		if c.state == 'i' {
			return base + " " + pick(h.r, "before bilging", "before", "initially")
		}
		return base + " " + pick(h.r, "after bilging", "after", "when bilged", "after flooding")
	case "digits 1 2":
		if letters {
			return base + w.mark(c)
		}
	case "bare and 1", "prime":
		if letters {
			return base + w.mark(c)
		}
	case "headings", "order":
		if c.id != "bilged_draught" {
			return base
		}
	}
	if c.state == 'i' {
		return w.adverb('i') + " " + base
	}
	return w.adverb('b') + " " + base
}

func (w *writer) adverb(state byte) string {
	i := w.hand.r
	if w.before == "" {
		w.before = pick(i, "initial", "initial", "original", "old")
		w.after = pick(i, "new", "new", "final", "bilged")
	}
	if state == 'i' {
		return w.before
	}
	return w.after
}

// mark is what a symbol carries to say before or after.
func (w *writer) mark(c *quant) string {
	switch w.hand.State {
	case "bare and 1":
		if c.state == 'i' {
			return ""
		}
		return w.digit("1")
	case "prime":
		if c.state == 'i' {
			return ""
		}
		return "'"
	case "headings", "order":
		if c.id != "bilged_draught" && c.id != "draught" {
			return ""
		}
	}
	if c.id == "draught" {
		return ""
	}
	if c.state == 'i' {
		return w.digit("1")
	}
	return w.digit("2")
}

func (w *writer) digit(d string) string {
	if w.hand.processor {
		return string([]rune("₁₂")[d[0]-'1'])
	}
	return d
}

// symbol is the letter for a quantity, "" where the student has none.
func (w *writer) symbol(q int) string {
	c := &quants[q]
	if len(c.sym) == 0 {
		return ""
	}
	s := c.sym[w.symPick%len(c.sym)]
	if s == "x" && (w.hand.mul != " · " || w.hand.processor) { // it would be a sign to any reader
		if s = c.sym[0]; s == "x" {
			return ""
		}
	}
	if c.id == "comp_length" || c.id == "comp_breadth" || c.id == "permeability" || c.id == "bilged_draught" {
		s = c.sym[0]
		if c.id == "permeability" {
			s = c.sym[w.symPick%len(c.sym)]
		}
		if c.id == "bilged_draught" {
			s = quants[slotOf("draught")].sym[w.symPick%2]
		}
	}
	if c.id == "lost_volume_bilged" {
		return "v" + w.digit("2")
	}
	switch {
	case c.state == 0, quantityIsLoss(c.id) && c.id != "draught":
		return s
	case strings.HasSuffix(c.id, "ml_bilged"), c.id == "draught_forward", c.id == "draught_aft", c.id == "second_moment_long", c.id == "second_moment_trans", c.id == "lost_centre":
		return s
	}
	return s + w.mark(c)
}

// endName names what belongs to one end of the ship.
func (w *writer) endName(q int, style string) string {
	id := quants[q].id
	if id != "trim_share_damaged_end" && id != "trim_share_intact_end" {
		return ""
	}
	forward := (id == "trim_share_damaged_end") == w.is.forward
	end, letter := "aft", "a"
	if forward {
		end, letter = "forward", "f"
		if w.hand.draft {
			end = "fwd"
		}
	}
	if w.shareWord == 0 {
		w.shareWord = 1 + w.hand.r.IntN(5)
	}
	if style == "symbol" {
		return "t" + letter
	}
	switch w.shareWord {
	case 1:
		return "trim " + end
	case 2:
		return "change of draught " + end
	case 3:
		return "share of trim " + end
	case 4:
		return "trim effect " + end
	}
	return "change " + end
}

func (w *writer) cased(t string) string {
	switch w.hand.Case {
	case "title":
		if t != "" && !shouting(t) && unicode.IsLower([]rune(t)[0]) && len(strings.Fields(t)[0]) > 2 {
			return strings.ToUpper(t[:1]) + t[1:]
		}
	case "upper":
		if len(t) > 3 && !strings.ContainsAny(t, "θΔ∇'") && strings.ToLower(t) == t || strings.Contains(t, " ") {
			return strings.ToUpper(t)
		}
	case "lower":
		if strings.Contains(t, " ") {
			return strings.ToLower(t)
		}
	}
	return t
}

func shouting(t string) bool { return strings.ToUpper(t) == t }

// mistype makes one slip of the keyboard in a long word.
func mistype(r *rng, t string) string {
	b := []byte(t)
	for try := 0; try < 20; try++ {
		i := 1 + r.IntN(len(b)-2)
		if b[i] >= 'a' && b[i] <= 'z' && b[i+1] >= 'a' && b[i+1] <= 'z' && b[i-1] >= 'a' && b[i-1] <= 'z' && b[i] != b[i+1] {
			switch r.IntN(3) {
			case 0:
				b[i], b[i+1] = b[i+1], b[i]
			case 1:
				b = append(b[:i], b[i+1:]...)
			default:
				b = append(b[:i+1], b[i:]...)
			}
			return string(b)
		}
	}
	return t
}
