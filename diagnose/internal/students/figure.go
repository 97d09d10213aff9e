package students

import (
	"math"
	"strconv"
	"strings"
)

// round gives the figure as it is written down, and its text without the
// decorations of the hand.
func (h *Hand) round(x float64, places int) (float64, string) {
	if h.truncate {
		p := math.Pow(10, float64(places))
		x = math.Trunc(x*p+1e-9*math.Copysign(1, x)) / p
	}
	t := strconv.FormatFloat(x, 'f', places, 64)
	if h.trim && strings.Contains(t, ".") {
		t = strings.TrimRight(strings.TrimRight(t, "0"), ".")
	}
	if t == "-0" || strings.Trim(t, "-0.") == "" && strings.HasPrefix(t, "-") {
		t = t[1:]
	}
	v, _ := strconv.ParseFloat(t, 64)
	return v, t
}

// placesOf is how many places this student writes for a quantity.
func (h *Hand) placesOf(q int) int {
	c := &quants[q]
	p := c.places
	switch c.unit {
	case "m3", "m2", "m4", "t", "t m":
		return p + min(h.places, 1)
	}
	return p + h.places
}

// dress puts the marks of the hand on a bare decimal figure.
func (h *Hand) dress(t string) string {
	sign := ""
	if strings.HasPrefix(t, "-") {
		sign, t = strings.TrimSpace(h.minus), t[1:]
		if sign == "–" {
			sign = "-"
		}
	}
	whole, frac := t, ""
	if i := strings.IndexByte(t, '.'); i >= 0 {
		whole, frac = t[:i], t[i+1:]
	}
	if h.Thousand != "" && len(whole) > 3 {
		var b strings.Builder
		for i := range whole {
			if i > 0 && (len(whole)-i)%3 == 0 {
				b.WriteString(h.Thousand)
			}
			b.WriteByte(whole[i])
		}
		whole = b.String()
	}
	if frac != "" {
		dot := "."
		if h.Comma {
			dot = ","
		}
		whole += dot + frac
	}
	return sign + whole
}

// unit spells a unit as the hand does, with the space before it.
func (h *Hand) unit(u string) string {
	if u == "" {
		return ""
	}
	i := h.unitStyle
	of := func(a ...string) string { return a[min(i, len(a)-1)] }
	switch u {
	case "m":
		return of(" m", "m", " mtrs", " metres")
	case "cm":
		return of(" cm", "cm", " cms", " cm")
	case "m2":
		return of(" m2", "m²", " sq m", " m^2")
	case "m3":
		return of(" m3", "m³", " cu m", " m^3")
	case "m4":
		return of(" m4", "m⁴", " m4", " m^4")
	case "t":
		return of(" t", "t", " tonnes", " tonnes")
	case "t m":
		return of(" t m", "tm", " t-m", " tonnes m")
	case "t m/cm":
		return of(" t m/cm", "tm/cm", " t-m/cm", " tm/cm")
	case "t/cm":
		return of(" t/cm", "t/cm", " t/cm", " t/cm")
	case "m3/t":
		return of(" m3/t", "m³/t", " m3/t", " m3/tonne")
	case "deg":
		return of("°", "°", " deg", " degrees")
	}
	return " " + u
}

// ratio writes a ratio as fraction or percentage.
func (h *Hand) ratio(t string) string {
	v, _ := strconv.ParseFloat(t, 64)
	switch h.Percent {
	case "percent":
		return h.dress(plainText(v*100)) + "%"
	case "two places":
		if v == math.Round(v*100)/100 {
			return h.dress(strconv.FormatFloat(v, 'f', 2, 64))
		}
	}
	return h.dress(t)
}
