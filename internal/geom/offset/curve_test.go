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
	for i, p := range curves(300) {
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
			src := dense(p, 1200)
			for _, x := range dense(q, 40) {
				g := gap(x, src)
				if e := math.Abs(g - math.Abs(d)); e > worst {
					worst = e
					if e > 0.02 {
						t.Errorf("curve %d at %g: a point lies %.4f away", i, d, g)
					}
				}
			}
		}
	}
	t.Logf("%d parallels, %.2f cubics each, worst distance error %.4f mm", n, float64(pieces)/float64(n), worst)
	if n < 1500 {
		t.Errorf("only %d parallels were drawn", n)
	}
}
