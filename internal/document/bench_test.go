package document

import (
	"encoding/json"
	"fmt"
	"os"
	"strings"
	"testing"
)

func demoBlock(b *testing.B) []byte {
	data, err := os.ReadFile("../../testdata/blocks/wren-w.json")
	if err != nil {
		b.Fatal(err)
	}
	return data
}

// nest is a digitised block: 12 sizes of a piece with an edge of n points in each.
func nest(n int) []byte {
	var b strings.Builder
	line := func(w float64) string {
		var s strings.Builder
		for i := 1; i <= n; i++ {
			f := float64(i) / float64(n+1)
			fmt.Fprintf(&s, "[%.3f,%.3f],", w+30*f*(1-f)*4, 400*f)
		}
		return strings.TrimSuffix(s.String(), ",")
	}
	points := func(w float64) string { return fmt.Sprintf(`{"a":[0,0],"b":[%g,0],"c":[%g,400],"d":[0,400]}`, w, w) }
	b.WriteString(`{"block":"nest","sizes":{"base":"0","run":["0"`)
	for i := 1; i < 12; i++ {
		fmt.Fprintf(&b, `,"%d"`, i)
	}
	fmt.Fprintf(&b, `]},"pieces":{"p":{"points":%s,"outline":[{"edge":"ab","from":"a","to":"b"},{"edge":"bc","from":"b","to":"c","polyline":[%s]},{"edge":"cd","from":"c","to":"d"},{"edge":"da","from":"d","to":"a"}],"grain":{"from":[50,20],"to":[50,300]},"align":"a","digitised":{`, points(200), line(200))
	for i := 1; i < 12; i++ {
		if i > 1 {
			b.WriteByte(',')
		}
		w := 200 + 10*float64(i)
		fmt.Fprintf(&b, `"%d":{"points":%s,"curves":{"bc":{"polyline":[%s]}}}`, i, points(w), line(w))
	}
	b.WriteString("}}}}")
	return []byte(b.String())
}

func decodeLoop(b *testing.B, data []byte) {
	lim := DefaultLimits()
	b.SetBytes(int64(len(data)))
	b.ReportAllocs()
	for b.Loop() {
		if _, err := DecodeBlock(data, lim); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkDecodeBlockDemo(b *testing.B)      { decodeLoop(b, demoBlock(b)) }
func BenchmarkDecodeBlockNest1200(b *testing.B)  { decodeLoop(b, nest(100)) }
func BenchmarkDecodeBlockNest12000(b *testing.B) { decodeLoop(b, nest(1000)) }

// The reader alone, beside what encoding/json takes for the same bytes.
func BenchmarkRead(b *testing.B) {
	data := nest(1000)
	b.SetBytes(int64(len(data)))
	b.ReportAllocs()
	for b.Loop() {
		if _, err := read(data, DefaultLimits()); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkReadStandardLibrary(b *testing.B) {
	data := nest(1000)
	b.SetBytes(int64(len(data)))
	b.ReportAllocs()
	for b.Loop() {
		var v any
		if err := json.Unmarshal(data, &v); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkDecodeStyle(b *testing.B) {
	b.SetBytes(int64(len(smallStyle)))
	for b.Loop() {
		if _, err := DecodeStyle([]byte(smallStyle), DefaultLimits()); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkEncodeBlockDemo(b *testing.B) {
	v, err := DecodeBlock(demoBlock(b), DefaultLimits())
	if err != nil {
		b.Fatal(err)
	}
	for b.Loop() {
		if _, err := EncodeBlock(v); err != nil {
			b.Fatal(err)
		}
	}
}
