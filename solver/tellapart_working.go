package solver

import "strings"

// Working is the working of a student who makes the row's fault and does all
// else rightly, every figure rounded as it is written down. A nil row gives the
// right working. Each quantity is worked in the first part that needs it.
func (t *Apart) Working(r *Row) []WorkingPart {
	m := t.Model
	var sites []*Site
	if r != nil {
		if sites = r.Sites; !r.Throughout {
			sites = sites[:1] // each of them gives these answers
		}
	}
	sp := t.chain.spoilt(sites)
	sp.start()
	return m.workingBy(sp.needs, sp.line)
}

// needs adds the slot and all that it is worked from here.
func (sp *spoilt) needs(s int, into *Set) {
	if into.Has(s) {
		return
	}
	into.Add(s)
	if sp.codes[s] == nil {
		return
	}
	for _, d := range sp.codes[s].Deps() {
		sp.needs(d, into)
	}
}

// line is one step as it is written down here.
func (sp *spoilt) line(s int) WorkingLine {
	m := sp.m
	q := m.Quantities[s]
	v := sp.value(0, s, true)
	l := WorkingLine{Quantity: q.ID, Title: q.Title, Symbol: m.Symbol(q.ID), Value: v}
	shown := *q
	shown.Places = writtenPlaces(q, v)
	l.Answer = Shown(&shown, v)
	l.Symbols = SymbolsOf(sp.exprs[s], m.Symbol)
	l.Figures = FiguresOf(sp.exprs[s], func(id string) string {
		d := m.Slot(id)
		if d < 0 {
			return id
		}
		if places, ok := m.Question.Places[id]; ok && m.Given.Has(d) {
			return plainFigure(m.Worlds[0][d], places)
		}
		x := sp.value(0, d, true)
		return plainFigure(x, writtenPlaces(m.Quantities[d], x))
	})
	if l.Figures == strings.TrimSuffix(l.Answer, " "+UnitInPrint(q.Unit)) {
		l.Figures = ""
	}
	l.Sense = m.sense(q, v)
	return l
}
