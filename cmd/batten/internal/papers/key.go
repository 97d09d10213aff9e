package papers

import (
	"fmt"
	"sort"
	"strings"

	"batten/cmd/batten/internal/show"
	"batten/rules"
	"batten/solver"
)

// Key is the paper that the marker gets: all answers at a glance, then for
// each question the working, what a fault costs, the wrong answers with the
// faults that give them, and the faults that answers alone can't tell apart.
func Key(title string, tables []*solver.Apart) *Paper {
	p := &Paper{Title: title}
	if len(tables) > 1 {
		p.header(tables[0].Model.Question)
		p.add(heading{1, title}, glance(tables), prose{text: tables[0].Model.Topic.Caution, faint: true}, pageEnd{})
	}
	for i, t := range tables {
		if i > 0 {
			p.add(pageEnd{})
		}
		p.key(t)
	}
	return p
}

// glance is the table of all right answers.
func glance(tables []*solver.Apart) table {
	t := table{head: []string{"Question"}, figures: map[int]bool{}}
	for i, a := range tables[0].Asked {
		t.head = append(t.head, fmt.Sprintf("(%s) %s", a.Part.Letter, a.Quantity.Title))
		t.figures[i+1] = true
	}
	for _, x := range tables {
		row := []string{x.Model.Question.ID}
		for _, a := range x.Asked {
			row = append(row, answer(x.Model, a.Quantity, a.Right.Value))
		}
		t.rows = append(t.rows, row)
	}
	return t
}

func (p *Paper) key(t *solver.Apart) {
	m := t.Model
	p.header(m.Question)
	p.add(heading{1, m.Question.Title + ": key"}, prose{text: about(m.Question)}, given(m))
	p.sketches(m, false)
	for _, w := range m.Working() {
		p.add(heading{2, fmt.Sprintf("(%s) %s [%s]", w.Part.Letter, show.Capital(w.Part.Find.Words), marks(w.Part.Marks))})
		work := table{head: []string{"Step", "Working"}, strong: map[int]bool{}}
		for i, l := range w.Lines {
			title := show.Capital(l.Title)
			if l.Why != "" {
				title += " – " + strings.TrimSuffix(l.Why, ".")
			}
			work.rows = append(work.rows, []string{title, l.String()})
			work.strong[i] = l.Asked
		}
		p.add(work, prose{text: cost(m.Question, w.Part)})
	}
	p.exact(m.Exact())
	p.add(heading{2, "Wrong answers, and the faults that give them"},
		prose{text: "Each fault is worked through by itself, all else done rightly from there on. Figures are unrounded to the places shown; a student who rounds at each line may be a unit or two off. A fault with ★ is among those that classes make most."})
	for i, a := range t.Asked {
		p.add(heading{3, fmt.Sprintf("(%s) %s: right answer %s", a.Part.Letter, show.Capital(a.Quantity.Title), answer(m, a.Quantity, a.Right.Value))}, wrong(t, i))
	}
	p.add(heading{2, "Not to be told apart by the answers"})
	if same := Inseparable(t); len(same) > 0 {
		p.add(items(same))
	} else {
		p.add(prose{text: "Every fault gives answers of its own."})
	}
	p.add(prose{text: m.Topic.Caution, faint: true})
}

// exact sets the method's figures beside those worked with no rule for small angles.
func (p *Paper) exact(x *solver.Exact) {
	if x == nil {
		return
	}
	p.add(heading{2, show.ExactTitle})
	if len(x.Rows) > 0 {
		t := table{head: []string{"", "By the working", "Exactly", "The working is"}, figures: map[int]bool{1: true, 2: true, 3: true}}
		for _, r := range x.Rows {
			worked, exact, apart := r.Print()
			t.rows = append(t.rows, []string{show.Capital(r.Quantity.Title), worked, exact, apart})
		}
		p.add(t, prose{text: show.ExactWords, faint: true})
	}
	for _, n := range x.Notes {
		p.add(prose{text: n})
	}
}

// answer is an answer with its unit and, where its sign says a direction, the word for it.
func answer(m *solver.Model, q *rules.Quantity, v float64) string {
	text := solver.Shown(q, v)
	for _, d := range m.Topic.Directions {
		if d.ID != q.Direction {
			continue
		}
		for _, s := range d.Senses {
			if s.When != nil && m.Holds(s.When) || s.When == nil && (s.Sign > 0) == (v > 0) && s.Sign != 0 && v != 0 {
				return text + " (" + s.ID + ")"
			}
		}
	}
	return text
}

// cost says what faults take off a part.
func cost(q *solver.Question, part solver.Part) string {
	take := func(c rules.Charge) string {
		v := c.Marks
		if v == 0 {
			v = c.Share * part.Marks
		}
		return "−" + show.Figure(v, 2)
	}
	return fmt.Sprintf("A principal fault %s, a clerical one %s, each charged once, where it is made; what follows rightly from it earns its marks.",
		take(q.Marking.Principal), take(q.Marking.Clerical))
}

// wrong is the table of wrong answers to one thing asked, in order of size.
func wrong(t *solver.Apart, i int) table {
	a := t.Asked[i]
	out := table{head: []string{"Answer", "Fault", "Made at", "Grade"}, figures: map[int]bool{0: true}}
	for _, r := range bySize(t, i) {
		name := r.Fault.Title
		if r.Common {
			name = "★ " + name
		}
		figure := "no figure"
		if v := r.Answers[i].Value; v == v {
			figure = solver.Shown(a.Quantity, v)
		}
		if r.Right[i] {
			figure += " ≈ right"
		}
		out.rows = append(out.rows, []string{figure, name + " (" + r.Fault.ID + ")", madeAt(t, r), r.Fault.Severity})
	}
	return out
}

// bySize lists the rows that move an answer, the smallest answer first.
func bySize(t *solver.Apart, i int) []*solver.Row {
	var rows []*solver.Row
	for _, r := range t.Rows {
		if r.Reaches[i] {
			rows = append(rows, r)
		}
	}
	sort.SliceStable(rows, func(a, b int) bool {
		x, y := rows[a].Answers[i].Value, rows[b].Answers[i].Value
		return x < y || y != y && x == x
	})
	return once(t, i, rows)
}

// once leaves rows out that say over again what the fault made at fewer steps
// says of this answer.
func once(t *solver.Apart, i int, rows []*solver.Row) []*solver.Row {
	said := map[string]int{}
	var out []*solver.Row
	for _, r := range rows {
		k := r.Fault.ID + " " + solver.Shown(t.Asked[i].Quantity, r.Answers[i].Value)
		if at, ok := said[k]; ok {
			if r.Common && !out[at].Common {
				out[at] = r
			}
			continue
		}
		said[k] = len(out)
		out = append(out, r)
	}
	return out
}

// madeAt names the steps at which a fault is made.
func madeAt(t *solver.Apart, r *solver.Row) string {
	if r.Fault.Together {
		return "throughout"
	}
	const most = 2
	var names []string
	seen := map[string]bool{}
	for _, s := range r.Sites {
		if !seen[s.Quantity] {
			seen[s.Quantity] = true
			names = append(names, t.Model.Topic.Quantity(s.Quantity).Title)
		}
	}
	or := " or "
	if r.Throughout {
		or = " and "
	}
	if len(names) > most {
		return strings.Join(names[:most], ", ") + fmt.Sprintf(" and %d more", len(names)-most)
	}
	return strings.Join(names, or)
}

// Inseparable says in sentences which faults answers alone can't tell apart:
// from the right answer, or from one another.
func Inseparable(t *solver.Apart) []string {
	var out []string
	name := func(r *solver.Row) string { return r.Fault.ID + " (" + madeAt(t, r) + ")" }
	for _, r := range t.Rows {
		if r.Hidden {
			out = append(out, name(r)+" gives the right answers here, within rounding.")
		}
	}
	said := map[string]bool{}
	for _, a := range t.Asked {
		for _, d := range t.Model.Topic.Directions {
			if d.ID != a.Quantity.Direction || d.Missing == "" || said[d.ID] {
				continue
			}
			said[d.ID] = true
			out = append(out, fmt.Sprintf("%s and %s leave the figure of %s as it is: look at the word or the sign.", d.Missing, d.Reversed, a.Quantity.Title))
		}
	}
	for _, r := range t.Rows {
		var now, ever []string
		for _, o := range r.Same {
			if index(t, o) < index(t, r) {
				continue // told from the other side
			}
			if contains(r.Always, o) {
				ever = append(ever, name(o))
			} else {
				now = append(now, name(o))
			}
		}
		if len(now) > 0 {
			out = append(out, name(r)+" gives the same answers, within rounding, as "+show.And(now)+".")
		}
		if len(ever) > 0 {
			out = append(out, name(r)+" gives the same answers, whatever the figures, as "+show.And(ever)+".")
		}
	}
	return out
}

func index(t *solver.Apart, r *solver.Row) int {
	for i, x := range t.Rows {
		if x == r {
			return i
		}
	}
	return -1
}

func contains(list []*solver.Row, r *solver.Row) bool {
	for _, x := range list {
		if x == r {
			return true
		}
	}
	return false
}
