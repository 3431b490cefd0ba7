package sheet_test

import (
	"fmt"
	"math"
	"testing"

	"sizerun/internal/geom"
	"sizerun/internal/sheet"
)

// band is a strip that all sizes share but for its length, with notches along its edge, and dots and match squares
// this far apart from size to size, mm.
func band(sizes int, apart float64) sheet.Job {
	p := sheet.Piece{Name: "band", Lines: []string{"Band"}}
	for i := range sizes {
		k := float64(i)
		x := 400 + 40*k
		d := sheet.Drawn{
			Cut:   geom.Polyline(geom.Pt(0, 0), geom.Pt(x, 0), geom.Pt(x, 120), geom.Pt(0, 120), geom.Pt(0, 0)),
			Grain: [2]geom.Point{geom.Pt(20, 20), geom.Pt(20, 90)},
		}
		for n := range 3 {
			at := float64(n+1) * x / 5
			d.Notches = append(d.Notches, geom.Polyline(geom.Pt(at, -2.5), geom.Pt(at, 5)))
		}
		d.Dots = append(d.Dots, geom.Pt(200, 40+apart*k))
		d.Squares = append(d.Squares, sheet.Square{At: geom.Pt(260, 40+apart*k), Dir: geom.Vec{X: 1, Y: 1}})
		p.Sizes = append(p.Sizes, d)
	}
	return job(sizes, p)
}

// marks lists what each size draws of a kind on a page.
func marks(d sheet.Document, pg sheet.Page, kind sheet.Kind) map[int][]geom.Path {
	out := map[int][]geom.Path{}
	for _, u := range pg.Items {
		if u.Use == nil || u.Layer < 0 {
			continue
		}
		for _, it := range d.Forms[u.Use.Form].Items {
			if it.Stroke != nil && it.Stroke.Kind == kind {
				for _, p := range it.Stroke.Paths {
					out[u.Layer] = append(out[u.Layer], p.Transform(geom.Translate(u.Use.Move)))
				}
			}
		}
	}
	return out
}

// In black and white nothing but its name tells which of twelve marks on one line is whose: each name stands
// nearest to a mark of its own size.
func TestMarksThatStandCloseBearTheirSizes(t *testing.T) {
	for _, apart := range []float64{2.2, 4, 8} {
		j := band(12, apart)
		d, paper := lay(t, j, "A0", sheet.Options{})
		audit(t, d, paper)
		named := map[string]int{}
		for _, pg := range d.Pages {
			for _, it := range pg.Items {
				if it.Text == nil || it.Layer < 0 || it.Text.Face == sheet.Bold {
					continue
				}
				mid := it.Text.At.Add(geom.Vec{Y: 0.25 * it.Text.Size}.Rotate(it.Text.Angle))
				best, whose, kind := math.Inf(1), -1, ""
				for name, k := range map[string]sheet.Kind{"notch": sheet.NotchLine, "dot": sheet.DotMark, "square": sheet.SquareMark} {
					for size, paths := range marks(d, pg, k) {
						for _, p := range paths {
							if _, far := p.Project(mid); far < best {
								best, whose, kind = far, size, name
							}
						}
					}
				}
				if whose != it.Layer || it.Text.S != j.Sizes[whose] {
					t.Errorf("%.1f mm apart: the name %s stands by a %s of size %s", apart, it.Text.S, kind, j.Sizes[whose])
				}
				named[kind]++
			}
		}
		if named["dot"] < 11 || named["square"] < 11 || named["notch"] < 24 {
			t.Errorf("%.1f mm apart: %v are named of 12 dots, 12 squares and 36 notches", apart, named)
		}
	}
}

// Marks of neighbouring sizes do not lie on each other while there is room for smaller ones; one size alone, or
// sizes that stand well apart, have marks of the usual size.
func TestMarksAreAsLargeAsTheirNeighboursLet(t *testing.T) {
	wide := func(sizes int, apart float64, kind sheet.Kind) float64 {
		d, _ := lay(t, band(sizes, apart), "A0", sheet.Options{})
		var b geom.Rect
		for _, p := range marks(d, d.Pages[0], kind)[0] {
			b = p.Bounds()
		}
		return b.H()
	}
	for _, c := range []struct {
		sizes         int
		apart         float64
		least, within float64
		kind          sheet.Kind
	}{
		{1, 2, 3, 3.01, sheet.DotMark},
		{6, 20, 3, 3.01, sheet.DotMark},
		{6, 2.2, 1.6, 2.2, sheet.DotMark},
		{1, 2, 5 * math.Sqrt2, 5*math.Sqrt2 + 0.01, sheet.SquareMark},
		{6, 3, 3, 2 * 3, sheet.SquareMark},
	} {
		if h := wide(c.sizes, c.apart, c.kind); h < c.least-0.01 || h > c.within {
			t.Errorf("%s: %.2f mm", fmt.Sprint(c), h)
		}
	}
}
