package inspect_test

import (
	"testing"

	"sizerun/internal/inspect"
)

// One of three lengths of a ruffle is longer than one of four: what is cut more often in larger sizes is judged by the
// seams that it is sewn in, not by its edges.
func TestAPieceCutMoreOftenInLargerSizesNeedNotGrowEvenly(t *testing.T) {
	grows := func(counts ...int) bool {
		var s []inspect.Sized
		for i, n := range counts {
			x := strip([]string{"1", "2", "3", "4", "5", "6", "7"}[i], 1200+float64(i)*10-float64(n)*200)
			x.Pattern.Pieces[0].Cut.Count = n
			s = append(s, x)
		}
		for _, c := range inspect.Run(s, chart(nil, nil), inspect.Options{}).Checks {
			if c.Rule == "growth" && c.Verdict == inspect.Fail {
				return false
			}
		}
		return true
	}
	if !grows(3, 3, 3, 3, 4, 4, 4) {
		t.Error("lengths that are one more in larger sizes do not grow")
	}
	s := []inspect.Sized{strip("1", 600), strip("2", 610), strip("3", 620), strip("4", 430), strip("5", 440), strip("6", 450), strip("7", 460)}
	found := false
	for _, c := range inspect.Run(s, chart(nil, nil), inspect.Options{}).Checks {
		found = found || c.Rule == "growth" && c.Verdict == inspect.Fail
	}
	if !found {
		t.Error("a piece that is cut alike in all sizes may jump")
	}
}
