package pattern

import (
	"math"

	"sizerun/internal/geom"
)

// Alike reports whether a piece is its own mirror image, marks and all: then a mirrored pair is two pieces that are
// cut alike, and nothing is turned over. It is mirrored about a line along its grain, across it, or, as a strip on the
// true bias is, at 45 degrees, for there warp and weft change places only.
func (p *Piece) Alike() bool {
	out := p.Outline()
	u := p.Grain[1].Sub(p.Grain[0]).Unit()
	if len(out) == 0 || u == (geom.Vec{}) {
		return false
	}
	pts := out.Flatten(0.05)
	c := centroid(pts)
	for k := range 4 {
		if p.mirrors(out, pts, geom.MirrorAbout(c, u.Rotate(float64(k)*math.Pi/4))) {
			return true
		}
	}
	return false
}

// centroid is the centre of area of a closed polygon.
func centroid(pts []geom.Point) geom.Point {
	var a, x, y float64
	for i := range pts {
		p, q := pts[i], pts[(i+1)%len(pts)]
		k := p.X*q.Y - q.X*p.Y
		a, x, y = a+k, x+(p.X+q.X)*k, y+(p.Y+q.Y)*k
	}
	if a == 0 {
		return geom.Point{}
	}
	return geom.Pt(x/(3*a), y/(3*a))
}

func (p *Piece) mirrors(out geom.Path, pts []geom.Point, m geom.Affine) bool {
	const near = 0.2 // mm: nothing that scissors could tell
	edge := out.Index()
	for _, q := range pts {
		if edge.Distance(m.Apply(q), 2*near) > near {
			return false
		}
	}
	for i := range p.Edges {
		e := &p.Edges[i]
		at := m.Apply(e.Path.PointAt(e.Path.Length() / 2))
		k, _, _, d := p.Nearest(at)
		if d > near || !sameAllowance(e.Own, p.Edges[k].Own) {
			return false
		}
	}
	for i := range p.Marks {
		a, found := &p.Marks[i], false
		for k := range p.Marks {
			b := &p.Marks[k]
			found = found || a.Kind == b.Kind && a.Count == b.Count && m.Apply(a.At).Dist(b.At) <= near
		}
		if !found {
			return false
		}
	}
	for i := range p.Lines {
		found := false
		for k := range p.Lines {
			same := true
			for _, q := range p.Lines[i].Path.Flatten(near) {
				_, d := p.Lines[k].Path.Project(m.Apply(q))
				same = same && d <= near
			}
			found = found || same
		}
		if !found {
			return false
		}
	}
	return true
}

func sameAllowance(a, b *Allowance) bool {
	if a == nil || b == nil {
		return a == b
	}
	return a.Width == b.Width && a.Turned == b.Turned
}
