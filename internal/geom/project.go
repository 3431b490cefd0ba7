package geom

import "math"

// Project finds the place of the Path nearest to q: its arc length and its distance. Of places
// equally near, the first along the Path is given. An empty Path is infinitely far from anything.
func (p Path) Project(q Point) (s, dist float64) {
	best, at, par := math.Inf(1), 0, 0.0
	for i, g := range p {
		if g.hull().distance(q) >= best {
			continue
		}
		if t, d := g.nearest(q); d < best {
			best, at, par = d, i, t
		}
	}
	for i, g := range p {
		if i == at {
			return s + g.lengthTo(0, par), best
		}
		s += g.Length()
	}
	return 0, best
}

// distance is how far q lies outside the Rect, 0 inside.
func (r Rect) distance(q Point) float64 {
	x := max(0, max(r.Min.X-q.X, q.X-r.Max.X))
	y := max(0, max(r.Min.Y-q.Y, q.Y-r.Max.Y))
	return math.Hypot(x, y)
}

// hull is the box of the control points, which holds the curve.
func (s Seg) hull() Rect {
	return Rect{
		Point{min(s.P0.X, s.P1.X, s.P2.X, s.P3.X), min(s.P0.Y, s.P1.Y, s.P2.Y, s.P3.Y)},
		Point{max(s.P0.X, s.P1.X, s.P2.X, s.P3.X), max(s.P0.Y, s.P1.Y, s.P2.Y, s.P3.Y)},
	}
}

// nearest is the parameter of the Seg's nearest place to q and its distance. The nearest place
// is an end or a root of (B(t) − q)·B'(t), a polynomial of degree 5: all of them are tried.
func (s Seg) nearest(q Point) (float64, float64) {
	if s.Straight {
		d := s.P3.Sub(s.P0)
		l := d.Dot(d)
		if !(l > 0) {
			return 0, q.Dist(s.P0)
		}
		t := min(1, max(0, q.Sub(s.P0).Dot(d)/l))
		return t, q.Dist(s.At(t))
	}
	p := [4]Vec{s.P0.Sub(q), s.P1.Sub(q), s.P2.Sub(q), s.P3.Sub(q)}
	d := [3]Vec{p[1].Sub(p[0]), p[2].Sub(p[1]), p[3].Sub(p[2])}
	f := bern{deg: 5, c: [6]float64{
		p[0].Dot(d[0]),
		(3*p[1].Dot(d[0]) + 2*p[0].Dot(d[1])) / 5,
		(3*p[2].Dot(d[0]) + 6*p[1].Dot(d[1]) + p[0].Dot(d[2])) / 10,
		(p[3].Dot(d[0]) + 6*p[2].Dot(d[1]) + 3*p[1].Dot(d[2])) / 10,
		(2*p[3].Dot(d[1]) + 3*p[2].Dot(d[2])) / 5,
		p[3].Dot(d[2]),
	}}
	bt, bd := 0.0, p[0].Len()
	var buf [8]float64
	for _, t := range f.roots(buf[:0]) {
		if e := q.Dist(s.At(t)); e < bd {
			bt, bd = t, e
		}
	}
	if e := p[3].Len(); e < bd {
		bt, bd = 1, e
	}
	return bt, bd
}

// Contains reports whether the closed Path winds around q (winding number not zero). Of a point
// on the Path itself either answer is given. A Path that is not closed is closed by a line.
func (p Path) Contains(q Point) bool {
	if len(p) == 0 {
		return false
	}
	w := 0
	for _, s := range p {
		w += s.windsRight(q, 0)
	}
	if e := p.End(); e != p.Start() {
		w += Line(e, p.Start()).windsRight(q, 0)
	}
	return w != 0
}

// windsRight counts how often the Seg crosses the ray from q to the right, upward positive. The
// start counts as on the ray when level with q or below, the end likewise, so that a knot on the
// ray counts once. A piece whose hull lies clear of q needs only its ends.
func (s Seg) windsRight(q Point, depth int) int {
	h := s.hull()
	if h.Max.Y < q.Y || h.Min.Y > q.Y || h.Max.X < q.X {
		return 0
	}
	below, above := s.P0.Y <= q.Y, s.P3.Y <= q.Y
	if h.Min.X > q.X || depth >= 50 {
		switch {
		case below && !above:
			return 1
		case !below && above:
			return -1
		}
		return 0
	}
	if s.Straight {
		side := s.P3.Sub(s.P0).Cross(q.Sub(s.P0))
		switch {
		case below && !above && side > 0:
			return 1
		case !below && above && side < 0:
			return -1
		}
		return 0
	}
	a, b := s.Split(0.5)
	return a.windsRight(q, depth+1) + b.windsRight(q, depth+1)
}
