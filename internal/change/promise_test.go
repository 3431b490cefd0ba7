package change

import (
	"math"
	"testing"

	"sizerun/internal/geom"
	"sizerun/internal/inspect"
	"sizerun/internal/pattern"
	"sizerun/internal/testkit/blouse"
)

// made is a petal sleeve with the plain sleeve it was made of, match marks and all.
func made(t *testing.T) (plain, back, front pattern.Piece) {
	t.Helper()
	p := blouse.Make(blouse.Base())
	b, err := Bind(pattern.ChangeSpec{Change: "petal"})
	if err != nil {
		t.Fatal(err)
	}
	r, err := b.Apply(p)
	if err != nil {
		t.Fatal(err)
	}
	plain = p.PieceNamed("sleeve").Clone()
	back, front = r.Pattern.PieceNamed("sleeve_back").Clone(), r.Pattern.PieceNamed("sleeve_front").Clone()
	m := *back.MarkNamed("overlap_back")
	plain.Marks = append(plain.Marks, m)
	m = *front.MarkNamed("overlap_front")
	plain.Marks = append(plain.Marks, m)
	return plain, back, front
}

// whirl lays a piece elsewhere on the table.
func whirl(p pattern.Piece, m geom.Affine) pattern.Piece {
	p = p.Clone()
	for i := range p.Edges {
		p.Edges[i].Path = p.Edges[i].Path.Transform(m)
	}
	for i := range p.Marks {
		p.Marks[i].At = m.Apply(p.Marks[i].At)
	}
	return p
}

func TestHalvesLyingAnywhereOnTheTableGiveBackThePlainCap(t *testing.T) {
	plain, b, f := made(t)
	b = whirl(b, geom.RotateAbout(geom.Pt(50, -20), 1.2))
	f = whirl(f, geom.RotateAbout(geom.Pt(-500, 20), -2.7))
	if off, why := laidTogether(&plain, &b, &f, "crown"); off > 1e-6 {
		t.Errorf("%.6f mm%s", off, why)
	}
}

// The promise can be broken: each of these halves is spoiled in one way.
func TestSpoiledHalvesDoNotGiveBackThePlainCap(t *testing.T) {
	for claim, spoil := range map[string]func(b, f *pattern.Piece){
		"a cap redrawn by hand": func(b, f *pattern.Piece) {
			e := &f.Edges[f.EdgeNamed("cap_front")]
			q := append(geom.Path{}, e.Path...)
			q[0].P1.Y += 2
			e.Path = q
		},
		"an overlap that is cut short": func(b, f *pattern.Piece) {
			e := &b.Edges[b.EdgeNamed("cap_back")]
			e.Path = e.Path.Sub(0, e.Path.Length()-8)
		},
		"a half drawn to another scale": func(b, f *pattern.Piece) { *f = whirl(*f, geom.Scale(1.01, 1.01)) },
		"a half drawn from the wrong side": func(b, f *pattern.Piece) {
			*f = whirl(*f, geom.Scale(-1, 1))
		},
		"a match mark set wrong": func(b, f *pattern.Piece) { f.MarkNamed("overlap_back").At.X += 1 },
		"a crown dot forgotten":  func(b, f *pattern.Piece) { f.MarkNamed("crown").Name = "lost" },
	} {
		plain, b, f := made(t)
		spoil(&b, &f)
		off, _ := laidTogether(&plain, &b, &f, "crown")
		c := inspect.Judge(inspect.Check{Measured: off, Tolerance: 0.1})
		if c.Verdict != inspect.Fail {
			t.Errorf("%s: %.4f mm passes", claim, off)
		}
	}
}

func TestMirroringTwiceGivesThePieceBack(t *testing.T) {
	plain, _, _ := made(t)
	q := mirror(plain, geom.Pt(10, 5), geom.Vec{X: 0.3, Y: 1})
	if q.Outline().Area() <= 0 {
		t.Error("the mirrored outline runs clockwise")
	}
	for i := range q.Marks {
		m := &q.Marks[i]
		if e := q.EdgeNamed(m.Edge); e >= 0 && q.Edges[e].Path.PointAt(m.S).Dist(m.At) > 1e-6 {
			t.Errorf("the mark %s left its edge", m.Name)
		}
	}
	q = mirror(q, geom.Pt(10, 5), geom.Vec{X: 0.3, Y: 1})
	for i := range plain.Edges {
		a, b := plain.Edges[i], q.Edges[i]
		if a.Name != b.Name || a.From != b.From || a.Src != b.Src || a.Path.Start().Dist(b.Path.Start()) > 1e-9 || math.Abs(a.Path.Length()-b.Path.Length()) > 1e-9 {
			t.Errorf("edge %s came back as %s", a.Name, b.Name)
		}
	}
}

// A seam over a mirrored part is walked the other way.
func TestASeamOverAMirroredPartIsWalkedTheOtherWay(t *testing.T) {
	plain, _, _ := made(t)
	q := mirror(plain, plain.Align, geom.Vec{Y: 1})
	got, ok := pattern.Covering(plain.Edges[plain.EdgeNamed("cap_front")].Src, []pattern.Piece{q}, false)
	if !ok || len(got) != 1 || !got[0].Against {
		t.Errorf("%v %v", got, ok)
	}
}

func TestABentSideKeepsItsFirstDirectionAndIsStraightBelow(t *testing.T) {
	for _, turn := range []float64{-0.6, -0.2, 1e-3, 0.05, 0.5} {
		d := geom.Vec{Y: -1}
		a := geom.Pt(3, 7)
		b := a.Add(d.Rotate(turn).Mul(200))
		p := bend(a, d, b)
		if degrees(p.StartTangent(), d) > 1e-6 || p.End() != b {
			t.Errorf("turn %g: leaves %.4f degrees off", turn, degrees(p.StartTangent(), d))
		}
		if degrees(p[0].Tangent(1), p[1].Tangent(0)) > 1e-6 || !p[1].Straight || p[1].Length() < 60 {
			t.Errorf("turn %g: bends with a corner, or too long", turn)
		}
		// By the law of cosines on the corner of the two straights; the bend cuts it a little short.
		k := a.Add(d.Mul(50))
		if long := 50 + k.Dist(b); p.Length() > long+1e-9 || p.Length() < 200 {
			t.Errorf("turn %g: %.4f mm, between the chord 200 and the corner's %.4f", turn, p.Length(), long)
		}
	}
	if bend(geom.Pt(0, 0), geom.Vec{X: 1}, geom.Pt(-50, 5)) != nil {
		t.Error("a side turned back on itself")
	}
}

func TestLengthsAreSaidInMillimetresAndEighths(t *testing.T) {
	for mm, want := range map[float64]string{15.9: "15.9 mm (5/8 in)", 15.875: "15.9 mm (5/8 in)", 6.35: "6.35 mm (1/4 in)", 50.8: "50.8 mm (2 in)", 38.1: "38.1 mm (1 1/2 in)", 10: "10 mm", 5: "5 mm", 12.7: "12.7 mm (1/2 in)", 123.456: "123.5 mm", 0: "0 mm"} {
		if got := say(mm); got != want {
			t.Errorf("%g: %q, want %q", mm, got, want)
		}
	}
}
