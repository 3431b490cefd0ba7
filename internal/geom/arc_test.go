package geom_test

import (
	"math"
	"testing"

	"sizerun/internal/geom"
)

func TestAnArcIsAStretchOfItsCircle(t *testing.T) {
	for _, c := range []struct{ r, a0, a1 float64 }{{1, 0, 2 * math.Pi}, {850, 0.3, 1.9}, {120, 2, -1}, {5, -4, -3.99}} {
		p := geom.Arc(geom.Pt(10, -3), c.r, c.a0, c.a1)
		if want := c.r * math.Abs(c.a1-c.a0); math.Abs(p.Length()-want) > 1e-7*want {
			t.Errorf("r %g: %.9f mm, want %.9f", c.r, p.Length(), want)
		}
		for _, s := range p {
			for i := range 33 {
				if off := math.Abs(s.At(float64(i)/32).Dist(geom.Pt(10, -3)) - c.r); off > 1e-7*c.r {
					t.Errorf("r %g: off by %g", c.r, off/c.r)
				}
			}
		}
		if e := p.End(); e.Dist(geom.Pt(10+c.r*math.Cos(c.a1), -3+c.r*math.Sin(c.a1))) > 1e-9*c.r {
			t.Errorf("ends at %v", e)
		}
	}
	if geom.Arc(geom.Point{}, 0, 0, 1) != nil || geom.Arc(geom.Point{}, math.NaN(), 0, 1) != nil {
		t.Error("a circle without a radius was drawn")
	}
}
