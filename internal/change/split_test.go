package change_test

import (
	"math"
	"strings"
	"testing"

	"sizerun/internal/inspect"
	"sizerun/internal/pattern"
	"sizerun/internal/testkit/blouse"
)

// yoke splits the back from the armhole to the centre, square to both.
func yoke(kv ...any) []any {
	return append([]any{"piece", "back", "from", obj("edge", "armhole", "from", "shoulder", "along", "3in"), "to", obj("edge", "centre_back", "from", "cb_neck", "along", 110),
		"line", "yoke", "left", "back_low", "right", "back_yoke"}, kv...)
}

func TestAYokeIsSplitOffAndSewnOnAgain(t *testing.T) {
	for _, shape := range []string{"straight", "curved"} {
		var sizes []inspect.Sized
		for _, p := range blouse.Run() {
			was := p.PieceNamed("back")
			args := yoke("shape", shape, "notches", 2)
			if shape == "curved" {
				args = append(args, "from_angle", 80, "fullness", 0.4, "inflection", true)
			}
			r := apply(t, p, "split", args...)
			passes(t, r)
			sizes = append(sizes, sized(t, r))
			y, l := r.Pattern.PieceNamed("back_yoke"), r.Pattern.PieceNamed("back_low")
			if y == nil || l == nil {
				t.Fatalf("pieces are %v", r.Pattern.PieceNames())
			}
			if math.Abs(y.Outline().Area()+l.Outline().Area()-was.Outline().Area()) > 1e-6 {
				t.Errorf("size %s: the areas do not add up", p.Size)
			}
			if math.Abs(lengthOf(y, "armhole")+lengthOf(l, "armhole")-lengthOf(was, "armhole")) > 1e-6 {
				t.Errorf("size %s: the armhole changed its length", p.Size)
			}
			if y.Edges[y.EdgeNamed("centre_back")].Fold != true || l.Edges[l.EdgeNamed("centre_back")].Fold != true {
				t.Errorf("size %s: the fold is lost", p.Size)
			}
		}
		for _, c := range inspect.Run(sizes, blouse.Chart(), inspect.Options{}).Worst() {
			t.Errorf("%s: %s %s size %s %s.%s: %.3f %s in %v: %s", shape, c.Verdict, c.Rule, c.Size, c.Piece, c.Place, c.Measured, c.Unit, c.Want, c.Text)
		}
	}
}

func TestTheArmholeSeamRunsOverBothPartsInTheOrderWalked(t *testing.T) {
	r := apply(t, blouse.Make(blouse.Base()), "split", yoke()...)
	for _, s := range r.Pattern.Seams {
		if s.Name != "armhole_back" {
			continue
		}
		// The cap is walked from the crown, the armhole against its outline: the yoke comes first.
		want := []pattern.EdgeRef{{Piece: "back_yoke", Edge: "armhole", Against: true}, {Piece: "back_low", Edge: "armhole", Against: true}}
		if len(s.To) != 2 || s.To[0] != want[0] || s.To[1] != want[1] {
			t.Errorf("sewn to %v, want %v", s.To, want)
		}
	}
}

func TestTheNewSeamHasNotchesThatMeetAndLinesThatRunOn(t *testing.T) {
	r := apply(t, blouse.Make(blouse.Base()), "split", yoke("notches", 3)...)
	s := r.Pattern.Seams[len(r.Pattern.Seams)-1]
	if s.Name != "back_yoke" || len(s.Notches) != 3 || !s.SmoothStart || !s.SmoothEnd || s.Ease != (pattern.Range{}) {
		t.Fatalf("%+v", s)
	}
	a, _ := inspect.Walk(&r.Pattern, s.Sew)
	b, _ := inspect.Walk(&r.Pattern, s.To)
	for i, n := range s.Notches {
		x, ok1 := a.MarkAt(n[0].Piece, n[0].Mark)
		y, ok2 := b.MarkAt(n[1].Piece, n[1].Mark)
		if !ok1 || !ok2 || math.Abs(x-y) > 1e-6 || math.Abs(x-a.Len*float64(i+1)/4) > 1e-6 {
			t.Errorf("notch %d: %.4f and %.4f mm of %.4f", i+1, x, y, a.Len)
		}
	}
}

func TestAPartThatLeavesTheFoldIsCutTwice(t *testing.T) {
	// A side panel: from the armhole down to the hem.
	r := apply(t, blouse.Make(blouse.Base()), "split", "piece", "front", "from", obj("edge", "armhole", "from", "underarm", "along", 90), "to", obj("edge", "hem", "from", "hem_side", "along", 90), "left", "centre_front_panel", "right", "side_front", "shape", "curved")
	if c := r.Pattern.PieceNamed("centre_front_panel").Cut; c.Count != 1 || c.Pair {
		t.Errorf("the panel on the fold is cut %+v", c)
	}
	side := r.Pattern.PieceNamed("side_front")
	if side.Cut.Count != 2 || !side.Cut.Pair {
		t.Errorf("the side panel is cut %+v", side.Cut)
	}
	if side.MarkNamed("front_notch") == nil || side.MarkNamed("waist") == nil || side.MarkNamed("bust_point") != nil {
		t.Errorf("marks went to the wrong side: %+v", side.Marks)
	}
}

func TestTwoEndsOnOneEdgeKeepBothStretchesApart(t *testing.T) {
	p := blouse.Make(blouse.Base())
	r := apply(t, p, "split", "piece", "sleeve", "shape", "curved",
		"from", obj("edge", "hem", "from", "hem_back", "along", 120), "to", obj("edge", "hem", "from", "hem_back", "along", 220), "left", "sleeve_main", "right", "pane", "from_angle", 90, "to_angle", 90)
	m, w := r.Pattern.PieceNamed("sleeve_main"), r.Pattern.PieceNamed("pane")
	if m.EdgeNamed("hem") < 0 || m.EdgeNamed("hem_2") < 0 {
		t.Fatalf("edges are %v", m.EdgeNames())
	}
	if l := lengthOf(m, "hem") + lengthOf(m, "hem_2") + lengthOf(w, "hem"); math.Abs(l-lengthOf(p.PieceNamed("sleeve"), "hem")) > 1e-6 {
		t.Errorf("the hem is %.4f mm in all", l)
	}
}

func TestALaterChangeSpeaksOfWhatAnEarlierOneMade(t *testing.T) {
	p := blouse.Make(blouse.Base())
	a := apply(t, p, "petal")
	r := apply(t, a.Pattern, "split", "piece", "sleeve_back", "from", obj("edge", "petal", "from", "petal_end", "along", 100), "to", obj("edge", "underarm_back", "from", "underarm_back", "along", 50), "left", "upper", "right", "lower", "shape", "curved", "inflection", true)
	passes(t, r)
	for _, n := range []string{"upper", "lower"} {
		q := r.Pattern.PieceNamed(n)
		if q.Of != "sleeve" || q.EdgeNamed("petal") < 0 {
			t.Errorf("%s comes from %s and has %v", n, q.Of, q.EdgeNames())
		}
		if o := q.Edges[q.EdgeNamed("petal")].Own; o == nil || o.Turned != 2 {
			t.Errorf("%s.petal lost its narrow hem", n)
		}
	}
	sew(t, r.Pattern, blouse.Base())
}

func TestALineThroughADartIsRefused(t *testing.T) {
	p := blouse.Make(blouse.Base())
	p.PieceNamed("back").Darts = []pattern.Dart{{Name: "d", First: "side", Second: "armhole"}}
	_, err := bind(t, "split", yoke()...).Apply(p)
	if f := pattern.FaultsOf(err); err == nil || f[0].Rule != "through_dart" {
		t.Errorf("%v", err)
	}
}

func TestSplitSaysWhatItCannotDo(t *testing.T) {
	hem := func(d float64) pattern.Arg { return obj("edge", "hem", "from", "hem_side", "along", d) }
	for _, c := range []struct {
		claim, rule, pointer, says string
		args                       []any
	}{
		{"no such piece", "unknown_piece", "/piece", "frnt", []any{"piece", "frnt", "from", hem(9), "to", hem(90)}},
		{"no such edge", "unknown_edge", "/to/edge", "hemm", []any{"piece", "front", "from", hem(90), "to", obj("edge", "hemm", "along", 9)}},
		{"a place past the edge", "off_edge", "/from/along", "2000", []any{"piece", "front", "from", hem(2000), "to", "neck"}},
		{"a place inside the piece", "off_outline", "/from", "inside", []any{"piece", "front", "from", "bust_point", "to", "neck"}},
		{"a line that leaves the piece", "line_leaves_piece", "/to", "armhole", []any{"piece", "front", "from", "shoulder", "to", "underarm"}},
		{"a line along the outline", "line_touches_outline", "/to", "centre_front", []any{"piece", "front", "from", "cf_hem", "to", "cf_neck"}},
		{"a line of no length", "line_too_short", "/to", "2 mm", []any{"piece", "front", "from", hem(100), "to", hem(101)}},
		{"an end a hair from a corner", "near_corner", "/from", "0.50", []any{"piece", "front", "from", hem(0.5), "to", "neck"}},
		{"a name that is taken", "name_taken", "/piece", "sleeve", []any{"piece", "front", "from", hem(100), "to", obj("edge", "shoulder", "along", 40), "left", "sleeve"}},
	} {
		_, err := bind(t, "split", c.args...).Apply(blouse.Make(blouse.Base()))
		if err == nil {
			t.Errorf("%s: was made", c.claim)
			continue
		}
		f := pattern.FaultsOf(err)[0]
		if f.Rule != c.rule || f.Pointer != c.pointer || f.Size != "14" || !strings.HasPrefix(f.Detail, "split: ") || !strings.Contains(f.Error(), c.says) || f.Remedy == "" {
			t.Errorf("%s: %+v", c.claim, f)
		}
	}
}
