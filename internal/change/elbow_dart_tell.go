package change

import (
	"fmt"
	"math"

	"sizerun/internal/geom"
	"sizerun/internal/inspect"
	"sizerun/internal/pattern"
)

// seamLess is the back seam less the front seam, as they are sewn: the legs of the dart are not in it.
func (e *elbow) seamLess(p *pattern.Piece) float64 {
	l := -p.Edges[p.EdgeNamed(e.was.Edges[e.front].Name)].Path.Length()
	for _, n := range []string{e.was.Edges[e.back].Name, e.parts[0], e.parts[1]} {
		if i := p.EdgeNamed(n); i >= 0 {
			l += p.Edges[i].Path.Length()
		}
	}
	return l
}

func (a *elbowArgs) promises(w *work, e *elbow, g *bent, q *pattern.Piece, d wedge) {
	before := e.seamLess(&e.was)
	now := e.seamLess(q)
	w.promise(inspect.Check{Rule: "elbow_dart_seam", Piece: q.Name, Place: e.was.Edges[e.back].Name, Measured: now, Want: pattern.Range{Min: before, Max: before}, Tolerance: 0.1, Unit: inspect.MM,
		Text: fmt.Sprintf("With its elbow dart closed the back seam of %s is longer than the front seam by %.3f mm, and was by %.3f.", q.Name, now, before)})
	f := e.was.Edges[e.front].Name
	kept := q.Edges[q.EdgeNamed(f)].Path.Length() - e.f.Length()
	w.promise(inspect.Check{Rule: "elbow_dart_front", Piece: q.Name, Place: f, Measured: kept, Tolerance: 0.1, Unit: inspect.MM,
		Text: fmt.Sprintf("The front seam of %s keeps its length to %.3f mm.", q.Name, math.Abs(kept))})
	w.promise(inspect.Check{Rule: "elbow_dart_intake", Piece: q.Name, Place: d.name, Measured: d.mouth(), Want: pattern.Range{Min: a.Intake, Max: a.Intake}, Tolerance: 0.1, Unit: inspect.MM,
		Text: fmt.Sprintf("Dart %s of %s is %.2f mm wide.", d.name, q.Name, d.mouth())})
	l1, l2 := q.Edges[d.first].Path.Length(), q.Edges[d.second].Path.Length()
	w.promise(inspect.Check{Rule: "dart_legs", Piece: q.Name, Place: d.name, Measured: l1 - l2, Tolerance: 0.1, Unit: inspect.MM,
		Text: fmt.Sprintf("Both legs of dart %s of %s are %.1f mm long.", d.name, q.Name, l1)})
	back := d.tip.Dist(g.elbow)
	w.promise(inspect.Check{Rule: "dart_set_back", Piece: q.Name, Place: d.name, Measured: back, Want: pattern.Range{Min: a.SetBack, Max: a.SetBack}, Tolerance: 0.1, Unit: inspect.MM,
		Text: fmt.Sprintf("Dart %s of %s ends %.1f mm before the elbow.", d.name, q.Name, back)})
	w.promiseFold(q, d)
	off := a.areaOff(e, g, q)
	w.promise(inspect.Check{Rule: "dart_area", Piece: q.Name, Place: "outline", Measured: off / 100, Tolerance: 0.05, Unit: "cm2",
		Text: fmt.Sprintf("%s is as large as it was and the wedge that was opened, less its dart, to %.2f cm2.", q.Name, math.Abs(off)/100)})
	w.promiseMarks(&e.was, q)
}

// areaOff is what the sleeve has more than was there, was opened and was added by rounding, in mm2. Rounding at the
// mouth is measured with the dart folded, so the dart is counted as it was before that.
func (a *elbowArgs) areaOff(e *elbow, g *bent, q *pattern.Piece) float64 {
	from := e.slash.Start()
	opened := math.Abs(geom.Polyline(from, e.hinge, g.lay.Apply(e.hinge), g.lay.Apply(from), from).Area())
	lapped := 0.0
	if a.Hinge == "middle" {
		back, front := e.hem.Split(e.wrist)
		front, _ = front.Split(g.cross[1])
		_, back = back.Transform(g.lay).Split(g.cross[0])
		lapped = math.Abs(geom.Polyline(e.hinge, e.slash.End()).Join(front).Join(back).Join(geom.Polyline(back.End(), e.hinge)).Area())
	}
	return q.Outline().Area() + math.Abs(g.bare.Area()) - e.was.Outline().Area() - opened + lapped - g.rounded
}

// tell gives the sewing step and the working drawing of an elbow dart.
func (a *elbowArgs) tell(w *work, e *elbow, g *bent, q *pattern.Piece, d wedge) {
	leg := q.Edges[d.first].Path.Length()
	front := q.Edges[q.EdgeNamed(e.was.Edges[e.front].Name)].Path.Length()
	hem := g.hem.Length()
	match := "as long as the front one"
	if d := e.seamLess(q); math.Abs(d) > 0.05 {
		match = fmt.Sprintf("%s %s than the front one", say(math.Abs(d)), map[bool]string{true: "longer", false: "shorter"}[d > 0])
	}
	clip := ""
	if a.Hinge == "front" {
		clip = " When they are sewn, clip the hollow of the front allowance at the elbow, so that it lies flat."
	}
	w.res.Steps = append(w.res.Steps, Step{Stage: Prepare, Pieces: []string{q.Name},
		Text: fmt.Sprintf("With its elbow dart sewn, the back underarm seam of %s is %s, which measures %s.%s The wrist is %s round along the seam line: try whether the hand goes through.",
			q.Name, match, say(front), clip, say(hem)),
		Amounts: []Amount{{"dart mouth", d.mouth()}, {"dart length", leg}, {"set back", a.SetBack}, {"wrist", hem}}})
	l := plan{d: Drawing{Title: fmt.Sprintf("Elbow dart on %s, size %s", q.Name, w.p.Size)}}
	for i := range e.was.Edges {
		kind := Outline
		if i == e.back || i == e.front && a.Hinge == "front" || i == e.t.hem {
			kind = CutAway
		}
		l.line(kind, q.Name, e.was.Edges[i].Path, e.was.Edges[i].Name)
	}
	from, to := e.slash.Start(), e.f.PointAt(e.s)
	l.step("From the underarm measure %s down both seams, and join the two places: the elbow line.", say(e.s))
	under := l.point(e.b.Start(), "underarm, back")
	x, y := l.point(from, "elbow line at the back"), l.point(to, "elbow line at the front")
	l.line(Construction, q.Name, geom.Polyline(from, to), "elbow line")
	l.measure(under, x, e.b.Sub(0, e.s), "down to the elbow")
	l.measure(x, y, nil, "elbow line")
	turn := math.Abs(g.turn) * 180 / math.Pi
	if a.Hinge == "front" {
		l.step("Slash along it from the back, not quite through at the front seam. Turn the part below by %.1f degrees, until the dart is %s wide at the back seam: the wrist swings forward.", turn, say(a.Intake))
	} else {
		l.step("Slash along it from the back to its middle, and from there straight down to the wrist. Turn the part cut off by %.1f degrees, until the dart is %s wide at the back seam; at the wrist it laps over by %s.", turn, say(a.Intake), say(g.lap))
		l.line(Construction, q.Name, e.slash, "slash")
		m, v := l.point(e.hinge, "middle"), l.point(e.slash.End(), "wrist")
		l.measure(m, v, nil, "slash to the wrist")
		n := l.point(g.lay.Apply(e.slash.End()), "wrist, lapped over")
		l.measure(v, n, nil, "lap")
	}
	b0, b1 := e.b.End(), g.lower.End()
	s0, s1 := l.point(b0, "back wrist before"), l.point(b1, "back wrist after")
	l.measure(s0, s1, nil, "swing of the wrist")
	if a.Hinge == "front" {
		l.line(New, q.Name, g.hem, e.was.Edges[e.t.hem].Name)
	}
	l.step("Mark the elbow %s from the back seam on the middle line of the opening, and the stitch point %s before it. Draw both legs to it, equally long.", say(e.point), say(a.SetBack))
	tip := l.point(d.tip, "stitch point")
	if a.SetBack > pattern.Near {
		l.measure(tip, l.point(g.elbow, "elbow"), nil, "set back")
	}
	p1, p2 := l.point(g.dart.a, "mouth, above"), l.point(g.dart.b, "mouth, below")
	l.line(New, q.Name, geom.Polyline(d.a, d.tip, d.b), d.name)
	l.measure(p1, p2, nil, "intake")
	l.measure(p1, tip, nil, "leg")
	if g.mouth.reach > 0 {
		l.step("Fold the dart downwards and round the back seam over its mouth (%.1f degrees) within %s on each side.", math.Abs(g.mouth.bend), say(math.Round(g.mouth.reach)))
	} else {
		l.step("Redraw the back seam.")
	}
	l.line(New, q.Name, g.upper, "")
	l.line(New, q.Name, g.lower, "")
	if a.Hinge == "middle" {
		l.step("Round the hem where its lapped parts cross (%.1f degrees) within %s on each side.", g.wristed.bend, say(math.Round(g.wristed.reach)))
		l.line(New, q.Name, g.hem, e.was.Edges[e.t.hem].Name)
	} else {
		l.step("Round the hollow of the front seam at the elbow (%.1f degrees) within %s on each side. What both roundings have taken from the seams is put back at the elbow line, so that the back seam less the dart is as long as the front seam: walk one along the other.", g.hollow.bend, say(math.Round(g.hollow.reach)))
		l.line(New, q.Name, g.front, e.was.Edges[e.front].Name)
	}
	w.res.Drawing = l.d
}
