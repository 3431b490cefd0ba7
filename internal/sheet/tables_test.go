package sheet_test

import (
	"math"
	"testing"

	"sizerun/internal/sheet"
	"sizerun/internal/sheet/sheettest"
)

func TestBodyAndGarmentAreReadDownTheSameColumns(t *testing.T) {
	j := sheettest.Run(3)
	j.Chart = sheet.Table{Title: "Body measurements, cm", Head: []string{"Size", "s1", "s2", "s3"}, Rows: [][]string{{"Bust", "711.5", "722.5", "733.5"}}}
	j.Finished = sheet.Table{Title: "Finished garment, cm", Head: j.Chart.Head, Rows: [][]string{{"Bust, under the arm, all the way round", "811.5", "1822.5", "833.5"}}}
	p, _ := sheet.Papers("A4")
	d, err := sheet.Layout(j, p, sheettest.Metrics{}, sheet.Options{})
	if err != nil {
		t.Fatal(err)
	}
	at := map[string]sheet.Text{}
	for _, it := range d.Pages[0].Items {
		if it.Text != nil {
			at[it.Text.S] = *it.Text
		}
	}
	for _, pair := range [][2]string{{"s1", "711.5"}, {"s2", "722.5"}, {"711.5", "811.5"}, {"722.5", "1822.5"}, {"733.5", "833.5"}} {
		a, b := at[pair[0]], at[pair[1]]
		if a.S == "" || b.S == "" || math.Abs(a.At.X-b.At.X) > 0.01 || !(a.At.Y > b.At.Y) {
			t.Errorf("%q stands at %v and %q at %v, not below it", pair[0], a.At, pair[1], b.At)
		}
	}
	if h := at["Finished garment, cm"]; !(h.At.Y < at["711.5"].At.Y && h.At.Y > at["811.5"].At.Y) {
		t.Error("no heading parts the garment from the body")
	}
	if d := (at["722.5"].At.X - at["711.5"].At.X) - (at["733.5"].At.X - at["722.5"].At.X); math.Abs(d) > 0.01 {
		t.Errorf("columns of figures differ in width by %.2f mm", d)
	}
	for _, f := range sheet.Audit(d, 6, sheettest.Metrics{}) {
		t.Error(f)
	}
}
