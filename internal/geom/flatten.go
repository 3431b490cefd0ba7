package geom

import "math"

// Flatten gives points on the Path, both ends among them, whose chords stay within tol of it.
func (p Path) Flatten(tol float64) []Point {
	if len(p) == 0 {
		return nil
	}
	out := []Point{p[0].P0}
	for _, s := range p {
		n := s.flattenCount(tol)
		for i := 1; i < n; i++ {
			out = append(out, s.At(float64(i)/float64(n)))
		}
		out = append(out, s.P3)
	}
	return out
}

// flattenCount bounds the chord error by the second difference: h²/8 · max|B''|.
func (s Seg) flattenCount(tol float64) int {
	if s.Straight {
		return 1
	}
	if !(tol > 1e-9) {
		tol = 1e-9
	}
	m := math.Max(s.Deriv2(0).Len(), s.Deriv2(1).Len())
	n := math.Ceil(math.Sqrt(m / (8 * tol)))
	return int(math.Max(1, math.Min(n, 4096)))
}

// Contains reports whether the closed Path winds around q.
func (p Path) Contains(q Point) bool {
	pts := p.Flatten(1e-4)
	w := 0
	for i := range pts {
		a, b := pts[i], pts[(i+1)%len(pts)]
		side := b.Sub(a).Cross(q.Sub(a))
		switch {
		case a.Y <= q.Y && b.Y > q.Y && side > 0:
			w++
		case a.Y > q.Y && b.Y <= q.Y && side < 0:
			w--
		}
	}
	return w != 0
}
