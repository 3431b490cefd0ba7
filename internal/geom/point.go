package geom

import "math"

// Point is a place on the plane in millimetres, y up.
type Point struct{ X, Y float64 }

// Vec is a displacement: what lies between two points.
type Vec struct{ X, Y float64 }

// Pt is shorthand for a Point.
func Pt(x, y float64) Point { return Point{x, y} }

// Sub gives the vector from q to p.
func (p Point) Sub(q Point) Vec { return Vec{p.X - q.X, p.Y - q.Y} }

// Add moves p by v.
func (p Point) Add(v Vec) Point { return Point{p.X + v.X, p.Y + v.Y} }

// Dist is the straight distance between p and q.
func (p Point) Dist(q Point) float64 { return Vec{p.X - q.X, p.Y - q.Y}.Len() }

// Lerp is the point at share t of the straight way from p to q.
func (p Point) Lerp(q Point, t float64) Point {
	return Point{p.X + (q.X-p.X)*t, p.Y + (q.Y-p.Y)*t}
}

// Finite reports whether both coordinates are ordinary numbers.
func (p Point) Finite() bool {
	return !math.IsNaN(p.X) && !math.IsInf(p.X, 0) && !math.IsNaN(p.Y) && !math.IsInf(p.Y, 0)
}

// Add, Sub, Mul, Neg, Dot and Cross are plain vector algebra.
func (v Vec) Add(w Vec) Vec       { return Vec{v.X + w.X, v.Y + w.Y} }
func (v Vec) Sub(w Vec) Vec       { return Vec{v.X - w.X, v.Y - w.Y} }
func (v Vec) Mul(k float64) Vec   { return Vec{v.X * k, v.Y * k} }
func (v Vec) Neg() Vec            { return Vec{-v.X, -v.Y} }
func (v Vec) Dot(w Vec) float64   { return v.X*w.X + v.Y*w.Y }
func (v Vec) Cross(w Vec) float64 { return v.X*w.Y - v.Y*w.X }

// Len is the length of v. Squares are several times faster than math.Hypot, and safe for all
// lengths that are neither astronomical nor next to nothing.
func (v Vec) Len() float64 {
	const least, most = 1e-280, 1e280
	if q := v.X*v.X + v.Y*v.Y; q > least && q < most {
		return math.Sqrt(q)
	}
	return math.Hypot(v.X, v.Y)
}

// Unit is v at length one; the zero vector stays zero.
func (v Vec) Unit() Vec {
	l := v.Len()
	if l == 0 {
		return Vec{}
	}
	return Vec{v.X / l, v.Y / l}
}

// Left is v turned by a quarter turn counter-clockwise, Right clockwise. On a
// counter-clockwise outline Right points outward.
func (v Vec) Left() Vec  { return Vec{-v.Y, v.X} }
func (v Vec) Right() Vec { return Vec{v.Y, -v.X} }

// Angle is the direction of v in radians, counter-clockwise from +x, in (-π, π].
func (v Vec) Angle() float64 { return math.Atan2(v.Y, v.X) }

// AngleTo is the signed turn from v to w in (-π, π], counter-clockwise positive.
func (v Vec) AngleTo(w Vec) float64 { return math.Atan2(v.Cross(w), v.Dot(w)) }

// Rotate turns v by a radians counter-clockwise.
func (v Vec) Rotate(a float64) Vec {
	s, c := math.Sincos(a)
	return Vec{v.X*c - v.Y*s, v.X*s + v.Y*c}
}

// Affine maps (x, y) to (A x + C y + E, B x + D y + F).
type Affine struct{ A, B, C, D, E, F float64 }

// Identity, Translate, Scale, RotateAbout and MirrorAbout build the usual maps.
func Identity() Affine               { return Affine{A: 1, D: 1} }
func Translate(v Vec) Affine         { return Affine{A: 1, D: 1, E: v.X, F: v.Y} }
func Scale(sx, sy float64) Affine    { return Affine{A: sx, D: sy} }
func (m Affine) Apply(p Point) Point { return Point{m.A*p.X + m.C*p.Y + m.E, m.B*p.X + m.D*p.Y + m.F} }
func (m Affine) ApplyVec(v Vec) Vec  { return Vec{m.A*v.X + m.C*v.Y, m.B*v.X + m.D*v.Y} }
func (m Affine) Det() float64        { return m.A*m.D - m.B*m.C }
func RotateAbout(c Point, a float64) Affine {
	s, k := math.Sincos(a)
	return Affine{A: k, B: s, C: -s, D: k, E: c.X - k*c.X + s*c.Y, F: c.Y - s*c.X - k*c.Y}
}

// MirrorAbout reflects in the line through p with direction d.
func MirrorAbout(p Point, d Vec) Affine {
	u := d.Unit()
	a, b := u.X*u.X-u.Y*u.Y, 2*u.X*u.Y
	return Affine{A: a, B: b, C: b, D: -a, E: p.X - a*p.X - b*p.Y, F: p.Y - b*p.X + a*p.Y}
}

// Then is the map that does m first and n after it.
func (m Affine) Then(n Affine) Affine {
	return Affine{
		A: n.A*m.A + n.C*m.B, B: n.B*m.A + n.D*m.B,
		C: n.A*m.C + n.C*m.D, D: n.B*m.C + n.D*m.D,
		E: n.A*m.E + n.C*m.F + n.E, F: n.B*m.E + n.D*m.F + n.F,
	}
}

// Rect is an axis-parallel box; the zero Rect is not empty, EmptyRect is.
type Rect struct{ Min, Max Point }

// EmptyRect contains nothing and is neutral to Union.
func EmptyRect() Rect {
	i := math.Inf(1)
	return Rect{Point{i, i}, Point{-i, -i}}
}
func (r Rect) Empty() bool   { return r.Max.X < r.Min.X || r.Max.Y < r.Min.Y }
func (r Rect) W() float64    { return r.Max.X - r.Min.X }
func (r Rect) H() float64    { return r.Max.Y - r.Min.Y }
func (r Rect) Center() Point { return r.Min.Lerp(r.Max, 0.5) }
func (r Rect) Add(p Point) Rect {
	return Rect{Point{min(r.Min.X, p.X), min(r.Min.Y, p.Y)}, Point{max(r.Max.X, p.X), max(r.Max.Y, p.Y)}}
}
func (r Rect) Union(o Rect) Rect { return Rect{r.Add(o.Min).Min, r.Add(o.Max).Max} }
func (r Rect) Inset(d float64) Rect {
	return Rect{Point{r.Min.X + d, r.Min.Y + d}, Point{r.Max.X - d, r.Max.Y - d}}
}
func (r Rect) Contains(p Point) bool {
	return p.X >= r.Min.X && p.X <= r.Max.X && p.Y >= r.Min.Y && p.Y <= r.Max.Y
}
func (r Rect) Overlaps(o Rect) bool {
	return r.Min.X <= o.Max.X && o.Min.X <= r.Max.X && r.Min.Y <= o.Max.Y && o.Min.Y <= r.Max.Y
}
