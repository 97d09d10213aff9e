package solver

import (
	"testing"

	"batten/parse"
)

// identifiers is a lexicon to which every word with a letter is a name.
type identifiers struct{}

func (identifiers) Known(string) bool { return true }

func TestNotation(t *testing.T) {
	symbols := map[string]string{
		"length": "L", "breadth": "B", "draught": "d", "comp_length": "l", "comp_breadth": "b", "permeability": "μ",
		"flat_height": "h", "volume": "V", "lost_depth": "depth lost", "lost_area": "a", "intact_area": "A − a",
		"lost_mass": "v ρ", "lost_volume": "v", "km_initial": "KM", "kg": "KG", "tan_list": "tan θ",
		"second": "I / V", "comp_volume": "l b × depth lost",
	}
	figures := map[string]string{
		"length": "96", "breadth": "18", "draught": "4.5", "comp_length": "14", "comp_breadth": "18", "permeability": "0.60",
		"flat_height": "1.5", "volume": "7776", "lost_depth": "3.0", "lost_area": "-151.2", "intact_area": "1576.8",
		"lost_mass": "465", "lost_volume": "453.6", "km_initial": "8.25", "kg": "6.80", "tan_list": "0.1",
	}
	for _, c := range []struct{ formula, symbols, figures, reason string }{
		{"comp_length * permeability * breadth * (draught - flat_height)", "l μ B (d − h)", "14 × 0.60 × 18 × (4.5 − 1.5)", "a product with a bracket"},
		{"length * breadth^3 / (12 * volume)", "L B³ / (12 V)", "96 × 18³ / (12 × 7776)", "a power and a product below the line"},
		{"(length * breadth)", "L B", "96 × 18", "brackets around the whole are none"},
		{"length * (breadth * draught)", "L B d", "96 × 18 × 4.5", "brackets in a product of products are none"},
		{"length + (breadth + draught)", "L + B + d", "96 + 18 + 4.5", "nor in a sum of sums"},
		{"length - (breadth - draught)", "L − (B − d)", "96 − (18 − 4.5)", "but in a difference they count"},
		{"length / (breadth / draught)", "L / (B / d)", "96 / (18 / 4.5)", "and in a quotient"},
		{"length / breadth * draught", "L / B × d", "96 / 18 × 4.5", "a factor behind a divisor is kept out of it"},
		{"length * (breadth / draught)", "L (B / d)", "96 × (18 / 4.5)", "a quotient as a factor stays together"},
		{"length / breadth / draught", "L / B / d", "96 / 18 / 4.5", "two divisors"},
		{"lost_volume / intact_area", "v / (A − a)", "453.6 / 1576.8", "a symbol that is a difference is bracketed, its figure is not"},
		{"intact_area * draught", "(A − a) d", "1576.8 × 4.5", "the same as a factor"},
		{"intact_area + draught", "A − a + d", "1576.8 + 4.5", "in a sum it needs none"},
		{"draught - intact_area", "d − (A − a)", "4.5 − 1576.8", "taken away it does"},
		{"comp_length * lost_depth", "l × depth lost", "14 × 3.0", "words can't stand beside a letter"},
		{"lost_depth * comp_length", "depth lost × l", "3.0 × 14", "on either side"},
		{"comp_length * (lost_depth * breadth)", "l × depth lost × B", "14 × 3.0 × 18", "nor behind a bracket that goes"},
		{"comp_volume * permeability", "l b × depth lost × μ", "comp_volume × 0.60", "a symbol with a product in it; no figure: the name"},
		{"lost_mass / 100", "v ρ / 100", "465 / 100", "a product over a number"},
		{"100 / lost_mass", "100 / (v ρ)", "100 / 465", "a product under one"},
		{"2 * draught", "2 d", "2 × 4.5", "a number before a letter"},
		{"draught * 2", "d × 2", "4.5 × 2", "a number behind one"},
		{"draught^2", "d²", "4.5²", ""},
		{"(draught - flat_height)^2", "(d − h)²", "(4.5 − 1.5)²", "the power of a difference"},
		{"kg^2", "KG²", "6.80²", "a symbol of two letters is one"},
		{"draught^0.5", "d^0.5", "4.5^0.5", "a power that can't be raised"},
		{"lost_area^2", "a²", "(−151.2)²", "a negative figure is bracketed in a power"},
		{"draught + lost_area", "d + a", "4.5 + (−151.2)", "and behind another sign"},
		{"lost_area + draught", "a + d", "−151.2 + 4.5", "but not in front"},
		{"-draught", "−d", "−4.5", ""},
		{"-(draught - kg)", "−(d − KG)", "−(4.5 − 6.80)", ""},
		{"kg * -draught", "KG (−d)", "6.80 × (−4.5)", ""},
		{"atan(tan_list)", "tan⁻¹(tan θ)", "tan⁻¹(0.1)", ""},
		{"sqrt(draught * kg)", "√(d KG)", "√(4.5 × 6.80)", ""},
		{"max(draught, kg)", "max(d, KG)", "max(4.5, 6.80)", ""},
		{"second * draught", "I / V × d", "second × 4.5", "a symbol that is a quotient"},
		{"draught * second", "d (I / V)", "4.5 × second", ""},
		{"50% * draught", "50% × d", "50% × 4.5", "a percentage is no coefficient"},
	} {
		e, err := parse.ParseExpr(c.formula, identifiers{})
		if err != nil {
			t.Errorf("%s: %v", c.formula, err)
			continue
		}
		if got := SymbolsOf(e, func(id string) string { return symbols[id] }); got != c.symbols {
			t.Errorf("symbols of %s: %s, want %s (%s)", c.formula, got, c.symbols, c.reason)
		}
		if got := FiguresOf(e, func(id string) string { return figures[id] }); got != c.figures {
			t.Errorf("figures of %s: %s, want %s (%s)", c.formula, got, c.figures, c.reason)
		}
	}
}
