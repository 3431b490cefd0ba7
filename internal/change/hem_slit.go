package change

import (
	"fmt"
	"math"

	"sizerun/internal/geom"
	"sizerun/internal/inspect"
	"sizerun/internal/pattern"
)

// The hem slit (TRADE 4.2): a cut from the hem straight up the grain, marked and not cut out; on a sleeve it
// lies behind, half-way between back fold and underarm by habit. A dot marks where it stops, a notch where it opens.

type slitArgs struct {
	Piece string  `arg:"piece" kind:"name" default:"sleeve" says:"The piece that is slit."`
	Hem   string  `arg:"hem" kind:"name" default:"hem" says:"Its hem."`
	Share float64 `arg:"share" kind:"share" min:"0.02" max:"0.98" default:"0.25" says:"Where along the hem it lies: the share of the hem from its beginning, which on a sleeve is the back underarm."`
	Long  float64 `arg:"length" kind:"length" min:"10" max:"400" default:"60mm" says:"How long it is."`
}

func defineSlit() Definition {
	return Definition{
		Name:     "hem_slit",
		Sentence: "Marks a slit from the hem straight up the grain, with a dot where it stops.",
		Promise:  "It is as long as stated to 0.1 mm, lies along the grain and inside the piece; the outline stays as it was.",
		Sketch: []Stroke{
			{Outline, geom.Polyline(geom.Pt(10, 90), geom.Pt(18, 10), geom.Pt(82, 10), geom.Pt(90, 90))},
			{New, geom.Polyline(geom.Pt(34, 10), geom.Pt(34, 45))},
		},
		fresh: func() args { return new(slitArgs) },
	}
}

func (a *slitArgs) apply(w *work) error {
	const clear = 10.0 // mm that the slit keeps from the rest of the outline
	p, err := w.piece("/piece", a.Piece)
	if err != nil {
		return err
	}
	i, err := w.edge("/hem", p, a.Hem)
	if err != nil {
		return err
	}
	e := p.Edges[i]
	if e.Fold {
		return pattern.Fault{Rule: "edge_on_fold", Pointer: "/hem", Piece: p.Name, Edge: e.Name, Detail: fmt.Sprintf("edge %s of piece %q lies on the fold", e.Name, p.Name), Remedy: "name the edge that is slit"}
	}
	l := e.Path.Length()
	s := a.Share * l
	if d := math.Min(s, l-s); d < clear {
		return pattern.Fault{Rule: "out_of_range", Pointer: "/share", Piece: p.Name, Edge: e.Name, Detail: fmt.Sprintf("the slit would lie %.1f mm from the end of the hem, which is %.1f mm long", d, l),
			Valid: fmt.Sprintf("%.3f to %.3f", math.Min(0.5, clear/l), math.Max(0.5, 1-clear/l)), Remedy: "slit it further from the seam"}
	}
	at := e.Path.PointAt(s)
	up := p.Grain[1].Sub(p.Grain[0]).Unit()
	if up.Dot(e.Path.TangentAt(s).Left()) < 0 {
		up = up.Neg()
	}
	if d := degrees(up, e.Path.TangentAt(s).Left()); up == (geom.Vec{}) || d > 60 {
		return pattern.Fault{Rule: "along_hem", Pointer: "/hem", Piece: p.Name, Edge: e.Name, Detail: fmt.Sprintf("the grain of piece %q runs along edge %s, not up from it", p.Name, e.Name), Remedy: "name an edge that lies across the grain"}
	}
	top := at.Add(up.Mul(a.Long))
	line := geom.Polyline(at, top)
	out := p.Outline()
	crossed := false
	for _, x := range geom.Intersect(line, out, 1e-6) {
		crossed = crossed || x.S > 1
	}
	if _, d := out.Project(top); crossed || !out.Contains(top) || d < clear {
		return pattern.Fault{Rule: "slit_leaves_piece", Pointer: "/length", Piece: p.Name, Edge: e.Name, Detail: fmt.Sprintf("a slit of %s would end outside piece %q or less than %g mm inside it", say(a.Long), p.Name, clear), Remedy: "make it shorter, or put it elsewhere along the hem"}
	}
	for _, m := range p.Marks {
		if m.Edge == e.Name && math.Abs(m.S-s) < 3 && m.Kind == pattern.Notch {
			return pattern.Fault{Rule: "mark_there", Pointer: "/share", Piece: p.Name, Edge: e.Name, Detail: fmt.Sprintf("the slit would open at the notch %s", m.Name), Remedy: "move it by a few millimetres"}
		}
	}
	was := out.Area()
	dot, notch := free("slit_top", knows(p)), free("slit", knows(p))
	p.Marks = append(p.Marks, pattern.Mark{Kind: pattern.Dot, Name: dot, At: top}, pattern.Mark{Kind: pattern.Notch, Name: notch, Count: 1, Edge: e.Name, S: s, At: at})
	p.Lines = append(p.Lines, pattern.InnerLine{Name: notch, Path: line})
	w.made = append(w.made, p.Name)
	long := p.MarkNamed(dot).At.Dist(p.MarkNamed(notch).At)
	w.promise(inspect.Check{Rule: "slit_length", Piece: p.Name, Place: notch, Measured: long, Want: pattern.Range{Min: a.Long, Max: a.Long}, Tolerance: 0.1, Unit: inspect.MM,
		Text: fmt.Sprintf("The slit of %s is %.1f mm long.", p.Name, long)})
	w.promise(inspect.Check{Rule: "slit_grain", Piece: p.Name, Place: notch, Measured: degrees(p.MarkNamed(dot).At.Sub(p.MarkNamed(notch).At), up), Tolerance: 1, Unit: inspect.Degrees,
		Text: fmt.Sprintf("The slit of %s lies along the grain.", p.Name)})
	w.promise(inspect.Check{Rule: "slit_outline", Piece: p.Name, Place: "outline", Measured: (p.Outline().Area() - was) / 100, Tolerance: 0.01, Unit: "cm2",
		Text: fmt.Sprintf("The outline of %s stays as it was.", p.Name)})
	w.res.Steps = append(w.res.Steps, Step{Stage: Prepare, Pieces: []string{p.Name}, Amounts: []Amount{{"slit", a.Long}, {"from the beginning of the hem", s}},
		Text: fmt.Sprintf("Stay-stitch round the slit of %s, cut it from the hem to the dot (%s, %.0f mm along the hem), and face or bind it before the hem is made.", p.Name, say(a.Long), s)})
	d := plan{d: Drawing{Title: fmt.Sprintf("Slit in %s, size %s", p.Name, w.p.Size)}}
	d.line(Outline, p.Name, out, p.Name)
	d.step("Along the hem go %s.", say(s))
	x := d.point(e.Path.Start(), "beginning of the hem")
	y := d.point(at, "slit")
	d.measure(x, y, e.Path.Sub(0, s), "along the hem")
	d.step("Draw up the grain %s; mark the end by a dot.", say(a.Long))
	d.line(New, p.Name, line, notch)
	d.measure(y, d.point(top, "end of the slit"), nil, "slit")
	w.res.Drawing = d.d
	return nil
}
