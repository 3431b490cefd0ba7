package inspect

import (
	"strings"
	"testing"

	"sizerun/internal/pattern"
)

func chartOf() pattern.SizeChart {
	return pattern.SizeChart{Base: "12", Run: []string{"10", "12", "14"}, Body: map[string][]float64{
		"bust": {1000, 1090, 1180}, "waist": {800, 880, 960}, "hip": {1050, 1130, 1210}, "wrist": {160, 165, 170}}}
}

func TestABodyOutsideTheChartWarnsHowFar(t *testing.T) {
	s := Sized{Pattern: pattern.Pattern{Size: "order 1001", Body: map[string]float64{"bust": 1240, "waist": 790, "hip": 1200, "wrist": 170, "foot": 240}}}
	want := map[string]struct {
		verdict Verdict
		mm      float64
		text    string
	}{
		"bust":  {Warn, 60, "Bust, 1240 mm, is 60 mm (5.1 %) above the chart's largest, 1180 mm"},
		"waist": {Warn, -10, "Waist, 790 mm, is 10 mm (1.2 %) below the chart's smallest, 800 mm"},
		"hip":   {Pass, 0, "within the chart, 1050 to 1210 mm"},
		"wrist": {Pass, 0, "within the chart"},
	}
	for _, c := range bodies([]Sized{s}, chartOf()) {
		if c.Rule != "outside_chart" {
			continue
		}
		w, ok := want[c.Place]
		if !ok || c.Verdict != w.verdict || c.Measured != w.mm || !strings.Contains(c.Text, w.text) || c.Size != "order 1001" {
			t.Errorf("%s: %s, %g mm: %s", c.Place, c.Verdict, c.Measured, c.Text)
		}
		delete(want, c.Place)
	}
	for k := range want {
		t.Errorf("nothing is said of the %s", k)
	}
}

func TestABodyIsToldItsNearestSize(t *testing.T) {
	p := pattern.Pattern{Size: "order 1001", Body: map[string]float64{"bust": 1100, "waist": 960, "hip": 1085}}
	told := func(s Sized) string {
		for _, c := range bodies([]Sized{s}, chartOf()) {
			if c.Rule == "nearest_size" {
				if c.Verdict != Pass {
					t.Errorf("it is a %s", c.Verdict)
				}
				return c.Text
			}
		}
		return ""
	}
	if got := told(Sized{Pattern: p}); got != "By the bust this body is nearest to size 12 (10 mm more), by the hip to size 10 (35 mm more), by the waist to size 14 (the same)." {
		t.Error(got)
	}
	// A skirt is chosen by the hip; nobody asks for the bust.
	if got := told(Sized{Pattern: p, Finished: []Taken{{Name: "waist", Body: "waist"}, {Name: "hip", Body: "hip"}}}); !strings.HasPrefix(got, "By the hip this body is nearest to size 10") || strings.Contains(got, "bust") {
		t.Error(got)
	}
	// Sizes of the chart are no bodies.
	p.Size = "12"
	if out := bodies([]Sized{{Pattern: p}}, chartOf()); len(out) > 0 {
		t.Error(out)
	}
}
