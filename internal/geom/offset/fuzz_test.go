package offset

import (
	"encoding/binary"
	"errors"
	"math"
	"testing"

	"sizerun/internal/geom"
)

// degenerate are curves that broke offsets elsewhere or in trials: points, zero handles, turning lines, cusps, loops.
var degenerate = map[string]geom.Seg{
	"point":                  geom.Cubic(pt(5, 5), pt(5, 5), pt(5, 5), pt(5, 5)),
	"no handle at start":     geom.Cubic(pt(0, 0), pt(0, 0), pt(60, 80), pt(100, 80)),
	"no handle at end":       geom.Cubic(pt(0, 0), pt(40, 0), pt(100, 80), pt(100, 80)),
	"no handles":             geom.Cubic(pt(0, 0), pt(0, 0), pt(100, 80), pt(100, 80)),
	"tiny handle":            geom.Cubic(pt(0, 0), pt(1e-9, 1e-9), pt(60, 80), pt(100, 80)),
	"short handle":           geom.Cubic(pt(0, 0), pt(2e-3, -1e-3), pt(60, 80), pt(100, 80)),
	"collinear in order":     geom.Cubic(pt(0, 0), pt(10, 10), pt(70, 70), pt(100, 100)),
	"collinear turning":      geom.Cubic(pt(0, 0), pt(150, 150), pt(-50, -50), pt(100, 100)),
	"collinear overshooting": geom.Cubic(pt(0, 0), pt(-30, -30), pt(70, 70), pt(100, 100)),
	"cusp":                   geom.Cubic(pt(0, 0), pt(100, 100), pt(0, 100), pt(100, 0)),
	"nearly a cusp":          geom.Cubic(pt(0, 0), pt(100, 99), pt(0, 99), pt(100, 0)),
	"just past a cusp":       geom.Cubic(pt(0, 0), pt(101, 100), pt(-1, 100), pt(100, 0)),
	"loop":                   geom.Cubic(pt(0, 0), pt(150, 100), pt(-50, 100), pt(100, 0)),
	"closed loop":            geom.Cubic(pt(0, 0), pt(150, 100), pt(-150, 100), pt(0, 0)),
	"same handles":           geom.Cubic(pt(0, 0), pt(50, 50), pt(50, 50), pt(100, 0)),
	"known endless loop":     geom.Cubic(pt(51, 0), pt(-.09, 161.6), pt(0, 164), pt(0, 164)),
	"arc of radius 16":       geom.Cubic(pt(16, 0), pt(16, 8.836556), pt(8.836556, 16), pt(0, 16)),
	"microscopic":            geom.Cubic(pt(0, 0), pt(1e-5, 2e-5), pt(2e-5, 3e-5), pt(3e-5, 0)),
	"huge":                   geom.Cubic(pt(-9000, 0), pt(-3000, 7000), pt(3000, -7000), pt(9000, 0)),
	"not a number":           geom.Cubic(pt(math.NaN(), 0), pt(1, 1), pt(2, 2), pt(3, 3)),
	"infinite":               geom.Cubic(pt(0, 0), pt(math.Inf(1), 1), pt(2, 2), pt(3, 3)),
	"beyond the bounds":      geom.Cubic(pt(0, 0), pt(1e9, 1), pt(2, 1e12), pt(3, 3)),
}

// parallelOf draws a parallel and checks what every answer promises, refusals among them.
func parallelOf(t *testing.T, p geom.Path, d float64) {
	t.Helper()
	q, err := Curve(p, d, DefaultTol)
	if err != nil {
		var oe *Error
		if !errors.As(err, &oe) || oe.Kind == nil {
			t.Fatalf("an error of no known kind: %v", err)
		}
		return
	}
	if len(q) == 0 || len(q) > 80*len(p) {
		t.Fatalf("%d cubics for %d", len(q), len(p))
	}
	for i, s := range q {
		for _, x := range []geom.Point{s.P0, s.P1, s.P2, s.P3} {
			if !x.Finite() {
				t.Fatalf("cubic %d is not finite: %v", i, s)
			}
		}
		if i > 0 && q[i-1].P3.Dist(s.P0) > 1e-9 {
			t.Fatalf("open by %g at %d", q[i-1].P3.Dist(s.P0), i)
		}
	}
}

func TestDegenerateCurvesAreDrawnOrRefused(t *testing.T) {
	for name, s := range degenerate {
		for _, d := range []float64{0, 1e-6, 0.01, 6, 16, -6, -16, 100, -1000, math.NaN(), math.Inf(1), 1e300} {
			t.Run(name, func(t *testing.T) { parallelOf(t, geom.Path{s}, d) })
		}
	}
}

func TestParallelAtNoDistanceIsTheLine(t *testing.T) {
	for _, p := range curves(12) {
		q, err := Curve(p, 0, DefaultTol)
		if err != nil || len(q) != 1 || q[0] != p[0] {
			t.Fatalf("%v, %v", q, err)
		}
	}
}

func TestParallelOfTheReversedLineIsOnTheOtherSide(t *testing.T) {
	for _, p := range curves(60) {
		q, err := Curve(p, 10, DefaultTol)
		r, err2 := Curve(p.Reverse(), -10, DefaultTol)
		if (err == nil) != (err2 == nil) {
			t.Fatalf("%v, %v", err, err2)
		}
		if err == nil && (q.Start().Dist(r.End()) > 1e-9 || math.Abs(q.Length()-r.Length()) > 1e-9) {
			t.Fatal("they differ")
		}
	}
}

// coordinates reads bounded numbers of 1/64 mm, or raw bits for nonsense.
func coordinates(b []byte, n int) []float64 {
	out := make([]float64, n)
	for i := range out {
		if len(b) < 2 {
			break
		}
		out[i] = float64(int16(binary.LittleEndian.Uint16(b))) / 64
		b = b[2:]
	}
	return out
}

func encode(s geom.Seg, d float64) []byte {
	var b []byte
	for _, v := range []float64{s.P0.X, s.P0.Y, s.P1.X, s.P1.Y, s.P2.X, s.P2.Y, s.P3.X, s.P3.Y, d} {
		if math.IsNaN(v) {
			v = 0
		}
		b = binary.LittleEndian.AppendUint16(b, uint16(int16(math.Max(-511, math.Min(511, v))*64)))
	}
	return b
}

func FuzzOffset(f *testing.F) {
	for _, s := range degenerate {
		f.Add(encode(s, 16))
		f.Add(encode(s, -6))
	}
	f.Fuzz(func(t *testing.T, b []byte) {
		v := coordinates(b, 9)
		s := geom.Cubic(pt(v[0], v[1]), pt(v[2], v[3]), pt(v[4], v[5]), pt(v[6], v[7]))
		parallelOf(t, geom.Path{s}, v[8])
		q, err := Curve(geom.Path{s}, v[8], DefaultTol)
		if err != nil || v[8] == 0 || s.P0 == s.P3 {
			return // a closed line has a mitred corner
		}
		// A trimmed parallel keeps its distance, wherever it is looked at.
		src := dense(geom.Path{s}, 1500)
		for _, x := range dense(q, 7) {
			if g := gap(x, src); g > math.Abs(v[8])+0.05 {
				t.Fatalf("d %g: a point lies %g away (%v)", v[8], g, s)
			}
		}
	})
}

func FuzzLoop(f *testing.F) {
	f.Add([]byte{0, 0, 0, 0, 0, 40, 0, 0, 0, 40, 0, 30, 0, 0, 0, 30, 16, 10, 6, 0, 0})
	f.Add([]byte{9, 3, 0, 4, 0, 40, 0, 0, 1, 40, 0, 30, 0, 0, 0, 30, 7, 77, 255, 128, 3, 1, 2, 3})
	f.Fuzz(func(t *testing.T, b []byte) {
		if len(b) < 12 {
			return
		}
		n := 3 + int(b[0]%6)
		v := coordinates(b[1:], 2*n)
		h := coordinates(b[min(len(b), 1+n):], 4*n)
		var pts []geom.Point
		for i := range n {
			pts = append(pts, pt(v[2*i], v[2*i+1]))
		}
		es := polygonEdges(0, pts...)
		js := make([]Joint, n)
		for i := range es {
			k := int(b[(i*7+3)%len(b)])
			es[i].Width = float64(int8(b[(i*5+1)%len(b)])) / 3
			js[i] = Joint{Corner: Corner(k % 4), After: k&16 != 0, Turns: k >> 6}
			if k&32 != 0 {
				p, q := pts[i], pts[(i+1)%n]
				es[i].Path = geom.Path{geom.Cubic(p, pt(p.X+h[4*i]/4, p.Y+h[4*i+1]/4), pt(q.X+h[4*i+2]/4, q.Y+h[4*i+3]/4), q)}
			}
		}
		r, err := Loop(es, js, 0)
		if err != nil {
			var oe *Error
			if !errors.As(err, &oe) {
				t.Fatalf("an error of no known kind: %v", err)
			}
			return
		}
		sound(t, r)
	})
}
