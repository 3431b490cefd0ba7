package pdf

import (
	"bytes"
	"slices"
	"testing"
	"time"

	"github.com/klauspost/compress/zlib"

	"sizerun/internal/sheet"
	"sizerun/internal/sheet/sheettest"
)

// typical is the document that figures speak of: 12 sizes of 8 pieces on A4 tiles.
func typical(b *testing.B, f *Fonts) sheet.Document {
	b.Helper()
	paper, ok := sheet.Papers("A4")
	if !ok {
		b.Fatal("no A4")
	}
	d, err := sheet.Layout(sheettest.Typical(), paper, f, sheet.Options{})
	if err != nil {
		b.Fatal(err)
	}
	return d
}

// BenchmarkWrite is a worker's usual case: the labels were shaped when they were laid out.
func BenchmarkWrite(b *testing.B) {
	f := faces(b)
	d := typical(b, f)
	var out bytes.Buffer
	b.ReportAllocs()
	for b.Loop() {
		out.Reset()
		if err := Write(&out, d, f); err != nil {
			b.Fatal(err)
		}
	}
	b.ReportMetric(float64(out.Len()), "bytes")
	b.ReportMetric(float64(len(d.Pages)), "pages")
}

// BenchmarkWriteFirst has every label still to shape and the fonts to subset.
func BenchmarkWriteFirst(b *testing.B) {
	f := faces(b)
	d := typical(b, f)
	var out bytes.Buffer
	for b.Loop() {
		out.Reset()
		clear(f.memo)
		clear(f.last[:])
		if err := Write(&out, d, f); err != nil {
			b.Fatal(err)
		}
	}
}

// streams inflates every deflated stream of a PDF.
func streams(t testing.TB, pdf []byte) [][]byte {
	t.Helper()
	var out [][]byte
	for {
		i := bytes.Index(pdf, []byte("stream\n"))
		if i < 0 {
			return out
		}
		pdf = pdf[i+len("stream\n"):]
		z, err := zlib.NewReader(bytes.NewReader(pdf))
		if err != nil {
			continue // the end of a stream, or one that is stored plain
		}
		var b bytes.Buffer
		if _, err := b.ReadFrom(z); err != nil {
			t.Fatal(err)
		}
		out = append(out, b.Bytes())
	}
}

// deflater packs streams as Write does and does nothing else: the floor below which no writer of
// these streams can come.
type deflater struct {
	raw [][]byte
	out bytes.Buffer
	z   *zlib.Writer
}

func newDeflater(b *testing.B, pdf []byte) *deflater {
	d := &deflater{raw: streams(b, pdf)}
	z, err := zlib.NewWriterLevel(&d.out, level)
	if err != nil {
		b.Fatal(err)
	}
	d.z = z
	return d
}

func (d *deflater) run(b *testing.B) int {
	n := 0
	for _, s := range d.raw {
		d.out.Reset()
		d.z.Reset(&d.out)
		if _, err := d.z.Write(s); err != nil {
			b.Fatal(err)
		}
		if err := d.z.Close(); err != nil {
			b.Fatal(err)
		}
		n += d.out.Len()
	}
	return n
}

func BenchmarkDeflateFloor(b *testing.B) {
	f := faces(b)
	d := newDeflater(b, write(b, typical(b, f), f))
	n := 0
	for b.Loop() {
		n = d.run(b)
	}
	b.ReportMetric(float64(n), "bytes")
}

// BenchmarkWriteOverFloor measures both in turn, so that a busy machine slows both alike, and
// reports how many times the floor a Write takes, by their medians.
func BenchmarkWriteOverFloor(b *testing.B) {
	f := faces(b)
	d := typical(b, f)
	floor := newDeflater(b, write(b, d, f))
	var out bytes.Buffer
	var writing, deflating []time.Duration
	for b.Loop() {
		out.Reset()
		start := time.Now()
		if err := Write(&out, d, f); err != nil {
			b.Fatal(err)
		}
		mid := time.Now()
		floor.run(b)
		writing, deflating = append(writing, mid.Sub(start)), append(deflating, time.Since(mid))
	}
	median := func(d []time.Duration) float64 {
		slices.Sort(d)
		return float64(d[len(d)/2])
	}
	b.ReportMetric(median(writing)/median(deflating), "x-floor")
}

func BenchmarkFaces(b *testing.B) {
	for b.Loop() {
		faces(b)
	}
}

func BenchmarkWidth(b *testing.B) {
	f := faces(b)
	b.Run("known", func(b *testing.B) {
		for b.Loop() {
			f.Width(sheet.Regular, "Cut 1 pair, ⅝ in seam allowance")
		}
	})
	b.Run("new", func(b *testing.B) {
		for b.Loop() {
			clear(f.memo)
			f.Width(sheet.Regular, "Cut 1 pair, ⅝ in seam allowance")
		}
	})
}
