package pattern

import (
	"math"
	"testing"
)

func TestLengthsAreReadAsMakersWriteThem(t *testing.T) {
	for s, want := range map[string]float64{
		"12.7mm": 12.7, "4cm": 40, "5/8in": 15.875, "1 1/2in": 38.1, "2in": 50.8, "-2in": -50.8, "0mm": 0, "0.5in": 12.7, "4 cm": 40, "-1 1/4in": -31.75,
	} {
		if got, err := ParseLength(s); err != nil || math.Abs(got-want) > 1e-12 {
			t.Errorf("%q = %v, %v; want %v mm", s, got, err, want)
		}
	}
}

func TestALengthWithoutSenseIsRefused(t *testing.T) {
	for _, s := range []string{"", "5", "mm", "in", "1e3mm", "NaNmm", "Infin", "0x5mm", "5/0in", "1/2/3in", "1 in in", "--5mm", "+5mm", "5 5mm", "1.5/2in", ".5in", "5.in", "1 /2in", "٣mm", "1  1/2in", "99999999999999999999999999999999999999999999mm"} {
		if v, err := ParseLength(s); err == nil {
			t.Errorf("%q was read as %v", s, v)
		}
	}
}
