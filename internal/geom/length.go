package geom

import "math"

// Gauss-Legendre abscissae and weights on [-1, 1] (Abramowitz & Stegun 25.4.30), positive half.
var (
	gl8x  = [4]float64{0.1834346424956498, 0.5255324099163290, 0.7966664774136267, 0.9602898564975363}
	gl8w  = [4]float64{0.3626837833783620, 0.3137066458778873, 0.2223810344533745, 0.1012285362903763}
	gl16x = [8]float64{0.0950125098376374, 0.2816035507792589, 0.4580167776572274, 0.6178762444026438, 0.7554044083550030, 0.8656312023878318, 0.9445750230732326, 0.9894009349916499}
	gl16w = [8]float64{0.1894506104550685, 0.1826034150449236, 0.1691565193950025, 0.1495959888165767, 0.1246289712555339, 0.0951585116824928, 0.0622535239386479, 0.0271524594117541}
)

// lengthRel bounds the relative error of arc length.
const lengthRel = 1e-10

// Length is the arc length of the Seg.
func (s Seg) Length() float64 { return s.lengthTo(0, 1) }

func (s Seg) lengthTo(t0, t1 float64) float64 {
	if s.Straight {
		return s.P0.Dist(s.P3) * (t1 - t0)
	}
	return s.adapt(t0, t1, 0)
}

// adapt compares 8 with 16 nodes and halves where they differ: near a cusp, where the speed
// almost vanishes, a single rule of any order is not to be trusted.
func (s Seg) adapt(a, b float64, depth int) float64 {
	m, h := (a+b)/2, (b-a)/2
	l8, l16 := 0.0, 0.0
	for i := range gl8x {
		l8 += gl8w[i] * (s.Deriv(m-h*gl8x[i]).Len() + s.Deriv(m+h*gl8x[i]).Len())
	}
	for i := range gl16x {
		l16 += gl16w[i] * (s.Deriv(m-h*gl16x[i]).Len() + s.Deriv(m+h*gl16x[i]).Len())
	}
	if depth >= 24 || math.Abs(l16-l8)*h <= lengthRel*math.Max(l16*h, 1e-6) {
		return l16 * h
	}
	return s.adapt(a, m, depth+1) + s.adapt(m, b, depth+1)
}

// ParamAt is the parameter t at arc length d from the start, clamped to [0, 1]: Newton's method
// kept inside a bracket.
func (s Seg) ParamAt(d float64) float64 {
	l := s.Length()
	switch {
	case d <= 0 || l == 0:
		return 0
	case d >= l:
		return 1
	case s.Straight:
		return d / l
	}
	lo, hi, t := 0.0, 1.0, d/l
	for range 60 {
		f := s.lengthTo(0, t) - d
		if math.Abs(f) <= 1e-10*l {
			break
		}
		if f > 0 {
			hi = t
		} else {
			lo = t
		}
		v := s.Deriv(t).Len()
		n := t - f/v
		if !(n > lo && n < hi) {
			n = (lo + hi) / 2
		}
		t = n
	}
	return t
}
