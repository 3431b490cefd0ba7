package change_test

import (
	"math"
	"strings"
	"testing"

	"sizerun/internal/pattern"
	"sizerun/internal/testkit/blouse"
)

func TestASlitIsSoundInEverySize(t *testing.T) {
	for _, p := range blouse.Run() {
		r := apply(t, p, "hem_slit", "length", 50.0, "share", 0.25)
		passed(t, p.Size, r.Checks)
		whole(t, p.Size, sized(t, r))
		q := r.Pattern.PieceNamed("sleeve")
		top, at := q.MarkNamed("slit_top"), q.MarkNamed("slit")
		if math.Abs(top.At.Y-at.At.Y-50) > 1e-9 || math.Abs(top.At.X-at.At.X) > 1e-9 || math.Abs(at.S-length(&p, "sleeve", "hem")/4) > 1e-9 {
			t.Errorf("size %s: %v %v", p.Size, top.At, at)
		}
	}
}

func TestHemSlitSaysWhatItCannotDo(t *testing.T) {
	for _, c := range []struct {
		claim, rule, pointer string
		args                 []any
	}{
		{"no such piece", "unknown_piece", "/piece", []any{"piece", "sleve"}},
		{"no such edge", "unknown_edge", "/hem", []any{"hem", "hemm"}},
		{"beside the seam", "out_of_range", "/share", []any{"share", 0.02}},
		{"longer than the sleeve", "slit_leaves_piece", "/length", []any{"length", 300.0}},
		{"an edge along the grain", "along_hem", "/hem", []any{"hem", "underarm_front", "length", 20.0, "share", 0.5}},
		{"a fold", "edge_on_fold", "/hem", []any{"piece", "front", "hem", "centre_front"}},
	} {
		_, err := bind(t, "hem_slit", c.args...).Apply(blouse.Make(blouse.Base()))
		if err == nil {
			t.Errorf("%s: was made", c.claim)
			continue
		}
		f := pattern.FaultsOf(err)[0]
		if f.Rule != c.rule || f.Pointer != c.pointer || f.Size != "14" || !strings.HasPrefix(f.Detail, "hem_slit: ") || f.Remedy == "" {
			t.Errorf("%s: %+v", c.claim, f)
		}
	}
}

// A slit goes with the place where it opens when the sides lean over; where it would end outside, that is told.
func TestASlitGoesWithItsHem(t *testing.T) {
	p := applied(t, blouse.Make(blouse.Base()), "hem_slit", "length", 50, "share", 0.2)
	for _, by := range []float64{-20, 15, 30} {
		r := apply(t, *p, "taper", "piece", "sleeve", "by", by)
		q := r.Pattern.PieceNamed("sleeve")
		top, open := q.MarkNamed("slit_top").At, q.MarkNamed("slit").At
		if l := line(q, "slit"); math.Abs(top.X-open.X) > 1e-6 || math.Abs(top.Dist(open)-50) > 1e-6 || l.Start().Dist(open) > 1e-6 || l.End().Dist(top) > 1e-6 {
			t.Errorf("by %g: from %v to %v, drawn %v", by, open, top, l)
		}
	}
	refusals(t, *p, "lengthen", map[string][]any{"mark_off_piece ": {"piece", "sleeve", "by", -60}})
}

func BenchmarkHemSlit(b *testing.B) {
	p := blouse.Make(blouse.Base())
	c := bind(b, "hem_slit")
	for b.Loop() {
		if _, err := c.Apply(p); err != nil {
			b.Fatal(err)
		}
	}
}
