package geom

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/integrate/quad"
)

// outsideLength is the length by composite Gauss-Legendre integration of another library: 64
// nodes on each of 256 parts.
func outsideLength(s Seg, a, b float64) float64 {
	l := 0.0
	const parts = 256
	for i := range parts {
		lo, hi := a+(b-a)*float64(i)/parts, a+(b-a)*float64(i+1)/parts
		l += quad.Fixed(func(t float64) float64 { return s.Deriv(t).Len() }, lo, hi, 64, quad.Legendre{}, 0)
	}
	return l
}

// A cubic whose speed is itself a polynomial (a Pythagorean hodograph: R. T. Farouki and T.
// Sakkalis, IBM J. Res. Dev. 34, 1990) has a rational length; and a quadratic has the closed form
// (z√(1+z²) + asinh z)/(4k).
func TestLengthAgreesWithClosedForms(t *testing.T) {
	third := 1.0 / 3
	ph := Cubic(Pt(0, 0), Pt(30+third, 20), Pt(68, 64), Pt(106+third, 148))
	close2(t, "Pythagorean hodograph cubic", ph.Length(), 184.33333333333334, 1e-11)

	q0, q1, q2 := Pt(0, 0), Pt(100, 0), Pt(200, 60)
	quadratic := Cubic(q0, q0.Lerp(q1, 2.0/3), q2.Lerp(q1, 2.0/3), q2)
	close2(t, "quadratic", quadratic.Length(), 211.42318768561393, 1e-10)
	// y = k x² with k = 60/200², so z = 2k·200.
	k := 60.0 / 40000
	z := 2 * k * 200
	close2(t, "quadratic's formula", (z*math.Sqrt(1+z*z)+math.Asinh(z))/(4*k), 211.42318768561393, 1e-11)

	close2(t, "3-4-5", Line(Pt(0, 0), Pt(30, 40)).Length(), 50, 0)
	close2(t, "line as a cubic", Cubic(Pt(0, 0), Pt(10, 0), Pt(20, 0), Pt(30, 0)).Length(), 30, 1e-12)
	// Out, back and out again between the turning points.
	s := Cubic(Pt(0, 0), Pt(150, 0), Pt(-50, 0), Pt(100, 0))
	// x'(t)/3 = 150(1−t)² − 400 t(1−t) + 150 t² = 700t² − 700t + 150.
	root := math.Sqrt(1.0/4 - 150.0/700)
	x0, x1 := s.At(0.5-root).X, s.At(0.5+root).X
	want := x0 + (x0 - x1) + (100 - x1)
	close2(t, "straight cubic out of order", s.Length(), want, 1e-9)
}

func TestLengthOfCirclesIsTheirCubicsOwn(t *testing.T) {
	// The usual quarter with handles k·r is longer than πr/2 by 2.0e-4·r at most, not equal to it.
	k := 4.0 / 3 * math.Tan(math.Pi/8)
	for _, r := range []float64{1, 16, 250} {
		q := Cubic(Pt(r, 0), Pt(r, r*k), Pt(r*k, r), Pt(0, r))
		l := q.Length()
		if d := l - r*math.Pi/2; d < 0 || d > 2.5e-4*r {
			t.Errorf("quarter of radius %g: %g longer than the arc", r, d)
		}
		close2(t, "quarter", l, outsideLength(q, 0, 1), 1e-11*l)
	}
}

func TestLengthAgreesWithOutsideIntegration(t *testing.T) {
	r := seeded(30)
	worst := 0.0
	for i := range 400 {
		s := anyCubic(r, 500)
		if i%3 == 0 {
			s = garmentCurve(r)
		}
		want := outsideLength(s, 0, 1)
		rel := math.Abs(s.Length()-want) / want
		worst = math.Max(worst, rel)
		if rel > 1e-10 {
			t.Errorf("curve %d: %.3g of the length off: %v", i, rel, s)
		}
		a, b := r.Float64(), r.Float64()
		if a > b {
			a, b = b, a
		}
		if d := math.Abs(s.lengthTo(a, b) - outsideLength(s, a, b)); d > 1e-10*want {
			t.Errorf("curve %d between %g and %g: %g mm off", i, a, b, d)
		}
	}
	t.Logf("largest relative error %.2g", worst)
}

func TestLengthHoldsNearACusp(t *testing.T) {
	worst := 0.0
	for _, gap := range []float64{0, 1e-9, 1e-7, 1e-6, 1e-5, 1e-4, 1e-3, 1e-2, 0.1, 1, 10} {
		s := Cubic(Pt(0, 0), Pt(100, 100+gap), Pt(0, 100), Pt(100, 0))
		// The outside rule needs its parts cut where the speed dips.
		a, b := 0.4, 0.6
		want := outsideLength(s, 0, a) + outsideLength(s, b, 1)
		for lo, hi := a, 0.5; hi-lo > 1e-12; lo = (lo + hi) / 2 {
			want += outsideLength(s, lo, (lo+hi)/2) + outsideLength(s, 1-(lo+hi)/2, 1-lo)
		}
		rel := math.Abs(s.Length()-want) / want
		worst = math.Max(worst, rel)
		if rel > 1e-9 {
			t.Errorf("%g mm off a cusp: %.3g of the length off", gap, rel)
		}
	}
	t.Logf("largest relative error %.2g", worst)
}

func TestLengthLiesBetweenChordAndPolygon(t *testing.T) {
	r := seeded(31)
	for range 2000 {
		s := anyCubic(r, 500)
		l := s.Length()
		if c, p := s.P0.Dist(s.P3), s.P0.Dist(s.P1)+s.P1.Dist(s.P2)+s.P2.Dist(s.P3); l < c-1e-9 || l > p+1e-9 {
			t.Fatalf("length %g, chord %g, polygon %g", l, c, p)
		}
	}
}

func TestParamAtUndoesLength(t *testing.T) {
	r := seeded(32)
	worst := 0.0
	for i := range 2000 {
		s := anyCubic(r, 500)
		if i%2 == 0 {
			s = garmentCurve(r)
		}
		l := s.Length()
		d := l * r.Float64()
		e := math.Abs(s.lengthTo(0, s.ParamAt(d)) - d)
		worst = math.Max(worst, e)
		if e > 1e-9*l {
			t.Errorf("curve %d: asked for %g, got %g off", i, d, e)
		}
	}
	t.Logf("largest error %.2g mm", worst)
	for n, s := range degenerate() {
		l := s.Length()
		for f := -0.5; f <= 1.5; f += 0.125 {
			u := s.ParamAt(f * l)
			if !(u >= 0 && u <= 1) {
				t.Errorf("%s at %g of its length: %g", n, f, u)
				continue
			}
			if want := math.Max(0, math.Min(1, f)) * l; math.Abs(s.lengthTo(0, u)-want) > 1e-6*l+1e-12 {
				t.Errorf("%s: asked for %g, got %g", n, want, s.lengthTo(0, u))
			}
		}
	}
}

func TestLengthIsIndifferentToPlaceAndDirection(t *testing.T) {
	r := seeded(33)
	for range 300 {
		s := garmentCurve(r)
		l := s.Length()
		m := RotateAbout(Pt(10, 20), 6*r.Float64()).Then(Translate(Vec{1000, -500}))
		close2(t, "moved", s.Transform(m).Length(), l, 1e-9*l)
		close2(t, "mirrored", s.Transform(MirrorAbout(Pt(1, 2), Vec{3, 4})).Length(), l, 1e-9*l)
		close2(t, "reversed", s.Reverse().Length(), l, 1e-10*l)
		close2(t, "doubled", s.Transform(Scale(2, 2)).Length(), 2*l, 1e-9*l)
	}
}
