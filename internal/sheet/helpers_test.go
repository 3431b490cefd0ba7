package sheet_test

import (
	"math"
	"testing"

	"sizerun/internal/geom"
	"sizerun/internal/sheet"
	"sizerun/internal/sheet/sheettest"
)

// lay makes the pages of j and fails the test when that is refused.
func lay(t testing.TB, j sheet.Job, paper string, o sheet.Options) (sheet.Document, sheet.Paper) {
	t.Helper()
	p, ok := sheet.Papers(paper)
	if !ok {
		t.Fatalf("no paper %q", paper)
	}
	d, err := sheet.Layout(j, p, sheettest.Metrics{}, o)
	if err != nil {
		t.Fatal(err)
	}
	return d, p
}

// audit fails the test with what the audit found.
func audit(t testing.TB, d sheet.Document, p sheet.Paper) {
	t.Helper()
	faults := sheet.Audit(d, p.Margin, sheettest.Metrics{})
	for i, f := range faults {
		if i == 12 {
			t.Errorf("… %d in all", len(faults))
			break
		}
		t.Error(f)
	}
}

// texts lists the words on a page, those in its Forms included.
func texts(d sheet.Document, pg sheet.Page) []sheet.Text {
	var out []sheet.Text
	for _, it := range pg.Items {
		switch {
		case it.Text != nil:
			out = append(out, *it.Text)
		case it.Use != nil:
			for _, fi := range d.Forms[it.Use.Form].Items {
				if fi.Text != nil {
					out = append(out, *fi.Text)
				}
			}
		}
	}
	return out
}

func says(d sheet.Document, pg sheet.Page, s string) bool {
	for _, x := range texts(d, pg) {
		if x.S == s {
			return true
		}
	}
	return false
}

// strokeLength is how much line of the items lies in r after moving by v; an infinite r gives all of it.
// Curves are taken as chords within 0.01 mm, and clipped by plain halving: slow, and a second
// opinion to the clipping of the package.
func strokeLength(items []sheet.Item, v geom.Vec, r geom.Rect) float64 {
	sum := 0.0
	for _, it := range items {
		if it.Stroke == nil {
			continue
		}
		for _, p := range it.Stroke.Paths {
			pts := p.Flatten(0.01)
			if it.Stroke.Closed {
				pts = append(pts, pts[0])
			}
			for i := 1; i < len(pts); i++ {
				sum += lengthIn(pts[i-1].Add(v), pts[i].Add(v), r, 0)
			}
		}
	}
	return sum
}

func lengthIn(a, b geom.Point, r geom.Rect, depth int) float64 {
	switch {
	case r.Contains(a) && r.Contains(b):
		return a.Dist(b)
	case !r.Overlaps(geom.EmptyRect().Add(a).Add(b)):
		return 0
	case depth == 40 || a.Dist(b) < 1e-9:
		return 0
	}
	m := a.Lerp(b, 0.5)
	return lengthIn(a, m, r, depth+1) + lengthIn(m, b, r, depth+1)
}

func everywhere() geom.Rect {
	i := math.Inf(1)
	return geom.Rect{Min: geom.Pt(-i, -i), Max: geom.Pt(i, i)}
}

// box is a rectangle as a piece with one cut line per size, k mm larger from size to size.
func box(name string, sizes int, w, h, k float64) sheet.Piece {
	p := sheet.Piece{Name: name, Lines: []string{name, "cut 1"}}
	for i := range sizes {
		g := k * float64(i)
		p.Sizes = append(p.Sizes, sheet.Drawn{Cut: geom.Polyline(geom.Pt(0, 0), geom.Pt(w+g, 0), geom.Pt(w+g, h+g), geom.Pt(0, h+g), geom.Pt(0, 0))})
	}
	return p
}

func job(sizes int, ps ...sheet.Piece) sheet.Job {
	j := sheettest.Run(sizes)
	j.Pieces = ps
	return j
}
