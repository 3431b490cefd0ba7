package inspect_test

import (
	"testing"

	"sizerun/internal/geom"
	"sizerun/internal/inspect"
	"sizerun/internal/pattern"
	"sizerun/internal/testkit/blouse"
)

// strip is a piece whose lower edge has the given length; the rest stays as it is.
func strip(size string, width float64) inspect.Sized {
	a, b, c, d := geom.Pt(0, 0), geom.Pt(width, 0), geom.Pt(width, 50), geom.Pt(0, 50)
	p := pattern.Piece{Name: "strip", Grain: [2]geom.Point{{X: 20, Y: 10}, {X: 20, Y: 40}}}
	for i, q := range []geom.Point{a, b, c, d} {
		p.Edges = append(p.Edges, pattern.Edge{Name: string(rune('a' + i)), Path: geom.Polyline(q, []geom.Point{b, c, d, a}[i])})
	}
	return inspect.Sized{Pattern: pattern.Pattern{Size: size, Pieces: []pattern.Piece{p}}}
}

// worst is the growth check of the strip's lower edge.
func worst(t *testing.T, chart pattern.SizeChart, widths ...float64) inspect.Check {
	t.Helper()
	var s []inspect.Sized
	for i, w := range widths {
		s = append(s, strip(chart.Run[i], w))
	}
	for _, c := range inspect.Run(s, chart, inspect.Options{}).Checks {
		if c.Rule == "growth" && c.Place == "a" {
			return c
		}
	}
	t.Fatal("growth was not checked")
	return inspect.Check{}
}

func chart(breaks []string, body map[string][]float64) pattern.SizeChart {
	return pattern.SizeChart{Base: "3", Run: []string{"1", "2", "3", "4", "5", "6", "7"}, Breaks: breaks, Body: body}
}

func TestEvenGrowthPassesAndOneSizeOutOfStepIsFoundWithItsName(t *testing.T) {
	plain := chart(nil, nil)
	if c := worst(t, plain, 200, 210, 220, 230, 240, 250, 260); c.Verdict != inspect.Pass || c.Measured > 1e-9 {
		t.Errorf("even steps: %+v", c)
	}
	c := worst(t, plain, 200, 210, 220, 232, 240, 250, 260)
	if c.Verdict != inspect.Fail || c.Size != "4" && c.Size != "5" {
		t.Errorf("size 4 is 2 mm too wide: %+v", c)
	}
}

func TestGrowthFollowsTheBodyWhereTheBodyGrowsUnevenly(t *testing.T) {
	body := map[string][]float64{"bust": {800, 840, 880, 920, 980, 1040, 1100}}
	uneven := chart(nil, body)
	if c := worst(t, uneven, 200, 210, 220, 230, 245, 260, 275); c.Verdict != inspect.Pass || c.Measured > 1e-9 {
		t.Errorf("a quarter of the bust's growth is as it should be: %+v", c)
	}
	if c := worst(t, uneven, 200, 210, 220, 230, 240, 250, 260); c.Verdict != inspect.Pass {
		t.Errorf("what does not depend on the bust may grow evenly: %+v", c)
	}
	if c := worst(t, uneven, 200, 210, 220, 235, 250, 265, 280); c.Verdict != inspect.Fail {
		t.Errorf("the step changes a size too early: %+v", c)
	}
	if c := worst(t, uneven, 200, 210, 220, 230, 246.5, 260, 275); c.Verdict != inspect.Fail {
		t.Errorf("one size is out of step: %+v", c)
	}
}

// A chart may hold sixty measurements, and each may be the one that a length follows: the last by name, too.
func TestAnyMeasurementOfALongChartMayExplainALength(t *testing.T) {
	body := map[string][]float64{}
	for i := range 20 {
		v := []float64{800, 0, 0, 0, 0, 0, 0}
		for k := 1; k < len(v); k++ {
			v[k] = v[k-1] + 20 + float64((i*7+k*k*(i+3))%29) // each grows in its own way
		}
		body["m_"+string(rune('a'+i))] = v
	}
	last := body["m_t"]
	w := make([]float64, len(last))
	for k := range w {
		w[k] = 200 + 0.25*(last[k]-800)
	}
	if c := worst(t, chart(nil, body), w...); c.Verdict != inspect.Pass || c.Measured > 1e-9 {
		t.Errorf("a quarter of the growth of the twentieth measurement: %+v", c)
	}
	w[3] += 2
	if c := worst(t, chart(nil, body), w...); c.Measured < 0.1 {
		t.Errorf("one size is out of step: %+v", c)
	}
}

func TestAStatedBreakMayChangeTheStepAndOnlyThere(t *testing.T) {
	stated := chart([]string{"5"}, nil)
	if c := worst(t, stated, 200, 210, 220, 230, 245, 260, 275); c.Verdict != inspect.Pass {
		t.Errorf("the step changes at the break: %+v", c)
	}
	if c := worst(t, stated, 200, 210, 220, 235, 250, 265, 280); c.Verdict != inspect.Fail {
		t.Errorf("the step changes before the break: %+v", c)
	}
	if c := worst(t, chart(nil, nil), 200, 210, 220, 230, 245, 260, 275); c.Verdict != inspect.Fail {
		t.Errorf("no break is stated: %+v", c)
	}
}

func TestSomeSizesOfARunAreHeldToTheStepsBetweenThem(t *testing.T) {
	c := chart(nil, nil)
	var s []inspect.Sized
	for i, w := range map[int]float64{0: 200, 2: 220, 3: 230, 6: 260} {
		s = append(s, strip(c.Run[i], w))
	}
	for _, k := range inspect.Run(s, c, inspect.Options{}).Checks {
		if k.Rule == "growth" && k.Verdict != inspect.Pass {
			t.Errorf("1, 3, 4 and 7 grow evenly: %+v", k)
		}
	}
}

func TestAnEdgeThatSomeSizesLackIsFound(t *testing.T) {
	c := chart(nil, nil)
	s := []inspect.Sized{strip("1", 200), strip("2", 210), strip("3", 220)}
	s[1].Pattern.Pieces[0].Edges[0].Name = "z"
	found := false
	for _, k := range inspect.Run(s, c, inspect.Options{}).Checks {
		found = found || k.Rule == "growth_there" && k.Verdict == inspect.Fail
	}
	if !found {
		t.Error("edge a is missing in size 2")
	}
}

// A strip that is joined of two lengths from some size on has a seam there that the smaller sizes have no need of.
func TestAJoinBetweenLengthsMayBeThereInSomeSizesOnly(t *testing.T) {
	c := chart(nil, nil)
	for _, lengths := range []int{2, 1} {
		s := []inspect.Sized{strip("1", 200), strip("2", 210), strip("3", 220)}
		p := &s[2].Pattern
		p.Pieces[0].Cut.Count = lengths
		for i := range s[:2] {
			s[i].Pattern.Pieces[0].Cut.Count = 1
		}
		e := pattern.EdgeRef{Piece: p.Pieces[0].Name, Edge: p.Pieces[0].Edges[0].Name}
		p.Seams = append(p.Seams, pattern.Seam{Name: "join", Sew: []pattern.EdgeRef{e}, To: []pattern.EdgeRef{e}})
		found := 0
		for _, k := range inspect.Run(s, c, inspect.Options{}).Checks {
			if k.Rule == "growth_there" && k.Verdict == inspect.Fail {
				found++
			}
		}
		if lengths == 2 && found != 0 || lengths == 1 && found != 2 {
			t.Errorf("cut %d times in size 3: %d sides of the join are missed in the others", lengths, found)
		}
	}
}

func TestASpoiledSizeOfTheBlouseIsOutOfStep(t *testing.T) {
	ps := blouse.Run()
	d := blouse.At(4)
	d.Length += 4
	ps[4] = blouse.Make(d)
	found := false
	for _, k := range run(t, ps...).Worst() {
		if k.Rule == "growth" && k.Piece == "front" && k.Place == "side" {
			found = k.Size == "16" || k.Size == "18"
		}
	}
	if !found {
		t.Error("the side of size 16 is 4 mm too long")
	}
}
