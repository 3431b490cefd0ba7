package offset

import (
	"errors"
	"math"
	"math/rand/v2"
	"testing"

	"sizerun/internal/geom"
)

func pt(x, y float64) geom.Point { return geom.Pt(x, y) }

// curves that seams are made of: bowls, long hips, S-shapes, caps, tight corners.
func curves(n int) []geom.Path {
	r := rand.New(rand.NewPCG(1, 2))
	u := func(a, b float64) float64 { return a + (b-a)*r.Float64() }
	var out []geom.Path
	for i := range n {
		var s geom.Seg
		switch i % 6 {
		case 0: // a J-shaped bowl: armhole
			w, h := u(60, 160), u(120, 260)
			s = geom.Cubic(pt(0, 0), pt(0, -h*u(.3, .7)), pt(w*u(.1, .5), -h), pt(w, -h))
		case 1: // quarter bowl: neck
			w, h := u(50, 120), u(50, 150)
			s = geom.Cubic(pt(0, 0), pt(0, -h*u(.4, .7)), pt(w*u(.3, .6), -h), pt(w, -h))
		case 2: // hip
			l := u(150, 1500)
			s = geom.Cubic(pt(0, 0), pt(l/3, u(5, 40)), pt(2*l/3, u(5, 40)), pt(l, 0))
		case 3: // S
			l := u(100, 400)
			s = geom.Cubic(pt(0, 0), pt(l/2, 0), pt(l/2, u(20, 90)), pt(l, u(20, 90)))
		case 4: // cap
			w, h := u(140, 220), u(80, 170)
			s = geom.Cubic(pt(0, 0), pt(-w*u(.2, .45), h*u(0, .2)), pt(-w*u(.3, .6), h), pt(-w, h))
		case 5: // round corner
			w := u(12, 40)
			s = geom.Cubic(pt(0, 0), pt(w*.55, 0), pt(w, w*.45), pt(w, w))
		}
		m := geom.RotateAbout(pt(0, 0), u(-3, 3)).Then(geom.Translate(geom.Vec{X: u(-800, 800), Y: u(-800, 800)}))
		p := geom.Path{s.Transform(m)}
		if r.IntN(2) == 0 {
			p = p.Reverse()
		}
		out = append(out, p)
	}
	return out
}

// gap is the distance from q to the dense polyline, the slow plain way.
func gap(q geom.Point, pts []geom.Point) float64 {
	best := math.Inf(1)
	for i := 1; i < len(pts); i++ {
		a, d := pts[i-1], pts[i].Sub(pts[i-1])
		t := math.Max(0, math.Min(1, q.Sub(a).Dot(d)/math.Max(d.Dot(d), 1e-300)))
		best = math.Min(best, q.Dist(a.Add(d.Mul(t))))
	}
	return best
}

func dense(p geom.Path, n int) []geom.Point {
	var out []geom.Point
	for _, s := range p {
		for i := range n {
			out = append(out, s.At(float64(i)/float64(n)))
		}
	}
	return append(out, p.End())
}

func TestParallelLiesAtItsDistanceWithinTwoHundredths(t *testing.T) {
	worst, pieces, n := 0.0, 0, 0
	for i, p := range curves(240) {
		for _, d := range []float64{6, 10, 16, 32, -6, -16} {
			q, err := Curve(p, d, DefaultTol)
			if err != nil {
				if errors.Is(err, ErrVanished) || errors.Is(err, ErrFallsApart) {
					continue
				}
				t.Fatalf("curve %d at %g: %v", i, d, err)
			}
			n++
			pieces += len(q)
			src := dense(p, 600)
			for _, x := range dense(q, 16) {
				g := gap(x, src)
				// Promised is 0.02; drawn at DefaultTol it must come out far better.
				if e := math.Abs(g - math.Abs(d)); e > worst {
					worst = e
					if e > 1.5*DefaultTol {
						t.Errorf("curve %d at %g: a point lies %.4f away", i, d, g)
					}
				}
			}
		}
	}
	t.Logf("%d parallels, %.2f cubics each, worst distance error %.4f mm", n, float64(pieces)/float64(n), worst)
	if n < 1200 {
		t.Errorf("only %d parallels were drawn", n)
	}
}

// Exact while d stays below every radius: the parallel's length is L − d Δθ (Δθ the turn towards the
// side of the parallel), and the strip between the two has the area d (L + L') / 2.
func TestLengthAndStripAreaOfAParallel(t *testing.T) {
	n := 0
	worstL, worstA := 0.0, 0.0
	for _, p := range curves(240) {
		for _, d := range []float64{6, 16, -10} {
			// Radius on the parallel's own side; a right turn has its centre on the right.
			tight, turn := false, 0.0
			for i := 0; i <= 400; i++ {
				if 1+p[0].Curvature(float64(i)/400)*d < 0.05 {
					tight = true
				}
				if i > 0 {
					turn += p[0].Tangent(float64(i-1) / 400).AngleTo(p[0].Tangent(float64(i) / 400))
				}
			}
			if tight {
				continue
			}
			q, err := Curve(p, d, DefaultTol)
			if err != nil {
				t.Fatal(err)
			}
			n++
			l0, l1 := p.Length(), q.Length()
			worstL = math.Max(worstL, math.Abs(l1-(l0+d*turn)))
			strip := append(append(append(geom.Path{}, q...), geom.Line(q.End(), p.End())), append(p.Reverse(), geom.Line(p.Start(), q.Start()))...)
			worstA = math.Max(worstA, math.Abs(strip.Area()-d*(l0+l1)/2)/l0)
			if e := q.Start().Dist(p.Start().Add(p.StartTangent().Right().Mul(d))); e > 1e-9 {
				t.Fatalf("the parallel begins %g beside the normal", e)
			}
		}
	}
	t.Logf("%d parallels: length within %.4f mm, strip area within %.5f mm² per mm", n, worstL, worstA)
	if n < 400 || worstL > 0.02 || worstA > 0.005 {
		t.Errorf("%d parallels, length off by %.4f, area off by %.5f per mm", n, worstL, worstA)
	}
}
