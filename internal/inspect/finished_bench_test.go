package inspect

import "testing"

func BenchmarkFinished(b *testing.B) {
	on := tube(250)
	list := rows(on)
	for b.Loop() {
		Finished(on, list)
	}
}
