package geom

import (
	"math"
	"testing"
)

func TestTangentIsTheLimitWhereAHandleHasNoLength(t *testing.T) {
	all := degenerate()
	up := Vec{60, 40}.Unit()
	for name, want := range map[string][2]Vec{
		"no start handle":           {up, Vec{40, -40}.Unit()},
		"no end handle":             {Vec{1, 1}.Unit(), Vec{60, -40}.Unit()},
		"no handles":                {{1, 0}, {1, 0}},
		"both handles at the start": {{1, 0}, {1, 0}},
		"both handles at the end":   {{1, 0}, {1, 0}},
		"handles swapped":           {{1, 0}, {1, 0}},
	} {
		s, ok := all[name]
		if !ok {
			t.Fatalf("no %q in the corpus", name)
		}
		for i, w := range want {
			if got := s.Tangent(float64(i)); math.Abs(got.AngleTo(w)) > 1e-12 {
				t.Errorf("%s, end %d: direction %v, want %v", name, i, got, w)
			}
			if got := s.Reverse().Tangent(float64(1 - i)); math.Abs(got.AngleTo(w.Neg())) > 1e-12 {
				t.Errorf("%s reversed, end %d: direction %v, want %v", name, i, got, w.Neg())
			}
		}
	}
	if got := all["a point"].Tangent(0.3); got != (Vec{}) {
		t.Errorf("a point has the direction %v", got)
	}
	// Onward out of a cusp: the second derivative points there.
	cusp := all["exact cusp"]
	if got := cusp.Tangent(0.5); math.Abs(got.AngleTo(Vec{0, -1})) > 1e-9 {
		t.Errorf("out of the cusp: %v", got)
	}
	for n, s := range all {
		for u := 0.0; u <= 1; u += 1.0 / 64 {
			v := s.Tangent(u)
			if l := v.Len(); !(math.Abs(l-1) < 1e-9) && !(l == 0 && s.size() == 0) {
				t.Errorf("%s at %g: direction %v", n, u, v)
			}
			if k := s.Curvature(u); math.IsNaN(k) || math.Abs(k) > SharpestCurvature {
				t.Errorf("%s at %g: curvature %g", n, u, k)
			}
		}
	}
}

func TestCurvatureAgreesWithTheTurnOfTheDirection(t *testing.T) {
	r := seeded(40)
	for i := range 500 {
		s := garmentCurve(r)
		u := 0.01 + 0.98*r.Float64()
		const h = 1e-5
		turn := s.Tangent(u - h).AngleTo(s.Tangent(u + h))
		want := turn / s.lengthTo(u-h, u+h)
		if k := s.Curvature(u); math.Abs(k-want) > 1e-5*(math.Abs(want)+1e-3) {
			t.Errorf("curve %d: curvature %g, by differences %g", i, k, want)
		}
	}
	k := 4.0 / 3 * math.Tan(math.Pi/8)
	q := Cubic(Pt(50, 0), Pt(50, 50*k), Pt(50*k, 50), Pt(0, 50))
	close2(t, "a circle of 50 mm has curvature 1/50 near enough", q.Curvature(0.5), 0.02, 2e-4)
	close2(t, "and its cubic's smallest radius", Path{q}.MinRadius(), 50, 0.5)
	if r := (Path{Line(Pt(0, 0), Pt(5, 5))}).MinRadius(); !math.IsInf(r, 1) {
		t.Errorf("a line has the radius %g", r)
	}
	if r := (Path{degenerate()["exact cusp"]}).MinRadius(); r > 1e-6 {
		t.Errorf("a cusp has the radius %g", r)
	}
}

func TestMinRadiusIsTheSmallestOfAllPlaces(t *testing.T) {
	r := seeded(41)
	for i := range 500 {
		s := garmentCurve(r)
		got := Path{s}.MinRadius()
		want := math.Inf(1)
		for k := range 4001 {
			want = math.Min(want, 1/math.Abs(s.Curvature(float64(k)/4000)))
		}
		if got > want*(1+1e-9) || got < want*0.995 {
			t.Errorf("curve %d: smallest radius %g, by sampling %g", i, got, want)
		}
	}
}

func TestInflectionsAreWhereTheTurnChangesSign(t *testing.T) {
	r := seeded(42)
	for i := range 1000 {
		s := anyCubic(r, 200)
		got := s.Inflections()
		n := 0
		const parts = 2000
		last := s.Deriv(0).Cross(s.Deriv2(0))
		for k := 1; k <= parts; k++ {
			u := float64(k) / parts
			c := s.Deriv(u).Cross(s.Deriv2(u))
			if last*c < 0 {
				if n >= len(got) || math.Abs(got[n]-u) > 1.1/parts {
					t.Fatalf("curve %d: turn changes near %g, inflections %v", i, u, got)
				}
				n++
			}
			last = c
		}
		if n != len(got) && !(len(got) == n+2) { // two within one step
			t.Errorf("curve %d: %d changes seen, inflections %v", i, n, got)
		}
	}
}

func TestACuspIsNotAnInflection(t *testing.T) {
	for _, name := range []string{"exact cusp", "straight out of order", "handles swapped", "a point"} {
		if got := degenerate()[name].Inflections(); len(got) != 0 {
			t.Errorf("%s: %v", name, got)
		}
	}
	if got := degenerate()["almost a cusp"].Inflections(); len(got) != 0 && len(got) != 2 {
		t.Errorf("almost a cusp: %v", got)
	}
}

func TestBoundsAreThoseOfTheCurve(t *testing.T) {
	r := seeded(43)
	for i := range 500 {
		s := anyCubic(r, 300)
		b := s.Bounds()
		seen := EmptyRect()
		for k := range 2001 {
			seen = seen.Add(s.At(float64(k) / 2000))
		}
		if seen.Min.X < b.Min.X-1e-9 || seen.Min.Y < b.Min.Y-1e-9 || seen.Max.X > b.Max.X+1e-9 || seen.Max.Y > b.Max.Y+1e-9 {
			t.Errorf("curve %d leaves its box", i)
		}
		if d := math.Max(math.Max(seen.Min.X-b.Min.X, seen.Min.Y-b.Min.Y), math.Max(b.Max.X-seen.Max.X, b.Max.Y-seen.Max.Y)); d > 1e-3 {
			t.Errorf("curve %d: box %g mm too wide", i, d)
		}
	}
	if !(Path{}).Bounds().Empty() {
		t.Error("the box of nothing is not empty")
	}
}

func TestAreaIsExact(t *testing.T) {
	close2(t, "square", Polyline(Pt(0, 0), Pt(10, 0), Pt(10, 10), Pt(0, 10), Pt(0, 0)).Area(), 100, 1e-12)
	// A quarter disc's cubic: the integral of its polynomial, against fine chords.
	r := seeded(44)
	for range 200 {
		p := Path{anyCubic(r, 200), {}}
		p[1] = Line(p[0].P3, p[0].P0)
		chords := 0.0
		pts := make([]Point, 20001)
		for k := range pts {
			pts[k] = p[0].At(float64(k) / 20000)
		}
		for k := range pts {
			q := pts[(k+1)%len(pts)]
			chords += (pts[k].X*q.Y - q.X*pts[k].Y) / 2
		}
		close2(t, "area against chords", p.Area(), chords, 1e-3)
		close2(t, "area run backwards", p.Reverse().Area(), -p.Area(), 1e-8)
	}
	// A parabola's segment is two thirds of chord times sagitta (Archimedes).
	q0, q1, q2 := Pt(0, 0), Pt(50, 60), Pt(100, 0)
	arch := Path{Cubic(q0, q0.Lerp(q1, 2.0/3), q2.Lerp(q1, 2.0/3), q2), Line(q2, q0)}
	close2(t, "parabola's segment", arch.Area(), -2.0/3*100*30, 1e-9)
}

func TestSubIsTheSameCurve(t *testing.T) {
	r := seeded(45)
	for range 500 {
		s := anyCubic(r, 300)
		a, b := r.Float64(), r.Float64()
		if a > b {
			a, b = b, a
		}
		sub := s.Sub(a, b)
		for k := range 11 {
			f := float64(k) / 10
			if d := sub.At(f).Dist(s.At(a + (b-a)*f)); d > 1e-9 {
				t.Fatalf("part %g…%g is %g mm off at %g", a, b, d, f)
			}
		}
	}
	s := anyCubic(r, 300)
	if s.Sub(-1, 2) != s {
		t.Error("more than all is not all")
	}
	for _, u := range []float64{0, 0.5, 1} {
		if sub := s.Sub(u, u); sub.Length() > 1e-9 || !sub.P0.Finite() {
			t.Errorf("nothing at %g is %v", u, sub)
		}
	}
}
