package change

import (
	"fmt"
	"math"

	"sizerun/internal/geom"
	"sizerun/internal/pattern"
)

// The centre of a piece: the edge that lies on the fold, or that is named. Lines meet it square, and fullness
// is added there.

// centreOf finds it; -1 when none is named and none lies on the fold.
func (w *work) centreOf(ptr string, p *pattern.Piece, name string) (int, error) {
	if name != "" {
		return w.edge(ptr, p, name)
	}
	for i := range p.Edges {
		if p.Edges[i].Fold {
			return i, nil
		}
	}
	return -1, nil
}

// onEdge: a place lies on an edge or at one of its ends.
func onEdge(p *pattern.Piece, s spot, edge int) bool {
	return edge >= 0 && (s.edge == edge || s.s <= tiny && (edge+1)%len(p.Edges) == s.edge)
}

// fromCentre is the direction square to the centre there, into the piece.
func fromCentre(p *pattern.Piece, s spot, centre int) geom.Vec {
	c := p.Edges[centre].Path
	if s.edge != centre {
		return c.EndTangent().Left()
	}
	return c.TangentAt(s.s).Left()
}

// widen lays the centre of a piece further out by as much, in parallel; the edges beside it are run straight on.
// They have to meet it square, or the piece would have a point or a hollow there when it is unfolded.
func widen(p *pattern.Piece, centre int, by float64, ptr string) error {
	const square = 3.0 // degrees
	n := len(p.Edges)
	c, in, out := &p.Edges[centre], &p.Edges[(centre+n-1)%n], &p.Edges[(centre+1)%n]
	u := c.Path.StartTangent().Right()
	if !isStraight(c.Path) {
		return pattern.Fault{Rule: "centre_curved", Pointer: ptr, Piece: p.Name, Edge: c.Name, Detail: fmt.Sprintf("the centre %s is not straight, so that nothing can be added along it", c.Name), Valid: "a straight centre", Remedy: "leave the fullness out, or add it at a straight edge"}
	}
	for _, e := range [2]struct {
		name string
		off  float64
	}{{in.Name, degrees(in.Path.EndTangent(), u)}, {out.Name, degrees(out.Path.StartTangent(), u.Neg())}} {
		if e.off > square {
			return pattern.Fault{Rule: "not_square", Pointer: ptr, Piece: p.Name, Edge: e.name, Detail: fmt.Sprintf("%s is %.1f degrees off square where it meets the centre", e.name, e.off), Valid: fmt.Sprintf("within %g degrees of square", square), Remedy: "draw it square to the centre first"}
		}
	}
	move := geom.Translate(u.Mul(by))
	c.Path = c.Path.Transform(move)
	in.Path = append(append(geom.Path{}, in.Path...), geom.Line(in.Path.End(), c.Path.Start()))
	out.Path = append(geom.Path{geom.Line(c.Path.End(), out.Path.Start())}, out.Path...)
	for i := range p.Marks {
		m := &p.Marks[i]
		switch m.Edge {
		case c.Name:
			m.At = move.Apply(m.At)
		case out.Name:
			if m.S > tiny {
				m.S += by
			} else {
				m.At = out.Path.Start()
			}
		}
	}
	if _, d := c.Path.Transform(geom.Translate(u.Mul(-by))).Project(p.Align); d <= pattern.Near {
		p.Align = move.Apply(p.Align)
	}
	return nil
}

// squareOff is by how many degrees edge i of a piece is off square where it meets edge k, which is before or after it.
func squareOff(p *pattern.Piece, i, k int) float64 {
	n := len(p.Edges)
	a, b := p.Edges[i].Path, p.Edges[k].Path
	if (i+1)%n == k {
		return math.Abs(degrees(a.EndTangent(), b.StartTangent()) - 90)
	}
	return math.Abs(degrees(b.EndTangent(), a.StartTangent()) - 90)
}
