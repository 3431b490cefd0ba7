package change

import (
	"testing"

	"sizerun/internal/geom"
	"sizerun/internal/inspect"
	"sizerun/internal/pattern"
	"sizerun/internal/testkit/blouse"
)

// failing are the rules of the checks that fail.
func failing(w *work) map[string]bool {
	out := map[string]bool{}
	for _, c := range w.res.Checks {
		if c.Verdict == inspect.Fail {
			out[c.Rule] = true
		}
	}
	return out
}

// bulge redraws an edge between its ends, by as much to its right, which is outside.
func bulge(p *pattern.Piece, edge string, by float64) {
	e := &p.Edges[p.EdgeNamed(edge)]
	l := e.Path.Length()
	e.Path = geom.Polyline(e.Path.Start(), e.Path.PointAt(l/2).Add(e.Path.TangentAt(l/2).Right().Mul(by)), e.Path.End())
	for i := range p.Marks {
		if m := &p.Marks[i]; m.Edge == edge {
			m.S *= e.Path.Length() / l
			m.At = e.Path.PointAt(m.S)
		}
	}
}

// peaked is a plain back whose straight shoulder dart points at a yoke line.
func peaked() pattern.Pattern {
	p := blouse.Make(blouse.Base())
	b := p.PieceNamed("back")
	k := b.EdgeNamed("shoulder")
	e := b.Edges[k]
	l := e.Path.Length()
	x, z := e.Path.PointAt(l/2-7), e.Path.PointAt(l/2+7)
	tip := x.Lerp(z, 0.5).Add(e.Path.StartTangent().Left().Mul(80))
	edge := func(name, from, to string, path geom.Path) pattern.Edge {
		return pattern.Edge{Name: name, From: from, To: to, Path: path, Src: pattern.Source{Piece: "back", Edge: name, S1: path.Length()}}
	}
	b.Edges = append(append(append([]pattern.Edge{}, b.Edges[:k]...),
		edge("shoulder", e.From, "d1", geom.Polyline(e.Path.Start(), x)), edge("leg_1", "d1", "d2", geom.Polyline(x, tip)),
		edge("leg_2", "d2", "d3", geom.Polyline(tip, z)), edge("shoulder_in", "d3", e.To, geom.Polyline(z, e.Path.End()))), b.Edges[k+1:]...)
	b.Darts = []pattern.Dart{{Name: "blade", First: "leg_1", Second: "leg_2", Towards: "leg_2"}}
	for i := range p.Seams {
		if s := &p.Seams[i]; s.Name == "shoulder" {
			s.To = []pattern.EdgeRef{{Piece: "back", Edge: "shoulder_in", Against: true}, {Piece: "back", Edge: "shoulder", Against: true}}
			s.Ease = pattern.Range{Min: 14, Max: 14}
		}
	}
	return p
}

func peakedYoke(fullness float64, into string) *yokeArgs {
	return &yokeArgs{Piece: "back", From: pattern.Place{Edge: "centre_back", From: "cb_neck", Along: 95}, To: &pattern.Place{Edge: "armhole", From: "shoulder", Along: 80},
		Shape: "curved", Angle: 90, Curve: 0.35, Square: true, Dart: []string{"blade"}, Reach: 60, Notches: 1, Line: "yoke", Name: "back_yoke", Hem: "hem", Fullness: fullness, Into: into}
}

// A shoulder dart is shut in the yoke: the seam takes it in.
func TestAShoulderDartGoesIntoTheYokeSeam(t *testing.T) {
	w := &work{p: peaked()}
	if err := peakedYoke(0, "gathers").apply(w); err != nil {
		t.Fatal(err)
	}
	if bad := failing(w); len(bad) > 0 {
		t.Errorf("%v", bad)
	}
	y := w.p.PieceNamed("back_yoke")
	if len(y.Darts) != 0 || y.MarkNamed("blade_point") == nil || w.p.PieceNamed("back").MarkNamed("blade_point") == nil {
		t.Errorf("%v %v", y.Darts, y.Marks)
	}
}

// Every promise of a yoke can be broken: each of these is spoiled in one way.
func TestASpoiledYokeBreaksItsPromise(t *testing.T) {
	for claim, c := range map[string]struct {
		rule  string
		spoil func(w *work, y *yoked)
	}{
		"a seam redrawn on one side": {"yoke_equal", func(w *work, _ *yoked) { bulge(w.p.PieceNamed("back"), "yoke", -9) }},
		"a yoke cut a little deeper": {"yoke_whole", func(w *work, _ *yoked) {
			q := w.p.PieceNamed("back_yoke")
			for i := range q.Edges {
				q.Edges[i].Path = q.Edges[i].Path.Transform(geom.Scale(1, 1.01))
			}
		}},
		"a seam with the corner of the dart": {"yoke_smooth", func(w *work, y *yoked) { q := w.p.PieceNamed("back_yoke"); q.Edges[q.EdgeNamed("yoke")].Path = y.sharp }},
		"a seam swept too far out":           {"yoke_swept", func(w *work, _ *yoked) { bulge(w.p.PieceNamed("back_yoke"), "yoke", 9) }},
		"a seam that runs off the centre aslant": {"yoke_square", func(w *work, _ *yoked) {
			q := w.p.PieceNamed("back_yoke")
			e := &q.Edges[q.EdgeNamed("yoke")]
			e.Path = geom.Polyline(e.Path.Start(), e.Path.End())
		}},
		"an armhole that was stretched": {"dart_lengths", func(w *work, _ *yoked) { bulge(w.p.PieceNamed("back_yoke"), "armhole", 5) }},
		"a mark that was forgotten":     {"dart_marks", func(w *work, _ *yoked) { w.p.PieceNamed("back").MarkNamed("back_notch").Name = "gone" }},
	} {
		w, a := &work{p: peaked()}, peakedYoke(0, "gathers")
		y, err := a.part(w)
		if err != nil {
			t.Fatal(err)
		}
		c.spoil(w, y)
		a.promises(w, y)
		if !failing(w)[c.rule] {
			t.Errorf("%s: %s passes", claim, c.rule)
		}
	}
}

func TestSpoiledFullnessBreaksItsPromise(t *testing.T) {
	for _, c := range []struct {
		claim, into, rule string
		spoil             func(p *pattern.Piece)
	}{
		{"gathers that lost a little", "gathers", "yoke_fullness", func(p *pattern.Piece) {
			e := &p.Edges[p.EdgeNamed("yoke")]
			e.Path = e.Path.Sub(0, e.Path.Length()-0.5)
		}},
		{"a pleat that lost a little", "box_pleat", "yoke_fullness", func(p *pattern.Piece) {
			e := &p.Edges[p.EdgeNamed("yoke_pleat_1_under")]
			e.Path = e.Path.Sub(0, e.Path.Length()-0.5)
		}},
		{"a pleat whose underlay peeps out", "box_pleat", "yoke_pleat", func(p *pattern.Piece) { bulge(p, "yoke_pleat_1_under", 2) }},
		{"a new centre that is not square", "gathers", "yoke_square", func(p *pattern.Piece) {
			e := &p.Edges[p.EdgeNamed("centre_back")]
			e.Path = geom.Polyline(e.Path.Start().Add(geom.Vec{X: 12}), e.Path.End())
		}},
	} {
		w, a := &work{p: peaked()}, peakedYoke(40, c.into)
		y, err := a.part(w)
		if err != nil {
			t.Fatal(err)
		}
		pl, err := a.fuller(w, y)
		if err != nil {
			t.Fatal(err)
		}
		a.fullPromises(w, y, pl)
		if bad := failing(w); len(bad) > 0 {
			t.Fatalf("%s: fails before it is spoiled: %v", c.claim, bad)
		}
		w.res.Checks = nil
		c.spoil(w.p.PieceNamed("back"))
		a.fullPromises(w, y, pl)
		if !failing(w)[c.rule] {
			t.Errorf("%s: %s passes", c.claim, c.rule)
		}
	}
}

func TestASpoiledJoinBreaksItsPromise(t *testing.T) {
	w := &work{p: blouse.Make(blouse.Base())}
	front := &yokeArgs{Piece: "front", From: pattern.Place{Edge: "neck", From: "neck", Along: 35}, To: &pattern.Place{Edge: "armhole", From: "shoulder", Along: 35}, Shape: "straight", Square: true, Line: "yoke", Name: "front_yoke"}
	back := &yokeArgs{Piece: "back", From: pattern.Place{Edge: "centre_back", From: "cb_neck", Along: 95}, Shape: "straight", Square: true, Line: "yoke", Name: "back_yoke"}
	for _, a := range []*yokeArgs{front, back} {
		if err := a.apply(w); err != nil {
			t.Fatal(err)
		}
	}
	x, b := w.p.PieceNamed("back_yoke").Clone(), w.p.PieceNamed("front_yoke").Clone()
	q, names, err := joinAt(&x, &b, "shoulder", "shoulder")
	if err != nil {
		t.Fatal(err)
	}
	for _, spoil := range []bool{false, true} {
		w.res.Checks = nil
		if spoil {
			bulge(&q, "armhole", 12)
		}
		back.joined(w, &x, &b, &q, names)
		if bad := failing(w); bad["yoke_joined"] != spoil || bad["yoke_joined_lengths"] != spoil {
			t.Errorf("spoiled %v: %v", spoil, bad)
		}
	}
}
