package change_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"sizerun/internal/change"
	"sizerun/internal/geom"
	"sizerun/internal/inspect"
	"sizerun/internal/pattern"
	"sizerun/internal/testkit/blouse"
)

func TestAFlutterSleeveIsSoundInEverySize(t *testing.T) {
	for _, args := range [][]any{
		{},
		{"angle", 270, "crown", 80},
		{"angle", 360, "halves", true, "ends", 60},
		{"angle", 120, "share", 0.6, "ends", obj("back", 40, "front", 20)},
		{"angle", 180, "ends", 90, "ease", -4},
		{"as", "over", "crown", 70, "angle", 200},
		{"as", "beneath", "share", obj("back", 0.8, "front", 0.7), "ease", 6, "ends", 5},
		{"as", "over", "fit", "cap", "share", 0.5, "halves", true},
		{"as", "over", "fit", "cap", "ends", 120},
	} {
		var sizes []inspect.Sized
		for _, p := range blouse.Run() {
			claim := fmt.Sprintf("%v, size %s", args, p.Size)
			r := apply(t, p, "flutter", args...)
			passed(t, claim, r.Checks)
			tells(t, r)
			if gone := r.Pattern.PieceNamed("sleeve") == nil; gone != (len(args) == 0 || args[0] != "as") {
				t.Errorf("%s: the sleeve is gone: %v", claim, gone)
			}
			sizes = append(sizes, sized(t, r))
		}
		inspected(t, sizes)
	}
}

// A ring of even length is a part of an annulus: r = L/θ, its area θ/2·((r+w)²−r²), its hem θ·(r+w).
func TestAnEvenFlutterIsPartOfARing(t *testing.T) {
	sleeves(t, 41, 40, func(r *rand.Rand, d blouse.Draft, p pattern.Pattern) {
		w, deg, ease := 20+200*r.Float64(), 60+240*r.Float64(), -10+40*r.Float64()
		res, err := bind(t, "flutter", "crown", w, "ends", w, "angle", deg, "ease", ease).Apply(p)
		if err != nil {
			t.Errorf("%+v: %v", d, err)
			return
		}
		q := res.Pattern.PieceNamed("flutter")
		theta := deg * math.Pi / 180
		l := length(&p, "front", "armhole") + length(&p, "back", "armhole") + ease
		in := l / theta
		if got := lengthOf(q, "cap_front") + lengthOf(q, "cap_back"); math.Abs(got-l) > 0.001 {
			t.Errorf("inner edge %.4f, want %.4f", got, l)
		}
		if got, want := lengthOf(q, "hem"), theta*(in+w); math.Abs(got-want) > 0.002 {
			t.Errorf("hem %.4f, want %.4f", got, want)
		}
		if got, want := q.Outline().Area(), theta/2*((in+w)*(in+w)-in*in); math.Abs(got-want) > 1e-6*want {
			t.Errorf("area %.3f, want %.3f", got, want)
		}
	})
}

// Two whole circles, the hem's eccentric: it runs from e behind the ring to w before it, so that it is 2r+e+w wide
// and encloses π·((2r+e+w)/2)² less πr².
func TestAWholeTaperingFlutterLiesBetweenTwoCircles(t *testing.T) {
	d := blouse.Base()
	p := blouse.Make(d)
	l := length(&p, "front", "armhole") + length(&p, "back", "armhole")
	f := length(&p, "front", "armhole") / l
	const w, e = 150.0, 30.0
	// As much of the back as makes both halves half a circle.
	r := apply(t, p, "flutter", "crown", w, "ends", e, "angle", 360, "halves", true, "share", obj("front", 1, "back", math.Min(1, f/(1-f))))
	a, b := r.Pattern.PieceNamed("flutter_front"), r.Pattern.PieceNamed("flutter_back")
	in := 2 * length(&p, "front", "armhole") / (2 * math.Pi)
	if f > 0.5 {
		t.Skip("the draft's front armhole is the longer one")
	}
	out := (2*in + w + e) / 2
	if got, want := a.Outline().Area()+b.Outline().Area(), math.Pi*(out*out-in*in); math.Abs(got-want) > 1e-6*want {
		t.Errorf("area %.3f, want %.3f", got, want)
	}
	if got, want := lengthOf(a, "hem")+lengthOf(b, "hem"), 2*math.Pi*out; math.Abs(got-want) > 0.01 {
		t.Errorf("hem %.4f, want %.4f", got, want)
	}
}

// A second hand: the ring sampled by angles, the hem as the circle through three points found by its
// perpendicular bisectors, areas by the shoelace.
func TestAFlutterAgreesWithASampledRing(t *testing.T) {
	worst := 0.0
	sleeves(t, 42, 40, func(r *rand.Rand, d blouse.Draft, p pattern.Pattern) {
		crown, deg := 60+120*r.Float64(), 90+180*r.Float64()
		ef, eb := 4+40*r.Float64(), 4+40*r.Float64()
		sf, sb := 0.3+0.68*r.Float64(), 0.3+0.68*r.Float64()
		res, err := bind(t, "flutter", "crown", crown, "angle", deg, "ends", obj("front", ef, "back", eb), "share", obj("front", sf, "back", sb)).Apply(p)
		if err != nil {
			t.Errorf("%v", err)
			return
		}
		passed(t, fmt.Sprint(crown, deg, ef, eb, sf, sb), res.Checks)
		q := res.Pattern.PieceNamed("flutter")
		lf, lb := sf*length(&p, "front", "armhole"), sb*length(&p, "back", "armhole")
		in := (lf + lb) / (deg * math.Pi / 180)
		half := func(angle, end, sign float64) (inner, outer poly) {
			at := func(rho, phi float64) geom.Point { return geom.Pt(sign*rho*math.Sin(phi), -rho*math.Cos(phi)) }
			c, e := at(in+crown, 0), at(in+end, angle)
			mirrored := geom.Pt(-e.X, e.Y)
			// The centre is where the bisector of c and e meets that of e and its mirror image, the crown line.
			m, n := c.Lerp(e, 0.5), e.Sub(c)
			y := m.Y + n.X*m.X/n.Y
			centre := geom.Pt(0, y)
			if math.Abs(centre.Dist(c)-centre.Dist(mirrored)) > 1e-9 {
				t.Errorf("no circle")
			}
			turn := c.Sub(centre).AngleTo(e.Sub(centre))
			if sign*turn < 0 {
				turn += sign * 2 * math.Pi
			}
			const k = 400
			for i := range k + 1 {
				inner = append(inner, at(in, angle*float64(i)/k))
				outer = append(outer, centre.Add(c.Sub(centre).Rotate(turn*float64(i)/k)))
			}
			return inner, outer
		}
		fi, fo := half(lf/in, ef, 1)
		bi, bo := half(lb/in, eb, -1)
		for _, s := range []struct {
			edge string
			line poly
		}{{"cap_front", fi}, {"cap_back", bi}, {"hem", append(bo.reverse(), fo...)}} {
			path := q.Edges[q.EdgeNamed(s.edge)].Path
			for i := range 41 {
				worst = math.Max(worst, s.line.dist(path.PointAt(path.Length()*float64(i)/40)))
			}
		}
		ring := append(append(append(bo.reverse(), fo...), fi.reverse()...), bi...)
		if got, want := q.Outline().Area(), ring.area(); math.Abs(got-want) > 2e-4*want {
			t.Errorf("area %.2f, sampled %.2f", got, want)
		}
	})
	if worst > 0.05 {
		t.Errorf("%.4f mm off the sampled ring", worst)
	}
	t.Logf("40 flutters within %.4f mm of the sampled ones", worst)
}

// What a flutter leaves of the armhole is still whole, and its marks are where they were.
func TestTheArmholeIsDividedAndNotChanged(t *testing.T) {
	p := blouse.Make(blouse.Base())
	r := apply(t, p, "flutter", "share", obj("front", 0.5, "back", 0.7))
	for piece, share := range map[string]float64{"front": 0.5, "back": 0.7} {
		was, q := p.PieceNamed(piece), r.Pattern.PieceNamed(piece)
		if off := lengthOf(q, "armhole") - share*lengthOf(was, "armhole"); math.Abs(off) > 1e-6 {
			t.Errorf("%s: %.4f mm off its share", piece, off)
		}
		if off := lengthOf(q, "armhole") + lengthOf(q, "armhole_low") - lengthOf(was, "armhole"); math.Abs(off) > 1e-6 {
			t.Errorf("%s: the armhole changed by %.4f mm", piece, off)
		}
		for _, m := range was.Marks {
			if n := q.MarkNamed(m.Name); n == nil || n.At.Dist(m.At) > 1e-9 {
				t.Errorf("%s: the mark %s has moved", piece, m.Name)
			}
		}
	}
	over := apply(t, p, "flutter", "share", 0.6, "as", "over")
	for _, s := range over.Pattern.Seams {
		if s.Cap && len(s.To) != 2 {
			t.Errorf("seam %s is sewn to %v", s.Name, s.To)
		}
	}
}

func TestFlutterSaysWhatItCannotDo(t *testing.T) {
	p := blouse.Make(blouse.Base())
	refusals(t, p, "flutter", map[string][]any{
		"unknown_piece /piece":    {"piece", "slev"},
		"unknown_piece /piece/1":  {"piece", []any{"sleeve", "slev"}},
		"no_cap /piece":           {"piece", "front"},
		"out_of_range /angle":     {"angle", 320},
		"out_of_range /ends":      {"ends", 130},
		"given_twice /fit":        {"fit", "cap"},
		"name_taken /name":        {"name", "back"},
		"point_too_sharp /ends":   {"angle", 360, "halves", true},
		"out_of_range /crown":     {"crown", 5},
		"unknown_argument /round": {"round", 5},
	})
	refusals(t, p, "flutter", map[string][]any{"not_sleeve /piece/1": {"piece", []any{"sleeve", "front"}}, "name_taken /name": {"name", "sleeve"}})
	cuffed := applied(t, p, "cuff", "edges", "sleeve.hem", "length", 300)
	refusals(t, *cuffed, "flutter", map[string][]any{"edge_sewn /piece": {}})
	if bare := applied(t, *cuffed, "flutter", "piece", []any{"sleeve", "cuff"}); len(bare.Pieces) != 3 {
		t.Errorf("left are %v", bare.PieceNames())
	}
	refusals(t, p, "flutter", map[string][]any{"out_of_range /ends": {"ends", 1}, "out_of_range /share": {"share", 1.2}, "wrong_kind /angle": {"angle", "wide"}})
}

func BenchmarkFlutter(b *testing.B) { benchChange(b, "flutter", "share", 0.7) }

// Whatever the sleeve and the parameters: made as promised, or refused with a place and a remedy.
func TestAnyFlutterOrCuffIsMadeAsPromisedOrRefused(t *testing.T) {
	made := map[string]int{}
	sleeves(t, 43, 120, func(r *rand.Rand, d blouse.Draft, p pattern.Pattern) {
		u := func(lo, hi float64) float64 { return lo + r.Float64()*(hi-lo) }
		one := func(list ...any) any { return list[r.IntN(len(list))] }
		name, args := "flutter", []any{"as", one("instead", "over", "beneath"), "fit", one("armhole", "armhole", "cap"), "crown", u(20, 800), "angle", u(60, 360), "halves", r.IntN(2) == 0,
			"ends", obj("front", one(0.0, u(0, 200)), "back", one(0.0, u(0, 200))), "share", obj("front", u(0.1, 1), "back", u(0.1, 1)), "ease", u(-10, 60)}
		if r.IntN(2) == 0 {
			name, args = "turn_back_cuff", []any{"depth", u(10, 0.8*d.Underarm), "roll", u(0, 15), "cut", one("in_one", "separate")}
			if r.IntN(2) == 0 {
				args = append(args, "facing", u(0, 200))
			}
			if r.IntN(3) > 0 {
				args = append(args, "straighten", true)
			}
		}
		b, err := tryBind(name, args...)
		var res change.Result
		if err == nil {
			res, err = b.Apply(p)
		}
		if err != nil {
			for _, f := range pattern.FaultsOf(err) {
				if f.Remedy == "" || f.Pointer == "" && f.Piece == "" {
					t.Errorf("%s %v: %+v", name, args, f)
				}
			}
			return
		}
		made[name]++
		passed(t, fmt.Sprint(name, args), res.Checks)
		for i := range res.Pattern.Pieces {
			finite(t, name, args, &res.Pattern.Pieces[i])
		}
	})
	if made["flutter"] < 10 || made["turn_back_cuff"] < 10 {
		t.Errorf("made too few: %v", made)
	}
}
