package change

import (
	"math"
	"strings"
	"testing"

	"sizerun/internal/geom"
	"sizerun/internal/pattern"
)

// plate is a board with a slanting, curved top and two marks, its grain aslant.
func plate() pattern.Piece {
	p := pattern.Piece{Name: "plate", Cut: pattern.Cut{Count: 1, Cloth: "main"}, Grain: [2]geom.Point{geom.Pt(40, 40), geom.Pt(60, 160)}, Align: geom.Pt(10, 10)}
	c := []geom.Point{geom.Pt(0, 0), geom.Pt(200, 0), geom.Pt(210, 260), geom.Pt(0, 200)}
	paths := []geom.Path{geom.Polyline(c[0], c[1]), geom.Polyline(c[1], c[2]), {geom.Cubic(c[2], geom.Pt(150, 240), geom.Pt(60, 260), c[3])}, geom.Polyline(c[3], c[0])}
	for i, n := range []string{"hem", "right", "top", "left"} {
		p.Edges = append(p.Edges, pattern.Edge{Name: n, From: n + "_begins", To: []string{"right", "top", "left", "hem"}[i] + "_begins", Path: paths[i]})
	}
	p.Marks = []pattern.Mark{{Kind: pattern.Notch, Name: "notch", Edge: "top", S: 70, At: paths[2].PointAt(70)}, {Kind: pattern.Dot, Name: "dot", At: geom.Pt(90, 90)}}
	return p
}

// washing is what the shrinkage promise is measured by: it must see a wrong share, a mark left behind, an edge redrawn.
func TestWashingSeesWhatIsWrong(t *testing.T) {
	for claim, c := range map[string]struct {
		warp  float64
		spoil func(p *pattern.Piece)
		wrong bool
	}{
		"as it should be":    {0.05, func(*pattern.Piece) {}, false},
		"another share":      {0.06, func(*pattern.Piece) {}, true},
		"a mark left behind": {0.05, func(p *pattern.Piece) { p.Marks[1].At = geom.Pt(90, 90) }, true},
		"an edge drawn again": {0.05, func(p *pattern.Piece) {
			p.Edges[2].Path = geom.Polyline(p.Edges[2].Path.Start(), p.Edges[2].Path.End())
		}, true},
	} {
		was := plate()
		o := was.Align.Sub(geom.Point{})
		m := geom.Translate(o.Neg()).Then(along(was.Grain[1].Sub(was.Grain[0]), 1/0.95, 1/0.98)).Then(geom.Translate(o))
		now := scaled(was, m)
		c.spoil(&now)
		a := shrinkageArgs{Warp: c.warp, Weft: 0.02}
		edges, marks := a.washed(&was, &now)
		if off := math.Max(edges, marks); (off > 0.1) != c.wrong {
			t.Errorf("%s: edges off by %.4f mm, marks by %.4f mm", claim, edges, marks)
		}
	}
}

func TestCircumradius(t *testing.T) {
	for _, r := range []float64{3, 120, 4000} {
		p := geom.Arc(geom.Pt(7, -2), r, 0.4, 1.1)
		if got := circumradius(p.Start(), p.PointAt(p.Length()/3), p.End()); math.Abs(got-r) > 1e-5*r {
			t.Errorf("%.6f, want %g", got, r)
		}
	}
	if circumradius(geom.Pt(0, 0), geom.Pt(1, 1), geom.Pt(2, 2)) != 0 {
		t.Error("a line has a radius")
	}
}

// clearance is what a pocket's promise is measured by, against plain sums over a square.
func TestClearanceOfASquareInASquare(t *testing.T) {
	square := func(x, y, a float64) geom.Path {
		return geom.Polyline(geom.Pt(x, y), geom.Pt(x+a, y), geom.Pt(x+a, y+a), geom.Pt(x, y+a), geom.Pt(x, y))
	}
	for _, c := range []struct{ x, y, want float64 }{{10, 20, 10}, {30, 5, 5}, {-3, 20, -3}, {45, 20, 5}} {
		if got, _ := clearance(square(0, 0, 100), square(c.x, c.y, 50)); math.Abs(got-c.want) > 1e-6 {
			t.Errorf("at %g, %g: %.4f, want %g", c.x, c.y, got, c.want)
		}
	}
}

// An edge is named as people name it: what is one line to a sewer is one word, though darts part it.
func TestARunOfEdgesIsSaidInPlainWords(t *testing.T) {
	piece := func(name string, edges ...string) pattern.Piece {
		p := pattern.Piece{Name: name}
		for _, e := range edges {
			p.Edges = append(p.Edges, pattern.Edge{Name: e})
		}
		p.Darts = []pattern.Dart{{Name: "waist_dart", First: "waist_dart_in", Second: "waist_dart_out"}}
		return p
	}
	w := work{p: pattern.Pattern{Pieces: []pattern.Piece{
		piece("front", "hem", "side", "waist_side", "waist_dart_out", "waist_dart_in", "waist_centre"),
		piece("back", "waist_centre", "waist_dart_out", "waist_dart_in", "waist_side", "side", "hem"),
		piece("sleeve", "hem", "cap_front", "cap_back"),
	}}}
	for want, edges := range map[string][]string{
		"the waist of front and back":                            {"front.waist_centre", "front.waist_side", "back.waist_side", "back.waist_centre"},
		"the waist of front and the waist side of back":          {"front.waist_centre", "front.waist_side", "back.waist_side"},
		"the waist side of front and back":                       {"front.waist_side", "back.waist_side"},
		"the hem of sleeve":                                      {"sleeve.hem"},
		"the waist side and side of front and the cap of sleeve": {"front.waist_side", "front.side", "sleeve.cap_front", "sleeve.cap_back"},
	} {
		var refs []pattern.EdgeRef
		for _, e := range edges {
			p, n, _ := strings.Cut(e, ".")
			refs = append(refs, pattern.EdgeRef{Piece: p, Edge: n})
		}
		if got := w.runSaid(refs); got != want {
			t.Errorf("%q, want %q", got, want)
		}
	}
}

func TestStripsAreTitledAfterTheirNames(t *testing.T) {
	if titled("hem_ruffle") != "Hem ruffle" || several(1, "notch", "notches") != "1 notch" || several(3, "notch", "notches") != "3 notches" || lapped(0) != "" {
		t.Error(titled("hem_ruffle"), several(1, "notch", "notches"), lapped(0))
	}
}
