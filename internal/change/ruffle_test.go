package change_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"sizerun/internal/inspect"
	"sizerun/internal/pattern"
	"sizerun/internal/testkit/blouse"
)

var hems = []any{"back.hem", "front.hem"}

// A ruffle all round the skirt is twice the hems of the halves, times the fullness; it comes in as few equal lengths
// as lie across the cloth with 5/8 in at both their ends.
func TestALongRuffleIsJoinedOfEqualLengths(t *testing.T) {
	for _, cloth := range []float64{1100, 1400, 1500} {
		for i, r := range green(t, skirtRun(), skirtChart(), []any{"ruffle", "edges", hems, "fullness", 2, "width", 120, "cloth_width", cloth}) {
			p := skirtRun()[i]
			all := 2 * 2 * (lengthOf(p.PieceNamed("front"), "hem") + lengthOf(p.PieceNamed("back"), "hem"))
			q := r.Pattern.PieceNamed("ruffle")
			n := math.Ceil(all / (cloth - 2*15.875))
			if q.Cut != (pattern.Cut{Count: int(n), Cloth: "main"}) || math.Abs(lengthOf(q, "stitched")*n-all) > 1e-6 {
				t.Errorf("size %s: cut %+v, %.2f mm each, for %.2f mm", p.Size, q.Cut, lengthOf(q, "stitched"), all)
			}
			// Every join that does not fall on a seam meets a notch at the same share of the hem.
			half := all / 4
			notches := 0
			for _, name := range []string{"front", "back"} {
				for _, m := range r.Pattern.PieceNamed(name).Marks {
					if m.Edge != "hem" || m.Kind != pattern.Notch {
						continue
					}
					notches++
					// The run begins at the centre back and goes over the side to the centre front.
					l := lengthOf(p.PieceNamed(name), "hem")
					at := l - m.S
					if name == "front" {
						at += lengthOf(p.PieceNamed("back"), "hem")
					}
					if k := at / (2 * half) * n; math.Abs(k-math.Round(k)) > 1e-6 {
						t.Errorf("size %s, %g lengths: a notch lies at %.4f of them", p.Size, n, k)
					}
				}
			}
			if notches == 0 && n > 3 {
				t.Errorf("size %s: no join of %g lengths has a notch", p.Size, n)
			}
			tells(t, r)
		}
	}
}

func TestTheNumberOfLengthsMayBeGiven(t *testing.T) {
	for _, r := range green(t, skirtRun(), skirtChart(), []any{"ruffle", "edges", hems, "fullness", 2, "width", 120, "lengths", 5}) {
		if q := r.Pattern.PieceNamed("ruffle"); q.Cut.Count != 5 {
			t.Errorf("cut %+v", q.Cut)
		}
	}
	// One that runs along the grain is as long as it likes.
	r := apply(t, skirtBase().make(), "ruffle", "edges", hems, "grain", "along", "fullness", 3)
	if q := r.Pattern.PieceNamed("ruffle"); q.Cut.Count != 1 || q.EdgeNamed("middle") < 0 {
		t.Errorf("cut %+v", q.Cut)
	}
}

// Two armholes have a ruffle each: as many lengths for both.
func TestARingOnBothSidesIsCutForBoth(t *testing.T) {
	p := free(blouse.Make(blouse.Base()))
	r := apply(t, p, "ruffle", "edges", []any{"front.armhole", "back.armhole"}, "fullness", 2, "cloth_width", 600, "width", 50)
	passes(t, r)
	l := lengthOf(p.PieceNamed("front"), "armhole") + lengthOf(p.PieceNamed("back"), "armhole")
	q := r.Pattern.PieceNamed("ruffle")
	if n := int(math.Ceil(2 * l / (600 - 31.75))); q.Cut.Count != 2*n || q.Cut.Pair {
		t.Errorf("cut %+v of %.1f mm for two of %.1f", q.Cut, lengthOf(q, "stitched"), 2*l)
	}
}

// The closed form of a flounce: n half rings with inner edges c/n have the radius c/(nπ) and are nπ times the depth
// longer at the hem.
func TestAFlounceIsMadeOfHalfRings(t *testing.T) {
	r := rand.New(rand.NewPCG(2, 3))
	for range 30 {
		p := anySkirt(r)
		w, full := 60+150*r.Float64(), 1.2+1.5*r.Float64()
		c := bind(t, "ruffle", "edges", hems, "shape", "circle", "fullness", full, "width", w, "hem", 8)
		got, err := c.Apply(p)
		if err != nil {
			if f := pattern.FaultsOf(err)[0]; f.Pointer == "" || f.Size == "" || f.Remedy == "" || f.Valid == "" {
				t.Errorf("%+v", f)
			}
			continue
		}
		passes(t, got)
		q := got.Pattern.PieceNamed("ruffle")
		edge := 2 * (lengthOf(p.PieceNamed("front"), "hem") + lengthOf(p.PieceNamed("back"), "hem"))
		n := float64(q.Cut.Count)
		in, out := n*lengthOf(q, "stitched"), n*lengthOf(q, "hem")
		radius := edge / n / math.Pi
		area := math.Pi / 2 * ((radius+w)*(radius+w) - radius*radius)
		if math.Abs(in-edge) > 0.01 || math.Abs(out-edge-n*math.Pi*w) > 0.01 || math.Abs(q.Outline().Area()-area) > 1e-5*area {
			t.Errorf("%g half rings: %.3f and %.3f mm for %.3f mm, %.1f mm2 for %.1f", n, in, out, edge, q.Outline().Area(), area)
		}
		if box := q.Outline().Bounds(); box.W() > 1400 || math.Abs(box.W()-2*(radius+w)) > 0.01 {
			t.Errorf("%.2f mm wide, radius %.2f", box.W(), radius+w)
		}
		// As full as asked for, to the nearest half ring, unless the rings would not lie on the cloth.
		if math.Abs(out/edge-full) > math.Pi*w/edge && 2*(edge/(n-1)/math.Pi+w+8) < 1400 {
			t.Errorf("%.3f times as full, want %.3f", out/edge, full)
		}
		tells(t, got)
	}
}

func TestAFlounceFollowsTheSkirtInEverySize(t *testing.T) {
	for _, r := range green(t, skirtRun(), skirtChart(), []any{"ruffle", "edges", hems, "shape", "circle", "fullness", 1.6, "width", 150, "hem", 8}) {
		s := r.Pattern.Seams[len(r.Pattern.Seams)-2]
		sew, err1 := inspect.Walk(&r.Pattern, s.Sew)
		to, err2 := inspect.Walk(&r.Pattern, s.To)
		if err1 != nil || err2 != nil || s.Gathers || math.Abs(sew.Len-to.Len) > 0.01 {
			t.Errorf("%+v: %.3f mm to %.3f", s, sew.Len, to.Len)
		}
	}
}

func TestAJoinedRuffleSaysWhatItCannotDo(t *testing.T) {
	d := skirtBase()
	d.waist, d.hip = 1000, 1300
	skirt := d.make()
	for _, c := range []struct {
		claim, rule, pointer, says string
		args                       []any
	}{
		{"lengths longer than the cloth", "out_of_range", "/lengths", "at least 2", []any{"edges", hems, "lengths", 1, "fullness", 2}},
		{"more pieces than anybody cuts", "out_of_range", "/lengths", "at most 20", []any{"edges", hems, "fullness", 5, "cloth_width", 300}},
		{"rings too small to sew", "ring_radius", "/lengths", "radius", []any{"edges", "front.hem", "shape", "circle", "lengths", 20, "width", 40}},
		{"no number of lengths", "out_of_range", "/lengths", "20", []any{"edges", hems, "lengths", 21}},
	} {
		refused(t, "ruffle", skirt, c.claim, c.rule, c.pointer, c.says, c.args)
	}
}

func FuzzRuffle(f *testing.F) {
	f.Add(2.0, 80.0, 1400.0, 0.0, uint64(1))
	f.Add(5.0, 1500.0, 300.0, 20.0, uint64(5))
	f.Fuzz(func(t *testing.T, full, width, cloth, lengths float64, seed uint64) {
		p := anySkirt(rand.New(rand.NewPCG(seed, 4)))
		for _, shape := range []string{"straight", "circle"} {
			c, err := changeBind("ruffle", "edges", hems, "fullness", full, "width", width, "cloth_width", cloth, "lengths", lengths, "shape", shape)
			if err != nil {
				return
			}
			r, err := c.Apply(p)
			if err != nil {
				continue
			}
			for _, q := range r.Pattern.PieceNamed("ruffle").Outline() {
				if !q.P0.Finite() || !q.P3.Finite() {
					t.Fatal("not finite")
				}
			}
		}
	})
}

func BenchmarkFlounce(b *testing.B) {
	benchOn(b, skirtBase().make(), "ruffle", "edges", hems, "shape", "circle", "fullness", 1.6, "width", 150)
}

// A bias strip that is longer than what lies between the selvedges at 45 degrees is joined, too.
func TestALongBindingIsJoinedOfEqualLengths(t *testing.T) {
	p := skirtBase().make()
	all := 2 * (lengthOf(p.PieceNamed("front"), "hem") + lengthOf(p.PieceNamed("back"), "hem"))
	r := apply(t, p, "binding", "edges", hems, "width", 10, "cloth_width", 500)
	passes(t, r)
	q := r.Pattern.PieceNamed("binding")
	n := math.Ceil(all / (500*math.Sqrt2 - 40 - 31.75))
	if q.Cut.Count != int(n) || math.Abs(n*lengthOf(q, "stitched")-all) > 1e-6 {
		t.Errorf("cut %+v of %.2f mm for %.2f mm", q.Cut, lengthOf(q, "stitched"), all)
	}
	tells(t, r)
}
