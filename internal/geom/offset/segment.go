package offset

import (
	"math"
	"sort"

	"sizerun/internal/geom"
)

// rawSeg is a Seg of an untrimmed parallel and where it came from.
type rawSeg struct {
	geom.Seg
	src  Source
	back bool // runs against its source
}

const (
	// snapHandle is the length below which a handle counts as none: shorter ones are noise of
	// digitising or of arithmetic, and make curvature at the end meaningless.
	snapHandle = 1e-3
	// flat is how far handles may lie off the chord for a curve to count as straight.
	flat = 1e-7
	// sharpest is the radius, mm, below which an inner point of a curve counts as a cusp.
	sharpest = 1e-4
	// maxDepth and maxPieces bound the halving of one cubic. Error falls with the sixth power of
	// the piece's length, so eight halvings are far more than any honest curve needs.
	maxDepth  = 12
	maxPieces = 64
)

// regular makes a Seg fit for offsetting: nil when it has no length, a line when it is straight,
// snapped handles; an error when it turns back on itself.
func regular(s geom.Seg) ([]geom.Seg, error) {
	for _, p := range []geom.Point{s.P0, s.P1, s.P2, s.P3} {
		if !p.Finite() || math.Abs(p.X) > reach || math.Abs(p.Y) > reach {
			return nil, ErrInput
		}
	}
	chord := s.P3.Sub(s.P0)
	if s.Straight {
		if chord.Len() < 1e-9 {
			return nil, nil
		}
		return []geom.Seg{s}, nil
	}
	if s.P1.Dist(s.P0) < snapHandle {
		s.P1 = s.P0
	}
	if s.P2.Dist(s.P3) < snapHandle {
		s.P2 = s.P3
	}
	size := max(chord.Len(), max(s.P1.Dist(s.P0), s.P2.Dist(s.P3)))
	if size < 1e-6 {
		return nil, nil
	}
	// The axis is the longest of the three spans from P0: a loop back to the start has no chord.
	axis := chord
	for _, v := range []geom.Vec{s.P1.Sub(s.P0), s.P2.Sub(s.P0)} {
		if v.Len() > axis.Len() {
			axis = v
		}
	}
	u := axis.Unit()
	off := 0.0
	for _, p := range []geom.Point{s.P1, s.P2, s.P3} {
		off = max(off, math.Abs(u.Cross(p.Sub(s.P0))))
	}
	if off <= flat {
		a, b, c := u.Dot(s.P1.Sub(s.P0)), u.Dot(s.P2.Sub(s.P0)), u.Dot(s.P3.Sub(s.P0))
		// Monotone along the axis when the derivative, a quadratic, does not change sign.
		lo := min(a, min(b-a, c-b))
		hi := max(a, max(b-a, c-b))
		if lo < 0 && hi > 0 {
			if turnsBack(a, b-a, c-b) {
				return nil, ErrCusp
			}
		}
		return []geom.Seg{geom.Line(s.P0, s.P3)}, nil
	}
	if cusped(s) {
		return nil, ErrCusp
	}
	return []geom.Seg{s}, nil
}

// turnsBack reports whether the quadratic with Bernstein coefficients d0, d1, d2 takes both signs.
func turnsBack(d0, d1, d2 float64) bool {
	lo, hi := min(d0, d2), max(d0, d2)
	if den := d0 - 2*d1 + d2; den != 0 {
		if t := (d0 - d1) / den; t > 0 && t < 1 {
			v := d0*(1-t)*(1-t) + 2*d1*t*(1-t) + d2*t*t
			lo, hi = min(lo, v), max(hi, v)
		}
	}
	return lo < -snapHandle && hi > snapHandle
}

// cusped reports whether the speed vanishes inside the curve, up to a radius nobody could sew.
func cusped(s geom.Seg) bool {
	const n = 32
	if l, x := leastSpeed(s), mostTurn(s); l*l*l > sharpest*x && l > 1e-9 {
		return false
	}
	var at [n + 1]float64
	for i := range at {
		at[i] = speed(s, float64(i)/n)
	}
	for i := 1; i < n; i++ {
		a, b, c := at[i-1], at[i], at[i+1]
		if b > a || b > c {
			continue
		}
		t := minimise(func(t float64) float64 { return speed(s, t) }, float64(i-1)/n, float64(i+1)/n)
		if t < 1e-3 || t > 1-1e-3 {
			continue
		}
		v, x := s.Deriv(t), math.Abs(s.Deriv(t).Cross(s.Deriv2(t)))
		if l := v.Len(); l*l*l < sharpest*x || l < 1e-9 {
			return true
		}
	}
	return false
}

func speed(s geom.Seg, t float64) float64 { return s.Deriv(t).Len() }

// leastSpeed bounds |B'| from below: B' is a mean of the three legs, times 3, and so is its share in any
// direction; 0 where no direction taken here tells.
func leastSpeed(s geom.Seg) float64 {
	a, b, c := s.P1.Sub(s.P0), s.P2.Sub(s.P1), s.P3.Sub(s.P2)
	u := s.P3.Sub(s.P0).Unit()
	return 3 * max(0, min(a.Dot(u), b.Dot(u), c.Dot(u)))
}

// mostTurn bounds |B' × B”| from above, a mean likewise.
func mostTurn(s geom.Seg) float64 {
	a, b, c := s.P1.Sub(s.P0), s.P2.Sub(s.P1), s.P3.Sub(s.P2)
	return 18 * max(math.Abs(a.Cross(b)), math.Abs(a.Cross(c)/2), math.Abs(b.Cross(c)))
}

// minimise finds a minimum of f in [a, b] by golden section.
func minimise(f func(float64) float64, a, b float64) float64 {
	const g = 0.6180339887498949
	x, y := b-g*(b-a), a+g*(b-a)
	fx, fy := f(x), f(y)
	for range 40 {
		if fx < fy {
			b, y, fy = y, x, fx
			x = b - g*(b-a)
			fx = f(x)
		} else {
			a, x, fx = x, y, fy
			y = a + g*(b-a)
			fy = f(y)
		}
	}
	return (a + b) / 2
}

// parallel holds one cubic and its distance while its parallel is drawn.
type parallel struct {
	s   geom.Seg
	d   float64 // to the right
	tol float64
	out []piece
}

// piece is a cubic of the parallel and the stretch of the source it belongs to.
type piece struct {
	seg    geom.Seg
	t0, t1 float64
	back   bool // runs against the source: the inner side of a swallowtail
}

// place is a point of the exact parallel.
func (p *parallel) place(t float64) geom.Point {
	q, _ := p.look(t)
	return q
}

// look is a point of the exact parallel and the source's direction there.
func (p *parallel) look(t float64) (geom.Point, geom.Vec) {
	u := p.s.Tangent(t)
	return p.s.At(t).Add(u.Right().Mul(p.d)), u
}

// growth is 1 + k d, the speed of the parallel against that of the source, squeezed into (-1, 1)
// so that it stays finite where a handle of no length makes the curvature infinite.
func (p *parallel) growth(t float64) float64 {
	v, a := p.s.Deriv(t), p.s.Deriv2(t)
	l := v.Len()
	c := l * l * l
	x := p.d * v.Cross(a)
	if c+math.Abs(x) == 0 {
		return 1
	}
	return (c + x) / (c + math.Abs(x))
}

// scale is 1 + k d at t, bounded.
func (p *parallel) scale(t float64) float64 {
	v, a := p.s.Deriv(t), p.s.Deriv2(t)
	l := v.Len()
	c := l * l * l
	if c < 1e-12 {
		return 0
	}
	return max(-1e3, min(1e3, 1+p.d*v.Cross(a)/c))
}

// offsetSeg draws the parallel of a regular Seg at d to the right.
func offsetSeg(s geom.Seg, d, tol float64) ([]piece, error) {
	if s.Straight {
		n := s.P3.Sub(s.P0).Unit().Right().Mul(d)
		return []piece{{geom.Line(s.P0.Add(n), s.P3.Add(n)), 0, 1, false}}, nil
	}
	if d == 0 {
		return []piece{{s, 0, 1, false}}, nil
	}
	p := parallel{s: s, d: d, tol: tol}
	if p.isPoint() {
		return []piece{{geom.Line(p.place(0), p.place(1)), 0, 1, false}}, nil
	}
	cuts := p.cuts()
	for i := 1; i < len(cuts); i++ {
		if !p.draw(cuts[i-1], cuts[i], 0) {
			return nil, ErrPrecision
		}
	}
	return p.out, nil
}

// isPoint tells the parallel that shrinks to the centre of an arc.
func (p *parallel) isPoint() bool {
	o := p.place(0)
	for i := 1; i <= 16; i++ {
		if p.place(float64(i)/16).Dist(o) > p.tol/2 {
			return false
		}
	}
	return true
}

// cuts lists the parameters at which the parallel turns back (1 + k d changes sign) and where the
// source has an inflection, with both ends.
func (p *parallel) cuts() []float64 {
	s := p.s
	a, b, c := s.P1.Sub(s.P0), s.P2.Sub(s.P1), s.P3.Sub(s.P2)
	// B' × B'' / 18 in Bernstein form: a×b, (a×c)/2, b×c.
	e0, e1, e2 := a.Cross(b), a.Cross(c)/2, b.Cross(c)
	infl := geom.UnitRoots(e0-2*e1+e2, 2*(e1-e0), e0)

	cuts := make([]float64, 0, 8)
	cuts = append(cuts, 0, 1)
	for _, t := range infl {
		if t > 1e-6 && t < 1-1e-6 {
			cuts = append(cuts, t)
		}
	}
	// On the round side 1 + k d never falls below 1, and far from a tight bend not below a half.
	round := min(p.d*e0, p.d*e1, p.d*e2) >= 0
	if l := leastSpeed(s); !round && 3*math.Abs(p.d)*mostTurn(s) > l*l*l {
		cuts = p.turnings(cuts)
	}
	sort.Float64s(cuts)
	out := cuts[:1]
	for _, t := range cuts[1:] {
		if t-out[len(out)-1] > 1e-9 {
			out = append(out, t)
		}
	}
	out[len(out)-1] = 1
	return out
}

// turnings adds the parameters at which 1 + k d changes sign.
func (p *parallel) turnings(cuts []float64) []float64 {
	// Sign changes are looked for between samples that crowd towards the ends, where a short handle hides them, and
	// at every local minimum, where two may lie close together.
	ts := []float64{1e-6, 1e-4, 1e-3, 1e-2}
	const n = 20
	for i := 1; i < n; i++ {
		ts = append(ts, float64(i)/n)
	}
	ts = append(ts, 1-1e-2, 1-1e-3, 1-1e-4, 1-1e-6)
	g := make([]float64, len(ts))
	low := 1.0
	for i, t := range ts {
		g[i] = p.growth(t)
		low = min(low, g[i])
	}
	if low < 0.5 {
		root := func(a, b, ga float64) {
			for range 60 {
				m := (a + b) / 2
				if gm := p.growth(m); (gm < 0) == (ga < 0) {
					a = m
				} else {
					b = m
				}
			}
			cuts = append(cuts, (a+b)/2)
		}
		for i := 1; i < len(ts); i++ {
			if (g[i-1] < 0) != (g[i] < 0) {
				root(ts[i-1], ts[i], g[i-1])
				continue
			}
			if i+1 < len(ts) && g[i] >= 0 && g[i] <= g[i-1] && g[i] <= g[i+1] && g[i+1] >= 0 {
				m := minimise(p.growth, ts[i-1], ts[i+1])
				if gm := p.growth(m); gm < 0 {
					root(ts[i-1], m, 1)
					root(m, ts[i+1], -1)
				}
			}
		}
	}
	return cuts
}

// draw adds cubics for the stretch t0 … t1, on which the parallel runs one way and the tangent turns
// one way. It reports false when the bounds on halving are reached.
func (p *parallel) draw(t0, t1 float64, depth int) bool {
	if len(p.out) >= maxPieces {
		return false
	}
	o0, o1 := p.place(t0), p.place(t1)
	u0, u1 := p.s.Tangent(t0), p.s.Tangent(t1)
	back := p.growth((t0+t1)/2) < 0
	if back {
		u0, u1 = u0.Neg(), u1.Neg()
	}
	turn := math.Abs(u0.AngleTo(u1))
	// Ends that coincide within a tenth of a micron: the tip of a swallowtail, or nothing at all.
	if turn < 1.2 && o0.Dist(o1) < 1e-4 && p.place((t0+t1)/2).Dist(o0) < 1e-4 {
		p.out = append(p.out, piece{geom.Line(o0, o1), t0, t1, back})
		return true
	}
	if turn < 1.9 {
		if q, ok := p.fit(t0, t1, o0, o1, u0, u1); ok {
			p.out = append(p.out, piece{q, t0, t1, back})
			return true
		}
	}
	if depth >= maxDepth {
		return false
	}
	m := (t0 + t1) / 2
	if turn > 0.8 {
		m = p.halfTurn(t0, t1)
	}
	return p.draw(t0, m, depth+1) && p.draw(m, t1, depth+1)
}

// halfTurn is where the tangent has turned half its way: in a tight bend that lies in a short
// stretch of the parameter, halving the parameter would take for ever to find it.
func (p *parallel) halfTurn(t0, t1 float64) float64 {
	u0 := p.s.Tangent(t0)
	all := math.Abs(u0.AngleTo(p.s.Tangent(t1)))
	a, b := t0, t1
	for range 30 { // where exactly does not matter
		m := (a + b) / 2
		if math.Abs(u0.AngleTo(p.s.Deriv(m))) < all/2 {
			a = m
		} else {
			b = m
		}
	}
	if a-t0 < 1e-9 || t1-b < 1e-9 {
		return (t0 + t1) / 2
	}
	return (a + b) / 2
}

// samples on which the arms are fitted; three times as many verify the result.
const fitSamples = 8

// fit looks for the two arm lengths whose cubic lies nearest to the exact parallel, by Gauss-Newton on
// distances measured along the source's normals, and accepts it when it is within tolerance.
func (p *parallel) fit(t0, t1 float64, o0, o1 geom.Point, u0, u1 geom.Vec) (geom.Seg, bool) {
	dt := t1 - t0
	a0 := math.Abs(p.s.Deriv(t0).Len()*p.scale(t0)) * dt / 3
	a1 := math.Abs(p.s.Deriv(t1).Len()*p.scale(t1)) * dt / 3
	chord := o0.Dist(o1)
	limit := 2*chord + 1e-3
	a0, a1 = min(a0, limit), min(a1, limit)

	var at [fitSamples]geom.Point
	var tan [fitSamples]geom.Vec
	for i := range at {
		t := t0 + dt*(float64(i)+0.5)/fitSamples
		at[i], tan[i] = p.look(t)
	}
	q := geom.Cubic(o0, o0.Add(u0.Mul(a0)), o1.Add(u1.Mul(-a1)), o1)
	for step := 0; ; step++ {
		var m00, m01, m11, r0, r1, worst float64
		for i := range at {
			u := foot(q, at[i], tan[i], (float64(i)+0.5)/fitSamples)
			n := tan[i].Right()
			r := q.At(u).Sub(at[i]).Dot(n)
			worst = max(worst, math.Abs(r))
			w := 1 - u
			j0, j1 := 3*w*w*u*u0.Dot(n), -3*w*u*u*u1.Dot(n)
			m00, m01, m11 = m00+j0*j0, m01+j0*j1, m11+j1*j1
			r0, r1 = r0+j0*r, r1+j1*r
		}
		if math.IsNaN(worst) {
			return q, false
		}
		if worst <= 0.8*p.tol && p.verify(q, t0, t1) {
			return q, true
		}
		if step == 3 {
			return q, false
		}
		// A little damping keeps nearly straight stretches, where the arms hardly matter, from running away.
		lam := 1e-9 * (m00 + m11)
		m00, m11 = m00+lam, m11+lam
		det := m00*m11 - m01*m01
		if !(det > 0) {
			return q, false
		}
		a0 -= (r0*m11 - r1*m01) / det
		a1 -= (r1*m00 - r0*m01) / det
		if !(a0 <= limit && a1 <= limit) {
			return q, false
		}
		a0, a1 = max(a0, 0), max(a1, 0)
		q = geom.Cubic(o0, o0.Add(u0.Mul(a0)), o1.Add(u1.Mul(-a1)), o1)
	}
}

// foot is the parameter at which q crosses the normal of the source through at.
func foot(q geom.Seg, at geom.Point, tan geom.Vec, u float64) float64 {
	// How far q is along the tangent is a cubic of its parameter.
	d := q.P0.Sub(at).Dot(tan)
	c := 3 * q.P1.Sub(q.P0).Dot(tan)
	m := 3 * q.P2.Sub(q.P1).Dot(tan)
	e := 3 * q.P3.Sub(q.P2).Dot(tan)
	b, a := m-c, (e-2*m+c)/3
	for range 4 {
		g := ((a*u+b)*u+c)*u + d
		h := (3*a*u+2*b)*u + c
		if math.Abs(h) < 1e-12 {
			break
		}
		s := g / h
		u = max(0, min(1, u-s))
		if math.Abs(s) < 1e-5 {
			break // the next step would be its square
		}
	}
	return u
}

// verify measures q against the exact parallel between the samples it was fitted on.
func (p *parallel) verify(q geom.Seg, t0, t1 float64) bool {
	const n = 3 * fitSamples
	for i := 1; i < n; i++ {
		f := float64(i) / n
		at, tan := p.look(t0 + (t1-t0)*f)
		if !(q.At(foot(q, at, tan, f)).Dist(at) <= p.tol) {
			return false
		}
	}
	return true
}
