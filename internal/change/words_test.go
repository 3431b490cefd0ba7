package change

import "testing"

func TestASentenceTellsLengthsAsTheyAreMeasured(t *testing.T) {
	for was, want := range map[string]string{
		"gather it from 3699.9 mm to 924.97 mm": "gather it from 3700 mm to 925 mm",
		"4 lengths of 1203 mm, 31.26 mm deep":   "4 lengths of 1205 mm, 31.5 mm deep",
		"5/8 in (15.9 mm); 6.35 mm (1/4 in)":    "5/8 in (16 mm); 6.35 mm (1/4 in)",
		"1016 mm (40 in) and 40 mm":             "1016 mm (40 in) and 40 mm",
		"cut 12 mm2 of nothing":                 "cut 12 mm2 of nothing",
		"0.2 mm":                                "0.2 mm",
	} {
		if got := sensible(was); got != want {
			t.Errorf("%q became %q, not %q", was, got, want)
		}
	}
}
