package change

import (
	"fmt"

	"sizerun/internal/geom"
	"sizerun/internal/inspect"
	"sizerun/internal/pattern"
)

// carryMarks keeps every mark that lies on what the part keeps, at the same place. A mark on an edge
// stays on that edge; a mark at a corner belongs to both edges there; a mark inside goes to the part it
// lies in, or to both when it lies on the line between them.
func carryMarks(pc, q *pattern.Piece, frags []frag) error {
	out := q.Outline()
	q.Marks = nil
	for _, m := range pc.Marks {
		if m.Edge == "" {
			if inside(out, m.At) {
				q.Marks = append(q.Marks, m)
			}
			continue
		}
		old := pc.EdgeNamed(m.Edge)
		if old < 0 {
			return pattern.Fault{Rule: "unknown_edge", Piece: pc.Name, Edge: m.Edge, Detail: fmt.Sprintf("the mark %q lies on an edge %q that piece %q does not have", m.Name, m.Edge, pc.Name),
				Valid: pattern.Choices(pc.EdgeNames()), Remedy: "put the mark on one of its edges"}
		}
		for i, f := range frags {
			s, ok := 0.0, false
			switch {
			case f.old == old && m.S >= f.s0-pattern.Near && m.S <= f.s1+pattern.Near:
				s, ok = max(0, min(m.S, f.s1)-f.s0), true
			case f.old >= 0 && m.At.Dist(q.Edges[i].Path.Start()) <= pattern.Near:
				ok = true
			case f.old >= 0 && m.At.Dist(q.Edges[i].Path.End()) <= pattern.Near:
				s, ok = q.Edges[i].Path.Length(), true
			}
			if ok {
				m.Edge, m.S, m.At = q.Edges[i].Name, s, q.Edges[i].Path.PointAt(s)
				q.Marks = append(q.Marks, m)
				break
			}
		}
	}
	return nil
}

// inside counts the outline itself as inside.
func inside(out geom.Path, q geom.Point) bool {
	if out.Contains(q) {
		return true
	}
	_, d := out.Project(q)
	return d <= pattern.Near
}

// carryDarts keeps a dart whose legs are both whole, drops one that is gone, and refuses a line that
// runs through one.
func carryDarts(pc, q *pattern.Piece, frags []frag) error {
	q.Darts = nil
	for _, d := range pc.Darts {
		whole, some := 0, 0
		for i, f := range frags {
			if f.old < 0 {
				continue
			}
			if n := pc.Edges[f.old].Name; n != d.First && n != d.Second {
				continue
			}
			some++
			if q.Edges[i].Name == pc.Edges[f.old].Name && f.s0 <= tiny && f.s1 >= pc.Edges[f.old].Path.Length()-tiny {
				whole++
			}
		}
		switch {
		case whole == 2:
			q.Darts = append(q.Darts, d)
		case some > 0:
			return pattern.Fault{Rule: "through_dart", Piece: pc.Name, Edge: d.First, Detail: fmt.Sprintf("the line runs through the dart %q", d.Name),
				Remedy: "choose places so that the dart stays on one side"}
		}
	}
	return nil
}

// clipLines cuts the inner lines where the new line crosses them and keeps what lies in the part.
func clipLines(lines []pattern.InnerLine, cut, out geom.Path) []pattern.InnerLine {
	var kept []pattern.InnerLine
	for _, l := range lines {
		if len(l.Path) == 0 {
			continue
		}
		at := 0.0
		total := l.Path.Length()
		ends := []float64{}
		for _, x := range geom.Intersect(l.Path, cut, 1e-6) {
			ends = append(ends, x.S)
		}
		n := 0
		for _, e := range append(ends, total) {
			if e-at > 1 { // a stub shorter than a millimetre shows nothing
				sub := l.Path.Sub(at, e)
				if inside(out, sub.PointAt(sub.Length()/2)) {
					n++
					k := pattern.InnerLine{Name: l.Name, Path: sub}
					if n > 1 {
						k.Name = fmt.Sprintf("%s_%d", l.Name, n)
					}
					kept = append(kept, k)
				}
			}
			at = max(at, e)
		}
	}
	return kept
}

// fitGrain keeps the grain line where it lies well; else it is moved, without turning it, to where
// the piece is longest along the grain, nearest to its middle.
func fitGrain(q *pattern.Piece) {
	const (
		clear = 5.0 // mm from the outline
		share = 0.25
		keep  = 0.7 // of the length there is
		lines = 33
	)
	out := q.Outline()
	v := q.Grain[1].Sub(q.Grain[0])
	u := v.Unit()
	if u == (geom.Vec{}) {
		u = geom.Vec{Y: 1}
	}
	pts := out.Flatten(0.1)
	o := q.Grain[0]
	lo, hi := geom.EmptyRect().Min, geom.EmptyRect().Max // X across, Y along
	for _, p := range pts {
		a, c := p.Sub(o).Dot(u), p.Sub(o).Dot(u.Right())
		lo, hi = geom.Pt(min(lo.X, c), min(lo.Y, a)), geom.Pt(max(hi.X, c), max(hi.Y, a))
	}
	if v.Len() >= share*(hi.Y-lo.Y) && within(out, q.Grain[0], clear) && within(out, q.Grain[1], clear) && len(geom.Intersect(geom.Polyline(q.Grain[0], q.Grain[1]), out, 1e-6)) == 0 {
		return
	}
	var across [lines]float64
	for i := range across {
		across[i] = (lo.X+hi.X)/2 + float64(i-lines/2)/lines*(hi.X-lo.X)
	}
	stretches := inspect.Stretches(pts, o, u, across[:])
	var best, at0, at1 float64
	for i := range lines {
		// From the middle outwards, so that of equal ones the middle one is taken.
		k := lines/2 + (i+1)/2
		if i%2 == 1 {
			k = lines/2 - (i+1)/2
		}
		for _, iv := range stretches[k] {
			if l := iv[1] - iv[0]; l > best*1.02 {
				best, at0, at1 = l, across[k], iv[0]
			}
		}
	}
	if best == 0 {
		return
	}
	base := o.Add(u.Right().Mul(at0))
	q.Grain[0] = base.Add(u.Mul(at1 + best*(1-keep)/2))
	q.Grain[1] = base.Add(u.Mul(at1 + best*(1+keep)/2))
}

func within(out geom.Path, q geom.Point, clear float64) bool {
	_, d := out.Project(q)
	return d >= clear && out.Contains(q)
}
