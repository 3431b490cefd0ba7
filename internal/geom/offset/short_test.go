package offset

import (
	"math"
	"math/rand/v2"
	"testing"

	"sizerun/internal/geom"
)

// A corner with a very short stretch beside it, as cutting and joining edges leaves them, is a corner like any other;
// so is one that turns by about a square, where the strip of one side ends on the other.
func TestACornerBesideAVeryShortStretchHasAParallel(t *testing.T) {
	r := rand.New(rand.NewPCG(8, 1))
	u := func(a, b float64) float64 { return a + (b-a)*r.Float64() }
	bow := func(p geom.Path, at geom.Point) geom.Path {
		a := p[0].P0
		if r.IntN(2) == 0 {
			p[0] = geom.Cubic(a, a.Add(geom.Vec{X: 30, Y: u(-10, 10)}), at.Add(geom.Vec{X: -30}), at)
		}
		return p
	}
	for i := range 900 {
		d := u(3, 40)
		turn, split := u(-2.2, 2.2), u(-0.4, 1.4)
		if i%3 == 0 {
			turn = math.Copysign(math.Pi/2+u(-0.02, 0.02), turn)
		}
		if i%9 == 0 {
			turn = math.Copysign(math.Pi/2, turn)
		}
		a, b := pt(u(-200, -100), 0), pt(0, 0)
		p := geom.Polyline(a, b)
		short := 0.0
		if i%2 == 0 {
			short = u(0.02, 0.5)
			p = append(p, geom.Line(b, b.Add(geom.Vec{X: 1}.Rotate(turn*split).Mul(short))))
		}
		p = bow(append(p, geom.Line(p.End(), p.End().Add(geom.Vec{X: 1}.Rotate(turn).Mul(u(100, 200))))), b)
		if r.IntN(2) == 0 {
			d = -d
		}
		q, err := Curve(p, d, DefaultTol)
		if err != nil {
			t.Errorf("%d: a stretch of %.3f mm, turn %.4f, its share %.3f, d %.2f: %v", i, short, turn, split, d, err)
			continue
		}
		src := dense(p, 300)
		for _, x := range dense(q, 9) {
			if g := gap(x, src); g < math.Abs(d)-0.05 {
				t.Errorf("%d: a stretch of %.3f mm, turn %.4f, its share %.3f, d %.2f: a point lies only %.3f mm away", i, short, turn, split, d, g)
				break
			}
		}
		for k, ends := range [2][2]geom.Point{{p.Start(), q.Start()}, {p.End(), q.End()}} {
			if off := ends[0].Dist(ends[1]) - math.Abs(d); math.Abs(off) > 0.01 {
				t.Errorf("%d: end %d lies %.3f mm off", i, k, off)
			}
		}
	}
}
