package change

import (
	"fmt"
	"math"
	"strings"

	"sizerun/internal/geom"
	"sizerun/internal/inspect"
	"sizerun/internal/pattern"
)

// A dart into tucks (TRADE 5): its angle is left open, where it is or after it has been moved, and what the mouth is
// wider is pinned away in a few tucks, stitched from the seam edge for a little way and released below.

type dartToTucksArgs struct {
	Piece   string         `arg:"piece" kind:"name" must:"yes" says:"The piece with the dart."`
	Dart    string         `arg:"dart" kind:"name" says:"The dart; left out where the piece has only one."`
	To      *pattern.Place `arg:"to" kind:"place" says:"Where on the outline the tucks lie, their middle; left out, where the dart is."`
	Bust    *pattern.Place `arg:"bust" kind:"place" says:"The point that a moved dart is pivoted about, most often the bust point; left out, it is told by beyond."`
	Beyond  float64        `arg:"beyond" kind:"length" min:"0" max:"120" default:"0mm" says:"How far that point lies beyond the dart's own point on its middle line."`
	Number  int            `arg:"number" kind:"number" min:"1" max:"12" default:"3" says:"How many tucks share what the dart takes in, evenly."`
	Length  float64        `arg:"length" kind:"length" min:"5" max:"400" default:"60mm" says:"How far each tuck is stitched down from the seam; below it is released."`
	Apart   float64        `arg:"apart" kind:"length" min:"3" max:"150" default:"15mm" says:"How far one tuck lies from the next along the seam, tucks folded."`
	Fall    string         `arg:"fall" kind:"choice" choices:"parallel,fanned" default:"parallel" says:"Whether the tucks lie parallel, or fan out from where the dart pointed."`
	Towards string         `arg:"towards" kind:"choice" choices:"usual,first,second" default:"usual" says:"To which side the tucks are pressed: the usual one (upright tucks to the centre, level ones down), or that of the dart's leg that comes first or second along the outline."`
}

func defineDartToTucks() Definition {
	return Definition{
		Name:     "dart_to_tucks",
		Sentence: "Sews what a dart takes in as several tucks, stitched from the seam edge and released below, where it is or at another place.",
		Promise:  "The tucks take in what the dart did at the seam edge, evenly, to 0.1 mm; folded, the edge is as long as before and runs on smoothly, and every underlay ends with what covers it.",
		Sketch: []Stroke{
			{Outline, geom.Polyline(geom.Pt(66, 93), geom.Pt(72, 95), geom.Pt(90, 75), geom.Pt(90, 5), geom.Pt(12, 5), geom.Pt(15, 50), geom.Pt(38, 60), geom.Pt(40, 83), geom.Pt(44, 85))},
			{New, geom.Polyline(geom.Pt(44, 85), geom.Pt(46, 89), geom.Pt(48, 86), geom.Pt(52, 88), geom.Pt(54, 92), geom.Pt(56, 89), geom.Pt(60, 91), geom.Pt(62, 95), geom.Pt(64, 92), geom.Pt(66, 93))},
			{Construction, geom.Polyline(geom.Pt(44, 85), geom.Pt(49, 62))},
			{Construction, geom.Polyline(geom.Pt(52, 88), geom.Pt(55, 63))},
			{Construction, geom.Polyline(geom.Pt(60, 91), geom.Pt(61, 64))},
		},
		fresh: func() args { return new(dartToTucksArgs) },
	}
}

func (a *dartToTucksArgs) dart() *dartArgs { return &dartArgs{a.Piece, a.Dart, a.Bust, a.Beyond} }

func (a *dartToTucksArgs) check() pattern.Faults { return a.dart().check("dart_to_tucks") }

// tucked is a piece with its tucks.
type tucked struct {
	o    openedDart
	k    tucking
	edge [2]string // the edges on both sides of the mouth
}

func (a *dartToTucksArgs) apply(w *work) error {
	t, err := a.make(w)
	if err != nil {
		return err
	}
	a.promises(w, t)
	a.tell(w, t)
	return nil
}

func (a *dartToTucksArgs) make(w *work) (*tucked, error) {
	o, err := w.openDart(a.dart(), a.To)
	if err != nil {
		return nil, err
	}
	p := &o.piece
	mouth := o.now.mouth()
	trueMouth(p, &o.now, 40, 0.03)
	n := len(p.Edges)
	t := &tucked{o: o, edge: [2]string{p.Edges[(o.now.first+n-1)%n].Name, p.Edges[(o.now.second+1)%n].Name}}
	ptr := "/to"
	if a.To == nil {
		ptr = "/dart"
	}
	if e, ok := w.oneSeam(&o.was, p, t.edge); !ok {
		return nil, pattern.Fault{Rule: "between_seams", Pointer: ptr, Piece: p.Name, Edge: e, Detail: fmt.Sprintf("the tucks would lie where one seam ends and another begins, between %s and %s", t.edge[0], t.edge[1]),
			Valid: "a place within one seam, or on an edge that is not sewn", Remedy: "choose a place away from the corner"}
	}
	t.k = tucking{n: a.Number, apart: a.Apart, length: a.Length, fanned: a.Fall == "fanned", name: o.now.name + "_tuck", ptr: ptr, d: o.now, about: o.now.tip, mouth: mouth}
	t.k.before = press(p, o.now, a.Towards) == p.Darts[o.now.dart].First
	if err := t.k.place(p); err != nil {
		return nil, err
	}
	q, unders, err := t.k.assemble(p)
	if err != nil {
		return nil, err
	}
	t.k.drawOn(&q)
	out := q.Outline()
	for _, l := range q.Lines[len(q.Lines)-2*a.Number:] {
		if !out.Contains(l.Path.End()) {
			return nil, pattern.Fault{Rule: "tuck_long", Pointer: "/length", Piece: p.Name, Edge: t.edge[0], Detail: fmt.Sprintf("a tuck would end outside the piece, at (%.1f, %.1f)", l.Path.End().X, l.Path.End().Y), Valid: "tucks that end inside the piece", Remedy: "stitch them less far, or set them closer"}
		}
	}
	fitGrain(&q)
	w.dartSeam(q.Name, o.legs[0], o.legs[1])
	if err := w.replace(a.Piece, q); err != nil {
		return nil, blame(err, "/piece")
	}
	for _, u := range unders {
		w.p.Seams = append(w.p.Seams, pattern.Seam{Name: w.seamFree(a.Piece + "_" + u[0]), Sew: []pattern.EdgeRef{{Piece: a.Piece, Edge: u[0]}}, To: []pattern.EdgeRef{{Piece: a.Piece, Edge: u[1], Against: true}}})
	}
	return t, nil
}

// oneSeam: whatever is sewn to one of two neighbours of a mouth is sewn to the other, one after the other. The
// neighbours are told as they are called now; the seams speak of the piece as it was.
func (w *work) oneSeam(was, now *pattern.Piece, edges [2]string) (string, bool) {
	var of [2]string
	for k, e := range edges {
		src := now.Edges[now.EdgeNamed(e)].Src
		mid := (src.S0 + src.S1) / 2
		for i := range was.Edges {
			if s := was.Edges[i].Src; s.Piece == src.Piece && s.Edge == src.Edge && mid > math.Min(s.S0, s.S1) && mid < math.Max(s.S0, s.S1) {
				of[k] = was.Edges[i].Name
			}
		}
	}
	if of[0] == of[1] {
		return "", true
	}
	for i := range w.p.Seams {
		for _, refs := range [2][]pattern.EdgeRef{w.p.Seams[i].Sew, w.p.Seams[i].To} {
			at := [2]int{-1, -1}
			for j, r := range refs {
				for k := range of {
					if r.Piece == was.Name && r.Edge == of[k] {
						at[k] = j
					}
				}
			}
			if at[0] < 0 && at[1] < 0 {
				continue
			}
			if at[0] < 0 || at[1] < 0 || math.Abs(float64(at[0]-at[1])) != 1 {
				return edges[0], false
			}
		}
	}
	return "", true
}

// measured measures the tucks on the finished piece: how wide each is at the edge, how far its underlay lies
// off what covers it when it is folded along its stitching lines, and by how much the edge turns over it then.
func (k *tucking) measured(q *pattern.Piece) (widths []float64, off, turn float64) {
	for i := range k.n {
		name := fmt.Sprintf("%s_%d", k.name, i+1)
		u, r := q.EdgeNamed(name+"_under"), q.EdgeNamed(name+"_return")
		var lines [2]geom.Path
		for _, l := range q.Lines {
			for h, end := range [2]string{"_first", "_second"} {
				if l.Name == name+end {
					lines[h] = l.Path
				}
			}
		}
		if u < 1 || r != u+1 || r+1 >= len(q.Edges) || lines[0] == nil || lines[1] == nil {
			return nil, math.Inf(1), math.Inf(1)
		}
		first, second := q.Edges[u].Path, q.Edges[r].Path
		widths = append(widths, first.Start().Dist(second.End()))
		// Folding brings the second line onto the first.
		a, b := lines[0].StartTangent(), lines[1].StartTangent()
		lay := geom.RotateAbout(second.End(), b.AngleTo(a)).Then(geom.Translate(first.Start().Sub(second.End())))
		before, after := k.beside(q, u-1, -1), k.beside(q, r+1, 1).Transform(lay)
		turn = math.Max(turn, degrees(before.EndTangent(), after.StartTangent()))
		flip := geom.MirrorAbout(first.Start(), a)
		reach := 2*k.intake + 10
		cover := before.Sub(math.Max(0, before.Length()-reach), before.Length())
		x, y := first.Transform(flip), second.Transform(lay)
		if !k.before {
			cover = after.Sub(0, math.Min(reach, after.Length()))
			x, y = first, second.Transform(lay).Transform(flip)
		}
		for _, p := range [2]geom.Path{x, y} {
			off = math.Max(off, apartAt(p, cover, 8))
		}
	}
	return widths, off, turn
}

// beside is the panel before or after a tuck, from edge i on: over the shut mouth, if that lies on it.
func (k *tucking) beside(q *pattern.Piece, i, step int) geom.Path {
	n := len(q.Edges)
	path, next := q.Edges[i].Path, &q.Edges[(i+n+step)%n]
	switch {
	case path.Length() > k.apart || strings.HasPrefix(next.Name, k.name+"_"):
		return path
	case step < 0:
		return next.Path.Join(path)
	}
	return path.Join(next.Path)
}

func (a *dartToTucksArgs) promises(w *work, t *tucked) {
	q := w.p.PieceNamed(a.Piece)
	widths, off, turn := t.k.measured(q)
	sum, lo, hi := 0.0, math.Inf(1), math.Inf(-1)
	for _, x := range widths {
		sum, lo, hi = sum+x, math.Min(lo, x), math.Max(hi, x)
	}
	if len(widths) == 0 {
		sum, lo, hi = math.NaN(), math.NaN(), math.NaN()
	}
	mouth := t.k.mouth
	w.promise(inspect.Check{Rule: "tuck_intake", Piece: q.Name, Place: t.k.name, Measured: sum, Want: pattern.Range{Min: mouth, Max: mouth}, Tolerance: 0.1, Unit: inspect.MM,
		Text: fmt.Sprintf("At the edge the tucks of %s take in %.1f mm together, as the dart did.", q.Name, sum)})
	w.promise(inspect.Check{Rule: "tuck_even", Piece: q.Name, Place: t.k.name, Measured: hi - lo, Tolerance: 0.1, Unit: inspect.MM,
		Text: fmt.Sprintf("Every tuck of %s takes in the same at the edge.", q.Name)})
	w.promise(inspect.Check{Rule: "tuck_fold", Piece: q.Name, Place: t.k.name, Measured: off, Tolerance: 0.1, Unit: inspect.MM,
		Text: fmt.Sprintf("Folded, every tuck of %s ends with the edge that covers it, to %.3f mm.", q.Name, off)})
	w.promise(inspect.Check{Rule: "tuck_smooth", Piece: q.Name, Place: t.k.name, Measured: turn, Tolerance: 1, Unit: inspect.Degrees,
		Text: fmt.Sprintf("With the tucks of %s folded its edge runs on smoothly.", q.Name)})
	for i := range w.p.Seams {
		s := &w.p.Seams[i]
		if !w.runsOver(s, q, t.edge) {
			continue
		}
		x, err1 := inspect.Walk(&w.p, s.Sew)
		y, err2 := inspect.Walk(&w.p, s.To)
		if err1 == nil && err2 == nil {
			w.promise(inspect.Check{Rule: "tuck_seam", Piece: q.Name, Place: s.Name, Measured: x.Len - y.Len - s.Drawn, Want: s.Ease, Tolerance: 0.1, Unit: inspect.MM,
				Text: fmt.Sprintf("With the tucks folded, seam %s sews %.1f mm to %.1f mm, as before.", s.Name, x.Len, y.Len)})
		}
	}
	t.o.promise(w, q)
}

// runsOver: a seam goes over one of two edges of a piece.
func (w *work) runsOver(s *pattern.Seam, q *pattern.Piece, edges [2]string) bool {
	for _, refs := range [2][]pattern.EdgeRef{s.Sew, s.To} {
		for _, r := range refs {
			if r.Piece == q.Name && (r.Edge == edges[0] || r.Edge == edges[1]) {
				return true
			}
		}
	}
	return false
}

func (a *dartToTucksArgs) tell(w *work, t *tucked) {
	q := w.p.PieceNamed(a.Piece)
	k := &t.k
	dart := t.o.piece.Darts[k.d.dart]
	leg := dart.Second
	if k.before {
		leg = dart.First
	}
	how := fmt.Sprintf("%s wide at the edge", say(k.intake))
	if k.n > 1 {
		how += fmt.Sprintf(", %s apart", say(a.Apart))
	}
	released := "equally wide to its end"
	if k.fanned {
		released = "a little narrower towards its end"
	}
	w.res.Steps = append(w.res.Steps, Step{Stage: Prepare, Pieces: []string{q.Name},
		Text: fmt.Sprintf("Sew %s into %s, %s: fold right sides together, stitching line on stitching line, and stitch from the edge down for %s, %s; secure the ends and leave the cloth free below. Press the tucks %s and baste them along the edge.",
			several(k.n, "tuck", "tucks"), q.Name, how, say(a.Length), released, pressedWhere(&t.o.piece, k.d, leg)),
		Amounts: []Amount{{"tuck, width at the edge", k.intake}, {"taken in, in all", k.mouth}, {"stitched down", a.Length}, {"apart", a.Apart}}})
	l := t.o.drawing(w, "Dart into tucks", &t.o.piece)
	l.step("Mark the places of %s on the closed seam line, %s apart, their middle at the dart.", several(k.n, "tuck", "tucks"), say(a.Apart))
	l.step("Open %s at each of them, and draw the stitching lines %s down, %s.", say(k.intake), say(a.Length), a.Fall)
	for i, c := range k.tucks {
		x, y := l.point(c.a, fmt.Sprintf("tuck %d", i+1)), l.point(c.b, fmt.Sprintf("tuck %d", i+1))
		l.line(New, q.Name, geom.Polyline(c.a, c.a.Add(c.ta.Mul(k.length))), "stitching line")
		l.line(New, q.Name, geom.Polyline(c.b, c.b.Add(c.tb.Mul(k.length))), "stitching line")
		l.measure(x, y, nil, "taken in")
		if i == 0 {
			z := l.point(c.a.Add(c.ta.Mul(k.length)), "released")
			l.measure(x, z, nil, "stitched")
		}
	}
	l.step("Fold the tucks and trace the seam line through all layers: unfolded, that is the edge.")
	l.line(New, q.Name, q.Outline(), q.Name)
	w.res.Drawing = l.d
}
