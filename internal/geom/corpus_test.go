package geom

import (
	"math"
	"math/rand/v2"
	"testing"
)

// seeded gives the same stream in every run, another one per test.
func seeded(n uint64) *rand.Rand { return rand.New(rand.NewPCG(n, 0x5e77)) }

func anyPoint(r *rand.Rand, reach float64) Point {
	return Pt(r.Float64()*reach, r.Float64()*reach)
}

func anyCubic(r *rand.Rand, reach float64) Seg {
	return Cubic(anyPoint(r, reach), anyPoint(r, reach), anyPoint(r, reach), anyPoint(r, reach))
}

// garmentCurve is one of the curves a pattern is made of: a scooped bowl (neck, armhole), a
// quarter bowl, a long hip, a sleeve cap's S, a deep S, a small round corner; turned, mirrored
// and moved at random.
func garmentCurve(r *rand.Rand) Seg {
	u := func(a, b float64) float64 { return a + (b-a)*r.Float64() }
	var s Seg
	switch r.IntN(6) {
	case 0:
		w, h := u(40, 150), u(80, 250)
		s = Cubic(Pt(0, h), Pt(u(-5, 5), h*u(0.3, 0.6)), Pt(w*u(0.1, 0.4), 0), Pt(w, u(0, 10)))
	case 1:
		w, h := u(40, 150), u(40, 150)
		s = Cubic(Pt(0, h), Pt(0, h*u(0.3, 0.6)), Pt(w*u(0.3, 0.6), 0), Pt(w, 0))
	case 2:
		l := u(150, 1500)
		s = Cubic(Pt(0, 0), Pt(l*0.3, l*u(0.01, 0.08)), Pt(l*0.7, l*u(0.01, 0.08)), Pt(l, 0))
	case 3:
		w, h := u(100, 250), u(80, 180)
		s = Cubic(Pt(0, 0), Pt(w*u(0.3, 0.6), 0), Pt(w*u(0.4, 0.7), h), Pt(w, h))
	case 4:
		w, h := u(100, 250), u(80, 180)
		s = Cubic(Pt(0, 0), Pt(w*u(0.8, 1.2), h*0.05), Pt(w*u(-0.2, 0.2), h*0.95), Pt(w, h))
	default:
		w := u(12, 40)
		s = Cubic(Pt(0, w), Pt(0, w*0.45), Pt(w*0.45, 0), Pt(w, 0))
	}
	m := RotateAbout(Pt(0, 0), u(-math.Pi, math.Pi)).Then(Translate(Vec{u(-800, 800), u(-800, 800)}))
	if r.IntN(2) == 0 {
		m = Scale(-1, 1).Then(m)
	}
	if r.IntN(2) == 0 {
		s = s.Reverse()
	}
	return s.Transform(m)
}

// smoothChain is n garment-like cubics joined without a corner.
func smoothChain(r *rand.Rand, n int) Path {
	var p Path
	at, dir := Pt(0, 0), Vec{1, 0}
	for range n {
		l := 60 + 120*r.Float64()
		turn := (r.Float64() - 0.5) * 2.4
		end := at.Add(dir.Rotate(turn * (0.4 + 0.2*r.Float64())).Mul(l))
		out := dir.Rotate(turn)
		p = append(p, Cubic(at, at.Add(dir.Mul(l*(0.25+0.2*r.Float64()))), end.Add(out.Mul(-l*(0.25+0.2*r.Float64()))), end))
		at, dir = end, out
	}
	return p
}

// degenerate are the cubics that break formulas: points, coincident handles, straight ones in
// and out of order, cusps, loops, specks and far ones.
func degenerate() map[string]Seg {
	o, x := Pt(0, 0), Pt(100, 0)
	return map[string]Seg{
		"a point":                      Cubic(o, o, o, o),
		"a point as a line":            Line(o, o),
		"no start handle":              Cubic(o, o, Pt(60, 40), x),
		"no end handle":                Cubic(o, Pt(40, 40), x, x),
		"no handles":                   Cubic(o, o, x, x),
		"both handles at the start":    Cubic(o, o, o, x),
		"both handles at the end":      Cubic(o, x, x, x),
		"handles swapped":              Cubic(o, x, o, x),
		"straight in order":            Cubic(o, Pt(30, 0), Pt(60, 0), x),
		"straight out of order":        Cubic(o, Pt(80, 0), Pt(20, 0), x),
		"straight overshooting":        Cubic(o, Pt(150, 0), Pt(160, 0), x),
		"straight and back to start":   Cubic(o, x, x, o),
		"closed on itself":             Cubic(o, Pt(100, 80), Pt(-100, 80), o),
		"exact cusp":                   Cubic(o, Pt(100, 100), Pt(0, 100), x),
		"almost a cusp":                Cubic(o, Pt(100, 100.001), Pt(0, 100), x),
		"loop":                         Cubic(o, Pt(150, 100), Pt(-50, 100), x),
		"tiny":                         Cubic(o, Pt(1e-9, 1e-9), Pt(2e-9, 0), Pt(3e-9, 1e-9)),
		"handle of a nanometre":        Cubic(o, Pt(1e-6, 1e-6), Pt(60, 40), x),
		"far away":                     Cubic(Pt(1e6, 1e6), Pt(1e6+30, 1e6), Pt(1e6+60, 1e6+50), Pt(1e6+100, 1e6+50)),
		"huge":                         Cubic(o, Pt(3e8, 1e8), Pt(-2e8, 5e8), Pt(1e9, 0)),
		"square to the chord and back": Cubic(o, Pt(0, 1e-13), Pt(100, 1e-13), x),
	}
}

func close2(t *testing.T, what string, got, want, tol float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tol) {
		t.Errorf("%s: got %.15g, want %.15g within %g (off by %g)", what, got, want, tol, got-want)
	}
}
