package change

import (
	"math"
	"testing"

	"sizerun/internal/geom"
	"sizerun/internal/inspect"
	"sizerun/internal/pattern"
	"sizerun/internal/testkit/blouse"
)

// moveEdge lays an edge elsewhere.
func moveEdge(p *pattern.Piece, edge string, m geom.Affine) {
	e := &p.Edges[p.EdgeNamed(edge)]
	e.Path = e.Path.Transform(m)
}

// broken: a check of that rule fails after the piece was spoiled, and passes before.
func broken(t *testing.T, claim, rule string, judge func(spoil bool) []inspect.Check) {
	t.Helper()
	for _, spoil := range []bool{false, true} {
		found, failed := false, false
		for _, c := range judge(spoil) {
			if c.Rule == rule {
				found = true
				failed = failed || c.Verdict == inspect.Fail
			}
		}
		if !found || failed != spoil {
			t.Errorf("%s: spoiled %v, %s: there %v, failed %v", claim, spoil, rule, found, failed)
		}
	}
}

func TestASpoiledFlatCollarBreaksItsPromise(t *testing.T) {
	for _, c := range []struct {
		claim, rule string
		spoil       func(q, u *pattern.Piece)
	}{
		{"a seam cut short", "collar_length", func(q, _ *pattern.Piece) { q.Edges[0].Path = q.Edges[0].Path.Sub(0, q.Edges[0].Path.Length()-0.5) }},
		{"a seam bent by hand", "collar_overlap", func(q, _ *pattern.Piece) {
			moveEdge(q, "neck_edge", geom.Identity())
			p := append(geom.Path{}, q.Edges[0].Path...)
			p[0].P1.Y += 3
			q.Edges[0].Path = p
		}},
		{"a seam that leans at the centre back", "collar_square", func(q, _ *pattern.Piece) {
			moveEdge(q, "neck_edge", geom.RotateAbout(q.Edges[0].Path.End(), 0.05))
		}},
		{"a shallow back", "collar_depth", func(q, _ *pattern.Piece) { moveEdge(q, "centre_back", geom.Scale(1, 0.98)) }},
		{"a corner over the shoulder", "collar_smooth", func(q, _ *pattern.Piece) {
			k := q.EdgeNamed("outer_edge")
			p := append(geom.Path{}, q.Edges[k].Path...)
			p[2].P1.Y += 4
			q.Edges[k].Path = p
		}},
		{"an under collar as large as the upper one", "collar_turn", func(q, u *pattern.Piece) {
			u.Edges[u.EdgeNamed("outer_edge")].Path = q.Edges[q.EdgeNamed("outer_edge")].Path
		}},
	} {
		broken(t, c.claim, c.rule, func(spoil bool) []inspect.Check {
			p := blouse.Make(blouse.Base())
			w := &work{p: p.Clone()}
			a := &flatCollarArgs{Front: "front", Back: "back", Neck: "neck", Shoulder: "shoulder", Overlap: 15, Depth: 65, End: "round", Raise: 3, Turn: 2.5, Name: "collar"}
			col, err := a.make(w)
			if err != nil {
				t.Fatal(err)
			}
			q, u := w.p.PieceNamed("collar"), w.p.PieceNamed("under_collar")
			if spoil {
				c.spoil(q, u)
			}
			a.promises(w, col, q)
			return w.res.Checks
		})
	}
}

// Whichever half of the body is drawn, the collar is the same.
func TestTheCollarOfAPieceDrawnTheOtherWayRoundIsTheSame(t *testing.T) {
	p := blouse.Make(blouse.Base())
	var first pattern.Piece
	for k := range 4 {
		w := &work{p: p.Clone()}
		for i := range 2 {
			if k>>i&1 == 1 {
				w.p.Pieces[i] = mirror(w.p.Pieces[i], geom.Pt(30, 0), geom.Vec{Y: 1})
			}
		}
		a := &flatCollarArgs{Front: "front", Back: "back", Neck: "neck", Shoulder: "shoulder", Overlap: 15, Depth: 65, End: "pointed", Raise: 3, Turn: 2.5, Name: "collar"}
		if _, err := a.make(w); err != nil {
			t.Fatal(err)
		}
		q := *w.p.PieceNamed("collar")
		if k == 0 {
			first = q
			continue
		}
		for i := range q.Edges {
			for j := range 5 {
				s := q.Edges[i].Path.Length() * float64(j) / 4
				if d := q.Edges[i].Path.PointAt(s).Dist(first.Edges[i].Path.PointAt(s)); d > 1e-5 {
					t.Fatalf("%02b: edge %s lies %.6f mm elsewhere", k, q.Edges[i].Name, d)
				}
			}
		}
	}
}

// A bent joint keeps its length, has no corner and no hollow where both lines are round.
func TestABentJointKeepsItsLength(t *testing.T) {
	for _, turn := range []float64{-0.4, -0.1, -1e-3, 0.2} {
		a := geom.Path{geom.Cubic(geom.Pt(0, 0), geom.Pt(40, 0), geom.Pt(80, 10), geom.Pt(100, 40))}
		d := a.EndTangent()
		at := a.End()
		b := geom.Path{geom.Cubic(at, at.Add(d.Mul(40)), at.Add(geom.Vec{X: 10, Y: 90}), at.Add(geom.Vec{X: -40, Y: 110}))}.Transform(geom.RotateAbout(at, turn))
		for _, reach := range []float64{20, 60, 1000} {
			p, err := bendJoint(a, b, reach)
			if err != nil {
				t.Fatal(err)
			}
			if got, want := p.Length(), a.Length()+b.Length(); math.Abs(got-want) > 0.02 {
				t.Errorf("turn %g, reach %g: %.4f mm, want %.4f", turn, reach, got, want)
			}
			if c := sharpest(p); c > 1e-6 {
				t.Errorf("turn %g, reach %g: a corner of %g degrees", turn, reach, c)
			}
			if d := degrees(p.EndTangent(), b.EndTangent()) + degrees(p.StartTangent(), a.StartTangent()); reach < 100 && d > 1e-9 {
				t.Errorf("turn %g, reach %g: the ends turn by %g degrees", turn, reach, d)
			}
			if n := inflections(p); turn < 0 && turn > -0.3 && n > 0 {
				t.Errorf("turn %g, reach %g: %d inflections", turn, reach, n)
			}
		}
	}
}

func TestASpoiledShirtCollarBreaksItsPromise(t *testing.T) {
	for _, c := range []struct {
		claim, rule string
		spoil       func(s, q *pattern.Piece)
	}{
		{"a stand cut short", "collar_length", func(s, _ *pattern.Piece) { s.Edges[0].Path = s.Edges[0].Path.Sub(0, s.Edges[0].Path.Length()-0.5) }},
		{"a fall that is longer than its stand", "collar_fall", func(_, q *pattern.Piece) { moveEdge(q, "stand_edge", geom.Scale(1.005, 1)) }},
		{"a stand that narrows", "collar_height", func(s, _ *pattern.Piece) { moveEdge(s, "fall_edge", geom.RotateAbout(geom.Pt(0, 30), -0.01)) }},
		{"a fall that leans at the centre back", "collar_square", func(_, q *pattern.Piece) { moveEdge(q, "centre_back", geom.RotateAbout(geom.Pt(0, 0), 0.03)) }},
		{"a fall as deep as its stand", "collar_covers", func(_, q *pattern.Piece) { moveEdge(q, "centre_back", geom.Scale(1, 30.0/42)) }},
		{"a point cut off", "collar_point", func(_, q *pattern.Piece) { moveEdge(q, "front_end", geom.Scale(1, 0.99)) }},
		{"a button off the centre", "collar_button", func(s, _ *pattern.Piece) { s.MarkNamed("button").At.X += 1 }},
	} {
		broken(t, c.claim, c.rule, func(spoil bool) []inspect.Check {
			st, err := Bind(pattern.ChangeSpec{Change: "button_stand"})
			if err != nil {
				t.Fatal(err)
			}
			r, err := st.Apply(blouse.Make(blouse.Base()))
			if err != nil {
				t.Fatal(err)
			}
			w := &work{p: r.Pattern}
			a := &shirtCollarArgs{Front: "front", Back: "back", Neck: "neck", Shoulder: "shoulder", Height: 30, Rise: 15, Point: 65, Lean: 15, Drop: 12, Button: 11, Thick: 3, Name: "collar"}
			col, err := a.make(w)
			if err != nil {
				t.Fatal(err)
			}
			if spoil {
				c.spoil(w.p.PieceNamed("collar_stand"), w.p.PieceNamed("collar"))
			}
			a.promises(w, col)
			return w.res.Checks
		})
	}
}
