package pdf

import (
	"bytes"
	"encoding/json"
	"encoding/xml"
	"errors"
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"
	"testing"

	"sizerun/internal/geom"
	"sizerun/internal/pattern"
	"sizerun/internal/sheet"
)

// Each case is a good document with one thing wrong; the refusal names the place and the rule, and
// nothing is written.
func TestABadDocumentIsRefusedAtItsPlace(t *testing.T) {
	nan, inf := math.NaN(), math.Inf(1)
	f := faces(t)
	for _, c := range []struct {
		name, pointer, rule string
		spoil               func(d *sheet.Document)
	}{
		{"no pages", "/pages", "no_pages", func(d *sheet.Document) { d.Pages = nil }},
		{"a page for every thread", "/pages", "too_many", func(d *sheet.Document) { d.Pages = make([]sheet.Page, maxPages+1) }},
		{"a layer for every thread", "/layers", "too_many", func(d *sheet.Document) { d.Layers = make([]sheet.Layer, maxLayers+1) }},
		{"a form for every thread", "/forms", "too_many", func(d *sheet.Document) { d.Forms = make([]sheet.Form, maxForms+1) }},
		{"a page of 5.09 m", "/pages/1/h", "page_size", func(d *sheet.Document) { d.Pages[1].H = 5090 }},
		{"a page without width", "/pages/0/w", "page_size", func(d *sheet.Document) { d.Pages[0].W = 0 }},
		{"a page of no number", "/pages/0/w", "page_size", func(d *sheet.Document) { d.Pages[0].W = nan }},
		{"an endless page", "/pages/0/h", "page_size", func(d *sheet.Document) { d.Pages[0].H = inf }},
		{"a form that is not there", "/pages/1/items/0/use/form", "form", func(d *sheet.Document) { d.Pages[1].Items[0].Use.Form = 3 }},
		{"a form below zero", "/pages/1/items/0/use/form", "form", func(d *sheet.Document) { d.Pages[1].Items[0].Use.Form = -1 }},
		{"a form within a form", "/forms/1/items/0/use", "nested_form", func(d *sheet.Document) {
			d.Forms[1].Items[0] = sheet.Item{Layer: sheet.NoLayer, Use: &sheet.Use{Clip: geom.Rect{Max: geom.Pt(1, 1)}}}
		}},
		{"a clip turned inside out", "/pages/1/items/0/use/clip", "empty_box", func(d *sheet.Document) { d.Pages[1].Items[0].Use.Clip = geom.Rect{Min: geom.Pt(9, 9)} }},
		{"a move of no number", "/pages/1/items/0/use/move", "number", func(d *sheet.Document) { d.Pages[1].Items[0].Use.Move.X = nan }},
		{"a layer that is not there", "/pages/1/items/1/layer", "layer", func(d *sheet.Document) { d.Pages[1].Items[1].Layer = 9 }},
		{"a layer below none", "/pages/1/items/1/layer", "layer", func(d *sheet.Document) { d.Pages[1].Items[1].Layer = -2 }},
		{"a layer without a name", "/layers/2/name", "no_name", func(d *sheet.Document) { d.Layers[2].Name = " " }},
		{"a coordinate of no number", "/forms/0/items/0/stroke/paths/0/3", "number", func(d *sheet.Document) { d.Forms[0].Items[0].Stroke.Paths[0][3].P1.Y = nan }},
		{"a coordinate out of the world", "/forms/0/items/0/stroke/paths/0/3", "number", func(d *sheet.Document) { d.Forms[0].Items[0].Stroke.Paths[0][3].P2.Y = 1e300 }},
		{"no paths", "/forms/0/items/0/stroke/paths", "empty_path", func(d *sheet.Document) { d.Forms[0].Items[0].Stroke.Paths = nil }},
		{"an empty path", "/pages/0/items/5/fill/paths/0", "empty_path", func(d *sheet.Document) { d.Pages[0].Items[5].Fill.Paths[0] = nil }},
		{"a path with a gap", "/forms/0/items/0/stroke/paths/0/5", "broken_path", func(d *sheet.Document) {
			p := d.Forms[0].Items[0].Stroke.Paths[0]
			p[5].P0 = p[5].P0.Add(geom.Vec{X: 0.5})
		}},
		{"a path outside its form's box", "/forms/0/items/0/stroke/paths/0/0", "outside_form", func(d *sheet.Document) { d.Forms[0].Bounds = geom.Rect{Max: geom.Pt(1, 1)} }},
		{"a form with an endless box", "/forms/1/bounds", "number", func(d *sheet.Document) { d.Forms[1].Bounds.Max.X = inf }},
		{"a line without width", "/forms/0/items/0/stroke/pen/width", "number", func(d *sheet.Document) { d.Forms[0].Items[0].Stroke.Pen.Width = 0 }},
		{"a dash below zero", "/forms/0/items/0/stroke/pen/dash", "number", func(d *sheet.Document) { d.Forms[0].Items[0].Stroke.Pen.Dash = []float64{3, -1} }},
		{"dashes of nothing", "/forms/0/items/0/stroke/pen/dash", "dash", func(d *sheet.Document) { d.Forms[0].Items[0].Stroke.Pen.Dash = []float64{0, 0} }},
		{"a colour above one", "/pages/0/items/5/fill/color", "number", func(d *sheet.Document) { d.Pages[0].Items[5].Fill.Color.G = 255 }},
		{"an item with nothing", "/pages/0/items/0", "item", func(d *sheet.Document) { d.Pages[0].Items[0].Stroke = nil }},
		{"an item with two things", "/pages/0/items/0", "item", func(d *sheet.Document) { d.Pages[0].Items[0].Text = d.Pages[0].Items[1].Text }},
		{"text of no size", "/pages/0/items/1/text/size", "number", func(d *sheet.Document) { d.Pages[0].Items[1].Text.Size = 0 }},
		{"text turned endlessly", "/pages/0/items/1/text/angle", "number", func(d *sheet.Document) { d.Pages[0].Items[1].Text.Angle = inf }},
		{"text nowhere", "/pages/0/items/1/text/at", "number", func(d *sheet.Document) { d.Pages[0].Items[1].Text.At.X = nan }},
		{"an unknown face", "/pages/0/items/1/text/face", "face", func(d *sheet.Document) { d.Pages[0].Items[1].Text.Face = 7 }},
		{"an unknown alignment", "/pages/0/items/1/text/align", "align", func(d *sheet.Document) { d.Pages[0].Items[1].Text.Align = 7 }},
		{"a letter the font lacks", "/pages/0/items/1/text/s", "glyph", func(d *sheet.Document) { d.Pages[0].Items[1].Text.S = "袖" }},
		{"two lines in one", "/pages/0/items/1/text/s", "glyph", func(d *sheet.Document) { d.Pages[0].Items[1].Text.S = "Cut 1\npair" }},
		{"text that is not UTF-8", "/pages/0/items/1/text/s", "text", func(d *sheet.Document) { d.Pages[0].Items[1].Text.S = "Gr\xF6\xDFe" }},
	} {
		t.Run(c.name, func(t *testing.T) {
			d := nest(3, 2, 1, 1)
			c.spoil(&d)
			var out bytes.Buffer
			err := Write(&out, d, f)
			var faults pattern.Faults
			if !errors.As(err, &faults) {
				t.Fatalf("not refused: %v", err)
			}
			if got := faults[0]; got.Pointer != c.pointer || got.Rule != "pdf_"+c.rule || got.Remedy == "" {
				t.Errorf("refused as %+v, want rule pdf_%s at %s", got, c.rule, c.pointer)
			}
			if out.Len() > 0 {
				t.Error("a refused document was written all the same")
			}
		})
	}
}

func TestARefusalIsNotEndless(t *testing.T) {
	d := onePage(210, 297)
	for range 1000 {
		d.Pages[0].Items = append(d.Pages[0].Items, sheet.Item{Layer: 5})
	}
	var faults pattern.Faults
	if err := Write(io.Discard, d, faces(t)); !errors.As(err, &faults) || len(faults) > maxFaults {
		t.Errorf("%d faults: %.200v", len(faults), err)
	}
}

func TestAPanicBelowBecomesAnError(t *testing.T) {
	for name, f := range map[string]*Fonts{"no fonts": nil, "fonts that were never loaded": {}} {
		err := Write(io.Discard, onePage(210, 297, text(20, 20, 3, "front")), f)
		var fault pattern.Fault
		if !errors.As(err, &fault) || fault.Detail == "" {
			t.Errorf("%s: %v", name, err)
		}
	}
	// And the next document is written as ever.
	write(t, nest(2, 2, 1, 1), faces(t))
}

type full struct{}

func (full) Write([]byte) (int, error) { return 0, errors.New("no room left") }

func TestAFullDiskIsTold(t *testing.T) {
	if err := Write(full{}, onePage(210, 297), faces(t)); err == nil || !strings.Contains(err.Error(), "no room left") {
		t.Errorf("error: %v", err)
	}
}

// FuzzWrite builds documents out of arbitrary numbers: they are refused or written, and never stop
// the program.
func FuzzWrite(f *testing.F) {
	fonts := faces(f)
	f.Add(20.0, 20.0, 0.3, 3.0, "front", int8(0), int8(0), int8(0))
	f.Add(math.NaN(), 1e308, -1.0, 0.0, "\xff", int8(9), int8(-3), int8(4))
	f.Add(5080.0, -1e5, 100.0, 1000.0, "e\u0301 שלום abc ا", int8(-1), int8(1), int8(2))
	f.Fuzz(func(t *testing.T, x, y, width, size float64, s string, form, layer, align int8) {
		d := nest(2, 1, 1, 1)
		p := geom.Path{geom.Line(geom.Pt(0, 0), geom.Pt(x, y)), geom.Cubic(geom.Pt(x, y), geom.Pt(y, x), geom.Pt(width, size), geom.Pt(1, 1))}
		d.Info.Title, d.Layers[0].Name, d.Pages[0].Label = s, s, s
		d.Pages[0].W = x
		d.Pages[0].Items = append(d.Pages[0].Items,
			sheet.Item{Layer: int(layer), Stroke: &sheet.Stroke{Paths: []geom.Path{p}, Closed: align > 0, Pen: sheet.Pen{Width: width, Dash: []float64{x, y}}}},
			sheet.Item{Layer: int(layer), Text: &sheet.Text{At: geom.Pt(x, y), S: s, Size: size, Angle: width, Align: sheet.Align(align), Face: sheet.Face(align)}},
			sheet.Item{Layer: int(layer), Use: &sheet.Use{Form: int(form), Move: geom.Vec{X: x, Y: y}, Clip: geom.Rect{Max: geom.Pt(width, size)}}})
		var out bytes.Buffer
		err := Write(&out, d, fonts)
		switch {
		case err == nil && !bytes.HasSuffix(out.Bytes(), []byte("%%EOF\n")):
			t.Error("no end of file")
		case err == nil:
			for _, raw := range streams(t, out.Bytes()) {
				if !bytes.Contains(raw, []byte("1 j\n")) {
					continue // not drawing
				}
				for _, word := range strings.Fields(string(raw)) {
					if v, err := strconv.ParseFloat(word, 64); err == nil && !(math.Abs(v) <= 2*maxCoord) {
						t.Errorf("%s was written", word)
					}
				}
			}
		default:
			var fault pattern.Fault
			if errors.As(err, &fault) && fault.Rule == "pdf_internal" {
				t.Errorf("the check let through what cannot be written: %v", err)
			}
		}
		if w := fonts.Width(sheet.Face(align), s); math.IsNaN(w) || w < 0 {
			t.Errorf("width of %q: %g", s, w)
		}
	})
}

func TestTheSameDocumentGivesTheSameBytes(t *testing.T) {
	d := nest(3, 4, 2, 2)
	first := faces(t)
	want := write(t, d, first)
	for i := range 3 {
		f := first
		if i == 1 {
			f = faces(t)
		}
		if i == 2 { // another document in between leaves nothing behind
			write(t, labelPage(), first)
		}
		if !bytes.Equal(write(t, d, f), want) {
			t.Errorf("writing %d gave other bytes", i+2)
		}
	}
	d.Pages[1].Label += "x"
	id := func(b []byte) string {
		_, after, _ := bytes.Cut(b, []byte("/ID [<"))
		return string(after[:32])
	}
	if id(write(t, d, first)) == id(want) {
		t.Error("another document has the same identifier")
	}
	for _, word := range []string{"CreationDate", "ModDate", "xmp:CreateDate", "UserUnit"} {
		for _, s := range append(streams(t, want), want) {
			if bytes.Contains(s, []byte(word)) {
				t.Errorf("the file holds %s", word)
			}
		}
	}
}

func TestATimeStampInAFontIsTakenOut(t *testing.T) {
	f := faces(t)
	glyphs := []uint16{0, 36, 37}
	a := program(t, f, glyphs)
	head := int(headOffset(t, a))
	if !bytes.Equal(a[head+20:head+28], a[head+28:head+36]) {
		t.Error("modified differs from created")
	}
	// OpenType: the whole file with its checkSumAdjustment adds up to a fixed number.
	if sum := checksum(a); sum != 0xB1B0AFBA {
		t.Errorf("checksum of the font file: %#x", sum)
	}
	if err := unstamp([]byte("\x00\x01\x00\x00\x00\x00\x00\x00\x00\x00\x00\x00")); err == nil {
		t.Error("a font without head passes")
	}
}

func program(t *testing.T, f *Fonts, glyphs []uint16) []byte {
	t.Helper()
	b, err := subset(f, 0, glyphs)
	if err != nil {
		t.Fatal(err)
	}
	return b
}

func headOffset(t *testing.T, b []byte) uint32 {
	t.Helper()
	for i := range int(b[5]) {
		rec := b[12+16*i:]
		if string(rec[:4]) == "head" {
			return uint32(rec[8])<<24 | uint32(rec[9])<<16 | uint32(rec[10])<<8 | uint32(rec[11])
		}
	}
	t.Fatal("no head table")
	return 0
}

// Whatever a title holds, the metadata stay well-formed XML.
func TestMetadataAreXML(t *testing.T) {
	odd := "a\x00b\x1f<c>&\"d\"\uFFFE\xff ]]> 袖\n"
	dec := xml.NewDecoder(strings.NewReader(xmp(sheet.Info{Title: odd, Author: odd, Subject: odd, Keywords: []string{odd}, Lang: odd})))
	text := ""
	for {
		tok, err := dec.Token()
		if err == io.EOF {
			break
		}
		if err != nil {
			t.Fatal(err)
		}
		if c, ok := tok.(xml.CharData); ok {
			text += string(c)
		}
	}
	if want := "ab<c>&\"d\"\uFFFD ]]> 袖\n"; strings.Count(text, want) < 5 {
		t.Errorf("%q does not stand five times in %q", want, text)
	}
}

// Strings in the file survive every bracket, backslash and alphabet.
func TestMetadataSurvives(t *testing.T) {
	d := nest(2, 1, 1, 1)
	d.Info = sheet.Info{Title: `Wren (petal) \ "½" <b> & Ärmel 袖`, Author: "Rookery Lane (Patterns)", Subject: "серия", Keywords: []string{"a,b", "袖"}, Lang: "de-AT"}
	d.Layers[0].Name, d.Layers[1].Name = `8 (short) \`, "Größe 10"
	d.Pages[0].Label = "Seite 1 – “Start”"
	var a about
	path := save(t, d)
	fitz(t, &a, "about", path)
	for key, want := range map[string]string{"title": d.Info.Title, "author": d.Info.Author, "subject": d.Info.Subject, "keywords": "a,b, 袖", "producer": producer} {
		if got := fmt.Sprint(a.Metadata[key]); got != want {
			t.Errorf("%s reads %q, written %q", key, got, want)
		}
	}
	if got := fmt.Sprintf("%q", a.Groups); got != fmt.Sprintf("%q", []string{d.Layers[0].Name, d.Layers[1].Name}) || a.Repaired {
		t.Errorf("layers read %s (repaired: %v)", got, a.Repaired)
	}
	if plain := a.Pages[1].Label; plain != d.Pages[1].Label {
		t.Errorf("page label reads %q", plain)
	}
	var q struct {
		PageLabels []struct{ Label map[string]any }
	}
	if err := json.Unmarshal(tool(t, "qpdf", "--json", "--json-key=pagelabels", path), &q); err != nil {
		t.Fatal(err)
	}
	if got := strings.TrimPrefix(fmt.Sprint(q.PageLabels[0].Label["/P"]), "u:"); got != d.Pages[0].Label {
		t.Errorf("qpdf reads the page label %q", got)
	}
	if !strings.Contains(a.XMP, "&lt;b&gt; &amp; Ärmel 袖") || !strings.Contains(squeeze(a.Catalog), "/Lang(de-AT)") {
		t.Errorf("XMP or language: %s\n%s", a.XMP, a.Catalog)
	}
	if info := string(tool(t, "pdfinfo", path)); !strings.Contains(info, d.Info.Title) {
		t.Errorf("pdfinfo: %s", info)
	}
}
