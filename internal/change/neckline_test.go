package change_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"sizerun/internal/pattern"
	"sizerun/internal/testkit/blouse"
)

func TestEveryNecklineIsSoundInEverySize(t *testing.T) {
	for _, args := range [][]any{
		{},
		{"lower", 30, "widen", 10},
		{"lower", 90, "widen", 25, "shape", "v"},
		{"lower", 60, "widen", 20, "shape", "square"},
		{"lower", 60, "lower_back", 60, "widen", 15, "shape", "square", "back_shape", "square", "shoulder_angle", 90},
		{"lower", -20, "widen", 45, "shape", "boat", "lower_back", 10, "back_shape", "boat"},
		{"lower", -10, "lower_back", -5, "widen", -8},
		{"lower_back", 150, "back_shape", "v", "widen", 12},
		{"lower", 40, "fullness", 0.8, "back_fullness", 0.65},
	} {
		for _, p := range blouse.Run() {
			claim := fmt.Sprintf("%v, size %s", args, p.Size)
			r := apply(t, p, "neckline", args...)
			passed(t, claim, r.Checks)
			whole(t, claim, sized(t, r))
		}
	}
}

func TestANecklineChangesNothingBelowIt(t *testing.T) {
	p := blouse.Make(blouse.Base())
	r := apply(t, p, "neckline", "lower", 70.0, "lower_back", 12.0, "widen", 20.0)
	for _, name := range []string{"front", "back", "sleeve"} {
		for _, e := range p.PieceNamed(name).EdgeNames() {
			was, is := length(&p, name, e), length(&r.Pattern, name, e)
			want := 0.0
			switch e {
			case "shoulder":
				want = -20
			case "centre_front":
				want = -70
			case "centre_back":
				want = -12
			case "neck":
				continue
			}
			if math.Abs(is-was-want) > 1e-6 {
				t.Errorf("%s.%s changes by %.4f mm, want %g", name, e, is-was, want)
			}
		}
		for _, m := range p.PieceNamed(name).Marks {
			got := r.Pattern.PieceNamed(name).MarkNamed(m.Name)
			if got == nil || got.At.Dist(m.At) > 1e-6 {
				t.Errorf("the mark %s of %s moved or is gone", m.Name, name)
			}
		}
	}
	if q := r.Pattern.PieceNamed("front"); q.Edges[q.EdgeNamed("neck")].To != "neck" || q.Edges[q.EdgeNamed("neck")].From != "cf_neck" {
		t.Error("the neck's corners lost their names")
	}
}

// A V from the centre to the shoulder is the third side of a triangle.
func TestAVIsAsLongAsPythagorasSays(t *testing.T) {
	p := blouse.Make(blouse.Base())
	r := apply(t, p, "neckline", "lower", 100.0, "shape", "v")
	f := r.Pattern.PieceNamed("front")
	n := f.Edges[f.EdgeNamed("neck")].Path
	d := n.End().Sub(n.Start())
	if want := math.Hypot(d.X, d.Y); math.Abs(n.Length()-want) > 1e-9 || math.Abs(d.X+105) > 1e-9 {
		t.Errorf("%.4f mm, want %.4f", n.Length(), want)
	}
}

// binding adds a bias strip sewn to the neck, as long as the neck less a little.
func binding(p pattern.Pattern) pattern.Pattern {
	l := length(&p, "front", "neck") + length(&p, "back", "neck") - 4
	q := rect("binding", l, 36)
	p.Pieces = append(p.Pieces, q)
	p.Seams = append(p.Seams, pattern.Seam{Name: "neck", Ease: pattern.Range{Min: -6, Max: -2},
		Sew: []pattern.EdgeRef{{Piece: "binding", Edge: "top", Against: true}},
		To:  []pattern.EdgeRef{{Piece: "front", Edge: "neck"}, {Piece: "back", Edge: "neck", Against: false}}})
	return p
}

func TestAStripSewnToTheNeckFollowsItOrIsLeftOut(t *testing.T) {
	p := binding(blouse.Make(blouse.Base()))
	r := apply(t, p, "neckline", "lower", 50.0, "widen", 20.0)
	passed(t, "with a binding", r.Checks)
	whole(t, "with a binding", sized(t, r))
	want := length(&r.Pattern, "front", "neck") + length(&r.Pattern, "back", "neck") - 4
	if got := length(&r.Pattern, "binding", "top"); math.Abs(got-want) > 1e-6 {
		t.Errorf("the binding is %.3f mm long, want %.3f", got, want)
	}
	r = apply(t, p, "neckline", "lower", 50.0, "strips", "remove")
	if r.Pattern.PieceNamed("binding") != nil {
		t.Error("the binding is still there")
	}
	whole(t, "without a binding", sized(t, r))
}

func TestRandomNecklinesAreSoundOrRefused(t *testing.T) {
	r := rand.New(rand.NewPCG(3, 1))
	shapes := []string{"round", "v", "square", "boat"}
	made := 0
	for range 400 {
		p := blouse.Make(blouse.At(r.IntN(8)))
		args := []any{"lower", r.Float64()*280 - 60, "lower_back", r.Float64()*200 - 40, "widen", r.Float64()*110 - 30, "shape", shapes[r.IntN(4)], "back_shape", shapes[r.IntN(4)]}
		if r.IntN(3) == 0 {
			args = append(args, "shoulder_angle", 50+80*r.Float64(), "fullness", 0.05+0.9*r.Float64())
		}
		res, ok := attempt(t, p, "neckline", args...)
		if !ok {
			continue
		}
		made++
		passed(t, fmt.Sprint(args), res.Checks)
	}
	if made < 100 {
		t.Errorf("only %d of 400 were made", made)
	}
}

func TestNecklineSaysWhatItCannotDo(t *testing.T) {
	for _, c := range []struct {
		claim, rule, pointer, says string
		args                       []any
	}{
		{"no such piece", "unknown_piece", "/front", "fornt", []any{"front", "fornt"}},
		{"no such edge", "unknown_edge", "/neck", "nekc", []any{"neck", "nekc"}},
		{"a shoulder that is none", "not_beside", "/shoulder", "side", []any{"shoulder", "side"}},
		{"lower than the hem", "out_of_range", "/lower", "valid: -80 to", []any{"lower", 349.0, "front", "front"}},
		{"wider than the shoulder", "out_of_range", "/widen", "shoulder", []any{"widen", 80.0}},
		{"a square without room", "no_neckline", "/lower_back", "corner", []any{"lower_back", -40.0, "back_shape", "square", "shoulder_angle", 90.0}},
	} {
		d := blouse.Base()
		d.Length = 150
		_, err := bind(t, "neckline", c.args...).Apply(blouse.Make(d))
		if err == nil {
			t.Errorf("%s: was made", c.claim)
			continue
		}
		f := pattern.FaultsOf(err)[0]
		if f.Rule != c.rule || f.Pointer != c.pointer || f.Size != "14" || !strings.HasPrefix(f.Detail, "neckline: ") || !strings.Contains(f.Error(), c.says) || f.Remedy == "" {
			t.Errorf("%s: %+v", c.claim, f)
		}
	}
}

func BenchmarkNeckline(b *testing.B) {
	p := blouse.Make(blouse.Base())
	c := bind(b, "neckline", "lower", 50.0, "widen", 20.0)
	for b.Loop() {
		if _, err := c.Apply(p); err != nil {
			b.Fatal(err)
		}
	}
}
