package show

import (
	"regexp"
	"strconv"
	"sync"

	"batten/rules"
	"batten/solver"
)

var figure = sync.OnceValue(func() *regexp.Regexp { return regexp.MustCompile(`[0-9]+(\.[0-9]+)?`) })

// exemplified finds the question whose figures a fault's example is worked
// with; nil where no question accounts for half of them, or where the fault
// can't arise in it.
func exemplified(f *rules.Fault, models []*solver.Model) *solver.Model {
	var best *solver.Model
	most := 0.5
	for _, m := range models {
		if !arisesIn(f, m) {
			continue
		}
		if share := known(f.Example.Wrong+" "+f.Example.Right, m); share > most {
			best, most = m, share
		}
	}
	return best
}

func arisesIn(f *rules.Fault, m *solver.Model) bool {
	for _, sites := range m.Sites {
		for _, s := range sites {
			if s.Fault == f {
				return true
			}
		}
	}
	return false
}

// known is the share of a text's figures that the question has, each at the
// places it is written with.
func known(text string, m *solver.Model) float64 {
	written := figure().FindAllString(text, -1)
	found := 0
	for _, w := range written {
		places := 0
		for i := len(w) - 1; i >= 0; i-- {
			if w[i] == '.' {
				places = len(w) - 1 - i
				break
			}
		}
		for _, q := range m.Quantities {
			if v, ok := m.Value(q.ID); ok && strconv.FormatFloat(v, 'f', places, 64) == w {
				found++
				break
			}
		}
	}
	if len(written) == 0 {
		return 0
	}
	return float64(found) / float64(len(written))
}
