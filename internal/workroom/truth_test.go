package workroom

import (
	"math"
	"testing"
)

// The demo's chart is our own; it must still lie where bodies do. Upper-arm girth grows by 10 to
// 15 mm per 40 mm of bust: 11.1 in ANSUR II (2012, 1,986 women, regression of biceps on chest girth),
// 14.3 in the 260 women of Heinz et al. 2003 (J. Stat. Educ. 11), 12.0 in a textbook chart. A bracket,
// not an equality: bodies scatter.
func TestUpperArmGrowsAsBodiesDo(t *testing.T) {
	c := wren(t).Chart
	bust, arm := c.Body["bust"], c.Body["upper_arm"]
	for i := 1; i < len(bust); i++ {
		per40 := (arm[i] - arm[i-1]) / (bust[i] - bust[i-1]) * 40
		if per40 < 10 || per40 > 15 {
			t.Errorf("size %s: upper arm grows by %.1f mm per 40 mm of bust", c.Run[i], per40)
		}
	}
}

// EN 13402-3 has women's bust classes with bounds at 74, 78, … 102 and 107, 113, … 131 cm (as listed in
// the CRAN package Anthropometry 1.20, bustSizesStandard); each size of the demo lies in a class of
// its own, in order.
func TestDemoSizesFallIntoStandardBustClasses(t *testing.T) {
	bounds := []float64{740, 780, 820, 860, 900, 940, 980, 1020, 1070, 1130, 1190, 1250, 1310}
	c := wren(t).Chart
	for i, b := range c.Body["bust"] {
		if b <= bounds[i] || b >= bounds[i+1] {
			t.Errorf("size %s: bust %.0f mm is not in the class from %.0f to %.0f", c.Run[i], b, bounds[i], bounds[i+1])
		}
	}
}

// Cap ease of a set-in sleeve in woven cloth: 12 to 40 mm in all, 3 to 8 % of the armhole, more at the
// back than at the front (common practice; Virginia Cooperative Extension 346-122 of 1985 gives 1 to
// 1 1/2 in). Measured here on the edges themselves, not by the checks.
func TestTheDemoCapEasesIntoItsArmhole(t *testing.T) {
	plain := []byte(`{"style":"plain","title":"plain","block":"wren-w","changes":[],"allowances":{"default":"5/8in"}}`)
	for _, s := range made(t, demo(t, "blocks/wren-w"), plain).Sizes {
		length := func(piece, edge string) float64 {
			p := s.Pattern.PieceNamed(piece)
			return p.Edges[p.EdgeNamed(edge)].Path.Length()
		}
		front := length("sleeve", "cap_front") - length("front", "armhole")
		back := length("sleeve", "cap_back") - length("back", "armhole")
		armhole := length("front", "armhole") + length("back", "armhole")
		ease := front + back
		if ease < 12 || ease > 40 || ease < 0.03*armhole || ease > 0.08*armhole {
			t.Errorf("size %s: %.1f mm of ease on an armhole of %.1f mm", s.Pattern.Size, ease, armhole)
		}
		if back < front-1 {
			t.Errorf("size %s: %.1f mm at the back, %.1f mm at the front", s.Pattern.Size, back, front)
		}
		shoulders := length("front", "shoulder") - length("back", "shoulder")
		sides := length("front", "side_upper") + length("front", "side_lower") - length("back", "side_upper") - length("back", "side_lower")
		legs := length("front", "dart_upper") - length("front", "dart_lower")
		if math.Abs(shoulders) > 0.1 || math.Abs(sides) > 0.1 || math.Abs(legs) > 0.1 {
			t.Errorf("size %s: shoulders differ by %.3f mm, sides by %.3f, legs by %.3f", s.Pattern.Size, shoulders, sides, legs)
		}
	}
}

// The blouse has no opening and its bound neck does not stretch, so the neck goes over the head: an
// adult head is about 550 to 580 mm round (from memory).
func TestTheDemoGoesOverTheHead(t *testing.T) {
	plain := []byte(`{"style":"plain","title":"plain","block":"wren-w","changes":[],"allowances":{"default":"5/8in"}}`)
	for _, s := range made(t, demo(t, "blocks/wren-w"), plain).Sizes {
		round := 0.0
		for _, piece := range []string{"front", "back"} {
			p := s.Pattern.PieceNamed(piece)
			round += 2 * p.Edges[p.EdgeNamed("neck")].Path.Length()
		}
		if round < 580 {
			t.Errorf("size %s: the neck is %.0f mm round", s.Pattern.Size, round)
		}
	}
}
