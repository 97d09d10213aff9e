package parse

import (
	"fmt"
	"strings"
)

// Dump writes the script as read, line by line, for tests and for finding out
// why a line was read as it was.
func (s *Script) Dump() string {
	var b strings.Builder
	if s.Name != "" || s.Question != "" {
		fmt.Fprintf(&b, "name %q question %q\n", s.Name, s.Question)
	}
	for i := range s.Lines {
		l := &s.Lines[i]
		kind := [...]string{"aside", "working", "UNREAD"}[l.Kind]
		fmt.Fprintf(&b, "%3d %-7s %q", l.N, kind, l.Text)
		if l.Part != "" {
			fmt.Fprintf(&b, " part=%s", l.Part)
		}
		if l.Heading != "" {
			fmt.Fprintf(&b, " heading=%q", l.Heading)
		}
		if l.Words != "" && l.Words != l.Text {
			fmt.Fprintf(&b, " words=%q", l.Words)
		}
		for _, f := range []struct {
			on   bool
			name string
		}{{l.Doubt, "doubt"}, {l.Withdrawn, "withdrawn"}, {l.WithdrawsAbove, "withdraws-above"}} {
			if f.on {
				b.WriteString(" " + f.name)
			}
		}
		if l.Problem != nil {
			fmt.Fprintf(&b, " problem=%d:%d-%d %q", l.Problem.At.Line, l.Problem.At.From, l.Problem.At.To, l.Problem.Reason)
		}
		b.WriteByte('\n')
		for _, k := range l.Steps {
			if s.Steps[k].Line == l.N {
				fmt.Fprintf(&b, "      #%d %s\n", k, s.Steps[k].dump())
			} else {
				fmt.Fprintf(&b, "      #%d goes on\n", k)
			}
		}
	}
	return b.String()
}

func (s *Step) dump() string {
	var b strings.Builder
	fmt.Fprintf(&b, "[%s]", s.Label)
	if s.Table > 0 {
		fmt.Fprintf(&b, " table %d r%d c%d row=%q column=%q", s.Table, s.TableRow, s.TableCol, s.Row, s.Column)
	}
	for i := range s.Sides {
		d := &s.Sides[i]
		sign := " = "
		if d.Approx {
			sign = " ≈ "
		}
		b.WriteString(sign)
		b.WriteString(d.Expr.String())
		if d.Unit != nil {
			fmt.Fprintf(&b, " {%s}", d.Unit.Text)
		}
		fmt.Fprintf(&b, " @%d:%d-%d", d.At.Line, d.At.From, d.At.To)
	}
	if s.Words != "" {
		fmt.Fprintf(&b, " words=%q", s.Words)
	}
	if s.Withdrawn {
		b.WriteString(" withdrawn")
	}
	if s.Doubt {
		b.WriteString(" doubt")
	}
	return b.String()
}
