package change

import (
	"math"

	"sizerun/internal/geom"
	"sizerun/internal/pattern"
)

// sewn reports whether any seam runs over the edge.
func (w *work) sewn(piece, edge string) bool {
	for i := range w.p.Seams {
		for _, refs := range [2][]pattern.EdgeRef{w.p.Seams[i].Sew, w.p.Seams[i].To} {
			for _, r := range refs {
				if r.Piece == piece && r.Edge == edge {
					return true
				}
			}
		}
	}
	return false
}

// isStraight: one straight line, however many stretches it is told in.
func isStraight(p geom.Path) bool {
	for _, s := range p {
		if !s.Straight || degrees(s.Tangent(0), p.StartTangent()) > 1e-6 {
			return false
		}
	}
	return true
}

// redrawn is how an edge that is cut apart is drawn again.
type redrawn int

const (
	// straightOn: one straight line from end to end.
	straightOn redrawn = iota
	// bentIn: straight but for a bend near the first corner, which it leaves in the old direction, so that
	// whatever runs on smoothly there, over the seam, still does.
	bentIn
	// bridged: the rest is left as it is and a curve drawn over a stretch about the cut; where the path
	// runs across u rather than along it, that would bend both ways, and the whole path is stretched
	// along u instead, which keeps its bends.
	bridged
)

// drawOut redraws a path whose end moves by m along u. at is where it is cut apart. nil: there is too
// little left.
func drawOut(p geom.Path, at, m float64, u geom.Vec, how redrawn) geom.Path {
	const (
		across = 20.0 // degrees from u
		rest   = 5.0  // mm that a bridge needs along u
	)
	l := p.Length()
	if how != bridged {
		end := p.End().Add(u.Mul(m))
		if p.Start().Dist(end) < rest || end.Sub(p.Start()).Dot(u) < rest {
			return nil
		}
		if how == straightOn {
			return geom.Polyline(p.Start(), end)
		}
		return bend(p.Start(), p.StartTangent(), end)
	}
	if degrees(p.TangentAt(at), u) > across {
		h := p.End().Sub(p.Start()).Dot(u)
		if h < rest || h+m < rest {
			return nil
		}
		k := (h + m) / h
		// Stretch along u about the start: q + (k−1)((q−start)·u)u.
		e := geom.Affine{A: 1 + (k-1)*u.X*u.X, B: (k - 1) * u.X * u.Y, C: (k - 1) * u.X * u.Y, D: 1 + (k-1)*u.Y*u.Y}
		s := p.Start()
		o := e.Apply(s)
		e.E, e.F = s.X-o.X, s.Y-o.Y
		return p.Transform(e)
	}
	z := math.Max(40, math.Abs(m))
	gone := math.Max(0, -m)
	s0, s1 := math.Max(0, at-gone/2-z), math.Min(l, at+gone/2+z)
	if s0 < 3 {
		s0 = 0
	}
	if s1 > l-3 {
		s1 = l
	}
	a, b := p.PointAt(s0), p.PointAt(s1).Add(u.Mul(m))
	if b.Sub(a).Dot(u) < rest {
		return nil
	}
	arm := a.Dist(b) / 3
	bridge := geom.Cubic(a, a.Add(p.TangentAt(s0).Mul(arm)), b.Add(p.TangentAt(s1).Mul(-arm)), b)
	up, _ := p.Split(s0)
	_, low := p.Split(s1)
	out := append(geom.Path{}, up...)
	out = append(out, bridge)
	return append(out, low.Transform(geom.Translate(u.Mul(m)))...)
}

// bend leaves a in direction d, bends within a hand's breadth and runs straight on to b. nil when it would
// turn by more than 60 degrees; a straight line when it does not turn.
func bend(a geom.Point, d geom.Vec, b geom.Point) geom.Path {
	const hand = 50.0 // mm before and after the bend
	d = d.Unit()
	c := b.Sub(a)
	t := math.Min(hand, c.Len()/3)
	k := a.Add(d.Mul(t))
	on := b.Sub(k).Unit()
	turn := math.Abs(d.AngleTo(on))
	switch {
	case turn < 1e-9:
		return geom.Polyline(a, b)
	case turn > math.Pi/3:
		return nil
	}
	e := k.Add(on.Mul(t))
	return geom.Path{geom.Cubic(a, a.Lerp(k, 2.0/3), e.Lerp(k, 2.0/3), e), geom.Line(e, b)}
}

// drawOutTo finds the m for which the redrawn path has the length wanted: a sewn edge has to gain
// exactly what its partner gains. By the secant method; the length grows steadily with m.
func drawOutTo(p geom.Path, at, want, m float64, u geom.Vec, how redrawn) (geom.Path, float64) {
	off := func(m float64) (geom.Path, float64) {
		q := drawOut(p, at, m, u, how)
		if q == nil {
			return nil, math.NaN()
		}
		return q, q.Length() - want
	}
	m0 := m
	q, f0 := off(m0)
	if q == nil {
		return nil, 0
	}
	m1 := m0 - f0
	for range 40 {
		q1, f1 := off(m1)
		if q1 == nil {
			return nil, 0
		}
		q = q1
		if math.Abs(f1) < 1e-9 || f1 == f0 {
			break
		}
		m0, m1, f0 = m1, m1-f1*(m1-m0)/(f1-f0), f1
	}
	if math.Abs(q.Length()-want) > 1e-6 {
		return nil, 0
	}
	return q, q.End().Sub(p.End()).Dot(u)
}

// reEnd moves the two ends of a path by d0 and d1 and turns its direction there by a0 and a1. What lies
// between follows smoothly: knots move with their handles, so that their directions stay.
func reEnd(p geom.Path, d0 geom.Vec, a0 float64, d1 geom.Vec, a1 float64) geom.Path {
	const none = 1e-12
	if math.Abs(a0) < none && math.Abs(a1) < none && d0.Sub(d1).Len() < none {
		return p.Transform(geom.Translate(d0))
	}
	l := p.Length()
	move := func(s float64) geom.Vec {
		t := s / l
		return d0.Add(d1.Sub(d0).Mul(t * t * (3 - 2*t)))
	}
	out := make(geom.Path, len(p))
	at := 0.0
	for i, s := range p {
		m0, m1 := move(at), move(at+s.Length())
		at += s.Length()
		h0, h1 := s.P1.Sub(s.P0), s.P2.Sub(s.P3)
		if i == 0 {
			h0 = h0.Rotate(a0)
		}
		if i == len(p)-1 {
			h1 = h1.Rotate(a1)
		}
		p0, p3 := s.P0.Add(m0), s.P3.Add(m1)
		out[i] = geom.Cubic(p0, p0.Add(h0), p3.Add(h1), p3)
		if s.Straight && m0.Sub(m1).Len() < none && h0.Sub(s.P1.Sub(s.P0)).Len() < none && h1.Sub(s.P2.Sub(s.P3)).Len() < none {
			out[i] = geom.Line(p0, p3)
		}
	}
	return out
}
