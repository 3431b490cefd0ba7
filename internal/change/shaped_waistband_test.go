package change_test

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"sizerun/internal/geom"
	"sizerun/internal/inspect"
	"sizerun/internal/pattern"
)

// onCone is a skirt of two halves without darts, each a quarter of what lies between two circles, opened flat: a
// truncated cone. The quarter spans the angle, its waist lies on the radius r. With an endless radius it is a box.
func onCone(r, angle, long float64) pattern.Pattern {
	mid := math.Pi / 2
	quarter := func(name string, turn float64, fold bool) pattern.Piece {
		a0, a1 := -mid, -mid+turn*angle // from the centre to the side
		lo, hi := math.Min(a0, a1), math.Max(a0, a1)
		o := geom.Pt(0, 0)
		hem, waist := geom.Arc(o, r+long, lo, hi), geom.Arc(o, r, hi, lo)
		names := []string{"hem", "", "waist", ""}
		if turn < 0 {
			names[1], names[3] = "centre", "side"
		} else {
			names[1], names[3] = "side", "centre"
		}
		paths := []geom.Path{hem, geom.Polyline(hem.End(), waist.Start()), waist, geom.Polyline(waist.End(), hem.Start())}
		p := pattern.Piece{Name: name, Title: name, Of: name, Cut: pattern.Cut{Count: 1, Cloth: "main"}, Grain: [2]geom.Point{geom.Pt(turn*20, -r-0.7*long), geom.Pt(turn*20, -r-0.3*long)}}
		for i, n := range names {
			p.Edges = append(p.Edges, pattern.Edge{Name: n, From: n + "_from", To: names[(i+1)%4] + "_from", Path: paths[i], Fold: n == "centre" && fold})
		}
		if !fold {
			p.Cut = pattern.Cut{Count: 2, Pair: true, Cloth: "main"}
		}
		return p
	}
	f, b := quarter("front", -1, true), quarter("back", 1, false)
	return pattern.Pattern{Size: "14", Base: true, Pieces: []pattern.Piece{f, b}, Seams: []pattern.Seam{
		{Name: "side", Sew: []pattern.EdgeRef{{Piece: "front", Edge: "side"}}, To: []pattern.EdgeRef{{Piece: "back", Edge: "side", Against: true}}, SmoothStart: true, SmoothEnd: true}}}
}

// Common geometry: a truncated cone opens to a sector of a ring. The band between two of its levels is one, too: of
// the same angle, between the radius of the waist and that one and the depth.
func TestABandOffAConeIsASectorOfARing(t *testing.T) {
	r := rand.New(rand.NewPCG(5, 8))
	for range 40 {
		radius, angle, w := 150+900*r.Float64(), 0.15+0.5*r.Float64(), 20+100*r.Float64()
		p := onCone(radius, angle, 500)
		got := apply(t, p, "shaped_waistband", "edges", []any{"back.waist", "front.waist"}, "width", w)
		passes(t, got)
		b := got.Pattern.PieceNamed("waistband")
		in, out := 2*angle*radius, 2*angle*(radius+w)
		area := angle * ((radius+w)*(radius+w) - radius*radius)
		upper := lengthOf(b, "waist_back") + lengthOf(b, "waist_front")
		if math.Abs(upper-in) > 0.02 || math.Abs(lengthOf(b, "stitched")-out) > 0.02 || math.Abs(b.Outline().Area()-area) > 1e-4*area || math.Abs(lengthOf(b, "begin")-w) > 0.01 {
			t.Errorf("r %.1f angle %.3f depth %.1f: %.3f and %.3f long, %.1f mm2; a ring has %.3f, %.3f, %.1f", radius, angle, w, upper, lengthOf(b, "stitched"), b.Outline().Area(), in, out, area)
		}
		// Its edges are circles about one point, all along.
		k := b.Edges[b.EdgeNamed("stitched")].Path
		o := k.Start().Add(k.StartTangent().Left().Mul(radius + w))
		for _, q := range k.Spread(30) {
			if math.Abs(q.Dist(o)-radius-w) > 0.05 {
				t.Fatalf("the lower edge leaves its circle by %.3f mm", q.Dist(o)-radius-w)
			}
		}
	}
}

// Without darts and with straight sides square to the waist nothing bends: the band is a straight strip.
func TestABandOffABoxIsAStraightStrip(t *testing.T) {
	box := func(name, first, third string, fold bool) pattern.Piece {
		pts := []geom.Point{geom.Pt(0, 0), geom.Pt(240, 0), geom.Pt(240, 500), geom.Pt(0, 500)}
		names := []string{"hem", first, "waist", third}
		p := pattern.Piece{Name: name, Title: name, Of: name, Cut: pattern.Cut{Count: 1, Cloth: "main"}, Grain: [2]geom.Point{geom.Pt(100, 100), geom.Pt(100, 400)}}
		for i, n := range names {
			p.Edges = append(p.Edges, pattern.Edge{Name: n, From: n + "_from", To: names[(i+1)%4] + "_from", Path: geom.Polyline(pts[i], pts[(i+1)%4]), Fold: n == "centre" && fold})
		}
		return p
	}
	for _, c := range []struct {
		cut     string
		overlap float64
	}{{"fold", 0}, {"whole", 30}, {"auto", 0}, {"auto", 25}} {
		p := pattern.Pattern{Size: "14", Pieces: []pattern.Piece{box("front", "centre", "side", true), box("back", "side", "centre", true)}, Seams: []pattern.Seam{
			{Name: "side", Sew: []pattern.EdgeRef{{Piece: "front", Edge: "side"}}, To: []pattern.EdgeRef{{Piece: "back", Edge: "side", Against: true}}}}}
		r := apply(t, p, "shaped_waistband", "edges", []any{"front.waist", "back.waist"}, "width", 40, "cut", c.cut, "overlap", c.overlap, "open", "start")
		passes(t, r)
		b := r.Pattern.PieceNamed("waistband")
		long := 480.0
		if b.EdgeNamed("middle") < 0 {
			long = 960
		}
		if x := b.Outline().Bounds(); math.Abs(x.W()-long-c.overlap) > 1e-6 || math.Abs(x.H()-40) > 1e-6 || math.Abs(b.Outline().Area()-x.W()*x.H()) > 1e-3 {
			t.Errorf("%s: %.3f × %.3f mm, %.1f mm2", c.cut, x.W(), x.H(), b.Outline().Area())
		}
		if f := r.Pattern.PieceNamed("front"); math.Abs(f.Outline().Bounds().H()-460) > 1e-9 {
			t.Errorf("%.3f mm are left", f.Outline().Bounds().H())
		}
	}
}

// With its darts shut the test skirt's band follows it in every size; what is left sews.
func TestAShapedWaistbandFollowsTheSkirtInEverySize(t *testing.T) {
	for _, c := range []struct {
		cut     string
		overlap float64
	}{{"auto", 0}, {"auto", 30}, {"each", 20}} {
		for i, r := range green(t, skirtRun(), skirtChart(), []any{"shaped_waistband", "edges", waistEdges, "width", 45, "cut", c.cut, "overlap", c.overlap}) {
			p := skirtRun()[i]
			b := r.Pattern.PieceNamed("waistband")
			l := 0.0
			for _, n := range []string{"front", "back"} {
				l += lengthOf(r.Pattern.PieceNamed(n), "waistband_centre") + lengthOf(r.Pattern.PieceNamed(n), "waistband_side")
			}
			if math.Abs(lengthOf(b, "stitched")-l) > 0.1 || l < halfWaist(&p) {
				t.Errorf("size %s: %.3f mm of band for %.3f mm of skirt", p.Size, lengthOf(b, "stitched"), l)
			}
			upper := 0.0
			for _, e := range []string{"waist_back_centre", "waist_back_side", "waist_front_side", "waist_front_centre"} {
				upper += lengthOf(b, e)
			}
			if math.Abs(upper-halfWaist(&p)) > 0.1 {
				t.Errorf("size %s: %.3f mm for a waist of %.3f", p.Size, upper, halfWaist(&p))
			}
			if !slices.Contains(r.Notions, "interfacing for waistband") {
				t.Errorf("to be bought: %q", r.Notions)
			}
			// A length is measured down to the hem over the seam of the band.
			for _, n := range []string{"front", "back"} {
				if was, is := lengthOf(p.PieceNamed(n), "centre"), lengthOf(r.Pattern.PieceNamed(n), "centre"); math.Abs(was-is-45) > 0.2 {
					t.Errorf("size %s: the centre of the %s is %.2f mm shorter", p.Size, n, was-is)
				}
				if len(r.Pattern.PieceNamed(n).Darts) != 1 {
					t.Error("what is left of the dart is lost")
				}
			}
			tells(t, r)
		}
	}
}

func TestAShapedWaistbandOnRandomSkirts(t *testing.T) {
	r := rand.New(rand.NewPCG(31, 7))
	made := 0
	for range 60 {
		p := anySkirt(r)
		w := 15 + 75*r.Float64()
		c := bind(t, "shaped_waistband", "edges", waistEdges, "width", w, "overlap", 40*math.Floor(2*r.Float64()))
		got, err := c.Apply(p)
		if err != nil {
			for _, f := range pattern.FaultsOf(err) {
				if f.Rule == "" || f.Pointer == "" || f.Size == "" || f.Remedy == "" {
					t.Errorf("%+v", f)
				}
			}
			continue
		}
		made++
		for _, k := range got.Checks {
			if k.Verdict == inspect.Fail {
				t.Errorf("width %.1f: %s %.3f: %s", w, k.Rule, k.Measured, k.Text)
			}
		}
		for _, n := range []string{"front", "back"} {
			q, was := got.Pattern.PieceNamed(n), p.PieceNamed(n)
			for _, m := range was.Marks {
				if q.MarkNamed(m.Name) == nil && got.Pattern.PieceNamed("waistband").MarkNamed(m.Name) == nil {
					t.Errorf("the mark %s of the %s is lost", m.Name, n)
				}
			}
			if math.Abs(lengthOf(q, "hem")-lengthOf(was, "hem")) > 1e-9 {
				t.Error("the hem has changed")
			}
		}
		if a, b := lengthOf(got.Pattern.PieceNamed("front"), "side"), lengthOf(got.Pattern.PieceNamed("back"), "side"); math.Abs(a-b) > 0.1 {
			t.Errorf("the sides are %.3f and %.3f mm long", a, b)
		}
	}
	if made < 40 {
		t.Errorf("made only %d of 60", made)
	}
}

func TestAShapedWaistbandSaysWhatItCannotDo(t *testing.T) {
	skirt := skirtBase().make()
	for _, c := range []struct {
		claim, rule, pointer, says string
		args                       []any
	}{
		{"a band down to the points of the darts", "too_deep", "/width", "up to", []any{"edges", waistEdges, "width", 94}},
		{"a name that is taken", "name_taken", "/name", "front", []any{"edges", waistEdges, "name", "front"}},
		{"an edge that is sewn", "edge_sewn", "/edges", "side", []any{"edges", "front.side"}},
		{"edges that do not meet", "edges_apart", "/edges/1", "waist", []any{"edges", []any{"back.waist_centre", "front.waist_side"}}},
		{"a middle that is no fold", "no_middle", "/cut", "fold", []any{"edges", []any{"back.waist_centre", "back.waist_side"}, "cut", "whole"}},
		{"a width that is none", "out_of_range", "/width", "15", []any{"edges", waistEdges, "width", 2}},
	} {
		refused(t, "shaped_waistband", skirt, c.claim, c.rule, c.pointer, c.says, c.args)
	}
	pleated := apply(t, skirt, "waistband", "edges", waistEdges).Pattern
	if _, err := bind(t, "shaped_waistband", "edges", waistEdges, "name", "another").Apply(pleated); err == nil {
		t.Error("a waist that has its band already got another")
	}
}

func FuzzShapedWaistband(f *testing.F) {
	f.Add(45.0, 0.0, uint64(1))
	f.Add(15.0, 150.0, uint64(9))
	f.Add(200.0, 3.0, uint64(77))
	f.Fuzz(func(t *testing.T, width, overlap float64, seed uint64) {
		p := anySkirt(rand.New(rand.NewPCG(seed, 1)))
		c, err := changeBind("shaped_waistband", "edges", waistEdges, "width", width, "overlap", overlap)
		if err != nil {
			return
		}
		r, err := c.Apply(p)
		if err != nil {
			return
		}
		for _, q := range r.Pattern.PieceNamed("waistband").Outline() {
			if !q.P0.Finite() || !q.P3.Finite() {
				t.Fatal("not finite")
			}
		}
	})
}

func BenchmarkShapedWaistband(b *testing.B) {
	benchOn(b, skirtBase().make(), "shaped_waistband", "edges", waistEdges)
}
