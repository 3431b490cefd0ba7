package change_test

import (
	"testing"

	"sizerun/internal/pattern"
)

func TestEdgesAreSpokenOfAsPieceAndEdge(t *testing.T) {
	for _, c := range []struct {
		claim, rule, pointer string
		v                    any
	}{
		{"no dot", "bad_name", "/edges", "waist"},
		{"no edge", "bad_name", "/edges/1", []any{"front.hem", "back."}},
		{"two dots", "bad_name", "/edges", "a.b.c"},
		{"the same edge twice", "given_twice", "/edges/1", []any{"front.hem", "front.hem"}},
		{"no text", "wrong_kind", "/edges/0", []any{5}},
		{"an empty list", "wrong_kind", "/edges", []any{}},
		{"an object", "wrong_kind", "/edges", obj("piece", "front")},
	} {
		_, err := tryBind("waistband", "edges", c.v)
		if err == nil {
			t.Errorf("%s was bound", c.claim)
			continue
		}
		if f := pattern.FaultsOf(err)[0]; f.Rule != c.rule || f.Pointer != c.pointer || f.Remedy == "" || f.Valid == "" {
			t.Errorf("%s: %+v", c.claim, f)
		}
	}
}
