package change_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"sizerun/internal/geom"
	"sizerun/internal/inspect"
	"sizerun/internal/pattern"
)

// topOf is the length of the edges that came from the waist.
func topOf(p *pattern.Piece) float64 {
	l := 0.0
	for i := range p.Edges {
		if strings.HasPrefix(p.Edges[i].Src.Edge, "waist") {
			l += p.Edges[i].Path.Length()
		}
	}
	return l
}

// undarted is the test skirt without its darts: the dart is closed into the waist line.
func undarted(d skirtDraft) pattern.Pattern {
	p := d.make()
	for i := range p.Pieces {
		q := &p.Pieces[i]
		var edges []pattern.Edge
		for k := 0; k < len(q.Edges); k++ {
			e := q.Edges[k]
			if strings.HasPrefix(e.Name, "dart") {
				continue
			}
			if strings.HasPrefix(e.Name, "waist") && len(edges) > 0 && edges[len(edges)-1].Name == "waist" {
				last := &edges[len(edges)-1]
				last.Path = append(append(geom.Path{}, last.Path...), geom.Line(last.Path.End(), e.Path.Start()))
				last.Path = append(last.Path, e.Path...)
				last.To, last.Src.S1 = e.To, last.Path.Length()
				continue
			}
			if strings.HasPrefix(e.Name, "waist") {
				e.Name, e.Src = "waist", pattern.Source{Piece: q.Name, Edge: "waist"}
			}
			edges = append(edges, e)
		}
		q.Edges, q.Darts = edges, nil
	}
	p.Seams = p.Seams[:1]
	return p
}

func undartedRun() []pattern.Pattern {
	c := skirtChart()
	var out []pattern.Pattern
	for i, n := range c.Run {
		d := skirtBase()
		d.size, d.waist, d.hip = n, c.Body["waist"][i], c.Body["hip"][i]
		p := undarted(d)
		p.Body = c.BodyOf(i)
		out = append(out, p)
	}
	return out
}

// A knife pleat of depth d takes 2d of cloth, a box or inverted pleat 4d (TRADE 5; common practice).
func TestPleatArithmetic(t *testing.T) {
	for kind, times := range map[string]float64{"knife": 2, "box": 4, "inverted": 4} {
		for i, r := range green(t, undartedRun(), skirtChart(), []any{"pleats", "piece", "front", "kind", kind, "number", 2, "depth", 22}) {
			p := undartedRun()[i]
			f, g := p.PieceNamed("front"), r.Pattern.PieceNamed("front")
			if let := g.Outline().Bounds().W() - f.Outline().Bounds().W(); math.Abs(let-2*times*22) > 1e-6 {
				t.Errorf("%s: %.4f mm let in", kind, let)
			}
			if math.Abs(topOf(g)-lengthOf(f, "waist")) > 1e-6 {
				t.Errorf("%s: the folded top is %.4f mm, was %.4f", kind, topOf(g), lengthOf(f, "waist"))
			}
			if math.Abs(lengthOf(g, "side")-lengthOf(f, "side")) > 1e-9 || math.Abs(lengthOf(g, "centre")-lengthOf(f, "centre")) > 1e-9 {
				t.Error("side or centre changed")
			}
			// The fold of the cloth stays where it was.
			if !g.Edges[g.EdgeNamed("centre")].Fold || g.Edges[g.EdgeNamed("centre")].Path.Start().Dist(geom.Point{}) > 1e-9 {
				t.Error("the centre moved")
			}
			tells(t, r)
		}
	}
}

// A waistband over pleats is as long as the folded waist, and its notches meet.
func TestAWaistbandGoesOverFoldedPleats(t *testing.T) {
	for i, r := range green(t, undartedRun(), skirtChart(), []any{"pleats", "piece", "front", "number", 2, "depth", 20, "faces", "right"},
		[]any{"waistband", "edges", []any{"back.waist", "front.waist_3", "front.waist_2", "front.waist"}}) {
		p := undartedRun()[i]
		want := 2*(lengthOf(p.PieceNamed("front"), "waist")+lengthOf(p.PieceNamed("back"), "waist")) + 30
		if w := r.Pattern.PieceNamed("waistband").Outline().Bounds().W(); math.Abs(w-want) > 1e-6 {
			t.Errorf("%.3f mm, want %.3f", w, want)
		}
	}
}

// The referee folds paper: the outline as a dense polygon, folded layer by layer along the drawn lines and drawn over each other,
// must have the silhouette of the piece before.
func TestFoldedPaperHasTheOldSilhouette(t *testing.T) {
	for _, kind := range []string{"knife", "box", "inverted"} {
		for _, faces := range []string{"left", "right"} {
			p := undarted(skirtBase())
			was := p.PieceNamed("back")
			r := apply(t, p, "pleats", "piece", "back", "kind", kind, "faces", faces, "number", 2, "depth", 18)
			q := r.Pattern.PieceNamed("back")
			line := func(k int, n string) float64 {
				for _, l := range q.Lines {
					if l.Name == fmt.Sprintf("pleat_%d_%s", k, n) {
						return l.Path.Start().X
					}
				}
				t.Fatalf("no line pleat_%d_%s", k, n)
				return 0
			}
			n := 2
			if kind != "knife" {
				n = 4
			}
			old, now := was.Outline().Flatten(0.01), q.Outline().Flatten(0.01)
			shift, left := 0.0, -1e4
			for k := 1; k <= n+1; k++ {
				right := 1e4
				next := 0.0
				if k <= n {
					a, b := line(k, "fold"), line(k, "to")
					right, next = math.Min(a, b), math.Max(a, b)
				}
				for _, x := range polySpan(old) {
					if y := x + shift; y > left+0.5 && y < right-0.5 {
						a0, a1 := columnOf(old, x)
						b0, b1 := columnOf(now, y)
						if math.Abs(a0-b0) > 0.02 || math.Abs(a1-b1) > 0.02 {
							t.Fatalf("%s: at %.1f the paper reaches from %.3f to %.3f, was %.3f to %.3f", kind, x, b0, b1, a0, a1)
						}
					}
				}
				if k <= n {
					shift += next - right
					left = next
				}
			}
		}
	}
}

func polySpan(pts []geom.Point) []float64 {
	lo, hi := math.Inf(1), math.Inf(-1)
	for _, p := range pts {
		lo, hi = math.Min(lo, p.X), math.Max(hi, p.X)
	}
	var out []float64
	for x := lo + 3; x < hi-3; x += 2.3 {
		out = append(out, x)
	}
	return out
}

func columnOf(pts []geom.Point, x float64) (lo, hi float64) {
	lo, hi = math.Inf(1), math.Inf(-1)
	for i := range pts {
		a, b := pts[i], pts[(i+1)%len(pts)]
		if (a.X < x) == (b.X < x) {
			continue
		}
		y := a.Y + (b.Y-a.Y)*(x-a.X)/(b.X-a.X)
		lo, hi = math.Min(lo, y), math.Max(hi, y)
	}
	return lo, hi
}

func TestASeamOverThePleatedTopKeepsItsLength(t *testing.T) {
	p := undarted(skirtBase())
	a := apply(t, p, "waistband", "edges", []any{"back.waist", "front.waist"}, "notches", 3)
	r := apply(t, a.Pattern, "pleats", "piece", "front", "number", 3, "depth", 15, "first", 40, "apart", 50)
	passes(t, r)
	for _, c := range inspect.Run([]inspect.Sized{cutOut(t, r)}, skirtChart(), inspect.Options{}).Worst() {
		t.Errorf("%s %s %s.%s: %.3f in %v: %s", c.Verdict, c.Rule, c.Piece, c.Place, c.Measured, c.Want, c.Text)
	}
	for _, s := range r.Pattern.Seams {
		if s.Name == "waistband_waist" && (len(s.To) != 5 || len(s.Notches) != 6) {
			t.Errorf("%d edges, %d notches: %+v", len(s.To), len(s.Notches), s)
		}
	}
}

func TestPleatsSayWhatTheyCannotDo(t *testing.T) {
	for _, c := range []struct {
		claim, rule, pointer string
		args                 []any
	}{
		{"a piece that is not there", "unknown_piece", "/piece", []any{"piece", "skirt"}},
		{"a top that is the hem", "given_twice", "/top", []any{"piece", "front", "top", "hem"}},
		{"pleats that overlap", "pleats_overlap", "/number", []any{"piece", "front", "top", skirtTop, "number", 5, "apart", 20, "depth", 25}},
		{"pleats past the end of the top", "out_of_range", "/first", []any{"piece", "front", "top", skirtTop, "number", 3, "first", 150, "apart", 80}},
		{"an underlay under the dart", "dart_in_pleat", "/number", []any{"piece", "front", "top", skirtTop, "number", 1, "depth", 40, "first", 118, "faces", "right"}},
		{"a pleat at the corner", "near_corner", "/number", []any{"piece", "front", "top", skirtTop, "number", 1, "depth", 40, "first", 4}},
		{"a pleat deeper than the piece", "pleat_line", "/number", []any{"piece", "front", "top", skirtTop, "number", 1, "depth", 250}},
	} {
		_, err := change1(c.args, "pleats")
		if err == nil {
			t.Errorf("%s was made", c.claim)
			continue
		}
		f := pattern.FaultsOf(err)[0]
		if f.Rule != c.rule || f.Pointer != c.pointer || f.Size != "14" || f.Piece == "" || f.Remedy == "" {
			t.Errorf("%s: %+v", c.claim, f)
		}
	}
}

func TestPleatsFoldBackOnAnySkirt(t *testing.T) {
	r := rand.New(rand.NewPCG(11, 2))
	made := 0
	for range 250 {
		d := skirtBase()
		d.waist, d.long, d.drop, d.flare = 500+700*r.Float64(), 350+500*r.Float64(), 20*r.Float64(), 60*r.Float64()
		d.hip = d.waist + 60 + 200*r.Float64()
		p := undarted(d)
		args := []any{"piece", []string{"front", "back"}[r.IntN(2)], "kind", []string{"knife", "box", "inverted"}[r.IntN(3)], "faces", []string{"left", "right"}[r.IntN(2)], "number", 1 + r.IntN(6), "depth", 5 + 40*r.Float64()}
		if r.IntN(2) == 0 {
			args = append(args, "apart", 10+60*r.Float64())
		}
		res, ok := attempt(t, p, "pleats", args...)
		if !ok {
			continue
		}
		made++
		passes(t, res)
		for _, c := range inspect.Run([]inspect.Sized{{Pattern: res.Pattern}}, skirtChart(), inspect.Options{}).Worst() {
			if c.Rule != "grain_length" {
				t.Errorf("%v: %s %s %s.%s: %.3f in %v: %s", args, c.Verdict, c.Rule, c.Piece, c.Place, c.Measured, c.Want, c.Text)
			}
		}
	}
	if made < 100 {
		t.Errorf("only %d were made", made)
	}
}

func BenchmarkPleats(b *testing.B) {
	benchOn(b, undarted(skirtBase()), "pleats", "piece", "front", "number", 3, "depth", 15)
}
