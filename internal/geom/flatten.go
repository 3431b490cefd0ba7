package geom

import "math"

// finest bounds what Flatten may be asked for: no chord error below a nanometre, and never more
// than mostChords chords of one Seg.
const (
	finest     = 1e-6
	mostChords = 4096
)

// Flatten gives points on the Path, every knot among them, whose chords stay within tol of it.
func (p Path) Flatten(tol float64) []Point {
	if len(p) == 0 {
		return nil
	}
	out := []Point{p[0].P0}
	for _, s := range p {
		n := s.chords(tol)
		for i := 1; i < n; i++ {
			out = append(out, s.At(float64(i)/float64(n)))
		}
		out = append(out, s.P3)
	}
	return out
}

// chords is how many equal steps of the parameter keep the chord error within tol. A chord over
// a step h is off by at most h²/8 times the largest second derivative, which is at an end.
func (s Seg) chords(tol float64) int {
	if s.Straight {
		return 1
	}
	if !(tol > finest) {
		tol = finest
	}
	m := max(s.Deriv2(0).Len(), s.Deriv2(1).Len())
	return int(max(1, min(mostChords, math.Ceil(math.Sqrt(m/(8*tol))))))
}
