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

func TestEveryOpeningIsSoundInEverySize(t *testing.T) {
	for _, args := range [][]any{
		{"piece", "back", "edge", "centre_back", "length", 180.0},
		{"piece", "back", "edge", "centre_back", "length", 120.0, "how", "slit"},
		{"piece", "back", "edge", "centre_back", "length", 150.0, "how", "placket"},
		{"piece", "front", "edge", "side", "length", 200.0},
		{"piece", "back", "edge", "side", "length", 100.0, "from", "hem_side", "how", "slit"},
		{"piece", "front", "edge", "shoulder", "from", "neck", "length", 50.0, "how", "placket"},
	} {
		for _, p := range blouse.Run() {
			claim := fmt.Sprintf("%v, size %s", args, p.Size)
			r := apply(t, p, "opening", args...)
			passed(t, claim, r.Checks)
			whole(t, claim, sized(t, r))
			for i := range p.Pieces {
				if got, want := r.Pattern.Pieces[i].Outline().Area(), p.Pieces[i].Outline().Area(); got != want {
					t.Errorf("%s: the outline of %s was changed", claim, p.Pieces[i].Name)
				}
			}
			if len(r.Pattern.Openings) != 1 || len(p.Openings) != 0 {
				t.Errorf("%s: %d openings", claim, len(r.Pattern.Openings))
			}
		}
	}
}

// The seam below a zip frays like any other.
func TestTheSeamOfAZipIsNeatened(t *testing.T) {
	r := apply(t, blouse.Make(blouse.Base()), "opening", "piece", "back", "edge", "centre_back", "length", 400)
	if said := r.Steps[0].Text; !strings.Contains(said, change.NeatenOpen) {
		t.Error(said)
	}
}

// Both sides of the seam are marked at the same distance from where it opens, with a pair of notches that meet.
func TestBothSidesOfAnOpenedSeamAreMarked(t *testing.T) {
	p := blouse.Make(blouse.Base())
	r := apply(t, p, "opening", "piece", "back", "edge", "side", "length", 170.0)
	f, b := r.Pattern.PieceNamed("front"), r.Pattern.PieceNamed("back")
	x, y := f.MarkNamed("opening_end"), b.MarkNamed("opening_end")
	if math.Abs(x.S-170) > 1e-9 || math.Abs(lengthOf(b, "side")-y.S-170) > 1e-9 {
		t.Errorf("front at %g, back at %g of %g", x.S, y.S, lengthOf(b, "side"))
	}
	for _, s := range r.Pattern.Seams {
		if s.Name == "side" && (len(s.Notches) != 2 || s.Notches[1][0] != pattern.MarkRef{Piece: "front", Mark: "opening_end"}) {
			t.Errorf("the seam's notches are %v", s.Notches)
		}
	}
}

// A zip can't be sewn into a fold: the fold becomes a seam, and the piece a pair.
func TestAZipMakesASeamOfTheFold(t *testing.T) {
	r := apply(t, blouse.Make(blouse.Base()), "opening", "piece", "back", "edge", "centre_back", "length", 180.0)
	b := r.Pattern.PieceNamed("back")
	if e := b.Edges[b.EdgeNamed("centre_back")]; e.Fold || b.Cut != (pattern.Cut{Count: 2, Pair: true, Cloth: "main"}) {
		t.Errorf("fold %v, cut %+v", e.Fold, b.Cut)
	}
	found := false
	for _, s := range r.Pattern.Seams {
		found = found || len(s.Sew) == 1 && s.Sew[0].Piece == "back" && s.Sew[0].Edge == "centre_back"
	}
	if !found {
		t.Error("nothing sews the two backs together")
	}
	c := apply(t, r.Pattern, "flat_collar")
	if q := c.Pattern.PieceNamed("collar"); q.Cut.Count != 2 || !q.Cut.Pair {
		t.Errorf("the collar over it is cut %+v, not in two halves", q.Cut)
	}
}

func TestTheNextLongerZipIsBought(t *testing.T) {
	p := blouse.Make(blouse.Base())
	for long, want := range map[float64]string{180: "zip, 18 cm", 181: "zip, 20 cm, shortened to the opening of 181 mm", 95: "zip, 10 cm, shortened to the opening of 95 mm"} {
		r := apply(t, p, "opening", "piece", "back", "edge", "centre_back", "length", long)
		if got := r.Notions[0]; got != want {
			t.Errorf("%g mm: %q, want %q", long, got, want)
		}
	}
}

// An opening is found again on what later changes make of its edge, and makes room for the head.
func TestAnOpeningLetsTheHeadThroughWhateverComesAfterIt(t *testing.T) {
	p := blouse.Make(blouse.Base())
	over := func(p pattern.Pattern) inspect.Check {
		for _, c := range inspect.Run([]inspect.Sized{{Pattern: p, Worn: true}}, pattern.SizeChart{}, inspect.Options{}).Checks {
			if c.Rule == "goes_over_head" {
				return c
			}
		}
		t.Fatal("nobody asks whether it goes over the head")
		return inspect.Check{}
	}
	neck := 2 * (length(&p, "front", "neck") + length(&p, "back", "neck"))
	if c := over(p); c.Verdict == inspect.Pass || math.Abs(c.Measured-neck) > 1e-6 {
		t.Errorf("closed: %s, %g mm", c.Verdict, c.Measured)
	}
	q := apply(t, p, "opening", "piece", "back", "edge", "centre_back", "length", 150.0).Pattern
	if c := over(q); c.Verdict != inspect.Pass || math.Abs(c.Measured-neck-300) > 1e-6 {
		t.Errorf("opened: %s, %g mm", c.Verdict, c.Measured)
	}
	q = apply(t, q, "neckline", "lower_back", 30.0).Pattern
	q = apply(t, q, "facing", "along", []any{"front.neck", "back.neck"}).Pattern
	round := 2 * (length(&q, "front", "neck") + length(&q, "back", "neck"))
	if c := over(q); c.Verdict != inspect.Pass || math.Abs(c.Measured-round-2*120) > 1e-3 {
		t.Errorf("opened, its neck lowered by 30 mm and faced: %s, %g mm, want %g", c.Verdict, c.Measured, round+240)
	}
	low := apply(t, p, "opening", "piece", "back", "edge", "side", "from", "hem_side", "length", 150.0).Pattern
	if c := over(low); c.Verdict == inspect.Pass {
		t.Errorf("a slit at the hem lets the head through: %g mm", c.Measured)
	}
	buttoned := apply(t, p, "button_stand").Pattern
	if c := over(buttoned); c.Verdict != inspect.Pass {
		t.Errorf("a buttoned front: %s, %s", c.Verdict, c.Text)
	}
}

func TestRandomOpeningsAreSoundOrRefused(t *testing.T) {
	r := rand.New(rand.NewPCG(21, 4))
	made := 0
	for range 300 {
		p := blouse.Make(blouse.At(r.IntN(8)))
		for range r.IntN(2) {
			p = apply(t, p, "button_stand").Pattern
		}
		q := &p.Pieces[r.IntN(3)]
		e := q.Edges[r.IntN(len(q.Edges))]
		args := []any{"piece", q.Name, "edge", e.Name, "length", 20 + 300*r.Float64(), "how", []string{"zip", "placket", "slit"}[r.IntN(3)], "from", []string{e.From, e.To, "upper_end"}[r.IntN(3)]}
		res, err := bind(t, "opening", args...).Apply(p)
		if err != nil {
			for _, f := range pattern.FaultsOf(err) {
				if f.Rule == "" || f.Rule == "unknown" || f.Size != p.Size || f.Remedy == "" || strings.Contains(f.Error(), "NaN") {
					t.Fatalf("%v: %+v", args, f)
				}
			}
			continue
		}
		made++
		passed(t, fmt.Sprint(args), res.Checks)
		for i := range res.Pattern.Pieces {
			finite(t, "opening", args, &res.Pattern.Pieces[i])
		}
	}
	if made < 60 {
		t.Errorf("only %d of 300 were made", made)
	}
}

func TestOpeningSaysWhatItCannotDo(t *testing.T) {
	p := blouse.Make(blouse.Base())
	darted := darted(blouse.Base(), usual())
	opened := apply(t, p, "opening", "piece", "back", "edge", "centre_back", "length", 100.0).Pattern
	for _, c := range []struct {
		claim, rule, pointer, says string
		args                       []any
		p                          *pattern.Pattern
	}{
		{"no such piece", "unknown_piece", "/piece", "bck", []any{"piece", "bck", "edge", "side", "length", 100}, nil},
		{"no such edge", "unknown_edge", "/edge", "sid", []any{"piece", "back", "edge", "sid", "length", 100}, nil},
		{"no such end", "unknown_end", "/from", "cb_neck", []any{"piece", "back", "edge", "centre_back", "length", 100, "from", "neck"}, nil},
		{"longer than its edge", "out_of_range", "/length", "shorter", []any{"piece", "front", "edge", "shoulder", "length", 80}, nil},
		{"nothing is sewn there", "edge_free", "/edge", "not sewn", []any{"piece", "front", "edge", "hem", "length", 80}, nil},
		{"a sleeve is set in there", "wrong_seam", "/edge", "sleeve", []any{"piece", "front", "edge", "armhole", "length", 80}, nil},
		{"the leg of a dart", "dart_leg", "/edge", "dart", []any{"piece", "front", "edge", "dart_upper", "length", 50}, &darted},
		{"below a dart", "inside_seam", "/from", "inside seam", []any{"piece", "front", "edge", "side_lower", "length", 50}, &darted},
		{"opened already", "opened_twice", "/edge", "already", []any{"piece", "back", "edge", "centre_back", "length", 80}, &opened},
		{"a strip's name that is taken", "name_taken", "/name", "x_strip", []any{"piece", "back", "edge", "centre_back", "length", 80, "how", "slit", "name", "x"}, nil},
	} {
		q := p
		if c.p != nil {
			q = *c.p
		}
		if c.rule == "name_taken" {
			q = q.Clone()
			q.Pieces = append(q.Pieces, rect("x_strip", 100, 100))
		}
		refused(t, "opening", q, c.claim, c.rule, c.pointer, c.says, c.args)
	}
}

func BenchmarkOpening(b *testing.B) {
	p := blouse.Make(blouse.Base())
	c := bind(b, "opening", "piece", "back", "edge", "centre_back", "length", 180.0)
	for b.Loop() {
		if _, err := c.Apply(p); err != nil {
			b.Fatal(err)
		}
	}
}
