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

func TestADartIsTuckedInEverySize(t *testing.T) {
	for name, args := range map[string][]any{
		"where it is":           {"number", 3, "apart", 14, "length", 40},
		"fanned":                {"number", 3, "apart", 14, "length", 40, "fall", "fanned"},
		"two":                   {"number", 2, "apart", 17, "length", 30, "towards", "first"},
		"one":                   {"number", 1, "length", 50},
		"in the hem":            {"bust", "bust_point", "to", obj("edge", "hem", "from", "cf_hem", "along", 95), "number", 6, "apart", 13, "length", 80},
		"fanned in the hem":     {"bust", "bust_point", "to", obj("edge", "hem", "from", "cf_hem", "along", 95), "number", 4, "apart", 20, "length", 80, "fall", "fanned"},
		"pressed the other way": {"number", 3, "apart", 14, "length", 40, "towards", "first"},
	} {
		var sizes []inspect.Sized
		for _, p := range dartedRun(usual()) {
			r := apply(t, p, "dart_to_tucks", append([]any{"piece", "front"}, args...)...)
			passes(t, r)
			seamsMatch(t, &r.Pattern, nil)
			q := r.Pattern.PieceNamed("front")
			finite(t, name, nil, q)
			tells(t, r)
			if len(q.Darts) != 0 || q.MarkNamed("dart_point") == nil {
				t.Errorf("%s: the dart is still there, or its dot is not", name)
			}
			sizes = append(sizes, cutOut(t, r))
		}
		for _, c := range inspect.Run(sizes, blouse.Chart(), inspect.Options{}).Worst() {
			t.Errorf("%s: %s %s size %s %s.%s: %.3f %s in %v: %s", name, c.Verdict, c.Rule, c.Size, c.Piece, c.Place, c.Measured, c.Unit, c.Want, c.Text)
		}
	}
}

// tucksOf are the two ends of every tuck at the edge.
func tucksOf(q *pattern.Piece, name string) (out [][2]geom.Point) {
	for i := 1; ; i++ {
		u := q.EdgeNamed(name + "_" + string(rune('0'+i)) + "_under")
		if u < 0 {
			return out
		}
		out = append(out, [2]geom.Point{q.Edges[u].Path.Start(), q.Edges[u+1].Path.End()})
	}
}

// On the drafted skirt: the mouth, measured before, is what all tucks take in together; folded, the waist is as long
// as it was; and the stitching lines are as long as asked, as far apart as asked.
func TestTucksTakeInWhatTheDartDid(t *testing.T) {
	for _, n := range []int{1, 2, 3, 4} {
		p := demoBlock(t, "dunlin-skirt").three()[1]
		was := p.PieceNamed("front")
		mouth := was.Edges[was.EdgeNamed("waist_dart_in")].Path.Start().Dist(was.Edges[was.EdgeNamed("waist_dart_out")].Path.End())
		if a := was.Edges[was.EdgeNamed("waist_dart_in")].Path; a.Start().Y < a.End().Y { // it runs out of the mouth
			mouth = a.End().Dist(was.Edges[was.EdgeNamed("waist_dart_out")].Path.Start())
		}
		apart := 0.75*mouth/float64(n) + 4
		r := apply(t, p, "dart_to_tucks", "piece", "front", "number", n, "apart", apart, "length", 50)
		q := r.Pattern.PieceNamed("front")
		sum := 0.0
		ends := tucksOf(q, "waist_dart_tuck")
		for i, x := range ends {
			w := x[0].Dist(x[1])
			sum += w
			if math.Abs(w-mouth/float64(n)) > 0.1/float64(n) {
				t.Errorf("tuck %d of %d takes in %.5f of %.5f", i+1, n, w, mouth)
			}
			if i > 0 {
				// From one tuck to the next the folded seam has what was asked, but for its bend.
				if d := ends[i-1][1].Dist(x[0]); math.Abs(d-apart) > 0.2 {
					t.Errorf("tucks %d and %d lie %.3f mm apart", i, i+1, d)
				}
			}
		}
		if len(ends) != n || math.Abs(sum-mouth) > 0.1 {
			t.Errorf("%d tucks take in %.5f, the dart %.5f", len(ends), sum, mouth)
		}
		visible := 0.0
		for i := range q.Edges {
			if e := &q.Edges[i]; e.Src.Edge == "waist_centre" || e.Src.Edge == "waist_side" {
				visible += e.Path.Length()
			}
		}
		if off := visible - lengthOf(was, "waist_centre") - lengthOf(was, "waist_side"); math.Abs(off) > 0.1 {
			t.Errorf("%d tucks: folded, the waist is %.3f mm longer", n, off)
		}
		for _, l := range q.Lines {
			if strings.HasPrefix(l.Name, "waist_dart_tuck") && math.Abs(l.Path.Length()-50) > 1e-9 {
				t.Errorf("%s is %.3f mm long", l.Name, l.Path.Length())
			}
		}
	}
}

// Folded by hand: a referee that lays the underlay over along the stitching lines and the crease, knows nothing of
// how it was drawn, and measures how far the raw edges miss each other.
func TestFoldedByHandTheEdgesMeet(t *testing.T) {
	for _, fall := range []string{"parallel", "fanned"} {
		r := apply(t, demoBlock(t, "dunlin-skirt").three()[1], "dart_to_tucks", "piece", "back", "dart", "waist_dart_1", "number", 3, "apart", 15, "length", 50, "fall", fall)
		q := r.Pattern.PieceNamed("back")
		line := func(n string) geom.Path {
			for _, l := range q.Lines {
				if l.Name == n {
					return l.Path
				}
			}
			t.Fatalf("no line %s", n)
			return nil
		}
		for i := range 3 {
			name := "waist_dart_1_tuck_" + string(rune('1'+i))
			a, b := line(name+"_first"), line(name+"_second")
			u := q.EdgeNamed(name + "_under")
			first, second := q.Edges[u].Path, q.Edges[u+1].Path
			// The crease lies half-way between the lines; the two halves of the underlay are mirror images about it.
			m := a.Start().Lerp(b.Start(), 0.5)
			flip := geom.MirrorAbout(m, b.Start().Sub(a.Start()).Left())
			for k := range 9 {
				x := flip.Apply(first.PointAt(first.Length() * float64(k) / 8))
				if _, d := second.Project(x); d > 1e-6 {
					t.Errorf("%s %s: the halves miss each other by %.4f", fall, name, d)
				}
			}
		}
	}
}

func TestRandomTucksKeepWhatTheyOwe(t *testing.T) {
	made := 0
	hold := func(p pattern.Pattern, piece string, args []any) {
		b, err := change.Bind(pattern.ChangeSpec{Change: "dart_to_tucks", Args: obj(args...)})
		if err != nil {
			t.Fatal(err)
		}
		res, err := b.Apply(p)
		if err != nil {
			for _, f := range pattern.FaultsOf(err) {
				if f.Rule == "" || f.Size == "" || f.Remedy == "" || strings.Contains(f.Error(), "NaN") {
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
		}
		finite(t, "dart_to_tucks", args, res.Pattern.PieceNamed(piece))
		seamsMatch(t, &res.Pattern, nil)
	}
	r := rand.New(rand.NewPCG(9, 9))
	some := func(piece string, more ...any) []any {
		return append([]any{"piece", piece, "number", 1 + r.IntN(5), "apart", 6 + 20*r.Float64(), "length", 10 + 80*r.Float64(), "fall", []string{"parallel", "fanned"}[r.IntN(2)], "towards", []string{"usual", "first", "second"}[r.IntN(3)]}, more...)
	}
	dartFronts(t, 31, 100, func(_ *rand.Rand, p pattern.Pattern, _ darts) {
		f := p.PieceNamed("front")
		e := &f.Edges[r.IntN(len(f.Edges))]
		hold(p, "front", some("front"))
		hold(p, "front", some("front", "bust", "bust_point", "to", obj("edge", e.Name, "along", r.Float64()*e.Path.Length())))
	})
	for range 60 {
		n := []string{"front", "back"}[r.IntN(2)]
		hold(anySkirt(r), n, some(n))
	}
	if made < 80 {
		t.Errorf("only %d were made", made)
	}
	t.Logf("%d made", made)
}

func TestTucksAreRefusedWhereTheyCannotBe(t *testing.T) {
	p := darted(blouse.Base(), usual())
	refusals(t, p, "dart_to_tucks", map[string][]any{
		"tucks_overlap /apart": {"piece", "front", "number", 3, "apart", 5},
		"no_room /apart":       {"piece", "front", "number", 9, "apart", 40},
		"tuck_long /length":    {"piece", "front", "number", 2, "apart", 18, "length", 390},
		"unknown_dart /dart":   {"piece", "front", "dart", "waist"},
		"between_seams /to":    {"piece", "front", "to", "neck"},
		"tucks_aslant /to":     {"piece", "front", "bust", "bust_point", "number", 6, "apart", 12, "to", obj("edge", "side_lower", "from", "hem_side", "along", 50)},
		"on_dart /to":          {"piece", "front", "to", "dart_top"},
		"out_of_range /number": {"piece", "front", "number", 13},
		"unknown_choice /fall": {"piece", "front", "fall", "crossed"},
		"given_twice /beyond":  {"piece", "front", "bust", "bust_point", "beyond", 20},
		"unknown_piece /piece": {"piece", "frnt"},
	})
}

func BenchmarkDartToTucks(b *testing.B) {
	for name, args := range map[string][]any{
		"where it is": {"piece", "front", "number", 3, "apart", 14, "length", 40},
		"moved":       {"piece", "front", "bust", "bust_point", "to", obj("edge", "hem", "from", "cf_hem", "along", 95), "number", 5, "apart", 16, "fall", "fanned"},
	} {
		b.Run(name, func(b *testing.B) {
			c := bind(b, "dart_to_tucks", args...)
			p := darted(blouse.Base(), usual())
			for b.Loop() {
				if _, err := c.Apply(p); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
