package pattern

import (
	"math/rand/v2"
	"testing"

	"sizerun/internal/geom"
)

func loop(paths ...geom.Path) []Edge {
	out := make([]Edge, len(paths))
	for i, p := range paths {
		out[i] = Edge{Name: string(rune('a' + i)), Path: p}
	}
	return out
}

// The bounded search says the same as geom's exact one: random outlines of cubics, whose crossings
// are neither grazing nor finer than the tolerance.
func TestMeetingItselfAgreesWithExactCrossings(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 9))
	yes := 0
	for trial := range 300 {
		n := 3 + rng.IntN(5)
		pts := make([]geom.Point, n)
		for i := range pts {
			v := geom.Vec{X: 100 + 60*rng.Float64()}.Rotate(2 * 3.141592653589793 * float64(i) / float64(n))
			pts[i] = geom.Pt(0, 0).Add(v)
		}
		var paths []geom.Path
		var all geom.Path
		for i := range pts {
			a, b := pts[i], pts[(i+1)%n]
			h := func() geom.Vec { return geom.Vec{X: 240 * (rng.Float64() - 0.5), Y: 240 * (rng.Float64() - 0.5)} }
			p := geom.Path{geom.Cubic(a, a.Lerp(b, 0.3).Add(h()), a.Lerp(b, 0.7).Add(h()), b)}
			if rng.IntN(3) == 0 {
				p = geom.Path{geom.Line(a, b)}
			}
			paths = append(paths, p)
			all = append(all, p...)
		}
		exact := all.SelfCrossings(true, 1e-6)
		got := meetsItself(loop(paths...))
		if (got != nil) != (len(exact) > 0) {
			t.Errorf("trial %d: exact %v, bounded %v", trial, exact, got)
			continue
		}
		if got == nil {
			continue
		}
		yes++
		best := 1e9
		for _, c := range exact {
			best = min(best, c.P.Dist(got.at))
		}
		// Where two curves cross at a shallow angle, the tolerance moves the place along them.
		if best > 0.5 {
			t.Errorf("trial %d: told at %v, %.3f mm from any crossing", trial, got.at, best)
		}
	}
	if yes < 50 || yes > 290 {
		t.Errorf("%d of 300 outlines cross: not a test of both answers", yes)
	}
}

// What sews is not refused: thin darts, long slits, teeth, a spiral.
func TestIntricateOutlinesThatDoNotMeet(t *testing.T) {
	poly := func(pts ...geom.Point) []Edge { return loop(geom.Polyline(append(pts, pts[0])...)) }
	if m := meetsItself(poly(geom.Pt(0, 0), geom.Pt(100, 0), geom.Pt(50, 90), geom.Pt(100.02, 0), geom.Pt(200, 0), geom.Pt(100, 300))); m != nil {
		t.Errorf("a dart of 0.02 mm: %+v", m)
	}
	var spiral []geom.Point
	for side := range 2 {
		for i := range 400 {
			k := i
			if side == 1 {
				k = 399 - i
			}
			a := float64(k) * 0.08
			r := 20 + 3*a + float64(side)*4
			spiral = append(spiral, geom.Pt(0, 0).Add(geom.Vec{X: r}.Rotate(a)))
		}
	}
	if m := meetsItself(poly(spiral...)); m != nil {
		t.Errorf("a spiral: %+v", m)
	}
	pinched := poly(geom.Pt(0, 0), geom.Pt(50, 50), geom.Pt(100, 0), geom.Pt(100, 100), geom.Pt(50, 50), geom.Pt(0, 100))
	if meetsItself(pinched) == nil {
		t.Error("an outline pinched to a point passes")
	}
	touching := poly(geom.Pt(0, 0), geom.Pt(100, 0), geom.Pt(100, 100), geom.Pt(50, 0), geom.Pt(0, 100))
	if meetsItself(touching) == nil {
		t.Error("a corner on another edge passes")
	}
}
