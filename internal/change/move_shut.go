package change

import (
	"fmt"
	"math"

	"sizerun/internal/geom"
	"sizerun/internal/pattern"
)

// Shutting a dart at a line: where its point lies on the outline, the two parts that it leaves between itself
// and that line hang together at the point only, and one is turned about it until the legs meet. Nothing opens
// elsewhere; the line gets a corner of the dart's angle, which is then drawn over with one sweep.

// shutAt shuts a dart whose point lies on an edge, at s along it. The edge stays one edge; the mark of the
// dart's point lies on it afterwards.
func (w *work) shutAt(pc *pattern.Piece, d wedge, edge int, s float64, ptr string) (pattern.Piece, trued, error) {
	line := pc.Edges[edge].Name
	got, err := w.pivot(pc, pivoting{dart: d, about: d.tip, to: spot{edge, s}, share: 1, ptr: ptr, fills: true, onLine: true})
	if err != nil {
		return pattern.Piece{}, trued{}, err
	}
	round := trueJoint(&got.piece, got.closed, 40, 0.06)
	q := got.piece.Clone()
	in := got.dart.first
	before := &got.piece.Edges[in-1]
	q.Edges = nil
	for i, e := range got.piece.Edges {
		switch i {
		case in, in + 1: // the legs of what opens outside
		case in + 2:
			e.From = before.To
			e.Path = closeTo(e.Path, before.Path.End(), e.Path.End())
			q.Edges = append(q.Edges, e)
		default:
			q.Edges = append(q.Edges, e)
		}
	}
	q.Darts = append(append([]pattern.Dart{}, q.Darts[:got.dart.dart]...), q.Darts[got.dart.dart+1:]...)
	for i := range q.Marks {
		m := &q.Marks[i]
		if m.Edge == got.piece.Edges[in].Name || m.Edge == got.piece.Edges[in+1].Name {
			m.Edge, m.S, m.At = before.Name, before.Path.Length(), before.Path.End()
		}
	}
	q = joinEdges(&q, in-1, 2)
	fitGrain(&q)
	if before.Name != line { // cannot be: the dart's legs lie between other edges
		return q, round, pattern.Fault{Rule: "dart_legs", Pointer: ptr, Piece: pc.Name, Edge: line, Detail: fmt.Sprintf("dart %q does not end at %s", d.name, line), Remedy: "end it there"}
	}
	return q, round, nil
}

// sweep draws one smooth line for a line with corners at the given places, which it leaves and arrives at in the
// same directions, and which it is as long as. It runs through the middle of every stretch, or a little beside:
// a rounded corner is shorter, so the line is bowed out until it has its length. ok is false when no such line
// comes near.
func sweep(line geom.Path, corners []float64, want float64) (swept geom.Path, ok bool) {
	const (
		least = 15.0 // mm: a shorter stretch is swept over
		most  = 8.0  // mm that a line may be bowed out
	)
	t0, t1 := line.StartTangent(), line.EndTangent()
	var mids []geom.Point
	var outs []geom.Vec
	l, at := line.Length(), 0.0
	for _, c := range append(append([]float64{}, corners...), l) {
		if c-at >= least {
			m := (at + c) / 2
			mids, outs = append(mids, line.PointAt(m)), append(outs, line.TangentAt(m).Right())
		}
		at = c
	}
	draw := func(h float64) geom.Path {
		pts := []geom.Point{line.Start()}
		for i, m := range mids {
			pts = append(pts, m.Add(outs[i].Mul(h)))
		}
		p, err := geom.Through(append(pts, line.End()), &t0, &t1)
		if err != nil {
			return nil
		}
		return p
	}
	// The length grows with the bow but not from the start: a straight line bowed in grows, too. Of the places
	// where it has its length the nearest to the line is taken.
	best := math.Inf(1)
	for _, first := range [2]float64{1, -1} {
		h, found := root(func(h float64) float64 {
			p := draw(h)
			if p == nil || math.Abs(h) > 3*most {
				return math.NaN()
			}
			return p.Length() - want
		}, 0, first, 1e-4)
		if found && math.Abs(h) < math.Min(best, most) {
			best, swept, ok = math.Abs(h), draw(h), true
		}
	}
	return swept, ok
}

// apart is how far two lines lie apart at most, seen from points of the first.
func apart(p, q geom.Path) float64 { return apartAt(p, q, 120) }

// apartAt sees it from n+1 points.
func apartAt(p, q geom.Path, n int) float64 {
	worst := 0.0
	for _, x := range p.Spread(n) {
		_, d := q.Project(x)
		worst = math.Max(worst, d)
	}
	return worst
}

// areaBetween is the area between two lines with the same ends, counted positive where the first lies to the right.
func areaBetween(p, q geom.Path) float64 {
	return p.Join(geom.Polyline(p.End(), q.End())).Join(q.Reverse()).Area()
}
