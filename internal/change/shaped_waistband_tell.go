package change

import (
	"fmt"
	"math"

	"sizerun/internal/geom"
	"sizerun/internal/inspect"
	"sizerun/internal/pattern"
)

// What a shaped waistband promises and how it is sewn and drawn.

func (a *shapedArgs) promises(w *work, b *shapedBand) {
	p := w.p.PieceNamed(a.Name)
	rest, err := inspect.Walk(&w.p, b.c.below.refs)
	if err != nil {
		return
	}
	for _, e := range b.sewn {
		l := edgeLength(p, e)
		w.promise(inspect.Check{Rule: "waistband_seam", Piece: a.Name, Place: e, Measured: l - rest.Len, Tolerance: 0.1, Unit: inspect.MM,
			Text: fmt.Sprintf("%s is %.1f mm long below, the top of what it is sewn to %.1f mm with its darts closed.", titled(a.Name), l, rest.Len)})
	}
	low, high := b.line(p, false), b.line(p, true)
	w.promise(inspect.Check{Rule: "waistband_waist", Piece: a.Name, Place: "upper edge", Measured: high.Length() - b.c.run.len, Tolerance: 0.1, Unit: inspect.MM,
		Text: fmt.Sprintf("Its upper edge is %.1f mm long, the waist was %.1f mm with its darts closed.", high.Length(), b.c.run.len)})
	turn := math.Max(sharpest(low), sharpest(high))
	w.promise(inspect.Check{Rule: "waistband_smooth", Piece: a.Name, Place: "upper and lower edge", Measured: turn, Tolerance: 2, Unit: inspect.Degrees,
		Text: fmt.Sprintf("Both edges run on over darts and side seams, to %.2f degrees.", turn)})
	off := uneven(low, high, a.Width)
	w.promise(inspect.Check{Rule: "waistband_width", Piece: a.Name, Place: "width", Measured: off, Want: pattern.Range{Max: evenTo}, Unit: inspect.MM,
		Text: fmt.Sprintf("It is %s wide all along, to %.2f mm.", say(a.Width), off)})
	if b.as == cutFold {
		n := len(p.Edges)
		k := p.EdgeNamed("middle")
		off := math.Max(squareOff(p, k, (k+1)%n), squareOff(p, (k+n-1)%n, k))
		w.promise(inspect.Check{Rule: "waistband_square", Piece: a.Name, Place: "middle", Measured: off, Tolerance: 1, Unit: inspect.Degrees,
			Text: fmt.Sprintf("Both edges meet the fold square, to %.2f degrees.", off)})
	}
}

// line is the lower or upper edge of the half that was taken from the pieces, from left to right.
func (b *shapedBand) line(p *pattern.Piece, upper bool) geom.Path {
	if !upper {
		return p.Edges[p.EdgeNamed("stitched")].Path
	}
	var out geom.Path
	for i := range p.Edges {
		e := &p.Edges[i]
		for j, r := range b.c.run.refs {
			t := b.c.partOf(j)
			if o := t.was.Edges[t.was.EdgeNamed(r.Edge)].Src; e.Src == o {
				out = out.Join(e.Path)
			}
		}
	}
	return out.Reverse()
}

// uneven is by how much the distance of one line from another leaves the one wanted, at most, away from the
// ends, which need not be square.
func uneven(low, high geom.Path, want float64) float64 {
	const n = 80
	worst, l := 0.0, high.Length()
	for i, q := range low.Spread(n) {
		s, d := high.Project(q)
		if i == 0 || i == n || s < 1 || s > l-1 {
			continue
		}
		worst = math.Max(worst, math.Abs(d-want))
	}
	return worst
}

func (a *shapedArgs) tell(w *work, b *shapedBand) {
	c := b.c
	var out []string
	for i := range c.parts {
		out = append(out, c.parts[i].piece)
	}
	text := fmt.Sprintf("Interface the outer layer of %s. ", a.Name)
	w.res.Notions = append(w.res.Notions, "interfacing for "+spoken(a.Name))
	ends := "Right sides together, "
	switch {
	case b.as == cutEach && c.run.ring:
		text += "Sew the ends of each layer together and " + pressOpen + ". "
	case b.as == cutEach:
		text += "Sew the two halves of each layer together at the middle and " + pressOpen + ". "
	}
	if a.Faced {
		text += "Right sides together, sew the facing to the upper edge, grade and clip the allowances, under-stitch and press. "
		ends = "Right sides together, "
	}
	text += fmt.Sprintf("%ssew the lower edge of the outer layer to %s (%s on each half), matching notches and seams.", ends, said(out), say(c.below.len))
	if a.Overlap > 0 {
		text += fmt.Sprintf(" Let %s stand out past the opening for the fastening and close the ends.", say(a.Overlap))
		w.res.Notions = append(w.res.Notions, titled(a.Name)+": a button or a hook and bar")
	}
	if a.Faced {
		text += " Turn the lower edge of the facing under and sew it down inside over the seam."
	}
	w.res.Steps = append(w.res.Steps, Step{Stage: Finish, Pieces: append([]string{a.Name}, out...), Text: text,
		Amounts: []Amount{{"upper edge, each half", c.run.len}, {"lower edge, each half", c.below.len}, {"overlap", a.Overlap}, {"finished width", a.Width}}})
	a.drawing(w, b)
}

func (a *shapedArgs) drawing(w *work, b *shapedBand) {
	c := b.c
	l := plan{d: Drawing{Title: fmt.Sprintf("%s, size %s", titled(a.Name), w.p.Size)}}
	box := geom.EmptyRect()
	for i := range c.parts {
		t := &c.parts[i]
		l.line(Outline, t.piece, t.was.Outline(), t.piece)
		box = box.Union(t.was.Outline().Bounds())
	}
	l.step("Draw a line %s below the waist, as it runs with the darts shut: measure down both legs of every dart and down the sides.", say(a.Width))
	for i := range c.parts {
		t := &c.parts[i]
		p := w.p.PieceNamed(t.piece)
		for k := t.first; k <= t.last; k++ {
			e := p.Edges[p.EdgeNamed(c.below.refs[k].Edge)].Path
			l.line(New, t.piece, e, "")
			// The waist goes to the band, with its marks.
			l.line(CutAway, t.piece, t.was.Edges[t.was.EdgeNamed(c.run.refs[k].Edge)].Path, "")
		}
		for k, s := range t.sides {
			e := t.was.Edges[s].Path
			cut := t.cuts[0]
			if k == 1 {
				e, cut = e.Reverse(), t.cuts[len(t.cuts)-1]
			}
			x, y := l.point(e.Start(), "waist of "+t.piece), l.point(e.PointAt(cut), "line on "+t.piece)
			l.measure(x, y, e.Sub(0, cut), "depth")
		}
		for k, d := range t.legs {
			x := l.point(t.was.Edges[d.first].Path.PointAt(t.cuts[k+1]), d.name+" at the line")
			y := l.point(d.a, d.name+" at the waist")
			l.measure(y, x, nil, "depth")
		}
	}
	l.step("Cut along it; what is below keeps its darts. Shut the darts of the upper parts leg on leg, and lay them together at the side seams.")
	p := w.p.PieceNamed(a.Name)
	own := p.Outline().Bounds()
	const apart = 60.0
	beside := geom.Translate(geom.Vec{X: box.Min.X - own.Min.X, Y: box.Max.Y + apart - own.Min.Y})
	m := moved(*p, beside)
	// The lines as the shut parts give them lie where the piece's do.
	frame := frameTo(c.upper, b.line(&m, true))
	for i, s := range c.sharp {
		l.line(Construction, a.Name, s.Transform(frame), []string{"lower edge, as laid", "upper edge, as laid"}[i])
	}
	l.step("Draw both lines with one sweep of the curve, as long as before.")
	l.line(New, a.Name, m.Outline(), a.Name)
	for i, q := range [2]geom.Path{b.line(&m, false), b.line(&m, true)} {
		name := []string{"lower edge", "upper edge"}[i]
		x, y := l.point(q.Start(), name+" begins"), l.point(q.End(), name+" ends")
		l.measure(x, y, q, name)
	}
	if a.Overlap > 0 {
		l.step("Run it on by %s past the opening.", say(a.Overlap))
	}
	l.step("Mark the side seams, the darts and the notches, and draw the grain line parallel to its middle.")
	for _, k := range m.Marks {
		l.point(k.At, k.Name)
	}
	l.line(Construction, a.Name, geom.Polyline(m.Grain[0], m.Grain[1]), "grain")
	w.res.Drawing = l.d
}

// frameTo is the motion that lays one path on another of the same shape.
func frameTo(from, to geom.Path) geom.Affine {
	m := geom.RotateAbout(from.Start(), from.End().Sub(from.Start()).AngleTo(to.End().Sub(to.Start())))
	return m.Then(geom.Translate(to.Start().Sub(from.Start())))
}
