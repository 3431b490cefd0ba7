package geom

import "math"

// Project finds the place of the Path nearest to q: its arc length and its distance. Of places
// equally near, the first along the Path is given.
func (p Path) Project(q Point) (s, dist float64) {
	best, at := math.Inf(1), 0.0
	start := 0.0
	for _, g := range p {
		t, d := g.nearest(q, best)
		if d < best {
			best = d
			at = start + g.lengthTo(0, t)
		}
		start += g.Length()
	}
	return at, best
}

// nearest is the parameter of the Seg's nearest place to q and its distance.
func (s Seg) nearest(q Point, _ float64) (float64, float64) {
	if s.Straight {
		d := s.P3.Sub(s.P0)
		l := d.Dot(d)
		if l == 0 {
			return 0, q.Dist(s.P0)
		}
		t := math.Min(1, math.Max(0, q.Sub(s.P0).Dot(d)/l))
		return t, q.Dist(s.At(t))
	}
	const n = 64
	bt, bd := 0.0, math.Inf(1)
	for i := 0; i <= n; i++ {
		t := float64(i) / n
		if d := q.Dist(s.At(t)); d < bd {
			bt, bd = t, d
		}
	}
	lo, hi := math.Max(0, bt-1.0/n), math.Min(1, bt+1.0/n)
	for range 60 {
		a, b := lo+(hi-lo)/3, hi-(hi-lo)/3
		if q.Dist(s.At(a)) < q.Dist(s.At(b)) {
			hi = b
		} else {
			lo = a
		}
	}
	t := (lo + hi) / 2
	if d := q.Dist(s.At(t)); d < bd {
		return t, d
	}
	return bt, bd
}
