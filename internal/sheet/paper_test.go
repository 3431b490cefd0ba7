package sheet_test

import (
	"math"
	"testing"

	"sizerun/internal/sheet"
	"sizerun/internal/sheet/sheettest"
)

// Sizes as Debian's libpaper-utils 1.1.29 tells them (paperconf -s -m -p NAME): a0 841x1189,
// a4 210x297, letter 215.9x279.4; that is ISO 216 and ANSI/ASME Y14.1.
func TestPapersHaveTheSizesOfTheStandards(t *testing.T) {
	for name, want := range map[string][2]float64{"A4": {210, 297}, "A0": {841, 1189}, "Letter": {215.9, 279.4},
		"Roll914": {914.4, 5000} /* Arch E is a sheet off the same roll: arche 914.4x1219.2 */} {
		p, ok := sheet.Papers(name)
		if !ok || math.Abs(p.W-want[0]) > 1e-9 || math.Abs(p.H-want[1]) > 1e-9 {
			t.Errorf("%s is %g by %g, want %v", name, p.W, p.H, want)
		}
	}
	if got := sheet.PaperNames(); len(got) != 6 {
		t.Errorf("papers: %v", got)
	}
	for _, n := range sheet.PaperNames() {
		if p, ok := sheet.Papers(n); !ok || p.Name != n {
			t.Errorf("%s is offered and not found", n)
		}
	}
	if _, ok := sheet.Papers("foolscap"); ok {
		t.Error("a paper that is not offered was found")
	}
}

// The shared page goes on both papers at true size: it is no larger than either, and what is
// printed stays 6 mm inside it.
func TestTheSharedPagePrintsOnBothPapers(t *testing.T) {
	d, p := lay(t, sheettest.Run(3), "A4+Letter", sheet.Options{})
	for _, pg := range d.Pages {
		if pg.W > 210 || pg.H > 279.4+1e-9 {
			t.Fatalf("a page is %g by %g", pg.W, pg.H)
		}
	}
	if p.Margin < 6 {
		t.Errorf("margin %g", p.Margin)
	}
	audit(t, d, p) // nothing outside the margins
}

// A roll is paid by its length: the sheet ends right below what stands lowest on it.
func TestARollIsAsLongAsWhatIsOnIt(t *testing.T) {
	for _, name := range []string{"Roll914", "Projector"} {
		d, p := lay(t, sheettest.Run(3), name, sheet.Options{})
		audit(t, d, p)
		if len(d.Pages) != 1 {
			t.Fatalf("%s: %d pages", name, len(d.Pages))
		}
		pg := d.Pages[0]
		low := math.Inf(1)
		for _, it := range pg.Items {
			if it.Use != nil {
				low = math.Min(low, d.Forms[it.Use.Form].Bounds.Min.Y+it.Use.Move.Y)
			}
		}
		// Below the lowest piece: the margin, the strip of words, a row of cells and what is left of another.
		if pg.W != p.W || low < p.Margin || low > p.Margin+6.5+2*15 {
			t.Errorf("%s: %g by %g, the lowest piece ends at %g", name, pg.W, pg.H, low)
		}
		more, _ := lay(t, sheettest.Run(9), name, sheet.Options{})
		if len(more.Pages) != 1 || more.Pages[0].H <= pg.H {
			t.Errorf("%s: larger pieces need %g of a roll, smaller ones %g", name, more.Pages[0].H, pg.H)
		}
	}
}

// What is longer than a roll's sheet may be goes on to the next sheet, and is not cut short.
func TestALongPieceRunsOnToTheNextSheetOfARoll(t *testing.T) {
	d, p := lay(t, job(1, box("train", 1, 300, 6000, 0)), "Roll914", sheet.Options{})
	audit(t, d, p)
	if len(d.Pages) != 2 {
		t.Fatalf("%d sheets", len(d.Pages))
	}
	drawn := 0.0
	for _, pg := range d.Pages {
		if pg.H != p.H {
			t.Errorf("a sheet is %g long though the piece runs off it", pg.H)
		}
		for _, it := range pg.Items {
			if it.Use != nil {
				drawn += strokeLength(d.Forms[it.Use.Form].Items, it.Use.Move, it.Use.Clip)
			}
		}
	}
	if math.Abs(drawn-2*6300) > 1 {
		t.Errorf("%g mm of line drawn", drawn)
	}
}

// The projector's page: one, thick lines, and a grid whose squares are exactly 100 mm.
func TestTheProjectorsPageHasThickLinesAndAGrid(t *testing.T) {
	d, _ := lay(t, sheettest.Run(3), "Projector", sheet.Options{})
	pg := d.Pages[0]
	grid := pg.Items[0].Stroke
	var xs, ys []float64
	for _, l := range grid.Paths {
		if a, b := l.Start(), l.End(); a.X == b.X {
			xs = append(xs, a.X)
		} else {
			ys = append(ys, a.Y)
		}
	}
	for _, at := range [][]float64{xs, ys} {
		if len(at) < 8 {
			t.Fatalf("%d lines of the grid one way", len(at))
		}
		for i := 1; i < len(at); i++ {
			if math.Abs(math.Abs(at[i]-at[i-1])-100) > 1e-9 {
				t.Errorf("a square of the grid is %g mm", math.Abs(at[i]-at[i-1]))
			}
		}
	}
	for _, f := range d.Forms {
		for _, it := range f.Items {
			if it.Stroke != nil && it.Stroke.Closed && it.Stroke.Pen.Width < 1 {
				t.Errorf("%s: a line %g mm wide", f.Name, it.Stroke.Pen.Width)
			}
		}
	}
	for i, it := range pg.Items {
		if it.Stroke != nil && i > 0 && it.Stroke.Pen.Width == grid.Pen.Width && len(it.Stroke.Paths) > 8 {
			t.Error("the grid is drawn twice")
		}
	}
	plain, _ := lay(t, sheettest.Run(3), "A0", sheet.Options{})
	if a, b := sizeNames(plain), sizeNames(d); b < 1.4*a {
		t.Errorf("the largest size name is %g mm on the projector's page, %g on paper", b, a)
	}
}

// sizeNames is the em of the largest size name on the pieces.
func sizeNames(d sheet.Document) float64 {
	em := 0.0
	for _, pg := range d.Pages {
		for _, it := range pg.Items {
			if it.Text != nil && it.Layer != sheet.NoLayer {
				em = math.Max(em, it.Text.Size)
			}
		}
	}
	return em
}
