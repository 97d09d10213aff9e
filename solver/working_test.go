package solver

import (
	"math"
	"strconv"
	"strings"
	"testing"

	"batten/parse"
)

// The reference working of every sample question: complete, in order, nothing
// worked twice, and each line's figures give the answer that stands behind them.
func TestWorking(t *testing.T) {
	questions, err := ReadFolder(questionFolder)
	if err != nil {
		t.Fatal(err)
	}
	for _, q := range questions {
		m, err := NewModel(q)
		if err != nil {
			t.Fatal(err)
		}
		known := map[string]bool{}
		for id := range q.Given {
			known[id] = true
		}
		worked := map[string]bool{}
		parts := m.Working()
		if len(parts) != len(q.Parts) {
			t.Fatalf("%s: %d parts worked of %d", q.ID, len(parts), len(q.Parts))
		}
		for _, p := range parts {
			asked := 0
			for _, l := range p.Lines {
				where := q.ID + " " + p.Part.Letter + ": " + l.String()
				if worked[l.Quantity] && !l.Asked {
					t.Errorf("%s: worked twice", where)
				}
				worked[l.Quantity] = true
				if l.Asked {
					asked++
				}
				if l.Answer == "" || l.Title == "" || l.Symbol == "" {
					t.Errorf("%s: an empty piece in %+v", where, l)
				}
				if len(m.Ways[m.Slot(l.Quantity)]) > 0 {
					for _, n := range Names(m.Ways[m.Slot(l.Quantity)][0].Formula) {
						if !known[n] {
							t.Errorf("%s: %s comes before it is known", where, n)
						}
					}
				}
				known[l.Quantity] = true
				checkFigures(t, m, l, where)
			}
			if asked != len(p.Part.Find.Answers) {
				t.Errorf("%s %s: %d answers, %d asked", q.ID, p.Part.Letter, asked, len(p.Part.Find.Answers))
			}
		}
	}
}

// checkFigures reads the figures of a line back and works them out.
func checkFigures(t *testing.T, m *Model, l WorkingLine, where string) {
	t.Helper()
	places := m.Topic.Quantity(l.Quantity).Places
	number, _, _ := strings.Cut(strings.TrimSuffix(l.Answer, "°"), " ")
	answer, err := strconv.ParseFloat(strings.Replace(number, "−", "-", 1), 64)
	if err != nil {
		t.Errorf("%s: %v", where, err)
		return
	}
	if math.Abs(answer-l.Value) > 0.5000001*math.Pow(10, -float64(places)) {
		t.Errorf("%s: the answer is %v", where, l.Value)
	}
	if l.Figures == "" {
		return
	}
	e, err := parse.ParseExpr(strings.Replace(l.Figures, "tan⁻¹", "atan", 1), identifiers{})
	if err != nil {
		t.Errorf("%s: its figures can't be read: %v", where, err)
		return
	}
	got, err := parse.Eval(e, nil)
	if err != nil {
		t.Errorf("%s: %v", where, err)
		return
	}
	if strconv.FormatFloat(got, 'f', places, 64) != strings.Replace(number, "−", "-", 1) {
		t.Errorf("%s: the figures give %v", where, got)
	}
}

func TestWorkingLines(t *testing.T) {
	m, err := NewModel(mustRead(t, "hold-above-tank-top"))
	if err != nil {
		t.Fatal(err)
	}
	lines := map[string]WorkingLine{}
	for _, p := range m.Working() {
		for _, l := range p.Lines {
			lines[l.Quantity] = l
		}
	}
	for id, want := range map[string]string{
		"sinkage":        "s = v / (A − a) = 453.6 / 1576.8 = 0.288 m",
		"bilged_draught": "d₂ = d + s = 4.5 + 0.288 = 4.788 m",
		"bm_initial":     "BM₁ = L B³ / (12 V) = 96 × 18³ / (12 × 7776.0) = 6.00 m",
		"gm_change":      "ΔGM = GM₂ − GM₁ = 1.02 − 1.45 = −0.43 m (fall)",
	} {
		if got := lines[id].String(); got != want {
			t.Errorf("%s: %s, want %s", id, got, want)
		}
	}
	if !lines["bilged_draught"].Asked || lines["sinkage"].Asked {
		t.Error("the draught is asked, the sinkage is not")
	}
}
