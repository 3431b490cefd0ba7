package change_test

import (
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"sizerun/internal/geom"
	"sizerun/internal/inspect"
	"sizerun/internal/pattern"
	"sizerun/internal/testkit/blouse"
)

func TestASleeveGainsTheAmountAtItsSidesAndAtItsCentre(t *testing.T) {
	for _, by := range []float64{300, 120, 10, -10, -40} {
		for _, p := range blouse.Run() {
			was := p.PieceNamed("sleeve")
			r := apply(t, p, "lengthen", "piece", "sleeve", "by", by)
			passes(t, r)
			is := r.Pattern.PieceNamed("sleeve")
			for _, e := range []string{"underarm_front", "underarm_back"} {
				if gain := lengthOf(is, e) - lengthOf(was, e); math.Abs(gain-by) > 1e-4 {
					t.Errorf("size %s: %s gains %.4f mm, not %g", p.Size, e, gain, by)
				}
			}
			for _, e := range []string{"cap_front", "cap_back"} {
				if is.Edges[is.EdgeNamed(e)].Path.Start() != was.Edges[was.EdgeNamed(e)].Path.Start() || lengthOf(is, e) != lengthOf(was, e) {
					t.Errorf("size %s: %s was touched", p.Size, e)
				}
			}
			low, lowWas := is.Outline().Bounds().Min.Y, was.Outline().Bounds().Min.Y
			if math.Abs(lowWas-low-by) > 4 {
				t.Errorf("size %s: the hem moved by %.1f mm, not about %g", p.Size, lowWas-low, by)
			}
		}
	}
}

func TestALengthenedBlouseStillPassesInspectionInEverySize(t *testing.T) {
	for _, by := range []any{"6in", -60.0} {
		var sizes []inspect.Sized
		for _, p := range blouse.Run() {
			a := apply(t, p, "lengthen", "piece", []any{"front", "back"}, "by", by, "above", 100)
			b := apply(t, a.Pattern, "lengthen", "piece", "sleeve", "by", 30)
			b.Checks = append(b.Checks, a.Checks...)
			sizes = append(sizes, sized(t, b))
		}
		for _, c := range inspect.Run(sizes, blouse.Chart(), inspect.Options{}).Worst() {
			t.Errorf("by %v: %s %s size %s %s.%s: %.3f %s in %v: %s", by, c.Verdict, c.Rule, c.Size, c.Piece, c.Place, c.Measured, c.Unit, c.Want, c.Text)
		}
	}
}

// A long flared skirt's hem rises at the sides, so that every gore gains the same along its seam.
func TestFrontAndBackOfDifferentFlareStillMatch(t *testing.T) {
	p := blouse.Make(blouse.Base())
	f := p.PieceNamed("front")
	i := f.EdgeNamed("side")
	s := f.Edges[i].Path
	// The front flares by 60 mm more, its side keeping its length.
	l := s.Length()
	x := s.End().X - 60
	y := s.Start().Y - math.Sqrt(l*l-(x-s.Start().X)*(x-s.Start().X))
	f.Edges[i].Path = geom.Polyline(s.Start(), geom.Pt(x, y))
	h := f.EdgeNamed("hem")
	hem := f.Edges[h].Path[0]
	f.Edges[h].Path = geom.Path{geom.Cubic(geom.Pt(x, y), geom.Pt(x, y).Add(f.Edges[i].Path.EndTangent().Left().Mul(80)), hem.P2, hem.P3)}
	m := f.MarkNamed("waist")
	m.At = f.Edges[i].Path.PointAt(m.S)
	r := apply(t, p, "lengthen", "piece", []any{"front", "back"}, "by", 300)
	passes(t, r)
	for _, e := range []string{"front", "back"} {
		if gain := lengthOf(r.Pattern.PieceNamed(e), "side") - lengthOf(p.PieceNamed(e), "side"); math.Abs(gain-300) > 1e-4 {
			t.Errorf("%s.side gains %.4f mm", e, gain)
		}
	}
	if gain := lengthOf(r.Pattern.PieceNamed("front"), "centre_front") - lengthOf(p.PieceNamed("front"), "centre_front"); math.Abs(gain-300) > 1e-6 {
		t.Errorf("the centre gains %.4f mm", gain)
	}
}

func TestMarksBelowTheLevelGoWithTheHemAndOthersStay(t *testing.T) {
	p := blouse.Make(blouse.Base())
	r := apply(t, p, "lengthen", "piece", []any{"front", "back"}, "by", 50, "at", obj("edge", "side", "from", "underarm", "along", 200))
	f, was := r.Pattern.PieceNamed("front"), p.PieceNamed("front")
	if got, want := f.MarkNamed("waist").S, was.MarkNamed("waist").S; math.Abs(got-want) > 1e-9 {
		t.Errorf("the waist notch, above the level, moved from %.3f to %.3f", want, got)
	}
	if f.MarkNamed("bust_point").At != was.MarkNamed("bust_point").At {
		t.Error("the bust point moved")
	}
	r = apply(t, p, "lengthen", "piece", []any{"front", "back"}, "by", 50, "at", obj("edge", "side", "from", "underarm", "along", 100))
	f = r.Pattern.PieceNamed("front")
	fromHem := lengthOf(f, "side") - f.MarkNamed("waist").S
	if want := lengthOf(was, "side") - was.MarkNamed("waist").S; math.Abs(fromHem-want) > 1e-6 {
		t.Errorf("the waist notch, below the level, lies %.3f mm from the hem, not %.3f", fromHem, want)
	}
}

func TestAStripThatIsTakenOutLosesNoMark(t *testing.T) {
	p := blouse.Make(blouse.Base())
	r := apply(t, p, "lengthen", "piece", []any{"front", "back"}, "by", -100, "at", obj("edge", "side", "from", "underarm", "along", 120))
	f := r.Pattern.PieceNamed("front")
	if m := f.MarkNamed("waist"); m == nil || m.S > 121 || m.S < 119 {
		t.Errorf("the waist notch, in the strip, comes to lie on the level at 120 mm: %+v", m)
	}
}

func TestTheHemStaysSmoothAcrossTheSideSeam(t *testing.T) {
	for _, name := range []string{"sleeve", "front"} {
		p := blouse.Make(blouse.Base())
		pieces := []any{name}
		if name == "front" {
			pieces = append(pieces, "back")
		}
		r := apply(t, p, "lengthen", "piece", pieces, "by", 250)
		q := r.Pattern.PieceNamed(name)
		h := q.EdgeNamed("hem")
		n := len(q.Edges)
		angle := inspect.Interior(q.Edges[(h+n-1)%n].Path, q.Edges[h].Path) * 180 / math.Pi
		if math.Abs(angle-90) > 0.01 {
			t.Errorf("%s: the hem meets its side at %.2f degrees, before at 90", name, angle)
		}
	}
}

func TestPetalHalvesCanBeLengthenedTogether(t *testing.T) {
	for _, p := range blouse.Run() {
		petal := apply(t, p, "petal")
		r := apply(t, petal.Pattern, "lengthen", "piece", []any{"sleeve_back", "sleeve_front"}, "by", 40)
		passes(t, r)
		b := r.Pattern.PieceNamed("sleeve_back")
		i, h := b.EdgeNamed("petal"), b.EdgeNamed("hem")
		if a := b.Edges[h].Path.EndTangent().AngleTo(b.Edges[i].Path.StartTangent()) * 180 / math.Pi; math.Abs(a) > 1 {
			t.Errorf("size %s: the petal meets the hem with a corner of %.2f degrees", p.Size, a)
		}
		if a := b.Edges[i].Path.EndTangent().AngleTo(geom.Vec{Y: 1}) * 180 / math.Pi; math.Abs(a) > 1 {
			t.Errorf("size %s: the petal leaves the cap %.2f degrees off", p.Size, a)
		}
		s := inspect.Run([]inspect.Sized{sized(t, r)}, blouse.Chart(), inspect.Options{})
		for _, c := range s.Worst() {
			if c.Verdict == inspect.Fail {
				t.Errorf("%s %s.%s %.3f: %s", c.Rule, c.Piece, c.Place, c.Measured, c.Text)
			}
		}
	}
}

// Smooth sides: a curved side is bridged about the level, and stays the same curve away from it.
func TestACurvedSideIsRedrawnSmoothAboutTheLevel(t *testing.T) {
	p := blouse.Make(blouse.Base())
	for _, n := range []string{"front", "back"} {
		q := p.PieceNamed(n)
		i := q.EdgeNamed("side")
		s := q.Edges[i].Path[0]
		in := 12.0
		if n == "back" {
			in = -12
		}
		q.Edges[i].Path = geom.Path{geom.Cubic(s.P0, s.P1.Add(geom.Vec{X: in}), s.P2.Add(geom.Vec{X: in}), s.P3)}
		m := q.MarkNamed("waist")
		m.At = q.Edges[i].Path.PointAt(m.S)
	}
	r := apply(t, p, "lengthen", "piece", []any{"front", "back"}, "by", 60)
	passes(t, r)
	q := r.Pattern.PieceNamed("front").Edges[r.Pattern.PieceNamed("front").EdgeNamed("side")].Path
	for i := 1; i < len(q); i++ {
		if a := math.Abs(q[i-1].Tangent(1).AngleTo(q[i].Tangent(0))) * 180 / math.Pi; a > 0.01 {
			t.Errorf("a corner of %.3f degrees in the side", a)
		}
	}
	was := p.PieceNamed("front").Edges[p.PieceNamed("front").EdgeNamed("side")].Path
	for _, s := range []float64{0, 20, 60, 100} {
		if d := q.PointAt(s).Dist(was.PointAt(s)); d > 1e-6 {
			t.Errorf("the side is %.4f mm off %.0f mm below the underarm, far above the level", d, s)
		}
	}
}

func TestLengthenSaysWhatItCannotDo(t *testing.T) {
	for _, c := range []struct {
		claim, rule, pointer, says string
		args                       []any
	}{
		{"no such piece", "unknown_piece", "/piece", "slev", []any{"piece", "slev", "by", 20}},
		{"no such hem", "unknown_edge", "/hem", "cuff", []any{"piece", "sleeve", "by", 20, "hem", "cuff"}},
		{"one of two sewn sides", "seam_broken", "/piece", "back", []any{"piece", "front", "by", 20}},
		{"shorter than there is", "out_of_range", "/by", "shorter", []any{"piece", "sleeve", "by", -120}},
		{"a level over the crown", "level_crosses", "/above", "0 times", []any{"piece", "sleeve", "by", 20, "above", 400}},
		{"a level at a corner", "level_at_corner", "/at", "corner underarm", []any{"piece", "sleeve", "by", 20, "at", "underarm_back"}},
		{"a place that is not there", "unknown_point", "/at/point", "elbow", []any{"piece", "sleeve", "by", 20, "at", "elbow"}},
	} {
		_, err := bind(t, "lengthen", c.args...).Apply(blouse.Make(blouse.Base()))
		if err == nil {
			t.Errorf("%s: was made", c.claim)
			continue
		}
		f := pattern.FaultsOf(err)[0]
		if f.Rule != c.rule || f.Pointer != c.pointer || f.Size != "14" || !strings.HasPrefix(f.Detail, "lengthen: ") || !strings.Contains(f.Error(), c.says) || f.Remedy == "" {
			t.Errorf("%s: %+v", c.claim, f)
		}
	}
}

// Lengthening by a and then by b is lengthening by a + b, at the sides and in the seams, on any draft.
func TestLengtheningAddsUpOnAnySoundDraft(t *testing.T) {
	sleeves(t, 3, 60, func(r *rand.Rand, d blouse.Draft, p pattern.Pattern) {
		a, b := -30+90*r.Float64(), -20+90*r.Float64()
		x := apply(t, p, "lengthen", "piece", "sleeve", "by", a)
		y := apply(t, x.Pattern, "lengthen", "piece", "sleeve", "by", b)
		passes(t, x)
		passes(t, y)
		gain := lengthOf(y.Pattern.PieceNamed("sleeve"), "underarm_back") - lengthOf(p.PieceNamed("sleeve"), "underarm_back")
		if math.Abs(gain-a-b) > 1e-3 {
			t.Errorf("%+v: %.4f mm, not %.4f + %.4f", d, gain, a, b)
		}
		sew(t, y.Pattern, d)
	})
}
