package change

import (
	"fmt"
	"math"

	"sizerun/internal/geom"
	"sizerun/internal/inspect"
	"sizerun/internal/pattern"
)

// What a two-piece sleeve promises, how it is sewn, and how it is drawn by hand.

// promises measures the pieces as they lie in the pattern.
func (a *twoPieceArgs) promises(w *work, s *twoPiece) {
	upper, under := w.p.PieceNamed(a.Upper), w.p.PieceNamed(a.Under)
	cap := 0.0
	for i := range w.p.Seams {
		if !w.p.Seams[i].Cap {
			continue
		}
		if c, err := inspect.Walk(&w.p, w.p.Seams[i].Sew); err == nil && (c.Links[0].Piece == upper || c.Links[0].Piece == under) {
			cap += c.Len
		}
	}
	w.promise(inspect.Check{Rule: "two_piece_cap", Piece: upper.Name, Place: "cap", Measured: cap - s.cap, Tolerance: 0.1, Unit: inspect.MM,
		Text: fmt.Sprintf("The caps of upper and under sleeve are %.1f mm long together, %.1f mm before.", cap, s.cap)})
	for _, e := range [2]string{"forearm", "hindarm"} {
		x, y := edgeLength(upper, e), edgeLength(under, e)
		ease := 0.0
		if e == "hindarm" {
			ease = a.ElbowEase
		}
		w.promise(inspect.Check{Rule: "two_piece_" + e, Piece: upper.Name, Place: e, Measured: x - y, Want: pattern.Range{Min: ease, Max: ease}, Tolerance: 0.1, Unit: inspect.MM,
			Text: fmt.Sprintf("The %s seam is %.1f mm long on the upper sleeve and %.1f mm on the under sleeve.", e, x, y)})
	}
	fore := upper.Edges[upper.EdgeNamed("forearm")].Path
	_, off := fore.Project(s.atForearm)
	w.promise(inspect.Check{Rule: "two_piece_set_back", Piece: upper.Name, Place: "forearm", Measured: off, Tolerance: 0.1, Unit: inspect.MM,
		Text: fmt.Sprintf("At the biceps line the forearm seam lies %s under the front fold, to %.3f mm.", say(a.Forearm), off)})
	if !a.shaped() {
		redrawn := ""
		if math.Abs(s.redrawn) > 1 {
			redrawn = fmt.Sprintf(", but for %.1f square centimetres from drawing its lines smooth over the underarm", s.redrawn/100)
		}
		more := (upper.Outline().Area() + under.Outline().Area() - s.was.Outline().Area()) / 100
		w.promise(inspect.Check{Rule: "two_piece_whole", Piece: upper.Name, Place: "outline", Measured: more, Want: pattern.Range{Min: s.redrawn / 100, Max: s.redrawn / 100}, Tolerance: 0.02, Unit: "cm2",
			Text: fmt.Sprintf("The two pieces together are as large as %s%s.", a.Piece, redrawn)})
	}
	out := a.ForearmOut + a.HindarmOut
	hem, was := edgeLength(upper, a.Hem)+edgeLength(under, a.Hem), edgeLength(&s.was, a.Hem)
	// Drawn anew in one sweep it is not quite as long as the curves that it replaces.
	tol := 0.1
	if s.redrawn != 0 || out > 0 {
		tol = 1 + 0.1*out
	}
	w.promise(inspect.Check{Rule: "two_piece_hem", Piece: upper.Name, Place: a.Hem, Measured: was - hem, Want: pattern.Range{Min: out, Max: out}, Tolerance: tol, Unit: inspect.MM,
		Text: fmt.Sprintf("Round the hem the sleeve is %.1f mm, %.1f mm before.", hem, was)})
	miss := 0.0
	for m, sides := range w.walked() {
		x, y := sides[0], sides[1]
		if x.Links[0].Piece != upper || y.Links[0].Piece != under {
			continue
		}
		for _, n := range m.Notches {
			d, ok1 := x.MarkAt(n[0].Piece, n[0].Mark)
			e, ok2 := y.MarkAt(n[1].Piece, n[1].Mark)
			if !ok1 || !ok2 {
				miss = math.Inf(1)
				continue
			}
			miss = math.Max(miss, math.Min(math.Abs(d-e), math.Abs((x.Len-d)-(y.Len-e))))
		}
	}
	w.promise(inspect.Check{Rule: "two_piece_notches", Piece: upper.Name, Place: "notches", Measured: miss, Tolerance: 0.1, Unit: inspect.MM,
		Text: fmt.Sprintf("The notches of both seams meet to %.3f mm, measured from the nearer end.", miss)})
	lost := 0
	for _, m := range s.was.Marks {
		if upper.MarkNamed(m.Name) == nil && under.MarkNamed(m.Name) == nil {
			lost++
		}
	}
	w.promise(inspect.Check{Rule: "two_piece_marks", Piece: upper.Name, Place: "marks", Measured: float64(lost), Unit: inspect.Count,
		Text: fmt.Sprintf("Every mark of %s is on one of its pieces.", a.Piece)})
	w.promiseSeams(upper.Name, s.seams)
}

func (a *twoPieceArgs) tell(w *work, s *twoPiece) {
	upper, under := w.p.PieceNamed(a.Upper), w.p.PieceNamed(a.Under)
	fore, hind := edgeLength(upper, "forearm"), edgeLength(under, "hindarm")
	over := ""
	if a.ElbowEase > 0 {
		over = fmt.Sprintf(", easing in %s of the upper sleeve between the notches over the elbow", say(a.ElbowEase))
	}
	w.res.Steps = append(w.res.Steps, Step{Stage: Join, Pieces: []string{a.Upper, a.Under},
		Text:    fmt.Sprintf("Right sides together, sew the forearm seam of the sleeve (%s) at the single notches and press it open; then the hindarm seam (%s) at the double notches%s, and press it open over a sleeve board.", say(fore), say(hind), over),
		Amounts: []Amount{{"forearm seam", fore}, {"hindarm seam", hind}, {"ease at the elbow", a.ElbowEase}, {"hem", edgeLength(upper, a.Hem) + edgeLength(under, a.Hem)}}})
	w.res.Finished = append(w.res.Finished,
		pattern.Finished{Name: a.Piece + "_hem", Says: titled(a.Piece) + ", round the hem", Terms: []pattern.Term{{Edges: []pattern.EdgeRef{{Piece: a.Upper, Edge: a.Hem}, {Piece: a.Under, Edge: a.Hem}}, Outer: true, Times: 1}}})
	a.girth(w, s, upper, under)
	d := plan{d: Drawing{Title: fmt.Sprintf("Two-piece sleeve, size %s", w.p.Size)}}
	d.line(Outline, a.Piece, s.was.Outline(), a.Piece)
	d.step("Draw the biceps line from underarm to underarm and the two folds, a quarter in at the biceps line and at the hem.")
	d.line(Construction, a.Piece, geom.Polyline(s.left, s.right), "biceps line")
	d.line(Construction, a.Piece, s.folds[0], "back fold")
	d.line(Construction, a.Piece, s.folds[1], "front fold")
	l, r := d.point(s.left, "back underarm"), d.point(s.right, "front underarm")
	d.measure(l, r, nil, "biceps line")
	bf, ff := d.point(s.folds[0].Start(), "back fold"), d.point(s.folds[1].Start(), "front fold")
	d.measure(l, bf, nil, "back quarter")
	d.step("Forearm seam: go %s from the front fold along the biceps line, straight up to the cap, and down in a smooth line to the hem.", say(a.Forearm))
	x := d.point(s.atForearm, "forearm seam")
	d.measure(ff, x, nil, "from the front fold")
	hem := s.was.Edges[s.t.hem].Path
	n := d.point(s.forearm.End(), "forearm seam at the hem")
	along := func(a, b geom.Point) geom.Path {
		u, _ := hem.Project(a)
		v, _ := hem.Project(b)
		return hem.Sub(math.Min(u, v), math.Max(u, v))
	}
	if p := along(s.folds[1].End(), s.forearm.End()); len(p) > 0 {
		d.measure(d.point(s.folds[1].End(), "front fold at the hem"), n, p, "from the front fold, at the hem")
	}
	d.line(New, a.Piece, s.forearm, "forearm seam")
	d.step("Hindarm seam: from the back of the cap down in a smooth line to the hem, behind the back fold.")
	h := d.point(s.hindarm.Start(), "hindarm seam")
	from := s.was.Edges[s.t.cap.last].Path
	if u, off := from.Project(s.hindarm.Start()); off < 0.01 && u < from.Length()-1 {
		d.measure(h, l, from.Sub(u, from.Length()), "along the cap")
	}
	n = d.point(s.hindarm.End(), "hindarm seam at the hem")
	if p := along(s.hindarm.End(), s.folds[0].End()); len(p) > 0 {
		d.measure(n, d.point(s.folds[0].End(), "back fold at the hem"), p, "from the back fold, at the hem")
	}
	d.line(New, a.Piece, s.hindarm, "hindarm seam")
	if out := a.ForearmOut + a.HindarmOut; out > 0 {
		d.step("Take %s out of the forearm seam and %s out of the hindarm seam at the hem, half from each piece, tapering to nothing at the biceps line.", say(a.ForearmOut), say(a.HindarmOut))
	}
	straight := ""
	if s.stray > 0 {
		straight = ", its sides drawn straight and the armhole line smooth over it"
	}
	d.step("Trace upper and under sleeve apart, the under sleeve laid together at the underarm seam%s.", straight)
	a.laidOut(&d, s, upper, under)
	w.res.Drawing = d.d
}

// girth lets the sleeve be measured at the biceps line, over both pieces.
func (a *twoPieceArgs) girth(w *work, s *twoPiece, upper, under *pattern.Piece) {
	row := pattern.Finished{Name: "biceps", Says: titled(a.Piece) + ", round the upper arm"}
	if _, ok := w.p.Body["upper_arm"]; ok {
		row.Body = "upper_arm"
	}
	for _, q := range []*pattern.Piece{upper, under} {
		fore, hind := q.Edges[q.EdgeNamed("forearm")], q.Edges[q.EdgeNamed("hindarm")]
		top, back := fore.To, hind.From
		if q == under {
			top, back = fore.From, hind.To
		}
		row.Terms = append(row.Terms, pattern.Term{Piece: q.Name, Times: 1, From: pattern.Place{Edge: "forearm", From: top, Along: s.foreLevel}, To: pattern.Place{Edge: "hindarm", From: back, Along: s.hindLevel}})
	}
	w.res.Finished = append(w.res.Finished, row)
}

// laidOut draws the pieces beside the sleeve.
func (a *twoPieceArgs) laidOut(d *plan, s *twoPiece, upper, under *pattern.Piece) {
	at := s.was.Outline().Bounds().Max.X + 40
	top := s.was.Outline().Bounds().Max.Y
	type laid struct {
		q pattern.Piece
		n string
	}
	var all []laid
	for _, q := range []*pattern.Piece{upper, under} {
		b := q.Outline().Bounds()
		all = append(all, laid{moved(*q, geom.Translate(geom.Vec{X: at - b.Min.X, Y: top - b.Max.Y})), q.Name})
		at += b.W() + 40
	}
	for _, x := range all {
		d.line(New, x.n, x.q.Outline(), x.n)
	}
	if s.elbow > 0 {
		d.step("%.0f mm below the underarm slash both across from the hindarm seam, hinge them at the forearm seam and open them: the upper sleeve by %s, the under sleeve by %s.", s.elbow, say(a.Bend+a.ElbowEase), say(a.Bend))
	}
	d.step("Mark notches on both seams at the same distances from cap and hem.")
	for _, x := range all {
		for _, e := range [2]string{"forearm", "hindarm"} {
			p := x.q.Edges[x.q.EdgeNamed(e)].Path
			m, n := d.point(p.Start(), e+" seam"), d.point(p.End(), e+" seam")
			d.measure(m, n, p, e+" seam of "+x.n)
		}
		for _, m := range x.q.Marks {
			if m.Edge == "forearm" || m.Edge == "hindarm" {
				d.point(m.At, m.Name)
			}
		}
	}
}
