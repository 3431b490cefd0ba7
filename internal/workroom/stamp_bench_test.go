package workroom

import (
	"context"
	"fmt"
	"testing"

	"sizerun/internal/document"
)

// BenchmarkAnotherStamp is the order of a design that was made before, for another buyer, beside a fresh one.
func BenchmarkAnotherStamp(b *testing.B) {
	for _, n := range []int{1, 12} {
		sizes := input(b).Block.Chart.Run[:n]
		for _, paper := range []string{"A4", "A0"} {
			for _, fresh := range []bool{true, false} {
				name := map[bool]string{true: "fresh", false: "stamped"}[fresh]
				b.Run(fmt.Sprintf("%s/sizes=%d/%s", name, n, paper), func(b *testing.B) {
					r, m := room(b), making(b, sizes...)
					m.Request.Outputs = []document.Output{{Paper: paper}}
					i := 0
					for b.Loop() {
						i++
						if fresh {
							r.recent.forget()
						}
						m.Request.Stamp = fmt.Sprint("made for order ", i)
						if _, err := r.Make(context.Background(), m, nil); err != nil {
							b.Fatal(err)
						}
					}
				})
			}
		}
	}
}
