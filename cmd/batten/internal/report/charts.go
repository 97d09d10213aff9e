package report

import (
	"fmt"
	"html/template"
	"math"
	"strings"

	"batten/cmd/batten/internal/class"
	"batten/cmd/batten/internal/show"
)

// drawing collects the pieces of an SVG.
type drawing struct {
	b    strings.Builder
	w, h float64
}

func newDrawing(w, h float64, label string) *drawing {
	d := &drawing{w: w, h: h}
	fmt.Fprintf(&d.b, `<svg viewBox="0 0 %g %g" width="%g" height="%g" role="img" aria-label="%s">`, w, h, w, h, template.HTMLEscapeString(label))
	return d
}

func (d *drawing) rect(x, y, w, h float64, look string) {
	fmt.Fprintf(&d.b, `<rect x="%.1f" y="%.1f" width="%.1f" height="%.1f" class="%s"/>`, x, y, max(0, w), max(0, h), look)
}

func (d *drawing) line(x0, y0, x1, y1 float64, look string) {
	fmt.Fprintf(&d.b, `<line x1="%.1f" y1="%.1f" x2="%.1f" y2="%.1f" class="%s"/>`, x0, y0, x1, y1, look)
}

func (d *drawing) text(x, y float64, look, anchor, s string) {
	fmt.Fprintf(&d.b, `<text x="%.1f" y="%.1f" class="%s" text-anchor="%s">%s</text>`, x, y, look, anchor, template.HTMLEscapeString(s))
}

// hatch fills a box with strokes that lean: what went wrong, on any printer.
func (d *drawing) hatch(x, y, w, h float64, look string) {
	const apart = 4
	for c := math.Ceil((x - h) / apart); c*apart < x+w; c++ {
		x0, y0, x1, y1 := c*apart, y+h, c*apart+h, y
		if x0 < x {
			y0 -= x - x0
			x0 = x
		}
		if x1 > x+w {
			y1 += x1 - (x + w)
			x1 = x + w
		}
		if x1 > x0 {
			d.line(x0, y0, x1, y1, look)
		}
	}
	d.rect(x, y, w, h, look+"-edge")
}

func (d *drawing) html() template.HTML { return template.HTML(d.b.String() + "</svg>") }

// bin is a stretch of marks and how many scripts lie in it.
type bin struct {
	Label string
	N     int
}

// bins spreads marks out of full over some ten stretches of whole marks; full
// marks are a stretch of their own.
func bins(marks []float64, full float64) []bin {
	step := 1.0
	for _, s := range []float64{1, 2, 5, 10, 20, 50, 100} {
		step = s
		if full/s <= 12 {
			break
		}
	}
	n := int(math.Ceil(full/step - 1e-9))
	if n < 1 {
		n = 1
	}
	out := make([]bin, n+1)
	for i := range n {
		lo, hi := float64(i)*step, math.Min(float64(i+1)*step, full)
		switch {
		case step == 1:
			out[i].Label = show.Figure(lo, 0)
		case hi-1 <= lo:
			out[i].Label = show.Figure(lo, 0)
		default:
			out[i].Label = show.Figure(lo, 0) + "–" + show.Figure(hi-1, 0)
		}
	}
	out[n].Label = show.Figure(full, 2)
	for _, m := range marks {
		i := n
		if m < full-1e-9 {
			i = min(n-1, max(0, int(m/step)))
		}
		out[i].N++
	}
	return out
}

// mostSquares is the highest column that is drawn script by script.
const mostSquares = 30

// marksPlot draws the distribution: a square for each script, or a bar where
// there are too many to count by eye.
func marksPlot(marks []float64, full, median float64) template.HTML {
	bs := bins(marks, full)
	most := 1
	for _, b := range bs {
		most = max(most, b.N)
	}
	const w, left, high, below, top = 720.0, 8.0, 104.0, 22.0, 36.0
	slot := (w - 2*left) / float64(len(bs))
	wide := min(slot*.72, 46)
	d := newDrawing(w, top+high+below, "How many scripts had which marks")
	base := top + high
	unit := high / float64(most)
	squares := most <= mostSquares
	if squares {
		unit = min(unit, 15)
	}
	for i, b := range bs {
		x := left + slot*(float64(i)+.5)
		h := unit * float64(b.N)
		look := "bar"
		if i == len(bs)-1 {
			look = "bar whole"
		}
		if squares {
			for k := range b.N {
				d.rect(x-wide/2, base-unit*float64(k+1)+1, wide, unit-1.6, look)
			}
		} else if b.N > 0 {
			d.rect(x-wide/2, base-h, wide, h, look)
		}
		if b.N > 0 {
			d.text(x, base-h-6, "count", "middle", fmt.Sprint(b.N))
		}
		d.text(x, base+16, "tick", "middle", b.Label)
	}
	d.line(left, base+.5, w-left, base+.5, "axis")
	// The median's place: within its stretch, in proportion.
	step := full / float64(len(bs)-1)
	x := left + slot*min(median/step, float64(len(bs))-.5)
	if median >= full-1e-9 {
		x = left + slot*(float64(len(bs))-.5)
	}
	d.line(x, 4, x, base, "middle")
	anchor, at := "start", x+6
	if x > w*.7 {
		anchor, at = "end", x-6
	}
	d.text(at, 12, "tick", anchor, "half have "+show.Figure(median, 1)+" or more")
	return d.html()
}

// anySquares tells whether marksPlot draws these script by script.
func anySquares(marks []float64, full float64) bool {
	for _, b := range bins(marks, full) {
		if b.N > mostSquares {
			return false
		}
	}
	return true
}

// stepBar draws one step: those still right after it, then those who went wrong
// at it, then those who stopped before it.
func stepBar(s *class.Step, all int) template.HTML {
	const w, h = 270.0, 15.0
	d := newDrawing(w, h, fmt.Sprintf("%d still right, %d went wrong here, %d stopped", s.Standing, s.Fell, s.Stopped))
	per := (w - 1) / float64(max(1, all))
	x := .5
	d.rect(x, 2, per*float64(s.Standing), h-4, "stand")
	x += per * float64(s.Standing)
	if s.Fell > 0 {
		d.hatch(x, 2, per*float64(s.Fell), h-4, "fell")
		x += per * float64(s.Fell)
	}
	if s.Stopped > 0 {
		d.rect(x, 2, per*float64(s.Stopped), h-4, "stopped")
	}
	return d.html()
}

// pair is one part's faults of the two grades.
type pair struct {
	Part, Find                string
	Principal, Clerical       int
	PrincipalCost, ClericalTo float64
}

// pairBar draws marks lost to principal faults beside those lost to clerical
// ones.
func pairBar(p pair, most float64) template.HTML {
	const w, h = 230.0, 26.0
	d := newDrawing(w, h, fmt.Sprintf("%s marks lost to principal faults, %s to clerical ones", show.Figure(p.PrincipalCost, 1), show.Figure(p.ClericalTo, 1)))
	per := (w - 50) / math.Max(most, 1)
	d.rect(.5, 1.5, per*p.PrincipalCost, 10, "principal")
	d.text(per*p.PrincipalCost+6, 11, "count", "start", show.Figure(p.PrincipalCost, 1))
	if p.ClericalTo > 0 {
		d.hatch(.5, 14.5, per*p.ClericalTo, 9, "clerical")
	}
	d.text(per*p.ClericalTo+6, 23.5, "count", "start", show.Figure(p.ClericalTo, 1))
	return d.html()
}
