package diagnose

import (
	"bytes"
	"math"
	"sort"
	"strconv"
	"strings"

	"batten/parse"
)

// figuresOf writes x to the places and keeps the digits only.
func figuresOf(x float64, places int) string {
	s := strconv.FormatFloat(math.Abs(x), 'f', places, 64)
	return strings.Replace(s, ".", "", 1)
}

func digitsOf(text string) string {
	var b strings.Builder
	for _, r := range text {
		if r >= '0' && r <= '9' {
			b.WriteRune(r)
		}
	}
	return b.String()
}

// placesOf is how many decimal places x needs to be written in full, -1 where
// it has more than four.
func placesOf(x float64) int {
	if f := math.Abs(x) * 1e4; f > 1e4 && math.Abs(f-math.Floor(f+0.5)) > 2e-7*f {
		return -1 // as of most figures that are worked out
	}
	for p := 0; p <= 4; p++ {
		f := x * tens[p]
		if math.Abs(f-math.Round(f)) < 1e-7*math.Max(1, math.Abs(f)) {
			return p
		}
	}
	return -1
}

// transposed reports whether the written digits are those of right with two
// neighbours changed round.
func transposed(wrong, right string) bool {
	if len(wrong) != len(right) {
		return false
	}
	for i := 0; i+1 < len(right); i++ {
		if wrong[i] == right[i] {
			continue
		}
		return wrong[i] == right[i+1] && wrong[i+1] == right[i] && wrong[i+2:] == right[i+2:]
	}
	return false
}

// oneDigitOff reports whether just one digit differs.
func oneDigitOff(wrong, right string) bool {
	if len(wrong) != len(right) {
		return false
	}
	n := 0
	for i := range right {
		if wrong[i] != right[i] {
			n++
		}
	}
	return n == 1
}

// digitSlip says whether the written number n is x copied with a digit wrong
// or digits changed round, and what it costs to believe it. It is asked of all
// the figures that a number might be, and most have nothing in common with it.
func digitSlip(text string, n, x float64, places int) (float64, bool) {
	if x == 0 || n == 0 || math.Abs(n-x) < 1e-9*math.Abs(x) {
		return 0, false
	}
	var a, b [40]byte
	w, r := a[:0], strconv.AppendFloat(b[:0], math.Abs(x), 'f', places, 64)
	for _, c := range []byte(text) {
		if c >= '0' && c <= '9' {
			w = append(w, c)
		}
	}
	if places > 0 && len(r) > places {
		point := len(r) - places - 1
		r = append(r[:point], r[point+1:]...)
	}
	w, r = bytes.TrimLeft(w, "0"), bytes.TrimLeft(r, "0")
	if len(w) < 2 || len(r) < 2 || bytes.Equal(bytes.TrimRight(w, "0"), bytes.TrimRight(r, "0")) {
		return 0, false
	}
	size := max(len(w), len(r))
	digit := func(d []byte, i int) byte {
		if i -= size - len(d); i >= 0 {
			return d[i]
		}
		return '0'
	}
	var apart [2]int // the digits that differ
	differ := 0
	for i := range size {
		if digit(w, i) == digit(r, i) {
			continue
		}
		if differ == len(apart) {
			return 0, false
		}
		apart[differ] = i
		differ++
	}
	i, j := apart[0], apart[1]
	swapped := differ == 2 && digit(w, i) == digit(r, j) && digit(w, j) == digit(r, i)
	switch {
	case swapped && j == i+1:
		return costMiscopied - 0.2, true
	case differ == 1:
		return costMiscopied, true
	case swapped && size >= 4:
		return costMiscopied + 0.4, true
	}
	return 0, false
}

// mostDigits bounds the whole numbers that floating point holds exactly, with
// room to spare.
const mostDigits = 1e15

// mayBeSlip is a quick test before digitSlip: of a number that is x with one
// digit wrong or two changed round, the digits, taken as one whole number, miss
// those of x by a digit and noughts, or by a digit times a row of nines and
// noughts.
func mayBeSlip(digits, x float64, places int) bool {
	f := math.Abs(x) * pow10(places)
	if math.IsNaN(digits) || !(f < mostDigits) {
		return true
	}
	whole := math.Floor(f)
	switch part := f - whole; {
	case math.Abs(part-0.5) < 1e-3:
		return true // it may be rounded either way
	case part > 0.5:
		whole++
	}
	apart := int64(math.Abs(digits - whole))
	if apart == 0 {
		return false
	}
	for apart%10 == 0 {
		apart /= 10
	}
	if apart <= 9 || apart%9 != 0 {
		return apart <= 9
	}
	for nines := int64(9); nines < apart; nines = 10*nines + 9 {
		if apart%nines == 0 && apart/nines <= 9 {
			return true
		}
	}
	return false
}

// pow10 is a power of ten, quickly where it is a usual one.
func pow10(n int) float64 {
	if n >= 0 && n < len(tens) {
		return tens[n]
	}
	return math.Pow10(n)
}

var tens = [...]float64{1, 10, 100, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8}

// aligned writes two figures of as many places with as many digits.
func aligned(a, b string) (string, string) {
	a, b = strings.TrimLeft(a, "0"), strings.TrimLeft(b, "0")
	for len(a) < len(b) {
		a = "0" + a
	}
	for len(b) < len(a) {
		b = "0" + b
	}
	return a, b
}

// swappedApart reports whether two digits anywhere changed places.
func swappedApart(wrong, right string) bool {
	var at []int
	for i := range right {
		if wrong[i] != right[i] {
			at = append(at, i)
		}
	}
	return len(at) == 2 && wrong[at[0]] == right[at[1]] && wrong[at[1]] == right[at[0]]
}

// shifted says by which power of ten n misses x, within a unit of its last
// place; half is how far x itself may be off.
func shifted(n, x, ulp, half float64) (int, bool) {
	if n == 0 || x == 0 || (n < 0) != (x < 0) || half > math.Abs(x)/10 {
		return 0, false // of a figure so loose the digits are not known
	}
	for k := -4; k <= 4; k++ {
		if k == 0 {
			continue
		}
		p := math.Pow10(k)
		if math.Abs(n-x*p) <= math.Max(1.01*ulp, 1e-9*math.Abs(n))+half*p && math.Abs(n-x*p) <= 0.06*math.Abs(n) {
			return k, true
		}
	}
	return 0, false
}

func sorted(s []string) []string {
	sort.Strings(s)
	return s
}

// digitVariants lists the figures that differ from a written one by two
// neighbouring digits changed round, or by one digit.
func digitVariants(n *parse.Num) []float64 {
	d := []byte(digitsOf(n.Text))
	if len(d) < 2 || len(d) > 9 {
		return nil
	}
	unit := math.Pow(10, -float64(n.Places))
	if n.Percent || math.Abs(number10(d)*unit-n.Value) > 1e-6*math.Abs(n.Value) {
		return nil
	}
	var out []float64
	for i := 0; i+1 < len(d); i++ {
		if d[i] != d[i+1] {
			d[i], d[i+1] = d[i+1], d[i]
			out = append(out, number10(d)*unit)
			d[i], d[i+1] = d[i+1], d[i]
		}
	}
	for i := range d {
		old := d[i]
		for c := byte('0'); c <= '9'; c++ {
			if c != old {
				d[i] = c
				out = append(out, number10(d)*unit)
			}
		}
		d[i] = old
	}
	return out
}

func number10(d []byte) float64 {
	x := 0.0
	for _, c := range d {
		x = 10*x + float64(c-'0')
	}
	return x
}

// transposed reports whether the written figure, with two neighbouring digits
// changed back, is x to its last place and the slack.
func (w *written) transposed(x, slack float64) bool {
	d := []byte(digitsOf(w.text))
	if len(d) < 2 || len(d) > 12 || math.Abs(number10(d)*w.ulp-math.Abs(w.value)) > 1e-6*math.Abs(w.value) {
		return false
	}
	for i := 0; i+1 < len(d); i++ {
		if d[i] == d[i+1] {
			continue
		}
		d[i], d[i+1] = d[i+1], d[i]
		v := number10(d) * w.ulp
		d[i], d[i+1] = d[i+1], d[i]
		near := 1.01 * w.ulp
		if w.digits <= 3 {
			near = 0.51 * w.ulp // of few digits many are near
		}
		if math.Abs(v-math.Abs(x)) <= near+slack {
			return true
		}
	}
	return false
}
