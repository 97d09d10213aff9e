package diagnose_test
import ("testing";"strings";"time")
func TestZZ(t *testing.T) {
	m := questionMarker(t)
	for name, text := range heavy {
		for _, k := range []int{1,30} {
			big := strings.Repeat(text, k)
			s := time.Now(); m.Mark("x", []byte(big)); d := time.Since(s)
			t.Log(name, k, strings.Count(big,"\n"), d)
		}
	}
}
