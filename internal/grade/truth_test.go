package grade_test

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"sizerun/internal/geom"
	"sizerun/internal/pattern"
)

const inch = 25.4

// panels is a block of plain rectangles, each as wide as one girth in inches of the base size, so
// that widths measure what a grade table says.
func panels(run []string, base string, measure string, values []float64, pieces map[string]string) string {
	var b strings.Builder
	fmt.Fprintf(&b, `{ "block": "panels", "unit": "in", "sizes": { "base": %q, "run": [`, base)
	for i, s := range run {
		if i > 0 {
			b.WriteString(",")
		}
		fmt.Fprintf(&b, "%q", s)
	}
	fmt.Fprintf(&b, `], "body": { %q: [`, measure)
	for i, v := range values {
		if i > 0 {
			b.WriteString(",")
		}
		fmt.Fprint(&b, v)
	}
	b.WriteString(`] } }, "pieces": {`)
	first := true
	for _, name := range []string{"chest", "armhole", "sleeve", "length", "quarter"} {
		p, ok := pieces[name]
		if !ok {
			continue
		}
		if !first {
			b.WriteString(",")
		}
		first = false
		fmt.Fprintf(&b, "%q: %s", name, p)
	}
	b.WriteString("} }")
	return b.String()
}

func panel(width float64, grade string) string {
	return fmt.Sprintf(`{ "points": { "a": [0,0], "b": [%g,0], "c": [%g,10], "d": [0,10] },
		"outline": [ {"edge":"width","from":"a","to":"b"}, {"edge":"right","from":"b","to":"c"}, {"edge":"top","from":"c","to":"d"}, {"edge":"left","from":"d","to":"a"} ],
		"grain": { "from": [1,1], "to": [1,9] }, "align": "a", %s }`, width, width, grade)
}

func widths(t *testing.T, b pattern.Block, name string) []float64 {
	t.Helper()
	var out []float64
	for _, p := range run(t, b) {
		out = append(out, edge(t, piece(t, &p, name), "width").Path.Length()/inch)
	}
	return out
}

// Men's dress shirts, US Department of Commerce, 1950s (sizes.com/people/mens_shirts.htm; the
// originating text is CS135-46): neck 14 has chest 42, armhole 19½, sleeve 14¾, length 33; each
// half inch of neck adds 2, ½, ½ and 0.
func TestMensShirtStandard(t *testing.T) {
	sizes, necks := []string{"14", "14 1/2", "15", "15 1/2", "16"}, []float64{14, 14.5, 15, 15.5, 16}
	want := map[string][]float64{
		"chest":   {42, 44, 46, 48, 50},
		"armhole": {19.5, 20, 20.5, 21, 21.5},
		"sleeve":  {14.75, 15.25, 15.75, 16.25, 16.75},
		"length":  {33, 33, 33, 33, 33},
	}
	perHalfInch := map[string]float64{"chest": 2, "armhole": 0.5, "sleeve": 0.5, "length": 0}
	for _, base := range []int{0, 2, 4} {
		shares, steps := map[string]string{}, map[string]string{}
		for name, row := range want {
			s := perHalfInch[name]
			shares[name] = panel(row[base], fmt.Sprintf(`"grade": { "a": {}, "d": {}, "b": {"x": {"neck": %g}}, "c": {"x": {"neck": %g}} }`, s/0.5, s/0.5))
			steps[name] = panel(row[base], fmt.Sprintf(`"steps": { "a": {"each":[0,0]}, "d": {"each":[0,0]}, "b": {"each":[%g,0]}, "c": {"each":[%g,0]} }`, s, s))
		}
		for way, pieces := range map[string]map[string]string{"shares": shares, "steps": steps} {
			b := block(t, panels(sizes, sizes[base], "neck", necks, pieces))
			for name, row := range want {
				for i, w := range widths(t, b, name) {
					if math.Abs(w-row[i]) > 1e-9 {
						t.Errorf("base %s, %s: %s of size %s is %.6f in, the standard says %g", sizes[base], way, name, sizes[i], w, row[i])
					}
				}
			}
		}
	}
}

// ASTM D5585-11e1, misses 00 to 20, bust in inches (astm.org/Standards/D5585.htm). Its steps are
// 5/8, 1¼, 1⅛, 1⅛, 1, 1, 1½, 1⅝, 1¾, 1⅞, 2: size breaks in a real standard. A quarter panel takes
// a quarter of each, whether the table is written as shares or as steps that break.
func TestD5585BreaksOfAQuarterPanel(t *testing.T) {
	sizes := []string{"00", "0", "2", "4", "6", "8", "10", "12", "14", "16", "18", "20"}
	bust := []float64{31 + 1./8, 31 + 3./4, 33, 34 + 1./8, 35 + 1./4, 36 + 1./4, 37 + 1./4, 38 + 3./4, 40 + 3./8, 42 + 1./8, 44, 46}
	const base = 5
	shares := panel(bust[base]/4, `"grade": { "a": {}, "d": {}, "b": {"x": {"bust": 0.25}}, "c": {"x": {"bust": 0.25}} }`)
	moving := `{"each": ["5/32in",0], "after": {"0": ["5/16in",0], "2": ["9/32in",0], "6": ["1/4in",0], "10": ["3/8in",0], "12": ["13/32in",0], "14": ["7/16in",0], "16": ["15/32in",0], "18": ["1/2in",0]}}`
	steps := panel(bust[base]/4, `"steps": { "a": {"each":[0,0]}, "d": {"each":[0,0]}, "b": `+moving+`, "c": `+moving+` }`)
	for way, p := range map[string]string{"shares": shares, "steps": steps} {
		b := block(t, panels(sizes, sizes[base], "bust", bust, map[string]string{"quarter": p}))
		for i, w := range widths(t, b, "quarter") {
			if math.Abs(w-bust[i]/4) > 1e-9 {
				t.Errorf("%s: a quarter of size %s is %.6f in, a quarter of the standard's bust is %.6f", way, sizes[i], w, bust[i]/4)
			}
		}
	}
}

// "The Practical Designer" (about 1917, public domain, Wikisource), lesson 109: a box coat graded
// from 36 to 38, bust plus 2 in. Back: A to N and D to M 1/8 in, E to L 1/8 in height and width,
// F to K and G to J 3/8 in. Front: Y to Z and O to X 1/8 in; shoulder height 1/8 in. 1/8 and 3/8
// make 1/2 in, a quarter of 2. Here the letters are points of an outline of our own; the rules are
// shares of the bust, and must move each letter by the book's amount, to the size above and, the
// other way, to the one below.
func TestBoxCoatLesson109(t *testing.T) {
	const doc = `{ "block": "box-coat", "unit": "in", "sizes": { "base": "36", "run": ["34","36","38","40"], "body": { "bust": [34,36,38,40] } },
	  "pieces": { "back": {
	    "points": { "hem_centre": [0,-17], "g": [10,-17], "f": [9.5,-1], "e": [8,6], "d": [2.75,8.25], "a": [0,7.5] },
	    "outline": [ {"edge":"hem","from":"hem_centre","to":"g"}, {"edge":"side","from":"g","to":"f"}, {"edge":"armhole","from":"f","to":"e","curve":[[8,0],[7.5,3]]},
	      {"edge":"shoulder","from":"e","to":"d"}, {"edge":"neck","from":"d","to":"a","curve":[[2,7.6],[1,7.5]]}, {"edge":"centre","from":"a","to":"hem_centre"} ],
	    "grain": {"from":[3,-10],"to":[3,4]}, "align": "hem_centre",
	    "grade": { "hem_centre": {}, "a": {"y":{"bust":0.0625}}, "d": {"y":{"bust":0.0625}}, "e": {"x":{"bust":0.0625},"y":{"bust":0.0625}},
	               "f": {"x":{"bust":0.1875}}, "g": {"x":{"bust":0.1875}} } } } }`
	moves := map[string][2]float64{"a": {0, 1. / 8}, "d": {0, 1. / 8}, "e": {1. / 8, 1. / 8}, "f": {3. / 8, 0}, "g": {3. / 8, 0}}
	ps := run(t, block(t, doc))
	base := piece(t, &ps[1], "back")
	for i, p := range ps {
		steps := float64(i - 1)
		for name, m := range moves {
			was, _ := base.Corner(name)
			at, _ := piece(t, &p, "back").Corner(name)
			want := was.Add(geom.Vec{X: m[0] * inch * steps, Y: m[1] * inch * steps})
			if d := at.Dist(want); d > 1e-9 {
				t.Errorf("size %s: %s is %g mm from where the lesson puts it", p.Size, strings.ToUpper(name), d)
			}
		}
	}
	// The arithmetic of the book: 1/8 in of front or shoulder and 3/8 of side are a quarter of 2 in.
	if sum := moves["e"][0] + moves["f"][0]; sum != 2./4 {
		t.Errorf("1/8 + 3/8 = %g in", sum)
	}
}

// One-piece sleeve graded from 38 to 46 in four steps, a textbook article of M. Müller & Sohn,
// "Grading different sleeves" (muellerundsohn.com): cap height 12.8 mm, back seam 3.2 up and 16 out,
// half scye width 14; sleeve seam 30 = 16 + 14. Per size 3.2, 0.8, 4, 3.5 and 7.5 mm.
func TestTextbookSleeveGrade(t *testing.T) {
	const doc = `{ "block": "sleeve", "sizes": { "base": "38", "run": ["38","40","42","44","46"], "body": { "bust": [880,920,960,1000,1040] } },
	  "pieces": { "sleeve": {
	    "points": { "hem_back": [-150,-90], "hem_front": [150,-90], "front": [165,0], "crown": [0,140], "back": [-165,0] },
	    "outline": [ {"edge":"hem","from":"hem_back","to":"hem_front"}, {"edge":"seam_front","from":"hem_front","to":"front"},
	      {"edge":"cap_front","from":"front","to":"crown","curve":[[110,5],[60,140]]}, {"edge":"cap_back","from":"crown","to":"back","curve":[[-60,140],[-105,10]]}, {"edge":"seam_back","from":"back","to":"hem_back"} ],
	    "grain": {"from":[0,-70],"to":[0,100]}, "align": "crown",
	    "steps": { "hem_back": {"each":[-4,0]}, "hem_front": {"each":[3.5,0]}, "front": {"each":[3.5,0]}, "crown": {"each":[0,3.2]}, "back": {"each":[-4,0.8]} } } } }`
	ps := run(t, block(t, doc))
	first, last := piece(t, &ps[0], "sleeve"), piece(t, &ps[4], "sleeve")
	at := func(p *pattern.Piece, n string) geom.Point { q, _ := p.Corner(n); return q }
	for _, c := range []struct {
		what      string
		got, want float64
	}{
		{"cap height", at(last, "crown").Y - at(first, "crown").Y, 12.8},
		{"back seam out", at(first, "back").X - at(last, "back").X, 16},
		{"back seam up", at(last, "back").Y - at(first, "back").Y, 3.2},
		{"half scye width", at(last, "front").X - at(first, "front").X, 14},
		{"sleeve seam", edge(t, last, "hem").Path.Length() - edge(t, first, "hem").Path.Length(), 30},
	} {
		if math.Abs(c.got-c.want) > 1e-9 {
			t.Errorf("%s grows by %.4f mm over four steps, the article says %g", c.what, c.got, c.want)
		}
	}
	for i, p := range ps {
		if a := degrees(edge(t, piece(t, &p, "sleeve"), "cap_front").Path.EndTangent().Angle()); math.Abs(math.Abs(a)-180) > 1e-9 {
			t.Errorf("size %d: the crown is not level: %g°", i, a)
		}
	}
}
