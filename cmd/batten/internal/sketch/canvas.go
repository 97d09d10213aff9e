package sketch

import (
	"strings"

	"github.com/mattn/go-runewidth"
)

// stroke is how a style is drawn: the characters of its level and upright
// lines, and what fills it where it is a rectangle.
type stroke struct {
	level, upright rune
	gap            bool // every other character of a line stays open
	fill           rune
}

var strokes = map[string]stroke{
	"hull":             {level: '─', upright: '│'},
	"sea":              {level: '·', upright: '·'},
	"waterline-before": {level: '-', upright: '╎', gap: true},
	"waterline-after":  {level: '~', upright: '~'},
	"flat":             {level: '━', upright: '┃'},
	"flooded":          {level: '░', upright: '░', fill: '░'},
	"intact":           {level: '╌', upright: '╎'},
	"dimension":        {level: '─', upright: '│'},
	"axis":             {level: '·', upright: '·', gap: true},
}

// canvas is the picture in the making. Row 0 is the lowest.
type canvas struct {
	x, y  *scale
	cells [][]rune
	side  []string // labels to the right of the rows
	after *shape   // the waterline after, nil where none is drawn
}

func newCanvas(shapes []*shape) *canvas {
	var xs, ys []float64
	for _, s := range shapes {
		if s.Kind == "mark" {
			continue
		}
		xs, ys = append(xs, s.x0, s.x1), append(ys, s.y0, s.y1)
	}
	if len(xs) == 0 {
		for _, s := range shapes {
			xs, ys = append(xs, s.x0), append(ys, s.y0)
		}
	}
	c := &canvas{x: newScale(xs, width-1, apartX), y: newScale(ys, height-1, apartY)}
	c.cells = make([][]rune, height)
	for i := range c.cells {
		c.cells[i] = []rune(strings.Repeat(" ", width))
	}
	c.side = make([]string, height)
	for _, s := range shapes {
		if s.Kind == "line" && s.Style == "waterline-after" {
			c.after = s
		}
	}
	return c
}

func (c *canvas) set(x, y int, r rune) {
	if y >= 0 && y < len(c.cells) && x >= 0 && x < len(c.cells[y]) {
		c.cells[y][x] = r
	}
}

// draw draws the strokes of a shape.
func (c *canvas) draw(s *shape) {
	x0, y0, x1, y1 := c.x.at(s.x0), c.y.at(s.y0), c.x.at(s.x1), c.y.at(s.y1)
	st, ok := strokes[s.Style]
	if !ok {
		st = stroke{level: '─', upright: '│'}
	}
	switch {
	case s.Kind == "rect" && st.fill != 0:
		for x := x0; x <= x1; x++ {
			for y := y0; y <= min(y1, c.surface(s, x, y1)); y++ {
				c.set(x, y, st.fill)
			}
		}
	case s.Kind == "rect":
		c.box(x0, y0, x1, y1, st)
	case s.Kind == "line" && s.Style == "dimension":
		c.dimension(s, x0, y0, x1, y1)
	case s.Kind == "line":
		c.line(s, x0, y0, x1, y1, st)
	}
}

// name sets a shape's label, once all strokes are drawn.
func (c *canvas) name(s *shape) {
	if s.label == "" {
		return
	}
	x0, y0, x1, y1 := c.x.at(s.x0), c.y.at(s.y0), c.x.at(s.x1), c.y.at(s.y1)
	n := runewidth.StringWidth(s.label)
	middle, half := (x0+x1+1)/2, (y0+y1)/2
	switch {
	case s.Kind == "rect":
		if n <= x1-x0-1 {
			c.write(middle-n/2, half, s.label)
		} else {
			c.near(x0, x1, half, s.label)
		}
	case s.Kind == "line" && s.Style == "dimension":
		if s.upright() && c.free(x0+1, half, n) {
			c.write(x0, half, s.label)
		} else if s.upright() || n > abs(x1-x0)-1 {
			c.near(min(x0, x1), max(x0, x1), half, s.label)
		} else {
			c.write(middle-n/2, half, s.label)
		}
	case s.Kind == "line" && s.level():
		c.beside(y0, s.label)
	case s.Kind == "line" && s.upright():
		c.near(x0, x0, max(y0, y1), s.label)
	case s.Kind == "line": // a slope is named at its right end
		if x1 < x0 {
			y1 = y0
		}
		c.beside(y1, s.label)
	case n <= 2: // a letter stands on its very point
		c.write(x0-n/2, y0, s.label)
	default:
		c.near(x0, x0, y0, s.label)
	}
}

// surface is the row up to which a flooded area reaches in a column: no higher
// than the waterline after.
func (c *canvas) surface(s *shape, x, top int) int {
	if s.Style != "flooded" || c.after == nil {
		return top
	}
	x0, x1, y0, y1 := c.x.at(c.after.x0), c.x.at(c.after.x1), c.y.at(c.after.y0), c.y.at(c.after.y1)
	if x0 == x1 {
		return top
	}
	return y0 + round(float64(x-x0)*float64(y1-y0)/float64(x1-x0))
}

func (c *canvas) box(x0, y0, x1, y1 int, st stroke) {
	for x := x0; x <= x1; x++ {
		c.set(x, y0, st.level)
		c.set(x, y1, st.level)
	}
	for y := y0; y <= y1; y++ {
		c.set(x0, y, st.upright)
		c.set(x1, y, st.upright)
	}
	if st.level == '─' && x1 > x0 && y1 > y0 {
		c.set(x0, y0, '└')
		c.set(x1, y0, '┘')
		c.set(x0, y1, '┌')
		c.set(x1, y1, '┐')
	}
}

// line draws a straight line; one that is neither level nor upright goes by
// steps.
func (c *canvas) line(s *shape, x0, y0, x1, y1 int, st stroke) {
	n := max(abs(x1-x0), abs(y1-y0), 1)
	for i := 0; i <= n; i++ {
		if st.gap && (i%2 == 1) {
			continue
		}
		x := x0 + round(float64(i)*float64(x1-x0)/float64(n))
		y := y0 + round(float64(i)*float64(y1-y0)/float64(n))
		if s.upright() {
			c.set(x, y, st.upright)
		} else {
			c.set(x, y, st.level)
		}
	}
}

// dimension draws a measure between its end strokes, its label in the middle.
func (c *canvas) dimension(s *shape, x0, y0, x1, y1 int) {
	if s.upright() {
		for y := min(y0, y1); y <= max(y0, y1); y++ {
			c.set(x0, y, '│')
		}
		c.set(x0, max(y0, y1), '┬')
		c.set(x0, min(y0, y1), '┴')
		return
	}
	for x := min(x0, x1); x <= max(x0, x1); x++ {
		c.set(x, y0, '─')
	}
	c.set(min(x0, x1), y0, '├')
	c.set(max(x0, x1), y0, '┤')
}

// write sets a label from a column on, over whatever stands there.
func (c *canvas) write(x, y int, label string) {
	for i, r := range []rune(label) {
		c.set(x+i, y, r)
	}
}

// near sets a label close to the stretch from x0 to x1 of a row, where no
// stroke stands in its way; to the right of the picture where there is no
// such place.
func (c *canvas) near(x0, x1, y int, label string) {
	n := runewidth.StringWidth(label)
	for _, row := range []int{y, y + 1, y - 1} {
		columns := []int{x1 + 2, x0 - n - 1}
		if row != y {
			columns = append([]int{(x0 + x1 + 1 - n) / 2}, columns...)
		}
		for _, x := range columns {
			if c.free(x-1, row, n+2) {
				c.write(x, row, label)
				return
			}
		}
	}
	c.beside(y, label)
}

// free tells whether a stretch of a row is open: blank, or crossed by an axis.
func (c *canvas) free(x, y, n int) bool {
	if y < 0 || y >= len(c.cells) || x < -1 || x+n > width+1 {
		return false
	}
	for i := max(0, x); i < min(width, x+n); i++ {
		if r := c.cells[y][i]; r != ' ' && r != strokes["axis"].level {
			return false
		}
	}
	return true
}

// beside puts a label to the right of a row. One that is too long for the page
// goes on beside the next row down, from its last comma that fits.
func (c *canvas) beside(y int, label string) {
	if y < 0 || y >= len(c.side) {
		return
	}
	if c.side[y] != "" {
		label = c.side[y] + ", " + label
	}
	c.side[y] = label
	const room = page - width - 2
	if runewidth.StringWidth(label) <= room || y == 0 || c.side[y-1] != "" {
		return
	}
	for i := len(label) - 1; i > 0; i-- {
		if strings.HasPrefix(label[i:], ", ") && runewidth.StringWidth(label[:i+1]) <= room {
			c.side[y], c.side[y-1] = label[:i+1], label[i+2:]
			return
		}
	}
}

// rows returns the picture from the top down.
func (c *canvas) rows() []string {
	var out []string
	for y := len(c.cells) - 1; y >= 0; y-- {
		row := string(c.cells[y])
		if c.side[y] != "" {
			row += "  " + runewidth.Truncate(c.side[y], page-width-2, "…")
		}
		out = append(out, strings.TrimRight(row, " "))
	}
	for len(out) > 0 && out[0] == "" {
		out = out[1:]
	}
	for len(out) > 0 && out[len(out)-1] == "" {
		out = out[:len(out)-1]
	}
	return out
}

// legend lists the strokes that stand in the picture, once each.
func (v View) legend(shapes []*shape) []Entry {
	var out []Entry
	seen := map[string]bool{}
	for _, s := range shapes {
		st := strokes[s.Style]
		if s.Kind == "mark" || v.Means[s.Style] == "" || s.Style == "hull" || seen[s.Style] {
			continue
		}
		seen[s.Style] = true
		r := st.level
		if st.fill != 0 {
			r = st.fill
		}
		sample := strings.Repeat(string(r), 4)
		if st.gap {
			sample = string([]rune{r, ' ', r, ' '})
		}
		out = append(out, Entry{sample, v.Means[s.Style]})
	}
	return out
}

func abs(n int) int {
	if n < 0 {
		return -n
	}
	return n
}

func round(x float64) int {
	if x < 0 {
		return -int(-x + 0.5)
	}
	return int(x + 0.5)
}
