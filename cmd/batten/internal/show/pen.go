// Package show sets readings, marks, reference workings and the catalogue of
// faults on a terminal of eighty columns, with colour or without.
//
// It decides nothing: what it prints was found elsewhere, and nothing that it
// prints rests on colour alone.
package show

import (
	"strings"

	"github.com/fatih/color"

	"batten/diagnose"
)

// Columns is the width that everything is set to.
const Columns = 80

// Pen writes in colour or plainly.
type Pen struct{ colour bool }

// NewPen returns a pen that uses colour or does not.
func NewPen(colour bool) Pen { return Pen{colour} }

func (p Pen) ink(s string, attrs ...color.Attribute) string {
	if !p.colour || strings.TrimSpace(s) == "" {
		return s
	}
	c := color.New(attrs...)
	c.EnableColor()
	return c.Sprint(s)
}

func (p Pen) strong(s string) string { return p.ink(s, color.Bold) }
func (p Pen) faint(s string) string  { return p.ink(s, color.Faint) }
func (p Pen) fault(s string) string  { return p.ink(s, color.FgMagenta, color.Bold) }
func (p Pen) right(s string) string  { return p.ink(s, color.FgGreen) }
func (p Pen) carry(s string) string  { return p.ink(s, color.FgCyan) }
func (p Pen) doubt(s string) string  { return p.ink(s, color.FgYellow) }

// verdict colours a margin word after what it says.
func (p Pen) verdict(v diagnose.Verdict, s string) string {
	switch v {
	case diagnose.Holds:
		return p.right(s)
	case diagnose.Follows:
		return p.carry(s)
	case diagnose.Faulty:
		return p.fault(s)
	case diagnose.Unplaced, diagnose.Unread:
		return p.doubt(s)
	}
	return p.faint(s)
}
