package geom

import (
	"math"
	"slices"
)

// Finding where two Segs meet goes by the kind of meeting:
//
//   - an end of one near the other is found by projection, so that a seam that stops at a line
//     counts as reaching it;
//   - lines with lines, and lines with cubics, are solved in closed form or as a cubic equation;
//   - two cubics are halved until a pair is proved to be simple, and then finished by Newton's
//     method. A pair is simple in one of two ways. Either no tangent of one is parallel to any
//     tangent of the other: then there is one crossing or none. Or both are gentle arcs and one
//     is everywhere more bent: then their distance is convex along them, and its lowest place
//     tells of two crossings, a touch, or none. The second case is what makes tangential touches
//     cheap and counted once.
//
// Pairs that never become simple run together; they are gathered into stretches, and the ends of
// a stretch are given.

// hit is a meeting of two Segs: parameters, the distance left between the two places, and the
// sine of the angle there.
type hit struct {
	t, u, gap, sine float64
}

const (
	// exactGap is the distance, in mm, below which a meeting counts as solved rather than near.
	exactGap = 1e-9
	// mostPairs bounds the pairs under study at one depth; curves that meet in general position
	// need a few dozen.
	mostPairs = 256
	// gentle is the turn, in radians, of a piece whose distance from its like may be treated as
	// a function of the way along it.
	gentle = 0.2
)

// meet lists the common places of a and b, each once. Places nearer than tol count as common
// when one of them is an end, a touch, or in a stretch that runs together.
func meet(a, b Seg, tol float64) []hit {
	tol = max(tol, exactGap)
	if !a.hull().Inset(-tol).Overlaps(b.hull()) {
		return nil
	}
	hits := endHits(a, b, tol)
	// A stretch lies between the ends; no other place of it is told.
	apart := [][2]float64{{0, 1}}
	if len(hits) >= 2 {
		apart = cutStretches(a, b, hits, tol)
	}
	for _, r := range apart {
		switch {
		case a.Straight && b.Straight:
			hits = append(hits, lineLine(a, b)...)
		case a.Straight:
			for _, h := range lineCubic(a, b, tol) {
				hits = append(hits, hit{h.u, h.t, h.gap, h.sine})
			}
		case b.Straight:
			hits = append(hits, lineCubic(b, a, tol)...)
		default:
			m := meeting{a: a, b: b, tol: tol}
			m.study(r)
			hits = append(hits, m.hits...)
		}
	}
	return a.distinctHits(b, hits, tol)
}

// endHits are the ends of one that lie within tol of the other.
func endHits(a, b Seg, tol float64) []hit {
	var out []hit
	add := func(t, u float64) {
		out = append(out, a.hitAt(b, t, u))
	}
	for i, q := range [2]Point{a.P0, a.P3} {
		if b.within(q, tol, 0) {
			if u, d := b.nearest(q); d <= tol {
				add(float64(i), u)
			}
		}
	}
	for i, q := range [2]Point{b.P0, b.P3} {
		if a.within(q, tol, 0) {
			if t, d := a.nearest(q); d <= tol {
				add(t, float64(i))
			}
		}
	}
	return out
}

func (s Seg) hitAt(o Seg, t, u float64) hit {
	return hit{t, u, s.At(t).Dist(o.At(u)), math.Abs(s.Tangent(t).Cross(o.Tangent(u)))}
}

// within is a cheap test that can say no: q is farther than tol from the Seg.
func (s Seg) within(q Point, tol float64, depth int) bool {
	if !s.hull().Inset(-tol).Contains(q) {
		return false
	}
	if s.Straight || depth >= 5 {
		return true
	}
	l, r := s.Split(0.5)
	return l.within(q, tol, depth+1) || r.within(q, tol, depth+1)
}

// cutStretches looks for stretches of a, between two of the end hits, that run along b, and gives
// the parameter ranges of a that remain.
func cutStretches(a, b Seg, hits []hit, tol float64) [][2]float64 {
	ts := make([]float64, len(hits))
	for i, h := range hits {
		ts[i] = h.t
	}
	slices.Sort(ts)
	apart := [][2]float64{}
	from := 0.0
	for i := 1; i < len(ts); i++ {
		t0, t1 := ts[i-1], ts[i]
		if a.At(t0).Dist(a.At(t1)) <= 4*tol && a.At((t0+t1)/2).Dist(a.At(t0)) <= 4*tol {
			continue
		}
		along := true
		for k := 1; k <= 5 && along; k++ {
			_, d := b.nearest(a.At(t0 + (t1-t0)*float64(k)/6))
			along = d <= tol
		}
		if along {
			if t0 > from {
				apart = append(apart, [2]float64{from, t0})
			}
			from = t1
		}
	}
	if from < 1 {
		apart = append(apart, [2]float64{from, 1})
	}
	return apart
}

// lineLine is the crossing of two lines that are not parallel.
func lineLine(a, b Seg) []hit {
	d, e, w := a.P3.Sub(a.P0), b.P3.Sub(b.P0), b.P0.Sub(a.P0)
	det := d.Cross(e)
	if math.Abs(det) <= 1e-14*d.Len()*e.Len() {
		return nil
	}
	t, u := w.Cross(e)/det, w.Cross(d)/det
	if !(t >= 0 && t <= 1 && u >= 0 && u <= 1) {
		return nil
	}
	return []hit{a.hitAt(b, t, u)}
}

// lineCubic gives hits of cubic c (t) with line l (u): the roots of c's distance from the line,
// and its lowest places where they stay within tol without crossing.
func lineCubic(l, c Seg, tol float64) []hit {
	d := l.P3.Sub(l.P0)
	n := d.Len()
	if n == 0 {
		return nil
	}
	off := bern{deg: 3}
	flatHere := true
	for i, q := range [4]Point{c.P0, c.P1, c.P2, c.P3} {
		off.c[i] = d.Cross(q.Sub(l.P0)) / n
		flatHere = flatHere && math.Abs(off.c[i]) <= tol
	}
	if flatHere {
		return nil // runs along the line: told by its ends
	}
	var out []hit
	add := func(t float64) {
		if u := c.At(t).Sub(l.P0).Dot(d) / (n * n); u >= 0 && u <= 1 {
			out = append(out, c.hitAt(l, t, u))
		}
	}
	var buf [8]float64
	for _, t := range off.roots(buf[:0]) {
		add(t)
	}
	for _, t := range derivRoots(off.c[0], off.c[1], off.c[2], off.c[3]) {
		k := (off.c[2]-2*off.c[1]+off.c[0])*(1-t) + (off.c[3]-2*off.c[2]+off.c[1])*t
		if g := off.at(t); math.Abs(g) <= tol && g*k >= 0 {
			add(t)
		}
	}
	return out
}

// distinctHits tells every place once: of several the best solved one is kept.
func (s Seg) distinctHits(o Seg, hits []hit, tol float64) []hit {
	if len(hits) < 2 {
		return hits
	}
	slices.SortStableFunc(hits, func(x, y hit) int {
		xe, ye := x.gap > exactGap, y.gap > exactGap
		switch {
		case xe != ye && ye:
			return -1
		case xe != ye:
			return 1
		case x.t < y.t:
			return -1
		case x.t > y.t:
			return 1
		}
		return 0
	})
	out := hits[:0]
next:
	for _, h := range hits {
		for _, k := range out {
			r := sameRadius(min(h.sine, k.sine), max(h.gap, k.gap), tol)
			if s.lengthTo(min(h.t, k.t), max(h.t, k.t)) <= r && o.lengthTo(min(h.u, k.u), max(h.u, k.u)) <= r {
				continue next
			}
		}
		out = append(out, h)
	}
	return out
}

// sameRadius is how far apart along the curves two findings may be and still mean one place: a
// distance of tol at an angle spreads over tol/sine, and a touch is only known to about the root
// of what rounding leaves of its depth.
func sameRadius(sine, gap, tol float64) float64 {
	r := 1e-6
	if gap > exactGap {
		r += 4 * tol / max(sine, 0.02)
	}
	if sine < 1e-4 {
		r = max(r, 1e-4)
	}
	return r
}
