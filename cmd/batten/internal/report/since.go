package report

import (
	"fmt"
	"io"
	"strings"

	"batten/cmd/batten/internal/class"
	"batten/cmd/batten/internal/overrule"
	"batten/cmd/batten/internal/show"
)

// mostListed bounds a list on a terminal; the sheets hold the whole.
const mostListed = 30

// Since prints what changed since the last run, which scripts want a person's
// eye, and which pages could not be written.
func Since(w io.Writer, c *class.Class) error {
	p := &printing{w: w}
	if len(c.Unwritten) > 0 {
		p.line("Marked, but not written")
		for i, u := range c.Unwritten {
			if i == mostListed {
				p.item(fmt.Sprintf("and %d more", len(c.Unwritten)-i))
				break
			}
			p.item(u.Script + ": " + u.Reason)
		}
		p.line("")
	}
	if c.Again() {
		p.changes(c)
	}
	eye := 0
	for _, r := range c.Rows {
		if len(r.Eye) > 0 {
			eye++
		}
	}
	if eye > 0 {
		p.line(fmt.Sprintf("%s a person's eye: class.html says why.", map[bool]string{true: "One script wants", false: fmt.Sprint(eye, " scripts want")}[eye == 1]))
	}
	return p.err
}

type printing struct {
	w   io.Writer
	err error
}

func (p *printing) line(s string) {
	if p.err == nil {
		_, p.err = fmt.Fprintln(p.w, s)
	}
}

func (p *printing) item(s string) {
	for i, l := range show.Wrap(s, show.Columns-4) {
		if i == 0 {
			p.line("  – " + l)
		} else {
			p.line("    " + l)
		}
	}
}

func (p *printing) changes(c *class.Class) {
	fresh, other := 0, 0
	for _, ch := range c.Changes {
		if ch.From == "" {
			fresh++
		} else {
			other++
		}
	}
	var parts []string
	for _, x := range []struct {
		n    int
		what string
	}{{fresh, "new"}, {other, "changed"}, {len(c.Gone), "gone"}, {c.Redone, "marked again"}, {c.Taken, "as before"}} {
		if x.n > 0 {
			parts = append(parts, fmt.Sprintf("%d %s", x.n, x.what))
		}
	}
	p.line("Since the last run: " + strings.Join(parts, ", ") + ".")
	for i, ch := range c.Changes {
		if i == mostListed {
			p.item(fmt.Sprintf("and %d more", len(c.Changes)-i))
			break
		}
		switch {
		case ch.From == "":
			p.item(fmt.Sprintf("%s: new, %s", ch.Script, ch.To))
		case ch.From == ch.To:
			p.item(fmt.Sprintf("%s: %s; marks as before, %s", ch.Script, ch.What, ch.To))
		default:
			p.item(fmt.Sprintf("%s: %s; marks %s, now %s", ch.Script, ch.What, ch.From, ch.To))
		}
	}
	for i, g := range c.Gone {
		if i == mostListed {
			p.item(fmt.Sprintf("and %d more gone", len(c.Gone)-i))
			break
		}
		p.item(g + ": gone; its page is left")
	}
	p.line("")
}

// Word prints what a marker changed in one script.
func Word(w io.Writer, o *overrule.Outcome) error {
	if o == nil {
		return nil
	}
	p := &printing{w: w}
	p.line("")
	p.line("The marker's word, which stands in the marks above")
	for _, d := range wordDone(o) {
		p.item(d)
	}
	for _, l := range o.Lost {
		p.item("Met nothing: " + l)
	}
	return p.err
}
