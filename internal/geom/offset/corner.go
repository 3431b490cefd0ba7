package offset

import (
	"math"

	"sizerun/internal/geom"
)

// side is one of the two edges that meet in a corner, seen from the corner.
type side struct {
	away   []rawSeg   // the parallel, leading away from the corner
	seam   geom.Path  // the edge itself, leading away from the corner
	at     geom.Point // where the edge ends
	foot   geom.Point // where its parallel ends
	n      geom.Vec   // unit normal of the edge at the corner, to the right of the outline's travel
	beyond geom.Vec   // unit tangent of the edge, run on past the corner
	w      float64
}

// end is how the parallel of a side ends in a corner: cut short at (idx, t) of away, or run on
// straight from its foot; in both cases at the point to.
type end struct {
	cut bool
	idx int
	t   float64
	to  geom.Point
}

// plan is a corner worked out: how both sides end, and what lies between, from a.to to b.to.
type plan struct {
	a, b    end
	mid     geom.Path
	made    Corner
	residue float64
}

// corner is the meeting of side a, arriving, and side b, leaving, at v.
type corner struct {
	v     geom.Point
	a, b  side
	turn  float64 // left positive
	limit float64 // greatest distance of the corner's tip from v, mm
	tol   float64
}

const (
	// sameTurn is the angle below which two tangents count as one.
	sameTurn = 1e-9
	// step is the turn below which different widths are joined by a step: the mitre of a nearly straight
	// corner runs off along the edge.
	step = 1e-3
	// slack, mm, is how far a parallel's end may be moved to meet its neighbour's without a joint of its own.
	slack = 1e-3
)

func (c *corner) plan(j Joint) plan {
	switch j.Corner {
	case Bevel:
		return c.across(Bevel)
	case Free:
		if len(j.Way) > 0 {
			return c.way(j.Way)
		}
	case Square, Return, Roof:
		rule, other := c.a, c.b
		if j.After {
			rule, other = c.b, c.a
		}
		var p plan
		var ok bool
		switch j.Corner {
		case Square:
			p, ok = c.square(rule, other)
		case Return:
			p, ok = c.fold(rule, other, j.Turns)
		default:
			p, ok = c.roof(rule, other, j.Tip)
			if !ok {
				return c.across(Bevel)
			}
		}
		if ok {
			if j.After {
				p.a, p.b, p.mid = p.b, p.a, p.mid.Reverse()
			}
			return p
		}
	}
	return c.mitre()
}

// plain joins the parallels' ends without regard to where they cross: trimming by winding
// numbers removes what folds back. Where the strips overlap, the way leads over the corner itself,
// so that neither strip is narrowed; where they gape, straight across.
func (c *corner) plain() plan {
	p := plan{a: end{to: c.a.foot}, b: end{to: c.b.foot}, made: Mitre}
	if c.a.foot.Dist(c.b.foot) < 1e-9 {
		p.b.to = c.a.foot
		return p
	}
	if c.turn*(c.a.w+c.b.w) < 0 && math.Abs(c.turn) > 0.02 {
		p.mid = line(p.mid, c.a.foot, c.v)
		p.mid = line(p.mid, c.v, c.b.foot)
		return p
	}
	p.mid = line(nil, c.a.foot, c.b.foot)
	return p
}

func (c *corner) across(made Corner) plan {
	p := c.plain()
	p.made = made
	return p
}

// way leads along a path given from outside; the parallels run on or are cut to meet it.
func (c *corner) way(w geom.Path) plan {
	return plan{a: c.meet(c.a, w.Start()), b: c.meet(c.b, w.End()), mid: w, made: Free}
}

// meet ends a side at a point that lies on its parallel, or on the straight run beyond it.
func (c *corner) meet(s side, to geom.Point) end {
	if to.Sub(s.foot).Dot(s.beyond) >= -1e-9 {
		return end{to: to}
	}
	best, at := math.Inf(1), end{to: to}
	for i, r := range s.away {
		q := geom.Path{r.Seg}
		l, d := q.Project(to)
		if d < best-1e-9 {
			best = d
			at = end{true, i, r.ParamAt(l), to}
		}
	}
	return at
}

// mitre runs both parallels on straight until they meet. With a and b the widths, u and v the
// tangents and θ the turn, the meeting point is s = (b − a cos θ) / sin θ beyond the arriving parallel's end and
// t = (b cos θ − a) / sin θ along the leaving one. Where one of them is to be cut back instead, as
// happens when widths differ at an open corner, the straight run of the other is brought to the curve.
func (c *corner) mitre() plan {
	a, b, th := c.a.w, c.b.w, c.turn
	u, v := c.a.beyond, c.b.beyond.Neg()
	var s, t float64
	switch sin, cos := math.Sincos(th); {
	case math.Abs(a-b) < 1e-12:
		if math.Abs(th) < sameTurn {
			return c.plain()
		}
		s = a * math.Tan(th/2)
		t = -s
	case math.Abs(sin) < step:
		return c.plain()
	default:
		s, t = (b-a*cos)/sin, (b*cos-a)/sin
	}
	tip := c.a.foot.Add(u.Mul(s))
	if math.Abs(s) < slack && math.Abs(t) < slack {
		return plan{a: end{to: tip}, b: end{to: tip}, made: Mitre}
	}
	const zero = 1e-9
	switch {
	case s >= -zero && t <= zero:
		if math.Abs(t) <= zero {
			tip = c.b.foot
		} else if math.Abs(s) <= zero {
			tip = c.a.foot
		}
		if math.Hypot(a, s) > c.limit {
			return c.bevel()
		}
		return plan{a: end{to: tip}, b: end{to: tip}, made: Mitre}
	case s >= -zero && t > 0:
		if h, ok := firstHit(c.b.away, c.a.foot, u, c.limit); ok {
			return plan{a: end{to: h.to}, b: h, made: Mitre}
		}
	case s < 0 && t <= zero:
		if h, ok := firstHit(c.a.away, c.b.foot, v.Neg(), c.limit); ok {
			return plan{a: h, b: end{to: h.to}, made: Mitre}
		}
	}
	return c.plain()
}

// bevel cuts a sharp corner off square to its bisector, at the limit.
func (c *corner) bevel() plan {
	u, v := c.a.beyond, c.b.beyond.Neg()
	w := u.Sub(v).Unit()
	du, dv := w.Dot(u), -w.Dot(v)
	if !(du > 1e-6 && dv > 1e-6) {
		return c.across(Bevel)
	}
	s := (c.limit - c.a.n.Dot(w)*c.a.w) / du
	t := (c.limit - c.b.n.Dot(w)*c.b.w) / dv
	if s < 0 || t < 0 {
		return c.across(Bevel)
	}
	p := plan{a: end{to: c.a.foot.Add(u.Mul(s))}, b: end{to: c.b.foot.Add(v.Mul(-t))}, made: Bevel}
	p.mid = line(nil, p.a.to, p.b.to)
	return p
}

// crossing is where the other side's parallel crosses the ruling edge run on past the corner: on
// its own straight run, or on the curve.
func (c *corner) crossing(dir geom.Vec, other side) (end, bool) {
	o := other.at
	sin, cos := dir.Cross(other.beyond), dir.Dot(other.beyond)
	if math.Abs(sin) < 0.05 {
		return end{}, false
	}
	if math.Abs(other.w) < 1e-12 {
		return end{to: o}, true
	}
	// The strip gapes only where the corner turns away from the strips.
	s := math.Abs(other.w / sin)
	if s > 2*c.limit {
		return end{}, false
	}
	// On the other's straight run: it starts at its foot, and s along dir is t along beyond.
	if t := s * cos; t >= -1e-9 {
		to := o.Add(dir.Mul(s))
		if math.Abs(t) < 1e-9 {
			to = other.foot
		}
		return end{to: to}, true
	}
	return firstHit(other.away, o, dir, 2*c.limit)
}

// square ends the ruling edge's strip square to that edge, where the other side's line crosses it:
// sewn and pressed flat, the strip's end lies flush with that line.
func (c *corner) square(rule, other side) (plan, bool) {
	if c.turn <= 0.05 || rule.w < 0 || other.w < 0 {
		return plan{}, false
	}
	x, ok := c.crossing(rule.beyond, other)
	if !ok {
		return plan{}, false
	}
	to := x.to.Add(rule.n.Mul(rule.w))
	p := plan{a: end{to: to}, b: x, made: Square}
	p.mid = line(nil, to, x.to)
	return p, true
}

// fold is the return of a hem: beyond the fold the other side's line is mirrored, so that it lies on
// itself when the hem is turned up. A hem turned twice is a pleat of two halves, so its return runs
// out and back again. The fold of a curved hem is taken straight along the chord
// of the stretch that the return covers; the residue says what that costs.
func (c *corner) fold(rule, other side, turns int) (plan, bool) {
	if c.turn <= 0.05 || rule.w <= 0 || other.w < 0 {
		return plan{}, false
	}
	dir := rule.beyond
	var p plan
	for pass := range 2 {
		x, ok := c.crossing(dir, other)
		if !ok {
			return plan{}, false
		}
		depth := rule.w
		if turns >= 2 {
			depth /= 2
		}
		inner, ok := c.inner(dir, other, x, depth)
		if !ok {
			return plan{}, false
		}
		if pass == 0 && len(rule.seam) > 0 {
			// How far the return leans over the hem decides how much of its curve is the fold.
			if lean := c.v.Sub(inner.End()).Dot(dir); lean > 1e-6 {
				if ch := c.v.Sub(rule.seam.PointAt(lean)); ch.Len() > 1e-6 && math.Abs(ch.Unit().Cross(dir)) > 1e-12 {
					dir = ch.Unit()
					continue
				}
			}
		}
		ret := inner.Transform(geom.MirrorAbout(c.v, dir))
		if turns >= 2 {
			mid := c.v.Add(foldNormal(dir, rule).Mul(depth))
			ret = ret.Join(ret.Reverse().Transform(geom.MirrorAbout(mid, dir)))
		}
		h, s, ok := c.land(rule, ret)
		if !ok {
			return plan{}, false
		}
		back := cutAt(ret, s, h.to)
		p = plan{a: h, b: x, mid: back.Reverse(), made: Return}
		p.residue = residue(rule, other, x, back, turns)
		return p, true
	}
	return plan{}, false
}

// foldNormal is the unit normal of the fold on the outer side.
func foldNormal(dir geom.Vec, rule side) geom.Vec {
	if n := dir.Left(); n.Dot(rule.n) > 0 {
		return n
	}
	return dir.Right()
}

// inner is the other side's line from where the fold crosses it to the given depth inside the fold;
// past its far end it runs on straight.
func (c *corner) inner(dir geom.Vec, other side, x end, depth float64) (geom.Path, bool) {
	q := other.run(x, 4*depth+1)
	if len(q) == 0 {
		return nil, false
	}
	n := dir.Left()
	if n.Dot(q.StartTangent()) < 0 {
		n = n.Neg()
	}
	o := c.v.Add(n.Mul(depth))
	for i, s := range q {
		if h := lineHits(s, o, dir); len(h) > 0 {
			cut := s.Sub(0, h[0])
			return append(q[:i:i], cut), true
		}
	}
	return nil, false
}

// run is a side's line from x on, away from the corner; past its far end it runs on straight.
func (s side) run(x end, far float64) geom.Path {
	var q geom.Path
	if x.cut {
		q = append(q, withStart(s.away[x.idx].Sub(x.t, 1), x.to))
		q = append(q, segs(s.away[x.idx+1:])...)
	} else {
		q = append(line(nil, x.to, s.foot), segs(s.away)...)
	}
	if len(q) == 0 {
		return nil
	}
	return line(q, q.End(), q.End().Add(q.EndTangent().Mul(far)))
}

// roof leads over the mouth of a dart with its point at tip. Folded to the ruling side, the half of the dart next to that
// side lies mirrored under it and the other half turned over by the whole dart, both edged by the
// ruling side's line: unfolded, that line stands mirrored in the leg on the one half and turned about the point on the other.
func (c *corner) roof(rule, other side, tip geom.Point) (plan, bool) {
	leg, far := rule.at.Sub(tip), other.at.Sub(tip)
	if leg.Len() < 1 || far.Len() < 1 || rule.w < 0 || other.w < 0 {
		return plan{}, false
	}
	angle := leg.AngleTo(far)
	if math.Abs(angle) < 1e-6 || math.Abs(angle) > 2.8 {
		return plan{}, false
	}
	// A leg that meets its edge more aslant than thirty degrees has no mouth to speak of.
	if math.Abs(leg.Unit().Cross(rule.beyond)) < 0.5 || math.Abs(far.Unit().Cross(other.beyond)) < 0.5 {
		return plan{}, false
	}
	x, ok := c.crossing(leg.Unit(), rule)
	if !ok {
		return plan{}, false
	}
	y, ok := c.crossing(far.Unit(), other)
	if !ok {
		return plan{}, false
	}
	fold := leg.Unit().Rotate(-angle / 2)
	q := rule.run(x, 4*leg.Len())
	var half geom.Path
	for i, s := range q {
		if h := lineHits(s, tip, fold); len(h) > 0 && s.At(h[0]).Sub(tip).Dot(fold) > 0 {
			half = q[:i].Join(geom.Path{s.Sub(0, h[0])})
			break
		}
	}
	if len(half) == 0 {
		return plan{}, false
	}
	p := plan{a: x, b: y, made: Roof}
	near := half.Transform(geom.MirrorAbout(tip, leg))
	turned := half.Reverse().Transform(geom.RotateAbout(tip, angle))
	turned[0] = withStart(turned[0], near.End())
	p.mid = line(near.Join(turned), turned.End(), y.to)
	return p, true
}

// land is where the return meets the ruling edge's parallel, run on past the corner: the end of
// that parallel, and the arc length on the return.
func (c *corner) land(rule side, ret geom.Path) (end, float64, bool) {
	run := 3*c.limit + 2*rule.w
	outer := append(line(nil, rule.foot.Add(rule.beyond.Mul(run)), rule.foot), segs(rule.away)...)
	// The return is run on a little: on a curved hem, and by rounding, it may end short of the line.
	longer := line(ret, ret.End(), ret.End().Add(ret.EndTangent().Mul(rule.w)))
	if first := outer[0]; len(ret) == 1 && ret[0].Straight {
		// Two straight lines: exact, and the usual case.
		u, v := longer[0], first
		if t, ok := cross(u.P0, ret.End().Sub(ret.Start()), v.P3, v.P0.Sub(v.P3)); ok {
			at := ret.Start().Lerp(ret.End(), t)
			if at.Sub(v.P3).Dot(rule.beyond) >= -1e-9 && t > 0 && at.Dist(c.v) <= run {
				return end{to: at}, t * ret.Length(), true
			}
		}
	}
	hits := geom.Intersect(longer, outer, 1e-9)
	if len(hits) == 0 {
		return end{}, 0, false
	}
	h := hits[0]
	if h.T <= run {
		return end{to: h.P}, h.S, true
	}
	l := h.T - run
	for i, r := range rule.away {
		n := r.Length()
		if l <= n || i == len(rule.away)-1 {
			return end{true, i, r.ParamAt(l), h.P}, h.S, true
		}
		l -= n
	}
	return end{}, 0, false
}

// cutAt is the path up to arc length s, ending exactly at to; past its end it runs on straight.
func cutAt(p geom.Path, s float64, to geom.Point) geom.Path {
	l := p.Length()
	if s >= l-1e-9 {
		if p.End().Dist(to) < 1e-9 {
			return moveEnd(p, to)
		}
		return line(p, p.End(), to)
	}
	a, _ := p.Split(s)
	return moveEnd(a, to)
}

func moveEnd(p geom.Path, to geom.Point) geom.Path {
	if len(p) == 0 {
		return p
	}
	out := append(geom.Path{}, p...)
	out[len(out)-1] = withEnd(out[len(out)-1], to)
	return out
}

// residue folds the return up, each point about the place of the hem nearest to it, and measures how far it then
// lies from the other side's line. A straight hem leaves nothing.
func residue(rule, other side, x end, back geom.Path, turns int) float64 {
	if len(rule.seam) == 0 || turns >= 2 {
		return 0
	}
	target := append(line(nil, x.to, other.foot), segs(other.away)...)
	hem := append(line(nil, rule.seam.Start().Add(rule.beyond.Mul(1e4)), rule.seam.Start()), rule.seam...)
	worst := 0.0
	l := back.Length()
	for i := 0; i <= 8; i++ {
		q := back.PointAt(l * float64(i) / 8)
		s, _ := hem.Project(q)
		m := geom.MirrorAbout(hem.PointAt(s), hem.TangentAt(s))
		_, d := target.Project(m.Apply(q))
		worst = max(worst, d)
	}
	if worst < 1e-6 {
		return 0
	}
	return worst
}

func segs(rs []rawSeg) geom.Path {
	out := make(geom.Path, len(rs))
	for i, r := range rs {
		out[i] = r.Seg
	}
	return out
}

// line adds a straight Seg, unless it has no length.
func line(p geom.Path, a, b geom.Point) geom.Path {
	if a.Dist(b) < 1e-9 {
		return p
	}
	return append(p[:len(p):len(p)], geom.Line(a, b))
}

// cross is the parameter t at which p + t u meets the line q + s v.
func cross(p geom.Point, u geom.Vec, q geom.Point, v geom.Vec) (float64, bool) {
	den := u.Cross(v)
	if math.Abs(den) < 1e-12*u.Len()*v.Len() || den == 0 {
		return 0, false
	}
	return q.Sub(p).Cross(v) / den, true
}

// firstHit is the first place, along the ray from o, at which it meets the chain.
func firstHit(chain []rawSeg, o geom.Point, dir geom.Vec, far float64) (end, bool) {
	best, found := end{}, false
	at := far
	for i, r := range chain {
		for _, t := range lineHits(r.Seg, o, dir) {
			p := r.At(t)
			l := p.Sub(o).Dot(dir)
			if l > -1e-9 && l <= at {
				best, at, found = end{true, i, t, p}, l, true
			}
		}
	}
	return best, found
}

// lineHits lists in order the parameters at which the Seg meets the line through o along dir. The distance
// from the line is a cubic in t: between its turning points it is monotone and has at most one root.
func lineHits(s geom.Seg, o geom.Point, dir geom.Vec) []float64 {
	d0, d3 := dir.Cross(s.P0.Sub(o)), dir.Cross(s.P3.Sub(o))
	if s.Straight {
		if (d0 < 0) == (d3 < 0) && d0 != 0 && d3 != 0 || d0 == d3 {
			return nil
		}
		return []float64{d0 / (d0 - d3)}
	}
	d1, d2 := dir.Cross(s.P1.Sub(o)), dir.Cross(s.P2.Sub(o))
	if d0 > 0 && d1 > 0 && d2 > 0 && d3 > 0 || d0 < 0 && d1 < 0 && d2 < 0 && d3 < 0 {
		return nil
	}
	f := func(t float64) float64 {
		u := 1 - t
		return u*u*u*d0 + 3*u*u*t*d1 + 3*u*t*t*d2 + t*t*t*d3
	}
	cuts := []float64{0}
	turns := geom.UnitRoots(d3-3*d2+3*d1-d0, 2*(d2-2*d1+d0), d1-d0)
	cuts = append(append(cuts, turns...), 1)
	var out []float64
	for i := 1; i < len(cuts); i++ {
		a, b := cuts[i-1], cuts[i]
		fa, fb := f(a), f(b)
		switch {
		case fa == 0:
			if i == 1 {
				out = append(out, a)
			}
			continue
		case fb == 0:
			out = append(out, b)
			continue
		case (fa < 0) == (fb < 0):
			continue
		}
		// Regula falsi inside a bracket that halving keeps honest. A place that vanishes exactly is the root,
		// however wide the bracket still is.
		narrow := func(t float64) bool {
			ft := f(t)
			switch {
			case ft == 0:
				a, b = t, t
			case (ft < 0) == (fa < 0):
				a, fa = t, ft
			default:
				b, fb = t, ft
			}
			return b-a < 1e-16
		}
		for range 100 {
			if z := a - fa*(b-a)/(fb-fa); z > a && z < b && narrow(z) {
				break
			}
			if narrow((a + b) / 2) {
				break
			}
		}
		out = append(out, (a+b)/2)
	}
	return out
}

// withEnd moves the end of a Seg to p, its handle along with it.
func withEnd(s geom.Seg, p geom.Point) geom.Seg {
	if s.Straight {
		return geom.Line(s.P0, p)
	}
	s.P2 = s.P2.Add(p.Sub(s.P3))
	s.P3 = p
	return s
}

func withStart(s geom.Seg, p geom.Point) geom.Seg {
	if s.Straight {
		return geom.Line(p, s.P3)
	}
	s.P1 = s.P1.Add(p.Sub(s.P0))
	s.P0 = p
	return s
}
