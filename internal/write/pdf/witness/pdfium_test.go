package witness

import (
	"bytes"
	"math"
	"strings"
	"testing"
	"time"

	"github.com/klippa-app/go-pdfium"
	"github.com/klippa-app/go-pdfium/references"
	"github.com/klippa-app/go-pdfium/requests"
	"github.com/klippa-app/go-pdfium/webassembly"

	"sizerun/internal/geom"
	"sizerun/internal/sheet"
	"sizerun/internal/write/pdf"
)

// PDFium is what shows and prints a PDF in the most used browser: most home sewists print with it.

func openPDFium(t *testing.T, d sheet.Document) (pdfium.Pdfium, references.FPDF_DOCUMENT) {
	t.Helper()
	pool, err := webassembly.Init(webassembly.Config{MinIdle: 1, MaxIdle: 1, MaxTotal: 1})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { pool.Close() })
	inst, err := pool.GetInstance(time.Minute)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { inst.Close() })
	fonts, err := pdf.Faces()
	if err != nil {
		t.Fatal(err)
	}
	var b bytes.Buffer
	if err := pdf.Write(&b, d, fonts); err != nil {
		t.Fatal(err)
	}
	data := b.Bytes()
	doc, err := inst.OpenDocument(&requests.OpenDocument{File: &data})
	if err != nil {
		t.Fatalf("PDFium cannot open the file: %v", err)
	}
	return inst, doc.Document
}

func page(doc references.FPDF_DOCUMENT, i int) requests.Page {
	return requests.Page{ByIndex: &requests.PageByIndex{Document: doc, Index: i}}
}

const dpi = 600

// darkRuns lists where along height y (mm) the page is dark: start and end in mm.
func darkRuns(t *testing.T, inst pdfium.Pdfium, doc references.FPDF_DOCUMENT, y float64) [][2]float64 {
	t.Helper()
	r, err := inst.RenderPageInDPI(&requests.RenderPageInDPI{Page: page(doc, 0), DPI: dpi})
	if err != nil {
		t.Fatal(err)
	}
	defer r.Cleanup()
	img := r.Result.Image
	row := img.Rect.Max.Y - int(math.Round(y/25.4*dpi))
	mm := func(px int) float64 { return float64(px) * 25.4 / dpi }
	var runs [][2]float64
	start := -1
	for x := 0; x <= img.Rect.Max.X; x++ {
		dark := x < img.Rect.Max.X && img.RGBAAt(x, row).G < 128
		if dark && start < 0 {
			start = x
		}
		if !dark && start >= 0 {
			runs = append(runs, [2]float64{mm(start), mm(x)})
			start = -1
		}
	}
	return runs
}

func TestPDFiumShowsTrueSizeTextAndLayers(t *testing.T) {
	pen := sheet.Pen{Width: 0.5}
	bar := func(x float64) sheet.Form {
		return sheet.Form{Bounds: geom.Rect{Max: geom.Pt(210, 297)}, Items: []sheet.Item{{Layer: sheet.NoLayer,
			Stroke: &sheet.Stroke{Paths: []geom.Path{geom.Polyline(geom.Pt(x, 90), geom.Pt(x, 110))}, Pen: pen}}}}
	}
	clip := geom.Rect{Max: geom.Pt(210, 297)}
	d := sheet.Document{
		Layers: []sheet.Layer{{Name: "8", On: true}, {Name: "10", On: false}},
		Forms:  []sheet.Form{bar(50), bar(60)},
		Pages: []sheet.Page{{W: 210, H: 297, Label: "Start here", Items: []sheet.Item{
			{Layer: 0, Use: &sheet.Use{Form: 0, Clip: clip}},
			{Layer: 1, Use: &sheet.Use{Form: 1, Clip: clip}},
			{Layer: sheet.NoLayer, Stroke: &sheet.Stroke{Closed: true, Pen: pen, Paths: []geom.Path{
				geom.Polyline(geom.Pt(20, 20), geom.Pt(120, 20), geom.Pt(120, 120), geom.Pt(20, 120), geom.Pt(20, 20))}}},
			{Layer: sheet.NoLayer, Text: &sheet.Text{At: geom.Pt(20, 200), S: "Ärmel, ⅝ in seam allowance", Size: 5}},
		}}},
	}
	inst, doc := openPDFium(t, d)

	// Ink: the square's sides at 20 and 120 mm, the bar of size 8 at 50; size 10 starts switched off.
	runs := darkRuns(t, inst, doc, 100)
	if len(runs) != 3 {
		t.Fatalf("ink across the square: %v", runs)
	}
	for i, want := range []float64{20, 50, 120} {
		// A pixel is 0.042 mm.
		if mid := (runs[i][0] + runs[i][1]) / 2; math.Abs(mid-want) > 0.05 {
			t.Errorf("line %d stands at %.3f mm, drawn at %g", i+1, mid, want)
		}
	}
	size, err := inst.GetPageSize(&requests.GetPageSize{Page: page(doc, 0)})
	if err != nil {
		t.Fatal(err)
	}
	if w, h := size.Width*25.4/72, size.Height*25.4/72; math.Abs(w-210) > 0.001 || math.Abs(h-297) > 0.001 {
		t.Errorf("the page is %.4f × %.4f mm", w, h)
	}
	text, err := inst.GetPageText(&requests.GetPageText{Page: page(doc, 0)})
	if err != nil {
		t.Fatal(err)
	}
	if !strings.Contains(text.Text, "Ärmel, ⅝ in seam allowance") {
		t.Errorf("text reads %q", text.Text)
	}
	label, err := inst.FPDF_GetPageLabel(&requests.FPDF_GetPageLabel{Document: doc, Page: 0})
	if err != nil || label.Label != "Start here" {
		t.Errorf("page label: %+v, %v", label, err)
	}
}
