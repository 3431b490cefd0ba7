package book_test

import (
	"testing"

	"sizerun/internal/book"
	"sizerun/internal/maker"
	"sizerun/internal/sheet/sheettest"
)

// What a companion takes beside making the pattern: lists, the order of sewing in every size, and the
// drawings of the base size, or of all twelve.
func BenchmarkCompanion(b *testing.B) {
	for _, name := range []string{"wren-petal", "curlew"} {
		made := demo(b, name)
		for what, pr := range map[string]maker.Print{"base": {}, "every": {EveryDrawing: true}} {
			b.Run(name+"/"+what, func(b *testing.B) {
				b.ReportAllocs()
				for b.Loop() {
					made.Companion(pr).Pages(a4, sheettest.Metrics{})
				}
			})
		}
	}
}

func BenchmarkOrderOfSewing(b *testing.B) {
	s := demo(b, "dunlin", "14").Sizes[0]
	b.ReportAllocs()
	for b.Loop() {
		book.Sewing(&s.Pattern, s.Cut, s.Steps)
	}
}
