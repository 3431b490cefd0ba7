package grade

import (
	"math"
	"testing"

	"sizerun/internal/geom"
)

// An armhole that stands nearly upright must not have its hollow multiplied when its ends move a
// few millimetres apart sideways.
func TestUprightCurveKeepsItsHollow(t *testing.T) {
	c := geom.Cubic(geom.Pt(0, 0), geom.Pt(-30, 50), geom.Pt(-30, 120), geom.Pt(4, 180))
	g := grow(c, geom.Pt(0, 0), geom.Pt(10, 184))
	hollow := func(s geom.Seg) float64 {
		d := s.P3.Sub(s.P0).Unit()
		return math.Abs(d.Cross(s.At(0.5).Sub(s.P0)))
	}
	if a, b := hollow(c), hollow(g); math.Abs(b/a-1) > 0.12 {
		t.Errorf("the hollow went from %.1f to %.1f mm", a, b)
	}
}

// Everything inside a piece moves by the piece's own affine map when its corners do.
func TestFieldReproducesAffineMaps(t *testing.T) {
	corners := []geom.Point{{X: 0, Y: 0}, {X: 200, Y: 10}, {X: 190, Y: 120}, {X: 90, Y: 60}, {X: 20, Y: 300}}
	m := geom.Affine{A: 1.04, B: 0.02, C: -0.03, D: 0.97, E: 5, F: -8}
	to := make([]geom.Point, len(corners))
	for i, c := range corners {
		to[i] = m.Apply(c)
	}
	f := field{corners}
	for _, q := range []geom.Point{{X: 50, Y: 50}, {X: 150, Y: 40}, {X: 10, Y: 100}, {X: 100, Y: 5}, {X: 0, Y: 0}, {X: 140, Y: 200}, {X: 55, Y: 180}} {
		if d := f.move(q, to).Dist(m.Apply(q)); d > 1e-9 {
			t.Errorf("%v lands %g mm off", q, d)
		}
	}
}
