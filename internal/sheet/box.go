package sheet

import (
	"math"

	"sizerun/internal/geom"
)

// box is a rectangle at any angle: its centre, the direction of its width, and half of each side.
type box struct {
	c      geom.Point
	u      geom.Vec
	hw, hh float64
}

func rectBox(r geom.Rect) box {
	return box{c: r.Center(), u: geom.Vec{X: 1}, hw: r.W() / 2, hh: r.H() / 2}
}

func (b box) grow(d float64) box { b.hw += d; b.hh += d; return b }
func (b box) at(x, y float64) geom.Point { // from the centre, along the width and the height
	return b.c.Add(b.u.Mul(x)).Add(b.u.Left().Mul(y))
}

func (b box) corners() [4]geom.Point {
	return [4]geom.Point{b.at(-b.hw, -b.hh), b.at(b.hw, -b.hh), b.at(b.hw, b.hh), b.at(-b.hw, b.hh)}
}

func (b box) bounds() geom.Rect {
	w := math.Abs(b.u.X)*b.hw + math.Abs(b.u.Y)*b.hh
	h := math.Abs(b.u.Y)*b.hw + math.Abs(b.u.X)*b.hh
	return geom.Rect{Min: geom.Pt(b.c.X-w, b.c.Y-h), Max: geom.Pt(b.c.X+w, b.c.Y+h)}
}

// hitsSegment reports whether the stretch from p to q comes into the box.
func (b box) hitsSegment(p, q geom.Point) bool {
	v := b.u.Left()
	dp, dq := p.Sub(b.c), q.Sub(b.c)
	return clipSegment(dp.Dot(b.u), dp.Dot(v), dq.Dot(b.u), dq.Dot(v), b.hw, b.hh)
}

// hitsLine reports whether the line comes into the box grown by d.
func (b *box) hitsLine(l *line, d float64) bool {
	px, py := l.a.X-b.c.X, l.a.Y-b.c.Y
	qx, qy := l.b.X-b.c.X, l.b.Y-b.c.Y
	u := b.u
	return clipSegment(px*u.X+py*u.Y, py*u.X-px*u.Y, qx*u.X+qy*u.Y, qy*u.X-qx*u.Y, b.hw+d, b.hh+d)
}

// clipSegment reports whether a segment meets the rectangle |x| ≤ hw, |y| ≤ hh: neither a side of the
// rectangle nor the segment itself keeps them apart.
func clipSegment(x0, y0, x1, y1, hw, hh float64) bool {
	if x0 > hw && x1 > hw || x0 < -hw && x1 < -hw || y0 > hh && y1 > hh || y0 < -hh && y1 < -hh {
		return false
	}
	return math.Abs(x0*y1-y0*x1) <= hw*math.Abs(y1-y0)+hh*math.Abs(x1-x0)
}

// segmentMeetsRect is the same for an upright rectangle.
func segmentMeetsRect(p, q geom.Point, r geom.Rect) bool {
	if max(p.X, q.X) < r.Min.X || min(p.X, q.X) > r.Max.X || max(p.Y, q.Y) < r.Min.Y || min(p.Y, q.Y) > r.Max.Y {
		return false
	}
	c := r.Center()
	return clipSegment(p.X-c.X, p.Y-c.Y, q.X-c.X, q.Y-c.Y, r.W()/2, r.H()/2)
}

// hits reports whether two boxes overlap: none of their four sides separates them.
func (b box) hits(o box) bool {
	d := o.c.Sub(b.c)
	for _, ax := range [4]geom.Vec{b.u, b.u.Left(), o.u, o.u.Left()} {
		reach := b.hw*math.Abs(ax.Dot(b.u)) + b.hh*math.Abs(ax.Dot(b.u.Left())) +
			o.hw*math.Abs(ax.Dot(o.u)) + o.hh*math.Abs(ax.Dot(o.u.Left()))
		if math.Abs(d.Dot(ax)) >= reach {
			return false
		}
	}
	return true
}

// inside reports whether the whole box lies in r.
func (b box) inside(r geom.Rect) bool {
	w := b.bounds()
	return w.Min.X >= r.Min.X && w.Min.Y >= r.Min.Y && w.Max.X <= r.Max.X && w.Max.Y <= r.Max.Y
}
