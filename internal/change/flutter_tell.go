package change

import (
	"fmt"
	"math"
	"strings"

	"sizerun/internal/geom"
	"sizerun/internal/inspect"
	"sizerun/internal/pattern"
)

// What a flutter sleeve promises, how it is sewn, and how it is drawn by hand.

// promises measures the pieces that were made. whole is what both halves are sewn to.
func (a *flutterArgs) promises(w *work, front, back *armHalf, whole float64) {
	radius := (whole + a.Ease) / (a.Angle * math.Pi / 180)
	for _, h := range []*armHalf{front, back} {
		q := w.p.PieceNamed(a.named(h.side))
		cap := "cap_" + h.side
		in := q.Edges[q.EdgeNamed(cap)].Path
		to, err := inspect.Walk(&w.p, h.refs)
		if err != nil {
			to.Len = math.NaN()
		}
		ease := in.Length() - to.Len
		want := a.Ease * h.stretch / whole
		w.promise(inspect.Check{Rule: "flutter_inner", Piece: q.Name, Place: cap, Measured: ease, Want: pattern.Range{Min: want, Max: want}, Tolerance: 0.1, Unit: inspect.MM,
			Text: fmt.Sprintf("The inner edge of %s is %.1f mm long on the %s half and is sewn to %.1f mm.", q.Name, in.Length(), h.side, to.Len)})
		r := circumradius(in.Start(), in.PointAt(in.Length()/2), in.End())
		w.promise(inspect.Check{Rule: "flutter_radius", Piece: q.Name, Place: cap, Measured: r, Want: pattern.Range{Min: radius, Max: radius}, Tolerance: 0.1, Unit: inspect.MM,
			Text: fmt.Sprintf("The inner edge of %s has a radius of %.1f mm: %.1f mm divided by the angle of %.4f.", q.Name, r, whole+a.Ease, a.Angle*math.Pi/180)})
		hem := q.Edges[q.EdgeNamed("hem")].Path
		top, far, long := in.End(), hem.End(), a.Ends.Front
		if h.side == "back" {
			top, far, long = in.Start(), hem.Start(), a.Ends.Back
		}
		crown := a.atCrown(top, in, hem, h.side)
		w.promise(inspect.Check{Rule: "flutter_crown", Piece: q.Name, Place: "crown", Measured: crown, Want: pattern.Range{Min: a.Crown, Max: a.Crown}, Tolerance: 0.1, Unit: inspect.MM,
			Text: fmt.Sprintf("At the shoulder %s is %.1f mm long.", q.Name, crown)})
		low := in.Start()
		if h.side == "back" {
			low = in.End()
		}
		w.promise(inspect.Check{Rule: "flutter_end", Piece: q.Name, Place: "hem", Measured: far.Dist(low), Want: pattern.Range{Min: long, Max: long}, Tolerance: 0.1, Unit: inspect.MM,
			Text: fmt.Sprintf("At its %s end %s is %.1f mm long.", h.side, q.Name, far.Dist(low))})
	}
	off := 0.0
	for i := range w.p.Seams {
		s := &w.p.Seams[i]
		for _, n := range s.Notches {
			if n[0].Piece != a.named("front") && n[0].Piece != a.named("back") {
				continue
			}
			x, err1 := inspect.Walk(&w.p, s.Sew)
			y, err2 := inspect.Walk(&w.p, s.To)
			d, ok1 := x.MarkAt(n[0].Piece, n[0].Mark)
			e, ok2 := y.MarkAt(n[1].Piece, n[1].Mark)
			if err1 != nil || err2 != nil || !ok1 || !ok2 {
				off = math.Inf(1)
				continue
			}
			off = math.Max(off, math.Abs(d-e*x.Len/y.Len))
		}
	}
	w.promise(inspect.Check{Rule: "flutter_notches", Piece: a.named("front"), Place: "notches", Measured: off, Tolerance: 0.1, Unit: inspect.MM,
		Text: fmt.Sprintf("The notches of the flutter meet those of the %s to %.3f mm.", a.Fit, off)})
	corner := 0.0
	if f := w.p.PieceNamed(a.named("front")); a.Halves {
		b := w.p.PieceNamed(a.named("back"))
		seam := f.Edges[f.EdgeNamed("centre")].Path.EndTangent()
		own := b.Edges[b.EdgeNamed("centre")].Path.StartTangent()
		corner = math.Abs(degrees(seam, f.Edges[f.EdgeNamed("hem")].Path.StartTangent()) + degrees(own, b.Edges[b.EdgeNamed("hem")].Path.EndTangent()) - 180)
	} else {
		corner = sharpest(f.Edges[f.EdgeNamed("hem")].Path)
	}
	w.promise(inspect.Check{Rule: "flutter_smooth", Piece: a.named("front"), Place: "hem", Measured: corner, Tolerance: 1, Unit: inspect.Degrees,
		Text: "The hem runs on smoothly below the shoulder."})
}

// atCrown is how long the flutter is at the shoulder: square from its inner edge to the hem.
func (a *flutterArgs) atCrown(top geom.Point, in, hem geom.Path, side string) float64 {
	switch {
	case a.Halves && side == "front":
		return hem.Start().Dist(top)
	case a.Halves:
		return hem.End().Dist(top)
	}
	out := in.StartTangent().Left()
	if side == "front" {
		out = in.EndTangent().Left()
	}
	x := geom.Intersect(geom.Polyline(top, top.Add(out.Mul(2*a.Crown))), hem, 1e-6)
	if len(x) == 0 {
		return 0
	}
	return x[0].S
}

func (a *flutterArgs) tell(w *work, front, back *armHalf, g *ring) {
	names := []string{a.named("front")}
	if a.Halves {
		names = append(names, a.named("back"))
	}
	hem := 0.0
	for _, n := range names {
		hem += edgeLength(w.p.PieceNamed(n), "hem")
	}
	whole := front.stretch + back.stretch
	var steps []string
	if a.Halves {
		steps = append(steps, fmt.Sprintf("Sew the front half to the back half at the shoulder (%s).", say(a.Crown)))
	}
	if a.closed() {
		steps = append(steps, fmt.Sprintf("Close its ends under the arm (%s).", say(a.Ends.Front)))
	}
	edges := "its hem"
	if !a.closed() && a.Ends.Front+a.Ends.Back > 0 {
		edges = "its hem and ends"
	}
	if a.Hem > 0 {
		steps = append(steps, fmt.Sprintf("Let it hang for a day, level the hem, turn %s twice (%s each turn, %s round) and stitch.", edges, say(a.Hem/2), say(hem)))
	}
	w.res.Steps = append(w.res.Steps, Step{Stage: Prepare, Pieces: names, Text: "Staystitch the inner edge of the flutter, so that it does not stretch. " + strings.Join(steps, " "),
		Amounts: []Amount{{"hem", a.Hem}, {"hem round", hem}}})
	where := "the armhole"
	if a.Fit == "cap" {
		where = "the cap of the sleeve"
	}
	how := fmt.Sprintf("Right sides together, sew the inner edge of the flutter (%s) to %s (%s), its crown at the shoulder seam, notches matching.", say(whole+a.Ease), where, say(whole))
	switch a.As {
	case "over":
		how = fmt.Sprintf("Lay the flutter over the sleeve, both right sides up, and baste its inner edge (%s) to %s (%s), its crown at the crown of the sleeve, notches matching; then set both in together.", say(whole+a.Ease), where, say(whole))
	case "beneath":
		how = fmt.Sprintf("Lay the flutter beneath the sleeve, both right sides up, and baste its inner edge (%s) to %s (%s), its crown at the crown of the sleeve, notches matching; then set both in together.", say(whole+a.Ease), where, say(whole))
	}
	if a.As == "instead" {
		rest := "Finish the seam with a bias strip."
		if a.Share != (Each{Back: 1, Front: 1}) {
			rest = "Below its ends face or bind the armhole, and let the strip run on over the seam."
		}
		how += " Clip the inner edge. " + rest
		w.res.Notions = append(w.res.Notions, fmt.Sprintf("bias strip for the armholes, %s wide", say(30)))
	}
	w.res.Steps = append(w.res.Steps, Step{Stage: SetIn, Pieces: names, Text: how, Amounts: []Amount{{"inner edge", whole + a.Ease}, {"sewn to", whole}, {"ease", a.Ease}}})
	a.drawing(w, front, back, g, names)
}

func (a *flutterArgs) drawing(w *work, front, back *armHalf, g *ring, names []string) {
	eased := ""
	if a.Ease != 0 {
		eased = fmt.Sprintf("; add %s of ease", say(a.Ease))
	}
	d := plan{d: Drawing{Title: fmt.Sprintf("Flutter sleeve, %.0f degrees, size %s", a.Angle, w.p.Size)}}
	d.step("Measure the %s from the shoulder: %s in front and %s behind%s. Divide by the angle in radians, %.4f for %.0f degrees: the radius is %s.", a.Fit, say(front.stretch), say(back.stretch), eased, g.theta, a.Angle, say(g.r))
	// The pieces that were measured lie beside the ring.
	box := g.inner[0].Bounds().Union(g.outer[0].Bounds()).Union(g.inner[1].Bounds()).Union(g.outer[1].Bounds())
	at, last := box.Max.X+60, ""
	for _, h := range []*armHalf{front, back} {
		for _, r := range h.refs {
			q := w.p.PieceNamed(r.Piece)
			b := q.Outline().Bounds()
			if q.Name == last {
				at -= b.W() + 40
			}
			m := geom.Translate(geom.Vec{X: at - b.Min.X, Y: box.Max.Y - b.Max.Y})
			if q.Name != last {
				d.line(Outline, q.Name, q.Outline().Transform(m), q.Name)
			}
			e := walked(q, r).Transform(m)
			d.measure(d.point(e.Start(), h.side+" "+a.Fit), d.point(e.End(), h.side+" "+a.Fit), e, h.side+" "+a.Fit)
			at, last = at+b.W()+40, q.Name
		}
	}
	d.step("Swing the inner edge with that radius, %.1f degrees of it in front of the crown line and %.1f behind.", g.front*180/math.Pi, g.back*180/math.Pi)
	o, c := d.point(geom.Point{}, "centre of the ring"), d.point(g.inner[0].Start(), "crown")
	d.measure(o, c, nil, "radius")
	for k := range g.inner {
		d.line(Construction, names[0], geom.Polyline(geom.Point{}, g.inner[k].End()), "radius")
		d.line(New, names[min(k, len(names)-1)], g.inner[k], "inner edge")
	}
	on := "it ends in points"
	if a.Ends != (Each{}) {
		on = fmt.Sprintf("draw the ends on by %s in front and %s behind", say(a.Ends.Front), say(a.Ends.Back))
	}
	d.step("Draw the crown line on by %s; %s.", say(a.Crown), on)
	low := d.point(g.outer[0].Start(), "length at the shoulder")
	d.measure(c, low, nil, "length at the shoulder")
	d.line(Construction, names[0], geom.Polyline(geom.Point{}, g.outer[0].Start()), "crown line")
	var ends [2]int
	for k, e := range [2]float64{a.Ends.Front, a.Ends.Back} {
		ends[k] = d.point(g.outer[k].End(), "end")
		if e > 0 {
			d.measure(d.point(g.inner[k].End(), "inner edge"), ends[k], nil, "length at the end")
		}
	}
	d.step("On the crown line find the point that lies as far from the length at the shoulder as from an end, and swing each half of the hem about it.")
	for k, p := range g.outer {
		centre := geom.Pt(0, p.Start().Y+circumradius(p.Start(), p.PointAt(p.Length()/2), p.End()))
		n := d.point(centre, "centre of the hem")
		d.measure(n, ends[k], nil, "radius of the hem")
		d.line(New, names[min(k, len(names)-1)], p, "hem")
	}
	w.res.Drawing = d.d
}
