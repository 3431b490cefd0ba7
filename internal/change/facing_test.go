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

func TestEveryFacingIsSoundInEverySize(t *testing.T) {
	for _, args := range [][]any{
		{"along", []any{"front.neck", "back.neck"}},
		{"along", []any{"front.neck", "back.neck"}, "width", 40, "interfacing", true},
		{"along", "front.armhole", "width", 35.0},
		{"along", []any{"front.armhole", "back.armhole"}, "width", 45.0, "name", "armhole_facing"},
		{"along", "front.hem", "width", 50.0, "finish", 6.0},
		{"along", "sleeve.hem", "width", 30.0, "cloth", "lining"},
	} {
		for _, p := range blouse.Run() {
			claim := fmt.Sprintf("%v, size %s", args, p.Size)
			r := apply(t, p, "facing", args...)
			passed(t, claim, r.Checks)
			whole(t, claim, sized(t, r))
		}
	}
}

// Referee: the distance of every sampled point of the inner edge to the faced line, by brute force.
func TestTheInnerEdgeLiesEverywhereAsFarFromTheOuterOne(t *testing.T) {
	p := blouse.Make(blouse.Base())
	r := apply(t, p, "facing", "along", []any{"front.neck", "back.neck"}, "width", 55.0)
	for _, name := range []string{"front_facing", "back_facing"} {
		q := r.Pattern.PieceNamed(name)
		outer := q.Edges[q.EdgeNamed("neck")].Path.Flatten(1e-4)
		inner := q.Edges[q.EdgeNamed("facing_edge")].Path
		for i := 1; i < 200; i++ {
			at := inner.PointAt(inner.Length() * float64(i) / 200)
			best, end := math.Inf(1), false
			for k := 1; k < len(outer); k++ {
				a, b := outer[k-1], outer[k]
				u := b.Sub(a)
				s := at.Sub(a).Dot(u) / u.Dot(u)
				out := k == 1 && s < 0 || k == len(outer)-1 && s > 1
				s = math.Max(0, math.Min(1, s))
				if d := at.Dist(a.Lerp(b, s)); d < best {
					best, end = d, out
				}
			}
			if !end && math.Abs(best-55) > 0.02 {
				t.Fatalf("%s: %.4f mm at %d", name, best, i)
			}
		}
	}
}

func TestAFacingOfAStraightEdgeIsARectangleOfItsWidth(t *testing.T) {
	p := blouse.Make(blouse.Base())
	p.Pieces = append(p.Pieces, rect("panel", 300, 200))
	r := apply(t, p, "facing", "along", "panel.bottom", "width", 40.0)
	q := r.Pattern.PieceNamed("panel_facing")
	if a := q.Outline().Area(); math.Abs(a-300*40) > 1e-3 {
		t.Errorf("%.4f mm2", a)
	}
	if q.Edges[q.EdgeNamed("middle")].Fold != true {
		t.Error("the fold is lost")
	}
}

func TestFacingsAreJoinedWhereTheirPiecesAre(t *testing.T) {
	for _, p := range blouse.Run() {
		r := apply(t, p, "facing", "along", []any{"front.armhole", "back.armhole"}, "width", 40.0, "join", true)
		passed(t, "joined", r.Checks)
		whole(t, "joined", sized(t, r))
		if got := len(r.Pattern.Pieces); got != 4 || r.Pattern.PieceNamed("facing") == nil {
			t.Errorf("size %s: %d pieces: the facing is sewn into a ring at the side, joined at the shoulder", p.Size, got)
		}
	}
}

func TestJoiningKeepsAreasAndLengths(t *testing.T) {
	p := blouse.Make(blouse.Base())
	p.PieceNamed("back").Edges[5].Fold = false
	args := []any{"along", []any{"front.neck", "back.neck"}, "width", 50.0}
	apart := apply(t, p, "facing", args...)
	r := apply(t, p, "facing", append(args, "join", true)...)
	passed(t, "joined", r.Checks)
	whole(t, "joined", sized(t, r))
	q := r.Pattern.PieceNamed("facing")
	want := apart.Pattern.PieceNamed("front_facing").Outline().Area() + apart.Pattern.PieceNamed("back_facing").Outline().Area()
	if got := q.Outline().Area(); math.Abs(got-want) > 0.5 {
		t.Errorf("%.3f mm2, want %.3f", got, want)
	}
	neck := geom.Path(nil)
	for _, e := range q.Edges {
		if strings.HasPrefix(e.Name, "neck") {
			neck = append(neck, e.Path...)
		}
	}
	if want := length(&p, "front", "neck") + length(&p, "back", "neck"); math.Abs(neck.Length()-want) > 1e-6 {
		t.Errorf("its neck is %.4f mm, want %.4f", neck.Length(), want)
	}
}

func TestAFacingTakesThePlaceOfABinding(t *testing.T) {
	p := binding(blouse.Make(blouse.Base()))
	r := apply(t, p, "facing", "along", []any{"front.neck", "back.neck"}, "instead_of", "binding")
	if r.Pattern.PieceNamed("binding") != nil {
		t.Error("the binding is still there")
	}
	whole(t, "instead of a binding", sized(t, r))
}

func TestFacingFollowsASquareNeckRoundItsCorner(t *testing.T) {
	p := blouse.Make(blouse.Base())
	p = apply(t, p, "neckline", "shape", "square", "lower", 40.0, "widen", 10.0).Pattern
	r := apply(t, p, "facing", "along", []any{"front.neck", "front.neck_side", "back.neck"}, "width", 50.0)
	passed(t, "square", r.Checks)
	whole(t, "square", sized(t, r))
}

func TestRandomFacingsAreSoundOrRefused(t *testing.T) {
	r := rand.New(rand.NewPCG(5, 2))
	made := 0
	for range 150 {
		p := blouse.Make(blouse.At(r.IntN(8)))
		q := &p.Pieces[r.IntN(3)]
		along := []any{q.Name + "." + q.Edges[r.IntN(len(q.Edges))].Name}
		for r.IntN(2) == 0 {
			o := &p.Pieces[r.IntN(3)]
			s := o.Name + "." + o.Edges[r.IntN(len(o.Edges))].Name
			if s != along[0] && len(along) == 1 {
				along = append(along, s)
			}
		}
		args := []any{"along", along, "width", 10 + 150*r.Float64(), "join", r.IntN(3) == 0, "interfacing", r.IntN(2) == 0}
		res, ok := attempt(t, p, "facing", args...)
		if !ok {
			continue
		}
		made++
		passed(t, fmt.Sprint(args), res.Checks)
	}
	if made < 40 {
		t.Errorf("only %d of 150 were made", made)
	}
}

func TestFacingSaysWhatItCannotDo(t *testing.T) {
	for _, c := range []struct {
		claim, rule, pointer, says string
		args                       []any
	}{
		{"no such piece", "unknown_piece", "/along/0", "frnt", []any{"along", "frnt.neck"}},
		{"no such edge", "unknown_edge", "/along/1", "nekc", []any{"along", []any{"front.neck", "back.nekc"}}},
		{"edges apart", "not_beside", "/along", "hem", []any{"along", []any{"front.neck", "front.hem"}}},
		{"wider than the piece", "no_parallel", "/width", "narrower", []any{"along", "sleeve.hem", "width", 290.0}},
		{"nothing beside it to join", "nothing_to_join", "/join", "seam", []any{"along", "front.hem", "join", true}},
		{"two folds", "two_folds", "", "fold", []any{"along", []any{"front.neck", "back.neck"}, "join", true}},
		{"a name that is taken", "name_taken", "/name", "front_facing", []any{"along", "front.neck"}},
	} {
		p := blouse.Make(blouse.Base())
		if c.rule == "name_taken" {
			p.Pieces = append(p.Pieces, rect("front_facing", 100, 100))
		}
		_, err := bind(t, "facing", c.args...).Apply(p)
		if err == nil {
			t.Errorf("%s: was made", c.claim)
			continue
		}
		f := pattern.FaultsOf(err)[0]
		if f.Rule != c.rule || f.Pointer != c.pointer || f.Size != "14" || !strings.HasPrefix(f.Detail, "facing: ") || !strings.Contains(f.Error(), c.says) || f.Remedy == "" {
			t.Errorf("%s: %+v", c.claim, f)
		}
	}
}

func BenchmarkFacing(b *testing.B) {
	p := blouse.Make(blouse.Base())
	c := bind(b, "facing", "along", []any{"front.neck", "back.neck"})
	for b.Loop() {
		if _, err := c.Apply(p); err != nil {
			b.Fatal(err)
		}
	}
}
