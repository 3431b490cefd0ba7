package change

import (
	"math"
	"testing"

	"sizerun/internal/geom"
	"sizerun/internal/inspect"
	"sizerun/internal/pattern"
)

// dartedSquare is a piece of 200 by 300 mm with a dart of 30 mm in its left side, pointing at (100, 150).
func dartedSquare() pattern.Piece {
	pts := []geom.Point{geom.Pt(0, 0), geom.Pt(200, 0), geom.Pt(200, 300), geom.Pt(0, 300), geom.Pt(0, 165), geom.Pt(100, 150), geom.Pt(0, 135)}
	names := []string{"hem", "centre", "top", "left_upper", "first", "second", "left_lower"}
	p := pattern.Piece{Name: "square", Of: "square", Cut: pattern.Cut{Count: 1, Cloth: "main"}, Grain: [2]geom.Point{geom.Pt(150, 50), geom.Pt(150, 250)}}
	for i, a := range pts {
		b := pts[(i+1)%len(pts)]
		p.Edges = append(p.Edges, pattern.Edge{Name: names[i], From: "c" + names[i], To: "c" + names[(i+1)%len(pts)], Path: geom.Polyline(a, b),
			Src: pattern.Source{Piece: "square", Edge: names[i], S1: a.Dist(b)}})
	}
	p.Darts = []pattern.Dart{{Name: "d", First: "first", Second: "second", Towards: "second"}}
	return p
}

func TestADartPivotsAsAProtractorSays(t *testing.T) {
	p := dartedSquare()
	w := &work{p: pattern.Pattern{Pieces: []pattern.Piece{p}}}
	d, err := w.wedge("", &p, "d")
	if err != nil {
		t.Fatal(err)
	}
	// To the middle of the top, 150 mm above the pivot: the lower left corner's part stays.
	got, err := w.pivot(&p, pivoting{dart: d, about: d.tip, to: spot{2, 100}, share: 1})
	if err != nil {
		t.Fatal(err)
	}
	angle := 2 * math.Atan(15.0/100)
	if a := got.dart.angle(d.tip); math.Abs(a-angle) > 1e-12 {
		t.Errorf("opened by %v, closed by %v", a, angle)
	}
	if m := got.dart.mouth(); math.Abs(m-2*150*math.Sin(angle/2)) > 1e-9 {
		t.Errorf("the mouth is %v wide", m)
	}
	if a, b := got.piece.Outline().Area(), p.Outline().Area(); math.Abs(a-b) > 1e-9 {
		t.Errorf("the area was %v and is %v", b, a)
	}
	if off := keptLengths(&p, nil, &got.piece); off > 1e-9 {
		t.Errorf("an edge changed by %v", off)
	}
	for i := range got.piece.Edges {
		e, f := got.piece.Edges[i], got.piece.Edges[(i+1)%len(got.piece.Edges)]
		if e.To != f.From || e.Path.End() != f.Path.Start() {
			t.Errorf("%s does not lead to %s", e.Name, f.Name)
		}
	}
}

func TestASpoiledEdgeOrMarkIsFound(t *testing.T) {
	was, now := dartedSquare(), dartedSquare()
	now.Edges[2].Path = geom.Polyline(geom.Pt(200, 300), geom.Pt(0, 300.9), geom.Pt(0, 300))
	if off := keptLengths(&was, nil, &now); off < 0.1 {
		t.Errorf("a longer edge is taken for %v mm", off)
	}
	was.Marks = []pattern.Mark{{Name: "x", At: geom.Pt(50, 50)}}
	w := &work{}
	w.promiseMarks(&was, &now)
	w.promiseFold(&now, wedge{name: "d", first: 4, second: 5, a: geom.Pt(0, 165), b: geom.Pt(0, 135), tip: geom.Pt(100, 150)})
	for _, c := range w.res.Checks {
		// This dart's mouth lies on a straight line: folded, the line has a corner of 17 degrees.
		if c.Verdict != inspect.Fail {
			t.Errorf("%s passes with %v", c.Rule, c.Measured)
		}
	}
}

// A parabola on both tangents of a corner of δ is shorter by r·δ²/6, to the second order.
func TestARoundedCornerLosesWhatAParabolaLoses(t *testing.T) {
	for _, deg := range []float64{2, 6, 12} {
		p := dartedSquare()
		x := geom.RotateAbout(geom.Pt(200, 0), deg*math.Pi/180)
		p.Edges[0].Path = geom.Polyline(geom.Pt(0, 0), geom.Pt(200, 0))
		p.Edges[1].Path = geom.Polyline(geom.Pt(200, 0), x.Apply(geom.Pt(400, 0)))
		before := p.Edges[0].Path.Length() + p.Edges[1].Path.Length()
		p.Marks = []pattern.Mark{{Name: "m", Edge: "centre", S: 100, At: p.Edges[1].Path.PointAt(100)}}
		r := trueJoint(&p, 0, 40, 0.05)
		d := deg * math.Pi / 180
		lost := before - p.Edges[0].Path.Length() - p.Edges[1].Path.Length()
		if math.Abs(lost-r.lost) > 1e-9 || math.Abs(lost-r.reach*d*d/6) > 0.02*lost || lost > 0.0501 {
			t.Errorf("%g degrees: lost %.5f over %.2f mm, reckoned %.5f", deg, lost, r.reach, r.reach*d*d/6)
		}
		if turn := degrees(p.Edges[0].Path.EndTangent(), p.Edges[1].Path.StartTangent()); turn > 1e-6 {
			t.Errorf("%g degrees: still a corner of %v", deg, turn)
		}
		if m := p.Marks[0]; m.At.Dist(x.Apply(geom.Pt(300, 0))) > 1e-6 {
			t.Errorf("the mark moved to %v", m.At)
		}
	}
}

func TestAMouthIsTruedWithTheDartFolded(t *testing.T) {
	p := dartedSquare()
	d := wedge{name: "d", first: 4, second: 5, a: geom.Pt(0, 165), b: geom.Pt(0, 135), tip: geom.Pt(100, 150)}
	trueMouth(&p, &d, 40, 0.05)
	w := &work{}
	w.promiseFold(&p, d)
	if c := w.res.Checks[0]; c.Verdict != inspect.Pass || c.Measured > 1e-6 {
		t.Errorf("folded, the line turns by %v degrees", c.Measured)
	}
	if a, b := p.Edges[4].Path.Length(), p.Edges[5].Path.Length(); math.Abs(a-b) > 1e-9 {
		t.Errorf("the legs are %v and %v long", a, b)
	}
}
