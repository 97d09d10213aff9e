package show

import (
	"batten/cmd/batten/internal/sketch"
	"batten/solver"
)

// Drawings draws the sketches of a question in characters: all of the working,
// or those that may be seen with the question alone.
func Drawings(m *solver.Model, question bool) []*sketch.Drawing {
	var out []*sketch.Drawing
	for _, sk := range m.Topic.Sketches {
		if d := sketch.Draw(sk, view(m, question)); d != nil {
			d.Title = capital(d.Title)
			if out = append(out, d); question {
				break
			}
		}
	}
	return out
}

// Pictures draws the same for a page. The prefix keeps apart what stands on
// one page.
func Pictures(m *solver.Model, question bool, prefix string) []*sketch.Picture {
	var out []*sketch.Picture
	for _, sk := range m.Topic.Sketches {
		if p := sketch.SVG(prefix+sk.ID, sk, view(m, question)); p != nil {
			p.Title = capital(p.Title)
			if out = append(out, p); question {
				break
			}
		}
	}
	return out
}

// Outlook draws what becomes of the ship, every sketch of it, with no figure
// that is still to be worked.
func Outlook(m *solver.Model, prefix string) []*sketch.Picture {
	v := view(m, true)
	v.Places = true
	var out []*sketch.Picture
	for _, sk := range m.Topic.Sketches {
		if p := sketch.SVG(prefix+sk.ID, sk, v); p != nil {
			p.Title = capital(p.Title)
			out = append(out, p)
		}
	}
	return out
}

// view is what the sketches are drawn with. With the question alone none shows
// a figure that is still to be worked, nor where it lies; and only the first
// stands there, which pictures what is given: that there is another at all may
// tell what follows from it.
func view(m *solver.Model, question bool) sketch.View {
	v := sketch.View{Chain: m, Means: m.Topic.Legend, Label: func(label string) string { return filled(m, label) }}
	if question {
		v.Told = func(id string) bool {
			s := m.Slot(id)
			return s >= 0 && m.Given.Has(s)
		}
	}
	return v
}
