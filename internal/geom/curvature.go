package geom

import "math"

// SharpestCurvature is what Curvature gives, with its sign, where the true value grows without
// bound: at a cusp and at a handle of no length. It stands for a radius of a nanometre, so that
// nobody has to reckon with infinities.
const SharpestCurvature = 1e9

// flat is the share of a Seg's own size below which a derivative counts as zero.
const flat = 1e-11

// size is the reach of the control points from the start: the scale to compare small things with.
func (s Seg) size() float64 {
	return max(s.P1.Dist(s.P0), max(s.P2.Dist(s.P0), s.P3.Dist(s.P0)))
}

// sides is an upper bound of size without a root.
func (s Seg) sides() float64 {
	return math.Abs(s.P1.X-s.P0.X) + math.Abs(s.P1.Y-s.P0.Y) + math.Abs(s.P2.X-s.P0.X) + math.Abs(s.P2.Y-s.P0.Y) + math.Abs(s.P3.X-s.P0.X) + math.Abs(s.P3.Y-s.P0.Y)
}

// Tangent is the unit direction of travel at t. Where the derivative vanishes (a handle of no
// length, a cusp) it is the limit of the direction: from the inside at the ends, and of the way
// onward inside. Only a Seg that is a single point has none, and gives the zero Vec.
func (s Seg) Tangent(t float64) Vec {
	d := s.Deriv(t)
	l := d.Len()
	// The sum of the sides of the control polygon is no smaller than the size, and cheap.
	if l > flat*s.sides() {
		return Vec{d.X / l, d.Y / l}
	}
	small := flat * s.size()
	if l > small {
		return d.Unit()
	}
	switch {
	case t < 1e-6:
		for _, v := range [2]Vec{s.P2.Sub(s.P0), s.P3.Sub(s.P0)} {
			if v.Len() > small {
				return v.Unit()
			}
		}
	case t > 1-1e-6:
		for _, v := range [2]Vec{s.P3.Sub(s.P1), s.P3.Sub(s.P0)} {
			if v.Len() > small {
				return v.Unit()
			}
		}
	default:
		if e := s.Deriv2(t); e.Len() > small {
			return e.Unit()
		}
	}
	return s.P3.Sub(s.P0).Unit()
}

// Curvature is signed: positive where the Seg turns left. Its amount is at most SharpestCurvature.
func (s Seg) Curvature(t float64) float64 {
	if s.Straight {
		return 0
	}
	d, e := s.Deriv(t), s.Deriv2(t)
	l := d.Len()
	if l > flat*s.sides() {
		return max(-SharpestCurvature, min(SharpestCurvature, d.Cross(e)/(l*l)/l))
	}
	size := s.size()
	if l > flat*size {
		return max(-SharpestCurvature, min(SharpestCurvature, d.Cross(e)/(l*l)/l))
	}
	// The sign is that of the turn just inside.
	const step = 1e-4
	if t > 0.5 {
		t -= step
	} else {
		t += step
	}
	k := s.Deriv(t).Cross(s.Deriv2(t))
	if math.Abs(k) <= 1e-14*size*size {
		return 0
	}
	return math.Copysign(SharpestCurvature, k)
}

// turn is B'×B” as a polynomial: of degree 2, since the cubic terms cancel.
func (s Seg) turn() bern {
	a, b, c := s.P1.Sub(s.P0), s.P2.Sub(s.P1), s.P3.Sub(s.P2)
	return bern{c: [6]float64{18 * a.Cross(b), 9 * a.Cross(c), 18 * b.Cross(c)}, deg: 2}
}

// Inflections lists the parameters inside (0, 1), in order, at which the curve changes from
// turning left to turning right or back.
func (s Seg) Inflections() []float64 {
	if s.Straight {
		return nil
	}
	p := s.turn()
	size := s.size()
	if math.Abs(p.c[0])+math.Abs(p.c[1])+math.Abs(p.c[2]) <= 1e-13*size*size {
		return nil
	}
	var out []float64
	a, b, c := p.c[0]-2*p.c[1]+p.c[2], 2*(p.c[1]-p.c[0]), p.c[0]
	for _, t := range UnitRoots(a, b, c) {
		// A double root touches zero without a change of sign: that is a cusp, not an inflection.
		if len(out) > 0 && t-out[len(out)-1] < 1e-7 {
			out = out[:len(out)-1]
			continue
		}
		out = append(out, t)
	}
	return out
}

// CurvatureExtrema lists the parameters inside (0, 1) at which the curvature is stationary:
// κ' = 0 gives C'|B'|² = 3 C (B'·B”) with C = B'×B”, a polynomial of degree 5.
func (s Seg) CurvatureExtrema() []float64 {
	if s.Straight {
		return nil
	}
	a, b, c := s.P1.Sub(s.P0), s.P2.Sub(s.P1), s.P3.Sub(s.P2)
	dx := bern{c: [6]float64{3 * a.X, 3 * b.X, 3 * c.X}, deg: 2}
	dy := bern{c: [6]float64{3 * a.Y, 3 * b.Y, 3 * c.Y}, deg: 2}
	ex := bern{c: [6]float64{6 * (b.X - a.X), 6 * (c.X - b.X)}, deg: 1}
	ey := bern{c: [6]float64{6 * (b.Y - a.Y), 6 * (c.Y - b.Y)}, deg: 1}
	k := s.turn()
	dk := bern{c: [6]float64{2 * (k.c[1] - k.c[0]), 2 * (k.c[2] - k.c[1])}, deg: 1}
	speed2 := dx.mul(dx).add(dy.mul(dy), 1)
	along := dx.mul(ex).add(dy.mul(ey), 1)
	p := dk.mul(speed2).add(k.mul(along), -3)
	var out []float64
	for _, t := range p.roots(nil) {
		if t > 0 && t < 1 && (len(out) == 0 || t-out[len(out)-1] > 1e-9) {
			out = append(out, t)
		}
	}
	return out
}

// MinRadius is the smallest radius of curvature along the Path, +Inf where all of it is straight.
// Corners between Segs do not count: they have no radius.
func (p Path) MinRadius() float64 {
	k := 0.0
	for _, s := range p {
		if s.Straight {
			continue
		}
		k = max(k, max(math.Abs(s.Curvature(0)), math.Abs(s.Curvature(1))))
		for _, t := range s.CurvatureExtrema() {
			k = max(k, math.Abs(s.Curvature(t)))
		}
	}
	// A cubic whose handles are off a straight line by rounding only is straight.
	if k < 1e-12 {
		return math.Inf(1)
	}
	return 1 / k
}
