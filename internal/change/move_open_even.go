package change

import "sizerun/internal/geom"

// even makes a run smooth again where it was smooth before it was opened. The lines of the fan that end at
// the two ends of a folded dart's mouth are one line on the other run, and square to it are two directions:
// what is put in on its two sides is laid off in either, and the run gets a small corner there, of no more
// than the dart's angle. Both stretches leave the place in the mean direction; where one of them stayed
// stiff, in that one's.
func (f *fan) even(ls []laid, was []geom.Seg) {
	const same = 1e-4 // radians: the stretches are cut by length, to less than that
	for i := 1; i < len(ls); i++ {
		a, b := &ls[i-1], &ls[i]
		if a.edge != b.edge || a.seg.P3.Dist(b.seg.P0) > tiny || a.stiff && b.stiff {
			continue
		}
		if !near(was[i-1].Tangent(1), was[i].Tangent(0), same) || near(a.seg.Tangent(1), b.seg.Tangent(0), same) {
			continue
		}
		u, v := a.seg.Tangent(1), b.seg.Tangent(0)
		d := u.Add(v).Unit()
		switch {
		case a.stiff:
			d = u
		case b.stiff:
			d = v
		}
		if !a.stiff {
			a.seg.P2 = a.seg.P3.Add(d.Mul(-a.seg.P3.Dist(a.seg.P2)))
			a.seg.Straight = false
		}
		if !b.stiff {
			b.seg.P1 = b.seg.P0.Add(d.Mul(b.seg.P1.Dist(b.seg.P0)))
			b.seg.Straight = false
		}
	}
}

// near: two directions differ by no more than an angle, in radians.
func near(a, b geom.Vec, by float64) bool {
	t := a.AngleTo(b)
	return t <= by && t >= -by
}

// mended joins stretches whose ends were found on their own, and lie a hair apart.
func mended(p geom.Path) geom.Path {
	out := append(geom.Path{}, p...)
	for i := 1; i < len(out); i++ {
		if q := out[i-1].P3; out[i].P0 != q && out[i].P0.Dist(q) <= 1e-4 {
			out[i].P0 = q
		}
	}
	return out
}
