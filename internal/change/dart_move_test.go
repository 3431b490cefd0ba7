package change_test

import (
	"fmt"
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

// toShoulder moves the bust dart to the middle of the shoulder about the bust point.
func toShoulder(kv ...any) []any {
	return append([]any{"piece", "front", "dart", "bust", "bust", "bust_point", "to", obj("between", []any{"neck", "shoulder"}, "share", 0.5)}, kv...)
}

func TestAMovedDartKeepsItsPromisesInEverySize(t *testing.T) {
	for _, to := range []any{obj("between", []any{"neck", "shoulder"}, "share", 0.5), obj("edge", "hem", "from", "hem_side", "along", 120), obj("edge", "armhole", "from", "underarm", "along", 60), obj("edge", "neck", "from", "neck", "along", 70)} {
		var sizes []inspect.Sized
		for _, p := range dartedRun(usual()) {
			r := apply(t, p, "dart_move", "piece", "front", "bust", "bust_point", "to", to)
			passes(t, r)
			seamsMatch(t, &r.Pattern, nil)
			finite(t, "dart_move", nil, r.Pattern.PieceNamed("front"))
			sizes = append(sizes, sized(t, r))
		}
		for _, c := range inspect.Run(sizes, blouse.Chart(), inspect.Options{}).Worst() {
			t.Errorf("%v: %s %s size %s %s.%s: %.3f %s in %v: %s", to, c.Verdict, c.Rule, c.Size, c.Piece, c.Place, c.Measured, c.Unit, c.Want, c.Text)
		}
	}
}

// Rotating a dart keeps its angle, the seam lengths and the area (exact geometry; TRUTH of the trade's
// pivot method). The referee slashes the outline as a dense polyline and turns its points one by one.
func TestAMovedDartAgreesWithOneMadeOfPolylines(t *testing.T) {
	worst := 0.0
	dartFronts(t, 3, 60, func(r *rand.Rand, p pattern.Pattern, o darts) {
		f := p.PieceNamed("front")
		edge := []string{"shoulder", "armhole", "neck", "side_lower", "hem", "side_upper"}[r.IntN(6)]
		along := (0.15 + 0.7*r.Float64()) * lengthOf(f, edge)
		res, err := bind(t, "dart_move", "piece", "front", "bust", "bust_point", "set_back", 15, "to", obj("edge", edge, "along", along), "trued", false).Apply(p)
		if err != nil {
			if !strings.Contains(fmt.Sprint(err), "would cross itself") && !strings.Contains(fmt.Sprint(err), "mm long") {
				t.Errorf("%+v %s %.1f: %v", o, edge, along, err)
			}
			return
		}
		q := res.Pattern.PieceNamed("front")
		// Referee: the outline as points, from the mouth's end to the new place, and on to the mouth's start.
		bust := f.MarkNamed("bust_point").At
		a := f.Edges[f.EdgeNamed("dart_upper")].Path.Start()
		b := f.Edges[f.EdgeNamed("dart_lower")].Path.End()
		var before, after []geom.Point
		past := false
		n := len(f.Edges)
		for k := range n - 2 {
			e := &f.Edges[(f.EdgeNamed("dart_lower")+1+k)%n]
			l := e.Path.Length()
			for i := range 101 {
				s := l * float64(i) / 100
				if e.Name == edge && s > along {
					past = true
				}
				if past {
					after = append(after, e.Path.PointAt(s))
				} else {
					before = append(before, e.Path.PointAt(s))
				}
			}
			past = past || e.Name == edge
		}
		turn := math.Atan2(b.Y-bust.Y, b.X-bust.X) - math.Atan2(a.Y-bust.Y, a.X-bust.X)
		move := func(pts []geom.Point, by float64) {
			for i, x := range pts {
				dx, dy := x.X-bust.X, x.Y-bust.Y
				pts[i] = geom.Pt(bust.X+dx*math.Cos(by)-dy*math.Sin(by), bust.Y+dx*math.Sin(by)+dy*math.Cos(by))
			}
		}
		// The centre front stays: it lies in one of the two.
		if k := f.EdgeNamed("centre_front"); before[0].Dist(b) < 1e-9 && edge != "hem" && edge != "side_lower" {
			_ = k
			move(after, turn)
		} else {
			move(before, -turn)
		}
		out := q.Outline()
		for _, x := range append(before, after...) {
			_, d := out.Project(x)
			worst = math.Max(worst, d)
		}
	})
	if worst > 1e-6 {
		t.Errorf("the two differ by %.9f mm", worst)
	}
}

func TestARandomMovedDartKeepsAngleLengthsAndArea(t *testing.T) {
	made := 0
	dartFronts(t, 4, 120, func(r *rand.Rand, p pattern.Pattern, o darts) {
		f := p.PieceNamed("front")
		e := &f.Edges[r.IntN(len(f.Edges))]
		args := []any{"piece", "front", "to", obj("edge", e.Name, "along", r.Float64()*e.Path.Length())}
		switch r.IntN(3) {
		case 0:
			args = append(args, "bust", "bust_point", "set_back", 30*r.Float64())
		case 1:
			args = append(args, "beyond", 30*r.Float64())
		}
		if r.IntN(3) == 0 {
			args = append(args, "share", 0.05+0.95*r.Float64(), "set_back", 12)
			if args[4] == "bust" {
				args = append(args[:6], args[8:]...)
			}
		}
		res, ok := attempt(t, p, "dart_move", args...)
		if !ok {
			return
		}
		made++
		for _, c := range res.Checks {
			if c.Verdict == inspect.Fail && c.Rule != "dart_fold" {
				t.Errorf("%v: %s %.4f in %v ± %g", args, c.Rule, c.Measured, c.Want, c.Tolerance)
			}
		}
		seamsMatch(t, &res.Pattern, nil)
	})
	if made < 50 {
		t.Errorf("only %d were made", made)
	}
	t.Logf("%d made", made)
}

func TestADartMovedThereAndBackIsThePieceItWas(t *testing.T) {
	p := darted(blouse.Base(), usual())
	f := p.PieceNamed("front")
	r := apply(t, p, "dart_move", toShoulder("set_back", 22, "trued", false)...)
	r = apply(t, r.Pattern, "dart_move", "piece", "front", "bust", "bust_point", "set_back", 22, "to", "bust_closed")
	q := r.Pattern.PieceNamed("front")
	out := f.Outline()
	for _, s := range q.Outline() {
		for i := range 9 {
			if _, d := out.Project(s.At(float64(i) / 8)); d > 1e-6 {
				t.Fatalf("%.6f mm off at %v", d, s.At(float64(i)/8))
			}
		}
	}
	for _, m := range f.Marks {
		if k := q.MarkNamed(m.Name); k == nil || k.At.Dist(m.At) > 1e-6 {
			t.Errorf("mark %s lies at %+v, was at %v", m.Name, k, m.At)
		}
	}
}

func TestASharedDartLeavesTheRestWhereItWas(t *testing.T) {
	p := darted(blouse.Base(), usual())
	f := p.PieceNamed("front")
	r := apply(t, p, "dart_move", toShoulder("share", 0.4, "set_back", 22)...)
	passes(t, r)
	q := r.Pattern.PieceNamed("front")
	if len(q.Darts) != 2 || q.Darts[0].Name != "bust" || q.Darts[1].Name != "bust_2" {
		t.Fatalf("darts are %+v", q.Darts)
	}
	angle := func(pc *pattern.Piece, first, second string) float64 {
		o := pc.MarkNamed("bust_point").At
		return math.Abs(pc.Edges[pc.EdgeNamed(first)].Path.Start().Sub(o).AngleTo(pc.Edges[pc.EdgeNamed(second)].Path.End().Sub(o)))
	}
	whole := angle(f, "dart_upper", "dart_lower")
	rest, part := angle(q, "dart_upper", "dart_lower"), angle(q, "bust_2_first", "bust_2_second")
	if math.Abs(rest-0.6*whole) > 1e-4 || math.Abs(part-0.4*whole) > 1e-4 {
		t.Errorf("%.4f of %.4f and %.4f", rest, whole, part)
	}
}

func TestLinesAndMarksGoWithThePartThatIsTurned(t *testing.T) {
	p := darted(blouse.Base(), usual())
	r := apply(t, p, "dart_move", "piece", "front", "bust", "bust_point", "to", obj("edge", "hem", "from", "hem_side", "along", 170))
	q := r.Pattern.PieceNamed("front")
	l := lineNamed(q, "pocket")
	if math.Abs(l.Length()-80) > 40 || l.Start() == geom.Pt(-170, -170) {
		t.Errorf("the pocket line lies at %v", l)
	}
	if m := q.MarkNamed("dart_point"); m == nil || m.At.Dist(q.Edges[q.EdgeNamed("dart_upper")].Path.End()) > 1e-9 {
		t.Errorf("the stitch point is marked at %+v", m)
	}
	if q.MarkNamed("bust_point").At != p.PieceNamed("front").MarkNamed("bust_point").At {
		t.Error("the pivot moved")
	}
}

func TestAnUprightDartIsPressedToTheCentreAndALevelOneDown(t *testing.T) {
	p := darted(blouse.Base(), usual())
	r := apply(t, p, "dart_move", toShoulder()...)
	q := r.Pattern.PieceNamed("front")
	// The front lies left of its fold: of the two legs in the shoulder the first is nearer to the neck.
	if q.Darts[0].Towards != "dart_upper" {
		t.Errorf("pressed towards %s", q.Darts[0].Towards)
	}
	r = apply(t, p, "dart_move", toShoulder("towards", "second")...)
	q = r.Pattern.PieceNamed("front")
	if q.Darts[0].Towards != "dart_lower" {
		t.Errorf("pressed towards %s", q.Darts[0].Towards)
	}
	r = apply(t, p, "dart_move", "piece", "front", "bust", "bust_point", "to", obj("edge", "side_lower", "from", "hem_side", "along", 250))
	q = r.Pattern.PieceNamed("front")
	if q.Darts[0].Towards != "dart_lower" {
		t.Errorf("a level dart is pressed towards %s", q.Darts[0].Towards)
	}
}

func TestAMovedDartIsRefusedWhereItCannotBe(t *testing.T) {
	p := darted(blouse.Base(), usual())
	for want, args := range map[string][]any{
		"unknown_piece /piece":      {"piece", "frnt", "to", "neck"},
		"unknown_dart /piece":       {"piece", "back", "to", "neck"},
		"on_fold /to":               {"piece", "front", "to", obj("edge", "centre_front", "from", "cf_hem", "along", 200)},
		"on_dart /to":               {"piece", "front", "to", obj("edge", "dart_upper", "from", "dart_top", "along", 30)},
		"near_corner /to":           {"piece", "front", "to", obj("edge", "shoulder", "from", "neck", "along", 1)},
		"pivot_aside /bust":         {"piece", "front", "to", obj("edge", "shoulder", "from", "neck", "along", 40), "bust", obj("at", []any{-95, 30})},
		"unknown_point /bust/point": {"piece", "front", "to", obj("edge", "shoulder", "from", "neck", "along", 40), "bust", "bst_point"},
		"pivot_outside /beyond":     {"piece", "front", "to", obj("edge", "shoulder", "from", "neck", "along", 40), "beyond", 120},
		"points_meet /set_back":     {"piece", "front", "to", obj("edge", "shoulder", "from", "neck", "along", 40), "share", 0.5},
		"given_twice /beyond":       {"piece", "front", "to", obj("edge", "shoulder", "from", "neck", "along", 40), "bust", "bust_point", "beyond", 20},
		"out_of_range /set_back":    {"piece", "front", "to", "neck", "set_back", 61},
	} {
		b, err := change.Bind(pattern.ChangeSpec{Change: "dart_move", Args: obj(args...)})
		if err == nil {
			_, err = b.Apply(p)
		}
		if err == nil {
			t.Errorf("%s: not refused", want)
			continue
		}
		f := pattern.FaultsOf(err)[0]
		got := f.Rule + " " + f.Pointer
		if got != want {
			t.Errorf("%s: refused as %s: %v", want, got, err)
		}
	}
}

func BenchmarkDartMove(b *testing.B) {
	c := bind(b, "dart_move", toShoulder()...)
	p := darted(blouse.Base(), usual())
	for b.Loop() {
		if _, err := c.Apply(p); err != nil {
			b.Fatal(err)
		}
	}
}
