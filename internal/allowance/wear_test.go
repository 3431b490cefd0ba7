package allowance

import (
	"math"
	"testing"

	sf "github.com/peterstace/simplefeatures/geom"

	"sizerun/internal/geom"
	"sizerun/internal/pattern"
	"sizerun/internal/testkit/blouse"
)

// shop is how a small shop would sew the blouse: seams at 5/8 in, a narrow neck, a hem turned twice, a hem turned once.
func shop() pattern.Allowances {
	return pattern.Allowances{Default: width(15.875), Edges: map[string]pattern.Allowance{
		"*.neck": width(6), "front.hem": {Width: 20, Turned: 1}, "back.hem": {Width: 20, Turned: 1}, "sleeve.hem": {Width: 12.7, Turned: 2},
	}}
}

func polygon(p geom.Path) sf.Geometry {
	var xy []float64
	for _, q := range p.Flatten(0.001) {
		xy = append(xy, q.X, q.Y)
	}
	xy[len(xy)-2], xy[len(xy)-1] = xy[0], xy[1]
	return sf.NewPolygon([]sf.LineString{sf.NewLineString(sf.NewSequence(xy, sf.DimXY))}).AsGeometry()
}

func TestBlouseIsCutInEverySize(t *testing.T) {
	for _, pat := range blouse.Run() {
		for i := range pat.Pieces {
			p := &pat.Pieces[i]
			out, err := Make(pat.Size, p, shop())
			if err != nil {
				t.Fatalf("size %s, %s: %v", pat.Size, p.Name, err)
			}
			// Second opinion: the cut line holds the seam line, and the ring between them has the area that is left.
			cut, seam := polygon(out.Cut), polygon(p.Outline())
			lost, err := sf.Difference(seam, cut)
			if err != nil {
				t.Fatal(err)
			}
			if a := lost.Area(); a > 1e-2 {
				t.Errorf("size %s, %s: %g mm² of the piece lie outside the cut line", pat.Size, p.Name, a)
			}
			ring, err := sf.Difference(cut, seam)
			if err != nil {
				t.Fatal(err)
			}
			if want := out.Cut.Area() - p.Outline().Area(); math.Abs(ring.Area()-want) > 0.5 {
				t.Errorf("size %s, %s: the allowance covers %.2f mm², areas differ by %.2f", pat.Size, p.Name, ring.Area(), want)
			}
			for _, n := range out.Notches {
				if _, d := out.Cut.Project(n.Cut); d > 1e-6 {
					t.Errorf("size %s, %s: notch %s lies %g off the cut line", pat.Size, p.Name, n.Name, d)
				}
			}
			for _, e := range p.Edges {
				w := out.Widths[e.Name]
				l := e.Path.Length()
				st := out.stretch(e.Name, "")
				for k := 1; k < 20 && st != nil; k++ {
					// In the middle of an edge, away from corners, the allowance is the width.
					s := l * float64(k) / 20
					if s < 40 || l-s < 40 {
						continue
					}
					if _, d := out.Cut.Project(e.Path.PointAt(s)); math.Abs(d-w) > 0.02 {
						t.Errorf("size %s, %s.%s: %.3f mm wide at %.0f, want %g", pat.Size, p.Name, e.Name, d, s, w)
					}
				}
			}
		}
	}
}

func TestBlouseDrawnByItsCutLinesComesBack(t *testing.T) {
	worst := 0.0
	for _, pat := range blouse.Run() {
		for i := range pat.Pieces {
			p := &pat.Pieces[i]
			a := pattern.Allowances{Default: width(15.875), Limit: 10}
			out, err := Make(pat.Size, p, a)
			if err != nil {
				t.Fatalf("size %s, %s: %v", pat.Size, p.Name, err)
			}
			back, err := SeamFromCut(pat.Size, drawnCut(p, out), map[string]float64{"": 15.875})
			if err != nil {
				t.Fatalf("size %s, %s: %v", pat.Size, p.Name, err)
			}
			for k, e := range back.Edges {
				for s := 0; s <= 40; s++ {
					_, d := p.Edges[k].Path.Project(e.Path.PointAt(e.Path.Length() * float64(s) / 40))
					worst = math.Max(worst, d)
				}
				worst = math.Max(worst, e.Path.Start().Dist(p.Edges[k].Path.Start()))
			}
		}
	}
	t.Logf("out and in again over the run: worst %.4f mm", worst)
	if worst > 0.02 {
		t.Errorf("worst %.4f mm, want 0.02", worst)
	}
}

func BenchmarkMake(b *testing.B) {
	pat := blouse.Make(blouse.Base())
	a := shop()
	for i := range pat.Pieces {
		p := &pat.Pieces[i]
		b.Run(p.Name, func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				if _, err := Make("14", p, a); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}

func BenchmarkSeamFromCut(b *testing.B) {
	pat := blouse.Make(blouse.Base())
	inc := map[string]float64{"": 15.875}
	for b.Loop() {
		if _, err := SeamFromCut("14", &pat.Pieces[0], inc); err != nil {
			b.Fatal(err)
		}
	}
}
