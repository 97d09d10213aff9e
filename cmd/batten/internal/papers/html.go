package papers

import (
	"fmt"
	"html"
	"strings"

	"batten/cmd/batten/internal/show"
)

// style sets a paper on the screen and on A4: nothing is fetched from elsewhere,
// and nothing is told by colour alone.
const style = `
:root { color-scheme: light; }
body { font: 11pt/1.45 Georgia, "Times New Roman", serif; color: #1a1a1a; background: #fff; max-width: 46rem; margin: 2rem auto; padding: 0 1rem; }
h1 { font-size: 1.5em; margin: 0 0 .4em; } h2 { font-size: 1.2em; margin: 1.4em 0 .4em; } h3 { font-size: 1.05em; margin: 1.2em 0 .3em; }
table { border-collapse: collapse; width: 100%; margin: .6em 0; }
th, td { text-align: left; vertical-align: top; padding: .2em .6em .2em 0; border-bottom: 1px solid #bbb; }
th { border-bottom: 1px solid #333; } td.figure, th.figure { text-align: right; white-space: nowrap; padding-right: 1em; }
tr.strong td { font-weight: bold; }
figure { margin: 1em 0; } figcaption { font-size: .85em; color: #444; } .stroke { white-space: nowrap; margin-left: 1em; }
.sketch { display: block; width: 100%; max-width: 32rem; height: auto; } .swatch { width: 2.1em; height: .75em; }
.sketch text { font: 13px Georgia, "Times New Roman", serif; fill: #1a1a1a; paint-order: stroke; stroke: #fff; stroke-width: 4px; stroke-linejoin: round; }
.hatch { stroke: #1a1a1a; stroke-width: 1.6; opacity: .75; } .dot, .s-point { fill: #1a1a1a; }
.s-hull, .s-plain { fill: none; stroke: #1a1a1a; stroke-width: 2.2; } .s-flooded { stroke: #1a1a1a; stroke-width: .8; }
.s-flat { stroke: #1a1a1a; stroke-width: 4; } .s-waterline-before { stroke: #28588a; stroke-width: 1.6; stroke-dasharray: 9 5; }
.s-waterline-after { stroke: #28588a; stroke-width: 2.4; } .s-axis { stroke: #666; stroke-width: 1; stroke-dasharray: 14 4 3 4; }
.s-dimension, .s-lead { fill: none; stroke: #555; stroke-width: 1; } .s-surface { fill: none; stroke: #1a1a1a; stroke-width: 1.2; }
.scroll { overflow-x: auto; }
.faint { font-size: .9em; color: #444; font-style: italic; }
.field { margin: .8em 0; } .field span { display: inline-block; min-width: 20rem; border-bottom: 1px solid #333; }
.room div { border-bottom: 1px solid #ccc; height: 1.9em; }
hr.page { border: 0; border-top: 3px double #999; margin: 3em 0; }
@page { size: A4; margin: 18mm 16mm; }
@media print {
  body { max-width: none; margin: 0; padding: 0; font-size: 10pt; }
  hr.page { break-after: page; border: 0; margin: 0; }
  table { font-size: 8.5pt; line-height: 1.3; } .sketch { max-width: 120mm; }
  tr, figure, .field { break-inside: avoid; } h1, h2, h3 { break-after: avoid; } thead { display: table-header-group; }
}
`

// HTML writes the paper as a web page that stands alone.
func (p *Paper) HTML() []byte {
	var b strings.Builder
	fmt.Fprintf(&b, "<!doctype html>\n<html lang=\"en-GB\">\n<head>\n<meta charset=\"utf-8\">\n<meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n<title>%s</title>\n<style>%s</style>\n</head>\n<body>\n<main>\n", escape(p.Title), style)
	for _, x := range p.blocks {
		switch x := x.(type) {
		case heading:
			fmt.Fprintf(&b, "<h%d>%s</h%d>\n", x.level, escape(x.text), x.level)
		case prose:
			class := ""
			if x.faint {
				class = ` class="faint"`
			}
			fmt.Fprintf(&b, "<p%s>%s</p>\n", class, escape(x.text))
		case table:
			x.html(&b)
		case items:
			b.WriteString("<ul>\n")
			for _, t := range x {
				fmt.Fprintf(&b, "<li>%s</li>\n", escape(t))
			}
			b.WriteString("</ul>\n")
		case drawn:
			x.html(&b)
		case field:
			fmt.Fprintf(&b, "<p class=\"field\">%s: <span>&nbsp;</span></p>\n", escape(x.name))
		case room:
			b.WriteString("<div class=\"room\" aria-hidden=\"true\">" + strings.Repeat("<div></div>", x.lines) + "</div>\n")
		case pageEnd:
			b.WriteString("<hr class=\"page\">\n")
		}
	}
	b.WriteString("</main>\n</body>\n</html>\n")
	return []byte(b.String())
}

func (d drawn) html(b *strings.Builder) {
	fmt.Fprintf(b, "<figure>%s\n<figcaption>%s. Not to scale.", d.picture.SVG, escape(d.picture.Title))
	for _, s := range d.picture.Legend {
		fmt.Fprintf(b, " <span class=\"stroke\">%s %s</span>", s.SVG, escape(s.Means))
	}
	b.WriteString("</figcaption></figure>\n")
}

func (t table) html(b *strings.Builder) {
	cell := func(tag string, i int, text string) {
		class := ""
		if t.figures[i] {
			class = ` class="figure"`
		}
		fmt.Fprintf(b, "<%s%s>%s</%[1]s>", tag, class, escape(text))
	}
	b.WriteString("<div class=\"scroll\"><table>\n<thead><tr>")
	for i, h := range t.head {
		cell("th", i, h)
	}
	b.WriteString("</tr></thead>\n<tbody>\n")
	for n, r := range t.rows {
		if t.strong[n] {
			b.WriteString("<tr class=\"strong\">")
		} else {
			b.WriteString("<tr>")
		}
		for i, c := range r {
			cell("td", i, c)
		}
		b.WriteString("</tr>\n")
	}
	b.WriteString("</tbody>\n</table></div>\n")
}

func escape(s string) string { return html.EscapeString(show.Clean(s)) }
