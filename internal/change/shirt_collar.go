package change

import (
	"fmt"
	"math"

	"sizerun/internal/geom"
	"sizerun/internal/inspect"
	"sizerun/internal/pattern"
)

// The shirt collar (TRADE 5): a stand, which is a band on the neck that runs on over the button stand, and a fall that
// is sewn to the stand's upper edge from centre front to centre front and turns down over it. The fall's seam bends the
// other way than the stand's, so that its outer edge is long enough to lie over the neck seam.

type shirtCollarArgs struct {
	Front     string   `arg:"front" kind:"name" default:"front" says:"The front."`
	Back      string   `arg:"back" kind:"name" default:"back" says:"The back."`
	Neck      string   `arg:"neck" kind:"name" default:"neck" says:"The neck edge of both."`
	Shoulder  string   `arg:"shoulder" kind:"name" default:"shoulder" says:"The shoulder edge of both."`
	Height    float64  `arg:"height" kind:"length" min:"15" max:"70" default:"30mm" says:"How high the stand is."`
	Rise      float64  `arg:"rise" kind:"length" min:"0" max:"50" default:"15mm" says:"How far the front end of the stand is raised; 10 to 20 mm are usual."`
	Depth     *float64 `arg:"depth" kind:"length" min:"20" max:"150" says:"How deep the fall is at the centre back; at least 5 mm more than the stand is high, left out, 12 mm more."`
	Point     float64  `arg:"point" kind:"length" min:"20" max:"200" default:"65mm" says:"How long the front end of the fall is, from the stand to the point."`
	Lean      float64  `arg:"lean" kind:"length" min:"-60" max:"80" default:"15mm" says:"How far the point leans forward of a square front end; less than nothing leans it back."`
	Drop      float64  `arg:"drop" kind:"length" min:"0" max:"60" default:"12mm" says:"How far the fall's seam drops to its front end, which makes its outer edge longer."`
	Button    float64  `arg:"button" kind:"length" min:"6" max:"40" default:"11mm" says:"How large the button on the stand is across."`
	Thick     float64  `arg:"thickness" kind:"length" min:"0" max:"15" default:"3mm" says:"How thick the button is: its hole is as long as the button and this."`
	Name      string   `arg:"name" kind:"name" default:"collar" says:"What the fall is called; the stand has _stand after it."`
	InsteadOf []string `arg:"instead_of" kind:"names" says:"Pieces that it takes the place of, such as a binding; they and their seams are left out."`
}

func defineShirtCollar() Definition {
	return Definition{
		Name:     "shirt_collar",
		Sentence: "Makes a shirt collar of two pieces: a stand that runs on over the button stand, and a fall that is sewn to it.",
		Promise:  "The stand is as long as the neck, and the fall's seam as the stand's upper edge, to 0.1 mm; the fall is at least 5 mm deeper than the stand at the centre back.",
		Sketch: []Stroke{
			{New, geom.Path{geom.Cubic(geom.Pt(5, 12), geom.Pt(40, 12), geom.Pt(70, 15), geom.Pt(96, 24)), geom.Cubic(geom.Pt(96, 24), geom.Pt(94, 36), geom.Pt(92, 40), geom.Pt(82, 38)), geom.Cubic(geom.Pt(82, 38), geom.Pt(60, 32), geom.Pt(35, 30), geom.Pt(5, 30)), geom.Line(geom.Pt(5, 30), geom.Pt(5, 12))}},
			{New, geom.Path{geom.Cubic(geom.Pt(5, 56), geom.Pt(35, 56), geom.Pt(60, 54), geom.Pt(82, 47)), geom.Line(geom.Pt(82, 47), geom.Pt(97, 90)), geom.Cubic(geom.Pt(97, 90), geom.Pt(65, 84), geom.Pt(35, 82), geom.Pt(5, 82)), geom.Line(geom.Pt(5, 82), geom.Pt(5, 56))}},
			{Construction, geom.Polyline(geom.Pt(82, 20), geom.Pt(82, 38))},
			{New, geom.Polyline(geom.Pt(85, 30), geom.Pt(74, 28))},
		},
		fresh: func() args { return new(shirtCollarArgs) },
	}
}

// fallOver is how much deeper than the stand the fall must be, so that it covers the neck seam (common practice).
const fallOver = 5.0

func (a *shirtCollarArgs) depth() float64 {
	if a.Depth != nil {
		return *a.Depth
	}
	return a.Height + 12
}

func (a *shirtCollarArgs) check() pattern.Faults {
	var fs pattern.Faults
	if a.depth() < a.Height+fallOver {
		fs = append(fs, pattern.Fault{Rule: "out_of_range", Pointer: "/depth", Detail: fmt.Sprintf("shirt_collar: a fall of %s on a stand of %s does not cover the neck seam", say(a.depth()), say(a.Height)),
			Valid: fmt.Sprintf("%.4g to 150 mm", a.Height+fallOver), Remedy: "make the fall deeper, or the stand lower"})
	}
	if math.Abs(a.Lean) > 0.8*a.Point {
		fs = append(fs, pattern.Fault{Rule: "out_of_range", Pointer: "/lean", Detail: fmt.Sprintf("shirt_collar: a front end of %s cannot lean by %s", say(a.Point), say(math.Abs(a.Lean))),
			Valid: fmt.Sprintf("%.4g to %.4g mm", -0.8*a.Point, 0.8*a.Point), Remedy: "let it lean less, or make the point longer"})
	}
	return fs
}

func (a *shirtCollarArgs) stand() string { return a.Name + "_stand" }

// shirtCollar is what is found on the way to one.
type shirtCollar struct {
	run      []pattern.EdgeRef
	neck     inspect.Chain
	shoulder float64 // from the centre back along the neck
	centre   float64 // to the centre front
	low, top geom.Path
	upper    float64 // along top to above the centre front
	over     float64 // to above the shoulder
}

func (c *shirtCollar) beyond() float64 { return c.neck.Len - c.centre }

func (a *shirtCollarArgs) apply(w *work) error {
	c, err := a.make(w)
	if err != nil {
		return err
	}
	a.promises(w, c)
	a.tell(w, c)
	a.draw(w, c)
	return nil
}

func (a *shirtCollarArgs) make(w *work) (*shirtCollar, error) {
	if err := w.insteadOf(a.InsteadOf); err != nil {
		return nil, err
	}
	f, b, err := w.necksOf(a.Front, a.Back, a.Neck, a.Shoulder)
	if err != nil {
		return nil, err
	}
	buttoned := f.alongCentre("/front") != nil // the neck ends at a button stand
	c := &shirtCollar{run: w.neckRun(&f, &b, buttoned)}
	if c.neck, err = inspect.Walk(&w.p, c.run); err != nil {
		return nil, err
	}
	c.shoulder, c.centre = c.neck.Links[1].Start, c.neck.Len
	if buttoned {
		c.centre = c.neck.Links[2].Start
		if most := 2 * (c.beyond() - 1); a.Button > most {
			return nil, pattern.Fault{Rule: "out_of_range", Pointer: "/button", Piece: a.Front, Edge: c.run[2].Edge, Detail: fmt.Sprintf("a button of %s would stand over the end of a collar stand that runs on for %.1f mm", say(a.Button), c.beyond()),
				Valid: fmt.Sprintf("6 to %.1f mm", most), Remedy: "choose a smaller button, or make the button stand wider"}
		}
	}
	if err := a.addStand(w, c); err != nil {
		return nil, err
	}
	return c, a.addFall(w, c)
}

// addStand makes the stand: a band whose upper front corner is rounded off over the button stand.
func (a *shirtCollarArgs) addStand(w *work, c *shirtCollar) error {
	var ok bool
	if c.low, ok = parabolaLong(c.neck.Len, a.Rise); !ok {
		return pattern.Fault{Rule: "out_of_range", Pointer: "/rise", Piece: a.Front, Edge: a.Neck, Detail: fmt.Sprintf("a stand %.1f mm long cannot be raised by %s", c.neck.Len, say(a.Rise)),
			Valid: fmt.Sprintf("0 to %.1f mm", math.Min(50, c.neck.Len/4)), Remedy: "raise it less"}
	}
	var err error
	if c.top, err = parallelIn(c.low, a.Height); err != nil {
		return pattern.Fault{Rule: "no_parallel", Pointer: "/height", Piece: a.Front, Detail: fmt.Sprintf("a stand raised by %s bends too tightly to be %s high", say(a.Rise), say(a.Height)), Remedy: "make it lower, or raise it less"}
	}
	above := func(s float64) float64 {
		u, _ := c.top.Project(c.low.PointAt(s).Add(c.low.TangentAt(s).Left().Mul(a.Height)))
		return u
	}
	c.over, c.upper = above(c.shoulder), c.top.Length()
	end := c.low.End()
	front := geom.Polyline(end, c.top.End())
	if c.beyond() > tiny {
		c.upper = above(c.centre)
		at, t := c.top.PointAt(c.upper), c.top.TangentAt(c.upper)
		up := c.low.EndTangent().Left()
		front = geom.Path{geom.Cubic(end, end.Add(up.Mul(0.62*a.Height)), at.Add(t.Mul(0.75*(c.top.Length()-c.upper))), at)}
	}
	q := newPiece(a.stand(), "Collar stand", pattern.Cut{Count: 2, Cloth: "main", Layers: 2, Interfaced: 1},
		pattern.Edge{Name: "neck_edge", From: "back_low", Path: c.low},
		pattern.Edge{Name: "front_end", From: "front_low", Path: front},
		pattern.Edge{Name: "fall_edge", From: "front_high", Path: c.top.Sub(0, c.upper).Reverse()},
		pattern.Edge{Name: "centre_back", From: "back_high", Path: geom.Polyline(c.top.Start(), c.low.Start()), Fold: true})
	q.Grain = [2]geom.Point{geom.Pt(20, 0.2*a.Height), geom.Pt(20, 0.8*a.Height)}
	fitGrain(&q)
	notch := func(name, edge string, s float64) {
		q.Marks = append(q.Marks, pattern.Mark{Kind: pattern.Notch, Count: 1, Name: name, Edge: edge, S: s, At: q.Edges[q.EdgeNamed(edge)].Path.PointAt(s)})
	}
	notch("shoulder", "neck_edge", c.shoulder)
	notch("shoulder_above", "fall_edge", c.upper-c.over)
	if c.beyond() > tiny {
		if c.beyond() >= 5 {
			notch("centre_front", "neck_edge", c.centre)
		}
		a.buttonhole(c, &q)
	}
	pairs := neckNotches(&q, "neck_edge", c.neck, func(x float64) float64 { return x })
	if err := w.addPiece("/name", q); err != nil {
		return err
	}
	w.p.Seams = append(w.p.Seams, pattern.Seam{Name: w.seamFree("neck_" + a.Name), Sew: []pattern.EdgeRef{{Piece: q.Name, Edge: "neck_edge"}}, To: c.run, Notches: pairs})
	return nil
}

// buttonhole marks button and hole on the stand, half-way up, the hole a little over the centre front so that the
// button sits on it.
func (a *shirtCollarArgs) buttonhole(c *shirtCollar, q *pattern.Piece) {
	at := c.low.PointAt(c.centre).Add(c.low.TangentAt(c.centre).Left().Mul(a.Height / 2))
	t := c.low.TangentAt(c.centre)
	over, long := math.Min(3, c.beyond()-2), a.Button+a.Thick
	q.Marks = append(q.Marks, pattern.Mark{Kind: pattern.Dot, Name: "button", At: at})
	q.Lines = append(q.Lines, pattern.InnerLine{Name: "buttonhole", Path: geom.Polyline(at.Add(t.Mul(over)), at.Add(t.Mul(over-long)))})
}

// addFall makes the fall.
func (a *shirtCollarArgs) addFall(w *work, c *shirtCollar) error {
	low, ok := parabolaLong(c.upper, -a.Drop)
	if !ok {
		return pattern.Fault{Rule: "out_of_range", Pointer: "/drop", Piece: a.Front, Edge: a.Neck, Detail: fmt.Sprintf("a fall %.1f mm long cannot drop by %s", c.upper, say(a.Drop)),
			Valid: fmt.Sprintf("0 to %.1f mm", math.Min(60, c.upper/4)), Remedy: "let it drop less"}
	}
	t := low.EndTangent()
	point := low.End().Add(t.Mul(a.Lean)).Add(t.Left().Mul(math.Sqrt(a.Point*a.Point - a.Lean*a.Lean)))
	if point.X < c.upper/3 {
		return pattern.Fault{Rule: "out_of_range", Pointer: "/lean", Piece: a.Front, Detail: fmt.Sprintf("leaning back by %s the point of a fall %.1f mm long comes too near to its middle", say(-a.Lean), c.upper), Remedy: "let it lean back less"}
	}
	outer := geom.Path{geom.Cubic(point, geom.Pt(0.72*point.X, a.depth()+0.35*(point.Y-a.depth())), geom.Pt(0.45*point.X, a.depth()), geom.Pt(0, a.depth()))}
	q := newPiece(a.Name, "Collar", pattern.Cut{Count: 2, Cloth: "main", Layers: 2, Interfaced: 1},
		pattern.Edge{Name: "stand_edge", From: "back_low", Path: low},
		pattern.Edge{Name: "front_end", From: "front_low", Path: geom.Polyline(low.End(), point)},
		pattern.Edge{Name: "outer_edge", From: "point", Path: outer},
		pattern.Edge{Name: "centre_back", From: "back_high", Path: geom.Polyline(outer.End(), low.Start()), Fold: true})
	q.Grain = [2]geom.Point{geom.Pt(20, 0.2*a.depth()), geom.Pt(20, 0.8*a.depth())}
	fitGrain(&q)
	q.Marks = append(q.Marks, pattern.Mark{Kind: pattern.Notch, Count: 1, Name: "shoulder", Edge: "stand_edge", S: c.over, At: low.PointAt(c.over)})
	if err := w.addPiece("/name", q); err != nil {
		return err
	}
	w.p.Seams = append(w.p.Seams, pattern.Seam{Name: w.seamFree(a.Name + "_fall"), Sew: []pattern.EdgeRef{{Piece: q.Name, Edge: "stand_edge"}}, To: []pattern.EdgeRef{{Piece: a.stand(), Edge: "fall_edge", Against: true}},
		Notches: [][2]pattern.MarkRef{{{Piece: q.Name, Mark: "shoulder"}, {Piece: a.stand(), Mark: "shoulder_above"}}}})
	return nil
}

func (a *shirtCollarArgs) promises(w *work, c *shirtCollar) {
	s, q := w.p.PieceNamed(a.stand()), w.p.PieceNamed(a.Name)
	path := func(p *pattern.Piece, edge string) geom.Path { return p.Edges[p.EdgeNamed(edge)].Path }
	low, up, fall := path(s, "neck_edge"), path(s, "fall_edge"), path(q, "stand_edge")
	w.promise(inspect.Check{Rule: "collar_length", Piece: s.Name, Place: "neck_edge", Measured: low.Length() - c.neck.Len, Tolerance: 0.1, Unit: inspect.MM,
		Text: fmt.Sprintf("The seam of %s is %.2f mm long, the neck %.2f mm.", s.Name, low.Length(), c.neck.Len)})
	w.promise(inspect.Check{Rule: "collar_fall", Piece: q.Name, Place: "stand_edge", Measured: fall.Length() - up.Length(), Tolerance: 0.1, Unit: inspect.MM,
		Text: fmt.Sprintf("The seam of %s is %.2f mm long, the upper edge of %s that it is sewn to %.2f mm.", q.Name, fall.Length(), s.Name, up.Length())})
	w.promise(inspect.Check{Rule: "collar_height", Piece: s.Name, Place: "fall_edge", Measured: unparallel(low, up, a.Height, 0), Tolerance: 0.1, Unit: inspect.MM,
		Text: fmt.Sprintf("%s is %s high as far as the centre front.", title(s.Name), say(a.Height))})
	square := 0.0
	for _, x := range [][2]geom.Path{{path(s, "centre_back"), low}, {path(q, "centre_back"), fall}, {path(q, "outer_edge"), path(q, "centre_back")}} {
		square = math.Max(square, math.Abs(degrees(x[0].EndTangent(), x[1].StartTangent())-90))
	}
	w.promise(inspect.Check{Rule: "collar_square", Piece: q.Name, Place: "centre_back", Measured: square, Tolerance: 1, Unit: inspect.Degrees,
		Text: fmt.Sprintf("The edges of %s and %s are square to the fold at the centre back, to %.2f degrees.", q.Name, s.Name, square)})
	deeper := path(q, "centre_back").Length() - path(s, "centre_back").Length()
	w.promise(inspect.Check{Rule: "collar_covers", Piece: q.Name, Place: "centre_back", Measured: deeper, Want: pattern.Range{Min: fallOver, Max: 200}, Tolerance: 0.1, Unit: inspect.MM, Source: "common practice",
		Text: fmt.Sprintf("At the centre back %s is %.1f mm deeper than %s is high; with %g mm or more it covers the neck seam.", q.Name, deeper, s.Name, fallOver)})
	end := path(q, "front_end").Length()
	w.promise(inspect.Check{Rule: "collar_point", Piece: q.Name, Place: "front_end", Measured: end - a.Point, Tolerance: 0.1, Unit: inspect.MM,
		Text: fmt.Sprintf("The front end of %s is %.2f mm long.", q.Name, end)})
	if m := s.MarkNamed("button"); m != nil {
		u, _ := low.Project(m.At)
		w.promise(inspect.Check{Rule: "collar_button", Piece: s.Name, Place: "button", Measured: u - c.centre, Tolerance: 0.1, Unit: inspect.MM,
			Text: fmt.Sprintf("The button lies %.2f mm from the centre back, the centre front %.2f mm.", u, c.centre)})
	}
}

func (a *shirtCollarArgs) tell(w *work, c *shirtCollar) {
	s, q := w.p.PieceNamed(a.stand()), w.p.PieceNamed(a.Name)
	rim := edgeLength(q, "outer_edge") + edgeLength(q, "front_end")
	round := edgeLength(s, "front_end")
	ends := "its ends to the centre front"
	if c.beyond() > tiny {
		ends = "its notch to the centre front, its ends to the edges of the button stand"
	}
	w.res.Steps = append(w.res.Steps,
		Step{Stage: Prepare, Pieces: []string{q.Name, s.Name}, Amounts: []Amount{{"outer edge, half", rim}, {"fall's seam, half", c.upper}, {"stand's end", round}},
			Text: fmt.Sprintf("Interface one collar and one stand. Right sides together, sew the two collars along ends and outer edge (%.0f mm a half); trim the points, turn and press. Lay the collar between the two stands, right sides together, centre back to centre back, shoulder notches together, its ends at the centre front; sew along the upper edge and round both ends of the stand (%.0f mm and %.0f mm a half), down to the seam line of the neck; trim, turn and press.", rim, c.upper, round)},
		Step{Stage: Collar, Pieces: []string{s.Name, a.Front, a.Back}, Amounts: []Amount{{"neck, half", c.neck.Len}, {"centre back to shoulder", c.shoulder}, {"centre back to centre front", c.centre}},
			Text: fmt.Sprintf("Sew the interfaced stand to the neck, right sides together (%.0f mm a half): centre back to centre back, the notch, %.0f mm from there, to the shoulder seam, %s. Turn under the neck edge of the other stand and stitch it down over the seam.", c.neck.Len, c.shoulder, ends)})
	w.res.Notions = append(w.res.Notions, "interfacing")
	if c.beyond() > tiny {
		w.res.Notions = append(w.res.Notions, fmt.Sprintf("1 button for the collar stand, %g mm", a.Button))
		w.res.Steps = append(w.res.Steps, Step{Stage: Finish, Pieces: []string{s.Name}, Amounts: []Amount{{"buttonhole", a.Button + a.Thick}},
			Text: fmt.Sprintf("Work a buttonhole of %s along the collar stand, half-way up, from %s in front of the centre front, on the side that laps over, and sew the button to the other end, on the centre front.", say(a.Button+a.Thick), say(math.Min(3, c.beyond()-2)))})
	}
}

func (a *shirtCollarArgs) draw(w *work, c *shirtCollar) {
	s, q := w.p.PieceNamed(a.stand()), w.p.PieceNamed(a.Name)
	path := func(p *pattern.Piece, edge string) geom.Path { return p.Edges[p.EdgeNamed(edge)].Path }
	d := plan{d: Drawing{Title: fmt.Sprintf("Shirt collar with stand, size %s", w.p.Size)}}
	d.step("The stand: measure the neck from centre back to its front end, %s, and draw a line of about that length, square to the fold. Raise its front end by %s and draw the seam as a smooth curve, level at the fold, until it is as long as the neck.", say(c.neck.Len), say(a.Rise))
	low := path(s, "neck_edge")
	d.line(Construction, s.Name, geom.Polyline(low.Start(), geom.Pt(low.End().X, 0)), "level")
	cb, sh, end := d.point(low.Start(), "centre back"), d.point(low.PointAt(c.shoulder), "shoulder"), d.point(low.End(), "front end")
	d.line(New, s.Name, low, "neck_edge")
	d.measure(cb, sh, low.Sub(0, c.shoulder), "centre back to shoulder")
	d.measure(sh, end, low.Sub(c.shoulder, low.Length()), "shoulder to front end")
	d.step("Draw the upper edge parallel to it, %s above, to the centre front; from there round it off to the front end.", say(a.Height))
	high, cf := d.point(c.top.Start(), "top, centre back"), d.point(c.top.PointAt(c.upper), "top, centre front")
	d.measure(cb, high, nil, "height")
	d.measure(high, cf, c.top.Sub(0, c.upper), "upper edge")
	d.line(Construction, s.Name, geom.Polyline(low.PointAt(c.centre), c.top.PointAt(c.upper)), "centre front")
	d.line(New, s.Name, path(s, "fall_edge"), "fall_edge")
	d.line(New, s.Name, path(s, "front_end"), "front_end")
	d.line(New, s.Name, path(s, "centre_back"), "fold")
	for _, l := range s.Lines {
		d.line(New, s.Name, l.Path, l.Name)
	}
	// The fall is drawn above the stand.
	lift := geom.Translate(geom.Vec{Y: a.Height + a.Rise + a.Drop + 25})
	fall := path(q, "stand_edge").Transform(lift)
	d.step("The fall: draw its seam as long as that upper edge, level at the fold and dropping by %s to the front end.", say(a.Drop))
	b, e := d.point(fall.Start(), "fall, centre back"), d.point(fall.End(), "fall, front end")
	d.line(Construction, q.Name, geom.Polyline(fall.Start(), geom.Pt(fall.End().X, fall.Start().Y)), "level")
	d.line(New, q.Name, fall, "stand_edge")
	d.measure(b, e, fall, "as the upper edge")
	d.step("Go up %s at the centre back and %s to the point, which leans %s forward of square; join the two by a smooth outer edge, square to the fold.", say(a.depth()), say(a.Point), say(a.Lean))
	outer, front := path(q, "outer_edge").Transform(lift), path(q, "front_end").Transform(lift)
	x, p := d.point(outer.End(), "outer centre back"), d.point(outer.Start(), "point")
	d.measure(b, x, nil, "depth")
	d.measure(e, p, nil, "point")
	d.line(New, q.Name, outer, "outer_edge")
	d.line(New, q.Name, front, "front_end")
	d.line(New, q.Name, geom.Polyline(outer.End(), fall.Start()), "fold")
	w.res.Drawing = d.d
}
