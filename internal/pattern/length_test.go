package pattern

import (
	"math"
	"strings"
	"testing"
)

// An inch is exactly 25.4 mm, and a yard, 36 inches, 0.9144 m: NIST, Addendum to NBS Circular 572,
// effective 1 July 1959.
func TestTheInchIsExact(t *testing.T) {
	if mm, err := ParseLength("36in"); err != nil || mm != 914.4 {
		t.Errorf("36 in = %v mm, %v", mm, err)
	}
	if mm, err := ParseLength("1in"); err != nil || mm != 25.4 {
		t.Errorf("1 in = %v mm, %v", mm, err)
	}
}

func TestLengthsAreReadAsMakersWriteThem(t *testing.T) {
	for s, want := range map[string]float64{
		"12.7mm": 12.7, "4cm": 40, "5/8in": 15.875, "1 1/2in": 38.1, "2in": 50.8, "-2in": -50.8, "0mm": 0, "0.5in": 12.7, "4 cm": 40, "-1 1/4in": -31.75,
		"5/8 in": 15.875, "½in": 12.7, "1½in": 38.1, "1 ½in": 38.1, "-1¾ in": -44.45, "⅝in": 15.875, "⅒cm": 1, "5⁄8in": 15.875, "1 5⁄8in": 41.275,
		"1/2cm": 5, "3½cm": 35, "3/3in": 25.4, "0/8in": 0, "007mm": 7, "1/1000in": 0.0254, "20000mm": 20000, "⅓in": 25.4 / 3, "⅔in": 50.8 / 3, "⅞in": 22.225, "¾in": 19.05,
		"⅕cm": 2, "⅖cm": 4, "⅗cm": 6, "⅘cm": 8, "⅙in": 25.4 / 6, "⅚in": 127. / 6, "⅐in": 25.4 / 7, "⅛in": 3.175, "⅜in": 9.525, "¼in": 6.35, "⅑in": 25.4 / 9,
	} {
		if got, err := ParseLength(s); err != nil || math.Abs(got-want) > 1e-12 {
			t.Errorf("%q = %v, %v; want %v mm", s, got, err, want)
		}
	}
}

func TestALengthWithoutSenseIsRefused(t *testing.T) {
	for s, why := range map[string]string{
		"": "no unit", "5": "no unit", "5/8": "no unit", "½": "no unit", "mm": "no number", "in": "no number", "-in": "no number", " mm": "no number",
		"5m": "units", "5 inches": "units", `5"`: "units", "5″": "units", "5ft": "units", "5MM": "units", "5µm": "units", "5.0inin": "units",
		"1e3mm": "read", "NaNmm": "units", "Infin": "units", "0x5mm": "read", "5/0in": "divides", "1/0in": "divides", "1/1001in": "finer",
		"1/2/3in": "read", "1 in in": "read", "--5mm": "read", "+5mm": "read", "5 5mm": "read", "1.5/2in": "read", "1.5 1/2in": "whole", ".5in": "read", "5.in": "read",
		"1 /2in": "read", "٣mm": "read", "1  1/2in": "read", "1½½in": "whole", "½1in": "read", "1.5½in": "whole", "↉in": "read", "⅟2in": "read", "1 2 3/4in": "read",
		" 5mm": "whole", "5mm ": "no unit", "5\tmm": "read", "-0mm": "minus zero", "-0/8in": "minus zero", "20001mm": "20 m", "9999999/1in": "read", "1,5cm": "read",
		"99999999999999999999999999999999999999999999mm": "longer", strings.Repeat("½", 30) + "in": "longer",
	} {
		v, err := ParseLength(s)
		if err == nil {
			t.Errorf("%q was read as %v", s, v)
			continue
		}
		f := FaultsOf(err)[0]
		if f.Rule != "length" || f.Valid == "" || f.Remedy == "" {
			t.Errorf("%q: %+v", s, f)
		}
		if !strings.Contains(f.Detail, why) {
			t.Errorf("%q is refused with %q, want something about %q", s, f.Detail, why)
		}
	}
}

func FuzzParseLength(f *testing.F) {
	for _, s := range []string{"5/8in", "1 1/2in", "1½in", "-4 cm", "12.7mm", "", "½½in", "9/0in"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		mm, err := ParseLength(s)
		if err == nil && !(math.Abs(mm) <= MaxPlaceLength) {
			t.Errorf("%q = %v", s, mm)
		}
	})
}
