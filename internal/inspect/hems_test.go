package inspect_test

import (
	"math"
	"testing"

	"sizerun/internal/geom"
	"sizerun/internal/geom/offset"
	"sizerun/internal/inspect"
)

// arc is a quarter of a circle to 3e-4 of the radius, by the usual handles.
func arc(r float64) geom.Path {
	const k = 0.5522847498
	return geom.Path{geom.Cubic(geom.Pt(r, 0), geom.Pt(r, k*r), geom.Pt(k*r, r), geom.Pt(0, r))}
}

// Turning up h on a radius R leaves an excess of h/R: the raw edge at R+h lies on R−h. Exact geometry.
func TestTheExcessOfARoundHemIsThatOfTwoCircles(t *testing.T) {
	for _, r := range []float64{50, 200, 900} {
		for _, h := range []float64{6.35, 12.7, 25} {
			want := 100 * ((r+h)/(r-h) - 1)
			if got := inspect.HemTurn(arc(r), h); math.Abs(got-want) > 0.02*want {
				t.Errorf("r %g, turned %g: %.3f %%, want %.3f %%", r, h, got, want)
			}
			if h < r/3 {
				want = 100 * ((r-h)/(r+h) - 1)
				if got := inspect.HemTurn(arc(r).Reverse(), h); math.Abs(got-want) > 0.02*math.Abs(want) {
					t.Errorf("hollow r %g, turned %g: %.3f %%, want %.3f %%", r, h, got, want)
				}
			}
		}
	}
}

func TestTheExcessAgreesWithTrueParallels(t *testing.T) {
	p := geom.Path{geom.Cubic(geom.Pt(0, 0), geom.Pt(120, -40), geom.Pt(200, 20), geom.Pt(230, 120))}
	for _, h := range []float64{5, 10, 20} {
		out, err1 := offset.Curve(p, h, 0.005)
		in, err2 := offset.Curve(p, -h, 0.005)
		if err1 != nil || err2 != nil {
			t.Fatal(err1, err2)
		}
		want := 100 * (out.Length()/in.Length() - 1)
		if got := inspect.HemTurn(p, h); math.Abs(got-want) > 0.1 {
			t.Errorf("turned %g: %.3f %%, parallels say %.3f %%", h, got, want)
		}
	}
}

func TestAStraightHemTurnsWithoutExcess(t *testing.T) {
	if got := inspect.HemTurn(geom.Polyline(geom.Pt(0, 0), geom.Pt(300, 0)), 40); got != 0 {
		t.Errorf("%.3f %%", got)
	}
}

func BenchmarkRunTwelveSizes(b *testing.B) {
	var s []inspect.Sized
	for range 2 {
		for _, p := range benchRun {
			s = append(s, sized(b, p))
		}
	}
	s = s[:12]
	for b.Loop() {
		inspect.Run(s, benchChart, inspect.Options{})
	}
}
