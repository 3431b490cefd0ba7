package sheet_test

import (
	"fmt"
	"math"
	"reflect"
	"strings"
	"testing"

	"sizerun/internal/geom"
	"sizerun/internal/sheet"
	"sizerun/internal/sheet/sheettest"
)

func TestNothingOverlapsAndNothingIsCutOffOnAnyPaper(t *testing.T) {
	for _, paper := range sheet.PaperNames() {
		for _, n := range []int{1, 12, 24} {
			for _, o := range []sheet.Options{{}, {SeamLines: true, Turn: true}} {
				if n == 24 && o.Turn || n > 1 && testing.Short() {
					continue
				}
				t.Run(fmt.Sprintf("%s %d sizes %+v", paper, n, o), func(t *testing.T) {
					j := sheettest.Run(n)
					j.Stamp, j.Warning = "made for order 1001", "Some checks failed: do not sell"
					d, p := lay(t, j, paper, o)
					audit(t, d, p)
				})
			}
		}
	}
}

// The typical document of this project has about 42 tiles of A4.
func TestTheTypicalJobTakesAboutFortyPages(t *testing.T) {
	for paper, most := range map[string]int{"A4": 40, "Letter": 42, "A4+Letter": 43, "A0": 4} {
		d, _ := lay(t, sheettest.Typical(), paper, sheet.Options{})
		t.Logf("%s: %d pages, %d forms", paper, len(d.Pages), len(d.Forms))
		if len(d.Pages) > most || len(d.Pages) < most-6 {
			t.Errorf("%s: %d pages, want %d or a few fewer", paper, len(d.Pages), most)
		}
	}
}

// A plain arrangement, every nest in a row of boxes, is what the search must beat clearly.
func TestArrangingSavesPages(t *testing.T) {
	j := sheettest.Typical()
	d, p := lay(t, j, "A4", sheet.Options{})
	w := 0.0
	h := 0.0
	for _, pc := range j.Pieces {
		r := geom.EmptyRect()
		for _, s := range pc.Sizes {
			r = r.Union(s.Cut.Bounds())
		}
		w += r.W() + 8
		h = math.Max(h, r.H())
	}
	plain := int(math.Ceil(w/(p.W-14))) * int(math.Ceil(h/(p.H-20)))
	if got := len(d.Pages) - 1; got > plain*6/10 {
		t.Errorf("%d pages with pieces, a row of boxes takes %d", got, plain)
	}
	turned, _ := lay(t, j, "A4", sheet.Options{Turn: true})
	if len(turned.Pages) > len(d.Pages) {
		t.Errorf("turning pieces made %d pages of %d", len(turned.Pages), len(d.Pages))
	}
}

// Glued together, the pages give back every line of every size, and nothing twice.
func TestThePagesTogetherGiveEveryLineOnce(t *testing.T) {
	for _, paper := range []string{"A4", "A4+Letter", "A0"} {
		d, _ := lay(t, sheettest.Typical(), paper, sheet.Options{})
		shown := make([]float64, len(d.Forms))
		for _, pg := range d.Pages {
			for _, it := range pg.Items {
				if u := it.Use; u != nil {
					shown[u.Form] += strokeLength(d.Forms[u.Form].Items, u.Move, u.Clip)
				}
			}
		}
		for i, f := range d.Forms {
			want := strokeLength(f.Items, geom.Vec{}, everywhere())
			if math.Abs(shown[i]-want) > 1e-3 {
				t.Errorf("%s: %s shows %.4f mm of %.4f mm", paper, f.Name, shown[i], want)
			}
		}
	}
}

// What runs over a border goes on at the same place of the next page.
func TestFormsLieAtOnePlaceOfThePlane(t *testing.T) {
	d, _ := lay(t, sheettest.Typical(), "Letter", sheet.Options{})
	at := map[int]geom.Vec{}
	for _, pg := range d.Pages {
		var row, col int
		if _, err := fmt.Sscanf(pg.Label, "Letter row %d column %d", &row, &col); err != nil {
			continue
		}
		for _, it := range pg.Items {
			if u := it.Use; u != nil {
				v := u.Move.Add(geom.Vec{X: float64(col) * u.Clip.W(), Y: -float64(row) * u.Clip.H()})
				if w, ok := at[u.Form]; ok && v.Sub(w).Len() > 1e-9 {
					t.Fatalf("%s on %s is off by %v", d.Forms[u.Form].Name, pg.Label, v.Sub(w))
				}
				at[u.Form] = v
			}
		}
	}
}

func TestNoPageIsEmptyAndEachSaysWhereItBelongs(t *testing.T) {
	j := sheettest.Typical()
	for _, paper := range []string{"A4", "Letter", "A4+Letter"} {
		d, _ := lay(t, j, paper, sheet.Options{})
		seen := map[string]bool{}
		for i, pg := range d.Pages {
			if seen[pg.Label] {
				t.Errorf("two pages are called %q", pg.Label)
			}
			seen[pg.Label] = true
			if s := fmt.Sprintf("page %d of %d", i+1, len(d.Pages)); !says(d, pg, s) {
				t.Errorf("%s does not say %q", pg.Label, s)
			}
			if !says(d, pg, j.Title) {
				t.Errorf("%s lacks the name of the pattern", pg.Label)
			}
			if strings.Contains(pg.Label, "information") {
				continue
			}
			var row, col int
			fmt.Sscanf(pg.Label, paper+" row %d column %d", &row, &col)
			if s := fmt.Sprintf("row %d, column %d", row, col); !says(d, pg, s) {
				t.Errorf("%s does not say %q", pg.Label, s)
			}
			ink := 0.0
			for _, it := range pg.Items {
				if it.Use != nil {
					ink += strokeLength(d.Forms[it.Use.Form].Items, it.Use.Move, it.Use.Clip)
				}
			}
			if ink <= 0 {
				t.Errorf("%s has nothing on it", pg.Label)
			}
		}
	}
}

// A ring leaves the page in its middle without a line: that page is not printed.
func TestAPageInsideAPieceWithoutAnythingOnItIsLeftOut(t *testing.T) {
	p := box("ring", 1, 580, 820, 0)
	p.Lines = nil
	d, _ := lay(t, job(1, p), "A4", sheet.Options{})
	tiles := 0
	for _, pg := range d.Pages {
		if strings.Contains(pg.Label, "row") {
			tiles++
			if pg.Label == "A4 row 2 column 2" {
				t.Error("the empty page in the middle is printed")
			}
		}
	}
	if tiles != 8 {
		t.Errorf("%d pages, want 3 × 3 less the middle", tiles)
	}
}

func TestEverySizeIsALayerAndAFormPerPiece(t *testing.T) {
	j := sheettest.Typical()
	d, _ := lay(t, j, "A4", sheet.Options{})
	if len(d.Layers) != len(j.Sizes) {
		t.Fatalf("%d layers", len(d.Layers))
	}
	for i, s := range j.Sizes {
		if d.Layers[i].Name != s || !d.Layers[i].On {
			t.Errorf("layer %d is %+v, want %s, on", i, d.Layers[i], s)
		}
	}
	names := map[string]int{}
	for i, f := range d.Forms {
		if _, twice := names[f.Name]; twice {
			t.Errorf("form %q is drawn twice", f.Name)
		}
		names[f.Name] = i
	}
	for _, pc := range j.Pieces {
		for k, s := range j.Sizes {
			f, ok := names[pc.Name+" "+s]
			if !ok {
				t.Errorf("no form for %s in size %s", pc.Name, s)
			}
			for _, pg := range d.Pages {
				for _, it := range pg.Items {
					if it.Use != nil && it.Use.Form == f && it.Layer != k {
						t.Errorf("%s of size %s lies on layer %d", pc.Name, s, it.Layer)
					}
				}
			}
		}
	}
}

func TestPiecesKeepTheirDistance(t *testing.T) {
	j := sheettest.Typical()
	const gap = 8
	d, _ := lay(t, j, "A4", sheet.Options{Gap: gap})
	var pts [][]geom.Point
	for _, pc := range j.Pieces {
		var ps []geom.Point
		for i, f := range d.Forms {
			if !strings.HasPrefix(f.Name, pc.Name+" ") {
				continue
			}
			for _, pg := range d.Pages {
				var row, col int
				fmt.Sscanf(pg.Label, "A4 row %d column %d", &row, &col)
				done := false
				for _, it := range pg.Items {
					if u := it.Use; u != nil && u.Form == i {
						v := u.Move.Add(geom.Vec{X: float64(col) * u.Clip.W(), Y: -float64(row) * u.Clip.H()})
						for _, q := range f.Items[0].Stroke.Paths[0].Flatten(1) {
							ps = append(ps, q.Add(v))
						}
						done = true
						break
					}
				}
				if done {
					break
				}
			}
		}
		pts = append(pts, ps)
	}
	for a := range pts {
		for b := range a {
			for _, p := range pts[a] {
				for _, q := range pts[b] {
					if p.Dist(q) < gap {
						t.Fatalf("%s and %s are %.1f mm apart", j.Pieces[a].Name, j.Pieces[b].Name, p.Dist(q))
					}
				}
			}
		}
	}
}

func TestTheSameJobGivesTheSamePages(t *testing.T) {
	a, _ := lay(t, sheettest.Typical(), "A4", sheet.Options{Turn: true})
	b, _ := lay(t, sheettest.Typical(), "A4", sheet.Options{Turn: true})
	if !reflect.DeepEqual(a, b) {
		t.Error("two layouts of one job differ")
	}
}

func TestStampAndWarningStandOnEveryPage(t *testing.T) {
	j := sheettest.Run(4)
	j.Stamp, j.Warning = "made for order 1001", "Some checks failed: do not sell"
	for _, paper := range sheet.PaperNames() {
		d, p := lay(t, j, paper, sheet.Options{})
		audit(t, d, p)
		for _, pg := range d.Pages {
			for _, s := range []string{j.Stamp, j.Warning} {
				if !says(d, pg, s) {
					t.Errorf("%s does not say %q", pg.Label, s)
				}
			}
		}
	}
}

// On large paper a piece that fits the sheet is never cut.
func TestSheetsStandAlone(t *testing.T) {
	d, p := lay(t, sheettest.Typical(), "A0", sheet.Options{})
	on := map[int]int{}
	for _, pg := range d.Pages {
		if math.Abs(pg.W*pg.H-p.W*p.H) > 1e-6 {
			t.Errorf("%s is %g by %g", pg.Label, pg.W, pg.H)
		}
		for _, it := range pg.Items {
			if it.Use != nil {
				on[it.Use.Form]++
			}
		}
	}
	for i, f := range d.Forms {
		if on[i] != 1 {
			t.Errorf("%s lies on %d sheets", f.Name, on[i])
		}
	}
	if joins(d) != nil {
		t.Errorf("sheets that stand alone have joins %v", joins(d))
	}
}

func TestAPieceLongerThanTheSheetIsGlued(t *testing.T) {
	d, p := lay(t, job(2, box("train", 2, 700, 2600, 10), box("cuff", 2, 200, 90, 4)), "A0", sheet.Options{})
	audit(t, d, p)
	if n := len(d.Pages); n < 2 || n > 4 {
		t.Errorf("%d sheets", n)
	}
	if len(joins(d)) == 0 {
		t.Error("the sheets have no joins")
	}
}

// A sheet is laid across where that takes fewer.
func TestAWidePieceTurnsTheSheet(t *testing.T) {
	d, _ := lay(t, job(1, box("flounce", 1, 1100, 300, 0)), "A0", sheet.Options{})
	if len(d.Pages) != 1 || d.Pages[0].W != 1189 {
		t.Errorf("%d sheets, the first %g wide", len(d.Pages), d.Pages[0].W)
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

func BenchmarkLayoutOneSize(b *testing.B) {
	p, _ := sheet.Papers("A4")
	j := sheettest.Run(1)
	b.ReportAllocs()
	for b.Loop() {
		if _, err := sheet.Layout(j, p, sheettest.Metrics{}, sheet.Options{}); err != nil {
			b.Fatal(err)
		}
	}
}
