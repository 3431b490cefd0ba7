package geom

import (
	"cmp"
	"slices"
)

// Clear proves cheaply that a closed Path keeps clear of itself: no Seg crosses or folds over
// itself, neighbours share their knot only and part there at an angle or lead on, and all others
// stay more than margin apart. It answers false when it finds no proof, which need not mean that
// the Path meets itself: ask SelfCrossings then.
func (p Path) Clear(margin float64) bool {
	n := len(p)
	if n < 3 || !(margin >= 0) || !(p.End().Dist(p.Start()) <= 10*exactGap) {
		return false
	}
	type boxed struct {
		Rect
		i int
	}
	var buf [32]boxed
	boxes := buf[:0]
	for i, s := range p {
		if !plain(s, 0) || !(s.P0.Dist(p[(i+n-1)%n].P3) <= 10*exactGap) {
			return false
		}
		boxes = append(boxes, boxed{s.hull().Inset(-margin), i})
	}
	slices.SortFunc(boxes, func(x, y boxed) int { return cmp.Compare(x.Min.X, y.Min.X) })
	for k := range boxes {
		x := &boxes[k]
		for l := k + 1; l < n && boxes[l].Min.X <= x.Max.X; l++ {
			y := &boxes[l]
			if y.Min.Y > x.Max.Y || y.Max.Y < x.Min.Y {
				continue
			}
			switch a, b := p[x.i], p[y.i]; {
			case (x.i+1)%n == y.i:
				if !partAtKnot(a, b, margin, 0) {
					return false
				}
			case (y.i+1)%n == x.i:
				if !partAtKnot(b, a, margin, 0) {
					return false
				}
			case keepApart(a, b, margin, 0):
			case n > 4 && (x.i+2)%n == y.i && stepOn(a, p[(x.i+1)%n], b, margin):
			case n > 4 && (y.i+2)%n == x.i && stepOn(b, p[(y.i+1)%n], a, margin):
			default:
				return false
			}
		}
	}
	return true
}

// deepest bounds the halving in Clear: what needs more is no cheap proof.
const deepest = 7

// plain proves that the Seg has a length and neither crosses nor folds over itself: it leads on in
// one direction all the way, or its halves do and part in the middle.
func plain(s Seg, depth int) bool {
	if s.Straight {
		return s.P0 != s.P3
	}
	if leads(legs(s), s.P3.Sub(s.P0), 1e-3) {
		return true
	}
	if depth >= deepest {
		return false
	}
	a, b := s.Split(0.5)
	return plain(a, depth+1) && plain(b, depth+1) && partAtKnot(a, b, exactGap, depth+1)
}

// leads: every leg that has a length leads on in the direction u, by more than least of its length.
func leads(l [3]Vec, u Vec, least float64) bool {
	uu := u.Dot(u)
	if !(uu > 0) {
		return false
	}
	for _, v := range l {
		if d := u.Dot(v); v != (Vec{}) && !(d > 0 && d*d > least*least*uu*v.Dot(v)) {
			return false
		}
	}
	return true
}

// stepOn proves the like of onward for a and b with a short step m between them, as where two
// allowances differ by a hair: places of a and b that are near each other are near the step.
func stepOn(a, m, b Seg, margin float64) bool {
	l := legs(m)
	if !(l[0].Len()+l[1].Len()+l[2].Len() <= 2*margin) {
		return false
	}
	// A step straight aside leads on too, seen a little from its side.
	u := a.Tangent(1).Add(b.Tangent(0)).Add(m.P3.Sub(m.P0).Unit().Mul(0.4))
	return leads(legs(a), u, 0.5) && leads(l, u, 0.05) && leads(legs(b), u, 0.5)
}

// partAtKnot proves that b, which follows a, meets it at their knot only.
func partAtKnot(a, b Seg, margin float64, depth int) bool {
	if onward(a, b) || across(legs(a), legs(b)) {
		return true
	}
	if depth >= deepest || a.Straight && b.Straight {
		return false
	}
	// The halves beside the knot have to part there, and the others to keep off.
	a0, a1 := a.Split(0.5)
	b0, b1 := b.Split(0.5)
	return partAtKnot(a1, b0, margin, depth+1) && keepApart(a0, b, margin, depth+1) && keepApart(a1, b1, margin, depth+1)
}

// across is crossing with room for rounding: no tangent of one is nearly parallel to one of the
// other, so that two curves from one knot never meet again.
func across(a, b [3]Vec) bool {
	const least = 0.02 // of the sine
	sign := 0.0
	for _, v := range a {
		for _, w := range b {
			c := v.Cross(w)
			if v == (Vec{}) || w == (Vec{}) {
				continue
			}
			if sign*c < 0 || !(c*c > least*least*v.Dot(v)*w.Dot(w)) {
				return false
			}
			sign = c
		}
	}
	return sign != 0
}

// keepApart proves that a and b stay more than margin apart.
func keepApart(a, b Seg, margin float64, depth int) bool {
	if apart(a, b, margin) || apart(b, a, margin) {
		return true
	}
	if depth >= deepest {
		return false
	}
	if a.reach() < b.reach() {
		a, b = b, a
	}
	a0, a1 := a.Split(0.5)
	return keepApart(a0, b, margin, depth+1) && keepApart(a1, b, margin, depth+1)
}

// reach is a cheap measure of a Seg's size.
func (s Seg) reach() float64 {
	h := s.hull()
	return h.W() + h.H()
}
