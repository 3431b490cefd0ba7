package draft

import (
	"math"
	"math/rand"
	"strings"
	"testing"

	"sizerun/internal/geom"
	"sizerun/internal/pattern"
)

func within(t *testing.T, what string, got, want, tol float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tol) {
		t.Errorf("%s is %.4f, want %.4f within %g", what, got, want, tol)
	}
}

// Published worked examples, each within the rounding of its print.

func TestOnePieceSleeveOfSchoolSewing(t *testing.T) {
	// "School Sewing", one-piece foundation sleeve (chestofbooks.com, public domain): for an armhole
	// of 16 in the sleeve is 17 in wide, its cap 4 in high; N lies at 3.2, O at 6.4 in; the hollow is
	// 3/4 in.
	const in = pattern.Inch
	f := PlainSleeveFrame(16 * in)
	within(t, "width", f.Wide/in, 17, 1e-9)
	within(t, "cap", f.Cap/in, 4, 1e-9)
	within(t, "N", f.N/in, 3.2, 1e-9)
	within(t, "O", f.O/in, 6.4, 1e-9)
	within(t, "hollow", f.Hollow/in, 0.75, 1e-9)
	p := drafted(t, "plain_sleeve", map[string]float64{"armhole": 16 * in, "wrist": 160, "arm_length": 580}, nil)
	front, back := edge(t, &p, "sleeve", "cap_front"), edge(t, &p, "sleeve", "cap_back")
	within(t, "drawn width", front.Start().Dist(back.End())/in, 17, 1e-9)
	within(t, "drawn cap", (front.End().Y-front.Start().Y)/in, 4, 1e-9)
}

func TestTriangleProportionsOfRosenfeld(t *testing.T) {
	// Rosenfeld, "The Practical Designer" (about 1918), page 14: size 36 gives "39 bust" and "25
	// waist", printed to the whole inch; reckoned 38.83 and 24.74.
	bust, waist := TriangleProportions(36)
	within(t, "bust", bust, 38.83, 0.005)
	within(t, "waist", waist, 24.74, 0.005)
	if math.Round(bust) != 39 || math.Round(waist) != 25 {
		t.Errorf("printed as 39 and 25, drawn %.2f and %.2f", bust, waist)
	}
}

func TestCircleSkirtRadii(t *testing.T) {
	// prettyquirkypants.com, March 2014, for a waist of 26 in: 4.13, 8.2, 12.4 and 16.56 in for a whole
	// circle, a half, a third and a quarter of one; printed to one or two digits.
	for _, c := range []struct{ quarters, printed, tol float64 }{{4, 4.13, 0.01}, {2, 8.2, 0.08}, {4.0 / 3, 12.4, 0.02}, {1, 16.56, 0.01}} {
		within(t, "radius", CircleRadius(26, c.quarters), c.printed, c.tol)
	}
	for q := 1.0; q <= 4; q++ {
		p, err := Draft("26 in", pattern.DraftSpec{Kind: "circle_skirt", Ease: map[string]float64{"waist": 0}, Lengths: map[string]float64{"skirt": 500},
			Numbers: map[string]float64{"quarters": q}}, map[string]float64{"waist": 26 * pattern.Inch})
		if err != nil {
			t.Fatal(err)
		}
		r := 26 * pattern.Inch * 4 / (2 * math.Pi * q)
		waist := edge(t, &p, "front", "waist").Length() + edge(t, &p, "back", "waist").Length()
		hem := edge(t, &p, "front", "hem").Length() + edge(t, &p, "back", "hem").Length()
		within(t, "waist", 2*waist, 26*pattern.Inch, 1e-3)
		within(t, "hem", 2*hem, (r+500)*q*math.Pi/2, 2e-3)
		within(t, "area", p.PieceNamed("back").Outline().Area()*4, q*math.Pi/4*((r+500)*(r+500)-r*r), 1)
	}
}

// What the drafts promise, for random bodies.

func TestCapEaseIsAsStatedForAnyBody(t *testing.T) {
	r := rand.New(rand.NewSource(1))
	for range 300 {
		body := someone(r)
		ef, eb := 4+14*r.Float64(), 8+16*r.Float64()
		p := drafted(t, "bodice", body, map[string]float64{"cap_front": ef, "cap_back": eb})
		within(t, "front ease", edge(t, &p, "sleeve", "cap_front").Length()-edge(t, &p, "front", "armhole").Length(), ef, 0.1)
		within(t, "back ease", edge(t, &p, "sleeve", "cap_back").Length()-edge(t, &p, "back", "armhole").Length(), eb, 0.1)
		s := p.PieceNamed("sleeve")
		wide := s.Edges[s.EdgeNamed("cap_front")].Path.Start().X - s.Edges[s.EdgeNamed("cap_back")].Path.End().X
		within(t, "sleeve width", wide, body["upper_arm"]+52, 0.001)
		// No ease between the underarm and the notches.
		for _, n := range []struct{ mark, cap, piece string }{{"front_notch", "cap_front", "front"}, {"back_notch", "cap_back", "back"}} {
			up := s.MarkNamed(n.mark).S
			if n.cap == "cap_back" {
				up = edge(t, &p, "sleeve", n.cap).Length() - up
			}
			pc := p.PieceNamed(n.piece)
			m := pc.MarkNamed(n.mark)
			at := m.S
			if pc.Edges[pc.EdgeNamed("armhole")].To == "underarm" {
				at = edge(t, &p, n.piece, "armhole").Length() - at
			}
			within(t, n.mark, up-at, 0, 0.1)
		}
	}
}

func TestSeamsMatchForAnyBody(t *testing.T) {
	r := rand.New(rand.NewSource(2))
	for range 150 {
		body := someone(r)
		for _, kind := range Names() {
			p := drafted(t, kind, body, nil)
			for _, s := range p.Seams {
				d := sewn(t, &p, s.Sew) - sewn(t, &p, s.To)
				if d < s.Ease.Min-0.1 || d > s.Ease.Max+0.1 {
					t.Errorf("%s: seam %s differs by %.3f mm, want %v", kind, s.Name, d, s.Ease)
				}
			}
		}
	}
}

func TestFinishedGirthsAreTheBodysAndTheEase(t *testing.T) {
	r := rand.New(rand.NewSource(3))
	for range 100 {
		body := someone(r)
		p := drafted(t, "bodice", body, nil)
		f, k := p.PieceNamed("front"), p.PieceNamed("back")
		uf, _ := f.Corner("underarm")
		uk, _ := k.Corner("underarm")
		within(t, "bust", 2*(uk.X-uf.X), body["bust"]+50, 0.01)
		within(t, "neck", 2*(edge(t, &p, "front", "neck").Length()+edge(t, &p, "back", "neck").Length()), body["neck"]+10, 0.1)
		// The waist is measured along its curve, which is a little longer than the level line it was
		// laid out on.
		waist := 0.0
		for _, pc := range []string{"front", "back"} {
			waist += 2 * (edge(t, &p, pc, "waist_centre").Length() + edge(t, &p, pc, "waist_side").Length())
		}
		within(t, "waist", waist, body["waist"]+25, 0.004*body["waist"])
		p = drafted(t, "skirt", body, nil)
		hip := 0.0
		for _, pc := range p.Pieces {
			m := pc.MarkNamed("hip")
			hip += 2 * math.Abs(m.At.X)
		}
		within(t, "hip", hip, body["hip"]+40, 0.01)
	}
}

func TestLinesRunOnAcrossSeams(t *testing.T) {
	r := rand.New(rand.NewSource(4))
	for range 60 {
		body := someone(r)
		p := drafted(t, "bodice", body, nil)
		// Each pair adds up to a straight angle: neck and armhole over the shoulder, armhole over the
		// side, waist over the side and over the closed darts.
		for _, c := range [][4]string{
			{"front", "shoulder", "back", "neck"}, {"front", "armhole", "back", "shoulder"}, {"front", "side_upper", "back", "armhole"},
			{"front", "waist_side", "back", "side"}, {"front", "waist_centre", "front", "waist_dart_out"}, {"back", "waist_dart_in", "back", "waist_side"},
			{"front", "bust_dart_upper", "front", "side_lower"},
		} {
			within(t, strings.Join(c[:], " "), interior(t, &p, c[0], c[1])+interior(t, &p, c[2], c[3]), 180, 0.5)
		}
		// Square to the fold.
		for _, c := range [][2]string{{"front", "centre_front"}, {"front", "neck"}, {"back", "centre_back"}, {"back", "waist_centre"}} {
			within(t, strings.Join(c[:], " "), interior(t, &p, c[0], c[1]), 90, 0.01)
		}
		p = drafted(t, "trousers", body, nil)
		within(t, "fork", interior(t, &p, "front", "centre_front")+interior(t, &p, "back", "inside_leg"), 180, 0.5)
	}
}

func TestOutlinesAreSimpleAndDartsAreSane(t *testing.T) {
	r := rand.New(rand.NewSource(5))
	for range 200 {
		body := someone(r)
		for _, kind := range Names() {
			p := drafted(t, kind, body, nil)
			for i := range p.Pieces {
				pc := &p.Pieces[i]
				if fs := pattern.CheckOutline(pc.Name, pc.Edges); len(fs) > 0 {
					t.Fatalf("%s %v: %v", kind, body, fs)
				}
				for _, d := range pc.Darts {
					in, out := pc.Edges[pc.EdgeNamed(d.First)].Path, pc.Edges[pc.EdgeNamed(d.Second)].Path
					within(t, kind+" "+d.Name+": legs", in.Length(), out.Length(), 1e-6)
					angle := math.Abs(in.Reverse().StartTangent().AngleTo(out.StartTangent())) * 180 / math.Pi
					if angle < 1.5 || angle > 45 || in.Length() < 40 {
						t.Errorf("%s of %s %s: angle %.1f degrees, legs %.0f mm", d.Name, kind, pc.Name, angle, in.Length())
					}
				}
				for _, m := range pc.Marks {
					if m.Edge == "" && !pc.Outline().Contains(m.At) {
						if _, d := pc.Outline().Project(m.At); d > 0.01 {
							t.Errorf("%s: mark %s lies outside %s", kind, m.Name, pc.Name)
						}
					}
				}
			}
		}
	}
}

func TestArmholesTurnOneWay(t *testing.T) {
	r := rand.New(rand.NewSource(6))
	for range 100 {
		p := drafted(t, "bodice", someone(r), nil)
		for _, piece := range []string{"front", "back"} {
			for _, s := range edge(t, &p, piece, "armhole") {
				if len(s.Inflections()) > 0 {
					t.Errorf("the %s armhole changes its turn", piece)
				}
			}
		}
	}
}

func TestTheBustDartPointsAtTheBust(t *testing.T) {
	r := rand.New(rand.NewSource(7))
	for range 60 {
		p := drafted(t, "bodice", someone(r), nil)
		f := p.PieceNamed("front")
		bust, tip := f.MarkNamed("bust_point").At, f.MarkNamed("bust_dart_point").At
		a, b := edge(t, &p, "front", "bust_dart_upper").Start(), edge(t, &p, "front", "bust_dart_lower").End()
		within(t, "set back", bust.Dist(tip), setBack, 1e-6)
		off := bust.Sub(tip).AngleTo(tip.Sub(a.Lerp(b, 0.5))) * 180 / math.Pi
		within(t, "the dart's middle line, degrees off the bust point", off, 0, 12)
		if tip.Y < b.Y {
			t.Error("the bust dart points downwards")
		}
	}
}

func TestTheBackOfTrousersHasRoomToSit(t *testing.T) {
	r := rand.New(rand.NewSource(8))
	for range 60 {
		p := drafted(t, "trousers", someone(r), nil)
		front, back := edge(t, &p, "front", "centre_front"), edge(t, &p, "back", "centre_back")
		if d := back.Length() - front.Length(); d < 15 || d > 120 {
			t.Errorf("the back seam is %.0f mm longer than the front", d)
		}
		ff, _ := p.PieceNamed("front").Corner("fork")
		fb, _ := p.PieceNamed("back").Corner("fork")
		if d := ff.Y - fb.Y; d < 0 || d > 40 {
			t.Errorf("the back fork lies %.1f mm below that of the front, for the inside legs to match; 0 to 40 is usual", d)
		}
	}
}

// The notches of the side seam meet, and the hip is as wide as asked for: the back's notch lies as far along the side as
// the front's, which lies on the hip line, so that the tape slants in the back by a hair.
func TestTheHipNotchesOfTrousersMeet(t *testing.T) {
	r := rand.New(rand.NewSource(10))
	for range 100 {
		body := someone(r)
		p := drafted(t, "trousers", body, nil)
		hip := 0.0
		for _, n := range []string{"front", "back"} {
			q := p.PieceNamed(n)
			side := edge(t, &p, n, "side")
			for _, name := range []string{"side_hip", "side_knee"} {
				m := q.MarkNamed(name)
				from := m.S
				if n == "back" { // its side runs up
					from = side.Length() - m.S
				}
				f := p.PieceNamed("front").MarkNamed(name)
				within(t, name+" from the waist", from, f.S, 1e-6)
			}
			at := q.MarkNamed("side_hip").At
			level := geom.Polyline(at.Add(geom.Vec{X: -2000}), at.Add(geom.Vec{X: 2000}))
			hip += 2 * geom.Intersect(edge(t, &p, n, "centre_"+n), level, 1e-9)[0].P.Dist(at)
		}
		within(t, "hip", hip, body["hip"]+40, 2)
	}
}

func TestAWaistAsWideAsTheBustStillHasItsEdges(t *testing.T) {
	// Every size of a run has the same edges, whatever its waist: darts stay at their least, and the
	// side flares instead.
	slim := drafted(t, "bodice", size88(), nil)
	body := size88()
	body["waist"] = body["bust"]
	round := drafted(t, "bodice", body, nil)
	for i := range slim.Pieces {
		a, b := &slim.Pieces[i], &round.Pieces[i]
		if strings.Join(a.EdgeNames(), " ") != strings.Join(b.EdgeNames(), " ") {
			t.Errorf("%s has other edges", a.Name)
		}
	}
	in, out := edge(t, &round, "back", "waist_dart_in").Start(), edge(t, &round, "back", "waist_dart_out").End()
	within(t, "the least dart", in.Dist(out), leastDart, 1e-6)
	side := edge(t, &round, "back", "side")
	if side.Start().X <= side.End().X {
		t.Error("the side does not flare")
	}
}

func TestArmholesAreOfAUsualLength(t *testing.T) {
	// Armholes of close blocks measure 0.42 to 0.56 of the bust, the larger share in small sizes (common
	// practice, from memory); the
	// cap is about a quarter to two fifths of that high.
	r := rand.New(rand.NewSource(9))
	for range 100 {
		body := someone(r)
		p := drafted(t, "bodice", body, nil)
		arm := edge(t, &p, "front", "armhole").Length() + edge(t, &p, "back", "armhole").Length()
		if s := arm / body["bust"]; s < 0.42 || s > 0.56 {
			t.Errorf("an armhole of %.0f mm for a bust of %.0f", arm, body["bust"])
		}
		if s := edge(t, &p, "sleeve", "cap_front").End().Y / arm; s < 0.22 || s > 0.42 {
			t.Errorf("a cap of %.2f of the armhole", s)
		}
	}
}

// Refusals.

func TestRefusalsNamePlaceRangeAndRemedy(t *testing.T) {
	with := func(k string, v float64) map[string]float64 { b := size88(); b[k] = v; return b }
	without := func(k string) map[string]float64 { b := size88(); delete(b, k); return b }
	for _, c := range []struct {
		name    string
		spec    pattern.DraftSpec
		body    map[string]float64
		pointer string
	}{
		{"unknown draft", pattern.DraftSpec{Kind: "bodise"}, size88(), "/draft"},
		{"unknown ease", pattern.DraftSpec{Kind: "skirt", Ease: map[string]float64{"bust": 5}}, size88(), "/ease/bust"},
		{"ease out of range", pattern.DraftSpec{Kind: "skirt", Ease: map[string]float64{"hip": 4000}}, size88(), "/ease/hip"},
		{"length out of range", pattern.DraftSpec{Kind: "skirt", Lengths: map[string]float64{"skirt": 5}}, size88(), "/lengths/skirt"},
		{"ease no number", pattern.DraftSpec{Kind: "skirt", Ease: map[string]float64{"hip": math.NaN()}}, size88(), "/ease/hip"},
		{"five quarters", pattern.DraftSpec{Kind: "circle_skirt", Numbers: map[string]float64{"quarters": 5}}, size88(), "/numbers/quarters"},
		{"missing bust", pattern.DraftSpec{Kind: "bodice"}, without("bust"), "/body/bust"},
		{"bust in centimetres", pattern.DraftSpec{Kind: "bodice"}, with("bust", 88), "/body/bust"},
		{"no number", pattern.DraftSpec{Kind: "bodice"}, with("waist", math.NaN()), "/body/waist"},
		{"infinite", pattern.DraftSpec{Kind: "trousers"}, with("hip", math.Inf(1)), "/body/hip"},
		{"waist of a wasp", pattern.DraftSpec{Kind: "bodice"}, with("waist", 360), "/body/waist"},
		{"arm too strong for the armhole", pattern.DraftSpec{Kind: "bodice"}, with("upper_arm", 700), "/body/upper_arm"},
		{"scye to the waist", pattern.DraftSpec{Kind: "bodice"}, with("scye_depth", 378), "/body/nape_to_waist"},
		{"front shorter than back", pattern.DraftSpec{Kind: "bodice"}, with("front_waist", 400), "/body/front_waist"},
		{"back wider than the bust allows", pattern.DraftSpec{Kind: "bodice"}, with("back_width", 480), "/body/shoulder"},
		{"rise over the hip", pattern.DraftSpec{Kind: "trousers"}, with("body_rise", 180), "/body/body_rise"},
	} {
		p, err := Draft("88", c.spec, c.body)
		fs := pattern.FaultsOf(err)
		if len(fs) == 0 {
			t.Errorf("%s: was drafted, %d pieces", c.name, len(p.Pieces))
			continue
		}
		if f := fs[0]; f.Pointer != c.pointer || f.Rule == "" || f.Detail == "" || f.Remedy == "" {
			t.Errorf("%s: %+v, want pointer %s", c.name, f, c.pointer)
		}
	}
}

func TestEveryDefinitionIsWhole(t *testing.T) {
	for _, d := range Register() {
		if !pattern.ValidName(d.Name) || d.Sentence == "" || len(d.Measures) == 0 {
			t.Errorf("%q lacks a name, a sentence or measurements", d.Name)
		}
		for _, m := range d.Measures {
			if !pattern.ValidName(m.Name) || m.Sentence == "" || !(m.Min < m.Max) || (m.Guess == nil) != (m.Rule == "") {
				t.Errorf("%s: measurement %+v is not whole", d.Name, m.Name)
			}
		}
		for _, g := range d.options(&pattern.DraftSpec{}) {
			for _, o := range g.list {
				if !pattern.ValidName(o.Name) || o.Sentence == "" || !(o.Min <= o.Default && o.Default <= o.Max) {
					t.Errorf("%s: option %s is not whole", d.Name, o.Name)
				}
			}
		}
	}
}

func TestTheSameBodyGivesTheSameDrawing(t *testing.T) {
	for _, kind := range Names() {
		a, b := drafted(t, kind, size88(), nil), drafted(t, kind, size88(), nil)
		for i := range a.Pieces {
			for k := range a.Pieces[i].Edges {
				pa, pb := a.Pieces[i].Edges[k].Path, b.Pieces[i].Edges[k].Path
				for s := range pa {
					if pa[s] != pb[s] {
						t.Fatalf("%s differs from itself", kind)
					}
				}
			}
		}
	}
}

func FuzzDraft(f *testing.F) {
	f.Add(uint8(0), 880.0, 720.0, 960.0, 362.0, 121.5, 406.0, 212.0, 280.0, 50.0)
	f.Add(uint8(4), 1280.0, 1400.0, 1320.0, 458.0, 151.5, 442.0, 248.0, 404.0, 10.0)
	f.Fuzz(func(t *testing.T, kind uint8, bust, waist, hip, neck, shoulder, back, scye, arm, ease float64) {
		names := Names()
		body := size88()
		for k, v := range map[string]float64{"bust": bust, "waist": waist, "hip": hip, "neck": neck, "shoulder": shoulder, "nape_to_waist": back, "scye_depth": scye,
			"upper_arm": arm, "body_rise": scye + 70, "inside_leg": 2 * back, "armhole": scye * 2} {
			body[k] = v
		}
		p, err := Draft("x", pattern.DraftSpec{Kind: names[int(kind)%len(names)], Ease: map[string]float64{"waist": ease}}, body)
		if err != nil {
			for _, g := range pattern.FaultsOf(err) {
				if g.Rule == "unknown" || g.Remedy == "" || strings.Contains(g.Detail, "NaN") {
					t.Fatalf("a refusal that helps nobody: %+v", g)
				}
			}
			return
		}
		for _, pc := range p.Pieces {
			for _, e := range pc.Edges {
				for _, s := range e.Path {
					if !s.P0.Finite() || !s.P1.Finite() || !s.P2.Finite() || !s.P3.Finite() {
						t.Fatalf("%s.%s is no curve", pc.Name, e.Name)
					}
				}
			}
		}
		for _, s := range p.Seams {
			if d := sewn(t, &p, s.Sew) - sewn(t, &p, s.To); d < s.Ease.Min-0.1 || d > s.Ease.Max+0.1 {
				t.Fatalf("seam %s differs by %g", s.Name, d)
			}
		}
	})
}
