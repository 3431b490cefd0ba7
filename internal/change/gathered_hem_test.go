package change_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"sizerun/internal/inspect"
	"sizerun/internal/pattern"
	"sizerun/internal/testkit/blouse"
)

func TestABishopSleeveIsGatheredOntoItsBandInEverySize(t *testing.T) {
	upperArm := func(ease float64) func(p pattern.Pattern) float64 {
		return func(p pattern.Pattern) float64 { return p.Body["upper_arm"] + ease }
	}
	for _, change := range []string{"gathered_hem", "gathered_both"} {
		for _, c := range []struct {
			args []any
			long func(p pattern.Pattern) float64 // nil: no band
		}{
			{[]any{"by", 120}, upperArm(30)},
			{[]any{"by", 200, "drop", 30, "overlap", 20, "ease", 45}, upperArm(45)},
			{[]any{"by", 100, "band", false}, nil},
			{[]any{"by", 150, "band_length", 250, "lines", 3}, func(pattern.Pattern) float64 { return 250 }},
		} {
			var sizes []inspect.Sized
			for _, p := range blouse.Run() {
				r := apply(t, p, change, c.args...)
				passes(t, r)
				sizes = append(sizes, sized(t, r))
				band := r.Pattern.PieceNamed("band")
				if (c.long == nil) != (band == nil) {
					t.Errorf("%s %v: band %v", change, c.args, band)
				}
				if band == nil {
					continue
				}
				if l := lengthOf(band, "stitched"); math.Abs(l-c.long(p)) > 1e-6 {
					t.Errorf("%s %v size %s: the band is %.3f mm long, not %.3f", change, c.args, p.Size, l, c.long(p))
				}
				if band.Cut.Count != 2 || !band.Cut.Pair {
					t.Errorf("%s: the band is cut %+v for two sleeves", change, band.Cut)
				}
			}
			inspected(t, sizes)
		}
	}
}

// The hem drops at the back alone: at its front half and its ends it lies as it would without.
func TestTheHemDropsAtTheBackAlone(t *testing.T) {
	p := blouse.Make(blouse.Base())
	plain := apply(t, p, "gathered_hem", "by", 120, "drop", 0, "band", false)
	low := apply(t, p, "gathered_hem", "by", 120, "drop", 20, "band", false)
	a, b := plain.Pattern.PieceNamed("sleeve"), low.Pattern.PieceNamed("sleeve")
	h, k := a.Edges[a.EdgeNamed("hem")].Path, b.Edges[b.EdgeNamed("hem")].Path
	deepest := 0.0
	for _, s := range []float64{0, 0.05, 0.15, 0.25, 0.35, 0.45, 0.55, 0.75, 1} {
		_, d := h.Project(k.PointAt(s * k.Length()))
		deepest = math.Max(deepest, d)
		if s > 0.54 && d > 0.01 || s == 0 && d > 0.01 {
			t.Errorf("at %g of the hem it lies %.3f mm lower", s, d)
		}
	}
	if deepest < 17 || deepest > 20.01 {
		t.Errorf("the hem drops by %.2f mm", deepest)
	}
}

// Spread right through, the sleeve gains what is put in times the length of the lines: the area between the
// old cap and hem, each line the longer of which counts as it is long.
func TestGatheredBothPutsInWhatTheLinesAreLong(t *testing.T) {
	for _, p := range blouse.Run() {
		r := apply(t, p, "gathered_both", "by", 90, "puff", 0, "band", false, "lines", 9)
		was, is := p.PieceNamed("sleeve"), r.Pattern.PieceNamed("sleeve")
		gain := is.Outline().Area() - was.Outline().Area()
		long := 0.0
		n := 0
		for _, l := range r.Drawing.Lines {
			if l.Label != "" && l.Label[0] == 'l' { // line 1, line 2, …
				long += l.Path.Length()
				n++
			}
		}
		if want := 90 * long / float64(n); n != 9 || math.Abs(gain-want) > 0.03*want {
			t.Errorf("size %s: gains %.0f mm2, not about %.0f", p.Size, gain, want)
		}
	}
}

func TestGathersOnAnySoundDraft(t *testing.T) {
	sleeves(t, 14, 50, func(r *rand.Rand, d blouse.Draft, p pattern.Pattern) {
		name := []string{"gathered_hem", "gathered_both"}[r.IntN(2)]
		args := []any{"by", 60 + 150*r.Float64(), "lines", 1 + r.IntN(8), "drop", 30 * r.Float64(), "band_length", 180 + 60*r.Float64()}
		x := apply(t, p, name, args...)
		passes(t, x)
		is := x.Pattern.PieceNamed("sleeve")
		for _, e := range is.Edges {
			for k := 1; k < len(e.Path); k++ {
				if a := math.Abs(e.Path[k-1].Tangent(1).AngleTo(e.Path[k].Tangent(0))) * 180 / math.Pi; a > 0.01 {
					t.Errorf("%s %v: a corner of %.3f degrees in %s", name, args, a, e.Name)
				}
			}
		}
		for _, m := range p.PieceNamed("sleeve").Marks {
			if is.MarkNamed(m.Name) == nil {
				t.Errorf("%s was lost", m.Name)
			}
		}
		for _, c := range inspect.Run([]inspect.Sized{{Pattern: x.Pattern}}, blouse.Chart(), inspect.Options{}).Worst() {
			if c.Verdict == inspect.Fail {
				t.Errorf("%s %v: %s %s.%s %.3f: %s", name, args, c.Rule, c.Piece, c.Place, c.Measured, c.Text)
			}
		}
	})
}

// What comes later still finds the sleeve: longer, and only then gathered, or the other way round.
func TestGathersGoWithOtherChanges(t *testing.T) {
	for _, p := range blouse.Run() {
		a := apply(t, p, "lengthen", "piece", "sleeve", "by", 350)
		b := apply(t, a.Pattern, "gathered_both", "by", 150, "drop", 20)
		passes(t, b)
		c := apply(t, b.Pattern, "gathered_head", "by", 40, "puff", 10)
		passes(t, c)
		s := inspect.Run([]inspect.Sized{sized(t, c)}, blouse.Chart(), inspect.Options{})
		for _, c := range s.Worst() {
			if c.Verdict == inspect.Fail {
				t.Errorf("%s %s.%s %.3f: %s", c.Rule, c.Piece, c.Place, c.Measured, c.Text)
			}
		}
	}
}

func TestGatheredHemSaysWhatItCannotDo(t *testing.T) {
	for _, name := range []string{"gathered_hem", "gathered_both"} {
		refuses(t, name, []refusal{
			{"no such piece", "unknown_piece", "/piece", "slev", []any{"piece", "slev", "by", 20}},
			{"no such hem", "unknown_edge", "/hem", "cuff", []any{"by", 20, "hem", "cuff"}},
			{"no such measure", "unknown_measure", "/measure", "wrist", []any{"by", 20, "measure", "wrist"}},
			{"a band longer than the hem", "out_of_range", "/band_length", "gathered", []any{"by", 20, "band_length", 900}},
			{"a band of a taken name", "name_taken", "/band", "front", []any{"by", 120, "band_name", "front", "band_length", 250}},
		})
	}
}

func BenchmarkGatheredHem(b *testing.B) {
	benchChange(b, "gathered_hem", "by", 150, "band_length", 250)
}
func BenchmarkGatheredBoth(b *testing.B) {
	benchChange(b, "gathered_both", "by", 150, "band_length", 250)
}
