package pattern

import (
	"math"
	"testing"
)

func TestInchesAreWrittenAsATapeIsMarked(t *testing.T) {
	for _, c := range []struct {
		mm    float64
		parts int
		want  string
		off   float64
	}{
		{15.875, 8, "5/8", 0}, {15.875, 16, "5/8", 0}, {38.1, 8, "1 1/2", 0}, {50.8, 16, "2", 0}, {-25.4, 8, "-1", 0},
		{10, 16, "3/8", 0.475}, {0, 8, "0", 0}, {1.5875, 16, "1/16", 0},
	} {
		got, off := Inches(c.mm, c.parts)
		if got != c.want || math.Abs(off-c.off) > 1e-9 {
			t.Errorf("%v mm in %dths: got %q off by %v, want %q off by %v", c.mm, c.parts, got, off, c.want, c.off)
		}
	}
}
