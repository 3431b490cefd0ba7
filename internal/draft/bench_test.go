package draft

import (
	"testing"

	"sizerun/internal/geom"
	"sizerun/internal/pattern"
)

func BenchmarkDraft(b *testing.B) {
	for _, kind := range Names() {
		b.Run(kind, func(b *testing.B) {
			body := size88()
			for b.Loop() {
				if _, err := Draft("88", pattern.DraftSpec{Kind: kind}, body); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}

func BenchmarkFitCap(b *testing.B) {
	for b.Loop() {
		if _, ok := fitCap(231, 224, 332, geom.Vec{X: -0.99, Y: 0.12}.Unit()); !ok {
			b.Fatal("no cap")
		}
	}
}
