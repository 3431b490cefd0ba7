package change

import (
	"fmt"
	"math"

	"sizerun/internal/geom"
	"sizerun/internal/inspect"
	"sizerun/internal/pattern"
)

// An in-seam pocket (TRADE 5): a stretch of a side seam is left open, and a bag is sewn to both sides of
// the opening. The bag's opening edge is the stretch of the seam itself.

type pocketInseamArgs struct {
	Edges   []pattern.EdgeRef `arg:"edges" kind:"edges" must:"yes" says:"The two edges of the seam that the pocket lies in, the one whose shape the bag follows first; one edge that is sewn to its mirror image will do."`
	Top     float64           `arg:"top" kind:"length" min:"10" max:"1500" default:"60mm" says:"How far below the upper end of the seam, along it, the opening begins."`
	Opening float64           `arg:"opening" kind:"length" min:"60" max:"400" default:"160mm" says:"How long the opening is; a hand needs about 150 mm."`
	Width   float64           `arg:"width" kind:"length" min:"60" max:"400" default:"140mm" says:"How far the bag reaches in from the seam."`
	Depth   float64           `arg:"depth" kind:"length" min:"20" max:"400" default:"110mm" says:"How far it reaches below the opening."`
	Cloth   string            `arg:"cloth" kind:"name" default:"main" says:"The cloth that it is cut from."`
	Name    string            `arg:"name" kind:"name" default:"pocket_bag" says:"The name of the bag."`
}

func definePocketInseam() Definition {
	return Definition{
		Name:     "pocket_inseam",
		Sentence: "Puts a pocket into a side seam: notches at both ends of the opening, and a bag that follows the seam.",
		Promise:  "The opening is equally long on both sides of the seam and on the bag, to 0.1 mm; its notches meet.",
		Sketch: []Stroke{
			{Outline, geom.Path{geom.Cubic(geom.Pt(30, 97), geom.Pt(20, 80), geom.Pt(15, 60), geom.Pt(15, 3))}},
			{New, geom.Path{geom.Cubic(geom.Pt(22, 75), geom.Pt(60, 75), geom.Pt(75, 60), geom.Pt(70, 30)), geom.Cubic(geom.Pt(70, 30), geom.Pt(65, 10), geom.Pt(20, 5), geom.Pt(16, 35))}},
			{Construction, geom.Polyline(geom.Pt(12, 77), geom.Pt(32, 73))},
			{Construction, geom.Polyline(geom.Pt(6, 36), geom.Pt(26, 35))},
		},
		fresh: func() args { return new(pocketInseamArgs) },
	}
}

func (a *pocketInseamArgs) check() pattern.Faults {
	if len(a.Edges) > 2 {
		return pattern.Faults{{Rule: "too_many", Pointer: "/edges", Detail: fmt.Sprintf("pocket_inseam: a seam has two edges, not %d", len(a.Edges)), Valid: "1 or 2 edges", Remedy: "name the two edges that are sewn together"}}
	}
	return nil
}

// slit is the opening on one edge.
type slit struct {
	p        *pattern.Piece
	edge     int
	upFirst  bool // the edge runs downwards
	top, low float64
	names    [2]string
}

func (a *pocketInseamArgs) apply(w *work) error {
	if w.p.PieceNamed(a.Name) != nil {
		return pattern.Fault{Rule: "name_taken", Pointer: "/name", Piece: a.Name, Detail: fmt.Sprintf("there is a piece %q already", a.Name), Valid: "not " + pattern.Choices(w.p.PieceNames()), Remedy: "choose another name"}
	}
	slits := make([]slit, len(a.Edges))
	for i, r := range a.Edges {
		ptr := "/edges"
		if len(a.Edges) > 1 {
			ptr += pattern.Pointer(fmt.Sprint(i))
		}
		p, err := w.piece(ptr, r.Piece)
		if err != nil {
			return err
		}
		k, err := w.edge(ptr, p, r.Edge)
		if err != nil {
			return err
		}
		if p.Edges[k].Fold || p.IsLeg(r.Edge) {
			return pattern.Fault{Rule: "no_seam", Pointer: ptr, Piece: p.Name, Edge: r.Edge, Detail: fmt.Sprintf("edge %s.%s is a fold or a dart's leg", p.Name, r.Edge), Valid: "an edge that is sewn", Remedy: "name a side seam"}
		}
		up, err := upOf(p)
		if err != nil {
			return blame(err, ptr)
		}
		e := p.Edges[k].Path
		l := e.Length()
		s := slit{p: p, edge: k, upFirst: e.Start().Sub(e.End()).Dot(up) > 0}
		if i > 0 {
			s.upFirst = w.sameEnd(a.Edges[0], slits[0].upFirst, r, s.upFirst)
		}
		const clear = 15.0
		if a.Top+a.Opening > l-clear {
			return pattern.Fault{Rule: "out_of_range", Pointer: "/opening", Piece: p.Name, Edge: r.Edge,
				Detail: fmt.Sprintf("an opening of %.1f mm that begins %.1f mm down runs past the end of %s.%s, which is %.1f mm long", a.Opening, a.Top, p.Name, r.Edge, l),
				Valid:  fmt.Sprintf("at most %.1f mm of opening", math.Max(0, l-clear-a.Top)), Remedy: "begin it higher, or make it shorter"}
		}
		s.top, s.low = a.Top, a.Top+a.Opening
		if !s.upFirst {
			s.top, s.low = l-s.top, l-s.low
		}
		slits[i] = s
	}
	if err := a.opposite(w, slits); err != nil {
		return err
	}
	bag, err := a.bag(&slits[0])
	if err != nil {
		return err
	}
	for i := range slits {
		s := &slits[i]
		for k, at := range [2]float64{s.top, s.low} {
			end := [2]string{"_top", "_bottom"}[k]
			s.names[k] = free(a.Name+end, knows(s.p))
			s.p.Marks = append(s.p.Marks, pattern.Mark{Kind: pattern.Notch, Name: s.names[k], Count: 1, Edge: s.p.Edges[s.edge].Name, S: at, At: s.p.Edges[s.edge].Path.PointAt(at), Match: a.Name + end})
		}
		w.made = append(w.made, s.p.Name)
	}
	seams := a.pairNotches(w, slits)
	w.p.Pieces = append(w.p.Pieces, bag)
	w.made = append(w.made, a.Name)
	for i, r := range a.Edges {
		slits[i].p = w.p.PieceNamed(r.Piece)
	}
	a.tell(w, slits, &w.p.Pieces[len(w.p.Pieces)-1], seams)
	return nil
}

// sameEnd tells whether edge b begins at its upper end, given that of a: the seam between them says it, however
// far one of the pieces has been turned; without a seam, what the grain says.
func (w *work) sameEnd(a pattern.EdgeRef, aUp bool, b pattern.EdgeRef, bUp bool) bool {
	find := func(refs []pattern.EdgeRef, x pattern.EdgeRef) (against, ok bool) {
		for _, r := range refs {
			if r.Piece == x.Piece && r.Edge == x.Edge {
				return r.Against, true
			}
		}
		return false, false
	}
	for i := range w.p.Seams {
		s := &w.p.Seams[i]
		for _, sides := range [2][2][]pattern.EdgeRef{{s.Sew, s.To}, {s.To, s.Sew}} {
			x, ok1 := find(sides[0], a)
			y, ok2 := find(sides[1], b)
			if ok1 && ok2 {
				return (aUp != x) != y // both walks begin at the end they share
			}
		}
	}
	return bUp
}

// opposite refuses two edges of which the openings would not meet when their seam is sewn: one of them may be a
// part only of what the other is sewn to.
func (a *pocketInseamArgs) opposite(w *work, s []slit) error {
	if len(s) < 2 {
		return nil
	}
	at := func(refs []pattern.EdgeRef, x *slit) (float64, bool) {
		c, err := inspect.Walk(&w.p, refs)
		if err != nil {
			return 0, false
		}
		for _, l := range c.Links {
			if l.Piece.Name != x.p.Name || l.Edge != x.edge {
				continue
			}
			if l.Against {
				return l.Start + l.Len - x.top, true
			}
			return l.Start + x.top, true
		}
		return 0, false
	}
	for i := range w.p.Seams {
		seam := &w.p.Seams[i]
		for _, sides := range [2][2][]pattern.EdgeRef{{seam.Sew, seam.To}, {seam.To, seam.Sew}} {
			x, ok1 := at(sides[0], &s[0])
			y, ok2 := at(sides[1], &s[1])
			if miss := math.Abs(x - y); ok1 && ok2 && miss > 1+math.Max(math.Abs(seam.Ease.Min), math.Abs(seam.Ease.Max)) {
				return pattern.Fault{Rule: "not_opposite", Pointer: "/edges/1", Piece: s[1].p.Name, Edge: s[1].p.Edges[s[1].edge].Name,
					Detail: fmt.Sprintf("the two edges do not begin at the same end of seam %s: the openings would miss each other by %.1f mm", seam.Name, miss), Valid: "two edges that lie opposite each other", Remedy: "name the edges that are sewn to each other at the opening"}
			}
		}
	}
	return nil
}

// pairNotches lets the seam between the two edges know that their notches meet, and names it.
func (a *pocketInseamArgs) pairNotches(w *work, s []slit) (seams []string) {
	if len(s) < 2 {
		return nil
	}
	has := func(refs []pattern.EdgeRef, x slit) bool {
		for _, r := range refs {
			if r.Piece == x.p.Name && r.Edge == x.p.Edges[x.edge].Name {
				return true
			}
		}
		return false
	}
	for i := range w.p.Seams {
		seam := &w.p.Seams[i]
		x, y := s[0], s[1]
		if has(seam.Sew, y) && has(seam.To, x) {
			x, y = y, x
		}
		if !has(seam.Sew, x) || !has(seam.To, y) {
			continue
		}
		seams = append(seams, seam.Name)
		for k := range 2 {
			seam.Notches = append(seam.Notches, [2]pattern.MarkRef{{Piece: x.p.Name, Mark: x.names[k]}, {Piece: y.p.Name, Mark: y.names[k]}})
		}
	}
	return seams
}

// bag is drawn on the piece: from the lower end of the opening down, round and up to its upper end.
func (a *pocketInseamArgs) bag(s *slit) (pattern.Piece, error) {
	e := s.p.Edges[s.edge].Path
	up, _ := upOf(s.p)
	open := e.Sub(math.Min(s.top, s.low), math.Max(s.top, s.low))
	t, l := e.PointAt(s.top), e.PointAt(s.low)
	in := up.Right()
	if open.End().Sub(open.Start()).Left().Dot(in) < 0 {
		in = in.Neg()
	}
	h := t.Sub(l).Dot(up)
	low := l.Add(in.Mul(0.5 * a.Width)).Add(up.Mul(-a.Depth))
	far := l.Add(in.Mul(a.Width)).Add(up.Mul(-0.15 * a.Depth))
	high := t.Add(in.Mul(0.45 * a.Width))
	down := s.p.Edges[s.edge].Path.TangentAt(s.low)
	if !s.upFirst {
		down = down.Neg()
	}
	const k = 0.55
	arm := func(p geom.Point, v geom.Vec, f float64) geom.Point { return p.Add(v.Mul(f)) }
	curve := geom.Path{
		geom.Cubic(l, arm(l, down, k*a.Depth), arm(low, in, -k*0.5*a.Width), low),
		geom.Cubic(low, arm(low, in, k*0.5*a.Width), arm(far, up, -k*0.85*a.Depth), far),
		geom.Cubic(far, arm(far, up, k*h), arm(high, in, k*0.5*a.Width), high),
		geom.Line(high, t),
	}
	q := pattern.Piece{Name: a.Name, Title: titled(a.Name), Of: a.Name, Cut: pattern.Cut{Count: 4, Pair: true, Cloth: a.Cloth}, Align: t}
	back := curve
	if !s.upFirst {
		back = curve.Reverse()
	}
	back = closeTo(back, open.End(), open.Start())
	q.Edges = []pattern.Edge{
		{Name: "opening", From: "open_1", To: "open_2", Path: open, Src: pattern.Source{Piece: a.Name, Edge: "opening", S1: open.Length()}},
		{Name: "bag", From: "open_2", To: "open_1", Path: back, Src: pattern.Source{Piece: a.Name, Edge: "bag", S1: back.Length()}},
	}
	const clear = 5.0
	inner := curve[1:3] // the parts at the seam itself lie near it
	if gap, at := clearanceOf(mouthsShut(s.p), inner); gap < clear {
		n, _, _, _ := s.p.Nearest(at)
		return q, pattern.Fault{Rule: "bag_leaves_piece", Pointer: "/width", Piece: s.p.Name, Edge: s.p.Edges[n].Name,
			Detail: fmt.Sprintf("the bag would come to %.1f mm inside edge %s of piece %q", gap, s.p.Edges[n].Name, s.p.Name), Valid: fmt.Sprintf("at least %g mm inside", clear), Remedy: "make it narrower or less deep, or begin the opening elsewhere"}
	}
	mid := far.Lerp(l, 0.5).Add(up.Mul(0.3 * h))
	q.Grain = [2]geom.Point{mid.Add(up.Mul(-0.3 * (h + a.Depth))), mid.Add(up.Mul(0.3 * (h + a.Depth)))}
	fitGrain(&q)
	return q, nil
}

// mouthsShut is the outline with every dart's mouth closed by a straight line: a bag hangs under a dart.
func mouthsShut(p *pattern.Piece) geom.Path {
	var out geom.Path
	for i := range p.Edges {
		if p.IsLeg(p.Edges[i].Name) {
			continue
		}
		e := p.Edges[i].Path
		if len(out) > 0 && out.End().Dist(e.Start()) > pattern.Near {
			out = append(out, geom.Line(out.End(), e.Start()))
		}
		out = append(out, e...)
	}
	if len(out) > 0 && out.End().Dist(out.Start()) > pattern.Near {
		out = append(out, geom.Line(out.End(), out.Start()))
	}
	return out
}

// clearanceOf is how far inside the outline the samples of a line lie.
func clearanceOf(out, line geom.Path) (float64, geom.Point) {
	gap, at := math.Inf(1), line.Start()
	for _, q := range line.Flatten(0.5) {
		_, d := out.Project(q)
		if !out.Contains(q) {
			d = -d
		}
		if d < gap {
			gap, at = d, q
		}
	}
	return gap, at
}

func (a *pocketInseamArgs) tell(w *work, slits []slit, q *pattern.Piece, seams []string) {
	open := q.Edges[0].Path.Length()
	for i := range slits {
		s := &slits[i]
		l := math.Abs(s.p.MarkNamed(s.names[0]).S - s.p.MarkNamed(s.names[1]).S)
		w.promise(inspect.Check{Rule: "inseam_opening", Piece: s.p.Name, Place: s.p.Edges[s.edge].Name, Measured: l - open, Tolerance: 0.1, Unit: inspect.MM,
			Text: fmt.Sprintf("The opening in %s.%s is %.1f mm long, that of the bag %.1f mm.", s.p.Name, s.p.Edges[s.edge].Name, l, open)})
	}
	w.promise(inspect.Check{Rule: "inseam_asked", Piece: q.Name, Place: "opening", Measured: open, Want: pattern.Range{Min: a.Opening, Max: a.Opening}, Tolerance: 0.1, Unit: inspect.MM,
		Text: fmt.Sprintf("The opening of %s is %.1f mm long.", q.Name, open)})
	var names []string
	for i := range slits {
		names = append(names, slits[i].p.Name)
	}
	w.res.Steps = append(w.res.Steps, Step{Stage: Join, Pieces: append([]string{a.Name}, names...), Seams: seams,
		Text:    fmt.Sprintf("Right sides together, sew one bag to each side of the opening (%s), between the notches, a little inside the seam line, and press it outwards. Then sew the side seam down to the upper notch, around both bags, and on from the lower notch; press the pocket towards the front.", say(open)),
		Amounts: []Amount{{"opening", open}, {"below the top of the seam", a.Top}, {"around the bag", q.Edges[1].Path.Length()}}})
	s := &slits[0]
	d := plan{d: Drawing{Title: fmt.Sprintf("In-seam pocket on %s, size %s", s.p.Name, w.p.Size)}}
	d.line(Outline, s.p.Name, s.p.Outline(), s.p.Name)
	e := s.p.Edges[s.edge].Path
	d.step("Along the seam line go %s down from its upper end, and on by %s: the opening.", say(a.Top), say(a.Opening))
	end := e.Start()
	if !s.upFirst {
		end = e.End()
	}
	x := d.point(end, "upper end")
	t, l := d.point(e.PointAt(s.top), "opening begins"), d.point(e.PointAt(s.low), "opening ends")
	down := e.Sub(math.Min(s.top, l0(s.upFirst, e)), math.Max(s.top, l0(s.upFirst, e)))
	d.measure(x, t, down, "down")
	d.measure(t, l, q.Edges[0].Path, "opening")
	d.step("Draw the bag: %s in from the seam, %s below the opening, round at the bottom.", say(a.Width), say(a.Depth))
	d.line(New, q.Name, q.Edges[1].Path, a.Name)
	d.step("Mark both ends of the opening with notches on every edge of the seam and trace the bag apart.")
	w.res.Drawing = d.d
}

// l0 is the arc length of an edge's upper end.
func l0(upFirst bool, e geom.Path) float64 {
	if upFirst {
		return 0
	}
	return e.Length()
}
