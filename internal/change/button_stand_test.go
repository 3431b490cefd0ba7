package change_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"sizerun/internal/geom"
	"sizerun/internal/pattern"
	"sizerun/internal/testkit/blouse"
)

func TestEveryButtonStandIsSoundInEverySize(t *testing.T) {
	for _, args := range [][]any{
		{},
		{"button", 20, "spacing", 60, "holes", "along", "lap", "left"},
		{"width", 30.0, "top", 40.0, "bottom", 150.0},
		{"fullest", obj("edge", "centre_front", "along", 300.0)},
	} {
		for _, p := range blouse.Run() {
			claim := fmt.Sprintf("%v, size %s", args, p.Size)
			r := apply(t, p, "button_stand", args...)
			passed(t, claim, r.Checks)
			whole(t, claim, sized(t, r))
		}
	}
}

func TestAStandIsARectangleBesideTheCentre(t *testing.T) {
	p := blouse.Make(blouse.Base())
	r := apply(t, p, "button_stand", "button", 18.0)
	f, was := r.Pattern.PieceNamed("front"), p.PieceNamed("front")
	l := length(&p, "front", "centre_front")
	if got, want := f.Outline().Area()-was.Outline().Area(), 15*l; math.Abs(got-want) > 1e-6*want {
		t.Errorf("the stand has %.4f mm2, want 15 x %.2f", got, l)
	}
	if got := length(&r.Pattern, "front", "stand_edge"); math.Abs(got-l) > 1e-9 {
		t.Errorf("its edge is %.4f mm", got)
	}
	if f.Cut != (pattern.Cut{Count: 2, Pair: true, Cloth: "main"}) {
		t.Errorf("cut %+v: two fronts, not one on the fold", f.Cut)
	}
	if got := length(&r.Pattern, "front", "neck"); math.Abs(got-length(&p, "front", "neck")) > 1e-9 {
		t.Error("the neck changed its length")
	}
	found := false
	for _, l := range f.Lines {
		found = found || l.Name == "centre_front" && l.Path.Start() == geom.Pt(0, -400)
	}
	if !found {
		t.Error("the centre line is not drawn")
	}
	for _, m := range was.Marks {
		if got := f.MarkNamed(m.Name); got == nil || got.At.Dist(m.At) > 1e-9 {
			t.Errorf("the mark %s moved or is gone", m.Name)
		}
	}
}

// By hand: neck at 155, bust point at −60, so the fullest level lies 180 mm below the neck (top − 70 is 120).
// First button 13.5 mm below the neck, two gaps of about 80: (180 − 13.5)/2 = 83.25 mm.
func TestButtonsAreSpacedFromTheFullestLevel(t *testing.T) {
	p := blouse.Make(blouse.Base())
	r := apply(t, p, "button_stand")
	f := r.Pattern.PieceNamed("front")
	for i, want := range []float64{13.5, 96.75, 180, 263.25, 346.5, 429.75} {
		m := f.MarkNamed(fmt.Sprintf("button_%d", i+1))
		if m == nil {
			t.Fatalf("there is no button %d", i+1)
		}
		if got := 120 - m.At.Y; math.Abs(got-want) > 1e-9 {
			t.Errorf("button %d lies %.4f mm below the neck, want %.2f", i+1, got, want)
		}
	}
	if f.MarkNamed("button_7") != nil {
		t.Error("a button lies nearer to the hem than 90 mm")
	}
	if r.Notions[0] != "6 buttons, 15 mm" {
		t.Error(r.Notions)
	}
}

func TestAStandOnAVRunsItsLineOn(t *testing.T) {
	p := blouse.Make(blouse.Base())
	p = apply(t, p, "neckline", "shape", "v", "lower", 60.0, "widen", 10.0).Pattern
	r := apply(t, p, "button_stand")
	passed(t, "v", r.Checks)
	whole(t, "v", sized(t, r))
	f := r.Pattern.PieceNamed("front")
	a, b := f.Edges[f.EdgeNamed("stand_neck")].Path, f.Edges[f.EdgeNamed("neck")].Path
	if d := a.EndTangent().AngleTo(b.StartTangent()); math.Abs(d) > 1e-9 {
		t.Errorf("the V turns by %g at the centre", d)
	}
}

func TestStandThenFacingThenInterfacing(t *testing.T) {
	for _, p := range blouse.Run() {
		p = apply(t, p, "button_stand").Pattern
		r := apply(t, p, "facing", "along", []any{"front.stand_edge", "front.stand_neck", "front.neck", "back.neck"}, "width", 45.0, "interfacing", true)
		passed(t, "faced "+p.Size, r.Checks)
		whole(t, "faced "+p.Size, sized(t, r))
		if r.Pattern.PieceNamed("front_facing").MarkNamed("button_2") == nil {
			t.Error("the buttons are not marked on the facing")
		}
	}
}

func TestRandomStandsAreSoundOrRefused(t *testing.T) {
	r := rand.New(rand.NewPCG(9, 4))
	made := 0
	for range 200 {
		p := blouse.Make(blouse.At(r.IntN(8)))
		args := []any{"button", 6 + 40*r.Float64(), "spacing", 20 + 150*r.Float64(), "bottom", 10 + 300*r.Float64()}
		if r.IntN(2) == 0 {
			args = append(args, "width", 8+100*r.Float64())
		}
		if r.IntN(2) == 0 {
			args = append(args, "top", 5+300*r.Float64())
		}
		if r.IntN(3) == 0 {
			args = append(args, "piece", "back", "edge", "centre_back", "fullest", obj("at", []any{50.0, r.Float64()*500 - 300}))
		}
		res, ok := attempt(t, p, "button_stand", args...)
		if !ok {
			continue
		}
		made++
		passed(t, fmt.Sprint(args), res.Checks)
	}
	if made < 50 {
		t.Errorf("only %d of 200 were made", made)
	}
}

func TestButtonStandSaysWhatItCannotDo(t *testing.T) {
	for _, c := range []struct {
		claim, rule, pointer, says string
		args                       []any
	}{
		{"no such piece", "unknown_piece", "/piece", "frnt", []any{"piece", "frnt"}},
		{"no such edge", "unknown_edge", "/edge", "centre_frnt", []any{"edge", "centre_frnt"}},
		{"a curved edge", "not_straight", "/edge", "armhole", []any{"edge", "armhole"}},
		{"a seam", "edge_sewn", "/edge", "side", []any{"edge", "side"}},
		{"a neck elsewhere", "not_beside", "/neck", "shoulder", []any{"neck", "shoulder"}},
		{"no fullest level", "no_level", "/fullest", "dart", []any{"piece", "back", "edge", "centre_back"}},
		{"a level that is not there", "unknown_point", "/fullest/point", "bust", []any{"fullest", "bust"}},
		{"a level above the neck", "out_of_range", "/fullest", "below the neck", []any{"fullest", "shoulder"}},
		{"a last button above the fullest level", "out_of_range", "/bottom", "lower", []any{"bottom", 500.0}},
	} {
		_, err := bind(t, "button_stand", c.args...).Apply(blouse.Make(blouse.Base()))
		if err == nil {
			t.Errorf("%s: was made", c.claim)
			continue
		}
		f := pattern.FaultsOf(err)[0]
		if f.Rule != c.rule || f.Pointer != c.pointer || f.Size != "14" || !strings.HasPrefix(f.Detail, "button_stand: ") || !strings.Contains(f.Error(), c.says) || f.Remedy == "" {
			t.Errorf("%s: %+v", c.claim, f)
		}
	}
	if _, err := tryBind("button_stand", "width", 8.0, "button", 40.0); err == nil || pattern.FaultsOf(err)[0].Pointer != "/width" {
		t.Errorf("a button over its edge: %v", err)
	}
}

func BenchmarkButtonStand(b *testing.B) {
	p := blouse.Make(blouse.Base())
	c := bind(b, "button_stand")
	for b.Loop() {
		if _, err := c.Apply(p); err != nil {
			b.Fatal(err)
		}
	}
}
