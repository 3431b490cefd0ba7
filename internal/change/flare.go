package change

import (
	"fmt"

	"sizerun/internal/geom"
	"sizerun/internal/inspect"
	"sizerun/internal/pattern"
)

// A flared, bell-shaped piece (TRADE 4.2): slashed from the hem to the edge above on some lines, hinged there,
// opened at the hem.

type flareArgs struct {
	Piece string   `arg:"piece" kind:"name" must:"yes" says:"The piece that is flared."`
	By    float64  `arg:"by" kind:"length" min:"1" max:"3000" must:"yes" says:"How much longer the hem becomes in all; each line opens by its share."`
	Lines int      `arg:"lines" kind:"number" min:"1" max:"40" default:"5" says:"How many lines it is slashed along, evenly spread and parallel to the grain."`
	Hem   string   `arg:"hem" kind:"name" default:"hem" says:"The hem edge of the piece."`
	Cap   []string `arg:"cap" kind:"names" says:"The edges that it hinges at; left out, those that are set into an armhole, or else what lies above the sides."`
}

func defineFlare() Definition {
	return Definition{
		Name:     "flare",
		Sentence: "Flares a sleeve to a bell, or any piece likewise: slashed from the hem on several lines, hinged at the top and opened at the hem.",
		Promise:  "The cap and the sides keep their lengths to 0.1 mm, the corners at the sides their angles; the hem gains the amount asked for and is smooth.",
		Sketch: []Stroke{
			{Outline, geom.Path{geom.Cubic(geom.Pt(82, 62), geom.Pt(70, 64), geom.Pt(66, 95), geom.Pt(50, 95)), geom.Cubic(geom.Pt(50, 95), geom.Pt(34, 95), geom.Pt(30, 64), geom.Pt(18, 62))}},
			{CutAway, geom.Polyline(geom.Pt(18, 62), geom.Pt(20, 14), geom.Pt(80, 14), geom.Pt(82, 62))},
			{Construction, geom.Polyline(geom.Pt(35, 14), geom.Pt(35, 84))},
			{Construction, geom.Polyline(geom.Pt(50, 14), geom.Pt(50, 95))},
			{Construction, geom.Polyline(geom.Pt(65, 14), geom.Pt(65, 84))},
			{New, geom.Path{geom.Line(geom.Pt(18, 62), geom.Pt(3, 22)), geom.Cubic(geom.Pt(3, 22), geom.Pt(30, 4), geom.Pt(70, 4), geom.Pt(97, 22)), geom.Line(geom.Pt(97, 22), geom.Pt(82, 62))}},
		},
		fresh: func() args { return new(flareArgs) },
	}
}

func (a *flareArgs) apply(w *work) error {
	t, err := w.opens(a.Piece, a.Hem, a.Cap)
	if err != nil {
		return err
	}
	p := t.p
	was := p.Clone()
	o := opening{open: t.hemRun(), head: t.cap, cuts: t.slashes(t.hemRun(), t.cap, a.Lines), gain: a.By, ptr: "/by"}
	for i := range o.cuts {
		o.cuts[i].open = a.By / float64(a.Lines)
	}
	s, err := w.spread(p, o)
	if err != nil {
		return err
	}
	a.tell(w, &was, &t, &s, &o)
	return nil
}

func (a *flareArgs) tell(w *work, was *pattern.Piece, t *tube, s *spreading, o *opening) {
	p := t.p
	kept := t.kept(was, t.hemRun())
	w.promise(inspect.Check{Rule: "flare_kept", Piece: p.Name, Place: "outline", Measured: kept, Tolerance: 0.1, Unit: inspect.MM,
		Text: fmt.Sprintf("All edges of %s but the hem keep their lengths to %.3f mm.", p.Name, kept)})
	hem := p.Edges[t.hem].Path
	gain := hem.Length() - was.Edges[t.hem].Path.Length()
	w.promise(inspect.Check{Rule: "flare_hem", Piece: p.Name, Place: a.Hem, Measured: gain, Want: pattern.Range{Min: a.By, Max: a.By}, Tolerance: 0.5 + 0.002*a.By, Unit: inspect.MM,
		Text: fmt.Sprintf("The hem of %s gains %.1f mm.", p.Name, gain)})
	w.promise(inspect.Check{Rule: "flare_smooth", Piece: p.Name, Place: a.Hem, Measured: sharpest(hem), Want: pattern.Range{Max: sharpest(was.Edges[t.hem].Path)}, Tolerance: 1, Unit: inspect.Degrees,
		Text: fmt.Sprintf("The hem of %s is redrawn without a corner.", p.Name)})
	turned := t.turned(was)
	w.promise(inspect.Check{Rule: "flare_corners", Piece: p.Name, Place: "corners", Measured: turned, Tolerance: 0.5, Unit: inspect.Degrees,
		Text: fmt.Sprintf("The corners of %s keep their angles to %.2f degrees, so that what runs on over the seams still does.", p.Name, turned)})
	w.res.Steps = append(w.res.Steps, Step{Stage: SetIn, Pieces: []string{p.Name},
		Text:    fmt.Sprintf("Let the flared hem of %s hang overnight and level it before it is hemmed: it is %s along the seam line, %s more than before.", p.Name, say(hem.Length()), say(gain)),
		Amounts: []Amount{{"hem", hem.Length()}, {"flare", gain}}})
	d := plan{d: Drawing{Title: fmt.Sprintf("Flare %s by %s, size %s", p.Name, say(a.By), w.p.Size)}}
	d.slashed(was, p, s, o, "the hem", "the edge above")
	d.step("Redraw the edge above and the hem as smooth curves.")
	d.redrawnEdges(was, p)
	w.res.Drawing = d.d
}
