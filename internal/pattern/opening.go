package pattern

import "math"

// Opening is a stretch of an edge that is not sewn shut for good: a slit, a zip, a buttoned front. It is told by where
// the edge came from, so that it is found again after later changes.
type Opening struct {
	Src Source // S0 is the end that it opens from
}

// Opened is an opening as it lies on a piece.
type Opened struct {
	Piece   *Piece
	Edge    int
	AtStart bool    // it opens from the start of the edge, else from its end
	Length  float64 // of the open stretch
	Through bool    // all that became of the edge it came from is open
}

// Find gives the stretches of the pattern's edges that lie in the opening; none when all of it was cut away. Only the
// first of them, at its open end, tells where it opens from.
func (o Opening) Find(p *Pattern) []Opened {
	const tol = 1e-4
	lo, hi := math.Min(o.Src.S0, o.Src.S1), math.Max(o.Src.S0, o.Src.S1)
	var out []Opened
	first, all := -1, true
	for i := range p.Pieces {
		pc := &p.Pieces[i]
		for k := range pc.Edges {
			src := pc.Edges[k].Src
			a, b := math.Min(src.S0, src.S1), math.Max(src.S0, src.S1)
			if src.Piece != o.Src.Piece || src.Edge != o.Src.Edge || b-a <= 0 {
				continue
			}
			share := (math.Min(b, hi) - math.Max(a, lo)) / (b - a)
			all = all && share >= 1-tol
			if share <= tol {
				continue
			}
			if o.Src.S0 >= a-tol && o.Src.S0 <= b+tol && first < 0 {
				first = len(out)
			}
			out = append(out, Opened{Piece: pc, Edge: k, AtStart: (src.S1 > src.S0) == (o.Src.S1 > o.Src.S0),
				Length: share * pc.Edges[k].Path.Length()})
		}
	}
	for i := range out {
		out[i].Through = all
	}
	if first > 0 {
		out[0], out[first] = out[first], out[0]
	}
	return out
}
