package change

import (
	"testing"

	"sizerun/internal/geom"
	"sizerun/internal/pattern"
)

// slope is a board whose top rises to the right, with one knife pleat in its middle.
func slope(t *testing.T, right bool) pleated {
	t.Helper()
	p := pattern.Piece{Name: "slope", Cut: pattern.Cut{Count: 1}, Grain: [2]geom.Point{geom.Pt(20, 50), geom.Pt(20, 150)}}
	c := []geom.Point{geom.Pt(0, 0), geom.Pt(200, 0), geom.Pt(200, 260), geom.Pt(0, 200)}
	for i, n := range []string{"hem", "right", "top", "left"} {
		e := pattern.Edge{Name: n, From: n + "_begins", Path: geom.Polyline(c[i], c[(i+1)%4])}
		e.Src = pattern.Source{Piece: "slope", Edge: n, S1: e.Path.Length()}
		p.Edges = append(p.Edges, e)
	}
	for i := range p.Edges {
		p.Edges[i].To = p.Edges[(i+1)%4].From
	}
	f := pleating{p: &p, top: []int{2}, hem: []int{0}, x: geom.Vec{X: 1}, name: "pleat", tucks: []tuck{{100, right, 30}}}
	r, err := f.pleat()
	if err != nil {
		t.Fatal(err)
	}
	l := r.lets[0]
	for n, x := range map[string]geom.Path{"pleat_1_fold": l.fold, "pleat_1_to": l.to, "pleat_1_under": l.under} {
		r.piece.Lines = append(r.piece.Lines, pattern.InnerLine{Name: n, Path: x})
	}
	return r
}

// A top that rises by 3 in 10 towards the right, pleated 30 mm deep: the underlay's middle ends 9 mm lower under the left
// part, and 9 mm higher under the right one, than the fold (by similar triangles).
func TestAnUnderlayEndsWhereWhatCoversItEnds(t *testing.T) {
	for right, want := range map[bool]float64{false: 230 - 9, true: 230 + 9} {
		r := slope(t, right)
		if y := r.lets[0].under.Start().Y; y < want-1e-9 || y > want+1e-9 {
			t.Errorf("the middle of the underlay ends at %.4f, want %.1f", y, want)
		}
		if off := foldedOff(&r.piece, geom.Vec{X: 1}, "pleat", []tuck{{100, right, 30}}); off > 0.01 {
			t.Errorf("off by %.4f mm", off)
		}
	}
}

// The promise can be broken: each of these pleats is spoiled in one way.
func TestASpoiledPleatDoesNotFoldBack(t *testing.T) {
	for claim, spoil := range map[string]func(p *pattern.Piece){
		"a top cut straight over the underlay": func(p *pattern.Piece) {
			for _, n := range []string{"pleat_1_under", "pleat_1_under_2"} {
				e := &p.Edges[p.EdgeNamed(n)]
				a, b := e.Path.Start(), e.Path.End()
				a.Y, b.Y = 230, 230
				e.Path = geom.Polyline(a, b)
			}
		},
		"a fold line drawn 2 mm off": func(p *pattern.Piece) {
			p.Lines[0].Path = p.Lines[0].Path.Transform(geom.Translate(geom.Vec{X: 2}))
			p.Lines[1].Path = p.Lines[1].Path.Transform(geom.Translate(geom.Vec{X: 2}))
			p.Lines[2].Path = p.Lines[2].Path.Transform(geom.Translate(geom.Vec{X: -2}))
		},
		"a line forgotten": func(p *pattern.Piece) { p.Lines = p.Lines[:2] },
	} {
		r := slope(t, false)
		spoil(&r.piece)
		if off := foldedOff(&r.piece, geom.Vec{X: 1}, "pleat", []tuck{{100, false, 30}}); off < 0.1 {
			t.Errorf("%s: %.4f mm passes", claim, off)
		}
	}
}
