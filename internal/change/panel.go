package change

import (
	"fmt"
	"math"

	"sizerun/internal/geom"
	"sizerun/internal/inspect"
	"sizerun/internal/pattern"
)

// A panel or princess line (TRADE 5: a dart absorbed into a style line through its point). The line runs
// from the mouth of a dart along its legs to the point, and on to the outline or through the point of a
// second dart to that one's mouth. The legs become part of the seam; over the point both edges are rounded.

type panelArgs struct {
	Piece    string         `arg:"piece" kind:"name" must:"yes" says:"The piece that is cut into a centre and a side panel."`
	Dart     string         `arg:"dart" kind:"name" says:"The dart that the line absorbs; left out where the piece has only one."`
	At       *pattern.Place `arg:"at" kind:"place" says:"Where on the outline the line begins: the dart is moved there first; left out, at the dart's mouth."`
	Bust     *pattern.Place `arg:"bust" kind:"place" says:"The point that the line goes through, most often the bust point; left out, it is told by beyond."`
	Beyond   float64        `arg:"beyond" kind:"length" min:"0" max:"120" default:"0mm" says:"How far that point lies beyond the dart's own point on its middle line; 0 goes through the dart's own point."`
	To       *pattern.Place `arg:"to" kind:"place" says:"Where on the outline the line ends; left out where it ends in a second dart."`
	Second   string         `arg:"dart_2" kind:"name" says:"A second dart that the line absorbs: it ends in its mouth."`
	ToAngle  float64        `arg:"to_angle" kind:"angle" min:"20" max:"160" default:"90" says:"The line's angle to the outline where it ends, measured from the way the outline runs on; 90 is square."`
	Fullness float64        `arg:"fullness" kind:"share" min:"0.05" max:"0.95" default:"0.35" says:"How far the line keeps the directions of its two ends, as a share of the way between them: little is nearly straight, much is full."`
	Round    float64        `arg:"round" kind:"length" min:"0" max:"120" default:"40mm" says:"How far on each side of a dart's point the line is rounded."`
	Apart    float64        `arg:"notches" kind:"length" min:"0" max:"200" default:"50mm" says:"How far before and after each point a pair of notches is set; 0 sets none."`
	Line     string         `arg:"line" kind:"name" default:"panel" says:"The name of the new edge on both panels."`
	Centre   string         `arg:"centre" kind:"name" says:"The name of the centre panel; left out, the piece's name with _centre."`
	Side     string         `arg:"side" kind:"name" says:"The name of the side panel; left out, the piece's name with _side."`
}

func definePanel() Definition {
	return Definition{
		Name:     "panel",
		Sentence: "Cuts a piece along a panel or princess line through a dart's point; the line absorbs the dart, and a second one if asked.",
		Promise:  "Both sides of the line are equal to 0.1 mm; every other edge keeps its length; the panels are as large as the piece, but for the rounding over the point; no mark is lost, notches meet.",
		Sketch: []Stroke{
			{Outline, geom.Polyline(geom.Pt(50, 87), geom.Pt(70, 95), geom.Pt(90, 75), geom.Pt(90, 5), geom.Pt(12, 5), geom.Pt(15, 50), geom.Pt(38, 60), geom.Pt(40, 83), geom.Pt(44, 85))},
			{CutAway, geom.Polyline(geom.Pt(50, 87), geom.Pt(56, 52), geom.Pt(44, 85))},
			{New, geom.Path{geom.Cubic(geom.Pt(50, 87), geom.Pt(55, 62), geom.Pt(58, 40), geom.Pt(54, 5))}},
			{New, geom.Path{geom.Cubic(geom.Pt(44, 85), geom.Pt(54, 56), geom.Pt(56, 40), geom.Pt(54, 5))}},
		},
		fresh: func() args { return new(panelArgs) },
	}
}

func (a *panelArgs) dart() *dartArgs { return &dartArgs{a.Piece, a.Dart, a.Bust, a.Beyond} }

func (a *panelArgs) check() pattern.Faults {
	fs := a.dart().check("panel")
	if (a.To == nil) == (a.Second == "") {
		fs = append(fs, pattern.Fault{Rule: "no_end", Pointer: "/to", Detail: "panel: the line ends nowhere, or in two places", Valid: "to or dart_2", Remedy: "tell where it ends: a place on the outline or a second dart"})
	}
	if a.Centre == "" {
		a.Centre = a.Piece + "_centre"
	}
	if a.Side == "" {
		a.Side = a.Piece + "_side"
	}
	for _, n := range [2][2]string{{"/centre", a.Centre}, {"/side", a.Side}} {
		if !pattern.ValidName(n[1]) {
			fs = append(fs, pattern.Fault{Rule: "bad_name", Pointer: n[0], Detail: fmt.Sprintf("panel: a panel cannot be named %s", pattern.Quote(n[1])), Valid: pattern.NameRule, Remedy: "give a shorter name"})
		}
	}
	if a.Centre == a.Side {
		fs = append(fs, pattern.Fault{Rule: "given_twice", Pointer: "/side", Detail: "panel: both panels have the same name", Remedy: "name them apart"})
	}
	return fs
}

// panelLine is the line as it is drawn, before the panels are traced.
type panelLine struct {
	d1, d2 wedge // d2 has no name where the line ends on the outline
	to     spot
	mid    geom.Path    // from the first point to the end or the second point
	a, b   geom.Path    // the whole line as the two panels have it, both from the first mouth
	sharp  [2]geom.Path // what a and b are before they are rounded over the points
	sum    float64      // mm2 of the piece, its darts drawn to the line and their mouths trued
	second float64      // mm2 that drawing the second dart to its point added
	slack  float64      // cm2 that truing the mouths can have moved
}

func (a *panelArgs) apply(w *work) error {
	c, err := a.cut(w)
	if err != nil {
		return err
	}
	a.promises(w, c)
	a.tell(w, c)
	return nil
}

// panelled is a piece cut into its panels.
type panelled struct {
	o           openedDart
	l           panelLine
	left, right pattern.Piece
	seam        pattern.Seam
}

// cut draws the line and takes the panels apart.
func (a *panelArgs) cut(w *work) (*panelled, error) {
	o, err := w.openDart(a.dart(), a.At)
	if err != nil {
		return nil, err
	}
	p := &o.piece
	l := panelLine{d1: o.now}
	drawTo(p, &l.d1, o.pivot)
	l.slack = o.round.area() + trueMouth(p, &l.d1, 40, 0.03).area()
	if err := a.draw(w, p, &l); err != nil {
		return nil, err
	}
	l.sum = p.Outline().Area()
	n := len(p.Edges)
	from := spot{(l.d1.second + 1) % n, 0}
	back, end := spot{l.d1.first, 0}, l.to
	endLeft := l.to
	if l.d2.name != "" {
		end, endLeft = spot{(l.d2.second + 1) % n, 0}, spot{l.d2.first, 0}
	}
	// On the left of one who walks the line lies what the outline runs over from the first mouth to its end.
	cut := cutLine{edge: a.Line}
	left, err := part(p, from, endLeft, l.b.Reverse(), cut, a.Side)
	if err != nil {
		return nil, blame(err, "/to")
	}
	right, err := part(p, end, back, l.a, cut, a.Centre)
	if err != nil {
		return nil, blame(err, "/to")
	}
	if isCentre(&left, p) && !isCentre(&right, p) {
		left.Name, right.Name = a.Centre, a.Side
	}
	for _, q := range []*pattern.Piece{&left, &right} {
		e := &q.Edges[len(q.Edges)-1]
		e.Src = pattern.Source{Piece: q.Name, Edge: e.Name, S1: e.Path.Length()}
	}
	a.lay(p, &left, &right)
	seam := a.seam(w, p, &left, &right, &l)
	if o.was.Title != "" {
		for _, q := range []*pattern.Piece{&left, &right} {
			q.Title = o.was.Title + ", " + map[bool]string{true: "centre panel", false: "side panel"}[q.Name == a.Centre]
		}
	}
	w.dartSeam(a.Piece, o.legs[0], o.legs[1])
	if l.d2.name != "" {
		w.dartSeam(a.Piece, p.Edges[l.d2.first].Name, p.Edges[l.d2.second].Name)
	}
	if err := w.replace(a.Piece, right, left); err != nil {
		return nil, blame(err, "/piece")
	}
	w.p.Seams = append(w.p.Seams, seam)
	return &panelled{o, l, left, right, seam}, nil
}

// drawTo draws the legs of a dart straight to a point.
func drawTo(p *pattern.Piece, d *wedge, at geom.Point) {
	if d.tip.Dist(at) <= pattern.Near && isStraight(p.Edges[d.first].Path) && isStraight(p.Edges[d.second].Path) {
		return
	}
	for _, e := range [2]int{d.first, d.second} {
		l := p.Edges[e].Path.Length()
		path := geom.Polyline(d.a, at)
		if e == d.second {
			path = geom.Polyline(at, d.b)
		}
		for i := range p.Marks {
			if m := &p.Marks[i]; m.Edge == p.Edges[e].Name {
				m.S *= path.Length() / l
				m.At = path.PointAt(m.S)
			}
		}
		p.Edges[e].Path = path
	}
	d.tip = at
}

// draw draws the line from the first dart's point on.
func (a *panelArgs) draw(w *work, p *pattern.Piece, l *panelLine) error {
	ptr := "/to"
	var arrive geom.Vec
	from, leave := l.d1.tip, l.d1.middle()
	var at geom.Point
	if a.Second != "" {
		d, err := w.wedge("/dart_2", p, a.Second)
		if err != nil {
			return err
		}
		if d.dart == l.d1.dart {
			return pattern.Fault{Rule: "given_twice", Pointer: "/dart_2", Piece: p.Name, Detail: fmt.Sprintf("the line begins and ends in the dart %q", d.name), Remedy: "name another dart, or say where on the outline it ends"}
		}
		tip, err := pivotPoint("/dart_2", p, d, d.tip)
		if err != nil {
			return err
		}
		before := p.Outline().Area()
		drawTo(p, &d, tip)
		l.second = p.Outline().Area() - before
		l.slack += trueMouth(p, &d, 40, 0.03).area()
		l.d2, at, arrive, ptr = d, d.tip, d.middle().Neg(), "/dart_2"
	} else {
		to, err := w.end("/to", p, *a.To)
		if err != nil {
			return err
		}
		for i := range p.Darts {
			if d, err := wedgeAt("/to", p, i); err == nil && (d.leg(to.edge) || to.s <= tiny && to.edge == (d.second+1)%len(p.Edges)) {
				return pattern.Fault{Rule: "on_dart", Pointer: "/to", Piece: p.Name, Edge: p.Edges[to.edge].Name, Detail: fmt.Sprintf("the line would end on dart %q", d.name), Valid: "a place outside the darts, or dart_2", Remedy: "end it elsewhere, or let it absorb that dart"}
			}
		}
		l.to, at = to, to.at(p)
		arrive = runsOn(p, to).Rotate(a.ToAngle * math.Pi / 180).Neg()
	}
	if from.Dist(at) < 10 {
		return pattern.Fault{Rule: "line_too_short", Pointer: ptr, Piece: p.Name, Detail: fmt.Sprintf("the line ends %.1f mm from the dart's point", from.Dist(at)), Valid: "at least 10 mm", Remedy: "choose a place further away"}
	}
	// Drawn by the same share in every size, so that the line grows evenly; the fairest curve may bend another way
	// from one size to the next.
	arm := a.Fullness * from.Dist(at)
	l.mid = geom.Path{geom.Cubic(from, from.Add(leave.Mul(arm)), at.Add(arrive.Unit().Mul(-arm)), at)}
	if err := w.staysInside(p, l.mid, ptr); err != nil {
		return err
	}
	sharpA, sharpB := geom.Polyline(l.d1.a, l.d1.tip).Join(l.mid), geom.Polyline(l.d1.b, l.d1.tip).Join(l.mid)
	l.a, l.b = knees(geom.Polyline(l.d1.a, l.d1.tip), geom.Polyline(l.d1.b, l.d1.tip), l.mid, l.mid, a.Round)
	if l.d2.name != "" {
		// The panel that has the first dart's first leg has the second one's second leg.
		l.a, l.b = knees(l.a, l.b, geom.Polyline(l.d2.tip, l.d2.b), geom.Polyline(l.d2.tip, l.d2.a), a.Round)
		sharpA, sharpB = sharpA.Join(geom.Polyline(l.d2.tip, l.d2.b)), sharpB.Join(geom.Polyline(l.d2.tip, l.d2.a))
	}
	l.sharp = [2]geom.Path{sharpA, sharpB}
	return nil
}

// isCentre: the part has the fold; where the piece has none, what the nest is lined up on.
func isCentre(q, of *pattern.Piece) bool {
	folded := false
	for i := range of.Edges {
		folded = folded || of.Edges[i].Fold
	}
	for i := range q.Edges {
		if q.Edges[i].Fold {
			return true
		}
	}
	return !folded && inside(q.Outline(), q.Align)
}

// lay puts the marks that lay on the dart, or on the point that is rounded away, onto the line of both panels.
func (a *panelArgs) lay(p, left, right *pattern.Piece) {
	for _, m := range p.Marks {
		if left.MarkNamed(m.Name) != nil || right.MarkNamed(m.Name) != nil {
			continue
		}
		for _, q := range []*pattern.Piece{left, right} {
			e := &q.Edges[len(q.Edges)-1]
			m := m
			s, _ := e.Path.Project(m.At)
			m.Kind, m.Count, m.Edge, m.S, m.At = pattern.Dot, 0, e.Name, s, e.Path.PointAt(s)
			q.Marks = append(q.Marks, m)
		}
	}
}

// seam sews the panels together again, with notches before and after each point.
func (a *panelArgs) seam(w *work, p, left, right *pattern.Piece, l *panelLine) pattern.Seam {
	le, re := &left.Edges[len(left.Edges)-1], &right.Edges[len(right.Edges)-1]
	seam := pattern.Seam{Name: free(a.Piece+"_"+a.Line, func(n string) bool {
		for i := range w.p.Seams {
			if w.p.Seams[i].Name == n {
				return true
			}
		}
		return false
	}), Sew: []pattern.EdgeRef{{Piece: left.Name, Edge: le.Name}}, To: []pattern.EdgeRef{{Piece: right.Name, Edge: re.Name, Against: true}}}
	runsOver := func(d wedge) bool {
		n := len(p.Edges)
		turn := d.a.Sub(d.tip).AngleTo(d.b.Sub(d.tip))
		return degrees(p.Edges[(d.first+n-1)%n].Path.EndTangent().Rotate(turn), p.Edges[(d.second+1)%n].Path.StartTangent()) < 0.5
	}
	seam.SmoothEnd = runsOver(l.d1)
	seam.SmoothStart = l.d2.name != "" && runsOver(l.d2) || l.d2.name == "" && midEdge(p, l.to)
	if a.Apart <= 0 {
		return seam
	}
	total := re.Path.Length()
	points := []float64{l.d1.a.Dist(l.d1.tip)}
	if l.d2.name != "" {
		points = append(points, total-l.d2.b.Dist(l.d2.tip))
	}
	last := 0.0
	n := 0
	for _, x := range points {
		for _, s := range [2]float64{x - a.Apart, x + a.Apart} {
			if s < last+10 || s > total-10 {
				continue // it would lie on another notch, or be cut away with the corner
			}
			last = s
			n++
			name := free(fmt.Sprintf("%s_notch_%d", a.Line, n), func(s string) bool { return knows(left)(s) || knows(right)(s) })
			m := pattern.Mark{Kind: pattern.Notch, Count: 1, Name: name, Match: a.Piece + "_" + name, Edge: re.Name, S: s, At: re.Path.PointAt(s)}
			right.Marks = append(right.Marks, m)
			m.Edge, m.S = le.Name, le.Path.Length()-s
			m.At = le.Path.PointAt(m.S)
			left.Marks = append(left.Marks, m)
			seam.Notches = append(seam.Notches, [2]pattern.MarkRef{{Piece: left.Name, Mark: name}, {Piece: right.Name, Mark: name}})
		}
	}
	return seam
}

func (a *panelArgs) promises(w *work, c *panelled) {
	o, l, left, right := &c.o, &c.l, &c.left, &c.right
	ll, rl := left.Edges[len(left.Edges)-1].Path.Length(), right.Edges[len(right.Edges)-1].Path.Length()
	w.promise(inspect.Check{Rule: "panel_equal", Piece: left.Name, Place: c.seam.Name, Measured: ll - rl, Tolerance: 0.1, Unit: inspect.MM,
		Text: fmt.Sprintf("Both sides of the panel line %s are %.1f mm long.", a.Line, rl)})
	w.promiseLengths(&o.was, nil, left, right)
	w.promiseMarks(&o.was, left, right)
	// With its dart drawn to the line's point, the panels are the piece, but for what is rounded over a point.
	re, le := right.Edges[len(right.Edges)-1].Path, left.Edges[len(left.Edges)-1].Path.Reverse()
	rounded := areaBetween(re, l.sharp[0]) - areaBetween(le, l.sharp[1])
	off := (left.Outline().Area() + right.Outline().Area() - l.sum - rounded) / 100
	w.promise(inspect.Check{Rule: "panel_whole", Piece: a.Piece, Place: "outline", Measured: off, Tolerance: 0.01, Unit: "cm2",
		Text: fmt.Sprintf("With the dart drawn to the line, the panels are as large as %s, but for %.2f square centimetres rounded over the point.", a.Piece, math.Abs(rounded)/100)})
	w.promise(inspect.Check{Rule: "panel_trued", Piece: a.Piece, Place: "outline", Measured: (l.sum - filled(&o.was, o.old, o.pivot) - l.second) / 100, Tolerance: 0.01 + l.slack, Unit: "cm2",
		Text: fmt.Sprintf("Truing the mouths has left %s as large as it was.", a.Piece)})
	points := []geom.Point{l.d1.tip}
	if l.d2.name != "" {
		points = append(points, l.d2.tip)
	}
	most := 0.0
	for k, path := range [2]geom.Path{re, le} {
		most = math.Max(most, offBeyond(path, l.sharp[k], points, a.Round))
	}
	w.promise(inspect.Check{Rule: "panel_round", Piece: a.Piece, Place: a.Line, Measured: most, Tolerance: 0.1, Unit: inspect.MM,
		Text: fmt.Sprintf("Further than %s from the point both edges keep to the line.", say(a.Round))})
}

// offBeyond is how far a line lies off another, further than a reach from all of some points.
func offBeyond(p, q geom.Path, from []geom.Point, reach float64) float64 {
	worst := 0.0
	for _, x := range p.Spread(60) {
		near := false
		for _, c := range from {
			near = near || x.Dist(c) <= reach+1
		}
		if !near {
			_, d := q.Project(x)
			worst = math.Max(worst, d)
		}
	}
	return worst
}

func (a *panelArgs) tell(w *work, c *panelled) {
	o, l, left, right, seam := &c.o, &c.l, &c.left, &c.right, &c.seam
	re := right.Edges[len(right.Edges)-1].Path
	w.res.Steps = append(w.res.Steps, Step{Stage: Assemble, Pieces: []string{right.Name, left.Name},
		Text:    fmt.Sprintf("Right sides together, sew %s to %s along the panel line (%.0f mm), notch to notch; over the point one edge is hollow and the other round: clip the hollow one, %s over a rounded pad.", left.Name, right.Name, re.Length(), NeatenOpen),
		Amounts: []Amount{{"panel line", re.Length()}, {"dart taken in", l.d1.mouth()}}})
	d := o.drawing(w, "Panel line", &o.piece)
	d.step("Draw the line on from the dart's point to its end.")
	p0 := d.point(l.d1.tip, "dart's point")
	p1 := d.point(l.mid.End(), "end of the line")
	d.line(Construction, a.Piece, l.mid, "line")
	d.measure(p0, p1, l.mid, "line")
	d.step("Each panel has one leg of the dart and the line: round both within %s of the point.", say(a.Round))
	x, y := d.point(l.d1.a, "mouth"), d.point(l.d1.b, "mouth")
	d.line(New, right.Name, l.a, a.Line)
	d.line(New, left.Name, l.b, a.Line)
	d.measure(x, p1, l.a, "one panel")
	d.measure(y, p1, l.b, "the other")
	if len(seam.Notches) > 0 {
		d.step("Mark the notches %s before and after the point, equally far along both, and trace the panels apart.", say(a.Apart))
		for _, n := range seam.Notches {
			d.point(right.MarkNamed(n[1].Mark).At, n[1].Mark)
		}
	}
	w.res.Drawing = d.d
}
