package change

import (
	"math"
	"testing"

	"sizerun/internal/geom"
	"sizerun/internal/pattern"
)

// panelSquare is a piece whose side is straight with its dart shut; the line runs on to its centre.
func panelSquare() (*work, *panelArgs) {
	sq := dartedSquare()
	low := geom.RotateAbout(geom.Pt(100, 150), 2*math.Atan(0.15)).Apply(geom.Pt(0, 30))
	sq.Edges[6].Path, sq.Edges[0].Path = geom.Polyline(geom.Pt(0, 135), low), geom.Polyline(low, geom.Pt(200, 0))
	for i := range sq.Edges {
		sq.Edges[i].Src.S1 = sq.Edges[i].Path.Length()
	}
	sq.Marks = []pattern.Mark{{Kind: pattern.Dot, Name: "pocket", At: geom.Pt(150, 60)}}
	return &work{p: pattern.Pattern{Pieces: []pattern.Piece{sq}}}, &panelArgs{Piece: "square", To: &pattern.Place{Edge: "centre", From: "ccentre", Along: 120}, ToAngle: 90,
		Fullness: 0.35, Round: 40, Apart: 30, Line: "panel", Centre: "square_centre", Side: "square_side"}
}

// Every promise of a panel line can be broken: each of these is spoiled in one way, after the panels are cut.
func TestSpoiledPanelsBreakTheirPromise(t *testing.T) {
	for claim, c := range map[string]struct {
		rule  string
		spoil func(l, r *pattern.Piece)
	}{
		"one side of the line stretched":   {"panel_equal", func(l, _ *pattern.Piece) { bulge(l, "panel", 9) }},
		"a panel that lost a strip":        {"panel_whole", func(_, r *pattern.Piece) { bulge(r, "left_lower", -3) }},
		"a panel that gained a strip":      {"panel_whole", func(l, _ *pattern.Piece) { bulge(l, "top", 0.5) }},
		"both edges drawn beside the line": {"panel_round", func(l, r *pattern.Piece) { bulge(l, "panel", 6); bulge(r, "panel", -6) }},
		"a panel's edge cut short":         {"dart_lengths", func(l, _ *pattern.Piece) { bulge(l, "top", 6) }},
		"a mark that was forgotten":        {"dart_marks", func(l, r *pattern.Piece) { l.Marks, r.Marks = nil, nil }},
	} {
		w, a := panelSquare()
		x, err := a.cut(w)
		if err != nil {
			t.Fatal(err)
		}
		a.promises(w, x)
		if bad := failing(w); len(bad) > 0 {
			t.Fatalf("%s: fails before it is spoiled: %v", claim, bad)
		}
		w.res.Checks = nil
		upper, lower := &x.left, &x.right
		if upper.EdgeNamed("top") < 0 {
			upper, lower = lower, upper
		}
		c.spoil(upper, lower)
		a.promises(w, x)
		if !failing(w)[c.rule] {
			t.Errorf("%s: %s passes: %+v", claim, c.rule, w.res.Checks)
		}
	}
}

// A mouth that was trued by cutting cloth away is found.
func TestAMouthTruedTooMuchIsFound(t *testing.T) {
	w, a := panelSquare()
	x, err := a.cut(w)
	if err != nil {
		t.Fatal(err)
	}
	x.l.sum -= 400 // mm2: a strip of 4 mm along 100 mm
	a.promises(w, x)
	if bad := failing(w); !bad["panel_trued"] || !bad["panel_whole"] {
		t.Errorf("only %v", bad)
	}
}
