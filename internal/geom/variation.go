package geom

import "math"

// variationTerms are the terms whose squares add to L³∫κ'² ds by a 16-point rule, with
// dκ/dt = (C'|B'|² − 3 C (B'·B”)) / |B'|⁵ and C = B'×B”. It gives the sum as well.
func (s Seg) variationTerms(r *[16]float64) float64 {
	x, y, z := s.P1.Sub(s.P0), s.P2.Sub(s.P1), s.P3.Sub(s.P2)
	a, b, c := z.Sub(y.Mul(2)).Add(x).Mul(3), y.Sub(x).Mul(6), x.Mul(3)
	l := 0.0
	for i := range r {
		g := gauss16.nodes[i/2]
		t, w := (1+g.x)/2, g.w/2
		if i%2 == 0 {
			t = (1 - g.x) / 2
		}
		dx, dy := (a.X*t+b.X)*t+c.X, (a.Y*t+b.Y)*t+c.Y
		ex, ey := 2*a.X*t+b.X, 2*a.Y*t+b.Y
		v2 := dx*dx + dy*dy
		v := math.Sqrt(v2)
		turn := dx*ey - dy*ex
		n := 2*(dx*a.Y-dy*a.X)*v2 - 3*turn*(dx*ex+dy*ey)
		l += w * v
		r[i] = n * math.Sqrt(w/v) / (v2 * v2 * v)
	}
	k, sum := l*math.Sqrt(l), 0.0
	for i := range r {
		r[i] *= k
		sum += r[i] * r[i]
	}
	if sum >= 0 {
		return sum
	}
	return math.MaxFloat64
}

// variation is L³∫κ'² ds: how much the curvature changes, whatever the size.
func (s Seg) variation() float64 {
	var r [16]float64
	return s.variationTerms(&r)
}

// leastVariation minimises the variation of curvature over two arms in [lo, hi]: from the best
// place of a coarse grid by the Levenberg-Marquardt method (D. Marquardt, J. SIAM 11, 1963), as
// the measure is a sum of squares. All of it treats the two arms alike, so that the reversed line
// is the same line.
func leastVariation(curve func(f, g float64) Seg, lo, hi float64, grid [5]float64) (float64, float64) {
	f, g, best := lo, lo, math.Inf(1)
	for _, x := range grid {
		for _, y := range grid {
			if e := curve(x, y).variation(); e < best {
				f, g, best = x, y, e
			}
		}
	}
	clamp := func(v float64) float64 { return max(lo, min(hi, v)) }
	const h = 1e-5
	damp := 1e-3
	for range 60 {
		var r, a, b, c, d [16]float64
		curve(f, g).variationTerms(&r)
		curve(f-h, g).variationTerms(&a)
		curve(f+h, g).variationTerms(&b)
		curve(f, g-h).variationTerms(&c)
		curve(f, g+h).variationTerms(&d)
		var ff, gg, fg, rf, rg float64
		for i := range r {
			x, y := (b[i]-a[i])/(2*h), (d[i]-c[i])/(2*h)
			ff, gg, fg = ff+x*x, gg+y*y, fg+x*y
			rf, rg = rf+x*r[i], rg+y*r[i]
		}
		// At the edge of the range an arm that wants to go beyond it stays.
		if f <= lo && rf > 0 || f >= hi && rf < 0 {
			fg, rf = 0, 0
		}
		if g <= lo && rg > 0 || g >= hi && rg < 0 {
			fg, rg = 0, 0
		}
		moved := 0.0
		for ; damp < 1e8; damp *= 8 {
			x, y := ff*(1+damp)+1e-300, gg*(1+damp)+1e-300
			det := x*y - fg*fg
			nf, ng := clamp(f-(y*rf-fg*rg)/det), clamp(g-(x*rg-fg*rf)/det)
			if e := curve(nf, ng).variation(); e < best {
				moved = math.Abs(nf-f) + math.Abs(ng-g)
				f, g, best = nf, ng, e
				damp = max(damp/16, 1e-9)
				break
			}
		}
		if moved < 1e-10 {
			break
		}
	}
	return f, g
}
