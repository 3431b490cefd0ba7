package geom

import (
	"errors"
	"fmt"
	"math"
)

// Style lines are drawn by minimum curvature variation: of the curves that leave and arrive as
// asked, the one whose curvature changes least, measured by L³∫κ'² ds, which does not depend on
// size (H. P. Moreton and C. H. Séquin, "Functional optimization for fair surface design",
// SIGGRAPH 1992, introduce the measure). Keeping both handles inside the triangle of the chord
// and the end tangents makes the control polygon convex, and a cubic with a convex control
// polygon has no inflection.

// FairOptions says how a style line is to be drawn.
type FairOptions struct {
	// Fullness is the share of the way to where the end tangents meet that both handles take,
	// LeastFullness … MostFullness: little hugs the straight line, much fills the corner. 0 looks
	// for the fairest curve. Where the tangents do not meet ahead it is a share of the chord.
	Fullness float64
	// AllowInflection lets the curve change its turn where the end directions ask for it.
	AllowInflection bool
}

// The range of FairOptions.Fullness.
const (
	LeastFullness = 0.05
	MostFullness  = 0.95
)

// Errors of Fair, to be told apart with errors.Is.
var (
	ErrNoDirection = errors.New("geom: a style line needs two different ends and a direction at each")
	ErrInflection  = errors.New("geom: a style line with these end directions must change its turn")
	ErrFullness    = errors.New("geom: fullness out of range")
)

// level is the angle, in radians, below which an end direction counts as lying along the chord.
const level = 1e-9

// mostTurn is the turn, in radians, beyond which a line that turns one way would have to run out
// and back many times its own chord.
const mostTurn = 1.7 * math.Pi

// Fair draws a style line that leaves p0 along t0 and arrives at p1 travelling along t1. Both
// directions along the chord give a straight line. The result turns one way only, unless the
// directions make that impossible and o allows an inflection.
func Fair(p0 Point, t0 Vec, p1 Point, t1 Vec, o FairOptions) (Path, error) {
	chord := p1.Sub(p0)
	l := chord.Len()
	if !p0.Finite() || !p1.Finite() || !finiteDirection(t0) || !finiteDirection(t1) || !(l > 1e-9) || math.IsInf(l, 0) {
		return nil, ErrNoDirection
	}
	if o.Fullness != 0 && !(o.Fullness >= LeastFullness && o.Fullness <= MostFullness) {
		return nil, fmt.Errorf("%w: %g, want %g to %g, or 0 for the fairest", ErrFullness, o.Fullness, LeastFullness, MostFullness)
	}
	// Turns from the start direction to the chord and from the chord to the end direction.
	a, b := t0.AngleTo(chord), chord.AngleTo(t1)
	// A start straight away from the end has no side of its own.
	if math.Abs(a) > math.Pi-level && a*b < 0 {
		a = -a
	}
	if math.Abs(b) > math.Pi-level && a*b < 0 {
		b = -b
	}
	// The curve is drawn over a chord of length one from (0, 0) to (1, 0), mirrored so that it
	// turns left first: the result then cannot depend on where the drawing lies.
	place := func(p Path) Path {
		u := chord.Unit()
		m := Affine{A: u.X * l, B: u.Y * l, C: -u.Y * l, D: u.X * l, E: p0.X, F: p0.Y}
		if a < 0 || a == 0 && b < 0 {
			m = Scale(1, -1).Then(m)
		}
		q := p.Transform(m)
		q[0].P0 = p0
		q[len(q)-1].P3 = p1
		return q
	}
	x, y := math.Abs(a), math.Abs(b)
	oneWay := x > level && y > level && a*b > 0
	switch {
	case x <= level && y <= level:
		return Path{Line(p0, p1)}, nil
	case oneWay && x+y < 0.98*math.Pi && !(o.AllowInflection && o.Fullness == 0):
		return place(Path{inTriangle(x, y, o.Fullness)}), nil
	case oneWay && x+y < 0.98*math.Pi:
		// Where one end runs nearly along the chord, a curve that turns one way only is a corner and a straight
		// line. With an inflection allowed it is drawn as its neighbours on the other side of the chord are: a
		// line must not leap from one size to the next.
		return place(Path{inflected(x, y, 0)}), nil
	case oneWay && x+y < mostTurn:
		return place(overHalfTurn(x, y, o.Fullness)), nil
	case !o.AllowInflection:
		return nil, fmt.Errorf("%w: it leaves %.3g° %s of the straight way and arrives turned %.3g° to the %s; allow an inflection or change a direction",
			ErrInflection, math.Abs(a)*180/math.Pi, side(a > 0, "right", "left"), math.Abs(b)*180/math.Pi, side(b > 0, "left", "right"))
	}
	if a == 0 {
		y = math.Abs(b)
	} else if a < 0 {
		y = -b
	} else {
		y = b
	}
	return place(Path{inflected(x, y, o.Fullness)}), nil
}

func side(yes bool, a, b string) string {
	if yes {
		return a
	}
	return b
}

func finiteDirection(v Vec) bool {
	l := v.Len()
	return l > 0 && !math.IsInf(l, 0) && !math.IsNaN(l)
}

// inTriangle is the curve over the unit chord inside the tangents' triangle with the base angles
// x and y: the law of sines gives the sides.
func inTriangle(x, y, fullness float64) Seg {
	s := math.Sin(x + y)
	da, db := math.Sin(y)/s, math.Sin(x)/s
	ua, ub := Vec{math.Cos(x), -math.Sin(x)}, Vec{math.Cos(y), math.Sin(y)}
	curve := func(f, g float64) Seg { return armed(Pt(0, 0), ua.Mul(f*da), Pt(1, 0), ub.Mul(g*db)) }
	if fullness > 0 {
		return curve(fullness, fullness)
	}
	f, g := leastVariation(curve, LeastFullness, 0.92, [5]float64{0.15, 0.35, 0.55, 0.72, 0.86})
	return curve(f, g)
}

// armed is the cubic that leaves p by the arm v and arrives at q by the arm w.
func armed(p Point, v Vec, q Point, w Vec) Seg { return Cubic(p, p.Add(v), q.Add(w.Neg()), q) }

// inflected is the curve over the unit chord with free arms, told in chords.
func inflected(x, y, fullness float64) Seg {
	ua, ub := Vec{math.Cos(x), -math.Sin(x)}, Vec{math.Cos(y), math.Sin(y)}
	curve := func(f, g float64) Seg { return armed(Pt(0, 0), ua.Mul(f), Pt(1, 0), ub.Mul(g)) }
	if fullness > 0 {
		return curve(fullness, fullness)
	}
	// There are two such curves that vary least, each among its neighbours. The best of all would leap from the
	// one to the other between two sizes of one style; going downhill from the same arms stays on one.
	const usual = 1.0 / 3
	f, g := leastVariation(curve, LeastFullness, 1.5, [5]float64{usual, usual, usual, usual, usual})
	return curve(f, g)
}

// overHalfTurn is a curve that turns by half a turn or more, so that its end tangents do not meet
// ahead. It is drawn in two halves that meet where two arcs of circles would, the second arm
// r times the first; r is chosen for the least variation of curvature in the two together.
func overHalfTurn(x, y, fullness float64) Path {
	ua, ub := Vec{math.Cos(x), -math.Sin(x)}, Vec{math.Cos(y), math.Sin(y)}
	build := func(r float64) Path {
		// Arms d and r·d with |(1,0) − d·ua − r·d·ub| = d + r·d.
		w := ua.Add(ub.Mul(r))
		qa, qb := w.Dot(w)-(1+r)*(1+r), -2*w.X
		var d float64
		if math.Abs(qa) < 1e-12 {
			d = -1 / qb
		} else {
			disc := math.Sqrt(max(0, qb*qb-4*qa))
			d = (-qb - disc) / (2 * qa)
			if d <= 0 {
				d = (-qb + disc) / (2 * qa)
			}
		}
		v0, v1 := Pt(0, 0).Add(ua.Mul(d)), Pt(1, 0).Add(ub.Mul(-r*d))
		mid := v0.Lerp(v1, 1/(1+r))
		f := [2]float64{fullness, fullness}
		if fullness == 0 {
			// Handles of a circle: 4/3·tan(θ/4) radii of a side of tan(θ/2) radii.
			for i, t := range [2]Vec{ua, ub} {
				turn := math.Abs(v1.Sub(v0).AngleTo(t))
				f[i] = 4.0 / 3 * math.Tan(turn/4) / math.Tan(turn/2)
			}
		}
		in := v1.Sub(v0).Unit()
		return Path{
			armed(Pt(0, 0), ua.Mul(f[0]*d), mid, in.Mul(f[0]*d)),
			armed(mid, in.Mul(f[1]*r*d), Pt(1, 0), ub.Mul(f[1]*r*d)),
		}
	}
	// The jump of curvature at the middle is what r can mend; equal radii are best.
	jump := func(lr float64) float64 {
		p := build(math.Exp(lr))
		k0, k1 := p[0].Curvature(0.5), p[1].Curvature(0.5)
		return math.Abs(math.Log(math.Abs(k0)/math.Abs(k1))) + 0.1*math.Abs(lr)
	}
	best, lowest := 0.0, jump(0)
	for step := 0.5; step > 1e-7; step /= 2 {
		for _, d := range [2]float64{-step, step} {
			for math.Abs(best+d) <= 3 {
				j := jump(best + d)
				if !(j < lowest) {
					break
				}
				best, lowest = best+d, j
			}
		}
	}
	return build(math.Exp(best))
}
