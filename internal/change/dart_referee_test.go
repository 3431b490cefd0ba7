package change_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"sizerun/internal/geom"
	"sizerun/internal/pattern"
)

// Second implementations of what becomes of a dart, on sampled outlines, with nothing but rulers and pins.

// walkRound samples an outline from a corner round to it again, without the edges named.
func walkRound(q *pattern.Piece, first string, n int, without ...string) (pts poly, edge []string) {
	k := q.EdgeNamed(first)
	for i := range q.Edges {
		e := &q.Edges[(k+i)%len(q.Edges)]
		skip := false
		for _, w := range without {
			skip = skip || e.Name == w
		}
		if skip {
			continue
		}
		for j := range n + 1 {
			pts, edge = append(pts, e.Path.PointAt(e.Path.Length()*float64(j)/float64(n))), append(edge, e.Name)
		}
	}
	return pts, edge
}

// The front is pinned at the bust point, slashed from the hem, and its side swung until the dart is shut: all
// but the rounded closed seam and the opened hem lies where paper lies.
func TestADartIntoFlareAgreesWithPaperSwungAboutAPin(t *testing.T) {
	worst, judged := 0.0, 0
	dartFronts(t, 31, 40, func(r *rand.Rand, p pattern.Pattern, o darts) {
		f := p.PieceNamed("front")
		along := (0.25 + 0.5*r.Float64()) * lengthOf(f, "hem")
		res, ok := attempt(t, p, "dart_to_flare", "piece", "front", "bust", "bust_point", "to", obj("edge", "hem", "along", along))
		if !ok {
			return
		}
		judged++
		pin := f.MarkNamed("bust_point").At
		a, b := f.Edges[f.EdgeNamed("dart_upper")].Path.Start(), f.Edges[f.EdgeNamed("dart_lower")].Path.End()
		turn := math.Atan2(a.Y-pin.Y, a.X-pin.X) - math.Atan2(b.Y-pin.Y, b.X-pin.X)
		c, s := math.Cos(turn), math.Sin(turn)
		swing := func(q geom.Point) geom.Point {
			x, y := q.X-pin.X, q.Y-pin.Y
			return geom.Pt(pin.X+x*c-y*s, pin.Y+x*s+y*c)
		}
		out := res.Pattern.PieceNamed("front").Outline()
		pts, edge := walkRound(f, "side_lower", 40, "dart_upper", "dart_lower")
		hem := f.Edges[f.EdgeNamed("hem")].Path
		swung := true // the fold stays; from the dart's lower leg to the slash the paper swings
		for i, q := range pts {
			if edge[i] == "hem" {
				swung = hem.Start().Dist(q) < hem.Start().Dist(hem.PointAt(along))
			} else if edge[i] != "side_lower" {
				swung = false
			}
			if q.Dist(a) < 45 || q.Dist(b) < 45 {
				continue // where the closed seam is rounded
			}
			if swung {
				q = swing(q)
			}
			_, off := out.Project(q)
			worst = math.Max(worst, off)
		}
	})
	t.Logf("%d judged, %.2g mm off", judged, worst)
	if judged < 20 || worst > 1e-6 {
		t.Errorf("%d judged, %.6f mm off", judged, worst)
	}
}

// A front cut with scissors from the bust dart to another edge is two panels that lie where they lay: together
// they have its outline and its area, without the dart.
func TestPanelsAgreeWithAFrontCutWithScissors(t *testing.T) {
	worst, area, judged := 0.0, 0.0, 0
	dartFronts(t, 32, 60, func(r *rand.Rand, p pattern.Pattern, o darts) {
		f := p.PieceNamed("front")
		edge := []string{"shoulder", "armhole", "neck", "hem"}[r.IntN(4)]
		res, ok := attempt(t, p, "panel", "piece", "front", "round", 0, "to", obj("edge", edge, "along", (0.2+0.6*r.Float64())*lengthOf(f, edge)))
		if !ok {
			return
		}
		judged++
		x, y := res.Pattern.PieceNamed("front_centre"), res.Pattern.PieceNamed("front_side")
		outs := []geom.Path{x.Outline(), y.Outline()}
		pts, _ := walkRound(f, "side_lower", 60, "dart_upper", "dart_lower") // the legs follow the mouth
		for _, q := range pts {
			if q.Dist(f.Edges[f.EdgeNamed("dart_upper")].Path.Start()) < 45 || q.Dist(f.Edges[f.EdgeNamed("dart_lower")].Path.End()) < 45 {
				continue // where the side seam is trued over the mouth
			}
			_, d0 := outs[0].Project(q)
			_, d1 := outs[1].Project(q)
			worst = math.Max(worst, math.Min(d0, d1))
		}
		sum := sample(outs[0], 60).area() + sample(outs[1], 60).area()
		area = math.Max(area, math.Abs(sum-sample(f.Outline(), 60).area()))
	})
	t.Logf("%d judged: outlines %.2g mm off, areas %.2g mm²", judged, worst, area)
	if judged < 25 || worst > 1e-6 || area > 30 {
		t.Errorf("%d judged: outlines %.6f mm off, areas %.3f mm²", judged, worst, area)
	}
}
