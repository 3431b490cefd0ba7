package pdf

import (
	"bytes"
	"testing"

	"github.com/klauspost/compress/zlib"
)

func BenchmarkWrite(b *testing.B) {
	d, f := nest(12, 8, 7, 6), faces(b)
	var out bytes.Buffer
	b.ReportAllocs()
	for b.Loop() {
		out.Reset()
		if err := Write(&out, d, f); err != nil {
			b.Fatal(err)
		}
	}
	b.ReportMetric(float64(out.Len()), "bytes")
}

// streams inflates every deflated stream of a PDF.
func streams(t testing.TB, pdf []byte) [][]byte {
	var out [][]byte
	for {
		i := bytes.Index(pdf, []byte("stream\n"))
		if i < 0 {
			return out
		}
		pdf = pdf[i+len("stream\n"):]
		z, err := zlib.NewReader(bytes.NewReader(pdf))
		if err != nil {
			continue
		}
		var b bytes.Buffer
		if _, err := b.ReadFrom(z); err != nil {
			t.Fatal(err)
		}
		out = append(out, b.Bytes())
	}
}

func BenchmarkDeflateFloor(b *testing.B) {
	raw := streams(b, write(b, nest(12, 8, 7, 6), faces(b)))
	var out bytes.Buffer
	z, err := zlib.NewWriterLevel(&out, level)
	if err != nil {
		b.Fatal(err)
	}
	n := 0
	for b.Loop() {
		n = 0
		for _, s := range raw {
			out.Reset()
			z.Reset(&out)
			if _, err := z.Write(s); err != nil {
				b.Fatal(err)
			}
			if err := z.Close(); err != nil {
				b.Fatal(err)
			}
			n += out.Len()
		}
	}
	b.ReportMetric(float64(n), "bytes")
}

func BenchmarkFaces(b *testing.B) {
	for b.Loop() {
		faces(b)
	}
}
