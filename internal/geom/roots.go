package geom

import "math"

// bern is a polynomial on [0, 1] in Bernstein form, of degree at most 5. In this form sign
// changes of the coefficients bound the number of roots (Descartes' rule), halving is exact to
// rounding, and nothing is lost when the leading power happens to vanish.
type bern struct {
	c   [6]float64
	deg int
}

// binomials up to the degrees that occur.
var binomial = [6][6]float64{{1}, {1, 1}, {1, 2, 1}, {1, 3, 3, 1}, {1, 4, 6, 4, 1}, {1, 5, 10, 10, 5, 1}}

// mul is the product of two Bernstein polynomials; the degrees must add to 5 or less.
func (p bern) mul(q bern) bern {
	r := bern{deg: p.deg + q.deg}
	for i := 0; i <= p.deg; i++ {
		for j := 0; j <= q.deg; j++ {
			r.c[i+j] += binomial[p.deg][i] * binomial[q.deg][j] * p.c[i] * q.c[j]
		}
	}
	for k := 0; k <= r.deg; k++ {
		r.c[k] /= binomial[r.deg][k]
	}
	return r
}

// add is the sum of two polynomials of one degree, the second taken k times.
func (p bern) add(q bern, k float64) bern {
	for i := 0; i <= p.deg; i++ {
		p.c[i] += k * q.c[i]
	}
	return p
}

func (p bern) at(t float64) float64 {
	c := p.c
	for n := p.deg; n > 0; n-- {
		for i := 0; i < n; i++ {
			c[i] += (c[i+1] - c[i]) * t
		}
	}
	return c[0]
}

func (p bern) halve() (bern, bern) {
	l, r := p, p
	for n := p.deg; n > 0; n-- {
		l.c[p.deg-n] = r.c[0]
		for i := 0; i < n; i++ {
			r.c[i] = (r.c[i] + r.c[i+1]) / 2
		}
	}
	l.c[p.deg] = r.c[0]
	return l, r
}

// roots lists the places in [0, 1] where the polynomial vanishes, in order, appended to out. A
// root of even multiplicity comes once or twice, very close together; where the polynomial is
// zero throughout none is given.
func (p bern) roots(out []float64) []float64 {
	m := 0.0
	for _, v := range p.c[:p.deg+1] {
		m = max(m, math.Abs(v))
	}
	if m == 0 || math.IsInf(m, 0) || math.IsNaN(m) {
		return out
	}
	for i := range p.c {
		p.c[i] /= m
	}
	if p.c[0] == 0 {
		out = append(out, 0)
	}
	out = p.isolate(0, 1, 0, out)
	if p.c[p.deg] == 0 {
		out = append(out, 1)
	}
	return out
}

// isolate lists the roots strictly between a and b.
func (p bern) isolate(a, b float64, depth int, out []float64) []float64 {
	changes, last := 0, 0.0
	for _, v := range p.c[:p.deg+1] {
		if v != 0 {
			if last*v < 0 {
				changes++
			}
			last = v
		}
	}
	switch {
	case changes == 0:
		return out
	case changes == 1 && p.c[0]*p.c[p.deg] < 0:
		return append(out, a+(b-a)*p.bracketed())
	case depth >= 40:
		return append(out, (a+b)/2)
	}
	l, r := p.halve()
	m := (a + b) / 2
	out = l.isolate(a, m, depth+1, out)
	if r.c[0] == 0 {
		out = append(out, m)
	}
	return r.isolate(m, b, depth+1, out)
}

// bracketed finds the one root between ends of unlike sign: inverse quadratic interpolation
// where it can be trusted, halving elsewhere (T. R. Chandrupatla, "A new hybrid quadratic/bisection
// algorithm for finding the zero of a nonlinear function", Adv. Eng. Software 28, 1997).
func (p bern) bracketed() float64 {
	x1, x2 := 1.0, 0.0
	f1, f2 := p.c[p.deg], p.c[0]
	t := 0.5
	for range 120 {
		x := x1 + t*(x2-x1)
		f := p.at(x)
		var x3, f3 float64
		if (f > 0) == (f1 > 0) {
			x3, f3 = x1, f1
		} else {
			x3, f3 = x2, f2
			x2, f2 = x1, f1
		}
		x1, f1 = x, f
		limit := 4e-16 / math.Abs(x2-x1)
		if f == 0 || limit > 0.5 {
			break
		}
		xi, phi := (x1-x2)/(x3-x2), (f1-f2)/(f3-f2)
		t = 0.5
		if phi*phi < xi && (1-phi)*(1-phi) < 1-xi {
			t = f1/(f2-f1)*f3/(f2-f3) + (x3-x1)/(x2-x1)*f1/(f3-f1)*f2/(f3-f2)
			t = max(limit, min(1-limit, t))
		}
	}
	if math.Abs(f1) <= math.Abs(f2) {
		return x1
	}
	return x2
}

// UnitRoots solves a t² + b t + c = 0 for t inside (0, 1), without cancellation; the roots are in order.
func UnitRoots(a, b, c float64) []float64 {
	var out []float64
	keep := func(t float64) {
		if t > 0 && t < 1 {
			out = append(out, t)
		}
	}
	if a == 0 || math.Abs(a) < 1e-12*(math.Abs(b)+math.Abs(c)) {
		if b != 0 {
			keep(-c / b)
		}
		return out
	}
	disc := b*b - 4*a*c
	if disc < 0 {
		return nil
	}
	q := -(b + math.Copysign(math.Sqrt(disc), b)) / 2
	keep(q / a)
	if q != 0 {
		keep(c / q)
	}
	if len(out) == 2 && out[0] > out[1] {
		out[0], out[1] = out[1], out[0]
	}
	return out
}
