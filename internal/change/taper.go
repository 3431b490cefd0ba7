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
		if was.IsLeg(old[s.edge].Name) {
			return pattern.Fault{Rule: "dart_leg", Pointer: "/piece", Piece: name, Edge: old[s.edge].Name, Detail: fmt.Sprintf("edge %s.%s, beside the hem, is the leg of a dart", name, old[s.edge].Name),
				Remedy: "choose another piece or hem, or put this change before the one that makes the dart"}
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
	t.carryAll(&was, t.sway(&was))
	w.made = append(w.made, name)
	a.tell(w, &was, &t, in, moves)
	return nil
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
