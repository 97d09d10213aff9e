package parse

import "strings"

// words is a lexicon for tests: symbols by their very letters, phrases in any case.
type words map[string]bool

func (w words) Known(p string) bool {
	if w[p] {
		return true
	}
	l := strings.ToLower(p)
	return len(l) > 2 && w[l]
}

func lexiconOf(list string) words {
	m := words{}
	for _, p := range strings.Split(list, "|") {
		m[strings.TrimSpace(p)] = true
	}
	return m
}

// trade knows the names that the tests use.
var trade = lexiconOf(`L|B|D|d|l|b|h|V|v|W|I|A|a|e|μ|θ|KB|BM|KM|GM|KG|kb|bm|km|gm|kg|TPC|KB1|BM1|KM1|GM1|d2|GG1|ΔGM|BML|
lost volume|vol lost|lost vol|volume of lost buoyancy|lost_volume|lost length|lost_length|length|breadth|draught|new draught|bilged draught|
intact area|IWPA|iwpa|intact wpa|sinkage|permeability|volume|displacement|change in gm|new kb|initial gm|final gm|list|tan list|
new km|gm 1|gm1|lost area|net moment|moment|depth|x|s|decrease in gm|half the draught|displacement`)

var exprSeeds = []string{
	"LB^3/12V", "96 x 18^3 / (12 x 7776)", "12(7776)", "length - lost_length", "vol lost / IWPA", "1.2.3", "12 1/2", "0.x ", "B\x04xAx", "4. x 2", "3e5", "(1+2]", "(1+2", "14x18x3",
	"LxBxd", "lμb", "14 m x 18 m x 3 m", "60% x 14", "½d", "-2^2", "tan-1 0.0731", "tan⁻¹(0.0731)", "max(0, 1)", "2 411.2", "4,5", "6° 11'", "LB3/12V",
	"sqrt(2)x3", "(96-8.4)18^3", "1.5E+03", "B^-3V", "2^3^2", "-(-3)", "12(d)V", "((((", "V(d)", "7776 m3 / 12 m",
}

var seeds = []string{
	"lost volume = 8.4 x 18 x 3.0 = 453.6 m3\nBM = LB^3/12V = 96 x 18^3 / (12 x 7776) = 6.00 m\n",
	"(a) Sinkage\n= 0.288 m\n∴ new draught = 4.788 m\nb)\nKB = 2.35, BM = 5.25, KM = 7.60 m",
	"Item   Volume   KG\nbox    8273.7   2.394\nless   497.1    3.144\n",
	"| a | b |\n|---|---|\n| 1 | 2 |\n",
	"KB\t2.25\t2.35\nBM\t6.00\t5.25\n",
	"KM =\n  KB +\nBM\nGM = (8.25 -\n6.80)\n",
	"~~KB = 2.39~~\nK̶B̶ ̶=̶ ̶2̶\nignore above\nthis can't be right",
	"GM falls from 1.45 to 1.02\nlist 4.2° to port\n0,288 + 4,5 = 4,788",
	"**b)** tan θ = 0.1/1.02 → θ = tan⁻¹ 0.098 = 5° 36′",
	"\ufeffName: x\r\nQuestion: y\r\rKB = ½d",
}
