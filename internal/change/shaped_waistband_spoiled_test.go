package change

import (
	"testing"

	"sizerun/internal/geom"
	"sizerun/internal/pattern"
)

// waisted is a plain box of a skirt, its front on the fold.
func waisted() pattern.Pattern {
	box := func(name, first, third string) pattern.Piece {
		pts := []geom.Point{geom.Pt(0, 0), geom.Pt(240, 0), geom.Pt(240, 500), geom.Pt(0, 500)}
		names := []string{"hem", first, "waist", third}
		p := pattern.Piece{Name: name, Title: name, Of: name, Cut: pattern.Cut{Count: 1, Cloth: "main"}, Grain: [2]geom.Point{geom.Pt(100, 100), geom.Pt(100, 400)}}
		for i, n := range names {
			p.Edges = append(p.Edges, pattern.Edge{Name: n, From: n + "_from", To: names[(i+1)%4] + "_from", Path: geom.Polyline(pts[i], pts[(i+1)%4]), Fold: n == "centre"})
		}
		return p
	}
	return pattern.Pattern{Size: "14", Pieces: []pattern.Piece{box("front", "centre", "side"), box("back", "side", "centre")}, Seams: []pattern.Seam{
		{Name: "side", Sew: []pattern.EdgeRef{{Piece: "front", Edge: "side"}}, To: []pattern.EdgeRef{{Piece: "back", Edge: "side", Against: true}}}}}
}

// A shaped waistband that is made wrong fails its promises.
func TestASpoiledShapedWaistbandFailsItsPromises(t *testing.T) {
	for claim, c := range map[string]struct {
		spoil func(p *pattern.Pattern)
		rules []string
	}{
		"as it should be": {func(*pattern.Pattern) {}, nil},
		"a lower edge too long": {func(p *pattern.Pattern) { bulge(p.PieceNamed("waistband"), "stitched", 9) },
			[]string{"waistband_seam", "waistband_smooth", "waistband_width"}},
		"an upper edge with a corner":  {func(p *pattern.Pattern) { bulge(p.PieceNamed("waistband"), "waist_front", 6) }, []string{"waistband_waist", "waistband_smooth", "waistband_width"}},
		"a skirt that is wider at top": {func(p *pattern.Pattern) { bulge(p.PieceNamed("back"), "waistband", 8) }, []string{"waistband_seam"}},
		"a fold aslant": {func(p *pattern.Pattern) {
			e := &p.PieceNamed("waistband").Edges[p.PieceNamed("waistband").EdgeNamed("middle")]
			e.Path = geom.Polyline(e.Path.Start(), e.Path.End().Add(geom.Vec{X: 3}))
		}, []string{"waistband_square"}},
	} {
		w := &work{change: "shaped_waistband", p: waisted()}
		w.sources()
		a := &shapedArgs{Width: 40, Faced: true, Cut: cutFold, Cloth: "main", Name: "waistband", Open: "start"}
		run, err := w.runOf("/edges", []pattern.EdgeRef{{Piece: "front", Edge: "waist"}, {Piece: "back", Edge: "waist"}})
		if err != nil {
			t.Fatal(err)
		}
		b := shapedBand{mid: 1, as: cutFold, fold: true}
		if b.c, err = w.takeContour(run, a.Name, a.Width); err != nil {
			t.Fatal(err)
		}
		if err := a.draw(&b); err != nil {
			t.Fatal(err)
		}
		a.sew(w, &b)
		if err := w.addPiece("/name", b.piece); err != nil {
			t.Fatal(err)
		}
		c.spoil(&w.p)
		a.promises(w, &b)
		got := failing(w)
		if len(c.rules) == 0 && len(got) > 0 {
			t.Errorf("%s: %v fail", claim, got)
		}
		for _, r := range c.rules {
			if !got[r] {
				t.Errorf("%s: %s passes", claim, r)
			}
		}
	}
}
