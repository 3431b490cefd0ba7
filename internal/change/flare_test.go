package change_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"sizerun/internal/inspect"
	"sizerun/internal/pattern"
	"sizerun/internal/testkit/blouse"
)

func TestAFlaredSleeveKeepsItsCapInEverySize(t *testing.T) {
	for _, by := range []float64{30, 150, 400} {
		var sizes []inspect.Sized
		for _, p := range blouse.Run() {
			r := apply(t, p, "flare", "piece", "sleeve", "by", by)
			passes(t, r)
			was, is := p.PieceNamed("sleeve"), r.Pattern.PieceNamed("sleeve")
			for _, e := range []string{"cap_front", "cap_back", "underarm_front", "underarm_back"} {
				if d := lengthOf(is, e) - lengthOf(was, e); math.Abs(d) > 0.02 {
					t.Errorf("size %s: %s gained %.4f mm", p.Size, e, d)
				}
			}
			if d := lengthOf(is, "hem") - lengthOf(was, "hem"); math.Abs(d-by) > 0.5+0.01*by {
				t.Errorf("size %s: the hem gained %.3f mm, not %g", p.Size, d, by)
			}
			sizes = append(sizes, sized(t, r))
		}
		inspected(t, sizes)
	}
}

// Flaring a front and a back alike keeps their side seams and puts the flare evenly over the hem.
func TestAnyPieceIsFlaredFromWhatLiesAboveItsSides(t *testing.T) {
	p := blouse.Make(blouse.Base())
	for _, n := range []string{"front", "back"} {
		r := apply(t, p, "flare", "piece", n, "by", 120, "lines", 3)
		passes(t, r)
		is, was := r.Pattern.PieceNamed(n), p.PieceNamed(n)
		for i := range is.Edges {
			if is.Edges[i].Fold && is.Edges[i].Path.Start().Dist(was.Edges[i].Path.Start()) > 1e-9 {
				t.Errorf("the fold of %s moved", n)
			}
		}
		p = r.Pattern
	}
}

func TestFlareKeepsItsPromisesOnAnySoundDraft(t *testing.T) {
	sleeves(t, 12, 60, func(r *rand.Rand, d blouse.Draft, p pattern.Pattern) {
		x := apply(t, p, "flare", "piece", "sleeve", "by", 5+300*r.Float64(), "lines", 1+r.IntN(9))
		passes(t, x)
		sew(t, x.Pattern, d)
		if a, b := len(x.Pattern.PieceNamed("sleeve").Marks), len(p.PieceNamed("sleeve").Marks); a != b {
			t.Errorf("%d marks of %d", a, b)
		}
	})
}

// A change after it finds its edges where they were.
func TestAFlaredSleeveIsLengthenedAndCutIntoPetals(t *testing.T) {
	for _, p := range blouse.Run() {
		a := apply(t, p, "flare", "piece", "sleeve", "by", 60)
		b := apply(t, a.Pattern, "lengthen", "piece", "sleeve", "by", 30)
		passes(t, b)
		passes(t, apply(t, b.Pattern, "petal"))
	}
}

func TestFlareSaysWhatItCannotDo(t *testing.T) {
	refuses(t, "flare", []refusal{
		{"no such piece", "unknown_piece", "/piece", "slev", []any{"piece", "slev", "by", 20}},
		{"no such hem", "unknown_edge", "/hem", "cuff", []any{"piece", "sleeve", "by", 20, "hem", "cuff"}},
		{"no such cap", "unknown_edge", "/cap", "top", []any{"piece", "sleeve", "by", 20, "cap", "top"}},
		{"an edge that is sewn", "edge_sewn", "/hem", "sewn", []any{"piece", "sleeve", "by", 20, "hem", "underarm_front"}},
		{"an edge on the fold", "edge_on_fold", "/hem", "fold", []any{"piece", "front", "by", 20, "hem", "centre_front"}},
		{"a cap that is none", "no_cap", "/cap", "opposite", []any{"piece", "sleeve", "by", 20, "cap", "hem"}},
		{"wider than a circle", "opens_too_far", "/by", "degrees", []any{"piece", "sleeve", "by", 3000, "lines", 40}},
		{"one line opened flat", "opens_too_far", "/by", "more lines", []any{"piece", "sleeve", "by", 300, "lines", 1}},
	})
}

func BenchmarkFlare(b *testing.B) { benchChange(b, "flare", "piece", "sleeve", "by", 200) }
