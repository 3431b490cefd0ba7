package workroom

import (
	"bytes"
	"context"
	"fmt"
	"testing"
	"time"

	"sizerun/internal/document"
	"sizerun/internal/maker"
	"sizerun/internal/sheet"
	"sizerun/internal/write/pdf"
)

// input is the demo style, decoded.
func input(b *testing.B, sizes ...string) maker.Input {
	b.Helper()
	lim := document.DefaultLimits()
	block, err := document.DecodeBlock(demo(b, "blocks/wren-w"), lim)
	if err != nil {
		b.Fatal(err)
	}
	style, err := document.DecodeStyle(demo(b, "styles/wren-petal"), lim)
	if err != nil {
		b.Fatal(err)
	}
	return maker.Input{Block: block, Style: style, Sizes: sizes}
}

// BenchmarkMake shows that time is linear in sizes: ns/size stays level.
func BenchmarkMake(b *testing.B) {
	for _, n := range []int{1, 3, 6, 12} {
		in := input(b)
		in.Sizes = in.Block.Chart.Run[:n]
		b.Run(fmt.Sprintf("sizes=%d", n), func(b *testing.B) {
			for b.Loop() {
				if _, err := maker.Make(in, nil); err != nil {
					b.Fatal(err)
				}
			}
			b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N*n), "ns/size")
		})
	}
}

// BenchmarkPieces makes a block whose sleeve is there k times: ns/piece stays level.
func BenchmarkPieces(b *testing.B) {
	for _, k := range []int{1, 4, 16} {
		in := input(b)
		in.Style.Changes, in.Style.Allowances.Edges = nil, nil
		one := in.Block.Pieces[2]
		in.Block.Pieces, in.Block.Seams, in.Block.Finished = nil, nil, nil
		for i := range k {
			p := one
			p.Name = fmt.Sprintf("sleeve%d", i)
			in.Block.Pieces = append(in.Block.Pieces, p)
		}
		b.Run(fmt.Sprintf("pieces=%d", k), func(b *testing.B) {
			for b.Loop() {
				if _, err := maker.Make(in, nil); err != nil {
					b.Fatal(err)
				}
			}
			b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N*k), "ns/piece")
		})
	}
}

func BenchmarkDecode(b *testing.B) {
	for _, name := range []string{"wren-w", "wren-sleeve-cut", "wren-sleeve-nest"} {
		raw := demo(b, "blocks/"+name)
		b.Run(name, func(b *testing.B) {
			b.SetBytes(int64(len(raw)))
			for b.Loop() {
				if _, err := document.DecodeBlock(raw, document.DefaultLimits()); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}

func BenchmarkCheckTheRun(b *testing.B) {
	r, m := room(b), making(b)
	for b.Loop() {
		r.recent.forget()
		if _, _, err := r.Check(context.Background(), m); err != nil {
			b.Fatal(err)
		}
	}
}

// BenchmarkTheWholeRun makes and prints the 12-size run on A4, Letter and A0, decoding included, and
// tells its time as a multiple of writing the three PDFs alone, measured in turn with it.
func BenchmarkTheWholeRun(b *testing.B) {
	r, m := room(b), making(b)
	m.Request.Outputs = []document.Output{{Paper: "A4"}, {Paper: "Letter"}, {Paper: "A0"}}
	made, err := r.make(context.Background(), m, nil)
	if err != nil {
		b.Fatal(err)
	}
	f, err := pdf.Faces()
	if err != nil {
		b.Fatal(err)
	}
	var docs []sheet.Document
	for _, s := range sheetsOf(made, m.Request) {
		paper, _ := sheet.Papers(s.paper)
		d, err := sheet.Layout(made.Job(s.print), paper, f, sheet.Options{})
		if err != nil {
			b.Fatal(err)
		}
		docs = append(docs, d)
	}
	var whole, writing time.Duration
	for b.Loop() {
		r.recent.forget()
		t0 := time.Now()
		if _, err := r.Make(context.Background(), m, nil); err != nil {
			b.Fatal(err)
		}
		t1 := time.Now()
		for _, d := range docs {
			var buf bytes.Buffer
			if err := pdf.Write(&buf, d, f); err != nil {
				b.Fatal(err)
			}
		}
		whole += t1.Sub(t0)
		writing += time.Since(t1)
	}
	b.ReportMetric(float64(whole)/float64(writing), "x-of-writing")
	b.ReportMetric(float64(whole.Milliseconds())/float64(b.N), "whole-ms")
	b.ReportMetric(float64(writing.Milliseconds())/float64(b.N), "writing-ms")
}
