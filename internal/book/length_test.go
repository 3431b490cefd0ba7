package book

import "testing"

func TestLengthsReadAsATapeMeasureIsMarked(t *testing.T) {
	for _, c := range []struct {
		mm   float64
		want string
	}{
		{15.875, "15.9 mm (5/8 in)"}, // 5/8 in, the usual home allowance (common practice)
		{12.7, "12.7 mm (1/2 in)"},
		{6.35, "6.4 mm (1/4 in)"},
		{50.8, "50.8 mm (2 in)"},
		{38.1, "38.1 mm (1 1/2 in)"},
		{10, "10 mm (about 3/8 in)"},
		{0, "0 mm (0 in)"},
		{-25.4, "-25.4 mm (-1 in)"},
		{25.39, "25.4 mm (1 in)"},
	} {
		if got := Both(c.mm); got != c.want {
			t.Errorf("%v mm: got %q, want %q", c.mm, got, c.want)
		}
	}
}
