package geom

// Seg is one stretch of a Path: a straight line or a cubic Bézier curve. A line keeps its
// handles at the thirds, so that every formula for cubics holds for it too, and is marked
// Straight so that it stays exactly straight under every operation.
type Seg struct {
	P0, P1, P2, P3 Point
	Straight       bool
}

// Line is the straight Seg from a to b.
func Line(a, b Point) Seg { return Seg{a, a.Lerp(b, 1.0/3), a.Lerp(b, 2.0/3), b, true} }

// Cubic is the curved Seg with the given ends and handles.
func Cubic(p0, p1, p2, p3 Point) Seg { return Seg{P0: p0, P1: p1, P2: p2, P3: p3} }

// At evaluates the Seg at parameter t in [0, 1].
func (s Seg) At(t float64) Point {
	if s.Straight {
		return s.P0.Lerp(s.P3, t)
	}
	u := 1 - t
	a, b, c, d := u*u*u, 3*u*u*t, 3*u*t*t, t*t*t
	return Point{a*s.P0.X + b*s.P1.X + c*s.P2.X + d*s.P3.X, a*s.P0.Y + b*s.P1.Y + c*s.P2.Y + d*s.P3.Y}
}

// Deriv is the first derivative with respect to t.
func (s Seg) Deriv(t float64) Vec {
	if s.Straight {
		return s.P3.Sub(s.P0)
	}
	u := 1 - t
	a, b, c := s.P1.Sub(s.P0), s.P2.Sub(s.P1), s.P3.Sub(s.P2)
	return a.Mul(3 * u * u).Add(b.Mul(6 * u * t)).Add(c.Mul(3 * t * t))
}

// Deriv2 is the second derivative with respect to t.
func (s Seg) Deriv2(t float64) Vec {
	if s.Straight {
		return Vec{}
	}
	a, b, c := s.P1.Sub(s.P0), s.P2.Sub(s.P1), s.P3.Sub(s.P2)
	return b.Sub(a).Mul(6 * (1 - t)).Add(c.Sub(b).Mul(6 * t))
}

// Split cuts the Seg at t.
func (s Seg) Split(t float64) (Seg, Seg) {
	if s.Straight {
		m := s.At(t)
		return Line(s.P0, m), Line(m, s.P3)
	}
	a, b, c := s.P0.Lerp(s.P1, t), s.P1.Lerp(s.P2, t), s.P2.Lerp(s.P3, t)
	d, e := a.Lerp(b, t), b.Lerp(c, t)
	m := d.Lerp(e, t)
	return Cubic(s.P0, a, d, m), Cubic(m, e, c, s.P3)
}

// Sub is the stretch between parameters t0 <= t1; both are clamped to [0, 1].
func (s Seg) Sub(t0, t1 float64) Seg {
	t0, t1 = max(0, t0), min(1, t1)
	switch {
	case t0 <= 0 && t1 >= 1:
		return s
	case s.Straight:
		return Line(s.At(t0), s.At(t1))
	case t1 >= 1:
		_, s = s.Split(t0)
		return s
	case t0 <= 0:
		s, _ = s.Split(t1)
		return s
	}
	// The ends are points of the curve and the handles its derivatives there: nothing is divided
	// by 1 − t0, which may be next to nothing.
	h := (t1 - t0) / 3
	a, b := s.At(t0), s.At(t1)
	return Cubic(a, a.Add(s.Deriv(t0).Mul(h)), b.Add(s.Deriv(t1).Mul(-h)), b)
}

// Reverse runs the Seg the other way.
func (s Seg) Reverse() Seg { return Seg{s.P3, s.P2, s.P1, s.P0, s.Straight} }

// Transform maps the Seg; affine maps are exact on control points.
func (s Seg) Transform(m Affine) Seg {
	return Seg{m.Apply(s.P0), m.Apply(s.P1), m.Apply(s.P2), m.Apply(s.P3), s.Straight}
}

// Area is the Seg's share of the signed area of a closed outline, ½∮(x dy − y dx): exact.
func (s Seg) Area() float64 {
	p0, p1, p2, p3 := s.P0, s.P1, s.P2, s.P3
	if s.Straight {
		return (p0.X*p3.Y - p3.X*p0.Y) / 2
	}
	return (p0.X*(6*p1.Y+3*p2.Y+p3.Y) + 3*(p1.X*(-2*p0.Y+p2.Y+p3.Y)-p2.X*(p0.Y+p1.Y-2*p3.Y)) - p3.X*(p0.Y+3*p1.Y+6*p2.Y)) / 20
}

// Bounds is the exact box of the curve, not of its handles.
func (s Seg) Bounds() Rect {
	r := EmptyRect().Add(s.P0).Add(s.P3)
	if s.Straight {
		return r
	}
	for _, t := range derivRoots(s.P0.X, s.P1.X, s.P2.X, s.P3.X) {
		r = r.Add(s.At(t))
	}
	for _, t := range derivRoots(s.P0.Y, s.P1.Y, s.P2.Y, s.P3.Y) {
		r = r.Add(s.At(t))
	}
	return r
}

// derivRoots lists where the derivative of a cubic in one coordinate vanishes inside (0, 1).
func derivRoots(a, b, c, d float64) []float64 {
	return UnitRoots(3*(-a+3*b-3*c+d), 6*(a-2*b+c), 3*(b-a))
}
