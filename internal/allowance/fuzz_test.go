package allowance

import (
	"math"
	"testing"

	"sizerun/internal/geom"
	"sizerun/internal/pattern"
)

// FuzzMake draws odd sleeves and skirts with odd allowances: made soundly or refused in words.
func FuzzMake(f *testing.F) {
	f.Add([]byte{10, 0, 60, 60, 40, 20, 50, 0, 1, 2, 3, 4})
	f.Add([]byte{200, 90, 60, 0, 255, 20, 50, 7, 9, 100, 33, 41})
	f.Add([]byte{0, 1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11})
	f.Fuzz(func(t *testing.T, b []byte) {
		if len(b) < 12 {
			return
		}
		var p *pattern.Piece
		if b[0]&1 == 0 {
			p = sleeve(float64(int8(b[1])), float64(int8(b[2]))/2)
		} else {
			p = skirt([]string{"leg_side", "leg_centre"}[b[1]&1])
			for i := range p.Edges {
				if q := p.Edges[i].Path; b[2]&(1<<(i%8)) != 0 && !p.Edges[i].Fold {
					h := geom.Vec{X: float64(int8(b[3])), Y: float64(int8(b[4]))}
					p.Edges[i].Path = geom.Path{geom.Cubic(q.Start(), q.PointAt(q.Length()/3).Add(h), q.PointAt(q.Length()*2/3).Add(h), q.End())}
				}
			}
		}
		corners := []pattern.Corner{"", "", pattern.Mitre, pattern.SquareEnd, pattern.HemReturn}
		a := pattern.Allowances{Default: width(float64(b[5]) / 4), Edges: map[string]pattern.Allowance{}, Limit: float64(b[6]) / 20}
		for i, e := range p.Edges {
			k := b[7+i%5] + byte(i)
			if !e.Fold && k&1 != 0 {
				a.Edges["*."+e.Name] = pattern.Allowance{Width: float64(k) / 3, Turned: int(k>>1) % 3, Start: corners[k%5], End: corners[k>>2%5]}
			}
		}
		out, err := Make("14", p, a)
		if err != nil {
			for _, x := range pattern.FaultsOf(err) {
				if x.Rule == "unknown" || x.Detail == "" || x.Remedy == "" || x.Size != "14" {
					t.Fatalf("refused without saying how: %+v", x)
				}
			}
			return
		}
		if !(out.Cut.Area() > 0) {
			t.Fatal("the cut line encloses nothing")
		}
		for i, s := range out.Cut {
			if s.P3 != out.Cut[(i+1)%len(out.Cut)].P0 || !s.P1.Finite() || !s.P2.Finite() || !s.P3.Finite() {
				t.Fatalf("broken at %d: %v", i, s)
			}
		}
		if n := len(out.Stretches); math.Abs(out.Stretches[n-1].S1-out.Cut.Length()) > 1e-6 {
			t.Fatal("the stretches do not cover the cut line")
		}
		for _, n := range out.Notches {
			if !n.From.Finite() || !n.To.Finite() {
				t.Fatalf("notch %+v", n)
			}
		}
		// No seam without its allowance: nothing of the piece lies outside.
		for _, e := range p.Edges {
			for k := 1; k < 8; k++ {
				q := e.Path.PointAt(e.Path.Length() * float64(k) / 8)
				if _, d := out.Cut.Project(q); d > 0.05 && !out.Cut.Contains(q) {
					t.Fatalf("%s lies outside the cut line by %g at %v", e.Name, d, q)
				}
			}
		}
	})
}
