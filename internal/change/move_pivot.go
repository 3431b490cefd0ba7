package change

import (
	"fmt"
	"math"

	"sizerun/internal/geom"
	"sizerun/internal/pattern"
)

// Pivoting a dart: it is closed about a point and the same angle is opened elsewhere. The piece is slashed
// from the new place to the pivot, and of the two parts the one that carries neither fold nor grain is
// turned until the old mouth is shut. Both parts stay what they were, curve for curve; what is turned takes
// its marks and lines with it.

// wedge is a dart as it lies in a piece.
type wedge struct {
	name          string
	dart          int // in Darts
	first, second int // its legs among the edges
	a, b, tip     geom.Point
}

// mouth is the width of the dart where it opens.
func (d wedge) mouth() float64 { return d.a.Dist(d.b) }

// angle is the dart's angle seen from a point, in radians, without sign.
func (d wedge) angle(from geom.Point) float64 { return math.Abs(d.a.Sub(from).AngleTo(d.b.Sub(from))) }

// middle is the direction from the mouth to the point, along the dart's middle line.
func (d wedge) middle() geom.Vec { return d.tip.Sub(d.a.Lerp(d.b, 0.5)).Unit() }

// wedge finds a dart; without a name, the only one.
func (w *work) wedge(ptr string, p *pattern.Piece, name string) (wedge, error) {
	names := make([]string, len(p.Darts))
	for i, d := range p.Darts {
		names[i] = d.Name
		if d.Name == name || name == "" && len(p.Darts) == 1 {
			return wedgeAt(ptr, p, i)
		}
	}
	f := pattern.Fault{Rule: "unknown_dart", Pointer: ptr, Piece: p.Name, Detail: fmt.Sprintf("piece %q has no dart %q", p.Name, name),
		Valid: pattern.Choices(names), Remedy: pattern.Suggest(name, names)}
	switch {
	case len(names) == 0:
		var with []string
		for i := range w.p.Pieces {
			if len(w.p.Pieces[i].Darts) > 0 {
				with = append(with, w.p.Pieces[i].Name)
			}
		}
		f.Detail, f.Remedy = fmt.Sprintf("piece %q has no dart", p.Name), "choose a piece with a dart"
		f.Pointer, f.Valid = "/piece", pattern.Choices(with)
	case name == "":
		f.Detail, f.Remedy = fmt.Sprintf("piece %q has several darts", p.Name), "name the one that is meant"
	}
	return wedge{}, f
}

func wedgeAt(ptr string, p *pattern.Piece, i int) (wedge, error) {
	d := p.Darts[i]
	a, b := p.EdgeNamed(d.First), p.EdgeNamed(d.Second)
	if a < 0 || b != (a+1)%len(p.Edges) || len(p.Edges) < 5 {
		return wedge{}, pattern.Fault{Rule: "dart_legs", Pointer: ptr, Piece: p.Name, Edge: d.First, Detail: fmt.Sprintf("the legs of dart %q do not meet in its point", d.Name),
			Valid: "two edges that follow one another", Remedy: "name the leg that runs into the dart point first"}
	}
	return wedge{d.Name, i, a, b, p.Edges[a].Path.Start(), p.Edges[b].Path.End(), p.Edges[a].Path.End()}, nil
}

// leg names one of the legs of a dart.
func (d wedge) leg(i int) bool { return i == d.first || i == d.second }

// pivotPoint puts a pivot onto the line of all points that lie equally far from both ends of the mouth:
// only about such a point does a dart close without a step in its seam.
func pivotPoint(ptr string, p *pattern.Piece, d wedge, about geom.Point) (geom.Point, error) {
	const (
		aside = 15.0 // mm off the middle line
		leg   = 20.0 // mm
	)
	m, across := d.a.Lerp(d.b, 0.5), d.b.Sub(d.a).Unit()
	off := about.Sub(m).Dot(across)
	at := about.Add(across.Mul(-off))
	switch {
	case d.mouth() < 1:
		return at, pattern.Fault{Rule: "dart_shut", Pointer: ptr, Piece: p.Name, Edge: p.Edges[d.first].Name, Detail: fmt.Sprintf("the mouth of dart %q is only %.2f mm wide", d.name, d.mouth()),
			Valid: "at least 1 mm", Remedy: "choose a dart that is open"}
	case math.Abs(off) > aside:
		return at, pattern.Fault{Rule: "pivot_aside", Pointer: ptr, Piece: p.Name, Edge: p.Edges[d.first].Name, Detail: fmt.Sprintf("the pivot lies %.1f mm beside the middle line of dart %q", math.Abs(off), d.name),
			Valid: fmt.Sprintf("within %g mm of it: the dart has to point at it", aside), Remedy: "choose the point that the dart points at"}
	case at.Sub(m).Dot(d.middle()) < leg:
		return at, pattern.Fault{Rule: "pivot_near", Pointer: ptr, Piece: p.Name, Edge: p.Edges[d.first].Name, Detail: fmt.Sprintf("the pivot lies %.1f mm from the mouth of dart %q", at.Sub(m).Dot(d.middle()), d.name),
			Valid: fmt.Sprintf("at least %g mm inside", leg), Remedy: "choose a point further inside the piece"}
	case d.angle(at) > 2.4:
		return at, pattern.Fault{Rule: "dart_wide", Pointer: ptr, Piece: p.Name, Edge: p.Edges[d.first].Name, Detail: fmt.Sprintf("dart %q opens by %.0f degrees", d.name, d.angle(at)*180/math.Pi),
			Valid: "at most 137 degrees", Remedy: "choose a pivot further inside the piece"}
	}
	return at, nil
}

// pivoted is a piece with its dart closed and opened elsewhere.
type pivoted struct {
	piece  pattern.Piece
	turn   float64    // degrees that the moved part was turned, counter-clockwise positive
	moved  geom.Path  // outline of that part, where it lay before
	slash  geom.Path  // from the new place to the pivot
	dart   wedge      // the new dart, with its point at the stitch point
	pivot  geom.Point // what was turned about
	closed int        // the edge that ends where the old mouth was; it is shut unless a rest is left
	rest   float64    // mm that the old mouth is still open
}

// pivoting is what is asked of a pivot.
type pivoting struct {
	dart    wedge
	about   geom.Point // on the dart's middle line, as pivotPoint gives it
	to      spot
	share   float64 // of the angle; the rest stays where it was
	setBack float64 // from the pivot to the stitch points
	ptr     string  // the argument that told the new place
	fills   bool    // the new dart is filled up, so that its point is none
	onLine  bool    // the pivot lies on the outline, at to: nothing is slashed, and what opens lies outside
}

// pivot closes a dart and opens its angle elsewhere.
func (w *work) pivot(pc *pattern.Piece, v pivoting) (pivoted, error) {
	var out pivoted
	d, n := v.dart, len(pc.Edges)
	if err := w.pivotable(pc, v); err != nil {
		return out, err
	}
	// One after the other: the outline from the old mouth to the new one, and from there back.
	var g1, g2 []frag
	long := func(i int) float64 { return pc.Edges[i].Path.Length() }
	for i, past := (d.second+1)%n, false; i != d.first; i = (i + 1) % n {
		switch {
		case past:
			g2 = append(g2, frag{i, 0, long(i)})
		case i != v.to.edge:
			g1 = append(g1, frag{i, 0, long(i)})
		default:
			past = true
			if v.to.s > tiny {
				g1 = append(g1, frag{i, 0, v.to.s})
			}
			g2 = append(g2, frag{i, v.to.s, long(i)})
		}
	}
	slash := geom.Polyline(v.to.at(pc), v.about)
	region := func(g []frag) geom.Path {
		var p geom.Path
		for _, f := range g {
			p = append(p, pc.Edges[f.old].Path.Sub(f.s0, f.s1)...)
		}
		return p.Join(geom.Polyline(p.End(), v.about, p.Start()))
	}
	r1, r2 := region(g1), region(g2)
	still, err := whichStays(pc, v, g1, g2, r1, r2)
	if err != nil {
		return out, err
	}
	turn := v.share * d.a.Sub(v.about).AngleTo(d.b.Sub(v.about))
	out.moved = r2
	if still == 2 {
		turn, out.moved = -turn, r1
	}
	rot := geom.RotateAbout(v.about, turn)
	q := pc.Clone()
	q.Edges = nil
	var frags []frag
	put := func(g []frag, moves bool) {
		for _, f := range g {
			e := pc.Edges[f.old]
			if f.s0 > tiny || f.s1 < long(f.old)-tiny {
				e.Path = e.Path.Sub(f.s0, f.s1)
				e.Src = subSource(e.Src, f.s0, f.s1, long(f.old))
			}
			if moves {
				e.Path = e.Path.Transform(rot)
			}
			e.Name = free(e.Name, func(s string) bool { return q.EdgeNamed(s) >= 0 })
			q.Edges, frags = append(q.Edges, e), append(frags, f)
		}
	}
	put(g1, still == 2)
	in, old := len(q.Edges), pc.Darts[d.dart]
	first, second := pc.Edges[d.first], pc.Edges[d.second]
	full := v.share >= 1-1e-12
	q.Edges, frags = append(q.Edges, first, second), append(frags, frag{old: -1}, frag{old: -1})
	put(g2, still == 1)
	whole := func(s string) bool { return q.EdgeNamed(s) >= 0 || pc.EdgeNamed(s) >= 0 }
	out.closed = len(q.Edges) - 1
	if !full {
		// The rest of the old dart keeps its names, the new one gets names of its own.
		old.Name = free(d.name+"_2", func(s string) bool {
			for _, o := range pc.Darts {
				if o.Name == s {
					return true
				}
			}
			return false
		})
		taken := knows(pc)
		mouth1, tip, mouth2 := free(old.Name+"_in", taken), free(old.Name+"_tip", taken), free(old.Name+"_out", taken)
		q.Edges[in] = pattern.Edge{Name: free(old.Name+"_first", whole), From: mouth1, To: tip}
		q.Edges[in+1] = pattern.Edge{Name: free(old.Name+"_second", whole), From: tip, To: mouth2}
		q.Edges = append(q.Edges, first, second)
		frags = append(frags, frag{old: -1}, frag{old: -1})
	}
	l1, l2 := &q.Edges[in], &q.Edges[in+1]
	a, b := q.Edges[in-1].Path.End(), q.Edges[in+2].Path.Start()
	tip := v.about
	if !v.fills {
		tip = stitchPoint(a, b, v.about, v.setBack)
	}
	l1.Path, l2.Path = geom.Polyline(a, tip), geom.Polyline(tip, b)
	last := &q.Edges[out.closed]
	if full {
		last.Path = closeTo(last.Path, last.Path.Start(), q.Edges[0].Path.Start())
		last.To = free(d.name+"_closed", knows(pc))
		q.Edges[0].From = last.To
	} else {
		o1, o2 := &q.Edges[out.closed+1], &q.Edges[out.closed+2]
		oldTip := stitchPoint(last.Path.End(), q.Edges[0].Path.Start(), v.about, v.setBack)
		o1.Path, o2.Path = geom.Polyline(last.Path.End(), oldTip), geom.Polyline(oldTip, q.Edges[0].Path.Start())
		out.rest = last.Path.End().Dist(q.Edges[0].Path.Start())
		for _, e := range []*pattern.Edge{l1, l2} {
			e.Src = pattern.Source{Piece: pc.Name, Edge: e.Name, S1: e.Path.Length()}
		}
	}
	if v.to.s <= tiny {
		l1.From = q.Edges[in-1].To // a corner keeps its name on the side that comes first
		q.Edges[in+2].From = l2.To
	} else {
		q.Edges[in-1].To, q.Edges[in+2].From = l1.From, l2.To
	}
	now := pattern.Dart{Name: old.Name, First: l1.Name, Second: l2.Name, Towards: l1.Name}
	if old.Towards == old.Second {
		now.Towards = l2.Name
	}
	if full {
		q.Darts[d.dart] = now
	} else {
		q.Darts = append(q.Darts, now)
	}
	out.turn, out.slash, out.pivot = turn*180/math.Pi, slash, v.about
	pivotMarks(pc, &q, v, frags, out.moved, rot, in, full)
	q.Lines = pivotLines(pc.Lines, slash, out.moved, rot)
	if inside(out.moved, q.Align) {
		q.Align = rot.Apply(q.Align)
	}
	fitGrain(&q)
	out.piece = q
	out.dart = wedge{now.Name, len(q.Darts) - 1, in, in + 1, a, b, tip}
	if full {
		out.dart.dart = d.dart
	}
	return out, nil
}

// stitchPoint is set back from the pivot along the middle line of a dart.
func stitchPoint(a, b, about geom.Point, by float64) geom.Point {
	return about.Add(a.Lerp(b, 0.5).Sub(about).Unit().Mul(by))
}

// pivotable refuses places where a dart cannot be opened.
func (w *work) pivotable(pc *pattern.Piece, v pivoting) error {
	const leg = 20.0 // mm
	d, n := v.dart, len(pc.Edges)
	e := &pc.Edges[v.to.edge]
	at := v.to.at(pc)
	fault := func(rule, valid, remedy, format string, a ...any) error {
		return pattern.Fault{Rule: rule, Pointer: v.ptr, Piece: pc.Name, Edge: e.Name, Detail: fmt.Sprintf(format, a...), Valid: valid, Remedy: remedy}
	}
	for i := range pc.Darts {
		o, err := wedgeAt(v.ptr, pc, i)
		if err != nil {
			return err
		}
		if o.leg(v.to.edge) || v.to.s <= tiny && v.to.edge == (o.second+1)%n {
			return fault("on_dart", "a place on the outline outside its darts", "choose another place", "the new place lies on dart %q", o.name)
		}
	}
	if e.Fold && v.to.s > tiny {
		return fault("on_fold", "an edge that is not cut on the fold", "choose another edge", "a dart cannot be opened on the fold %s", e.Name)
	}
	if v.onLine {
		return nil
	}
	if l := at.Dist(v.about); l < leg+v.setBack {
		return fault("dart_short", fmt.Sprintf("at least %.1f mm from the pivot", leg+v.setBack), "choose a place further from the dart's point", "the new dart would be only %.1f mm long", l-v.setBack)
	}
	if v.share < 1 && v.setBack < 5 && !v.fills {
		return pattern.Fault{Rule: "points_meet", Pointer: "/set_back", Piece: pc.Name, Detail: "the points of the two darts would meet", Valid: "at least 5 mm", Remedy: "set the stitch points back"}
	}
	if d.a.Dist(v.about) < leg+v.setBack {
		return pattern.Fault{Rule: "dart_short", Pointer: "/set_back", Piece: pc.Name, Detail: fmt.Sprintf("the old dart is only %.1f mm long", d.a.Dist(v.about)), Valid: fmt.Sprintf("at least %.1f mm", leg+v.setBack), Remedy: "set the stitch point back less"}
	}
	return w.staysInside(pc, geom.Polyline(at, v.about), v.ptr)
}

// whichStays: the part with the fold; without one the part that the grain line's middle lies in, else the
// larger part.
func whichStays(pc *pattern.Piece, v pivoting, g1, g2 []frag, r1, r2 geom.Path) (int, error) {
	fold := func(g []frag) bool {
		for _, f := range g {
			if pc.Edges[f.old].Fold {
				return true
			}
		}
		return false
	}
	f1, f2 := fold(g1), fold(g2)
	mid := pc.Grain[0].Lerp(pc.Grain[1], 0.5)
	switch {
	case f1 && f2:
		return 0, pattern.Fault{Rule: "between_folds", Pointer: v.ptr, Piece: pc.Name, Detail: "both parts of the piece are cut on a fold", Valid: "a place that leaves the fold on one part", Remedy: "choose another place"}
	case f1:
		return 1, nil
	case f2:
		return 2, nil
	case r1.Contains(mid) != r2.Contains(mid):
		if r1.Contains(mid) {
			return 1, nil
		}
		return 2, nil
	case r1.Area() >= r2.Area():
		return 1, nil
	}
	return 2, nil
}

// pivotMarks keeps every mark. One on an edge stays on it; one inside goes with its part; the mark of the
// stitch point goes to the new stitch point; one on a leg that is sewn shut now lies inside the piece.
func pivotMarks(pc, q *pattern.Piece, v pivoting, frags []frag, moved geom.Path, rot geom.Affine, in int, full bool) {
	q.Marks = nil
	d := v.dart
	on := func(m pattern.Mark, i int, s float64) {
		m.Edge, m.S = q.Edges[i].Name, math.Max(0, math.Min(s, q.Edges[i].Path.Length()))
		m.At = q.Edges[i].Path.PointAt(m.S)
		q.Marks = append(q.Marks, m)
	}
	closed := len(q.Edges) - 1
	if !full {
		closed = len(q.Edges) - 3
	}
	for _, m := range pc.Marks {
		old := -1
		if m.Edge != "" {
			old = pc.EdgeNamed(m.Edge)
		}
		switch {
		case m.At.Dist(d.tip) <= pattern.Near && full:
			on(m, in+1, 0)
		case m.At.Dist(d.tip) <= pattern.Near:
			on(m, closed+2, 0)
		case old < 0:
			if inside(moved, m.At) && m.At.Dist(v.about) > pattern.Near {
				m.At = rot.Apply(m.At)
			}
			q.Marks = append(q.Marks, m)
		case d.leg(old):
			l := pc.Edges[old].Path.Length()
			off := m.S // from the mouth
			if old == d.second {
				off = l - m.S
			}
			switch {
			case !full && old == d.first:
				on(m, closed+1, m.S/l*q.Edges[closed+1].Path.Length())
			case !full:
				on(m, closed+2, m.S/l*q.Edges[closed+2].Path.Length())
			case off <= pattern.Near && old == d.first:
				on(m, closed, q.Edges[closed].Path.Length())
			case off <= pattern.Near:
				on(m, 0, 0)
			default:
				// Both legs now lie on one line from the shut mouth to the pivot.
				m.Edge, m.S, m.Kind, m.Count = "", 0, pattern.Dot, 0
				m.At = q.Edges[0].Path.Start().Lerp(v.about, off/l*0.999)
				q.Marks = append(q.Marks, m)
			}
		default:
			for i, f := range frags {
				if f.old == old && m.S >= f.s0-pattern.Near && m.S <= f.s1+pattern.Near {
					on(m, i, m.S-f.s0)
					break
				}
			}
		}
	}
}

// pivotLines cuts inner lines at the slash; what lies on the moved part goes with it.
func pivotLines(lines []pattern.InnerLine, slash, moved geom.Path, rot geom.Affine) []pattern.InnerLine {
	var kept []pattern.InnerLine
	for _, l := range lines {
		at, n := 0.0, 0
		var ends []float64
		if slash.Length() > tiny {
			for _, x := range geom.Intersect(l.Path, slash, 1e-6) {
				ends = append(ends, x.S)
			}
		}
		for _, e := range append(ends, l.Path.Length()) {
			if e-at > 1 {
				sub := l.Path.Sub(at, e)
				if inside(moved, sub.PointAt(sub.Length()/2)) {
					sub = sub.Transform(rot)
				}
				n++
				k := pattern.InnerLine{Name: l.Name, Path: sub}
				if n > 1 {
					k.Name = fmt.Sprintf("%s_%d", l.Name, n)
				}
				kept = append(kept, k)
			}
			at = math.Max(at, e)
		}
	}
	return kept
}
