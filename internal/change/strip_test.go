package change_test

import (
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"sizerun/internal/change"
	"sizerun/internal/inspect"
	"sizerun/internal/pattern"
	"sizerun/internal/testkit/blouse"
)

func halfWaist(p *pattern.Pattern) float64 {
	l := 0.0
	for _, n := range []string{"front", "back"} {
		q := p.PieceNamed(n)
		l += lengthOf(q, "waist_centre") + lengthOf(q, "waist_side")
	}
	return l
}

func TestAWaistbandIsAsLongAsTheWaistAndItsOverlap(t *testing.T) {
	for i, r := range green(t, skirtRun(), skirtChart(), []any{"waistband", "edges", waistEdges, "overlap", 35, "width", 40}) {
		p := skirtRun()[i]
		b := r.Pattern.PieceNamed("waistband")
		w := halfWaist(&p)
		if box := b.Outline().Bounds(); math.Abs(box.W()-2*w-35) > 1e-6 || math.Abs(box.H()-80) > 1e-9 {
			t.Errorf("size %s: %.2f × %.2f mm for %.2f mm of half waist", p.Size, box.W(), box.H(), w)
		}
		if math.Abs(lengthOf(b, "stitched")-w) > 1e-6 || math.Abs(lengthOf(b, "stitched_left")-w) > 1e-6 {
			t.Errorf("size %s: its halves are not each half the waist", p.Size)
		}
		if b.Cut != (pattern.Cut{Count: 1, Cloth: "main", Interfaced: 1}) {
			t.Errorf("cut %+v", b.Cut)
		}
	}
}

// Of its drawing corners and seams have numbers, whatever notches there are; all words in it are plain.
func TestADrawingOfABandNumbersItsCornersAndSeams(t *testing.T) {
	for _, n := range []int{0, 2} {
		r := apply(t, skirtBase().make(), "waistband", "edges", waistEdges, "notches", n)
		marks, points := len(r.Pattern.PieceNamed("waistband").Marks), 0
		for _, x := range r.Drawing.Points {
			if strings.Contains(x.Label, "stitched") || strings.Contains(x.Label, "low corner") || strings.Contains(x.Label, "high corner") {
				t.Errorf("a point is called %q", x.Label)
			}
			if x.Step == 3 {
				points++
			}
		}
		if n > 0 && marks < 16 || points > 6 {
			t.Errorf("%d of %d marks have a number", points, marks)
		}
	}
}

// The notch that stands for the side seam lies where the back waist ends, darts folded.
func TestAWaistbandCarriesTheSideSeams(t *testing.T) {
	p := skirtBase().make()
	r := apply(t, p, "waistband", "edges", waistEdges)
	b, back := r.Pattern.PieceNamed("waistband"), p.PieceNamed("back")
	want := lengthOf(back, "waist_centre") + lengthOf(back, "waist_side")
	found := 0
	for _, m := range b.Marks {
		if strings.Contains(m.Name, "seam") && m.Edge == "stitched" && math.Abs(m.S-want) < 1e-6 {
			found++
		}
		if strings.Contains(m.Name, "seam") && m.Edge == "stitched_left" && math.Abs(lengthOf(b, "stitched_left")-m.S-want) < 1e-6 {
			found++
		}
	}
	if found != 2 {
		t.Errorf("%d of two side seams are marked: %+v", found, b.Marks)
	}
}

// Whichever way round a maker lists the edges, the band is the same.
func TestTheOrderOfTheEdgesMayBeEitherWayRound(t *testing.T) {
	p := skirtBase().make()
	rev := []any{waistEdges[3], waistEdges[2], waistEdges[1], waistEdges[0]}
	a, b := apply(t, p, "waistband", "edges", waistEdges), apply(t, p, "waistband", "edges", rev)
	x, y := a.Pattern.PieceNamed("waistband"), b.Pattern.PieceNamed("waistband")
	for i := range x.Marks {
		if x.Marks[i].Name != y.Marks[i].Name || x.Marks[i].At.Dist(y.Marks[i].At) > 1e-9 {
			t.Errorf("%+v and %+v", x.Marks[i], y.Marks[i])
		}
	}
}

func TestHalfABandLiesOnTheFold(t *testing.T) {
	p := skirtBase().make()
	r := apply(t, p, "waistband", "edges", waistEdges, "cut", "fold", "overlap", 20, "faced", true)
	b := r.Pattern.PieceNamed("waistband")
	k := b.EdgeNamed("middle")
	if k < 0 || !b.Edges[k].Fold || math.Abs(b.Edges[k].Path.Length()-30) > 1e-9 || b.Cut.Count != 2 {
		t.Fatalf("%+v", b)
	}
	if math.Abs(b.Outline().Bounds().W()-halfWaist(&p)-20) > 1e-6 {
		t.Errorf("%.2f mm", b.Outline().Bounds().W())
	}
	passes(t, r)
}

func TestARuffleIsTheEdgeTimesTheFullness(t *testing.T) {
	for _, cut := range []string{"fold", "whole"} {
		for i, r := range green(t, skirtRun(), skirtChart(), []any{"ruffle", "edges", []any{"back.hem", "front.hem"}, "fullness", 1.75, "width", 120, "cut", cut, "notches", 2, "cloth_width", 5000}) {
			p := skirtRun()[i]
			l := lengthOf(p.PieceNamed("front"), "hem") + lengthOf(p.PieceNamed("back"), "hem")
			q := r.Pattern.PieceNamed("ruffle")
			if math.Abs(lengthOf(q, "stitched")-1.75*l) > 1e-6 {
				t.Errorf("%.3f mm for %.3f", lengthOf(q, "stitched"), l)
			}
			s := r.Pattern.Seams[len(r.Pattern.Seams)-1]
			if !s.Gathers || len(s.Notches) != 4 {
				t.Errorf("%+v", s)
			}
			if o := q.Edges[q.EdgeNamed("hem")].Own; o == nil || o.Turned != 2 {
				t.Error("its hem is not turned twice")
			}
		}
	}
}

func free(p pattern.Pattern) pattern.Pattern {
	// A blouse without sleeves: its armholes are free.
	var seams []pattern.Seam
	for _, s := range p.Seams {
		if !s.Cap {
			seams = append(seams, s)
		}
	}
	p.Seams = seams
	return p
}

func TestAnArmholeIsARingAndBoundOnceEachSide(t *testing.T) {
	run := blouse.Run()
	for i := range run {
		run[i] = free(run[i])
	}
	for i, r := range green(t, run, blouse.Chart(), []any{"binding", "edges", []any{"front.armhole", "back.armhole"}, "width", 7, "stretch", 0.02, "name", "armhole_binding"}) {
		l := lengthOf(run[i].PieceNamed("front"), "armhole") + lengthOf(run[i].PieceNamed("back"), "armhole")
		q := r.Pattern.PieceNamed("armhole_binding")
		if q.Cut.Count != 2 || !q.Cut.Pair || math.Abs(lengthOf(q, "stitched")-0.98*l) > 1e-6 || math.Abs(q.Outline().Bounds().H()-28) > 1e-9 {
			t.Errorf("cut %+v, %.3f mm for %.3f", q.Cut, lengthOf(q, "stitched"), l)
		}
		if g := q.Grain[1].Sub(q.Grain[0]); math.Abs(g.X-g.Y) > 1e-9 {
			t.Errorf("the grain runs along %v, not on the bias", g)
		}
		f := r.Pattern.PieceNamed("front")
		if o := f.Edges[f.EdgeNamed("armhole")].Own; o == nil || o.Width != 0 {
			t.Error("the bound edge has an allowance")
		}
		ring := r.Pattern.Seams[len(r.Pattern.Seams)-1]
		if ring.Name != "armhole_binding_join" {
			t.Errorf("the ends are not joined: %+v", ring)
		}
	}
}

func TestANeckIsBoundByOneStripJoinedAtTheCentre(t *testing.T) {
	for _, double := range []bool{false, true} {
		r := apply(t, blouse.Make(blouse.Base()), "binding", "edges", []any{"back.neck", "front.neck"}, "double", double, "width", 8)
		passes(t, r)
		q := r.Pattern.PieceNamed("binding")
		want := 32.0
		if double {
			want = 48
		}
		if q.Cut.Count != 1 || math.Abs(q.Outline().Bounds().H()-want) > 1e-9 {
			t.Errorf("cut %+v, %.2f mm wide", q.Cut, q.Outline().Bounds().H())
		}
		if s := r.Pattern.Seams[len(r.Pattern.Seams)-1]; s.Name != "binding_join" {
			t.Errorf("%+v", s)
		}
	}
}

func TestACuffGoesRoundTheArmAndTheSleeveIsGatheredOntoIt(t *testing.T) {
	for _, r := range green(t, blouse.Run(), blouse.Chart(), []any{"cuff", "edges", "sleeve.hem", "measure", "upper_arm", "ease", 25, "width", 30}) {
		q := r.Pattern.PieceNamed("cuff")
		want := r.Pattern.Body["upper_arm"] + 25
		if math.Abs(lengthOf(q, "stitched")-want) > 1e-6 || q.Cut.Count != 2 {
			t.Errorf("%.2f mm, want %.2f; cut %+v", lengthOf(q, "stitched"), want, q.Cut)
		}
		for _, s := range r.Pattern.Seams {
			if s.Name == "cuff_hem" && (s.Sew[0].Piece != "sleeve" || !s.Gathers) {
				t.Errorf("%+v", s)
			}
		}
	}
	r := apply(t, blouse.Make(blouse.Base()), "cuff", "edges", "sleeve.hem", "overlap", 20)
	passes(t, r)
	if q := r.Pattern.PieceNamed("cuff"); math.Abs(lengthOf(q, "stitched")-lengthOf(r.Pattern.PieceNamed("sleeve"), "hem")) > 1e-9 || q.EdgeNamed("overlap") < 0 {
		t.Error("a cuff that is told no length is not as long as the hem")
	}
}

func TestStripsSayWhatTheyCannotDo(t *testing.T) {
	skirt, top := skirtBase().make(), blouse.Make(blouse.Base())
	for _, c := range []struct {
		claim, rule, pointer string
		p                    pattern.Pattern
		spec                 []any
	}{
		{"a piece that is not there", "unknown_piece", "/edges", skirt, []any{"waistband", "edges", "skirt.waist"}},
		{"an edge that is not there", "unknown_edge", "/edges/1", skirt, []any{"waistband", "edges", []any{"back.waist_centre", "back.waist"}}},
		{"an edge on the fold", "edge_on_fold", "/edges", skirt, []any{"waistband", "edges", "front.centre"}},
		{"a leg of a dart", "dart_leg", "/edges", skirt, []any{"binding", "edges", "front.dart_1"}},
		{"an edge that is sewn already", "edge_sewn", "/edges", skirt, []any{"ruffle", "edges", "front.side"}},
		{"edges that do not follow each other", "edges_apart", "/edges/1", skirt, []any{"waistband", "edges", []any{"back.waist_centre", "front.waist_side"}}},
		{"a name that is taken", "name_taken", "/name", skirt, []any{"waistband", "edges", waistEdges, "name", "front"}},
		{"a ring without a middle", "no_middle", "/cut", free(top), []any{"binding", "edges", []any{"front.armhole", "back.armhole"}, "cut", "fold"}},
		{"too much ease", "out_of_range", "/ease", skirt, []any{"waistband", "edges", "front.waist_centre", "ease", 50}},
		{"a cuff far too tight", "out_of_range", "/length", top, []any{"cuff", "edges", "sleeve.hem", "length", 50}},
		{"a cuff wider than its sleeve", "out_of_range", "/measure", top, []any{"cuff", "edges", "sleeve.hem", "measure", "bust", "ease", 300}},
		{"a measure that is not in the chart", "unknown_measure", "/measure", top, []any{"cuff", "edges", "sleeve.hem", "measure", "wrist"}},
		{"a ruffle longer than any table", "out_of_range", "/fullness", skirt, []any{"ruffle", "edges", []any{"back.hem", "front.hem"}, "fullness", 5, "cut", "whole", "name", "r"}},
	} {
		if c.p.Body == nil {
			c.p.Body = map[string]float64{"bust": 920, "upper_arm": 286}
		}
		if strings.Contains(c.claim, "table") {
			c.p = skirtDraft{size: "14", waist: 3000, hip: 4000, long: 600, dart: 22, drop: 14}.make()
		}
		b := bind(t, c.spec[0].(string), c.spec[1:]...)
		_, err := b.Apply(c.p)
		if err == nil {
			t.Errorf("%s was made", c.claim)
			continue
		}
		f := pattern.FaultsOf(err)[0]
		if f.Rule != c.rule || f.Pointer != c.pointer || f.Size != "14" || f.Piece == "" || f.Remedy == "" || f.Valid == "" && c.rule != "edge_on_fold" && c.rule != "dart_leg" && c.rule != "edge_sewn" {
			t.Errorf("%s: %+v", c.claim, f)
		}
	}
}

// A strip that is spoiled breaks its seam: the seam states its length exactly.
func TestASpoiledStripIsFound(t *testing.T) {
	r := apply(t, skirtBase().make(), "waistband", "edges", waistEdges)
	b := r.Pattern.PieceNamed("front")
	e := &b.Edges[b.EdgeNamed("waist_side")]
	e.Path = e.Path.Sub(0, e.Path.Length()-2)
	for _, c := range inspect.Run([]inspect.Sized{{Pattern: r.Pattern}}, skirtChart(), inspect.Options{}).Worst() {
		if c.Rule == "seam_length" && c.Place == "waistband_waist_centre" {
			return
		}
	}
	t.Error("a waist cut short by 2 mm went unseen")
}

func TestStripsOnAnySkirtKeepTheirPromises(t *testing.T) {
	r := rand.New(rand.NewPCG(3, 1))
	for range 60 {
		p := anySkirt(r)
		w := halfWaist(&p)
		before := map[string]float64{}
		for _, n := range []string{"front", "back"} {
			before[n] = p.PieceNamed(n).Outline().Area()
		}
		cut := []string{"auto", "each", "whole", "fold"}[r.IntN(4)]
		a := apply(t, p, "waistband", "edges", waistEdges, "cut", cut, "width", 10+150*r.Float64(), "overlap", 100*r.Float64(), "notches", r.IntN(5), "ease", 20*r.Float64(), "faced", r.IntN(2) == 0)
		passes(t, a)
		b := apply(t, a.Pattern, "ruffle", "edges", []any{"front.hem", "back.hem"}, "fullness", 1.1+2*r.Float64(), "cut", cut, "notches", r.IntN(5))
		passes(t, b)
		for n, x := range before {
			if b.Pattern.PieceNamed(n).Outline().Area() != x {
				t.Errorf("%s was changed", n)
			}
		}
		if halfWaist(&b.Pattern) != w {
			t.Error("the waist was changed")
		}
		for i := range b.Pattern.Pieces {
			finite(t, "strip", nil, &b.Pattern.Pieces[i])
		}
		for _, c := range inspect.Run([]inspect.Sized{{Pattern: b.Pattern}}, skirtChart(), inspect.Options{}).Worst() {
			t.Errorf("%s %s %s.%s: %.3f in %v: %s", c.Verdict, c.Rule, c.Piece, c.Place, c.Measured, c.Want, c.Text)
		}
	}
}

// Sewing steps and drawings speak of this size's amounts.
func TestStripsTellTheirAmounts(t *testing.T) {
	p := skirtBase().make()
	for _, spec := range [][]any{{"waistband", "edges", waistEdges}, {"ruffle", "edges", []any{"back.hem", "front.hem"}}, {"binding", "edges", waistEdges}, {"cuff", "edges", []any{"back.hem", "front.hem"}, "length", 900}} {
		r := apply(t, p, spec[0].(string), spec[1:]...)
		tells(t, r)
	}
}

func BenchmarkWaistband(b *testing.B) {
	benchOn(b, skirtBase().make(), "waistband", "edges", waistEdges)
}
func BenchmarkRuffle(b *testing.B) {
	benchOn(b, skirtBase().make(), "ruffle", "edges", []any{"back.hem", "front.hem"})
}
func BenchmarkBinding(b *testing.B) {
	benchOn(b, blouse.Make(blouse.Base()), "binding", "edges", []any{"back.neck", "front.neck"})
}
func BenchmarkCuff(b *testing.B) {
	benchOn(b, blouse.Make(blouse.Base()), "cuff", "edges", "sleeve.hem", "length", 260)
}

// change1 binds and makes a change on the test skirt.
func change1(args []any, name string) (change.Result, error) {
	b, err := tryBind(name, args...)
	if err != nil {
		return change.Result{}, err
	}
	return b.Apply(skirtBase().make())
}
