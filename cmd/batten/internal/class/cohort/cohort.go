// Package cohort writes worked answers as students of one class might: many
// ways of writing, a fault or two in most, none in some. It is for tests, and
// for the class that is shipped as an example; the figures are those of the
// question "hold-above-tank-top".
package cohort

import (
	"fmt"
	"math"
	"math/rand/v2"
	"strconv"
	"strings"
)

// The question's figures.
const (
	length, breadth, draught, flat, hold, perm = 96.0, 18.0, 4.5, 1.5, 14.0, 0.6
)

// Faults are what a student of the cohort may do wrong, the common ones more
// than once. "" is nothing.
var Faults = []string{
	"", "", "", "", "", "",
	"half draught", "half draught", "half draught", "half draught", "half draught", "half draught",
	"draught for depth", "draught for depth",
	"whole waterplane", "whole waterplane", "whole waterplane",
	"no permeability", "no permeability",
	"permeability as intact",
	"old KB",
	"whole waterplane in BM", "whole waterplane in BM", "whole waterplane in BM",
	"centre from the flat", "centre from the flat",
	"moment added",
	"squared",
	"sinkage not in depth", "sinkage not in depth",
	"no direction", "no direction",
	"slip in volume", "slip in sinkage", "digits in BM", "slip in KM",
	"stops early", "stops early", "no part b", "no unit",
	"subtracted", "fog",
}

// student is one way of writing, and what goes wrong.
type student struct {
	*rand.Rand
	b      strings.Builder
	times  string
	cube   string
	m3     string
	m2     string
	unit   bool
	chains bool // formula, then figures
	part   [2]string
	faults map[string]bool
	places int // more places than usual
}

// Script writes the answer of one student: the same for the same number.
func Script(n int) (text string, faults []string) {
	s := &student{Rand: rand.New(rand.NewPCG(uint64(n), 77)), faults: map[string]bool{}}
	first := Faults[s.IntN(len(Faults))]
	if first != "" {
		faults = append(faults, first)
		if s.IntN(4) == 0 {
			if second := Faults[s.IntN(len(Faults))]; second != "" && second != first {
				faults = append(faults, second)
			}
		}
	}
	for _, f := range faults {
		s.faults[f] = true
	}
	s.style()
	s.head(n)
	s.sinkage()
	return s.b.String(), faults
}

func pick[T any](s *student, from ...T) T { return from[s.IntN(len(from))] }

func (s *student) style() {
	s.times = pick(s, " x ", " x ", " × ", " * ", "x", " · ")
	s.cube = pick(s, "^3", "³", "^3", "**3")
	s.m3 = pick(s, " m3", " m3", " m³", "m3", " cu m")
	s.m2 = " m2"
	if s.m3 == " m³" {
		s.m2 = " m²"
	}
	s.unit = true
	s.chains = s.IntN(3) == 0
	s.part = pick(s, [2]string{"(a)", "(b)"}, [2]string{"a)", "b)"}, [2]string{"Part a", "Part b"}, [2]string{"a.", "b."}, [2]string{"PART (A)", "PART (B)"})
	s.places = pick(s, 0, 0, 0, 1)
}

func (s *student) line(format string, args ...any) { fmt.Fprintf(&s.b, format+"\n", args...) }

// step writes a line: name, formula in some hands, figures, result.
func (s *student) step(name, formula, figures, result, unit string) {
	var sides []string
	if s.chains && formula != "" {
		sides = append(sides, formula)
	}
	if figures != "" {
		sides = append(sides, figures)
	}
	s.line("%s = %s", name, strings.Join(append(sides, result+unit), " = "))
}

// round is a figure as the student writes it, and as it is worked on with.
func (s *student) round(x float64, places int) (string, float64) {
	p := math.Pow(10, float64(places))
	v := math.Round(x*p) / p
	return strconv.FormatFloat(v, 'f', places, 64), v
}

// slip changes one digit of a figure.
func (s *student) slip(text string) (string, float64) {
	d := []byte(text)
	i := 0
	if len(d) > 2 {
		i = 1 + s.IntN(2)
	}
	for d[i] == '.' {
		i++
	}
	d[i] = '0' + (d[i]-'0'+byte(1+s.IntN(8)))%10
	v, _ := strconv.ParseFloat(string(d), 64)
	return string(d), v
}

// swap exchanges two neighbouring digits that differ.
func (s *student) swap(text string) (string, float64) {
	d := []byte(text)
	for i := len(d) - 1; i > 0; i-- {
		if d[i] != d[i-1] && d[i] != '.' && d[i-1] != '.' {
			d[i], d[i-1] = d[i-1], d[i]
			break
		}
	}
	v, _ := strconv.ParseFloat(string(d), 64)
	return string(d), v
}

func (s *student) head(n int) {
	if s.IntN(12) > 0 {
		s.line("Name: Candidate %02d", n)
	}
	if s.IntN(3) == 0 {
		s.line("Question: hold-above-tank-top")
	}
	if s.IntN(3) == 0 {
		s.line("")
	}
	if s.IntN(5) == 0 {
		s.line("%s", pick(s, "Vessel is box shaped, lost buoyancy method", "MV Example Trader", "MV Sample Star, hold no 2", "Lost buoyancy method:"))
	}
}

func (s *student) sinkage() {
	s.line("%s", s.part[0])
	share, shareText := perm, pick(s, "0.6", "0.60", "60%")
	switch {
	case s.faults["no permeability"]:
		share, shareText = 1, ""
	case s.faults["permeability as intact"]:
		share, shareText = .4, "0.4"
	}
	depth, depthText := draught-flat, pick(s, "3", "3.0", "(4.5 - 1.5)")
	if s.faults["draught for depth"] {
		depth, depthText = draught, "4.5"
	}
	lostLength := hold * share
	x := s.times
	lostText := "14" + x + shareText
	if shareText == "" {
		lostText = "14"
	}
	if shareText != "" && s.IntN(2) == 0 {
		ll, _ := s.round(lostLength, 1)
		s.step(pick(s, "lost length", "effective length lost", "Length lost", "length x perm"), pick(s, "l x μ", "l x u", ""), lostText, ll, " m")
		lostText = ll
	}
	volume := lostLength * breadth * depth
	volText, vol := s.round(volume, 1+s.places)
	if s.faults["slip in volume"] {
		volText, vol = s.slip(volText)
	}
	s.step(pick(s, "lost volume", "vol lost", "Volume of lost buoyancy", "v", "Lost vol.", "volume lost"), "", lostText+x+"18"+x+depthText, volText, s.m3)
	area := (length - lostLength) * breadth
	areaName := pick(s, "intact WPA", "Intact waterplane area", "IWPA", "area of intact waterplane", "intact area")
	if s.faults["whole waterplane"] {
		area = length * breadth
		a, v := s.round(area, 1)
		area = v
		s.step(pick(s, "WPA", "waterplane area", "area"), "L x B", "96"+x+"18", a, s.m2)
	} else {
		a, v := s.round(area, 1)
		area = v
		s.step(areaName, "", pick(s, "("+"96 - "+lostText+")"+x+"18", "96"+x+"18 - "+lostText+x+"18"), a, s.m2)
	}
	areaText, _ := s.round(area, 1)
	sinkText, sink := s.round(vol/area, 3)
	if s.faults["slip in sinkage"] {
		sinkText, sink = s.slip(sinkText)
	}
	s.step(pick(s, "sinkage", "Sinkage", "bodily sinkage", "S", "rise in waterline"), pick(s, "vol lost / intact WPA", "v / A", ""), volText+" / "+areaText, sinkText, " m")
	sign, d1 := " + ", draught+sink
	if s.faults["subtracted"] {
		sign, d1 = " - ", draught-sink
	}
	d1Text, d1 := s.round(d1, 3)
	unit := " m"
	if s.faults["no unit"] {
		unit = ""
	}
	s.step(pick(s, "new draught", "bilged draught", "New draft", "draught after bilging", "final draught"), "", "4.5"+sign+sinkText, d1Text, unit)
	if s.faults["fog"] {
		s.line("%s", pick(s, "= ) 4.788 (check with x x notes", "see calc 4..78 // 18 )) + ", "(( 96 - x 18 / = ??"))
	}
	if s.faults["no part b"] {
		return
	}
	if s.IntN(2) == 0 {
		s.line("")
	}
	s.line("%s", s.part[1])
	s.stability(share, lostLength, d1, d1Text)
}

func (s *student) stability(share, lostLength, d1 float64, d1Text string) {
	x := s.times
	if s.IntN(3) == 0 {
		s.line("%s", pick(s, "Initial condition", "Before bilging:", "Initial:"))
	}
	s.step(pick(s, "KB", "KB before", "initial KB"), "d/2", "4.5/2", "2.25", " m")
	vol := "7776"
	if s.IntN(2) == 0 {
		s.step(pick(s, "volume", "vol of displacement", "V"), "", "96"+x+"18"+x+"4.5", vol, s.m3)
	}
	bm, bmText := 6.0, "6.00"
	if s.faults["squared"] {
		bmText, bm = s.round(length*breadth*breadth/(12*7776), 2)
		s.step(pick(s, "BM", "initial BM"), "", "96"+x+"18^2 / (12"+x+vol+")", bmText, " m")
	} else {
		s.step(pick(s, "BM", "initial BM", "BM before"), "LB^3/12V", "96"+x+"18"+s.cube+" / (12"+x+vol+")", bmText, " m")
	}
	kmText, km := s.round(2.25+bm, 2)
	if s.faults["slip in KM"] {
		kmText, km = s.swap(kmText)
	}
	s.step(pick(s, "KM", "initial KM", "KM before"), "KB + BM", "2.25 + "+bmText, kmText, " m")
	if s.IntN(3) == 0 {
		s.line("%s", pick(s, "After bilging:", "Bilged condition", "Final:"))
	}
	kb, kbText := s.newKB(share, lostLength, d1, d1Text)
	intact, intactText := length-lostLength, ""
	intactText, _ = s.round(intact, 1)
	if s.faults["whole waterplane in BM"] {
		intact, intactText = length, "96"
	}
	power, cube := breadth*breadth*breadth, s.cube
	if s.faults["squared"] {
		power, cube = breadth*breadth, "^2"
	}
	bm1Text, bm1 := s.round(intact*power/(12*7776), 2)
	if s.faults["digits in BM"] {
		bm1Text, bm1 = s.swap(bm1Text)
	}
	s.step(pick(s, "new BM", "BM after bilging", "BM1", "bilged BM"), "", intactText+x+"18"+cube+" / (12"+x+vol+")", bm1Text, " m")
	if s.faults["stops early"] {
		return
	}
	km1Text, km1 := s.round(kb+bm1, 2)
	s.step(pick(s, "new KM", "KM after bilging", "KM1", "bilged KM"), "", kbText+" + "+bm1Text, km1Text, " m")
	diff := km1 - km
	word := "decrease"
	if diff > 0 {
		word = "increase"
	}
	size, _ := s.round(math.Abs(diff), 2)
	big, small := kmText, km1Text
	if diff > 0 {
		big, small = small, big
	}
	switch {
	case s.faults["no direction"]:
		s.line("change of GM = %s - %s = %s m", big, small, size)
	case s.IntN(3) == 0 && diff < 0:
		s.line("GM reduced by %s - %s = %s m", big, small, size)
	default:
		s.line("%s = %s - %s = %s m (%s)", pick(s, "change of GM", "change in GM", "Change of GM"), big, small, size, word)
	}
}

// newKB writes the new KB by one of the ways that students take.
func (s *student) newKB(share, lostLength, d1 float64, d1Text string) (float64, string) {
	x := s.times
	name := pick(s, "new KB", "KB after bilging", "KB1", "bilged KB")
	if s.faults["old KB"] {
		return 2.25, "2.25"
	}
	if s.faults["half draught"] {
		t, v := s.round(d1/2, 2)
		s.step(name, "", d1Text+"/2", t, " m")
		return v, t
	}
	fullText, full := s.round(length*breadth*d1, 1)
	lostDepth := d1 - flat
	if s.faults["sinkage not in depth"] {
		lostDepth = draught - flat
	}
	lostText, lost := s.round(lostLength*breadth*lostDepth, 1)
	depthText, _ := s.round(lostDepth, 3)
	centreText, centre := s.round(flat+lostDepth/2, 3)
	if s.faults["centre from the flat"] {
		centreText, centre = s.round(lostDepth/2, 3)
	}
	halfText, half := s.round(d1/2, 3)
	llText, _ := s.round(lostLength, 1)
	fm, fullMoment := s.round(full*half, 1)
	lm, lostMoment := s.round(lost*centre, 1)
	sign, net := " - ", fullMoment-lostMoment
	if s.faults["moment added"] {
		sign, net = " + ", fullMoment+lostMoment
	}
	netText, net := s.round(net, 1)
	kbText, kb := s.round(net/7776, 2)
	switch s.IntN(3) {
	case 0:
		bar := pick(s, " | ", "    ", "\t")
		s.line("%s", strings.Join([]string{"", "volume", "KG", "moment"}, bar))
		s.line("%s", strings.Join([]string{"whole", fullText, halfText, fm}, bar))
		s.line("%s", strings.Join([]string{"lost", lostText, centreText, lm}, bar))
		netVol, _ := s.round(full-lost, 1)
		s.line("%s", strings.Join([]string{"net", netVol, "", netText}, bar))
		s.step(name, "", netText+" / 7776", kbText, " m")
	case 1:
		s.step(pick(s, "full volume", "whole volume", "total volume"), "", "96"+x+"18"+x+d1Text, fullText, s.m3)
		s.step(pick(s, "new lost volume", "lost volume after bilging"), "", llText+x+"18"+x+depthText, lostText, s.m3)
		s.step("centre of lost volume", "", "", centreText, " m")
		s.step(name, "", "("+fullText+x+halfText+sign+lostText+x+centreText+") / 7776", kbText, " m")
	default:
		s.step("moment of whole", "", fullText+x+halfText, fm, " m4")
		s.step("moment of lost volume", "", lostText+x+centreText, lm, " m4")
		s.step("net moment", "", fm+sign+lm, netText, " m4")
		s.step(name, "", netText+" / 7776", kbText, " m")
	}
	return kb, kbText
}
