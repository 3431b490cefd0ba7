package sheet_test

import (
	"reflect"
	"strings"
	"testing"

	"sizerun/internal/sheet"
	"sizerun/internal/sheet/sheettest"
)

// A sheet that is stamped anew is the sheet that would have been laid out with that stamp, to the last item.
func TestASheetStampedAnewIsTheOneLaidOutAnew(t *testing.T) {
	for _, paper := range sheet.PaperNames() {
		j := sheettest.Run(2)
		j.Stamp = "made for order 1"
		first, _ := lay(t, j, paper, sheet.Options{})
		kept, _ := lay(t, j, paper, sheet.Options{})
		for _, stamp := range []string{"made for order 1002", "x", strings.Repeat("a long name of a customer ", 20), "“quoted” <b> & עברית", "   spaced   "} {
			got, ok := sheet.Restamp(first, stamp, sheettest.Metrics{})
			if !ok {
				t.Fatalf("%s: %q can't be stamped", paper, stamp)
			}
			j.Stamp = stamp
			want, _ := lay(t, j, paper, sheet.Options{})
			if !reflect.DeepEqual(got, want) {
				t.Errorf("%s: %q differs", paper, stamp)
			}
		}
		if !reflect.DeepEqual(first, kept) {
			t.Fatalf("%s: the sheet that was stamped anew has changed itself", paper)
		}
		for _, stamp := range []string{"", "  ", "\x00\n"} {
			if _, ok := sheet.Restamp(first, stamp, sheettest.Metrics{}); ok {
				t.Errorf("%s: %q was stamped", paper, stamp)
			}
		}
		j.Stamp = ""
		bare, _ := lay(t, j, paper, sheet.Options{})
		if _, ok := sheet.Restamp(bare, "made for order 1", sheettest.Metrics{}); ok {
			t.Errorf("%s: a sheet without room for a stamp was stamped", paper)
		}
	}
}
