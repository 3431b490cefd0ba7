package change

import (
	"math"

	"sizerun/internal/geom"
	"sizerun/internal/pattern"
)

// knee leads from one path into the next, rounded within reach of where they meet.
func knee(a, b geom.Path, reach float64) geom.Path {
	la, lb := a.Length(), b.Length()
	r := math.Min(reach, math.Min(la, lb)/3)
	if degrees(a.EndTangent(), b.StartTangent()) < 0.01 || r < 1 {
		return a.Join(b)
	}
	x, y := a.PointAt(la-r), b.PointAt(r)
	arm := r * 2 / 3
	c := geom.Cubic(x, x.Add(a.TangentAt(la-r).Mul(arm)), y.Add(b.TangentAt(r).Mul(-arm)), y)
	return append(append(append(geom.Path{}, a.Sub(0, la-r)...), c), b.Sub(r, lb)...)
}

// knees rounds two paths of the same length within the same reach, and the one that would lose more within less:
// they are sewn together and stay equal.
func knees(a0, b0, a1, b1 geom.Path, reach float64) (a, b geom.Path) {
	a, b = knee(a0, a1, reach), knee(b0, b1, reach)
	less := func(p0, p1 geom.Path, want float64) geom.Path {
		lo, hi := 0.0, math.Min(reach, math.Min(p0.Length(), p1.Length())/3)
		p := p0.Join(p1)
		for range 40 {
			m := (lo + hi) / 2
			p = knee(p0, p1, m)
			if p.Length() > want {
				lo = m
			} else {
				hi = m
			}
		}
		return p
	}
	switch la, lb := a.Length(), b.Length(); {
	case la < lb-1e-6:
		a = less(a0, a1, lb)
	case lb < la-1e-6:
		b = less(b0, b1, la)
	}
	if math.Abs(a.Length()-b.Length()) > 0.02 && reach > 1 {
		// Where a strong curve begins at the point, one of them may even gain; a shorter rounding does less.
		return knees(a0, b0, a1, b1, reach*0.7)
	}
	return a, b
}

// inverse undoes a motion without stretching.
func inverse(m geom.Affine) geom.Affine {
	n := geom.Affine{A: m.A, B: m.C, C: m.B, D: m.D}
	o := n.ApplyVec(geom.Vec{X: m.E, Y: m.F})
	n.E, n.F = -o.X, -o.Y
	return n
}

// trued tells what truing a joint did.
type trued struct {
	bend  float64 // degrees that the line turned there
	reach float64 // mm redrawn on each side; 0: left as it was
	lost  float64 // mm that the line has become shorter
}

// area is how much cloth truing can have added or taken, in cm2.
func (t trued) area() float64 { return t.reach * t.reach * math.Abs(t.bend) * math.Pi / 180 / 200 }

// trueJoint rounds the slight corner in which edge i of a piece runs into the next one. A rounding within
// reach r of a corner that turns by δ shortens the line by r·δ²/6 (a parabola on both tangents), so the
// reach is chosen for the loss allowed: what is sewn to the line must still match. A turn of more than a
// designed corner's is left alone.
func trueJoint(p *pattern.Piece, i int, most, lose float64) trued {
	return trueOver(p, i, (i+1)%len(p.Edges), geom.Identity(), most, lose)
}

// trueMouth rounds the seam line over a dart's mouth as it lies with the dart folded, and draws the legs to
// where it has moved the mouth: they stay equal.
func trueMouth(p *pattern.Piece, d *wedge, most, lose float64) trued {
	n := len(p.Edges)
	i, k := (d.first+n-1)%n, (d.second+1)%n
	turn := d.a.Sub(d.tip).AngleTo(d.b.Sub(d.tip))
	out := trueOver(p, i, k, geom.RotateAbout(d.tip, turn), most, lose)
	if out.reach > 0 {
		d.a, d.b = p.Edges[i].Path.End(), p.Edges[k].Path.Start()
		p.Edges[d.first].Path, p.Edges[d.second].Path = geom.Polyline(d.a, d.tip), geom.Polyline(d.tip, d.b)
		for j := range p.Marks {
			m := &p.Marks[j]
			if e := p.EdgeNamed(m.Edge); e == d.first || e == d.second {
				m.S = math.Min(m.S, p.Edges[e].Path.Length())
				if m.At.Dist(d.tip) <= pattern.Near && e == d.first {
					m.S = p.Edges[e].Path.Length()
				}
				m.At = p.Edges[e].Path.PointAt(m.S)
			}
		}
	}
	return out
}

// trueOver rounds the corner between edge i, laid by a motion, and edge k.
func trueOver(p *pattern.Piece, i, k int, lay geom.Affine, most, lose float64) trued {
	const (
		least  = 0.2  // degrees: smooth already
		corner = 30.0 // degrees: meant
		clear  = 2.0  // mm
	)
	a, b := p.Edges[i].Path.Transform(lay), p.Edges[k].Path
	la, lb := a.Length(), b.Length()
	out := trued{bend: a.EndTangent().AngleTo(b.StartTangent()) * 180 / math.Pi}
	if math.Abs(out.bend) < least || math.Abs(out.bend) > corner {
		return out
	}
	turn := out.bend * math.Pi / 180
	r := math.Min(math.Min(most, 6*lose/(turn*turn)), math.Min(la, lb)/3)
	if r < clear {
		return out
	}
	var c geom.Seg
	for range 5 {
		x, y := a.PointAt(la-r), b.PointAt(r)
		arm := r * 2 / 3
		c = geom.Cubic(x, x.Add(a.TangentAt(la-r).Mul(arm)), y.Add(b.TangentAt(r).Mul(-arm)), y)
		loss := 2*r - c.Length()
		if loss <= lose {
			break
		}
		r *= math.Max(0.3, 0.95*lose/loss) // curved lines lose more than straight ones
	}
	if r < clear {
		return out
	}
	s, t := c.Split(c.ParamAt(c.Length() / 2))
	h := c.Length() / 2
	p.Edges[i].Path = append(append(geom.Path{}, p.Edges[i].Path.Sub(0, la-r)...), s.Transform(inverse(lay)))
	p.Edges[k].Path = append(geom.Path{t}, b.Sub(r, lb)...)
	for j := range p.Marks {
		m := &p.Marks[j]
		switch {
		case m.Edge == p.Edges[i].Name && m.S > la-r:
			m.S = la - r + (m.S-la+r)*h/r
		case m.Edge == p.Edges[k].Name && m.S < r:
			m.S *= h / r
		case m.Edge == p.Edges[k].Name:
			m.S += h - r
		default:
			continue
		}
		m.At = p.Edges[p.EdgeNamed(m.Edge)].Path.PointAt(m.S)
	}
	out.reach, out.lost = r, 2*(r-h)
	return out
}
