package geom

import (
	"math"
	"testing"
)

func TestSplitAndJoinKeepLengthAndPlaces(t *testing.T) {
	r := seeded(50)
	for i := range 300 {
		p := smoothChain(r, 1+r.IntN(5))
		p = append(p, Line(p.End(), p.End().Add(Vec{30, 10})))
		l := p.Length()
		s := l * r.Float64()
		a, b := p.Split(s)
		close2(t, "first part", a.Length(), s, 1e-8*l)
		close2(t, "both parts", a.Length()+b.Length(), l, 1e-8*l)
		if a.End() != b.Start() || a.Start() != p.Start() || b.End() != p.End() {
			t.Errorf("path %d: the parts do not meet", i)
		}
		j := a.Join(b)
		for range 5 {
			u := l * r.Float64()
			if d := j.PointAt(u).Dist(p.PointAt(u)); d > 1e-7 {
				t.Errorf("path %d: %g mm apart at %g after split and join", i, d, u)
			}
			if math.Abs(j.TangentAt(u).AngleTo(p.TangentAt(u))) > 1e-6 {
				t.Errorf("path %d: direction changed at %g", i, u)
			}
		}
		x, y := s*r.Float64(), s+(l-s)*r.Float64()
		close2(t, "a stretch", p.Sub(x, y).Length(), y-x, 1e-8*l)
	}
}

func TestSplitAtEndsAndKnotsLeavesNoSplinter(t *testing.T) {
	p := Polyline(Pt(0, 0), Pt(100, 0), Pt(100, 50))
	for _, s := range []float64{-5, 0, 1e-10, 150, 150 - 1e-10, 1e9, math.Inf(1), math.Inf(-1), math.NaN()} {
		a, b := p.Split(s)
		if (a != nil) == (b != nil) || len(a)+len(b) != 2 {
			t.Errorf("split at %g: %v | %v", s, a, b)
		}
	}
	for _, s := range []float64{100, 100 + 1e-10, 100 - 1e-10} {
		a, b := p.Split(s)
		if len(a) != 1 || len(b) != 1 {
			t.Errorf("split at the knot (%g): %v | %v", s, a, b)
		}
	}
	if got := p.Sub(120, 20); got != nil {
		t.Errorf("a stretch backwards: %v", got)
	}
	a, _ := p.Split(100)
	a = append(a, Line(Pt(9, 9), Pt(8, 8)))
	if p[1].P0 != Pt(100, 0) {
		t.Errorf("appending to a part %v changed the whole", a)
	}
}

func TestAnEmptyPathIsHarmless(t *testing.T) {
	var p Path
	p.Start()
	p.End()
	p.Locate(3)
	if p.StartTangent() != (Vec{}) || p.EndTangent() != (Vec{}) || p.TangentAt(1) != (Vec{}) || p.PointAt(1) != (Point{}) || p.CurvatureAt(1) != 0 {
		t.Error("an empty path has a place or direction")
	}
	if p.Length() != 0 || p.Area() != 0 || p.Flatten(1) != nil || p.Contains(Pt(0, 0)) || p.Clean(1) != nil || p.SelfCrossings(true, 1) != nil || Intersect(p, p, 1) != nil {
		t.Error("an empty path is not empty")
	}
	if _, d := p.Project(Pt(0, 0)); !math.IsInf(d, 1) {
		t.Errorf("an empty path is %g mm away", d)
	}
}

func TestProjectFindsTheNearestPlace(t *testing.T) {
	r := seeded(51)
	for i := range 400 {
		p := smoothChain(r, 1+r.IntN(4))
		b := p.Bounds()
		q := Pt(b.Min.X-50+(b.W()+100)*r.Float64(), b.Min.Y-50+(b.H()+100)*r.Float64())
		s, d := p.Project(q)
		close2(t, "the place told has the distance told", p.PointAt(s).Dist(q), d, 1e-7)
		best := math.Inf(1)
		for _, g := range p {
			for k := range 2001 {
				best = math.Min(best, g.At(float64(k)/2000).Dist(q))
			}
		}
		if d > best+1e-9 || d < best-0.05 {
			t.Errorf("path %d: nearest %g, by sampling %g", i, d, best)
		}
		if s > 1 && s < p.Length()-1 && d > 1e-6 {
			if c := math.Abs(p.TangentAt(s).Dot(q.Sub(p.PointAt(s)).Unit())); c > 1e-5 {
				t.Errorf("path %d: the way to the nearest place is not square to it: %g", i, c)
			}
		}
	}
	for n, s := range degenerate() {
		for _, q := range []Point{{50, 50}, {0, 0}, {100, 0}, {-1e6, 3}} {
			if a, d := (Path{s}).Project(q); !(d >= 0) || !(a >= 0) || math.IsInf(d, 0) {
				t.Errorf("%s from %v: %g, %g", n, q, a, d)
			}
		}
	}
}

// Handles of 1e-13 mm once hid the nearest place: the polynomial whose root it is began and ended
// within rounding of zero.
func TestProjectSeesPlacesOnACurveWithNextToNoHandles(t *testing.T) {
	p := Path{Cubic(Pt(0, 0), Pt(0, 1e-13), Pt(100, 1e-13), Pt(100, 0))}
	for x := 0.0; x <= 100; x += 0.5 {
		if s, d := p.Project(p.PointAt(x)); d > 1e-9 || math.Abs(s-x) > 1e-6 {
			t.Errorf("the place %g is found at %g, %g mm off", x, s, d)
		}
	}
}

func TestFlattenKeepsItsTolerance(t *testing.T) {
	r := seeded(52)
	for i := range 200 {
		p := smoothChain(r, 3)
		for _, tol := range []float64{1, 0.05, 0.003} {
			pts := p.Flatten(tol)
			if pts[0] != p.Start() || pts[len(pts)-1] != p.End() {
				t.Fatalf("path %d: the ends are not kept", i)
			}
			for k := 1; k < len(pts); k++ {
				if _, d := p.Project(pts[k-1].Lerp(pts[k], 0.5)); d > tol {
					t.Errorf("path %d: a chord is %g off at tolerance %g", i, d, tol)
				}
			}
		}
	}
	for n, s := range degenerate() {
		for _, tol := range []float64{0, -1, math.NaN(), 1e-300, 1, math.Inf(1)} {
			if got := len((Path{s}).Flatten(tol)); got < 2 || got > mostChords+1 {
				t.Errorf("%s at tolerance %g: %d points", n, tol, got)
			}
		}
	}
}

func TestContainsAgreesWithTheWindingOfFineChords(t *testing.T) {
	r := seeded(53)
	for i := range 100 {
		// A closed blob, sometimes crossing itself.
		var p Path
		at := anyPoint(r, 200)
		first := at
		for k := range 4 {
			c := anyCubic(r, 200)
			c.P0 = at
			if k == 3 {
				c.P3 = first
			}
			at = c.P3
			p = append(p, c)
		}
		pts := p.Flatten(1e-3)
		for range 50 {
			q := anyPoint(r, 200)
			if _, d := p.Project(q); d < 0.01 {
				continue
			}
			turn := 0.0
			for k := 1; k < len(pts); k++ {
				turn += pts[k-1].Sub(q).AngleTo(pts[k].Sub(q))
			}
			if want := math.Abs(turn) > 1; p.Contains(q) != want {
				t.Errorf("blob %d: %v inside is %t, winding %g", i, q, !want, turn/2/math.Pi)
			}
		}
	}
	// Level with corners, and with a level edge.
	house := Polyline(Pt(0, 0), Pt(100, 0), Pt(100, 50), Pt(50, 100), Pt(0, 50), Pt(0, 0))
	for q, want := range map[Point]bool{{50, 50}: true, {-1, 50}: false, {-1, 0}: false, {101, 50}: false, {50, 99}: true, {-10, 100}: false, {50, -1}: false} {
		if house.Contains(q) != want {
			t.Errorf("%v: inside is %t", q, !want)
		}
	}
}

func TestCleanStraightensSnapsAndDropsWithoutMovingAnything(t *testing.T) {
	p := Path{
		Cubic(Pt(0, 0), Pt(1e-5, 1e-5), Pt(60, 40), Pt(100, 0)),           // handle of nothing
		Line(Pt(100, 0), Pt(100.00004, 0)),                                // splinter
		Cubic(Pt(100.00004, 0), Pt(130, 0.00003), Pt(160, 0), Pt(200, 0)), // straight
		Cubic(Pt(200, 0), Pt(260, 0), Pt(140, 0), Pt(200.5, 0)),           // straight, back and forth
		Line(Pt(200.5, 0), Pt(200.50003, 0.00003)),
	}
	got := p.Clean(1e-4)
	if got.Start() != p.Start() || got.End() != p.End() {
		t.Errorf("the ends moved: %v", got)
	}
	for i := 1; i < len(got); i++ {
		if got[i].P0 != got[i-1].P3 {
			t.Errorf("a gap before stretch %d", i)
		}
	}
	if got[0].P1 != got[0].P0 {
		t.Errorf("the small handle stayed: %v", got[0])
	}
	for i, s := range got[1:] {
		if !s.Straight {
			t.Errorf("stretch %d is not straight: %v", i+1, s)
		}
	}
	close2(t, "length", got.Length(), p.Length(), 1e-3)
	r := seeded(54)
	for range 100 {
		q := smoothChain(r, 4)
		c := q.Clean(1e-3)
		if len(c) != len(q) {
			t.Errorf("a sound path lost stretches")
		}
		for i := range c {
			if c[i] != q[i] {
				t.Errorf("a sound path changed")
			}
		}
	}
	for n, s := range degenerate() {
		c := Path{s}.Clean(1e-3)
		if s.size() > 1 && s.P0 != s.P3 && (len(c) == 0 || c.Start() != s.P0 || c.End() != s.P3) {
			t.Errorf("%s: %v", n, c)
		}
		if l := c.Length(); math.Abs(l-s.Length()) > 0.01+1e-6*l {
			t.Errorf("%s: %g long, was %g", n, l, s.Length())
		}
	}
}

func TestMirrorTwiceIsNoChange(t *testing.T) {
	r := seeded(55)
	for range 200 {
		p := smoothChain(r, 3)
		m := MirrorAbout(anyPoint(r, 500), Vec{r.NormFloat64(), r.NormFloat64()})
		q := p.Transform(m).Transform(m)
		for i := range p {
			if d := math.Max(p[i].P1.Dist(q[i].P1), p[i].P3.Dist(q[i].P3)); d > 1e-11*1000 {
				t.Errorf("moved by %g", d)
			}
		}
		close2(t, "mirrored area", p.Transform(m).Join(Path{Line(m.Apply(p.End()), m.Apply(p.Start()))}).Area(), -p.Join(Path{Line(p.End(), p.Start())}).Area(), 1e-6)
	}
}
