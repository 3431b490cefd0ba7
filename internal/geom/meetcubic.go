package geom

import (
	"math"
	"slices"
)

// part is a piece of a cubic between two parameters of the whole.
type part struct {
	Seg
	t0, t1 float64
}

func (p part) halve() (part, part) {
	l, r := p.Split(0.5)
	m := (p.t0 + p.t1) / 2
	return part{l, p.t0, m}, part{r, m, p.t1}
}

// meeting is the study of two cubics.
type meeting struct {
	a, b       Seg
	tol        float64
	stretchOfA [2]float64 // the stretch of a under study
	hits       []hit
	along      [][2]part
}

// study looks at the stretch r of a against all of b, halving both until every pair is settled.
func (m *meeting) study(r [2]float64) {
	m.stretchOfA = r
	pairs := [][2]part{{part{m.a.Sub(r[0], r[1]), r[0], r[1]}, part{m.b, 0, 1}}}
	var next [][2]part
	for depth := 0; len(pairs) > 0; depth++ {
		if depth > 44 || len(pairs) > mostPairs {
			m.along = append(m.along, pairs...)
			break
		}
		next = next[:0]
		for _, p := range pairs {
			if !m.settled(p[0], p[1]) {
				next = m.halve(next, p)
			}
		}
		pairs, next = next, pairs
	}
	m.stretches()
}

// halve appends the pairs of halves; what has shrunk to a point stays whole.
func (m *meeting) halve(out [][2]part, p [2]part) [][2]part {
	a, b := [2]part{p[0]}, [2]part{p[1]}
	na, nb := 1, 1
	if !m.point(p[0].Seg) {
		a[0], a[1] = p[0].halve()
		na = 2
	}
	if !m.point(p[1].Seg) {
		b[0], b[1] = p[1].halve()
		nb = 2
	}
	for i := range na {
		for j := range nb {
			out = append(out, [2]part{a[i], b[j]})
		}
	}
	return out
}

// point reports that a piece is too small for any place of it to be told from another.
func (m *meeting) point(s Seg) bool { return s.size() <= m.tol/2 }

// settled reports that nothing is left to be found in the pair.
func (m *meeting) settled(a, b part) bool {
	if apart(a.Seg, b.Seg, m.tol) || apart(b.Seg, a.Seg, m.tol) {
		return true
	}
	la, lb := legs(a.Seg), legs(b.Seg)
	if crossing(la, lb) {
		// At most one crossing, found from where the chords cross. A solution outside the pair
		// proves nothing: look closer.
		t, u := 0.5, 0.5
		d, e, w := a.P3.Sub(a.P0), b.P3.Sub(b.P0), b.P0.Sub(a.P0)
		if det := d.Cross(e); det != 0 {
			t = max(0, min(1, w.Cross(e)/det))
			u = max(0, min(1, w.Cross(d)/det))
		}
		return m.newton(a, b, a.t0+t*(a.t1-a.t0), b.t0+u*(b.t1-b.t0))
	}
	if gentleLegs(la) && gentleLegs(lb) {
		if m.touch(a, b) {
			return true
		}
		if flatness(a.Seg) <= m.tol/4 && flatness(b.Seg) <= m.tol/4 {
			m.along = append(m.along, [2]part{a, b})
			return true
		}
	}
	if m.point(a.Seg) && m.point(b.Seg) {
		m.along = append(m.along, [2]part{a, b})
		return true
	}
	return false
}

// apart reports that b lies wholly beyond the box of a, or beyond the strip along a's chord that
// holds a's control points.
func apart(a, b Seg, tol float64) bool {
	if !a.hull().Inset(-tol).Overlaps(b.hull()) {
		return true
	}
	d := a.P3.Sub(a.P0)
	n := d.Len()
	if n == 0 {
		return false
	}
	x, y := d.Cross(a.P1.Sub(a.P0)), d.Cross(a.P2.Sub(a.P0))
	lo, hi := min(0, x, y)-tol*n, max(0, x, y)+tol*n
	p, q, r, s := d.Cross(b.P0.Sub(a.P0)), d.Cross(b.P1.Sub(a.P0)), d.Cross(b.P2.Sub(a.P0)), d.Cross(b.P3.Sub(a.P0))
	return min(p, q, r, s) > hi || max(p, q, r, s) < lo
}

// legs are the sides of the control polygon; every tangent is a positive combination of them.
func legs(s Seg) [3]Vec { return [3]Vec{s.P1.Sub(s.P0), s.P2.Sub(s.P1), s.P3.Sub(s.P2)} }

// crossing proves that no tangent of one is parallel to one of the other: all legs of the one
// turn the same way to all legs of the other.
func crossing(a, b [3]Vec) bool {
	sign := 0.0
	for _, v := range a {
		for _, w := range b {
			c := v.Cross(w)
			if c == 0 {
				if v == (Vec{}) || w == (Vec{}) {
					continue
				}
				return false
			}
			if sign*c < 0 {
				return false
			}
			sign = c
		}
	}
	return sign != 0
}

// gentleLegs reports that the polygon turns by less than gentle in all.
func gentleLegs(l [3]Vec) bool {
	var d Vec
	for _, v := range l {
		d = d.Add(v)
	}
	for _, v := range l {
		if math.Abs(d.Cross(v)) > gentle/2*d.Dot(v) {
			return false
		}
	}
	return true
}

// flatness bounds the distance of the curve from its chord.
func flatness(s Seg) float64 {
	d := s.P3.Sub(s.P0)
	n := d.Len()
	if n == 0 {
		return s.size()
	}
	return max(math.Abs(d.Cross(s.P1.Sub(s.P0))), math.Abs(d.Cross(s.P2.Sub(s.P0)))) / n
}

// newton solves A(t) = B(u) from a guess, and keeps the solution if it lies in the pair.
func (m *meeting) newton(a, b part, t, u float64) bool {
	t, u, ok := m.solve(t, u)
	const slack = 1e-9
	if !ok || t < a.t0-slack || t > a.t1+slack || u < b.t0-slack || u > b.t1+slack {
		return false
	}
	m.hits = append(m.hits, m.a.hitAt(m.b, max(0, min(1, t)), max(0, min(1, u))))
	return true
}

func (m *meeting) solve(t, u float64) (float64, float64, bool) {
	for range 12 {
		r := m.b.At(u).Sub(m.a.At(t))
		da, db := m.a.Deriv(t), m.b.Deriv(u)
		det := da.Cross(db)
		if det == 0 {
			return t, u, false
		}
		dt, du := r.Cross(db)/det, r.Cross(da)/det
		t, u = t+dt, u+du
		if !(t > -0.5 && t < 1.5 && u > -0.5 && u < 1.5) {
			return t, u, false
		}
		if math.Abs(dt)+math.Abs(du) < 1e-14 {
			break
		}
	}
	return t, u, m.a.At(t).Dist(m.b.At(u)) <= exactGap
}

// touch settles a pair of gentle arcs of which one is everywhere more bent than the other, when
// the place where they are parallel lies in the pair. There the distance between them is lowest.
func (m *meeting) touch(a, b part) bool {
	ka, kb := bends(a.Seg), bends(b.Seg)
	same := math.Copysign(1, m.a.Deriv((a.t0+a.t1)/2).Dot(m.b.Deriv((b.t0+b.t1)/2)))
	if same < 0 {
		kb = [2]float64{-kb[1], -kb[0]}
	}
	margin := 0.2 * (ka[1] - ka[0] + kb[1] - kb[0])
	if !(ka[0] > kb[1]+margin || kb[0] > ka[1]+margin) {
		return false
	}
	t, u, ok := m.parallel((a.t0+a.t1)/2, (b.t0+b.t1)/2)
	const slack = 1e-9
	if !ok || t < a.t0-slack || t > a.t1+slack || u < b.t0-slack || u > b.t1+slack {
		return false
	}
	t, u = max(0, min(1, t)), max(0, min(1, u))
	// In the frame of a: b lies at height g, and rises away from a with bend k.
	tan := m.a.Tangent(t)
	g := tan.Cross(m.b.At(u).Sub(m.a.At(t)))
	k := same*m.b.Curvature(u) - m.a.Curvature(t)
	if g*k >= 0 || math.Abs(g) <= 1e-13 {
		if math.Abs(g) <= m.tol {
			m.hits = append(m.hits, m.a.hitAt(m.b, t, u))
		}
		return true
	}
	s := math.Sqrt(-2 * g / k)
	va, vb := m.a.Deriv(t).Len(), same*m.b.Deriv(u).Len()
	for _, d := range [2]float64{-s, s} {
		x, y, ok := m.solve(t+d/va, u+d/vb)
		if !ok {
			return false
		}
		if x >= m.stretchOfA[0]-slack && x <= m.stretchOfA[1]+slack && y >= -slack && y <= 1+slack {
			m.hits = append(m.hits, m.a.hitAt(m.b, max(0, min(1, x)), max(0, min(1, y))))
		}
	}
	return true
}

// bends samples the range of curvature of a gentle piece.
func bends(s Seg) [2]float64 {
	r := [2]float64{math.Inf(1), math.Inf(-1)}
	for _, t := range [3]float64{0, 0.5, 1} {
		k := s.Curvature(t)
		r[0], r[1] = min(r[0], k), max(r[1], k)
	}
	return r
}

// parallel finds where the tangents are parallel and the way from one to the other is square to
// them: A'×B' = 0 and (B − A)·A' = 0, by Newton's method.
func (m *meeting) parallel(t, u float64) (float64, float64, bool) {
	for range 12 {
		da, db, ea, eb := m.a.Deriv(t), m.b.Deriv(u), m.a.Deriv2(t), m.b.Deriv2(u)
		w := m.b.At(u).Sub(m.a.At(t))
		f, g := da.Cross(db), w.Dot(da)
		ft, fu := ea.Cross(db), da.Cross(eb)
		gt, gu := w.Dot(ea)-da.Dot(da), db.Dot(da)
		det := ft*gu - fu*gt
		if det == 0 {
			return t, u, false
		}
		dt, du := (g*fu-f*gu)/det, (f*gt-g*ft)/det
		t, u = t+dt, u+du
		if !(t > -0.5 && t < 1.5 && u > -0.5 && u < 1.5) {
			return t, u, false
		}
		if math.Abs(dt)+math.Abs(du) < 1e-13 {
			return t, u, true
		}
	}
	return t, u, false
}

// stretches gathers the pairs that run together: both ends of a long stretch, the best place of
// a short one.
func (m *meeting) stretches() {
	if len(m.along) == 0 {
		return
	}
	slices.SortFunc(m.along, func(x, y [2]part) int {
		switch {
		case x[0].t0 != y[0].t0:
			if x[0].t0 < y[0].t0 {
				return -1
			}
			return 1
		case x[1].t0 < y[1].t0:
			return -1
		case x[1].t0 > y[1].t0:
			return 1
		}
		return 0
	})
	// Pieces of one stretch follow each other without a gap in a; b may run either way.
	for i := 0; i < len(m.along); {
		j, end := i+1, m.along[i][0].t1
		for j < len(m.along) && m.along[j][0].t0 <= end+1e-12 {
			end = max(end, m.along[j][0].t1)
			j++
		}
		m.stretch(m.along[i:j])
		i = j
	}
	m.along = nil
}

func (m *meeting) stretch(pairs [][2]part) {
	var best, first, last hit
	best.gap = math.Inf(1)
	found := false
	for _, p := range pairs {
		for _, f := range [3]float64{0, 0.5, 1} {
			t := p[0].t0 + f*(p[0].t1-p[0].t0)
			u, d := m.b.nearest(m.a.At(t))
			if d > m.tol {
				continue
			}
			h := m.a.hitAt(m.b, t, u)
			if !found || t < first.t {
				first = h
			}
			if !found || t > last.t {
				last = h
			}
			if d < best.gap {
				best = h
			}
			found = true
		}
	}
	if !found {
		return
	}
	if m.a.lengthTo(first.t, last.t) > max(1e-2, 100*m.tol) {
		m.hits = append(m.hits, first, last)
		return
	}
	if t, u, ok := m.solve(best.t, best.u); ok && t >= first.t && t <= last.t && u >= 0 && u <= 1 {
		best = m.a.hitAt(m.b, t, u)
	}
	m.hits = append(m.hits, best)
}
