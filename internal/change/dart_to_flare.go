package change

import (
	"fmt"
	"math"

	"sizerun/internal/geom"
	"sizerun/internal/inspect"
	"sizerun/internal/pattern"
)

// A dart into flare (TRADE 5): it is closed and the piece is hinged open from the hem to the dart's point;
// the opened angle is cloth, and the hem is drawn over it smoothly, at the same depth below the hinge.

type dartToFlareArgs struct {
	Piece  string         `arg:"piece" kind:"name" must:"yes" says:"The piece with the dart."`
	Dart   string         `arg:"dart" kind:"name" says:"The dart; left out where the piece has only one."`
	Hem    string         `arg:"hem" kind:"name" default:"hem" says:"The hem edge that is opened."`
	To     *pattern.Place `arg:"to" kind:"place" says:"Where on the hem it is opened; left out, straight below the hinge along the grain."`
	Bust   *pattern.Place `arg:"bust" kind:"place" says:"The point that the piece is hinged at, most often the bust point; left out, it is told by beyond."`
	Beyond float64        `arg:"beyond" kind:"length" min:"0" max:"120" default:"0mm" says:"How far that point lies beyond the dart's own point on its middle line; 0 hinges at the dart's own point."`
	Share  float64        `arg:"share" kind:"share" min:"0.05" max:"1" default:"1" says:"How much of the dart's angle becomes flare; the rest stays a dart."`
}

func defineDartToFlare() Definition {
	return Definition{
		Name:     "dart_to_flare",
		Sentence: "Closes a dart and hinges the piece open to the hem, so that its angle becomes flare.",
		Promise:  "The hem opens by the dart's angle; every other edge keeps its length to 0.1 mm; the hem runs on smoothly over the opening.",
		Sketch: []Stroke{
			{Outline, geom.Polyline(geom.Pt(30, 5), geom.Pt(10, 8), geom.Pt(28, 95), geom.Pt(72, 95), geom.Pt(90, 8), geom.Pt(70, 5))},
			{CutAway, geom.Polyline(geom.Pt(44, 95), geom.Pt(50, 60), geom.Pt(56, 95))},
			{Construction, geom.Polyline(geom.Pt(36, 4), geom.Pt(50, 60), geom.Pt(64, 4))},
			{New, geom.Path{geom.Cubic(geom.Pt(30, 5), geom.Pt(42, 2), geom.Pt(58, 2), geom.Pt(70, 5))}},
		},
		fresh: func() args { return new(dartToFlareArgs) },
	}
}

func (a *dartToFlareArgs) dart() *dartArgs { return &dartArgs{a.Piece, a.Dart, a.Bust, a.Beyond} }

func (a *dartToFlareArgs) check() pattern.Faults { return a.dart().check("dart_to_flare") }

func (a *dartToFlareArgs) apply(w *work) error {
	p, d, about, err := a.dart().find(w)
	if err != nil {
		return err
	}
	was := p.Clone()
	hem, err := w.edge("/hem", &was, a.Hem)
	if err != nil {
		return err
	}
	if w.sewn(a.Piece, a.Hem) {
		return pattern.Fault{Rule: "hem_sewn", Pointer: "/hem", Piece: was.Name, Edge: a.Hem, Detail: fmt.Sprintf("%s is sewn to another edge and cannot become longer", a.Hem), Valid: "an edge that is not sewn", Remedy: "gather the dart into that seam instead, or name another edge"}
	}
	to, err := a.place(w, &was, hem, about)
	if err != nil {
		return err
	}
	setBack := 0.0
	if a.Share < 1 && a.dart().atBust() {
		setBack = 20
	}
	got, err := w.pivot(&was, pivoting{dart: d, about: about, to: to, share: a.Share, setBack: setBack, ptr: "/to", fills: true})
	if err != nil {
		return err
	}
	legs := [2]string{was.Edges[d.first].Name, was.Edges[d.second].Name}
	open := got.dart
	var round trued
	if got.rest == 0 {
		round = trueJoint(&got.piece, got.closed, 40, 0.06)
	}
	q, at := fillMouth(&got.piece, open, a.Hem+"_opened")
	n := len(q.Edges)
	before, opening := q.Edges[(at+n-1)%n], q.Edges[at]
	q = joinEdges(&q, (at+n-1)%n, 3)
	fitGrain(&q)
	if got.rest == 0 {
		w.dartSeam(q.Name, legs[0], legs[1])
	}
	if err := w.replace(a.Piece, q); err != nil {
		return blame(err, "/piece")
	}
	o := openedDart{was: was, piece: got.piece, old: d, now: open, pivot: about, moved: &got, round: round}
	a.promises(w, &o, &q, before, opening)
	a.tell(w, &o, &q, opening)
	return nil
}

// place is where the hem is opened.
func (a *dartToFlareArgs) place(w *work, p *pattern.Piece, hem int, about geom.Point) (spot, error) {
	if a.To == nil {
		box := p.Outline().Bounds()
		u := p.Grain[1].Sub(p.Grain[0]).Unit()
		if h := p.Edges[hem].Path; h.PointAt(h.Length()/2).Sub(about).Dot(u) < 0 {
			u = u.Neg()
		}
		ray := geom.Polyline(about, about.Add(u.Mul(box.W()+box.H())))
		x := geom.Intersect(ray, p.Edges[hem].Path, 1e-6)
		if len(x) == 0 {
			return spot{}, pattern.Fault{Rule: "hem_not_below", Pointer: "/hem", Piece: p.Name, Edge: a.Hem, Detail: fmt.Sprintf("%s does not lie below the hinge along the grain", a.Hem), Valid: "an edge below the dart's point", Remedy: "name the hem, or say where it is opened"}
		}
		l := p.Edges[hem].Path.Length()
		if s := x[0].T; s > 2 && s < l-2 {
			return spot{hem, s}, nil
		}
		return spot{}, pattern.Fault{Rule: "near_corner", Pointer: "/to", Piece: p.Name, Edge: a.Hem, Detail: "straight below the hinge the hem has a corner", Valid: "a place at least 2 mm from the hem's ends", Remedy: "say where it is opened"}
	}
	s, err := w.end("/to", p, *a.To)
	if err != nil {
		return s, err
	}
	if s.edge != hem || s.s <= tiny {
		return s, pattern.Fault{Rule: "not_on_hem", Pointer: "/to", Piece: p.Name, Edge: p.Edges[s.edge].Name, Detail: fmt.Sprintf("the place does not lie on %s", a.Hem), Valid: "a place on the hem, clear of its corners", Remedy: "choose a place on the hem"}
	}
	return s, nil
}

func (a *dartToFlareArgs) promises(w *work, o *openedDart, q *pattern.Piece, before, opening pattern.Edge) {
	x, y := o.old.angle(o.pivot)*180/math.Pi*a.Share, o.now.angle(o.pivot)*180/math.Pi
	w.promise(inspect.Check{Rule: "dart_angle", Piece: q.Name, Place: a.Hem, Measured: y, Want: pattern.Range{Min: x, Max: x}, Tolerance: 0.05, Unit: inspect.Degrees,
		Text: fmt.Sprintf("The hem of %s is opened by %.2f degrees, of %.2f that were closed.", q.Name, y, x)})
	w.promiseLengths(&o.was, []string{a.Hem}, q)
	w.promiseMarks(&o.was, q)
	hem := q.Edges[q.EdgeNamed(a.Hem)].Path
	s := before.Path.Length()
	worst := 0.0
	for _, at := range [2]float64{s, s + opening.Path.Length()} {
		worst = math.Max(worst, degrees(hem.TangentAt(at-0.01), hem.TangentAt(at+0.01)))
	}
	w.promise(inspect.Check{Rule: "flare_smooth", Piece: q.Name, Place: a.Hem, Measured: worst, Tolerance: 1, Unit: inspect.Degrees,
		Text: fmt.Sprintf("The hem of %s runs on smoothly over the opening.", q.Name)})
	old := o.was.Edges[o.was.EdgeNamed(a.Hem)].Path.Length()
	grown := hem.Length() - old
	arc := o.now.angle(o.pivot) * o.now.a.Dist(o.pivot)
	w.promise(inspect.Check{Rule: "flare_hem", Piece: q.Name, Place: a.Hem, Measured: grown, Want: pattern.Range{Min: o.now.mouth(), Max: math.Max(arc*1.25, o.now.mouth()) + 1}, Tolerance: 0.1, Unit: inspect.MM,
		Text: fmt.Sprintf("The hem of %s grows by %.1f mm; an arc about the hinge would be %.1f mm.", q.Name, grown, arc)})
}

func (a *dartToFlareArgs) tell(w *work, o *openedDart, q *pattern.Piece, opening pattern.Edge) {
	hem := q.Edges[q.EdgeNamed(a.Hem)].Path.Length()
	w.res.Steps = append(w.res.Steps, Step{Stage: Finish, Pieces: []string{q.Name},
		Text:    fmt.Sprintf("The hem of %s is %.0f mm long and rounded: let the piece hang for a day before turning it, and turn it narrowly.", q.Name, hem),
		Amounts: []Amount{{"hem", hem}, {"flare", opening.Path.Length()}}})
	l := o.drawing(w, "Dart into flare", q)
	x, y := l.point(o.now.a, "opened hem"), l.point(o.now.b, "opened hem")
	l.line(Construction, q.Name, geom.Polyline(o.now.a, o.pivot, o.now.b), "opening")
	l.measure(x, y, nil, "flare")
	l.step("Fill the opening with cloth and draw the hem over it smoothly, as deep below the hinge as it was.")
	l.line(New, q.Name, opening.Path, a.Hem)
	l.measure(x, y, opening.Path, "new hem")
	w.res.Drawing = l.d
}
