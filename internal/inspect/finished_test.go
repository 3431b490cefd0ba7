package inspect

import (
	"fmt"
	"math"
	"math/rand"
	"strings"
	"testing"

	"sizerun/internal/geom"
	"sizerun/internal/pattern"
)

// half is a half front of a plain tube: the fold at x = 0, the side at x = wide, 600 mm long, with a waist
// dart of 20 mm at 100 mm from the fold, 150 mm deep from the top.
func half(wide float64) pattern.Piece {
	p := pattern.Piece{Name: "front", Of: "front", Grain: [2]geom.Point{geom.Pt(50, 100), geom.Pt(50, 500)}}
	at := []geom.Point{geom.Pt(0, 0), geom.Pt(wide, 0), geom.Pt(wide, 600), geom.Pt(110, 600), geom.Pt(100, 450), geom.Pt(90, 600), geom.Pt(0, 600)}
	for i, e := range [][3]string{{"hem", "centre_hem", "side_hem"}, {"side", "side_hem", "side_top"}, {"top_side", "side_top", "dart_outer"},
		{"dart_out", "dart_outer", "dart_point"}, {"dart_in", "dart_point", "dart_inner"}, {"top_centre", "dart_inner", "centre_top"}, {"centre", "centre_top", "centre_hem"}} {
		path := geom.Polyline(at[i], at[(i+1)%len(at)])
		p.Edges = append(p.Edges, pattern.Edge{Name: e[0], From: e[1], To: e[2], Path: path, Src: pattern.Source{Piece: "front", Edge: e[0], S1: path.Length()}})
	}
	p.Edges[6].Fold = true
	p.Darts = []pattern.Dart{{Name: "dart", First: "dart_out", Second: "dart_in", Towards: "dart_in"}}
	p.Marks = []pattern.Mark{{Kind: pattern.Notch, Name: "hip", Count: 1, Edge: "side", S: 300, At: geom.Pt(wide, 300)}, {Kind: pattern.Notch, Name: "high", Count: 1, Edge: "side", S: 550, At: geom.Pt(wide, 550)}}
	return p
}

func tube(wide float64) *pattern.Pattern {
	return &pattern.Pattern{Size: "12", Body: map[string]float64{"hip": 900, "waist": 700}, Pieces: []pattern.Piece{half(wide)}}
}

func edgesOf(piece string, edges ...string) []pattern.EdgeRef {
	var out []pattern.EdgeRef
	for _, e := range edges {
		out = append(out, pattern.EdgeRef{Piece: piece, Edge: e})
	}
	return out
}

// rows are what is measured on the tube.
func rows(on *pattern.Pattern) []Row {
	level := func(name string) pattern.Term {
		return pattern.Term{Piece: "front", From: pattern.Place{Point: name}, ToEdge: "centre", Times: 4}
	}
	var out []Row
	for _, f := range []pattern.Finished{
		{Name: "hip", Says: "Hip", Terms: []pattern.Term{level("hip")}},
		{Name: "high", Says: "Above the dart's point", Terms: []pattern.Term{level("high")}},
		{Name: "waist", Says: "Waist", Terms: []pattern.Term{{Edges: edgesOf("front", "top_centre", "top_side"), Times: 4}}},
		{Name: "length", Says: "Length", Terms: []pattern.Term{{Piece: "front", Along: true, From: pattern.Place{Edge: "centre", From: "centre_top"}, ToEdge: "hem", Times: 1}}},
		{Name: "hem", Says: "Hem", Terms: []pattern.Term{{Edges: edgesOf("front", "hem"), Outer: true, Times: 4}}},
	} {
		out = append(out, Row{f, on})
	}
	return out
}

func taken(t *testing.T, made, on *pattern.Pattern, name string) Taken {
	t.Helper()
	for _, x := range Finished(made, rows(on)) {
		if x.Name == name {
			return x
		}
	}
	t.Fatalf("%s is not measured", name)
	return Taken{}
}

func wants(t *testing.T, made, on *pattern.Pattern, want map[string]float64) {
	t.Helper()
	for k, mm := range want {
		if x := taken(t, made, on, k); x.Gone != "" || math.Abs(x.MM-mm) > 0.05 {
			t.Errorf("%s measures %.3f mm (%s), not %.3f", k, x.MM, x.Gone, mm)
		}
	}
}

func gone(t *testing.T, made, on *pattern.Pattern, name, why string) {
	t.Helper()
	if x := taken(t, made, on, name); !strings.Contains(x.Gone, why) || x.MM != 0 {
		t.Errorf("%s measures %.3f mm and is left out because %q; wanted: %q", name, x.MM, x.Gone, why)
	}
}

// A level above the dart's point meets the dart where it is 40/3 mm wide: at 100 mm over its point of 150.
const dartAtHigh = 20 * 100.0 / 150

func TestAPlainTubeMeasuresItsGirth(t *testing.T) {
	p := tube(250)
	wants(t, p, p, map[string]float64{"hip": 1000, "waist": 4 * 230, "length": 600, "hem": 1000})
	// Over the dart the tape goes straight on the cloth as sewn: turned by the dart's angle, it comes to the
	// fold a little aslant, and is at most 2 % longer than the level's two stretches.
	x := taken(t, p, p, "high").MM / 4
	if x < 250-dartAtHigh || x > 1.02*(250-dartAtHigh) {
		t.Errorf("above the dart's point a quarter measures %.2f mm of %.2f", x, 250-dartAtHigh)
	}
}

func TestWhatIsMovedAsAWholeMeasuresTheSame(t *testing.T) {
	on := tube(250)
	made := on.Clone()
	m := geom.RotateAbout(geom.Pt(30, 40), 0.7).Then(geom.Translate(geom.Vec{X: 500, Y: -80}))
	move(&made.Pieces[0], m)
	wants(t, &made, on, map[string]float64{"hip": 1000, "waist": 920, "length": 600, "hem": 1000, "high": taken(t, on, on, "high").MM})
}

func move(p *pattern.Piece, m geom.Affine) {
	for i := range p.Edges {
		p.Edges[i].Path = p.Edges[i].Path.Transform(m)
	}
	for i := range p.Marks {
		p.Marks[i].At = m.Apply(p.Marks[i].At)
	}
	p.Grain = [2]geom.Point{m.Apply(p.Grain[0]), m.Apply(p.Grain[1])}
}

// split cuts the tube upright at x = 150 into a centre and a side, each moved by itself.
func split(wide float64, centre, side geom.Affine) pattern.Pattern {
	whole := half(wide)
	part := func(name string, m geom.Affine, edges ...pattern.Edge) pattern.Piece {
		p := pattern.Piece{Name: name, Of: "front", Grain: whole.Grain, Edges: edges}
		move(&p, m)
		return p
	}
	e := func(name, as, from, to string, a, b geom.Point, s0, s1 float64) pattern.Edge {
		return pattern.Edge{Name: as, From: from, To: to, Path: geom.Polyline(a, b), Src: pattern.Source{Piece: "front", Edge: name, S0: s0, S1: s1}}
	}
	line := func(piece string, a, b geom.Point) pattern.Edge {
		return pattern.Edge{Name: "line", From: "l0", To: "l1", Path: geom.Polyline(a, b), Src: pattern.Source{Piece: piece, Edge: "line", S1: a.Dist(b)}}
	}
	c := part("front_centre", centre, e("hem", "hem", "centre_hem", "l0", geom.Pt(0, 0), geom.Pt(150, 0), 0, 150), line("front_centre", geom.Pt(150, 0), geom.Pt(150, 600)),
		e("top_side", "top_side", "l1", "dart_outer", geom.Pt(150, 600), geom.Pt(110, 600), wide-150, wide-110), whole.Edges[3], whole.Edges[4], whole.Edges[5], whole.Edges[6])
	c.Darts = whole.Darts
	s := part("front_side", side, e("hem", "hem", "l0", "side_hem", geom.Pt(150, 0), geom.Pt(wide, 0), 150, wide), whole.Edges[1],
		e("top_side", "top_side", "side_top", "l1", geom.Pt(wide, 600), geom.Pt(150, 600), 0, wide-150), line("front_side", geom.Pt(150, 600), geom.Pt(150, 0)))
	s.Marks = append([]pattern.Mark(nil), whole.Marks...)
	for i := range s.Marks {
		s.Marks[i].At = side.Apply(s.Marks[i].At)
	}
	return pattern.Pattern{Size: "12", Body: map[string]float64{"hip": 900}, Pieces: []pattern.Piece{c, s},
		Seams: []pattern.Seam{{Name: "line", Sew: edgesOf("front_centre", "line"), To: []pattern.EdgeRef{{Piece: "front_side", Edge: "line", Against: true}}}}}
}

func TestATapeGoesOverASeamWhereverThePartsLie(t *testing.T) {
	on := tube(250)
	for _, side := range []geom.Affine{geom.Identity(), geom.Translate(geom.Vec{X: 300, Y: 20}), geom.RotateAbout(geom.Pt(0, 0), -1.1)} {
		made := split(250, geom.Identity(), side)
		wants(t, &made, on, map[string]float64{"hip": 1000, "waist": 920, "hem": 1000, "length": 600})
	}
}

func TestShapeTakenInAtASeamIsNotMeasured(t *testing.T) {
	// The seam takes 8 mm out of the side part all along: every level is 8 mm narrower.
	on := tube(250)
	made := split(250, geom.Identity(), geom.Identity())
	s := &made.Pieces[1]
	for i := range s.Edges {
		for k := range s.Edges[i].Path {
			g := &s.Edges[i].Path[k]
			for _, q := range []*geom.Point{&g.P0, &g.P1, &g.P2, &g.P3} {
				if q.X < 150.1 {
					q.X += 8
				}
			}
			*g = geom.Line(g.P0, g.P3)
		}
	}
	wants(t, &made, on, map[string]float64{"hip": 4 * 242})
}

func TestGathersMeasureAsDrawnUp(t *testing.T) {
	on := tube(250)
	made := on.Clone()
	band := pattern.Piece{Name: "band", Of: "band", Edges: []pattern.Edge{{Name: "low", From: "a", To: "b", Path: geom.Polyline(geom.Pt(0, 0), geom.Pt(180, 0))}}}
	made.Pieces = append(made.Pieces, band)
	made.Seams = []pattern.Seam{{Name: "waist", Gathers: true, Sew: edgesOf("front", "top_side", "top_centre"), To: []pattern.EdgeRef{{Piece: "band", Edge: "low", Against: true}}}}
	wants(t, &made, on, map[string]float64{"waist": 4 * 180})
	// A part of a gathered seam can't be told.
	row := Row{pattern.Finished{Name: "part", Says: "Part", Terms: []pattern.Term{{Edges: edgesOf("front", "top_centre"), Times: 1}}}, on}
	if x := Finished(&made, []Row{row})[0]; !strings.Contains(x.Gone, "gathered") {
		t.Errorf("a part of a gathered seam measures %.1f mm (%q)", x.MM, x.Gone)
	}
}

func TestClothThatIsToShrinkIsMeasuredAfterTheWash(t *testing.T) {
	on := tube(250)
	made := on.Clone()
	p := &made.Pieces[0]
	move(p, geom.Scale(1/(1-0.02), 1/(1-0.05)))
	p.Shrinks = pattern.Shrinkage{Warp: 0.05, Weft: 0.02}
	p.Align = geom.Pt(13, 77)
	wants(t, &made, on, map[string]float64{"hip": 1000, "waist": 920, "length": 600, "hem": 1000})
}

func TestAStandBeyondTheCentreDoesNotCount(t *testing.T) {
	on := tube(250)
	made := on.Clone()
	p := &made.Pieces[0]
	for i := range p.Edges {
		e := &p.Edges[i]
		switch e.Name {
		case "hem":
			e.Path, e.From = geom.Polyline(geom.Pt(-18, 0), geom.Pt(250, 0)), "stand_low"
		case "top_centre":
			e.Path, e.To = geom.Polyline(geom.Pt(90, 600), geom.Pt(-18, 600)), "stand_high"
		case "centre":
			*e = pattern.Edge{Name: "stand_edge", From: "stand_high", To: "stand_low", Path: geom.Polyline(geom.Pt(-18, 600), geom.Pt(-18, 0)), Src: pattern.Source{Piece: "front", Edge: "stand_edge", S1: 600}}
		}
	}
	p.Lines = []pattern.InnerLine{{Name: "centre", Path: geom.Polyline(geom.Pt(0, 600), geom.Pt(0, 0))}}
	wants(t, &made, on, map[string]float64{"hip": 1000, "waist": 920, "hem": 1000})
}

func TestAFoldedPleatIsNotMeasured(t *testing.T) {
	// 60 mm of underlay let in at x = 130: two edges of the top are sewn to each other.
	on := tube(250)
	made := on.Clone()
	p := &made.Pieces[0]
	out := func(x float64) float64 {
		if x > 130 {
			return x + 60
		}
		return x
	}
	for i := range p.Edges {
		a, b := p.Edges[i].Path.Start(), p.Edges[i].Path.End()
		p.Edges[i].Path = geom.Polyline(geom.Pt(out(a.X), a.Y), geom.Pt(out(b.X), b.Y))
	}
	for i := range p.Marks {
		p.Marks[i].At.X = out(p.Marks[i].At.X)
	}
	top := p.EdgeNamed("top_side")
	line := func(name, from, to string, a, b float64, src pattern.Source) pattern.Edge {
		return pattern.Edge{Name: name, From: from, To: to, Path: geom.Polyline(geom.Pt(a, 600), geom.Pt(b, 600)), Src: src}
	}
	edges := append([]pattern.Edge(nil), p.Edges[:top]...)
	edges = append(edges, line("top_side", "side_top", "p3", 310, 190, pattern.Source{Piece: "front", Edge: "top_side", S1: 120}),
		line("under_1", "p3", "p2", 190, 160, pattern.Source{Piece: "front", Edge: "under_1", S1: 30}), line("under_2", "p2", "p1", 160, 130, pattern.Source{Piece: "front", Edge: "under_2", S1: 30}),
		line("top_side_2", "p1", "dart_outer", 130, 110, pattern.Source{Piece: "front", Edge: "top_side", S0: 120, S1: 140}))
	p.Edges = append(edges, p.Edges[top+1:]...)
	made.Seams = []pattern.Seam{{Name: "pleat", Sew: edgesOf("front", "under_1"), To: []pattern.EdgeRef{{Piece: "front", Edge: "under_2", Against: true}}}}
	gone(t, &made, on, "hip", "pleats")
	for _, x := range []float64{130, 190} {
		p.Lines = append(p.Lines, pattern.InnerLine{Name: fmt.Sprint("line_", x), Path: geom.Polyline(geom.Pt(x, 600), geom.Pt(x, 0))})
	}
	wants(t, &made, on, map[string]float64{"hip": 1000, "waist": 920, "hem": 4 * 310})
}

func TestWhatIsCutAwayOrSewnOnIsLeftOutWithTheReason(t *testing.T) {
	on := tube(250)
	made := on.Clone()
	made.Pieces[0].Edges[0].Src.S1 = 200 // 50 mm of the hem are gone
	gone(t, &made, on, "hem", "cut away")

	made = on.Clone()
	made.Pieces[0].Name, made.Pieces[0].Of = "skirt", "skirt"
	for i := range made.Pieces[0].Edges {
		made.Pieces[0].Edges[i].Src.Piece = "skirt"
	}
	for _, n := range []string{"hip", "waist", "length", "hem"} {
		gone(t, &made, on, n, "the front")
	}

	ruffled := func(adds *float64) *pattern.Pattern {
		m := on.Clone()
		r := pattern.Piece{Name: "ruffle", Of: "ruffle", Adds: adds, Edges: []pattern.Edge{{Name: "low", From: "a", To: "b", Path: geom.Polyline(geom.Pt(0, 0), geom.Pt(250, 0))}}}
		m.Pieces = append(m.Pieces, r)
		m.Seams = []pattern.Seam{{Name: "ruffle", Sew: edgesOf("ruffle", "low"), To: []pattern.EdgeRef{{Piece: "front", Edge: "hem", Against: true}}}}
		return &m
	}
	gone(t, ruffled(nil), on, "hem", "sewn to the ruffle")
	gone(t, ruffled(nil), on, "length", "sewn to the ruffle")
	bound := ruffled(new(0.0)) // a binding, a facing
	wants(t, bound, on, map[string]float64{"hem": 1000, "length": 600})
	long := 80.0
	wants(t, ruffled(&long), on, map[string]float64{"length": 680, "hip": 1000})
}

func TestAFacingIsNotTheGarment(t *testing.T) {
	// The front is gone but for a facing that was copied from it, marks and all.
	on := tube(250)
	made := on.Clone()
	p := &made.Pieces[0]
	p.Name = "front_facing"
	for i := range p.Edges {
		p.Edges[i].Src.Piece = p.Name
	}
	for _, n := range []string{"hip", "high", "waist", "length", "hem"} {
		gone(t, &made, on, n, "")
	}
}

func TestASpreadPieceIsMeasuredAlongASmoothLine(t *testing.T) {
	// Drawn as a ring about (0, 1600): from the fold, straight down, to a side turned by 0.35. Its hip line is
	// an arc, 300 mm over the hem, of radius 1300.
	on := tube(250)
	made := on.Clone()
	c := geom.Pt(0, 1600)
	const turn = 0.35
	p := &made.Pieces[0]
	p.Darts, p.Lines = nil, nil
	m := geom.RotateAbout(c, turn)
	a, b := m.Apply(geom.Pt(0, 0)), m.Apply(geom.Pt(0, 600))
	src := func(e string, l float64) pattern.Source { return pattern.Source{Piece: "front", Edge: e, S1: l} }
	p.Edges = []pattern.Edge{
		{Name: "hem", From: "centre_hem", To: "side_hem", Path: geom.Arc(c, 1600, -math.Pi/2, -math.Pi/2+turn), Src: src("hem", 250)},
		{Name: "side", From: "side_hem", To: "side_top", Path: geom.Polyline(a, b), Src: src("side", 600)},
		{Name: "top_side", From: "side_top", To: "centre_top", Path: geom.Arc(c, 1000, -math.Pi/2+turn, -math.Pi/2), Src: src("top_side", 140)},
		{Name: "centre", From: "centre_top", To: "centre_hem", Path: geom.Polyline(geom.Pt(0, 600), geom.Pt(0, 0)), Src: src("centre", 600)},
	}
	p.Marks = []pattern.Mark{{Kind: pattern.Notch, Name: "hip", Count: 1, Edge: "side", S: 300, At: m.Apply(geom.Pt(0, 300))}}
	wants(t, &made, on, map[string]float64{"hip": 4 * 1300 * turn, "hem": 4 * 1600 * turn})
}

func TestAGarmentSmallerThanTheBodyWarns(t *testing.T) {
	for wide, verdict := range map[float64]Verdict{250: Pass, 225: Pass, 220: Warn} {
		p := tube(wide)
		w := watch{s: &Sized{Pattern: *p, Finished: Finished(p, rows(p))}, o: DefaultOptions()}
		w.ease()
		found := false
		for _, c := range w.out {
			if c.Rule == "wearing_ease" && c.Place == "hip" {
				found = true
				if c.Verdict != verdict || math.Abs(c.Measured-(4*wide-900)) > 0.1 {
					t.Errorf("a hip of %.0f mm: %s, %.1f mm: %s", 4*wide, c.Verdict, c.Measured, c.Text)
				}
			}
			if c.Place == "length" || c.Place == "hem" {
				t.Errorf("%s is compared with a body that has none", c.Place)
			}
		}
		if !found {
			t.Error("the hip is not compared with the body")
		}
	}
}

// TestGarbageIsMeasuredWithoutHarm spoils a pattern in every way at random: nothing may panic, and no number
// may be shown that is none.
func TestGarbageIsMeasuredWithoutHarm(t *testing.T) {
	r := rand.New(rand.NewSource(7))
	for n := range 400 {
		on := tube(250)
		made := split(250, geom.Identity(), geom.Identity())
		if n%2 == 0 {
			made = on.Clone()
		}
		for range 1 + r.Intn(4) {
			p := &made.Pieces[r.Intn(len(made.Pieces))]
			e := &p.Edges[r.Intn(len(p.Edges))]
			switch r.Intn(12) {
			case 0:
				e.Path = nil
			case 1:
				e.Src.S1 *= r.Float64()
			case 2:
				e.Src.S0, e.Src.S1 = e.Src.S1, e.Src.S0
			case 3:
				e.Src = pattern.Source{}
			case 4:
				e.Path = e.Path.Reverse()
			case 5:
				e.Path = e.Path.Transform(geom.RotateAbout(geom.Pt(100, 300), 6*r.Float64()))
			case 6:
				e.Path = geom.Polyline(geom.Pt(math.NaN(), 0), geom.Pt(0, math.Inf(1)))
			case 7:
				p.Grain = [2]geom.Point{}
			case 8:
				p.Darts = append(p.Darts, pattern.Dart{Name: "x", First: e.Name, Second: "nowhere"})
			case 9:
				made.Seams = append(made.Seams, pattern.Seam{Name: "x", Sew: edgesOf(p.Name, e.Name, "nowhere")}, pattern.Seam{Name: "y", Gathers: true, Sew: edgesOf(p.Name, e.Name), To: edgesOf(p.Name, e.Name)})
			case 10:
				p.Marks = nil
			case 11:
				p.Shrinks = pattern.Shrinkage{Warp: r.Float64(), Weft: -r.Float64()}
			}
		}
		for _, x := range Finished(&made, rows(on)) {
			if (x.Gone == "") != (x.MM > 0 && x.MM < 1e6) {
				t.Fatalf("round %d: %s measures %v (%s)", n, x.Name, x.MM, x.Gone)
			}
		}
		Finished(on, rows(&made))
	}
	Finished(&pattern.Pattern{}, rows(tube(250)))
	Finished(tube(250), rows(&pattern.Pattern{Pieces: []pattern.Piece{{Name: "front"}}}))
}
