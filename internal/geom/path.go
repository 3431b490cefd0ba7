package geom

// Path is a chain of Segs, each beginning where the one before it ends. It is never changed in
// place: every method gives a new Path. Places on it are told by arc length s from its start.
type Path []Seg

// Polyline joins the points by straight Segs.
func Polyline(pts ...Point) Path {
	var p Path
	for i := 1; i < len(pts); i++ {
		p = append(p, Line(pts[i-1], pts[i]))
	}
	return p
}

// Start, End and the tangents there; an empty Path gives zero values.
func (p Path) Start() Point {
	if len(p) == 0 {
		return Point{}
	}
	return p[0].P0
}

func (p Path) End() Point {
	if len(p) == 0 {
		return Point{}
	}
	return p[len(p)-1].P3
}

// StartTangent is the direction in which the Path sets out. Segs of no length are passed over.
func (p Path) StartTangent() Vec {
	for _, s := range p {
		if t := s.Tangent(0); t != (Vec{}) {
			return t
		}
	}
	return Vec{}
}

// EndTangent is the direction in which the Path arrives.
func (p Path) EndTangent() Vec {
	for i := len(p) - 1; i >= 0; i-- {
		if t := p[i].Tangent(1); t != (Vec{}) {
			return t
		}
	}
	return Vec{}
}

// Length is the arc length.
func (p Path) Length() float64 {
	l := 0.0
	for _, s := range p {
		l += s.Length()
	}
	return l
}

// starts is the arc length at the start of every Seg, and the whole length after the last.
func (p Path) starts() []float64 {
	out := make([]float64, len(p)+1)
	for i, s := range p {
		out[i+1] = out[i] + s.Length()
	}
	return out
}

// Locate finds Seg index and parameter at arc length s, clamped to the Path's ends. At a knot it
// is the end of the Seg before.
func (p Path) Locate(s float64) (int, float64) {
	for i, g := range p {
		l, t := g.lengthAndParam(s)
		if s <= l {
			return i, t
		}
		s -= l
	}
	return max(0, len(p)-1), 1
}

// PointAt, TangentAt and CurvatureAt tell the place, direction and signed curvature at arc
// length s; beyond the ends they tell those of the end. An empty Path gives zero values.
func (p Path) PointAt(s float64) Point {
	if len(p) == 0 {
		return Point{}
	}
	i, t := p.Locate(s)
	return p[i].At(t)
}

func (p Path) TangentAt(s float64) Vec {
	if len(p) == 0 {
		return Vec{}
	}
	i, t := p.Locate(s)
	return p[i].Tangent(t)
}

func (p Path) CurvatureAt(s float64) float64 {
	if len(p) == 0 {
		return 0
	}
	i, t := p.Locate(s)
	return p[i].Curvature(t)
}

// knotSnap is how near to a knot, in mm, a cut is made at the knot itself, so that no splinter
// is left.
const knotSnap = 1e-9

// Split cuts the Path at arc length s. Cutting at an end leaves a nil Path on that side.
func (p Path) Split(s float64) (Path, Path) {
	if len(p) == 0 || !(s > knotSnap) {
		return nil, p
	}
	for i, g := range p {
		l, t := g.lengthAndParam(s)
		switch {
		case s < l-knotSnap && s > knotSnap && t > 0 && t < 1:
			x, y := g.Split(t)
			a := append(append(make(Path, 0, i+1), p[:i]...), x)
			return a, append(append(make(Path, 0, len(p)-i), y), p[i+1:]...)
		case s <= knotSnap:
			return append(Path{}, p[:i]...), append(Path{}, p[i:]...)
		}
		s -= l
	}
	return p, nil
}

// Sub is the stretch between arc lengths s0 < s1; nil when there is none.
func (p Path) Sub(s0, s1 float64) Path {
	if !(s1 > s0) {
		return nil
	}
	a, _ := p.Split(s1)
	_, b := a.Split(s0)
	return b
}

// Join is p followed by q; q must begin where p ends.
func (p Path) Join(q Path) Path { return append(append(make(Path, 0, len(p)+len(q)), p...), q...) }

// Reverse runs the Path the other way.
func (p Path) Reverse() Path {
	out := make(Path, len(p))
	for i, s := range p {
		out[len(p)-1-i] = s.Reverse()
	}
	return out
}

// Transform maps the Path; lines stay lines.
func (p Path) Transform(m Affine) Path {
	out := make(Path, len(p))
	for i, s := range p {
		out[i] = s.Transform(m)
	}
	return out
}

// Bounds is the exact box of the curve; of an empty Path it is the EmptyRect.
func (p Path) Bounds() Rect {
	r := EmptyRect()
	for _, s := range p {
		r = r.Union(s.Bounds())
	}
	return r
}

// Area is the signed area of the closed Path, positive counter-clockwise; exact.
func (p Path) Area() float64 {
	a := 0.0
	for _, s := range p {
		a += s.Area()
	}
	return a
}
