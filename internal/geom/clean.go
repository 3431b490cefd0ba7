package geom

import "math"

// Clean makes a Path that came from outside fit to be worked on: Segs no longer than tol are
// dropped (their neighbour takes over the knot), handles shorter than tol snap to their ends,
// cubics whose handles lie within tol of the chord become straight lines (several, where they
// turn back on themselves). Nothing moves by more than tol, and both ends of the Path stay
// exactly where they are. Of a Path with no length nothing is left.
func (p Path) Clean(tol float64) Path {
	tol = max(0, tol)
	var out Path
	for _, s := range p {
		if len(out) > 0 && s.P0 != out[len(out)-1].P3 && s.P0.Dist(out[len(out)-1].P3) <= tol {
			s = s.moveStart(out[len(out)-1].P3)
		}
		s = s.snapHandles(tol)
		if s.size() <= tol {
			continue
		}
		out = append(out, s.straighten(tol)...)
	}
	if n := len(out); n > 0 && out[n-1].P3 != p.End() && out[n-1].P3.Dist(p.End()) <= tol {
		out[n-1] = out[n-1].Reverse().moveStart(p.End()).Reverse()
	}
	return out
}

// moveStart moves the start and its handle.
func (s Seg) moveStart(q Point) Seg {
	if s.Straight {
		return Line(q, s.P3)
	}
	return Cubic(q, s.P1.Add(q.Sub(s.P0)), s.P2, s.P3)
}

func (s Seg) snapHandles(tol float64) Seg {
	if s.Straight {
		return s
	}
	if s.P1.Dist(s.P0) <= tol {
		s.P1 = s.P0
	}
	if s.P2.Dist(s.P3) <= tol {
		s.P2 = s.P3
	}
	return s
}

// straighten gives the lines that a cubic with all its control points within tol of one line
// runs along; any other Seg is given back as it is.
func (s Seg) straighten(tol float64) []Seg {
	if s.Straight {
		return []Seg{s}
	}
	// The line is laid through the start and the control point farthest from it.
	far := s.P3
	for _, q := range [2]Point{s.P1, s.P2} {
		if q.Dist(s.P0) > far.Dist(s.P0) {
			far = q
		}
	}
	u := far.Sub(s.P0).Unit()
	for _, q := range [3]Point{s.P1, s.P2, s.P3} {
		if math.Abs(u.Cross(q.Sub(s.P0))) > tol {
			return []Seg{s}
		}
	}
	// Turning points.
	along := func(q Point) float64 { return u.Dot(q.Sub(s.P0)) }
	var out []Seg
	from := s.P0
	for _, t := range derivRoots(0, along(s.P1), along(s.P2), along(s.P3)) {
		if q := s.At(t); q.Dist(from) > tol {
			out = append(out, Line(from, q))
			from = q
		}
	}
	if from.Dist(s.P3) > tol || len(out) == 0 {
		return append(out, Line(from, s.P3))
	}
	out[len(out)-1] = Line(out[len(out)-1].P0, s.P3)
	return out
}
