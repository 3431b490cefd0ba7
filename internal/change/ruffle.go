package change

import (
	"fmt"

	"sizerun/internal/geom"
	"sizerun/internal/inspect"
	"sizerun/internal/pattern"
)

// A ruffle (TRADE 5): a strip longer than the edge it is sewn to by the fullness, gathered onto it.

type ruffleArgs struct {
	Edges    []pattern.EdgeRef `arg:"edges" kind:"edges" must:"yes" says:"The edges that the ruffle is sewn to, in the order in which they meet, for one half of the body."`
	Fullness float64           `arg:"fullness" kind:"share" min:"1.05" max:"5" default:"2" says:"How many times as long as the edges the ruffle is: 1.5 is light, 2 usual, 3 full."`
	Width    float64           `arg:"width" kind:"length" min:"10" max:"1500" default:"80mm" says:"How deep the finished ruffle is."`
	Hem      float64           `arg:"hem" kind:"length" min:"0" max:"80" default:"12.7mm" says:"The allowance of its hem, turned twice."`
	Grain    string            `arg:"grain" kind:"choice" choices:"across,along,bias" default:"across" says:"Which way the grain runs over its depth: across the strip hangs best, along saves joins, bias is softest."`
	Cut      string            `arg:"cut" kind:"choice" choices:"auto,each,whole,fold" default:"fold" says:"Whether one ruffle is cut for each side, one whole, or half a one on the fold; auto: whole where the edges end at a fold."`
	Cloth    string            `arg:"cloth" kind:"name" default:"main" says:"The cloth that it is cut from."`
	Notches  int               `arg:"notches" kind:"number" min:"0" max:"9" default:"1" says:"How many notches each edge gets that has none; they keep the gathers even."`
	Name     string            `arg:"name" kind:"name" default:"ruffle" says:"The name of the ruffle."`
}

func defineRuffle() Definition {
	return Definition{
		Name:     "ruffle",
		Sentence: "Makes a ruffle: a strip as long as the edges times the fullness, gathered onto them.",
		Promise:  "The ruffle is the edges times the fullness long to 0.1 mm; its notches meet theirs when it is gathered evenly.",
		Sketch: []Stroke{
			{Outline, geom.Polyline(geom.Pt(30, 95), geom.Pt(25, 50), geom.Pt(75, 50), geom.Pt(70, 95))},
			{New, geom.Polyline(geom.Pt(5, 10), geom.Pt(95, 10), geom.Pt(95, 34), geom.Pt(5, 34), geom.Pt(5, 10))},
			{Construction, geom.Polyline(geom.Pt(25, 50), geom.Pt(5, 34))},
			{Construction, geom.Polyline(geom.Pt(75, 50), geom.Pt(95, 34))},
		},
		fresh: func() args { return new(ruffleArgs) },
	}
}

func (a *ruffleArgs) apply(w *work) error {
	run, err := w.runOf("/edges", a.Edges)
	if err != nil {
		return err
	}
	as := a.Cut
	if as == cutFold && (run.ring || !run.fold[0] && !run.fold[1]) {
		as = cutAuto // no fold to mirror it about
	}
	g := map[string]geom.Vec{"bias": {X: 1, Y: 1}, "across": {Y: 1}, "along": {X: 1}}[a.Grain]
	s := strip{name: a.Name, cloth: a.Cloth, run: run, long: run.len * a.Fullness, high: a.Width, as: as, hangs: true, gathered: true,
		grain: g, far: "hem", farOwn: &pattern.Allowance{Width: a.Hem, Turned: 2}, notches: a.Notches}
	if a.Hem == 0 {
		s.farOwn.Turned = 0
	}
	m, err := w.addStrip(s)
	if err != nil {
		return blame(err, "/fullness")
	}
	w.stripPromises(&s, &m, run.said())
	sewn := 0.0
	for _, e := range m.sewn {
		sewn += m.piece.Edges[m.piece.EdgeNamed(e)].Path.Length() / float64(len(m.sewn))
	}
	w.promise(inspect.Check{Rule: "ruffle_fullness", Piece: a.Name, Place: m.sewn[0], Measured: sewn / run.len, Want: pattern.Range{Min: a.Fullness, Max: a.Fullness}, Tolerance: 1e-4, Unit: inspect.Count,
		Text: fmt.Sprintf("%s has %.2f times the length of %s.", a.Name, sewn/run.len, run.said())})
	hem := ""
	if a.Hem > 0 {
		hem = fmt.Sprintf("Hem %s: turn %s twice and stitch. ", a.Name, say(a.Hem/2))
	}
	w.res.Steps = append(w.res.Steps, Step{Stage: Finish, Pieces: append([]string{a.Name}, run.pieces()...),
		Text: fmt.Sprintf("%sSew two rows of gathering stitches along its upper edge, draw it up from %s to %s, spread the gathers evenly between the notches, and sew it to %s, right sides together.",
			hem, say(s.long), say(run.len), run.said()),
		Amounts: []Amount{{"ruffle, one half or side", s.long}, {"edge, one half or side", run.len}, {"finished depth", a.Width}, {"hem", a.Hem}}})
	w.stripDrawing(&s, &m, fmt.Sprintf("Draw a rectangle %s long, which is %.3g times the edge, and %s deep.", say(m.total), a.Fullness, say(a.Width)))
	return nil
}
