package change_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"sizerun/internal/change"
	"sizerun/internal/geom"
	"sizerun/internal/pattern"
	"sizerun/internal/testkit/blouse"
)

func TestEveryFlatCollarIsSoundInEverySize(t *testing.T) {
	for _, args := range [][]any{
		{},
		{"overlap", 0.0, "raise", 0.0},
		{"overlap", 25.0, "depth", 80.0},
		{"end", "square", "front_depth", 50.0},
		{"end", "pointed", "cut", "open"},
		{"end", "pointed", "front_depth", 110.0, "turn", 3.0},
		{"turn", 0.0, "round", 20.0},
	} {
		for _, p := range blouse.Run() {
			claim := fmt.Sprintf("%v, size %s", args, p.Size)
			r := apply(t, p, "flat_collar", args...)
			passed(t, claim, r.Checks)
			whole(t, claim, sized(t, r))
			want := length(&p, "front", "neck") + length(&p, "back", "neck")
			if got := length(&r.Pattern, "collar", "neck_edge"); math.Abs(got-want) > 0.02 {
				t.Errorf("%s: its seam is %.4f mm long, the neck %.4f", claim, got, want)
			}
			for _, name := range []string{"front", "back"} {
				if got, want := r.Pattern.PieceNamed(name).Outline().Area(), p.PieceNamed(name).Outline().Area(); got != want {
					t.Errorf("%s: %s was changed", claim, name)
				}
			}
		}
	}
}

// turned is how far a neck turns from end to end, degrees by sampled directions.
func turned(p geom.Path) float64 {
	sum, l := 0.0, p.Length()
	for i := range 400 {
		sum += p.TangentAt(l * float64(i) / 400).AngleTo(p.TangentAt(l * float64(i+1) / 400))
	}
	return math.Abs(sum)
}

// With no overlap the collar is a strip of the bodice, front and back laid together: its seam is the neck, rigidly
// moved, and by Steiner's formula for parallels its area is d·L + d²·T/2, its outer edge L + d·T long, for a depth d
// and a neck L long that turns by T.
func TestWithoutOverlapTheCollarLiesExactlyOnTheBodice(t *testing.T) {
	const d = 55.0
	for _, p := range blouse.Run() {
		r := apply(t, p, "flat_collar", "overlap", 0.0, "raise", 0.0, "end", "square", "depth", d)
		q := r.Pattern.PieceNamed("collar")
		seam := q.Edges[q.EdgeNamed("neck_edge")].Path.Reverse()
		f, b := p.PieceNamed("front"), p.PieceNamed("back")
		back, front := b.Edges[b.EdgeNamed("neck")].Path.Reverse(), f.Edges[f.EdgeNamed("neck")].Path.Reverse()
		l := back.Length() + front.Length()
		turn := turned(back) + turned(front)
		for i, part := range [2]geom.Path{back, front} {
			from := []float64{0, back.Length()}[i]
			for k := range 9 {
				for j := range k {
					s, u := part.Length()*float64(k)/8, part.Length()*float64(j)/8
					want := part.PointAt(s).Dist(part.PointAt(u))
					if got := seam.PointAt(from + s).Dist(seam.PointAt(from + u)); math.Abs(got-want) > 1e-6 {
						t.Fatalf("size %s: points of the neck %.6f mm apart are %.6f mm apart on the collar", p.Size, want, got)
					}
				}
			}
		}
		if got, want := q.Outline().Area(), d*l+d*d*turn/2; math.Abs(got-want) > 5 {
			t.Errorf("size %s: area %.2f mm2, want %.2f", p.Size, got, want)
		}
		if got, want := length(&r.Pattern, "collar", "outer_edge"), l+d*turn; math.Abs(got-want) > 0.05 {
			t.Errorf("size %s: outer edge %.3f mm, want %.3f", p.Size, got, want)
		}
	}
}

// Shoulders that overlap by o close an angle of 2·asin(o/2S) for shoulders S long; the outer edge of a collar d deep
// becomes shorter by d times that.
func TestMoreOverlapMakesTheOuterEdgeShorter(t *testing.T) {
	const d = 60.0
	for _, p := range blouse.Run() {
		last, flat := math.Inf(1), 0.0
		for o := 0.0; o <= 30; o += 5 {
			r := apply(t, p, "flat_collar", "overlap", o, "raise", 0.0, "end", "square", "depth", d)
			got := length(&r.Pattern, "collar", "outer_edge")
			if o == 0 {
				flat = got
			}
			want := flat - d*2*math.Asin(o/2/length(&p, "front", "shoulder"))
			if math.Abs(got-want) > 0.05 || got >= last {
				t.Errorf("size %s, overlap %g: outer edge %.3f mm, want %.3f", p.Size, o, got, want)
			}
			last = got
		}
	}
}

// What raising takes from the length of the seam is given back at the centre back: the notch still meets the
// shoulder, and the collar is as deep as asked.
func TestARaisedSeamStillMeetsTheShoulder(t *testing.T) {
	p := blouse.Make(blouse.Base())
	for _, raise := range []float64{0, 3, 8} {
		r := apply(t, p, "flat_collar", "raise", raise)
		q := r.Pattern.PieceNamed("collar")
		m := q.MarkNamed("shoulder")
		seam := q.Edges[q.EdgeNamed("neck_edge")].Path
		if got, want := seam.Length()-m.S, length(&p, "back", "neck"); math.Abs(got-want) > 0.02 {
			t.Errorf("raised by %g: %.3f mm from the centre back to the notch, want %.3f", raise, got, want)
		}
		if got := seam.End().Y; math.Abs(got-raise) > 1e-9 {
			t.Errorf("raised by %g: lies at %g", raise, got)
		}
	}
}

func TestAFlatCollarEndsAtTheCentreOfAButtonedFront(t *testing.T) {
	p := apply(t, blouse.Make(blouse.Base()), "button_stand").Pattern
	r := apply(t, p, "flat_collar")
	whole(t, "buttoned", sized(t, r))
	if got, want := length(&r.Pattern, "collar", "neck_edge"), length(&p, "front", "neck")+length(&p, "back", "neck"); math.Abs(got-want) > 0.02 {
		t.Errorf("%.3f mm, want %.3f", got, want)
	}
}

// The whole run in one: growth from size to size is judged by the neck's own.
func TestRandomFlatCollarsAreSoundOrRefused(t *testing.T) {
	made, n := 0, 0
	sleeves(t, 11, 120, func(r *rand.Rand, _ blouse.Draft, p pattern.Pattern) {
		u := func(lo, hi float64) float64 { return lo + r.Float64()*(hi-lo) }
		end := []string{"round", "pointed", "square"}[r.IntN(3)]
		args := []any{"overlap", u(0, 40), "depth", u(20, 160), "end", end, "raise", u(0, 10), "turn", u(0, 6), "cut", []string{"fold", "open"}[r.IntN(2)]}
		n++
		res, err := bind(t, "flat_collar", args...).Apply(p)
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
			finite(t, "flat_collar", args, &res.Pattern.Pieces[i])
		}
	})
	if made < n*3/4 {
		t.Errorf("only %d of %d were made", made, n)
	}
}

func TestFlatCollarSaysWhatItCannotDo(t *testing.T) {
	corner := blouse.Make(blouse.Base())
	f := corner.PieceNamed("front")
	e := &f.Edges[f.EdgeNamed("neck")]
	e.Path = geom.Polyline(e.Path.Start(), e.Path.Start().Add(geom.Vec{X: -60}), e.Path.End())
	for _, c := range []struct {
		claim, rule, pointer, says string
		args                       []any
		p                          *pattern.Pattern
	}{
		{"no such piece", "unknown_piece", "/front", "frnt", []any{"front", "frnt"}, nil},
		{"no such edge", "unknown_edge", "/neck", "nekc", []any{"neck", "nekc"}, nil},
		{"shoulders over each other too far", "out_of_range", "/overlap", "shoulders of 84.0 mm", []any{"overlap", 55.0}, nil},
		{"a neck with a corner", "neck_corner", "/neck", "corner", nil, &corner},
		{"a name that is taken", "name_taken", "/name", "sleeve", []any{"name", "sleeve"}, nil},
		{"nothing to take the place of", "unknown_piece", "/instead_of/0", "binding", []any{"instead_of", "binding"}, nil},
		{"a curve longer than the end", "out_of_range", "/round", "round it less", []any{"round", 80.0}, nil},
		{"a point that is none", "out_of_range", "/front_depth", "deeper", []any{"end", "pointed", "front_depth", 60.0}, nil},
	} {
		p := blouse.Make(blouse.Base())
		if c.p != nil {
			p = *c.p
		}
		refused(t, "flat_collar", p, c.claim, c.rule, c.pointer, c.says, c.args)
	}
}

// refused: the change says what it cannot do, where, and what to do, when it is bound or when it is made.
func refused(t *testing.T, name string, p pattern.Pattern, claim, rule, pointer, says string, args []any) {
	t.Helper()
	c, err := change.Bind(pattern.ChangeSpec{Change: name, Args: obj(args...)})
	if err == nil {
		_, err = c.Apply(p)
	}
	if err == nil {
		t.Errorf("%s: was made", claim)
		return
	}
	f := pattern.FaultsOf(err)[0]
	if f.Rule != rule || f.Pointer != pointer || !strings.HasPrefix(f.Detail, name+": ") || !strings.Contains(f.Error(), says) || f.Remedy == "" {
		t.Errorf("%s: %+v", claim, f)
	}
}

func BenchmarkFlatCollar(b *testing.B) {
	p := blouse.Make(blouse.Base())
	c := bind(b, "flat_collar")
	for b.Loop() {
		if _, err := c.Apply(p); err != nil {
			b.Fatal(err)
		}
	}
}
