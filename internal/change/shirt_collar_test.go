package change_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"sizerun/internal/change"
	"sizerun/internal/inspect"
	"sizerun/internal/pattern"
	"sizerun/internal/testkit/blouse"
)

func TestEveryShirtCollarIsSoundInEverySize(t *testing.T) {
	for _, args := range [][]any{
		{},
		{"rise", 0.0, "drop", 0.0},
		{"rise", 20.0, "height", 35.0, "depth", 50.0, "point", 90.0, "lean", 30.0},
		{"lean", -20.0, "point", 50.0, "drop", 30.0},
	} {
		for _, p := range blouse.Run() {
			for _, buttoned := range []bool{false, true} {
				claim := fmt.Sprintf("%v, size %s, buttoned %v", args, p.Size, buttoned)
				want := length(&p, "front", "neck") + length(&p, "back", "neck")
				p := p
				if buttoned {
					p = apply(t, p, "button_stand").Pattern
					want += length(&p, "front", "stand_neck")
				}
				r := apply(t, p, "shirt_collar", args...)
				passed(t, claim, r.Checks)
				whole(t, claim, sized(t, r))
				if got := length(&r.Pattern, "collar_stand", "neck_edge"); math.Abs(got-want) > 1e-6 {
					t.Errorf("%s: the stand is %.6f mm long, the neck %.6f", claim, got, want)
				}
				if got, want := length(&r.Pattern, "collar", "stand_edge"), length(&r.Pattern, "collar_stand", "fall_edge"); math.Abs(got-want) > 1e-6 {
					t.Errorf("%s: the fall is %.6f mm long, the stand's upper edge %.6f", claim, got, want)
				}
			}
		}
	}
}

// Straight in all its parts, the collar is made of closed forms: the fall's seam is the neck, and the point lies a
// triangle's side above it (Pythagoras).
func TestAStraightShirtCollarHasClosedForms(t *testing.T) {
	p := blouse.Make(blouse.Base())
	r := apply(t, p, "shirt_collar", "rise", 0.0, "drop", 0.0, "point", 65.0, "lean", 25.0, "height", 30.0)
	neck := length(&p, "front", "neck") + length(&p, "back", "neck")
	s := r.Pattern.PieceNamed("collar_stand")
	at, _ := r.Pattern.PieceNamed("collar").Corner("point")
	if math.Abs(at.X-neck-25) > 1e-6 || math.Abs(at.Y-60) > 1e-6 {
		t.Errorf("the point lies at %v, want (%.3f, 60)", at, neck+25)
	}
	if got, want := s.Outline().Area(), 30*neck; math.Abs(got-want) > 1e-3 {
		t.Errorf("the stand has %.4f mm2, want %.4f", got, want)
	}
}

// A fall that drops more has a longer outer edge: it lies further out.
func TestADroppingFallHasALongerOuterEdge(t *testing.T) {
	p := blouse.Make(blouse.Base())
	last := 0.0
	for drop := 0.0; drop <= 40; drop += 8 {
		r := apply(t, p, "shirt_collar", "drop", drop)
		if got := length(&r.Pattern, "collar", "outer_edge"); got <= last {
			t.Errorf("dropped by %g: %.2f mm, before %.2f", drop, got, last)
		} else {
			last = got
		}
	}
}

// The fall covers the neck seam: unless told it is 12 mm deeper than the stand is high, and never less than 5 mm.
func TestAFallCoversItsStand(t *testing.T) {
	p := blouse.Make(blouse.Base())
	for _, c := range []struct {
		args []any
		want float64
	}{{[]any{"height", 30.0}, 12}, {[]any{"height", 45.0}, 12}, {[]any{"height", 30.0, "depth", 35.0}, 5}} {
		for _, k := range apply(t, p, "shirt_collar", c.args...).Checks {
			if k.Rule == "collar_covers" && (k.Verdict != inspect.Pass || math.Abs(k.Measured-c.want) > 1e-6) {
				t.Errorf("%v: %s, %.3f mm deeper", c.args, k.Verdict, k.Measured)
			}
		}
	}
}

// Closed, the button lies on the centre front, and the hole begins a little over it.
func TestTheStandIsButtonedOnTheCentreFront(t *testing.T) {
	p := apply(t, blouse.Make(blouse.Base()), "button_stand").Pattern
	r := apply(t, p, "shirt_collar", "button", 12.0, "thickness", 2.0)
	s := r.Pattern.PieceNamed("collar_stand")
	low := s.Edges[s.EdgeNamed("neck_edge")].Path
	m := s.MarkNamed("button")
	cf, d := low.Project(m.At)
	if want := length(&p, "front", "neck") + length(&p, "back", "neck"); math.Abs(cf-want) > 1e-6 || math.Abs(d-15) > 1e-6 {
		t.Errorf("the button lies %.4f mm along, %.4f mm up", cf, d)
	}
	hole := s.Lines[0].Path
	if math.Abs(hole.Length()-14) > 1e-9 || math.Abs(hole.Start().Dist(m.At)-3) > 1e-9 || math.Abs(hole.End().Dist(m.At)-11) > 1e-9 {
		t.Errorf("the hole is %v, the button at %v", hole, m.At)
	}
	if n := strings.Join(r.Notions, ";"); !strings.Contains(n, "12 mm") || !strings.Contains(n, "interfacing") {
		t.Errorf("notions: %s", n)
	}
}

// A collar is sewn on before the facing that covers its seam, whichever of the two is asked for first.
func TestACollarIsSewnOnBeforeTheFacingOverIt(t *testing.T) {
	p := apply(t, blouse.Make(blouse.Base()), "button_stand").Pattern
	facing := apply(t, p, "facing", "along", "front.stand_edge")
	for _, name := range []string{"band_collar", "flat_collar", "shirt_collar"} {
		last := change.Prepare
		for _, s := range apply(t, facing.Pattern, name).Steps {
			if strings.Contains(s.Text, "the neck") && s.Stage > last {
				last = s.Stage
			}
		}
		for _, s := range facing.Steps {
			if last == change.Prepare || strings.Contains(s.Text, "to the edge") && s.Stage <= last {
				t.Errorf("%s is sewn on at stage %d, the facing at %d", name, last, s.Stage)
			}
		}
	}
}

func TestRandomShirtCollarsAreSoundOrRefused(t *testing.T) {
	made, n := 0, 0
	sleeves(t, 12, 120, func(r *rand.Rand, _ blouse.Draft, p pattern.Pattern) {
		u := func(lo, hi float64) float64 { return lo + r.Float64()*(hi-lo) }
		if r.IntN(2) == 0 {
			p = apply(t, p, "button_stand").Pattern
		}
		h := u(15, 60)
		args := []any{"height", h, "rise", u(0, 40), "depth", h + u(5, 60), "point", u(30, 150), "lean", u(-20, 24), "drop", u(0, 50), "button", u(6, 14)}
		n++
		res, err := bind(t, "shirt_collar", args...).Apply(p)
		if err != nil {
			for _, f := range pattern.FaultsOf(err) {
				if f.Rule == "" || f.Rule == "unknown" || f.Size != p.Size || f.Remedy == "" || strings.Contains(f.Error(), "NaN") {
					t.Fatalf("%v: %+v", args, f)
				}
			}
			return
		}
		made++
		passed(t, fmt.Sprint(args), res.Checks)
		for i := range res.Pattern.Pieces {
			finite(t, "shirt_collar", args, &res.Pattern.Pieces[i])
		}
	})
	if made < n*3/4 {
		t.Errorf("only %d of %d were made", made, n)
	}
}

func TestShirtCollarSaysWhatItCannotDo(t *testing.T) {
	buttoned := apply(t, blouse.Make(blouse.Base()), "button_stand", "width", "9mm", "button", 15.0).Pattern
	for _, c := range []struct {
		claim, rule, pointer, says string
		args                       []any
		p                          *pattern.Pattern
	}{
		{"no such piece", "unknown_piece", "/back", "bck", []any{"back", "bck"}, nil},
		{"no such edge", "unknown_edge", "/shoulder", "shoulde", []any{"shoulder", "shoulde"}, nil},
		{"a button over the end", "out_of_range", "/button", "smaller", []any{"button", 20.0}, &buttoned},
		{"a fall that leaves the neck seam bare", "out_of_range", "/depth", "35 to 150", []any{"height", 30.0, "depth", 34.0}, nil},
		{"a point that leans too far", "out_of_range", "/lean", "lean", []any{"lean", 60.0}, nil},
		{"a name that is taken", "name_taken", "/name", "sleeve", []any{"name", "sleeve"}, nil},
		{"nothing to take the place of", "unknown_piece", "/instead_of/0", "binding", []any{"instead_of", "binding"}, nil},
	} {
		p := blouse.Make(blouse.Base())
		if c.p != nil {
			p = *c.p
		}
		refused(t, "shirt_collar", p, c.claim, c.rule, c.pointer, c.says, c.args)
	}
}

func BenchmarkShirtCollar(b *testing.B) {
	p := apply(b, blouse.Make(blouse.Base()), "button_stand").Pattern
	c := bind(b, "shirt_collar")
	for b.Loop() {
		if _, err := c.Apply(p); err != nil {
			b.Fatal(err)
		}
	}
}
