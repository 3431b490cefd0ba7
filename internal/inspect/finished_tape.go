package inspect

import (
	"fmt"
	"math"

	"sizerun/internal/geom"
	"sizerun/internal/pattern"
)

// tape is laid over a pattern straight on, over whatever is sewn together.
type tape struct {
	p *pattern.Pattern
	g *gauge
}

// lay goes from a place of a piece in a direction until it comes to the stop.
func (t *tape) lay(pc *pattern.Piece, from geom.Point, d geom.Vec, goal stop) (trail, error) {
	const most = 40 // seams, darts and pleats on the way
	w := trail{piece: pc, at: from, dir: d, edge: -1}
	for step := range most {
		pleats, ok := pleatsOf(t.p, w.piece)
		if !ok {
			return w, pattern.Fault{Rule: "pleated", Piece: w.piece.Name, Detail: fmt.Sprintf("the %s is laid in pleats that no lines tell", plain(w.piece.Name))}
		}
		x := t.next(w)
		if step == 0 && t.overBay(&w, x) || t.overPleat(&w, pleats, x) {
			continue
		}
		if w.piece.Name == goal.piece && goal.edge == nil {
			v := goal.at.Sub(w.at)
			if far := v.Dot(w.dir); far > 0 && math.Abs(v.Cross(w.dir)) <= missed && (len(x) == 0 || x[0].s >= far-missed) {
				w.mm, w.at = w.mm+far, goal.at
				return w, nil
			}
		}
		if far, at, ok := t.line(w, goal, x); ok {
			w.mm, w.at = w.mm+far, at
			w.angle = math.Pi / 2 * side(w.dir, goal, w.piece)
			return w, nil
		}
		if len(x) == 0 {
			return w, pattern.Fault{Rule: "way_lost", Piece: w.piece.Name, Detail: fmt.Sprintf("a tape laid there does not lie on the %s", plain(w.piece.Name))}
		}
		w.mm, w.at, w.edge = w.mm+x[0].s, x[0].at, x[0].edge
		if goal.edge != nil {
			for _, c := range x {
				if src := source(w.piece, &w.piece.Edges[c.edge]); src.Piece == goal.edge.Piece && src.Edge == goal.edge.Edge {
					w.edge = c.edge
					w.angle = w.dir.AngleTo(w.piece.Edges[c.edge].Path.TangentAt(c.on))
					return w, nil
				}
			}
		}
		ok = false
		for _, c := range x {
			if ok = t.overDart(&w, c) || t.overSeam(&w, c) || t.overLap(&w); ok {
				break
			}
		}
		if !ok {
			return w, pattern.Fault{Rule: "way_ends", Pointer: "/to", Piece: w.piece.Name, Edge: w.piece.Edges[w.edge].Name,
				Detail: fmt.Sprintf("a tape laid there ends at the %s of the %s", plain(w.piece.Edges[w.edge].Name), plain(w.piece.Name)),
				Remedy: "measure to an edge or place that lies straight ahead"}
		}
	}
	return w, pattern.Fault{Rule: "way_lost", Piece: w.piece.Name, Detail: "a tape laid there runs over too many seams"}
}

// meeting is where the way meets the outline.
type meeting struct {
	edge  int
	s, on float64 // along the way, along the edge
	at    geom.Point
}

// next is where the way first meets the outline again: one edge, or the two that meet in a corner.
func (t *tape) next(w trail) []meeting {
	b := w.piece.Outline().Bounds()
	if !b.Min.Finite() || !b.Max.Finite() || !w.at.Finite() || !(w.dir.Len() > 0.5) {
		return nil
	}
	ray := geom.Path{geom.Line(w.at, w.at.Add(w.dir.Mul(b.W()+b.H()+w.at.Dist(b.Center()))))}
	var all []meeting
	near := math.Inf(1)
	for i := range w.piece.Edges {
		for _, c := range geom.Intersect(ray, w.piece.Edges[i].Path, 1e-6) {
			if c.S > begun {
				all = append(all, meeting{i, c.S, c.T, c.P})
				near = math.Min(near, c.S)
			}
		}
	}
	var out []meeting
	for _, m := range all {
		if m.s <= near+pattern.Near {
			out = append(out, m)
		}
	}
	return out
}

// line is where the way crosses a line that has the name of the edge it goes to: the centre of a piece that
// was given a stand beyond it.
func (t *tape) line(w trail, goal stop, x []meeting) (float64, geom.Point, bool) {
	if goal.edge == nil || !t.g.wasCentre(w.piece, goal.name) {
		return 0, geom.Point{}, false
	}
	far := 1e5
	if len(x) > 0 {
		far = x[0].s
	}
	for i := range w.piece.Lines {
		if w.piece.Lines[i].Name != goal.name {
			continue
		}
		for _, c := range geom.Intersect(geom.Path{geom.Line(w.at, w.at.Add(w.dir.Mul(far)))}, w.piece.Lines[i].Path, 1e-6) {
			if c.S > begun {
				return c.S, c.P, true
			}
		}
	}
	return 0, geom.Point{}, false
}

// side tells on which hand of the way a line over the piece runs off, as the edge it was did.
func side(d geom.Vec, goal stop, pc *pattern.Piece) float64 {
	for i := range pc.Lines {
		if l := &pc.Lines[i]; l.Name == goal.name && d.Cross(l.Path.StartTangent()) < 0 {
			return -1
		}
	}
	return 1
}

// overDart goes on from the other leg of a closed dart.
func (t *tape) overDart(w *trail, c meeting) bool {
	pc := w.piece
	for _, d := range pc.Darts {
		first, second := pc.EdgeNamed(d.First), pc.EdgeNamed(d.Second)
		if first < 0 || second < 0 || c.edge != first && c.edge != second {
			continue
		}
		a, b := pc.Edges[first].Path, pc.Edges[second].Path
		// The point is the end of the first leg and the start of the second.
		if c.edge == first {
			up := a.Length() - c.on
			if up > b.Length()+missed {
				return false
			}
			w.dir = w.dir.Rotate(a.TangentAt(c.on).Neg().AngleTo(b.TangentAt(math.Min(up, b.Length()))))
			w.at = b.PointAt(math.Min(up, b.Length()))
			return true
		}
		if c.on > a.Length()+missed {
			return false
		}
		on := math.Max(0, a.Length()-c.on)
		w.dir = w.dir.Rotate(b.TangentAt(c.on).AngleTo(a.TangentAt(on).Neg()))
		w.at = a.PointAt(on)
		return true
	}
	return false
}

// overSeam goes on over a seam that joins two parts of what was one piece.
func (t *tape) overSeam(w *trail, c meeting) bool {
	name := w.piece.Edges[c.edge].Name
	for i := range t.p.Seams {
		s := &t.p.Seams[i]
		for _, sides := range [2][2][]pattern.EdgeRef{{s.Sew, s.To}, {s.To, s.Sew}} {
			here, err1 := Walk(t.p, sides[0])
			there, err2 := Walk(t.p, sides[1])
			if err1 != nil || err2 != nil {
				continue
			}
			for _, l := range here.Links {
				if l.Piece.Name != w.piece.Name || l.Piece.Edges[l.Edge].Name != name {
					continue
				}
				on, tangent := c.on, l.Piece.Edges[l.Edge].Path.TangentAt(c.on)
				if l.Against {
					on, tangent = l.Len-on, tangent.Neg()
				}
				u := (l.Start + on) / here.Len * there.Len
				for _, o := range there.Links {
					if u > o.Start+o.Len+1e-9 || o.Piece.Of == "" || o.Piece.Of != w.piece.Of || o.Piece.Name == w.piece.Name || !t.g.kin(o.Piece) {
						continue
					}
					at := math.Max(0, math.Min(o.Len, u-o.Start))
					if o.Against {
						at = o.Len - at
					}
					path := o.Piece.Edges[o.Edge].Path
					beyond := path.TangentAt(at)
					if o.Against {
						beyond = beyond.Neg()
					}
					turn := tangent.AngleTo(w.dir)
					if o.Against == l.Against { // it lies the other way up
						turn = -turn
					}
					w.piece, w.at, w.dir = o.Piece, path.PointAt(at), beyond.Rotate(turn)
					return true
				}
			}
		}
	}
	return false
}

// overLap goes on over another part of the same piece that lies there: parts that overlap are not sewn
// edge to edge, but each still lies where it was cut from.
func (t *tape) overLap(w *trail) bool {
	if !t.unmoved(w.piece) {
		return false
	}
	ahead := w.at.Add(w.dir.Mul(0.2))
	for i := range t.p.Pieces {
		q := &t.p.Pieces[i]
		if q.Name == w.piece.Name || q.Of != w.piece.Of || q.Cut.Cloth != w.piece.Cut.Cloth || !t.unmoved(q) {
			continue
		}
		if q.Outline().Contains(ahead) {
			w.piece = q
			return true
		}
	}
	return false
}

// unmoved: what a part has kept of the outline lies where it lay.
func (t *tape) unmoved(pc *pattern.Piece) bool {
	kept := false
	for i := range pc.Edges {
		e := &pc.Edges[i]
		p := t.g.on.PieceNamed(e.Src.Piece)
		if p == nil || p.EdgeNamed(e.Src.Edge) < 0 {
			continue
		}
		was := p.Edges[p.EdgeNamed(e.Src.Edge)].Path
		if math.Abs(math.Abs(e.Src.S1-e.Src.S0)-e.Path.Length()) > 0.05 ||
			was.PointAt(e.Src.S0).Dist(e.Path.Start()) > 0.05 || was.PointAt(e.Src.S1).Dist(e.Path.End()) > 0.05 {
			return false
		}
		kept = true
	}
	return kept
}

// overBay goes on over a shallow bay that the outline makes where the way begins: an armhole leaves the
// underarm square to a side that leans, and so dips a little below the level.
func (t *tape) overBay(w *trail, x []meeting) bool {
	const shallow = 3.0 // mm
	if len(x) != 1 {
		return false
	}
	mid := w.at.Lerp(x[0].at, 0.5)
	out := w.piece.Outline()
	if _, d := out.Project(mid); out.Contains(mid) || d > shallow {
		return false
	}
	w.mm, w.at = w.mm+x[0].s, x[0].at
	return true
}

// pleat is two lines that lie on each other when it is folded, both from the top down.
type pleat struct{ a, b geom.Path }

// pleatsOf lists the pleats of a piece: where two neighbouring edges that are no legs of a dart are sewn to
// each other, what lies below them is folded away, between the lines that begin at their outer ends. ok is
// false when there are no such lines.
func pleatsOf(p *pattern.Pattern, pc *pattern.Piece) (all []pleat, ok bool) {
	n := len(pc.Edges)
	from := func(at geom.Point) geom.Path {
		for i := range pc.Lines {
			if l := pc.Lines[i].Path; len(l) > 0 && l.Start().Dist(at) <= 0.05 {
				return l
			}
		}
		return nil
	}
	for i := range p.Seams {
		s := &p.Seams[i]
		if len(s.Sew) != 1 || len(s.To) != 1 || s.Sew[0].Piece != pc.Name || s.To[0].Piece != pc.Name {
			continue
		}
		a, b := pc.EdgeNamed(s.Sew[0].Edge), pc.EdgeNamed(s.To[0].Edge)
		if a >= 0 && b >= 0 && (b+1)%n == a {
			a, b = b, a
		}
		if a < 0 || b < 0 || (a+1)%n != b || pc.IsLeg(s.Sew[0].Edge) {
			continue
		}
		x := pleat{from(pc.Edges[a].Path.Start()), from(pc.Edges[b].Path.End())}
		if x.a == nil || x.b == nil {
			return nil, false
		}
		all = append(all, x)
	}
	return all, true
}

// overPleat goes on from the line that lies on the one which the way comes to first.
func (t *tape) overPleat(w *trail, all []pleat, x []meeting) bool {
	far := 1e5
	if len(x) > 0 {
		far = x[0].s
	}
	ray := geom.Path{geom.Line(w.at, w.at.Add(w.dir.Mul(far)))}
	best := far
	next := *w
	for _, f := range all {
		for _, side := range [2][2]geom.Path{{f.a, f.b}, {f.b, f.a}} {
			for _, c := range geom.Intersect(ray, side[0], 1e-6) {
				if c.S <= begun || c.S >= best || c.T > side[1].Length()+missed {
					continue
				}
				best = c.S
				on := math.Min(c.T, side[1].Length())
				next.mm, next.at = w.mm+c.S, side[1].PointAt(on)
				next.dir = side[1].TangentAt(on).Rotate(side[0].TangentAt(c.T).AngleTo(w.dir))
			}
		}
	}
	if best == far {
		return false
	}
	*w = next
	return true
}
