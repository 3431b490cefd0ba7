package change_test

import (
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"sizerun/internal/geom"
	"sizerun/internal/inspect"
	"sizerun/internal/pattern"
	"sizerun/internal/testkit/blouse"
)

var onFront = []any{"pocket_patch", "piece", "front", "at", "waist_centre", "down", 150, "over", -110}

func TestAPatchPocketLiesWhereItIsPlacedInEverySize(t *testing.T) {
	for _, shape := range []string{"square", "rounded", "pointed"} {
		for i, r := range green(t, skirtRun(), skirtChart(), append(append([]any{}, onFront...), "shape", shape, "tilt", 8, "width", 120, "depth", 140)) {
			p := skirtRun()[i]
			f, q := r.Pattern.PieceNamed("front"), r.Pattern.PieceNamed("pocket")
			l, u := f.MarkNamed("pocket_left").At, f.MarkNamed("pocket_right").At
			top, _ := p.PieceNamed("front").Corner("waist_centre")
			if mid := l.Lerp(u, 0.5); mid.Dist(geom.Pt(top.X-110, top.Y-150)) > 1e-9 {
				t.Errorf("size %s: the middle of its upper edge lies at %v, the waist at %v", p.Size, mid, top)
			}
			if v := u.Sub(l); math.Abs(v.Len()-120) > 1e-9 || math.Abs(v.Angle()*180/math.Pi-8) > 1e-9 {
				t.Errorf("its upper edge is %.3f mm long and tilts by %.3f degrees", v.Len(), v.Angle()*180/math.Pi)
			}
			if g := q.Grain[1].Sub(q.Grain[0]); math.Abs(g.Angle()*180/math.Pi-82) > 1e-6 {
				t.Errorf("its grain runs at %.2f degrees", g.Angle()*180/math.Pi)
			}
			want := map[string]float64{"square": 120 * 140, "rounded": 120*140 - (4-math.Pi)/2*400, "pointed": 120*120 + 60*20}[shape]
			if a := q.Outline().Area(); math.Abs(a-want) > 0.01 {
				t.Errorf("%s: %.2f mm², want %.2f", shape, a, want)
			}
			if o := q.Edges[q.EdgeNamed("opening")].Own; o == nil || o.Width != 25 || q.Cut.Count != 2 {
				t.Errorf("%+v %+v", o, q.Cut)
			}
		}
	}
}

func TestPocketsSayWhatTheyCannotDo(t *testing.T) {
	skirt := skirtBase().make()
	for _, c := range []struct {
		claim, rule, pointer string
		spec                 []any
	}{
		{"a pocket over the fold", "pocket_leaves_piece", "/at", []any{"pocket_patch", "piece", "front", "at", "waist_centre", "down", 150}},
		{"a pocket wider than the piece", "pocket_leaves_piece", "/at", append(append([]any{}, onFront...), "width", 300)},
		{"a place that is not there", "unknown_point", "/at/point", []any{"pocket_patch", "piece", "front", "at", "bust_point"}},
		{"a name that is taken", "name_taken", "/name", append(append([]any{}, onFront...), "name", "back")},
		{"an opening longer than the seam", "out_of_range", "/opening", []any{"pocket_inseam", "edges", "front.side", "top", 400, "opening", 350}},
		{"a bag wider than the skirt", "bag_leaves_piece", "/width", []any{"pocket_inseam", "edges", "front.side", "width", 400}},
		{"a pocket in a fold", "no_seam", "/edges", []any{"pocket_inseam", "edges", "front.centre"}},
		{"an edge that is not there", "unknown_edge", "/edges/1", []any{"pocket_inseam", "edges", []any{"front.side", "back.seam"}}},
	} {
		_, err := bind(t, c.spec[0].(string), c.spec[1:]...).Apply(skirt)
		if err == nil {
			t.Errorf("%s was made", c.claim)
			continue
		}
		f := pattern.FaultsOf(err)[0]
		if f.Rule != c.rule || f.Pointer != c.pointer || f.Size != "14" || f.Piece == "" || f.Remedy == "" || f.Valid == "" {
			t.Errorf("%s: %+v", c.claim, f)
		}
	}
}

func TestAnInSeamPocketIsEquallyLongOnAllSides(t *testing.T) {
	for _, r := range green(t, skirtRun(), skirtChart(), []any{"pocket_inseam", "edges", []any{"front.side", "back.side"}, "top", 70, "opening", 165}) {
		f, b, q := r.Pattern.PieceNamed("front"), r.Pattern.PieceNamed("back"), r.Pattern.PieceNamed("pocket_bag")
		if math.Abs(lengthOf(q, "opening")-165) > 1e-6 || q.Cut.Count != 4 || !q.Cut.Pair {
			t.Errorf("%.4f mm, cut %+v", lengthOf(q, "opening"), q.Cut)
		}
		// Down the seam from the waist, front and back alike.
		if x := f.MarkNamed("pocket_bag_top").S; math.Abs(x-70) > 1e-9 {
			t.Errorf("front: %.3f mm", x)
		}
		if x := lengthOf(b, "side") - b.MarkNamed("pocket_bag_top").S; math.Abs(x-70) > 1e-9 {
			t.Errorf("back: %.3f mm", x)
		}
		for _, s := range r.Pattern.Seams {
			if s.Name == "side" && len(s.Notches) != 3 {
				t.Errorf("the side seam pairs %d notches", len(s.Notches))
			}
		}
		// The bag follows the front's own seam line.
		for _, s := range q.Edges[0].Path {
			if _, d := f.Edges[f.EdgeNamed("side")].Path.Project(s.At(0.4)); d > 1e-6 {
				t.Errorf("the opening leaves the seam by %.5f mm", d)
			}
		}
		tells(t, r)
	}
}

func TestABagOnTheOtherHandIsTheSameBagMirrored(t *testing.T) {
	p := skirtBase().make()
	x := applied(t, p, "pocket_inseam", "edges", "front.side").PieceNamed("pocket_bag")
	y := applied(t, p, "pocket_inseam", "edges", "back.side").PieceNamed("pocket_bag")
	if math.Abs(x.Outline().Area()-y.Outline().Area()) > 1e-6 || math.Abs(x.Outline().Length()-y.Outline().Length()) > 1e-6 {
		t.Errorf("%.4f and %.4f mm²", x.Outline().Area(), y.Outline().Area())
	}
}

func TestWashedClothComesBackToSize(t *testing.T) {
	for i, r := range green(t, skirtRun(), skirtChart(), []any{"waistband", "edges", waistEdges}, []any{"shrinkage", "warp", 0.05, "weft", 0.02}) {
		p := skirtRun()[i]
		f, g := p.PieceNamed("front"), r.Pattern.PieceNamed("front")
		if a, want := g.Outline().Area(), f.Outline().Area()/0.95/0.98; math.Abs(a-want) > 1e-6*want {
			t.Errorf("size %s: %.3f mm², want %.3f", p.Size, a, want)
		}
		if l, want := lengthOf(g, "centre"), lengthOf(f, "centre")/0.95; math.Abs(l-want) > 1e-6 {
			t.Errorf("the centre is %.4f mm long, want %.4f: it runs along the warp", l, want)
		}
		// The band lies the other way of the cloth: its length runs along the warp.
		b := r.Pattern.PieceNamed("waistband")
		if box := b.Outline().Bounds(); math.Abs(box.W()-(2*halfWaist(&p)+30)/0.95) > 1e-6 || math.Abs(box.H()-60/0.98) > 1e-6 {
			t.Errorf("the band is %.3f × %.3f mm", box.W(), box.H())
		}
		tells(t, r)
	}
}

// pattern = size/(1 − s): 100 cm that shrink by 3 % are cut 103.09 cm long (foralltex.com's rule, TRUTH 7).
func TestAMetreThatShrinksByThreePercentIsCutLonger(t *testing.T) {
	d := skirtBase()
	d.long, d.drop = 1000, 0
	g := applied(t, d.make(), "shrinkage", "warp", 0.03, "weft", 0).PieceNamed("front")
	if l := lengthOf(g, "centre"); math.Abs(l-1030.928) > 0.001 {
		t.Errorf("%.3f mm", l)
	}
}

func TestShrinkageSparesOtherClothsAndRefusesNone(t *testing.T) {
	p := skirtBase().make()
	p.Pieces[1].Cut.Cloth = "lining"
	r := apply(t, p, "shrinkage")
	if r.Pattern.PieceNamed("back").Outline().Area() != p.PieceNamed("back").Outline().Area() {
		t.Error("the lining was enlarged")
	}
	_, err := bind(t, "shrinkage", "cloth", "velvet").Apply(p)
	if err == nil || pattern.FaultsOf(err)[0].Rule != "unknown_cloth" || pattern.FaultsOf(err)[0].Pointer != "/cloth" {
		t.Errorf("%v", err)
	}
	p.Pieces[0].Grain[1] = p.Pieces[0].Grain[0]
	if _, err = bind(t, "shrinkage").Apply(p); err == nil || pattern.FaultsOf(err)[0].Rule != "no_grain" {
		t.Errorf("%v", err)
	}
}

func TestShrinkingWhatAnEarlierChangeMadeKeepsSeamsAndMarks(t *testing.T) {
	r := rand.New(rand.NewPCG(9, 9))
	for range 30 {
		p := anySkirt(r)
		a := apply(t, p, "pocket_inseam", "edges", []any{"front.side", "back.side"}, "width", 60, "depth", 40, "top", 20, "opening", 100)
		passes(t, a)
		b := apply(t, a.Pattern, "ruffle", "edges", []any{"front.hem", "back.hem"})
		c := apply(t, b.Pattern, "shrinkage", "warp", 0.15*r.Float64(), "weft", 0.15*r.Float64())
		passes(t, c)
		for i := range c.Pattern.Pieces {
			finite(t, "shrinkage", nil, &c.Pattern.Pieces[i])
			if len(c.Pattern.Pieces[i].Marks) != len(b.Pattern.Pieces[i].Marks) {
				t.Error("a mark vanished")
			}
		}
		for _, k := range inspect.Run([]inspect.Sized{{Pattern: c.Pattern}}, skirtChart(), inspect.Options{}).Worst() {
			if k.Rule != "runs_on" {
				t.Errorf("%s %s %s.%s: %.3f in %v: %s", k.Verdict, k.Rule, k.Piece, k.Place, k.Measured, k.Want, k.Text)
			}
		}
	}
}

func TestPocketsAndShrinkageTellTheirAmounts(t *testing.T) {
	p := skirtBase().make()
	for _, spec := range [][]any{onFront, {"pocket_inseam", "edges", []any{"front.side", "back.side"}}, {"shrinkage"}} {
		tells(t, apply(t, p, spec[0].(string), spec[1:]...))
	}
	r := apply(t, p, onFront[0].(string), onFront[1:]...)
	if !strings.Contains(r.Steps[0].Text, "twice") {
		t.Error(r.Steps[0].Text)
	}
}

// Any arguments whatever: made soundly, or refused with a place.
func TestPocketsOfAnySizeAreMadeOrRefused(t *testing.T) {
	r := rand.New(rand.NewPCG(4, 2))
	made := 0
	for range 200 {
		p := anySkirt(r)
		spec := []any{"piece", []string{"front", "back"}[r.IntN(2)], "at", obj("at", []any{r.Float64()*400 - 200, r.Float64() * 500}), "down", 100 * r.Float64(), "width", 30 + 200*r.Float64(), "depth", 60 + 200*r.Float64(),
			"shape", []string{"square", "rounded", "pointed"}[r.IntN(3)], "by", 5 + 10*r.Float64(), "tilt", 100*r.Float64() - 50}
		name := "pocket_patch"
		if r.IntN(2) == 0 {
			name, spec = "pocket_inseam", []any{"edges", []any{"back.side", "front.side"}, "top", 10 + 300*r.Float64(), "opening", 60 + 200*r.Float64(), "width", 60 + 200*r.Float64(), "depth", 20 + 200*r.Float64()}
		}
		res, err := bind(t, name, spec...).Apply(p)
		if err != nil {
			if f := pattern.FaultsOf(err)[0]; f.Rule == "" || f.Pointer == "" && f.Piece == "" || f.Remedy == "" || f.Size == "" {
				t.Errorf("%v: %+v", spec, f)
			}
			continue
		}
		made++
		passes(t, res)
		for i := range res.Pattern.Pieces {
			finite(t, name, spec, &res.Pattern.Pieces[i])
		}
	}
	if made < 30 {
		t.Errorf("only %d were made", made)
	}
}

func BenchmarkPocketPatch(b *testing.B) {
	benchOn(b, skirtBase().make(), "pocket_patch", onFront[1:]...)
}
func BenchmarkPocketInseam(b *testing.B) {
	benchOn(b, skirtBase().make(), "pocket_inseam", "edges", []any{"front.side", "back.side"})
}
func BenchmarkShrinkage(b *testing.B) { benchOn(b, blouse.Make(blouse.Base()), "shrinkage") }

// Found by random sequences: a side that is a part only of what the other side is sewn to.
func TestAnOpeningThatWouldMissItsPartnerIsRefused(t *testing.T) {
	p := skirtBase().make()
	b := p.PieceNamed("back")
	k := b.EdgeNamed("side")
	e := b.Edges[k]
	l := e.Path.Length()
	low, high := e, e
	low.Path, high.Path = e.Path.Split(l - 100)
	low.To, high.From, high.Name = "side_mark", "side_mark", "side_2"
	low.Src, high.Src = pattern.Source{}, pattern.Source{}
	b.Edges = append(append(append([]pattern.Edge(nil), b.Edges[:k]...), low, high), b.Edges[k+1:]...)
	p.Seams[0].To = []pattern.EdgeRef{{Piece: "back", Edge: "side_2", Against: true}, {Piece: "back", Edge: "side", Against: true}}
	_, err := bind(t, "pocket_inseam", "edges", []any{"front.side", "back.side"}).Apply(p)
	if err == nil {
		t.Fatal("openings that miss each other by 100 mm were made")
	}
	if f := pattern.FaultsOf(err)[0]; f.Rule != "not_opposite" || f.Pointer != "/edges/1" || !strings.Contains(f.Detail, "100.0 mm") || f.Edge != "side" {
		t.Errorf("%+v", f)
	}
}
