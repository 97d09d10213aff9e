package diagnose_test

import (
	"runtime/debug"
	"strings"
	"testing"

	"batten/diagnose"
	"batten/solver"
)

// heavy are scripts for which the search has much to do: nothing but figures,
// figures without names, rows in which every figure may stand for much.
var heavy = map[string]string{
	"sparse":     "(a)\n4.788\n(b)\nKB = 2.90\nBM = 5.47\n0.39 m\n",
	"unlabelled": strings.Repeat("8.4 x 18 x 3.0 = 453.6\n(96 - 8.4) x 18 = 1576.8\n453.6 / 1576.8 = 0.29\n4.5 + 0.29 = 4.79\n4.79 / 2 = 2.40\n", 4),
	"wrong":      strings.Repeat("KB = (4.788 x 96 x 18 - 8.4 x 1.5 x 18 + 3.0) / 7776 = 1.77\nBM = 96 x 18 x 4.5 / (12 x 8.4 x 3.0) = 9.99 m\n", 6),
	"dense":      strings.Repeat("96 18 4.5 8.4 151.2 453.6 1576.8 = 96 x 18 + 4.5 x 8.4 - 151.2 / 453.6 + 1576.8 x 3.0 = 77.7, KB = 2.4 = BM, 3.0 x 1.5 = 4.6\n", 10),
	"long rows":  "new draught = 3.0" + strings.Repeat(" + 96 x 1.5 / 3.0 + 18 x 1.5 / 3.0", 3) + " = 5.012 m\nKB = (3.0" + strings.Repeat(" + 4.5 x 1.5 / 3.0 + 8.4 x 1.5 / 3.0", 3) + ") / 2 = 2.9 m\n",
}

const usual = `(a)
lost volume = 8.4 x 18 x (4.5 - 1.5) = 453.6 m3
IWPA = (96 - 8.4) x 18 = 1576.8 m2
sinkage = 453.6 / 1576.8 = 0.288 m
new draught = 4.5 + 0.288 = 4.788 m
(b)
KB = 4.5/2 = 2.25 m
BM = LB^3/12V = 96 x 18^3 / (12 x 7776) = 6.00 m
KM = 2.25 + 6.00 = 8.25 m
GM = 8.25 - 6.80 = 1.45 m
KB = 4.788 / 2 = 2.39 m
BM = 87.6 x 18^3 / (12 x 7776) = 5.47 m
KM = 2.39 + 5.47 = 7.86 m
GM = 7.86 - 6.80 = 1.06 m
GM reduced by 0.39 m
`

// BenchmarkMark marks scripts of one kind again and again, as in the midst of
// a class: what is made once for a question is made already.
func BenchmarkMark(b *testing.B) {
	defer debug.SetGCPercent(debug.SetGCPercent(400)) // as the command does
	scripts := map[string]string{"usual": usual}
	for name, text := range heavy {
		scripts[name] = text
	}
	m := questionMarker(b)
	for name, text := range scripts {
		b.Run(name, func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				if _, err := m.Mark(name, []byte(text)); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}

// BenchmarkFirst marks the first script of a question, with all that is made
// for the question.
func BenchmarkFirst(b *testing.B) {
	b.ReportAllocs()
	for b.Loop() {
		if _, err := questionMarker(b).Mark("first", []byte(usual)); err != nil {
			b.Fatal(err)
		}
	}
}

func questionMarker(t testing.TB) *diagnose.Marker {
	q, err := solver.ReadFile("../testdata/questions/hold-above-tank-top.yaml")
	if err != nil {
		t.Fatal(err)
	}
	m, err := diagnose.New(q)
	if err != nil {
		t.Fatal(err)
	}
	return m
}
