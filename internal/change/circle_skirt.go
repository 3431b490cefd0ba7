package change

import (
	"fmt"
	"math"
	"slices"

	"sizerun/internal/geom"
	"sizerun/internal/inspect"
	"sizerun/internal/pattern"
)

// A circle skirt (TRADE 5) is exact geometry: a ring, or a part of one, whose inner edge is the waist. With
// the angle θ the inner radius is waist/θ, the outer one that plus the length.

type circleSkirtArgs struct {
	Circle  string            `arg:"circle" kind:"choice" choices:"quarter,third,half,three_quarter,full" default:"half" says:"Which part of a whole circle the skirt is."`
	Length  float64           `arg:"length" kind:"length" min:"50" max:"2000" default:"600mm" says:"How long it is, from the waist to the hem, everywhere."`
	Edges   []pattern.EdgeRef `arg:"edges" kind:"edges" says:"Waist edges for one half of the body, darts folded: the skirt's waist is as long as they are on both halves. Left out, from waist or measure."`
	Sew     bool              `arg:"sew" kind:"flag" default:"false" says:"Whether the skirt is sewn to those edges; they are then those of a bodice."`
	Waist   *float64          `arg:"waist" kind:"length" min:"200" max:"3000" says:"Instead: how long the waist seam is, all round."`
	Measure string            `arg:"measure" kind:"name" default:"waist" says:"Instead: the body measurement that it is made to, plus ease."`
	Ease    float64           `arg:"ease" kind:"length" min:"-100" max:"300" default:"20mm" says:"What is added to the body measurement."`
	Panels  int               `arg:"panels" kind:"number" min:"1" max:"12" default:"2" says:"How many equal panels the skirt is made of. Two are a front and a back."`
	Fold    bool              `arg:"fold" kind:"flag" default:"true" says:"Whether a panel is drawn as half, its middle on the fold of the cloth."`
	Hem     float64           `arg:"hem" kind:"length" min:"0" max:"60" default:"12.7mm" says:"The allowance of the hem, turned twice; a round hem is kept narrow."`
	Instead []string          `arg:"instead" kind:"names" says:"Pieces that the skirt takes the place of."`
	Name    string            `arg:"name" kind:"name" default:"skirt" says:"The name of the panel; two of them add _front and _back."`
}

func defineCircleSkirt() Definition {
	centre := geom.Pt(50, 95)
	return Definition{
		Name:     "circle_skirt",
		Sentence: "Makes a skirt of a quarter, third, half, three quarters or the whole of a circle.",
		Promise:  "The waist has the length asked for, its radius is the waist divided by the angle, and the hem lies everywhere as far below it as asked, all to 0.1 mm.",
		Sketch: []Stroke{
			{New, geom.Arc(centre, 20, math.Pi, 2*math.Pi)},
			{New, geom.Arc(centre, 48, math.Pi, 2*math.Pi)},
			{New, geom.Polyline(geom.Pt(2, 95), geom.Pt(30, 95))},
			{New, geom.Polyline(geom.Pt(70, 95), geom.Pt(98, 95))},
			{Construction, geom.Polyline(centre, geom.Pt(50, 47))},
		},
		fresh: func() args { return new(circleSkirtArgs) },
	}
}

// circleAngle is the angle of a whole skirt.
func circleAngle(part string) float64 {
	return 2 * math.Pi * map[string]float64{"quarter": 0.25, "third": 1.0 / 3, "half": 0.5, "three_quarter": 0.75, "full": 1}[part]
}

func (a *circleSkirtArgs) drawn() float64 {
	t := circleAngle(a.Circle) / float64(a.Panels)
	if a.Fold {
		t /= 2
	}
	return t
}

func (a *circleSkirtArgs) check() pattern.Faults {
	const most = 300 // degrees: more would touch itself once it has its allowances
	var fs pattern.Faults
	if d := a.drawn() * 180 / math.Pi; d > most {
		fs = append(fs, pattern.Fault{Rule: "out_of_range", Pointer: "/panels", Detail: fmt.Sprintf("circle_skirt: a panel of %.0f degrees cannot be cut in one piece", d),
			Valid: fmt.Sprintf("up to %d degrees", most), Remedy: "make it of more panels, or draw it on the fold"})
	}
	if len(a.Edges) > 0 && a.Waist != nil {
		fs = append(fs, pattern.Fault{Rule: "given_twice", Pointer: "/waist", Detail: "circle_skirt: its waist is told by edges and by a length", Remedy: "give one of them"})
	}
	if a.Sew && len(a.Edges) == 0 {
		fs = append(fs, pattern.Fault{Rule: "missing_argument", Pointer: "/edges", Detail: "circle_skirt: it is to be sewn on, but to no edges", Valid: "piece.edge", Remedy: "name the waist edges of the bodice"})
	}
	for i, r := range a.Edges {
		if a.Sew && slices.Contains(a.Instead, r.Piece) {
			fs = append(fs, pattern.Fault{Rule: "given_twice", Pointer: pattern.Pointer("edges", fmt.Sprint(i)), Detail: fmt.Sprintf("circle_skirt: piece %q is both sewn on and replaced", r.Piece), Remedy: "do one of them"})
		}
	}
	return fs
}

// around is the waist, all round, and the run of edges that it came from.
func (a *circleSkirtArgs) around(w *work) (float64, seamRun, error) {
	switch {
	case len(a.Edges) > 0:
		run, err := w.runOf("/edges", a.Edges)
		if err == nil && run.ring {
			err = pattern.Fault{Rule: "no_middle", Pointer: "/edges", Piece: a.Edges[0].Piece, Detail: "the edges close to a ring, which is no half of a waist", Valid: "edges from centre to centre", Remedy: "name the waist edges of one half"}
		}
		return 2 * run.len, run, err
	case a.Waist != nil:
		return *a.Waist, seamRun{}, nil
	}
	girth, err := w.bodyMeasure("/measure", a.Measure)
	return girth + a.Ease, seamRun{}, err
}

func (a *circleSkirtArgs) apply(w *work) error {
	round, run, err := a.around(w)
	if err != nil {
		return err
	}
	if !(round >= 100) {
		return pattern.Fault{Rule: "out_of_range", Pointer: "/ease", Piece: a.Name, Detail: fmt.Sprintf("the waist would be %.1f mm", round), Valid: "at least 100 mm", Remedy: "give more"}
	}
	theta := circleAngle(a.Circle)
	r := round / theta
	if far := r + a.Length; far > pattern.MaxCoord/2 {
		return pattern.Fault{Rule: "out_of_range", Pointer: "/length", Piece: a.Name, Detail: fmt.Sprintf("the hem would have a radius of %.0f mm", far), Valid: fmt.Sprintf("up to %.0f mm", pattern.MaxCoord/2), Remedy: "make it shorter, or of more of a circle"}
	}
	if err := a.clearAway(w); err != nil {
		return err
	}
	var names []string
	if a.Panels == 2 {
		names = []string{a.Name + "_front", a.Name + "_back"}
	} else {
		names = []string{a.Name}
	}
	for i, n := range names {
		if w.p.PieceNamed(n) != nil || !pattern.ValidName(n) {
			return pattern.Fault{Rule: "name_taken", Pointer: "/name", Piece: n, Detail: fmt.Sprintf("there is a piece %q already, or it cannot be named so", n), Valid: "not " + pattern.Choices(w.p.PieceNames()), Remedy: "choose another name"}
		}
		p := a.panel(n, r)
		p.Cut.Count = max(1, a.Panels/len(names))
		if i == 0 && len(names) == 2 && a.Fold {
			p = mirror(p, geom.Point{}, geom.Vec{Y: 1}) // a front lies with its fold on the right
			for k := range p.Edges {
				p.Edges[k].Src = pattern.Source{Piece: n, Edge: p.Edges[k].Name, S1: p.Edges[k].Path.Length()}
			}
		}
		w.p.Pieces = append(w.p.Pieces, p)
		w.made = append(w.made, n)
	}
	a.sew(w, names, run)
	a.finished(w, names)
	a.tell(w, names, round, run)
	return nil
}

// finished is what is measured on the skirt; one that hangs on a bodice makes that longer.
func (a *circleSkirtArgs) finished(w *work, names []string) {
	waist, hem := pattern.Term{Times: max(1, a.Panels/len(names))}, pattern.Term{Outer: true, Times: max(1, a.Panels/len(names))}
	if a.Fold {
		waist.Times, hem.Times = 2*waist.Times, 2*hem.Times
	}
	for _, n := range names {
		waist.Edges = append(waist.Edges, pattern.EdgeRef{Piece: n, Edge: "waist"})
		hem.Edges = append(hem.Edges, pattern.EdgeRef{Piece: n, Edge: "hem"})
		if a.Sew {
			w.p.PieceNamed(n).Adds = &a.Length
		}
	}
	side := "side"
	if !a.Fold {
		side = "side_right"
	}
	long := []pattern.Term{{Edges: []pattern.EdgeRef{{Piece: names[0], Edge: side}}, Times: 1}}
	if a.Sew {
		w.res.Finished = append(w.res.Finished, pattern.Finished{Name: a.Name + "_length", Says: titled(a.Name) + ", seam to hem", Terms: long})
	} else {
		w.res.Finished = append(w.res.Finished, pattern.Finished{Name: "waist", Says: "Waist", Terms: []pattern.Term{waist}},
			pattern.Finished{Name: "length", Says: "Side, waist to hem", Terms: long})
	}
	w.res.Finished = append(w.res.Finished, pattern.Finished{Name: "hem", Says: "Hem, all round", Terms: []pattern.Term{hem}})
}

// clearAway takes out the pieces that the skirt replaces, and their seams.
func (a *circleSkirtArgs) clearAway(w *work) error {
	for i, n := range a.Instead {
		ptr := "/instead"
		if len(a.Instead) > 1 {
			ptr += pattern.Pointer(fmt.Sprint(i))
		}
		if err := w.remove(ptr, n); err != nil {
			return err
		}
	}
	return nil
}

// panel is drawn around the origin, below it: on the fold its fold hangs straight down.
func (a *circleSkirtArgs) panel(name string, r float64) pattern.Piece {
	t, far := a.drawn(), r+a.Length
	a0 := -math.Pi / 2
	if !a.Fold {
		a0 -= t / 2
	}
	a1 := a0 + t
	hem, waist := geom.Arc(geom.Point{}, far, a0, a1), geom.Arc(geom.Point{}, r, a1, a0)
	right, left := geom.Polyline(hem.End(), waist.Start()), geom.Polyline(waist.End(), hem.Start())
	p := pattern.Piece{Name: name, Title: titled(name), Of: name, Cut: pattern.Cut{Count: 1, Cloth: "main"}}
	add := func(edge, from, to string, path geom.Path) {
		p.Edges = append(p.Edges, pattern.Edge{Name: edge, From: from, To: to, Path: path, Src: pattern.Source{Piece: name, Edge: edge, S1: path.Length()}})
	}
	s, c := "side_left", "left"
	if a.Fold {
		s, c = "centre", "centre"
	}
	other := "side"
	if !a.Fold {
		other = "side_right"
	}
	add("hem", "hem_"+c, "hem_side", hem)
	add(other, "hem_side", "waist_side", right)
	add("waist", "waist_side", "waist_"+c, waist)
	add(s, "waist_"+c, "hem_"+c, left)
	p.Edges[0].Own = &pattern.Allowance{Width: a.Hem, Turned: 2}
	if a.Hem == 0 {
		p.Edges[0].Own.Turned = 0
	}
	p.Edges[3].Fold = a.Fold
	p.Align = geom.Pt(0, -r)
	p.Grain = [2]geom.Point{geom.Pt(0, -far+0.15*a.Length), geom.Pt(0, -r-0.15*a.Length)}
	fitGrain(&p)
	return p
}

// sew joins the panels at their sides, and the whole waist to the edges it was made for.
func (a *circleSkirtArgs) sew(w *work, names []string, run seamRun) {
	ref := func(p, e string, against bool) pattern.EdgeRef {
		return pattern.EdgeRef{Piece: p, Edge: e, Against: against}
	}
	other := names[len(names)-1]
	s := pattern.Seam{Name: w.seamFree(a.Name + "_side"), SmoothStart: true, SmoothEnd: true}
	if a.Fold {
		// The side of a half is sewn to that of the next panel's mirrored half; the front lies mirrored already.
		s.Sew, s.To = []pattern.EdgeRef{ref(names[0], "side", len(names) == 2)}, []pattern.EdgeRef{ref(other, "side", false)}
	} else {
		s.Sew, s.To = []pattern.EdgeRef{ref(names[0], "side_right", false)}, []pattern.EdgeRef{ref(other, "side_left", true)}
	}
	w.p.Seams = append(w.p.Seams, s)
	if !a.Fold && len(names) == 2 {
		s = pattern.Seam{Name: w.seamFree(a.Name + "_side"), SmoothStart: true, SmoothEnd: true,
			Sew: []pattern.EdgeRef{ref(other, "side_right", false)}, To: []pattern.EdgeRef{ref(names[0], "side_left", true)}}
		w.p.Seams = append(w.p.Seams, s)
	}
	if !a.Sew {
		return
	}
	waist := pattern.Seam{Name: w.seamFree(a.Name + "_waist")}
	waist.To = append(append(waist.To, run.refs...), run.turned()...)
	for i := range a.Panels {
		n := names[i%len(names)]
		waist.Sew = append(waist.Sew, ref(n, "waist", false))
		if a.Fold {
			waist.Sew = append(waist.Sew, ref(n, "waist", true))
		}
	}
	w.p.Seams = append(w.p.Seams, waist)
}

func (a *circleSkirtArgs) tell(w *work, names []string, round float64, run seamRun) {
	theta := circleAngle(a.Circle)
	times := float64(a.Panels) / float64(len(names))
	if a.Fold {
		times *= 2
	}
	total, off, rad := 0.0, 0.0, 0.0
	for _, n := range names {
		p := w.p.PieceNamed(n)
		waist, hem := p.Edges[p.EdgeNamed("waist")].Path, p.Edges[p.EdgeNamed("hem")].Path
		total += times * waist.Length()
		for _, s := range hem {
			for i := range 5 {
				_, d := waist.Project(s.At(float64(i) / 4))
				off = math.Max(off, math.Abs(d-a.Length))
			}
		}
		rad = circumradius(waist.Start(), waist.PointAt(waist.Length()/2), waist.End())
	}
	name := names[0]
	w.promise(inspect.Check{Rule: "circle_waist", Piece: name, Place: "waist", Measured: total, Want: pattern.Range{Min: round, Max: round}, Tolerance: 0.1, Unit: inspect.MM,
		Text: fmt.Sprintf("The waist of the skirt is %.1f mm all round.", total)})
	w.promise(inspect.Check{Rule: "circle_radius", Piece: name, Place: "waist", Measured: rad, Want: pattern.Range{Min: round / theta, Max: round / theta}, Tolerance: 0.1, Unit: inspect.MM,
		Text: fmt.Sprintf("The waist has a radius of %.1f mm: %.1f mm divided by the angle of %.4f.", rad, round, theta)})
	w.promise(inspect.Check{Rule: "circle_length", Piece: name, Place: "hem", Measured: off, Tolerance: 0.1, Unit: inspect.MM,
		Text: fmt.Sprintf("The hem lies %.1f mm below the waist, to %.3f mm everywhere.", a.Length, off)})
	p := w.p.PieceNamed(name)
	waist, hem := p.Edges[p.EdgeNamed("waist")].Path, p.Edges[p.EdgeNamed("hem")].Path
	sweep := hem.Length() * times * float64(len(names))
	on := ""
	if a.Sew {
		on = fmt.Sprintf(" Sew its waist (%s all round) to %s and their other halves, right sides together, centres and side seams matching.", say(total), run.said())
	}
	w.res.Steps = append(w.res.Steps, Step{Stage: Join, Pieces: names, Text: fmt.Sprintf("Staystitch the waist just inside the seam line, so that it does not stretch. Sew the %s of the skirt (%s each).%s", several(a.Panels, "side seam", "side seams"), say(a.Length), on),
		Amounts: []Amount{{"side seam", a.Length}, {"waist", total}}},
		Step{Stage: Finish, Pieces: names, Text: fmt.Sprintf("Let the skirt hang for a day, for its bias drops, and level the hem. Turn %s twice and stitch the hem (%s round).", say(a.Hem/2), say(sweep)),
			Amounts: []Amount{{"hem", a.Hem}, {"hem round", sweep}}})
	d := plan{d: Drawing{Title: fmt.Sprintf("Circle skirt (%s), size %s", a.Circle, w.p.Size)}}
	d.step("Divide the waist of %s by the angle in radians, %.4f for %s of a circle: the inner radius is %s.", say(round), theta, map[string]string{"quarter": "a quarter", "third": "a third", "half": "half", "three_quarter": "three quarters", "full": "the whole"}[a.Circle], say(rad))
	for _, r := range run.refs {
		if q := w.p.PieceNamed(r.Piece); q != nil {
			d.line(Outline, q.Name, q.Outline(), q.Name)
		}
	}
	o := d.point(geom.Point{}, "centre of the circle")
	x := d.point(waist.End(), "waist")
	d.measure(o, x, nil, "inner radius")
	d.line(Construction, name, geom.Polyline(geom.Point{}, waist.End()), "radius")
	d.line(Construction, name, geom.Polyline(geom.Point{}, waist.Start()), "radius")
	d.step("Swing the waist with that radius, and the hem with %s more.", say(a.Length))
	d.line(New, name, waist, "waist")
	d.line(New, name, hem, "hem")
	y := d.point(hem.Start(), "hem")
	if hem.Start().Dist(waist.End()) > a.Length+1 {
		y = d.point(hem.End(), "hem")
	}
	d.measure(x, y, nil, "length")
	each := "Draw the two straight edges of a panel"
	if a.Fold {
		each = "Draw the fold and the straight edge of half a panel"
	}
	d.step("%s, %.1f degrees apart; cut %s.", each, a.drawn()*180/math.Pi, several(a.Panels, "panel", "panels"))
	d.line(New, name, p.Outline(), name)
	w.res.Drawing = d.d
}

// circumradius is the radius of the circle through three points; 0 when they lie on a line.
func circumradius(a, b, c geom.Point) float64 {
	x := b.Sub(a).Cross(c.Sub(a))
	if math.Abs(x) < 1e-9 {
		return 0
	}
	return a.Dist(b) * b.Dist(c) * c.Dist(a) / (2 * math.Abs(x))
}
