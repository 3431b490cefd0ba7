package pattern

import (
	"math"
	"testing"

	"sizerun/internal/geom"
)

// plain is a valid block made in memory, as a draft or a test makes one.
func plain() Block {
	return Block{Name: "plain", Drawn: DrawnSeam,
		Chart: SizeChart{Base: "12", Run: []string{"10", "12"}, Body: map[string][]float64{"bust": {840, 880}}},
		Pieces: []BlockPiece{{Name: "p", Cut: Cut{Count: 1, Cloth: "main"},
			Points:  []NamedPoint{{"a", geom.Pt(0, 0)}, {"b", geom.Pt(200, 0)}, {"c", geom.Pt(200, 300)}, {"d", geom.Pt(0, 300)}},
			Outline: []BlockEdge{{Name: "ab", From: "a", To: "b"}, {Name: "bc", From: "b", To: "c"}, {Name: "cd", From: "c", To: "d"}, {Name: "da", From: "d", To: "a"}},
			Marks:   []BlockMark{{Kind: Notch, Name: "n", Count: 1, At: Place{Edge: "bc", From: "b", Along: 100}}},
			Grain:   [2]geom.Point{{X: 100, Y: 50}, {X: 100, Y: 250}}, Align: "a",
			Rules: map[string]Rule{"a": {}, "b": {X: map[string]float64{"bust": 0.25}}, "c": {X: map[string]float64{"bust": 0.25}}, "d": {}}}},
		Seams: []Seam{{Name: "s", Sew: []EdgeRef{{Piece: "p", Edge: "bc"}}, To: []EdgeRef{{Piece: "p", Edge: "da", Against: true}}}},
	}
}

// Blocks that never were documents are held to the same bounds: what is no number, what is too
// large, what is missing.
func TestValidateHoldsValuesToTheirBounds(t *testing.T) {
	b := plain()
	if err := b.Validate(); err != nil {
		t.Fatal(err)
	}
	nan, inf := math.NaN(), math.Inf(1)
	for name, c := range map[string]struct {
		spoil         func(b *Block)
		rule, pointer string
	}{
		"a coordinate that is none":        {func(b *Block) { b.Pieces[0].Points[1].At.X = nan }, "out_of_range", "/pieces/p/points/b"},
		"a coordinate at infinity":         {func(b *Block) { b.Pieces[0].Points[1].At.Y = inf }, "out_of_range", "/pieces/p/points/b"},
		"a coordinate beyond ten metres":   {func(b *Block) { b.Pieces[0].Points[1].At.X = 10000.001 }, "out_of_range", "/pieces/p/points/b"},
		"a handle that is no number":       {func(b *Block) { b.Pieces[0].Outline[1].Shape.Curve = []geom.Point{{X: nan}, {X: 210, Y: 200}} }, "out_of_range", "/pieces/p/outline/1/curve/0"},
		"a grain that is no number":        {func(b *Block) { b.Pieces[0].Grain[1].Y = nan }, "out_of_range", "/pieces/p/grain/to"},
		"a line that is no number":         {func(b *Block) { b.Pieces[0].Lines = []BlockLine{{"l", []geom.Point{{X: nan}, {}}}} }, "out_of_range", "/pieces/p/lines/0/via/0"},
		"a share that is no number":        {func(b *Block) { b.Pieces[0].Rules["b"] = Rule{X: map[string]float64{"bust": nan}} }, "out_of_range", "/pieces/p/grade/b/x/bust"},
		"a body that is no number":         {func(b *Block) { b.Chart.Body["bust"][0] = nan }, "out_of_range", "/sizes/body/bust/0"},
		"a notch at no distance":           {func(b *Block) { b.Pieces[0].Marks[0].At.Along = nan }, "off_edge", "/pieces/p/marks/0/at/along"},
		"a notch of five strokes":          {func(b *Block) { b.Pieces[0].Marks[0].Count = 5 }, "count", "/pieces/p/marks/0/count"},
		"an ease that is no number":        {func(b *Block) { b.Seams[0].Ease.Max = nan }, "out_of_range", "/seams/0/ease/1"},
		"no piece":                         {func(b *Block) { b.Pieces = nil }, "count", "/pieces"},
		"a piece twice":                    {func(b *Block) { b.Pieces = append(b.Pieces, b.Pieces[0]) }, "duplicate_name", "/pieces/p"},
		"a line break in a title":          {func(b *Block) { b.Pieces[0].Title = "Front\nBack" }, "text", "/pieces/p/title"},
		"a title that is not Unicode":      {func(b *Block) { b.Title = "\xff" }, "text", "/title"},
		"no drawn line":                    {func(b *Block) { b.Drawn = "" }, "unknown_value", "/drawn"},
		"cut lines without allowance":      {func(b *Block) { b.Drawn = DrawnCut }, "included", "/included"},
		"an included allowance of nothing": {func(b *Block) { b.Drawn, b.Included = DrawnCut, map[string]float64{"": nan} }, "out_of_range", "/included/*"},
		"steps at infinity": {func(b *Block) {
			b.Pieces[0].Rules, b.Pieces[0].Steps = nil, map[string][]geom.Vec{"a": {{}, {}}, "b": {{X: inf}, {}}}
		}, "out_of_range", "/pieces/p/steps/b/0"},
		"drawings of points that are none": {func(b *Block) {
			b.Pieces[0].Rules = nil
			b.Pieces[0].Digitised = map[string]Drawing{"10": {Points: []NamedPoint{{"a", geom.Pt(nan, 0)}, {"b", geom.Pt(190, 0)}, {"c", geom.Pt(190, 300)}, {"d", geom.Pt(0, 300)}}}}
		}, "out_of_range", "/pieces/p/digitised/10/points/a"},
	} {
		b := plain()
		c.spoil(&b)
		found := false
		for _, f := range FaultsOf(b.Validate()) {
			found = found || f.Rule == c.rule && f.Pointer == c.pointer
			if f.Detail == "" || f.Remedy == "" {
				t.Errorf("%s: badly told: %+v", name, f)
			}
		}
		if !found {
			t.Errorf("%s: want %s at %s, got\n%v", name, c.rule, c.pointer, b.Validate())
		}
	}
}

// A seam chain walks over darts as over closed ones, and over nothing else.
func TestChainsRunOverDarts(t *testing.T) {
	b := plain()
	p := &b.Pieces[0]
	p.Points = append(p.Points, NamedPoint{"m", geom.Pt(80, 0)}, NamedPoint{"tip", geom.Pt(90, 100)}, NamedPoint{"n", geom.Pt(100, 0)})
	p.Outline = append([]BlockEdge{{Name: "left", From: "a", To: "m"}, {Name: "one", From: "m", To: "tip"}, {Name: "two", From: "tip", To: "n"}, {Name: "right", From: "n", To: "b"}}, p.Outline[1:]...)
	p.Darts = []Dart{{Name: "waist", First: "one", Second: "two", Towards: "one"}}
	b.Seams[0].Sew = []EdgeRef{{Piece: "p", Edge: "left"}, {Piece: "p", Edge: "right"}}
	if err := b.Validate(); err != nil {
		t.Error(err)
	}
	b.Seams[0].Sew = []EdgeRef{{Piece: "p", Edge: "right", Against: true}, {Piece: "p", Edge: "left", Against: true}}
	if err := b.Validate(); err != nil {
		t.Error(err)
	}
	b.Seams[0].Sew = []EdgeRef{{Piece: "p", Edge: "right"}, {Piece: "p", Edge: "left"}}
	if fs := FaultsOf(b.Validate()); len(fs) != 1 || fs[0].Rule != "chain_gap" || fs[0].Pointer != "/seams/0/sew/1" {
		t.Error(fs)
	}
	p.Darts = nil
	b.Seams[0].Sew = []EdgeRef{{Piece: "p", Edge: "left"}, {Piece: "p", Edge: "right"}}
	if fs := FaultsOf(b.Validate()); len(fs) != 1 || fs[0].Rule != "chain_gap" {
		t.Error(fs)
	}
}

// Marks may be told by one another in any order.
func TestMarksToldByMarks(t *testing.T) {
	b := plain()
	p := &b.Pieces[0]
	p.Marks = []BlockMark{
		{Kind: Dot, Name: "third", At: Place{Between: [2]string{"second", "c"}, Share: 0.5}},
		{Kind: Dot, Name: "second", At: Place{Between: [2]string{"first", "c"}, Share: 0.5}},
		{Kind: Dot, Name: "first", At: Place{Edge: "bc", From: "b", Along: 100}},
	}
	edges, _ := p.Lay(p.Drawing())
	marks, fs := p.PlaceMarks(&Piece{Name: "p", Edges: edges}, p.Points, nil)
	if len(fs) > 0 {
		t.Fatal(fs)
	}
	for i, want := range []float64{250, 200, 100} {
		if marks[i].Name != p.Marks[i].Name || math.Abs(marks[i].S-want) > 1e-9 || marks[i].Edge != "bc" {
			t.Errorf("%+v, want %g", marks[i], want)
		}
	}
	p.Marks[2].At = Place{Between: [2]string{"third", "c"}, Share: 0.5}
	if fs := FaultsOf(b.Validate()); len(fs) != 3 || fs[0].Rule != "mark_circle" {
		t.Error(fs)
	}
}

func BenchmarkMeetsItself(b *testing.B) {
	edges := sleeve().Edges
	for b.Loop() {
		if meetsItself(edges) != nil {
			b.Fatal("it does not")
		}
	}
}

func BenchmarkValidate(b *testing.B) {
	v := plain()
	for b.Loop() {
		if err := v.Validate(); err != nil {
			b.Fatal(err)
		}
	}
}
