package rules

import "testing"

func BenchmarkLoad(b *testing.B) {
	for i := 0; i < b.N; i++ {
		if _, err := read(builtin, "bilging"); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkMatch(b *testing.B) {
	t := Builtin()[0]
	phrases := []string{"volume of lost buoyancy", "new KB", "IWPA", "the hold was flooded through a hole", "GM reduced by", "volumn lost"}
	for i := 0; i < b.N; i++ {
		t.lexicon.find(phrases[i%len(phrases)])
	}
}
