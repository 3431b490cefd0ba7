package change_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"sizerun/internal/inspect"
	"sizerun/internal/pattern"
	"sizerun/internal/testkit/blouse"
)

func TestADartIsGatheredIntoTheShoulderInEverySize(t *testing.T) {
	var sizes []inspect.Sized
	for _, p := range dartedRun(usual()) {
		r := apply(t, p, "dart_to_gathers", "piece", "front", "bust", "bust_point", "to", obj("between", []any{"neck", "shoulder"}, "share", 0.5), "spread", 25)
		passes(t, r)
		q := r.Pattern.PieceNamed("front")
		finite(t, "dart_to_gathers", nil, q)
		if len(q.Darts) != 0 {
			t.Errorf("size %s: the dart is still there", p.Size)
		}
		full := lengthOf(q, "bust_gathers")
		for _, s := range r.Pattern.Seams {
			switch s.Name {
			case "bust_dart":
				t.Error("the dart is still sewn")
			case "shoulder":
				a, _ := inspect.Walk(&r.Pattern, s.Sew)
				b, _ := inspect.Walk(&r.Pattern, s.To)
				if math.Abs(a.Len-b.Len-full) > 1e-6 || len(s.Notches) != 2 {
					t.Errorf("size %s: %.3f gathered onto %.3f: %+v", p.Size, a.Len, b.Len, s)
				}
				for _, n := range s.Notches {
					x, _ := a.MarkAt(n[0].Piece, n[0].Mark)
					y, ok := b.MarkAt(n[1].Piece, n[1].Mark)
					if d := x - y; !ok || math.Abs(d) > 1e-6 && math.Abs(d-full) > 1e-6 {
						t.Errorf("size %s: notch after %.3f and %.3f", p.Size, x, y)
					}
				}
			}
		}
		sizes = append(sizes, sized(t, r))
	}
	for _, c := range inspect.Run(sizes, blouse.Chart(), inspect.Options{}).Worst() {
		t.Errorf("%s %s size %s %s.%s: %.3f %s in %v: %s", c.Verdict, c.Rule, c.Size, c.Piece, c.Place, c.Measured, c.Unit, c.Want, c.Text)
	}
}

// The mouth of an angle θ at a distance r is an arc of rθ where the seam lies square to the dart.
func TestTheGatheredWidthIsTheAngleTimesTheDistance(t *testing.T) {
	p := darted(blouse.Base(), usual())
	f := p.PieceNamed("front")
	bust := f.MarkNamed("bust_point").At
	angle := math.Abs(f.Edges[f.EdgeNamed("dart_upper")].Path.Start().Sub(bust).AngleTo(f.Edges[f.EdgeNamed("dart_lower")].Path.End().Sub(bust)))
	r := apply(t, p, "dart_to_gathers", "piece", "front", "bust", "bust_point", "to", obj("edge", "hem", "from", "hem_side", "along", 150))
	q := r.Pattern.PieceNamed("front")
	e := q.Edges[q.EdgeNamed("bust_gathers")].Path
	if got, want := e.Length(), angle*e.Start().Dist(bust); math.Abs(got-want) > 0.01*want {
		t.Errorf("%.3f mm, an arc has %.3f", got, want)
	}
}

func TestADartIsGatheredWhereItIsAndFromTheOtherSide(t *testing.T) {
	p := darted(blouse.Base(), usual())
	// The side seam is told from the back: the front is then on its other side.
	for i := range p.Seams {
		if s := &p.Seams[i]; s.Name == "side" {
			s.Sew, s.To = s.To, s.Sew
			for k := range s.Notches {
				s.Notches[k][0], s.Notches[k][1] = s.Notches[k][1], s.Notches[k][0]
			}
		}
	}
	r := apply(t, p, "dart_to_gathers", "piece", "front", "dart", "bust", "spread", 20)
	passes(t, r)
	for _, s := range r.Pattern.Seams {
		if s.Name == "side" && (s.Sew[0].Piece != "front" || len(s.Sew) != 3 || s.Sew[1].Edge != "bust_gathers" || s.Drawn < 20 || s.Ease != (pattern.Range{})) {
			t.Errorf("%+v", s)
		}
	}
	q := r.Pattern.PieceNamed("front")
	if m := q.MarkNamed("dart_point"); m == nil || m.Edge != "" {
		t.Errorf("the dart's point is %+v", m)
	}
}

func TestRandomGathersKeepWhatTheyOwe(t *testing.T) {
	made := 0
	dartFronts(t, 6, 100, func(r *rand.Rand, p pattern.Pattern, o darts) {
		f := p.PieceNamed("front")
		e := &f.Edges[r.IntN(len(f.Edges))]
		args := []any{"piece", "front", "bust", "bust_point", "to", obj("edge", e.Name, "along", r.Float64()*e.Path.Length()), "spread", 40 * r.Float64()}
		res, ok := attempt(t, p, "dart_to_gathers", args...)
		if !ok {
			return
		}
		made++
		passes(t, res)
	})
	if made < 20 {
		t.Errorf("only %d were made", made)
	}
}

func TestGathersAreRefusedWhereTheyCannotBe(t *testing.T) {
	p := darted(blouse.Base(), usual())
	refusals(t, p, "dart_to_gathers", map[string][]any{
		"no_room /spread":      {"piece", "front", "to", obj("edge", "shoulder", "from", "neck", "along", 30), "spread", 60},
		"in_armhole /to":       {"piece", "front", "to", obj("edge", "armhole", "from", "shoulder", "along", 90)},
		"between_seams /to":    {"piece", "front", "to", "neck", "spread", 0},
		"unknown_dart /dart":   {"piece", "front", "dart", "waist"},
		"out_of_range /spread": {"piece", "front", "spread", 401},
	})
}

func BenchmarkDartToGathers(b *testing.B) {
	c := bind(b, "dart_to_gathers", "piece", "front", "bust", "bust_point", "to", obj("between", []any{"neck", "shoulder"}, "share", 0.5), "spread", 25)
	p := darted(blouse.Base(), usual())
	for b.Loop() {
		if _, err := c.Apply(p); err != nil {
			b.Fatal(err)
		}
	}
}
