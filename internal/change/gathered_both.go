package change

import (
	"fmt"
	"math"

	"sizerun/internal/geom"
	"sizerun/internal/inspect"
	"sizerun/internal/pattern"
)

// Gathered at both ends (TRADE 4.2): slashed right through and spread parallel, so that head and hem gain alike
// and the sides stay as they lie.

type gatheredBothArgs struct {
	Piece string  `arg:"piece" kind:"name" default:"sleeve" says:"The sleeve that is gathered at both ends."`
	By    float64 `arg:"by" kind:"length" min:"5" max:"1500" must:"yes" says:"How much is put in across the sleeve in all; each line opens by its share, from end to end."`
	Puff  float64 `arg:"puff" kind:"length" min:"0" max:"200" default:"15mm" says:"How far the crown is raised, for the gathers to stand up."`
	Drop  float64 `arg:"drop" kind:"length" min:"0" max:"120" default:"0mm" says:"How far the hem is dropped at the back, half-way between the underarm and the middle of the hem."`
	Lines int     `arg:"lines" kind:"number" min:"1" max:"40" default:"5" says:"How many lines it is slashed along, evenly spread between the notches and parallel to the grain."`
	Reach *Each   `arg:"reach" kind:"length" min:"20" max:"600" says:"How far from the crown, along the cap, the gathers reach; left out, from notch to notch. Where there is no notch, one is made on the cap and on the armhole."`
	bandArgs
	Crown string   `arg:"crown" kind:"name" default:"crown" says:"The dot at the crown."`
	Hem   string   `arg:"hem" kind:"name" default:"hem" says:"The hem edge of the sleeve."`
	Cap   []string `arg:"cap" kind:"names" says:"The edges of the cap; left out, those that are set into an armhole."`
}

func defineGatheredBoth() Definition {
	return Definition{
		Name:     "gathered_both",
		Sentence: "Gathers a sleeve at head and hem: slashed right through and spread parallel, the hem onto a band or cuff.",
		Promise:  "The sides and the cap below the gathers keep their lengths to 0.1 mm, the cap its ease; the sleeve becomes wider by exactly the amount and its sides keep their slant; notches mark where gathers start and stop; the band has its length to 0.1 mm.",
		Sketch: []Stroke{
			{New, geom.Path{geom.Cubic(geom.Pt(96, 58), geom.Pt(82, 60), geom.Pt(78, 96), geom.Pt(50, 96)), geom.Cubic(geom.Pt(50, 96), geom.Pt(22, 96), geom.Pt(18, 60), geom.Pt(4, 58))}},
			{New, geom.Polyline(geom.Pt(4, 58), geom.Pt(8, 26), geom.Pt(92, 26), geom.Pt(96, 58))},
			{Construction, geom.Polyline(geom.Pt(40, 26), geom.Pt(40, 95))},
			{Construction, geom.Polyline(geom.Pt(60, 26), geom.Pt(60, 95))},
			{New, geom.Polyline(geom.Pt(30, 4), geom.Pt(70, 4), geom.Pt(70, 14), geom.Pt(30, 14), geom.Pt(30, 4))},
		},
		fresh: func() args { return new(gatheredBothArgs) },
	}
}

func (a *gatheredBothArgs) apply(w *work) error {
	t, err := w.opens(a.Piece, a.Hem, a.Cap)
	if err != nil {
		return err
	}
	eases, err := w.easesNow()
	if err != nil {
		return err
	}
	g, err := w.gathering(&t, a.Crown, a.Reach)
	if err != nil {
		return err
	}
	p := t.p
	was := p.Clone()
	o := opening{open: t.hemRun(), head: t.cap, cuts: slashesWithin(p, t.hemRun(), t.cap, a.Lines, t.up, g.within), within: &g.within, ptr: "/by"}
	if len(o.cuts) != a.Lines {
		return pattern.Fault{Rule: "no_lines", Pointer: "/lines", Piece: p.Name, Edge: a.Hem, Detail: fmt.Sprintf("no %d lines along the grain lead from the hem to the gathered part of the cap", a.Lines),
			Remedy: "take fewer lines, let the gathers reach further, or gather head and hem each on its own"}
	}
	for i := range o.cuts {
		o.cuts[i].head, o.cuts[i].open = a.By/float64(a.Lines), a.By/float64(a.Lines)
	}
	if a.Puff > 0 {
		o.swellHead = &swell{from: g.within[0], peak: g.crown, to: g.within[1], by: t.up.Mul(a.Puff)}
	}
	if at := t.backOfHem(&was); a.Drop > 0 {
		o.swellOpen = &swell{from: spot{t.hem, at[0]}, peak: spot{t.hem, at[1]}, to: spot{t.hem, at[2]}, by: t.up.Mul(-a.Drop)}
	}
	s, err := w.spread(p, o)
	if err != nil {
		return err
	}
	drawn := w.drawUp(&t, &g)
	if err := a.promises(w, &was, &t, &g, eases); err != nil {
		return err
	}
	w.gatherStep(&t, &g, drawn)
	d := plan{d: Drawing{Title: fmt.Sprintf("Gather %s at both ends, size %s", p.Name, w.p.Size)}}
	d.slashed(&was, p, &s, &o, "the hem", "the cap")
	d.step("Raise the crown by %s, drop the hem at the back by %s, and redraw both smooth.", say(a.Puff), say(a.Drop))
	d.redrawnEdges(&was, p)
	d.step("Mark on the cap and on the armhole where the gathers start and stop.")
	for _, m := range g.marks {
		d.point(p.MarkNamed(m).At, m)
	}
	if a.Band {
		b := a.of(p, a.Hem)
		if err := w.band(&b); err != nil {
			return err
		}
		d.bandDrawn(w, &b)
	}
	w.res.Drawing = d.d
	return nil
}

func (a *gatheredBothArgs) promises(w *work, was *pattern.Piece, t *tube, g *gathering, eases []float64) error {
	p := t.p
	kept := t.kept(was, t.cap, t.hemRun())
	w.promise(inspect.Check{Rule: "gathered_both_kept", Piece: p.Name, Place: "sides", Measured: kept, Tolerance: 0.1, Unit: inspect.MM,
		Text: fmt.Sprintf("The sides of %s keep their lengths to %.3f mm.", p.Name, kept)})
	if err := w.gatherPromises(t, g, eases); err != nil {
		return err
	}
	across := t.up.Right()
	wide := func(q *pattern.Piece) float64 {
		h := q.Edges[t.hem].Path
		return math.Abs(h.End().Sub(h.Start()).Dot(across))
	}
	gain := wide(p) - wide(was)
	w.promise(inspect.Check{Rule: "gathered_both_width", Piece: p.Name, Place: a.Hem, Measured: gain, Want: pattern.Range{Min: a.By, Max: a.By}, Tolerance: 0.1, Unit: inspect.MM,
		Text: fmt.Sprintf("Across the grain %s becomes %.2f mm wider.", p.Name, gain)})
	slant := 0.0
	for _, e := range []int{t.left, t.right} {
		slant = math.Max(slant, degrees(p.Edges[e].Path.StartTangent(), was.Edges[e].Path.StartTangent()))
	}
	w.promise(inspect.Check{Rule: "gathered_both_sides", Piece: p.Name, Place: "sides", Measured: slant, Tolerance: 0.1, Unit: inspect.Degrees,
		Text: fmt.Sprintf("The sides of %s keep their slant to %.3f degrees.", p.Name, slant)})
	return nil
}
