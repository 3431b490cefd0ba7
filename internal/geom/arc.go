package geom

import "math"

// Arc is a stretch of the circle about c with radius r, from angle a0 to angle a1, counter-clockwise when
// a1 is the greater. No cubic spans more than 22.5 degrees, so that the arc is off the true circle by less
// than 1e-7 of its radius: with handles of 4/3·tan(θ/4) the error falls as the sixth power of the angle.
func Arc(c Point, r, a0, a1 float64) Path {
	const most = math.Pi / 8
	n := max(1, int(math.Ceil(math.Abs(a1-a0)/most-1e-9)))
	if n > 1000 || !(r > 0) {
		return nil
	}
	at := func(i int) (Point, Vec) {
		a := a0 + (a1-a0)*float64(i)/float64(n)
		s, k := math.Sincos(a)
		return Pt(c.X+r*k, c.Y+r*s), Vec{-s, k}
	}
	h := 4.0 / 3 * math.Tan((a1-a0)/float64(n)/4) * r
	out := make(Path, n)
	for i := range n {
		p, u := at(i)
		q, v := at(i + 1)
		out[i] = Cubic(p, p.Add(u.Mul(h)), q.Add(v.Mul(-h)), q)
	}
	return out
}
