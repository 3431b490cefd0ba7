package change

import (
	"math"
	"testing"

	"sizerun/internal/geom"
	"sizerun/internal/pattern"
)

// Every promise of tucks can be broken: each of these is spoiled in one way.
func TestSpoiledTucksBreakTheirPromise(t *testing.T) {
	edge := func(p *pattern.Piece, n string) *pattern.Edge { return &p.Edges[p.EdgeNamed(n)] }
	for claim, c := range map[string]struct {
		rule  string
		spoil func(w *work, p *pattern.Piece)
	}{
		"a tuck drawn narrower": {"tuck_intake", func(_ *work, p *pattern.Piece) {
			e := edge(p, "d_tuck_2_return")
			e.Path = e.Path.Sub(0, e.Path.Length()-0.4)
		}},
		"one wider, one narrower": {"tuck_even", func(_ *work, p *pattern.Piece) {
			u, v := edge(p, "d_tuck_1_return"), edge(p, "d_tuck_2_return")
			u.Path, v.Path = u.Path.Sub(0, u.Path.Length()-0.4), runOut(v.Path, 0, 0.4)
		}},
		"an underlay that peeps out": {"tuck_fold", func(_ *work, p *pattern.Piece) { bulge(p, "d_tuck_3_under", 1) }},
		"stitching lines drawn aslant": {"tuck_smooth", func(_ *work, p *pattern.Piece) {
			for i := range p.Lines {
				if l := &p.Lines[i]; l.Name == "d_tuck_2_second" {
					l.Path = geom.Polyline(l.Path.Start(), l.Path.End().Add(geom.Vec{Y: 6}))
				}
			}
		}},
		"a line that is not drawn": {"tuck_fold", func(_ *work, p *pattern.Piece) { p.Lines = p.Lines[1:] }},
		"a seam that no longer matches": {"tuck_seam", func(w *work, _ *pattern.Piece) {
			q := w.p.PieceNamed("other")
			q.Edges[0].Path = q.Edges[0].Path.Sub(0, q.Edges[0].Path.Length()-0.3)
		}},
		"an edge that was stretched": {"dart_lengths", func(_ *work, p *pattern.Piece) { bulge(p, "left_upper", 9) }},
		"a mark that was forgotten":  {"dart_marks", func(_ *work, p *pattern.Piece) { p.Marks = nil }},
	} {
		sq := dartedSquare()
		// With the dart shut its side is straight.
		low := geom.RotateAbout(geom.Pt(100, 150), 2*math.Atan(0.15)).Apply(geom.Pt(0, 30))
		sq.Edges[6].Path, sq.Edges[0].Path = geom.Polyline(geom.Pt(0, 135), low), geom.Polyline(low, geom.Pt(200, 0))
		for i := range sq.Edges {
			sq.Edges[i].Src.S1 = sq.Edges[i].Path.Length()
		}
		sq.Marks = []pattern.Mark{{Kind: pattern.Dot, Name: "pocket", At: geom.Pt(150, 60)}}
		l := sq.Edges[3].Path.Length() + sq.Edges[6].Path.Length()
		other := newPiece("other", "Other", pattern.Cut{Count: 1}, pattern.Edge{Name: "side", From: "a", Path: geom.Polyline(geom.Pt(0, 0), geom.Pt(l, 0))},
			pattern.Edge{Name: "x", From: "b", Path: geom.Polyline(geom.Pt(l, 0), geom.Pt(0, 50))}, pattern.Edge{Name: "y", From: "c", Path: geom.Polyline(geom.Pt(0, 50), geom.Pt(0, 0))})
		seam := pattern.Seam{Name: "side", Sew: []pattern.EdgeRef{{Piece: "square", Edge: "left_upper"}, {Piece: "square", Edge: "left_lower"}}, To: []pattern.EdgeRef{{Piece: "other", Edge: "side", Against: true}}}
		w := &work{p: pattern.Pattern{Pieces: []pattern.Piece{sq, other}, Seams: []pattern.Seam{seam}}}
		a := &dartToTucksArgs{Piece: "square", Number: 3, Length: 40, Apart: 15, Fall: "parallel", Towards: "usual"}
		k, err := a.make(w)
		if err != nil {
			t.Fatal(err)
		}
		a.promises(w, k)
		if bad := failing(w); len(bad) > 0 {
			t.Fatalf("%s: fails before it is spoiled: %v", claim, bad)
		}
		w.res.Checks = nil
		c.spoil(w, w.p.PieceNamed("square"))
		a.promises(w, k)
		if !failing(w)[c.rule] {
			t.Errorf("%s: %s passes: %+v", claim, c.rule, w.res.Checks)
		}
	}
}
