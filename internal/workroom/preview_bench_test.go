package workroom

import (
	"context"
	"fmt"
	"testing"

	"sizerun/internal/maker"
	"sizerun/internal/sheet"
	"sizerun/internal/write/pdf"
	"sizerun/internal/write/svg"
)

// BenchmarkPreview is one answer to a slider: documents decoded, the style made and judged, the picture written.
func BenchmarkPreview(b *testing.B) {
	for _, n := range []int{1, 3, 12} {
		b.Run(fmt.Sprintf("sizes=%d", n), func(b *testing.B) {
			r, m := room(b), making(b)
			m.Request.Sizes = input(b).Block.Chart.Run[:n]
			bytes := 0
			for b.Loop() {
				p, err := r.Preview(context.Background(), m)
				if err != nil {
					b.Fatal(err)
				}
				bytes = len(p)
			}
			b.ReportMetric(float64(bytes), "B/picture")
		})
	}
}

// BenchmarkPicture is the drawing alone, without making.
func BenchmarkPicture(b *testing.B) {
	for _, n := range []int{1, 12} {
		in := input(b)
		in.Sizes = in.Block.Chart.Run[:n]
		made, err := maker.Make(in, nil)
		if err != nil {
			b.Fatal(err)
		}
		f, err := pdf.Faces()
		if err != nil {
			b.Fatal(err)
		}
		j := made.Job(maker.Print{SeamLines: true})
		doc, err := sheet.Picture(j, f, sheet.Options{SeamLines: true})
		if err != nil {
			b.Fatal(err)
		}
		b.Run(fmt.Sprintf("layout/sizes=%d", n), func(b *testing.B) {
			for b.Loop() {
				if _, err := sheet.Picture(j, f, sheet.Options{SeamLines: true}); err != nil {
					b.Fatal(err)
				}
			}
		})
		var buf []byte
		b.Run(fmt.Sprintf("svg/sizes=%d", n), func(b *testing.B) {
			for b.Loop() {
				if buf, err = svg.Append(buf[:0], doc, f); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
