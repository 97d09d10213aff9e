package sketch

import (
	"fmt"
	"html/template"
	"math"
	"slices"
	"strings"

	"batten/rules"
)

// Picture is a sketch as a page shows it. Its strokes have classes, s-hull and
// so on; the page that it stands in says how they look.
type Picture struct {
	ID, Title, Says string
	SVG             template.HTML
	Legend          []Stroke
}

// Stroke is an entry of a picture's legend.
type Stroke struct {
	Means string
	SVG   template.HTML
}

// SVG draws a sketch for a page. The id keeps its parts apart from those of
// other drawings on the page. It returns nil where the sketch does not belong
// to the question.
func SVG(id string, sk *rules.Sketch, v View) *Picture {
	pieces := v.pieces(sk)
	if len(pieces) == 0 {
		return nil
	}
	return v.picture(id, sk.Title, pieces)
}

// Size of a drawing, in its own units: letters are 13 high.
const (
	plotWidth = 306
	padLeft   = 10
	padRight  = 104
	padTop    = 14
	padBottom = 12
	lineRoom  = 16 // a row of letters at the side
)

// pen collects the SVG of a drawing.
type pen struct {
	strings.Builder
	id    string
	x, y  *scale
	high  int
	lines []stretch // strokes that labels keep clear of
	taken []stretch // room that labels take
	after *stretch  // the waterline after, nil where none is drawn
}

// stretch is a straight line from one corner to the other, or the room between
// the two.
type stretch struct{ x0, y0, x1, y1 int }

// px and py are the places of a figure in the drawing.
func (p *pen) px(v float64) int { return padLeft + p.x.at(v) }
func (p *pen) py(v float64) int { return padTop + p.high - p.y.at(v) }

func (p *pen) put(format string, args ...any) { fmt.Fprintf(p, format, args...) }

// clash is how badly a label's room is crossed: by other labels first of all.
func (p *pen) clash(r stretch) int {
	const level, upright, label, outside = 1, 2, 4, 4
	n := 0
	for _, o := range p.taken {
		if r.x0 < o.x1 && o.x0 < r.x1 && r.y0 < o.y1 && o.y0 < r.y1 {
			n += label
		}
	}
	for _, l := range p.lines {
		const steps = 40
		for i := range steps + 1 {
			x, y := l.x0+(l.x1-l.x0)*i/steps, l.y0+(l.y1-l.y0)*i/steps
			if r.x0 <= x && x <= r.x1 && r.y0 <= y && y <= r.y1 {
				if n += level; l.x0 == l.x1 {
					n += upright - level
				}
				break
			}
		}
	}
	if r.x0 < padLeft || r.x1 > padLeft+plotWidth || r.y0 < 0 {
		n += outside
	}
	return n
}

// spot is a place for a label.
type spot struct {
	anchor string
	x, y   int
}

// free puts a label where it is least crossed; the first place is the best of
// those as good.
func (p *pen) free(class, label string, spots []spot) {
	best, least := spots[0], math.MaxInt
	for _, s := range spots {
		if n := p.clash(roomOf(s.anchor, s.x, s.y, label)); n < least {
			best, least = s, n
		}
	}
	p.text(class, best.anchor, best.x, best.y, label)
}

// point names a point, on the side of it where there is most room.
func (p *pen) point(x, y int, label string) {
	p.free("l-mark", label, []spot{
		{"start", x + 7, y - 6}, {"start", x + 8, y + 5}, {"end", x - 7, y - 6}, {"end", x - 8, y + 5},
		{"start", x + 5, y + 17}, {"end", x - 5, y + 17}, {"start", x + 5, y + 28},
	})
}

// roomOf is the room of a label.
func roomOf(anchor string, x, y int, label string) stretch {
	n := wideOf(label)
	switch anchor {
	case "middle":
		x -= n / 2
	case "end":
		x -= n
	}
	return stretch{x, y - 11, x + n, y + 3}
}

// text puts a label at a point.
func (p *pen) text(class, anchor string, x, y int, label string) {
	if label != "" {
		p.taken = append(p.taken, roomOf(anchor, x, y, label))
		p.put(`<text class="%s" text-anchor="%s" x="%d" y="%d">%s</text>`, class, anchor, x, y, symbolled(label))
	}
}

// sideLabel waits for its place to the right of the drawing.
type sideLabel struct {
	y, at int
	text  string
}

// picture draws the pieces of a sketch.
func (v View) picture(id, title string, pieces []piece) *Picture {
	var xs, ys []float64
	for _, s := range pieces {
		xs, ys = append(xs, s.X0, s.X1), append(ys, s.Y0, s.Y1)
	}
	p := &pen{id: id}
	// The shape of the thing where that can be, but never a sliver.
	wide, tall := slices.Max(xs)-slices.Min(xs), slices.Max(ys)-slices.Min(ys)
	p.high = 150
	if wide > 0 && !math.IsNaN(tall/wide) {
		p.high = int(min(190, max(130, plotWidth*tall/wide)))
	}
	p.x, p.y = newScale(xs, plotWidth, 6), newScale(ys, p.high, 11)
	width, height := padLeft+plotWidth+padRight, padTop+p.high+padBottom

	for _, s := range pieces {
		x0, x1, y0, y1 := p.px(s.X0), p.px(s.X1), p.py(s.Y0), p.py(s.Y1)
		switch {
		case s.Kind == "line" && s.Style != "dimension":
			p.lines = append(p.lines, stretch{x0, y0, x1, y1})
			if s.Style == "waterline-after" {
				p.after = &stretch{x0, y0, x1, y1}
			}
		case s.Kind == "line" && x0 == x1:
			p.taken = append(p.taken, stretch{x0 - 5, min(y0, y1), x0 + 6, max(y0, y1)})
		case s.Kind == "rect":
			p.lines = append(p.lines, stretch{x0, y0, x0, y1}, stretch{x1, y0, x1, y1}, stretch{x0, y0, x1, y0}, stretch{x0, y1, x1, y1})
		case s.Kind == "mark" && s.Style == "":
			p.taken = append(p.taken, stretch{x0 - 3, y0 - 3, x0 + 3, y0 + 3})
		}
	}
	var side []sideLabel
	var says []string
	for _, s := range pieces {
		side = append(side, p.set(s)...)
		if s.Label != "" {
			says = append(says, s.Label)
		}
	}
	p.beside(side)

	var b strings.Builder
	fmt.Fprintf(&b, `<svg class="sketch" role="img" aria-labelledby="%[1]s-t %[1]s-d" viewBox="0 0 %[2]d %[3]d"><title id="%[1]s-t">%[4]s</title><desc id="%[1]s-d">%[5]s</desc>`,
		id, width, height, template.HTMLEscapeString(title), template.HTMLEscapeString(v.describe(pieces, says)))
	b.WriteString(patterns(id))
	b.WriteString(p.String())
	b.WriteString("</svg>")
	return &Picture{ID: id, Title: title, Says: strings.Join(says, "; "), SVG: template.HTML(b.String()), Legend: v.strokesOf(id, pieces)}
}

// patterns are the hatchings, named for the drawing they stand in.
func patterns(id string) string {
	return fmt.Sprintf(`<defs><pattern id="%[1]s-hatch" width="7" height="7" patternUnits="userSpaceOnUse" patternTransform="rotate(45)"><path class="hatch" d="M0 0V7"/></pattern>`+
		`<pattern id="%[1]s-dots" width="8" height="8" patternUnits="userSpaceOnUse"><circle class="dot" cx="2" cy="2" r="1"/></pattern></defs>`, id)
}

// set draws one piece and returns labels that belong at the side.
func (p *pen) set(s piece) []sideLabel {
	x0, x1, y0, y1 := p.px(s.X0), p.px(s.X1), p.py(s.Y0), p.py(s.Y1)
	class := "s-" + s.Style
	if s.Style == "" {
		class = "s-plain"
	}
	switch {
	case s.Kind == "rect":
		fill := ""
		switch s.Style {
		case "flooded":
			fill = fmt.Sprintf(` fill="url(#%s-hatch)"`, p.id)
		case "intact", "sea":
			fill = fmt.Sprintf(` fill="url(#%s-dots)"`, p.id)
		}
		if l, r := p.surface(s.Style, x0, y1), p.surface(s.Style, x1, y1); l != y1 || r != y1 {
			p.put(`<path class="%s"%s d="M%d %dV%dL%d %dV%dz"/>`, class, fill, x0, y0, l, x1, r, y0)
		} else {
			p.put(`<rect class="%s"%s x="%d" y="%d" width="%d" height="%d"/>`, class, fill, x0, y1, x1-x0, y0-y1)
		}
		switch {
		case s.Label == "":
		case wideOf(s.Label) < x1-x0-6:
			// near the top: the middle of an area is where its centre is marked
			p.text("l-in", "middle", (x0+x1)/2, min((y0+y1)/2+4, y1+18), s.Label)
		default:
			// A label too long for its rectangle stands beside it.
			p.free("l-in", s.Label, []spot{
				{"start", x1 + 6, y1 + 15}, {"end", x0 - 6, y1 + 15}, {"start", x1 + 6, y0 - 5}, {"end", x0 - 6, y0 - 5},
				{"middle", (x0 + x1) / 2, y1 - 6}, {"middle", (x0 + x1) / 2, y0 + 15},
			})
		}
	case s.Kind == "mark" && s.Style != "":
		// what an area is, not a point
		var spots []spot
		for _, dy := range []int{0, 14, -14} {
			for _, dx := range []int{0, 12, -12, 25, -25, 38, -38, 50, -50} {
				spots = append(spots, spot{"middle", x0 + dx, y0 + 4 + dy})
			}
		}
		p.free("l-in", s.Label, spots)
	case s.Kind == "mark":
		p.put(`<circle class="s-point" cx="%d" cy="%d" r="2.5"/>`, x0, y0)
		if x0 > padLeft+plotWidth-40 {
			return []sideLabel{{y: y0, text: s.Label}}
		}
		p.point(x0, y0, s.Label)
	case s.Style == "dimension":
		p.measure(x0, y0, x1, y1, s.Label)
	default:
		p.put(`<line class="%s" x1="%d" y1="%d" x2="%d" y2="%d"/>`, class, x0, y0, x1, y1)
		if s.Style == "waterline-before" && y0 == y1 {
			// the mark of a free surface
			p.put(`<path class="s-surface" d="M%d %dh10l-5 7z"/>`, x0+3, y0-8)
		}
		if s.Label == "" {
			break
		}
		if x0 == x1 {
			p.text("l-mark", "middle", x0, min(y0, y1)-3, s.Label)
			break
		}
		right := y1
		if x0 > x1 {
			right = y0
		}
		return []sideLabel{{y: right, text: s.Label}}
	}
	return nil
}

// surface is where an area ends at its top at x: a flooded one no higher than
// the waterline after.
func (p *pen) surface(style string, x, top int) int {
	if style != "flooded" || p.after == nil || p.after.x0 == p.after.x1 {
		return top
	}
	return max(top, p.after.y0+(x-p.after.x0)*(p.after.y1-p.after.y0)/(p.after.x1-p.after.x0))
}

// symbolled sets the symbol of a measure aslant: an l is no one.
func symbolled(label string) string {
	if symbol, figure, ok := strings.Cut(label, " "); ok && len(symbol) == 1 {
		return `<tspan font-style="italic">` + template.HTMLEscapeString(symbol) + `</tspan> ` + template.HTMLEscapeString(figure)
	}
	return template.HTMLEscapeString(label)
}

// wideOf is about how wide a label is.
func wideOf(label string) int { return 62 * len([]rune(label)) / 10 }

// measure draws a measure between two end strokes, open where its label stands.
func (p *pen) measure(x0, y0, x1, y1 int, label string) {
	if x0 == x1 {
		// its label is turned to lie along it
		y0, y1 = min(y0, y1), max(y0, y1)
		middle, half := (y0+y1)/2, wideOf(label)/2+5
		if y1-y0 > 2*half+8 {
			p.put(`<path class="s-dimension" d="M%d %dV%dM%d %dV%d"/>`, x0, y0, middle-half, x0, middle+half, y1)
		} else {
			p.put(`<path class="s-dimension" d="M%d %dV%d"/>`, x0, y0, y1)
			x0 += 11
		}
		p.put(`<text class="l-dim" text-anchor="middle" transform="translate(%d %d) rotate(-90)">%s</text>`, x0+4, middle, symbolled(label))
		p.put(`<path class="s-dimension" d="M%d %dh8M%d %dh8"/>`, x1-4, y0, x1-4, y1)
		p.taken = append(p.taken, stretch{x0 - 8, middle - half, x0 + 6, middle + half})
		return
	}
	x0, x1 = min(x0, x1), max(x0, x1)
	middle, half := (x0+x1)/2, wideOf(label)/2+5
	fits := x1-x0 > 2*half+12
	switch {
	case fits && label != "":
		p.put(`<path class="s-dimension" d="M%d %dH%dM%d %dH%d"/>`, x0, y0, middle-half, middle+half, y0, x1)
		p.text("l-dim", "middle", middle, y0+4, label)
	default:
		p.put(`<path class="s-dimension" d="M%d %dH%d"/>`, x0, y0, x1)
		// beside a short measure, on the side where there is room
		if x1+2*half > padLeft+plotWidth {
			p.text("l-dim", "end", x0-6, y0+4, label)
		} else {
			p.text("l-dim", "start", x1+6, y0+4, label)
		}
	}
	p.put(`<path class="s-dimension" d="M%d %dv8M%d %dv8"/>`, x0, y0-4, x1, y1-4)
}

// beside sets labels to the right of the drawing, each by its line, none over
// another. One that is too long goes on below.
func (p *pen) beside(labels []sideLabel) {
	slices.SortStableFunc(labels, func(a, b sideLabel) int { return a.y - b.y })
	room := func(l sideLabel) int { return lineRoom * len(l.rows()) }
	// From the top down each takes the next free place; then a crowd moves up
	// together by half of what it was pushed down, as far as there is room.
	free := 6
	for from := 0; from < len(labels); {
		to, at := from, max(free, labels[from].y)
		top := at
		for to < len(labels) && (to == from || labels[to].y < at) {
			labels[to].at = at
			at += room(labels[to])
			to++
		}
		up := min((labels[to-1].at-labels[to-1].y)/2, top-free)
		for i := from; i < to; i++ {
			labels[i].at -= max(0, up)
		}
		free = at - max(0, up)
		from = to
	}
	edge := padLeft + plotWidth
	for _, l := range labels {
		p.put(`<path class="s-lead" d="M%d %dL%d %d"/>`, edge+1, l.y, edge+8, l.at)
		for i, row := range l.rows() {
			p.text("l-side", "start", edge+11, l.at+4+(lineRoom-2)*i, row)
		}
	}
}

// rows cuts a label for the side where it is too long for one row.
func (l sideLabel) rows() []string {
	var out []string
	row := ""
	for _, word := range strings.Fields(l.text) {
		switch {
		case row == "":
			row = word
		case wideOf(row+" "+word) > padRight-8:
			out, row = append(out, row), word
		default:
			row += " " + word
		}
	}
	return append(out, row)
}

// describe puts a drawing into words for who can't see it.
func (v View) describe(pieces []piece, says []string) string {
	var what []string
	for _, s := range pieces {
		if m := v.Means[s.Style]; m != "" && !slices.Contains(what, m) {
			what = append(what, m)
		}
	}
	text := "A sketch of " + and(what) + "."
	if len(says) > 0 {
		text += " Labels: " + strings.Join(says, "; ") + "."
	}
	return text
}

func and(words []string) string {
	if n := len(words); n > 1 {
		return strings.Join(words[:n-1], ", ") + " and " + words[n-1]
	}
	return strings.Join(words, "")
}

// strokesOf makes the legend of a drawing.
func (v View) strokesOf(id string, pieces []piece) []Stroke {
	var out []Stroke
	seen := map[string]bool{"hull": true, "dimension": true, "": true}
	for _, s := range pieces {
		m := v.Means[s.Style]
		if m == "" || seen[s.Style] || s.Kind == "mark" {
			continue
		}
		seen[s.Style] = true
		sample := fmt.Sprintf(`<line class="s-%s" x1="0" y1="6" x2="34" y2="6"/>`, s.Style)
		if s.Kind == "rect" {
			pattern := "hatch"
			if s.Style != "flooded" {
				pattern = "dots"
			}
			sample = fmt.Sprintf(`<rect class="s-%s" fill="url(#%s-%s)" x="1" y="1" width="32" height="10"/>`, s.Style, id, pattern)
		}
		out = append(out, Stroke{m, template.HTML(`<svg class="swatch" viewBox="0 0 34 12" aria-hidden="true" focusable="false">` + sample + `</svg>`)})
	}
	return out
}
