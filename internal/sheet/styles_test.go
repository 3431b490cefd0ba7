package sheet_test

import (
	"errors"
	"reflect"
	"testing"

	"sizerun/internal/sheet"
	"sizerun/internal/sheet/sheettest"
)

// cutPens lists the pen of each size's cut line, by the Form's name.
func cutPens(d sheet.Document) map[string]sheet.Pen {
	out := map[string]sheet.Pen{}
	for _, f := range d.Forms {
		if len(f.Items) > 0 && f.Items[0].Stroke != nil && f.Items[0].Stroke.Closed {
			out[f.Name] = f.Items[0].Stroke.Pen
		}
	}
	return out
}

// A buyer who picks three of twelve sizes sees the dashes and colours of the full nest.
func TestASizeKeepsItsLineWhicheverSizesArePrinted(t *testing.T) {
	full := sheettest.Typical()
	some := full
	some.Sizes, some.Pieces = nil, nil
	picked := []int{2, 5, 10}
	for _, k := range picked {
		some.Sizes, some.Styles = append(some.Sizes, full.Sizes[k]), append(some.Styles, k)
	}
	for _, pc := range full.Pieces {
		all := pc.Sizes
		pc.Sizes = nil
		for _, k := range picked {
			pc.Sizes = append(pc.Sizes, all[k])
		}
		some.Pieces = append(some.Pieces, pc)
	}
	a, _ := lay(t, full, "A4", sheet.Options{})
	b, p := lay(t, some, "A4", sheet.Options{})
	audit(t, b, p)
	want, got := cutPens(a), cutPens(b)
	if len(got) != len(picked)*len(full.Pieces) {
		t.Fatalf("%d cut lines", len(got))
	}
	for name, pen := range got {
		if !reflect.DeepEqual(pen, want[name]) {
			t.Errorf("%s is drawn %+v, in the full nest %+v", name, pen, want[name])
		}
	}
}

// One size alone has nothing to be told apart from: its line is unbroken and black.
func TestOneSizeAloneIsAnUnbrokenLine(t *testing.T) {
	j := sheettest.Run(1)
	j.Styles = []int{7}
	d, p := lay(t, j, "A4", sheet.Options{})
	audit(t, d, p)
	for name, pen := range cutPens(d) {
		if len(pen.Dash) > 0 || pen.Color != (sheet.RGB{}) {
			t.Errorf("%s is drawn %+v", name, pen)
		}
	}
	if !says(d, d.Pages[0], "cut line, size "+j.Sizes[0]) {
		t.Error("the legend does not say which line to cut along")
	}
}

func TestStylesThatDoNotFitTheSizesAreRefused(t *testing.T) {
	a4, _ := sheet.Papers("A4")
	for _, styles := range [][]int{{}, {1, 2}, {0, 1, -1}, {0, 1, 5000}} {
		j := sheettest.Run(3)
		j.Styles = styles
		_, err := sheet.Layout(j, a4, sheettest.Metrics{}, sheet.Options{})
		var f sheet.Fault
		if !errors.As(err, &f) || f.Rule != "styles" {
			t.Errorf("styles %v: %v", styles, err)
		}
	}
}
