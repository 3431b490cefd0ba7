package change

import (
	"fmt"
	"math"

	"sizerun/internal/geom"
	"sizerun/internal/inspect"
	"sizerun/internal/pattern"
)

// What a turn-back cuff promises, how it is sewn, and how it is drawn by hand.

// seamLengths is how much each seam has on its sewn side more than on the other.
func (w *work) seamLengths() map[string]float64 {
	out := map[string]float64{}
	for s, sides := range w.walked() {
		out[s.Name] = sides[0].Len - sides[1].Len
	}
	return out
}

// promiseSeams measures that no seam matches less well than it did.
func (w *work) promiseSeams(piece string, before map[string]float64) {
	now, off := w.seamLengths(), 0.0
	for n, d := range before {
		e, ok := now[n]
		if !ok {
			continue // the change has done away with it
		}
		off = math.Max(off, math.Abs(e-d))
	}
	w.promise(inspect.Check{Rule: w.change + "_seams", Piece: piece, Place: "seams", Measured: off, Tolerance: 0.1, Unit: inspect.MM,
		Text: fmt.Sprintf("Every seam still matches as it did, to %.3f mm.", off)})
}

// turnedUp measures a side of the cuff as it lies when it is folded: how far its stretches between the folds
// stray from the side of the sleeve. What lies below the hem line within the turn of cloth is rolled up.
func (b *turnedBack) turnedUp(q *pattern.Piece, k int, roll float64) (cuff, under, deep float64) {
	side := q.Edges[q.EdgeNamed(b.right)].Path
	ext := q.Edges[q.EdgeNamed(b.sides[k])].Path.Reverse()
	if k == 0 {
		side, ext = q.Edges[q.EdgeNamed(b.left)].Path.Reverse(), ext.Reverse()
	}
	side = runOut(side, roll/2, 0)
	var lines []geom.Path
	for _, n := range b.folds {
		for _, l := range q.Lines {
			if l.Name == n {
				lines = append(lines, l.Path)
			}
		}
	}
	// Where along the side the folds lie: at their ends.
	at := make([]float64, len(lines))
	for i, l := range lines {
		end := l.Start()
		if k == 1 {
			end = l.End()
		}
		var d float64
		if at[i], d = ext.Project(end); d > pattern.Near {
			return math.Inf(1), math.Inf(1), 0
		}
	}
	long := ext.Length()
	folded := func(s float64) geom.Point {
		p := ext.PointAt(s)
		for i := len(lines) - 1; i >= 0; i-- {
			if s > at[i] {
				p = geom.MirrorAbout(lines[i].Start(), lines[i].StartTangent()).Apply(p)
			}
		}
		return p
	}
	const n = 60
	for i := range n + 1 {
		s := long * float64(i) / n
		_, d := side.Project(folded(s))
		switch {
		case len(at) < 2 || s <= at[1]:
			cuff = math.Max(cuff, d)
		default:
			under = math.Max(under, d)
		}
	}
	top := long
	if len(at) > 1 {
		top = at[1]
	}
	s, _ := side.Project(folded(top))
	return cuff, under, s - roll/2
}

func (a *turnBackArgs) promiseInOne(w *work, all []turnedBack, before map[string]float64) {
	for i := range all {
		b := &all[i]
		q := w.p.PieceNamed(b.piece)
		for k, e := range b.sides {
			cuff, under, deep := b.turnedUp(q, k, a.Roll)
			w.promise(inspect.Check{Rule: "turn_back_lies", Piece: q.Name, Place: e, Measured: cuff, Tolerance: 0.1, Unit: inspect.MM,
				Text: fmt.Sprintf("Turned back, the side %s of the cuff lies on the side of %s to %.3f mm.", e, q.Name, cuff)})
			if a.under() > 0 {
				w.promise(inspect.Check{Rule: "turn_back_under", Piece: q.Name, Place: e, Measured: under, Tolerance: 0.1, Unit: inspect.MM,
					Text: fmt.Sprintf("What is turned under the cuff lies on it at %s to %.3f mm.", e, under)})
			}
			w.promise(inspect.Check{Rule: "turn_back_depth", Piece: q.Name, Place: e, Measured: deep, Want: pattern.Range{Min: a.Depth, Max: a.Depth}, Tolerance: 0.1, Unit: inspect.MM,
				Text: fmt.Sprintf("Turned back, the edge of the cuff lies %.2f mm above the hem, along the side.", deep)})
		}
		kept := 0.0
		for k := range b.was.Edges {
			e := &b.was.Edges[k]
			if j := q.EdgeNamed(e.Name); j >= 0 && e.Name != a.Hem {
				kept = math.Max(kept, math.Abs(q.Edges[j].Path.Length()-e.Path.Length()))
			}
		}
		w.promise(inspect.Check{Rule: "turn_back_kept", Piece: q.Name, Place: "outline", Measured: kept, Tolerance: 0.1, Unit: inspect.MM,
			Text: fmt.Sprintf("The edges of %s above the hem keep their lengths to %.3f mm.", q.Name, kept)})
	}
	w.promiseSeams(all[0].piece, before)
}

func (a *turnBackArgs) promiseSeparate(w *work, all []turnedBack) {
	for i := range all {
		b := &all[i]
		q, p := w.p.PieceNamed(b.cuff), w.p.PieceNamed(b.piece)
		hem, sewn := p.Edges[p.EdgeNamed(a.Hem)].Path, q.Edges[q.EdgeNamed("stitched")].Path
		w.promise(inspect.Check{Rule: "turn_back_seam", Piece: q.Name, Place: "stitched", Measured: sewn.Length() - hem.Length(), Tolerance: 0.1, Unit: inspect.MM,
			Text: fmt.Sprintf("%s is %.1f mm long where it is sewn to %.1f mm of hem.", q.Name, sewn.Length(), hem.Length())})
		// Turned back, the roll is taken up: the cuff comes down by it onto the sleeve.
		up := squareTo(hem)
		down := geom.Translate(up.Mul(-a.Roll))
		edge := q.Edges[q.EdgeNamed("edge")].Path.Transform(down)
		for k, side := range []geom.Path{p.Edges[p.EdgeNamed(b.left)].Path.Reverse(), p.Edges[p.EdgeNamed(b.right)].Path} {
			own := q.Edges[q.EdgeNamed(b.sides[k])].Path
			at := edge.End()
			if k == 1 {
				at = edge.Start()
			}
			off := 0.0
			for _, x := range own.Transform(down).Spread(40) {
				if x.Sub(side.Start()).Dot(up) > 0 {
					_, d := side.Project(x)
					off = math.Max(off, d)
				}
			}
			deep, d := side.Project(at)
			w.promise(inspect.Check{Rule: "turn_back_lies", Piece: q.Name, Place: b.sides[k], Measured: math.Max(off, d), Tolerance: 0.1, Unit: inspect.MM,
				Text: fmt.Sprintf("Turned back, the side %s of %s lies on the side of %s to %.3f mm.", b.sides[k], q.Name, p.Name, math.Max(off, d))})
			w.promise(inspect.Check{Rule: "turn_back_depth", Piece: q.Name, Place: b.sides[k], Measured: deep, Want: pattern.Range{Min: a.Depth, Max: a.Depth}, Tolerance: 0.1, Unit: inspect.MM,
				Text: fmt.Sprintf("Turned back, the edge of %s lies %.2f mm above the hem, along the side.", q.Name, deep)})
		}
		off := awry(hem, edge, a.Depth)
		w.promise(inspect.Check{Rule: "turn_back_parallel", Piece: q.Name, Place: "edge", Measured: off, Tolerance: a.parallel(), Unit: inspect.MM,
			Text: fmt.Sprintf("The edge of %s lies %s above the hem all along, to %.2f mm.", q.Name, say(a.Depth), off)})
	}
}

func (a *turnBackArgs) tellInOne(w *work, all []turnedBack) {
	names := make([]string, len(all))
	edge := 0.0
	for i := range all {
		names[i] = all[i].piece
		edge += edgeLength(w.p.PieceNamed(all[i].piece), all[i].end)
	}
	under := a.under()
	how := fmt.Sprintf("Turn its raw edge (%s) under %s, press, and turn the cuff back onto the sleeve at the hem fold, %s deep; catch it at the seams. Its outside is the underside of the cloth.", say(edge), say(under), say(a.Depth))
	switch {
	case under == 0:
		how = fmt.Sprintf("Bind or hem its raw edge (%s) and turn the cuff back onto the sleeve at the hem fold, %s deep; catch it at the seams. Its outside is the underside of the cloth.", say(edge), say(a.Depth))
	case under > a.Depth:
		how = fmt.Sprintf("Fold it at the cuff fold, wrong sides together, and press; turn both layers back onto the sleeve at the hem fold, %s deep, and hem the raw edge (%s) to the inside of the sleeve, %s above the fold; catch the cuff at the seams.", say(a.Depth), say(edge), say(under-a.Depth))
	}
	w.res.Steps = append(w.res.Steps, Step{Stage: Finish, Pieces: names,
		Text:    fmt.Sprintf("The cuff is cut in one with %s and its seams are sewn with those of the sleeve. %s Leave %s for the turn of cloth.", said(names), how, say(a.Roll)),
		Amounts: []Amount{{"cuff", a.Depth}, {"turned under", under}, {"turn of cloth", a.Roll}, {"raw edge", edge}}})
	d := plan{d: Drawing{Title: fmt.Sprintf("Turn-back cuff, %s deep, size %s", say(a.Depth), w.p.Size)}}
	for i := range all {
		b := &all[i]
		for k := range b.raw.Edges {
			kind := Outline
			if i := b.was.EdgeNamed(b.raw.Edges[k].Name); i >= 0 && b.raw.Edges[k].Path.Bounds() != b.was.Edges[i].Path.Bounds() {
				kind = CutAway
			}
			d.line(kind, b.piece, b.raw.Edges[k].Path, b.raw.Edges[k].Name)
		}
	}
	if a.Straighten {
		d.step("Let the sides fall straight down the sleeve beside the cuff, and draw the hem straight between them.")
		for i := range all {
			b := &all[i]
			for _, n := range [3]string{b.left, a.Hem, b.right} {
				d.line(New, b.piece, b.was.Edges[b.was.EdgeNamed(n)].Path, n)
			}
		}
	}
	d.step("Rule the hem fold %s below the hem: half the turn of cloth. On both sides of the sleeve mark %s up from the hem.", say(a.Roll/2), say(a.Depth))
	for i := range all {
		b := &all[i]
		for k, n := range [2]string{b.left, b.right} {
			side := b.was.Edges[b.was.EdgeNamed(n)].Path
			if k == 0 {
				side = side.Reverse()
			}
			x, y := d.point(side.Start(), "hem"), d.point(side.PointAt(a.Depth), "depth of the cuff")
			d.measure(x, y, side.Sub(0, a.Depth), "depth of the cuff")
		}
	}
	d.step("Fold the paper at it and trace the sides up to those marks; open it out: the line between them is the edge of the cuff.")
	if under > 0 {
		d.step("Fold at that edge and trace on for what is turned under, %s.", say(under))
	}
	for i := range all {
		b := &all[i]
		q := w.p.PieceNamed(b.piece)
		for _, n := range append(b.sides[:], b.end) {
			d.line(New, b.piece, q.Edges[q.EdgeNamed(n)].Path, n)
		}
		for _, l := range q.Lines {
			for _, n := range b.folds {
				if l.Name == n {
					d.line(Construction, b.piece, l.Path, n)
				}
			}
		}
		e := q.Edges[q.EdgeNamed(b.end)].Path
		x, y := d.point(e.Start(), "raw edge"), d.point(e.End(), "raw edge")
		d.measure(x, y, nil, "raw edge")
	}
	w.res.Drawing = d.d
}

func (a *turnBackArgs) tellSeparate(w *work, all []turnedBack) {
	var names, cuffs []string
	edge := 0.0
	for i := range all {
		names, cuffs = append(names, all[i].piece), append(cuffs, all[i].cuff)
		edge += edgeLength(w.p.PieceNamed(all[i].cuff), "edge")
	}
	w.res.Steps = append(w.res.Steps, Step{Stage: Finish, Pieces: append(append([]string(nil), cuffs...), names...),
		Text: fmt.Sprintf("Of %s cut two layers for each sleeve and interface one. Close the seams of both layers, sew them right sides together along the edge (%s), turn and press. Slip the cuff into the sleeve, its outside against the inside of the sleeve, sew it to the hem, notch to notch, finish the seam, and turn the cuff back onto the sleeve: %s deep, with %s for the turn of cloth.",
			said(cuffs), say(edge), say(a.Depth), say(a.Roll)),
		Amounts: []Amount{{"cuff", a.Depth}, {"turn of cloth", a.Roll}, {"edge", edge}}})
	w.res.Notions = append(w.res.Notions, "interfacing for one layer of "+said(cuffs))
	d := plan{d: Drawing{Title: fmt.Sprintf("Turn-back cuff of its own, %s deep, size %s", say(a.Depth), w.p.Size)}}
	for i := range all {
		d.line(Outline, all[i].piece, all[i].was.Outline(), all[i].piece)
	}
	d.step("Draw a line %s above the hem, and trace what lies below it.", say(a.Depth))
	for i := range all {
		b := &all[i]
		side := b.was.Edges[b.was.EdgeNamed(b.right)].Path
		x, y := d.point(side.Start(), "hem"), d.point(side.PointAt(a.Depth), "edge of the cuff")
		d.measure(x, y, side.Sub(0, a.Depth), "depth of the cuff")
		q := w.p.PieceNamed(b.cuff)
		up := squareTo(b.was.Edges[b.was.EdgeNamed(a.Hem)].Path)
		d.line(Construction, b.piece, q.Edges[q.EdgeNamed("edge")].Path.Transform(geom.Translate(up.Mul(-a.Roll))), "edge of the cuff")
	}
	d.step("Lay it out below the sleeve and set the hem line off by %s: the turn of cloth.", say(a.Roll))
	for i := range all {
		q := w.p.PieceNamed(all[i].cuff)
		box := all[i].was.Outline().Bounds()
		own := q.Outline().Bounds()
		low := moved(*q, geom.Translate(geom.Vec{Y: box.Min.Y - 40 - own.Max.Y}))
		d.line(New, q.Name, low.Outline(), q.Name)
		for _, m := range low.Marks {
			d.point(m.At, m.Name)
		}
	}
	w.res.Drawing = d.d
}
