package change

import (
	"fmt"

	"sizerun/internal/geom"
	"sizerun/internal/inspect"
	"sizerun/internal/pattern"
)

// A binding (TRADE 5): a strip cut on the bias that is folded around a raw edge. A single one is four
// times as wide as it shows, a double one, folded lengthwise first, six times (common practice).

type bindingArgs struct {
	Edges   []pattern.EdgeRef `arg:"edges" kind:"edges" must:"yes" says:"The edges that are bound, in the order in which they meet. They get no allowance: the binding goes around them."`
	Width   float64           `arg:"width" kind:"length" min:"3" max:"40" default:"8mm" says:"How wide the finished binding shows."`
	Double  bool              `arg:"double" kind:"flag" default:"false" says:"Whether the strip is folded in half before it is sewn on; it is then cut six times as wide as it shows, else four times."`
	Stretch float64           `arg:"stretch" kind:"share" min:"0" max:"0.1" default:"0" says:"By which share of the edge the strip is cut shorter and stretched onto it, so that a hollow edge lies close; 0.03 is usual on a neckline."`
	Grain   string            `arg:"grain" kind:"choice" choices:"bias,across,along" default:"bias" says:"How the strip lies on the cloth: on the bias, across the grain or along it."`
	Cut     string            `arg:"cut" kind:"choice" choices:"auto,each,whole,fold" default:"auto" says:"Whether one strip is cut for each side, one whole, or half a one on the fold; auto: whole where the edges end at a fold."`
	Join    float64           `arg:"join" kind:"length" min:"3" max:"30" default:"1/4in" says:"The allowance at the ends of the strip."`
	Cloths  float64           `arg:"cloth_width" kind:"length" min:"300" max:"5000" default:"1400mm" says:"How wide the cloth is that can be used: a longer strip is cut as several equal lengths and joined. One along the grain is not bound by it."`
	Lengths int               `arg:"lengths" kind:"number" min:"0" max:"20" default:"0" says:"In how many lengths it is cut; 0: as few as the cloth allows. That may be more in larger sizes."`
	Cloth   string            `arg:"cloth" kind:"name" default:"main" says:"The cloth that it is cut from."`
	Name    string            `arg:"name" kind:"name" default:"binding" says:"The name of the strip."`
}

func defineBinding() Definition {
	return Definition{
		Name:     "binding",
		Sentence: "Binds edges with a bias strip, single or double, as long as they are.",
		Promise:  "The strip is as long as the edges, less the stretch asked for, to 0.1 mm; the bound edges keep their line and carry no allowance.",
		Sketch: []Stroke{
			{Outline, geom.Path{geom.Cubic(geom.Pt(10, 90), geom.Pt(12, 45), geom.Pt(45, 40), geom.Pt(90, 40))}},
			{New, geom.Polyline(geom.Pt(5, 8), geom.Pt(95, 8), geom.Pt(95, 26), geom.Pt(5, 26), geom.Pt(5, 8))},
			{Construction, geom.Polyline(geom.Pt(45, 12), geom.Pt(55, 22))},
		},
		fresh: func() args { return new(bindingArgs) },
	}
}

// bindings is how many bindings the garment has: a run on a mirrored pair is bound on both sides.
func bindings(m *madeStrip) float64 { return float64(m.piece.Cut.Count) / float64(m.n) }

func (a *bindingArgs) apply(w *work) error {
	run, err := w.runOf("/edges", a.Edges)
	if err != nil {
		return err
	}
	times := 4.0
	if a.Double {
		times = 6
	}
	none := &pattern.Allowance{}
	s := strip{name: a.Name, cloth: a.Cloth, run: run, long: run.len * (1 - a.Stretch), high: times * a.Width, as: a.Cut,
		grain: grainOver(a.Grain), longest: longestOf(a.Grain, a.Cloths, times*a.Width), lengths: a.Lengths, foldLine: true, far: "turned", sewOwn: none, farOwn: none, endOwn: &pattern.Allowance{Width: a.Join}}
	m, err := w.addStrip(s)
	if err != nil {
		return err
	}
	for _, r := range run.refs {
		q := w.p.PieceNamed(r.Piece)
		q.Edges[q.EdgeNamed(r.Edge)].Own = none
	}
	w.stripPromises(&s, &m, run.said())
	h := m.piece.Outline().Bounds().H()
	w.promise(inspect.Check{Rule: "binding_width", Piece: a.Name, Place: "width", Measured: h, Want: pattern.Range{Min: times * a.Width, Max: times * a.Width}, Tolerance: 0.1, Unit: inspect.MM,
		Text: fmt.Sprintf("The strip is %.1f mm wide, %.0f times what shows.", h, times)})
	how := fmt.Sprintf("sew its raw edge along the edge at %s, right sides together, fold it around to the inside, turn its other edge under and sew it down", say(a.Width))
	if a.Double {
		how = fmt.Sprintf("fold it in half lengthwise, sew its raw edges along the edge at %s, fold it around to the inside and sew its fold down", say(a.Width))
	}
	pull := ""
	if a.Stretch > 0 {
		pull = fmt.Sprintf(", stretching it by %s", say(run.len-s.long))
	}
	on := map[string]string{"bias": "on the bias", "across": "across the grain", "along": "along the grain"}[a.Grain]
	amounts := []Amount{{"strip", m.total}, {"cut width", s.high}, {"finished width", a.Width}, {"bound edge, one half or side", run.len}, {"stretch", run.len - s.long}}
	cut, sum := fmt.Sprintf("Cut %s %s, %s wide and %s long. ", a.Name, on, say(s.high), say(m.total)), fmt.Sprintf("Draw a strip %s long and %s wide, %s.", say(m.total), say(s.high), on)
	if m.lengths {
		each := m.total / float64(m.n)
		cut = fmt.Sprintf("Cut %s %s in %d lengths, each %s wide and %s long. ", a.Name, on, m.n, say(s.high), say(each)) + m.tellJoin(a.Name, m.joined)
		sum = fmt.Sprintf("The strip is %s long in all: draw one of its %d lengths, %s long and %s wide, %s.", say(m.total), m.n, say(each), say(s.high), on)
		amounts = append(amounts, Amount{"each length", each})
	}
	w.res.Steps = append(w.res.Steps, Step{Stage: Finish, Pieces: append([]string{a.Name}, run.pieces()...),
		Text:    fmt.Sprintf("%sBind %s: %s%s. Trim nothing: the bound edge has no allowance.", cut, run.said(), how, pull),
		Amounts: amounts})
	long := m.total
	if m.as == cutFold && !m.lengths {
		long *= 2
	}
	w.res.Notions = append(w.res.Notions, fmt.Sprintf("%s: %s of ready-made bias binding, %s finished width, may take the place of the strip", titled(a.Name), say(long*bindings(&m)), say(a.Width)))
	w.stripDrawing(&s, &m, sum)
	return nil
}
