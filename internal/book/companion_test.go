package book_test

import (
	"strings"
	"testing"

	"sizerun/internal/book"
	"sizerun/internal/maker"
	"sizerun/internal/pattern"
	"sizerun/internal/sheet"
	"sizerun/internal/sheet/sheettest"
)

// wren is the demo, made in three sizes.
func wren(t *testing.T) maker.Made { return demo(t, "wren-petal", "8", "14", "22") }

// words is all that a document says, a line an item.
func words(d sheet.Document) string {
	var b strings.Builder
	for _, p := range d.Pages {
		for _, it := range p.Items {
			if it.Text != nil {
				b.WriteString(it.Text.S + "\n")
			}
		}
	}
	return b.String()
}

func TestTheOrderOfSewingGoesFromDartsToHems(t *testing.T) {
	c := wren(t).Companion(maker.Print{})
	if c.Shown.Pattern.Size != "14" {
		t.Fatalf("the amounts are those of size %s, not of the base size", c.Shown.Pattern.Size)
	}
	var steps []string
	for _, s := range c.Order {
		steps = append(steps, s.Text)
	}
	at := func(word string) int {
		t.Helper()
		for i, s := range steps {
			if strings.Contains(s, word) {
				return i
			}
		}
		t.Fatalf("no step says %q:\n%s", word, strings.Join(steps, "\n"))
		return -1
	}
	order := []int{at("bust dart"), at("Narrow hem"), at("Shoulder:"), at("Side:"), at("Set in the sleeve"), at("Hem front")}
	for i := 1; i < len(order); i++ {
		if order[i] <= order[i-1] {
			t.Errorf("the steps stand in the order %v:\n%s", order, strings.Join(steps, "\n"))
		}
	}
	for _, s := range steps {
		if strings.Contains(s, "_") {
			t.Errorf("a step speaks in names of the document: %s", s)
		}
		if strings.HasPrefix(s, "Armhole front") || strings.HasPrefix(s, "Underarm:") {
			t.Errorf("the petal sleeve tells that itself: %s", s)
		}
	}
	if !strings.Contains(steps[at("Shoulder:")], "15.9 mm (5/8 in)") {
		t.Error("the shoulder seam has no allowance told")
	}
	if !strings.Contains(strings.Join(book.General(), " "), "Neaten") {
		t.Error("nothing says that allowances are neatened")
	}
}

func TestNothingOverlapsAndNothingIsClipped(t *testing.T) {
	made := wren(t)
	made.Style.Labels = []string{strings.Repeat("A long line of the shop's own words, with an unbreakableword ", 20), strings.Repeat("x", 400)}
	for _, p := range []sheet.Paper{{Name: "A4", W: 210, H: 297}, {Name: "Letter", W: 215.9, H: 279.4}} {
		d := made.Companion(maker.Print{Stamp: "made for order 1001", Ref: "wren-petal"}).Pages(p, sheettest.Metrics{})
		if len(d.Pages) < 2 {
			t.Errorf("%s: %d pages", p.Name, len(d.Pages))
		}
		for _, fault := range sheet.Audit(d, 6, sheettest.Metrics{}) {
			t.Errorf("%s: %s", p.Name, fault)
		}
		if n := strings.Count(words(d), "made for order 1001"); n != len(d.Pages) {
			t.Errorf("%s: the stamp stands on %d of %d pages", p.Name, n, len(d.Pages))
		}
	}
}

func TestAChartForChildrenIsKnown(t *testing.T) {
	for name, c := range map[string]struct {
		body map[string][]float64
		want bool
	}{
		"women":          {map[string][]float64{"bust": {800, 920}}, false},
		"petite women":   {map[string][]float64{"bust": {740, 760}, "height": {1500, 1520}}, false},
		"six years old":  {map[string][]float64{"chest": {580, 600}, "height": {1100, 1160}}, true},
		"chest alone":    {map[string][]float64{"chest": {560, 600}}, true},
		"no chest known": {map[string][]float64{"hip": {900, 940}}, false},
	} {
		if got := book.Children(pattern.SizeChart{Base: "b", Run: []string{"a", "b"}, Body: c.body}); got != c.want {
			t.Errorf("%s: %v", name, got)
		}
	}
}

// A piece that is interfaced says so on the paper, where it is cut, and on the list beside it.
func TestAnInterfacedPieceSaysSo(t *testing.T) {
	job := demo(t, "fieldfare", "92").Job(maker.Print{})
	for title, want := range map[string]string{"Waistband": "main cloth, and 1 of interfacing", "Upper sleeve cuff": "main cloth, and 2 of interfacing", "Back": "main cloth"} {
		found := false
		for _, p := range job.Pieces {
			found = found || p.Lines[0] == title && strings.HasSuffix(p.Lines[2], want)
		}
		if !found {
			t.Errorf("the label of %s does not end with %q", title, want)
		}
	}
	for _, r := range job.Cutting.Rows {
		if r[0] == "Waistband" && r[2] != "main, and 1 of interfacing" {
			t.Errorf("the list says %v", r)
		}
	}
}
