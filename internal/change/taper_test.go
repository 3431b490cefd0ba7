package change_test

import (
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"sizerun/internal/change"
	"sizerun/internal/inspect"
	"sizerun/internal/pattern"
	"sizerun/internal/testkit/blouse"
)

func TestASleeveIsNarrowedByTheSameAmountOnEachSide(t *testing.T) {
	for _, by := range []float64{40, 12, 1, -8, -30} {
		var sizes []inspect.Sized
		for _, p := range blouse.Run() {
			r := apply(t, p, "taper", "piece", "sleeve", "by", by)
			passes(t, r)
			was, is := p.PieceNamed("sleeve"), r.Pattern.PieceNamed("sleeve")
			for _, e := range []string{"cap_front", "cap_back"} {
				if is.Edges[is.EdgeNamed(e)].Path.Start() != was.Edges[was.EdgeNamed(e)].Path.Start() || lengthOf(is, e) != lengthOf(was, e) {
					t.Errorf("size %s: %s was touched", p.Size, e)
				}
			}
			a, b := is.Edges[is.EdgeNamed("hem")].Path, was.Edges[was.EdgeNamed("hem")].Path
			if gain := a.End().X - a.Start().X - (b.End().X - b.Start().X); math.Abs(gain+2*by) > 1e-9 {
				t.Errorf("size %s: the hem gains %.4f mm, not %g", p.Size, gain, -2*by)
			}
			// Pythagoras: the sides are straight but for their bend, so the hem's ends rise by about that.
			s := is.Edges[is.EdgeNamed("underarm_front")].Path
			if s.Start().Dist(s.End()) > lengthOf(was, "underarm_front")+1e-9 {
				t.Errorf("size %s: the side grew", p.Size)
			}
			sizes = append(sizes, sized(t, r))
		}
		inspected(t, sizes)
	}
}

// A skirt, or the body of a blouse, is widened at its side seams only.
func TestAHemOnTheFoldIsWidenedAtItsFreeSide(t *testing.T) {
	p := blouse.Make(blouse.Base())
	r := apply(t, p, "taper", "piece", []any{"front", "back"}, "by", -40)
	passes(t, r)
	for _, n := range []string{"front", "back"} {
		if g := lengthOf(r.Pattern.PieceNamed(n), "hem") - lengthOf(p.PieceNamed(n), "hem"); g < 38 || g > 45 {
			t.Errorf("the hem of %s gains %.2f mm", n, g)
		}
	}
	inspected(t, []inspect.Sized{sized(t, r)})
}

func TestTaperingInAndOutAgainGivesTheHemBackOnAnySoundDraft(t *testing.T) {
	sleeves(t, 11, 60, func(r *rand.Rand, d blouse.Draft, p pattern.Pattern) {
		by := -20 + 45*r.Float64()
		x := apply(t, p, "taper", "piece", "sleeve", "by", by)
		passes(t, x)
		sew(t, x.Pattern, d)
		y := apply(t, x.Pattern, "taper", "piece", "sleeve", "by", -by)
		passes(t, y)
		a, b := p.PieceNamed("sleeve"), y.Pattern.PieceNamed("sleeve")
		for _, c := range []string{"hem_back", "hem_front"} {
			q, _ := a.Corner(c)
			z, _ := b.Corner(c)
			if q.Dist(z) > 1.5 {
				t.Errorf("%+v: %s comes back %.3f mm off", d, c, q.Dist(z))
			}
		}
		if len(b.Marks) != len(a.Marks) {
			t.Error("marks were lost")
		}
	})
}

// A side that was lengthened, and bends since, leans over evenly: it does not swing back to the hem.
func TestATaperedSideDoesNotSwing(t *testing.T) {
	for _, p := range blouse.Run() {
		a := apply(t, p, "lengthen", "piece", "sleeve", "by", 300)
		b := apply(t, a.Pattern, "taper", "piece", "sleeve", "by", 50)
		passes(t, b)
		q := b.Pattern.PieceNamed("sleeve")
		side := q.Edges[q.EdgeNamed("underarm_back")].Path
		l := side.Length()
		for k := 0.35; k < 1; k += 0.1 {
			if d := math.Abs(side.TangentAt(k*l).AngleTo(side.EndTangent())) * 180 / math.Pi; d > 0.5 {
				t.Errorf("size %s: at %.2f of its length the side still turns, %.2f degrees", p.Size, k, d)
			}
		}
	}
}

func TestTaperSaysWhatItCannotDo(t *testing.T) {
	refuses(t, "taper", []refusal{
		{"no such piece", "unknown_piece", "/piece", "slev", []any{"piece", "slev", "by", 20}},
		{"no such hem", "unknown_edge", "/hem", "cuff", []any{"piece", "sleeve", "by", 20, "hem", "cuff"}},
		{"narrower than nothing", "out_of_range", "/by", "mm", []any{"piece", "sleeve", "by", 170}},
		{"wider than the sides reach", "out_of_range", "/by", "lean", []any{"piece", "sleeve", "by", -300}},
	})
	if _, err := change.Bind(pattern.ChangeSpec{Change: "taper", Args: obj("piece", "sleeve", "by", 0)}); err == nil || !strings.Contains(err.Error(), "negative") {
		t.Errorf("by nothing: %v", err)
	}
}

// A dart whose leg leaned over would not close any more.
func TestASideThatIsTheLegOfADartIsNotTapered(t *testing.T) {
	p := blouse.Make(blouse.Base())
	p.PieceNamed("sleeve").Darts = []pattern.Dart{{Name: "vent", First: "cap_back", Second: "underarm_back", Towards: "cap_back"}}
	refusals(t, p, "taper", map[string][]any{"dart_leg /piece": {"piece", "sleeve", "by", 20}})
}

func BenchmarkTaper(b *testing.B) { benchChange(b, "taper", "piece", "sleeve", "by", 25) }
