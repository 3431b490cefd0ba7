package document

import (
	"bytes"
	"encoding/json"
	"testing"
)

func FuzzIndent(f *testing.F) {
	for _, s := range []string{`{}`, `[]`, `"a"`, `null`, `[[],{}]`, `{"a":[1,2,{"b":"c\"d"}],"e":"\\"}`, `{"a":"\\\"","b":"{[,:]}","":-1.5e9}`, `"é<>&"`} {
		f.Add([]byte(s))
	}
	f.Fuzz(func(t *testing.T, raw []byte) {
		var v any
		if json.Unmarshal(raw, &v) != nil {
			return
		}
		flat, err := json.Marshal(v)
		if err != nil {
			t.Fatal(err)
		}
		var want bytes.Buffer
		if err := json.Indent(&want, flat, "", " "); err != nil {
			t.Fatal(err)
		}
		if got := indent(flat); !bytes.Equal(got, want.Bytes()) {
			t.Fatalf("%s becomes\n%s\nnot\n%s", flat, got, want.Bytes())
		}
	})
}

func BenchmarkIndent(b *testing.B) {
	flat := []byte("[")
	for range 2000 {
		flat = append(flat, `{"rule":"notch_walk","size":"14","measured":0.125,"want":[0,0],"text":"Seam side: \"hip\" comes after 120.5 mm."},`...)
	}
	flat = append(flat, "null]"...)
	b.SetBytes(int64(len(flat)))
	b.Run("ours", func(b *testing.B) {
		for b.Loop() {
			indent(flat)
		}
	})
	b.Run("standard library", func(b *testing.B) {
		for b.Loop() {
			var out bytes.Buffer
			if err := json.Indent(&out, flat, "", " "); err != nil {
				b.Fatal(err)
			}
		}
	})
}
