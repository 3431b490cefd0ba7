package change_test

import (
	"sizerun/internal/change"
	"sizerun/internal/geom"
	"sizerun/internal/pattern"
)

// rect is a rectangular piece on the bias: bottom, end, top, fold.
func rect(name string, l, h float64) pattern.Piece {
	pts := []geom.Point{geom.Pt(0, 0), geom.Pt(l, 0), geom.Pt(l, h), geom.Pt(0, h)}
	p := pattern.Piece{Name: name, Of: name, Cut: pattern.Cut{Count: 1, Cloth: "main"}, Grain: [2]geom.Point{geom.Pt(30, 2), geom.Pt(62, 34)}}
	for i, n := range []string{"bottom", "end", "top", "middle"} {
		p.Edges = append(p.Edges, pattern.Edge{Name: n, From: n + "_from", To: []string{"end", "top", "middle", "bottom"}[i] + "_from", Path: geom.Polyline(pts[i], pts[(i+1)%4]), Fold: n == "middle"})
	}
	return p
}

// changeBind binds without failing the test.
func changeBind(name string, kv ...any) (change.Bound, error) {
	return tryBind(name, kv...)
}
