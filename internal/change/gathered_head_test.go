package change_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"sizerun/internal/inspect"
	"sizerun/internal/pattern"
	"sizerun/internal/testkit/blouse"
)

func TestAPuffKeepsHemUnderarmAndEaseInEverySize(t *testing.T) {
	for _, args := range [][]any{{"by", 100}, {"by", 250, "puff", 50, "lines", 7}, {"by", 60, "reach", 70, "puff", 0}, {"by", 90, "reach", obj("back", 60, "front", 90)}} {
		var sizes []inspect.Sized
		for _, p := range blouse.Run() {
			r := apply(t, p, "gathered_head", args...)
			passes(t, r)
			was, is := p.PieceNamed("sleeve"), r.Pattern.PieceNamed("sleeve")
			for _, e := range []string{"hem", "underarm_front", "underarm_back"} {
				if d := lengthOf(is, e) - lengthOf(was, e); math.Abs(d) > 0.05 {
					t.Errorf("size %s: %s gained %.4f mm", p.Size, e, d)
				}
			}
			sizes = append(sizes, sized(t, r))
		}
		inspected(t, sizes)
	}
}

// Gathers that stop short of the notches get notches of their own, on the cap and on the armhole, where the
// ease between is shared in proportion.
func TestGathersAreMarkedOnCapAndArmhole(t *testing.T) {
	p := blouse.Make(blouse.Base())
	r := apply(t, p, "gathered_head", "by", 120, "reach", 70)
	for _, s := range r.Pattern.Seams {
		if !s.Cap {
			continue
		}
		if len(s.Notches) != 2 || s.Drawn < 30 {
			t.Fatalf("seam %s has notches %v and draws up %.1f mm", s.Name, s.Notches, s.Drawn)
		}
		n := s.Notches[1]
		sew, _ := inspect.Walk(&r.Pattern, s.Sew)
		to, _ := inspect.Walk(&r.Pattern, s.To)
		a, ok1 := sew.MarkAt(n[0].Piece, n[0].Mark)
		b, ok2 := to.MarkAt(n[1].Piece, n[1].Mark)
		if !ok1 || !ok2 {
			t.Fatalf("seam %s: %v is not on it", s.Name, n)
		}
		if s.Name == "armhole_back" { // this walk begins at the crown
			a, b = sew.Len-a, to.Len-b
		}
		ease := blouse.Base().EaseFront
		if s.Name == "armhole_back" {
			ease = blouse.Base().EaseBack
		}
		cap := sew.Len - s.Drawn
		if want := (cap - 70 - 84) / (cap - 84) * ease; math.Abs(a-(cap-70)) > 0.05 || math.Abs(a-b-want) > 0.05 {
			t.Errorf("seam %s: the notches lie after %.3f and %.3f mm, %.3f of ease", s.Name, a, b, want)
		}
	}
}

func TestPuffsOnAnySoundDraft(t *testing.T) {
	sleeves(t, 13, 60, func(r *rand.Rand, d blouse.Draft, p pattern.Pattern) {
		args := []any{"by", 10 + 200*r.Float64(), "puff", 60 * r.Float64(), "lines", 1 + r.IntN(8)}
		if r.IntN(2) == 0 {
			args = append(args, "reach", 40+50*r.Float64())
		}
		x := apply(t, p, "gathered_head", args...)
		passes(t, x)
		is, was := x.Pattern.PieceNamed("sleeve"), p.PieceNamed("sleeve")
		for _, m := range was.Marks {
			if is.MarkNamed(m.Name) == nil {
				t.Errorf("%s was lost", m.Name)
			}
		}
		for _, c := range inspect.Run([]inspect.Sized{{Pattern: x.Pattern}}, blouse.Chart(), inspect.Options{}).Worst() {
			if c.Verdict == inspect.Fail {
				t.Errorf("%v: %s %s.%s %.3f: %s", args, c.Rule, c.Piece, c.Place, c.Measured, c.Text)
			}
		}
	})
}

func TestGatheredHeadSaysWhatItCannotDo(t *testing.T) {
	refuses(t, "gathered_head", []refusal{
		{"no such piece", "unknown_piece", "/piece", "slev", []any{"piece", "slev", "by", 20}},
		{"no such crown", "unknown_point", "/crown", "top", []any{"by", 20, "crown", "top"}},
		{"a crown at the underarm", "off_cap", "/crown", "cap", []any{"by", 20, "crown", "hem_back"}},
		{"gathers past the notch", "out_of_range", "/reach", "notch", []any{"by", 20, "reach", 200}},
		{"lines too near", "slash_order", "/by", "lines", []any{"by", 20, "reach", 20, "lines", 40}},
		{"opened flat", "opens_too_far", "/by", "degrees", []any{"by", 900, "lines", 1}},
	})
}

func BenchmarkGatheredHead(b *testing.B) { benchChange(b, "gathered_head", "by", 150, "reach", 80) }
