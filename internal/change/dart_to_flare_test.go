package change_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"sizerun/internal/inspect"
	"sizerun/internal/pattern"
	"sizerun/internal/testkit/blouse"
)

func TestADartBecomesFlareInEverySize(t *testing.T) {
	var sizes []inspect.Sized
	for _, p := range dartedRun(usual()) {
		r := apply(t, p, "dart_to_flare", "piece", "front", "bust", "bust_point")
		passes(t, r)
		q := r.Pattern.PieceNamed("front")
		finite(t, "dart_to_flare", nil, q)
		seamsMatch(t, &r.Pattern, nil)
		if len(q.Darts) != 0 || q.EdgeNamed("hem") < 0 || q.EdgeNamed("hem_2") >= 0 || len(r.Pattern.Seams) != len(p.Seams)-1 {
			t.Errorf("size %s: %v, %d seams", p.Size, q.EdgeNames(), len(r.Pattern.Seams))
		}
		sizes = append(sizes, sized(t, r))
	}
	for _, c := range inspect.Run(sizes, blouse.Chart(), inspect.Options{}).Worst() {
		t.Errorf("%s %s size %s %s.%s: %.3f %s in %v: %s", c.Verdict, c.Rule, c.Size, c.Piece, c.Place, c.Measured, c.Unit, c.Want, c.Text)
	}
}

// Hinged at a point, a hem that lies square to the slash opens by the arc rθ.
func TestTheHemGrowsByTheArc(t *testing.T) {
	p := darted(blouse.Base(), usual())
	f := p.PieceNamed("front")
	bust := f.MarkNamed("bust_point").At
	angle := math.Abs(f.Edges[f.EdgeNamed("dart_upper")].Path.Start().Sub(bust).AngleTo(f.Edges[f.EdgeNamed("dart_lower")].Path.End().Sub(bust)))
	for _, share := range []float64{1, 0.5} {
		r := apply(t, p, "dart_to_flare", "piece", "front", "bust", "bust_point", "share", share)
		passes(t, r)
		q := r.Pattern.PieceNamed("front")
		grown := lengthOf(q, "hem") - lengthOf(f, "hem")
		arc := share * angle * (bust.Y - f.Align.Y)
		if math.Abs(grown-arc) > 0.02*arc {
			t.Errorf("share %g: grown by %.3f, the arc is %.3f", share, grown, arc)
		}
		if want := 2 - int(math.Ceil(share*1.5)); len(q.Darts) != want {
			t.Errorf("share %g: %d darts left", share, len(q.Darts))
		}
	}
}

func TestRandomFlareKeepsWhatItOwes(t *testing.T) {
	made := 0
	dartFronts(t, 7, 80, func(r *rand.Rand, p pattern.Pattern, o darts) {
		f := p.PieceNamed("front")
		args := []any{"piece", "front", "beyond", 30 * r.Float64(), "share", 0.05 + 0.95*r.Float64()}
		if r.IntN(2) == 0 {
			args = append(args, "to", obj("edge", "hem", "along", r.Float64()*lengthOf(f, "hem")))
		}
		res, ok := attempt(t, p, "dart_to_flare", args...)
		if !ok {
			return
		}
		made++
		passes(t, res)
		seamsMatch(t, &res.Pattern, nil)
	})
	if made < 50 {
		t.Errorf("only %d were made", made)
	}
}

func TestFlareIsRefusedWhereItCannotBe(t *testing.T) {
	p := darted(blouse.Base(), usual())
	refusals(t, p, "dart_to_flare", map[string][]any{
		"hem_sewn /hem":       {"piece", "front", "hem", "shoulder"},
		"unknown_edge /hem":   {"piece", "front", "hem", "hm"},
		"not_on_hem /to":      {"piece", "front", "to", obj("edge", "side_lower", "from", "hem_side", "along", 60)},
		"unknown_dart /piece": {"piece", "back"},
	})
}

func BenchmarkDartToFlare(b *testing.B) {
	c := bind(b, "dart_to_flare", "piece", "front", "bust", "bust_point")
	p := darted(blouse.Base(), usual())
	for b.Loop() {
		if _, err := c.Apply(p); err != nil {
			b.Fatal(err)
		}
	}
}
