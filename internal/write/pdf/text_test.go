package pdf

import (
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"

	"github.com/go-fonts/dejavu/dejavusanscondensed"
	"github.com/go-fonts/dejavu/dejavusanscondensedbold"

	"sizerun/internal/geom"
	"sizerun/internal/sheet"
)

// What labels say: fractions of an inch, and names in the languages that shops and customers
// write in.
var labels = []string{
	"Cut 1 pair · ⅝ in seam allowance, ½ in hem, 1¼ × 2⅜",
	"Ärmel, Größe 38 – Vorderärmel, Fadenlauf ↕",
	"manche à pétale, taille 40, crêpe d’été, œillet",
	"manga pétalo, tamaño 42 ¡ojo!",
	"rękaw, żółty, źródło, škůdce, őrült, ţesătură, ğüneş, Ísland þ ð",
	"рукав, розмір 44, її ґудзик, Ћирилица",
	"μανίκι, μέγεθος 46, Ώμος",
	"tay áo, cỡ 48, đường may ử ệ ỗ",
	"a (b) \\ <c> [d] {e} %f /g #h & \"i\"",
}

func labelPage() sheet.Document {
	d := onePage(210, 297)
	for i, s := range labels {
		d.Pages[0].Items = append(d.Pages[0].Items, text(20, 270-12*float64(i), 4, s))
		bold := text(20, 264-12*float64(i), 4, s)
		bold.Text.Face = sheet.Bold
		d.Pages[0].Items = append(d.Pages[0].Items, bold)
	}
	return d
}

func TestTextCanBeSearchedAndCopied(t *testing.T) {
	path := save(t, labelPage())
	for tool, got := range map[string]string{
		"pdftotext":   string(tool(t, "pdftotext", "-raw", path, "-")),
		"mutool draw": string(tool(t, "mutool", "draw", "-q", "-F", "txt", path)),
	} {
		for _, s := range labels {
			if n := strings.Count(got, s); n != 2 {
				t.Errorf("%s finds %q %d times, it stands there twice:\n%s", tool, s, n, got)
			}
		}
	}
}

func TestFontsAreEmbeddedSubsets(t *testing.T) {
	path := save(t, labelPage())
	rows := strings.Split(strings.TrimSpace(string(tool(t, "pdffonts", path))), "\n")[2:]
	if len(rows) != 2 {
		t.Fatalf("%d fonts, two faces are used", len(rows))
	}
	for _, row := range rows {
		f := strings.Fields(row)
		if len(f) < 7 || f[0][6] != '+' || !strings.HasPrefix(f[0][7:], "DejaVuSansCondensed") {
			t.Fatalf("not a subset of the house family: %s", row)
		}
		if got := strings.Join(f[len(f)-5:len(f)-2], " "); got != "yes yes yes" {
			t.Errorf("embedded, subset, Unicode: %s", row)
		}
	}
	// A page without bold text carries no bold face.
	if out := string(tool(t, "pdffonts", save(t, onePage(210, 297, text(20, 20, 3, "plain"))))); strings.Contains(out, "Bold") {
		t.Errorf("an unused face is embedded:\n%s", out)
	}
}

// The reader draws the same letters from the whole font, outside our subset: shapes must agree.
func TestLettersKeepTheirShapeInTheSubset(t *testing.T) {
	for face, ttf := range map[sheet.Face][]byte{sheet.Regular: dejavusanscondensed.TTF, sheet.Bold: dejavusanscondensedbold.TTF} {
		whole := filepath.Join(t.TempDir(), "whole.ttf")
		if err := os.WriteFile(whole, ttf, 0o600); err != nil {
			t.Fatal(err)
		}
		d := onePage(210, 297)
		var all []string
		for from := rune(0x21); from < 0x250; from += 30 {
			var line []rune
			for r := from; r < from+30; r++ {
				if r < 0x7F || r > 0xA0 && r != 0xAD {
					line = append(line, r)
				}
			}
			all = append(all, string(line))
		}
		all = append(all, "½¼¾⅓⅔⅛⅜⅝⅞ ×÷−±°′″ ←↑→↓↔↕ ✂●■▲△◆", "ΑΒΓΔΕΖΗΘαβγδεζηθ άέήίόύώ", "АБВГДЕЖЗИЙабвгдежзий ґєії", "ẠạẢảẤấẦầẨẩẪẫẬậẮắẰằẲẳ")
		for i, s := range all {
			// Kerning and ligatures would set letters apart from the reader's plain row; each stands
			// where we put it, which is what the reader is told.
			it := text(10, 285-10*float64(i), 5, s)
			it.Text.Face = face
			d.Pages[0].Items = append(d.Pages[0].Items, it)
		}
		var got struct {
			Inked, Differ int
			Read          string
		}
		fitz(t, &got, "shapes", save(t, d), whole)
		if got.Inked < 100000 || got.Differ > got.Inked/200 {
			t.Errorf("face %d: %d of %d dark pixels differ from the whole font's letters", face, got.Differ, got.Inked)
		}
	}
}

type char struct {
	C                  string
	X, Y, X0, X1, Size float64
	Font               string
}

func TestALabelIsAsWideAsItWasMeasured(t *testing.T) {
	f := faces(t)
	const size = 5
	var d sheet.Document
	var check []func(got []char)
	for _, s := range []string{"Front", "AVATAR WAVE To Ty LT", "efficient fi ffl", "½ in", "Größe 38", "e\u0301te\u0301"} {
		for face := range sheet.Face(faceCount) {
			w := f.Width(face, s) * size
			for align, left := range map[sheet.Align]float64{sheet.Left: 100, sheet.Center: 100 - w/2, sheet.Right: 100 - w} {
				it := text(100, 50, size, s)
				it.Text.Face, it.Text.Align = face, align
				d.Pages = append(d.Pages, sheet.Page{W: 210, H: 297, Items: []sheet.Item{it}})
				check = append(check, func(got []char) {
					near(t, s+": left end", got[0].X, left, 0.01)
					near(t, s+": right end", got[len(got)-1].X1, left+w, 0.02)
					near(t, s+": baseline", got[0].Y, 50, 0.001)
					near(t, s+": size", got[0].Size, size, 0.001)
				})
			}
		}
	}
	var pages [][]char
	fitz(t, &pages, "chars", save(t, d))
	for i, got := range pages {
		check[i](got)
	}
}

func TestTextTurnsAboutItsAnchor(t *testing.T) {
	f := faces(t)
	it := text(100, 100, 5, "grain line")
	it.Text.Angle, it.Text.Align = 0.5, sheet.Right
	var pages [][]char
	fitz(t, &pages, "chars", save(t, onePage(210, 297, it)))
	got := pages[0]
	back := geom.Vec{X: f.Width(sheet.Regular, "grain line") * 5}.Rotate(0.5)
	near(t, "start x", got[0].X, 100-back.X, 0.01)
	near(t, "start y", got[0].Y, 100-back.Y, 0.01)
	turn := geom.Pt(got[5].X, got[5].Y).Sub(geom.Pt(got[0].X, got[0].Y)).Angle()
	near(t, "angle", turn, 0.5, 1e-3)
}

func TestMetrics(t *testing.T) {
	f := faces(t)
	// Advances and heights of DejaVu Sans Condensed 2.37 as its tables tell them
	// (in 2048ths of an em), read with fontTools.
	for s, units := range map[string]float64{"n": 1168, "W": 1822, "½": 1786, " ": 585} {
		near(t, s, f.Width(sheet.Regular, s), units/2048, 1e-9)
	}
	near(t, "no text", f.Width(sheet.Regular, ""), 0, 0)
	near(t, "height of H", f.Ascent(sheet.Regular), 1493.0/2048, 1e-9) // bounds of the glyph, by the same tool
	near(t, "descent", f.Descent(sheet.Bold), 483.0/2048, 1e-9)        // hhea
	if w, v := f.Width(sheet.Regular, "AV"), f.Width(sheet.Regular, "A")+f.Width(sheet.Regular, "V"); w >= v {
		t.Errorf("A and V are not kerned: %g, %g", w, v)
	}
}

func TestMissingTellsWhatCannotBeDrawn(t *testing.T) {
	f := faces(t)
	for _, s := range labels {
		if m := f.Missing(s); len(m) > 0 {
			t.Errorf("%q: missing %q", s, string(m))
		}
	}
	for s, want := range map[string]string{
		"袖 size 袖丈\t🧵": "袖丈\t🧵", "שרוול size 8": "שרול", "a\u202Eb": "\u202E", "": "",
	} {
		if got := string(f.Missing(s)); got != want {
			t.Errorf("%q: missing %q, want %q", s, got, want)
		}
		if w := f.Width(sheet.Regular, s); s != "" && w <= 0 {
			t.Errorf("%q cannot be measured: %g", s, w)
		}
	}
}

// Every worker has its own Fonts; writing itself may run at once in all of them.
func TestWorkersWriteAtOnceAndAlike(t *testing.T) {
	var pool Pool
	want := write(t, nest(3, 2, 2, 2), faces(t))
	var wg sync.WaitGroup
	for range 4 {
		wg.Go(func() {
			for range 3 {
				f, err := pool.Borrow()
				if err != nil {
					t.Error(err)
					return
				}
				f.Width(sheet.Bold, "Front")
				got := write(t, nest(3, 2, 2, 2), f)
				pool.Return(f)
				if string(got) != string(want) {
					t.Error("the same document gave other bytes")
				}
			}
		})
	}
	wg.Wait()
}
