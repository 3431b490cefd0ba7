package geom

import "math"

// One cubic is fitted by tangent distance minimisation: with every point's nearest place on the
// curve and the normal there held, the distance along the normal is linear in the handles, so
// each round is one small linear least squares problem. This is Gauss-Newton on the true
// distance, and converges where moving the nearest places alone creeps (W. Wang, H. Pottmann and
// Y. Liu, "Fitting B-spline curves to point clouds by curvature-based squared distance
// minimization", ACM Trans. Graphics 25, 2006). Damping after Levenberg and Marquardt keeps the
// first rounds from leaping.

const (
	fitSamples = 40 // points looked at while fitting; all are looked at before it is believed
	fitRounds  = 14
)

// fitted is a cubic and its largest distance from the points; infinite when it is no good.
type fitted struct {
	seg Seg
	err float64
}

// handleFit is one cubic under way.
type handleFit struct {
	x  []Point   // the points
	at []int     // their indices
	u  []float64 // their nearest places
	p  Point     // ends
	q  Point
	// Unknowns: coefficients c of directions dir, each moving one handle (of 0: the first).
	dir [4]Vec
	of  [4]int
	c   [4]float64
	n   int
}

// fit is the best cubic from p to q for the points i … j, with the given end directions or, where
// they are zero, free ones.
func (f *fitter) fit(i, j int, p, q Point, t0, t1 Vec) fitted {
	l := f.s[j] - f.s[i]
	h := handleFit{p: p, q: q}
	if j-i < 2 {
		return fitted{f.short(i, p, t0, t1, true), math.Inf(1)}
	}
	if t0 != (Vec{}) {
		h.unknown(t0, 0, l/3)
	} else {
		d := f.pts[i+1].Sub(p).Unit()
		h.unknown(Vec{1, 0}, 0, d.X*l/3)
		h.unknown(Vec{0, 1}, 0, d.Y*l/3)
	}
	if t1 != (Vec{}) {
		h.unknown(t1.Neg(), 1, l/3)
	} else {
		d := f.pts[j-1].Sub(q).Unit()
		h.unknown(Vec{1, 0}, 1, d.X*l/3)
		h.unknown(Vec{0, 1}, 1, d.Y*l/3)
	}
	m := min(j-i-1, fitSamples)
	h.x, h.u = make([]Point, 0, m), make([]float64, 0, m)
	last := i
	for k := 1; k <= m; k++ {
		// Evenly along the way, each point at most once.
		e := i + k
		if m == fitSamples {
			e = i + sortSearch(f.s[i:j], f.s[i]+l*float64(k)/float64(m+1))
		}
		if e <= last || e >= j {
			continue
		}
		last = e
		h.x, h.at = append(h.x, f.pts[e]), append(h.at, e)
		h.u = append(h.u, (f.s[e]-f.s[i])/l)
	}
	h.solve(f.tol)
	s := h.seg()
	if !h.sound(s, t0, t1) {
		return fitted{s, math.Inf(1)}
	}
	// A fit that is far off on the samples need not be looked at closer.
	if w := h.worst(s); w > 2*f.tol {
		return fitted{s, w}
	}
	if s.Length() > 1.02*l+4*f.tol {
		return fitted{s, math.Inf(1)}
	}
	return fitted{s, f.worst(s, &h, i, j)}
}

func (h *handleFit) unknown(d Vec, of int, c float64) {
	h.dir[h.n], h.of[h.n], h.c[h.n] = d, of, c
	h.n++
}

func (h *handleFit) seg() Seg {
	s := Cubic(h.p, h.p, h.q, h.q)
	for k := range h.n {
		if h.of[k] == 0 {
			s.P1 = s.P1.Add(h.dir[k].Mul(h.c[k]))
		} else {
			s.P2 = s.P2.Add(h.dir[k].Mul(h.c[k]))
		}
	}
	return s
}

// solve runs two rounds on the plain distances, which set the handles roughly right, then rounds
// on the distances square to the curve.
func (h *handleFit) solve(tol float64) {
	for range 2 {
		h.step(0, false)
		h.follow(h.seg())
	}
	damp := 1e-3
	s := h.seg()
	err := h.square(s)
	back := make([]float64, len(h.u))
	for round := range fitRounds {
		c := h.c
		copy(back, h.u)
		h.step(damp, true)
		s = h.seg()
		h.follow(s)
		e := h.square(s)
		if !(e < err) {
			h.c = c
			copy(h.u, back)
			damp *= 10
			if damp > 1e4 {
				break
			}
			continue
		}
		damp = max(damp/10, 1e-9)
		// Settled, as good as need be, or hopeless: far off and not coming nearer fast.
		done := e > 0.98*err || e < 1e-4*tol*tol || round >= 4 && e > 16*tol*tol && e > 0.7*err
		err = e
		if done {
			break
		}
	}
}

// step solves the normal equations for the change of the coefficients.
func (h *handleFit) step(damp float64, normal bool) {
	var m [4][5]float64
	s := h.seg()
	for i, x := range h.x {
		t := h.u[i]
		r := s.At(t).Sub(x)
		b := [2]float64{3 * (1 - t) * (1 - t) * t, 3 * (1 - t) * t * t}
		var c [4]float64
		if normal {
			n := s.Deriv(t).Unit().Left()
			d := n.Dot(r)
			for k := range h.n {
				c[k] = b[h.of[k]] * n.Dot(h.dir[k])
			}
			for k := range h.n {
				for l := k; l < h.n; l++ {
					m[k][l] += c[k] * c[l]
				}
				m[k][4] -= c[k] * d
			}
			continue
		}
		for k := range h.n {
			for l := k; l < h.n; l++ {
				m[k][l] += b[h.of[k]] * b[h.of[l]] * h.dir[k].Dot(h.dir[l])
			}
			m[k][4] -= b[h.of[k]] * h.dir[k].Dot(r)
		}
	}
	trace := 0.0
	for k := range h.n {
		trace += m[k][k]
	}
	for k := range h.n {
		for l := range k {
			m[k][l] = m[l][k]
		}
		m[k][k] += damp*m[k][k] + 1e-12*trace + 1e-300
	}
	for k := range h.n {
		for i := k + 1; i < h.n; i++ {
			f := m[i][k] / m[k][k]
			for l := k; l < 5; l++ {
				m[i][l] -= f * m[k][l]
			}
		}
	}
	var d [4]float64
	for k := h.n - 1; k >= 0; k-- {
		v := m[k][4]
		for l := k + 1; l < h.n; l++ {
			v -= m[k][l] * d[l]
		}
		d[k] = v / m[k][k]
	}
	for k := range h.n {
		if math.IsNaN(d[k]) || math.IsInf(d[k], 0) {
			return
		}
	}
	for k := range h.n {
		h.c[k] += d[k]
	}
}

// follow moves every point's nearest place by Newton's method.
func (h *handleFit) follow(s Seg) {
	for i, x := range h.x {
		h.u[i] = s.foot(x, h.u[i], 2)
	}
}

// foot improves the parameter t of the place nearest to x.
func (s Seg) foot(x Point, t float64, rounds int) float64 {
	for range rounds {
		w, d, e := s.At(t).Sub(x), s.Deriv(t), s.Deriv2(t)
		v := d.Dot(d)
		den := v + w.Dot(e)
		if den < v/4 {
			den = v
		}
		if den == 0 {
			return t
		}
		t = max(0, min(1, t-w.Dot(d)/den))
	}
	return t
}

// square is the mean squared distance of the points.
func (h *handleFit) square(s Seg) float64 {
	e := 0.0
	for i, x := range h.x {
		d := s.At(h.u[i]).Sub(x)
		e += d.Dot(d)
	}
	return e / max(1, float64(len(h.x)))
}

// worst is the largest distance of the points fitted.
func (h *handleFit) worst(s Seg) float64 {
	e := 0.0
	for i, x := range h.x {
		d := s.At(h.u[i]).Sub(x)
		e = max(e, d.Dot(d))
	}
	return math.Sqrt(e)
}

// sound refuses a cubic whose arms run backwards.
func (h *handleFit) sound(s Seg, t0, t1 Vec) bool {
	a, b := s.P1.Sub(s.P0), s.P3.Sub(s.P2)
	if t0 == (Vec{}) {
		t0 = h.x[0].Sub(h.p)
	}
	if t1 == (Vec{}) {
		t1 = h.q.Sub(h.x[len(h.x)-1])
	}
	return a.Dot(t0) >= 0 && b.Dot(t1) >= 0
}

// worst is the largest distance of all the points i … j, each followed from where its neighbours
// among the samples lie.
func (f *fitter) worst(s Seg, h *handleFit, i, j int) float64 {
	worst := 0.0
	k := 0
	s0, u0 := f.s[i], 0.0
	l := f.s[j] - f.s[i]
	next := func() (float64, float64) {
		if k < len(h.x) {
			return f.s[h.at[k]], h.u[k]
		}
		return f.s[i] + l, 1
	}
	s1, u1 := next()
	for e := i + 1; e < j; e++ {
		for f.s[e] > s1 && k < len(h.x) {
			s0, u0 = s1, u1
			k++
			s1, u1 = next()
		}
		t := u0
		if s1 > s0 {
			t += (u1 - u0) * (f.s[e] - s0) / (s1 - s0)
		}
		t = s.foot(f.pts[e], max(0, min(1, t)), 2)
		d := s.At(t).Dist(f.pts[e])
		if d > f.tol {
			// Newton may have missed: look at all places.
			_, d = s.nearest(f.pts[e])
		}
		worst = max(worst, d)
		if worst > 2*f.tol {
			break
		}
	}
	return worst
}
