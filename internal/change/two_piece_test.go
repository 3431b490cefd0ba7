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

func TestATwoPieceSleeveIsSoundInEverySize(t *testing.T) {
	for _, c := range []struct {
		run  []pattern.Pattern
		args []any
	}{
		{blouse.Run(), []any{"forearm", 15}},
		{blouse.Run(), []any{"hindarm_share", 0.5, "forearm", 10, "hindarm_hem", 0}},
		{longRun(), []any{"forearm", 15}},
		{longRun(), []any{"forearm", 15, "forearm_out", 20, "hindarm_out", 40}},
		{longRun(), []any{"forearm", 15, "bend", 20, "elbow_ease", 6, "forearm_hem", 25, "forearm_out", 16, "hindarm_out", 30}},
		{longRun(), []any{"forearm", 15, "bend", 25, "elbow", 220}},
		{longRun(), []any{"forearm", 15, "elbow_ease", 8}},
	} {
		var sizes []inspect.Sized
		for _, p := range c.run {
			claim := fmt.Sprintf("%v, size %s", c.args, p.Size)
			r := apply(t, p, "two_piece", c.args...)
			passed(t, claim, r.Checks)
			whole(t, claim, sized(t, r))
			tells(t, r)
			sizes = append(sizes, sized(t, r))
		}
		inspected(t, sizes)
	}
}

// Of a hem of length H the upper sleeve has a half and both set-backs, H/2 + d + h, the under sleeve the rest; the
// forearm seam lies a quarter of the sleeve's width and its set-back from the middle; nothing of the cloth is lost.
func TestTheHemOfATwoPieceSleeveIsArithmetic(t *testing.T) {
	sleeves(t, 51, 60, func(r *rand.Rand, d blouse.Draft, p pattern.Pattern) {
		fore, foreHem, hindHem := 5+10*r.Float64(), 30*r.Float64(), 30*r.Float64()
		res, err := bind(t, "two_piece", "forearm", fore, "forearm_hem", foreHem, "hindarm_hem", hindHem, "hindarm_share", 0.45).Apply(p)
		if err != nil {
			if pattern.FaultsOf(err)[0].Rule != "mark_there" {
				t.Errorf("%+v: %v", d, err)
			}
			return
		}
		passed(t, fmt.Sprintf("%+v", d), res.Checks)
		was, up, un := p.PieceNamed("sleeve"), res.Pattern.PieceNamed("sleeve_upper"), res.Pattern.PieceNamed("sleeve_under")
		h := lengthOf(was, "hem")
		if got, want := lengthOf(up, "hem"), h/2+foreHem+hindHem; math.Abs(got-want) > 0.01 {
			t.Errorf("upper hem %.4f, want %.4f", got, want)
		}
		if got, want := lengthOf(un, "hem"), h/2-foreHem-hindHem; math.Abs(got-want) > 0.01 {
			t.Errorf("under hem %.4f, want %.4f", got, want)
		}
		x := d.UpperArm/4 + fore
		if _, off := up.Edges[up.EdgeNamed("forearm")].Path.Project(geom.Pt(x, 0)); off > 1e-6 {
			t.Errorf("the forearm seam passes %.4f mm from %.2f", off, x)
		}
		if got, want := up.Outline().Area()+un.Outline().Area(), was.Outline().Area(); math.Abs(got-want) > 1 {
			t.Errorf("%.3f mm2 of %.3f are left", got, want)
		}
		for _, e := range []string{"cap_front", "cap_back"} {
			if got, want := lengthOf(up, e)+lengthOf(un, e), lengthOf(was, e); math.Abs(got-want) > 0.001 {
				t.Errorf("%s: %.4f of %.4f", e, got, want)
			}
		}
		for _, m := range was.Marks {
			if up.MarkNamed(m.Name) == nil && un.MarkNamed(m.Name) == nil {
				t.Errorf("the mark %s is gone", m.Name)
			}
		}
		sew(t, res.Pattern, d)
	})
}

// A second hand cuts the sleeve as polygons: the upper one is what lies between the two lines, and the under one the
// rest, turned until the underarm seams meet.
func TestATwoPieceSleeveAgreesWithPolygons(t *testing.T) {
	worst := 0.0
	sleeves(t, 52, 25, func(r *rand.Rand, d blouse.Draft, p pattern.Pattern) {
		res, err := bind(t, "two_piece", "forearm", 8, "hindarm_share", 0.5).Apply(p)
		if err != nil {
			return
		}
		was, up, un := p.PieceNamed("sleeve"), res.Pattern.PieceNamed("sleeve_upper"), res.Pattern.PieceNamed("sleeve_under")
		edge := func(q *pattern.Piece, e string) poly { return sample(q.Edges[q.EdgeNamed(e)].Path, 400) }
		fore, hind := edge(up, "forearm"), edge(up, "hindarm") // up from the hem, down from the cap
		hem, capF, capB := edge(was, "hem"), edge(was, "cap_front"), edge(was, "cap_back")
		before := func(p poly, to geom.Point) poly { _, walked := p.after(p.along(to)); return walked }
		cutFrom := func(p poly, from geom.Point) poly { return before(p.reverse(), from).reverse() }
		back := append(before(hem, hind[len(hind)-1]), hind.reverse()...)
		back = append(append(back, cutFrom(capB, hind[0])...), edge(was, "underarm_back")...)
		front := append(cutFrom(hem, fore[0]), edge(was, "underarm_front")...)
		front = append(append(front, before(capF, fore[len(fore)-1])...), fore.reverse()...)
		// Turn the front part until its side lies on the back one's.
		a, b := was.Edges[was.EdgeNamed("underarm_back")].Path, was.Edges[was.EdgeNamed("underarm_front")].Path
		turn := b.End().Sub(b.Start()).AngleTo(a.Start().Sub(a.End()))
		for i, q := range front {
			front[i] = a.End().Add(q.Sub(b.Start()).Rotate(turn))
		}
		area := back.area() + front.area()
		if got := un.Outline().Area(); math.Abs(got-area) > 2e-4*area {
			t.Errorf("area %.1f, by polygons %.1f", got, area)
		}
		all := append(append(poly{}, back...), back[0])
		other := append(append(poly{}, front...), front[0])
		for _, s := range un.Outline() {
			for i := range 9 {
				q := s.At(float64(i) / 8)
				worst = math.Max(worst, math.Min(all.dist(q), other.dist(q)))
			}
		}
	})
	if worst > 0.05 {
		t.Errorf("the under sleeve strays %.4f mm from the polygons", worst)
	}
	t.Logf("under sleeves within %.4f mm of the polygons", worst)
}

// The bend turns the forearm by about what is opened, divided by the width at the elbow; the cap stays where it was.
func TestTheElbowBendsByWhatIsOpened(t *testing.T) {
	for _, p := range longRun() {
		flat := apply(t, p, "two_piece", "forearm", 15)
		bent := apply(t, p, "two_piece", "forearm", 15, "bend", 15, "elbow_ease", 5)
		for n, by := range map[string]float64{"sleeve_upper": 20, "sleeve_under": 15} {
			a, b := flat.Pattern.PieceNamed(n), bent.Pattern.PieceNamed(n)
			if got := lengthOf(b, "hindarm") - lengthOf(a, "hindarm"); math.Abs(got-by) > 0.01 {
				t.Errorf("%s: opened by %.4f mm, not %g", n, got, by)
			}
			if got := lengthOf(b, "forearm") - lengthOf(a, "forearm"); math.Abs(got) > 0.05 {
				t.Errorf("%s: the forearm seam grew by %.4f mm", n, got)
			}
			chord := func(q *pattern.Piece) geom.Vec {
				h := q.Edges[q.EdgeNamed("hem")].Path
				return h.End().Sub(h.Start())
			}
			mid := func(q *pattern.Piece, e string) geom.Point {
				x := q.Edges[q.EdgeNamed(e)].Path
				return x.PointAt(x.Length() / 2)
			}
			wide := mid(a, "hindarm").Dist(mid(a, "forearm"))
			turn := math.Abs(chord(a).AngleTo(chord(b)))
			if turn < 0.75*by/wide || turn > 1.25*by/wide {
				t.Errorf("%s: turned by %.4f, opened %g over %.1f mm", n, turn, by, wide)
			}
			for _, e := range []string{"cap_front", "cap_back"} {
				if x, y := a.Edges[a.EdgeNamed(e)].Path, b.Edges[b.EdgeNamed(e)].Path; x.Start().Dist(y.Start()) > 0.01 || x.End().Dist(y.End()) > 0.01 {
					t.Errorf("%s.%s has moved", n, e)
				}
			}
		}
	}
}

// Lengthened from a short sleeve the sides have a slight bend below the underarm, which is drawn straight; the armhole
// line then runs on over the underarm and the cap keeps its length.
func TestALengthenedSleeveRunsOnOverTheUnderarm(t *testing.T) {
	for _, p := range blouse.Run() {
		long := applied(t, p, "lengthen", "piece", "sleeve", "by", 330)
		r := apply(t, *long, "two_piece", "forearm", 15, "forearm_out", 20, "hindarm_out", 50)
		passed(t, p.Size, r.Checks)
		whole(t, p.Size, sized(t, r))
		q := r.Pattern.PieceNamed("sleeve_under")
		i, k := q.EdgeNamed("cap_back"), q.EdgeNamed("cap_front")
		if a := inspect.Interior(q.Edges[i].Path, q.Edges[k].Path); math.Abs(a-math.Pi) > 1e-6 {
			t.Errorf("size %s: the armhole line turns by %.2f degrees", p.Size, (a-math.Pi)*180/math.Pi)
		}
		hem := q.Edges[q.EdgeNamed("hem")].Path
		for i := 1; i < len(hem); i++ {
			if a := math.Abs(hem[i-1].Tangent(1).AngleTo(hem[i].Tangent(0))); a > 1e-6 {
				t.Errorf("size %s: the hem has a corner of %g", p.Size, a)
			}
		}
		over := *applied(t, r.Pattern, "turn_back_cuff", "piece", []any{"sleeve_upper", "sleeve_under"}, "cut", "separate", "depth", 50)
		if over.PieceNamed("cuff_sleeve_upper") == nil || over.PieceNamed("cuff_sleeve_under") == nil {
			t.Errorf("no cuffs: %v", over.PieceNames())
		}
		flutter := apply(t, r.Pattern, "flutter", "piece", []any{"sleeve_upper", "sleeve_under"}, "as", "over", "share", 0.6)
		passed(t, p.Size, flutter.Checks)
	}
}

// Whatever the sleeve and the parameters: made as promised, or refused with a place and a remedy.
func TestAnyTwoPieceSleeveIsMadeAsPromisedOrRefused(t *testing.T) {
	made := 0
	sleeves(t, 53, 120, func(r *rand.Rand, d blouse.Draft, _ pattern.Pattern) {
		d.Underarm = 60 + 400*r.Float64()
		d.Taper = 0.1 * d.Underarm * r.Float64()
		p, ok := try(d)
		if !ok {
			return
		}
		u := func(lo, hi float64) float64 { return lo + r.Float64()*(hi-lo) }
		args := []any{"forearm", u(-20, 80), "forearm_hem", u(-40, 80), "hindarm_hem", u(-40, 80)}
		if r.IntN(2) == 0 {
			args = append(args, "hindarm", u(-80, 200))
		} else {
			args = append(args, "hindarm_share", u(0.1, 0.9))
		}
		if r.IntN(2) == 0 {
			args = append(args, "forearm_out", u(0, 120), "hindarm_out", u(0, 160))
		}
		if r.IntN(2) == 0 {
			args = append(args, "bend", u(0, 80), "elbow_ease", u(0.1, 15), "elbow", u(60, 400))
		}
		res, err := bind(t, "two_piece", args...).Apply(p)
		if err != nil {
			for _, f := range pattern.FaultsOf(err) {
				if f.Remedy == "" || f.Pointer == "" && f.Piece == "" || f.Size != p.Size {
					t.Errorf("%v: %+v", args, f)
				}
			}
			return
		}
		made++
		passed(t, fmt.Sprintf("%+v %v", d, args), res.Checks)
		for i := range res.Pattern.Pieces {
			finite(t, "two_piece", args, &res.Pattern.Pieces[i])
		}
	})
	if made < 20 {
		t.Errorf("only %d were made", made)
	}
	t.Logf("%d made", made)
}

func TestTwoPieceSaysWhatItCannotDo(t *testing.T) {
	p := blouse.Make(blouse.Base())
	refusals(t, p, "two_piece", map[string][]any{
		"unknown_piece /piece":      {"piece", "slev"},
		"unknown_edge /hem":         {"hem", "cuff"},
		"edge_sewn /piece":          {"piece", "front"},
		"out_of_range /forearm":     {"forearm", 78},
		"out_of_range /forearm_hem": {"forearm", 15, "forearm_hem", 79},
		"out_of_range /hindarm_hem": {"forearm", 15, "hindarm_hem", 80},
		"out_of_range /hindarm":     {"forearm", 15, "hindarm", 190},
		"mark_there /hindarm":       {"forearm", 15, "hindarm", 3},
		"unknown_mark /back_notch":  {"forearm", 15, "back_notch", "nick"},
		"no_elbow /bend":            {"forearm", 15, "bend", 10},
		"no_elbow /elbow_ease":      {"forearm", 15, "elbow_ease", 5},
		"given_twice /elbow":        {"elbow", 100},
		"given_twice /back_notch":   {"hindarm_share", 0.5, "back_notch", "back_notch"},
		"given_twice /under":        {"upper", "x", "under", "x"},
		"name_taken /upper":         {"upper", "front"},
		"name_taken /under":         {"under", "back"},
		"bad_name /upper":           {"piece", "sleeve", "upper", "Upper Sleeve"},
		"out_of_range /hindarm_out": {"forearm", 15, "hindarm_out", 160},
		"unknown_point /crown":      {"crown", "top"},
		"unknown_argument /wrist":   {"wrist", 1},
	})
	refusals(t, longRun()[3], "two_piece", map[string][]any{
		"out_of_range /elbow":       {"forearm", 15, "bend", 10, "elbow", 400},
		"out_of_range /forearm_out": {"forearm", 40, "forearm_out", 100},
	})
	bent := applied(t, longRun()[3], "taper", "piece", "sleeve", "by", 110)
	refusals(t, *bent, "two_piece", map[string][]any{"curved_underarm /piece": {"forearm", 15}})
	halves := applied(t, p, "split", "piece", "sleeve", "from", "crown", "to", obj("edge", "hem", "along", 150))
	refusals(t, *halves, "two_piece", map[string][]any{"edge_sewn /piece": {"piece", "sleeve_left"}})
	loose := p.Clone()
	loose.Seams = append(loose.Seams[:2:2], loose.Seams[3:]...)
	refusals(t, loose, "two_piece", map[string][]any{"no_underarm /piece": {}})
}

func BenchmarkTwoPiece(b *testing.B) { benchChange(b, "two_piece", "forearm", 15) }
func BenchmarkTwoPieceBent(b *testing.B) {
	benchOn(b, longRun()[3], "two_piece", "forearm", 15, "forearm_out", 20, "hindarm_out", 40, "bend", 20, "elbow_ease", 6)
}
