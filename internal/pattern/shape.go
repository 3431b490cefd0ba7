package pattern

import (
	"fmt"

	"sizerun/internal/geom"
)

// Path is the course of an edge from one point to another.
func (s Shape) Path(from, to geom.Point) (geom.Path, error) {
	switch {
	case len(s.Curve) > 0:
		if len(s.Curve)%3 != 2 {
			return nil, fmt.Errorf("a curve has two handles, or a chain of handle, handle, knot, handle, handle: %d points do not fit", len(s.Curve))
		}
		all := make([]geom.Point, 0, len(s.Curve)+2)
		all = append(append(append(all, from), s.Curve...), to)
		var p geom.Path
		for i := 0; i+3 < len(all); i += 3 {
			p = append(p, geom.Cubic(all[i], all[i+1], all[i+2], all[i+3]))
		}
		return p, nil
	case len(s.Through) > 0:
		return geom.Through(s.between(s.Through, from, to), nil, nil)
	case len(s.Polyline) > 0:
		return geom.Fit(s.between(s.Polyline, from, to), FitTolerance)
	}
	return geom.Path{geom.Line(from, to)}, nil
}

// between puts the ends around inner points; ends that were repeated there count once.
func (s Shape) between(inner []geom.Point, from, to geom.Point) []geom.Point {
	for len(inner) > 0 && inner[0].Dist(from) <= Near {
		inner = inner[1:]
	}
	for len(inner) > 0 && inner[len(inner)-1].Dist(to) <= Near {
		inner = inner[:len(inner)-1]
	}
	out := make([]geom.Point, 0, len(inner)+2)
	return append(append(append(out, from), inner...), to)
}

// Straight reports whether the edge is a straight line.
func (s Shape) Straight() bool { return len(s.Curve)+len(s.Through)+len(s.Polyline) == 0 }

// Points lists the coordinates of a shape whichever way it is written.
func (s Shape) Points() []geom.Point {
	out := make([]geom.Point, 0, len(s.Curve)+len(s.Through)+len(s.Polyline))
	return append(append(append(out, s.Curve...), s.Through...), s.Polyline...)
}

// Drawing is the base size of a piece in the form in which digitised sizes come.
func (p *BlockPiece) Drawing() Drawing {
	d := Drawing{Points: p.Points, Shapes: make(map[string]Shape, len(p.Outline)), Grain: &p.Grain}
	for _, e := range p.Outline {
		if !e.Shape.Straight() {
			d.Shapes[e.Name] = e.Shape
		}
	}
	return d
}

// PointNamed finds a named point.
func (p *BlockPiece) PointNamed(name string) (geom.Point, bool) { return named(p.Points, name) }

// PointNamed finds a named point of the drawing.
func (d *Drawing) PointNamed(name string) (geom.Point, bool) { return named(d.Points, name) }

func named(pts []NamedPoint, name string) (geom.Point, bool) {
	for i := range pts {
		if pts[i].Name == name {
			return pts[i].At, true
		}
	}
	return geom.Point{}, false
}

// EdgeNamed gives the index of an edge of the outline, -1 when there is none.
func (p *BlockPiece) EdgeNamed(name string) int {
	for i := range p.Outline {
		if p.Outline[i].Name == name {
			return i
		}
	}
	return -1
}

// MarkNamed gives the index of a mark, -1 when there is none.
func (p *BlockPiece) MarkNamed(name string) int {
	for i := range p.Marks {
		if p.Marks[i].Name == name {
			return i
		}
	}
	return -1
}

// PieceNamed finds a piece of the block; nil when there is none.
func (b *Block) PieceNamed(name string) *BlockPiece {
	for i := range b.Pieces {
		if b.Pieces[i].Name == name {
			return &b.Pieces[i]
		}
	}
	return nil
}

// Lay draws the outline of p with the points and shapes of d: one Edge per edge of the block, in
// order. Faults name the edge; their pointers begin at the piece.
func (p *BlockPiece) Lay(d Drawing) ([]Edge, Faults) {
	var fs Faults
	edges := make([]Edge, len(p.Outline))
	for i, e := range p.Outline {
		ptr := Pointer("outline", fmt.Sprint(i))
		from, ok1 := d.PointNamed(e.From)
		to, ok2 := d.PointNamed(e.To)
		if !ok1 || !ok2 {
			missing := e.From
			if ok1 {
				missing = e.To
			}
			fs = append(fs, Fault{Rule: "unknown_point", Pointer: ptr, Piece: p.Name, Edge: e.Name,
				Detail: fmt.Sprintf("edge %q needs the point %q, which is not there", e.Name, missing),
				Remedy: "give the point's coordinates"})
			continue
		}
		path, err := d.Shapes[e.Name].Path(from, to)
		if err == nil && len(path) > MaxSegs {
			err = fmt.Errorf("it takes %d curves to draw it within %g mm", len(path), FitTolerance)
		}
		if err != nil {
			fs = append(fs, Fault{Rule: "edge_shape", Pointer: ptr, Piece: p.Name, Edge: e.Name,
				Detail: fmt.Sprintf("edge %q cannot be drawn: %v", e.Name, err),
				Valid:  fmt.Sprintf("a smooth course of at most %d curves", MaxSegs),
				Remedy: "give two different ends, and points in order along the edge"})
			continue
		}
		if l := path.Length(); !(l >= MinEdge) {
			fs = append(fs, Fault{Rule: "edge_length", Pointer: ptr, Piece: p.Name, Edge: e.Name,
				Detail: fmt.Sprintf("edge %q is %.3f mm long", e.Name, l),
				Valid:  fmt.Sprintf("at least %g mm", MinEdge),
				Remedy: "move its ends apart, or drop the edge"})
			continue
		}
		edges[i] = Edge{Name: e.Name, From: e.From, To: e.To, Path: path, Fold: e.Fold,
			Src: Source{Piece: p.Name, Edge: e.Name, S1: path.Length()}}
	}
	if len(fs) > 0 {
		return nil, fs
	}
	return edges, nil
}

// CheckOutline tells what is wrong with a closed outline: it must run counter-clockwise, hold an
// area and not meet itself: the first place where it does is told. Pointers begin at the piece.
func CheckOutline(piece string, edges []Edge) Faults {
	var all geom.Path
	for i := range edges {
		all = append(all, edges[i].Path...)
	}
	for _, s := range all {
		if !s.P0.Finite() || !s.P1.Finite() || !s.P2.Finite() || !s.P3.Finite() {
			return Faults{{Rule: "out_of_range", Pointer: "/outline", Piece: piece,
				Detail: "the outline has a coordinate that is not a number", Valid: CoordRule, Remedy: "check the points and the grading"}}
		}
	}
	if m := meetsItself(edges); m != nil {
		f := Fault{Rule: "self_crossing", Pointer: "/outline", Piece: piece, Edge: edges[m.a].Name,
			Detail: fmt.Sprintf("the outline meets itself at (%.1f, %.1f): edge %q with edge %q", m.at.X, m.at.Y, edges[m.a].Name, edges[m.b].Name),
			Valid:  "an outline that does not cross or touch itself",
			Remedy: "move the points or handles there apart"}
		if m.tangled {
			f.Rule, f.Detail = "tangled", "the outline is too intricate to tell whether it crosses itself"
			f.Valid, f.Remedy = "an outline that a cutter could follow", "draw it with fewer, longer curves"
		}
		return Faults{f}
	}
	switch a := all.Area(); {
	case a > -1 && a < 1:
		return Faults{{Rule: "no_area", Pointer: "/outline", Piece: piece,
			Detail: fmt.Sprintf("the outline encloses %.3f mm²", a), Valid: "more than 1 mm²",
			Remedy: "check the coordinates and the unit of the document"}}
	case a < 0:
		return Faults{{Rule: "clockwise", Pointer: "/outline", Piece: piece,
			Detail: "the outline runs clockwise", Valid: "counter-clockwise, x to the right and y up, as seen from the right side of the cloth",
			Remedy: "list the edges the other way round with from and to exchanged; if the piece was drawn with y down, change the sign of every y"}}
	}
	return nil
}

// CoordRule is the valid range of coordinates, in words.
const CoordRule = "-10000 to 10000 mm"
