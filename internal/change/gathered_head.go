package change

import (
	"fmt"

	"sizerun/internal/geom"
	"sizerun/internal/inspect"
	"sizerun/internal/pattern"
)

// A gathered head, or puff (TRADE 4.2): slashed from the cap to the hem, hinged at the hem, the head opened and
// its crown raised. Gathers start and stop at notches, below which the cap is as it was.

type gatheredHeadArgs struct {
	Piece string   `arg:"piece" kind:"name" default:"sleeve" says:"The sleeve whose head is gathered."`
	By    float64  `arg:"by" kind:"length" min:"5" max:"1500" must:"yes" says:"How much is put in at the head in all; each line opens by its share."`
	Puff  float64  `arg:"puff" kind:"length" min:"0" max:"200" default:"25mm" says:"How far the crown is raised, for the gathers to stand up."`
	Lines int      `arg:"lines" kind:"number" min:"1" max:"40" default:"5" says:"How many lines it is slashed along, evenly spread between the notches and parallel to the grain."`
	Reach *Each    `arg:"reach" kind:"length" min:"20" max:"600" says:"How far from the crown, along the cap, the gathers reach; left out, from notch to notch. Where there is no notch, one is made on the cap and on the armhole."`
	Crown string   `arg:"crown" kind:"name" default:"crown" says:"The dot at the crown."`
	Hem   string   `arg:"hem" kind:"name" default:"hem" says:"The hem edge, at which it hinges."`
	Cap   []string `arg:"cap" kind:"names" says:"The edges of the cap; left out, those that are set into an armhole."`
}

func defineGatheredHead() Definition {
	return Definition{
		Name:     "gathered_head",
		Sentence: "Gathers the head of a sleeve to a puff: slashed from the cap, hinged at the hem, opened at the head, the crown raised.",
		Promise:  "The hem, the sides and the cap below the gathers keep their lengths to 0.1 mm, the cap its ease; the crown rises by exactly the puff; notches mark on both sides of the seam where gathers start and stop.",
		Sketch: []Stroke{
			{CutAway, geom.Path{geom.Cubic(geom.Pt(82, 50), geom.Pt(70, 52), geom.Pt(66, 80), geom.Pt(50, 80)), geom.Cubic(geom.Pt(50, 80), geom.Pt(34, 80), geom.Pt(30, 52), geom.Pt(18, 50))}},
			{Outline, geom.Polyline(geom.Pt(9, 52), geom.Pt(20, 10), geom.Pt(80, 10), geom.Pt(91, 52))},
			{Construction, geom.Polyline(geom.Pt(40, 10), geom.Pt(38, 78))},
			{Construction, geom.Polyline(geom.Pt(60, 10), geom.Pt(62, 78))},
			{New, geom.Path{geom.Cubic(geom.Pt(91, 52), geom.Pt(78, 56), geom.Pt(78, 95), geom.Pt(50, 95)), geom.Cubic(geom.Pt(50, 95), geom.Pt(22, 95), geom.Pt(22, 56), geom.Pt(9, 52))}},
		},
		fresh: func() args { return new(gatheredHeadArgs) },
	}
}

func (a *gatheredHeadArgs) apply(w *work) error {
	t, err := w.tube(a.Piece, a.Hem, a.Cap)
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
	o := opening{open: t.hemRun(), head: t.cap, cuts: t.slashesIn(t.hemRun(), t.cap, a.Lines, g.within), within: &g.within, ptr: "/by"}
	for i := range o.cuts {
		o.cuts[i].head = a.By / float64(a.Lines)
	}
	o.swellHead = &swell{from: g.within[0], peak: g.crown, to: g.within[1], by: t.up.Mul(a.Puff)}
	s, err := w.spread(p, o)
	if err != nil {
		return err
	}
	if s.headFlat < a.By/2 {
		return pattern.Fault{Rule: "slash_slants", Pointer: "/cap", Piece: p.Name, Edge: p.Edges[t.cap.first].Name,
			Detail: fmt.Sprintf("the cap runs so much along the grain that opening it by %s lengthens it by only %.1f mm", say(a.By), s.headFlat),
			Valid:  "a cap that the grain meets about squarely", Remedy: "name a cap that lies across the grain, or turn the grain"}
	}
	drawn := w.drawUp(&t, &g)
	kept := t.kept(&was, t.cap)
	w.promise(inspect.Check{Rule: "gathered_head_kept", Piece: p.Name, Place: "outline", Measured: kept, Tolerance: 0.1, Unit: inspect.MM,
		Text: fmt.Sprintf("All edges of %s but the cap keep their lengths to %.3f mm.", p.Name, kept)})
	if err := w.gatherPromises(&t, &g, eases); err != nil {
		return err
	}
	rise := crownOf(p, a.Crown).Sub(s.flatHead(g.crown)).Dot(t.up)
	w.promise(inspect.Check{Rule: "gathered_head_puff", Piece: p.Name, Place: a.Crown, Measured: rise, Want: pattern.Range{Min: a.Puff, Max: a.Puff}, Tolerance: 0.1, Unit: inspect.MM,
		Text: fmt.Sprintf("The crown of %s is raised by %.2f mm.", p.Name, rise)})
	// The cap rises towards the crown, so that it gains a little less along itself than is put in across.
	gain := s.headFlat
	w.promise(inspect.Check{Rule: "gathered_head_opens", Piece: p.Name, Place: "cap", Measured: gain, Want: pattern.Range{Min: 0.5 * a.By, Max: a.By}, Tolerance: 0.5 + 0.02*a.By, Unit: inspect.MM,
		Text: fmt.Sprintf("Opened by %.1f mm, and before its crown is raised, the cap of %s gains %.1f mm along itself.", a.By, p.Name, gain)})
	w.gatherStep(&t, &g, drawn)
	d := plan{d: Drawing{Title: fmt.Sprintf("Gather the head of %s, size %s", p.Name, w.p.Size)}}
	d.slashed(&was, p, &s, &o, "the hem", "the cap")
	d.step("Raise the crown by %s and redraw the cap smooth from notch to notch.", say(a.Puff))
	x, y := d.point(s.flatHead(g.crown), "crown"), d.point(crownOf(p, a.Crown), "crown, raised")
	d.measure(x, y, nil, "puff")
	d.redrawnEdges(&was, p)
	d.step("Mark on the cap and on the armhole where the gathers start and stop.")
	for _, m := range g.marks {
		d.point(p.MarkNamed(m).At, m)
	}
	w.res.Drawing = d.d
	return nil
}

// slashesIn are lines along the grain between two places of the head, or joining equal shares there.
func (t *tube) slashesIn(open, head run, n int, within [2]spot) []slash {
	if c := slashesWithin(t.p, open, head, n, t.up, within); len(c) == n {
		return c
	}
	o, h := newThread(t.p, open, false), newThread(t.p, head, true)
	a, _ := h.along(within[0])
	b, _ := h.along(within[1])
	var out []slash
	for i := range n {
		u := a + (b-a)*(float64(i)+0.5)/float64(n)
		out = append(out, slash{at: o.spot(o.length * u / h.length), to: h.spot(u)})
	}
	return out
}
