package document

import (
	"bytes"
	"encoding/json"
	"os"
	"strings"
	"testing"

	"sizerun/internal/pattern"
)

func seeds(f *testing.F, docs ...string) {
	for _, d := range docs {
		f.Add([]byte(d))
	}
	for _, c := range wrongBlocks {
		f.Add([]byte(strings.Replace(small, c.old, c.new, 1)))
	}
}

// told checks that a refusal is one that a caller can act on.
func told(t *testing.T, err error) {
	fs, ok := err.(pattern.Faults)
	if !ok || len(fs) == 0 || len(fs) > 2*maxFaults {
		t.Fatalf("refused without Faults: %T %v", err, err)
	}
	for _, f := range fs {
		if f.Rule == "" || f.Detail == "" || f.Remedy == "" || f.Pointer != "" && f.Pointer[0] != '/' {
			t.Fatalf("badly told: %+v", f)
		}
	}
}

// Whatever is sent: no panic; what is refused says why; what is read is JSON for everybody else
// too, and is written in one form that is read back the same.
func FuzzDecodeBlock(f *testing.F) {
	seeds(f, small, "", "[", `{"block":1}`)
	if b, err := os.ReadFile("../../testdata/blocks/wren-w.json"); err == nil {
		f.Add(b)
	}
	lim := DefaultLimits()
	lim.Bytes, lim.Points = 64<<10, 2000
	f.Fuzz(func(t *testing.T, data []byte) {
		b, err := DecodeBlock(data, lim)
		if err != nil {
			told(t, err)
			return
		}
		if !json.Valid(data) {
			t.Fatalf("read, but no JSON: %q", data)
		}
		out, err := EncodeBlock(b)
		if err != nil {
			t.Fatalf("read, but not written: %v", err)
		}
		lim := lim
		lim.Bytes *= 8
		again, err := DecodeBlock(out, lim)
		if err != nil {
			// Rounding to 0.001 mm may close a gap that was hardly open.
			told(t, err)
			return
		}
		if twice, err := EncodeBlock(again); err != nil || !bytes.Equal(out, twice) {
			t.Fatalf("written differently the second time (%v)\n%s\n%s", err, out, twice)
		}
	})
}

func FuzzDecodeStyle(f *testing.F) {
	seeds(f, smallStyle, `{"style":"a","block":"b","allowances":{"default":0}}`)
	lim := DefaultLimits()
	lim.Bytes = 64 << 10
	f.Fuzz(func(t *testing.T, data []byte) {
		s, err := DecodeStyle(data, lim)
		if err != nil {
			told(t, err)
			return
		}
		out, err := EncodeStyle(s)
		if err != nil {
			t.Fatalf("read, but not written: %v", err)
		}
		again, err := DecodeStyle(out, DefaultLimits())
		if err != nil {
			t.Fatalf("written, but not read: %v\n%s", err, out)
		}
		if twice, err := EncodeStyle(again); err != nil || !bytes.Equal(out, twice) {
			t.Fatalf("written differently the second time (%v)\n%s\n%s", err, out, twice)
		}
	})
}

func FuzzDecodeRun(f *testing.F) {
	for _, s := range []string{`{"style":"s"}`, `{"style":"s","sizes":"all","outputs":[{"paper":"A4"}],"body":[{"name":"a","body":{"bust":900}}]}`} {
		f.Add([]byte(s))
	}
	f.Fuzz(func(t *testing.T, data []byte) {
		if _, err := DecodeRun(data, DefaultLimits()); err != nil {
			told(t, err)
		}
		if _, err := DecodeCheck(data, DefaultLimits()); err != nil {
			told(t, err)
		}
	})
}
