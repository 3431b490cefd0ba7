package change

import (
	"fmt"
	"math"

	"sizerun/internal/geom"
	"sizerun/internal/inspect"
	"sizerun/internal/pattern"
)

// Narrowing or widening a hem (TRADE 4.2): both sides come in by the same amount, the cap stays. A side
// keeps its length, so that it still matches whatever it is sewn to, and leaves its upper corner in the old
// direction, so that what runs on smoothly there over the seam still does.

type taperArgs struct {
	Pieces []string `arg:"piece" kind:"names" must:"yes" says:"The piece or pieces whose hem is narrowed or widened."`
	By     float64  `arg:"by" kind:"length" min:"-500" max:"500" must:"yes" says:"How far each side comes in at the hem; a negative length lets it out."`
	Hem    string   `arg:"hem" kind:"name" default:"hem" says:"The hem edge of the pieces."`
}

func defineTaper() Definition {
	return Definition{
		Name:     "taper",
		Sentence: "Narrows or widens a hem, each side by the same amount.",
		Promise:  "Each side comes in by exactly the amount and keeps its length, so that seams still match to 0.1 mm; the edges above stay as they are.",
		Sketch: []Stroke{
			{Outline, geom.Path{geom.Cubic(geom.Pt(95, 60), geom.Pt(78, 62), geom.Pt(74, 95), geom.Pt(50, 95)), geom.Cubic(geom.Pt(50, 95), geom.Pt(26, 95), geom.Pt(22, 62), geom.Pt(5, 60))}},
			{CutAway, geom.Polyline(geom.Pt(5, 60), geom.Pt(8, 8), geom.Pt(92, 8), geom.Pt(95, 60))},
			{New, geom.Polyline(geom.Pt(5, 60), geom.Pt(24, 10), geom.Pt(76, 10), geom.Pt(95, 60))},
		},
		fresh: func() args { return new(taperArgs) },
	}
}

func (a *taperArgs) check() pattern.Faults {
	if a.By == 0 {
		return pattern.Faults{{Rule: "out_of_range", Pointer: "/by", Detail: "taper: by is nothing", Valid: "-500 to 500 mm, not 0", Remedy: "give a length, negative to widen"}}
	}
	return nil
}

func (a *taperArgs) apply(w *work) error {
	for _, name := range a.Pieces {
		if err := a.one(w, name); err != nil {
			return err
		}
	}
	return nil
}

func (a *taperArgs) one(w *work, name string) error {
	t, err := w.opens(name, a.Hem, nil)
	if err != nil {
		return err
	}
	p := t.p
	was := p.Clone()
	old := was.Edges
	in := t.up.Right() // from the left side inwards
	moves := 0
	for _, s := range []struct {
		edge int
		in   geom.Vec
		left bool
	}{{t.left, in, true}, {t.right, in.Neg(), false}} {
		if old[s.edge].Fold {
			continue // the centre stays
		}
		moves++
		path := old[s.edge].Path
		if !s.left {
			path = path.Reverse()
		}
		q := drawnIn(path, s.in.Mul(a.By), t.up)
		if q == nil {
			return pattern.Fault{Rule: "out_of_range", Pointer: "/by", Piece: name, Edge: old[s.edge].Name,
				Detail: fmt.Sprintf("edge %s.%s is %.1f mm long and cannot lean over by %.1f mm", name, old[s.edge].Name, path.Length(), math.Abs(a.By)),
				Valid:  fmt.Sprintf("up to about %.0f mm", 0.7*path.Length()), Remedy: "take less, or lengthen the piece first"}
		}
		if !s.left {
			q = q.Reverse()
		}
		p.Edges[s.edge].Path = q
	}
	if moves == 0 {
		return pattern.Fault{Rule: "on_fold", Pointer: "/piece", Piece: name, Detail: fmt.Sprintf("both sides of %q lie on the fold", name), Remedy: "choose a piece with a free side"}
	}
	hem, width := old[t.hem].Path, func(p geom.Path) float64 { return p.End().Sub(p.Start()).Dot(in) }
	w0, w1 := width(hem), p.Edges[t.right].Path.Start().Sub(p.Edges[t.left].Path.End()).Dot(in)
	const narrowest = 20.0 // mm
	if w1 < narrowest {
		return pattern.Fault{Rule: "out_of_range", Pointer: "/by", Piece: name, Edge: a.Hem, Detail: fmt.Sprintf("the hem, %.1f mm wide, would be %.1f mm wide", w0, w1),
			Valid: fmt.Sprintf("up to %.1f mm", (w0-narrowest)/float64(moves)), Remedy: "take less"}
	}
	p.Edges[t.hem].Path = hemBetween(&was, p, &t, in, w1/w0)
	a.carry(&was, &t)
	w.made = append(w.made, name)
	a.tell(w, &was, &t, in, moves)
	return nil
}

// drawnIn redraws a side, walked down, whose lower end moves over by v: it keeps its length.
func drawnIn(p geom.Path, v, up geom.Vec) geom.Path {
	const (
		hardly = 0.25 // degrees that a corner may turn unseen
		most   = 0.7  // of its length that a side may lean over
	)
	l := p.Length()
	if v.Len() > most*l {
		return nil
	}
	draw := func(m float64) geom.Path {
		d := v.Add(up.Mul(m))
		if isStraight(p) && degrees(p.End().Add(d).Sub(p.Start()), p.StartTangent()) < hardly {
			return geom.Polyline(p.Start(), p.End().Add(d))
		}
		return leanOver(p, d)
	}
	m, ok := root(func(m float64) float64 { return draw(m).Length() - l }, 0, v.Dot(v)/(2*l)+1e-3, 1e-9)
	if !ok {
		return nil
	}
	return draw(m)
}

// leanOver moves the end of a path by d. It leaves its start in the old direction, bends within a hand's
// breadth and leans over evenly from there: what was straight is straight again.
func leanOver(p geom.Path, d geom.Vec) geom.Path {
	const hand = 100.0 // mm
	l := p.Length()
	h := math.Min(hand, l/3)
	k := 1 / (l - h/2)
	share := func(s float64) (float64, float64) {
		if s < h {
			return k * s * s / (2 * h), k * s / h
		}
		return k * (s - h/2), k
	}
	top, low := p.Split(h)
	var out geom.Path
	at := 0.0
	for i, s := range append(append(geom.Path{}, top...), low...) {
		n := s.Length()
		y0, k0 := share(at)
		y1, k1 := share(at + n)
		at += n
		p0, p3 := s.P0.Add(d.Mul(y0)), s.P3.Add(d.Mul(y1))
		if s.Straight && i >= len(top) {
			out = append(out, geom.Line(p0, p3))
			continue
		}
		h0, h1 := s.P1.Sub(s.P0), s.P2.Sub(s.P3)
		out = append(out, geom.Cubic(p0, p0.Add(h0).Add(d.Mul(k0*h0.Len())), p3.Add(h1).Add(d.Mul(-k1*h1.Len())), p3))
	}
	return out
}

// hemBetween redraws the hem between its moved ends: as much narrower as they are, meeting each side at the
// old angle.
func hemBetween(was, is *pattern.Piece, t *tube, in geom.Vec, k float64) geom.Path {
	hem := was.Edges[t.hem].Path
	o := hem.Start()
	// o + (q−o) + (k−1)((q−o)·in) in
	e := geom.Affine{A: 1 + (k-1)*in.X*in.X, B: (k - 1) * in.X * in.Y, C: (k - 1) * in.X * in.Y, D: 1 + (k-1)*in.Y*in.Y}
	z := e.Apply(o)
	e.E, e.F = o.X-z.X, o.Y-z.Y
	q := hem.Transform(e)
	l0, l1 := was.Edges[t.left].Path.EndTangent(), is.Edges[t.left].Path.EndTangent()
	r0, r1 := was.Edges[t.right].Path.StartTangent(), is.Edges[t.right].Path.StartTangent()
	want0 := hem.StartTangent().Rotate(l0.AngleTo(l1))
	want1 := hem.EndTangent().Rotate(r0.AngleTo(r1))
	a, b := is.Edges[t.left].Path.End(), is.Edges[t.right].Path.Start()
	out := reEnd(q, a.Sub(q.Start()), q.StartTangent().AngleTo(want0), b.Sub(q.End()), q.EndTangent().AngleTo(want1))
	return closeTo(out, a, b)
}

// carry moves what lies beside the sides with them, the less the further in.
func (a *taperArgs) carry(was *pattern.Piece, t *tube) {
	p := t.p
	l, lw := p.Edges[t.left].Path, was.Edges[t.left].Path
	r, rw := p.Edges[t.right].Path.Reverse(), was.Edges[t.right].Path.Reverse()
	deep := func(q, from geom.Point) float64 { return from.Sub(q).Dot(t.up) }
	at := func(is, was geom.Path, q geom.Point) (geom.Point, geom.Vec) {
		h := deep(was.End(), was.Start())
		s := 0.0
		if h > 0 {
			s = math.Max(0, math.Min(1, deep(q, was.Start())/h)) * was.Length()
		}
		x := was.PointAt(s)
		return x, is.PointAt(s).Sub(x)
	}
	in := t.up.Right()
	move := func(q geom.Point) geom.Point {
		x, dl := at(l, lw, q)
		y, dr := at(r, rw, q)
		k := 0.5
		if w := y.Sub(x).Dot(in); w > 1 {
			k = math.Max(0, math.Min(1, q.Sub(x).Dot(in)/w))
		}
		return q.Add(dl.Mul(1 - k)).Add(dr.Mul(k))
	}
	hemWas, hem := was.Edges[t.hem].Path.Length(), p.Edges[t.hem].Path.Length()
	for i := range p.Marks {
		m := &p.Marks[i]
		switch e := p.EdgeNamed(m.Edge); {
		case e < 0:
			m.At = move(m.At)
			continue
		case e == t.hem:
			m.S *= hem / hemWas
			m.At = p.Edges[e].Path.PointAt(m.S)
		default:
			m.S = math.Min(m.S, p.Edges[e].Path.Length())
			m.At = p.Edges[e].Path.PointAt(m.S)
		}
	}
	for i := range p.Lines {
		q := append(geom.Path{}, p.Lines[i].Path...)
		for k, s := range q {
			if s.Straight {
				q[k] = geom.Line(move(s.P0), move(s.P3))
			} else {
				q[k] = geom.Cubic(move(s.P0), move(s.P1), move(s.P2), move(s.P3))
			}
		}
		p.Lines[i].Path = q
	}
	fitGrain(p)
}

func (a *taperArgs) tell(w *work, was *pattern.Piece, t *tube, in geom.Vec, moves int) {
	p := t.p
	for _, s := range []struct {
		edge    int
		is, was geom.Point
		sign    float64
	}{{t.left, p.Edges[t.hem].Path.Start(), was.Edges[t.hem].Path.Start(), 1}, {t.right, p.Edges[t.hem].Path.End(), was.Edges[t.hem].Path.End(), -1}} {
		if was.Edges[s.edge].Fold {
			continue
		}
		by := s.sign * s.is.Sub(s.was).Dot(in)
		w.promise(inspect.Check{Rule: "taper_side", Piece: p.Name, Place: p.Edges[s.edge].Name, Measured: by, Want: pattern.Range{Min: a.By, Max: a.By}, Tolerance: 0.1, Unit: inspect.MM,
			Text: fmt.Sprintf("At the hem the side %s.%s comes in by %.2f mm.", p.Name, p.Edges[s.edge].Name, by)})
	}
	kept := t.kept(was, t.hemRun())
	w.promise(inspect.Check{Rule: "taper_kept", Piece: p.Name, Place: "outline", Measured: kept, Tolerance: 0.1, Unit: inspect.MM,
		Text: fmt.Sprintf("All edges of %s but the hem keep their lengths to %.3f mm.", p.Name, kept)})
	moved := 0.0
	for i := range p.Edges {
		if i != t.left && i != t.right && i != t.hem {
			moved = math.Max(moved, p.Edges[i].Path.Start().Dist(was.Edges[i].Path.Start()))
		}
	}
	w.promise(inspect.Check{Rule: "taper_cap", Piece: p.Name, Place: "cap", Measured: moved, Tolerance: 0.1, Unit: inspect.MM,
		Text: fmt.Sprintf("What lies above the sides of %s stays where it was.", p.Name)})
	long, before := p.Edges[t.hem].Path.Length(), was.Edges[t.hem].Path.Length()
	w.res.Steps = append(w.res.Steps, Step{Stage: Prepare, Pieces: []string{p.Name},
		Text:    fmt.Sprintf("Press up the hem of %s while it lies flat: %s along the seam line, %s before.", p.Name, say(long), say(before)),
		Amounts: []Amount{{"hem", long}, {"hem before", before}}})
	d := plan{d: w.res.Drawing}
	if d.d.Title == "" {
		word := "Narrow"
		if a.By < 0 {
			word = "Widen"
		}
		d.d.Title = fmt.Sprintf("%s the hem, each side by %s, size %s", word, say(math.Abs(a.By)), w.p.Size)
	}
	for i := range was.Edges {
		kind := Outline
		if i == t.left || i == t.right || i == t.hem {
			kind = CutAway
		}
		d.line(kind, p.Name, was.Edges[i].Path, was.Edges[i].Name)
	}
	d.step("On the hem of %s mark %s from each side.", p.Name, say(math.Abs(a.By)))
	for _, e := range [2][2]geom.Point{{was.Edges[t.hem].Path.Start(), p.Edges[t.hem].Path.Start()}, {was.Edges[t.hem].Path.End(), p.Edges[t.hem].Path.End()}} {
		if e[0].Dist(e[1]) > 1e-6 {
			x, y := d.point(e[0], "hem before"), d.point(e[1], "hem after")
			d.measure(x, y, nil, "amount")
		}
	}
	d.step("Redraw the sides of %s from their upper ends, which keep their direction, as long as they were.", p.Name)
	d.line(New, p.Name, p.Edges[t.left].Path, p.Edges[t.left].Name)
	d.line(New, p.Name, p.Edges[t.right].Path, p.Edges[t.right].Name)
	d.step("Redraw the hem between them, at its old angle to each side.")
	d.line(New, p.Name, p.Edges[t.hem].Path, a.Hem)
	w.res.Drawing = d.d
}
