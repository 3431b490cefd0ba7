package change_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"sizerun/internal/pattern"
	"sizerun/internal/testkit/blouse"
)

// The inner radius of a finished panel, by the chord and the arc of its waist.
func radiusOf(p *pattern.Piece) float64 {
	w := p.Edges[p.EdgeNamed("waist")].Path
	a, m, b := w.Start(), w.PointAt(w.Length()/2), w.End()
	chord, rise := a.Dist(b), m.Dist(a.Lerp(b, 0.5))
	return (chord*chord/4 + rise*rise) / (2 * rise)
}

// W = 26 in gives 4.138, 8.276, 12.414 and 16.552 in for W·(1, 2, 3, 4)/2π: a published worked example
// (prettyquirkypants.com, 2014/03/07; the page prints 4.13, 8.2, 12.4, 16.56). In angles these are the whole circle, half,
// a third and a quarter of it; three quarters are W·4/(3·2π) = 5.517 in, by the same exact geometry.
func TestTheRadiusOfAWorkedExample(t *testing.T) {
	for part, want := range map[string]float64{"full": 4.138, "half": 8.276, "third": 12.414, "quarter": 16.552, "three_quarter": 5.517} {
		for _, panels := range []int{1, 2, 4} {
			r := apply(t, skirtBase().make(), "circle_skirt", "circle", part, "waist", "26in", "length", 500, "panels", panels)
			passes(t, r)
			name := "skirt"
			if panels == 2 {
				name = "skirt_back"
			}
			if got := radiusOf(r.Pattern.PieceNamed(name)) / pattern.Inch; math.Abs(got-want) > 0.0006 {
				t.Errorf("%s of %d panels: %.4f in, want %.3f", part, panels, got, want)
			}
		}
	}
}

func TestACircleSkirtReplacesAStraightOneInEverySize(t *testing.T) {
	for i, r := range green(t, skirtRun(), skirtChart(), []any{"circle_skirt", "circle", "three_quarter", "edges", waistEdges, "instead", []any{"front", "back"}, "length", 650},
		[]any{"waistband", "edges", []any{"skirt_back.waist", "skirt_front.waist"}}) {
		p := skirtRun()[i]
		if len(r.Pattern.Pieces) != 3 || len(r.Pattern.Seams) != 3 {
			t.Errorf("pieces %v, %d seams", r.Pattern.PieceNames(), len(r.Pattern.Seams))
		}
		f, b := r.Pattern.PieceNamed("skirt_front"), r.Pattern.PieceNamed("skirt_back")
		if l := 2*lengthOf(f, "waist") + 2*lengthOf(b, "waist"); math.Abs(l-2*halfWaist(&p)) > 1e-3 {
			t.Errorf("waist %.4f, was %.4f", l, 2*halfWaist(&p))
		}
		// The area of a ring's sector: θ(R²−r²)/2.
		r0 := 2 * halfWaist(&p) / (1.5 * math.Pi)
		want := 1.5 * math.Pi / 4 * ((r0+650)*(r0+650) - r0*r0) / 2
		if a := f.Outline().Area(); math.Abs(a-want) > 1e-5*want {
			t.Errorf("%.1f mm², want %.1f", a, want)
		}
	}
}

func TestASkirtIsMadeToTheBodyAndSewnToABodice(t *testing.T) {
	for i, r := range green(t, skirtRun(), skirtChart(), []any{"circle_skirt", "circle", "full", "panels", 3, "fold", false, "ease", 15}) {
		p := skirtRun()[i]
		if l := 3 * lengthOf(r.Pattern.PieceNamed("skirt"), "waist"); math.Abs(l-p.Body["waist"]-15) > 0.001 {
			t.Errorf("%.3f mm round a waist of %.0f", l, p.Body["waist"])
		}
	}
	for _, panels := range []int{1, 2, 5} {
		for _, fold := range []bool{true, false} {
			part := "half"
			for _, r := range green(t, blouse.Run(), blouse.Chart(), []any{"circle_skirt", "edges", []any{"back.hem", "front.hem"}, "sew", true, "circle", part, "panels", panels, "fold", fold, "length", 200, "name", "peplum"}) {
				last := r.Pattern.Seams[len(r.Pattern.Seams)-1]
				n := panels
				if fold {
					n *= 2
				}
				if len(last.Sew) != n || len(last.To) != 4 {
					t.Errorf("sewn %v to %v", last.Sew, last.To)
				}
			}
		}
	}
}

func TestCircleSkirtsSayWhatTheyCannotDo(t *testing.T) {
	for _, c := range []struct {
		claim, rule, pointer string
		args                 []any
	}{
		{"a whole circle in one panel", "out_of_range", "/panels", []any{"circle", "full", "panels", 1, "fold", false}},
		{"a waist told twice", "given_twice", "/waist", []any{"waist", 700, "edges", waistEdges}},
		{"sewn to nothing", "missing_argument", "/edges", []any{"sew", true}},
		{"sewn to what it replaces", "given_twice", "/edges/0", []any{"sew", true, "edges", waistEdges, "instead", []any{"back"}}},
		{"a measure that is not there", "unknown_measure", "/measure", []any{"measure", "ankle"}},
		{"a piece that is not there", "unknown_piece", "/instead", []any{"instead", "bodice"}},
		{"a name that is taken", "name_taken", "/name", []any{"name", "front", "panels", 1}},
	} {
		_, err := change1(c.args, "circle_skirt")
		if err == nil {
			t.Errorf("%s was made", c.claim)
			continue
		}
		f := pattern.FaultsOf(err)[0]
		if f.Rule != c.rule || f.Pointer != c.pointer || f.Detail == "" || f.Remedy == "" {
			t.Errorf("%s: %+v", c.claim, f)
		}
	}
}

func TestAnyCircleSkirtKeepsItsPromises(t *testing.T) {
	r := rand.New(rand.NewPCG(7, 7))
	made := 0
	for range 200 {
		p := anySkirt(r)
		args := []any{"circle", []string{"quarter", "third", "half", "three_quarter", "full"}[r.IntN(5)], "length", 50 + 1500*r.Float64(), "panels", 1 + r.IntN(12), "fold", r.IntN(2) == 0, "waist", 200 + 1500*r.Float64(), "name", "ring"}
		res, ok := attempt(t, p, "circle_skirt", args...)
		if !ok {
			continue
		}
		made++
		passes(t, res)
	}
	if made < 150 {
		t.Errorf("only %d", made)
	}
}

func TestACircleSkirtTellsItsRadius(t *testing.T) {
	tells(t, apply(t, skirtBase().make(), "circle_skirt"))
	tells(t, apply(t, skirtBase().make(), "circle_skirt", "fold", false, "edges", waistEdges, "circle", "full"))
}

func BenchmarkCircleSkirt(b *testing.B) { benchOn(b, skirtBase().make(), "circle_skirt") }
