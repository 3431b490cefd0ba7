package allowance_test

import (
	"testing"

	"sizerun/internal/allowance"
	"sizerun/internal/change"
	"sizerun/internal/pattern"
	"sizerun/internal/testkit/blouse"
)

// The petal sleeve asks for more than a plain one: a hem turned twice on a curve, its return at the cap, and a
// hem that runs into another without a corner.
func TestPetalHalvesAreCutInEverySize(t *testing.T) {
	sleeve := pattern.Arg{Kind: pattern.ArgObject, Fields: []pattern.Field{{Name: "piece", Value: pattern.Arg{Kind: pattern.ArgText, Text: "sleeve"}}}}
	bound, err := change.Bind(pattern.ChangeSpec{Change: "petal", Args: sleeve})
	if err != nil {
		t.Fatal(err)
	}
	for _, pat := range blouse.Run() {
		made, err := bound.Apply(pat)
		if err != nil {
			t.Fatalf("size %s: %v", pat.Size, err)
		}
		n := 0
		for i := range made.Pattern.Pieces {
			p := &made.Pattern.Pieces[i]
			e := p.EdgeNamed("petal")
			if e < 0 {
				continue
			}
			n++
			for _, d := range []float64{6, 10, 15.875} {
				out, err := allowance.Make(pat.Size, p, pattern.Allowances{Default: pattern.Allowance{Width: d}})
				if err != nil {
					t.Fatalf("size %s, %s at %g: %v", pat.Size, p.Name, d, err)
				}
				if x := out.Cut.SelfCrossings(true, 1e-6); len(x) > 0 {
					t.Errorf("size %s, %s at %g: the cut line crosses itself at %v", pat.Size, p.Name, d, x[0].P)
				}
				if own := p.Edges[e].Own; own != nil && out.Widths["petal"] != own.Width {
					t.Errorf("size %s, %s: the petal's hem is %g wide, the change asks for %g", pat.Size, p.Name, out.Widths["petal"], own.Width)
				}
				if a := out.Allow["petal"]; a.Start != pattern.HemReturn && a.End != pattern.HemReturn {
					t.Errorf("size %s, %s: no return where the petal meets the cap: %+v", pat.Size, p.Name, a)
				}
				squares := 0
				for _, m := range p.Marks {
					if m.Kind == pattern.Square {
						squares++
					}
				}
				if len(out.Squares) != squares {
					t.Errorf("size %s, %s: %d of %d match squares", pat.Size, p.Name, len(out.Squares), squares)
				}
				for _, sq := range out.Squares {
					if !out.Cut.Contains(sq.At) {
						t.Errorf("size %s, %s: match square %s lies outside the piece", pat.Size, p.Name, sq.Name)
					}
				}
			}
		}
		if n != 2 {
			t.Fatalf("size %s: %d petal halves", pat.Size, n)
		}
	}
}
