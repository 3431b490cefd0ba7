package change_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"sizerun/internal/change"
	"sizerun/internal/inspect"
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

// skirtStep is one random change of a skirt with its arguments, wise or not.
func skirtStep(r *rand.Rand, p *pattern.Pattern) (string, []any) {
	q := &p.Pieces[r.IntN(len(p.Pieces))]
	edge := func() string {
		x := &p.Pieces[r.IntN(len(p.Pieces))]
		return x.Name + "." + x.Edges[r.IntN(len(x.Edges))].Name
	}
	top := func() any {
		var out []any
		for i := range q.Edges {
			if strings.HasPrefix(q.Edges[i].Name, "waist") {
				out = append(out, q.Edges[i].Name)
			}
		}
		if len(out) == 0 || r.IntN(6) == 0 {
			return q.Edges[r.IntN(len(q.Edges))].Name
		}
		return out
	}
	edges := func() any {
		switch r.IntN(4) {
		case 0:
			return waistEdges
		case 1:
			return []any{"back.hem", "front.hem"}
		case 2:
			return []any{edge(), edge()}
		}
		return edge()
	}
	name := fmt.Sprintf("piece_%d", r.IntN(1000))
	choose := func(s ...string) string { return s[r.IntN(len(s))] }
	switch r.IntN(12) {
	case 0:
		return "waistband", []any{"edges", edges(), "name", name, "cut", choose("auto", "each", "whole", "fold"), "overlap", 60 * r.Float64(), "faced", r.IntN(2) == 0}
	case 1:
		return "ruffle", []any{"edges", edges(), "name", name, "fullness", 1.1 + 2*r.Float64(), "cut", choose("auto", "each", "whole", "fold")}
	case 2:
		return "binding", []any{"edges", edges(), "name", name, "stretch", 0.05 * r.Float64(), "double", r.IntN(2) == 0}
	case 3:
		return "cuff", []any{"edges", edges(), "name", name, "length", 40 + 900*r.Float64()}
	case 4:
		return "pocket_patch", []any{"piece", q.Name, "at", obj("at", []any{400*r.Float64() - 200, 500 * r.Float64()}), "name", name, "width", 40 + 80*r.Float64(), "depth", 60 + 60*r.Float64()}
	case 5:
		return "pocket_inseam", []any{"edges", []any{"front.side", "back.side"}, "name", name, "top", 20 + 100*r.Float64(), "opening", 60 + 100*r.Float64(), "width", 60 + 60*r.Float64(), "depth", 20 + 60*r.Float64()}
	case 6:
		return "shrinkage", []any{"warp", 0.08 * r.Float64(), "weft", 0.08 * r.Float64()}
	case 7:
		return "lining", []any{"pieces", []any{"front", "back"}, "shorter", 60 * r.Float64(), "name", name}
	case 8:
		return "circle_skirt", []any{"name", name, "waist", 500 + 500*r.Float64(), "panels", 1 + r.IntN(5), "circle", choose("quarter", "third", "half", "full"), "fold", r.IntN(2) == 0}
	case 9:
		return "panels", []any{"piece", q.Name, "number", 2 + r.IntN(3), "top", top(), "notches", r.IntN(3), "line", fmt.Sprintf("line_%d", r.IntN(100))}
	case 10:
		return "pleats", []any{"piece", q.Name, "kind", choose("knife", "box", "inverted"), "faces", choose("left", "right"), "number", 1 + r.IntN(3), "depth", 5 + 25*r.Float64(), "top", top(), "name", fmt.Sprintf("pleat_%d", r.IntN(100))}
	}
	return "skirt_flare", []any{"pieces", []any{"front", "back"}, "by", 100 + 900*r.Float64(), "darts", r.IntN(2) == 0}
}

// skirtSequence makes up to n random changes one after the other and holds each to what every change owes.
func skirtSequence(t testing.TB, r *rand.Rand, p pattern.Pattern, n int) (made, refused int) {
	shrunk := false
	for range n {
		name, args := skirtStep(r, &p)
		b, err := change.Bind(pattern.ChangeSpec{Change: name, Args: obj(args...)})
		if err != nil {
			refused++
			continue
		}
		before := fmt.Sprintf("%v", p)
		res, err := b.Apply(p)
		if after := fmt.Sprintf("%v", p); after != before {
			t.Fatalf("%s %v touched the pattern it was given", name, args)
		}
		if err != nil {
			refused++
			for _, f := range pattern.FaultsOf(err) {
				if f.Rule == "" || f.Rule == "unknown" || f.Size != p.Size || !strings.HasPrefix(f.Detail, name+": ") || f.Remedy == "" || f.Pointer == "" && f.Piece == "" || strings.Contains(f.Error(), "NaN") {
					t.Fatalf("%s %v: a refusal that tells too little: %+v", name, args, f)
				}
			}
			continue
		}
		made++
		shrunk = shrunk || name == "shrinkage"
		q := res.Pattern
		for i := range q.Pieces {
			finite(t, name, args, &q.Pieces[i])
		}
		for _, c := range res.Checks {
			if math.IsNaN(c.Measured) || c.Text == "" || strings.Contains(c.Text, "NaN") || c.Verdict == inspect.Fail && c.Rule != "skirt_smooth" {
				t.Fatalf("%s %v broke a promise: %s %.4f in %v ± %g: %s", name, args, c.Rule, c.Measured, c.Want, c.Tolerance, c.Text)
			}
		}
		for _, c := range inspect.Run([]inspect.Sized{{Pattern: q}}, skirtChart(), inspect.Options{}).Worst() {
			// Cloth that shrinks unequally is notched for the washed piece.
			if c.Rule == "notch_walk" && shrunk {
				continue
			}
			switch c.Rule {
			case "seam_length", "seam_edges", "notch_walk", "notch_there", "outline_closed", "outline_turn", "outline_simple", "mark_edge", "mark_inside":
				t.Fatalf("%s %v: %s %s %s.%s: %.3f in %v: %s", name, args, c.Verdict, c.Rule, c.Piece, c.Place, c.Measured, c.Want, c.Text)
			}
		}
		if name != "circle_skirt" {
			kept := map[string]bool{}
			for i := range q.Pieces {
				for _, m := range q.Pieces[i].Marks {
					kept[m.Name] = true
				}
			}
			for i := range p.Pieces {
				for _, m := range p.Pieces[i].Marks {
					if !kept[m.Name] {
						t.Fatalf("%s %v lost the mark %s", name, args, m.Name)
					}
				}
			}
		}
		p = q
	}
	return made, refused
}

func TestAnySequenceOfSkirtChangesKeepsSeamsMarksAndPromises(t *testing.T) {
	made, refused := 0, 0
	r := rand.New(rand.NewPCG(31, 7))
	for range 120 {
		m, n := skirtSequence(t, r, anySkirt(r), 7)
		made, refused = made+m, refused+n
	}
	if made < 200 || refused < 100 {
		t.Errorf("%d made, %d refused: the sequences try too little", made, refused)
	}
	t.Logf("%d changes made, %d refused", made, refused)
}

func FuzzSkirtSequence(f *testing.F) {
	for i := range 4 {
		f.Add(uint64(i), uint64(2))
	}
	f.Fuzz(func(t *testing.T, a, b uint64) {
		r := rand.New(rand.NewPCG(a, b))
		skirtSequence(t, r, anySkirt(r), 8)
	})
}
