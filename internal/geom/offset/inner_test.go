package offset

import (
	"math"
	"math/rand/v2"
	"testing"

	"sizerun/internal/geom"
)

// Where the search for a crossing came upon it exactly, the middle of what was left of the bracket was told
// instead: a hem's return then began 0.2 mm beside the fold.
func TestACurveMeetsALineOnTheLine(t *testing.T) {
	r := rand.New(rand.NewPCG(9, 9))
	curves := []geom.Seg{
		geom.Cubic(geom.Pt(0, -3), geom.Pt(1, -1), geom.Pt(2, 1), geom.Pt(3, 3)), // level with the line half-way
		geom.Cubic(geom.Pt(0, -3), geom.Pt(1, -3), geom.Pt(2, 3), geom.Pt(3, 3)),
		geom.Cubic(geom.Pt(0, 3), geom.Pt(1, 3), geom.Pt(2, -3), geom.Pt(3, -3)),
		geom.Cubic(geom.Pt(0, -1), geom.Pt(0, 0), geom.Pt(0, 0), geom.Pt(1, 7)),
	}
	for range 2000 {
		p := func() geom.Point { return geom.Pt(float64(r.IntN(21)-10), float64(r.IntN(21)-10)) }
		curves = append(curves, geom.Cubic(p(), p(), p(), p()))
	}
	found := 0
	for _, s := range curves {
		for _, dir := range []geom.Vec{{X: 1}, {X: 0.6, Y: 0.8}} {
			for _, h := range lineHits(s, geom.Pt(0, 0), dir) {
				found++
				if d := math.Abs(dir.Cross(s.At(h).Sub(geom.Pt(0, 0)))); d > 1e-9 {
					t.Errorf("%v meets the line %g mm beside it, at %g", s, d, h)
				}
			}
		}
	}
	if found < 2000 {
		t.Fatalf("%d crossings of %d curves", found, len(curves))
	}
}
