package witness

import (
	"bytes"
	"testing"

	"github.com/pdfcpu/pdfcpu/pkg/api"
	"github.com/pdfcpu/pdfcpu/pkg/pdfcpu/model"

	"sizerun/internal/sheet"
	"sizerun/internal/sheet/sheettest"
	"sizerun/internal/write/pdf"
)

// pdfcpu in its strict mode, which holds a file against ISO 32000-1, accepts a printed pattern on
// every paper.
func TestPdfcpuAcceptsAPattern(t *testing.T) {
	api.DisableConfigDir()
	conf := model.NewDefaultConfiguration()
	conf.ValidationMode = model.ValidationStrict
	fonts, err := pdf.Faces()
	if err != nil {
		t.Fatal(err)
	}
	for _, name := range sheet.PaperNames() {
		t.Run(name, func(t *testing.T) {
			paper, _ := sheet.Papers(name)
			d, err := sheet.Layout(sheettest.Run(5), paper, fonts, sheet.Options{})
			if err != nil {
				t.Fatal(err)
			}
			var b bytes.Buffer
			if err := pdf.Write(&b, d, fonts); err != nil {
				t.Fatal(err)
			}
			if err := api.Validate(bytes.NewReader(b.Bytes()), conf); err != nil {
				t.Errorf("refused: %v", err)
			}
			if n, err := api.PageCount(bytes.NewReader(b.Bytes()), conf); err != nil || n != len(d.Pages) {
				t.Errorf("%d pages are counted (%v), %d were written", n, err, len(d.Pages))
			}
			// A broken file must not pass, or the check says nothing.
			broken := bytes.Replace(b.Bytes(), []byte("/Subtype /Form"), []byte("/Subtype /Farm"), 1)
			if err := api.Validate(bytes.NewReader(broken), conf); err == nil {
				t.Error("a broken form passes")
			}
		})
	}
}
