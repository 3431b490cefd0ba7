package change_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"sizerun/internal/inspect"
	"sizerun/internal/pattern"
)

func bare(p pattern.Pattern) pattern.Pattern {
	for i := range p.Pieces { // without the dot on the dart's point
		p.Pieces[i].Marks = p.Pieces[i].Marks[:1]
	}
	return p
}

func bareRun() []pattern.Pattern {
	out := skirtRun()
	for i := range out {
		out[i] = bare(out[i])
	}
	return out
}

func TestASkirtIsFlaredToItsSweepInEverySize(t *testing.T) {
	for _, darts := range []bool{true, false} {
		for i, r := range green(t, bareRun(), skirtChart(), []any{"skirt_flare", "pieces", []any{"front", "back"}, "sweep", 1900, "darts", darts}) {
			p := bareRun()[i]
			l := 0.0
			for _, n := range []string{"front", "back"} {
				q := r.Pattern.PieceNamed(n)
				l += 2 * lengthOf(q, "hem")
				if math.Abs(topOf(q)-topOf(p.PieceNamed(n))) > 0.2 || math.Abs(lengthOf(q, "side")-lengthOf(p.PieceNamed(n), "side")) > 0.01 {
					t.Errorf("size %s %s: waist or side changed", p.Size, n)
				}
				if (len(q.Darts) == 0) != darts {
					t.Errorf("%s has %d darts left", n, len(q.Darts))
				}
			}
			if math.Abs(l-1900) > 1 {
				t.Errorf("size %s: %.2f mm round", p.Size, l)
			}
			tells(t, r)
		}
	}
}

func TestDartsAloneFlareASkirt(t *testing.T) {
	for i, r := range green(t, bareRun(), skirtChart(), []any{"skirt_flare", "pieces", []any{"front", "back"}}) {
		p := bareRun()[i]
		f, g := p.PieceNamed("front"), r.Pattern.PieceNamed("front")
		// By similar triangles about the dart's point: the mouth grows with the depth of the hem below it.
		d := f.Edges[f.EdgeNamed("dart_1")].Path
		tip := d.End()
		mouth := 22 * tip.Y / d.Length()
		if gain := lengthOf(g, "hem") - lengthOf(f, "hem"); math.Abs(gain-mouth) > 0.06*mouth+1 {
			t.Errorf("size %s: the hem gains %.2f mm, similar triangles say %.2f", p.Size, gain, mouth)
		}
	}
}

func TestASkirtFlaredByAnAmountGrowsWithItsSize(t *testing.T) {
	for i, r := range green(t, bareRun(), skirtChart(), []any{"skirt_flare", "pieces", []any{"front", "back"}, "by", 700}) {
		p, l := bareRun()[i], 0.0
		for _, n := range []string{"front", "back"} {
			l += 2 * (lengthOf(r.Pattern.PieceNamed(n), "hem") - lengthOf(p.PieceNamed(n), "hem"))
		}
		if math.Abs(l-700) > 1 {
			t.Errorf("size %s: %.2f mm wider", p.Size, l)
		}
	}
}

// A waistband and a ruffle go onto the flared skirt.
func TestAFlaredSkirtTakesABandAndARuffle(t *testing.T) {
	green(t, bareRun(), skirtChart(), []any{"skirt_flare", "pieces", []any{"front", "back"}, "sweep", 1800},
		[]any{"waistband", "edges", waistEdges}, []any{"ruffle", "edges", []any{"back.hem", "front.hem"}, "fullness", 1.5, "width", 120})
}

func TestSkirtFlareSaysWhatItCannotDo(t *testing.T) {
	for _, c := range []struct {
		claim, rule, pointer string
		args                 []any
	}{
		{"a piece that is not there", "unknown_piece", "/pieces/1", []any{"pieces", []any{"front", "yoke"}}},
		{"a hem that is not there", "unknown_edge", "/hem", []any{"pieces", "front", "hem", "bottom"}},
		{"a hem narrower than it is", "out_of_range", "/sweep", []any{"pieces", []any{"front", "back"}, "sweep", 500}},
		{"a hem told twice", "given_twice", "/by", []any{"pieces", "front", "sweep", 1500, "by", 20}},
		{"nothing to flare by", "no_flare", "/sweep", []any{"pieces", []any{"front", "back"}, "darts", false}},
		{"a hem that is sewn", "edge_sewn", "/hem", []any{"pieces", "front", "hem", "side"}},
	} {
		_, err := change1(c.args, "skirt_flare")
		if err == nil {
			t.Errorf("%s was made", c.claim)
			continue
		}
		f := pattern.FaultsOf(err)[0]
		if f.Rule != c.rule || f.Pointer != c.pointer || f.Remedy == "" || c.rule != "given_twice" && (f.Size != "14" || f.Piece == "") {
			t.Errorf("%s: %+v", c.claim, f)
		}
	}
}

func TestAnySkirtFlaredKeepsItsPromises(t *testing.T) {
	r := rand.New(rand.NewPCG(8, 1))
	made := 0
	for range 60 {
		p := bare(anySkirt(r))
		args := []any{"pieces", []any{"front", "back"}, "darts", r.IntN(2) == 0, "sweep", 1000 + 3000*r.Float64(), "lines", 1 + r.IntN(6)}
		res, err := bind(t, "skirt_flare", args...).Apply(p)
		if err != nil {
			if f := pattern.FaultsOf(err)[0]; f.Rule == "" || f.Pointer == "" || f.Remedy == "" || f.Piece == "" {
				t.Errorf("%v: %+v", args, f)
			}
			continue
		}
		made++
		for _, c := range res.Checks {
			if c.Verdict == inspect.Fail {
				t.Errorf("%v: %s %.3f in %v: %s", args, c.Rule, c.Measured, c.Want, c.Text)
			}
		}
		for i := range res.Pattern.Pieces {
			finite(t, "skirt_flare", args, &res.Pattern.Pieces[i])
		}
	}
	if made < 20 {
		t.Errorf("only %d were made", made)
	}
}

func BenchmarkSkirtFlare(b *testing.B) {
	benchOn(b, bare(skirtBase().make()), "skirt_flare", "pieces", []any{"front", "back"}, "sweep", 1900)
}

func TestAWrapOfOnePieceIsFlaredToItsSweep(t *testing.T) {
	r := apply(t, bare(skirtBase().make()), "skirt_flare", "pieces", "front", "sweep", 1100, "darts", false, "lines", 5)
	passes(t, r)
	if l := 2 * lengthOf(r.Pattern.PieceNamed("front"), "hem"); math.Abs(l-1100) > 1 {
		t.Errorf("%.3f mm", l)
	}
}
