package book_test

import (
	"strings"
	"testing"

	"sizerun/internal/maker"
	"sizerun/internal/sheet"
	"sizerun/internal/sheet/sheettest"
)

var childWords = []string{"EN 14682", "ASTM F1816", "cords", "neck or hood", "16 CFR 1615", "1616", "flammability", "Small parts", "choke", "local rules decide"}

// A chart of children's heights makes every paper of the pattern warn: the companion and page 1 of the
// pattern itself.
func TestAChildrensPatternWarnsOnCompanionAndPattern(t *testing.T) {
	for _, child := range []bool{false, true} {
		made := wren(t)
		height := make([]float64, len(made.Block.Chart.Run))
		for i := range height {
			height[i] = 1640
			if child {
				height[i] = 1100 + 20*float64(i)
			}
		}
		made.Block.Chart.Body["height"] = height
		companion := running(made.Companion(maker.Print{}).Pages(a4, sheettest.Metrics{}))
		page, ok := sheet.Papers("A4")
		if !ok {
			t.Fatal("no A4")
		}
		d, err := sheet.Layout(made.Job(maker.Print{}), page, sheettest.Metrics{}, sheet.Options{})
		if err != nil {
			t.Fatal(err)
		}
		first := strings.ReplaceAll(words(sheet.Document{Pages: d.Pages[:1]}), "\n", " ")
		for _, w := range childWords {
			if strings.Contains(companion, w) != child {
				t.Errorf("child %v: companion and %q", child, w)
			}
			if strings.Contains(first, w) != child {
				t.Errorf("child %v: page 1 of the pattern and %q", child, w)
			}
		}
	}
}

// One child's body on a chart of adults is warned of as well.
func TestAChildsOwnBodyIsWarnedOf(t *testing.T) {
	made := demo(t, "wren-petal", "8")
	if made.Children() {
		t.Fatal("a women's size is taken for a child's")
	}
	made.Sizes[0].Pattern.Size = "order 1001"
	made.Sizes[0].Pattern.Body = map[string]float64{"bust": 620, "waist": 560}
	if !made.Children() {
		t.Error("a bust of 62 cm is no grown woman's (EN 13402-3 begins at 66 cm)")
	}
}

// A pattern for one body is computed, and says so wherever it is read.
func TestACustomSizeSaysThatAFittingDecides(t *testing.T) {
	made := demo(t, "wren-petal", "14")
	const says = "Custom sizes are computed, not fitted: a fitting decides."
	for _, custom := range []bool{false, true} {
		if custom {
			made.Sizes[0].Pattern.Size = "order 1001"
		}
		if got := strings.Contains(running(made.Companion(maker.Print{}).Pages(a4, sheettest.Metrics{})), says); got != custom {
			t.Errorf("custom %v: the companion says it %v", custom, got)
		}
		if got := strings.Contains(strings.Join(made.Job(maker.Print{}).Notes, " "), says); got != custom {
			t.Errorf("custom %v: page 1 says it %v", custom, got)
		}
	}
}

// The other cautions of the trade stand on every companion.
func TestTheUsualCautionsStandOnEveryCompanion(t *testing.T) {
	for _, name := range demos(t) {
		said := running(demo(t, name).Companion(maker.Print{}).Pages(a4, sheettest.Metrics{}))
		for _, w := range []string{"test squares", "trial garment in cheap cloth", "sizes are computed, a fitting decides", "Rotary cutters", "scissors", "irons and steam burn"} {
			if !strings.Contains(said, w) {
				t.Errorf("%s: nothing is said of %q", name, w)
			}
		}
	}
}
