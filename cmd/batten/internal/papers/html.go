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
pre { font: 9pt/1.15 "DejaVu Sans Mono", Menlo, Consolas, monospace; overflow-x: auto; }
.scroll { overflow-x: auto; }
.faint { font-size: .9em; color: #444; font-style: italic; }
.field { margin: .8em 0; } .field span { display: inline-block; min-width: 20rem; border-bottom: 1px solid #333; }
.room div { border-bottom: 1px solid #ccc; height: 1.9em; }
hr.page { border: 0; border-top: 3px double #999; margin: 3em 0; }
@page { size: A4; margin: 18mm 16mm; }
@media print {
  body { max-width: none; margin: 0; padding: 0; font-size: 10pt; }
  hr.page { break-after: page; border: 0; margin: 0; }
  table { font-size: 8.5pt; line-height: 1.3; } pre { font-size: 7.5pt; }
  tr, pre, .field { break-inside: avoid; } h1, h2, h3 { break-after: avoid; } thead { display: table-header-group; }
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
			fmt.Fprintf(&b, "<pre>%s</pre>\n", html.EscapeString(x.text))
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
