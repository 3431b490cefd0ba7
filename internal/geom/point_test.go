package geom

import (
	"math"
	"testing"
)

func TestRightPointsOutOfACounterClockwiseOutline(t *testing.T) {
	p := benchOutline()
	if p.Area() <= 0 {
		t.Fatal("the outline does not run counter-clockwise")
	}
	l := p.Length()
	for s := 5.0; s < l; s += 17.3 {
		q, n := p.PointAt(s), p.TangentAt(s).Right()
		if p.Contains(q.Add(n.Mul(0.1))) || !p.Contains(q.Add(n.Mul(-0.1))) {
			t.Errorf("at %g the right hand points inward", s)
		}
	}
	if (Vec{1, 0}).Left() != (Vec{0, 1}) || (Vec{1, 0}).Right() != (Vec{0, -1}) {
		t.Error("left of east is not north")
	}
}

func TestAnglesAreCounterClockwisePositive(t *testing.T) {
	close2(t, "east to north", Vec{1, 0}.AngleTo(Vec{0, 1}), math.Pi/2, 1e-15)
	close2(t, "north to east", Vec{0, 3}.AngleTo(Vec{2, 0}), -math.Pi/2, 1e-15)
	close2(t, "north", Vec{0, 2}.Angle(), math.Pi/2, 1e-15)
	v := Vec{1, 0}.Rotate(math.Pi / 6)
	close2(t, "turned by 30°, x", v.X, math.Sqrt(3)/2, 1e-15)
	close2(t, "turned by 30°, y", v.Y, 0.5, 1e-15)
}

func TestMapsDoWhatTheyAreCalled(t *testing.T) {
	near := func(what string, got, want Point) {
		t.Helper()
		if d := got.Dist(want); d > 1e-12 {
			t.Errorf("%s: %v, want %v", what, got, want)
		}
	}
	near("mirror in x = 10", MirrorAbout(Pt(10, 3), Vec{0, 7}).Apply(Pt(12, 5)), Pt(8, 5))
	near("mirror in y = x", MirrorAbout(Pt(1, 1), Vec{1, 1}).Apply(Pt(3, 0)), Pt(0, 3))
	near("quarter turn about (1, 1)", RotateAbout(Pt(1, 1), math.Pi/2).Apply(Pt(2, 1)), Pt(1, 2))
	near("move", Translate(Vec{2, -3}).Apply(Pt(1, 1)), Pt(3, -2))
	near("scale", Scale(2, 3).Apply(Pt(1, 1)), Pt(2, 3))
	near("first move, then scale", Translate(Vec{1, 0}).Then(Scale(2, 2)).Apply(Pt(1, 1)), Pt(4, 2))
	close2(t, "a mirror turns the sense", MirrorAbout(Pt(5, 5), Vec{1, 2}).Det(), -1, 1e-15)
	if v := RotateAbout(Pt(9, 9), math.Pi).ApplyVec(Vec{1, 2}); v.Add(Vec{1, 2}).Len() > 1e-15 {
		t.Errorf("a vector half turned: %v", v)
	}
}

func TestLenHoldsForVeryLargeAndVerySmall(t *testing.T) {
	for _, k := range []float64{1, 1e-200, 1e200, 1e-320, 1e300} {
		close2(t, "3-4-5", Vec{3 * k, 4 * k}.Len()/k, 5, 5e-3)
	}
	if (Vec{}).Unit() != (Vec{}) {
		t.Error("the zero vector got a direction")
	}
}

func TestRectIsEmptyUntilSomethingIsAdded(t *testing.T) {
	r := EmptyRect()
	if !r.Empty() || r.Contains(Pt(0, 0)) || r.Overlaps(Rect{Pt(-9, -9), Pt(9, 9)}) {
		t.Error("the empty box holds something")
	}
	r = r.Add(Pt(1, 2)).Add(Pt(5, 4))
	if r.W() != 4 || r.H() != 2 || r.Center() != Pt(3, 3) || !r.Contains(Pt(5, 4)) || r.Union(EmptyRect()) != r {
		t.Errorf("%v", r)
	}
	close2(t, "distance beside", r.distance(Pt(8, 8)), 5, 1e-15)
	close2(t, "distance inside", r.distance(Pt(3, 3)), 0, 0)
}
