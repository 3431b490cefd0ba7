package change

import (
	"fmt"
	"math"

	"sizerun/internal/geom"
	"sizerun/internal/pattern"
)

// Where a yoke's line runs, and the darts that are drawn to it.

// line draws it on the piece as if the darts that it takes in were filled: else it would leave the piece there.
func (a *yokeArgs) line(w *work, y *yoked) error {
	flat := y.was.Clone()
	for i, name := range a.Dart {
		d, err := w.wedge(dartPointer(a.Dart, i), &flat, name)
		if err != nil {
			return err
		}
		y.darts, y.first = append(y.darts, d), append(y.first, d.tip)
		drawTo(&flat, &d, d.a.Lerp(d.b, 0.5))
	}
	from, err := w.end("/from", &flat, a.From)
	if err != nil {
		return err
	}
	y.ends[0] = from
	ptr := "/to"
	if a.To != nil {
		if y.ends[1], err = w.end("/to", &flat, *a.To); err != nil {
			return err
		}
	} else {
		if !onEdge(&flat, from, y.centre) {
			return pattern.Fault{Rule: "no_end", Pointer: "/to", Piece: flat.Name, Edge: flat.Edges[from.edge].Name, Detail: "the line ends nowhere: only one that begins at the centre is told by its beginning", Valid: placeForms, Remedy: "tell where it ends, or begin it at the centre"}
		}
		if y.ends[1], err = across(&flat, from, y.centre); err != nil {
			return err
		}
		ptr = "/from"
	}
	for k := range y.ends {
		if onEdge(&flat, y.ends[k], y.centre) {
			y.at = k
		}
		for i := range flat.Darts {
			if d, err := wedgeAt(ptr, &flat, i); err == nil && d.leg(y.ends[k].edge) {
				return pattern.Fault{Rule: "on_dart", Pointer: [2]string{"/from", ptr}[k], Piece: flat.Name, Edge: flat.Edges[y.ends[k].edge].Name, Detail: fmt.Sprintf("the line would end on dart %q", d.name), Valid: "a place outside the darts", Remedy: "end it elsewhere"}
			}
		}
	}
	if onEdge(&flat, y.ends[0], y.centre) && onEdge(&flat, y.ends[1], y.centre) {
		return pattern.Fault{Rule: "along_centre", Pointer: "/to", Piece: flat.Name, Edge: flat.Edges[y.centre].Name, Detail: "the line would begin and end at the centre", Valid: "a place on another edge", Remedy: "end it on the other side of the piece"}
	}
	u, v := y.ends[0].at(&flat), y.ends[1].at(&flat)
	if u.Dist(v) < 20 {
		return pattern.Fault{Rule: "line_too_short", Pointer: ptr, Piece: flat.Name, Detail: fmt.Sprintf("the line begins and ends within %.1f mm", u.Dist(v)), Valid: "at least 20 mm", Remedy: "choose two places further apart"}
	}
	y.l = cutLine{from: y.ends[0], to: y.ends[1], edge: a.Line}
	if y.l.path = a.draw(y, &flat, u, v); y.l.path == nil {
		return pattern.Fault{Rule: "line_steep", Pointer: ptr, Piece: flat.Name, Edge: flat.Edges[y.ends[1].edge].Name, Detail: "square off the centre the line would have to turn by more than 60 degrees", Valid: "ends more nearly level, or square: false", Remedy: "move one of its ends, or choose a curved line"}
	}
	for i := range flat.Darts {
		d, err := wedgeAt(ptr, &flat, i)
		if err != nil {
			return err
		}
		if y.absorbs(i) {
			continue
		}
		if legs := flat.Edges[d.first].Path.Join(flat.Edges[d.second].Path); len(geom.Intersect(legs, y.l.path, 1e-6)) > 0 {
			return pattern.Fault{Rule: "through_dart", Pointer: "/dart", Piece: flat.Name, Edge: flat.Edges[d.first].Name, Detail: fmt.Sprintf("the line runs through the dart %q", d.name), Valid: d.name, Remedy: "let the seam take that dart in, or choose places so that it stays on one side"}
		}
	}
	return w.staysInside(&flat, y.l.path, ptr)
}

func (y *yoked) absorbs(dart int) bool {
	for _, d := range y.darts {
		if d.dart == dart {
			return true
		}
	}
	return false
}

func dartPointer(names []string, i int) string {
	if len(names) == 1 {
		return "/dart"
	}
	return pattern.Pointer("dart", fmt.Sprint(i))
}

// across is where a line square off the centre meets the outline again.
func across(p *pattern.Piece, from spot, centre int) (spot, error) {
	const clear = 2.0 // mm
	a, u := from.at(p), fromCentre(p, from, centre)
	box := p.Outline().Bounds()
	best, to := math.Inf(1), spot{}
	for i := range p.Edges {
		for _, x := range geom.Intersect(geom.Polyline(a, a.Add(u.Mul(box.W()+box.H()))), p.Edges[i].Path, 1e-6) {
			if x.S > 5 && x.S < best {
				best, to = x.S, spot{i, x.T}
			}
		}
	}
	l := p.Edges[to.edge].Path.Length()
	switch {
	case math.IsInf(best, 1):
		return to, pattern.Fault{Rule: "no_end", Pointer: "/to", Piece: p.Name, Detail: "square off the centre the line meets nothing", Valid: placeForms, Remedy: "tell where it ends"}
	case to.s < clear || to.s > l-clear:
		return to, pattern.Fault{Rule: "near_corner", Pointer: "/from", Piece: p.Name, Edge: p.Edges[to.edge].Name, Detail: fmt.Sprintf("straight across the line would end %.2f mm from a corner of edge %s", math.Min(to.s, l-to.s), p.Edges[to.edge].Name),
			Valid: fmt.Sprintf("at least %g mm from it", clear), Remedy: "move its beginning, or tell where it ends"}
	}
	return to, nil
}

// draw draws the line from its beginning to its end; nil when it cannot be square. It is drawn by the same
// shares in every size, so that it grows evenly.
func (a *yokeArgs) draw(y *yoked, p *pattern.Piece, u, v geom.Point) geom.Path {
	square := a.Square && y.at >= 0
	ends, turned := y.ends, y.at == 1
	if turned { // from the centre outwards
		u, v, ends = v, u, [2]spot{y.ends[1], y.ends[0]}
	}
	off := func(s spot) geom.Vec { return runsOn(p, s).Rotate(a.Angle * math.Pi / 180) }
	var sq geom.Vec
	if square {
		sq = fromCentre(p, ends[0], y.centre)
	}
	var path geom.Path
	switch a.Shape {
	case "curved":
		leave := sq
		if !square {
			leave = off(ends[0])
		}
		arm := a.Curve * u.Dist(v)
		path = geom.Path{geom.Cubic(u, u.Add(leave.Unit().Mul(arm)), v.Add(off(ends[1]).Unit().Mul(arm)), v)}
	case "pointed":
		t := a.PointAt
		if turned {
			t = 1 - t
		}
		k := u.Lerp(v, t).Add(y.up.Mul(-a.Point))
		path = geom.Polyline(u, k)
		if square {
			path = bend(u, sq, k)
		}
		if path != nil {
			path = path.Join(geom.Polyline(k, v))
		}
	default:
		path = geom.Polyline(u, v)
		if square {
			path = bend(u, sq, v)
		}
	}
	if turned && path != nil {
		return path.Reverse()
	}
	return path
}

// reachDarts draws the legs of every dart to where its middle line meets the line.
func (a *yokeArgs) reachDarts(w *work, y *yoked) error {
	for i := range y.darts {
		ptr := dartPointer(a.Dart, i)
		d, err := wedgeAt(ptr, &y.piece, y.darts[i].dart)
		if err != nil {
			return err
		}
		m, across := d.a.Lerp(d.b, 0.5), d.b.Sub(d.a).Unit()
		u := across.Left()
		if u.Dot(d.middle()) < 0 {
			u = u.Neg()
		}
		var at geom.Point
		found := false
		for _, x := range geom.Intersect(y.l.path, geom.Polyline(m, m.Add(u.Mul(2*pattern.MaxCoord))), 1e-9) {
			if !found || x.P.Dist(d.tip) < at.Dist(d.tip) {
				at, found = x.P, true
			}
		}
		if off := at.Dist(d.tip); !found || off > a.Reach+pattern.Near {
			f := pattern.Fault{Rule: "dart_far", Pointer: ptr, Piece: a.Piece, Edge: y.was.Edges[d.first].Name, Detail: fmt.Sprintf("the point of dart %q lies %.1f mm from the line", d.name, off), Valid: fmt.Sprintf("at most %.1f mm, the reach", a.Reach), Remedy: "move the line nearer to it, or let it reach further"}
			if !found {
				f.Detail = fmt.Sprintf("dart %q does not point at the line", d.name)
			}
			return f
		}
		if at, err = pivotPoint(ptr, &y.piece, d, at); err != nil {
			return err
		}
		for k := range y.piece.Marks { // the dart's dot goes with its point
			if mk := &y.piece.Marks[k]; mk.Edge == "" && mk.At.Dist(d.tip) <= pattern.Near {
				mk.Edge, mk.S = y.piece.Edges[d.second].Name, 0
			}
		}
		drawTo(&y.piece, &d, at)
		y.darts[i] = d
	}
	y.sum = y.piece.Outline().Area()
	return nil
}
