package geom

import (
	"math"
	"sort"
)

// Crossing is a common place of two Paths, or of a Path with itself: arc length S on the first,
// T on the second.
type Crossing struct {
	S, T float64
	P    Point
}

// Intersect lists the common places of p and q, sorted by S.
func Intersect(p, q Path, tol float64) []Crossing {
	var out []Crossing
	sp := 0.0
	for _, a := range p {
		sq := 0.0
		for _, b := range q {
			for _, r := range meet(a, b, tol) {
				out = append(out, Crossing{sp + a.lengthTo(0, r[0]), sq + b.lengthTo(0, r[1]), a.At(r[0])})
			}
			sq += b.Length()
		}
		sp += a.Length()
	}
	sort.Slice(out, func(i, j int) bool { return out[i].S < out[j].S || out[i].S == out[j].S && out[i].T < out[j].T })
	return dedupe(out, math.Max(tol, 1e-7))
}

func dedupe(in []Crossing, tol float64) []Crossing {
	var out []Crossing
next:
	for _, c := range in {
		for _, o := range out {
			if math.Abs(c.S-o.S) <= tol && math.Abs(c.T-o.T) <= tol {
				continue next
			}
		}
		out = append(out, c)
	}
	return out
}

// SelfCrossings lists where the Path meets itself; closed tells that its end is joined to its
// start. S < T in each.
func (p Path) SelfCrossings(closed bool, tol float64) []Crossing {
	var out []Crossing
	starts := make([]float64, len(p)+1)
	for i, s := range p {
		starts[i+1] = starts[i] + s.Length()
	}
	l := starts[len(p)]
	near := math.Max(tol, 1e-6)
	for i := range p {
		for j := i + 1; j < len(p); j++ {
			for _, r := range meet(p[i], p[j], tol) {
				c := Crossing{starts[i] + p[i].lengthTo(0, r[0]), starts[j] + p[j].lengthTo(0, r[1]), p[i].At(r[0])}
				if c.T-c.S <= near || closed && l-(c.T-c.S) <= near {
					continue
				}
				out = append(out, c)
			}
		}
	}
	sort.Slice(out, func(i, j int) bool { return out[i].S < out[j].S })
	return dedupe(out, near)
}

// meet lists parameter pairs at which two Segs meet, by halving boxes, then Newton.
func meet(a, b Seg, tol float64) [][2]float64 {
	var out [][2]float64
	var walk func(x, y Seg, t0, t1, u0, u1 float64, depth int)
	walk = func(x, y Seg, t0, t1, u0, u1 float64, depth int) {
		if len(out) > 64 || !hull(x).Inset(-tol).Overlaps(hull(y)) {
			return
		}
		if depth >= 24 {
			t, u := polish(a, b, (t0+t1)/2, (u0+u1)/2)
			if a.At(t).Dist(b.At(u)) <= math.Max(tol, 1e-9) {
				for _, o := range out {
					if a.At(t).Dist(a.At(o[0])) < 1e-6 && math.Abs(o[0]-t) < 1e-3 {
						return
					}
				}
				out = append(out, [2]float64{t, u})
			}
			return
		}
		x0, x1 := x.Split(0.5)
		y0, y1 := y.Split(0.5)
		tm, um := (t0+t1)/2, (u0+u1)/2
		walk(x0, y0, t0, tm, u0, um, depth+1)
		walk(x0, y1, t0, tm, um, u1, depth+1)
		walk(x1, y0, tm, t1, u0, um, depth+1)
		walk(x1, y1, tm, t1, um, u1, depth+1)
	}
	walk(a, b, 0, 1, 0, 1, 0)
	return out
}

func hull(s Seg) Rect { return EmptyRect().Add(s.P0).Add(s.P1).Add(s.P2).Add(s.P3) }

func polish(a, b Seg, t, u float64) (float64, float64) {
	for range 20 {
		r := b.At(u).Sub(a.At(t))
		da, db := a.Deriv(t), b.Deriv(u)
		det := da.Cross(db)
		if math.Abs(det) < 1e-12*da.Len()*db.Len() || det == 0 {
			break
		}
		t = math.Min(1, math.Max(0, t+r.Cross(db)/det))
		u = math.Min(1, math.Max(0, u+r.Cross(da)/det))
	}
	return t, u
}
