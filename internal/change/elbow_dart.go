package change

import (
	"fmt"
	"math"
	"slices"

	"sizerun/internal/geom"
	"sizerun/internal/pattern"
)

// The elbow dart (TRADE 4.2): a close long sleeve has to bend with the arm. It is slashed along the elbow line from the
// back seam and opened there by the intake, so that the back seam has more over the elbow than the front seam:
//
//	hinged at the front seam   all below the line turns, the wrist swings forward, the front seam hollows at the elbow
//	hinged at the middle       it is slashed from there on down to the wrist, where the back laps over the front: the
//	                           wrist becomes narrower and only its back swings forward
//
// The dart ends short of the elbow, not at the hinge, so with the dart folded the back seam has a corner at the mouth.
// It is trued there, and the hollow of the front seam is rounded. Both roundings shorten a seam; the part below is
// moved away by just as much and turned until the mouth is the intake, so that back less dart is front again.

type elbowArgs struct {
	Piece   string   `arg:"piece" kind:"name" default:"sleeve" says:"The sleeve, a long one."`
	Intake  float64  `arg:"intake" kind:"length" min:"5" max:"80" default:"25mm" says:"How wide the dart is at the back seam, and how much longer that becomes."`
	Down    *float64 `arg:"down" kind:"length" min:"60" max:"600" says:"How far below the underarm, along the seams, the elbow line lies; left out, 25 mm above the middle of the underarm seam."`
	Elbow   float64  `arg:"elbow" kind:"share" min:"0.1" max:"0.6" default:"0.25" says:"Where the elbow lies on that line, as a share of it from the back seam: a quarter is over the fold at the back."`
	SetBack float64  `arg:"set_back" kind:"length" min:"0" max:"60" default:"10mm" says:"How far before the elbow the dart stops."`
	Hinge   string   `arg:"hinge" kind:"choice" choices:"front,middle" default:"front" says:"Where it hinges: at the front seam, so that the wrist swings forward; or at the middle of the line and lapped over down to the wrist, which becomes narrower."`
	Back    string   `arg:"back" kind:"name" says:"The underarm edge of the back; left out, the side with the double notch."`
	Dart    string   `arg:"dart" kind:"name" default:"elbow" says:"What the dart is called."`
	Hem     string   `arg:"hem" kind:"name" default:"hem" says:"The hem edge, at the wrist."`
}

func defineElbow() Definition {
	return Definition{
		Name:     "elbow_dart",
		Sentence: "Gives a long sleeve a dart at the elbow, in the back underarm seam.",
		Promise:  "With the dart closed the back seam is as much longer than the front seam as before, to 0.1 mm; the dart is as wide as stated, its legs are equal and its seam is smooth when folded; cap and hem angles stay; the area is what was there and what was opened.",
		Sketch: []Stroke{
			{Outline, geom.Path{geom.Cubic(geom.Pt(85, 78), geom.Pt(70, 79), geom.Pt(66, 96), geom.Pt(50, 96)), geom.Cubic(geom.Pt(50, 96), geom.Pt(34, 96), geom.Pt(30, 79), geom.Pt(15, 78))}},
			{CutAway, geom.Polyline(geom.Pt(15, 78), geom.Pt(22, 5), geom.Pt(78, 5), geom.Pt(85, 78))},
			{Construction, geom.Polyline(geom.Pt(19, 48), geom.Pt(82, 45))},
			{New, geom.Polyline(geom.Pt(15, 78), geom.Pt(18, 49), geom.Pt(36, 43), geom.Pt(19, 37), geom.Pt(31, 2), geom.Pt(87, 6))},
			{New, geom.Path{geom.Line(geom.Pt(87, 6), geom.Pt(83, 36)), geom.Cubic(geom.Pt(83, 36), geom.Pt(82, 45), geom.Pt(82, 48), geom.Pt(83, 56)), geom.Line(geom.Pt(83, 56), geom.Pt(85, 78))}},
		},
		fresh: func() args { return new(elbowArgs) },
	}
}

// elbow is a sleeve about to get its dart. Back and front seam are walked down, the hem from the back to the front.
type elbow struct {
	t           *tube
	was         pattern.Piece
	back, front int
	leftBack    bool
	b, f, hem   geom.Path
	s           float64 // from the underarm to the elbow line, on both seams
	slash       geom.Path
	hinge       geom.Point
	point       float64   // from the back seam to the elbow, along the line
	wrist       float64   // hinged at the middle: where the slash meets the hem, from the back
	parts       [2]string // what the back seam becomes, above and below the dart
}

// bent is a sleeve with its dart, as far as it is redrawn.
type bent struct {
	turn                     float64     // radians, counter-clockwise positive
	lay                      geom.Affine // how the lower part moves
	upper, lower, front, hem geom.Path
	dart                     wedge
	elbow                    geom.Point
	mouth, hollow, wristed   trued
	bare                     geom.Path  // the dart before its mouth is trued
	rounded                  float64    // mm2 that all roundings add
	lap, joint               float64    // at the wrist; hinged at the middle: the joint is where the hem's back part ends
	cross                    [2]float64 // where its two parts cross, on each
}

func (a *elbowArgs) apply(w *work) error {
	find := w.tube
	if a.Hinge == "middle" { // the hem becomes shorter
		find = w.opens
	}
	t, err := find(a.Piece, a.Hem, nil)
	if err != nil {
		return err
	}
	e, err := a.find(w, &t)
	if err != nil {
		return err
	}
	g, err := a.bend(w, &e)
	if err != nil {
		return err
	}
	q, d, err := a.lay(w, &e, &g)
	if err != nil {
		return err
	}
	a.promises(w, &e, &g, q, d)
	a.tell(w, &e, &g, q, d)
	return nil
}

// find finds seams, line and hinge.
func (a *elbowArgs) find(w *work, t *tube) (elbow, error) {
	const (
		least = 200.0 // mm of underarm seam of a sleeve with an elbow
		ends  = 60.0  // mm of seam above and below the line
		above = 25.0  // mm above the middle: common practice
	)
	p := t.p
	n := len(p.Edges)
	e := elbow{t: t, was: p.Clone()}
	if (t.cap.last+1)%n != t.left || (t.right+1)%n != t.cap.first {
		return e, pattern.Fault{Rule: "side_in_parts", Pointer: "/piece", Piece: p.Name, Edge: p.Edges[t.left].Name, Detail: fmt.Sprintf("an underarm seam of %q is not one edge from cap to hem", p.Name), Remedy: "put this change before the one that parts the seam"}
	}
	switch a.Back {
	case "":
		e.leftBack = w.leftIsBack(t)
	case p.Edges[t.left].Name:
		e.leftBack = true
	case p.Edges[t.right].Name:
	default:
		names := []string{p.Edges[t.left].Name, p.Edges[t.right].Name}
		return e, pattern.Fault{Rule: "no_side", Pointer: "/back", Piece: p.Name, Edge: a.Back, Detail: fmt.Sprintf("%q is no underarm edge of %q", a.Back, p.Name), Valid: pattern.Choices(names), Remedy: pattern.Suggest(a.Back, names)}
	}
	e.back, e.front = t.right, t.left
	if e.leftBack {
		e.back, e.front = t.left, t.right
	}
	for _, i := range []int{t.left, t.right} {
		if p.IsLeg(p.Edges[i].Name) {
			return e, pattern.Fault{Rule: "dart_leg", Pointer: "/piece", Piece: p.Name, Edge: p.Edges[i].Name, Detail: fmt.Sprintf("edge %s.%s, beside the hem, is the leg of a dart", p.Name, p.Edges[i].Name),
				Valid: pattern.Choices(w.sleeves()), Remedy: "put this change before the one that makes that dart"}
		}
		if p.Edges[i].Fold {
			return e, pattern.Fault{Rule: "edge_on_fold", Pointer: "/piece", Piece: p.Name, Edge: p.Edges[i].Name, Detail: fmt.Sprintf("edge %s.%s lies on the fold", p.Name, p.Edges[i].Name),
				Valid: pattern.Choices(w.sleeves()), Remedy: "choose a sleeve that is cut whole"}
		}
	}
	if !slices.Contains(w.sleeves(), p.Name) { // the side of a body is sewn to another piece, not to its own
		return e, pattern.Fault{Rule: "no_cap", Pointer: "/piece", Piece: p.Name, Detail: fmt.Sprintf("%q is not set into an armhole", p.Name), Valid: pattern.Choices(w.sleeves()), Remedy: "choose a sleeve"}
	}
	e.b, e.f, e.hem = e.walked(e.back), e.walked(e.front), e.walked(t.hem)
	long := math.Min(e.b.Length(), e.f.Length())
	if long < least {
		return e, pattern.Fault{Rule: "no_elbow", Pointer: "/piece", Piece: p.Name, Edge: p.Edges[e.back].Name, Detail: fmt.Sprintf("%q has an underarm seam of only %.1f mm: it ends above the elbow", p.Name, long),
			Valid: fmt.Sprintf("at least %g mm", least), Remedy: "lengthen the sleeve first"}
	}
	e.s = long/2 - above
	if a.Down != nil {
		e.s = *a.Down
	}
	if e.s < ends || e.s > long-ends {
		return e, pattern.Fault{Rule: "out_of_range", Pointer: "/down", Piece: p.Name, Edge: p.Edges[e.back].Name, Detail: fmt.Sprintf("an elbow line %.1f mm below the underarm lies too near to an end of the seam, which is %.1f mm long", e.s, long),
			Valid: fmt.Sprintf("%g to %.1f mm", ends, long-ends), Remedy: "leave out down, or move the line"}
	}
	from, to := e.b.PointAt(e.s), e.f.PointAt(e.s)
	e.slash = geom.Polyline(from, to)
	e.point = a.Elbow * e.slash.Length()
	e.hinge = to
	if err := w.staysInside(p, e.slash, "/down"); err != nil {
		return e, err
	}
	if a.Hinge == "middle" {
		return e, a.findWrist(w, &e)
	}
	return e, nil
}

// findWrist lays the slash from the middle of the elbow line down to the hem.
func (a *elbowArgs) findWrist(w *work, e *elbow) error {
	const clear = 20.0 // mm
	t, p := e.t, e.t.p
	e.hinge = e.slash.Start().Lerp(e.slash.End(), 0.5)
	x := geom.Intersect(e.hem, geom.Polyline(e.hinge, e.hinge.Add(t.up.Mul(-2*e.was.Outline().Bounds().H()-1000))), 1e-7)
	if len(x) != 1 || x[0].S < clear || x[0].S > e.hem.Length()-clear {
		return pattern.Fault{Rule: "wrist_aside", Pointer: "/hinge", Piece: p.Name, Edge: p.Edges[t.hem].Name, Detail: fmt.Sprintf("straight below the middle of the elbow line of %q the hem is not crossed once", p.Name),
			Valid: "front", Remedy: "hinge it at the front seam"}
	}
	e.wrist = x[0].S
	e.slash = geom.Polyline(e.slash.Start(), e.hinge, x[0].P)
	if e.point > e.slash.Start().Dist(e.hinge) {
		return pattern.Fault{Rule: "out_of_range", Pointer: "/elbow", Piece: p.Name, Detail: "the elbow lies beyond the hinge", Valid: "0.1 to 0.5", Remedy: "choose a smaller share, or hinge at the front seam"}
	}
	return w.staysInside(p, geom.Polyline(e.hinge, x[0].P), "/hinge")
}

// walked is an edge walked down, or from the back to the front.
func (e *elbow) walked(i int) geom.Path {
	p := e.was.Edges[i].Path
	if e.withOutline(i) {
		return p
	}
	return p.Reverse()
}

// withOutline: such a walk goes with the outline.
func (e *elbow) withOutline(i int) bool {
	if i == e.t.right {
		return false
	}
	return i == e.t.left || e.leftBack
}

// leftIsBack: the double notch of the cap lies on the left half, or there is none (common practice: seen from the right
// side, the back lies on the left).
func (w *work) leftIsBack(t *tube) bool {
	th := newThread(t.p, t.cap, false)
	for _, m := range t.p.Marks {
		if i := t.p.EdgeNamed(m.Edge); i >= 0 && m.Kind == pattern.Notch && m.Count == 2 {
			if u, ok := th.along(spot{i, m.S}); ok {
				return u > th.length/2
			}
		}
	}
	return true
}

// bend finds how far the part below turns and moves, so that the seams match and the mouth is the intake.
func (a *elbowArgs) bend(w *work, e *elbow) (bent, error) {
	const (
		leg   = 25.0 // mm that a dart is long
		tol   = 1e-7
		sharp = 30.0 // degrees that a folded seam may turn at the mouth: more cannot be trued
	)
	p := e.t.p
	arm := e.slash.Start().Dist(e.hinge)
	long := e.point - a.SetBack
	if long < leg {
		return bent{}, pattern.Fault{Rule: "dart_short", Pointer: "/set_back", Piece: p.Name, Edge: p.Edges[e.back].Name, Detail: fmt.Sprintf("the elbow lies %.1f mm from the back seam, so the dart would be only %.1f mm long", e.point, long),
			Valid: fmt.Sprintf("up to %.1f mm", math.Max(0, e.point-leg)), Remedy: "set the point back less, or give the elbow a greater share"}
	}
	wide := func() error {
		angle := sharp * math.Pi / 180 / math.Max(0.1, 1-long/arm)
		return pattern.Fault{Rule: "dart_wide", Pointer: "/intake", Piece: p.Name, Edge: p.Edges[e.back].Name, Detail: fmt.Sprintf("a dart %.1f mm wide and %.1f mm long leaves too sharp a corner in the back seam", a.Intake, long),
			Valid: fmt.Sprintf("up to about %.0f mm", math.Floor(2*long*math.Tan(math.Min(angle, 2)/2))), Remedy: "take in less, or make the dart longer by a greater share or a smaller set back"}
	}
	if a.Intake > 1.2*arm {
		return bent{}, wide()
	}
	turn, more := 2*math.Asin(a.Intake/2/arm), 0.0
	var g bent
	for range 40 {
		g = a.bentBy(e, turn, more, long)
		if math.Abs(g.mouth.bend) > sharp {
			return g, wide()
		}
		short := e.b.Length() - g.upper.Length() - g.lower.Length()
		open := a.Intake - g.dart.mouth()
		if math.Abs(short) < tol && math.Abs(open) < tol {
			return g, a.closed(e, &g)
		}
		more = math.Max(0, more+short)
		turn += (open + short) / arm
		if !(turn > 0 && turn < 1) {
			break
		}
	}
	return g, wide()
}

// bentBy lays the lower part turned by so much, the back seam more long at the mouth before it is trued.
func (a *elbowArgs) bentBy(e *elbow, turn, more, long float64) bent {
	const (
		reach = 60.0 // mm that is redrawn on each side of the mouth, and of the hollow
		lose  = 20.0 // mm: whatever it loses is put back
	)
	if !e.leftBack {
		turn = -turn
	}
	g := bent{turn: turn, lay: geom.RotateAbout(e.hinge, turn), front: e.f}
	added := func(edge int, now, was geom.Path) {
		l := now.Join(was.Reverse()).Area()
		if !e.withOutline(edge) {
			l = -l
		}
		g.rounded += l
	}
	if a.Hinge == "front" {
		up, down := e.f.Split(e.s)
		want, gone := e.f.Length(), 0.0
		var corner geom.Path
		for range 4 {
			l := down.Transform(geom.RotateAbout(e.hinge, turn))
			away := up.EndTangent().Add(l.StartTangent()).Mul(gone / 2)
			l = l.Transform(geom.Translate(away))
			x, y := runOut(up, 0, gone/2), runOut(l, gone/2, 0)
			g.front, corner = knee(x, y, reach), x.Join(y)
			g.lay = geom.RotateAbout(e.hinge, turn).Then(geom.Translate(away))
			g.hollow = trued{bend: degrees(x.EndTangent(), y.StartTangent()), reach: math.Min(reach, math.Min(x.Length(), y.Length())/3), lost: gone}
			off := want - g.front.Length()
			if math.Abs(off) < 1e-9 {
				break
			}
			gone = math.Max(0, gone+off)
		}
		added(e.front, g.front, corner)
	}
	up, down := e.b.Split(e.s)
	down = down.Transform(g.lay)
	x, y := runOut(up, 0, more/2), runOut(down, more/2, 0)
	m, across := x.End().Lerp(y.Start(), 0.5), y.Start().Sub(x.End()).Unit()
	in := across.Left()
	if e.hinge.Sub(m).Dot(in) < 0 {
		in = in.Neg()
	}
	tip := m.Add(in.Mul(long))
	g.elbow = m.Add(in.Mul(e.point))
	// The five edges that truing looks at, walked down.
	p := pattern.Piece{Edges: []pattern.Edge{{Name: "upper", Path: x}, {Name: "first", Path: geom.Polyline(x.End(), tip)}, {Name: "second", Path: geom.Polyline(tip, y.Start())},
		{Name: "lower", Path: y}, {Name: "rest", Path: geom.Polyline(y.End(), x.Start())}}}
	g.dart = wedge{name: a.Dart, first: 1, second: 2, a: x.End(), b: y.Start(), tip: tip}
	g.bare = geom.Polyline(x.End(), tip, y.Start(), x.End())
	g.mouth = trueMouth(&p, &g.dart, reach, lose)
	g.upper, g.lower = p.Edges[0].Path, p.Edges[3].Path
	fold := geom.RotateAbout(tip, x.End().Sub(tip).AngleTo(y.Start().Sub(tip)))
	added(e.back, g.upper.Transform(fold).Join(g.lower), x.Transform(fold).Join(y))
	return g
}

// closed redraws the hem: it goes with the lower part, or is joined where its two parts cross.
func (a *elbowArgs) closed(e *elbow, g *bent) error {
	const reach = 40.0 // mm redrawn on each side of the joint
	if a.Hinge == "front" {
		g.hem = e.hem.Transform(g.lay)
		return nil
	}
	back, front := e.hem.Split(e.wrist)
	back = back.Transform(g.lay)
	g.lap = back.End().Dist(front.Start())
	x := geom.Intersect(back, front, 1e-9)
	if len(x) != 1 || x[0].S < reach/4 || x[0].T > front.Length()-reach/4 {
		p := e.t.p
		return pattern.Fault{Rule: "wrist_vanishes", Pointer: "/intake", Piece: p.Name, Edge: p.Edges[e.t.hem].Name, Detail: fmt.Sprintf("the wrist of %q would lap over by %.1f mm", p.Name, g.lap),
			Valid: "less than the width of the hem", Remedy: "take in less, or hinge it at the front seam"}
	}
	g.cross = [2]float64{x[0].S, x[0].T}
	_, rest := front.Split(x[0].T)
	back, _ = back.Split(x[0].S)
	g.joint = x[0].S
	rest = closeTo(rest, back.End(), rest.End())
	g.hem = knee(back, rest, reach)
	off := g.hem.Join(back.Join(rest).Reverse()).Area()
	if !e.leftBack {
		off = -off
	}
	g.rounded += off
	g.wristed = trued{bend: degrees(back.EndTangent(), rest.StartTangent()), reach: math.Min(reach, math.Min(back.Length(), rest.Length())/3)}
	return nil
}

// lay puts the redrawn edges, the dart and all marks onto the piece.
func (a *elbowArgs) lay(w *work, e *elbow, g *bent) (*pattern.Piece, wedge, error) {
	p := e.t.p
	name := p.Name
	taken := knows(p)
	for _, d := range p.Darts {
		if d.Name == a.Dart {
			return p, wedge{}, pattern.Fault{Rule: "name_taken", Pointer: "/dart", Piece: name, Detail: fmt.Sprintf("piece %q has a dart %q already", name, a.Dart), Remedy: "choose another name"}
		}
	}
	edge := e.was.Edges[e.back]
	down := e.withOutline(e.back) // the outline walks the back seam down
	s := e.s
	parts := [2]string{edge.Name + "_upper", edge.Name + "_lower"}
	if !down {
		s = edge.Path.Length() - s
		parts[0], parts[1] = parts[1], parts[0]
	}
	if err := w.splitEdge(p, e.back, s, parts, a.Dart+"_in"); err != nil {
		return p, wedge{}, err
	}
	e.parts = [2]string{p.Edges[e.back].Name, p.Edges[e.back+1].Name}
	if !down {
		e.parts[0], e.parts[1] = e.parts[1], e.parts[0]
	}
	moved := a.movedPart(e)
	set := func(i int, path geom.Path, with bool) {
		if !with {
			path = path.Reverse()
		}
		p.Edges[i].Path = path
	}
	// splitEdge has put one edge in; those behind it have moved on.
	at := func(i int) int {
		if i > e.back {
			return i + 1
		}
		return i
	}
	first, second := g.upper, g.lower
	if !down {
		first, second = second, first
	}
	set(e.back, first, down)
	set(e.back+1, second, down)
	set(at(e.front), g.front, e.withOutline(e.front))
	set(at(e.t.hem), g.hem, e.withOutline(e.t.hem))
	legs := [2]string{a.Dart + "_upper", a.Dart + "_lower"}
	if !down {
		legs[0], legs[1] = legs[1], legs[0]
	}
	for i := range legs {
		legs[i] = free(legs[i], func(n string) bool { return p.EdgeNamed(n) >= 0 })
	}
	in, tip, out := p.Edges[e.back].To, free(a.Dart+"_point", taken), free(a.Dart+"_out", taken)
	p.Edges[e.back+1].From = out
	x, y := p.Edges[e.back].Path.End(), p.Edges[e.back+1].Path.Start()
	dart := []pattern.Edge{{Name: legs[0], From: in, To: tip, Path: geom.Polyline(x, g.dart.tip)}, {Name: legs[1], From: tip, To: out, Path: geom.Polyline(g.dart.tip, y)}}
	for i := range dart {
		dart[i].Src = pattern.Source{Piece: name, Edge: dart[i].Name, S1: dart[i].Path.Length()}
	}
	p.Edges = append(p.Edges[:e.back+1:e.back+1], append(dart, p.Edges[e.back+1:]...)...)
	towards := legs[1] // pressed downwards: common practice
	if !down {
		towards = legs[0]
	}
	p.Darts = append(p.Darts, pattern.Dart{Name: a.Dart, First: legs[0], Second: legs[1], Towards: towards})
	w.p.Seams = append(w.p.Seams, pattern.Seam{Name: w.seamFree(a.Dart + "_dart"), Sew: []pattern.EdgeRef{{Piece: name, Edge: legs[0]}}, To: []pattern.EdgeRef{{Piece: name, Edge: legs[1], Against: true}}})
	d, err := wedgeAt("/piece", p, len(p.Darts)-1)
	if err != nil {
		return p, d, err
	}
	a.carry(e, g, p, moved)
	p.Marks = append(p.Marks, pattern.Mark{Kind: pattern.Dot, Name: free(tip, func(n string) bool { return p.MarkNamed(n) != nil }), Edge: legs[0], S: dart[0].Path.Length(), At: d.tip})
	if a.SetBack > pattern.Near {
		p.Marks = append(p.Marks, pattern.Mark{Kind: pattern.Dot, Name: free(a.Dart, knows(p)), At: g.elbow})
	}
	w.made = append(w.made, name)
	return p, d, nil
}

// movedPart is the outline of the part that turns, as it lay.
func (a *elbowArgs) movedPart(e *elbow) geom.Path {
	_, b := e.b.Split(e.s)
	out := append(geom.Path{}, b...)
	if a.Hinge == "front" {
		_, f := e.f.Split(e.s)
		out = out.Join(e.hem).Join(f.Reverse())
	} else {
		h, _ := e.hem.Split(e.wrist)
		out = out.Join(h).Join(geom.Polyline(h.End(), e.hinge))
	}
	return out.Join(geom.Polyline(e.hinge, b.Start()))
}

// carry moves marks, lines and align point with the part that turns. Marks on a seam stay as far from its end, or from
// the underarm, as they were; on a lapped hem, from its nearer end.
func (a *elbowArgs) carry(e *elbow, g *bent, p *pattern.Piece, moved geom.Path) {
	up, low := g.upper.Length(), g.lower.Length()
	_, lowWas := e.b.Split(e.s)
	lost := lowWas.Length() - low
	hem := e.was.Edges[e.t.hem].Name
	for i := range p.Marks {
		m := &p.Marks[i]
		k := p.EdgeNamed(m.Edge)
		switch {
		case k < 0:
			if inside(moved, m.At) {
				m.At = g.lay.Apply(m.At)
			}
			continue
		case m.Edge == e.parts[1] && e.withOutline(e.back):
			m.S -= lost
		case m.Edge == e.parts[0] && !e.withOutline(e.back):
			m.S -= e.s - up
		case m.Edge == hem && a.Hinge == "middle":
			m.S = a.onHem(e, g, m.S)
		}
		m.S = math.Max(0, math.Min(p.Edges[k].Path.Length(), m.S))
		m.At = p.Edges[k].Path.PointAt(m.S)
	}
	p.Lines = pivotLines(p.Lines, e.slash, moved, g.lay)
	if inside(moved, p.Align) {
		p.Align = g.lay.Apply(p.Align)
	}
	fitGrain(p)
}

// onHem is where a mark of the hem comes to lie when the hem is lapped over.
func (a *elbowArgs) onHem(e *elbow, g *bent, s float64) float64 {
	l, now := e.hem.Length(), g.hem.Length()
	if !e.leftBack {
		s = l - s
	}
	switch {
	case s >= e.wrist+g.cross[1]:
		s = now - (l - s)
	case s > g.joint:
		s = g.joint
	}
	s = math.Max(0, math.Min(now, s))
	if !e.leftBack {
		s = now - s
	}
	return s
}
