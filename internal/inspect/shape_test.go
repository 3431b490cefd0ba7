package inspect_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"sizerun/internal/geom"
	"sizerun/internal/inspect"
)

// A line through a polygon lies inside it exactly where its middle points do.
func TestStretchesLieInsideAndCoverAllThatDoes(t *testing.T) {
	r := rand.New(rand.NewPCG(3, 4))
	for range 200 {
		n := 3 + r.IntN(12)
		var poly []geom.Point
		var out geom.Path
		for i := range n { // a star around the origin: simple, with hollows
			d := 40 + 160*r.Float64()
			a := 2 * math.Pi * float64(i) / float64(n)
			poly = append(poly, geom.Pt(d*math.Cos(a), d*math.Sin(a)))
			if i > 0 {
				out = append(out, geom.Line(poly[i-1], poly[i]))
			}
		}
		out = append(out, geom.Line(poly[n-1], poly[0]))
		u := geom.Vec{X: 1}.Rotate(7 * r.Float64())
		o := geom.Pt(10*r.Float64(), 10*r.Float64())
		lines := []float64{-300, -90, -31, -30, 0.5, 33, 120, 250}
		got := inspect.Stretches(poly, o, u, lines)
		if len(got) != len(lines) {
			t.Fatalf("%d lines are told, of %d", len(got), len(lines))
		}
		for k, c := range lines {
			at := func(x float64) geom.Point { return o.Add(u.Right().Mul(c)).Add(u.Mul(x)) }
			ends := []float64{-500}
			for _, s := range got[k] {
				if !(s[0] <= s[1]) || s[0] < ends[len(ends)-1] {
					t.Fatalf("the stretches %v are not in order", got[k])
				}
				ends = append(ends, s[0], s[1])
			}
			ends = append(ends, 500)
			for i := 1; i < len(ends); i++ {
				if l := ends[i] - ends[i-1]; l > 1e-6 {
					if mid := at(ends[i-1] + l/2); out.Contains(mid) != (i%2 == 0) {
						t.Fatalf("%v on line %g lies inside: %t", mid, c, i%2 != 0)
					}
				}
			}
		}
	}
	if got := inspect.Stretches(nil, geom.Pt(0, 0), geom.Vec{Y: 1}, []float64{0}); len(got) != 1 || len(got[0]) != 0 {
		t.Fatalf("nothing has stretches: %v", got)
	}
}
