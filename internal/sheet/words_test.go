package sheet_test

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"sizerun/internal/geom"
	"sizerun/internal/sheet"
	"sizerun/internal/sheet/sheettest"
)

func TestRunesWithoutAGlyphBecomeQuestionMarks(t *testing.T) {
	j := sheettest.Run(2)
	j.Title = "Блуза 衬衫 ✂ wren"
	j.Shop = "a\x00b\xffc\u202e"
	j.Pieces[0].Lines[0] = "前片"
	j.Notes = append(j.Notes, "line one\nline two \U0001F9F5")
	d, p := lay(t, j, "A4", sheet.Options{})
	audit(t, d, p)
	if !says(d, d.Pages[0], "????? ?? ? wren") {
		t.Errorf("page 1 says %q", texts(d, d.Pages[0])[0].S)
	}
}

// However long the words of a shop are, they are wrapped or shortened, never clipped.
func TestLongWordsAreShortened(t *testing.T) {
	long := strings.Repeat("Ottilie and the very long name of a blouse ", 30)
	solid := strings.Repeat("W", 2000)
	for _, s := range []string{long, solid} {
		j := sheettest.Run(5)
		j.Title, j.Shop, j.Ref, j.Stamp, j.Warning = s, s, s, s, s
		j.Notes = []string{s, s, s}
		j.Chart.Title, j.Chart.Head[1], j.Chart.Rows[0][0], j.Chart.Rows[1][2] = s, s, s, s
		j.Cutting.Rows[2][1] = s
		for i := range j.Pieces {
			j.Pieces[i].Lines = []string{s, s, s}
			for k := range j.Pieces[i].Sizes {
				for n := range j.Pieces[i].Sizes[k].Texts {
					j.Pieces[i].Sizes[k].Texts[n].S = s
				}
			}
		}
		for _, paper := range sheet.PaperNames() {
			d, p := lay(t, j, paper, sheet.Options{})
			audit(t, d, p)
		}
	}
}

// A label stands inside the smallest size, so that it stays on the piece whichever size is cut.
func TestALabelStandsInsideTheSmallestSize(t *testing.T) {
	j := sheettest.Typical()
	d, _ := lay(t, j, "A4", sheet.Options{})
	for _, pc := range j.Pieces {
		found := 0
		for _, pg := range d.Pages[1:] {
			for _, it := range pg.Items {
				if it.Text == nil || it.Text.S != pc.Lines[0] {
					continue
				}
				found++
				if it.Text.Size < 1.8 {
					t.Errorf("%s: the label is %.1f mm small", pc.Name, it.Text.Size)
				}
				for _, u := range pg.Items {
					if u.Use != nil && d.Forms[u.Use.Form].Name == pc.Name+" "+j.Sizes[0] {
						if !pc.Sizes[0].Cut.Contains(it.Text.At.Add(u.Use.Move.Mul(-1))) {
							t.Errorf("%s: the label lies outside size %s", pc.Name, j.Sizes[0])
						}
					}
				}
			}
		}
		if found != 1 {
			t.Errorf("%s is labelled %d times", pc.Name, found)
		}
	}
}

// A strap has no room for words: they stand beside it, with a leader, and stay clear of the next piece.
func TestANarrowPieceIsLabelledBesideIt(t *testing.T) {
	for _, p := range []sheet.Piece{box("strap", 6, 9, 420, 0.5), box("loop", 6, 300, 6, 0.5)} {
		p.Lines = []string{"Strap", "cut 2 of the main cloth", "no allowance"}
		d, paper := lay(t, job(6, p, box("cuff", 6, 200, 90, 4)), "A4", sheet.Options{})
		audit(t, d, paper)
		n := 0
		for _, pg := range d.Pages {
			if says(d, pg, "Strap") {
				n++
			}
		}
		if n != 1 {
			t.Errorf("the label of %s stands on %d pages", p.Name, n)
		}
	}
}

// Each size is told on its own line in a nest with room for it.
func TestSizeNamesStandBesideTheirLines(t *testing.T) {
	j := sheettest.Run(6)
	d, _ := lay(t, j, "A0", sheet.Options{})
	for k, s := range j.Sizes {
		names := 0
		for _, pg := range d.Pages {
			for _, it := range pg.Items {
				if it.Text == nil || it.Layer != k || it.Text.Face != sheet.Bold { // marks are named in the lighter face
					continue
				}
				names++
				if it.Text.S != s {
					t.Errorf("%q stands on the layer of size %s", it.Text.S, s)
				}
				// The nearest cut line is its own.
				best, whose := math.Inf(1), ""
				for _, u := range pg.Items {
					if u.Use == nil || u.Layer < 0 {
						continue
					}
					cut := d.Forms[u.Use.Form].Items[0].Stroke.Paths[0]
					mid := it.Text.At.Add(geom.Vec{X: 0, Y: 0.25 * it.Text.Size}.Rotate(it.Text.Angle))
					if _, dd := cut.Project(mid.Add(u.Use.Move.Mul(-1))); dd < best {
						best, whose = dd, j.Sizes[u.Layer]
					}
				}
				if whose != s {
					t.Errorf("the name %s stands nearest to the line of size %s", s, whose)
				}
			}
		}
		if names < len(j.Pieces)-2 {
			t.Errorf("size %s is named %d times on %d pieces", s, names, len(j.Pieces))
		}
	}
}

func TestASizeThatLacksThePieceIsLeftOut(t *testing.T) {
	j := sheettest.Run(4)
	j.Pieces[0].Sizes[0] = sheet.Drawn{}
	j.Pieces[1].Sizes[3] = sheet.Drawn{}
	d, p := lay(t, j, "A4", sheet.Options{})
	audit(t, d, p)
	for _, f := range d.Forms {
		if f.Name == j.Pieces[0].Name+" "+j.Sizes[0] || f.Name == j.Pieces[1].Name+" "+j.Sizes[3] {
			t.Errorf("%s is drawn", f.Name)
		}
	}
}

// The squares are what a buyer trusts: 50 mm and 2 in = 50.8 mm (the inch of 1959, 25.4 mm).
func TestTheTestSquaresAreTrue(t *testing.T) {
	for _, paper := range sheet.PaperNames() {
		d, _ := lay(t, sheettest.Run(12), paper, sheet.Options{})
		found := map[string]bool{}
		for _, it := range d.Pages[0].Items {
			if it.Stroke == nil || len(it.Stroke.Paths) != 1 {
				continue
			}
			r := it.Stroke.Paths[0].Bounds()
			for name, side := range map[string]float64{"50 mm": 50, "2 in": 50.8} {
				if math.Abs(r.W()-side) < 1e-9 && math.Abs(r.H()-side) < 1e-9 {
					for _, x := range texts(d, d.Pages[0]) {
						if x.S == name && r.Contains(x.At) {
							found[name] = true
						}
					}
				}
			}
		}
		if len(found) != 2 {
			t.Errorf("%s: squares found on page 1: %v", paper, found)
		}
		how := "Print at 100 %, no scaling"
		if p, _ := sheet.Papers(paper); p.Grid > 0 {
			how = "Project at true size"
		}
		if !says(d, d.Pages[0], how) || !says(d, d.Pages[0], "Before you cut") {
			t.Errorf("%s: page 1 lacks how to print, or the cautions", paper)
		}
	}
}

func TestPageOneShowsEverySizesLine(t *testing.T) {
	j := sheettest.Run(24)
	d, _ := lay(t, j, "A4", sheet.Options{})
	dashes := map[string]bool{}
	for _, it := range d.Pages[0].Items {
		if it.Stroke != nil && it.Stroke.Pen.Width == 0.4 && len(it.Stroke.Paths) == 1 && it.Stroke.Paths[0].Length() > 15 {
			dashes[fmt.Sprint(it.Stroke.Pen)] = true
		}
	}
	if len(dashes) < 24 {
		t.Errorf("%d different lines in the legend", len(dashes))
	}
	for _, s := range j.Sizes {
		if !says(d, d.Pages[0], s) {
			t.Errorf("page 1 does not name size %s", s)
		}
	}
}

// Tables that page 1 cannot hold go on; every row is printed once.
func TestTablesGoOnOnFurtherPages(t *testing.T) {
	for _, paper := range sheet.PaperNames() {
		j := sheettest.Run(20)
		for i := range 150 {
			j.Cutting.Rows = append(j.Cutting.Rows, []string{fmt.Sprintf("part-%03d", i), "cut 1", "main cloth", "10 mm"})
		}
		d, p := lay(t, j, paper, sheet.Options{})
		audit(t, d, p)
		count := map[string]int{}
		for _, pg := range d.Pages {
			for _, x := range texts(d, pg) {
				count[x.S]++
			}
		}
		for i := range 150 {
			if s := fmt.Sprintf("part-%03d", i); count[s] != 1 {
				t.Fatalf("%s: row %s is printed %d times", paper, s, count[s])
			}
		}
	}
}

func TestATableWithMoreColumnsThanTheWidthIsSetInParts(t *testing.T) {
	j := sheettest.Run(2)
	j.Chart = sheet.Table{Title: "Every size", Head: []string{"measure"}, Rows: [][]string{{"bust"}}}
	for i := range 45 {
		j.Chart.Head = append(j.Chart.Head, fmt.Sprintf("s%d", i))
		j.Chart.Rows[0] = append(j.Chart.Rows[0], fmt.Sprintf("%d.5", 700+i))
	}
	d, p := lay(t, j, "A4", sheet.Options{})
	audit(t, d, p)
	for i := range 45 {
		some := false
		for _, pg := range d.Pages {
			some = some || says(d, pg, fmt.Sprintf("%d.5", 700+i))
		}
		if !some {
			t.Errorf("the value of s%d is missing", i)
		}
	}
}

// The map tells every page of the drawing by its number, once.
func TestTheMapNumbersEveryPage(t *testing.T) {
	for _, paper := range []string{"A4", "Letter", "A4+Letter"} {
		j := sheettest.Typical()
		j.Chart, j.Finished, j.Cutting = sheet.Table{}, sheet.Table{}, sheet.Table{} // whose figures might be taken for pages
		d, _ := lay(t, j, paper, sheet.Options{})
		count := map[string]int{}
		for _, it := range d.Pages[0].Items {
			if it.Text != nil && it.Text.Face == sheet.Bold && it.Text.Align == sheet.Center && it.Text.Size < 4 {
				count[it.Text.S]++
				if it.Text.Size < 1.6 {
					t.Errorf("%s: the page number %s is %.1f mm small", paper, it.Text.S, it.Text.Size)
				}
			}
		}
		for n := 2; n <= len(d.Pages); n++ {
			if s := fmt.Sprint(n); count[s] != 1 {
				t.Errorf("%s: page %s stands %d times on the map", paper, s, count[s])
			}
		}
	}
}

// No word beside a mark is lost while there is room on the sheet.
func TestWordsBesideMarksAreAllWritten(t *testing.T) {
	d, _ := lay(t, sheettest.Run(6), "A0", sheet.Options{})
	count := map[string]int{}
	for _, pg := range d.Pages {
		for _, x := range texts(d, pg) {
			count[x.S]++
		}
	}
	// Two of the eight pieces have a waist, which the size chart names too, and two a crown; four lie on the
	// fold, which the legend names too.
	for s, want := range map[string]int{"waist": 2 + 1, "crown": 2, "dart point": 1, "place on the fold": 4 + 1, "grain": 8} {
		if count[s] != want {
			t.Errorf("%q is written %d times, want %d", s, count[s], want)
		}
	}
}

// A tall piece crosses many pages: whoever holds one of them in hand reads on it which line is hers.
func TestEveryPageNamesTheSizesOnIt(t *testing.T) {
	d, p := lay(t, job(6, box("train", 6, 150, 2400, 12)), "A4", sheet.Options{})
	audit(t, d, p)
	for _, pg := range d.Pages[1:] {
		lines, names := map[int]bool{}, map[int]bool{}
		for _, it := range pg.Items {
			switch {
			case it.Layer == sheet.NoLayer:
			case it.Use != nil && strokeLength(d.Forms[it.Use.Form].Items, it.Use.Move, it.Use.Clip) > 120:
				lines[it.Layer] = true
			case it.Text != nil:
				names[it.Layer] = true
			}
		}
		if len(lines) > 0 && len(names) < len(lines)*6/10 {
			t.Errorf("%s shows the lines of %d sizes and names %d", pg.Label, len(lines), len(names))
		}
	}
}

// A narrow strip carries its label itself, all but the name in one row: a label beside it has to be
// cut off with the paper.
func TestANarrowStripCarriesItsLabel(t *testing.T) {
	strip := box("binding", 1, 600, 18, 0)
	strip.Lines = []string{"Neck binding", "Wren blouse, petal sleeve", "cut 1, main cloth", "on the bias", "includes 6 mm seam allowance"}
	d, p := lay(t, job(1, strip), "A0", sheet.Options{})
	audit(t, d, p)
	for _, it := range d.Pages[0].Items {
		if it.Use == nil {
			continue
		}
		r := d.Forms[it.Use.Form].Bounds
		r = geom.Rect{Min: r.Min.Add(it.Use.Move), Max: r.Max.Add(it.Use.Move)}
		for _, x := range texts(d, d.Pages[0]) {
			if strings.HasPrefix(x.S, "Wren blouse, petal sleeve · cut 1") && r.Contains(x.At) {
				return
			}
		}
	}
	t.Error("the label does not stand in the strip")
}
