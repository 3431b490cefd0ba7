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
	for name, want := range map[string][2]float64{"A4": {210, 297}, "A0": {841, 1189}, "Letter": {215.9, 279.4}} {
		p, ok := sheet.Papers(name)
		if !ok || math.Abs(p.W-want[0]) > 1e-9 || math.Abs(p.H-want[1]) > 1e-9 {
			t.Errorf("%s is %g by %g, want %v", name, p.W, p.H, want)
		}
	}
	if got := sheet.PaperNames(); len(got) != 4 {
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
