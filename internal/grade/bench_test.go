package grade_test

import (
	"os"
	"testing"

	"sizerun/internal/document"
	"sizerun/internal/grade"
	"sizerun/internal/pattern"
)

func demo(tb testing.TB) pattern.Block {
	data, err := os.ReadFile("../../testdata/blocks/wren-w.json")
	if err != nil {
		tb.Fatal(err)
	}
	b, err := document.DecodeBlock(data, document.DefaultLimits())
	if err != nil {
		tb.Fatal(err)
	}
	return b
}

func gradeLoop(b *testing.B, block pattern.Block, sizes []string) {
	b.ReportAllocs()
	for b.Loop() {
		if _, err := grade.Run(block, sizes); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkRunOneSize(b *testing.B) { gradeLoop(b, demo(b), []string{"20"}) }
func BenchmarkRun12Sizes(b *testing.B) { v := demo(b); gradeLoop(b, v, v.Chart.Run) }

// Twice the pieces shall take twice the time.
func BenchmarkRun12SizesTwicePieces(b *testing.B) {
	v := demo(b)
	for _, p := range v.Pieces {
		p.Name += "_again"
		v.Pieces = append(v.Pieces, p)
	}
	gradeLoop(b, v, v.Chart.Run)
}

func BenchmarkBody(b *testing.B) {
	v := demo(b)
	body := v.Chart.BodyOf(2)
	for b.Loop() {
		if _, err := grade.Body(v, "order", body); err != nil {
			b.Fatal(err)
		}
	}
}
