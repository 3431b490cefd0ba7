package geom

import "math"

// Clean drops Segs of no length, makes cubics that are straight into lines, and snaps handles
// shorter than tol to their ends.
func (p Path) Clean(tol float64) Path {
	var out Path
	for _, s := range p {
		if !s.Straight {
			if s.P1.Dist(s.P0) <= tol {
				s.P1 = s.P0
			}
			if s.P2.Dist(s.P3) <= tol {
				s.P2 = s.P3
			}
			d := s.P3.Sub(s.P0)
			u := d.Unit()
			a, b := s.P1.Sub(s.P0), s.P2.Sub(s.P0)
			if math.Abs(u.Cross(a)) <= tol && math.Abs(u.Cross(b)) <= tol && u.Dot(a) >= 0 && u.Dot(b) >= u.Dot(a) && u.Dot(b) <= d.Len() {
				s = Line(s.P0, s.P3)
			}
		}
		if s.P0.Dist(s.P3) <= tol && s.Length() <= tol {
			continue
		}
		out = append(out, s)
	}
	return out
}

// MinRadius is the smallest radius of curvature along the Path, +Inf where it is straight.
func (p Path) MinRadius() float64 {
	k := 0.0
	for _, s := range p {
		if s.Straight {
			continue
		}
		for i := 0; i <= 256; i++ {
			k = math.Max(k, math.Abs(s.Curvature(float64(i)/256)))
		}
	}
	if k < 1e-12 {
		return math.Inf(1)
	}
	return 1 / k
}
