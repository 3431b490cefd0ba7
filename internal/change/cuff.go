package change

import (
	"fmt"

	"sizerun/internal/geom"
	"sizerun/internal/inspect"
	"sizerun/internal/pattern"
)

// A cuff or band (TRADE 4.2): a strip for the hem of a sleeve or leg, as long as a body measure plus ease
// and overlap, or as asked, or as the edge itself. Where the edge is longer it is gathered onto the cuff.

type cuffArgs struct {
	Edges   []pattern.EdgeRef `arg:"edges" kind:"edges" must:"yes" says:"The edges that the cuff is sewn to, in the order in which they meet."`
	Length  *float64          `arg:"length" kind:"length" min:"40" max:"1500" says:"How long the cuff is between the ends of the edges; left out, from measure, or as long as the edges."`
	Measure string            `arg:"measure" kind:"name" says:"A body measurement, such as upper_arm or wrist: the cuff is as long as it, plus ease."`
	Ease    float64           `arg:"ease" kind:"length" min:"-50" max:"300" default:"30mm" says:"What is added to the body measurement so that the cuff is comfortable."`
	Width   float64           `arg:"width" kind:"length" min:"10" max:"300" default:"50mm" says:"How wide the finished cuff is."`
	Overlap float64           `arg:"overlap" kind:"length" min:"0" max:"100" default:"0mm" says:"How far the cuff runs on past its opening for a button; 0 closes it to a ring."`
	Faced   bool              `arg:"faced" kind:"flag" default:"false" says:"Whether the cuff is cut as two layers; else it is folded lengthwise."`
	Cut     string            `arg:"cut" kind:"choice" choices:"auto,each,whole,fold" default:"auto" says:"Whether one cuff is cut for each side, one whole, or half a one on the fold; auto: whole where the edges end at a fold."`
	Cloth   string            `arg:"cloth" kind:"name" default:"main" says:"The cloth that it is cut from."`
	Notches int               `arg:"notches" kind:"number" min:"0" max:"9" default:"1" says:"How many notches each edge gets that has none."`
	Name    string            `arg:"name" kind:"name" default:"cuff" says:"The name of the cuff."`
}

func defineCuff() Definition {
	return Definition{
		Name:     "cuff",
		Sentence: "Makes a cuff or band for a hem edge, as long as the edge, or as a body measurement with ease; a longer edge is gathered onto it.",
		Promise:  "The cuff has the length asked for to 0.1 mm; its notches meet those of the edge when that is gathered evenly.",
		Sketch: []Stroke{
			{Outline, geom.Polyline(geom.Pt(5, 95), geom.Pt(12, 45), geom.Pt(88, 45), geom.Pt(95, 95))},
			{New, geom.Polyline(geom.Pt(25, 8), geom.Pt(75, 8), geom.Pt(75, 32), geom.Pt(25, 32), geom.Pt(25, 8))},
			{Construction, geom.Polyline(geom.Pt(25, 20), geom.Pt(75, 20))},
		},
		fresh: func() args { return new(cuffArgs) },
	}
}

func (a *cuffArgs) check() pattern.Faults {
	if a.Length != nil && a.Measure != "" {
		return pattern.Faults{{Rule: "given_twice", Pointer: "/measure", Detail: "cuff: its length is given, and a measurement as well", Remedy: "give one of them"}}
	}
	return nil
}

// bodyMeasure looks up a measurement of this size's body.
func (w *work) bodyMeasure(ptr, name string) (float64, error) {
	if v, ok := w.p.Body[name]; ok && v > 0 {
		return v, nil
	}
	names := make([]string, 0, len(w.p.Body))
	for k := range w.p.Body {
		names = append(names, k)
	}
	return 0, pattern.Fault{Rule: "unknown_measure", Pointer: ptr, Piece: "size chart", Detail: fmt.Sprintf("the size chart has no measurement %q", name),
		Valid: pattern.Choices(names), Remedy: pattern.Suggest(name, names)}
}

func (a *cuffArgs) apply(w *work) error {
	run, err := w.runOf("/edges", a.Edges)
	if err != nil {
		return err
	}
	s := strip{name: a.Name, cloth: a.Cloth, run: run, long: run.len, high: 2 * a.Width, as: a.Cut, over: a.Overlap, hangs: true, gathered: true,
		grain: geom.Vec{X: 1}, interfaced: true, foldLine: !a.Faced, far: "inner", notches: a.Notches}
	if a.Faced {
		s.high, s.count, s.far = a.Width, 2, "low"
	}
	half := 1.0
	if a.Cut == cutWhole || a.Cut == cutFold || a.Cut == cutAuto && !run.ring && (run.fold[0] || run.fold[1]) {
		half = 2
	}
	ptr := "/edges"
	switch {
	case a.Length != nil:
		s.long, ptr = *a.Length/half, "/length"
	case a.Measure != "":
		girth, err := w.bodyMeasure("/measure", a.Measure)
		if err != nil {
			return err
		}
		s.long, ptr, s.body = (girth+a.Ease)/half, "/measure", a.Measure
	}
	if k := run.len / s.long; !(s.long >= 20 && k >= 0.97 && k <= 5) {
		return pattern.Fault{Rule: "out_of_range", Pointer: ptr, Piece: run.refs[0].Piece, Edge: run.refs[0].Edge,
			Detail: fmt.Sprintf("%s is %.1f mm long and cannot be sewn to %.1f mm of cuff", run.said(), half*run.len, half*s.long),
			Valid:  fmt.Sprintf("a cuff of %.1f to %.1f mm", half*run.len/5, half*run.len/0.97), Remedy: "change the length or the ease of the cuff, or widen the hem first"}
	}
	m, err := w.addStrip(s)
	if err != nil {
		return err
	}
	w.stripPromises(&s, &m, run.said())
	if a.Measure != "" {
		l := 0.0
		for _, e := range m.sewn {
			l += m.piece.Edges[m.piece.EdgeNamed(e)].Path.Length() * half / float64(len(m.sewn))
		}
		ease := l - w.p.Body[a.Measure]
		w.promise(inspect.Check{Rule: "cuff_girth", Piece: a.Name, Place: m.sewn[0], Measured: ease, Want: pattern.Range{Min: a.Ease, Max: a.Ease}, Tolerance: 0.1, Unit: inspect.MM,
			Text: fmt.Sprintf("%s goes round %s with %.1f mm of ease.", a.Name, a.Measure, ease)})
	}
	gather := fmt.Sprintf("sew it to %s (%s)", run.said(), say(run.len))
	if run.len-s.long > 1 {
		gather = fmt.Sprintf("gather %s from %s to %s and sew it to the cuff", run.said(), say(run.len), say(s.long))
	}
	closed := "Close its ends to a ring, right sides together"
	if a.Overlap > 0 {
		closed = fmt.Sprintf("Fold it right sides together and close its ends; let %s stand out past the opening for the button", say(a.Overlap))
		w.res.Notions = append(w.res.Notions, a.Name+": a button each")
	}
	w.res.Notions = append(w.res.Notions, fmt.Sprintf("interfacing for %s, %s wide", a.Name, say(s.high)))
	w.res.Steps = append(w.res.Steps, Step{Stage: Join, Pieces: append([]string{a.Name}, run.pieces()...),
		Text: fmt.Sprintf("Interface %s. %s. Right sides together, %s, matching notches and seams; fold the cuff to the inside at its finished width of %s and sew its inner edge down over the seam.",
			a.Name, closed, gather, say(a.Width)),
		Amounts: []Amount{{"edge", run.len}, {"cuff", s.long}, {"overlap", a.Overlap}, {"finished width", a.Width}}})
	w.stripDrawing(&s, &m, fmt.Sprintf("Draw a rectangle %s long%s and %s wide.", say(m.total+a.Overlap), lapped(a.Overlap), say(s.high)))
	return nil
}
