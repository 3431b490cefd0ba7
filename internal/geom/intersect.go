package geom

import (
	"cmp"
	"math"
	"slices"
)

// Crossing is a common place of two Paths, or of a Path with itself: arc length S on the first,
// T on the second.
type Crossing struct {
	S, T float64
	P    Point
}

// found is a Crossing with what is needed to tell doubles: how well it is solved and its angle.
type found struct {
	Crossing
	gap, sine float64
}

// Intersect lists the common places of p and q, sorted by S: every crossing, solved to 1e-9 mm;
// every touch, once, also where the two stay up to tol apart; every end of one that lies within
// tol of the other. Where they run together within tol for a stretch its two ends are told, not
// what lies between. A place at a knot is told once, and on a closed Path the place where it
// begins and ends counts as its beginning.
func Intersect(p, q Path, tol float64) []Crossing {
	tol = max(tol, exactGap)
	var out []found
	sp, sq := ruler{p: p}, ruler{p: q}
	boxes := make([]Rect, len(q))
	for j, b := range q {
		boxes[j] = b.hull()
	}
	for i, a := range p {
		box := a.hull().Inset(-tol)
		for j, b := range q {
			if !box.Overlaps(boxes[j]) {
				continue
			}
			for _, h := range meet(a, b, tol) {
				s, t := sp.at(i, h.t), sq.at(j, h.u)
				out = append(out, found{Crossing{s, t, a.At(h.t)}, h.gap, h.sine})
			}
		}
	}
	return distinctCrossings(out, tol)
}

// ruler measures a Path as far as it is asked.
type ruler struct {
	p      Path
	starts []float64 // arc length at the start of the Segs measured so far and at the end of the last
}

func (r *ruler) start(i int) float64 {
	if r.starts == nil {
		r.starts = append(make([]float64, 0, len(r.p)+1), 0)
	}
	for k := len(r.starts); k <= i; k++ {
		r.starts = append(r.starts, r.starts[k-1]+r.p[k-1].Length())
	}
	return r.starts[i]
}

// at is the arc length at parameter t of Seg i; it takes the end of a closed Path for its beginning.
func (r *ruler) at(i int, t float64) float64 {
	s := r.start(i) + r.p[i].lengthTo(0, t)
	if i == len(r.p)-1 && r.p.Start().Dist(r.p.End()) <= knotSnap && s >= r.start(i+1)-knotSnap {
		return 0
	}
	return s
}

// FirstOn is the first place along s at which it meets p.
func (s Seg) FirstOn(p Path, tol float64) (Point, bool) {
	tol = max(tol, exactGap)
	box := s.hull().Inset(-tol)
	first, found := math.Inf(1), false
	var at Point
	for _, b := range p {
		if !box.Overlaps(b.hull()) {
			continue
		}
		for _, h := range meet(s, b, tol) {
			if h.t < first {
				first, at, found = h.t, s.At(h.t), true
			}
		}
	}
	return at, found
}

// distinctCrossings tells every place once, the best solved one of several, sorted by S.
func distinctCrossings(in []found, tol float64) []Crossing {
	if len(in) == 0 {
		return nil
	}
	slices.SortStableFunc(in, func(x, y found) int {
		return cmp.Or(cmp.Compare(rough(x.gap), rough(y.gap)), cmp.Compare(x.S, y.S), cmp.Compare(x.T, y.T))
	})
	kept := in[:0]
next:
	for _, c := range in {
		for _, k := range kept {
			r := sameRadius(min(c.sine, k.sine), max(c.gap, k.gap), tol)
			if math.Abs(c.S-k.S) <= r && math.Abs(c.T-k.T) <= r {
				continue next
			}
		}
		kept = append(kept, c)
	}
	out := make([]Crossing, len(kept))
	for i, c := range kept {
		out[i] = c.Crossing
	}
	slices.SortStableFunc(out, func(x, y Crossing) int { return cmp.Or(cmp.Compare(x.S, y.S), cmp.Compare(x.T, y.T)) })
	return out
}

// rough is 0 for a solved place, 1 for a near one.
func rough(gap float64) int {
	if gap > exactGap {
		return 1
	}
	return 0
}

// SelfCrossings lists where the Path meets itself, S < T in each, sorted by S; closed tells that
// its end is joined to its start. That Segs meet at the knot between them is not told.
func (p Path) SelfCrossings(closed bool, tol float64) []Crossing {
	tol = max(tol, exactGap)
	if closed && p.Clear(tol) {
		return nil
	}
	n := len(p)
	near := max(4*tol, 1e-6)
	var out []found
	var starts []float64
	l := 0.0
	add := func(i, j int, h hit) {
		if starts == nil { // most outlines have nothing to tell
			starts = p.starts()
			l = starts[n]
		}
		s, t := starts[i]+p[i].lengthTo(0, h.t), starts[j]+p[j].lengthTo(0, h.u)
		if s > t {
			s, t = t, s
		}
		if t-s <= near || closed && l-(t-s) <= near {
			return
		}
		out = append(out, found{Crossing{s, t, p[i].At(h.t)}, h.gap, h.sine})
	}
	// Boxes sorted by their left side: only those that overlap in x are compared.
	type boxed struct {
		Rect
		i int
	}
	boxes := make([]boxed, n)
	for i, s := range p {
		boxes[i] = boxed{s.hull().Inset(-tol / 2), i}
	}
	slices.SortFunc(boxes, func(x, y boxed) int {
		return cmp.Or(cmp.Compare(x.Min.X, y.Min.X), cmp.Compare(x.i, y.i))
	})
	for k, x := range boxes {
		if h, ok := p[x.i].loop(); ok {
			add(x.i, x.i, h)
		}
		for _, y := range boxes[k+1:] {
			if y.Min.X > x.Max.X {
				break
			}
			if y.Min.Y > x.Max.Y || y.Max.Y < x.Min.Y {
				continue
			}
			i, j := min(x.i, y.i), max(x.i, y.i)
			// Beside the knot of two neighbours the one is near the other as a matter of course.
			within := tol
			switch {
			case j == i+1:
				if within = exactGap; onward(p[i], p[j]) && n > 2 {
					continue
				}
			case closed && i == 0 && j == n-1:
				if within = exactGap; onward(p[j], p[i]) {
					continue
				}
			}
			for _, h := range meet(p[i], p[j], within) {
				add(i, j, h)
			}
		}
	}
	return distinctCrossings(out, tol)
}

// onward proves that a and b, which follows it, have no place in common but the knot between them:
// there is a direction in which both lead on all the way, so that a lies on the near side of the
// knot and b on the far side. It must be a good part of their travel, so that places nearer to one
// another than exactGap are nearer to the knot than SelfCrossings looks.
func onward(a, b Seg) bool {
	const least = 0.05
	u := b.Tangent(0).Add(a.Tangent(1))
	return u.Dot(u) > 0.01 && leads(legs(a), u, least) && leads(legs(b), u, least) && a.P3.Dist(b.P0) <= 10*exactGap
}

// loop finds where a cubic crosses itself. With σ = t + u and π = t·u, B(t) = B(u) divided by
// t − u is a(σ² − π) + bσ + c = 0 for the power coefficients a, b, c: linear in π, and in σ once
// crossed with a.
func (s Seg) loop() (hit, bool) {
	if s.Straight {
		return hit{}, false
	}
	x, y, z := s.P1.Sub(s.P0), s.P2.Sub(s.P1), s.P3.Sub(s.P2)
	a, b, c := z.Sub(y.Mul(2)).Add(x), y.Sub(x).Mul(3), x.Mul(3)
	den, aa := b.Cross(a), a.Dot(a)
	if size := s.size(); math.Abs(den) <= 1e-12*size*size {
		return hit{}, false
	}
	sum := -c.Cross(a) / den
	prod := sum*sum + (b.Dot(a)*sum+c.Dot(a))/aa
	disc := sum*sum - 4*prod
	if !(disc > 1e-12) {
		return hit{}, false
	}
	r := math.Sqrt(disc)
	t, u := (sum-r)/2, (sum+r)/2
	const slack = 1e-12
	if t < -slack || u > 1+slack {
		return hit{}, false
	}
	t, u = max(0, t), min(1, u)
	return s.hitAt(s, t, u), true
}
