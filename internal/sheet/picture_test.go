package sheet_test

import (
	"fmt"
	"reflect"
	"testing"

	"sizerun/internal/geom"
	"sizerun/internal/sheet"
	"sizerun/internal/sheet/sheettest"
)

func picture(t *testing.T, j sheet.Job) sheet.Document {
	t.Helper()
	d, err := sheet.Picture(j, sheettest.Metrics{}, sheet.Options{SeamLines: true})
	if err != nil {
		t.Fatal(err)
	}
	return d
}

// The picture holds what the paper does: no word lies on a line or leaves it, and each size has all its line.
func TestAPictureShowsAllOfTheNest(t *testing.T) {
	for _, n := range []int{1, 3, 12} {
		t.Run(fmt.Sprint(n, " sizes"), func(t *testing.T) {
			j := sheettest.Run(n)
			j.Warning = "Some checks failed: do not sell"
			d := picture(t, j)
			audit(t, d, sheet.Paper{Margin: 0})
			if len(d.Pages) != 1 || len(d.Layers) != n || !says(d, d.Pages[0], j.Warning) {
				t.Fatalf("%d pages, %d layers", len(d.Pages), len(d.Layers))
			}
			got, want := make([]float64, n), make([]float64, n)
			for _, it := range d.Pages[0].Items {
				if it.Use == nil || it.Layer == sheet.NoLayer {
					continue
				}
				for _, fi := range d.Forms[it.Use.Form].Items {
					if fi.Stroke != nil && fi.Stroke.Kind == sheet.CutLine {
						got[it.Layer] += strokeLength([]sheet.Item{fi}, it.Use.Move, it.Use.Clip)
					}
				}
			}
			for _, p := range j.Pieces {
				for k, s := range p.Sizes {
					want[k] += strokeLength([]sheet.Item{{Stroke: &sheet.Stroke{Paths: []geom.Path{s.Cut}}}}, geom.Vec{}, everywhere())
				}
			}
			for k := range want {
				if diff := got[k] - want[k]; diff > 0.05 || diff < -0.05 || want[k] == 0 {
					t.Errorf("size %s has %.3f mm of cut line, the pieces have %.3f", j.Sizes[k], got[k], want[k])
				}
			}
		})
	}
}

// Who drags a slider wants the other pieces to stay where they are.
func TestPiecesOfAPictureStandInTheirOrder(t *testing.T) {
	place := func(d sheet.Document, piece string) geom.Vec {
		for _, it := range d.Pages[0].Items {
			if it.Use != nil && it.Layer == 0 && d.Forms[it.Use.Form].Piece == piece {
				return it.Use.Move
			}
		}
		t.Fatalf("no %s", piece)
		return geom.Vec{}
	}
	j := job(1, box("a", 1, 250, 200, 0), box("b", 1, 150, 210, 0), box("c", 1, 400, 100, 0))
	before := picture(t, j)
	if a, b, c := place(before, "a"), place(before, "b"), place(before, "c"); !(a.X < b.X && a.Y > c.Y) {
		t.Errorf("a at %v, b at %v, c at %v", a, b, c)
	}
	j.Pieces[1] = box("b", 1, 150, 190, 0)
	if after := picture(t, j); place(after, "a").X != place(before, "a").X || place(after, "b").X != place(before, "b").X || place(after, "c").X != place(before, "c").X {
		t.Error("a small change moved the pieces about")
	}
	if !reflect.DeepEqual(before, picture(t, job(1, box("a", 1, 250, 200, 0), box("b", 1, 150, 210, 0), box("c", 1, 400, 100, 0)))) {
		t.Error("the same job makes another picture")
	}
}

func TestAPictureRefusesWhatThePaperRefuses(t *testing.T) {
	j := job(1, box("a", 1, 30_000, 200, 0))
	if _, err := sheet.Picture(j, sheettest.Metrics{}, sheet.Options{}); err == nil {
		t.Error("a piece of 30 m was drawn")
	}
	j = job(2, box("a", 2, 300, 200, 5))
	j.Sizes[1] = j.Sizes[0]
	if _, err := sheet.Picture(j, sheettest.Metrics{}, sheet.Options{}); err == nil {
		t.Error("two sizes of one name were drawn")
	}
}
