package change

import (
	"fmt"
	"math"
	"strings"

	"sizerun/internal/geom"
	"sizerun/internal/inspect"
	"sizerun/internal/pattern"
)

// A style line (TRADE 5): a piece is split along a line between two places of its outline; yoke, panel,
// princess line. Both parts carry the marks of their side; the new seam between them gets notches that
// meet, and is sewn like every other.

type splitArgs struct {
	Piece      string        `arg:"piece" kind:"name" must:"yes" says:"The piece that is split."`
	From       pattern.Place `arg:"from" kind:"place" must:"yes" says:"Where on the outline the line begins."`
	To         pattern.Place `arg:"to" kind:"place" must:"yes" says:"Where on the outline it ends."`
	Shape      string        `arg:"shape" kind:"choice" choices:"straight,curved" default:"straight" says:"Whether the line is straight or a smooth curve."`
	FromAngle  float64       `arg:"from_angle" kind:"angle" min:"5" max:"175" default:"90" says:"A curve's angle to the outline where it begins, measured from the way the outline runs on; 90 is square."`
	ToAngle    float64       `arg:"to_angle" kind:"angle" min:"5" max:"175" default:"90" says:"A curve's angle to the outline where it ends, measured from the way the outline runs on; 90 is square."`
	Fullness   float64       `arg:"fullness" kind:"share" min:"0.05" max:"0.95" says:"How full a curve is; left out, the fairest is drawn."`
	Inflection bool          `arg:"inflection" kind:"flag" default:"false" says:"Whether a curve may bend both ways."`
	Line       string        `arg:"line" kind:"name" default:"style_line" says:"The name of the new edge on both parts."`
	Left       string        `arg:"left" kind:"name" says:"The name of the part on the left hand as one walks from the beginning to the end; left out, the piece's name with _left."`
	Right      string        `arg:"right" kind:"name" says:"The name of the part on the right hand; left out, the piece's name with _right."`
	Notches    int           `arg:"notches" kind:"number" min:"0" max:"9" default:"1" says:"How many notches are spread over the line, to meet when it is sewn."`
}

func defineSplit() Definition {
	return Definition{
		Name:     "split",
		Sentence: "Splits a piece along a style line, straight or curved, into two that are sewn together again.",
		Promise:  "Both parts together are the piece, edge for edge; every mark goes to its side; the two new edges are equal, their notches meet.",
		Sketch: []Stroke{
			{Outline, geom.Polyline(geom.Pt(10, 10), geom.Pt(90, 10), geom.Pt(90, 70), geom.Pt(60, 95), geom.Pt(30, 95), geom.Pt(10, 70), geom.Pt(10, 10))},
			{New, geom.Path{geom.Cubic(geom.Pt(10, 55), geom.Pt(35, 55), geom.Pt(62, 40), geom.Pt(62, 10))}},
		},
		fresh: func() args { return new(splitArgs) },
	}
}

func (a *splitArgs) check() pattern.Faults {
	if a.Left == "" {
		a.Left = a.Piece + "_left"
	}
	if a.Right == "" {
		a.Right = a.Piece + "_right"
	}
	for _, n := range [2][2]string{{"/left", a.Left}, {"/right", a.Right}} {
		if !pattern.ValidName(n[1]) {
			return pattern.Faults{{Rule: "bad_name", Pointer: n[0], Detail: fmt.Sprintf("split: a part cannot be named %s", pattern.Quote(n[1])), Valid: pattern.NameRule, Remedy: "give a shorter name"}}
		}
	}
	if a.Left == a.Right {
		return pattern.Faults{{Rule: "given_twice", Pointer: "/right", Detail: "split: both parts have the same name", Remedy: "name them apart"}}
	}
	return nil
}

func (a *splitArgs) apply(w *work) error {
	p, err := w.piece("/piece", a.Piece)
	if err != nil {
		return err
	}
	was := p.Clone()
	from, err := w.end("/from", &was, a.From)
	if err != nil {
		return err
	}
	to, err := w.end("/to", &was, a.To)
	if err != nil {
		return err
	}
	x, y := from.at(&was), to.at(&was)
	if x.Dist(y) < 2 {
		return pattern.Fault{Rule: "line_too_short", Pointer: "/to", Piece: was.Name, Detail: fmt.Sprintf("the line begins and ends within %.2f mm", x.Dist(y)), Valid: "at least 2 mm", Remedy: "choose two places further apart"}
	}
	var path geom.Path
	if a.Shape == "straight" {
		path = geom.Polyline(x, y)
		if err := w.staysInside(&was, path, "/to"); err != nil {
			return err
		}
	} else {
		rad := math.Pi / 180
		path, err = w.draw(&was, styleLine{from: from, to: to, ptr: "/to",
			leave:    runsOn(&was, from).Rotate(a.FromAngle * rad),
			arrive:   runsOn(&was, to).Rotate(a.ToAngle * rad).Neg(),
			fullness: a.Fullness, inflection: a.Inflection})
		if err != nil {
			return err
		}
	}
	l := cutLine{from: from, to: to, path: path, edge: a.Line}
	left, err := leftOf(&was, l, a.Left)
	if err != nil {
		return blame(err, "/to")
	}
	// Both parts tell the same source, the left one's, so that a place on the line is found on either.
	right, err := rightOf(&was, l, a.Right)
	if err != nil {
		return blame(err, "/to")
	}
	le, re := len(left.Edges)-1, len(right.Edges)-1
	length := left.Edges[le].Path.Length()
	seam := pattern.Seam{Name: a.seamName(w), Sew: []pattern.EdgeRef{{Piece: a.Left, Edge: left.Edges[le].Name}}, To: []pattern.EdgeRef{{Piece: a.Right, Edge: right.Edges[re].Name, Against: true}}}
	seam.SmoothStart, seam.SmoothEnd = midEdge(&was, from), midEdge(&was, to)
	for i := range a.Notches {
		s := length * float64(i+1) / float64(a.Notches+1)
		name := fmt.Sprintf("%s_notch_%d", a.Line, i+1)
		name = free(name, func(n string) bool { return knows(&left)(n) || knows(&right)(n) })
		m := pattern.Mark{Kind: pattern.Notch, Count: 1, Name: name, Match: a.Left + "_" + name}
		for k, q := range []*pattern.Piece{&left, &right} {
			m.Edge, m.S = q.Edges[len(q.Edges)-1].Name, s
			if k == 1 {
				m.S = right.Edges[re].Path.Length() - s
			}
			m.At = q.Edges[len(q.Edges)-1].Path.PointAt(m.S)
			q.Marks = append(q.Marks, m)
		}
		seam.Notches = append(seam.Notches, [2]pattern.MarkRef{{Piece: a.Left, Mark: name}, {Piece: a.Right, Mark: name}})
	}
	if was.Title != "" {
		left.Title, right.Title = partTitle(&was, a.Left), partTitle(&was, a.Right)
	}
	if err := w.replace(a.Piece, left, right); err != nil {
		return blame(err, "/piece")
	}
	w.p.Seams = append(w.p.Seams, seam)
	a.tell(w, &was, &left, &right, l, seam)
	return nil
}

// end finds an end of a style line. One that lies a hair from a corner would leave an edge too short to
// sew: it has to lie on the corner, or clear of it.
func (w *work) end(ptr string, p *pattern.Piece, pl pattern.Place) (spot, error) {
	const clear = 2.0 // mm
	s, err := w.spotOf(ptr, p, pl)
	if err != nil {
		return s, err
	}
	l := p.Edges[s.edge].Path.Length()
	d := math.Min(s.s, l-s.s)
	switch {
	case d <= pattern.Near && s.s <= l/2:
		s.s = 0
	case d <= pattern.Near:
		s = spot{(s.edge + 1) % len(p.Edges), 0}
	case d < clear:
		return s, pattern.Fault{Rule: "near_corner", Pointer: ptr, Piece: p.Name, Edge: p.Edges[s.edge].Name,
			Detail: fmt.Sprintf("the line would end %.2f mm from a corner of edge %s", d, p.Edges[s.edge].Name),
			Valid:  fmt.Sprintf("on a corner, or at least %g mm from it", clear), Remedy: "end it at the corner, or further away"}
	}
	return s, nil
}

// runsOn is the direction in which the outline runs on from a spot.
func runsOn(p *pattern.Piece, s spot) geom.Vec { return p.Edges[s.edge].Path.TangentAt(s.s) }

// midEdge: the outline runs on smoothly there, so that it must do so across the seam, too.
func midEdge(p *pattern.Piece, s spot) bool {
	if s.s > pattern.Near {
		return true
	}
	n := len(p.Edges)
	return degrees(p.Edges[(s.edge+n-1)%n].Path.EndTangent(), p.Edges[s.edge].Path.StartTangent()) < 0.5
}

// partTitle is what a part of a piece is called on paper.
func partTitle(was *pattern.Piece, name string) string {
	if rest, ok := strings.CutPrefix(name, was.Name+"_"); ok {
		return was.Title + " " + strings.ReplaceAll(rest, "_", " ")
	}
	return titled(name)
}

func (a *splitArgs) seamName(w *work) string {
	return free(a.Piece+"_"+a.Line, func(n string) bool {
		for i := range w.p.Seams {
			if w.p.Seams[i].Name == n {
				return true
			}
		}
		return false
	})
}

func (a *splitArgs) tell(w *work, was, left, right *pattern.Piece, l cutLine, seam pattern.Seam) {
	ll, rl := left.Edges[len(left.Edges)-1].Path.Length(), right.Edges[len(right.Edges)-1].Path.Length()
	w.promise(inspect.Check{Rule: "split_equal", Piece: left.Name, Place: seam.Name, Measured: ll - rl, Tolerance: 0.1, Unit: inspect.MM,
		Text: fmt.Sprintf("Both sides of the style line %s are %.1f mm long.", a.Line, ll)})
	area := (left.Outline().Area() + right.Outline().Area() - was.Outline().Area()) / 100
	w.promise(inspect.Check{Rule: "split_whole", Piece: was.Name, Place: "outline", Measured: area, Tolerance: 0.01, Unit: "cm2",
		Text: fmt.Sprintf("The two parts together are as large as %s.", was.Name)})
	lost := 0
	for _, m := range was.Marks {
		if left.MarkNamed(m.Name) == nil && right.MarkNamed(m.Name) == nil {
			lost++
		}
	}
	w.promise(inspect.Check{Rule: "split_marks", Piece: was.Name, Place: "marks", Measured: float64(lost), Unit: inspect.Count,
		Text: fmt.Sprintf("Every mark of %s is on one of its parts.", was.Name)})
	w.res.Steps = append(w.res.Steps, Step{Stage: Assemble, Pieces: []string{left.Name, right.Name},
		Text:    fmt.Sprintf("Right sides together, sew %s to %s along the style line (%.0f mm), matching the notches; press.", left.Name, right.Name, ll),
		Amounts: []Amount{{"style line", ll}}})
	d := plan{d: Drawing{Title: fmt.Sprintf("Style line on %s, size %s", was.Name, w.p.Size)}}
	d.line(Outline, was.Name, was.Outline(), was.Name)
	d.step("Find the two ends of the line on the outline.")
	x, y := d.point(l.from.at(was), "beginning"), d.point(l.to.at(was), "end")
	d.step("Draw the line, %s.", a.Shape)
	d.line(New, left.Name, l.path, a.Line)
	d.measure(x, y, l.path, a.Line)
	d.step("Mark %d notches across it, at equal distances; trace the parts apart.", a.Notches)
	for i := range seam.Notches {
		d.point(left.MarkNamed(seam.Notches[i][0].Mark).At, seam.Notches[i][0].Mark)
	}
	w.res.Drawing = d.d
}
