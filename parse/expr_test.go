package parse

import (
	"fmt"
	"strings"
	"testing"
)

func TestParseExpr(t *testing.T) {
	for _, c := range []struct {
		in, shape, reason string
	}{
		{"1+2*3", "(1+(2*3))", "products bind tighter than sums"},
		{"8-3-2", "((8-3)-2)", "differences go from the left"},
		{"8/4/2", "((8/4)/2)", "quotients go from the left"},
		{"2^3^2", "(2^(3^2))", "powers go from the right"},
		{"-2^2", "(-(2^2))", "a power binds tighter than a sign"},
		{"2^-1", "(2^(-1))", "an exponent takes a sign of its own"},
		{"3 - -2", "(3-(-2))", "a sign behind a sign with a blank"},
		{"3x-2", "(3*(-2))", "a sign behind a multiplication"},
		{"LB^3/12V", "((L*(B^3))/(12*V))", "what is written side by side is one factor, and a power is of the last symbol"},
		{"LB³/12V", "((L*(B^3))/(12*V))", "a raised digit is a power"},
		{"LB**3/12V", "((L*(B^3))/(12*V))", "two stars are a power"},
		{"LB3/12V", "((L*(B^3))/(12*V))", "a cube that lost its mark"},
		{"B2/12d", "((B^2)/(12*d))", "a square over a figure that lost its mark"},
		{"12(7776)", "(12*7776)", "a bracket multiplies"},
		{"(2)(3)(4)", "((2*3)*4)", "brackets side by side multiply"},
		{"{[2+3]x4}", "((2+3)*4)", "three kinds of bracket"},
		{"14x18X3", "((14*18)*3)", "x and X between figures"},
		{"14 x18x 3", "((14*18)*3)", "with blanks on one side only"},
		{"LxBxd", "((L*B)*d)", "x inside a run of symbols"},
		{"Lx B", "(L*B)", "x at the end of one"},
		{"14xLxd", "((14*L)*d)", "x at the head of one"},
		{"lμb", "((l*μ)*b)", "symbols side by side"},
		{"x/V + 2x", "((x/V)+(2*x))", "x is a name where an operand is due, or nothing follows"},
		{"KM-KG", "(KM-KG)", "a dash between two names is a minus"},
		{"KB1+BM1", "(KB1+BM1)", "a digit behind letters belongs to them"},
		{"KB₁ × 2", "(KB1*2)", "lowered digits too"},
		{"vol lost / IWPA", "(vol lost/IWPA)", "names of several words"},
		{"lost_volume/length", "(lost_volume/length)", "identifiers of rules"},
		{"14 m x 18 m", "(14*18)", "units in figures"},
		{"14mx18mx3m", "((14*18)*3)", "units with the sign glued on"},
		{"60%x14", "(0.6*14)", "a percentage is a hundredth part"},
		{"½d + 12½", "((0.5*d)+12.5)", "fractions of one character"},
		{"12 1/2", "12.5", "a whole number and a fraction of a rule"},
		{"1/12 LB^3/V", "(((1/12)*(L*(B^3)))/V)", "a fraction in figures with a blank behind is one factor"},
		{"1/12LB^3", "(1/((12*L)*(B^3)))", "with none it is not"},
		{"2 411.2 + 1,576.8", "(2411.2+1576.8)", "a blank or a comma before three digits"},
		{"4,5 x 2", "(4.5*2)", "a comma before others is decimal"},
		{".6 + 4.", "(0.6+4)", "points at the edges"},
		{"1.5E+03", "1500", "the power of ten of a spreadsheet"},
		{"tan-1 0.0731", "atan(0.0731)", "the inverse as the keys show it"},
		{"tan^-1(0.0731)", "atan(0.0731)", "the same with a power sign"},
		{"tan⁻¹ 0.0731", "atan(0.0731)", "and raised"},
		{"inv tan (0.0731)", "atan(0.0731)", "and in words"},
		{"arctan(0.1/1.02)", "atan((0.1/1.02))", "and by its name"},
		{"tan 4.2° x 5", "(tan(4.2)*5)", "a function without brackets takes one factor"},
		{"√2 x √(3+1)", "(sqrt(2)*sqrt((3+1)))", "the root sign"},
		{"max(0, d - h)", "max(0)((d-h))", "functions of rules"},
		{"B cubed / 12", "((B^3)/12)", "powers in words"},
		{"6° 11'", "6.183333333333334", "degrees and minutes"},
		{"(14) m x 18", "(14*18)", "a unit behind a bracket"},
	} {
		e, err := ParseExpr(c.in, trade)
		if err != nil {
			t.Errorf("%q: %v (%s)", c.in, err, c.reason)
			continue
		}
		if got := shape(e); got != c.shape {
			t.Errorf("%q reads as %s, want %s (%s)", c.in, got, c.shape, c.reason)
		}
		back, err := ParseExpr(e.String(), trade)
		if err != nil || shape(back) != shape(e) {
			t.Errorf("%q prints as %q, which does not read back: %v", c.in, e.String(), err)
		}
	}
}

// What must not be read silently wrong, and where the trouble is shown.
func TestParseExprRefuses(t *testing.T) {
	for _, c := range []struct {
		in, mark, says, reason string
	}{
		{"1.2.3", "^^^^^", "one decimal point", "no figure has two points"},
		{"2 x 1.2.3", "    ^^^^^", "one decimal point", "the place is that of the figure"},
		{"3e5", "^^^", "letter e", "e may be a symbol"},
		{"2 3", "  ^", "side by side", "two figures make no product"},
		{"12 1/7", "   ^", "side by side", "no fraction of a rule"},
		{"L 12", "  ^^", "side by side", "nor do a name and a figure"},
		{"(1+2]", "    ^", "“(” is closed by “]”", "brackets of two kinds"},
		{"2 x (1+2", "    ^", "never closed", "told where it was opened"},
		{"((1+2)", "^", "never closed", "the outer one"},
		{"1+2)", "   ^", "can't stand behind the end", "never opened"},
		{"()", "^^", "nothing between", "an empty bracket"},
		{"2 *", "  ^", "stops short", "an operand is missing at the end, behind the sign"},
		{"x 2", "  ^", "side by side", "x is a name here"},
		{"/ 2", "^", "missing before “/”", "an operand is missing at the head"},
		{"2 + / 3", "    ^", "two signs", "an operand is missing between"},
		{"foo + 1", "^^^", "“foo” is not known", "an unknown word"},
		{"2foo", " ^^^", "“foo” is not known", "an unknown word makes no product"},
		{"2 § 3", "  ^", "“§” can't be read", "an unknown sign"},
		{"max(1,2)", "    ^^^", "comma", "the comma could mean two things"},
		{"tan^2 5", "^^^^", "power right behind", "tan² 5 is no usual notation"},
		{"", "", "no expression", "nothing at all"},
		{strings.Repeat("(", 200) + "1" + strings.Repeat(")", 200), "", "too deep", "depth is bounded"},
		{strings.Repeat("1+", 3000) + "1", "", "too long", "length is bounded"},
		{"2 = 2", "  ^", "can't stand behind the end", "no relation in an expression"},
		{"1 < 2", "  ^", "can't stand behind the end", "nor a comparison"},
		{"2 m", "", "", "a unit is fine"},
		{"m + 2", "^", "not known", "a unit without a figure"},
	} {
		e, err := ParseExpr(c.in, trade)
		if c.says == "" {
			if err != nil {
				t.Errorf("%q: %v (%s)", c.in, err, c.reason)
			}
			continue
		}
		if err == nil {
			t.Errorf("%q reads as %s (%s)", c.in, e, c.reason)
			continue
		}
		p := err.(*Problem)
		if !strings.Contains(p.Reason, c.says) {
			t.Errorf("%q: %q does not say %q (%s)", c.in, p.Reason, c.says, c.reason)
		}
		if c.mark != "" {
			got := strings.Repeat(" ", p.At.From-1) + strings.Repeat("^", p.At.To-p.At.From)
			if got != c.mark {
				t.Errorf("%q: the place is\n%s\nwant\n%s (%s)", c.in, got, c.mark, c.reason)
			}
		}
		for _, leak := range []string{"token", "EOF", "unexpected", "Expr", "lexer"} {
			if strings.Contains(p.Reason, leak) {
				t.Errorf("%q: %q speaks of the parser's own things", c.in, p.Reason)
			}
		}
	}
}

func TestSpansOfLeaves(t *testing.T) {
	for in, want := range map[string]string{
		"LB³/12V":              "L1-2 B2-3 3:3-4 12:5-7 V7-8",
		"KB₁ × 2":              "KB11-4 2:7-8",
		"14 m × 18 m":          "14:1-5 18:8-12",
		"sqrt(2)x60%":          "2:6-7 60:9-12",
		"vol lost ÷ 1 576,8":   "vol lost1-9 1 576,8:12-19",
		"( 6° 11′ )":           "6° 11':3-9",
		"(14.5 − ½)² x LxBx d": "14.5:2-6 ½:9-10 2:11-12 L15-16 B17-18 d20-21",
	} {
		e, err := ParseExpr(in, trade)
		if err != nil {
			t.Errorf("%q: %v", in, err)
			continue
		}
		var got []string
		Walk(e, func(e Expr) bool {
			switch e := e.(type) {
			case *Num:
				got = append(got, fmt.Sprintf("%s:%d-%d", e.Text, e.At.From, e.At.To))
			case *Name:
				got = append(got, fmt.Sprintf("%s%d-%d", e.Text, e.At.From, e.At.To))
			}
			return true
		})
		if g := strings.Join(got, " "); g != want {
			t.Errorf("%q: leaves at %s, want %s", in, g, want)
		}
	}
}

func TestNumbersKeepTheirPlaces(t *testing.T) {
	for _, c := range []struct {
		in     string
		value  float64
		places int
		unit   string
	}{
		{"0.288 m", 0.288, 3, "m"}, {"60%", 0.6, 2, ""}, {"33.3 %", 0.333, 3, ""}, {"7,776", 7776, 0, ""}, {"4,5", 4.5, 1, ""},
		{"12½", 12.5, 1, ""}, {"1.5E+03 t", 1500, 0, "t"}, {"2 411.20 m²", 2411.2, 2, "m2"}, {"6.00", 6, 2, ""}, {"1.025 t/m3", 1.025, 3, "t/m3"},
		{"4.2 deg", 4.2, 1, "deg"}, {"5° 30'", 5.5, 2, "deg"}, {"141.6 t-m/cm", 141.6, 1, "t m/cm"}, {"732.16 cu m", 732.16, 2, "m3"}, {"1.576,8", 1576.8, 1, ""},
	} {
		e, err := ParseExpr(c.in, nil)
		n, _ := e.(*Num)
		if err != nil || n == nil {
			t.Errorf("%q: %v %v", c.in, e, err)
			continue
		}
		unit := ""
		if n.Unit != nil {
			unit = n.Unit.Text
		}
		if d := n.Value - c.value; d > 1e-9 || d < -1e-9 || n.Places != c.places || unit != c.unit {
			t.Errorf("%q is %v with %d places in %q, want %v, %d, %q", c.in, n.Value, n.Places, unit, c.value, c.places, c.unit)
		}
	}
}

func TestLookupUnit(t *testing.T) {
	for in, want := range map[string]string{
		"m": "m", "metres": "m", "mtrs": "m", "m³": "m3", "m^3": "m3", "cu m": "m3", "cu. m": "m3", "cu.m": "m3", "cbm": "m3", "cubic metres": "m3",
		"m²": "m2", "sq m": "m2", "sq. metres": "m2", "m4": "m4", "cm": "cm", "ft": "ft", "tonnes": "t", "mt": "t", "t/m3": "t/m3", "tonnes per cubic metre": "t/m3",
		"t/m³": "t/m3", "m3/t": "m3/t", "t m": "t m", "tm": "t m", "t-m": "t m", "t·m": "t m", "t.m": "t m", "tonne metres": "t m", "t m/cm": "t m/cm", "tm/cm": "t m/cm", "t-m/cm": "t m/cm",
		"tonnes per cm": "t/cm", "t/cm": "t/cm", "°": "deg", "degrees": "deg", "deg": "deg", "kg": "kg", "M3": "m3",
		"": "", "foo": "", "m m m": "", "m5": "", "per": "", "3 m": "", "V": "",
	} {
		u, ok := LookupUnit(in)
		got := ""
		if ok {
			got = u.Text
		}
		if got != want {
			t.Errorf("%q is %q, want %q", in, got, want)
		}
	}
	for i := range unitTable {
		u := &unitTable[i].unit
		if got, ok := LookupUnit(u.Text); !ok || got != u {
			t.Errorf("the unit %q is not found by its own text", u.Text)
		}
	}
}

func TestParseCond(t *testing.T) {
	for in, want := range map[string]string{
		"flooded_all":                           "flooded_all",
		"not flooded_all and h < d":             "not flooded_all and h < d",
		"amid and (full or narrow) and d == 2":  "amid and (full or narrow) and d == 2",
		"amid or full and narrow":               "amid or full and narrow",
		"0 < h <= d":                            "0 < h and h <= d",
		"(d+1)*2 > 3":                           "(d + 1) × 2 > 3",
		"not (h >= d or amid)":                  "not (h >= d or amid)",
		"lost_volume/length != 0":               "lost_volume / length != 0",
		"(amid)":                                "amid",
		"not not amid":                          "not not amid",
		"h ≤ d":                                 "h <= d",
		"":                                      "! no expression",
		"amid and":                              "! stops short",
		"amid full":                             "! “and” or “or” is missing",
		"d":                                     "! is a figure",
		"h <":                                   "! stops short",
		"(amid or full":                         "! never closed",
		"and amid":                              "! missing before “and”",
		strings.Repeat("not ", 500) + "amid":    "! nested too deep",
		"unknown_name < 3":                      "! not known",
		strings.Repeat("(", 300) + "amid or h":  "! nested too deep",
		"amid and 3":                            "! is a figure",
		"h < d < ":                              "! stops short",
		"h < (d":                                "! never closed",
		"amid or or full":                       "! missing before “or”",
		"max(0, d - h) > 0 and flooded_above":   "max(0, d - h) > 0 and flooded_above",
		"not amid or not (full and narrow_too)": "not amid or not (full and narrow_too)",
	} {
		c, err := ParseCond(in, trade)
		if says, bad := strings.CutPrefix(want, "! "); bad {
			if err == nil {
				t.Errorf("%q reads as %s", in, c)
			} else if !strings.Contains(err.Error(), says) {
				t.Errorf("%.40q: %q does not say %q", in, err, says)
			}
			continue
		}
		if err != nil {
			t.Errorf("%q: %v", in, err)
			continue
		}
		if c.String() != want {
			t.Errorf("%q reads as %q, want %q", in, c.String(), want)
		}
		if back, err := ParseCond(c.String(), trade); err != nil || back.String() != c.String() {
			t.Errorf("%q does not read back: %v", c.String(), err)
		}
	}
}
