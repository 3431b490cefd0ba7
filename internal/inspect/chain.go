package inspect

import (
	"fmt"

	"sizerun/internal/geom"
	"sizerun/internal/pattern"
)

// Chain is one side of a seam: edges walked one after the other, each in its own direction, even
// over the border from one piece to the next. A place on it is the length walked.
type Chain struct {
	Links []Link
	Len   float64
}

// Link is one edge of a Chain.
type Link struct {
	Piece   *pattern.Piece
	Edge    int
	Against bool
	Start   float64 // length walked before it
	Len     float64
}

// Walk lays the edges end to end.
func Walk(p *pattern.Pattern, refs []pattern.EdgeRef) (Chain, error) {
	var c Chain
	for _, r := range refs {
		pc := p.PieceNamed(r.Piece)
		if pc == nil {
			return Chain{}, pattern.Fault{Rule: "unknown_piece", Size: p.Size, Piece: r.Piece,
				Detail: fmt.Sprintf("there is no piece %q", r.Piece), Valid: pattern.Choices(p.PieceNames()),
				Remedy: pattern.Suggest(r.Piece, p.PieceNames())}
		}
		i := pc.EdgeNamed(r.Edge)
		if i < 0 {
			return Chain{}, pattern.Fault{Rule: "unknown_edge", Size: p.Size, Piece: r.Piece, Edge: r.Edge,
				Detail: fmt.Sprintf("piece %q has no edge %q", r.Piece, r.Edge), Valid: pattern.Choices(pc.EdgeNames()),
				Remedy: pattern.Suggest(r.Edge, pc.EdgeNames())}
		}
		l := pc.Edges[i].Path.Length()
		c.Links = append(c.Links, Link{Piece: pc, Edge: i, Against: r.Against, Start: c.Len, Len: l})
		c.Len += l
	}
	if len(c.Links) == 0 {
		return Chain{}, pattern.Fault{Rule: "empty_seam", Size: p.Size, Detail: "a seam has a side without edges",
			Remedy: "name the edges that are sewn"}
	}
	return c, nil
}

// MarkAt is the length walked to a mark, and whether the mark lies on the Chain. A mark at a corner
// counts for both edges that meet there.
func (c Chain) MarkAt(piece, mark string) (float64, bool) {
	for _, l := range c.Links {
		if l.Piece.Name != piece {
			continue
		}
		m := l.Piece.MarkNamed(mark)
		if m == nil {
			continue
		}
		e := &l.Piece.Edges[l.Edge]
		var s float64
		switch {
		case m.Edge == e.Name:
			s = m.S
		case m.At.Dist(e.Path.Start()) <= pattern.Near:
			s = 0
		case m.At.Dist(e.Path.End()) <= pattern.Near:
			s = l.Len
		default:
			continue
		}
		if l.Against {
			s = l.Len - s
		}
		return l.Start + s, true
	}
	return 0, false
}

// corner is the interior angle, in radians, at an end of the Chain, and the edge that runs on there.
func (c Chain) corner(end bool) (float64, string) {
	l := c.Links[0]
	if end {
		l = c.Links[len(c.Links)-1]
	}
	p, n := l.Piece, len(l.Piece.Edges)
	// The corner lies at the edge's own start when it is walked along and left, or walked against
	// and arrived at.
	in, out := l.Edge, (l.Edge+1)%n
	other := out
	if l.Against == end {
		in, out = (l.Edge+n-1)%n, l.Edge
		other = in
	}
	return Interior(p.Edges[in].Path, p.Edges[out].Path), p.Edges[other].Name
}

// Interior is the angle inside a counter-clockwise outline where in ends and out begins, from 0 to 2π;
// π where the outline runs on smoothly.
func Interior(in, out geom.Path) float64 {
	const half = 3.141592653589793
	return half - in.EndTangent().AngleTo(out.StartTangent())
}

// atEnd tells the point of the plane at an end of the Chain, in that end's piece.
func (c Chain) atEnd(end bool) (*pattern.Piece, geom.Point) {
	l := c.Links[0]
	if end {
		l = c.Links[len(c.Links)-1]
	}
	e := l.Piece.Edges[l.Edge].Path
	if l.Against == end {
		return l.Piece, e.Start()
	}
	return l.Piece, e.End()
}
