package change

import (
	"math"
	"math/rand/v2"
	"testing"

	"sizerun/internal/geom"
	"sizerun/internal/inspect"
	"sizerun/internal/pattern"
	"sizerun/internal/testkit/blouse"
)

// board is a rectangle of cloth: hem below, side, head above, side.
func board(wide, high float64) pattern.Piece {
	c := []geom.Point{geom.Pt(0, 0), geom.Pt(wide, 0), geom.Pt(wide, high), geom.Pt(0, high)}
	p := pattern.Piece{Name: "board", Grain: [2]geom.Point{geom.Pt(wide/2, high/4), geom.Pt(wide/2, 3*high/4)}, Align: geom.Pt(wide/2, high/2), Cut: pattern.Cut{Count: 1, Cloth: "main"}}
	names := []string{"hem", "right", "head", "left"}
	for i := range 4 {
		p.Edges = append(p.Edges, pattern.Edge{Name: names[i], From: names[i] + "_start", To: names[(i+1)%4] + "_start", Path: geom.Polyline(c[i], c[(i+1)%4])})
	}
	return p
}

func open(t testing.TB, p *pattern.Piece, o opening) spreading {
	t.Helper()
	w := work{change: "test", p: pattern.Pattern{Size: "14"}}
	r, err := w.spread(p, o)
	if err != nil {
		t.Fatal(err)
	}
	w.p.Pieces = []pattern.Piece{*p}
	if err := w.sound(); err != nil {
		t.Fatal(err)
	}
	return r
}

var hemRun, headRun = run{0, 0}, run{2, 2}

// evenly opens a board along n lines.
func evenly(p *pattern.Piece, n int, open, head float64) opening {
	o := opening{open: hemRun, head: headRun, cuts: slashesEven(p, hemRun, headRun, n)}
	for i := range o.cuts {
		o.cuts[i].open, o.cuts[i].head = open, head
	}
	return o
}

// Slashed into many parts a straight board becomes a part of a ring, as a skirt panel becomes a part of a
// circle skirt: the head an arc of its old length, the hem one of the wanted length, their radii a board
// apart (exact geometry: radius = length / angle).
func TestABoardSlashedOftenBecomesAPartOfARing(t *testing.T) {
	const wide, high, n, gap = 400.0, 300.0, 80, 3.0
	p := board(wide, high)
	r := open(t, &p, evenly(&p, n, gap, 0))
	turn := n * gap / high
	if math.Abs(r.turn-turn) > 1e-9 {
		t.Errorf("turned by %.6f, not %.6f", r.turn, turn)
	}
	if l := p.Edges[2].Path.Length(); math.Abs(l-wide) > 1e-6 {
		t.Errorf("the head is %.7f mm long, not %g", l, wide)
	}
	if l := p.Edges[0].Path.Length(); math.Abs(l-wide-n*gap) > 0.01 {
		t.Errorf("the hem is %.4f mm long, not %g", l, wide+n*gap)
	}
	// Away from the stiff ends all of the head lies on one circle.
	want := wide * n / (n + 1) / turn // each line turns what lies between two middles
	head := p.Edges[2].Path
	for _, k := range []float64{0.1, 0.3, 0.5, 0.7, 0.9} {
		if got := 1 / math.Abs(head.CurvatureAt(wide*k)); math.Abs(got-want) > 0.01*want {
			t.Errorf("radius %.1f mm at %.1f, not %.1f", got, k, want)
		}
	}
	if in := inspect.Interior(p.Edges[3].Path, p.Edges[0].Path); math.Abs(in-math.Pi/2) > 1e-9 {
		t.Errorf("the corner at the side is no longer square: %.6f", in)
	}
}

// Even one line: the edge that hinges keeps its length, the one that opens gains what was asked, whatever
// the outline; both run without a corner where they had none.
func TestHingedEdgesKeepTheirLengthOnAnySoundSleeve(t *testing.T) {
	r := rand.New(rand.NewPCG(7, 7))
	worst, gain, kink := 0.0, 0.0, 0.0
	for range 60 {
		d := blouse.Base()
		d.UpperArm = 320 + 90*r.Float64()
		d.Underarm = 80 + 300*r.Float64()
		d.Taper = -10 + 40*r.Float64()
		p := drafted(d)
		was := p.Clone()
		n := 1 + r.IntN(8)
		hem, cap := run{0, 0}, run{2, 3}
		o := opening{open: hem, head: cap, cuts: slashesAlong(&p, hem, cap, n, geom.Vec{Y: 1})}
		if len(o.cuts) != n {
			t.Fatalf("%d of %d lines", len(o.cuts), n)
		}
		total := 0.0
		atHem := r.IntN(2) == 0
		for i := range o.cuts {
			by := 5 + 35*r.Float64()
			total += by
			if atHem {
				o.cuts[i].open = by
			} else {
				o.cuts[i].head = by
			}
		}
		s := open(t, &p, o)
		kept, opened := []int{2, 3}, s.openGain
		if !atHem {
			kept, opened = []int{0}, s.headGain
		}
		for _, i := range append(kept, 1, 4) {
			worst = math.Max(worst, math.Abs(p.Edges[i].Path.Length()-was.Edges[i].Path.Length()))
		}
		if atHem { // a cap is not square to the lines
			gain = math.Max(gain, math.Abs(opened-total)/total)
		} else if opened <= 0 {
			t.Errorf("the cap lost %.3f mm", -opened)
		}
		for i := range p.Edges {
			q := p.Edges[i].Path
			for k := 1; k < len(q); k++ {
				kink = math.Max(kink, degrees(q[k-1].Tangent(1), q[k].Tangent(0)))
			}
		}
		kink = math.Max(kink, degrees(p.Edges[2].Path.EndTangent(), p.Edges[3].Path.StartTangent()))
		for i := range p.Edges { // the corners at the sides stay as they are
			j := (i + 1) % 5
			a, b := inspect.Interior(was.Edges[i].Path, was.Edges[j].Path), inspect.Interior(p.Edges[i].Path, p.Edges[j].Path)
			if math.Abs(a-b) > 1e-6 {
				t.Errorf("corner %s: %.4f, was %.4f", p.Edges[i].To, b, a)
			}
		}
		if len(p.Marks) != len(was.Marks) {
			t.Error("marks were lost")
		}
		for k, m := range p.Marks {
			if atHem && math.Abs(m.S-was.Marks[k].S) > 0.02 {
				t.Errorf("%s lies %.3f mm along the cap, was %.3f", m.Name, m.S, was.Marks[k].S)
			}
			if i := p.EdgeNamed(m.Edge); p.Edges[i].Path.PointAt(m.S).Dist(m.At) > 1e-9 {
				t.Errorf("%s left its edge", m.Name)
			}
		}
	}
	t.Logf("kept to %.6f mm, gained to %.2f %%, corners %.4f degrees", worst, 100*gain, kink)
	if worst > 0.02 || gain > 0.01 || kink > 0.01 {
		t.Error("that is too much")
	}
}

// Spread right through, the two runs keep their shape across the lines and every part its place: the
// area grows by what is put in times the length of the lines.
func TestSpreadRightThroughPutsInAStrip(t *testing.T) {
	for _, sharp := range []bool{false, true} {
		p := board(400, 300)
		o := evenly(&p, 3, 40, 40)
		o.sharp = sharp
		s := open(t, &p, o)
		if a := p.Outline().Area(); math.Abs(a-520*300) > 1e-6*a {
			t.Errorf("sharp %v: area %.3f, not %g", sharp, a, 520.0*300)
		}
		if s.turn != 0 || len(p.Edges[0].Path) != 1 || !p.Edges[0].Path[0].Straight {
			t.Errorf("sharp %v: the straight hem is no longer straight: %v", sharp, p.Edges[0].Path)
		}
		if math.Abs(s.openGain-120) > 1e-9 || math.Abs(s.headGain-120) > 1e-9 {
			t.Errorf("sharp %v: gains %.4f and %.4f, not 120", sharp, s.openGain, s.headGain)
		}
		if sharp {
			for i, c := range s.cuts {
				a, b := c.open[0], c.open[1]
				if math.Abs(b.s-a.s-40) > 1e-9 || math.Abs(a.s-100*float64(i+1)-40*float64(i)) > 1e-9 {
					t.Errorf("gap %d lies from %.3f to %.3f", i+1, a.s, b.s)
				}
			}
		}
	}
}

// The referee cuts a polygon into parts, lays them out one after the other by the law of the isosceles
// trapezoid, and does not smooth.
func TestTheOpenedPieceAgreesWithPartsLaidOutStiff(t *testing.T) {
	for _, sharp := range []bool{true, false} {
		for _, c := range []struct{ open, head float64 }{{30, 0}, {0, 25}, {20, 20}, {36, 12}, {-10, 0}} {
			if sharp && c.open < 0 {
				continue
			}
			d := blouse.Base()
			d.Underarm = 300
			p := drafted(d)
			was := p.Clone()
			hem, cap := run{0, 0}, run{2, 3}
			o := opening{open: hem, head: cap, cuts: slashesAlong(&p, hem, cap, 4, geom.Vec{Y: 1}), sharp: sharp, keep: keepStart}
			for i := range o.cuts {
				o.cuts[i].open, o.cuts[i].head = c.open, c.head
			}
			s := open(t, &p, o)
			m := geom.Identity()
			off := 0.0
			for i, cut := range o.cuts {
				h, q := cut.to.at(&was), cut.at.at(&was)
				l := h.Dist(q)
				a := 2 * math.Asin((c.open-c.head)/2/l)
				n := q.Sub(h).Unit().Left().Rotate(a / 2)
				next := geom.RotateAbout(h, a).Then(geom.Translate(n.Mul(c.head))).Then(m)
				off = math.Max(off, s.cuts[i].left.Start().Dist(m.Apply(q)))
				off = math.Max(off, s.cuts[i].right.Start().Dist(next.Apply(q)))
				off = math.Max(off, s.cuts[i].right.End().Dist(next.Apply(h)))
				m = next
			}
			off = math.Max(off, p.Edges[1].Path.Start().Dist(m.Apply(was.Edges[1].Path.Start())))
			t.Logf("sharp %v, %+v: parts %.4f mm off", sharp, c, off)
			if most := map[bool]float64{true: 1e-9, false: 1.5}[sharp]; off > most {
				t.Errorf("sharp %v, %+v: parts lie %.4f mm off the stiff ones", sharp, c, off)
			}
		}
	}
}

// The smooth opening is what very many lines, each opened a little, come to: the referee opens stiff parts
// along lines as dense as pencil strokes, by what the ramps put in there.
func TestTheSmoothOpeningIsTheLimitOfManyStiffOnes(t *testing.T) {
	for _, c := range []struct{ open, head float64 }{{40, 0}, {0, 30}, {25, 25}, {30, 10}} {
		d := blouse.Base()
		d.Underarm = 250
		smooth := drafted(d)
		dense := smooth.Clone()
		hem, cap := run{0, 0}, run{2, 3}
		o := opening{open: hem, head: cap, cuts: slashesAlong(&smooth, hem, cap, 3, geom.Vec{Y: 1}), keep: keepStart}
		for i := range o.cuts {
			o.cuts[i].open, o.cuts[i].head = c.open, c.head
		}
		// The same fan, to ask what it puts in where.
		w := work{change: "test", p: pattern.Pattern{Size: "14"}}
		was := smooth.Clone()
		f := fan{p: &was, o: o, head: newThread(&was, cap, true), open: newThread(&was, hem, false)}
		if err := f.lines(&w); err != nil {
			t.Fatal(err)
		}
		f.knots()
		f.turns()
		const n = 120
		many := opening{open: hem, head: cap, sharp: true, keep: keepStart}
		for i := range n {
			u := f.head.length * float64(i+1) / (n + 1)
			s, _ := f.pair.at(u)
			step := f.head.length / (n + 1) / 2
			a0, _ := f.let.at(u - step)
			a1, _ := f.let.at(u + step)
			b0, _ := f.put.at(u - step)
			b1, _ := f.put.at(u + step)
			many.cuts = append(many.cuts, slash{at: f.open.spot(s), to: f.head.spot(u), open: a1 - a0, head: b1 - b0})
		}
		open(t, &smooth, o)
		if _, err := w.spread(&dense, many); err != nil {
			t.Fatal(err)
		}
		off := 0.0
		for i := range smooth.Edges {
			for _, s := range smooth.Edges[i].Path {
				for k := range 5 {
					_, d := dense.Edges[i].Path.Project(s.At(float64(k) / 4))
					off = math.Max(off, d)
				}
			}
		}
		t.Logf("%+v: %.4f mm", c, off)
		// What is put in across a steep cap makes a stair of stiff parts.
		if stair := 3 * math.Max(c.open, c.head) / n; off > 0.75*stair {
			t.Errorf("%+v: the smooth outline lies %.4f mm off that of %d lines", c, off, n)
		}
	}
}

// A dart in the head rides along: its legs stay equal and as long as they were.
func TestADartRidesAlong(t *testing.T) {
	p := board(400, 300)
	e := p.Edges[2]
	mk := func(n, from, to string, a, b geom.Point) pattern.Edge {
		return pattern.Edge{Name: n, From: from, To: to, Path: geom.Polyline(a, b)}
	}
	a, b, c := geom.Pt(220, 300), geom.Pt(200, 180), geom.Pt(180, 300)
	p.Edges = []pattern.Edge{p.Edges[0], p.Edges[1],
		mk("head", e.From, "mouth_a", geom.Pt(400, 300), a), mk("leg_a", "mouth_a", "point", a, b), mk("leg_b", "point", "mouth_b", b, c), mk("head_2", "mouth_b", e.To, c, geom.Pt(0, 300)), p.Edges[3]}
	p.Darts = []pattern.Dart{{Name: "dart", First: "leg_a", Second: "leg_b", Towards: "leg_a"}}
	p.Marks = []pattern.Mark{{Kind: pattern.Dot, Name: "point", At: b}, {Kind: pattern.Dot, Name: "pocket", At: geom.Pt(60, 150)}}
	was := p.Clone()
	head := run{2, 5}
	for _, sharp := range []bool{false, true} {
		p := was.Clone()
		o := opening{open: hemRun, head: head, cuts: slashesEven(&p, hemRun, head, 4), sharp: sharp}
		for i := range o.cuts {
			o.cuts[i].open = 25
		}
		s := open(t, &p, o)
		for i := 2; i < 6; i++ {
			if math.Abs(p.Edges[i].Path.Length()-was.Edges[i].Path.Length()) > 1e-3 {
				t.Errorf("sharp %v: %s is %.4f mm long, was %.4f", sharp, p.Edges[i].Name, p.Edges[i].Path.Length(), was.Edges[i].Path.Length())
			}
		}
		if d := p.Edges[3].Path.Start().Dist(p.Edges[4].Path.End()); math.Abs(d-40) > 1e-6 {
			t.Errorf("sharp %v: the dart's mouth is %.4f mm wide", sharp, d)
		}
		if !sharp && math.Abs(s.openGain-100) > 2 {
			t.Errorf("the hem gained %.3f mm", s.openGain)
		}
		if d := p.MarkNamed("point").At.Dist(p.Edges[3].Path.End()); d > 0.5 {
			t.Errorf("sharp %v: the dart point's dot lies %.3f mm off the point", sharp, d)
		}
	}
}

func TestASwellRisesAtItsPeakAndNowhereElse(t *testing.T) {
	p := board(400, 300)
	o := evenly(&p, 3, 0, 20)
	o.swellHead = &swell{from: spot{2, 350}, peak: spot{2, 200}, to: spot{2, 50}, by: geom.Vec{Y: 30}}
	open(t, &p, o)
	if top := p.Edges[2].Path.Bounds().Max.Y - p.Edges[2].Path.Start().Y; p.Edges[2].Path.Length() < 460 || top < 30 {
		t.Errorf("rises by %.3f", top)
	}
	if d := degrees(p.Edges[2].Path.StartTangent(), p.Edges[1].Path.EndTangent().Left()); d > 1e-6 {
		t.Errorf("the corner at the side turned by %.4f degrees", d)
	}
}

func TestAFoldStays(t *testing.T) {
	for _, e := range []int{1, 3} {
		p := board(400, 300)
		p.Edges[e].Fold = true
		was := p.Clone()
		open(t, &p, evenly(&p, 3, 30, 0))
		if p.Edges[e].Path.Start().Dist(was.Edges[e].Path.Start()) > 1e-9 || p.Edges[e].Path.End().Dist(was.Edges[e].Path.End()) > 1e-9 {
			t.Errorf("the fold %s moved", p.Edges[e].Name)
		}
	}
}

func TestSpreadSaysWhatItCannotOpen(t *testing.T) {
	w := work{change: "test", p: pattern.Pattern{Size: "14"}}
	for claim, spoil := range map[string]struct {
		rule string
		f    func(o *opening)
	}{
		"no line":                  {"no_slash", func(o *opening) { o.cuts = nil }},
		"lines that cross":         {"slash_order", func(o *opening) { o.cuts[0].to, o.cuts[1].to = o.cuts[1].to, o.cuts[0].to }},
		"a line at a corner":       {"slash_order", func(o *opening) { o.cuts[0].at.s = 0.5 }},
		"a line to a side":         {"slash_ends", func(o *opening) { o.cuts[0].to = spot{1, 50} }},
		"opened beyond reason":     {"opens_too_far", func(o *opening) { o.cuts[0].open = 500 }},
		"closed beyond the cloth":  {"closes_too_far", func(o *opening) { o.cuts[0].open = -100 }},
		"a pleat of negative size": {"closes_too_far", func(o *opening) { o.sharp = true; o.cuts[0].open = -1 }},
	} {
		p := board(400, 300)
		o := evenly(&p, 3, 10, 0)
		o.ptr = "/lines"
		spoil.f(&o)
		_, err := w.spread(&p, o)
		if err == nil {
			t.Errorf("%s: was opened", claim)
			continue
		}
		if f := pattern.FaultsOf(err)[0]; f.Rule != spoil.rule || f.Pointer != "/lines" || f.Remedy == "" {
			t.Errorf("%s: %+v", claim, f)
		}
	}
}

func BenchmarkSpread(b *testing.B) {
	p := drafted(blouse.Base())
	hem, cap := run{0, 0}, run{2, 3}
	cuts := slashesAlong(&p, hem, cap, 5, geom.Vec{Y: 1})
	for i := range cuts {
		cuts[i].open = 20
	}
	w := work{change: "test", p: pattern.Pattern{Size: "14"}}
	for b.Loop() {
		q := p.Clone()
		if _, err := w.spread(&q, opening{open: hem, head: cap, cuts: cuts}); err != nil {
			b.Fatal(err)
		}
	}
}

// drafted is the sleeve of a blouse.
func drafted(d blouse.Draft) pattern.Piece {
	p := blouse.Make(d)
	return p.PieceNamed("sleeve").Clone()
}

// Beyond the stretch that is to open, a gathered head is the same curve as before.
func TestClothBeyondTheStretchStaysStiff(t *testing.T) {
	d := blouse.Base()
	p := drafted(d)
	was := p.Clone()
	hem, cap := run{0, 0}, run{2, 3}
	back, front := 70.0, 80.0 // from the crown
	fl := was.Edges[2].Path.Length()
	in := [2]spot{{3, back}, {2, fl - front}}
	o := opening{open: hem, head: cap, cuts: slashesWithin(&p, hem, cap, 4, geom.Vec{Y: 1}, in), within: &in}
	for i := range o.cuts {
		o.cuts[i].head = 20
	}
	open(t, &p, o)
	grown := p.Edges[2].Path.Length() - fl
	for _, e := range []struct {
		edge     int
		off, len float64
	}{{2, 0, fl - front}, {3, back, was.Edges[3].Path.Length() - back}} {
		a, b := was.Edges[e.edge].Path, p.Edges[e.edge].Path
		x, y := a.Sub(e.off, e.off+e.len), b.Sub(b.Length()-a.Length()+e.off, b.Length())
		if e.edge == 2 {
			y = b.Sub(0, e.len)
		}
		if c, d := x.Start().Dist(x.End()), y.Start().Dist(y.End()); math.Abs(c-d) > 0.02 {
			t.Errorf("edge %d: chord %.4f, was %.4f", e.edge, d, c)
		}
		for _, k := range []float64{0.2, 0.5, 0.8} {
			if c, d := x.CurvatureAt(e.len*k), y.CurvatureAt(y.Length()*k); math.Abs(c-d) > 1e-4 {
				t.Errorf("edge %d at %g: curvature %.6f, was %.6f", e.edge, k, d, c)
			}
		}
	}
	if grown < 20 {
		t.Errorf("the front cap gained %.2f mm", grown)
	}
}
