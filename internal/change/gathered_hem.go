package change

import (
	"fmt"

	"sizerun/internal/geom"
	"sizerun/internal/inspect"
	"sizerun/internal/pattern"
)

// A gathered hem, or bishop (TRADE 4.2): slashed from the hem, hinged at the cap, opened at the hem, which is
// dropped a little at the back for the elbow, and gathered onto a band or cuff.

type gatheredHemArgs struct {
	Piece string  `arg:"piece" kind:"name" default:"sleeve" says:"The sleeve whose hem is gathered."`
	By    float64 `arg:"by" kind:"length" min:"5" max:"2000" must:"yes" says:"How much longer the hem becomes in all; each line opens by its share."`
	Lines int     `arg:"lines" kind:"number" min:"1" max:"40" default:"5" says:"How many lines it is slashed along, evenly spread and parallel to the grain."`
	Drop  float64 `arg:"drop" kind:"length" min:"0" max:"120" default:"15mm" says:"How far the hem is dropped at the back, half-way between the underarm and the middle of the hem, where the arm bends."`
	bandArgs
	Hem string   `arg:"hem" kind:"name" default:"hem" says:"The hem edge of the sleeve."`
	Cap []string `arg:"cap" kind:"names" says:"The edges that it hinges at; left out, those that are set into an armhole, or else what lies above the sides."`
}

// bandArgs are the parameters of a band that a hem is gathered onto.
type bandArgs struct {
	Band       bool     `arg:"band" kind:"flag" default:"true" says:"Whether a band, or cuff, is made that the hem is gathered onto."`
	Measure    string   `arg:"measure" kind:"name" default:"upper_arm" says:"The body measurement that the band goes round, such as upper_arm or wrist."`
	BandLength *float64 `arg:"band_length" kind:"length" min:"40" max:"1500" says:"Instead of measure and ease: how long the band is between the ends of the hem."`
	Ease       float64  `arg:"ease" kind:"length" min:"-50" max:"300" default:"30mm" says:"What is added to the body measurement so that the band is comfortable."`
	Width      float64  `arg:"width" kind:"length" min:"6" max:"300" default:"30mm" says:"How wide the finished band is; it is cut double and folded."`
	Overlap    float64  `arg:"overlap" kind:"length" min:"0" max:"100" default:"0mm" says:"How far the band runs on past its opening for a button; 0 closes it to a ring."`
	BandName   string   `arg:"band_name" kind:"name" default:"band" says:"The name of the band."`
}

// of is the band of a piece's hem.
func (a *bandArgs) of(p *pattern.Piece, hem string) bandOf {
	return bandOf{measure: a.Measure, length: a.BandLength, ease: a.Ease, width: a.Width, overlap: a.Overlap, name: a.BandName, cloth: p.Cut.Cloth, piece: p.Name, hem: hem}
}

func defineGatheredHem() Definition {
	return Definition{
		Name:     "gathered_hem",
		Sentence: "Gathers the hem of a sleeve onto a band or cuff: slashed from the hem, hinged at the cap, opened, and dropped a little at the back.",
		Promise:  "The cap and the sides keep their lengths to 0.1 mm, the corners their angles; the hem gains the amount asked for and drops by exactly the drop; the band has its length to 0.1 mm, and its notches meet those of the hem.",
		Sketch: []Stroke{
			{Outline, geom.Path{geom.Cubic(geom.Pt(80, 66), geom.Pt(70, 68), geom.Pt(66, 95), geom.Pt(50, 95)), geom.Cubic(geom.Pt(50, 95), geom.Pt(34, 95), geom.Pt(30, 68), geom.Pt(20, 66))}},
			{CutAway, geom.Polyline(geom.Pt(20, 66), geom.Pt(22, 34), geom.Pt(78, 34), geom.Pt(80, 66))},
			{New, geom.Path{geom.Line(geom.Pt(20, 66), geom.Pt(6, 38)), geom.Cubic(geom.Pt(6, 38), geom.Pt(25, 16), geom.Pt(60, 28), geom.Pt(94, 38)), geom.Line(geom.Pt(94, 38), geom.Pt(80, 66))}},
			{New, geom.Polyline(geom.Pt(30, 4), geom.Pt(70, 4), geom.Pt(70, 14), geom.Pt(30, 14), geom.Pt(30, 4))},
		},
		fresh: func() args { return new(gatheredHemArgs) },
	}
}

func (a *gatheredHemArgs) apply(w *work) error {
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
	at := t.backOfHem(&was)
	o.swellOpen = &swell{from: spot{t.hem, at[0]}, peak: spot{t.hem, at[1]}, to: spot{t.hem, at[2]}, by: t.up.Mul(-a.Drop)}
	s, err := w.spread(p, o)
	if err != nil {
		return err
	}
	kept := t.kept(&was, t.hemRun())
	w.promise(inspect.Check{Rule: "gathered_hem_kept", Piece: p.Name, Place: "outline", Measured: kept, Tolerance: 0.1, Unit: inspect.MM,
		Text: fmt.Sprintf("All edges of %s but the hem keep their lengths to %.3f mm.", p.Name, kept)})
	gain := s.openFlat
	w.promise(inspect.Check{Rule: "gathered_hem_opens", Piece: p.Name, Place: a.Hem, Measured: gain, Want: pattern.Range{Min: a.By, Max: a.By}, Tolerance: 0.5 + 0.002*a.By, Unit: inspect.MM,
		Text: fmt.Sprintf("Before it is dropped, the hem of %s gains %.1f mm.", p.Name, gain)})
	turned := t.turned(&was)
	w.promise(inspect.Check{Rule: "gathered_hem_corners", Piece: p.Name, Place: "corners", Measured: turned, Tolerance: 0.5, Unit: inspect.Degrees,
		Text: fmt.Sprintf("The corners of %s keep their angles to %.2f degrees.", p.Name, turned)})
	deep := spot{t.hem, at[1]}
	low := [2]geom.Point{s.flatOpen(deep), s.openPlace(deep).at(p)}
	d := plan{d: Drawing{Title: fmt.Sprintf("Gather the hem of %s, size %s", p.Name, w.p.Size)}}
	d.slashed(&was, p, &s, &o, "the hem", "the cap")
	d.step("At the back, half-way from the underarm to the middle, drop the hem by %s; redraw cap and hem smooth.", say(a.Drop))
	x, y := d.point(low[0], "hem"), d.point(low[1], "hem, dropped")
	d.measure(x, y, nil, "drop")
	d.redrawnEdges(&was, p)
	drop := low[0].Sub(low[1]).Dot(t.up)
	w.promise(inspect.Check{Rule: "gathered_hem_drop", Piece: p.Name, Place: a.Hem, Measured: drop, Want: pattern.Range{Min: a.Drop, Max: a.Drop}, Tolerance: 0.1, Unit: inspect.MM,
		Text: fmt.Sprintf("At the back the hem of %s is dropped by %.2f mm.", p.Name, drop)})
	if !a.Band {
		long := p.Edges[t.hem].Path.Length()
		w.res.Steps = append(w.res.Steps, Step{Stage: Finish, Pieces: []string{p.Name},
			Text: fmt.Sprintf("Gather the hem of %s, %s along the seam line, onto what it is sewn to, or turn it to a casing.", p.Name, say(long)), Amounts: []Amount{{"hem", long}}})
		w.res.Drawing = d.d
		return nil
	}
	b := a.of(p, a.Hem)
	if err := w.band(&b); err != nil {
		return err
	}
	d.bandDrawn(w, &b)
	w.res.Drawing = d.d
	return nil
}

// backOfHem is the half of the hem on the back, by the lengths along it at which it begins, is in the middle and
// ends. The back is where the cap has its double notch; without one, where the hem begins.
func (t *tube) backOfHem(p *pattern.Piece) [3]float64 {
	th := newThread(p, t.cap, true)
	l := p.Edges[t.hem].Path.Length()
	for _, m := range p.Marks {
		e := p.EdgeNamed(m.Edge)
		if e < 0 || m.Kind != pattern.Notch || m.Count != 2 {
			continue
		}
		if u, ok := th.along(spot{e, m.S}); ok && u > th.length/2 {
			return [3]float64{l / 2, 3 * l / 4, l}
		}
	}
	return [3]float64{0, l / 4, l / 2}
}
