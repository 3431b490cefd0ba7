package geom

import (
	"errors"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"
)

// anyStyleLine gives ends and directions whose tangents meet ahead; the end angles differ up to
// the given ratio.
func anyStyleLine(r *rand.Rand, ratio float64) (Point, Vec, Point, Vec) {
	p0, p1 := anyPoint(r, 500), anyPoint(r, 500)
	total := 0.15 + 2.5*r.Float64()
	k := math.Exp((2*r.Float64() - 1) * math.Log(ratio))
	a, b := total*k/(1+k), total/(1+k)
	if r.IntN(2) == 0 {
		a, b = -a, -b
	}
	c := p1.Sub(p0)
	return p0, c.Rotate(-a).Unit(), p1, c.Rotate(b).Unit()
}

func TestAStyleLineKeepsItsEndsAndDirectionsAndTurnsOneWay(t *testing.T) {
	r := seeded(10)
	for i := range 2000 {
		p0, t0, p1, t1 := anyStyleLine(r, 6)
		o := FairOptions{}
		if i%4 == 0 {
			o.Fullness = 0.05 + 0.9*r.Float64()
		}
		p, err := Fair(p0, t0, p1, t1, o)
		if err != nil {
			t.Fatalf("line %d: %v", i, err)
		}
		if p.Start() != p0 || p.End() != p1 {
			t.Fatalf("line %d does not keep its ends", i)
		}
		if a, b := p.StartTangent().AngleTo(t0), p.EndTangent().AngleTo(t1); math.Abs(a) > 1e-9 || math.Abs(b) > 1e-9 {
			t.Errorf("line %d: directions off by %g and %g rad", i, a, b)
		}
		left := t0.Cross(t1) > 0
		for s := 0.0; s <= 1; s += 0.01 {
			if k := p.CurvatureAt(s * p.Length()); (k > 0) != left {
				t.Fatalf("line %d changes its turn: curvature %g at %g", i, k, s)
			}
		}
	}
}

func TestAStyleLineDoesNotDependOnWhereOrWhichWayItIsDrawn(t *testing.T) {
	r := seeded(11)
	for i := range 300 {
		p0, t0, p1, t1 := anyStyleLine(r, 4)
		if i%3 == 0 { // an S
			t1 = p1.Sub(p0).Rotate(0.2 + 0.8*r.Float64()).Unit()
			t0 = p1.Sub(p0).Rotate(0.2 + 0.8*r.Float64()).Unit()
		}
		if i%3 == 1 { // more than half a turn
			t0 = p1.Sub(p0).Rotate(-1.4 - r.Float64()).Unit()
			t1 = p1.Sub(p0).Rotate(1.8 + r.Float64()).Unit()
		}
		o := FairOptions{AllowInflection: true}
		p, err := Fair(p0, t0, p1, t1, o)
		if err != nil {
			t.Fatal(err)
		}
		same := func(what string, q Path) {
			for k := range 11 {
				f := float64(k) / 10
				if d := p.PointAt(f * p.Length()).Dist(q.PointAt(f * q.Length())); d > 1e-4 {
					t.Errorf("line %d %s differs by %g mm", i, what, d)
					return
				}
			}
		}
		q, _ := Fair(p1, t1.Neg(), p0, t0.Neg(), o)
		same("reversed", q.Reverse())
		m := MirrorAbout(Pt(3, 4), Vec{1, 2}).Then(RotateAbout(Pt(100, 0), 1)).Then(Scale(2, 2))
		q, _ = Fair(m.Apply(p0), m.ApplyVec(t0), m.Apply(p1), m.ApplyVec(t1), o)
		inv := Scale(0.5, 0.5).Then(RotateAbout(Pt(100, 0), -1)).Then(MirrorAbout(Pt(3, 4), Vec{1, 2}))
		same("mirrored, turned and doubled", q.Transform(inv))
	}
}

func TestTheFairestCurveBetweenEqualAnglesIsNearlyACircle(t *testing.T) {
	for _, a := range []float64{0.2, 0.5, 0.8, 1.1} {
		p, err := Fair(Pt(0, 0), Vec{math.Cos(a), -math.Sin(a)}, Pt(200, 0), Vec{math.Cos(a), math.Sin(a)}, FairOptions{})
		if err != nil {
			t.Fatal(err)
		}
		r := 100 / math.Sin(a)
		c := Pt(100, r*math.Cos(a))
		for s := 0.0; s <= 1; s += 0.05 {
			if d := math.Abs(p.PointAt(s*p.Length()).Dist(c) - r); d > 0.006*r {
				t.Errorf("angle %g: %g mm off the circle of radius %g", a, d, r)
			}
		}
	}
}

// Against plain search over the same family: no other pair of arms is fairer.
func TestNoOtherArmsAreFairer(t *testing.T) {
	r := seeded(12)
	for i := range 100 {
		p0, t0, p1, t1 := anyStyleLine(r, 3)
		p, _ := Fair(p0, t0, p1, t1, FairOptions{})
		c := p1.Sub(p0)
		v := p0.Add(t0.Mul(c.Cross(t1) / t0.Cross(t1)))
		got := p[0].variation()
		best := math.Inf(1)
		for f := 0.05; f <= 0.92; f += 0.01 {
			for g := 0.05; g <= 0.92; g += 0.01 {
				best = math.Min(best, Cubic(p0, p0.Lerp(v, f), p1.Lerp(v, g), p1).variation())
			}
		}
		if got > best*(1+1e-6) {
			t.Errorf("line %d: variation %.6g, a plain search finds %.6g", i, got, best)
		}
	}
}

// Handles of a third of the chord are the habit to beat.
func TestStyleLinesAreMuchFairerThanHandlesOfAThird(t *testing.T) {
	r := seeded(15)
	var fair, plain []float64
	for range 1000 {
		p0, t0, p1, t1 := anyStyleLine(r, 1.8)
		p, err := Fair(p0, t0, p1, t1, FairOptions{})
		if err != nil {
			t.Fatal(err)
		}
		third := p0.Dist(p1) / 3
		fair = append(fair, p[0].variation())
		plain = append(plain, Cubic(p0, p0.Add(t0.Mul(third)), p1.Add(t1.Mul(-third)), p1).variation())
	}
	slices.Sort(fair)
	slices.Sort(plain)
	t.Logf("median variation %.3f, handles of a third %.3f", fair[500], plain[500])
	if fair[500] > plain[500]/4 {
		t.Errorf("median variation %.3f, handles of a third %.3f", fair[500], plain[500])
	}
}

func TestConvexPointsGiveACurveWithoutInflection(t *testing.T) {
	r := seeded(16)
	for i := range 300 {
		var pts []Point
		w, h := 60+200*r.Float64(), 60+200*r.Float64()
		for a := 0.0; a < 2.5; a += 0.1 + 0.4*r.Float64() {
			pts = append(pts, Pt(w*math.Cos(a), h*math.Sin(a)))
		}
		p, err := Through(pts, nil, nil)
		if err != nil {
			t.Fatal(err)
		}
		for k, s := range p {
			if n := s.Inflections(); len(n) > 0 {
				t.Errorf("curve %d, gap %d of %d: inflection at %v", i, k, len(p), n)
			}
		}
		for _, q := range p.Flatten(0.1) {
			if d := math.Abs(math.Hypot(q.X/w, q.Y/h)-1) * math.Min(w, h); d > 2.5 {
				t.Errorf("curve %d: %g mm off the ellipse", i, d)
			}
		}
	}
}

func TestCurvatureOfMostStyleLinesHasAtMostOneExtremum(t *testing.T) {
	r := seeded(13)
	few := 0
	const n = 1000
	for range n {
		p0, t0, p1, t1 := anyStyleLine(r, 2.5)
		p, _ := Fair(p0, t0, p1, t1, FairOptions{})
		if len(p[0].CurvatureExtrema()) <= 1 {
			few++
		}
	}
	t.Logf("%d of %d", few, n)
	if few < n*60/100 {
		t.Errorf("only %d of %d style lines have at most one curvature extremum", few, n)
	}
}

func TestFullnessIsTheShareOfTheWayToTheMeetingPoint(t *testing.T) {
	for _, f := range []float64{0.05, 0.4, 0.95} {
		p, err := Fair(Pt(0, 100), Vec{0, -1}, Pt(80, 0), Vec{1, 0}, FairOptions{Fullness: f})
		if err != nil {
			t.Fatal(err)
		}
		if p[0].P1.Dist(Pt(0, 100-100*f)) > 1e-9 || p[0].P2.Dist(Pt(80-80*f, 0)) > 1e-9 {
			t.Errorf("fullness %g: %v", f, p)
		}
	}
	for _, f := range []float64{-1, 0.01, 0.96, math.NaN(), math.Inf(1)} {
		if _, err := Fair(Pt(0, 100), Vec{0, -1}, Pt(80, 0), Vec{1, 0}, FairOptions{Fullness: f}); !errors.Is(err, ErrFullness) {
			t.Errorf("fullness %g was taken: %v", f, err)
		}
	}
}

func TestDirectionsThatForceAnInflectionAreRefusedUnlessAllowed(t *testing.T) {
	s := func(o FairOptions) (Path, error) {
		return Fair(Pt(0, 0), Vec{1, 1}, Pt(100, 0), Vec{1, 1}, o)
	}
	if _, err := s(FairOptions{}); !errors.Is(err, ErrInflection) || !strings.Contains(err.Error(), "45°") {
		t.Errorf("an S without leave: %v", err)
	}
	p, err := s(FairOptions{AllowInflection: true})
	if err != nil || len(p) != 1 || len(p[0].Inflections()) != 1 {
		t.Fatalf("an S with leave: %v %v", p, err)
	}
	close2(t, "the S changes its turn in the middle", p[0].Inflections()[0], 0.5, 1e-6)
	if _, err := Fair(Pt(0, 0), Vec{1, 0}, Pt(100, 0), Vec{1, 1}, FairOptions{}); !errors.Is(err, ErrInflection) {
		t.Errorf("leaving level and arriving steep: %v", err)
	}
	p, err = Fair(Pt(0, 0), Vec{3, 0}, Pt(100, 0), Vec{1, 0}, FairOptions{})
	if err != nil || len(p) != 1 || !p[0].Straight {
		t.Errorf("straight on is a straight line: %v %v", p, err)
	}
	for _, bad := range [][2]Vec{{{}, {1, 0}}, {{1, 0}, {}}, {{math.NaN(), 0}, {1, 0}}, {{math.Inf(1), 0}, {1, 0}}} {
		if _, err := Fair(Pt(0, 0), bad[0], Pt(1, 0), bad[1], FairOptions{}); !errors.Is(err, ErrNoDirection) {
			t.Errorf("directions %v: %v", bad, err)
		}
	}
	if _, err := Fair(Pt(1, 1), Vec{1, 0}, Pt(1, 1), Vec{0, 1}, FairOptions{}); !errors.Is(err, ErrNoDirection) {
		t.Errorf("one point: %v", err)
	}
}

// From size to size the directions at the ends of a style line turn by parts of a degree: the line must not leap.
// With the chord at 100 mm and 0.2 degrees between two lines, it moves by about 0.1 mm; where two fair curves
// compete it may still leap by 2 mm, which were 15.
func TestALineThatMayChangeItsTurnDoesNotLeapBetweenSizes(t *testing.T) {
	worst, leaps, lines := 0.0, 0, 0
	for x := -80.0; x <= 80; x += 32 {
		var last Path
		for y := -80.0; y <= 80; y += 0.2 {
			leave, arrive := Vec{X: 1}.Rotate(-x*math.Pi/180), Vec{X: 1}.Rotate(y*math.Pi/180)
			p, err := Fair(Pt(0, 0), leave, Pt(100, 0), arrive, FairOptions{AllowInflection: true})
			if err != nil {
				t.Fatal(err)
			}
			if last != nil {
				d := p.PointAt(p.Length() / 2).Dist(last.PointAt(last.Length() / 2))
				if worst = math.Max(worst, d); d > 0.5 {
					leaps++
				}
				lines++
			}
			last = p
		}
	}
	t.Logf("%d leaps in %d steps, the longest %.2f mm", leaps, lines, worst)
	if worst > 2.5 || leaps > lines/500 {
		t.Errorf("%d leaps in %d steps, the longest %.2f mm", leaps, lines, worst)
	}
}

func TestAHalfTurnAndMoreIsDrawnWithoutInflection(t *testing.T) {
	for a := 1.0; a < 3; a += 0.2 {
		for b := 1.0; b < 3 && a+b < mostTurn; b += 0.2 {
			p, err := Fair(Pt(0, 0), Vec{1, 0}.Rotate(-a), Pt(100, 0), Vec{1, 0}.Rotate(b), FairOptions{})
			if err != nil {
				t.Errorf("turning %g and %g: %v", a, b, err)
				continue
			}
			for i, s := range p {
				if len(s.Inflections()) > 0 {
					t.Errorf("turning %g and %g: inflection", a, b)
				}
				if i > 0 && math.Abs(p[i-1].Tangent(1).AngleTo(s.Tangent(0))) > 1e-9 {
					t.Errorf("turning %g and %g: corner", a, b)
				}
			}
			if p.StartTangent().Cross(p[0].Deriv2(0)) <= 0 {
				t.Errorf("turning %g and %g: it turns the wrong way", a, b)
			}
		}
	}
}

func TestFairNeverFailsBadly(t *testing.T) {
	for i := range 72 {
		for j := range 72 {
			for _, allow := range []bool{false, true} {
				p, err := Fair(Pt(5, 5), Vec{1, 0}.Rotate(float64(i)*math.Pi/36), Pt(105, 5), Vec{1, 0}.Rotate(float64(j)*math.Pi/36), FairOptions{AllowInflection: allow})
				if err != nil {
					if allow {
						t.Errorf("%d°, %d°: %v", i*5, j*5, err)
					}
					continue
				}
				if l := p.Length(); !(l >= 99.99 && l < 2000) {
					t.Errorf("%d°, %d°: length %g", i*5, j*5, l)
				}
			}
		}
	}
}

func TestThroughMeetsEveryPointWithOneDirectionAndOneCurvature(t *testing.T) {
	r := seeded(14)
	for i := range 300 {
		n := 3 + r.IntN(8)
		pts := []Point{anyPoint(r, 100)}
		dir := r.Float64() * 6
		for range n {
			dir += (r.Float64() - 0.5) * 1.2
			pts = append(pts, pts[len(pts)-1].Add(Vec{1, 0}.Rotate(dir).Mul(10+60*r.Float64())))
		}
		var t0, t1 *Vec
		if i%2 == 0 {
			t0, t1 = &Vec{1, 0.5}, &Vec{1, -1}
		}
		p, err := Through(pts, t0, t1)
		if err != nil {
			t.Fatal(err)
		}
		if t0 != nil && (math.Abs(p.StartTangent().AngleTo(*t0)) > 1e-9 || math.Abs(p.EndTangent().AngleTo(*t1)) > 1e-9) {
			t.Errorf("curve %d does not keep its end directions", i)
		}
		for k := 1; k < len(p); k++ {
			if p[k].P0 != pts[k] || p[k-1].P3 != pts[k] {
				t.Fatalf("curve %d misses point %d", i, k)
			}
			if a := p[k-1].Tangent(1).AngleTo(p[k].Tangent(0)); math.Abs(a) > 1e-9 {
				t.Errorf("curve %d has a corner of %g at point %d", i, a, k)
			}
			if a, b := p[k-1].Curvature(1), p[k].Curvature(0); math.Abs(a-b) > 1e-9*(1+math.Abs(a)) {
				t.Errorf("curve %d: curvature jumps from %g to %g at point %d", i, a, b, k)
			}
		}
	}
}

func TestThroughPointsOfACircleStaysOnIt(t *testing.T) {
	var pts []Point
	for _, a := range []float64{0, 0.3, 0.5, 0.9, 1.2, 1.6, 1.9} {
		pts = append(pts, Pt(100*math.Cos(a), 100*math.Sin(a)))
	}
	p, err := Through(pts, nil, nil)
	if err != nil {
		t.Fatal(err)
	}
	for _, q := range p.Flatten(0.01) {
		if d := math.Abs(q.Dist(Pt(0, 0)) - 100); d > 0.05 {
			t.Errorf("%g mm off the circle", d)
		}
	}
	for i, s := range p {
		if len(s.Inflections()) > 0 {
			t.Errorf("cubic %d has an inflection", i)
		}
	}
}

func TestThroughPointsInLineIsStraight(t *testing.T) {
	p, err := Through([]Point{{0, 0}, {10, 20}, {15, 30}, {50, 100}}, nil, nil)
	if err != nil {
		t.Fatal(err)
	}
	for i, s := range p {
		if !s.Straight {
			t.Errorf("stretch %d is not straight: %v", i, s)
		}
	}
	for _, bad := range [][]Point{nil, {{1, 1}}, {{1, 1}, {1, 1}}, {{1, 1}, {math.NaN(), 0}}, {{0, 0}, {math.Inf(1), 1}}} {
		if _, err := Through(bad, nil, nil); !errors.Is(err, ErrTooFewPoints) {
			t.Errorf("%v: %v", bad, err)
		}
	}
}
