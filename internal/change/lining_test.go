package change_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"sizerun/internal/inspect"
	"sizerun/internal/pattern"
	"sizerun/internal/testkit/blouse"
)

func TestALiningIsTheShellLessItsFacingsInEverySize(t *testing.T) {
	spec := []any{"lining", "pieces", []any{"front", "back"}, "facing", []any{"front_facing", "back_facing"}, "pleat_at", "back.centre_back", "pleat", 25, "shorter", 22}
	for i, r := range green(t, blouse.Run(), blouse.Chart(), []any{"facing", "along", []any{"front.neck", "back.neck"}, "width", 55}, spec) {
		p := blouse.Run()[i]
		f, b := r.Pattern.PieceNamed("front_lining"), r.Pattern.PieceNamed("back_lining")
		if f == nil || b == nil || f.Cut.Cloth != "lining" {
			t.Fatalf("pieces are %v", r.Pattern.PieceNames())
		}
		// The shoulder loses the facing's width.
		if l := lengthOf(f, "shoulder"); math.Abs(l-(lengthOf(p.PieceNamed("front"), "shoulder")-55)) > 1.5 {
			t.Errorf("size %s: a shoulder of %.2f mm", p.Size, l)
		}
		if math.Abs(lengthOf(f, "side")-(lengthOf(p.PieceNamed("front"), "side")-22)) > 0.1 {
			t.Errorf("size %s: the side lost %.3f mm", p.Size, lengthOf(p.PieceNamed("front"), "side")-lengthOf(f, "side"))
		}
		if math.Abs(lengthOf(f, "armhole")-lengthOf(p.PieceNamed("front"), "armhole")) > 1e-9 {
			t.Error("the armhole changed")
		}
		k := b.EdgeNamed("centre_back")
		if x := b.Edges[k].Path.Start().X; math.Abs(x+25) > 1e-6 || !b.Edges[k].Fold {
			t.Errorf("the fold of the back lies at %.3f", x)
		}
		want := map[string]bool{"lining_shoulder": true, "lining_side": true, "front_lining_front_facing": true, "back_lining_back_facing": true}
		for _, s := range r.Pattern.Seams {
			delete(want, s.Name)
		}
		if len(want) > 0 {
			t.Errorf("seams %v are missing", want)
		}
		tells(t, r)
	}
}

func TestASkirtLiningKeepsItsDartsAndSeams(t *testing.T) {
	for _, r := range green(t, skirtRun(), skirtChart(), []any{"lining", "pieces", []any{"front", "back"}, "shorter", 30}) {
		f := r.Pattern.PieceNamed("front_lining")
		if len(f.Darts) != 1 || f.MarkNamed("hip") == nil || math.Abs(lengthOf(f, "waist_side")-lengthOf(r.Pattern.PieceNamed("front"), "waist_side")) > 1e-9 {
			t.Errorf("%+v", f)
		}
		n := 0
		for _, s := range r.Pattern.Seams {
			if s.Sew[0].Piece == "front_lining" || s.Sew[0].Piece == "back_lining" {
				n++
			}
		}
		if n != 3 {
			t.Errorf("%d seams", n)
		}
	}
}

func TestLiningSaysWhatItCannotDo(t *testing.T) {
	top := apply(t, blouse.Make(blouse.Base()), "facing", "along", []any{"front.neck", "back.neck"}).Pattern
	for _, c := range []struct {
		claim, rule, pointer string
		args                 []any
	}{
		{"a piece that is not there", "unknown_piece", "/pieces", []any{"pieces", "coat"}},
		{"a facing that is none", "no_facing", "/facing", []any{"pieces", []any{"front", "back"}, "facing", "sleeve"}},
		{"only one side of the shoulder faced", "seam_broken", "/facing", []any{"pieces", []any{"front", "back"}, "facing", "front_facing"}},
		{"a pleat away from the fold", "no_fold", "/pleat_at", []any{"pieces", "back", "pleat_at", "back.side"}},
		{"a pleat in a piece that is not lined", "unknown_piece", "/pleat_at", []any{"pieces", "back", "pleat_at", "front.centre_front"}},
		{"a name that is taken", "name_taken", "/name", []any{"pieces", "front", "name", "facing"}},
	} {
		_, err := bind(t, "lining", c.args...).Apply(top)
		if err == nil {
			t.Errorf("%s was made", c.claim)
			continue
		}
		f := pattern.FaultsOf(err)[0]
		if f.Rule != c.rule || f.Pointer != c.pointer || f.Size != "14" || f.Piece == "" || f.Remedy == "" || f.Valid == "" {
			t.Errorf("%s: %+v", c.claim, f)
		}
	}
}

func TestLiningsOfAnySkirtKeepTheirPromises(t *testing.T) {
	r := rand.New(rand.NewPCG(6, 3))
	made := 0
	for range 80 {
		p := anySkirt(r)
		args := []any{"pieces", []any{"front", "back"}, "shorter", 120 * r.Float64()}
		if r.IntN(2) == 0 {
			args = append(args, "pleat_at", "front.centre", "pleat", 2+70*r.Float64())
		}
		res, ok := attempt(t, p, "lining", args...)
		if !ok {
			continue
		}
		made++
		passes(t, res)
		for _, c := range inspect.Run([]inspect.Sized{{Pattern: res.Pattern}}, skirtChart(), inspect.Options{}).Worst() {
			if c.Rule != "grain_length" && c.Rule != "mark_corner" {
				t.Errorf("%v: %s %s %s.%s: %.3f in %v: %s", args, c.Verdict, c.Rule, c.Piece, c.Place, c.Measured, c.Want, c.Text)
			}
		}
	}
	if made < 50 {
		t.Errorf("only %d were made", made)
	}
}

func BenchmarkLining(b *testing.B) {
	benchOn(b, skirtBase().make(), "lining", "pieces", []any{"front", "back"})
}
