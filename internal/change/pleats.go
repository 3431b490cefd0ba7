package change

import (
	"fmt"
	"math"
	"slices"

	"sizerun/internal/geom"
	"sizerun/internal/inspect"
	"sizerun/internal/pattern"
)

// Pleats (TRADE 5): a knife pleat of depth d inserts 2d, a box pleat 4d; the top edge is trued with the pleat
// folded.

type pleatsArgs struct {
	Piece  string   `arg:"piece" kind:"name" must:"yes" says:"The piece that is pleated."`
	Kind   string   `arg:"kind" kind:"choice" choices:"knife,box,inverted" default:"knife" says:"A knife pleat has one fold, all facing one way; a box pleat two that face apart, with a panel twice the depth between them; an inverted one two that meet."`
	Depth  float64  `arg:"depth" kind:"length" min:"5" max:"250" default:"25mm" says:"How deep each fold is: a knife pleat takes twice as much cloth, a box or inverted pleat four times."`
	Number int      `arg:"number" kind:"number" min:"1" max:"40" default:"1" says:"How many pleats the piece, as it is drawn, gets."`
	First  *float64 `arg:"first" kind:"length" min:"1" max:"5000" says:"How far along the top from its left end, as seen from the right side, the first pleat lies; left out, the pleats are spread evenly."`
	Apart  *float64 `arg:"apart" kind:"length" min:"5" max:"2000" says:"How far along the top one pleat lies from the next; left out, they share the top evenly."`
	Faces  string   `arg:"faces" kind:"choice" choices:"left,right" default:"left" says:"Which way the folds of knife pleats face, as seen from the right side."`
	Hem    string   `arg:"hem" kind:"name" default:"hem" says:"The edge at which the pleats end."`
	Top    []string `arg:"top" kind:"names" default:"waist" says:"The edge from which they hang, or several that follow each other over darts."`
	Stitch float64  `arg:"stitch" kind:"length" min:"0" max:"2000" default:"0mm" says:"How far down from the top they are stitched."`
	Name   string   `arg:"name" kind:"name" default:"pleat" says:"What the pleats are called in edges, lines and marks."`
}

func definePleats() Definition {
	return Definition{
		Name:     "pleats",
		Sentence: "Lays knife, box or inverted pleats into a piece, from its top to its hem along the grain.",
		Promise:  "Folded, the pleats give back the piece: the visible top keeps its length and every underlay ends where the layer over it does, above and below, to 0.1 mm; as much cloth is let in as asked.",
		Sketch: []Stroke{
			{Outline, geom.Polyline(geom.Pt(5, 5), geom.Pt(95, 5), geom.Pt(90, 90), geom.Pt(10, 90), geom.Pt(5, 5))},
			{New, geom.Polyline(geom.Pt(40, 5), geom.Pt(40, 90))},
			{Construction, geom.Polyline(geom.Pt(50, 5), geom.Pt(50, 90))},
			{New, geom.Polyline(geom.Pt(60, 5), geom.Pt(60, 90))},
		},
		fresh: func() args { return new(pleatsArgs) },
	}
}

// tucks are the lines at which the pleats are let in.
func (a *pleatsArgs) tucks(w *work, f *pleating) error {
	l := runLength(f.p, f.top)
	n := float64(a.Number)
	apart := l / n
	first := apart / 2
	if a.Apart != nil {
		apart = *a.Apart
		first = (l - (n-1)*apart) / 2
	}
	ptr := "/number"
	if a.First != nil {
		first, ptr = *a.First, "/first"
		if a.Apart == nil {
			apart = (l - 2*first) / max(1, n-1)
		}
	}
	for i := range a.Number {
		d := first + float64(i)*apart
		if d < 2 || d > l-2 || i > 0 && apart < 1 {
			return pattern.Fault{Rule: "out_of_range", Pointer: ptr, Piece: f.p.Name, Edge: f.p.Edges[f.top[0]].Name,
				Detail: fmt.Sprintf("pleat %d would lie %.1f mm along the top, which is %.1f mm long", i+1, d, l), Valid: fmt.Sprintf("2 to %.1f mm", l-2), Remedy: "take fewer pleats, or set them closer"}
		}
		c := f.across(alongRun(f.p, f.top, l-d).at(f.p)) // the top runs from right to left
		switch a.Kind {
		case "knife":
			f.tucks = append(f.tucks, tuck{c, a.Faces == "left", a.Depth})
		case "box":
			f.tucks = append(f.tucks, tuck{c - a.Depth, true, a.Depth}, tuck{c + a.Depth, false, a.Depth})
		default:
			f.tucks = append(f.tucks, tuck{c, false, a.Depth}, tuck{c, true, a.Depth})
		}
	}
	return nil
}

func (a *pleatsArgs) apply(w *work) error {
	p, err := w.piece("/piece", a.Piece)
	if err != nil {
		return err
	}
	was := p.Clone()
	hem, err := w.edge("/hem", &was, a.Hem)
	if err != nil {
		return err
	}
	top, err := w.topRun("/top", &was, a.Top)
	if err != nil {
		return err
	}
	if slices.Contains(top, hem) {
		return pattern.Fault{Rule: "given_twice", Pointer: "/top", Piece: was.Name, Edge: a.Hem, Detail: fmt.Sprintf("edge %s is both hem and top", a.Hem), Valid: pattern.Choices(was.EdgeNames()), Remedy: "name two edges that lie opposite"}
	}
	if w.sewn(was.Name, a.Hem) {
		return pattern.Fault{Rule: "edge_sewn", Pointer: "/hem", Piece: was.Name, Edge: a.Hem, Detail: fmt.Sprintf("edge %s.%s is sewn to something, which would no longer match", was.Name, a.Hem), Valid: "a free edge", Remedy: "pleat the piece before its hem is sewn on to"}
	}
	up, err := upOf(&was)
	if err != nil {
		return err
	}
	f := pleating{p: &was, top: top, hem: []int{hem}, x: up.Right(), o: was.Align, ptr: "/number", name: a.Name}
	if err := a.tucks(w, &f); err != nil {
		return err
	}
	r, err := f.pleat()
	if err != nil {
		return err
	}
	q := r.piece
	r.drawOn(&q, a.Name, a.Piece+"_"+a.Name)
	if err := w.replace(a.Piece, q); err != nil {
		return blame(err, "/piece")
	}
	for _, s := range r.seams {
		w.p.Seams = append(w.p.Seams, pattern.Seam{Name: w.seamFree(a.Piece + "_" + s[1]), Sew: []pattern.EdgeRef{{Piece: a.Piece, Edge: s[0]}}, To: []pattern.EdgeRef{{Piece: a.Piece, Edge: s[1], Against: true}}})
	}
	a.tell(w, &was, &f, &r)
	return nil
}

// cornerAt is the edge that begins at a corner.
func cornerAt(p *pattern.Piece, at geom.Point) (string, float64) {
	for i := range p.Edges {
		if p.Edges[i].Path.Start().Dist(at) <= pattern.Near {
			return p.Edges[i].Name, 0
		}
	}
	return "", 0
}

func (a *pleatsArgs) tell(w *work, was *pattern.Piece, f *pleating, r *pleated) {
	p := w.p.PieceNamed(a.Piece)
	visible, before := 0.0, runLength(was, f.top)
	for _, k := range f.top {
		visible += lengthFrom(p, was.Edges[k].Src)
	}
	off := foldedOff(p, f.x, a.Name, f.tucks)
	want := 0.0
	for _, t := range f.tucks {
		want += 2 * t.deep
	}
	w.promise(inspect.Check{Rule: "pleats_top", Piece: p.Name, Place: a.Top[0], Measured: visible - before, Tolerance: 0.1, Unit: inspect.MM,
		Text: fmt.Sprintf("With the pleats folded the top of %s is %.1f mm long, as before.", p.Name, visible)})
	w.promise(inspect.Check{Rule: "pleats_fold", Piece: p.Name, Place: a.Name, Measured: off, Tolerance: 0.1, Unit: inspect.MM,
		Text: fmt.Sprintf("Folded, every underlay of %s ends where the layer over it does, at the top and at the hem, to %.3f mm.", p.Name, off)})
	let := width(p, f.x) - width(was, f.x)
	w.promise(inspect.Check{Rule: "pleats_cloth", Piece: p.Name, Place: a.Name, Measured: let, Want: pattern.Range{Min: want, Max: want}, Tolerance: 0.1, Unit: inspect.MM,
		Text: fmt.Sprintf("%.1f mm are let into the width of %s.", let, p.Name)})
	kind := several(a.Number, a.Kind+" pleat", a.Kind+" pleats") + map[string]string{"knife": ", folds facing " + a.Faces, "box": ", folds facing apart", "inverted": ", folds meeting"}[a.Kind]
	stitch := ""
	if a.Stitch > 0 {
		stitch = fmt.Sprintf(" Stitch them together from the top down for %s.", say(a.Stitch))
	}
	w.res.Steps = append(w.res.Steps, Step{Stage: Prepare, Pieces: []string{p.Name},
		Text:    fmt.Sprintf("Hem %s first, so that it need not be turned over the folds. Lay its %s: bring each fold line to its placement line, dot on dot, %s deep, press and baste along the top, which is then %s long.%s", p.Name, kind, say(a.Depth), say(visible), stitch),
		Amounts: []Amount{{"depth", a.Depth}, {"let in, in all", want}, {"top, folded", visible}, {"stitched down", a.Stitch}}})
	d := plan{d: Drawing{Title: fmt.Sprintf("Pleats in %s, size %s", p.Name, w.p.Size)}}
	d.line(Outline, was.Name, was.Outline(), was.Name)
	d.step("Draw the lines of the pleats along the grain, from the top to the hem, and cut along them.")
	for i, t := range f.tucks {
		x, y := alongRun(was, f.top, f.topAt[i]).at(was), alongRun(was, f.hem, f.hemAt[i]).at(was)
		d.line(Construction, was.Name, geom.Polyline(x, y), fmt.Sprintf("line %d", i+1))
		d.point(x, fmt.Sprintf("line %d, %s", i+1, map[bool]string{true: "covered from the right", false: "covered from the left"}[t.right]))
	}
	d.step("Lay the parts %s apart at every line, in parallel: %s in all.", say(2*a.Depth), say(want))
	for i, t := range r.lets {
		x, y := d.point(t.fold.Start(), fmt.Sprintf("fold %d", i+1)), d.point(t.to.Start(), fmt.Sprintf("placement %d", i+1))
		d.line(New, p.Name, t.fold, fmt.Sprintf("fold %d", i+1))
		d.line(Construction, p.Name, t.to, fmt.Sprintf("placement %d", i+1))
		d.line(Construction, p.Name, t.under, fmt.Sprintf("underlay %d", i+1))
		if math.Abs(t.fold.Start().Sub(t.to.Start()).Dot(f.x)) > 0 {
			d.measure(x, y, nil, "let in")
		}
	}
	d.step("Fold every pleat and trace top and hem through all layers: unfolded, that is the line to cut.")
	d.line(New, p.Name, p.Outline(), p.Name)
	w.res.Drawing = d.d
}

// width is how wide a piece is in a direction.
func width(p *pattern.Piece, x geom.Vec) float64 {
	lo, hi := math.Inf(1), math.Inf(-1)
	for _, q := range p.Outline().Flatten(0.01) {
		c := q.Sub(geom.Point{}).Dot(x)
		lo, hi = min(lo, c), max(hi, c)
	}
	return hi - lo
}

// foldedOff folds the finished piece along its own fold lines, as a sewer would, and tells how far the cut edges of the underlays
// lie off those of the layers over them. It looks at the outline and at the lines drawn on the piece, at
// nothing else.
func foldedOff(p *pattern.Piece, x geom.Vec, name string, tucks []tuck) float64 {
	u := x.Left()
	across := func(q geom.Point) float64 { return q.Sub(geom.Point{}).Dot(x) }
	height := func(q geom.Point) float64 { return q.Sub(geom.Point{}).Dot(u) }
	at := map[string]float64{}
	for _, l := range p.Lines {
		at[l.Name] = across(l.Path.Start())
	}
	pts := p.Outline().Flatten(0.01)
	ends := func(c float64) (lo, hi float64, ok bool) {
		lo, hi = math.Inf(1), math.Inf(-1)
		for i := range pts {
			a, b := pts[i], pts[(i+1)%len(pts)]
			ca, cb := across(a)-c, across(b)-c
			if (ca < 0) == (cb < 0) {
				continue
			}
			h := height(a.Lerp(b, ca/(ca-cb)))
			lo, hi = min(lo, h), max(hi, h)
		}
		return lo, hi, hi > lo
	}
	worst := 0.0
	for i := range tucks {
		fold, ok1 := at[fmt.Sprintf("%s_%d_fold", name, i+1)]
		to, ok2 := at[fmt.Sprintf("%s_%d_to", name, i+1)]
		mid, ok3 := at[fmt.Sprintf("%s_%d_under", name, i+1)]
		if !ok1 || !ok2 || !ok3 {
			return math.Inf(1)
		}
		for k := 1; k < 12; k++ {
			t := float64(k) / 12
			over := fold + (fold-mid)*t // on the covering layer, at this distance from the fold
			a0, a1, ok := ends(over)
			b0, b1, okb := ends(fold + (mid-fold)*t) // the underlay's first half lies folded back under it
			c0, c1, okc := ends(to + (mid-to)*t)     // and the second on top of that, moved with the placement line
			if !ok || !okb || !okc {
				return math.Inf(1)
			}
			for _, d := range [4]float64{a0 - b0, a1 - b1, a0 - c0, a1 - c1} {
				worst = max(worst, math.Abs(d))
			}
		}
	}
	return worst
}
