package students

import (
	"math"
	"strconv"
	"strings"
)

// Slips are the generic faults: they can be made at any written step.
var slipKinds = []struct {
	id     string
	weight float64
	make   func(p *plan, i int, right *worked) *change
}{
	{"arithmetic-slip", 1, (*plan).arithmeticSlip},
	{"digits-transposed", 0.8, (*plan).transposed},
	{"decimal-point-shifted", 0.8, (*plan).shifted},
	{"brackets-lost", 0.8, (*plan).bracketsLost},
	{"figure-miscopied", 1, (*plan).miscopied},
	{"wrong-operand", 0.7, (*plan).wrongOperand},
	{"factor-omitted", 0.7, (*plan).factorOmitted},
	{"operation-swapped", 0.7, (*plan).operationSwapped},
	{"does-not-follow", 0.25, (*plan).fromNowhere},
	{"direction-missing", 0.6, (*plan).directionMissing},
	{"change-reversed", 0.6, (*plan).changeReversed},
	{"list-to-intact-side", 0.6, (*plan).listReversed},
	{"unit-wrong", 0.3, (*plan).unitWrong},
	{"answer-not-reached", 0.4, (*plan).notReached},
	{"part-not-attempted", 0.2, (*plan).notAttempted},
}

func slip(id string, i int, e edit) *change {
	return &change{fault: id, severity: severityOf(id), generic: true, edits: map[int]edit{i: e}, again: map[int]bool{}}
}

func decimals(t string) int {
	if k := strings.IndexByte(t, '.'); k >= 0 {
		return len(t) - k - 1
	}
	return 0
}

func parseFigure(t string) float64 {
	v, _ := strconv.ParseFloat(t, 64)
	return v
}

// noChange: quantities whose sign is told in words are left to the faults of direction.
func (p *plan) isChange(i int) bool {
	return strings.HasSuffix(quants[p.steps[i].q].id, "m_change") || strings.HasSuffix(quants[p.steps[i].q].id, "b_change")
}

// arithmeticSlip writes a result that the working, itself right, does not give.
func (p *plan) arithmeticSlip(i int, right *worked) *change {
	t := right.text[i]
	r := p.hand.r
	if len(p.steps[i].right.leaves()) < 2 {
		return nil
	}
	b := []byte(t)
	var at []int
	for k, c := range b {
		if c >= '0' && c <= '9' {
			at = append(at, k)
		}
	}
	if len(at) < 2 {
		return nil
	}
	k := at[r.IntN(min(len(at), 4))]
	old := b[k]
	for b[k] == old || k == at[0] && b[k] == '0' {
		b[k] = byte('0' + r.IntN(10))
	}
	if r.chance(0.3) { // and the digits behind it go their own way
		for _, j := range at {
			if j > k {
				b[j] = byte('0' + r.IntN(10))
			}
		}
	}
	n := string(b)
	ulp := math.Pow(10, -float64(decimals(t)))
	if math.Abs(parseFigure(n)-right.full[i]) < 2.5*ulp || math.Abs(parseFigure(n)-right.full[i]) < 0.004*math.Abs(right.full[i]) {
		return nil
	}
	if isTransposed(t, n) || isShift(parseFigure(n), right.full[i]) {
		return nil
	}
	c := slip("arithmetic-slip", i, edit{text: n})
	c.working, c.symbolsRight, c.figuresRight = true, true, true
	return c
}

func isTransposed(a, b string) bool {
	if len(a) != len(b) {
		return false
	}
	x, y := strings.ReplaceAll(a, ".", ""), strings.ReplaceAll(b, ".", "")
	for k := 0; k+1 < len(x) && len(x) == len(y); k++ {
		if x[:k]+string(x[k+1])+string(x[k])+x[k+2:] == y {
			return true
		}
	}
	return false
}

func isShift(a, b float64) bool {
	for _, f := range []float64{10, 100, 1000, 0.1, 0.01, 0.001} {
		if math.Abs(a-b*f) <= 0.006*math.Abs(a) {
			return true
		}
	}
	return false
}

func (p *plan) transposed(i int, right *worked) *change {
	t := right.text[i]
	digits := strings.ReplaceAll(t, ".", "")
	dot := strings.IndexByte(t, '.')
	var open []string
	for k := 0; k+1 < len(digits); k++ {
		if digits[k] == digits[k+1] || digits[k] == '-' || k == 0 && (digits[0] == '0' || digits[1] == '0') {
			continue
		}
		s := digits[:k] + string(digits[k+1]) + string(digits[k]) + digits[k+2:]
		if dot >= 0 {
			s = s[:dot] + "." + s[dot:]
		}
		ulp := math.Pow(10, -float64(decimals(t)))
		if math.Abs(parseFigure(s)-right.full[i]) > 2.5*ulp && math.Abs(parseFigure(s)-right.full[i]) > 0.003*math.Abs(right.full[i]) && !isShift(parseFigure(s), right.full[i]) {
			open = append(open, s)
		}
	}
	if len(open) == 0 || len(digits) < 3 {
		return nil
	}
	c := slip("digits-transposed", i, edit{text: pick(p.hand.r, open...)})
	c.symbolsRight, c.figuresRight = true, true
	return c
}

func (p *plan) shifted(i int, right *worked) *change {
	if quants[p.steps[i].q].unit == "" && p.hand.Percent == "percent" {
		return nil
	}
	f := pick(p.hand.r, 10, 10, 100, 0.1, 0.1, 0.01, 1000)
	x := right.full[i] * f
	places := decimals(right.text[i])
	if f < 1 {
		places += int(-math.Log10(f) + 0.5)
	} else {
		places -= int(math.Log10(f) + 0.5)
	}
	if places < 0 && f > 10 {
		return nil // noughts would have to be made up
	}
	id := quants[p.steps[i].q].id
	if f == 100 && (id == "sinkage" || strings.HasPrefix(id, "trim_") || strings.HasSuffix(id, "draught")) && p.hand.Units != "everywhere" {
		return nil // centimetres
	}
	if f == 0.01 && id == "trim_change" && p.hand.Units != "everywhere" {
		return nil // metres
	}
	// keep at least the trade's places, from the figure the calculator shows
	t := strconv.FormatFloat(x, 'f', max(0, min(places, 6)), 64)
	if places < 0 || len(strings.Trim(t, "0.")) < 2 {
		t = strconv.FormatFloat(parseFigure(right.text[i])*f, 'f', max(places, 0), 64)
	}
	if parseFigure(t) == 0 {
		return nil
	}
	c := slip("decimal-point-shifted", i, edit{text: t})
	c.symbolsRight, c.figuresRight = true, true
	return c
}

// bracketsLost: the working has its brackets, the calculator did not get them.
func (p *plan) bracketsLost(i int, right *worked) *change {
	n := p.steps[i].right
	look := func(q int) float64 { return p.figure(right, i, q) }
	x, lost := flatValue(p.opened(n), look)
	if !lost || math.IsNaN(x) || x <= 0 || x > 150*right.full[i] || x < right.full[i]/150 {
		return nil
	}
	if math.Abs(x-right.full[i]) < 0.01*math.Abs(right.full[i]) {
		return nil
	}
	_, t := p.hand.round(x, p.hand.placesOf(p.steps[i].q))
	if len(strings.Trim(t, "-0.")) < 2 {
		return nil
	}
	c := slip("brackets-lost", i, edit{text: t})
	c.working, c.symbolsRight, c.figuresRight = true, true, true
	return c
}

// opened puts the formulas of unwritten steps where they stand in the figures.
func (p *plan) opened(n *node) *node {
	switch n.op {
	case 'k', 'm':
		return n
	case 'q':
		if j := p.at[n.q]; j >= 0 && !p.steps[j].written && p.steps[j].inline {
			return p.opened(p.steps[j].right)
		}
		return n
	}
	c := *n
	c.x = p.opened(n.x)
	if n.y != nil {
		c.y = p.opened(n.y)
	}
	return &c
}

// flatValue is what the keys give without the brackets, and whether there
// were any to lose.
func flatValue(n *node, look func(int) float64) (float64, bool) {
	type item struct {
		op byte
		x  float64
	}
	var items []item
	lost := false
	var walk func(n *node, op byte)
	walk = func(n *node, op byte) {
		switch n.op {
		case 'k', 'q', 'm', 'f', '^', 'n':
			items = append(items, item{op, n.eval(look)})
			return
		}
		walk(n.x, op)
		if level(n.y.op) <= level(n.op) && !(n.op == '+' && n.y.op == '+' || n.op == '*' && n.y.op == '*') {
			lost = true
		}
		if level(n.x.op) < level(n.op) {
			lost = true
		}
		walk(n.y, n.op)
	}
	walk(n, '+')
	total, term := 0.0, 0.0
	for k, it := range items {
		switch {
		case k == 0:
			term = it.x
		case it.op == '*':
			term *= it.x
		case it.op == '/':
			term /= it.x
		case it.op == '+':
			total += term
			term = it.x
		case it.op == '-':
			total += term
			term = -it.x
		}
	}
	return total + term, lost
}

func level(op byte) int {
	switch op {
	case '+', '-':
		return 1
	case '*', '/':
		return 2
	case 'n':
		return 3
	case '^':
		return 4
	}
	return 5
}
