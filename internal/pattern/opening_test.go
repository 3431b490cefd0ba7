package pattern

import (
	"math"
	"testing"

	"sizerun/internal/geom"
)

// panel is a rectangle 100 wide whose right edge, 300 long, comes from a back's centre.
func panel(name string, s0, s1 float64) Piece {
	p := Piece{Name: name, Edges: []Edge{
		{Name: "hem", From: "a", To: "b", Path: geom.Polyline(geom.Pt(0, 0), geom.Pt(100, 0))},
		{Name: "centre", From: "b", To: "c", Path: geom.Polyline(geom.Pt(100, 0), geom.Pt(100, math.Abs(s1-s0)))},
	}}
	p.Edges[1].Src = Source{Piece: "back", Edge: "centre", S0: s0, S1: s1}
	return p
}

func TestAnOpeningIsFoundOnWhateverTheEdgeBecame(t *testing.T) {
	zip := Opening{Src: Source{Piece: "back", Edge: "centre", S0: 300, S1: 100}} // 200 from the edge's end
	for _, c := range []struct {
		claim   string
		pieces  []Piece
		n       int
		atStart bool
		long    float64
		through bool
	}{
		{"the edge as it was", []Piece{panel("back", 0, 300)}, 1, false, 200, false},
		{"the edge of a mirrored piece", []Piece{panel("back", 300, 0)}, 1, true, 200, false},
		{"cut across below the opening", []Piece{panel("low", 0, 60), panel("high", 60, 300)}, 1, false, 200, false},
		{"cut across through the opening", []Piece{panel("low", 0, 180), panel("high", 180, 300)}, 2, false, 120, false},
		{"all that is left of it is open", []Piece{panel("high", 180, 300)}, 1, false, 120, true},
		{"cut away", []Piece{panel("low", 0, 60)}, 0, false, 0, false},
	} {
		got := zip.Find(&Pattern{Pieces: c.pieces})
		if len(got) != c.n {
			t.Errorf("%s: found %d times", c.claim, len(got))
			continue
		}
		if c.n > 0 && (got[0].AtStart != c.atStart || math.Abs(got[0].Length-c.long) > 1e-9 || got[0].Through != c.through) {
			t.Errorf("%s: %+v", c.claim, got[0])
		}
	}
	p := Pattern{Openings: []Opening{zip}}
	q := p.Clone()
	q.Openings[0].Src.S0 = 1
	if p.Openings[0] != zip {
		t.Error("a clone shares its openings")
	}
}
