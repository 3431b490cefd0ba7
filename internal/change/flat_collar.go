package change

import (
	"fmt"
	"math"

	"sizerun/internal/geom"
	"sizerun/internal/inspect"
	"sizerun/internal/pattern"
)

// The flat collar (TRADE 5): front and back are laid shoulder to shoulder and the collar is drawn on them. Laid
// exactly together, it lies flat on the body; where the shoulders overlap at the armhole, the outer edge becomes
// shorter than the body under it, so that the collar rises a little and its seam rolls under.
//
// The collar is drawn as it lies on the table: centre back upright at x = 0, the neck hole above and to the left.

type flatCollarArgs struct {
	Front      string   `arg:"front" kind:"name" default:"front" says:"The front."`
	Back       string   `arg:"back" kind:"name" default:"back" says:"The back."`
	Neck       string   `arg:"neck" kind:"name" default:"neck" says:"The neck edge of both."`
	Shoulder   string   `arg:"shoulder" kind:"name" default:"shoulder" says:"The shoulder edge of both."`
	Overlap    float64  `arg:"overlap" kind:"length" min:"0" max:"60" default:"15mm" says:"How far the shoulders overlap at the armhole; 10 to 25 mm are usual, nothing makes the collar lie quite flat."`
	Depth      float64  `arg:"depth" kind:"length" min:"15" max:"250" default:"65mm" says:"How deep the collar is at the centre back."`
	FrontDepth *float64 `arg:"front_depth" kind:"length" min:"15" max:"300" says:"How deep it is at its front end; left out, as at the back, and 25 mm more where it is pointed."`
	End        string   `arg:"end" kind:"choice" choices:"round,pointed,square" default:"round" says:"The shape of its front end."`
	Round      *float64 `arg:"round" kind:"length" min:"5" max:"250" says:"How much of a round front end the curve takes; left out, six tenths of its depth."`
	Raise      float64  `arg:"raise" kind:"length" min:"0" max:"10" default:"3mm" says:"How far its seam is raised at the centre back, so that it rolls under."`
	Turn       float64  `arg:"turn" kind:"length" min:"0" max:"6" default:"2.5mm" says:"How much smaller the under collar is along its outer edge, for the cloth that turns over it; nothing cuts both alike."`
	Cut        string   `arg:"cut" kind:"choice" choices:"auto,fold,open" default:"auto" says:"Whether it lies on the fold at the centre back or is open there, in two halves; auto opens it where the back opens there."`
	Name       string   `arg:"name" kind:"name" default:"collar" says:"What the new piece is called; the under collar has under_ before it."`
	InsteadOf  []string `arg:"instead_of" kind:"names" says:"Pieces that it takes the place of, such as a binding; they and their seams are left out."`
}

func defineFlatCollar() Definition {
	return Definition{
		Name:     "flat_collar",
		Sentence: "Makes a flat collar, drawn on front and back laid together with overlapping shoulders.",
		Promise:  "Its seam is as long as the neck to 0.1 mm; the shoulders overlap as stated; it is square to the centre back, and its outer edge has no corner over the shoulder.",
		Sketch: []Stroke{
			{Construction, geom.Polyline(geom.Pt(12, 42), geom.Pt(12, 5))},
			{Construction, geom.Polyline(geom.Pt(46, 58), geom.Pt(92, 50))},
			{Construction, geom.Polyline(geom.Pt(46, 58), geom.Pt(93, 60))},
			{New, geom.Path{geom.Cubic(geom.Pt(12, 42), geom.Pt(30, 42), geom.Pt(46, 50), geom.Pt(46, 62)), geom.Cubic(geom.Pt(46, 62), geom.Pt(46, 78), geom.Pt(32, 86), geom.Pt(16, 87))}},
			{New, geom.Path{geom.Cubic(geom.Pt(12, 16), geom.Pt(50, 16), geom.Pt(74, 36), geom.Pt(74, 62)), geom.Cubic(geom.Pt(74, 62), geom.Pt(74, 86), geom.Pt(46, 97), geom.Pt(32, 97)), geom.Cubic(geom.Pt(32, 97), geom.Pt(22, 97), geom.Pt(17, 95), geom.Pt(16, 87))}},
			{New, geom.Polyline(geom.Pt(12, 42), geom.Pt(12, 16))},
		},
		fresh: func() args { return new(flatCollarArgs) },
	}
}

func (a *flatCollarArgs) front() float64 {
	switch {
	case a.FrontDepth != nil:
		return *a.FrontDepth
	case a.End == "pointed":
		return a.Depth + 25
	}
	return a.Depth
}

func (a *flatCollarArgs) round() float64 {
	if a.Round != nil {
		return *a.Round
	}
	return 0.6 * a.front()
}

func (a *flatCollarArgs) check() pattern.Faults {
	switch {
	case a.End == "pointed" && a.front() < a.Depth+5:
		return pattern.Faults{{Rule: "out_of_range", Pointer: "/front_depth", Detail: fmt.Sprintf("flat_collar: a point of %s is no deeper than the back, %s", say(a.front()), say(a.Depth)),
			Valid: fmt.Sprintf("at least %s", say(a.Depth+5)), Remedy: "make the front deeper, or the end square"}}
	case a.End == "round" && a.round() > a.front()-2:
		return pattern.Faults{{Rule: "out_of_range", Pointer: "/round", Detail: fmt.Sprintf("flat_collar: a curve of %s does not fit into a front end of %s", say(a.round()), say(a.front())),
			Valid: fmt.Sprintf("5 to %g mm", a.front()-2), Remedy: "round it less, or make it deeper"}}
	}
	return nil
}

// flatCollar is what is found on the way to one.
type flatCollar struct {
	laid   laidNeck
	refs   []pattern.EdgeRef
	seam   geom.Path // from centre back to centre front
	length float64   // of the neck, half; back is the part of it on the back
	back   float64
	taken  float64   // what raising the seam took from its length
	outer  geom.Path // from the centre back to the front end: all of it where that is round
	end    geom.Path // from there to the neck; empty where it is round
	over   geom.Point
	open   bool
}

// trueOverlap, mm, is how closely the overlap of the shoulders is kept.
const trueOverlap = 0.1

// overlapOf is the overlap of the shoulders that a seam tells by how much less than the neck it bends. It is walked as
// on its piece, from the centre front.
func (l *laidNeck) overlapOf(seam geom.Path) float64 {
	return 2 * l.shoulder * math.Sin((l.turns+turning(seam))/2)
}

func (a *flatCollarArgs) apply(w *work) error {
	c, err := a.make(w)
	if err != nil {
		return err
	}
	a.tell(w, c)
	return nil
}

func (a *flatCollarArgs) make(w *work) (*flatCollar, error) {
	if err := w.insteadOf(a.InsteadOf); err != nil {
		return nil, err
	}
	f, b, err := w.necksOf(a.Front, a.Back, a.Neck, a.Shoulder)
	if err != nil {
		return nil, err
	}
	if err := b.alongCentre("/back"); err != nil {
		return nil, err
	}
	if err := f.hollow(1); err != nil {
		return nil, err
	}
	if err := b.hollow(0); err != nil { // the neck of a back may be cut straight across
		return nil, err
	}
	c := &flatCollar{refs: w.neckRun(&f, &b, false), open: a.Cut == "open" || a.Cut == "auto" && w.opensAt(&b)}
	if c.laid, err = layShoulders(&f, &b, a.Overlap); err != nil {
		return nil, err
	}
	if err := a.drawSeam(c); err != nil {
		return nil, err
	}
	if over := c.laid.overlapOf(c.seam.Reverse()); math.Abs(over-a.Overlap) > trueOverlap {
		return nil, pattern.Fault{Rule: "no_neck", Pointer: "/neck", Piece: f.p.Name, Edge: f.p.Edges[f.neck].Name,
			Detail: fmt.Sprintf("drawn as long as edge %s of front and back, the seam would bend as if their shoulders overlapped by %.1f mm, not by %s: they are no neck that is level at the centre back", f.p.Edges[f.neck].Name, over, say(a.Overlap)),
			Valid:  "a hollow neck, square to the centre back", Remedy: "name the neck edge of a front and of a back, or raise the seam less"}
	}
	if err := a.drawOuter(c); err != nil {
		return nil, err
	}
	return c, a.lay(w, c)
}

// drawSeam draws the neck edge on the necks laid together: without the corner that the overlap makes at the
// shoulder, raised at the centre back, and as long as the neck.
func (a *flatCollarArgs) drawSeam(c *flatCollar) error {
	const parts = 8
	l := &c.laid
	c.back, c.length = l.back.Length(), l.back.Length()+l.front.Length()
	seam, err := bendJoint(l.back, l.front, 0.6*math.Min(c.back, l.front.Length()))
	if err != nil {
		return pattern.Fault{Rule: "no_curve", Pointer: "/overlap", Detail: "the neck could not be drawn on over the shoulder", Remedy: "let the shoulders overlap less"}
	}
	if a.Raise > 0 {
		pts := make([]geom.Point, parts+1)
		for i := range pts {
			u := float64(i) / parts
			s := u * c.back
			pts[i] = seam.PointAt(s).Add(seam.TangentAt(s).Left().Mul(a.Raise * (1 - smoothstep(u))))
		}
		t0, t1 := seam.StartTangent(), seam.TangentAt(c.back)
		raised, err := geom.Through(pts, &t0, &t1)
		if err != nil {
			return pattern.Fault{Rule: "no_curve", Pointer: "/raise", Detail: "the raised neck could not be drawn", Remedy: "raise it less"}
		}
		seam = raised.Join(seam.Sub(c.back, seam.Length()))
	}
	c.taken = c.length - seam.Length()
	switch {
	case c.taken > tiny: // given back level at the centre back
		seam = runOut(seam.Transform(geom.Translate(seam.StartTangent().Mul(c.taken))), c.taken, 0)
	case c.taken < -tiny:
		seam = seam.Sub(-c.taken, seam.Length())
	}
	c.seam = seam.Transform(geom.Translate(geom.Pt(0, seam.Start().Y).Sub(seam.Start())))
	return nil
}

// depth is how deep the collar is at a place of its seam: as at the back as far as the shoulder, from there on
// changing to the depth of the front.
func (a *flatCollarArgs) depth(c *flatCollar, s float64) float64 {
	u := math.Max(0, (s-c.back)/(c.length-c.back))
	if a.End == "pointed" {
		return a.Depth + (a.front()-a.Depth)*u*u
	}
	return a.Depth + (a.front()-a.Depth)*smoothstep(u)
}

// drawOuter draws the outer edge and the front end.
func (a *flatCollarArgs) drawOuter(c *flatCollar) error {
	tooDeep := pattern.Fault{Rule: "no_parallel", Pointer: "/depth", Piece: a.Back, Edge: a.Neck, Detail: fmt.Sprintf("the neck bends too tightly the other way for a collar %s deep", say(a.Depth)), Remedy: "make it less deep"}
	l := c.seam.Length()
	square := func(s float64) geom.Vec { return c.seam.TangentAt(s).Right() }
	if a.front() == a.Depth {
		p, err := parallelIn(c.seam.Reverse(), a.Depth)
		if err != nil {
			return tooDeep
		}
		c.outer = p.Reverse()
	} else {
		at := func(s float64) geom.Point { return c.seam.PointAt(s).Add(square(s).Mul(a.depth(c, s))) }
		n := int(math.Max(12, math.Min(24, l/12)))
		var pts []geom.Point
		for i := range n + 1 {
			pts = append(pts, at(l*float64(i)/float64(n)))
		}
		const step = 1e-3
		t0, t1 := c.seam.StartTangent(), at(l).Sub(at(l-step)).Unit()
		var err error
		if c.outer, err = geom.Through(pts, &t0, &t1); err != nil {
			return tooDeep
		}
	}
	if sharpest(c.outer) > 1 { // the parallel was cut off in a hollow
		return tooDeep
	}
	c.over = c.seam.PointAt(c.back).Add(square(c.back).Mul(a.Depth))
	neck, point := c.seam.End(), c.outer.End()
	if a.End != "round" {
		c.end = geom.Polyline(point, neck)
		return nil
	}
	r := a.round()
	if most := c.outer.Length() / 3; r > most {
		return pattern.Fault{Rule: "out_of_range", Pointer: "/round", Piece: a.Front, Detail: fmt.Sprintf("a curve of %s takes too much of an outer edge of %.0f mm", say(r), c.outer.Length()),
			Valid: fmt.Sprintf("5 to %.1f mm", most), Remedy: "round it less"}
	}
	body := c.outer.Sub(0, c.outer.Length()-r)
	up := neck.Sub(point).Unit()
	const quarter = 0.5523 // the handles of a quarter of a circle, as a share of its radius
	from, to := body.End(), point.Add(up.Mul(r))
	c.outer = body.Join(geom.Path{geom.Cubic(from, from.Add(body.EndTangent().Mul(quarter*r)), to.Add(up.Mul(-quarter*r)), to), geom.Line(to, neck)})
	return nil
}

// under is the outer edge and the front end of the under collar: inside those of the collar by what the cloth
// takes to turn, down to nothing at the neck.
func (a *flatCollarArgs) under(c *flatCollar) (outer, end geom.Path, err error) {
	fault := pattern.Fault{Rule: "no_parallel", Pointer: "/turn", Detail: fmt.Sprintf("the outer edge of the under collar cannot lie %s inside the collar's", say(a.Turn)), Remedy: "let the cloth take less to turn, or round the end less tightly"}
	l := c.outer.Length()
	if a.End != "round" {
		in, err := parallelIn(c.outer, a.Turn)
		if err != nil {
			return nil, nil, fault
		}
		in = runOut(in, 0, 30)
		neck, point := c.end.End(), c.end.Start()
		corner := point.Add(c.end.StartTangent().Left().Mul(a.Turn))
		line := geom.Polyline(neck, corner.Add(corner.Sub(neck).Unit().Mul(30)))
		x := geom.Intersect(in, line, 1e-6)
		if len(x) == 0 {
			return nil, nil, fault
		}
		return in.Sub(0, x[0].S), geom.Polyline(x[0].P, neck), nil
	}
	const parts = 12
	fade := math.Min(45, a.front()) // mm before the neck within which it comes out
	in, err := parallelIn(c.outer.Sub(0, l-fade), a.Turn)
	if err != nil {
		return nil, nil, fault
	}
	pts := []geom.Point{in.End()}
	for i := 1; i <= parts; i++ {
		u := float64(i) / parts
		s := l - fade*(1-u)
		pts = append(pts, c.outer.PointAt(s).Add(c.outer.TangentAt(s).Left().Mul(a.Turn*(1-smoothstep(u)))))
	}
	t0, t1 := in.EndTangent(), c.outer.EndTangent()
	last, err := geom.Through(pts, &t0, &t1)
	if err != nil {
		return nil, nil, fault
	}
	return in.Join(last), nil, nil
}

// piece closes a collar.
func (c *flatCollar) piece(name, called string, outer, end geom.Path) pattern.Piece {
	neck, low := c.seam.Start(), outer.Start()
	edges := []pattern.Edge{
		{Name: "neck_edge", From: "front_neck", Path: c.seam.Reverse()},
		{Name: "centre_back", From: "back_neck", Path: geom.Polyline(neck, low), Fold: !c.open},
		{Name: "outer_edge", From: "back_low", Path: outer},
	}
	if len(end) > 0 {
		edges = append(edges, pattern.Edge{Name: "front_end", From: "front_low", Path: end})
	}
	cut := pattern.Cut{Count: 1, Cloth: "main"}
	if c.open {
		cut = pattern.Cut{Count: 2, Pair: true, Cloth: "main"}
	}
	q := newPiece(name, called, cut, edges...)
	deep := neck.Y - low.Y
	q.Grain = [2]geom.Point{geom.Pt(15, low.Y+0.15*deep), geom.Pt(15, low.Y+0.85*deep)}
	q.Align = neck
	fitGrain(&q)
	mark := func(name, edge string, at geom.Point) {
		e := q.Edges[q.EdgeNamed(edge)].Path
		s, _ := e.Project(at)
		q.Marks = append(q.Marks, pattern.Mark{Kind: pattern.Notch, Count: 1, Name: name, Edge: edge, S: s, At: e.PointAt(s)})
	}
	mark("shoulder", "neck_edge", c.seam.PointAt(c.back))
	mark("outer_shoulder", "outer_edge", c.over)
	return q
}

// rim is the edges that collar and under collar are sewn together along, walked along the outline.
func (c *flatCollar) rim(q *pattern.Piece) []pattern.EdgeRef {
	var out []pattern.EdgeRef
	for _, n := range []string{"centre_back", "outer_edge", "front_end"} {
		if i := q.EdgeNamed(n); i >= 0 && !q.Edges[i].Fold {
			out = append(out, pattern.EdgeRef{Piece: q.Name, Edge: n})
		}
	}
	return out
}

// lay puts the collars beside the pieces and sews them.
func (a *flatCollarArgs) lay(w *work, c *flatCollar) error {
	q := c.piece(a.Name, "Collar", c.outer, c.end)
	q.Cut.Interfaced = q.Cut.Count
	neck, err := inspect.Walk(&w.p, c.refs)
	if err != nil {
		return err
	}
	notches := neckNotches(&q, "neck_edge", neck, func(x float64) float64 { return c.seam.Length() - x })
	if a.Turn == 0 {
		q.Cut.Count *= 2
	}
	if err := w.addPiece("/name", q); err != nil {
		return err
	}
	sew := func(name string) []pattern.EdgeRef {
		return []pattern.EdgeRef{{Piece: name, Edge: "neck_edge", Against: true}}
	}
	w.p.Seams = append(w.p.Seams, pattern.Seam{Name: w.seamFree("neck_" + a.Name), Sew: sew(a.Name), To: c.refs, Notches: notches})
	if a.Turn == 0 {
		return nil
	}
	outer, end, err := a.under(c)
	if err != nil {
		return err
	}
	u := c.piece("under_"+a.Name, "Under collar", outer, end)
	if err := w.addPiece("/name", u); err != nil {
		return err
	}
	pair := func(mark string) [2]pattern.MarkRef {
		return [2]pattern.MarkRef{{Piece: q.Name, Mark: mark}, {Piece: u.Name, Mark: mark}}
	}
	w.p.Seams = append(w.p.Seams, pattern.Seam{Name: w.seamFree("neck_" + u.Name), Sew: sew(a.Name), To: sew(u.Name), Notches: [][2]pattern.MarkRef{pair("shoulder")}})
	rim := pattern.Seam{Name: w.seamFree(a.Name + "_edge"), Sew: c.rim(&q), To: c.rim(&u), Notches: [][2]pattern.MarkRef{pair("outer_shoulder")}}
	x, err := inspect.Walk(&w.p, rim.Sew)
	if err != nil {
		return err
	}
	y, err := inspect.Walk(&w.p, rim.To)
	if err != nil {
		return err
	}
	rim.Ease = pattern.Range{Min: x.Len - y.Len, Max: x.Len - y.Len}
	w.p.Seams = append(w.p.Seams, rim)
	return nil
}

// off is how far points of the under collar's outer edge lie from the wanted distance to the collar's, laid neck on
// neck; the part that fades out towards the neck is left out.
func (a *flatCollarArgs) off(q, u *pattern.Piece) float64 {
	const parts = 24
	out := q.Edges[q.EdgeNamed("outer_edge")].Path
	in := u.Edges[u.EdgeNamed("outer_edge")].Path
	l := in.Length()
	if a.End == "round" {
		l -= math.Min(45, a.front())
	}
	worst := 0.0
	for i := range parts + 1 {
		s := l * float64(i) / parts
		if a.End != "round" && l-s < 3*a.Turn {
			continue // at the corner the front end may be the nearer one
		}
		if _, d := out.Project(in.PointAt(s)); math.Abs(d-a.Turn) > math.Abs(worst) {
			worst = d - a.Turn
		}
	}
	return worst
}

func (a *flatCollarArgs) promises(w *work, c *flatCollar, q *pattern.Piece) {
	seam := q.Edges[q.EdgeNamed("neck_edge")].Path
	outer := q.Edges[q.EdgeNamed("outer_edge")].Path
	back := q.Edges[q.EdgeNamed("centre_back")].Path
	w.promise(inspect.Check{Rule: "collar_length", Piece: q.Name, Place: "neck_edge", Measured: seam.Length() - c.length, Tolerance: 0.1, Unit: inspect.MM,
		Text: fmt.Sprintf("The seam of %s is %.2f mm long, the neck %.2f mm.", q.Name, seam.Length(), c.length)})
	over := c.laid.overlapOf(seam)
	w.promise(inspect.Check{Rule: "collar_overlap", Piece: q.Name, Place: "neck_edge", Measured: over - a.Overlap, Tolerance: trueOverlap, Unit: inspect.MM,
		Text: fmt.Sprintf("The seam of %s bends as much less than the neck as shoulders do that overlap by %.1f mm at the armhole; %s are asked for.", q.Name, over, say(a.Overlap))})
	square := math.Max(math.Abs(degrees(seam.EndTangent(), back.StartTangent())-90), math.Abs(degrees(back.EndTangent(), outer.StartTangent())-90))
	w.promise(inspect.Check{Rule: "collar_square", Piece: q.Name, Place: "centre_back", Measured: square, Tolerance: 1, Unit: inspect.Degrees,
		Text: fmt.Sprintf("The seam and the outer edge of %s are square to the centre back, to %.2f degrees.", q.Name, square)})
	w.promise(inspect.Check{Rule: "collar_depth", Piece: q.Name, Place: "centre_back", Measured: back.Length() - a.Depth, Tolerance: 0.1, Unit: inspect.MM,
		Text: fmt.Sprintf("%s is %.2f mm deep at the centre back.", title(q.Name), back.Length())})
	if k := q.EdgeNamed("front_end"); k >= 0 {
		l := q.Edges[k].Path.Length()
		w.promise(inspect.Check{Rule: "collar_depth", Piece: q.Name, Place: "front_end", Measured: l - a.front(), Tolerance: 0.1, Unit: inspect.MM,
			Text: fmt.Sprintf("%s is %.2f mm deep at its front end.", title(q.Name), l)})
	}
	turn := sharpest(outer)
	w.promise(inspect.Check{Rule: "collar_smooth", Piece: q.Name, Place: "outer_edge", Measured: turn, Tolerance: 1, Unit: inspect.Degrees,
		Text: fmt.Sprintf("The outer edge of %s runs smoothly from the centre back over the shoulder to the front: its sharpest corner turns by %.2f degrees.", q.Name, turn)})
	if u := w.p.PieceNamed("under_" + q.Name); u != nil && a.Turn > 0 {
		w.promise(inspect.Check{Rule: "collar_turn", Piece: u.Name, Place: "outer_edge", Measured: a.off(q, u), Tolerance: 0.1, Unit: inspect.MM,
			Text: fmt.Sprintf("The outer edge of %s lies %s inside that of %s.", u.Name, say(a.Turn), q.Name)})
	}
}

func (a *flatCollarArgs) tell(w *work, c *flatCollar) {
	q := w.p.PieceNamed(a.Name)
	a.promises(w, c, q)
	rim := c.outer.Length() + c.end.Length()
	pieces, eased := []string{q.Name}, ""
	if a.Turn > 0 {
		pieces = append(pieces, "under_"+a.Name)
		eased = fmt.Sprintf(" The collar is the larger one, by %s at its outer edge: ease it in, so that the seam rolls under.", say(a.Turn))
	}
	halves, centre := "", "centre back to centre back (a snip at the fold)"
	if c.open {
		halves, centre = "Make two halves. ", "its back end at the centre back"
	}
	w.res.Steps = append(w.res.Steps,
		Step{Stage: Prepare, Pieces: pieces, Amounts: []Amount{{"outer edge, half", rim}, {"turn of cloth", a.Turn}},
			Text: fmt.Sprintf("%sInterface the upper collar. Right sides together, sew it to the under collar along ends and outer edge (%.0f mm a half), shoulder notches together.%s Grade and clip the allowances, turn and press; baste the neck edges together.", halves, rim, eased)},
		Step{Stage: Collar, Pieces: append(pieces, a.Front, a.Back), Amounts: []Amount{{"neck, half", c.length}, {"centre back to shoulder", c.back}},
			Text: fmt.Sprintf("Lay %s on the right side of the neck, under side down, and sew it on (%.0f mm a half): %s, the notch, %.0f mm from there, to the shoulder seam, the front end to the centre front. Cover the seam with a facing or a bias strip; clip, grade and turn it in.", q.Name, c.length, centre, c.back)})
	w.res.Notions = append(w.res.Notions, "interfacing")
	a.draw(w, c, q)
}

func (a *flatCollarArgs) draw(w *work, c *flatCollar, q *pattern.Piece) {
	d := plan{d: Drawing{Title: fmt.Sprintf("Flat collar, size %s", w.p.Size)}}
	l := &c.laid
	d.line(Outline, q.Name, l.back, a.Back)
	d.line(Outline, q.Name, l.shoulders[0], "")
	d.line(Outline, q.Name, geom.Polyline(geom.Pt(0, 0), geom.Pt(0, -a.Depth-20)), "")
	d.step("Draw round the neck and shoulder of %s, its centre upright. Lay %s against it, neck to neck at the shoulder, so that the shoulders overlap by %s at the armhole, and draw round its neck.", a.Back, a.Front, say(a.Overlap))
	d.line(Construction, q.Name, l.front, a.Front)
	d.line(Construction, q.Name, l.shoulders[1], "")
	x, y := d.point(l.shoulders[0].End(), "back shoulder"), d.point(l.shoulders[1].PointAt(math.Min(l.shoulder, l.shoulders[1].Length())), "front shoulder")
	d.measure(x, y, nil, "overlap")
	d.step("Draw the seam along both necks, %s higher at the centre back, without a corner at the shoulder. Measure it against the neck, %.1f mm a half: what raising it took, %.1f mm, is given back at the centre back.", say(a.Raise), c.length, math.Max(0, c.taken))
	cb, sh, cf := d.point(c.seam.Start(), "centre back"), d.point(c.seam.PointAt(c.back), "shoulder"), d.point(c.seam.End(), "centre front")
	d.line(New, q.Name, c.seam, "neck_edge")
	d.measure(cb, sh, c.seam.Sub(0, c.back), "back neck")
	d.measure(sh, cf, c.seam.Sub(c.back, c.seam.Length()), "front neck")
	d.step("Measure %s from it at the centre back and at the shoulder, %s at the front end, and draw the outer edge, square to the centre back; draw the %s front end.", say(a.Depth), say(a.front()), a.End)
	low := d.point(c.outer.Start(), "outer centre back")
	d.measure(cb, low, nil, "depth")
	over := d.point(c.over, "over the shoulder")
	d.measure(sh, over, nil, "depth at the shoulder")
	d.line(New, q.Name, c.outer, "outer_edge")
	if len(c.end) > 0 {
		d.line(New, q.Name, c.end, "front_end")
		d.measure(cf, d.point(c.end.Start(), "point"), nil, "front depth")
	}
	d.line(New, q.Name, geom.Polyline(c.seam.Start(), c.outer.Start()), "centre_back")
	if u := w.p.PieceNamed("under_" + q.Name); u != nil {
		d.step("For the under collar draw the outer edge %s inside, running out at the neck.", say(a.Turn))
		d.line(Construction, q.Name, u.Edges[u.EdgeNamed("outer_edge")].Path, "under collar")
	}
	w.res.Drawing = d.d
}
