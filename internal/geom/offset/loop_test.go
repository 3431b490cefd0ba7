package offset

import (
	"math"
	"testing"

	"sizerun/internal/geom"
)

func polygonEdges(w float64, pts ...geom.Point) []Edge {
	var out []Edge
	for i := range pts {
		out = append(out, Edge{geom.Polyline(pts[i], pts[(i+1)%len(pts)]), w})
	}
	return out
}

func TestMitredRectangleIsALargerRectangle(t *testing.T) {
	e := polygonEdges(10, pt(0, 0), pt(100, 0), pt(100, 60), pt(0, 60))
	r, err := Loop(e, nil, 0)
	if err != nil {
		t.Fatal(err)
	}
	if len(r.Path) != 4 || math.Abs(r.Path.Area()-120*80) > 1e-9 {
		t.Errorf("%d segs, area %g: %v", len(r.Path), r.Path.Area(), r.Path)
	}
	e = polygonEdges(-10, pt(0, 0), pt(100, 0), pt(100, 60), pt(0, 60))
	r, err = Loop(e, nil, 0)
	if err != nil {
		t.Fatal(err)
	}
	if len(r.Path) != 4 || math.Abs(r.Path.Area()-80*40) > 1e-9 {
		t.Errorf("%d segs, area %g: %v", len(r.Path), r.Path.Area(), r.Path)
	}
	_, err = Loop(polygonEdges(-31, pt(0, 0), pt(100, 0), pt(100, 60), pt(0, 60)), nil, 0)
	t.Log(err)
	if err == nil {
		t.Error("must vanish")
	}
}
