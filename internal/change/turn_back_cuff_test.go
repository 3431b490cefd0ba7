package change_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"sizerun/internal/geom"
	"sizerun/internal/inspect"
	"sizerun/internal/pattern"
	"sizerun/internal/testkit/blouse"
)

func TestATurnBackCuffIsSoundInEverySize(t *testing.T) {
	for _, args := range [][]any{
		{"straighten", true, "depth", 40},
		{"straighten", true, "depth", 30, "facing", 25},
		{"straighten", true, "depth", 40, "facing", 0, "roll", 0},
		{"straighten", true, "depth", 30, "facing", 50, "roll", 6, "finish", 6},
		{"cut", "separate", "depth", 45},
		{"cut", "separate", "depth", 30, "roll", 0, "name", "turnup"},
	} {
		var sizes []inspect.Sized
		for _, p := range blouse.Run() {
			claim := fmt.Sprintf("%v, size %s", args, p.Size)
			r := apply(t, p, "turn_back_cuff", args...)
			passed(t, claim, r.Checks)
			whole(t, claim, sized(t, r))
			tells(t, r)
			sizes = append(sizes, sized(t, r))
		}
		inspected(t, sizes)
	}
}

// On a straight sleeve the cuff is plain arithmetic: so deep, with the turn of cloth twice by half, and so wide.
func TestTheCuffOfAStraightSleeveIsArithmetic(t *testing.T) {
	d := blouse.Base()
	d.Taper = 0
	p := blouse.Make(d)
	was := p.PieceNamed("sleeve")
	for _, c := range []struct{ depth, facing, roll, long float64 }{
		{40, 0, 3, 43}, {40, 25, 3, 68}, {40, 40, 0, 80}, {40, 60, 3, 40 + 60 + 2*3}, {50, 100, 4, 158},
	} {
		r := apply(t, p, "turn_back_cuff", "depth", c.depth, "facing", c.facing, "roll", c.roll)
		q := r.Pattern.PieceNamed("sleeve")
		b := q.Outline().Bounds()
		if low := -d.Underarm - b.Min.Y; math.Abs(low-c.long) > 1e-9 {
			t.Errorf("%+v: the sleeve is %.4f mm longer", c, low)
		}
		for _, e := range []string{"cuff_underarm_back", "cuff_underarm_front"} {
			if l := lengthOf(q, e); math.Abs(l-c.long) > 1e-9 {
				t.Errorf("%+v: %s is %.4f mm long", c, e, l)
			}
		}
		if got, want := q.Outline().Area()-was.Outline().Area(), c.long*d.UpperArm; math.Abs(got-want) > 1e-6 {
			t.Errorf("%+v: %.4f mm2 of cuff, not %.4f", c, got, want)
		}
	}
}

// A second hand folds the paper: every point of the cuff's side, mirrored by coordinates in the folds, must fall
// between the sleeve's own sides, on them.
func TestFoldedPaperLiesOnTheSleeve(t *testing.T) {
	sleeves(t, 31, 40, func(r *rand.Rand, d blouse.Draft, p pattern.Pattern) {
		depth := 15 + r.Float64()*(d.Underarm-30)
		facing := r.Float64() * depth
		if r.IntN(2) == 0 {
			facing = depth + 6 + r.Float64()*(depth-6)
		}
		roll := 5 * r.Float64()
		res, err := bind(t, "turn_back_cuff", "depth", depth, "facing", facing, "roll", roll, "straighten", true).Apply(p)
		if err != nil {
			t.Errorf("%+v: %v", d, err)
			return
		}
		passed(t, fmt.Sprint(depth, facing, roll), res.Checks)
		was, q := p.PieceNamed("sleeve"), res.Pattern.PieceNamed("sleeve")
		for _, e := range []string{"cap_front", "cap_back"} {
			if lengthOf(was, e) != lengthOf(q, e) {
				t.Errorf("%s was touched", e)
			}
		}
		for _, m := range was.Marks {
			if q.MarkNamed(m.Name) == nil {
				t.Errorf("the mark %s is gone", m.Name)
			}
		}
		hem := line(q, "hem_fold")
		y0 := hem.Start().Y + roll/2 // the hem; all folds are level here
		side := sample(q.Edges[q.EdgeNamed("underarm_front")].Path, 600)
		for _, s := range sample(q.Edges[q.EdgeNamed("cuff_underarm_front")].Path, 80) {
			down := y0 - s.Y // so far below the hem along the paper
			up := down - roll
			if up > depth {
				up = 2*depth - up
			}
			if up < 0 {
				up = -up - roll
			}
			if up <= 0 {
				continue // in the turn of cloth
			}
			if off := side.dist(geom.Pt(s.X, y0+up)); off > 0.1 {
				t.Fatalf("depth %.1f facing %.1f roll %.1f: %.3f mm off the side %.1f mm down", depth, facing, roll, off, down)
			}
		}
	})
}

func line(p *pattern.Piece, name string) geom.Path {
	for _, l := range p.Lines {
		if l.Name == name {
			return l.Path
		}
	}
	return nil
}

// A leaning side that is not straightened is mirrored as it leans.
func TestALeaningSideIsMirrored(t *testing.T) {
	p := blouse.Make(blouse.Base())
	q := p.PieceNamed("sleeve")
	i := q.EdgeNamed("hem")
	q.Edges[i].Path = geom.Polyline(q.Edges[i].Path.Start(), q.Edges[i].Path.End())
	q.Edges[i].Src.S1 = q.Edges[i].Path.Length()
	r := apply(t, p, "turn_back_cuff", "depth", 50, "facing", 20, "roll", 0)
	passed(t, "leaning", r.Checks)
	is := r.Pattern.PieceNamed("sleeve")
	raw := lengthOf(is, "cuff_edge")
	lean := blouse.Base().Taper / math.Hypot(blouse.Base().Taper, blouse.Base().Underarm) * 2
	if want := lengthOf(q, "hem") + lean*(50-20); math.Abs(raw-want) > 1e-6 {
		t.Errorf("the raw edge is %.4f mm, by Pythagoras %.4f", raw, want)
	}
}

func TestASeparateCuffCopiesTheSleeve(t *testing.T) {
	sleeves(t, 32, 40, func(r *rand.Rand, d blouse.Draft, p pattern.Pattern) {
		depth, roll := 15+r.Float64()*(d.Underarm-30), 5*r.Float64()
		res, err := bind(t, "turn_back_cuff", "cut", "separate", "depth", depth, "roll", roll).Apply(p)
		if err != nil {
			t.Errorf("%+v: %v", d, err)
			return
		}
		passed(t, fmt.Sprintf("%+v", d), res.Checks)
		q, s := res.Pattern.PieceNamed("cuff"), res.Pattern.PieceNamed("sleeve")
		if q.Cut.Count != 4 || !q.Cut.Pair {
			t.Errorf("cut %+v", q.Cut)
		}
		if off := lengthOf(q, "stitched") - lengthOf(s, "hem"); math.Abs(off) > 1e-9 {
			t.Errorf("sewn edge off by %g", off)
		}
		if a, b := lengthOf(q, "side_start"), lengthOf(q, "side_end"); math.Abs(a-b) > 0.1 || math.Abs(a-depth-roll) > 1e-6 {
			t.Errorf("sides %.3f %.3f", a, b)
		}
	})
}

// A sleeve of two pieces gets a cuff of two, sewn as the sleeve is.
func TestTheCuffOfASplitSleeveIsSewnAsTheSleeveIs(t *testing.T) {
	d := blouse.Base()
	d.Taper = 0
	p := *applied(t, blouse.Make(d), "split", "piece", "sleeve", "from", "crown", "to", obj("edge", "hem", "along", 150))
	both := []any{"piece", []any{"sleeve_left", "sleeve_right"}, "depth", 30, "straighten", true}
	for _, more := range [][]any{nil, {"cut", "separate"}} {
		args := append(append([]any(nil), both...), more...)
		if more != nil {
			args = append(append([]any(nil), both[:4]...), more...)
		}
		r := apply(t, p, "turn_back_cuff", args...)
		passed(t, fmt.Sprint(more), r.Checks)
		if q := r.Pattern.PieceNamed("cuff_sleeve_left"); q != nil && q.Title != "Left sleeve cuff" {
			t.Errorf("a cuff is called %q", q.Title)
		}
		n := len(r.Pattern.Seams) - len(p.Seams)
		if more == nil && n != 0 || more != nil && n != 4 {
			t.Errorf("%v: %d seams more", more, n)
		}
		for _, s := range r.Pattern.Seams {
			x, _ := inspect.Walk(&r.Pattern, s.Sew)
			y, _ := inspect.Walk(&r.Pattern, s.To)
			if off := x.Len - y.Len - s.Drawn; !s.Cap && math.Abs(off) > 0.1 {
				t.Errorf("%v: seam %s is %.3f mm off", more, s.Name, off)
			}
		}
	}
}

func TestTurnBackCuffSaysWhatItCannotDo(t *testing.T) {
	refusals(t, blouse.Make(blouse.Base()), "turn_back_cuff", map[string][]any{
		"unknown_piece /piece":      {"piece", "slev"},
		"unknown_piece /piece/1":    {"piece", []any{"sleeve", "slev"}, "straighten", true},
		"unknown_edge /hem":         {"hem", "cuff"},
		"curved_fold /cut":          {"depth", 40},
		"out_of_range /depth":       {"depth", 90, "straighten", true},
		"out_of_range /facing":      {"depth", 40, "facing", 42},
		"given_twice /facing":       {"cut", "separate", "facing", 20},
		"given_twice /straighten":   {"cut", "separate", "straighten", true},
		"name_taken /name":          {"cut", "separate", "name", "front"},
		"edge_on_fold /hem":         {"piece", "front", "hem", "centre_front"},
		"no_cap /cap":               {"hem", "cap_front"},
		"out_of_range /roll":        {"roll", 16},
		"unknown_argument /cuffing": {"cuffing", 1},
	})
	petals := applied(t, blouse.Make(blouse.Base()), "petal")
	refusals(t, *petals, "turn_back_cuff", map[string][]any{"aslant /hem": {"piece", "sleeve_front", "cut", "separate"}})
	halves := applied(t, blouse.Make(blouse.Base()), "split", "piece", "sleeve", "from", "crown", "to", obj("edge", "hem", "along", 150))
	refusals(t, *halves, "turn_back_cuff", map[string][]any{"edge_sewn /piece": {"piece", "sleeve_left", "straighten", true, "depth", 30}})
	d := blouse.Base()
	d.Taper = 0
	p := applied(t, blouse.Make(d), "turn_back_cuff", "depth", 40)
	refusals(t, *p, "turn_back_cuff", map[string][]any{"unknown_edge /hem": {}})
	refusals(t, blouse.Make(d), "turn_back_cuff", map[string][]any{"out_of_range /facing": {"depth", 40, "facing", 81}})
}

func BenchmarkTurnBackCuff(b *testing.B) {
	benchChange(b, "turn_back_cuff", "depth", 40, "straighten", true)
}
func BenchmarkTurnBackCuffSeparate(b *testing.B) {
	benchChange(b, "turn_back_cuff", "depth", 40, "cut", "separate")
}
