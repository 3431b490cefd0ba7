package change_test

import (
	"strings"
	"testing"

	"sizerun/internal/change"
	"sizerun/internal/pattern"
	"sizerun/internal/testkit/blouse"
)

// FuzzBind reads arguments made of bytes: it may refuse them, never fall over.
func FuzzBind(f *testing.F) {
	f.Add("petal", "cap_share", 0.5, "2in", uint8(1))
	f.Add("split", "from", 1.0, "neck", uint8(4))
	f.Add("lengthen", "piece", -20.0, "front", uint8(3))
	f.Fuzz(func(t *testing.T, name, field string, x float64, s string, kind uint8) {
		leaf := []pattern.Arg{{}, {Kind: pattern.ArgNumber, Number: x, PerMM: 1}, {Kind: pattern.ArgText, Text: s}, {Kind: pattern.ArgBool, Bool: x > 0}}
		v := leaf[int(kind)%4]
		switch kind / 4 % 4 {
		case 1:
			v = pattern.Arg{Kind: pattern.ArgList, List: leaf}
		case 2:
			v = pattern.Arg{Kind: pattern.ArgObject, Fields: []pattern.Field{{Name: s, Value: v}, {Name: "edge", Value: v}, {Name: "along", Value: leaf[1]}}}
		case 3:
			v = pattern.Arg{Kind: pattern.ArgObject, Fields: []pattern.Field{{Name: "between", Value: pattern.Arg{Kind: pattern.ArgList, List: leaf[1:3]}}, {Name: "share", Value: v}}}
		}
		b, err := change.Bind(pattern.ChangeSpec{Change: name, Args: pattern.Arg{Kind: pattern.ArgObject, Fields: []pattern.Field{{Name: field, Value: v}, {Name: "piece", Value: leaf[2]}, {Name: "by", Value: leaf[1]}}}})
		if err != nil {
			if len(pattern.FaultsOf(err)) == 0 || strings.Contains(err.Error(), "\n\n") {
				t.Fatalf("%v", err)
			}
			return
		}
		if _, err := b.Apply(blouse.Make(blouse.Base())); err != nil && pattern.FaultsOf(err)[0].Size != "14" {
			t.Fatalf("%v", err)
		}
	})
}

func BenchmarkPetal(b *testing.B) { benchChange(b, "petal") }
func BenchmarkLengthen(b *testing.B) {
	benchChange(b, "lengthen", "piece", []any{"front", "back"}, "by", 100)
}
func BenchmarkSplit(b *testing.B) {
	benchChange(b, "split", yoke("shape", "curved", "inflection", true)...)
}
