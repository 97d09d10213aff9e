package report

import (
	"fmt"
	"io"
	"net/url"
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
		says := "."
		if c.Reported {
			says = ": class.html says why."
		}
		p.line(map[bool]string{true: "One script wants", false: fmt.Sprint(eye, " scripts want")}[eye == 1] + " a person's eye" + says)
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
	p.line("Since the last run: " + strings.Join(c.Tallied(), ", ") + ".")
	for i := range c.Changes {
		if i == mostListed {
			p.item(fmt.Sprintf("and %d more", len(c.Changes)-i))
			break
		}
		p.item(c.Changes[i].Row.Script + ": " + c.Changes[i].Words())
	}
	for i, g := range c.Gone {
		if i == mostListed {
			p.item(fmt.Sprintf("and %d more gone", len(c.Gone)-i))
			break
		}
		p.item(g.Script + ": " + gone(g))
	}
	p.line("")
}

// sinceView is what changed since the last run, as the report on the class
// lists it.
type sinceView struct {
	When, Tally string
	Changes     []changeView
	Gone        []string
	More        int // changes that are not listed
}

type changeView struct{ Who, Script, Page, Words string }

// newSince is nil where there was no earlier run.
func newSince(c *class.Class) *sinceView {
	if !c.Again() {
		return nil
	}
	const most = 100 // the mark sheets hold the whole
	v := &sinceView{Tally: strings.Join(c.Tallied(), ", ")}
	if !c.Last.IsZero() {
		v.When = c.Last.Local().Format("2 January 2006, 15:04")
	}
	for i := range c.Changes {
		if i == most {
			v.More = len(c.Changes) - i
			break
		}
		r := c.Changes[i].Row
		ch := changeView{Who: show.Clean(r.Called()), Script: show.Clean(r.File()), Words: show.Clean(c.Changes[i].Words())}
		if r.Marked() {
			ch.Page = pageOf(r)
		}
		v.Changes = append(v.Changes, ch)
	}
	for i, g := range c.Gone {
		if i == most {
			v.Gone = append(v.Gone, fmt.Sprintf("and %d more", len(c.Gone)-i))
			break
		}
		v.Gone = append(v.Gone, show.Clean(g.Script)+": "+gone(g))
	}
	return v
}

// pageOf is the way from the report on the class to a student's page.
func pageOf(r *class.Row) string {
	if r.Key == "" {
		return ""
	}
	return (&url.URL{Path: "feedback/" + r.Key + ".html"}).String()
}

func gone(g class.Departed) string {
	if g.Page {
		return "gone; its page is left"
	}
	return "gone"
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
