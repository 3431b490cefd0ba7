package offset

import (
	"math"
	"testing"

	"sizerun/internal/geom"
)

func box(w ...float64) []Edge {
	es := polygonEdges(0, pt(0, 0), pt(100, 0), pt(100, 60), pt(0, 60))
	for i := range es {
		es[i].Width = w[i]
	}
	return es
}

func TestFreeCornerFollowsItsWay(t *testing.T) {
	// A rounded corner given from outside, from the one parallel to the other.
	const k = 0.5522847498
	arc := geom.Path{geom.Cubic(pt(100, -10), pt(100+10*k, -10), pt(110, -10*k), pt(110, 0))}
	r := must(t, box(10, 10, 10, 10), []Joint{{Corner: Free, Way: arc}})
	want := 120.0*80 - 100 + arcQuarter(10, k)
	if math.Abs(r.Path.Area()-want) > 1e-9 || r.Made[0] != Free {
		t.Errorf("area %.9f, want %.9f; made %v", r.Path.Area(), want, r.Made)
	}
	// A way that begins short of the parallel's end cuts it there.
	short := geom.Polyline(pt(80, -10), pt(110, 20))
	r = must(t, box(10, 10, 10, 10), []Joint{{Corner: Free, Way: short}})
	if want := 120.0*80 - 450; math.Abs(r.Path.Area()-want) > 1e-9 {
		t.Errorf("cut short: area %.9f, want %.9f", r.Path.Area(), want)
	}
}

// arcQuarter is the area of the cubic's quarter disc.
func arcQuarter(r, k float64) float64 {
	q := geom.Path{geom.Line(pt(0, 0), pt(r, 0)), geom.Cubic(pt(r, 0), pt(r, r*k), pt(r*k, r), pt(0, r)), geom.Line(pt(0, r), pt(0, 0))}
	return q.Area()
}

func TestBevelGoesStraightAcross(t *testing.T) {
	r := must(t, box(10, 10, 10, 10), []Joint{{Corner: Bevel}})
	if want := 120.0*80 - 50; math.Abs(r.Path.Area()-want) > 1e-9 {
		t.Errorf("area %.9f, want %.9f", r.Path.Area(), want)
	}
	if n := countCorners(r, 0); n != 1 {
		t.Errorf("%d corner stretches, want 1", n)
	}
}

func countCorners(r Result, i int) int {
	n := 0
	for _, s := range r.Sources {
		if s.Corner == i {
			n++
		}
	}
	return n
}

func TestSquareReachesTheOtherLineOnTheSeam(t *testing.T) {
	// Interior angle 60 degrees: the strip of edge 0 is 8 wide, the other line 12 away.
	a, b, c := pt(0, 0), pt(200, 0), pt(100, 100*math.Sqrt(3))
	es := []Edge{{geom.Polyline(a, b), 8}, {geom.Polyline(b, c), 12}, {geom.Polyline(c, a), 8}}
	for _, after := range []bool{false, true} {
		r := must(t, es, []Joint{{Corner: Square, After: after}})
		if r.Made[0] != Square {
			t.Fatalf("made %v", r.Made)
		}
		for i, s := range r.Path {
			if r.Sources[i].Corner != 0 {
				continue
			}
			rule, other := es[0], es[1]
			if after {
				rule, other = es[1], es[0]
			}
			if d := math.Abs(s.Tangent(0).Dot(rule.Path.StartTangent())); d > 1e-12 {
				t.Errorf("after %v: the end is %g off square", after, d)
			}
			if math.Abs(s.Length()-rule.Width) > 1e-9 {
				t.Errorf("after %v: the end is %g long, want %g", after, s.Length(), rule.Width)
			}
			// Its inner end lies on the ruling seam line and on the other's cut line.
			q := s.P3
			if after {
				q = s.P0
			}
			on := q.Sub(rule.Path.Start()).Cross(rule.Path.StartTangent())
			off := q.Sub(other.Path.Start()).Dot(other.Path.StartTangent().Right())
			if math.Abs(on) > 1e-9 || math.Abs(off-other.Width) > 1e-9 {
				t.Errorf("after %v: %v lies %g off the seam, %g off the other edge", after, q, on, off)
			}
		}
	}
}

func TestReturnAtTheOtherEndIsTheMirrorImage(t *testing.T) {
	// A symmetrical trapezium: the hem's two returns mirror each other, once and twice turned.
	es := []Edge{{geom.Polyline(pt(-100, 0), pt(100, 0)), 24}, {geom.Polyline(pt(100, 0), pt(70, 150)), 12}, {geom.Polyline(pt(70, 150), pt(-70, 150)), 8}, {geom.Polyline(pt(-70, 150), pt(-100, 0)), 12}}
	for turns := 1; turns <= 2; turns++ {
		r := must(t, es, []Joint{{Corner: Return, Turns: turns}, {}, {}, {Corner: Return, After: true, Turns: turns}})
		if r.Made[0] != Return || r.Made[3] != Return {
			t.Fatalf("made %v", r.Made)
		}
		m := geom.MirrorAbout(pt(0, 0), geom.Vec{Y: 1})
		for _, s := range r.Path {
			best := math.Inf(1)
			for _, q := range r.Path {
				best = math.Min(best, q.P0.Dist(m.Apply(s.P0)))
			}
			if best > 1e-9 {
				t.Errorf("%d turns: %v has no mirror image within %g", turns, s.P0, best)
			}
		}
		if n := countCorners(r, 0); n != turns {
			t.Errorf("%d turns: the return has %d stretches", turns, n)
		}
	}
}

func TestTwoLinesMeetInOnePointToTheLastBit(t *testing.T) {
	for _, w := range [][]float64{{10, 20, 30, 5}, {0, 15.875, 6, 40}, {-5, -9, -2, 0}} {
		r := must(t, box(w...), nil)
		for i, s := range r.Path {
			if !s.Straight {
				t.Fatalf("%v: side %d is no longer straight", w, i)
			}
		}
		if want := (100 + w[1] + w[3]) * (60 + w[0] + w[2]); math.Abs(r.Path.Area()-want) > 1e-9 {
			t.Errorf("%v: area %.12f, want %g", w, r.Path.Area(), want)
		}
	}
}
