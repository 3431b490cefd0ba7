package draft

import (
	"math"

	"sizerun/internal/geom"
	"sizerun/internal/pattern"
)

// outline is a piece being drawn: edges counter-clockwise, centre line on x = 0, side to the right.
type outline struct {
	piece pattern.Piece
	align geom.Point
}

func newOutline(name, title string, cut pattern.Cut) *outline {
	return &outline{piece: pattern.Piece{Name: name, Title: title, Cut: cut, Of: name}}
}

// edge puts down the next edge.
func (o *outline) edge(name, from, to string, p geom.Path) *outline {
	o.piece.Edges = append(o.piece.Edges, pattern.Edge{Name: name, From: from, To: to, Path: p})
	return o
}

func (o *outline) line(name, from, to string, a, b geom.Point) *outline {
	return o.edge(name, from, to, geom.Path{geom.Line(a, b)})
}

// fold marks the last edge as lying on the fold.
func (o *outline) fold() *outline {
	o.piece.Edges[len(o.piece.Edges)-1].Fold = true
	return o
}

func (o *outline) dart(name, first, second, towards string) {
	o.piece.Darts = append(o.piece.Darts, pattern.Dart{Name: name, First: first, Second: second, Towards: towards})
}

// length of an edge put down already.
func (o *outline) length(edge string) float64 {
	return o.piece.Edges[o.piece.EdgeNamed(edge)].Path.Length()
}

// notch marks an edge, so far from its end named from.
func (o *outline) notch(name string, count int, edge, from string, along float64) {
	o.mark(pattern.Notch, name, count, edge, from, along)
}

func (o *outline) dotOn(name, edge, from string, along float64) {
	o.mark(pattern.Dot, name, 0, edge, from, along)
}

func (o *outline) mark(kind pattern.MarkKind, name string, count int, edge, from string, along float64) {
	e := &o.piece.Edges[o.piece.EdgeNamed(edge)]
	s := along
	if from == e.To {
		s = e.Path.Length() - along
	}
	o.piece.Marks = append(o.piece.Marks, pattern.Mark{Kind: kind, Name: name, Count: count, Edge: edge, S: s, At: e.Path.PointAt(s)})
}

// dotIn marks a place inside the piece.
func (o *outline) dotIn(name string, at geom.Point) {
	o.piece.Marks = append(o.piece.Marks, pattern.Mark{Kind: pattern.Dot, Name: name, At: at})
}

// dotAtCorner marks a corner; a corner belongs to the edge that begins there.
func (o *outline) dotAtCorner(name, corner string) {
	for i := range o.piece.Edges {
		if e := &o.piece.Edges[i]; e.From == corner {
			o.piece.Marks = append(o.piece.Marks, pattern.Mark{Kind: pattern.Dot, Name: name, Edge: e.Name, At: e.Path.Start()})
		}
	}
}

// grain lays the arrow upright at x, from y0 to y1.
func (o *outline) grain(x, y0, y1 float64) {
	o.piece.Grain = [2]geom.Point{geom.Pt(x, y0), geom.Pt(x, y1)}
}

// done finishes the piece, mapped by m; a map that mirrors has the edges walked the other way round.
// Arrows of the grain keep pointing up.
func (o *outline) done(m geom.Affine) pattern.Piece {
	p := o.piece
	flip := m.Det() < 0
	edges := make([]pattern.Edge, len(p.Edges))
	for i, e := range p.Edges {
		e.Path = e.Path.Transform(m)
		k := i
		if flip {
			e.Path = e.Path.Reverse()
			e.From, e.To = e.To, e.From
			k = len(edges) - 1 - i
		}
		e.Src = pattern.Source{Piece: p.Name, Edge: e.Name, S1: e.Path.Length()}
		edges[k] = e
	}
	p.Edges = edges
	marks := make([]pattern.Mark, len(p.Marks))
	for i, k := range p.Marks {
		k.At = m.Apply(k.At)
		if flip && k.Edge != "" {
			e := &p.Edges[p.EdgeNamed(k.Edge)]
			k.S = math.Max(0, e.Path.Length()-k.S)
			k.At = e.Path.PointAt(k.S)
		}
		marks[i] = k
	}
	p.Marks = marks
	darts := make([]pattern.Dart, len(p.Darts))
	for i, d := range p.Darts {
		if flip {
			d.First, d.Second = d.Second, d.First
		}
		darts[i] = d
	}
	p.Darts = darts
	lines := make([]pattern.InnerLine, len(p.Lines))
	for i, l := range p.Lines {
		lines[i] = pattern.InnerLine{Name: l.Name, Path: l.Path.Transform(m)}
	}
	p.Lines = lines
	for i := range p.Grain {
		p.Grain[i] = m.Apply(p.Grain[i])
	}
	if p.Grain[0].Y > p.Grain[1].Y {
		p.Grain[0], p.Grain[1] = p.Grain[1], p.Grain[0]
	}
	p.Align = m.Apply(o.align)
	return p
}

// curve leaves p0 along t0 and arrives at p1 along t1, the handles k0 and k1 of the chord long.
func curve(p0 geom.Point, t0 geom.Vec, p1 geom.Point, t1 geom.Vec, k0, k1 float64) geom.Path {
	c := p0.Dist(p1)
	return geom.Path{geom.Cubic(p0, p0.Add(t0.Unit().Mul(k0*c)), p1.Add(t1.Unit().Mul(-k1*c)), p1)}
}

// third is the handle, as a share of the chord, of a flat arc: a cubic with both handles a third of
// the chord differs from an arc of a few degrees by less than a hundredth of a millimetre.
const third = 1.0 / 3

// degrees in radians.
func degrees(d float64) float64 { return d * math.Pi / 180 }

// at is the direction so many degrees counter-clockwise from +x.
func at(deg float64) geom.Vec {
	s, c := math.Sincos(degrees(deg))
	return geom.Vec{X: c, Y: s}
}

// up and out are the directions along the grain and away from the centre line.
func up() geom.Vec  { return geom.Vec{Y: 1} }
func out() geom.Vec { return geom.Vec{X: 1} }
