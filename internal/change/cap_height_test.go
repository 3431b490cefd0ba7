package change_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"sizerun/internal/change"
	"sizerun/internal/geom"
	"sizerun/internal/inspect"
	"sizerun/internal/pattern"
	"sizerun/internal/testkit/blouse"
)

// straightCap is the blouse with the two halves of its cap drawn as straight lines.
func straightCap(p pattern.Pattern) pattern.Pattern {
	p = p.Clone()
	s := p.PieceNamed("sleeve")
	for _, n := range []string{"cap_front", "cap_back"} {
		e := &s.Edges[s.EdgeNamed(n)]
		e.Path = geom.Polyline(e.Path.Start(), e.Path.End())
		e.Src.S1 = e.Path.Length()
	}
	for i := range s.Marks {
		m := &s.Marks[i]
		e := s.Edges[s.EdgeNamed(m.Edge)].Path
		m.S = math.Min(m.S, e.Length()-20)
		if m.Name == "crown" {
			m.S = 0
		}
		m.At = e.PointAt(m.S)
	}
	return p
}

// Pythagoras: a straight half of length l under a cap of height h is √(l² − h²) wide.
func TestAStraightCapObeysPythagoras(t *testing.T) {
	for _, by := range []float64{25, 8, 1, -6, -30, -60} {
		for _, p := range blouse.Run() {
			p = straightCap(p)
			r := apply(t, p, "cap_height", "by", by)
			passes(t, r)
			was, is := p.PieceNamed("sleeve"), r.Pattern.PieceNamed("sleeve")
			crown, _ := was.Corner("crown")
			for _, n := range []string{"underarm_front", "underarm_back"} {
				a, _ := was.Corner(n)
				b, _ := is.Corner(n)
				l := a.Dist(crown)
				want := math.Sqrt(l*l - (crown.Y+by)*(crown.Y+by))
				if got := math.Abs(b.X - crown.X); math.Abs(got-want) > 1e-6 {
					t.Errorf("size %s, crown raised by %g: %s lies %.6f mm from the middle, not %.6f", p.Size, by, n, got, want)
				}
				if b.Y != a.Y {
					t.Errorf("size %s: %s has left the biceps line", p.Size, n)
				}
			}
			if c, _ := is.Corner("crown"); c.Dist(crown.Add(geom.Vec{Y: by})) > 1e-9 {
				t.Errorf("size %s: the crown lies at %v", p.Size, c)
			}
		}
	}
}

func TestACapOfAnotherHeightKeepsItsEaseInEverySize(t *testing.T) {
	for _, args := range [][]any{{"by", 15}, {"by", -20}, {"by", -12, "hem_width", "kept"}, {"by", 10, "hem_width", "kept"}} {
		var sizes []inspect.Sized
		for _, p := range blouse.Run() {
			r := apply(t, p, "cap_height", args...)
			passes(t, r)
			for _, s := range []string{"armhole_front", "armhole_back", "underarm"} {
				if a, b := easeBySteps(&p, s), easeBySteps(&r.Pattern, s); math.Abs(a-b) > 0.01 {
					t.Errorf("%v size %s: seam %s has %.4f mm of ease, and had %.4f", args, p.Size, s, b, a)
				}
			}
			_, h0, m0 := capFrame(&p)
			w1, h1, m1 := capFrame(&r.Pattern)
			if by := kv(args, "by").(int); math.Abs(h1-h0-float64(by)) > 1e-6 {
				t.Errorf("%v size %s: raised by %.5f mm", args, p.Size, h1-h0)
			}
			if kept := kv(args, "hem_width") != nil; kept && math.Abs(m1-m0) > 1e-6 {
				t.Errorf("%v size %s: the hem gains %.5f mm", args, p.Size, m1-m0)
			}
			// A curve bends more than its chord is long, so Pythagoras on the chords is a bound from outside.
			was := p.PieceNamed("sleeve")
			chord := 0.0
			for _, n := range []string{"cap_front", "cap_back"} {
				e := was.Edges[was.EdgeNamed(n)].Path
				chord += math.Sqrt(math.Pow(e.Length(), 2) - h1*h1)
			}
			if w1 > chord {
				t.Errorf("%v size %s: %.2f mm wide, and %.2f if it were straight", args, p.Size, w1, chord)
			}
			sizes = append(sizes, sized(t, r))
		}
		inspected(t, sizes)
	}
}

func TestACapIsBroughtToAStatedHeight(t *testing.T) {
	for _, p := range blouse.Run() {
		r := apply(t, p, "cap_height", "to", 120)
		passes(t, r)
		if _, h, _ := capFrame(&r.Pattern); math.Abs(h-120) > 1e-6 {
			t.Errorf("size %s: %.4f mm high", p.Size, h)
		}
	}
}

// What lies inside goes with the cloth: inside still, and where nothing moved, where it was.
func TestWhatLiesOnASleeveGoesWithItsCap(t *testing.T) {
	p := blouse.Make(blouse.Base())
	s := p.PieceNamed("sleeve")
	s.Marks = append(s.Marks, pattern.Mark{Kind: pattern.Dot, Name: "badge", At: geom.Pt(40, 90)}, pattern.Mark{Kind: pattern.Dot, Name: "low", At: geom.Pt(0, -60)},
		pattern.Mark{Kind: pattern.Notch, Name: "slit", Count: 1, Edge: "hem", S: 100, At: s.Edges[0].Path.PointAt(100)})
	s.Lines = append(s.Lines, pattern.InnerLine{Name: "stripe", Path: geom.Polyline(geom.Pt(-150, -10), geom.Pt(150, -10))})
	r := apply(t, p, "cap_height", "by", -20)
	passes(t, r)
	q := r.Pattern.PieceNamed("sleeve")
	out := q.Outline()
	for _, n := range []string{"badge", "low"} {
		if m := q.MarkNamed(n); m == nil || !out.Contains(m.At) {
			t.Errorf("%s: %+v", n, m)
		}
	}
	if b := q.MarkNamed("badge").At; b.Y > 85 || b.Y < 70 {
		t.Errorf("the badge lies at %v", b)
	}
	if m := q.MarkNamed("slit"); math.Abs(m.S/lengthOf(q, "hem")-100/lengthOf(s, "hem")) > 1e-9 {
		t.Errorf("the slit lies after %.2f mm of %.2f", m.S, lengthOf(q, "hem"))
	}
	w0, _, _ := capFrame(&p)
	w1, _, _ := capFrame(&r.Pattern)
	if l := lineNamed(q, "stripe").Length(); math.Abs(l-300-(w1-w0)*300/w0) > 2 {
		t.Errorf("the stripe is %.2f mm long; the sleeve has grown by %.2f", l, w1-w0)
	}
}

func TestRaisingAndLoweringACapGivesItBackOnAnySoundDraft(t *testing.T) {
	made := 0
	sleeves(t, 72, 80, func(r *rand.Rand, d blouse.Draft, p pattern.Pattern) {
		by := -40 + 65*r.Float64()
		args := []any{"by", by}
		if r.IntN(2) == 0 {
			args = append(args, "hem_width", "kept")
		}
		x, err := bind(t, "cap_height", args...).Apply(p)
		if err != nil {
			if f := pattern.FaultsOf(err)[0]; f.Pointer != "/by" && f.Pointer != "/hem_width" {
				t.Errorf("%+v %v: %v", d, args, err)
			}
			return
		}
		made++
		passes(t, x)
		sew(t, x.Pattern, d)
		args[1] = -by
		y := apply(t, x.Pattern, "cap_height", args...)
		passes(t, y)
		a, b := p.PieceNamed("sleeve"), y.Pattern.PieceNamed("sleeve")
		for _, c := range []string{"crown", "underarm_front", "underarm_back"} {
			q, _ := a.Corner(c)
			z, _ := b.Corner(c)
			if q.Dist(z) > 0.2 {
				t.Errorf("%v: %s comes back %.3f mm off", args, c, q.Dist(z))
			}
		}
		for _, m := range a.Marks {
			if n := b.MarkNamed(m.Name); n == nil || math.Abs(n.S-m.S) > 0.01 {
				t.Errorf("%v: %s comes back at %+v", args, m.Name, n)
			}
		}
	})
	if made < 60 {
		t.Errorf("only %d made", made)
	}
}

func TestCapHeightSaysWhatItCannotDo(t *testing.T) {
	refuses(t, "cap_height", []refusal{
		{"no such piece", "unknown_piece", "/piece", "slev", []any{"piece", "slev", "by", 10}},
		{"no such crown", "unknown_point", "/crown", "top", []any{"by", 10, "crown", "top"}},
		{"a hem as the cap", "no_cap", "/cap", "hem", []any{"by", 10, "cap", "hem"}},
		{"a sewn side as the hem", "edge_sewn", "/hem", "underarm_front", []any{"by", -40, "hem", "underarm_front"}},
		{"higher than the curve is long", "out_of_range", "/by", "of the same length", []any{"by", 110}},
		{"lower than flat", "out_of_range", "/by", "about", []any{"by", -140}},
		{"higher than it can be", "out_of_range", "/to", "about", []any{"to", 390}},
	})
	d := blouse.Base()
	d.Underarm = 30
	_, err := bind(t, "cap_height", "by", -90, "hem_width", "kept").Apply(blouse.Make(d))
	if f := pattern.FaultsOf(err); err == nil || f[0].Rule != "side_leans" || f[0].Pointer != "/hem_width" {
		t.Errorf("sides too short to lean: %v", err)
	}
	for claim, args := range map[string][]any{"nothing told": nil, "told twice": {"by", 10, "to", 120}, "by nothing": {"by", 0}} {
		if _, err := change.Bind(pattern.ChangeSpec{Change: "cap_height", Args: obj(args...)}); err == nil || pattern.FaultsOf(err)[0].Remedy == "" {
			t.Errorf("%s: %v", claim, err)
		}
	}
}

func BenchmarkCapHeight(b *testing.B) { benchChange(b, "cap_height", "by", -20) }
func BenchmarkCapHeightHemKept(b *testing.B) {
	benchChange(b, "cap_height", "by", -20, "hem_width", "kept")
}
