package parse

import (
	"strings"
	"testing"
)

const usual = `(a) Sinkage
lost volume = 8.4 x 18 x 3.0 = 453.6 m3
IWPA = (96 - 8.4) x 18 = 1576.8 m2
sinkage = vol lost / IWPA = 453.6 / 1576.8
   = 0.288 m
new draught = 4.5 + 0.288 = 4.788 m

(b) Stability
Initial condition
KB = d/2 = 4.5/2 = 2.25 m
BM = LB^3/12V = 96 x 18^3 / (12 x 7776) = 6.00 m
KM = KB + BM = 2.25 + 6.00 = 8.25 m
GM = KM - KG = 8.25 - 6.80 = 1.45 m
Bilged
KB = (8273.7 x 2.394 - 497.1 x 3.144) / 7776 = 2.35
BM = (87.6 x 18^3) / (12 x 7776) = 5.47 m
GM reduced by 0.43 m
`

func BenchmarkReadScript(b *testing.B) {
	for name, text := range map[string]string{
		"usual": usual,
		"prose": strings.Repeat("The ship sinks until the intact part displaces what was lost.\n", 20),
		"table": strings.Repeat("Whole box    8273.7   2.394   19807.2\n", 20),
		"chain": strings.Repeat("BM = LB^3/12V = 96 x 18^3 / (12 x 7776) = 6.00 m\n", 20),
	} {
		b.Run(name, func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				if _, err := ReadScript([]byte(text), trade); err != nil {
					b.Fatal(err)
				}
			}
			b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/float64(strings.Count(text, "\n"))/1000, "µs/line")
		})
	}
}

func BenchmarkParseExpr(b *testing.B) {
	b.ReportAllocs()
	for b.Loop() {
		if _, err := ParseExpr("96 x 18^3 / (12 x 7776)", trade); err != nil {
			b.Fatal(err)
		}
	}
}
