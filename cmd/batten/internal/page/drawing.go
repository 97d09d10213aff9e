package page

import (
	"fmt"
	"html/template"
	"math"
	"slices"
	"strings"

	"batten/cmd/batten/internal/show"
	"batten/cmd/batten/internal/sketch"
	"batten/solver"
)

// Drawing is a sketch as a page shows it.
type Drawing struct {
	ID, Title, Says string
	SVG             template.HTML
	Legend          []Stroke
}

// Stroke is an entry of a drawing's legend.
type Stroke struct {
	Means string
	SVG   template.HTML
}

// drawings draws the sketches of a question. Where the question alone is shown,
// its labels have no figure that is still to be worked.
func drawings(m *solver.Model, question bool) []Drawing {
	var out []Drawing
	for _, sk := range m.Topic.Sketches {
		prefix := sk.ID
		label := func(l string) string { return show.Filled(m, l) }
		if question {
			prefix += "-q"
			label = func(l string) string { return show.Filled(m, untold(m, l)) }
		}
		if pieces := sketch.Pieces(sk, m, label); len(pieces) > 0 {
			out = append(out, draw(prefix, sk.Title, pieces))
		}
	}
	return out
}

// untold cuts a label before the first figure that the question does not give.
func untold(m *solver.Model, label string) string {
	for at := 0; ; {
		i := strings.IndexByte(label[at:], '{')
		if i < 0 {
			return label
		}
		from := at + i
		n := strings.IndexByte(label[from:], '}')
		if n < 0 {
			return label
		}
		id := label[from+1 : from+n]
		if s := m.Slot(id); s < 0 || !m.Given.Has(s) {
			return strings.TrimRight(label[:from], " ,")
		}
		at = from + n
	}
}

// Size of a drawing, in its own units: letters are 13 high.
const (
	plotWidth = 306
	padLeft   = 10
	padRight  = 104
	padTop    = 14
	padBottom = 12
	lineRoom  = 16 // a row of letters at the side
	letter    = 7  // about what a letter is wide
)

// pen collects the SVG of a drawing.
type pen struct {
	strings.Builder
	id   string
	x, y sketch.Scale
	high int
	near []int // where lines cross the page, for labels to keep clear of
}

// px and py are the places of a figure in the drawing.
func (p *pen) px(v float64) int { return padLeft + p.x.At(v) }
func (p *pen) py(v float64) int { return padTop + p.high - p.y.At(v) }

func (p *pen) put(format string, args ...any) { fmt.Fprintf(p, format, args...) }

// crowded tells whether a line crosses between two heights.
func (p *pen) crowded(from, to int) bool {
	return slices.ContainsFunc(p.near, func(y int) bool { return from <= y && y <= to })
}

// text puts a label at a point.
func (p *pen) text(class, anchor string, x, y int, label string) {
	if label != "" {
		p.put(`<text class="%s" text-anchor="%s" x="%d" y="%d">%s</text>`, class, anchor, x, y, template.HTMLEscapeString(label))
	}
}

// sideLabel waits for its place to the right of the drawing.
type sideLabel struct {
	y, at int
	text  string
}

// draw draws the pieces of a sketch.
func draw(id, title string, pieces []sketch.Piece) Drawing {
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
	p.x, p.y = sketch.NewScale(xs, plotWidth, 6), sketch.NewScale(ys, p.high, 11)
	width, height := padLeft+plotWidth+padRight, padTop+p.high+padBottom

	for _, s := range pieces {
		if s.Kind == "line" && s.Style != "dimension" && s.X0 != s.X1 {
			p.near = append(p.near, (p.py(s.Y0)+p.py(s.Y1))/2)
		}
	}
	var side []sideLabel
	var says []string
	for _, s := range pieces {
		side = append(side, p.piece(s)...)
		if s.Label != "" {
			says = append(says, s.Label)
		}
	}
	p.beside(side)

	var b strings.Builder
	fmt.Fprintf(&b, `<svg class="sketch" role="img" aria-labelledby="%[1]s-t %[1]s-d" viewBox="0 0 %[2]d %[3]d" xmlns="http://www.w3.org/2000/svg"><title id="%[1]s-t">%[4]s</title><desc id="%[1]s-d">%[5]s</desc>`,
		id, width, height, template.HTMLEscapeString(title), template.HTMLEscapeString(describe(pieces, says)))
	b.WriteString(patterns(id))
	b.WriteString(p.String())
	b.WriteString("</svg>")
	return Drawing{ID: id, Title: show.Capital(title), Says: strings.Join(says, "; "), SVG: template.HTML(b.String()), Legend: strokesOf(id, pieces)}
}

// patterns are the hatchings, named for the drawing they stand in.
func patterns(id string) string {
	return fmt.Sprintf(`<defs><pattern id="%[1]s-hatch" width="7" height="7" patternUnits="userSpaceOnUse" patternTransform="rotate(45)"><path class="hatch" d="M0 0V7"/></pattern>`+
		`<pattern id="%[1]s-dots" width="8" height="8" patternUnits="userSpaceOnUse"><circle class="dot" cx="2" cy="2" r="1"/></pattern></defs>`, id)
}

// piece draws one piece and returns labels that belong at the side.
func (p *pen) piece(s sketch.Piece) []sideLabel {
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
		p.put(`<rect class="%s"%s x="%d" y="%d" width="%d" height="%d"/>`, class, fill, x0, y1, x1-x0, y0-y1)
		if s.Label != "" {
			if wideOf(s.Label) < x1-x0-6 {
				// near the top: the middle of an area is where its centre is marked
				p.text("l-in", "middle", (x0+x1)/2, min((y0+y1)/2+4, y1+18), s.Label)
			} else {
				// A label too long for its rectangle stands beside it.
				if x0 > padLeft+plotWidth/2 {
					p.text("l-in", "end", x0-6, y1+15, s.Label)
				} else {
					p.text("l-in", "start", x1+6, y1+15, s.Label)
				}
			}
		}
	case s.Kind == "mark" && s.Style != "":
		// what an area is, not a point
		p.text("l-in", "middle", x0, y0+4, s.Label)
	case s.Kind == "mark":
		p.put(`<circle class="s-point" cx="%d" cy="%d" r="2.5"/>`, x0, y0)
		switch {
		case x0 > padLeft+plotWidth-40:
			return []sideLabel{{y: y0, text: s.Label}}
		case x0 < padLeft+40 || p.crowded(y0-16, y0-1):
			p.text("l-mark", "start", x0+5, y0+17, s.Label)
		default:
			p.text("l-mark", "start", x0+7, y0-6, s.Label)
		}
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
			p.text("l-mark", "start", x0+4, min(y0, y1)+13, s.Label)
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

// wideOf is about how wide a label is.
func wideOf(label string) int { return letter * len([]rune(label)) }

// measure draws a measure between two end strokes, open where its label stands.
func (p *pen) measure(x0, y0, x1, y1 int, label string) {
	if x0 == x1 {
		p.put(`<path class="s-dimension" d="M%d %dL%d %dM%d %dh8M%d %dh8"/>`, x0, y0, x1, y1, x0-4, y0, x0-4, y1)
		p.text("l-dim", "start", x0+7, (y0+y1)/2+4, label)
		return
	}
	x0, x1 = min(x0, x1), max(x0, x1)
	middle, half := (x0+x1)/2, wideOf(label)/2+2
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
func describe(pieces []sketch.Piece, says []string) string {
	var what []string
	for _, s := range pieces {
		if m := sketch.Means(s.Style); m != "" && !slices.Contains(what, m) {
			what = append(what, m)
		}
	}
	text := "A sketch of " + show.And(what) + "."
	if len(says) > 0 {
		text += " Labels: " + strings.Join(says, "; ") + "."
	}
	return text
}

// strokesOf makes the legend of a drawing.
func strokesOf(id string, pieces []sketch.Piece) []Stroke {
	var out []Stroke
	seen := map[string]bool{"hull": true, "dimension": true, "": true}
	for _, s := range pieces {
		m := sketch.Means(s.Style)
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
