package change_test

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"sizerun/internal/pattern"
	"sizerun/internal/testkit/blouse"
)

func TestEveryBandCollarIsSoundInEverySize(t *testing.T) {
	for _, args := range [][]any{{}, {"rise", 0.0}, {"rise", 40.0, "height", 45.0}, {"to", "edge"}} {
		for _, p := range blouse.Run() {
			p = apply(t, p, "button_stand").Pattern
			claim := fmt.Sprintf("%v, size %s", args, p.Size)
			r := apply(t, p, "band_collar", args...)
			passed(t, claim, r.Checks)
			whole(t, claim, sized(t, r))
			want := length(&p, "front", "neck") + length(&p, "back", "neck")
			if len(args) == 2 && args[0] == "to" {
				want += length(&p, "front", "stand_neck")
			}
			if got := length(&r.Pattern, "collar", "neck_edge"); math.Abs(got-want) > 1e-6 {
				t.Errorf("%s: %.6f mm, want %.6f", claim, got, want)
			}
		}
	}
}

// The seam is a parabola: its length in closed form, with p = 2·rise/x the slope at its end, is
// x/2·(√(1+p²) + asinh(p)/p) (any table of integrals).
func TestTheBandsSeamHasAParabolasLength(t *testing.T) {
	r := apply(t, blouse.Make(blouse.Base()), "band_collar", "rise", 25.0)
	q := r.Pattern.PieceNamed("collar")
	e := q.Edges[q.EdgeNamed("neck_edge")].Path
	x := e.End().X
	p := 2 * 25 / x
	if want := x / 2 * (math.Sqrt(1+p*p) + math.Asinh(p)/p); math.Abs(e.Length()-want) > 1e-6 || math.Abs(e.End().Y-25) > 1e-9 {
		t.Errorf("%.6f mm, want %.6f", e.Length(), want)
	}
}

func TestAStraightBandIsARectangle(t *testing.T) {
	p := blouse.Make(blouse.Base())
	r := apply(t, p, "band_collar", "rise", 0.0, "height", 30.0)
	want := 30 * (length(&p, "front", "neck") + length(&p, "back", "neck"))
	if got := r.Pattern.PieceNamed("collar").Outline().Area(); math.Abs(got-want) > 1e-3 {
		t.Errorf("%.4f mm2, want %.4f", got, want)
	}
}

func TestBandCollarSaysWhatItCannotDo(t *testing.T) {
	for _, c := range []struct {
		claim, rule, pointer, says string
		args                       []any
	}{
		{"no such piece", "unknown_piece", "/front", "frnt", []any{"front", "frnt"}},
		{"no such edge", "unknown_edge", "/neck", "nekc", []any{"neck", "nekc"}},
		{"no stand to run over", "no_stand", "/to", "stand", []any{"to", "edge"}},
		{"raised too far", "out_of_range", "/rise", "raise it less", []any{"rise", 60.0}},
		{"a name that is taken", "name_taken", "/name", "sleeve", []any{"name", "sleeve"}},
		{"nothing to take the place of", "unknown_piece", "/instead_of/0", "binding", []any{"instead_of", "binding"}},
	} {
		d := blouse.Base()
		d.Neck = 70
		_, err := bind(t, "band_collar", c.args...).Apply(blouse.Make(d))
		if err == nil {
			t.Errorf("%s: was made", c.claim)
			continue
		}
		f := pattern.FaultsOf(err)[0]
		if f.Rule != c.rule || f.Pointer != c.pointer || f.Size != "14" || !strings.HasPrefix(f.Detail, "band_collar: ") || !strings.Contains(f.Error(), c.says) || f.Remedy == "" {
			t.Errorf("%s: %+v", c.claim, f)
		}
	}
}

func BenchmarkBandCollar(b *testing.B) {
	p := blouse.Make(blouse.Base())
	c := bind(b, "band_collar")
	for b.Loop() {
		if _, err := c.Apply(p); err != nil {
			b.Fatal(err)
		}
	}
}
