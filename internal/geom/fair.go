package geom

import (
	"errors"
	"math"
)

// Through draws a fair curve through the given points. End tangents are optional.
func Through(pts []Point, t0, t1 *Vec) (Path, error) {
	pts = distinct(pts)
	if len(pts) < 2 {
		return nil, errors.New("geom: a curve needs two different points")
	}
	n := len(pts)
	tan := make([]Vec, n)
	for i := range pts {
		switch {
		case i == 0:
			tan[i] = pts[1].Sub(pts[0]).Unit()
		case i == n-1:
			tan[i] = pts[i].Sub(pts[i-1]).Unit()
		default:
			a, b := pts[i].Sub(pts[i-1]), pts[i+1].Sub(pts[i])
			tan[i] = a.Mul(b.Len() / a.Len()).Add(b.Mul(a.Len() / b.Len())).Unit()
		}
	}
	if t0 != nil {
		tan[0] = t0.Unit()
	}
	if t1 != nil {
		tan[n-1] = t1.Unit()
	}
	var out Path
	for i := 1; i < n; i++ {
		a := pts[i-1].Dist(pts[i]) / 3
		out = append(out, Cubic(pts[i-1], pts[i-1].Add(tan[i-1].Mul(a)), pts[i].Add(tan[i].Mul(-a)), pts[i]))
	}
	return out, nil
}

// FairOptions says how a style line is to be drawn. Fullness is the share of the way to where the
// end tangents meet that the handles take, 0.05 … 0.95; 0 looks for the fairest.
type FairOptions struct {
	Fullness        float64
	AllowInflection bool
}

// Fair draws a style line that leaves p0 along t0 and arrives at p1 along t1.
func Fair(p0 Point, t0 Vec, p1 Point, t1 Vec, o FairOptions) (Path, error) {
	a, b, c := t0.Unit(), t1.Unit(), p1.Sub(p0)
	if c.Len() < 1e-9 || a == (Vec{}) || b == (Vec{}) {
		return nil, errors.New("geom: a style line needs two different ends and a direction at each")
	}
	u := c.Unit()
	if u.Dot(a) > 1-1e-14 && u.Dot(b) > 1-1e-14 {
		return Path{Line(p0, p1)}, nil
	}
	det := a.Cross(b)
	x, y := 0.0, 0.0
	if det != 0 {
		x, y = c.Cross(b)/det, a.Cross(c)/det
	}
	if x > 0 && y > 0 {
		f := o.Fullness
		if f == 0 {
			f = 0.6
		}
		f = math.Max(0.05, math.Min(0.95, f))
		return Path{Cubic(p0, p0.Add(a.Mul(f*x)), p1.Add(b.Mul(-f*y)), p1)}, nil
	}
	if !o.AllowInflection {
		return nil, errors.New("geom: these end directions cannot be joined without an inflection")
	}
	h := c.Len() / 3
	return Path{Cubic(p0, p0.Add(a.Mul(h)), p1.Add(b.Mul(-h)), p1)}, nil
}
