package sheet_test

import (
	"testing"

	"sizerun/internal/sheet"
	"sizerun/internal/sheet/sheettest"
)

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

func TestNothingOverlapsAndNothingIsCutOffOnAnyPaper(t *testing.T) {
	for _, paper := range sheet.PaperNames() {
		t.Run(paper, func(t *testing.T) {
			d, p := lay(t, sheettest.Typical(), paper, sheet.Options{})
			audit(t, d, p)
			t.Logf("%d pages, %d forms", len(d.Pages), len(d.Forms))
		})
	}
}

func BenchmarkLayout(b *testing.B) {
	for _, paper := range sheet.PaperNames() {
		b.Run(paper, func(b *testing.B) {
			p, _ := sheet.Papers(paper)
			j := sheettest.Typical()
			b.ReportAllocs()
			for b.Loop() {
				if _, err := sheet.Layout(j, p, sheettest.Metrics{}, sheet.Options{}); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
