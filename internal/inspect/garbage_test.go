package inspect_test

import (
	"math"
	"testing"

	"sizerun/internal/allowance"
	"sizerun/internal/geom"
	"sizerun/internal/inspect"
	"sizerun/internal/pattern"
	"sizerun/internal/testkit/blouse"
)

// Whatever a pattern is, the report holds ordinary numbers, and never passes it for sound.
func TestAPatternWithoutSenseIsReportedNotFallenOver(t *testing.T) {
	nan := math.NaN()
	for claim, p := range map[string]pattern.Pattern{
		"a piece without edges":      {Size: "14", Pieces: []pattern.Piece{{Name: "a"}}},
		"an edge without a path":     {Size: "14", Pieces: []pattern.Piece{{Name: "a", Edges: []pattern.Edge{{Name: "e"}, {Name: "f"}}}}},
		"a seam without edges":       {Size: "14", Seams: []pattern.Seam{{Name: "s", Cap: true, SmoothStart: true}}},
		"a piece that is one point":  {Size: "14", Pieces: []pattern.Piece{{Name: "a", Edges: []pattern.Edge{{Name: "e", Path: geom.Polyline(geom.Pt(1, 1), geom.Pt(1, 1))}}}}},
		"coordinates that are none":  {Size: "14", Pieces: []pattern.Piece{{Name: "a", Edges: []pattern.Edge{{Name: "e", Path: geom.Polyline(geom.Pt(nan, 1), geom.Pt(1, nan), geom.Pt(nan, 1))}}, Marks: []pattern.Mark{{Name: "m", At: geom.Pt(nan, nan)}}}}},
		"a mark far along its edge":  {Size: "14", Pieces: []pattern.Piece{{Name: "a", Edges: []pattern.Edge{{Name: "e", Path: geom.Polyline(geom.Pt(0, 0), geom.Pt(9, 0), geom.Pt(0, 9), geom.Pt(0, 0))}}, Marks: []pattern.Mark{{Name: "m", Edge: "e", S: 1e9}}}}},
		"a seam over a broken piece": {Size: "14", Pieces: []pattern.Piece{{Name: "a", Edges: []pattern.Edge{{Name: "e"}}}}, Seams: []pattern.Seam{{Name: "s", Cap: true, SmoothStart: true, SmoothEnd: true, Sew: []pattern.EdgeRef{{Piece: "a", Edge: "e"}}, To: []pattern.EdgeRef{{Piece: "a", Edge: "e", Against: true}}}}},
	} {
		t.Run(claim, func(t *testing.T) {
			s := inspect.Sized{Pattern: p, Cut: []allowance.Piece{{Name: "a"}}}
			r := inspect.Run([]inspect.Sized{s, s, s}, blouse.Chart(), inspect.Options{})
			for _, c := range r.Checks {
				if math.IsNaN(c.Measured) || math.IsInf(c.Measured, 0) || math.IsNaN(c.Want.Min) || math.IsInf(c.Want.Max, 0) || c.Verdict == "" {
					t.Errorf("%+v", c)
				}
			}
			if r.Fail == 0 {
				t.Error("nothing failed")
			}
		})
	}
}
