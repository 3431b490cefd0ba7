package geom

import (
	"errors"
)

// ErrTooFewPoints is told when a curve is asked for through fewer than two different points, or
// through points that are not numbers.
var ErrTooFewPoints = errors.New("geom: a curve needs at least two different, finite points")

// Through draws a fair curve through the given points in order: a cubic per gap, with the
// direction and the curvature continuous at every point. An end tangent that is not given is
// found from the points nearby, as if the curvature went on evenly. Points on one straight line
// give lines.
//
// It is the spline that is twice differentiable in a parameter which is, up to a few rounds of
// correction, its own arc length: chords as the parameter would let a long gap beside a short one
// bulge.
func Through(pts []Point, t0, t1 *Vec) (Path, error) {
	pts, err := distinct(pts)
	if err != nil {
		return nil, err
	}
	for _, t := range [2]*Vec{t0, t1} {
		if t != nil && !finiteDirection(*t) {
			return nil, ErrNoDirection
		}
	}
	n := len(pts)
	if n == 2 && t0 == nil && t1 == nil {
		return Path{Line(pts[0], pts[1])}, nil
	}
	if n == 2 && t0 != nil && t1 != nil {
		return Fair(pts[0], *t0, pts[1], *t1, FairOptions{AllowInflection: true})
	}
	gaps := make([]float64, n-1)
	for i := range gaps {
		gaps[i] = pts[i].Dist(pts[i+1])
	}
	out := spline(pts, gaps, t0, t1)
	for range 3 {
		for i := range gaps {
			gaps[i] = min(out[i].Length(), 4*pts[i].Dist(pts[i+1]))
		}
		out = spline(pts, gaps, t0, t1)
	}
	for i, s := range out {
		// Rounding in the solution must not make a curve of what is straight.
		if q := s.straighten(1e-10 * s.size()); len(q) == 1 {
			out[i] = q[0]
		}
	}
	return out, nil
}

// spline solves for the derivative m at every point so that the second derivative is continuous:
// m[i-1]/h[i-1] + 2 m[i] (1/h[i-1] + 1/h[i]) + m[i+1]/h[i] = 3 (d[i-1]/h[i-1] + d[i]/h[i]) with
// slopes d. A free end has the same second derivative at both ends of its gap.
func spline(pts []Point, h []float64, t0, t1 *Vec) Path {
	n := len(pts)
	slope := func(i int) Vec { return pts[i+1].Sub(pts[i]).Mul(1 / h[i]) }
	diag, upper, lower, rhs := make([]float64, n), make([]float64, n), make([]float64, n), make([]Vec, n)
	for i := 1; i < n-1; i++ {
		lower[i], upper[i] = 1/h[i-1], 1/h[i]
		diag[i] = 2 * (lower[i] + upper[i])
		rhs[i] = slope(i - 1).Mul(3 * lower[i]).Add(slope(i).Mul(3 * upper[i]))
	}
	diag[0], diag[n-1] = 1, 1
	if t0 != nil {
		rhs[0] = t0.Unit()
	} else {
		upper[0], rhs[0] = 1, slope(0).Mul(2)
	}
	if t1 != nil {
		rhs[n-1] = t1.Unit()
	} else {
		lower[n-1], rhs[n-1] = 1, slope(n-2).Mul(2)
	}
	for i := 1; i < n; i++ {
		k := lower[i] / diag[i-1]
		diag[i] -= k * upper[i-1]
		rhs[i] = rhs[i].Sub(rhs[i-1].Mul(k))
	}
	m := make([]Vec, n)
	for i := n - 1; i >= 0; i-- {
		m[i] = rhs[i]
		if i < n-1 {
			m[i] = m[i].Sub(m[i+1].Mul(upper[i]))
		}
		m[i] = m[i].Mul(1 / diag[i])
	}
	out := make(Path, n-1)
	for i := range out {
		out[i] = Cubic(pts[i], pts[i].Add(m[i].Mul(h[i]/3)), pts[i+1].Add(m[i+1].Mul(-h[i]/3)), pts[i+1])
	}
	return out
}

// distinct drops points that repeat the one before, and refuses what is no polyline.
func distinct(pts []Point) ([]Point, error) {
	out := make([]Point, 0, len(pts))
	for _, p := range pts {
		if !p.Finite() {
			return nil, ErrTooFewPoints
		}
		if n := len(out); n == 0 || p.Dist(out[n-1]) > 1e-9 {
			out = append(out, p)
		}
	}
	if len(out) < 2 {
		return nil, ErrTooFewPoints
	}
	return out, nil
}
