package change

import (
	"fmt"
	"math"
	"strings"

	"sizerun/internal/geom"
	"sizerun/internal/inspect"
	"sizerun/internal/pattern"
)

// Flaring a skirt (TRADE 5): the darts are closed, which opens the hem below them; then every piece is
// slashed from the hem, hinged at the waist and spread, until the hem is as wide all round as asked.

type skirtFlareArgs struct {
	Pieces []string `arg:"pieces" kind:"names" must:"yes" says:"All pieces of the skirt: its hem is measured round them."`
	Sweep  *float64 `arg:"sweep" kind:"length" min:"300" max:"12000" says:"How long the hem is to be, all round."`
	By     *float64 `arg:"by" kind:"length" min:"1" max:"9000" says:"Instead: how much longer the hem becomes, all round, with what the closed darts open it by. With neither, the darts alone make the flare."`
	Darts  bool     `arg:"darts" kind:"flag" default:"true" says:"Whether the darts are closed into the hem first."`
	Lines  int      `arg:"lines" kind:"number" min:"1" max:"20" default:"3" says:"Along how many lines every piece is slashed."`
	Hem    string   `arg:"hem" kind:"name" default:"hem" says:"The hem edge of the pieces."`
}

func defineSkirtFlare() Definition {
	return Definition{
		Name:     "skirt_flare",
		Sentence: "Flares a whole skirt to a stated hem: closes its darts into the hem, then slashes and spreads what is still wanting.",
		Promise:  "The waist, folded, and the sides keep their lengths to 0.1 mm a piece, so that all seams match; the hem is as long all round as asked, to 1 mm, and smooth.",
		Sketch: []Stroke{
			{Outline, geom.Polyline(geom.Pt(32, 95), geom.Pt(68, 95))},
			{CutAway, geom.Polyline(geom.Pt(32, 95), geom.Pt(26, 8), geom.Pt(74, 8), geom.Pt(68, 95))},
			{Construction, geom.Polyline(geom.Pt(50, 60), geom.Pt(50, 8))},
			{New, geom.Path{geom.Line(geom.Pt(32, 95), geom.Pt(4, 14)), geom.Cubic(geom.Pt(4, 14), geom.Pt(35, 1), geom.Pt(65, 1), geom.Pt(96, 14)), geom.Line(geom.Pt(96, 14), geom.Pt(68, 95))}},
		},
		fresh: func() args { return new(skirtFlareArgs) },
	}
}

func (a *skirtFlareArgs) check() pattern.Faults {
	if a.Sweep != nil && a.By != nil {
		return pattern.Faults{{Rule: "given_twice", Pointer: "/by", Detail: "skirt_flare: its hem is told in two ways", Remedy: "give sweep or by"}}
	}
	return nil
}

// times is how often a piece, as it is drawn, goes round the body.
func times(p *pattern.Piece) float64 {
	n := float64(max(1, p.Cut.Count))
	for i := range p.Edges {
		if p.Edges[i].Fold {
			return 2 * n
		}
	}
	return n
}

func (a *skirtFlareArgs) apply(w *work) error {
	ptr := func(i int) string {
		if len(a.Pieces) == 1 {
			return "/pieces"
		}
		return pattern.Pointer("pieces", fmt.Sprint(i))
	}
	was := make([]pattern.Piece, len(a.Pieces))
	wanted := a.Sweep // not the argument itself: one binding serves all sizes
	d := plan{d: Drawing{Title: "Flare a skirt, size " + w.p.Size}}
	closed := 0
	for i, n := range a.Pieces {
		t, err := w.opens(n, a.Hem, nil)
		if err != nil {
			fs := append(pattern.Faults(nil), pattern.FaultsOf(err)...)
			for k := range fs {
				if fs[k].Pointer == "/piece" {
					fs[k].Pointer = ptr(i)
				}
			}
			return fs
		}
		was[i] = t.p.Clone()
		d.line(Outline, n, was[i].Outline(), n)
	}
	if a.By != nil {
		sweep := a.sweepOf(w) + *a.By
		wanted = &sweep
	}
	for i := range was {
		n := len(was[i].Darts)
		for k := 0; a.Darts && k < n; k++ {
			if err := a.closeDart(w, &d, a.Pieces[i], ptr(i)); err != nil {
				return err
			}
			closed++
		}
		if a.Darts && n > 0 {
			a.smoothHem(w.p.PieceNamed(a.Pieces[i]))
		}
	}
	if closed == 0 && wanted == nil {
		return pattern.Fault{Rule: "no_flare", Pointer: "/sweep", Piece: a.Pieces[0], Edge: a.Hem, Detail: "there is no dart to close and no hem is asked for", Valid: "a sweep, or pieces with darts", Remedy: "tell how long the hem is to be"}
	}
	if wanted != nil {
		if err := a.spreadTo(w, &d, *wanted); err != nil {
			return err
		}
	}
	a.tell(w, &d, was, closed, wanted)
	return nil
}

// closeDart closes the first dart that a piece has left into its hem.
func (a *skirtFlareArgs) closeDart(w *work, d *plan, name, ptr string) error {
	p, err := w.piece(ptr, name)
	if err != nil {
		return err
	}
	was := p.Clone()
	hem, err := w.edge("/hem", &was, a.Hem)
	if err != nil {
		return err
	}
	dart, err := wedgeAt(ptr, &was, 0)
	if err != nil {
		return err
	}
	about, err := pivotPoint(ptr, &was, dart, dart.tip)
	if err != nil {
		return err
	}
	up, err := upOf(&was)
	if err != nil {
		return blame(err, ptr)
	}
	x := geom.Intersect(geom.Polyline(about, about.Add(up.Mul(-2*pattern.MaxCoord))), was.Edges[hem].Path, 1e-6)
	if len(x) == 0 || x[0].T < 2 || x[0].T > was.Edges[hem].Path.Length()-2 {
		return pattern.Fault{Rule: "hem_not_below", Pointer: "/hem", Piece: name, Edge: a.Hem, Detail: fmt.Sprintf("%s does not lie straight below the dart %q", a.Hem, dart.name), Valid: "an edge below the dart's point", Remedy: "name the hem, or leave the darts"}
	}
	got, err := w.pivot(&was, pivoting{dart: dart, about: about, to: spot{hem, x[0].T}, share: 1, ptr: ptr, fills: true})
	if err != nil {
		return err
	}
	legs := [2]string{was.Edges[dart.first].Name, was.Edges[dart.second].Name}
	trueJoint(&got.piece, got.closed, 40, 0.06)
	q, at := fillMouth(&got.piece, got.dart, a.Hem+"_opened")
	n := len(q.Edges)
	q = joinEdges(&q, (at+n-1)%n, 3)
	fitGrain(&q)
	w.dartSeam(name, legs[0], legs[1])
	if err := w.replace(name, q); err != nil {
		return blame(err, ptr)
	}
	d.step("Close the %s of %s: cut from the hem to its point, fold it shut, and the hem opens by %s.", strings.ReplaceAll(dart.name, "_", " "), name, say(got.dart.mouth()))
	d.line(Construction, name, geom.Polyline(about, x[0].P), "slash below "+dart.name)
	u, v := d.point(got.dart.a, "left lip"), d.point(got.dart.b, "right lip")
	d.measure(u, v, nil, "opens by")
	return nil
}

// smoothHem redraws a hem that closed darts have opened in places as one curve between its corners, which keep
// their angles: by hand it is drawn with one sweep of the curve. It is left where no such curve comes near it.
func (a *skirtFlareArgs) smoothHem(p *pattern.Piece) {
	const near = 15.0 // mm
	e := &p.Edges[p.EdgeNamed(a.Hem)]
	was := e.Path
	if isStraight(was) {
		return
	}
	now, err := geom.Fair(was.Start(), was.StartTangent(), was.End(), was.EndTangent(), geom.FairOptions{})
	if err != nil {
		return
	}
	l0, l1 := was.Length(), now.Length()
	for i := range 21 {
		if _, d := now.Project(was.PointAt(l0 * float64(i) / 20)); d > near {
			return
		}
	}
	e.Path = now
	for i := range p.Marks {
		if m := &p.Marks[i]; m.Edge == a.Hem {
			m.S *= l1 / l0
			m.At = now.PointAt(m.S)
		}
	}
}

// sweepOf is the hem all round.
func (a *skirtFlareArgs) sweepOf(w *work) float64 {
	l := 0.0
	for _, n := range a.Pieces {
		p := w.p.PieceNamed(n)
		l += times(p) * p.Edges[p.EdgeNamed(a.Hem)].Path.Length()
	}
	return l
}

// spreadTo opens every piece by its share of what the hem still wants. A hem gains not quite what its lines are
// opened by, for they fan out: how much, every piece tells the next, and the last one is tried again.
func (a *skirtFlareArgs) spreadTo(w *work, d *plan, sweep float64) error {
	have := a.sweepOf(w)
	want := sweep - have
	if want < -0.5 {
		ptr := "/sweep"
		if a.By != nil {
			ptr = "/by"
		}
		return pattern.Fault{Rule: "out_of_range", Pointer: ptr, Piece: a.Pieces[0], Edge: a.Hem, Detail: fmt.Sprintf("the hem is %.1f mm all round already", have), Valid: fmt.Sprintf("at least %.1f mm", have), Remedy: "ask for a wider hem, or leave the darts"}
	}
	if want < 0.5 {
		return nil
	}
	k := 1.0
	for i, n := range a.Pieces {
		t, err := w.opens(n, a.Hem, nil)
		if err != nil {
			return err
		}
		hem := func(p *pattern.Piece) float64 { return p.Edges[t.hem].Path.Length() }
		l := hem(t.p)
		gain := want / have * l
		if i == len(a.Pieces)-1 {
			gain = (sweep - a.sweepOf(w)) / times(t.p) // the last one makes up for what the others are off
		}
		cuts := t.slashes(t.hemRun(), t.cap, a.Lines)
		open := func(p *pattern.Piece) (spreading, opening, error) {
			o := opening{open: t.hemRun(), head: t.cap, cuts: cuts, ptr: "/sweep"}
			for c := range cuts {
				cuts[c].open = gain * k / float64(a.Lines)
			}
			s, err := w.spread(p, o)
			return s, o, err
		}
		before := t.p.Clone()
		s, o, err := open(t.p)
		for range 6 {
			if err != nil {
				return err
			}
			got := hem(t.p) - l
			off := math.Abs(got-gain) * times(t.p)
			if got > gain/8 {
				k *= gain / got
			}
			if off < 0.2 || i < len(a.Pieces)-1 {
				break
			}
			*t.p = before.Clone()
			s, o, err = open(t.p)
		}
		if err != nil {
			return err
		}
		d.slashed(&before, t.p, &s, &o, "the hem", "the waist")
	}
	if off := a.sweepOf(w) - sweep; math.Abs(off) > 1 {
		ptr := "/sweep"
		if a.By != nil {
			ptr = "/by"
		}
		return pattern.Fault{Rule: "slash_slants", Pointer: ptr, Piece: a.Pieces[0], Edge: a.Hem, Detail: fmt.Sprintf("the lines from waist to hem meet the hem so slantwise that it would come out %.0f mm off what is asked for", math.Abs(off)),
			Valid: "a hem that the grain meets about squarely", Remedy: "name another hem, or ask for less"}
	}
	return nil
}

func (a *skirtFlareArgs) tell(w *work, d *plan, was []pattern.Piece, closed int, wanted *float64) {
	d.step("Redraw the hem of every piece as a smooth curve.")
	kept, corner, before := 0.0, 0.0, 0.0
	for i := range was {
		p := w.p.PieceNamed(a.Pieces[i])
		lost := 0.0
		for k := range was[i].Edges {
			e := &was[i].Edges[k]
			if e.Name == a.Hem {
				before += times(&was[i]) * e.Path.Length()
				continue
			}
			if was[i].IsLeg(e.Name) && p.EdgeNamed(e.Name) < 0 {
				continue
			}
			if j := p.EdgeNamed(e.Name); j >= 0 {
				lost = math.Max(lost, math.Abs(p.Edges[j].Path.Length()-e.Path.Length()))
			} else {
				lost = math.Inf(1)
			}
		}
		kept = math.Max(kept, lost)
		corner = math.Max(corner, sharpest(p.Edges[p.EdgeNamed(a.Hem)].Path)-sharpest(was[i].Edges[was[i].EdgeNamed(a.Hem)].Path))
		d.line(New, p.Name, p.Outline(), p.Name)
	}
	sweep := a.sweepOf(w)
	w.promise(inspect.Check{Rule: "skirt_kept", Piece: a.Pieces[0], Place: "outline", Measured: kept, Tolerance: 0.1, Unit: inspect.MM,
		Text: fmt.Sprintf("Every edge of the skirt but its hem keeps its length to %.3f mm, darts folded.", kept)})
	want := pattern.Range{Min: before, Max: 1e6}
	if wanted != nil {
		want = pattern.Range{Min: *wanted, Max: *wanted}
	}
	w.promise(inspect.Check{Rule: "skirt_sweep", Piece: a.Pieces[0], Place: a.Hem, Measured: sweep, Want: want, Tolerance: 1, Unit: inspect.MM,
		Text: fmt.Sprintf("The hem is %.1f mm all round, %.1f mm more than before.", sweep, sweep-before)})
	w.promise(inspect.Check{Rule: "skirt_smooth", Piece: a.Pieces[0], Place: a.Hem, Measured: math.Max(0, corner), Tolerance: 2, Unit: inspect.Degrees, Source: "common practice: within 2 degrees of smooth",
		Text: "The hem of the skirt is redrawn without a corner."})
	w.res.Steps = append(w.res.Steps, Step{Stage: Finish, Pieces: a.Pieces,
		Text:    fmt.Sprintf("%sLet the skirt hang for a day and level its hem, which is %s all round, %s more than the straight skirt's.", map[bool]string{true: "The waist darts are gone; sew the waist flat. ", false: ""}[closed > 0], say(sweep), say(sweep-before)),
		Amounts: []Amount{{"hem all round", sweep}, {"flare", sweep - before}}})
	w.res.Drawing = d.d
}
