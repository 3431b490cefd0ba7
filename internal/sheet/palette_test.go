package sheet

import (
	"fmt"
	"math"
	"testing"
)

// contrast to white by WCAG 2.2, "relative luminance" and "contrast ratio".
func contrast(c RGB) float64 {
	lin := func(v float64) float64 {
		if v <= 0.04045 {
			return v / 12.92
		}
		return math.Pow((v+0.055)/1.055, 2.4)
	}
	return 1.05 / (0.2126*lin(c.R) + 0.7152*lin(c.G) + 0.0722*lin(c.B) + 0.05)
}

func TestEverySizeHasADashAndAColourOfItsOwn(t *testing.T) {
	dashes, colors := map[string]int{}, map[RGB]int{}
	for i := range MaxSizes {
		k := fmt.Sprint(dash(i))
		if j, ok := dashes[k]; ok {
			t.Errorf("sizes %d and %d have the dash %s", j, i, k)
		}
		dashes[k] = i
		if j, ok := colors[color(i)]; ok {
			t.Errorf("sizes %d and %d have one colour", j, i)
		}
		colors[color(i)] = i
	}
	for _, j := range []int{0, 5, 11, 20} {
		for i := range 24 {
			a, b := color(i), color(j)
			if d := math.Abs(a.R-b.R) + math.Abs(a.G-b.G) + math.Abs(a.B-b.B); i != j && d < 0.12 {
				t.Errorf("colours %d and %d are hardly to be told apart: %v %v", i, j, a, b)
			}
		}
	}
}

// A dash must also differ where it starts elsewhere: turned round and read backwards.
func TestNoDashIsAnotherOneShifted(t *testing.T) {
	same := func(a, b []float64) bool {
		if len(a) != len(b) {
			return false
		}
		for s := 0; s < len(a); s += 2 {
			eq := true
			for i := 0; i < len(a) && eq; i += 2 {
				eq = a[(i+s)%len(a)] == b[i]
			}
			if eq {
				return true
			}
		}
		return false
	}
	for i := range MaxSizes {
		for j := range i {
			if i > 0 && len(dash(i)) > 0 && same(dash(i), dash(j)) {
				t.Errorf("dash %d is dash %d", i, j)
			}
		}
	}
}

func TestLinesPrintFirmOnAGreyPrinter(t *testing.T) {
	for i := range MaxSizes {
		if k := contrast(color(i)); k < 4.5 {
			t.Errorf("size %d has a contrast of %.2f : 1", i, k)
		}
	}
	if cutWidth < 0.35 || cutWidth > 0.5 {
		t.Errorf("cut lines are %g mm wide", cutWidth)
	}
}

func TestNeighboursInTheRunDifferInHueAndDash(t *testing.T) {
	for i := 1; i < 24; i++ {
		a, b := color(i-1), color(i)
		if d := math.Abs(a.R-b.R) + math.Abs(a.G-b.G) + math.Abs(a.B-b.B); d < 0.35 {
			t.Errorf("sizes %d and %d: colours %v and %v", i-1, i, a, b)
		}
		if len(dash(i)) == len(dash(i-1)) && len(dash(i)) > 0 {
			same := 0
			for k := range dash(i) {
				if dash(i)[k] == dash(i - 1)[k] {
					same++
				}
			}
			if same == len(dash(i)) {
				t.Errorf("sizes %d and %d have one dash", i-1, i)
			}
		}
	}
}
