package document

import (
	"math"
	"reflect"
	"testing"

	"sizerun/internal/geom"
	"sizerun/internal/pattern"
)

// Every member of the grammar arrives where it belongs, in millimetres.
func TestBlockIsReadInFull(t *testing.T) {
	b := decodeBlock(t, small)
	near := func(what string, got, want float64) {
		t.Helper()
		if math.Abs(got-want) > 1e-9 {
			t.Errorf("%s is %v, want %v", what, got, want)
		}
	}
	if b.Name != "small" || b.Title != `A "small" block ½` || b.Shop != "Rookery Lane Patterns" || b.Drawn != pattern.DrawnCut {
		t.Errorf("head: %+v", b)
	}
	near("included in all", b.Included[""], 15.875)
	near("included in front", b.Included["front"], 10)
	near("included in front.hem", b.Included["front.hem"], 0)
	near("bust of 14", b.Chart.Body["bust"][2], 930)
	near("bust of 12", b.Chart.Body["bust"][1], 880)
	f := b.PieceNamed("front")
	if f.Cut != (pattern.Cut{Count: 2, Pair: true, Cloth: "main"}) || f.Align != "a" || len(f.Points) != 6 || f.Points[5].Name != "e" {
		t.Errorf("front: %+v", f)
	}
	if got := f.Outline[3].Shape.Curve; !reflect.DeepEqual(got, []geom.Point{{X: 210, Y: 100}, {X: 210, Y: 200}}) {
		t.Errorf("curve: %v", got)
	}
	if !f.Outline[5].Fold || f.Outline[0].Fold {
		t.Error("the fold edge is not the centre")
	}
	near("along", f.Marks[0].At.Along, 101.6)
	near("inside", f.Marks[2].Inside, 15.875)
	if f.Marks[2].At.Between != [2]string{"n1", "c"} || f.Marks[2].Match != "g1" || f.Marks[3].At.Edge != "hem" || f.Marks[3].Count != 1 || *f.Marks[4].At.At != geom.Pt(50, 50) {
		t.Errorf("marks: %+v", f.Marks)
	}
	if f.Darts[0] != (pattern.Dart{Name: "front_dart", First: "leg_one", Second: "leg_two", Towards: "leg_one"}) {
		t.Errorf("dart: %+v", f.Darts[0])
	}
	near("share", f.Rules["c"].Y["arm"], -0.125)
	back := b.PieceNamed("back")
	if want := []geom.Vec{{X: -10}, {}, {X: 12.5}}; !reflect.DeepEqual(back.Steps["b"], want) || !reflect.DeepEqual(back.Steps["c"], want) {
		t.Errorf("steps: %v and %v", back.Steps["b"], back.Steps["c"])
	}
	if back.Cut != (pattern.Cut{Count: 1, Cloth: "main"}) {
		t.Errorf("a cut that is not told is %+v", back.Cut)
	}
	y := b.PieceNamed("yoke")
	if len(y.Digitised["14"].Points) != 4 || y.Digitised["10"].Marks["in"] != geom.Pt(50, 60) || y.Digitised["10"].Grain == nil || y.Digitised["14"].Grain != nil {
		t.Errorf("digitised: %+v", y.Digitised)
	}
	s := b.Seams[0]
	near("ease", s.Ease.Max, 15)
	near("ease", s.Ease.Min, -6)
	if !s.Cap || !s.SmoothStart || !s.SmoothEnd || s.Sew[0].Against || !s.To[0].Against || s.Notches[0] != [2]pattern.MarkRef{{Piece: "front", Mark: "n1"}, {Piece: "back", Mark: "n1"}} {
		t.Errorf("seam: %+v", s)
	}
	if b.Seams[1].To[0].Against {
		t.Error("a reference that says it walks with the outline is walked against it")
	}
}

func TestStyleIsReadInFull(t *testing.T) {
	s, err := DecodeStyle([]byte(smallStyle), DefaultLimits())
	if err != nil {
		t.Fatal(err)
	}
	a := s.Allowances
	if a.Default.Width != 15.875 || a.Limit != 3 || a.Edges["*.hem"].Width != 38.1 || a.Edges["front.centre"].Width != 0 {
		t.Errorf("allowances: %+v", a)
	}
	if a.Edges["sleeve_back.petal"] != (pattern.Allowance{Width: 12.7, Turned: 2, Start: pattern.HemReturn, End: pattern.SquareEnd}) {
		t.Errorf("petal: %+v", a.Edges["sleeve_back.petal"])
	}
	c := s.Changes[0]
	var names []string
	for _, f := range c.Args.Fields {
		names = append(names, f.Name)
	}
	if c.Change != "petal" || !reflect.DeepEqual(names, []string{"piece", "cap_share", "hem_in", "length", "both", "at", "list"}) {
		t.Errorf("change %q with %v", c.Change, names)
	}
	if l := c.Args.Fields[3].Value; l.Number != 1.5 || l.PerMM != 25.4 || l.Kind != pattern.ArgNumber {
		t.Errorf("a bare length: %+v", l)
	}
}

func TestRunIsRead(t *testing.T) {
	for _, c := range []struct {
		doc  string
		want RunRequest
	}{
		{`{"style":"wren-petal"}`, RunRequest{Style: "wren-petal", Outputs: []Output{{Paper: "A4"}}}},
		{`{"style":"wren-petal","sizes":"all","deliver":"checked","outputs":[{"paper":"A4+Letter"},{"paper":"A0","per_size":true,"seam_lines":true}]}`,
			RunRequest{Style: "wren-petal", Outputs: []Output{{Paper: "A4+Letter"}, {Paper: "A0", PerSize: true, SeamLines: true}}}},
		{`{"style":"s","sizes":["8","10"],"stamp":"For Ann, order 7","deliver":"anyway","external_id":"A-7"}`,
			RunRequest{Style: "s", Sizes: []string{"8", "10"}, Outputs: []Output{{Paper: "A4"}}, Stamp: "For Ann, order 7", DeliverAnyway: true, ExternalID: "A-7"}},
		{`{"style":"s","outputs":[{"paper":"A4","kind":"companion","drawings":["10","order 1001"]},{"paper":"Letter","drawings":"all","kind":"companion"},{"paper":"A4"}]}`,
			RunRequest{Style: "s", Outputs: []Output{{Paper: "A4", Companion: true, Drawings: []string{"10", "order 1001"}}, {Paper: "Letter", Companion: true, EveryDrawing: true}, {Paper: "A4"}}}},
		{`{"style":"s","unit":"in","body":{"name":"order 1001","body":{"bust":36,"upper_arm":"280mm"}}}`,
			RunRequest{Style: "s", Sizes: []string{}, Bodies: []Body{{Name: "order 1001", Body: map[string]float64{"bust": 914.4, "upper_arm": 280}}}, Outputs: []Output{{Paper: "A4"}}}},
	} {
		got, err := DecodeRun([]byte(c.doc), DefaultLimits())
		if err != nil || !reflect.DeepEqual(got, c.want) {
			t.Errorf("%s\n got %+v, %v\nwant %+v", c.doc, got, err, c.want)
		}
	}
}

// A check may carry the documents themselves; their bytes are handed on as they came.
func TestCheckCarriesDocuments(t *testing.T) {
	c, err := DecodeCheck([]byte(`{"block": `+small+` , "style": `+smallStyle+`, "sizes": ["12"]}`), DefaultLimits())
	if err != nil {
		t.Fatal(err)
	}
	if string(c.BlockRaw) != small || string(c.StyleRaw) != smallStyle || c.Block.Name != "small" || c.Style.Name != "small-petal" || len(c.Sizes) != 1 {
		t.Errorf("%+v", c)
	}
	c, err = DecodeCheck([]byte(`{"block":"wren-w","style":"wren-petal"}`), DefaultLimits())
	if err != nil || c.BlockName != "wren-w" || c.StyleName != "wren-petal" || c.Sizes != nil || c.Block != nil {
		t.Errorf("%+v, %v", c, err)
	}
}

// What is encoded is read back as it was, and is the same bytes when encoded again.
func TestEncodingRoundTrips(t *testing.T) {
	b := decodeBlock(t, small)
	data, err := EncodeBlock(b)
	if err != nil {
		t.Fatal(err)
	}
	again, err := DecodeBlock(data, DefaultLimits())
	if err != nil {
		t.Fatalf("%v\n%s", err, data)
	}
	// 5/8 in is 15.875 mm and needs no rounding: nothing here does.
	if !reflect.DeepEqual(b, again) {
		t.Errorf("a block came back changed\n%+v\n%+v", b, again)
	}
	if twice, err := EncodeBlock(again); err != nil || string(twice) != string(data) {
		t.Errorf("encoded twice, a block differs (%v)", err)
	}
	s, err := DecodeStyle([]byte(smallStyle), DefaultLimits())
	if err != nil {
		t.Fatal(err)
	}
	data, err = EncodeStyle(s)
	if err != nil {
		t.Fatal(err)
	}
	back, err := DecodeStyle(data, DefaultLimits())
	if err != nil || !reflect.DeepEqual(s, back) {
		t.Errorf("a style came back changed (%v)\n%s\n%+v\n%+v", err, data, s, back)
	}
	if twice, err := EncodeStyle(back); err != nil || string(twice) != string(data) {
		t.Errorf("encoded twice, a style differs (%v)", err)
	}
}

// Coordinates are rounded to a thousandth of a millimetre, with no minus zero.
func TestEncodingRounds(t *testing.T) {
	w := &writer{}
	for _, v := range []float64{1.0 / 3, -0.0004, 12.0005, -7, 1e4, 0.1 + 0.2} {
		w.mm(v)
		w.b = append(w.b, ' ')
	}
	if got, want := string(w.b), "0.333 0 12.001 -7 10000 0.3 "; got != want {
		t.Errorf("%q, want %q", got, want)
	}
}

// An invalid block is not written.
func TestEncodingRefusesWhatCannotBeRead(t *testing.T) {
	b := decodeBlock(t, small)
	b.Pieces[0].Points[0].At.X = math.NaN()
	if _, err := EncodeBlock(b); err == nil {
		t.Error("NaN was written")
	}
	s, _ := DecodeStyle([]byte(smallStyle), DefaultLimits())
	s.Changes[0].Args.Fields[3].Value.Number = math.Inf(1)
	if _, err := EncodeStyle(s); err == nil {
		t.Error("infinity was written")
	}
}
