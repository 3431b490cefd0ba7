package offset

import (
	"errors"
	"math"

	"sizerun/internal/geom"
)

// Curve is the true parallel of an open line at distance d to the right of travel (left when d is
// negative), within tol. Where the line bends more tightly than d the loops that a parallel makes
// are cut away; a line of which that leaves nothing in one piece is refused with ErrVanished or ErrFallsApart.
// Corners inside the line are mitred.
func Curve(p geom.Path, d, tol float64) (geom.Path, error) {
	if !(tol > 1e-6 && tol < 10) {
		tol = DefaultTol
	}
	if len(p) == 0 || !(math.Abs(d) <= reach/4) {
		return nil, &Error{ErrInput, -1, geom.Point{}}
	}
	for _, s := range p {
		if _, err := regular(s); errors.Is(err, ErrInput) {
			return nil, &Error{ErrInput, 0, geom.Point{}}
		}
	}
	if d == 0 {
		return append(geom.Path{}, p...), nil
	}
	if d < 0 {
		q, err := Curve(p.Reverse(), -d, tol)
		if err != nil {
			return nil, err
		}
		return q.Reverse(), nil
	}
	if p.Start() == p.End() {
		// A closed line has no ends for the strip to stand on: draw both halves.
		if l := p.Length(); l > 0 {
			a, b := p.Split(l / 2)
			if len(a) > 0 && len(b) > 0 {
				return closedCurve(a, b, d, tol)
			}
		}
		return nil, &Error{ErrInput, 0, p.Start()}
	}
	// The strip between the line and its parallel is a piece whose one edge is the parallel sought.
	edges := []Edge{{p, d}, {p.Reverse(), 0}}
	parts, err := prepare(edges, nil, tol)
	if err != nil {
		return nil, err
	}
	one := parts
	for len(one) > 0 && one[len(one)-1].edge == 1 {
		one = one[:len(one)-1]
	}
	if smooth(one) {
		return segs(one[0].raw), nil
	}
	v := []geom.Point{p.Start(), p.End()}
	if first := &parts[0]; !openEnd(&first.raw, v[0], d) {
		return nil, &Error{ErrVanished, 0, v[0]}
	}
	lastRaw := reversedRaw(parts[len(one)-1].raw)
	if !openEnd(&lastRaw, v[1], d) {
		return nil, &Error{ErrVanished, 0, v[1]}
	}
	parts[len(one)-1].raw = reversedRaw(lastRaw)
	res, err := around(parts, 2, []Joint{{Corner: Bevel}, {Corner: Bevel}}, tol)
	if err != nil {
		return nil, err
	}
	return oneStretch(res, 0)
}

// smooth reports whether the parallel needs no trimming: one part, that nowhere turns back and is too short to
// meet itself again.
func smooth(parts []part) bool {
	if len(parts) != 1 {
		return false
	}
	turn := 0.0
	for _, r := range parts[0].raw {
		if r.Straight {
			continue
		}
		turn += math.Abs(r.P1.Sub(r.P0).AngleTo(r.P2.Sub(r.P1))) + math.Abs(r.P2.Sub(r.P1).AngleTo(r.P3.Sub(r.P2)))
	}
	for _, g := range parts[0].seam {
		// The raw parallel of a tight bend runs against its source.
		p := parallel{s: g, d: parts[0].w, tol: 1}
		if g.Straight {
			continue
		}
		cuts := p.cuts()
		for i := 1; i < len(cuts); i++ {
			if p.growth((cuts[i-1]+cuts[i])/2) < 0 {
				return false
			}
		}
	}
	return turn < math.Pi
}

func closedCurve(a, b geom.Path, d, tol float64) (geom.Path, error) {
	closed := append(append(geom.Path{}, a...), b...)
	if closed.Area() < 0 {
		r, err := closedCurve(b.Reverse(), a.Reverse(), -d, tol)
		if err != nil {
			return nil, err
		}
		return r.Reverse(), nil
	}
	res, err := Loop([]Edge{{a, d}, {b, d}}, nil, tol)
	if err != nil {
		return nil, err
	}
	return res.Path, nil
}

// oneStretch takes the parallel of one edge out of a result. Where the line turns in by more than a square, the end of a
// strip sticks out beyond the line on the other side of the corner: what stands out there is no part of the parallel,
// which leads from the one end of the strip to the other.
func oneStretch(r Result, edge int) (geom.Path, error) {
	var all []geom.Path
	capped := -1 // the stretch between the two ends
	n := len(r.Path)
	for i, s := range r.Sources {
		if s.Edge != edge {
			continue
		}
		k := len(all) - 1
		if k < 0 || all[k].End() != r.Path[i].P0 {
			all, k = append(all, nil), k+1
		}
		all[k] = append(all[k], r.Path[i])
		if next := r.Sources[(i+1)%n]; next.Edge < 0 && next.Corner == edge {
			before := r.Sources[(i+n-len(all[k]))%n]
			if before.Edge < 0 && before.Corner != edge {
				capped = k
			}
		}
	}
	switch {
	case len(all) == 0:
		return nil, &Error{ErrVanished, edge, geom.Point{}}
	case len(all) == 1:
		return all[0], nil
	case capped >= 0:
		return all[capped], nil
	}
	return nil, &Error{ErrFallsApart, edge, all[0].Start()}
}

// openEnd cuts off what a parallel does within d of the line's own end, when the line bends too tightly there: it
// runs back and forth again, but without a crossing at which the trimming could cut. It
// reports false when nothing is left.
func openEnd(raw *[]rawSeg, v geom.Point, d float64) bool {
	rs := *raw
	if len(rs) == 0 || !rs[0].back {
		return len(rs) > 0
	}
	k := 0
	for k < len(rs) && (rs[k].back || rs[k].P3.Dist(v) < d) {
		k++
	}
	if k == len(rs) {
		return false
	}
	lo, hi := 0.0, 1.0
	for range 60 {
		if m := (lo + hi) / 2; rs[k].At(m).Dist(v) < d {
			lo = m
		} else {
			hi = m
		}
	}
	first := rs[k]
	first.src.S0 += (first.src.S1 - first.src.S0) * hi
	if hi > 1e-12 {
		first.Seg = first.Sub(hi, 1)
	}
	*raw = append([]rawSeg{first}, rs[k+1:]...)
	return true
}

func reversedRaw(rs []rawSeg) []rawSeg {
	out := make([]rawSeg, len(rs))
	for i, r := range rs {
		out[len(rs)-1-i] = rawSeg{r.Reverse(), Source{r.src.Edge, r.src.Corner, r.src.S1, r.src.S0}, r.back}
	}
	return out
}
