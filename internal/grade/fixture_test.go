package grade_test

import (
	"testing"

	"sizerun/internal/document"
	"sizerun/internal/grade"
	"sizerun/internal/pattern"
)

// blouse is a small block of our own: a sleeve with a curved cap level at the crown, and a front
// with a fold, a neckline square to it, a straight shoulder and an armhole that leaves the
// shoulder and meets the side at a stated angle.
const blouse = `{ "block": "test-blouse", "title": "A test blouse", "unit": "mm", "drawn": "seam",
  "sizes": { "base": "12", "run": ["8","10","12","14","16"], "breaks": ["14"],
             "body": { "bust": [800,840,880,920,980], "upper_arm": [256,268,280,292,310], "back_length": [396,400,404,408,412] } },
  "pieces": {
    "sleeve": {
      "title": "Sleeve", "cut": { "count": 2, "pair": true, "cloth": "main" },
      "points": { "crown": [4,138], "underarm_back": [-172,0], "underarm_front": [168,0], "hem_back": [-160,-95], "hem_front": [156,-95], "front_break": [96,64] },
      "outline": [ { "edge": "hem", "from": "hem_back", "to": "hem_front" },
                   { "edge": "underarm_front", "from": "hem_front", "to": "underarm_front" },
                   { "edge": "cap_front", "from": "underarm_front", "to": "crown", "curve": [[138,4],[118,30],[96,64],[76,95],[48,138]] },
                   { "edge": "cap_back", "from": "crown", "to": "underarm_back", "curve": [[-60,138],[-96,10]] },
                   { "edge": "underarm_back", "from": "underarm_back", "to": "hem_back" } ],
      "marks": [ { "mark": "dot", "name": "crown_dot", "at": { "point": "crown" } },
                 { "mark": "notch", "name": "front_notch", "count": 1, "at": { "edge": "cap_front", "from": "underarm_front", "along": 84 } },
                 { "mark": "notch", "name": "back_notch", "count": 2, "at": { "edge": "cap_back", "from": "underarm_back", "along": 88 } },
                 { "mark": "notch", "name": "half", "at": { "between": ["crown_dot", "front_notch"], "share": 0.5 } },
                 { "mark": "dot", "name": "inner", "at": [20, 40] } ],
      "lines": [ { "line": "biceps", "via": [[-172,0],[168,0]] } ],
      "grain": { "from": [0,-70], "to": [0,90] }, "align": "crown",
      "grade": { "underarm_back": { "x": { "upper_arm": -0.5 } }, "underarm_front": { "x": { "upper_arm": 0.5 } },
                 "hem_back": { "x": { "upper_arm": -0.5 } }, "hem_front": { "x": { "upper_arm": 0.5 } },
                 "crown": { "y": { "bust": 0.05 } } } },
    "front": {
      "title": "Front", "cut": { "count": 1, "cloth": "main" },
      "points": { "centre_neck": [0,330], "centre_waist": [0,0], "side_waist": [210,0], "underarm": [232,190], "shoulder": [150,370], "neck": [62,400] },
      "outline": [ { "edge": "waist", "from": "centre_waist", "to": "side_waist" },
                   { "edge": "side", "from": "side_waist", "to": "underarm" },
                   { "edge": "armhole", "from": "underarm", "to": "shoulder", "curve": [[170,200],[128,300]] },
                   { "edge": "shoulder", "from": "shoulder", "to": "neck" },
                   { "edge": "neckline", "from": "neck", "to": "centre_neck", "curve": [[58,352],[36,330]] },
                   { "edge": "centre", "from": "centre_neck", "to": "centre_waist", "fold": true } ],
      "marks": [ { "mark": "notch", "name": "armhole_notch", "count": 1, "at": { "edge": "armhole", "from": "underarm", "along": 80 } } ],
      "grain": { "from": [40,60], "to": [40,260] }, "align": "centre_waist",
      "grade": { "centre_waist": {}, "centre_neck": { "y": { "back_length": 1 } }, "side_waist": { "x": { "bust": 0.25 } },
                 "underarm": { "x": { "bust": 0.25 }, "y": { "back_length": 0.5 } },
                 "shoulder": { "x": { "bust": 0.1 }, "y": { "back_length": 1 } }, "neck": { "x": { "bust": 0.03 }, "y": { "back_length": 1.1 } } } } },
  "seams": [ { "seam": "armhole_front", "cap": true, "sew": [["sleeve","cap_front"]], "to": [["front","armhole"]], "ease": ["-20mm","40mm"], "notches": [["front_notch","armhole_notch"]] } ] }`

func block(t testing.TB, doc string) pattern.Block {
	t.Helper()
	b, err := document.DecodeBlock([]byte(doc), document.DefaultLimits())
	if err != nil {
		t.Fatal(err)
	}
	return b
}

func run(t testing.TB, b pattern.Block, sizes ...string) []pattern.Pattern {
	t.Helper()
	if len(sizes) == 0 {
		sizes = b.Chart.Run
	}
	ps, err := grade.Run(b, sizes)
	if err != nil {
		t.Fatal(err)
	}
	return ps
}
