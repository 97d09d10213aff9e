package parse

import (
	"math"
	"strings"
)

var (
	length = Dim{Length: 1}
	area   = Dim{Length: 2}
	volume = Dim{Length: 3}
	fourth = Dim{Length: 4}
	mass   = Dim{Mass: 1}
	angle  = Dim{Angle: 1}
)

// unitTable lists the units in their own spelling with every other way people
// write them. Spellings are in lower case, exponents as a bare digit.
var unitTable = []struct {
	unit      Unit
	spellings string
}{
	{Unit{"m", length, 1}, "m|mtr|mtrs|mts|metre|metres|meter|meters"},
	{Unit{"cm", length, 0.01}, "cm|cms|centimetre|centimetres|centimeter|centimeters"},
	{Unit{"mm", length, 0.001}, "mm|mms|millimetre|millimetres|millimeter|millimeters"},
	{Unit{"ft", length, 0.3048}, "ft|feet|foot"},
	{Unit{"m2", area, 1}, "m2|sq m|sqm|sq mtr|sq mtrs|sq metre|sq metres|sq meter|sq meters|square m|square metre|square metres|square meter|square meters|m squared|metres squared|metre squared|meters squared|mtr2|mtrs2|metres2|m sq"},
	{Unit{"m3", volume, 1}, "m3|cu m|cub m|cub metres|cum|cbm|cu mtr|cu mtrs|cu metre|cu metres|cu meter|cu meters|cubic m|cubic metre|cubic metres|cubic meter|cubic meters|m cubed|metres cubed|metre cubed|meters cubed|mtr3|mtrs3|metres3|m cu"},
	{Unit{"m4", fourth, 1}, "m4|mtr4|mtrs4|metres4|quartic metres|quartic metre"},
	{Unit{"cm2", area, 1e-4}, "cm2|sq cm"},
	{Unit{"cm3", volume, 1e-6}, "cm3|cc|cu cm"},
	{Unit{"ft2", area, 0.3048 * 0.3048}, "ft2|sq ft|square feet"},
	{Unit{"ft3", volume, 0.3048 * 0.3048 * 0.3048}, "ft3|cu ft|cubic feet|cubic ft|cft"},
	{Unit{"t", mass, 1}, "t|ts|mt|tn|tns|tonne|tonnes|ton|tons|metric tonne|metric tonnes|metric ton|metric tons|m tons|m tonnes"},
	{Unit{"kg", mass, 0.001}, "kg|kgs|kilogram|kilograms|kilogramme|kilogrammes|kilo|kilos"},
	{Unit{"t/m3", Dim{Length: -3, Mass: 1}, 1}, "t/m3|t per m3|tonnes per cubic metre|tonne per cubic metre|tons per cubic metre|tonnes per cubic meter|tons per cubic meter|tonnes/m3|tonne/m3|tons/m3|ton/m3|mt/m3|t/cu m|t/cum|t/cbm|tonnes per m3|tons per m3|tonnes/cu m|tonnes per cu m|tonnes/cubic metre|t m-3"},
	{Unit{"kg/m3", Dim{Length: -3, Mass: 1}, 0.001}, "kg/m3|kg per m3|kg per cubic metre|kgs/m3"},
	{Unit{"m3/t", Dim{Length: 3, Mass: -1}, 1}, "m3/t|m3 per t|m3/tonne|m3/ton|m3 per tonne|m3 per ton|m3/mt|cubic metres per tonne|cubic metre per tonne|cubic meters per tonne|cubic meters per ton|cu m per tonne|cu m/t|cu m/tonne|cum/t|cbm/t|cbm/mt"},
	{Unit{"t m", Dim{Length: 1, Mass: 1}, 1}, "t m|tm|t-m|t*m|mt-m|mtm|mt m|tonne metre|tonne metres|tonne-metres|tonne-metre|tonnes metres|tonnes metre|tonne meters|tonnes meters|ton metres|tons metres|tonne m|tonnes m|tonnes-m|tonne-m|ton-m|tons-m|tons m"},
	{Unit{"t m/cm", Dim{Mass: 1}, 100}, "t m/cm|tm/cm|t-m/cm|t*m/cm|mt-m/cm|mt m/cm|mtm/cm|tonne metres per cm|tonne metres/cm|tonnes metres per cm|tonne-metres per cm|tonne metres per centimetre|tonne-metres/cm|tonnes m/cm|tonnes-m/cm|t m per cm|tm per cm|t-m per cm|tonnes metres/cm|tonnes m per cm"},
	{Unit{"t/cm", Dim{Length: -1, Mass: 1}, 100}, "t/cm|t per cm|tonnes/cm|tonne/cm|tons/cm|tonnes per cm|tonne per cm|tons per cm|tonnes per centimetre|tonnes per cm immersion|mt/cm|t per centimetre"},
	{Unit{"m3/cm", area, 100}, "m3/cm|m3 per cm|cu m/cm|cu m per cm|cubic metres per cm|cubic metres per centimetre|cum/cm|cbm/cm"},
	{Unit{"t/m", Dim{Length: -1, Mass: 1}, 1}, "t/m|t per m|tonnes/m|tonnes per metre|tonnes per m"},
	{Unit{"t m/m", Dim{Mass: 1}, 1}, "t m/m|tm/m|t-m/m"},
	{Unit{"deg", angle, 1}, "deg|degs|degree|degrees|°"},
	{Unit{"rad", angle, 180 / math.Pi}, "rad|rads|radian|radians"},
}

// units finds a unit by any spelling; unitWords holds the first words of spellings.
var units, unitWords = buildUnits()

func buildUnits() (map[string]*Unit, map[string]bool) {
	byText, first := map[string]*Unit{}, map[string]bool{}
	for i := range unitTable {
		u := &unitTable[i].unit
		for spelling := range strings.SplitSeq(unitTable[i].spellings, "|") {
			byText[spelling] = u
			if words := strings.FieldsFunc(spelling, func(r rune) bool { return !isLetter(r) }); len(words) > 0 {
				first[words[0]] = true
			}
		}
	}
	return byText, first
}

// LookupUnit finds the unit that text spells: "m3", "m³", "cu m", "tonnes per
// cubic metre", "t-m/cm".
func LookupUnit(text string) (*Unit, bool) {
	p := plainText(strings.TrimSpace(text), 1)
	if len(p.text) > 60 {
		return nil, false
	}
	if p.text == "°" {
		return units["deg"], true
	}
	ts := scan(&p, false, make([]token, 0, 8))
	u, n := matchUnit(ts)
	if u == nil || n != len(ts) {
		return nil, false
	}
	return u, true
}

// maxUnitTokens is how many tokens the longest spelling takes.
const maxUnitTokens = 9

// matchUnit returns the unit that stands at the head of ts and the number of
// tokens it takes: the longest spelling that fits.
func matchUnit(ts []token) (*Unit, int) {
	if len(ts) == 0 {
		return nil, 0
	}
	if ts[0].kind == tUnit {
		return units[ts[0].text], 1
	}
	if ts[0].kind != tWord || len(ts[0].text) > 12 {
		return nil, 0
	}
	var buf [96]byte
	key := appendLower(buf[:0], ts[0].text)
	if !unitWords[string(key)] {
		return nil, 0
	}
	best, taken := units[string(key)], 0
	if best != nil {
		taken = 1
	}
	word, exponent := true, false // what the key ends in
	for n := 1; n < len(ts) && n < maxUnitTokens && len(key) < 64; n++ {
		t := &ts[n]
		if t.gap {
			break
		}
		switch {
		case t.kind == tWord && len(t.text) <= 12:
			if word || exponent {
				key = append(key, ' ')
			}
			key = appendLower(key, t.text)
			word, exponent = true, false
		case t.is(tOp, "^") && word && !exponent:
			exponent = true
			continue
		case t.kind == tNumber && len(t.text) == 1 && (t.glued || exponent) && word:
			key = append(key, t.text...)
			word, exponent = false, true
		case t.is(tOp, "/"):
			key = append(key, '/')
			word, exponent = false, false
			continue
		case (t.is(tOp, "-") || t.is(tOp, "*")) && t.glued && n+1 < len(ts) && ts[n+1].glued:
			key = append(key, t.text...)
			word, exponent = false, false
			continue
		case t.kind == tStop && t.glued: // cu. m, sq.m, tonnes.
			if n+1 < len(ts) && ts[n+1].kind == tWord {
				word = true
				continue
			}
			return best, taken
		default:
			return best, taken
		}
		if u := units[string(key)]; u != nil {
			best, taken = u, n+1
		}
	}
	return best, taken
}

func appendLower(b []byte, s string) []byte {
	for i := 0; i < len(s); i++ {
		c := s[i]
		if c >= 'A' && c <= 'Z' {
			c += 'a' - 'A'
		}
		b = append(b, c)
	}
	return b
}
