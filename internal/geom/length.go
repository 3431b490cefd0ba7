package geom

import "math"

// Arc length is the integral of the speed |B'(t)|, and |B'|² = q(t)·q̄(t), where q is the
// derivative read as a complex quadratic. So the speed is analytic except at the two roots of q
// and their conjugates, and those are known in closed form. How fast Gauss-Legendre converges on
// an interval depends on nothing but the distance of these roots from it (the largest ellipse
// with foci at the interval's ends that holds none of them: L. N. Trefethen, "Is Gauss quadrature
// better than Clenshaw-Curtis?", SIAM Review 50, 2008, theorem 4.5). The rule with the fewest
// nodes that is exact enough can therefore be chosen before the speed is evaluated once, and near
// a cusp, where any fixed rule fails, the interval is cut exactly where the speed dips.

// node is a Gauss-Legendre abscissa of the positive half of [-1, 1] and its weight.
type node struct{ x, w float64 }

// rule is a Gauss-Legendre rule and the half axis sum from which it may be used.
type rule struct {
	nodes []node
	// axis is the smallest semi-major axis of the Bernstein ellipse for which the rule's error,
	// about ρ^(-2n), is below 1e-11 of the length: axis = (ρ + 1/ρ)/2.
	axis float64
}

// Abscissae and weights are roots of the Legendre polynomials, computed by Newton's method on
// the three-term recurrence; they agree with Abramowitz & Stegun, table 25.4.
var (
	gauss4 = rule{[]node{{0.33998104358485631, 0.65214515486254609}, {0.86113631159405257, 0.34785484513745374}}, 11.9}
	gauss8 = rule{[]node{
		{0.18343464249564981, 0.36268378337836199}, {0.52553240991632899, 0.31370664587788738},
		{0.79666647741362684, 0.22238103445337445}, {0.96028985649753629, 0.10122853629037618},
	}, 2.54}
	gauss16 = rule{[]node{
		{0.095012509837637441, 0.18945061045506847}, {0.28160355077925892, 0.18260341504492361},
		{0.45801677765722737, 0.16915651939500256}, {0.61787624440264377, 0.14959598881657682},
		{0.755404408355003, 0.12462897125553395}, {0.86563120238783176, 0.095158511682492897},
		{0.9445750230732326, 0.062253523938647776}, {0.98940093499164994, 0.027152459411754058},
	}, 1.34}
	gauss24 = rule{[]node{
		{0.06405689286260563, 0.12793819534675224}, {0.19111886747361631, 0.12583745634682839},
		{0.3150426796961634, 0.12167047292780335}, {0.43379350762604513, 0.11550566805372554},
		{0.54542147138883956, 0.10744427011596562}, {0.64809365193697555, 0.097618652104113898},
		{0.74012419157855436, 0.086190161531953219}, {0.82000198597390295, 0.073346481411080272},
		{0.88641552700440107, 0.059298584915436658}, {0.9382745520027328, 0.044277438819417676},
		{0.97472855597130947, 0.028531388628933813}, {0.99518721999702131, 0.012341229799987334},
	}, 1.142}
)

// cuspWidth is the distance of a root from the real axis, in the parameter, below which the speed
// is taken to reach zero: it changes the length by less than cuspWidth² of it.
const cuspWidth = 1e-6

// speed is |B'(t)| made ready for integration: the derivative in the power basis and the roots
// of it as a complex quadratic.
type speed struct {
	ax, ay, bx, by, cx, cy float64
	root                   [2]struct{ re, im float64 }
	roots                  int
}

func (s Seg) speed() speed {
	c := s.P1.Sub(s.P0)
	m := s.P2.Sub(s.P1)
	e := s.P3.Sub(s.P2)
	v := speed{
		ax: 3 * (e.X - 2*m.X + c.X), ay: 3 * (e.Y - 2*m.Y + c.Y),
		bx: 6 * (m.X - c.X), by: 6 * (m.Y - c.Y),
		cx: 3 * c.X, cy: 3 * c.Y,
	}
	v.findRoots()
	return v
}

// findRoots solves a z² + b z + c = 0 over the complex numbers without cancellation. Roots far
// away, or lost because a (almost) vanishes, need not be known.
func (v *speed) findRoots() {
	// d = sqrt(b² − 4ac)
	dx := v.bx*v.bx - v.by*v.by - 4*(v.ax*v.cx-v.ay*v.cy)
	dy := 2*v.bx*v.by - 4*(v.ax*v.cy+v.ay*v.cx)
	r := math.Sqrt(dx*dx + dy*dy)
	sx := math.Sqrt(max(0, (r+dx)/2))
	sy := math.Copysign(math.Sqrt(max(0, (r-dx)/2)), dy)
	if v.bx*sx+v.by*sy < 0 {
		sx, sy = -sx, -sy
	}
	qx, qy := -(v.bx+sx)/2, -(v.by+sy)/2
	v.addRoot(qx, qy, v.ax, v.ay)
	v.addRoot(v.cx, v.cy, qx, qy)
}

// addRoot keeps n/d.
func (v *speed) addRoot(nx, ny, dx, dy float64) {
	m := dx*dx + dy*dy
	if m <= 1e-24*(nx*nx+ny*ny) || m == 0 {
		return
	}
	v.root[v.roots].re = (nx*dx + ny*dy) / m
	v.root[v.roots].im = math.Abs(ny*dx-nx*dy) / m
	v.roots++
}

func (v *speed) at(t float64) float64 {
	x := (v.ax*t+v.bx)*t + v.cx
	y := (v.ay*t+v.by)*t + v.cy
	return math.Sqrt(x*x + y*y)
}

// integral is the arc length between parameters a <= b.
func (v *speed) integral(a, b float64, depth int) float64 {
	m, h := (a+b)/2, (b-a)/2
	if h <= 0 {
		return 0
	}
	axis, cut := math.Inf(1), m
	for _, z := range v.root[:v.roots] {
		if z.im < cuspWidth {
			// A zero of the speed makes it |t − re| times something smooth: smooth on either side.
			if z.re > a && z.re < b && depth < 60 {
				return v.integral(a, z.re, depth+1) + v.integral(z.re, b, depth+1)
			}
			continue
		}
		x, y := (z.re-m)/h, z.im/h
		k := (math.Sqrt((x-1)*(x-1)+y*y) + math.Sqrt((x+1)*(x+1)+y*y)) / 2
		if k < axis {
			axis, cut = k, z.re
		}
	}
	switch {
	case axis >= gauss4.axis:
		return v.gauss(gauss4.nodes, m, h)
	case axis >= gauss8.axis:
		return v.gauss(gauss8.nodes, m, h)
	case axis >= gauss16.axis:
		return v.gauss(gauss16.nodes, m, h)
	case axis >= gauss24.axis || depth >= 60:
		return v.gauss(gauss24.nodes, m, h)
	}
	if math.Abs(cut-m) > 0.9*h {
		cut = m
	}
	return v.integral(a, cut, depth+1) + v.integral(cut, b, depth+1)
}

func (v *speed) gauss(nodes []node, m, h float64) float64 {
	l := 0.0
	for _, n := range nodes {
		l += n.w * (v.at(m-h*n.x) + v.at(m+h*n.x))
	}
	return l * h
}

// param is the parameter at arc length d of a curve of length l, clamped to [0, 1]: Newton's
// method kept inside a bracket, each step integrating only the stretch it moved over.
func (v *speed) param(d, l float64) float64 {
	switch {
	case !(d > 0) || l == 0:
		return 0
	case d >= l:
		return 1
	}
	lo, hi, t := 0.0, 1.0, d/l
	f := v.integral(0, t, 0) - d
	for range 80 {
		if math.Abs(f) <= 1e-13*l {
			break
		}
		if f > 0 {
			hi = t
		} else {
			lo = t
		}
		n := t - f/v.at(t)
		if !(n > lo && n < hi) {
			n = (lo + hi) / 2
		}
		if n == t {
			break
		}
		if n > t {
			f += v.integral(t, n, 0)
		} else {
			f -= v.integral(n, t, 0)
		}
		t = n
	}
	return t
}

// Length is the arc length of the Seg, to about 1e-11 of it.
func (s Seg) Length() float64 {
	if s.Straight {
		return s.P0.Dist(s.P3)
	}
	v := s.speed()
	return v.integral(0, 1, 0)
}

// lengthTo is the arc length between two parameters t0 <= t1.
func (s Seg) lengthTo(t0, t1 float64) float64 {
	if s.Straight {
		return s.P0.Dist(s.P3) * (t1 - t0)
	}
	v := s.speed()
	return v.integral(t0, t1, 0)
}

// ParamAt is the parameter t at arc length d from the start, clamped to [0, 1].
func (s Seg) ParamAt(d float64) float64 {
	_, t := s.lengthAndParam(d)
	return t
}

// lengthAndParam gives the Seg's length and, when d lies on it, the parameter there.
func (s Seg) lengthAndParam(d float64) (l, t float64) {
	if s.Straight {
		l = s.P0.Dist(s.P3)
		switch {
		case !(d > 0) || l == 0:
			return l, 0
		case d >= l:
			return l, 1
		}
		return l, d / l
	}
	v := s.speed()
	l = v.integral(0, 1, 0)
	return l, v.param(d, l)
}
