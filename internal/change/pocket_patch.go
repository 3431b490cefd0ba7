package change

import (
	"fmt"
	"math"

	"sizerun/internal/geom"
	"sizerun/internal/inspect"
	"sizerun/internal/pattern"
)

// A patch pocket (TRADE 5): a piece of stated size that is sewn onto another, and where it goes: its
// outline as a placement line, its upper corners as dots.

type pocketPatchArgs struct {
	Piece string        `arg:"piece" kind:"name" must:"yes" says:"The piece that the pocket is sewn onto."`
	At    pattern.Place `arg:"at" kind:"place" must:"yes" says:"The place from which the middle of the pocket's upper edge is measured."`
	Down  float64       `arg:"down" kind:"length" min:"-2000" max:"2000" default:"0mm" says:"How far below that place, along the grain, the middle of the upper edge lies; negative is above."`
	Over  float64       `arg:"over" kind:"length" min:"-2000" max:"2000" default:"0mm" says:"How far to the right of that place it lies, as seen from the right side of the cloth; negative is to the left."`
	Width float64       `arg:"width" kind:"length" min:"30" max:"500" default:"130mm" says:"How wide the pocket is."`
	Depth float64       `arg:"depth" kind:"length" min:"30" max:"600" default:"150mm" says:"How deep it is."`
	Shape string        `arg:"shape" kind:"choice" choices:"square,rounded,pointed" default:"rounded" says:"Whether its lower corners are square, rounded, or cut to a point at the middle."`
	By    float64       `arg:"by" kind:"length" min:"5" max:"250" default:"20mm" says:"The radius of the rounded corners, or how far the point drops."`
	Tilt  float64       `arg:"tilt" kind:"angle" min:"-60" max:"60" default:"0" says:"How far the pocket is turned, counter-clockwise; its grain still runs as the piece's."`
	Hem   float64       `arg:"hem" kind:"length" min:"0" max:"80" default:"25mm" says:"The allowance that is turned in at its upper edge."`
	Turn  int           `arg:"turn" kind:"number" min:"1" max:"2" default:"2" says:"How often that is turned."`
	Count int           `arg:"count" kind:"number" min:"1" max:"4" default:"2" says:"How many pockets are cut."`
	Cloth string        `arg:"cloth" kind:"name" default:"main" says:"The cloth that it is cut from."`
	Name  string        `arg:"name" kind:"name" default:"pocket" says:"The name of the pocket."`
}

func definePocketPatch() Definition {
	return Definition{
		Name:     "pocket_patch",
		Sentence: "Makes a patch pocket of stated size and shape and marks where it is sewn on.",
		Promise:  "Laid on by its corner dots, the pocket covers its placement line to 0.1 mm; the line lies on the piece, clear of its edges.",
		Sketch: []Stroke{
			{Outline, geom.Polyline(geom.Pt(10, 5), geom.Pt(95, 5), geom.Pt(92, 90), geom.Pt(20, 95), geom.Pt(10, 5))},
			{New, geom.Polyline(geom.Pt(35, 65), geom.Pt(35, 35), geom.Pt(50, 25), geom.Pt(65, 35), geom.Pt(65, 65), geom.Pt(35, 65))},
		},
		fresh: func() args { return new(pocketPatchArgs) },
	}
}

func (a *pocketPatchArgs) check() pattern.Faults {
	most := a.Depth - 15
	if a.Shape == "rounded" {
		most = math.Min(a.Width/2-5, a.Depth-10)
	}
	if a.Shape != "square" && a.By > most {
		return pattern.Faults{{Rule: "out_of_range", Pointer: "/by", Detail: fmt.Sprintf("pocket_patch: by is %.1f mm, too much for a pocket of %.1f by %.1f mm", a.By, a.Width, a.Depth),
			Valid: fmt.Sprintf("5 to %.1f mm", most), Remedy: "make it smaller, or the pocket larger"}}
	}
	return nil
}

// upOf is the direction of the grain that points up.
func upOf(p *pattern.Piece) (geom.Vec, error) {
	u := p.Grain[1].Sub(p.Grain[0]).Unit()
	if u == (geom.Vec{}) {
		return u, pattern.Fault{Rule: "no_grain", Pointer: "/piece", Piece: p.Name, Detail: fmt.Sprintf("piece %q has no grain line, so nothing tells which way is up", p.Name), Remedy: "give it a grain line"}
	}
	if u.Y < 0 {
		u = u.Neg()
	}
	return u, nil
}

// draw is the pocket with the middle of its upper edge at the origin.
func (a *pocketPatchArgs) draw() pattern.Piece {
	w, d := a.Width/2, a.Depth
	p := pattern.Piece{Name: a.Name, Title: titled(a.Name), Of: a.Name, Cut: pattern.Cut{Count: a.Count, Pair: a.Count%2 == 0, Cloth: a.Cloth}, Align: geom.Point{}}
	add := func(name, from string, path geom.Path) {
		p.Edges = append(p.Edges, pattern.Edge{Name: name, From: from, Path: path, Src: pattern.Source{Piece: a.Name, Edge: name, S1: path.Length()}})
	}
	low := -d
	if a.Shape != "square" {
		low += a.By
	}
	add("left", "top_left", geom.Polyline(geom.Pt(-w, 0), geom.Pt(-w, low)))
	switch a.Shape {
	case "square":
		add("bottom", "low_left", geom.Polyline(geom.Pt(-w, -d), geom.Pt(w, -d)))
	case "pointed":
		add("bottom_left", "low_left", geom.Polyline(geom.Pt(-w, low), geom.Pt(0, -d)))
		add("bottom_right", "point", geom.Polyline(geom.Pt(0, -d), geom.Pt(w, low)))
	default:
		round := geom.Arc(geom.Pt(-w+a.By, low), a.By, math.Pi, 1.5*math.Pi)
		round = append(round, geom.Line(geom.Pt(-w+a.By, -d), geom.Pt(w-a.By, -d)))
		add("bottom", "low_left", append(round, geom.Arc(geom.Pt(w-a.By, low), a.By, 1.5*math.Pi, 2*math.Pi)...))
	}
	add("right", "low_right", geom.Polyline(geom.Pt(w, low), geom.Pt(w, 0)))
	add("opening", "top_right", geom.Polyline(geom.Pt(w, 0), geom.Pt(-w, 0)))
	if a.Hem > 0 {
		p.Edges[len(p.Edges)-1].Own = &pattern.Allowance{Width: a.Hem, Turned: a.Turn}
	}
	for i := range p.Edges {
		p.Edges[i].To = p.Edges[(i+1)%len(p.Edges)].From
		q, n := &p.Edges[i].Path, &p.Edges[(i+1)%len(p.Edges)].Path
		*q = closeTo(*q, q.Start(), n.Start())
	}
	return p
}

func (a *pocketPatchArgs) apply(w *work) error {
	p, err := w.piece("/piece", a.Piece)
	if err != nil {
		return err
	}
	if w.p.PieceNamed(a.Name) != nil {
		return pattern.Fault{Rule: "name_taken", Pointer: "/name", Piece: a.Name, Detail: fmt.Sprintf("there is a piece %q already", a.Name), Valid: "not " + pattern.Choices(w.p.PieceNames()), Remedy: "choose another name"}
	}
	_, _, from, err := p.Find(a.At)
	if err != nil {
		return pattern.FaultsOf(err).Under("/at")
	}
	up, err := upOf(p)
	if err != nil {
		return err
	}
	mid := from.Add(up.Mul(-a.Down)).Add(up.Right().Mul(a.Over))
	tilt := a.Tilt * math.Pi / 180
	lay := geom.RotateAbout(geom.Point{}, up.Angle()-math.Pi/2+tilt).Then(geom.Translate(mid.Sub(geom.Point{})))
	q := a.draw()
	place := q.Outline().Transform(lay)
	const clear = 3.0
	gap, at := clearance(p.Outline(), place)
	if gap < clear {
		e, _, _, _ := p.Nearest(at)
		return pattern.Fault{Rule: "pocket_leaves_piece", Pointer: "/at", Piece: p.Name, Edge: p.Edges[e].Name,
			Detail: fmt.Sprintf("the pocket would come to %.1f mm inside edge %s of piece %q at (%.1f, %.1f)", gap, p.Edges[e].Name, p.Name, at.X, at.Y),
			Valid:  fmt.Sprintf("at least %g mm inside every edge", clear), Remedy: "move it with down and over, or make it smaller"}
	}
	u := geom.Vec{Y: 1}.Rotate(-tilt)
	q.Grain = [2]geom.Point{geom.Pt(0, -0.45*a.Depth).Add(u.Mul(-0.3 * a.Depth)), geom.Pt(0, -0.45*a.Depth).Add(u.Mul(0.3 * a.Depth))}
	fitGrain(&q)
	p.Lines = append(p.Lines, pattern.InnerLine{Name: a.Name + "_placement", Path: place})
	open := len(q.Edges) - 1
	for k, side := range [2]string{"_left", "_right"} {
		e, s, c := 0, 0.0, q.Edges[open].Path.End()
		if k == 1 {
			e, c = open, q.Edges[open].Path.Start()
		}
		name := free(a.Name+side, knows(p))
		m := pattern.Mark{Kind: pattern.Dot, Name: name, Match: a.Name + side, At: c, Edge: q.Edges[e].Name, S: s}
		q.Marks = append(q.Marks, m)
		m.At, m.Edge, m.S = lay.Apply(c), "", 0
		p.Marks = append(p.Marks, m)
	}
	w.p.Pieces = append(w.p.Pieces, q)
	w.made = append(w.made, a.Piece, a.Name)
	a.tell(w, w.p.PieceNamed(a.Piece), &w.p.Pieces[len(w.p.Pieces)-1], from)
	return nil
}

// clearance is how far inside an outline a line stays at its nearest, negative outside, and where.
func clearance(out, line geom.Path) (float64, geom.Point) {
	gap, at := math.Inf(1), line.Start()
	for _, q := range line.Flatten(0.2) {
		_, d := out.Project(q)
		if !out.Contains(q) {
			d = -d
		}
		if d < gap {
			gap, at = d, q
		}
	}
	// Corners of the outline may reach into a long straight stretch of the line.
	for _, s := range out {
		if _, d := line.Project(s.P0); d < gap {
			gap, at = d, s.P0
		}
	}
	return gap, at
}

func (a *pocketPatchArgs) tell(w *work, p, q *pattern.Piece, from geom.Point) {
	var line geom.Path
	for _, l := range p.Lines {
		if l.Name == a.Name+"_placement" {
			line = l.Path
		}
	}
	var x, y []geom.Point
	for _, m := range q.Marks {
		x, y = append(x, m.At), append(y, p.MarkNamed(m.Name).At)
	}
	laid := q.Outline().Transform(rigid(x, y))
	off := 0.0
	for _, s := range laid {
		for i := range 7 {
			_, d := line.Project(s.At(float64(i) / 6))
			off = math.Max(off, d)
		}
	}
	w.promise(inspect.Check{Rule: "pocket_placement", Piece: q.Name, Place: a.Name + "_placement", Measured: off, Tolerance: 0.1, Unit: inspect.MM,
		Text: fmt.Sprintf("Laid on %s by its corner dots, %s covers its placement line to %.3f mm.", p.Name, q.Name, off)})
	gap, _ := clearance(p.Outline(), line)
	w.promise(inspect.Check{Rule: "pocket_clear", Piece: p.Name, Place: a.Name + "_placement", Measured: gap, Want: pattern.Range{Min: 3, Max: 1e6}, Unit: inspect.MM,
		Text: fmt.Sprintf("The placement line of %s stays %.1f mm inside the edges of %s.", q.Name, gap, p.Name)})
	size := q.Edges[len(q.Edges)-1].Path.Length()
	hem := ""
	if a.Hem > 0 {
		each := a.Hem / float64(a.Turn)
		hem = fmt.Sprintf("Hem the upper edge of %s: turn %s %s and stitch. ", q.Name, say(each), map[int]string{1: "once", 2: "twice"}[a.Turn])
	}
	w.res.Steps = append(w.res.Steps, Step{Stage: Prepare, Pieces: []string{q.Name, p.Name},
		Text:    fmt.Sprintf("%sPress its other allowances to the wrong side. Lay it on %s, corner dots on corner dots, and topstitch its sides and bottom close to the edge, with a small triangle at each upper corner.", hem, p.Name),
		Amounts: []Amount{{"width", size}, {"depth", a.Depth}, {"hem", a.Hem}}})
	d := plan{d: Drawing{Title: fmt.Sprintf("Patch pocket on %s, size %s", p.Name, w.p.Size)}}
	d.line(Outline, p.Name, p.Outline(), p.Name)
	d.step("From point 1 go %s down the grain and %s across it: this is the middle of the pocket's upper edge.", say(a.Down), say(a.Over))
	n := d.point(from, "place")
	mid := line.Start().Lerp(line.End(), 0.5)
	if l, r := p.MarkNamed(q.Marks[0].Name), p.MarkNamed(q.Marks[1].Name); l != nil && r != nil {
		mid = l.At.Lerp(r.At, 0.5)
	}
	m := d.point(mid, "middle of the upper edge")
	d.measure(n, m, nil, "place to middle")
	d.step("Draw the pocket %s wide and %s deep, %s, and mark its upper corners.", say(a.Width), say(a.Depth), a.Shape)
	l, r := d.point(p.MarkNamed(q.Marks[0].Name).At, "upper left corner"), d.point(p.MarkNamed(q.Marks[1].Name).At, "upper right corner")
	d.measure(l, r, nil, "width")
	d.line(New, p.Name, line, a.Name)
	d.step("Trace the pocket apart, with the grain of the piece, and add %s at its upper edge.", say(a.Hem))
	w.res.Drawing = d.d
}
