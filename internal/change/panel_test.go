package change_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"sizerun/internal/inspect"
	"sizerun/internal/pattern"
	"sizerun/internal/testkit/blouse"
)

// withWaist is a front whose waist dart stands under the bust point.
func withWaist() darts {
	o := usual()
	o.waist, o.waistX, o.waistUp = 24, 100, 300
	return o
}

func TestAPrincessLineAbsorbsItsDartsInEverySize(t *testing.T) {
	for name, c := range map[string]struct {
		o    darts
		args []any
	}{
		"from the shoulder to the hem":          {usual(), []any{"at", obj("between", []any{"neck", "shoulder"}, "share", 0.5), "bust", "bust_point", "to", obj("edge", "hem", "from", "cf_hem", "along", 110)}},
		"from the armhole to the hem":           {usual(), []any{"at", obj("edge", "armhole", "from", "underarm", "along", 70), "bust", "bust_point", "to", obj("edge", "hem", "from", "cf_hem", "along", 110)}},
		"from the side through the bust point":  {usual(), []any{"to", obj("edge", "neck", "from", "neck", "along", 60), "beyond", 22}},
		"from the shoulder into the waist dart": {withWaist(), []any{"dart", "bust", "at", obj("between", []any{"neck", "shoulder"}, "share", 0.5), "bust", "bust_point", "dart_2", "waist"}},
	} {
		var sizes []inspect.Sized
		for _, p := range dartedRun(c.o) {
			was := p.PieceNamed("front")
			r := apply(t, p, "panel", append([]any{"piece", "front"}, c.args...)...)
			passes(t, r)
			seamsMatch(t, &r.Pattern, nil)
			centre, side := r.Pattern.PieceNamed("front_centre"), r.Pattern.PieceNamed("front_side")
			if centre == nil || side == nil || len(centre.Darts)+len(side.Darts) != 0 {
				t.Fatalf("%s: %v", name, r.Pattern.PieceNames())
			}
			finite(t, name, nil, centre)
			finite(t, name, nil, side)
			if centre.Edges[centre.EdgeNamed("centre_front")].Fold != true || centre.Cut.Pair || !side.Cut.Pair || side.Cut.Count != 2*was.Cut.Count {
				t.Errorf("%s: cut %+v and %+v", name, centre.Cut, side.Cut)
			}
			s := r.Pattern.Seams[len(r.Pattern.Seams)-1]
			if s.Name != "front_panel" || len(s.Notches) < 1 || !s.SmoothEnd {
				t.Errorf("%s: %+v", name, s)
			}
			sizes = append(sizes, sized(t, r))
		}
		for _, c := range inspect.Run(sizes, blouse.Chart(), inspect.Options{}).Worst() {
			t.Errorf("%s: %s %s size %s %s.%s: %.3f %s in %v: %s", name, c.Verdict, c.Rule, c.Size, c.Piece, c.Place, c.Measured, c.Unit, c.Want, c.Text)
		}
	}
}

// What the line absorbs is the dart: without rounding, the corners of the two panels at the point leave
// out exactly its angle.
func TestThePanelsLeaveOutTheDartsAngle(t *testing.T) {
	p := darted(blouse.Base(), usual())
	f := p.PieceNamed("front")
	d := f.Edges[f.EdgeNamed("dart_upper")].Path
	e := f.Edges[f.EdgeNamed("dart_lower")].Path
	angle := math.Abs(d.Start().Sub(d.End()).AngleTo(e.End().Sub(d.End()))) * 180 / math.Pi
	r := apply(t, p, "panel", "piece", "front", "round", 0, "to", obj("edge", "neck", "from", "neck", "along", 60))
	sum := 0.0
	for _, n := range []string{"front_centre", "front_side"} {
		q := r.Pattern.PieceNamed(n)
		path := q.Edges[q.EdgeNamed("panel")].Path
		for i := 1; i < len(path); i++ {
			if turn := path[i-1].Tangent(1).AngleTo(path[i].Tangent(0)) * 180 / math.Pi; math.Abs(turn) > 0.1 {
				sum += turn
			}
		}
	}
	if math.Abs(sum-angle) > 1e-6 {
		t.Errorf("the panels turn by %.4f degrees, the dart has %.4f", sum, angle)
	}
	a, b := lengthOf(r.Pattern.PieceNamed("front_centre"), "panel"), lengthOf(r.Pattern.PieceNamed("front_side"), "panel")
	if math.Abs(a-b) > 1e-9 {
		t.Errorf("%v and %v", a, b)
	}
}

func TestMarksOfTheDartLieOnBothPanels(t *testing.T) {
	p := darted(blouse.Base(), usual())
	r := apply(t, p, "panel", "piece", "front", "at", obj("between", []any{"neck", "shoulder"}, "share", 0.5), "bust", "bust_point", "to", obj("edge", "hem", "from", "cf_hem", "along", 110))
	for _, n := range []string{"front_centre", "front_side"} {
		q := r.Pattern.PieceNamed(n)
		if m := q.MarkNamed("bust_point"); m == nil || m.Edge != "panel" {
			t.Errorf("%s: the bust point is %+v", n, m)
		}
	}
}

func TestRandomPanelsKeepWhatTheyOwe(t *testing.T) {
	made := 0
	dartFronts(t, 8, 100, func(r *rand.Rand, p pattern.Pattern, o darts) {
		f := p.PieceNamed("front")
		place := func() any {
			e := &f.Edges[r.IntN(len(f.Edges))]
			return obj("edge", e.Name, "along", r.Float64()*e.Path.Length())
		}
		args := []any{"piece", "front", "to", place(), "round", 60 * r.Float64(), "to_angle", 60 + 60*r.Float64(), "notches", 80 * r.Float64()}
		if r.IntN(2) == 0 {
			args = append(args, "at", place(), "bust", "bust_point")
		}
		res, ok := attempt(t, p, "panel", args...)
		if !ok {
			return
		}
		made++
		for _, c := range res.Checks {
			if c.Verdict == inspect.Fail {
				t.Errorf("%v: %s %.4f in %v ± %g", args, c.Rule, c.Measured, c.Want, c.Tolerance)
			}
		}
		seamsMatch(t, &res.Pattern, nil)
	})
	if made < 25 {
		t.Errorf("only %d were made", made)
	}
	t.Logf("%d made", made)
}

func TestPanelsAreRefusedWhereTheyCannotBe(t *testing.T) {
	p := darted(blouse.Base(), withWaist())
	hem := obj("edge", "hem", "from", "hem_side", "along", 60)
	refusals(t, p, "panel", map[string][]any{
		"no_end /to":               {"piece", "front", "dart", "bust"},
		"unknown_dart /dart":       {"piece", "front", "to", hem},
		"unknown_dart /dart_2":     {"piece", "front", "dart", "bust", "dart_2", "neck"},
		"given_twice /dart_2":      {"piece", "front", "dart", "bust", "dart_2", "bust"},
		"on_dart /to":              {"piece", "front", "dart", "bust", "to", obj("edge", "waist_first", "from", "waist_in", "along", 60)},
		"given_twice /side":        {"piece", "front", "dart", "bust", "to", hem, "side", "x", "centre", "x"},
		"unknown_edge /to/edge":    {"piece", "front", "dart", "bust", "to", obj("edge", "hm", "along", 5)},
		"pivot_aside /bust":        {"piece", "front", "dart", "waist", "dart_2", "bust", "bust", obj("at", []any{-106, 120})},
		"line_touches_outline /to": {"piece", "front", "dart", "bust", "to", obj("edge", "armhole", "from", "shoulder", "along", 10), "fullness", 0.95},
	})
}

func BenchmarkPanel(b *testing.B) {
	c := bind(b, "panel", "piece", "front", "at", obj("between", []any{"neck", "shoulder"}, "share", 0.5), "bust", "bust_point", "to", obj("edge", "hem", "from", "cf_hem", "along", 110))
	p := darted(blouse.Base(), usual())
	for b.Loop() {
		if _, err := c.Apply(p); err != nil {
			b.Fatal(err)
		}
	}
}
