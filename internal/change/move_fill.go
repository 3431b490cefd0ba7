package change

import (
	"math"

	"sizerun/internal/geom"
	"sizerun/internal/inspect"
	"sizerun/internal/pattern"
)

// Filling a dart: its legs are no longer sewn, the cloth between them stays, and the seam line runs over
// the old mouth smoothly. What then becomes of the width (gathers, tucks, flare) is another's business.

// fillMouth replaces the legs of a dart by one edge over its mouth and gives that edge's index. Marks on
// the legs now lie inside the piece, as dots.
func fillMouth(pc *pattern.Piece, d wedge, name string) (pattern.Piece, int) {
	q := pc.Clone()
	n := len(pc.Edges)
	in, out := pc.Edges[(d.first+n-1)%n].Path.EndTangent(), pc.Edges[(d.second+1)%n].Path.StartTangent()
	e := pattern.Edge{Name: free(name, func(s string) bool { return pc.EdgeNamed(s) >= 0 }), From: pc.Edges[d.first].From, To: pc.Edges[d.second].To, Path: overMouth(d.a, in, d.b, out)}
	e.Src = pattern.Source{Piece: pc.Name, Edge: e.Name, S1: e.Path.Length()}
	q.Edges = nil
	at := 0
	for i := range pc.Edges {
		switch i {
		case d.first:
			at = len(q.Edges)
			q.Edges = append(q.Edges, e)
		case d.second:
		default:
			q.Edges = append(q.Edges, pc.Edges[i])
		}
	}
	q.Darts = append(append([]pattern.Dart{}, pc.Darts[:d.dart]...), pc.Darts[d.dart+1:]...)
	for i := range q.Marks {
		m := &q.Marks[i]
		old := pc.EdgeNamed(m.Edge)
		switch {
		case old < 0 || !d.leg(old):
		case m.At.Dist(d.a) <= pattern.Near:
			m.Edge, m.S, m.At = e.Name, 0, e.Path.Start()
		case m.At.Dist(d.b) <= pattern.Near:
			m.Edge, m.S, m.At = e.Name, e.Path.Length(), e.Path.End()
		default:
			m.Edge, m.S, m.Kind, m.Count = "", 0, pattern.Dot, 0
		}
	}
	return q, at
}

// overMouth leads smoothly from one side of a mouth to the other; straight where both sides lie on a line.
func overMouth(a geom.Point, in geom.Vec, b geom.Point, out geom.Vec) geom.Path {
	chord := b.Sub(a)
	if degrees(in, chord) < 0.01 && degrees(out, chord) < 0.01 {
		return geom.Polyline(a, b)
	}
	for _, bends := range [2]bool{false, true} {
		if p, err := geom.Fair(a, in, b, out, geom.FairOptions{AllowInflection: bends}); err == nil && p.Length() < 1.5*chord.Len() {
			return p
		}
	}
	return geom.Polyline(a, b)
}

// joinEdges makes one edge of the count edges from i on; all but the first lose their names. Its source
// reaches from the first one's start to the last one's end.
func joinEdges(pc *pattern.Piece, i, count int) pattern.Piece {
	q := pc.Clone()
	n := len(pc.Edges)
	e := pc.Edges[i]
	e.Path = nil
	gone := map[int]bool{}
	for k := range count {
		j := (i + k) % n
		f := &pc.Edges[j]
		at := e.Path.Length()
		for x := range q.Marks {
			if q.Marks[x].Edge == f.Name {
				q.Marks[x].Edge, q.Marks[x].S = e.Name, q.Marks[x].S+at
			}
		}
		e.Path = append(append(geom.Path{}, e.Path...), f.Path...)
		e.To, e.Src.S1 = f.To, f.Src.S1
		gone[j] = true
	}
	q.Edges = nil
	for j := range pc.Edges {
		switch {
		case j == i:
			q.Edges = append(q.Edges, e)
		case !gone[j]:
			q.Edges = append(q.Edges, pc.Edges[j])
		}
	}
	return q
}

// between puts an edge into every seam that runs from one neighbour of it to the other, and reports the
// seams. A seam that ends at one of them has no room for it: then ok is false.
func (w *work) between(piece, prev, edge, next string) (seams []int, ok bool) {
	ok = true
	put := func(refs []pattern.EdgeRef) ([]pattern.EdgeRef, bool) {
		find := func(e string) int {
			for i, r := range refs {
				if r.Piece == piece && r.Edge == e {
					return i
				}
			}
			return -1
		}
		i, k := find(prev), find(next)
		switch {
		case i < 0 && k < 0:
			return refs, false
		case i < 0 || k < 0 || math.Abs(float64(i-k)) != 1 || refs[i].Against != refs[k].Against:
			ok = false
			return refs, false
		}
		at := max(i, k)
		out := append([]pattern.EdgeRef{}, refs[:at]...)
		out = append(out, pattern.EdgeRef{Piece: piece, Edge: edge, Against: refs[i].Against})
		return append(out, refs[at:]...), true
	}
	for i := range w.p.Seams {
		s := &w.p.Seams[i]
		sew, a := put(s.Sew)
		to, b := put(s.To)
		if a || b {
			s.Sew, s.To = sew, to
			seams = append(seams, i)
		}
		if b && !a {
			turnSeam(s) // the longer side is the one that is sewn onto the other
		}
	}
	return seams, ok
}

// turnSeam tells a seam from its other side.
func turnSeam(s *pattern.Seam) {
	s.Sew, s.To = s.To, s.Sew
	s.Ease, s.Drawn = pattern.Range{Min: -s.Ease.Max, Max: -s.Ease.Min}, -s.Drawn
	for i := range s.Notches {
		s.Notches[i][0], s.Notches[i][1] = s.Notches[i][1], s.Notches[i][0]
	}
}

// onChain finds the edge at a length walked along a chain, and the arc length on that edge.
func onChain(c inspect.Chain, x float64) (*pattern.Piece, int, float64) {
	for i, l := range c.Links {
		if x > l.Start+l.Len && i < len(c.Links)-1 {
			continue
		}
		s := math.Max(0, math.Min(l.Len, x-l.Start))
		if l.Against {
			s = l.Len - s
		}
		return l.Piece, l.Edge, s
	}
	return nil, -1, 0
}
