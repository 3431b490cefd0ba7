package change

import (
	"math"

	"sizerun/internal/geom"
	"sizerun/internal/pattern"
)

// The sides of a tube that lean over or go along with the cap or the hem, the hem between them, and what lies inside.

// drawnIn redraws a side, walked down, whose lower end moves over by v: it keeps its length.
func drawnIn(p geom.Path, v, up geom.Vec) geom.Path {
	const (
		hardly = 0.25 // degrees that a corner may turn unseen
		most   = 0.7  // of its length that a side may lean over
	)
	l := p.Length()
	if v.Len() > most*l {
		return nil
	}
	draw := func(m float64) geom.Path {
		d := v.Add(up.Mul(m))
		if isStraight(p) && degrees(p.End().Add(d).Sub(p.Start()), p.StartTangent()) < hardly {
			return geom.Polyline(p.Start(), p.End().Add(d))
		}
		return leanOver(p, d)
	}
	m, ok := root(func(m float64) float64 { return draw(m).Length() - l }, 0, v.Dot(v)/(2*l)+1e-3, 1e-9)
	if !ok {
		return nil
	}
	return draw(m)
}

// leanOver moves the end of a path by d. It leaves its start in the old direction, bends within a hand's
// breadth and leans over evenly from there: what was straight is straight again.
func leanOver(p geom.Path, d geom.Vec) geom.Path {
	const hand = 100.0 // mm
	l := p.Length()
	h := math.Min(hand, l/3)
	k := 1 / (l - h/2)
	share := func(s float64) (float64, float64) {
		if s < h {
			return k * s * s / (2 * h), k * s / h
		}
		return k * (s - h/2), k
	}
	top, low := p.Split(h)
	var out geom.Path
	at := 0.0
	for i, s := range append(append(geom.Path{}, top...), low...) {
		n := s.Length()
		y0, k0 := share(at)
		y1, k1 := share(at + n)
		at += n
		p0, p3 := s.P0.Add(d.Mul(y0)), s.P3.Add(d.Mul(y1))
		if s.Straight && i >= len(top) {
			out = append(out, geom.Line(p0, p3))
			continue
		}
		h0, h1 := s.P1.Sub(s.P0), s.P2.Sub(s.P3)
		out = append(out, geom.Cubic(p0, p0.Add(h0).Add(d.Mul(k0*h0.Len())), p3.Add(h1).Add(d.Mul(-k1*h1.Len())), p3))
	}
	return out
}

// hemBetween redraws the hem between its moved ends: as much narrower as they are, meeting each side at the
// old angle.
func hemBetween(was, is *pattern.Piece, t *tube, in geom.Vec, k float64) geom.Path {
	hem := was.Edges[t.hem].Path
	o := hem.Start()
	// o + (q−o) + (k−1)((q−o)·in) in
	e := geom.Affine{A: 1 + (k-1)*in.X*in.X, B: (k - 1) * in.X * in.Y, C: (k - 1) * in.X * in.Y, D: 1 + (k-1)*in.Y*in.Y}
	z := e.Apply(o)
	e.E, e.F = o.X-z.X, o.Y-z.Y
	q := hem.Transform(e)
	l0, l1 := was.Edges[t.left].Path.EndTangent(), is.Edges[t.left].Path.EndTangent()
	r0, r1 := was.Edges[t.right].Path.StartTangent(), is.Edges[t.right].Path.StartTangent()
	want0 := hem.StartTangent().Rotate(l0.AngleTo(l1))
	want1 := hem.EndTangent().Rotate(r0.AngleTo(r1))
	a, b := is.Edges[t.left].Path.End(), is.Edges[t.right].Path.Start()
	out := reEnd(q, a.Sub(q.Start()), q.StartTangent().AngleTo(want0), b.Sub(q.End()), q.EndTangent().AngleTo(want1))
	return closeTo(out, a, b)
}

// sway tells where the cloth inside a tube goes when its sides are redrawn: with them, the less the further in.
func (t *tube) sway(was *pattern.Piece) func(geom.Point) geom.Point {
	p := t.p
	l, lw := p.Edges[t.left].Path, was.Edges[t.left].Path
	r, rw := p.Edges[t.right].Path.Reverse(), was.Edges[t.right].Path.Reverse()
	deep := func(q, from geom.Point) float64 { return from.Sub(q).Dot(t.up) }
	at := func(is, was geom.Path, q geom.Point) (geom.Point, geom.Vec) {
		h := deep(was.End(), was.Start())
		s := 0.0
		if h > 0 {
			s = math.Max(0, math.Min(1, deep(q, was.Start())/h)) * was.Length()
		}
		x := was.PointAt(s)
		return x, is.PointAt(s).Sub(x)
	}
	in := t.up.Right()
	return func(q geom.Point) geom.Point {
		x, dl := at(l, lw, q)
		y, dr := at(r, rw, q)
		k := 0.5
		if w := y.Sub(x).Dot(in); w > 1 {
			k = math.Max(0, math.Min(1, q.Sub(x).Dot(in)/w))
		}
		return q.Add(dl.Mul(1 - k)).Add(dr.Mul(k))
	}
}

// carryAll moves marks and inner lines inside the piece as told. Marks on the hem keep their share of it, those on
// other edges their distance from where the edge begins.
func (t *tube) carryAll(was *pattern.Piece, move func(geom.Point) geom.Point) {
	p := t.p
	hemWas, hem := was.Edges[t.hem].Path.Length(), p.Edges[t.hem].Path.Length()
	// What is cut into the hem goes with the place where it opens, as stiff as it is drawn.
	slit := func(q geom.Path) (geom.Vec, bool) {
		for _, end := range [2]geom.Point{q.Start(), q.End()} {
			if s, d := was.Edges[t.hem].Path.Project(end); d <= pattern.Near {
				return p.Edges[t.hem].Path.PointAt(s * hem / hemWas).Sub(was.Edges[t.hem].Path.PointAt(s)), true
			}
		}
		return geom.Vec{}, false
	}
	swayed := move
	move = func(q geom.Point) geom.Point {
		for i := range was.Lines {
			if l := was.Lines[i].Path; len(l) > 0 && math.Min(l.Start().Dist(q), l.End().Dist(q)) <= pattern.Near {
				if by, ok := slit(l); ok {
					return q.Add(by)
				}
			}
		}
		return swayed(q)
	}
	for i := range p.Marks {
		m := &p.Marks[i]
		switch e := p.EdgeNamed(m.Edge); {
		case e < 0:
			if d := dartOf(was, m.At); d >= 0 {
				m.At = withDart(was, p, d, m.At)
			} else {
				m.At = move(m.At)
			}
			continue
		case e == t.hem:
			m.S *= hem / hemWas
			m.At = p.Edges[e].Path.PointAt(m.S)
		default:
			m.S = math.Min(m.S, p.Edges[e].Path.Length())
			m.At = p.Edges[e].Path.PointAt(m.S)
		}
	}
	for i := range p.Lines {
		q := append(geom.Path{}, p.Lines[i].Path...)
		if len(q) > 0 {
			if by, ok := slit(q); ok {
				p.Lines[i].Path = q.Transform(geom.Translate(by))
				continue
			}
		}
		for k, s := range q {
			if s.Straight {
				q[k] = geom.Line(move(s.P0), move(s.P3))
			} else {
				q[k] = geom.Cubic(move(s.P0), move(s.P1), move(s.P2), move(s.P3))
			}
		}
		p.Lines[i].Path = q
	}
	fitGrain(p)
}

// dartOf is the dart that a dot belongs to: one at its point, or the bust point or elbow at which it points; -1: none.
func dartOf(p *pattern.Piece, at geom.Point) int {
	const (
		beyond = 80.0 // mm that a dart is set back at most
		aside  = 0.5
	)
	for i := range p.Darts {
		d, err := wedgeAt("", p, i)
		if err != nil || d.mouth() < 1 {
			continue
		}
		v := at.Sub(d.tip)
		if s := v.Dot(d.middle()); s > -aside && s < beyond && math.Abs(v.Dot(d.middle().Left())) < aside {
			return i
		}
	}
	return -1
}

// withDart moves a dot as a dart of the piece was moved.
func withDart(was, is *pattern.Piece, dart int, at geom.Point) geom.Point {
	a, err1 := wedgeAt("", was, dart)
	b, err2 := wedgeAt("", is, dart)
	if err1 != nil || err2 != nil {
		return at
	}
	return b.tip.Add(at.Sub(a.tip).Rotate(a.middle().AngleTo(b.middle())))
}
