package geom

import (
	"errors"
	"math"
	"math/rand/v2"
	"testing"
)

// dense samples a Path evenly along its length, knots included.
func dense(p Path, step float64) []Point {
	pts := []Point{p.Start()}
	for _, s := range p {
		l := s.Length()
		n := int(math.Ceil(l / step))
		for i := 1; i <= n; i++ {
			pts = append(pts, s.At(s.ParamAt(l*float64(i)/float64(n))))
		}
	}
	return pts
}

func shake(r *rand.Rand, pts []Point, sigma float64) []Point {
	out := append([]Point(nil), pts...)
	for i := 1; i < len(out)-1; i++ {
		out[i] = out[i].Add(Vec{r.NormFloat64() * sigma, r.NormFloat64() * sigma})
	}
	return out
}

// checkFit holds a fit to what is promised of every fit.
func checkFit(t *testing.T, what string, pts []Point, p Path, tol float64) {
	t.Helper()
	if p.Start() != pts[0] || p.End() != pts[len(pts)-1] {
		t.Errorf("%s: the ends moved", what)
	}
	for i := 1; i < len(p); i++ {
		if p[i].P0 != p[i-1].P3 {
			t.Errorf("%s: a gap before cubic %d", what, i)
		}
	}
	worst := 0.0
	for _, q := range pts {
		_, d := p.Project(q)
		worst = math.Max(worst, d)
	}
	if worst > tol {
		t.Errorf("%s: a point is %g mm off", what, worst)
	}
	if l, m := p.Length(), Polyline(pts...).Length(); l > 1.05*m+10*tol {
		t.Errorf("%s: the fit is %g long, its points %g", what, l, m)
	}
}

func TestOneCurveIsFittedByAboutOneCubic(t *testing.T) {
	r := seeded(20)
	total, worst, most := 0, 0.0, 0
	const n = 600
	for i := range n {
		s := garmentCurve(r)
		pts := dense(Path{s}, 1)
		if i%3 == 1 {
			pts = Path{s}.Flatten(0.005)
		}
		p, err := Fit(pts, 0.05)
		if err != nil {
			t.Fatal(err)
		}
		checkFit(t, "curve", pts, p, 0.05)
		for _, q := range pts {
			_, d := p.Project(q)
			worst = math.Max(worst, d)
		}
		total += len(p)
		most = max(most, len(p))
		if len(p) > 2 {
			t.Errorf("curve %d: %d cubics: %v", i, len(p), s)
		}
	}
	t.Logf("%.3f cubics a curve, at most %d, largest distance %.4f", float64(total)/n, most, worst)
	if float64(total) > 1.1*n {
		t.Errorf("%d cubics for %d curves", total, n)
	}
}

func TestAChainOfCurvesIsFittedByAboutAsManyCubics(t *testing.T) {
	r := seeded(21)
	total, truth := 0, 0
	for i := range 60 {
		n := 2 + r.IntN(5)
		chain := smoothChain(r, n)
		pts := dense(chain, 1)
		p, err := Fit(pts, 0.05)
		if err != nil {
			t.Fatal(err)
		}
		checkFit(t, "chain", pts, p, 0.05)
		for k := 1; k < len(p); k++ {
			if a := math.Abs(p[k-1].Tangent(1).AngleTo(p[k].Tangent(0))); a > 1e-6 {
				t.Errorf("chain %d: a corner of %g at knot %d of a smooth chain", i, a, k)
			}
		}
		total += len(p)
		truth += n
		rev := make([]Point, len(pts))
		for k := range pts {
			rev[len(pts)-1-k] = pts[k]
		}
		q, _ := Fit(rev, 0.05)
		if d := len(q) - len(p); d < -2 || d > 2 {
			t.Errorf("chain %d: %d cubics, %d the other way", i, len(p), len(q))
		}
	}
	t.Logf("%d cubics for %d: %.3f", total, truth, float64(total)/float64(truth))
	if float64(total) > 1.3*float64(truth) {
		t.Errorf("%d cubics for %d", total, truth)
	}
}

func TestCornersStayCorners(t *testing.T) {
	r := seeded(22)
	for i := range 200 {
		// Two curves that meet at an angle of 12° … 120°.
		a := 0.21 + 1.9*r.Float64()
		if i%2 == 0 {
			a = -a
		}
		first := Cubic(Pt(0, 0), Pt(40, 20*r.Float64()), Pt(80, 10), Pt(120, 0))
		d := first.Tangent(1).Rotate(a)
		e := first.P3
		second := Cubic(e, e.Add(d.Mul(40)), e.Add(d.Mul(80)).Add(d.Left().Mul(20*r.Float64())), e.Add(d.Mul(120)))
		for _, sigma := range []float64{0, 0.01} {
			pts := dense(Path{first, second}, 1)
			if sigma > 0 {
				pts = shake(r, pts, sigma)
			}
			p, err := Fit(pts, 0.05)
			if err != nil {
				t.Fatal(err)
			}
			checkFit(t, "corner", pts, p, 0.05)
			kept := false
			for k := 1; k < len(p); k++ {
				turn := p[k-1].Tangent(1).AngleTo(p[k].Tangent(0))
				if p[k].P0.Dist(e) < 0.1 && math.Abs(turn-a) < 0.06 {
					kept = true
				}
			}
			if !kept && (sigma == 0 || math.Abs(a) > 0.35) {
				t.Errorf("corner %d of %.3g rad, noise %g, was lost", i, a, sigma)
			}
			if len(p) > 4 {
				t.Errorf("corner %d: %d cubics for two curves, noise %g", i, len(p), sigma)
			}
		}
	}
}

func TestAPolygonStaysAPolygon(t *testing.T) {
	corners := []Point{{0, 0}, {200, 0}, {200, 100}, {120, 160}, {0, 100}, {0, 0}}
	for name, pts := range map[string][]Point{"corners only": corners, "dense": dense(Polyline(corners...), 2)} {
		p, err := Fit(pts, 0.05)
		if err != nil {
			t.Fatal(err)
		}
		if len(p) != 5 {
			t.Fatalf("%s: %d stretches: %v", name, len(p), p)
		}
		for i, s := range p {
			if !s.Straight || s.P0.Dist(corners[i]) > 1e-9 {
				t.Errorf("%s: stretch %d is %v", name, i, s)
			}
		}
	}
}

func TestALineThatRunsIntoACurveDoesNotBulge(t *testing.T) {
	line := Line(Pt(0, 0), Pt(200, 0))
	curve := Cubic(Pt(200, 0), Pt(225, 0), Pt(240, 15), Pt(240, 40))
	truth := Path{line, curve}
	pts := truth.Flatten(0.01)
	p, err := Fit(pts, 0.05)
	if err != nil {
		t.Fatal(err)
	}
	checkFit(t, "line and curve", pts, p, 0.05)
	for _, q := range p.Flatten(0.01) {
		if _, d := truth.Project(q); d > 0.08 {
			t.Errorf("%v is %g mm off the truth", q, d)
		}
	}
	if len(p) > 4 {
		t.Errorf("%d cubics", len(p))
	}
}

func TestNoiseOfAQuarterOfTheToleranceDoesNotExplode(t *testing.T) {
	r := seeded(23)
	total := 0
	const n = 100
	for range n {
		pts := shake(r, dense(Path{garmentCurve(r)}, 1), 0.0125)
		p, err := Fit(pts, 0.05)
		if err != nil {
			t.Fatal(err)
		}
		checkFit(t, "noisy curve", pts, p, 0.05)
		total += len(p)
	}
	t.Logf("%.2f cubics a noisy curve", float64(total)/n)
	if total > 4*n {
		t.Errorf("%d cubics for %d noisy curves", total, n)
	}
}

// A polyline that ends where it began was once taken for a straight line of no length.
func TestAClosedCurveIsNotTakenForALine(t *testing.T) {
	drop := Path{Cubic(Pt(0, 0), Pt(100, 80), Pt(-100, 80), Pt(0, 0))}
	pts := drop.Flatten(0.01)
	p, err := Fit(pts, 0.05)
	if err != nil {
		t.Fatal(err)
	}
	checkFit(t, "drop", pts, p, 0.05)
	var ring []Point
	for k := range 201 {
		ring = append(ring, Pt(60*math.Cos(float64(k)*math.Pi/100), 60*math.Sin(float64(k)*math.Pi/100)))
	}
	ring[200] = ring[0]
	p, err = Fit(ring, 0.05)
	if err != nil {
		t.Fatal(err)
	}
	checkFit(t, "ring", ring, p, 0.05)
	if a := p.EndTangent().AngleTo(p.StartTangent()); math.Abs(a) > 1e-9 || len(p) > 4 {
		t.Errorf("a ring closes with a corner of %g, in %d cubics", a, len(p))
	}
}

func TestFitSmoothKeepsTheDirectionsGiven(t *testing.T) {
	r := seeded(24)
	for i := range 100 {
		s := garmentCurve(r)
		pts := dense(Path{s}, 2)
		p, err := FitSmooth(pts, s.Tangent(0), s.Tangent(1), 0.05)
		if err != nil {
			t.Fatal(err)
		}
		checkFit(t, "curve", pts, p, 0.05)
		if a, b := p.StartTangent().AngleTo(s.Tangent(0)), p.EndTangent().AngleTo(s.Tangent(1)); math.Abs(a) > 1e-9 || math.Abs(b) > 1e-9 {
			t.Errorf("curve %d: directions off by %g and %g", i, a, b)
		}
		if len(p) > 2 {
			t.Errorf("curve %d: %d cubics", i, len(p))
		}
	}
}

func TestWhatCannotBeFittedIsRefused(t *testing.T) {
	for _, bad := range [][]Point{nil, {{1, 2}}, {{1, 2}, {1, 2}}, {{0, 0}, {math.NaN(), 1}}, {{0, 0}, {1, math.Inf(-1)}}} {
		if _, err := Fit(bad, 0.05); !errors.Is(err, ErrTooFewPoints) {
			t.Errorf("%v: %v", bad, err)
		}
	}
	for _, tol := range []float64{0, -1, math.NaN(), math.Inf(1)} {
		if _, err := Fit([]Point{{0, 0}, {1, 1}}, tol); !errors.Is(err, ErrTolerance) {
			t.Errorf("tolerance %g: %v", tol, err)
		}
	}
	if _, err := FitSmooth([]Point{{0, 0}, {1, 1}}, Vec{math.NaN(), 1}, Vec{}, 0.05); !errors.Is(err, ErrNoDirection) {
		t.Errorf("direction that is no number: %v", err)
	}
}
