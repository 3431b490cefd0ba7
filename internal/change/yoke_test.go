package change_test

import (
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"sizerun/internal/change"
	"sizerun/internal/geom"
	"sizerun/internal/inspect"
	"sizerun/internal/pattern"
	"sizerun/internal/testkit/blouse"
)

// backYoke runs straight across the back from the centre; cut to order by more arguments.
func backYoke(kv ...any) []any {
	return append([]any{"yoke", "piece", "back", "from", obj("edge", "centre_back", "from", "cb_neck", "along", 110)}, kv...)
}

// hipYoke is curved, along the waist of the test skirt, over the points of its darts.
func hipYoke(piece, centre string, kv ...any) []any {
	return append([]any{"yoke", "piece", piece, "shape", "curved", "centre", centre,
		"from", obj("edge", centre, "from", "waist_centre", "along", 95), "to", obj("edge", "side", "from", "waist_at_side", "along", 92), "dart", "dart"}, kv...)
}

func TestYokesAreSoundInEverySize(t *testing.T) {
	frontTo := obj("edge", "armhole", "from", "shoulder", "along", 60)
	for name, c := range map[string][]any{
		"straight across the back": backYoke("notches", 2),
		"level to a place":         backYoke("to", obj("edge", "armhole", "from", "shoulder", "along", 70)),
		"curved":                   backYoke("to", obj("edge", "armhole", "from", "shoulder", "along", 60), "shape", "curved", "curve", 0.5),
		"pointed":                  backYoke("to", obj("edge", "armhole", "from", "shoulder", "along", 50), "shape", "pointed", "point", 25, "point_at", 0.6),
		"a point at the centre":    backYoke("to", obj("edge", "armhole", "from", "shoulder", "along", 50), "square", false),
		"gathered":                 backYoke("fullness", 45),
		"gathered near the centre": backYoke("fullness", 45, "gathers", 60, "notches", 2),
		"box pleated":              backYoke("fullness", 40, "into", "box_pleat"),
		"of the front":             {"yoke", "piece", "front", "from", frontTo, "to", obj("edge", "centre_front", "from", "cf_neck", "along", 30)},
		"from neck to armhole":     {"yoke", "piece", "front", "from", obj("edge", "neck", "from", "neck", "along", 35), "to", obj("edge", "armhole", "from", "shoulder", "along", 35)},
	} {
		var sizes []inspect.Sized
		for _, p := range dartedRun(usual()) {
			was := p.PieceNamed(c[2].(string))
			r := apply(t, p, "yoke", c[1:]...)
			passes(t, r)
			y, l := r.Pattern.PieceNamed(was.Name+"_yoke"), r.Pattern.PieceNamed(was.Name)
			if y == nil || l == nil {
				t.Fatalf("%s: pieces are %v", name, r.Pattern.PieceNames())
			}
			finite(t, name, nil, y)
			finite(t, name, nil, l)
			if y.EdgeNamed("shoulder") < 0 || y.EdgeNamed("hem") >= 0 {
				t.Errorf("%s: the yoke has the edges %v", name, y.EdgeNames())
			}
			tells(t, r)
			sizes = append(sizes, cutOut(t, r))
		}
		for _, c := range inspect.Run(sizes, blouse.Chart(), inspect.Options{}).Worst() {
			t.Errorf("%s: %s %s size %s %s.%s: %.3f %s in %v: %s", name, c.Verdict, c.Rule, c.Size, c.Piece, c.Place, c.Measured, c.Unit, c.Want, c.Text)
		}
	}
}

// Straight across, the seam is as long as the piece is wide there, and yoke and lower part are the piece.
func TestAYokeStraightAcrossIsAsLongAsThePieceIsWide(t *testing.T) {
	p := blouse.Make(blouse.Base())
	was := p.PieceNamed("back")
	r := apply(t, p, "yoke", backYoke()[1:]...)
	y, l := r.Pattern.PieceNamed("back_yoke"), r.Pattern.PieceNamed("back")
	e := y.Edges[y.EdgeNamed("yoke")].Path
	if math.Abs(e.Start().Y-e.End().Y) > 1e-9 || math.Abs(e.Length()-math.Abs(e.Start().X-e.End().X)) > 1e-9 {
		t.Errorf("from %v to %v, %.3f mm", e.Start(), e.End(), e.Length())
	}
	if off := y.Outline().Area() + l.Outline().Area() - was.Outline().Area(); math.Abs(off) > 1e-6 {
		t.Errorf("the areas differ by %v mm2", off)
	}
	for _, s := range r.Pattern.Seams {
		if s.Name == "armhole_back" && len(s.To) != 2 {
			t.Errorf("the armhole is sewn to %v", s.To)
		}
	}
}

// The hip yoke of a skirt: the darts are shut in it, so its two ends lean together by their angle.
func TestAHipYokeTakesInItsDarts(t *testing.T) {
	for i, r := range green(t, skirtRun(), skirtChart(), hipYoke("front", "centre"), hipYoke("back", "centre", "name", "seat_yoke")) {
		p := skirtRun()[i]
		for _, n := range [2][2]string{{"front", "front_yoke"}, {"back", "seat_yoke"}} {
			was, y, l := p.PieceNamed(n[0]), r.Pattern.PieceNamed(n[1]), r.Pattern.PieceNamed(n[0])
			if len(y.Darts)+len(l.Darts) != 0 {
				t.Fatalf("%s: a dart is left", n[0])
			}
			// A dart is as wide as its mouth at the line's distance: seen from the point on the line.
			d1 := was.Edges[was.EdgeNamed("dart_1")].Path
			d2 := was.Edges[was.EdgeNamed("dart_2")].Path
			mouth := d1.Start().Dist(d2.End())
			if n[0] == "back" {
				mouth = d2.Start().Dist(d1.End())
			}
			dot := l.MarkNamed("dart_tip_dot")
			if dot == nil || dot.Edge != "yoke" || y.MarkNamed("dart_tip_dot") == nil {
				t.Fatalf("%s: the dart's dot is %+v", n[0], dot)
			}
			a := d1.Start()
			if n[0] == "back" {
				a = d2.Start()
			}
			angle := 2 * math.Asin(mouth/2/a.Dist(dot.At)) * 180 / math.Pi
			if turned := turn(was, "side", "centre") - turn(y, "side", "centre"); math.Abs(math.Abs(turned)-angle) > 0.05 {
				t.Errorf("size %s %s: the side leans by %.3f degrees, the dart has %.3f", p.Size, n[0], turned, angle)
			}
			if off := lengthOf(y, "waist_centre") + lengthOf(y, "waist_side") - lengthOf(was, "waist_centre") - lengthOf(was, "waist_side"); math.Abs(off) > 0.1 {
				t.Errorf("the waist changed by %.3f", off)
			}
			if path := y.Edges[y.EdgeNamed("yoke")].Path; len(path) < 2 {
				t.Errorf("the seam is %v", path)
			}
		}
		for _, s := range r.Pattern.Seams {
			if s.Name == "side" && (len(s.Sew) != 2 || len(s.To) != 2) || strings.HasPrefix(s.Name, "dart_") {
				t.Errorf("%+v", s)
			}
		}
	}
}

// turn is the angle between the beginnings of two edges, as the top of the piece has them, in degrees.
func turn(p *pattern.Piece, a, b string) float64 {
	top := func(n string) geom.Vec {
		e := p.Edges[p.EdgeNamed(n)].Path
		if e.Start().Y > e.End().Y {
			return e.StartTangent()
		}
		return e.EndTangent().Neg()
	}
	return top(a).AngleTo(top(b)) * 180 / math.Pi
}

func TestFullnessIsAddedAtTheCentre(t *testing.T) {
	p := blouse.Make(blouse.Base())
	was := p.PieceNamed("back")
	for _, into := range []string{"gathers", "box_pleat"} {
		r := apply(t, p, "yoke", backYoke("fullness", 40, "into", into)[1:]...)
		l := r.Pattern.PieceNamed("back")
		if got := l.Outline().Bounds().W() - was.Outline().Bounds().W(); math.Abs(got-40) > 0.01 {
			t.Errorf("%s: the back is %.3f mm wider", into, got)
		}
		if got := lengthOf(l, "hem") - lengthOf(was, "hem"); math.Abs(got-40) > 0.01 {
			t.Errorf("%s: the hem is %.3f mm longer", into, got)
		}
		s := r.Pattern.Seams[len(r.Pattern.Seams)-1]
		if into == "box_pleat" {
			// The lower part meets the yoke with its panel and what lies beside the pleat; the last seam is the underlay's.
			s = r.Pattern.Seams[len(r.Pattern.Seams)-2]
			if len(s.Sew) != 2 || s.Drawn != 0 {
				t.Errorf("%+v", s)
			}
			// On the fold, half the panel is as wide as the pleat is deep: the inner folds meet behind the centre.
			at := map[string]float64{}
			for _, x := range l.Lines {
				at[x.Name[len(x.Name)-4:]] = x.Path.Start().X
			}
			c := l.Edges[l.EdgeNamed("centre_back")].Path.Start().X
			if math.Abs(at["fold"]-c-20) > 0.01 || math.Abs(at["nder"]-c-40) > 0.01 || math.Abs(at["1_to"]-c-60) > 0.01 {
				t.Errorf("the pleat lies at %v, the centre at %v", at, c)
			}
		} else if s.Drawn != 40 || len(s.Notches) != 2 {
			t.Errorf("%+v", s)
		}
	}
}

func TestRandomYokesKeepWhatTheyOwe(t *testing.T) {
	made, shut := 0, 0
	r := rand.New(rand.NewPCG(77, 1))
	try := func(p pattern.Pattern, args []any) {
		b, err := change.Bind(pattern.ChangeSpec{Change: "yoke", Args: obj(args...)})
		if err != nil {
			return
		}
		res, err := b.Apply(p)
		if err != nil {
			for _, f := range pattern.FaultsOf(err) {
				if f.Rule == "" || f.Size == "" || f.Remedy == "" || f.Pointer == "" && f.Piece == "" || strings.Contains(f.Error(), "NaN") {
					t.Errorf("%v: %+v", args, f)
				}
			}
			return
		}
		made++
		for _, c := range res.Checks {
			if c.Verdict == inspect.Fail {
				t.Errorf("%v: %s %.4f in %v ± %g", args, c.Rule, c.Measured, c.Want, c.Tolerance)
			}
			if c.Rule == "yoke_swept" {
				shut++
			}
		}
		for i := range res.Pattern.Pieces {
			finite(t, "yoke", args, &res.Pattern.Pieces[i])
		}
	}
	place := func(q *pattern.Piece) any {
		e := &q.Edges[r.IntN(len(q.Edges))]
		return obj("edge", e.Name, "along", r.Float64()*e.Path.Length())
	}
	shapes := []string{"straight", "curved", "pointed"}
	dartFronts(t, 21, 120, func(_ *rand.Rand, p pattern.Pattern, _ darts) {
		n := []string{"front", "back"}[r.IntN(2)]
		q := p.PieceNamed(n)
		args := []any{"piece", n, "from", place(q), "to", place(q), "shape", shapes[r.IntN(3)], "point", 80*r.Float64() - 40, "angle", 50 + 80*r.Float64(), "notches", r.IntN(4)}
		if r.IntN(2) == 0 {
			args = append(args, "fullness", 10+60*r.Float64(), "into", []string{"gathers", "box_pleat"}[r.IntN(2)])
		}
		try(p, args)
		if n == "back" {
			try(p, []any{"piece", "back", "from", obj("edge", "centre_back", "from", "cb_neck", "along", 200*r.Float64())})
		}
	})
	for range 100 {
		p := anySkirt(r)
		n := []string{"front", "back"}[r.IntN(2)]
		try(p, []any{"piece", n, "shape", shapes[r.IntN(2)], "centre", "centre", "from", obj("edge", "centre", "from", "waist_centre", "along", 60+80*r.Float64()),
			"to", obj("edge", "side", "from", "waist_at_side", "along", 60+80*r.Float64()), "dart", "dart", "fullness", 60 * r.Float64(), "reach", 60})
	}
	if made < 120 || shut < 40 {
		t.Errorf("only %d were made, %d with a dart", made, shut)
	}
	t.Logf("%d made, %d with a dart", made, shut)
}

func TestYokesAreRefusedWhereTheyCannotBe(t *testing.T) {
	p := darted(blouse.Base(), usual())
	cb := obj("edge", "centre_back", "from", "cb_neck", "along", 110)
	arm := obj("edge", "armhole", "from", "shoulder", "along", 60)
	refusals(t, p, "yoke", map[string][]any{
		"no_end /to":               {"piece", "back", "from", arm},
		"unknown_piece /piece":     {"piece", "bck", "from", cb},
		"unknown_edge /centre":     {"piece", "back", "from", cb, "centre", "cb"},
		"along_centre /to":         {"piece", "back", "from", cb, "to", obj("edge", "centre_back", "from", "cb_neck", "along", 210)},
		"unknown_dart /dart":       {"piece", "front", "from", obj("edge", "centre_front", "from", "cf_neck", "along", 40), "dart", "waist"},
		"bad_name /name":           {"piece", "back", "from", cb, "name", "back"},
		"line_steep /to":           {"piece", "back", "from", cb, "to", obj("edge", "side", "from", "hem_side", "along", 20)},
		"pointed_dart /shape":      {"piece", "front", "from", arm, "to", obj("edge", "centre_front", "from", "cf_neck", "along", 30), "shape", "pointed", "dart", "bust"},
		"dart_far /dart":           {"piece", "front", "from", arm, "to", obj("edge", "centre_front", "from", "cf_neck", "along", 30), "dart", "bust"},
		"through_dart /dart":       {"piece", "front", "from", obj("edge", "armhole", "from", "shoulder", "along", 110), "to", obj("edge", "hem", "from", "hem_side", "along", 60), "square", false},
		"no_centre /fullness":      {"piece", "front", "from", obj("edge", "neck", "from", "neck", "along", 35), "to", arm, "fullness", 30},
		"no_room /gathers":         {"piece", "back", "from", cb, "fullness", 30, "gathers", 900},
		"out_of_range /fullness":   {"piece", "back", "from", cb, "fullness", 4},
		"name_taken /line":         {"piece", "back", "from", cb, "line", "armhole"},
		"name_taken /name":         {"piece", "back", "from", cb, "name", "front"},
		"unknown_edge /hem":        {"piece", "back", "from", cb, "fullness", 40, "into", "box_pleat", "hem", "hm"},
		"line_leaves_piece /to":    {"piece", "front", "from", obj("edge", "neck", "from", "neck", "along", 10), "to", obj("edge", "neck", "from", "cf_neck", "along", 5)},
		"pleat_line /fullness":     {"piece", "back", "from", cb, "fullness", 500, "into", "box_pleat"},
		"missing_argument /from":   {"piece", "back"},
		"unknown_edge /from/edge":  {"piece", "back", "from", obj("edge", "cb", "along", 3)},
		"unknown_choice /into":     {"piece", "back", "from", cb, "into", "tucks"},
		"line_too_short /to":       {"piece", "back", "from", cb, "to", obj("edge", "centre_back", "from", "cb_neck", "along", 111), "centre", "hem"},
		"unknown_piece /join":      {"piece", "back", "from", cb, "join", "frnt_yoke"},
		"no_seam /join":            {"piece", "back", "from", cb, "join", "sleeve"},
		"unknown_argument /depths": {"piece", "back", "from", cb, "depths", 3},
	})
}

// Other changes speak of what a yoke made: a dart is gathered into its seam, and the seam's own notches stay.
func TestADartIsGatheredIntoAYoke(t *testing.T) {
	for _, p := range dartedRun(usual()) {
		p = apply(t, p, "yoke", "piece", "front", "from", obj("edge", "armhole", "from", "shoulder", "along", 60), "to", obj("edge", "centre_front", "from", "cf_neck", "along", 25)).Pattern
		r := apply(t, p, "dart_to_gathers", "piece", "front", "bust", "bust_point", "to", obj("edge", "yoke", "along", 70), "spread", 30)
		passes(t, r)
		for _, s := range r.Pattern.Seams {
			if s.Name == "front_yoke" && (s.Drawn < 10 || len(s.Notches) < 3) {
				t.Errorf("%+v", s)
			}
		}
	}
}

// The front's shoulder part and the back's yoke are cut in one: no shoulder seam, and neck and armhole run on.
func TestAFrontYokeIsJoinedToTheBackYoke(t *testing.T) {
	var sizes []inspect.Sized
	for _, p := range dartedRun(usual()) {
		p = apply(t, p, "yoke", "piece", "front", "from", obj("edge", "neck", "from", "neck", "along", 35), "to", obj("edge", "armhole", "from", "shoulder", "along", 35)).Pattern
		area := p.PieceNamed("front_yoke").Outline().Area()
		r := apply(t, p, "yoke", backYoke("fullness", 40, "join", "front_yoke")[1:]...)
		passes(t, r)
		tells(t, r)
		q := r.Pattern.PieceNamed("back_yoke")
		finite(t, "joined", nil, q)
		if r.Pattern.PieceNamed("front_yoke") != nil || q.EdgeNamed("shoulder") >= 0 || q.Outline().Area() < area {
			t.Errorf("size %s: %v %v", p.Size, r.Pattern.PieceNames(), q.EdgeNames())
		}
		in := q.EdgeNamed("neck")
		for _, s := range r.Pattern.Seams {
			if s.Name == "shoulder" {
				t.Error("the shoulder is still sewn")
			}
			for _, x := range append(append([]pattern.EdgeRef{}, s.Sew...), s.To...) {
				if x.Piece == "front_yoke" {
					t.Errorf("%s speaks of the front yoke", s.Name)
				}
			}
		}
		if in < 0 {
			t.Errorf("no neck among %v", q.EdgeNames())
		}
		sizes = append(sizes, cutOut(t, r))
	}
	for _, c := range inspect.Run(sizes, blouse.Chart(), inspect.Options{}).Worst() {
		t.Errorf("%s %s size %s %s.%s: %.3f %s in %v: %s", c.Verdict, c.Rule, c.Size, c.Piece, c.Place, c.Measured, c.Unit, c.Want, c.Text)
	}
}

func BenchmarkYoke(b *testing.B) {
	for name, args := range map[string][]any{"across": backYoke(), "gathered": backYoke("fullness", 40), "pleated": backYoke("fullness", 40, "into", "box_pleat")} {
		b.Run(name, func(b *testing.B) {
			c := bind(b, "yoke", args[1:]...)
			p := blouse.Make(blouse.Base())
			for b.Loop() {
				if _, err := c.Apply(p); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
	b.Run("hip", func(b *testing.B) {
		c := bind(b, "yoke", hipYoke("front", "centre")[1:]...)
		p := skirtBase().make()
		for b.Loop() {
			if _, err := c.Apply(p); err != nil {
				b.Fatal(err)
			}
		}
	})
}
