package page

import (
	"math"
	"regexp"
	"strconv"
	"strings"
	"testing"
)

// TestContrast: every ink can be read on every ground it stands on, in the
// light and in the dark.
func TestContrast(t *testing.T) {
	data, err := staticFiles.ReadFile("static/style.css")
	if err != nil {
		t.Fatal(err)
	}
	light, rest, _ := strings.Cut(string(data), "prefers-color-scheme: dark")
	dark, _, _ := strings.Cut(rest, "box-sizing")
	colour := regexp.MustCompile(`--([a-z]+): #([0-9a-f]{6})`)
	read := func(css string) map[string]float64 {
		out := map[string]float64{}
		for _, m := range colour.FindAllStringSubmatch(css, -1) {
			out[m[1]] = luminance(m[2])
		}
		return out
	}
	for name, shades := range map[string]map[string]float64{"light": read(light), "dark": read(dark)} {
		for _, ground := range []string{"paper", "slip", "desk"} {
			for ink, least := range map[string]float64{"ink": 7, "faint": 4.5, "link": 4.5, "holds": 4.5, "follows": 4.5, "fault": 4.5, "doubt": 4.5, "focus": 3, "rule": 3, "edge": 3} {
				if ground == "desk" && ink != "ink" && ink != "faint" && ink != "focus" {
					continue
				}
				a, ok := shades[ink]
				b, ok2 := shades[ground]
				if !ok || !ok2 {
					t.Fatalf("%s: no colour for %s or %s", name, ink, ground)
				}
				if c := (max(a, b) + 0.05) / (min(a, b) + 0.05); c < least && !(ink == "edge" && ground != "paper") {
					t.Errorf("%s: %s on %s has a contrast of %.2f, under %.1f", name, ink, ground, c, least)
				}
			}
		}
	}
}

// luminance is the relative luminance of a colour, as the accessibility
// guidelines for the web define it.
func luminance(hex string) float64 {
	var l float64
	for i, weight := range []float64{0.2126, 0.7152, 0.0722} {
		n, _ := strconv.ParseUint(hex[2*i:2*i+2], 16, 8)
		c := float64(n) / 255
		if c <= 0.04045 {
			c /= 12.92
		} else {
			c = math.Pow((c+0.055)/1.055, 2.4)
		}
		l += weight * c
	}
	return l
}
