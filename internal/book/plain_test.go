package book

import (
	"strings"
	"testing"

	"sizerun/internal/pattern"
)

func speaking() speaker {
	p := pattern.Pattern{Pieces: []pattern.Piece{
		{Name: "front_side", Title: "Front, side panel", Marks: []pattern.Mark{{Kind: pattern.Notch, Name: "front_notch"}, {Kind: pattern.Dot, Name: "front_dot"}}},
		{Name: "sleeve_band", Title: "Sleeve band", Marks: []pattern.Mark{{Kind: pattern.Notch, Name: "sleeve_band_hem_1_2"}, {Kind: pattern.Notch, Name: "waist_centre_seam_2"}}},
		{Name: "strip", Title: "Neck binding (bias)"},
		{Name: "front_yoke", Title: "Skirt front, front_yoke"},
		{Name: "nameless"},
	}}
	return speakerOf(&p)
}

func TestNamesOfTheDocumentBecomeWords(t *testing.T) {
	say := speaking()
	for in, want := range map[string]string{
		"Sew front_side to strip.hem_2.":               "Sew front side panel to hem 2 of neck binding.",
		"Sew front_yoke, skirt front front yoke.":      "Sew skirt front front yoke, skirt front front yoke.",
		"Interface sleeve_band.":                       "Interface sleeve band.",
		"Circle skirt (three_quarter), size 92":        "Circle skirt (three quarter), size 92",
		"back.waist_centre begins":                     "waist centre of back begins",
		"e.g. at the hem, i.e. below":                  "e.g. at the hem, i.e. below",
		"the hem. then 2.5 times the waist":            "the hem. then 2.5 times the waist",
		"Draw a rectangle 3699.9 mm long":              "Draw a rectangle 3700 mm long",
		"389.1 mm of band for 969.94 mm":               "389 mm of band for 970 mm",
		"opens by 88.75 mm, turn 6.35 mm (1/4 in)":     "opens by 88.8 mm, turn 6.35 mm (1/4 in)",
		"go 101.6 mm (4 in) down":                      "go 101.6 mm (4 in) down",
		"pieces allow for 3.0 % of shrinkage, 12.5 mm": "pieces allow for 3.0 % of shrinkage, 12.5 mm",
	} {
		if got := say.plain(in); got != want {
			t.Errorf("%q: got %q, want %q", in, got, want)
		}
	}
	for in, want := range map[string]string{
		"front_dot": "front dot", "front_notch": "front notch", "sleeve_band_hem_1_2": "notch, hem", "waist_centre_seam_2": "waist centre seam",
		"line 3 at the hem": "a line at the hem", "left lip": "left lip", "": "",
	} {
		if got := say.label(in); got != want {
			t.Errorf("label %q: got %q, want %q", in, got, want)
		}
	}
}

// A line may end before or after a length, never within it.
func TestALengthIsNeverBrokenOverTwoLines(t *testing.T) {
	for in, want := range map[string]string{
		"to the point, 144.5 mm (5 11/16 in) long;":        "to|the|point,|144.5 mm (5 11/16 in)|long;",
		"15.9 mm (5/8 in) and 9.5 mm (about 3/8 in), then": "15.9 mm (5/8 in)|and|9.5 mm (about 3/8 in),|then",
		"about 50.8 mm from the edge":                      "about 50.8 mm|from|the|edge",
		"for 3.0 % of it, 12 cm.":                          "for|3.0 %|of|it,|12 cm.",
		"1–2, 3–4: 25 mm (1 in); 5–6: 2 mm (1/16 in)":      "1–2,|3–4:|25 mm (1 in);|5–6:|2 mm (1/16 in)",
		"Cut 2 panels (front) mm":                          "Cut|2|panels|(front)|mm",
		"a tape (not steel)":                               "a|tape|(not|steel)",
	} {
		if got := strings.Join(runs(in), "|"); got != want {
			t.Errorf("got %q, want %q", got, want)
		}
	}
}

func TestAMeasuredLengthIsAsFineAsATapeReads(t *testing.T) {
	for mm, want := range map[float64]string{
		9.68: "9.7 mm (3/8 in)", 102: "102 mm (4 in)", 101.6: "101.6 mm (4 in)", 144.46: "144.5 mm (5 11/16 in)",
		334.68: "334.5 mm (13 3/16 in)", 1939.9: "1940 mm (76 3/8 in)", 99.97: "100 mm (3 15/16 in)", 0: "0 mm (0 in)", -2.04: "-2 mm (-1/16 in)",
	} {
		if got := tape(mm); got != want {
			t.Errorf("%v: got %q, want %q", mm, got, want)
		}
	}
}

func TestATitleMayBeginWithAnyLetter(t *testing.T) {
	for in, want := range map[string]string{"ärmel": "Ärmel", "": "", "x": "X", "9 panels": "9 panels"} {
		if got := upperFirst(in); got != want {
			t.Errorf("%q: %q", in, got)
		}
	}
	if got := Spoken(&pattern.Piece{Name: "a_b", Title: ""}); got != "a b" {
		t.Errorf("a piece without a title is called %q", got)
	}
}

func TestNumbersOfOneNameAreListedShort(t *testing.T) {
	for want, in := range map[string][]int{"1": {1}, "1, 2": {2, 1}, "1–3": {1, 2, 3}, "1, 3–5, 9, 10": {1, 3, 4, 5, 9, 10}} {
		if got := numbers(in); got != want {
			t.Errorf("%v: %q", in, got)
		}
	}
}
