package change_test

import (
	"math"
	"testing"

	"sizerun/internal/change"
	"sizerun/internal/geom"
	"sizerun/internal/pattern"
	"sizerun/internal/testkit/blouse"
)

// lined is a blouse whose back has a placement line from side to centre, and a short one low down.
func lined() pattern.Pattern {
	p := blouse.Make(blouse.Base())
	b := p.PieceNamed("back")
	b.Lines = []pattern.InnerLine{
		{Name: "pleat", Path: geom.Polyline(geom.Pt(60, 150), geom.Pt(60, -300))},
		{Name: "pocket", Path: geom.Polyline(geom.Pt(100, -250), geom.Pt(160, -250))},
		{Name: "vent", Path: geom.Path{geom.Cubic(geom.Pt(20, -150), geom.Pt(30, -200), geom.Pt(40, -260), geom.Pt(40, -330))}},
	}
	return p
}

func lineNamed(q *pattern.Piece, n string) geom.Path {
	for _, l := range q.Lines {
		if l.Name == n {
			return l.Path
		}
	}
	return nil
}

func TestAPlacementLineIsCutWhereTheStyleLineCrossesIt(t *testing.T) {
	r := apply(t, lined(), "split", yoke()...)
	y, l := r.Pattern.PieceNamed("back_yoke"), r.Pattern.PieceNamed("back_low")
	up, down := lineNamed(y, "pleat"), lineNamed(l, "pleat")
	if len(up) == 0 || len(down) == 0 {
		t.Fatalf("the pleat is on %v and %v", y.Lines, l.Lines)
	}
	if math.Abs(up.Length()+down.Length()-450) > 1e-6 || up.End().Dist(down.Start()) > 1e-6 {
		t.Errorf("the pleat is %.3f and %.3f mm long, and ends at %v and %v", up.Length(), down.Length(), up.End(), down.Start())
	}
	if lineNamed(y, "pocket") != nil || lineNamed(l, "pocket") == nil {
		t.Error("the pocket line went to the wrong part")
	}
}

func TestLinesBelowTheLevelGoWithTheHem(t *testing.T) {
	p := lined()
	r := apply(t, p, "lengthen", "piece", []any{"front", "back"}, "by", 70, "at", obj("edge", "side", "from", "underarm", "along", 200))
	b := r.Pattern.PieceNamed("back")
	if q := lineNamed(b, "pocket"); math.Abs(q.Start().Y+320) > 1e-9 || math.Abs(q.Length()-60) > 1e-9 {
		t.Errorf("the pocket line, below, is now at %v", q)
	}
	if q := lineNamed(b, "pleat"); q.Start() != geom.Pt(60, 150) || math.Abs(q.End().Y+370) > 1e-9 {
		t.Errorf("the pleat, across the level, is now %v", q)
	}
	if q := lineNamed(b, "vent"); q.Start() != geom.Pt(20, -150) || math.Abs(q.End().Y+400) > 1e-9 {
		t.Errorf("the vent, across the level, is now %v", q)
	}
}

// A pattern whose edges do not tell where they came from is taken as a block of its own.
func TestEdgesWithoutASourceComeFromThemselves(t *testing.T) {
	p := blouse.Make(blouse.Base())
	for i := range p.Pieces {
		p.Pieces[i].Of = ""
		for k := range p.Pieces[i].Edges {
			p.Pieces[i].Edges[k].Src = pattern.Source{}
		}
	}
	r := apply(t, p, "petal")
	sew(t, r.Pattern, blouse.Base())
	if q := r.Pattern.PieceNamed("sleeve_front"); q.Of != "sleeve" || q.Edges[q.EdgeNamed("cap_front")].Src.Piece != "sleeve" {
		t.Errorf("%+v", q)
	}
}

// A piece that an earlier change has cut up is told apart from one that never was.
func TestAPieceThatIsGoneIsToldWhatItBecame(t *testing.T) {
	r := apply(t, blouse.Make(blouse.Base()), "petal")
	_, err := bind(t, "lengthen", "piece", "sleeve", "by", 20).Apply(r.Pattern)
	f := pattern.FaultsOf(err)
	if len(f) == 0 || f[0].Rule != "unknown_piece" || f[0].Detail != `lengthen: piece "sleeve" was made into sleeve_back, sleeve_front by an earlier change` {
		t.Errorf("%v", err)
	}
}

func TestNothingBoundIsRefused(t *testing.T) {
	if _, err := (change.Bound{}).Apply(blouse.Make(blouse.Base())); err == nil {
		t.Error("nothing was applied")
	}
	if n := bind(t, "petal").Definition().Name; n != "petal" {
		t.Errorf("bound %q", n)
	}
}

// A block whose grain arrow points down is the same block.
func TestAGrainArrowThatPointsDownMakesTheSamePetals(t *testing.T) {
	p := blouse.Make(blouse.Base())
	a := apply(t, p, "petal")
	g := &p.PieceNamed("sleeve").Grain
	g[0], g[1] = g[1], g[0]
	b := apply(t, p, "petal")
	passes(t, b)
	for _, n := range []string{"sleeve_back", "sleeve_front"} {
		x, y := a.Pattern.PieceNamed(n).Outline().Area(), b.Pattern.PieceNamed(n).Outline().Area()
		if math.Abs(x-y) > 1e-6 {
			t.Errorf("%s: %.3f and %.3f mm²", n, x, y)
		}
	}
}
