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

func (p Path) Start() Point      { return p[0].P0 }
func (p Path) End() Point        { return p[len(p)-1].P3 }
func (p Path) StartTangent() Vec { return p[0].Tangent(0) }
func (p Path) EndTangent() Vec   { return p[len(p)-1].Tangent(1) }

// Length is the arc length.
func (p Path) Length() float64 {
	l := 0.0
	for _, s := range p {
		l += s.Length()
	}
	return l
}

// Locate finds Seg index and parameter at arc length s, clamped to the Path's ends.
func (p Path) Locate(s float64) (int, float64) {
	for i, g := range p {
		l := g.Length()
		if s <= l || i == len(p)-1 {
			return i, g.ParamAt(s)
		}
		s -= l
	}
	return 0, 0
}

func (p Path) PointAt(s float64) Point       { i, t := p.Locate(s); return p[i].At(t) }
func (p Path) TangentAt(s float64) Vec       { i, t := p.Locate(s); return p[i].Tangent(t) }
func (p Path) CurvatureAt(s float64) float64 { i, t := p.Locate(s); return p[i].Curvature(t) }

// Split cuts the Path at arc length s. Cutting at an end leaves a nil Path on that side.
func (p Path) Split(s float64) (Path, Path) {
	const end = 1e-9
	l := p.Length()
	if s <= end {
		return nil, p
	}
	if s >= l-end {
		return p, nil
	}
	i, t := p.Locate(s)
	a := append(Path{}, p[:i]...)
	var b Path
	switch {
	case t <= 1e-12:
		b = append(b, p[i:]...)
	case t >= 1-1e-12:
		a = append(a, p[i])
		b = append(b, p[i+1:]...)
	default:
		x, y := p[i].Split(t)
		a = append(a, x)
		b = append(append(b, y), p[i+1:]...)
	}
	return a, b
}

// Sub is the stretch between arc lengths s0 < s1.
func (p Path) Sub(s0, s1 float64) Path {
	a, _ := p.Split(s1)
	_, b := a.Split(s0)
	return b
}

// Join is p followed by q; q must begin where p ends.
func (p Path) Join(q Path) Path { return append(append(Path{}, p...), q...) }

func (p Path) Reverse() Path {
	out := make(Path, len(p))
	for i, s := range p {
		out[len(p)-1-i] = s.Reverse()
	}
	return out
}

func (p Path) Transform(m Affine) Path {
	out := make(Path, len(p))
	for i, s := range p {
		out[i] = s.Transform(m)
	}
	return out
}

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
