package change

import (
	"fmt"

	"sizerun/internal/geom"
	"sizerun/internal/pattern"
)

// A waistband (TRADE 5): a straight strip as long as the waist edges it is sewn to, plus an overlap for
// the fastening; folded lengthwise, or cut twice and faced.

type waistbandArgs struct {
	Edges   []pattern.EdgeRef `arg:"edges" kind:"edges" must:"yes" says:"The waist edges that the band is sewn to, in the order in which they meet, for one half of the body."`
	Width   float64           `arg:"width" kind:"length" min:"10" max:"200" default:"30mm" says:"How wide the finished band is."`
	Overlap float64           `arg:"overlap" kind:"length" min:"0" max:"150" default:"30mm" says:"How far the band runs on past its opening for the fastening; 0 where its ends are sewn together."`
	Ease    float64           `arg:"ease" kind:"length" min:"0" max:"60" default:"0mm" says:"By how much, for one half, the waist edge is longer than the band and eased onto it."`
	Faced   bool              `arg:"faced" kind:"flag" default:"false" says:"Whether the band is cut as two layers that are sewn together; else it is folded lengthwise."`
	Cut     string            `arg:"cut" kind:"choice" choices:"auto,each,whole,fold" default:"auto" says:"Whether one band is cut for each side, one whole, or half a one on the fold; auto: whole where the edges end at a fold."`
	Cloth   string            `arg:"cloth" kind:"name" default:"main" says:"The cloth that it is cut from."`
	Notches int               `arg:"notches" kind:"number" min:"0" max:"9" default:"1" says:"How many notches each waist edge gets that has none."`
	Name    string            `arg:"name" kind:"name" default:"waistband" says:"The name of the band."`
}

func defineWaistband() Definition {
	return Definition{
		Name:     "waistband",
		Sentence: "Makes a straight waistband as long as the waist edges it is sewn to, with an overlap for the fastening.",
		Promise:  "The band is as long as the edges, less the ease asked for, to 0.1 mm; its notches meet theirs.",
		Sketch: []Stroke{
			{Outline, geom.Path{geom.Cubic(geom.Pt(95, 50), geom.Pt(70, 42), geom.Pt(35, 42), geom.Pt(10, 50))}},
			{Outline, geom.Polyline(geom.Pt(10, 50), geom.Pt(5, 5), geom.Pt(97, 5), geom.Pt(95, 50))},
			{New, geom.Polyline(geom.Pt(8, 65), geom.Pt(95, 65), geom.Pt(95, 90), geom.Pt(8, 90), geom.Pt(8, 65))},
			{Construction, geom.Polyline(geom.Pt(8, 77), geom.Pt(95, 77))},
		},
		fresh: func() args { return new(waistbandArgs) },
	}
}

func (a *waistbandArgs) apply(w *work) error {
	run, err := w.runOf("/edges", a.Edges)
	if err != nil {
		return err
	}
	if a.Ease > run.len/4 {
		return pattern.Fault{Rule: "out_of_range", Pointer: "/ease", Piece: run.refs[0].Piece, Edge: run.refs[0].Edge, Detail: fmt.Sprintf("an ease of %.1f mm is too much for %.1f mm of waist", a.Ease, run.len),
			Valid: fmt.Sprintf("0 to %.1f mm", run.len/4), Remedy: "ease less, or gather the waist"}
	}
	s := strip{name: a.Name, cloth: a.Cloth, run: run, long: run.len - a.Ease, high: 2 * a.Width, as: a.Cut, over: a.Overlap,
		grain: geom.Vec{X: 1}, interfaced: true, foldLine: !a.Faced, far: "inner", notches: a.Notches}
	if a.Faced {
		s.high, s.count, s.far = a.Width, 2, "top"
	}
	m, err := w.addStrip(s)
	if err != nil {
		return err
	}
	w.stripPromises(&s, &m, run.said())
	l := m.piece.Edges[m.piece.EdgeNamed(m.sewn[0])].Path.Length()
	how := fmt.Sprintf("fold it lengthwise, turn its inner edge under and sew it down by hand or from the right side in the seam; %s is its finished width", say(a.Width))
	if a.Faced {
		how = fmt.Sprintf("sew the second layer to its upper edge, turn it in and sew it down; %s is its finished width", say(a.Width))
	}
	lap := ""
	if a.Overlap > 0 {
		lap = fmt.Sprintf(" Let %s stand out past the opening for the fastening.", say(a.Overlap))
		w.res.Notions = append(w.res.Notions, "waistband: a button or a hook and bar")
	}
	easing := ""
	if a.Ease > 0 {
		easing = fmt.Sprintf(" and easing in %s on each half", say(a.Ease))
	}
	w.res.Notions = append(w.res.Notions, fmt.Sprintf("interfacing for the waistband, %s wide", say(s.high)))
	w.res.Steps = append(w.res.Steps, Step{Stage: Finish, Pieces: append([]string{a.Name}, run.pieces()...),
		Text: fmt.Sprintf("Interface %s. Right sides together, sew it to %s (%s of band for %s of waist, on each half), matching notches and seams%s.%s Close the ends, %s.",
			a.Name, run.said(), say(l), say(run.len), easing, lap, how),
		Amounts: []Amount{{"band, each half", l}, {"waist, each half", run.len}, {"ease", a.Ease}, {"overlap", a.Overlap}, {"finished width", a.Width}}})
	w.stripDrawing(&s, &m, fmt.Sprintf("Draw a rectangle %s long%s and %s wide.", say(m.total+a.Overlap), lapped(a.Overlap), say(s.high)))
	return nil
}
