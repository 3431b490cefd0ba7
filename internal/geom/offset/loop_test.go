package offset

import (
	"errors"
	"math"
	"math/rand/v2"
	"testing"

	"sizerun/internal/geom"
)

func polygonEdges(w float64, pts ...geom.Point) []Edge {
	var out []Edge
	for i := range pts {
		out = append(out, Edge{geom.Polyline(pts[i], pts[(i+1)%len(pts)]), w})
	}
	return out
}

// quarter is a quarter of a bodice with widths as a shop would give them: hem, side, armhole, shoulder, neck, fold.
func quarter(r *rand.Rand, widths [6]float64) []Edge {
	u := func(a, b float64) float64 { return a + (b-a)*r.Float64() }
	a, b := pt(0, 0), pt(u(200, 280), u(-5, 10))
	c := pt(b.X+u(-20, 25), u(200, 280))
	d := pt(c.X-u(40, 90), c.Y+u(150, 210))
	e := pt(u(60, 85), d.Y+u(20, 50))
	f := pt(0, e.Y-u(50, 90))
	armhole := geom.Cubic(c, c.Add(geom.Vec{X: -u(40, 80), Y: u(0, 12)}), d.Add(geom.Vec{X: -u(0, 15), Y: -u(60, 110)}), d)
	neck := geom.Cubic(e, e.Add(geom.Vec{X: -u(0, 8), Y: -u(25, 45)}), f.Add(geom.Vec{X: u(25, 45)}), f)
	hem := geom.Cubic(a, pt(b.X*.35, 0), b.Add(geom.Vec{X: -b.X * .3, Y: -u(2, 9)}), b)
	return []Edge{{geom.Path{hem}, widths[0]}, {geom.Polyline(b, c), widths[1]}, {geom.Path{armhole}, widths[2]},
		{geom.Polyline(d, e), widths[3]}, {geom.Path{neck}, widths[4]}, {geom.Polyline(f, a), widths[5]}}
}

var shop = [6]float64{32, 16, 10, 16, 6, 0}

func uniform(d float64) [6]float64 { return [6]float64{d, d, d, d, d, d} }

func outline(es []Edge) geom.Path {
	var p geom.Path
	for _, e := range es {
		p = append(p, e.Path...)
	}
	return p
}

func must(t *testing.T, es []Edge, js []Joint) Result {
	t.Helper()
	r, err := Loop(es, js, 0)
	if err != nil {
		t.Fatal(err)
	}
	sound(t, r)
	return r
}

// sound checks what every result promises.
func sound(t *testing.T, r Result) {
	t.Helper()
	if len(r.Path) != len(r.Sources) {
		t.Fatalf("%d segs, %d sources", len(r.Path), len(r.Sources))
	}
	for i, s := range r.Path {
		n := r.Path[(i+1)%len(r.Path)]
		if s.P3 != n.P0 {
			t.Fatalf("open by %g after seg %d", s.P3.Dist(n.P0), i)
		}
		if !s.P0.Finite() || !s.P1.Finite() || !s.P2.Finite() || !s.P3.Finite() {
			t.Fatalf("seg %d is not finite", i)
		}
		if src := r.Sources[i]; (src.Edge < 0) == (src.Corner < 0) {
			t.Fatalf("seg %d comes from %+v", i, src)
		}
	}
	if !(r.Path.Area() > 0) {
		t.Fatalf("area %g", r.Path.Area())
	}
}

func TestMitredRectangleIsALargerRectangle(t *testing.T) {
	rect := func(d float64) []Edge { return box(d, d, d, d) }
	for _, d := range []float64{10, 0.5, 1e-3, -10, -29.9} {
		r := must(t, rect(d), nil)
		if want := (100 + 2*d) * (60 + 2*d); len(r.Path) != 4 || math.Abs(r.Path.Area()-want) > 1e-8 {
			t.Errorf("at %g: %d sides, area %.9f, want %.9f", d, len(r.Path), r.Path.Area(), want)
		}
	}
	for _, d := range []float64{-30.1, -49, -60, -500} {
		if _, err := Loop(rect(d), nil, 0); !errors.Is(err, ErrVanished) {
			t.Errorf("at %g: %v, want ErrVanished", d, err)
		}
	}
}

// Steiner's formula with mitred corners: A + P d + d² Σ tan(θ/2) over the turns of a convex outline.
func TestMitredAreaIsSteinersFormula(t *testing.T) {
	r := rand.New(rand.NewPCG(3, 4))
	for range 200 {
		n := 3 + r.IntN(9)
		var pts []geom.Point
		for i := range n {
			a := (float64(i) + 0.6*r.Float64()) * 2 * math.Pi / float64(n)
			pts = append(pts, pt(200*math.Cos(a)+300, 140*math.Sin(a)-90))
		}
		d := 1 + 15*r.Float64()
		es := polygonEdges(d, pts...)
		src := outline(es)
		want := src.Area() + src.Length()*d
		js := make([]Joint, n)
		for i := range n {
			js[i].Limit = 1e4
			th := src[i].Tangent(1).AngleTo(src[(i+1)%n].Tangent(0))
			want += d * d * math.Tan(th/2)
		}
		if got := must(t, es, js).Path.Area(); math.Abs(got-want) > 1e-7*want {
			t.Fatalf("%d corners at %g: area %.6f, want %.6f", n, d, got, want)
		}
	}
}

// The same on a curved convex outline: a smooth outline has no corners, and every turn counts θ/2·2 = Δθ.
func TestSmoothOutlineGrowsByItsTurn(t *testing.T) {
	const k = 0.5522847498
	a, b := 150.0, 90.0
	q := []geom.Seg{
		geom.Cubic(pt(a, 0), pt(a, k*b), pt(k*a, b), pt(0, b)), geom.Cubic(pt(0, b), pt(-k*a, b), pt(-a, k*b), pt(-a, 0)),
		geom.Cubic(pt(-a, 0), pt(-a, -k*b), pt(-k*a, -b), pt(0, -b)), geom.Cubic(pt(0, -b), pt(k*a, -b), pt(a, -k*b), pt(a, 0)),
	}
	for _, d := range []float64{5, 16, 40, -10, -30} {
		r := must(t, []Edge{{geom.Path(q), d}}, nil)
		src := geom.Path(q)
		wantL := src.Length() + 2*math.Pi*d
		wantA := src.Area() + src.Length()*d + math.Pi*d*d
		if l := r.Path.Length(); math.Abs(l-wantL) > 0.02 {
			t.Errorf("at %g: length %.4f, want %.4f", d, l, wantL)
		}
		if got := r.Path.Area(); math.Abs(got-wantA) > 0.005*src.Length() {
			t.Errorf("at %g: area %.3f, want %.3f", d, got, wantA)
		}
	}
}

func TestEveryStretchLiesAtTheWidthOfItsEdge(t *testing.T) {
	r := rand.New(rand.NewPCG(5, 6))
	worst, segsN, n := 0.0, 0, 0
	for range 80 {
		for _, w := range [][6]float64{shop, uniform(6), uniform(16), uniform(32), uniform(-6), uniform(-16), uniform(-40)} {
			es := quarter(r, w)
			res := must(t, es, nil)
			if x := res.Path.SelfCrossings(true, 1e-6); len(x) > 0 {
				t.Fatalf("widths %v: the cut line crosses itself at %v", w, x[0].P)
			}
			n++
			segsN += len(res.Path)
			for i, s := range res.Path {
				src := res.Sources[i]
				if src.Edge < 0 {
					continue
				}
				e := es[src.Edge]
				l := e.Path.Length()
				// Where the parallel was run on straight, it lies at its width from the edge run on likewise.
				p := append(geom.Polyline(e.Path.Start().Add(e.Path.StartTangent().Mul(-300)), e.Path.Start()), e.Path...)
				p = append(p, geom.Line(e.Path.End(), e.Path.End().Add(e.Path.EndTangent().Mul(300))))
				if src.S0 > -1e-9 && src.S1 < l+1e-9 {
					p = e.Path
				}
				pts := dense(p, 400)
				for k := 1; k < 12; k++ {
					worst = math.Max(worst, math.Abs(gap(s.At(float64(k)/12), pts)-math.Abs(e.Width)))
				}
			}
		}
	}
	t.Logf("%d pieces, %.1f segs each, worst distance error %.4f mm", n, float64(segsN)/float64(n), worst)
	if worst > 1.5*DefaultTol {
		t.Errorf("a stretch lies %.4f mm off its width", worst)
	}
}

func TestResultDoesNotDependOnWhereTheOutlineBeginsOrLies(t *testing.T) {
	r := rand.New(rand.NewPCG(7, 8))
	for range 60 {
		for _, w := range [][6]float64{shop, uniform(16), uniform(-20)} {
			es := quarter(r, w)
			base := must(t, es, nil)
			m := geom.RotateAbout(pt(40, -20), r.Float64()*6).Then(geom.Translate(geom.Vec{X: 900 * r.Float64(), Y: -700 * r.Float64()}))
			k := 1 + r.IntN(5)
			var moved []Edge
			for i := range es {
				e := es[(i+k)%len(es)]
				moved = append(moved, Edge{e.Path.Transform(m), e.Width})
			}
			got := must(t, moved, nil)
			if d := math.Abs(got.Path.Area() - base.Path.Area()); d > 1e-4 {
				t.Fatalf("widths %v: area differs by %g", w, d)
			}
			if d := math.Abs(got.Path.Length() - base.Path.Length()); d > 1e-5 {
				t.Fatalf("widths %v: length differs by %g", w, d)
			}
			for i, s := range base.Path {
				want := m.Apply(s.P0)
				best := math.Inf(1)
				for _, g := range got.Path {
					best = math.Min(best, g.P0.Dist(want))
				}
				if best > 1e-6 {
					t.Fatalf("widths %v: joint %d has no counterpart within %g", w, i, best)
				}
			}
		}
	}
}

func TestFoldKeepsItsLine(t *testing.T) {
	r := rand.New(rand.NewPCG(9, 10))
	for range 100 {
		es := quarter(r, shop)
		res := must(t, es, nil)
		for i, s := range res.Path {
			if res.Sources[i].Edge == 5 && (math.Abs(s.P0.X) > 1e-9 || math.Abs(s.P3.X) > 1e-9) {
				t.Fatalf("the fold moved: %v", s)
			}
		}
	}
}

func TestSharpCornerIsCutOffAtTheLimit(t *testing.T) {
	// A point of ten degrees: the mitre would reach 11.5 widths.
	es := polygonEdges(10, pt(0, 0), pt(300, -26.25), pt(300, 26.25))
	res := must(t, es, []Joint{{}, {}, {Limit: 3}})
	if res.Made[2] != Bevel {
		t.Fatalf("made %v, want a bevel", res.Made)
	}
	far := 0.0
	for _, s := range res.Path {
		far = math.Max(far, -s.P0.X)
	}
	if math.Abs(far-30) > 1e-9 {
		t.Errorf("the corner reaches %g, want 30", far)
	}
}

func TestUnequalWidthsMeetWhereBothLinesAre(t *testing.T) {
	// Interior angle 120 degrees, widths 6 and 32: the narrow line runs on and cuts the wide one short.
	u := geom.Vec{X: 1}
	v := u.Rotate(math.Pi / 3)
	a := pt(-200, 0)
	c := pt(0, 0).Add(v.Mul(200))
	es := []Edge{{geom.Polyline(a, pt(0, 0)), 6}, {geom.Polyline(pt(0, 0), c), 32}, {geom.Polyline(c, pt(-200, 200)), 6}, {geom.Polyline(pt(-200, 200), a), 6}}
	res := must(t, es, nil)
	s := (32 - 6*math.Cos(math.Pi/3)) / math.Sin(math.Pi/3)
	want := pt(s, -6)
	best := math.Inf(1)
	for _, g := range res.Path {
		best = math.Min(best, g.P3.Dist(want))
	}
	if best > 1e-9 {
		t.Errorf("no corner at %v (nearest %g): %v", want, best, res.Path)
	}
	if len(res.Path) != 4 {
		t.Errorf("%d sides, want 4", len(res.Path))
	}
}

func TestHollowCornerKeepsBothWidths(t *testing.T) {
	// A hollow corner (interior 240 degrees) with unequal widths: the wide line is run back.
	es := polygonEdges(6, pt(0, 0), pt(100, 0), pt(150, -86.6025), pt(150, 150), pt(0, 150))
	es[1].Width = 32
	res := must(t, es, nil)
	for i, s := range res.Path {
		src := res.Sources[i]
		if src.Edge < 0 {
			t.Errorf("a corner piece is left: %+v %v", src, s)
		}
	}
	if len(res.Path) != 5 {
		t.Errorf("%d sides, want 5", len(res.Path))
	}
	// A strip so deep that the run back would be a spike ends square at the corner.
	es[1].Width = 60
	es[0].Width = 1
	must(t, es, []Joint{{Limit: 1}})
}

func TestPieceThatIsNarrowInTheMiddleFallsApartInside(t *testing.T) {
	es := polygonEdges(-8, pt(0, 0), pt(100, 40), pt(200, 0), pt(200, 100), pt(100, 52), pt(0, 100))
	if _, err := Loop(es, nil, 0); !errors.Is(err, ErrFallsApart) {
		t.Errorf("%v, want ErrFallsApart", err)
	}
}

func TestGapThatClosesIsTold(t *testing.T) {
	// A keyhole: the strips on both sides of the slit meet before its end does.
	es := polygonEdges(8, pt(0, 0), pt(300, 0), pt(300, 200), pt(155, 200), pt(155, 140), pt(180, 80), pt(120, 80), pt(145, 140), pt(145, 200), pt(0, 200))
	if _, err := Loop(es, nil, 0); !errors.Is(err, ErrHole) {
		t.Errorf("%v, want ErrHole", err)
	}
}

func TestTightHollowIsTrimmedNotLooped(t *testing.T) {
	// A scoop of radius 8 with a width of 10: the cut line comes to a corner, ten away from both flanks.
	const k = 0.5522847498
	scoop := geom.Path{
		geom.Line(pt(200, 100), pt(108, 100)),
		geom.Cubic(pt(108, 100), pt(108, 100-8*k), pt(100+8*k, 92), pt(100, 92)),
		geom.Cubic(pt(100, 92), pt(100-8*k, 92), pt(92, 100-8*k), pt(92, 100)),
		geom.Line(pt(92, 100), pt(0, 100)),
	}
	es := append(polygonEdges(10, pt(0, 100), pt(0, 0), pt(200, 0), pt(200, 100))[:3], Edge{scoop, 10})
	res := must(t, es, nil)
	if x := res.Path.SelfCrossings(true, 1e-6); len(x) > 0 {
		t.Errorf("crosses itself at %v", x)
	}
	src := dense(outline(es), 300)
	for _, q := range dense(res.Path, 20) {
		if g := gap(q, src); g < 10-0.02 {
			t.Fatalf("a point of the cut line is only %.3f away", g)
		}
	}
}
