package show

import (
	"fmt"
	"strings"

	"batten/diagnose"
)

// marks prints the marks of one script by part, then their total.
func (s *sheet) marks() {
	find := 4
	for _, p := range s.r.Parts {
		find = max(find, min(Width(p.Find), 24))
	}
	for _, p := range s.r.Parts {
		line := fmt.Sprintf("  (%s)  %s  %8s of %-5s", p.Part, pad(clip(p.Find, find), find),
			Figure(p.Awarded, 2), Figure(p.Available, 2))
		why := s.why(p)
		room := Columns - Width(line) - 1
		for i, w := range Wrap(why, room) {
			if i > 0 {
				line = strings.Repeat(" ", Width(line))
			}
			s.println(line, " ", w)
		}
		if why == "" {
			s.println(line)
		}
	}
	s.println(s.Pen.strong(fmt.Sprintf("  %s  %8s of %-5s", pad("total", find+5),
		Figure(s.r.Total.Awarded, 2), Figure(s.r.Total.Available, 2))))
	s.println()
}

// why says in a few words where a part's marks went.
func (s *sheet) why(p diagnose.PartMarks) string {
	var reasons []string
	for i := range s.r.Findings {
		f := &s.r.Findings[i]
		if f.Part != p.Part || f.Severity == diagnose.Remark {
			continue
		}
		if f.Fault == notAttempted {
			reasons = append(reasons, "not attempted")
			continue
		}
		r := fmt.Sprintf("line %d %s", f.Line, f.Severity)
		if f.Cost > 0 {
			r += " −" + Figure(f.Cost, 2)
		}
		reasons = append(reasons, r)
	}
	if len(reasons) == 0 && p.Reached {
		return "whole"
	}
	return strings.Join(reasons, "; ")
}
