package change

import (
	"math"
	"testing"

	"sizerun/internal/geom"
)

// Inside a corner the parallel of an L is the smaller L; outside it the larger one.
func TestTheParallelOfAnAngleIsAnAngle(t *testing.T) {
	l := geom.Polyline(geom.Pt(0, 0), geom.Pt(100, 0), geom.Pt(100, 80))
	for _, c := range []struct {
		line geom.Path
		want float64
	}{{l, 100 + 80 - 2*10}, {l.Reverse(), 100 + 80 + 2*10}} {
		p, err := parallelIn(c.line, 10)
		if err != nil {
			t.Fatal(err)
		}
		if math.Abs(p.Length()-c.want) > 1e-6 {
			t.Errorf("%.6f mm, want %g", p.Length(), c.want)
		}
	}
}

// A stretch shorter than the parallel's distance lies wholly in the corner.
func TestAShortStretchInACornerIsPassedOver(t *testing.T) {
	l := geom.Polyline(geom.Pt(0, -200), geom.Pt(0, 0), geom.Pt(-5, 5), geom.Pt(-200, 5))
	p, err := parallelIn(l, 40)
	if err != nil {
		t.Fatal(err)
	}
	if p.Start().Dist(geom.Pt(-40, -200)) > 1e-9 || p.End().Dist(geom.Pt(-200, -35)) > 1e-9 || math.Abs(p.Length()-(160+165)) > 1e-6 {
		t.Errorf("%v %v %.6f", p.Start(), p.End(), p.Length())
	}
}

func TestAParallelThatVanishesIsRefused(t *testing.T) {
	l := geom.Polyline(geom.Pt(0, 0), geom.Pt(10, 0), geom.Pt(10, 10))
	if p, err := parallelIn(l, 50); err == nil {
		t.Errorf("%v", p)
	}
}

// The promise of an even width can be broken.
func TestALineThatIsNoParallelIsMeasured(t *testing.T) {
	l := geom.Path{geom.Cubic(geom.Pt(0, 0), geom.Pt(-60, 0), geom.Pt(-90, 40), geom.Pt(-95, 110))}
	p, err := parallelIn(l, 40)
	if err != nil {
		t.Fatal(err)
	}
	if off := unparallel(l, p, 40, 0); off > 0.02 {
		t.Errorf("a true parallel is %.3f mm off", off)
	}
	if off := unparallel(l, p.Transform(geom.Translate(geom.Vec{X: 0.5, Y: -0.5})), 40, 0); off < 0.3 {
		t.Errorf("a shifted one only %.3f mm", off)
	}
	if off := unparallel(l, l.Transform(geom.Translate(geom.Vec{X: 0, Y: -40})), 40, 0); off < 5 {
		t.Errorf("the same line laid lower only %.3f mm", off)
	}
}
