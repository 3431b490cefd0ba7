package pattern

import (
	"testing"

	"sizerun/internal/geom"
)

// A band, a pocket, a half ring and a strip on the bias are their own mirror images; a sleeve half, a band with one
// notch aside, one with a slanting line or with hems at one corner are not.
func TestAPieceThatIsItsOwnMirrorImage(t *testing.T) {
	piece := func(grain geom.Vec, pts ...geom.Point) Piece {
		p := Piece{Name: "band", Grain: [2]geom.Point{geom.Pt(5, 5), geom.Pt(5, 5).Add(grain)}}
		for i := range pts {
			p.Edges = append(p.Edges, Edge{Name: string(rune('a' + i)), Path: geom.Polyline(pts[i], pts[(i+1)%len(pts)])})
		}
		return p
	}
	up, bias := geom.Vec{Y: 10}, geom.Vec{X: 10, Y: 10}
	box := func(g geom.Vec) Piece {
		return piece(g, geom.Pt(0, 0), geom.Pt(200, 0), geom.Pt(200, 40), geom.Pt(0, 40))
	}
	notched := func(at ...float64) Piece {
		p := box(up)
		for i, x := range at {
			p.Marks = append(p.Marks, Mark{Kind: Notch, Count: 1, Name: string(rune('m' + i)), Edge: "a", S: x, At: geom.Pt(x, 0)})
		}
		return p
	}
	double := notched(50, 150)
	double.Marks[0].Count = 2
	hemmed := box(up)
	hemmed.Edges[0].Own, hemmed.Edges[1].Own = &Allowance{Width: 20, Turned: 1}, &Allowance{Width: 20, Turned: 1}
	lined := box(up)
	lined.Lines = []InnerLine{{Name: "lap_line", Path: geom.Polyline(geom.Pt(170, 0), geom.Pt(180, 40))}}
	folded := box(up)
	folded.Lines = []InnerLine{{Name: "fold_line", Path: geom.Polyline(geom.Pt(0, 20), geom.Pt(200, 20))}}
	ring := Piece{Grain: [2]geom.Point{geom.Pt(0, -55), geom.Pt(0, -85)}}
	in, out := geom.Arc(geom.Pt(0, 0), 50, 6.283185307179586, 3.141592653589793), geom.Arc(geom.Pt(0, 0), 90, 3.141592653589793, 6.283185307179586)
	for i, e := range []geom.Path{in, geom.Polyline(in.End(), out.Start()), out, geom.Polyline(out.End(), in.Start())} {
		ring.Edges = append(ring.Edges, Edge{Name: string(rune('a' + i)), Path: e})
	}
	for claim, c := range map[string]struct {
		p    Piece
		want bool
	}{
		"a rectangle":                       {box(up), true},
		"a rectangle on the true bias":      {box(bias), true},
		"a pointed pocket":                  {piece(up, geom.Pt(0, 0), geom.Pt(50, -20), geom.Pt(100, 0), geom.Pt(100, 80), geom.Pt(0, 80)), true},
		"a half ring":                       {ring, true},
		"a band with notches alike":         {notched(50, 150), true},
		"a fold line along its middle":      {folded, true},
		"a band with one notch aside":       {notched(60), false},
		"single and double notch":           {double, false},
		"a slanting line":                   {lined, false},
		"two hems at a corner":              {hemmed, false},
		"half a sleeve":                     {piece(up, geom.Pt(0, 0), geom.Pt(100, 0), geom.Pt(120, 80), geom.Pt(0, 130)), false},
		"a rectangle whose grain is aslant": {box(geom.Vec{X: 10, Y: 4}), false},
		"nothing":                           {Piece{}, false},
	} {
		if got := c.p.Alike(); got != c.want {
			t.Errorf("%s: %v", claim, got)
		}
	}
}

func BenchmarkAlike(b *testing.B) {
	pts := []geom.Point{geom.Pt(0, 0), geom.Pt(200, 0), geom.Pt(200, 40), geom.Pt(0, 40)}
	p := Piece{Grain: [2]geom.Point{geom.Pt(5, 5), geom.Pt(5, 15)}}
	for i := range pts {
		p.Edges = append(p.Edges, Edge{Name: string(rune('a' + i)), Path: geom.Polyline(pts[i], pts[(i+1)%4])})
	}
	for b.Loop() {
		p.Alike()
	}
}
