package rules

import (
	"fmt"
	"os"
	"strings"
	"testing"
	"time"
)

func TestScratch(t *testing.T) {
	t0 := time.Now()
	top, err := read(builtin, "bilging")
	fmt.Println("load", time.Since(t0))
	if err != nil {
		t.Fatal(err)
	}
	d, _ := os.ReadFile("/tmp/phrases.txt")
	for _, p := range strings.Split(strings.TrimSpace(string(d)), "\n") {
		fmt.Printf("%-38s %v ", p, top.Known(p))
		for i, m := range top.Match(p) {
			if i > 3 {
				break
			}
			fmt.Printf(" %s:%.2f:%s", m.Quantity.ID, m.Score, m.State)
		}
		fmt.Println()
	}
}
