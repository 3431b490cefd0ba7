package allowance

import (
	"math"
	"strings"
	"testing"

	"sizerun/internal/geom"
	"sizerun/internal/pattern"
)

func TestWidthIsTakenFromTheNearestVoice(t *testing.T) {
	p := sleeve(10, 0)
	own := pattern.Allowance{Width: 7}
	p.Edges[1].Own, p.Edges[2].Own, p.Edges[3].Own = &own, &own, &own
	p.Edges[4].Fold = true
	a := pattern.Allowances{Default: width(15.9), Edges: map[string]pattern.Allowance{
		"*.cap_front": width(10), "*.cap_back": width(10), "sleeve.cap_back": width(6), "other.hem": width(99), "*.underarm_back": width(12),
	}}
	got, err := Resolve(a, p)
	if err != nil {
		t.Fatal(err)
	}
	for e, want := range map[string]float64{"hem": 15.9, "underarm_front": 7, "cap_front": 10, "cap_back": 6, "underarm_back": 0} {
		if got[e].Width != want {
			t.Errorf("%s: %g, want %g", e, got[e].Width, want)
		}
	}
}

func TestWidthsThatCannotBeAreRefused(t *testing.T) {
	for rule, a := range map[string]pattern.Allowances{
		"unknown_edge":      {Default: width(10), Edges: map[string]pattern.Allowance{"skirt.hemm": width(10)}},
		"allowance_on_fold": {Default: width(10), Edges: map[string]pattern.Allowance{"skirt.centre": width(10)}},
		"out_of_range":      {Default: width(math.NaN())},
		"unknown_corner":    {Default: pattern.Allowance{Width: 5, End: "curly"}},
	} {
		_, err := Resolve(a, skirt("leg_side"))
		fs := pattern.FaultsOf(err)
		if len(fs) == 0 || fs[0].Rule != rule || fs[0].Remedy == "" || fs[0].Detail == "" {
			t.Errorf("%s: %v", rule, err)
		}
	}
	for _, w := range []float64{-1, math.Inf(1), math.NaN(), 301} {
		if _, err := Make("14", sleeve(10, 0), pattern.Allowances{Default: width(w)}); err == nil {
			t.Errorf("a width of %g was accepted", w)
		}
	}
}

// fold reflects a path about the hem of an uncurved sleeve.
func hemFold() geom.Affine { return geom.MirrorAbout(pt(0, -95), geom.Vec{X: 1}) }

// on is how far the path strays from the line.
func on(p, line geom.Path) float64 {
	worst, l := 0.0, p.Length()
	for i := 0; i <= 20; i++ {
		_, d := line.Project(p.PointAt(l * float64(i) / 20))
		worst = math.Max(worst, d)
	}
	return worst
}

func TestHemReturnFoldedBackLiesOnTheCutLine(t *testing.T) {
	for _, taper := range []float64{0, 12, 35, -12, -30} {
		p := sleeve(taper, 0)
		a := pattern.Allowances{Default: width(15.9), Edges: map[string]pattern.Allowance{"*.hem": {Width: 30, Turned: 1}}}
		out := make1(t, p, a)
		for corner, side := range map[string]string{"hem_front": "underarm_front", "hem_back": "underarm_back"} {
			ret := out.stretch("", corner)
			if taper != 0 && ret == nil {
				t.Fatalf("taper %g: no return at %s", taper, corner)
			}
			if ret == nil {
				continue
			}
			if d := on(ret.Transform(hemFold()), out.stretch(side, "")); d > 1e-9 {
				t.Errorf("taper %g: the return at %s lies %g off %s when folded", taper, corner, d, side)
			}
			b := ret.Bounds()
			if math.Abs(b.H()-30) > 1e-9 {
				t.Errorf("taper %g: the return at %s is %g deep", taper, corner, b.H())
			}
		}
		if out.Allow["hem"].Start != pattern.HemReturn || out.Allow["hem"].End != pattern.HemReturn {
			t.Errorf("taper %g: the hem's corners were made as %+v", taper, out.Allow["hem"])
		}
	}
}

func TestReturnOfAHemTurnedTwiceFoldsOntoItselfTwice(t *testing.T) {
	p := sleeve(20, 0)
	a := pattern.Allowances{Default: width(15.9), Edges: map[string]pattern.Allowance{"*.hem": {Width: 12.7, Turned: 2}}}
	out := make1(t, p, a)
	ret := out.stretch("", "hem_front")
	// First turn about the middle of the hem, then about its fold: both halves lie on the side's cut line.
	first := geom.MirrorAbout(pt(0, -95-6.35), geom.Vec{X: 1})
	side := out.stretch("underarm_front", "")
	l := ret.Length()
	for i := 0; i <= 20; i++ {
		q := ret.PointAt(l * float64(i) / 20)
		if q.Y < -95-6.35 {
			q = first.Apply(q)
		}
		q = hemFold().Apply(q)
		if _, d := side.Project(q); d > 1e-9 {
			t.Fatalf("%v lies %g off", q, d)
		}
	}
}

func TestCurvedHemTellsWhatItsReturnMisses(t *testing.T) {
	// Flared so much that the return leans over the curve of the hem.
	p := sleeve(-60, 14)
	a := pattern.Allowances{Default: width(6), Edges: map[string]pattern.Allowance{"*.hem": {Width: 25, Turned: 1}}}
	out := make1(t, p, a)
	r, ok := out.Residues["hem_front"]
	if !ok || r <= 0 || r > 2 {
		t.Errorf("residue %g %v", r, ok)
	}
	if ret := out.stretch("", "hem_front"); ret == nil {
		t.Error("no return")
	}
	t.Logf("residue of the return on a hem that sags 14 mm: %.3f mm", r)
}

func TestAskedMitreReplacesTheReturn(t *testing.T) {
	p := sleeve(20, 0)
	a := pattern.Allowances{Default: width(15.9), Edges: map[string]pattern.Allowance{"*.hem": {Width: 30, Turned: 1, Start: pattern.Mitre, End: pattern.Mitre}}}
	out := make1(t, p, a)
	if r := out.stretch("", "hem_front"); r != nil {
		t.Errorf("a return was made: %v", r)
	}
}

func TestSquareEndIsSquareToTheSeamSewnFirst(t *testing.T) {
	p := sleeve(20, 0)
	a := pattern.Allowances{Default: width(15.9), Edges: map[string]pattern.Allowance{"*.underarm_front": {Width: 15.9, End: pattern.SquareEnd}, "*.underarm_back": {Width: 15.9, Start: pattern.SquareEnd}}}
	out := make1(t, p, a)
	for corner, e := range map[string]string{"underarm_front": "underarm_front", "underarm_back": "underarm_back"} {
		end := out.stretch("", corner)
		if end == nil {
			t.Fatalf("no square end at %s", corner)
		}
		seam := p.Edges[p.EdgeNamed(e)].Path
		if d := math.Abs(end.StartTangent().Dot(seam.StartTangent())); d > 1e-12 {
			t.Errorf("%s: the end is %g off square", corner, d)
		}
		if l := end.Length(); math.Abs(l-15.9) > 1e-9 {
			t.Errorf("%s: the end is %g long", corner, l)
		}
	}
	// Pressed open, the strip's end meets the neighbour's cut line on the seam line.
	end := out.stretch("", "underarm_front")
	q := end.End()
	if d := p.Edges[1].Path.EndTangent().Cross(q.Sub(p.Edges[1].Path.End())); math.Abs(d) > 1e-9 {
		t.Errorf("the end meets the seam line %g off", d)
	}
}

func TestDartMouthIsCutAsTheFoldedDartLies(t *testing.T) {
	for _, towards := range []string{"leg_side", "leg_centre"} {
		p := skirt(towards)
		out := make1(t, p, pattern.Allowances{Default: width(15), Edges: map[string]pattern.Allowance{"*.hem": {Width: 40, Turned: 1}}})
		roof := out.stretch("", "mouth_side")
		if roof == nil {
			t.Fatalf("towards %s: no roof", towards)
		}
		// Fold it: what lies on the ruling leg's half is mirrored in that leg, the rest turned about the point.
		m1, m2, tip := pt(125, 600), pt(100, 600), pt(112, 470)
		leg, far, rule := m1.Sub(tip), m2.Sub(tip), "waist_side"
		if towards == "leg_centre" {
			leg, far, rule = far, leg, "waist_centre"
		}
		angle := leg.AngleTo(far)
		// The seam's own cut line, run on past the mouth.
		cut := out.stretch(rule, "")
		l := roof.Length()
		peak := 0.0
		for i := 0; i <= 40; i++ {
			q := roof.PointAt(l * float64(i) / 40)
			a := leg.AngleTo(q.Sub(tip))
			var f geom.Point
			switch {
			case math.Abs(a) <= math.Abs(angle)/2+1e-9:
				f = geom.MirrorAbout(tip, leg).Apply(q)
			default:
				f = geom.RotateAbout(tip, -angle).Apply(q)
			}
			peak = math.Max(peak, q.Sub(tip).Len())
			if _, d := cut.Project(f); d > 1e-9 {
				// The last stretch, along the far leg, levels what the legs leave untrue.
				if math.Abs(a-angle) > 1e-9 {
					t.Errorf("towards %s: %v folded lies %g off the cut line", towards, q, d)
				}
			}
		}
		for _, s := range out.Stretches {
			if s.Corner == "mouth_side" && s.Dart != "waist" {
				t.Errorf("the roof does not name its dart: %+v", s)
			}
			if strings.HasPrefix(s.Edge, "leg") {
				t.Errorf("a dart leg has a cut line: %+v", s)
			}
		}
	}
}

func TestNotchIsCarriedSquareToTheCutLine(t *testing.T) {
	p := sleeve(15, 0)
	out := make1(t, p, pattern.Allowances{Default: width(15.9)})
	by := map[string][]NotchLine{}
	for _, n := range out.Notches {
		by[n.Name] = append(by[n.Name], n)
	}
	if len(by["front_notch"]) != 1 || len(by["back_notch"]) != 2 {
		t.Fatalf("%d and %d strokes, want 1 and 2", len(by["front_notch"]), len(by["back_notch"]))
	}
	n := by["front_notch"][0]
	seam := p.Edges[2].Path
	at, nv := seam.PointAt(84), seam.TangentAt(84).Right()
	if d := n.Cut.Sub(at); math.Abs(d.Len()-15.9) > 0.02 || math.Abs(d.Cross(nv)) > 1e-9 {
		t.Errorf("the notch crosses the cut line at %v, %g from the seam", n.Cut, d.Len())
	}
	if _, d := out.Cut.Project(n.Cut); d > 1e-6 {
		t.Errorf("the notch is %g off the cut line", d)
	}
	if in, outw := n.To.Sub(n.Cut).Dot(nv), n.From.Sub(n.Cut).Dot(nv); in >= 0 || -in > 15.9/2 || outw <= 0 {
		t.Errorf("the stroke runs from %g to %g", outw, in)
	}
	two := by["back_notch"]
	s0, _ := p.Edges[3].Path.Project(two[0].Cut)
	s1, _ := p.Edges[3].Path.Project(two[1].Cut)
	if math.Abs(s1-s0-8) > 1e-3 || math.Abs((s0+s1)/2-120) > 1e-3 {
		t.Errorf("the double notch stands at %g and %g of the seam, want 116 and 124", s0, s1)
	}
}

func TestMatchSquareLiesInsideTheCutEdge(t *testing.T) {
	p := sleeve(15, 0)
	for _, w := range []float64{0, 6, 15.9, 20} {
		out := make1(t, p, pattern.Allowances{Default: width(25), Edges: map[string]pattern.Allowance{"*.cap_front": width(w)}})
		if len(out.Squares) != 1 || out.Squares[0].Match != "a" {
			t.Fatalf("%+v", out.Squares)
		}
		if _, d := out.stretch("cap_front", "").Project(out.Squares[0].At); math.Abs(d-15.9) > 0.02 {
			t.Errorf("allowance %g: the square lies %g inside the cut edge, want 15.9", w, d)
		}
	}
}

func TestWhatCannotBeCutIsRefusedWithEdgeSizeAndRemedy(t *testing.T) {
	scoop := sleeve(10, 0)
	// A scoop of radius about 6 in the hem.
	hb, hf := scoop.Edges[0].Path.Start(), scoop.Edges[0].Path.End()
	const k = 0.5522847498
	c, r := pt(0, -95), 6.0
	scoop.Edges[0].Path = geom.Path{geom.Line(hb, pt(-40, -95)),
		geom.Cubic(pt(-40, -95), pt(-20, -95), pt(c.X-r-4, -93), pt(c.X-r, -89)),
		geom.Cubic(pt(c.X-r, -89), pt(c.X-r, -89+r*k), pt(c.X-r*k, -89+r), pt(c.X, -89+r)),
		geom.Cubic(pt(c.X, -89+r), pt(c.X+r*k, -89+r), pt(c.X+r, -89+r*k), pt(c.X+r, -89)),
		geom.Cubic(pt(c.X+r, -89), pt(c.X+r+4, -93), pt(20, -95), pt(40, -95)), geom.Line(pt(40, -95), hf)}
	slit := sleeve(10, 0)
	slit.Edges[0].Path = geom.Polyline(hb, pt(-3, -95), pt(-3, -60), pt(-20, -40), pt(20, -40), pt(3, -60), pt(3, -95), hf)
	cross := sleeve(10, 0)
	cross.Edges[0].Path = geom.Polyline(hb, pt(60, 60), pt(-60, 60), hf)
	back := sleeve(10, 0)
	back.Edges[0].Path = geom.Polyline(hb, pt(50, -95), pt(-20, -95.0001), hf)
	cw := sleeve(10, 0)
	for i, j := 0, len(cw.Edges)-1; i < j; i, j = i+1, j-1 {
		cw.Edges[i], cw.Edges[j] = cw.Edges[j], cw.Edges[i]
	}
	for i := range cw.Edges {
		cw.Edges[i].Path = cw.Edges[i].Path.Reverse()
	}
	nan := sleeve(10, 0)
	nan.Edges[0].Path = geom.Path{geom.Cubic(hb, pt(math.NaN(), 0), pt(0, 0), hf)}
	dart := skirt("hem")
	for name, c := range map[string]struct {
		p    *pattern.Piece
		w    float64
		hem  pattern.Allowance
		rule string
	}{
		"tight scoop, hem": {scoop, 10, pattern.Allowance{Width: 10, Turned: 1}, "tight_curve"},
		"tight scoop":      {scoop, 10, width(30), "tight_curve"},
		"keyhole slit":     {slit, 10, width(8), "allowances_meet"},
		"crossed":          {cross, 10, width(10), "self_crossing"},
		"turned back":      {back, 10, width(10), "cusp"},
		"clockwise":        {cw, 10, width(10), "outline"},
		"not a number":     {nan, 10, width(10), "outline"},
		"towards nothing":  {dart, 10, width(10), "dart_towards"},
	} {
		_, err := Make("14", c.p, pattern.Allowances{Default: width(c.w), Edges: map[string]pattern.Allowance{"*.hem": c.hem}})
		fs := pattern.FaultsOf(err)
		if len(fs) == 0 {
			t.Errorf("%s: accepted", name)
			continue
		}
		if f := fs[0]; f.Rule != c.rule || f.Size != "14" || f.Remedy == "" || f.Piece == "" {
			t.Errorf("%s: %+v", name, f)
		}
	}
}

func TestHemReturnsAlongTheFold(t *testing.T) {
	out := make1(t, skirt("leg_side"), pattern.Allowances{Default: width(15), Edges: map[string]pattern.Allowance{"*.hem": {Width: 40, Turned: 1}}})
	b := out.Cut.Bounds()
	if math.Abs(b.Min.X) > 1e-9 || math.Abs(b.Min.Y+40) > 1e-9 {
		t.Errorf("the hem ends at %v, want (0, -40) on the fold's line", b.Min)
	}
}

func TestCutLineDoesNotDependOnHowThePieceLies(t *testing.T) {
	a := pattern.Allowances{Default: width(15.9), Edges: map[string]pattern.Allowance{"*.hem": {Width: 30, Turned: 1}, "*.waist_side": width(10), "*.cap_back": {Width: 12, End: pattern.SquareEnd}}}
	for _, p := range []*pattern.Piece{sleeve(22, 7), skirt("leg_centre"), skirt("leg_side")} {
		base := make1(t, p, a)
		for k := 1; k < len(p.Edges); k++ {
			m := geom.RotateAbout(pt(30, 70), float64(k)).Then(geom.Translate(geom.Vec{X: 400, Y: -900}))
			q := p.Clone()
			for i := range q.Edges {
				q.Edges[i] = p.Edges[(i+k)%len(p.Edges)]
				q.Edges[i].Path = q.Edges[i].Path.Transform(m)
			}
			for i := range q.Marks {
				q.Marks[i].At = m.Apply(q.Marks[i].At)
			}
			out := make1(t, &q, a)
			if d := math.Abs(out.Cut.Area() - base.Cut.Area()); d > 1e-3 {
				t.Errorf("%s, begun at edge %d: area differs by %g", p.Name, k, d)
			}
			if d := on(base.Cut.Transform(m), out.Cut); d > 1e-6 {
				t.Errorf("%s, begun at edge %d: the cut line lies %g off", p.Name, k, d)
			}
			for i, n := range base.Notches {
				if d := m.Apply(n.Cut).Dist(out.Notches[i].Cut); d > 1e-6 {
					t.Errorf("%s, begun at edge %d: notch %s lies %g off", p.Name, k, n.Name, d)
				}
			}
		}
	}
}
