package change

import (
	"fmt"
	"math"
	"strings"

	"sizerun/internal/geom"
	"sizerun/internal/inspect"
	"sizerun/internal/pattern"
)

// Moving a dart (TRADE 5): it is closed and the same angle opened elsewhere, pivoting about the bust point
// (or any point that it points at); the stitch point is set back from there, the legs are equal, and the
// mouth is trued with the dart folded to the side that it is pressed to, when allowances are added. Where
// the closed mouth leaves a slight corner in its seam, the line is rounded.

type dartMoveArgs struct {
	Piece   string         `arg:"piece" kind:"name" must:"yes" says:"The piece with the dart."`
	Dart    string         `arg:"dart" kind:"name" says:"The dart; left out where the piece has only one."`
	To      pattern.Place  `arg:"to" kind:"place" must:"yes" says:"Where on the outline it is opened."`
	Bust    *pattern.Place `arg:"bust" kind:"place" says:"The point that the dart is pivoted about, most often the bust point; left out, it is told by beyond."`
	Beyond  float64        `arg:"beyond" kind:"length" min:"0" max:"120" default:"0mm" says:"How far that point lies beyond the dart's own point on its middle line; 0 pivots about the dart's own point."`
	Share   float64        `arg:"share" kind:"share" min:"0.05" max:"1" default:"1" says:"How much of the dart's angle is moved; the rest stays a dart where it was."`
	SetBack *float64       `arg:"set_back" kind:"length" min:"0" max:"60" says:"How far the stitch point is set back from the pivot; left out, 20 mm from a bust point, and nothing from the dart's own point, which is set back already."`
	Towards string         `arg:"towards" kind:"choice" choices:"usual,first,second" default:"usual" says:"To which side the folded dart is pressed: the usual one (upright darts to the centre, level ones down), or that of the leg that comes first or second along the outline."`
	Trued   bool           `arg:"trued" kind:"flag" default:"true" says:"Whether the seam line is rounded over the new mouth, dart folded, and where the closed dart leaves a slight corner."`
}

func defineDartMove() Definition {
	return Definition{
		Name:     "dart_move",
		Sentence: "Closes a dart and opens the same angle elsewhere on the outline.",
		Promise:  "The angle is the same, seen from the pivot; every other edge keeps its length to 0.1 mm and the piece its area; both legs are equal; no mark is lost.",
		Sketch: []Stroke{
			{Outline, geom.Polyline(geom.Pt(90, 5), geom.Pt(90, 75), geom.Pt(70, 95), geom.Pt(62, 91))},
			{Outline, geom.Polyline(geom.Pt(50, 87), geom.Pt(40, 83), geom.Pt(38, 60), geom.Pt(15, 50), geom.Pt(12, 5), geom.Pt(90, 5))},
			{CutAway, geom.Polyline(geom.Pt(14, 40), geom.Pt(60, 40), geom.Pt(13, 27))},
			{New, geom.Polyline(geom.Pt(62, 91), geom.Pt(60, 50), geom.Pt(50, 87))},
			{Construction, geom.Polyline(geom.Pt(60, 50), geom.Pt(60, 40))},
		},
		fresh: func() args { return new(dartMoveArgs) },
	}
}

func (a *dartMoveArgs) dart() *dartArgs { return &dartArgs{a.Piece, a.Dart, a.Bust, a.Beyond} }

func (a *dartMoveArgs) check() pattern.Faults { return a.dart().check("dart_move") }

func (a *dartMoveArgs) apply(w *work) error {
	p, d, about, err := a.dart().find(w)
	if err != nil {
		return err
	}
	was := p.Clone()
	to, err := w.end("/to", &was, a.To)
	if err != nil {
		return err
	}
	setBack := 0.0
	switch {
	case a.SetBack != nil:
		setBack = *a.SetBack
	case a.dart().atBust():
		setBack = 20
	}
	got, err := w.pivot(&was, pivoting{dart: d, about: about, to: to, share: a.Share, setBack: setBack, ptr: "/to"})
	if err != nil {
		return err
	}
	q := &got.piece
	q.Darts[got.dart.dart].Towards = press(q, got.dart, a.Towards)
	var round, mouth trued
	if a.Trued {
		if got.rest == 0 {
			round = trueJoint(q, got.closed, 40, 0.06)
		}
		if to.s > 0 {
			mouth = trueMouth(q, &got.dart, 40, 0.03)
		}
	}
	if tip := q.Darts[got.dart.dart].First; !hasMarkAt(q, got.dart.tip) {
		e := q.EdgeNamed(tip)
		q.Marks = append(q.Marks, pattern.Mark{Kind: pattern.Dot, Name: free(q.Edges[e].To, func(n string) bool { return q.MarkNamed(n) != nil }), Edge: tip, S: q.Edges[e].Path.Length(), At: got.dart.tip})
	}
	if err := w.replace(a.Piece, *q); err != nil {
		return blame(err, "/piece")
	}
	a.promises(w, &was, q, d, got, setBack, round, mouth)
	a.tell(w, &was, q, d, got, setBack, round, mouth)
	return nil
}

func hasMarkAt(q *pattern.Piece, at geom.Point) bool {
	for i := range q.Marks {
		if q.Marks[i].At.Dist(at) <= pattern.Near {
			return true
		}
	}
	return false
}

func (a *dartMoveArgs) promises(w *work, was, q *pattern.Piece, d wedge, got pivoted, setBack float64, round, mouth trued) {
	n := got.dart
	old, now := d.angle(got.pivot)*180/math.Pi*a.Share, n.angle(got.pivot)*180/math.Pi
	w.promise(inspect.Check{Rule: "dart_angle", Piece: q.Name, Place: n.name, Measured: now, Want: pattern.Range{Min: old, Max: old}, Tolerance: 0.05, Unit: inspect.Degrees,
		Text: fmt.Sprintf("Dart %s of %s opens by %.2f degrees seen from the pivot, of %.2f that were closed.", n.name, q.Name, now, old)})
	w.promiseLengths(was, nil, q)
	area := filled(q, n, got.pivot) - filled(was, d, got.pivot)
	if got.rest > 0 {
		if o, err := w.wedge("", q, d.name); err == nil {
			// Both darts are open; each is filled up to the pivot.
			legs := q.Edges[o.first].Path.Join(q.Edges[o.second].Path)
			area += geom.Polyline(o.a, got.pivot, o.b, o.a).Area() - legs.Join(geom.Polyline(o.b, o.a)).Area()
		}
	}
	w.promise(inspect.Check{Rule: "dart_area", Piece: q.Name, Place: "outline", Measured: area / 100, Tolerance: 0.01 + round.area() + mouth.area(), Unit: "cm2",
		Text: fmt.Sprintf("With its darts drawn to the pivot, %s is as large as it was.", q.Name)})
	l1, l2 := q.Edges[n.first].Path.Length(), q.Edges[n.second].Path.Length()
	w.promise(inspect.Check{Rule: "dart_legs", Piece: q.Name, Place: n.name, Measured: l1 - l2, Tolerance: 0.1, Unit: inspect.MM,
		Text: fmt.Sprintf("Both legs of dart %s of %s are %.1f mm long.", n.name, q.Name, l1)})
	back := pattern.Range{Min: setBack, Max: setBack}
	w.promise(inspect.Check{Rule: "dart_set_back", Piece: q.Name, Place: n.name, Measured: q.Edges[n.first].Path.End().Dist(got.pivot), Want: back, Tolerance: 0.1, Unit: inspect.MM,
		Text: fmt.Sprintf("Dart %s of %s ends %.1f mm before the pivot.", n.name, q.Name, setBack)})
	if e := was.EdgeNamed(q.Edges[(n.first+len(q.Edges)-1)%len(q.Edges)].Name); e >= 0 && q.Edges[n.second+1].Src.Edge == was.Edges[e].Src.Edge {
		w.promiseFold(q, n)
	}
	w.promiseMarks(was, q)
}

func (a *dartMoveArgs) tell(w *work, was, q *pattern.Piece, d wedge, got pivoted, setBack float64, round, mouth trued) {
	n := got.dart
	leg := q.Edges[n.first].Path.Length()
	w.res.Steps = append(w.res.Steps, Step{Stage: Prepare, Pieces: []string{q.Name},
		Text:    fmt.Sprintf("The %s of %s has another place: mark it from the paper, %s wide at the edge, its point %s away, and press it %s; nothing is sewn where it was.", strings.TrimPrefix(listed([]string{n.name}), "the "), q.Name, say(n.mouth()), say(leg), pressedWhere(q, n, q.Darts[n.dart].Towards)),
		Amounts: []Amount{{"dart mouth", n.mouth()}, {"dart length", leg}, {"set back", setBack}}})
	l := plan{d: Drawing{Title: fmt.Sprintf("Moved dart on %s, size %s", q.Name, w.p.Size)}}
	l.line(Outline, was.Name, was.Outline(), was.Name)
	l.step("Copy the piece with its dart.")
	m1, m2 := l.point(d.a, "old mouth"), l.point(d.b, "old mouth")
	l.measure(m1, m2, nil, "old mouth")
	l.step("Draw both legs on to the pivot: %s beyond the dart's point.", say(d.tip.Dist(got.pivot)))
	pv := l.point(got.pivot, "pivot")
	l.line(Construction, was.Name, geom.Polyline(d.a, got.pivot, d.b), "legs to the pivot")
	l.measure(m1, pv, nil, "mouth to pivot")
	l.step("Mark the new place on the outline and slash from there to the pivot.")
	nw := l.point(got.slash.Start(), "new place")
	l.line(Construction, was.Name, got.slash, "slash")
	l.measure(nw, pv, nil, "slash")
	l.step("Turn the part by %.1f degrees about the pivot%s.", math.Abs(got.turn), map[bool]string{true: ", until the old dart is closed", false: fmt.Sprintf("; %s of the old mouth stay open", say(got.rest))}[got.rest == 0])
	l.line(CutAway, was.Name, got.moved, "where the part lay")
	l.line(New, q.Name, q.Outline(), q.Name)
	x, y := l.point(n.a, "new mouth"), l.point(n.b, "new mouth")
	l.measure(x, y, nil, "new mouth")
	l.step("Set the stitch point back %s on the middle line and draw both legs to it, equally long; the mouth is trued with the dart folded %s.", say(setBack), pressedWhere(q, n, q.Darts[n.dart].Towards))
	tip := l.point(n.tip, "stitch point")
	l.line(New, q.Name, geom.Polyline(n.a, n.tip, n.b), "new dart")
	l.measure(x, tip, nil, "leg")
	if mouth.reach > 0 {
		l.step("Fold the dart and round the seam line over its mouth (%.1f degrees) within %s on each side.", math.Abs(mouth.bend), say(math.Round(mouth.reach)))
	}
	if round.reach > 0 {
		l.step("Round the slight corner at the closed mouth (%.1f degrees) within %s on each side.", math.Abs(round.bend), say(math.Round(round.reach)))
		l.point(q.Edges[got.closed].Path.End(), "closed mouth")
	}
	w.res.Drawing = l.d
}
