package document

import (
	"bytes"
	"fmt"
	"strings"
	"testing"
	"time"

	"sizerun/internal/pattern"
)

// hostile is a change to the small block, and how the result must be refused.
type hostile struct{ old, new, rule, pointer string }

var wrongBlocks = []hostile{
	// JSON that is not JSON, or that other readers let through.
	{`"title": "A`, `"title": "A` + "\x00", "control_character", "/title"},
	{`"title": "A`, `"title": "A\u0000`, "control_character", "/title"},
	{`"title": "A`, `"title": "A` + "\n", "control_character", "/title"},
	{`"title": "A`, `"title": "A` + "\xff", "utf8", "/title"},
	{`"title": "A`, `"title": "A` + "\xed\xa0\x80", "utf8", "/title"}, // a surrogate in UTF-8
	{`"title": "A`, `"title": "A` + "\xc0\x80", "utf8", "/title"},     // an overlong NUL
	{`"title": "A`, `"title": "A\ud800`, "lone_surrogate", "/title"},
	{`"title": "A`, `"title": "A\udc00\ud800`, "lone_surrogate", "/title"},
	{`"title": "A`, `"title": "A\q`, "syntax", "/title"},
	{`"title": "A`, `"title": "A\u12`, "syntax", "/title"},
	{`"title": "A`, `"title": "A\u0085`, "text", "/title"},
	{`"title": "A`, `"title": "A\n`, "text", "/title"},
	{`"title":`, `"Title": "x", "title":`, "duplicate_name", "/title"},
	{`"title":`, `"title": "x", "title":`, "duplicate_name", "/title"},
	{`"title":`, `"tit\u006ce": "x", "title":`, "duplicate_name", "/title"},
	{`"back": { "points"`, `"Front": {}, "back": { "points"`, "duplicate_name", "/pieces/Front"},
	{`"b": [20,0], "c"`, `"b": [20,0], "b": [20,1], "c"`, "duplicate_name", "/pieces/front/points/b"},
	{`"a": [0,0], "b"`, `"a": [1e400,0], "b"`, "out_of_range", "/pieces/front/points/a/0"},
	{`"a": [0,0], "b"`, `"a": [-1e400,0], "b"`, "out_of_range", "/pieces/front/points/a/0"},
	{`"a": [0,0], "b"`, `"a": [0,-0], "b"`, "negative_zero", "/pieces/front/points/a/1"},
	{`"a": [0,0], "b"`, `"a": [0,-0.0e5], "b"`, "negative_zero", "/pieces/front/points/a/1"},
	{`"a": [0,0], "b"`, `"a": [0,-1e-999], "b"`, "negative_zero", "/pieces/front/points/a/1"},
	{`"a": [0,0], "b"`, `"a": [NaN,0], "b"`, "syntax", "/pieces/front/points/a/0"},
	{`"a": [0,0], "b"`, `"a": [Infinity,0], "b"`, "syntax", "/pieces/front/points/a/0"},
	{`"a": [0,0], "b"`, `"a": [-Infinity,0], "b"`, "syntax", "/pieces/front/points/a/0"},
	{`"a": [0,0], "b"`, `"a": [01,0], "b"`, "syntax", "/pieces/front/points/a/0"},
	{`"a": [0,0], "b"`, `"a": [+1,0], "b"`, "syntax", "/pieces/front/points/a/0"},
	{`"a": [0,0], "b"`, `"a": [.5,0], "b"`, "syntax", "/pieces/front/points/a/0"},
	{`"a": [0,0], "b"`, `"a": [5.,0], "b"`, "syntax", "/pieces/front/points/a/0"},
	{`"a": [0,0], "b"`, `"a": [0x10,0], "b"`, "syntax", "/pieces/front/points/a"},
	{`"a": [0,0], "b"`, `"a": [0.` + strings.Repeat("1", 60) + `,0], "b"`, "number", "/pieces/front/points/a/0"},
	{`"a": [0,0], "b"`, `"a": [0,0,], "b"`, "syntax", "/pieces/front/points/a/2"},
	{`"a": [0,0], "b"`, `"a": [0 0], "b"`, "syntax", "/pieces/front/points/a"},
	{`"a": [0,0], "b"`, `"a" [0,0], "b"`, "syntax", "/pieces/front/points/a"},
	{`"a": [0,0], "b"`, `a: [0,0], "b"`, "syntax", "/pieces/front/points"},
	{`"a": [0,0], "b"`, `/* a */ "a": [0,0], "b"`, "syntax", "/pieces/front/points"},
	{`"a": [0,0], "b"`, `"a": ` + strings.Repeat("[", 40) + `, "b"`, "too_deep", "/pieces/front/points/a" + strings.Repeat("/0", 28)},

	// Names that are not in the grammar, missing ones, wrong kinds.
	{`"sizes": {`, `"size": {`, "unknown_name", "/size"},
	{`"sizes": {`, `"size": {`, "missing_name", "/sizes"},
	{`"base": "12", `, ``, "missing_name", "/sizes/base"},
	{`"align": "a",` + "\n" + `      "grade"`, `"grade"`, "missing_name", "/pieces/front/align"},
	{`"grade": { "a"`, `"Grade": { "a"`, "unknown_name", "/pieces/front/Grade"},
	{`"fold":true`, `"fold":"yes"`, "kind", "/pieces/front/outline/5/fold"},
	{`"fold":true`, `"folded":true`, "unknown_name", "/pieces/front/outline/5/folded"},
	{`"unit": "cm"`, `"unit": "inch"`, "unknown_value", "/unit"},
	{`"unit": "cm"`, `"unit": null`, "kind", "/unit"},
	{`"drawn": "cut"`, `"drawn": "sewn"`, "unknown_value", "/drawn"},
	{`"block": "small"`, `"block": "Small Block"`, "name", "/block"},
	{`"block": "small"`, `"block": "../small"`, "name", "/block"},
	{`"block": "small"`, `"block": ""`, "name", "/block"},
	{`"block": "small"`, `"block": "` + strings.Repeat("x", 65) + `"`, "name", "/block"},
	{`"block": "small"`, `"block": 7`, "kind", "/block"},
	{`"title": "A`, `"title": "` + strings.Repeat("ä", 301) + `A`, "text", "/title"},
	{`"title": "A`, `"title": "` + strings.Repeat("x", 2000) + `A`, "text", "/title"},

	// Sizes and the chart.
	{`["10","12","14"], "breaks"`, `[], "breaks"`, "count", "/sizes/run"},
	{`["10","12","14"], "breaks"`, `["10","12","12"], "breaks"`, "duplicate_name", "/sizes/run/2"},
	{`["10","12","14"], "breaks"`, `["xs","12","XS"], "breaks"`, "duplicate_name", "/sizes/run/2"},
	{`["10","12","14"], "breaks"`, `["10","12"," 14"], "breaks"`, "name", "/sizes/run/2"},
	{`["10","12","14"], "breaks"`, `["10","12",14], "breaks"`, "kind", "/sizes/run/2"},
	{`["10","12","14"], "breaks"`, `[` + strings.Repeat(`"1",`, 60) + `"2"], "breaks"`, "count", "/sizes/run"},
	{`"base": "12"`, `"base": "13"`, "unknown_size", "/sizes/base"},
	{`"breaks": ["14"]`, `"breaks": ["15"]`, "unknown_size", "/sizes/breaks/0"},
	{`"arm": [26,27,28]`, `"arm": [26,27]`, "chart_length", "/sizes/body/arm"},
	{`"arm": [26,27,28]`, `"arm": [26,27,28,29]`, "chart_length", "/sizes/body/arm"},
	{`"arm": [26,27,28]`, `"arm": [26,0,28]`, "out_of_range", "/sizes/body/arm/1"},
	{`"arm": [26,27,28]`, `"arm": [26,-3,28]`, "out_of_range", "/sizes/body/arm/1"},
	{`"arm": [26,27,28]`, `"arm": [26,27,501]`, "out_of_range", "/sizes/body/arm/2"},
	{`"arm": [26,27,28]`, `"Upper Arm": [26,27,28]`, "name", "/sizes/body/Upper Arm"},
	{`"arm": [26,27,28]`, `"a/b~c": [26,27,28]`, "name", "/sizes/body/a~1b~0c"},

	// Points and lengths.
	{`"a": [0,0], "b"`, `"a": [0], "b"`, "kind", "/pieces/front/points/a"},
	{`"a": [0,0], "b"`, `"a": [0,0,0], "b"`, "kind", "/pieces/front/points/a"},
	{`"a": [0,0], "b"`, `"a": {"x":0,"y":0}, "b"`, "kind", "/pieces/front/points/a"},
	{`"a": [0,0], "b"`, `"a": ["0",0], "b"`, "length", "/pieces/front/points/a/0"},
	{`"a": [0,0], "b"`, `"a": ["5/0in",0], "b"`, "length", "/pieces/front/points/a/0"},
	{`"a": [0,0], "b"`, `"a": [true,0], "b"`, "kind", "/pieces/front/points/a/0"},
	{`"a": [0,0], "b"`, `"a": [1001,0], "b"`, "out_of_range", "/pieces/front/points/a/0"}, // 10.01 m
	{`"a": [0,0], "b"`, `"a": [0,-1e300], "b"`, "out_of_range", "/pieces/front/points/a/1"},
	{`"a": [0,0], "b"`, `"A": [0,0], "b"`, "name", "/pieces/front/points/A"},
	{`"back": { "points"`, `"back piece": { "points"`, "name", "/pieces/back piece"},

	// Outlines.
	{`{"edge":"leg_one","from":"e","to":"tip"}, `, ``, "open_outline", "/pieces/front/outline/0/to"},
	{`{"edge":"centre","from":"d","to":"a","fold":true}`, `{"edge":"centre","from":"d","to":"b","fold":true}`, "open_outline", "/pieces/front/outline/5/to"},
	{`{"edge":"hem","from":"a","to":"e"}`, `{"edge":"hem","from":"a","to":"z"}`, "unknown_point", "/pieces/front/outline/0/to"},
	{`{"edge":"leg_one"`, `{"edge":"hem"`, "duplicate_name", "/pieces/front/outline/1/edge"},
	{`"tip": [10,12]`, `"tip": [25,12]`, "self_crossing", "/pieces/front/outline"},
	{`"curve":[[21,10],[21,20]]`, `"curve":[[60,40],[-60,-10]]`, "self_crossing", "/pieces/front/outline"},
	{`"curve":[[21,10],[21,20]]`, `"curve":[[21,10]]`, "edge_shape", "/pieces/front/outline/3/curve"},
	{`"curve":[[21,10],[21,20]]`, `"curve":[]`, "count", "/pieces/front/outline/3/curve"},
	{`"curve":[[21,10],[21,20]]`, `"curve":[[21,10],[21,20]],"through":[[20,5]]`, "edge_shape", "/pieces/front/outline/3"},
	{`"curve":[[21,10],[21,20]]`, `"curve":[` + strings.Repeat("[21,10],", 600) + `[21,20]]`, "count", "/pieces/front/outline/3/curve"},
	{`"e": [12,0]`, `"e": [0,0]`, "edge_length", "/pieces/front/outline/0"},
	{`"points": { "a": [0,0], "b": [20,0], "c": [20,30], "d": [0,30] },` + "\n" + `      "outline": [ {"edge":"hem","from":"a","to":"b"}, {"edge":"side","from":"b","to":"c"}`,
		`"points": { "a": [0,0], "b": [20,0], "c": [20,30], "d": [0,30] },` + "\n" + `      "outline": [ {"edge":"hem","from":"a","to":"c"}, {"edge":"x","from":"c","to":"b"}, {"edge":"side","from":"b","to":"c"}`, "repeated_corner", "/pieces/yoke/outline/3/from"},

	// Marks, lines, darts, grain, align.
	{`"at":{"point":"tip"}`, `"at":{"point":"top"}`, "unknown_point", "/pieces/front/marks/1/at/point"},
	{`"at":{"point":"tip"}`, `"at":{"point":"point"}`, "mark_circle", "/pieces/front/marks/1/at"},
	{`"at":{"point":"tip"}`, `"at":{"point":"tip","share":0.5}`, "place", "/pieces/front/marks/1/at"},
	{`"at":{"point":"tip"}`, `"at":{}`, "place", "/pieces/front/marks/1/at"},
	{`"along":"4in"`, `"along":"40in"`, "off_edge", "/pieces/front/marks/0/at/along"},
	{`"along":"4in"`, `"along":-1`, "out_of_range", "/pieces/front/marks/0/at/along"},
	{`{"edge":"side","from":"b","along":"4in"}`, `{"edge":"side","from":"a","along":"4in"}`, "unknown_end", "/pieces/front/marks/0/at/from"},
	{`{"edge":"side","from":"b","along":"4in"}`, `{"edge":"sides","from":"b","along":"4in"}`, "unknown_edge", "/pieces/front/marks/0/at/edge"},
	{`{"edge":"side","from":"b","along":"4in"}`, `[10,15]`, "mark_off_outline", "/pieces/front/marks/0/at"},
	{`"at":[5,5]`, `"at":[-5,5]`, "mark_off_outline", "/pieces/front/marks/4/at"},
	{`"name":"point"`, `"name":"n1"`, "duplicate_name", "/pieces/front/marks/1/name"},
	{`"mark":"dot","name":"point"`, `"mark":"spot","name":"point"`, "unknown_value", "/pieces/front/marks/1/mark"},
	{`"count":2,"at"`, `"count":1.5,"at"`, "whole_number", "/pieces/front/marks/0/count"},
	{`"mark":"dot","name":"point"`, `"mark":"dot","count":2,"name":"point"`, "unknown_name", "/pieces/front/marks/1/count"},
	{`"share":0.5}`, `"share":1.5}`, "out_of_range", "/pieces/front/marks/2/at/share"},
	{`"between":["n1","c"]`, `"between":["n1","cc"]`, "unknown_point", "/pieces/front/marks/2/at/between/1"},
	{`"between":["n1","c"]`, `"between":["n1"]`, "kind", "/pieces/front/marks/2/at/between"},
	{`"via":[[0,20],[10,21],[20,20]]`, `"via":[[0,20]]`, "count", "/pieces/front/lines/0/via"},
	{`"legs":["leg_one","leg_two"]`, `"legs":["leg_one","side"]`, "dart_legs", "/pieces/front/darts/0/legs"},
	{`"legs":["leg_one","leg_two"]`, `"legs":["leg_one","leg_tow"]`, "unknown_edge", "/pieces/front/darts/0/legs/1"},
	{`"towards":"leg_one"`, `"towards":"hem"`, "unknown_edge", "/pieces/front/darts/0/towards"},
	{`"grain": {"from":[5,3],"to":[5,25]}`, `"grain": {"from":[5,3],"to":[5,3]}`, "grain", "/pieces/front/grain"},
	{`"grain": {"from":[5,3],"to":[5,25]}, `, ``, "missing_name", "/pieces/front/grain"},
	{`"align": "a",` + "\n" + `      "grade"`, `"align": "centre",` + "\n" + `      "grade"`, "unknown_point", "/pieces/front/align"},
	{`"count": 2, "pair": true`, `"count": 3, "pair": true`, "odd_pair", "/pieces/front/cut/count"},
	{`"count": 2, "pair": true`, `"count": 0, "pair": true`, "out_of_range", "/pieces/front/cut/count"},

	// Grading.
	{`"b": {"x":{"bust":0.25}}`, `"b": {"x":{"bsut":0.25}}`, "unknown_measurement", "/pieces/front/grade/b/x/bsut"},
	{`"b": {"x":{"bust":0.25}}`, `"bb": {"x":{"bust":0.25}}`, "unknown_point", "/pieces/front/grade/bb"},
	{`"b": {"x":{"bust":0.25}}`, `"b": {"z":{"bust":0.25}}`, "unknown_name", "/pieces/front/grade/b/z"},
	{`"b": {"x":{"bust":0.25}}`, `"b": {"x":{"bust":25}}`, "out_of_range", "/pieces/front/grade/b/x/bust"},
	{`"b": {"x":{"bust":0.25}}`, `"b": {"x":{"bust":"1/4"}}`, "kind", "/pieces/front/grade/b/x/bust"},
	{`"grade": { "a": {}, "d": {}, "b": {"x":{"bust":0.25}}, "c": {"x":{"bust":0.25},"y":{"arm":-0.125}},`, `"grade": { "b": {"x":{"bust":0.25}},`, "lone_rule", "/pieces/front/grade"},
	{`"grade": { "a"`, `"steps": {}, "grade": { "a"`, "grade_ways", "/pieces/front"},
	{`"after":{"12":[1.25,0]}`, `"after":{"13":[1.25,0]}`, "unknown_size", "/pieces/back/steps/b/after/13"},
	{`"c": [[-1,0],[0,0],[1.25,0]]`, `"c": [[-1,0],[0,0]]`, "chart_length", "/pieces/back/steps/c"},
	{`"c": [[-1,0],[0,0],[1.25,0]]`, `"c": [[-1,0],[0,1],[1.25,0]]`, "base_moves", "/pieces/back/steps/c/1"},
	{`"c": [[-1,0],[0,0],[1.25,0]]`, `"c": {"every":[1,0]}`, "unknown_name", "/pieces/back/steps/c/every"},
	{`"digitised": { "10"`, `"digitised": { "11"`, "unknown_size", "/pieces/yoke/digitised/11"},
	{`"digitised": { "10"`, `"digitised": { "11"`, "missing_size", "/pieces/yoke/digitised"},
	{`"points": {"a":[0,0],"b":[19,0],`, `"points": {"a":[0,0],`, "missing_point", "/pieces/yoke/digitised/10/points"},
	{`"curves": {"top":{"through":[[10,31]]}}`, `"curves": {}`, "missing_edge", "/pieces/yoke/digitised/14/curves"},
	{`"curves": {"top":{"through":[[10,31]]}}`, `"curves": {"top":{"through":[[10,31]]},"tip":{}}`, "unknown_edge", "/pieces/yoke/digitised/14/curves/tip"},
	{`"points": {"a":[0,0],"b":[21,0],"c":[21,30],"d":[0,30]}`, `"points": {"a":[21,0],"b":[0,0],"c":[0,30],"d":[21,30]}`, "clockwise", "/pieces/yoke/digitised/14/outline"},
	{`"marks": {"in":[5,6]}, "grain"`, `"marks": {"out":[5,6]}, "grain"`, "unknown_mark", "/pieces/yoke/digitised/10/marks/out"},

	// Seams.
	{`"sew": [["front","side"]]`, `"sew": [["front","sides"]]`, "unknown_edge", "/seams/0/sew/0/1"},
	{`"sew": [["front","side"]]`, `"sew": [["sleeve","side"]]`, "unknown_piece", "/seams/0/sew/0/0"},
	{`"sew": [["front","side"]]`, `"sew": []`, "count", "/seams/0/sew"},
	{`"sew": [["front","side"]]`, `"sew": ["front.side"]`, "kind", "/seams/0/sew/0"},
	{`"sew": [["front","side"]]`, `"sew": [["front","side"],["front","centre"]]`, "chain_gap", "/seams/0/sew/1"},
	{`"sew": [["front","side"]]`, `"sew": [["front","side"],["front","side"]]`, "duplicate_name", "/seams/0/sew/1"},
	{`"ease": ["-6mm",1.5]`, `"ease": [1.5,"-6mm"]`, "out_of_range", "/seams/0/ease"},
	{`"smooth": ["start","end"]`, `"smooth": ["beginning"]`, "unknown_value", "/seams/0/smooth/0"},
	{`[["n1","back.n1"]]`, `[["n9","back.n1"]]`, "unknown_mark", "/seams/0/notches/0/0"},
	{`[["n1","back.n1"]]`, `[["n1","back.n9"]]`, "unknown_mark", "/seams/0/notches/0/1"},
	{`"seam": "hem_seam"`, `"seam": "side_seam"`, "duplicate_name", "/seams/1/seam"},

	// The included allowance.
	{`"front.hem": 0`, `"front.him": 0`, "unknown_edge", "/included/front.him"},
	{`"front.hem": 0`, `"frond": 0`, "unknown_piece", "/included/frond"},
	{`"front.hem": 0`, `"front.hem": 31`, "out_of_range", "/included/front.hem"},
	{`"drawn": "cut"`, `"drawn": "seam"`, "included", "/included"},
}

func TestHostileBlocks(t *testing.T) {
	for i, c := range wrongBlocks {
		t.Run(fmt.Sprintf("%03d %s", i, c.rule), func(t *testing.T) {
			_, err := DecodeBlock([]byte(swap(t, small, c.old, c.new)), DefaultLimits())
			refused(t, err, c.rule, c.pointer)
		})
	}
}

// refused checks that err tells of the rule at the pointer, and that everything it tells is told
// in full: what, what is valid or what to do, on one line.
func refused(t *testing.T, err error, rule, pointer string) {
	t.Helper()
	fs, ok := err.(pattern.Faults)
	if !ok || len(fs) == 0 {
		t.Fatalf("not refused with Faults: %v", err)
	}
	found := false
	for _, f := range fs {
		found = found || f.Rule == rule && f.Pointer == pointer
		if f.Detail == "" || f.Remedy == "" || strings.ContainsAny(f.Error(), "\n\x00") || len(f.Error()) > 2000 {
			t.Errorf("badly told: %+v", f)
		}
	}
	if !found {
		t.Errorf("want %s at %q, got\n%v", rule, pointer, err)
	}
}

func TestHostileWholes(t *testing.T) {
	lim := DefaultLimits()
	for name, c := range map[string]struct{ doc, rule, pointer string }{
		"empty":             {"", "empty", ""},
		"spaces":            {" \n", "empty", ""},
		"null":              {"null", "kind", ""},
		"list":              {"[]", "kind", ""},
		"text":              {`"block"`, "kind", ""},
		"cut short":         {small[:400], "syntax", "/pieces/front/cut/cloth"},
		"trailing data":     {small + "{}", "trailing_data", ""},
		"trailing bracket":  {small + "}", "trailing_data", ""},
		"trailing NUL":      {small + "\x00", "trailing_data", ""},
		"byte order mark":   {"\xef\xbb\xbf" + small, "byte_order_mark", ""},
		"UTF-16":            {"\xff\xfe{\x00", "syntax", ""},
		"clockwise":         {`{"block":"b","sizes":{"base":"1","run":["1"]},"pieces":{"p":{"points":{"a":[0,0],"b":[9,0],"c":[9,9]},"outline":[{"edge":"ac","from":"a","to":"c"},{"edge":"cb","from":"c","to":"b"},{"edge":"ba","from":"b","to":"a"}],"grain":{"from":[5,1],"to":[5,3]},"align":"a"}}}`, "clockwise", "/pieces/p/outline"},
		"flat":              {`{"block":"b","sizes":{"base":"1","run":["1"]},"pieces":{"p":{"points":{"a":[0,0],"b":[900,0],"c":[450,0.001]},"outline":[{"edge":"ab","from":"a","to":"b"},{"edge":"bc","from":"b","to":"c"},{"edge":"ca","from":"c","to":"a"}],"grain":{"from":[5,1],"to":[5,3]},"align":"a"}}}`, "no_area", "/pieces/p/outline"},
		"deep lists":        {strings.Repeat("[", 20000), "too_deep", strings.Repeat("/0", 32)},
		"deep objects":      {strings.Repeat(`{"a":`, 20000), "too_deep", strings.Repeat("/a", 32)},
		"one byte too many": {small + strings.Repeat(" ", lim.Bytes+1-len(small)), "too_large", ""},
		"many values":       {`{"a":[` + strings.Repeat("0,", lim.Values) + "0]}", "too_many_values", fmt.Sprintf("/a/%d", lim.Values-2)},
		"long number":       {`{"block":` + strings.Repeat("9", 100000) + `}`, "number", "/block"},
		"one million names": {"{" + strings.Repeat(`"x":0,`, 10) + `"y":0}`, "duplicate_name", "/x"},
	} {
		t.Run(name, func(t *testing.T) {
			start := time.Now()
			_, err := DecodeBlock([]byte(c.doc), lim)
			refused(t, err, c.rule, c.pointer)
			// A bound, not a measurement: far above what it takes, far below what an attack wants.
			if d := time.Since(start); d > 2*time.Second {
				t.Errorf("refused only after %v", d)
			}
		})
	}
	if _, err := DecodeBlock([]byte(small+strings.Repeat(" ", lim.Bytes-len(small))), lim); err != nil {
		t.Errorf("a document of exactly the greatest size is refused: %v", err)
	}
}

// 20,000 points are allowed, one more is not; so are 60 sizes, 100 pieces, 200 edges of a piece.
func TestCountsAtTheirBounds(t *testing.T) {
	lim := DefaultLimits()
	pieces := func(n int) string {
		var b strings.Builder
		for i := range n {
			if i > 0 {
				b.WriteByte(',')
			}
			fmt.Fprintf(&b, `"p%d": { "points": {"a":[0,0],"b":[9,0],"c":[9,9]}, "outline": [{"edge":"ab","from":"a","to":"b"},{"edge":"bc","from":"b","to":"c"},{"edge":"ca","from":"c","to":"a"}], "grain": {"from":[5,1],"to":[5,3]}, "align": "a" }`, i)
		}
		return `{"block":"b","sizes":{"base":"1","run":["1"]},"pieces":{` + b.String() + `}}`
	}
	comb := func(teeth int) string {
		var pts, edges bytes.Buffer
		n := 2*teeth + 2
		for i := range n {
			x, y := float64(i)*2, 50.0
			if i%2 == 0 {
				y = 40
			}
			switch i {
			case n - 2:
				x, y = 0, 0
			case n - 1:
				x, y = float64(n-3)*2, 0
			}
			fmt.Fprintf(&pts, `"q%d":[%g,%g],`, i, x, y)
		}
		for i := range n {
			from, to := n-1-i, n-2-i
			if to < 0 {
				to = n - 1
			}
			// Along the top from right to left, down, along the bottom, up.
			order := func(k int) int {
				switch k {
				case 0:
					return n - 2
				case n - 1:
					return n - 1
				}
				return k - 1
			}
			fmt.Fprintf(&edges, `{"edge":"e%d","from":"q%d","to":"q%d"},`, i, order(from), order(to))
		}
		return `{"block":"b","sizes":{"base":"1","run":["1"]},"pieces":{"p":{"points":{` + strings.TrimSuffix(pts.String(), ",") + `},"outline":[` + strings.TrimSuffix(edges.String(), ",") + `],"grain":{"from":[5,1],"to":[5,3]},"align":"q0"}}}`
	}
	for _, c := range []struct{ name, doc, rule, pointer string }{
		{"100 pieces", pieces(100), "", ""},
		{"101 pieces", pieces(101), "count", "/pieces"},
		{"200 edges", comb(99), "", ""},
		{"202 edges", comb(100), "count", "/pieces/p/outline"},
	} {
		t.Run(c.name, func(t *testing.T) {
			_, err := DecodeBlock([]byte(c.doc), lim)
			if c.rule == "" {
				if err != nil {
					t.Fatal(err)
				}
				return
			}
			refused(t, err, c.rule, c.pointer)
		})
	}
	lines := func(points int) string {
		var b strings.Builder
		for k := 0; points > 0; k++ {
			n := min(points, 500)
			points -= n
			fmt.Fprintf(&b, `{"line":"l%d","via":[%s[1,1]]},`, k, strings.Repeat("[1,1],", n-1))
		}
		return swap(t, small, `"lines": [`, `"lines": [`+b.String())
	}
	all := 0
	{
		v, err := read([]byte(small), lim)
		if err != nil {
			t.Fatal(err)
		}
		d := &decoder{lim: lim, per: 1}
		d.block(v)
		all = d.points
	}
	if _, err := DecodeBlock([]byte(lines(lim.Points-all)), lim); err != nil {
		t.Errorf("%d points are refused: %v", lim.Points, err)
	}
	_, err := DecodeBlock([]byte(lines(lim.Points-all+1)), lim)
	if fs := pattern.FaultsOf(err); len(fs) != 1 || fs[0].Rule != "too_many_points" {
		t.Errorf("%d points: %v", lim.Points+1, err)
	}
}

// A maker mends a document faster when told all of it; a program is not to be flooded.
func TestAllFaultsAtOnce(t *testing.T) {
	doc := swap(t, small, `"unit": "cm"`, `"unit": "inch"`)
	doc = swap(t, doc, `"fold":true`, `"fold":1`)
	doc = swap(t, doc, `"along":"4in"`, `"along":"four"`)
	doc = swap(t, doc, `"smooth"`, `"smoth"`)
	_, err := DecodeBlock([]byte(doc), DefaultLimits())
	for _, p := range []string{"/unit", "/pieces/front/outline/5/fold", "/pieces/front/marks/0/at/along", "/seams/0/smoth"} {
		found := false
		for _, f := range pattern.FaultsOf(err) {
			found = found || f.Pointer == p
		}
		if !found {
			t.Errorf("nothing is told of %s:\n%v", p, err)
		}
	}
	var b strings.Builder
	for i := range 3000 {
		fmt.Fprintf(&b, `"n%d": 1,`, i)
	}
	_, err = DecodeBlock([]byte(swap(t, small, `{ "block"`, `{ `+b.String()+` "block"`)), DefaultLimits())
	if n := len(pattern.FaultsOf(err)); n != maxFaults {
		t.Errorf("%d faults are told of 3000", n)
	}
}

func TestDidYouMean(t *testing.T) {
	_, err := DecodeBlock([]byte(swap(t, small, `"outline"`, `"outlien"`)), DefaultLimits())
	if !strings.Contains(fmt.Sprint(err), `did you mean "outline"?`) {
		t.Error(err)
	}
	_, err = DecodeBlock([]byte(swap(t, small, `{"x":{"bust":0.25}}`, `{"x":{"buts":0.25}}`)), DefaultLimits())
	if !strings.Contains(fmt.Sprint(err), `did you mean "bust"?`) {
		t.Error(err)
	}
}

func TestHostileStylesRunsAndChecks(t *testing.T) {
	style := func(d []byte) error { _, err := DecodeStyle(d, DefaultLimits()); return err }
	run := func(d []byte) error { _, err := DecodeRun(d, DefaultLimits()); return err }
	check := func(d []byte) error { _, err := DecodeCheck(d, DefaultLimits()); return err }
	for i, c := range []struct {
		do            func([]byte) error
		doc           string
		rule, pointer string
	}{
		{style, swap(t, smallStyle, `"default": "5/8in"`, `"default": -1`), "out_of_range", "/allowances/default"},
		{style, swap(t, smallStyle, `"default": "5/8in"`, `"default": "5/8"`), "length", "/allowances/default"},
		{style, swap(t, smallStyle, `"default": "5/8in"`, `"default": 12`), "out_of_range", "/allowances/default"}, // 12 in
		{style, swap(t, smallStyle, `"default": "5/8in", `, ``), "missing_name", "/allowances/default"},
		{style, swap(t, smallStyle, `"limit": 3`, `"limit": 0.5`), "out_of_range", "/allowances/limit"},
		{style, swap(t, smallStyle, `"turned": "twice"`, `"turned": "thrice"`), "unknown_value", "/allowances/edges/sleeve_back.petal/turned"},
		{style, swap(t, smallStyle, `"turned": "twice"`, `"turned": 2`), "kind", "/allowances/edges/sleeve_back.petal/turned"},
		{style, swap(t, smallStyle, `"start": "hem_return"`, `"start": "round"`), "unknown_value", "/allowances/edges/sleeve_back.petal/start"},
		{style, swap(t, smallStyle, `"*.hem"`, `"hem"`), "name", "/allowances/edges/hem"},
		{style, swap(t, smallStyle, `"*.hem"`, `"*.*"`), "name", "/allowances/edges/*.*"},
		{style, swap(t, smallStyle, `"change": "petal", `, ``), "missing_name", "/changes/0/change"},
		{style, swap(t, smallStyle, `"change": "petal", `, `"change": "petal", "Change": "petal", `), "duplicate_name", "/changes/0/Change"},
		{style, swap(t, smallStyle, `"hem_in": "2in"`, `"hem_in": null`), "kind", "/changes/0/hem_in"},
		{style, swap(t, smallStyle, `"hem_in": "2in"`, `"hem_in": "2\nin"`), "text", "/changes/0/hem_in"},
		{style, swap(t, smallStyle, `"list": [1, 2.25]`, `"list": [1, 1e999]`), "out_of_range", "/changes/0/list/1"},
		{style, swap(t, smallStyle, `"block": "small"`, `"blocks": "small"`), "missing_name", "/block"},
		{style, swap(t, smallStyle, `"Print at 100 %"`, `"Print\tat 100 %"`), "text", "/labels/0"},
		{run, `{"style":"s","sizes":[]}`, "count", "/sizes"},
		{run, `{"style":"s","sizes":"some"}`, "unknown_value", "/sizes"},
		{run, `{"style":"s","sizes":["8","8"]}`, "duplicate_name", "/sizes/1"},
		{run, `{"style":"s","sizes":[8]}`, "kind", "/sizes/0"},
		{run, `{"sizes":"all"}`, "missing_name", "/style"},
		{run, `{"style":"s","outputs":[]}`, "count", "/outputs"},
		{run, `{"style":"s","outputs":[{"paper":"A5"}]}`, "unknown_value", "/outputs/0/paper"},
		{run, `{"style":"s","outputs":[{"paper":"A4"},{"paper":"A4"}]}`, "duplicate_name", "/outputs/1"},
		{run, `{"style":"s","outputs":[{"paper":"A4","drawings":"all"}]}`, "companion_drawings", "/outputs/0/drawings"},
		{run, `{"style":"s","outputs":[{"paper":"A4","kind":"companion","drawings":"some"}]}`, "unknown_value", "/outputs/0/drawings"},
		{run, `{"style":"s","outputs":[{"paper":"A4","kind":"companion","drawings":[]}]}`, "count", "/outputs/0/drawings"},
		{run, `{"style":"s","outputs":[{"paper":"A4","kind":"companion","drawings":["8","8"]}]}`, "duplicate_name", "/outputs/0/drawings/1"},
		{run, `{"style":"s","outputs":[{"paper":"A4","kind":"companion","drawings":[8]}]}`, "kind", "/outputs/0/drawings/0"},
		{run, `{"style":"s","outputs":[{"paper":"A4","kind":"companion","drawings":["8"]},{"paper":"A4","kind":"companion","drawings":"all"}]}`, "duplicate_name", "/outputs/1"},
		{run, `{"style":"s","outputs":[{}]}`, "missing_name", "/outputs/0/paper"},
		{run, `{"style":"s","deliver":"always"}`, "unknown_value", "/deliver"},
		{run, `{"style":"s","stamp":"a\nb"}`, "text", "/stamp"},
		{run, `{"style":"s","external_id":""}`, "text", "/external_id"},
		{run, `{"style":"s","body":[]}`, "count", "/body"},
		{run, `{"style":"s","body":{"name":"a","body":{"bust":0}}}`, "out_of_range", "/body/body/bust"},
		{run, `{"style":"s","body":[{"name":"a","body":{}},{"name":"A","body":{}}]}`, "duplicate_name", "/body/1"},
		{run, `{"style":"s","body":{"name":"` + strings.Repeat("a", 41) + `","body":{"bust":900}}}`, "name", "/body/name"},
		{run, `{"style":"../../etc","sizes":"all"}`, "name", "/style"},
		{check, `{}`, "missing_name", "/style"},
		{check, `{"block":7}`, "kind", "/block"},
		{check, `{"block":` + strings.Replace(small, `"along":"4in"`, `"along":"40in"`, 1) + `}`, "off_edge", "/block/pieces/front/marks/0/at/along"},
		{check, `{"block":"b","style":` + strings.Replace(smallStyle, `"turned": "twice"`, `"turned": "x"`, 1) + `}`, "unknown_value", "/style/allowances/edges/sleeve_back.petal/turned"},
	} {
		t.Run(fmt.Sprintf("%02d %s", i, c.rule), func(t *testing.T) { refused(t, c.do([]byte(c.doc)), c.rule, c.pointer) })
	}
}
