package parse

import "testing"

// The value that the last figure of a script has.
func TestSignsOfAScriptsNumbers(t *testing.T) {
	for _, tt := range []struct {
		name, script string
		want         float64
	}{
		{"groups of two before the last three", "moment = 1,12,780.2", 112780.2},
		{"two such groups", "I = 16,05,852.7 m4", 1605852.7},
		{"whole", "I = 81,88,128", 8188128},
		{"thousands by three", "I = 1,605,852.7 m4", 1605852.7},
		{"a point for thousands", "sinkage = 0,216 m\nlever = 0,45 m\nvolume = 12.600 m3", 12600},
		{"two points in one number", "I = 1.666.667 m4\nsinkage = 0,216\nBM = 132,275", 132.275},
		{"a point for thousands and a decimal comma", "volume = 13.032,0\nlever = 0,45\nvolume = 12.600", 12600},
		{"three places behind points alone", "draught = 4.788\nKB = 2.394", 2.394},
		{"a list of two beside points", "L,B = 96,18\ndraught = 4.788\nKB = 2.394", 2.394},
		{"a decimal point that can be nothing else", "sinkage = 0,216\nlever = 0,45\ndraught = 4.5\nKB = 7.25\nGM = 1.3\nBM = 2.394", 2.394},
		{"no digit before the point", "sinkage = .216\nlever = 0,45\nKB = 2.394", 2.394},
	} {
		s, err := ReadScript([]byte(tt.script), trade)
		if err != nil {
			t.Fatal(err)
		}
		if len(s.Steps) == 0 {
			t.Errorf("%s: nothing read", tt.name)
			continue
		}
		if _, v, ok := s.Steps[len(s.Steps)-1].Result(); !ok || v != tt.want {
			t.Errorf("%s: %v, want %v\n%s", tt.name, v, tt.want, s.Dump())
		}
	}
}
