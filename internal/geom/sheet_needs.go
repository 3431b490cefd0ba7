package geom

// AppendFlat is Flatten into a slice that is given: what is flattened often needs no room of its own.
func (p Path) AppendFlat(pts []Point, tol float64) []Point {
	if len(p) == 0 {
		return pts
	}
	pts = append(pts, p[0].P0)
	for _, s := range p {
		n := s.chords(tol)
		for i := 1; i < n; i++ {
			pts = append(pts, s.At(float64(i)/float64(n)))
		}
		pts = append(pts, s.P3)
	}
	return pts
}
