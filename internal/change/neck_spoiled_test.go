package change

import (
	"testing"

	"sizerun/internal/geom"
	"sizerun/internal/inspect"
	"sizerun/internal/pattern"
	"sizerun/internal/testkit/blouse"
)

func shortened(p *pattern.Piece, edge string, by float64) {
	e := &p.Edges[p.EdgeNamed(edge)]
	e.Path = e.Path.Sub(0, e.Path.Length()-by)
}

func TestASpoiledNecklineBreaksItsPromise(t *testing.T) {
	for _, c := range []struct {
		claim, rule string
		spoil       func(front, back *pattern.Piece)
	}{
		{"a neck that runs into the centre aslant", "neckline_square", func(f, _ *pattern.Piece) {
			e := &f.Edges[f.EdgeNamed("neck")]
			p := append(geom.Path{}, e.Path...)
			p[0].P1.Y += 6
			e.Path = p
		}},
		{"a neck cut too low", "neckline_depth", func(f, _ *pattern.Piece) { moveEdge(f, "neck", geom.Translate(geom.Vec{Y: -0.4})) }},
		{"one shoulder cut shorter", "neckline_shoulders", func(f, _ *pattern.Piece) { shortened(f, "shoulder", 0.4) }},
		{"a peak at the shoulder seam", "neckline_runs_on", func(_, b *pattern.Piece) {
			e := &b.Edges[b.EdgeNamed("neck")]
			p := append(geom.Path{}, e.Path...)
			p[0].P1.X += 6
			e.Path = p
		}},
	} {
		broken(t, c.claim, c.rule, func(spoil bool) []inspect.Check {
			w := &work{p: blouse.Make(blouse.Base())}
			a := &necklineArgs{Front: "front", Back: "back", Neck: "neck", Shoulder: "shoulder", Shape: "round", BackShape: "round", Lower: 30, LowerBack: 15, Widen: 12, Strips: "lengthen"}
			sides, err := a.make(w)
			if err != nil {
				t.Fatal(err)
			}
			if spoil {
				c.spoil(w.p.PieceNamed("front"), w.p.PieceNamed("back"))
			}
			a.tell(w, sides)
			return w.res.Checks
		})
	}
}

func TestASpoiledFacingBreaksItsPromise(t *testing.T) {
	for _, c := range []struct {
		claim, rule string
		spoil       func(f *faced)
	}{
		{"a faced edge cut short", "facing_edge", func(f *faced) { shortened(&f.q, "armhole", 0.5) }},
		{"an inner edge that bulges", "facing_width", func(f *faced) { bulge(&f.q, f.inner, 1) }},
		{"a facing a little wider", "facing_width", func(f *faced) {
			// Inner edge and faced edge are parallel, but not as far apart as asked.
			moveEdge(&f.q, f.inner, geom.Translate(geom.Vec{X: 0.6, Y: 0.6}))
		}},
		{"a notch that was not copied", "facing_marks", func(f *faced) { f.q.Marks = nil }},
		{"a notch copied to the wrong place", "facing_marks", func(f *faced) { f.q.MarkNamed("front_notch").S += 2 }},
	} {
		broken(t, c.claim, c.rule, func(spoil bool) []inspect.Check {
			w := &work{p: blouse.Make(blouse.Base())}
			a := &facingArgs{Along: []pattern.EdgeRef{{Piece: "front", Edge: "armhole"}}, Width: 40, Name: "facing", Cloth: "main"}
			f := &faced{piece: "front", edges: []string{"armhole"}}
			if err := a.cut(w, f); err != nil {
				t.Fatal(err)
			}
			if spoil {
				c.spoil(f)
			}
			if err := a.lay(w, f.q, []*faced{f}); err != nil {
				t.Fatal(err)
			}
			return w.res.Checks
		})
	}
}

func TestFacingsOfDifferentWidthAtTheirSeamAreFound(t *testing.T) {
	broken(t, "one end cut shorter", "facing_ends", func(spoil bool) []inspect.Check {
		w := &work{p: blouse.Make(blouse.Base())}
		a := &facingArgs{Width: 50, Name: "facing", Cloth: "main"}
		var all []*faced
		for _, n := range []string{"front", "back"} {
			f := &faced{piece: n, edges: []string{"neck"}}
			if err := a.cut(w, f); err != nil {
				t.Fatal(err)
			}
			all = append(all, f)
		}
		ends := a.ends(w, all)
		if len(ends) != 1 {
			t.Fatalf("%d ends", len(ends))
		}
		if err := a.level(w, all, ends[0]); err != nil {
			t.Fatal(err)
		}
		if spoil {
			shortened(&all[0].q, ends[0].ea, 0.4)
		}
		for _, f := range all {
			if err := a.lay(w, f.q, []*faced{f}); err != nil {
				t.Fatal(err)
			}
		}
		a.sewEnds(w, all[0].q.Name, all[1].q.Name, ends[0])
		return w.res.Checks
	})
}

func TestASpoiledBandCollarBreaksItsPromise(t *testing.T) {
	for _, c := range []struct {
		claim, rule string
		spoil       func(q *pattern.Piece)
	}{
		{"a seam cut short", "collar_length", func(q *pattern.Piece) { shortened(q, "neck_edge", 0.5) }},
		{"a band that narrows", "collar_height", func(q *pattern.Piece) { moveEdge(q, "upper_edge", geom.RotateAbout(geom.Pt(0, 30), -0.01)) }},
		{"a band that leans at the centre back", "collar_square", func(q *pattern.Piece) { moveEdge(q, "centre_back", geom.RotateAbout(geom.Pt(0, 0), 0.03)) }},
	} {
		broken(t, c.claim, c.rule, func(spoil bool) []inspect.Check {
			w := &work{p: blouse.Make(blouse.Base())}
			a := &bandCollarArgs{Front: "front", Back: "back", Neck: "neck", Shoulder: "shoulder", Height: 30, Rise: 15, To: "centre", Name: "collar"}
			long, at, err := a.make(w)
			if err != nil {
				t.Fatal(err)
			}
			q := w.p.PieceNamed("collar")
			if spoil {
				c.spoil(q)
			}
			a.tell(w, q, long, at)
			return w.res.Checks
		})
	}
}

func TestASpoiledButtonStandBreaksItsPromise(t *testing.T) {
	for _, c := range []struct {
		claim, rule string
		spoil       func(q *pattern.Piece, st *stand)
	}{
		{"a stand that narrows", "stand_width", func(q *pattern.Piece, st *stand) {
			moveEdge(q, st.edge, geom.RotateAbout(q.Edges[q.EdgeNamed(st.edge)].Path.Start(), 0.002))
		}},
		{"buttons all set lower", "button_at_fullest", func(q *pattern.Piece, st *stand) {
			for _, n := range st.buttons {
				m := q.MarkNamed(n)
				m.At = m.At.Add(st.down.Mul(3))
			}
		}},
		{"a button set by eye", "buttons_even", func(q *pattern.Piece, st *stand) {
			m := q.MarkNamed(st.buttons[1])
			m.At = m.At.Add(st.down.Mul(1))
		}},
		{"a neck cut shorter", "stand_kept", func(q *pattern.Piece, _ *stand) { shortened(q, "shoulder", 0.5) }},
	} {
		broken(t, c.claim, c.rule, func(spoil bool) []inspect.Check {
			w := &work{p: blouse.Make(blouse.Base())}
			a := &standArgs{Piece: "front", Edge: "centre_front", Neck: "neck", Button: 15, Spacing: 80, Bottom: 90, Holes: "across", Thick: 3, Lap: "right"}
			was, st, err := a.make(w)
			if err != nil {
				t.Fatal(err)
			}
			q := w.p.PieceNamed("front")
			if spoil {
				c.spoil(q, &st)
			}
			a.tell(w, &was, q, &st)
			return w.res.Checks
		})
	}
}
