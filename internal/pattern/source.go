package pattern

import "math"

// Covering finds the edges that came from a stretch of another, end to end, in the order of a walk along
// it (against: from its end). Where several cover a place the one that reaches furthest is taken, and the
// piece stays the same while it can. ok is false when a part of the stretch is nowhere.
func Covering(src Source, pieces []Piece, against bool) (refs []EdgeRef, ok bool) {
	const tol = 1e-4
	lo, hi := math.Min(src.S0, src.S1), math.Max(src.S0, src.S1)
	down := src.S1 < src.S0
	type covering struct {
		ref     EdgeRef
		lo, hi  float64
		flipped bool
	}
	var all []covering
	for i := range pieces {
		for k := range pieces[i].Edges {
			e := &pieces[i].Edges[k]
			if e.Src.Piece != src.Piece || e.Src.Edge != src.Edge {
				continue
			}
			a, b := math.Min(e.Src.S0, e.Src.S1), math.Max(e.Src.S0, e.Src.S1)
			if a < lo-tol || b > hi+tol {
				continue
			}
			all = append(all, covering{EdgeRef{Piece: pieces[i].Name, Edge: e.Name}, a, b, (e.Src.S1 < e.Src.S0) != down})
		}
	}
	var chain []covering
	last := ""
	for at := lo; at < hi-tol; {
		best := -1
		for i, c := range all {
			if math.Abs(c.lo-at) > tol || c.hi <= at+tol {
				continue
			}
			if best < 0 || c.hi > all[best].hi+tol || math.Abs(c.hi-all[best].hi) <= tol && c.ref.Piece == last && all[best].ref.Piece != last {
				best = i
			}
		}
		if best < 0 {
			return nil, false
		}
		chain = append(chain, all[best])
		at, last = all[best].hi, all[best].ref.Piece
	}
	if len(chain) == 0 {
		return nil, false
	}
	refs = make([]EdgeRef, len(chain))
	for i, c := range chain {
		r := c.ref
		r.Against = against != c.flipped
		if against != down {
			refs[len(chain)-1-i] = r
		} else {
			refs[i] = r
		}
	}
	return refs, true
}
