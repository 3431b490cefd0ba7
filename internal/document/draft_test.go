package document

import (
	"bytes"
	"math"
	"reflect"
	"strings"
	"testing"

	"sizerun/internal/pattern"
)

const drafted = `{ "block": "lark", "title": "Lark", "shop": "Rookery Lane Patterns", "unit": "cm", "draft": "circle_skirt",
  "sizes": { "base": "M", "run": ["S","M","L"], "body": { "waist": [68, "28in", 780.5e-1] } },
  "ease": { "waist": "1/2in" }, "lengths": { "skirt": 61 }, "numbers": { "quarters": 3 } }`

func TestDraftedBlockIsRead(t *testing.T) {
	b := decodeBlock(t, drafted)
	want := pattern.DraftSpec{Kind: "circle_skirt", Ease: map[string]float64{"waist": 12.7}, Lengths: map[string]float64{"skirt": 610}, Numbers: map[string]float64{"quarters": 3}}
	if b.Name != "lark" || !reflect.DeepEqual(*b.Draft, want) || len(b.Pieces) != 0 {
		t.Errorf("%+v %+v", b, *b.Draft)
	}
	if w := b.Chart.Body["waist"]; w[0] != 680 || w[1] != 711.2 || w[2] != 780.5 {
		t.Errorf("waists %v", w)
	}
}

func TestDraftedBlockComesBackAsItWas(t *testing.T) {
	for _, doc := range []string{drafted, `{"block":"lark","draft":"bodice","sizes":{"chart":"women-en"}}`,
		`{"block":"lark","draft":"trousers","body":{"waist":720,"hip":960,"body_rise":280,"inside_leg":"31in"}}`} {
		b := decodeBlock(t, doc)
		out, err := EncodeBlock(b)
		if err != nil {
			t.Fatal(err)
		}
		again := decodeBlock(t, string(out))
		if !reflect.DeepEqual(b.Draft.Kind, again.Draft.Kind) || !reflect.DeepEqual(b.Chart.Run, again.Chart.Run) {
			t.Errorf("%s\ncame back as\n%s", doc, out)
		}
		twice, err := EncodeBlock(again)
		if err != nil || !bytes.Equal(out, twice) {
			t.Errorf("not canonical (%v):\n%s\n%s", err, out, twice)
		}
		for k, v := range b.Chart.Body {
			for i := range v {
				if math.Abs(v[i]-again.Chart.Body[k][i]) > 5e-4 {
					t.Errorf("%s of size %s: %g came back as %g", k, b.Chart.Run[i], v[i], again.Chart.Body[k][i])
				}
			}
		}
	}
}

func TestDraftedBlockIsRefusedWithItsPlace(t *testing.T) {
	for _, c := range []struct{ old, new, pointer, says string }{
		{`"circle_skirt"`, `"circle_skrit"`, "/draft", `did you mean "circle_skirt"`},
		{`"ease": { "waist"`, `"ease": { "waits"`, "/ease/waits", `did you mean "waist"`},
		{`"1/2in"`, `"90cm"`, "/ease/waist", "0 to 600 mm"},
		{`"skirt": 61`, `"skirt": "long"`, "/lengths/skirt", "is no length"},
		{`"skirt": 61`, `"skirt": 1e400`, "/lengths/skirt", ""},
		{`"quarters": 3`, `"quarters": 5`, "/numbers/quarters", "1 to 4"},
		{`"quarters": 3`, `"quarters": "3"`, "/numbers/quarters", "number"},
		{`"waist": [68,`, `"waist": [6,`, "/sizes/body/waist/0", "200 to 2500 mm"},
		{`"body": { "waist"`, `"body": { "waste"`, "/sizes/body/waist", "needs the measurement"},
		{`"unit": "cm",`, `"unit": "cm", "pieces": {},`, "/pieces", "no member"},
		{`"unit": "cm",`, `"unit": "cm", "drawn": "cut",`, "/drawn", "seam"},
		{`"unit": "cm",`, `"unit": "cm", "body": {"waist": 70},`, "", "either a size chart or a body"},
	} {
		_, err := DecodeBlock([]byte(swap(t, drafted, c.old, c.new)), DefaultLimits())
		fs := pattern.FaultsOf(err)
		if len(fs) == 0 || fs[0].Pointer != c.pointer || !strings.Contains(fs[0].Error(), c.says) {
			t.Errorf("%s: %+v, want %s at %q", c.new, fs, c.says, c.pointer)
		}
	}
	// One body is spoken of as it was written.
	_, err := DecodeBlock([]byte(`{"block":"lark","draft":"skirt","body":{"waist":72}}`), DefaultLimits())
	fs := pattern.FaultsOf(err)
	if len(fs) == 0 || fs[0].Pointer != "/body/hip" || fs[0].Size != "" {
		t.Errorf("%+v", fs)
	}
	_, err = DecodeBlock([]byte(`{"block":"lark","draft":"skirt","body":{"waist":72,"hip":960}}`), DefaultLimits())
	if fs = pattern.FaultsOf(err); len(fs) == 0 || fs[0].Pointer != "/body/waist" {
		t.Errorf("%+v", fs)
	}
}

func TestChartsAreWholeAndSayWhereEachValueIsFrom(t *testing.T) {
	if len(Charts()) < 2 {
		t.Fatalf("charts: %v", Charts())
	}
	for _, name := range Charts() {
		c, err := ChartNamed(name)
		if err != nil {
			t.Fatal(err)
		}
		if c.Name != name || c.Title == "" || c.Sizes.Index(c.Sizes.Base) < 0 {
			t.Errorf("%s: %+v", name, c)
		}
		used := map[string]bool{}
		for k, vals := range c.Sizes.Body {
			if len(vals) != len(c.Sizes.Run) || len(c.From[k]) != len(vals) {
				t.Errorf("%s.%s has %d values and %d sources", name, k, len(vals), len(c.From[k]))
			}
			for i, f := range c.From[k] {
				used[f] = true
				if i > 0 && vals[i] < vals[i-1] {
					t.Errorf("%s.%s shrinks from %g to %g", name, k, vals[i-1], vals[i])
				}
			}
		}
		for s, text := range c.Sources {
			if !used[s] || len(text) < 20 {
				t.Errorf("%s: source %s says %q and is used: %v", name, s, text, used[s])
			}
		}
	}
}

func TestWomensChartHoldsTheBoundsOfEN13402(t *testing.T) {
	// Class bounds of EN 13402-3, cm: CRAN Anthropometry 1.20, bustSizesStandard. One chart size to
	// each class. And one full row: bust 88, waist 72, hip 96 (BSI, 11 March 2002).
	bounds := []float64{74, 78, 82, 86, 90, 94, 98, 102, 107, 113, 119, 125, 131}
	c, err := ChartNamed("women-en")
	if err != nil {
		t.Fatal(err)
	}
	for i, b := range c.Sizes.Body["bust"] {
		if b/10 < bounds[i] || b/10 > bounds[i+1] {
			t.Errorf("bust %g cm of size %s lies outside %g to %g", b/10, c.Sizes.Run[i], bounds[i], bounds[i+1])
		}
	}
	i := c.Sizes.Index("88")
	if c.Sizes.Body["bust"][i] != 880 || c.Sizes.Body["waist"][i] != 720 || c.Sizes.Body["hip"][i] != 960 {
		t.Error("size 88 is not bust 88, waist 72, hip 96")
	}
	// Arms grow by 10 to 15 mm to 40 mm of bust: ANSUR II (2012) 11.1, Heinz and others (2003) 14.3.
	for k := 1; k < len(c.Sizes.Run); k++ {
		arm := c.Sizes.Body["upper_arm"]
		bust := c.Sizes.Body["bust"]
		if g := 40 * (arm[k] - arm[k-1]) / (bust[k] - bust[k-1]); g < 10 || g > 15 {
			t.Errorf("the arm grows by %.1f mm to 40 mm of bust at size %s", g, c.Sizes.Run[k])
		}
	}
}

func TestMissesChartHoldsTheRowsOfD5585(t *testing.T) {
	// ASTM D5585-11e1, misses 00 to 20, inches: bust, and waist of the straight figure.
	c, err := ChartNamed("misses-us")
	if err != nil {
		t.Fatal(err)
	}
	for k, row := range map[string]string{
		"bust":       "31 1/8in|31 3/4in|33in|34 1/8in|35 1/4in|36 1/4in|37 1/4in|38 3/4in|40 3/8in|42 1/8in|44in|46in",
		"waist":      "25 3/8in|26 1/8in|26 7/8in|27 5/8in|28 1/2in|29 1/2in|30 1/2in|32 1/4in|34in|36in|38 1/4in|40 1/2in",
		"under_bust": "25 3/4in|26 1/2in|27 1/4in|28in|29in|30in|31in|32 1/2in|34in|35 3/4in|37 5/8in|39 5/8in",
	} {
		for i, s := range strings.Split(row, "|") {
			mm, err := ParseLength(s)
			if err != nil {
				t.Fatal(err)
			}
			if math.Abs(c.Sizes.Body[k][i]-mm) > 6e-4 || c.From[k][i] != "d5585" {
				t.Errorf("%s of size %s is %g, want %g", k, c.Sizes.Run[i], c.Sizes.Body[k][i], mm)
			}
		}
	}
}

func TestSomeSizesOfAChart(t *testing.T) {
	b := decodeBlock(t, `{"block":"lark","draft":"skirt","sizes":{"chart":"women-en","run":["80","92","104","116"],"base":"92"}}`)
	if strings.Join(b.Chart.Run, " ") != "80 92 104 116" || b.Chart.Base != "92" || b.Chart.Body["bust"][3] != 1160 || strings.Join(b.Chart.Breaks, " ") != "116" {
		t.Errorf("%+v", b.Chart)
	}
	for _, c := range []struct{ sizes, pointer string }{
		{`{"chart":"women"}`, "/sizes/chart"},
		{`{"chart":"../women-en"}`, "/sizes/chart"},
		{`{"chart":7}`, "/sizes/chart"},
		{`{"chart":"women-en","run":[]}`, "/sizes/run"},
		{`{"chart":"women-en","run":["88","99"]}`, "/sizes/run/1"},
		{`{"chart":"women-en","run":["92","88"]}`, "/sizes/run/1"},
		{`{"chart":"women-en","run":["92","92"]}`, "/sizes/run/1"},
		{`{"chart":"women-en","run":["92"],"base":"88"}`, "/sizes/base"},
		{`{"chart":"women-en","body":{"bust":[1]}}`, "/sizes/body"},
	} {
		_, err := DecodeBlock([]byte(`{"block":"lark","draft":"skirt","sizes":`+c.sizes+`}`), DefaultLimits())
		fs := pattern.FaultsOf(err)
		if len(fs) == 0 || fs[0].Pointer != c.pointer || fs[0].Remedy == "" {
			t.Errorf("%s: %+v, want %s", c.sizes, fs, c.pointer)
		}
	}
}
