package change_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"sizerun/internal/geom"
	"sizerun/internal/inspect"
	"sizerun/internal/pattern"
	"sizerun/internal/testkit/blouse"
)

// A second petal sleeve, made of nothing but dense polylines, as one would with ruler, compasses and
// scissors: places by adding up chords, the curve by de Casteljau's construction on its two handles, the
// halves by walking the sampled outline. It shares no code with the change, and judges its result.

type poly []geom.Point

func sample(p geom.Path, n int) poly {
	var out poly
	for _, s := range p {
		for i := range n {
			out = append(out, casteljau(s.P0, s.P1, s.P2, s.P3, float64(i)/float64(n)))
		}
	}
	return append(out, p[len(p)-1].P3)
}

func casteljau(a, b, c, d geom.Point, t float64) geom.Point {
	mix := func(p, q geom.Point) geom.Point { return geom.Pt(p.X+(q.X-p.X)*t, p.Y+(q.Y-p.Y)*t) }
	ab, bc, cd := mix(a, b), mix(b, c), mix(c, d)
	return mix(mix(ab, bc), mix(bc, cd))
}

// after walks d along the chords and gives the point there, and what has been walked over.
func (p poly) after(d float64) (geom.Point, poly) {
	walked := poly{p[0]}
	for i := 1; i < len(p); i++ {
		step := math.Hypot(p[i].X-p[i-1].X, p[i].Y-p[i-1].Y)
		if d <= step {
			t := d / step
			q := geom.Pt(p[i-1].X+(p[i].X-p[i-1].X)*t, p[i-1].Y+(p[i].Y-p[i-1].Y)*t)
			return q, append(walked, q)
		}
		d -= step
		walked = append(walked, p[i])
	}
	return p[len(p)-1], walked
}

func (p poly) reverse() poly {
	out := make(poly, len(p))
	for i, q := range p {
		out[len(p)-1-i] = q
	}
	return out
}

func (p poly) area() float64 {
	a := 0.0
	for i := range p {
		q := p[(i+1)%len(p)]
		a += p[i].X*q.Y - q.X*p[i].Y
	}
	return a / 2
}

func (p poly) dist(q geom.Point) float64 {
	best := math.Inf(1)
	for i := 1; i < len(p); i++ {
		ax, ay, bx, by := p[i-1].X, p[i-1].Y, p[i].X, p[i].Y
		t := ((q.X-ax)*(bx-ax) + (q.Y-ay)*(by-ay)) / math.Max(1e-18, (bx-ax)*(bx-ax)+(by-ay)*(by-ay))
		t = math.Max(0, math.Min(1, t))
		best = math.Min(best, math.Hypot(q.X-ax-t*(bx-ax), q.Y-ay-t*(by-ay)))
	}
	return best
}

// along is how far along the chords the place nearest to q lies.
func (p poly) along(q geom.Point) float64 {
	best, at, walked := math.Inf(1), 0.0, 0.0
	for i := 1; i < len(p); i++ {
		step := math.Hypot(p[i].X-p[i-1].X, p[i].Y-p[i-1].Y)
		t := math.Max(0, math.Min(1, ((q.X-p[i-1].X)*(p[i].X-p[i-1].X)+(q.Y-p[i-1].Y)*(p[i].Y-p[i-1].Y))/(step*step)))
		if d := (poly{p[i-1], p[i]}).dist(q); d < best {
			best, at = d, walked+t*step
		}
		walked += step
	}
	return at
}

// refereeBack is the back half: cap from the front cap point over the crown to the back underarm, the
// back underarm, the hem as far as hemIn, and the curve with the given fullness back up.
func refereeBack(s *pattern.Piece, share, hemIn, fullness float64) (outline poly, curve poly) {
	const n = 1000
	path := func(e string) geom.Path { return s.Edges[s.EdgeNamed(e)].Path }
	capFront := sample(path("cap_front"), n).reverse() // from the crown down the front
	capBack := sample(path("cap_back"), n)             // from the crown down the back
	under := sample(path("underarm_back"), n)
	hem := sample(path("hem"), n)
	dot := capFront.along(s.MarkNamed("front_dot").At)
	top, over := capFront.after(share * dot)
	low, stub := hem.after(hemIn)
	before, _ := hem.after(hemIn - 2)
	next, _ := hem.after(hemIn + 2)
	tx, ty := before.X-next.X, before.Y-next.Y // into the hem, towards the back underarm
	k := math.Hypot(tx, ty)
	tx, ty = tx/k, ty/k
	// Straight down from the cap point and back along the hem: where the two meet is the corner.
	c := geom.Pt(top.X, low.Y+(top.X-low.X)*ty/tx)
	h0 := geom.Pt(top.X+(c.X-top.X)*fullness, top.Y+(c.Y-top.Y)*fullness)
	h1 := geom.Pt(low.X+(c.X-low.X)*fullness, low.Y+(c.Y-low.Y)*fullness)
	for i := 0; i <= n; i++ {
		curve = append(curve, casteljau(top, h0, h1, low, float64(i)/n))
	}
	outline = append(outline, over.reverse()...)
	outline = append(outline, capBack...)
	outline = append(outline, under...)
	outline = append(outline, stub...)
	return append(outline, curve.reverse()...), curve
}

// soundDraft is a random sleeve and blouse that a maker might draft.
func soundDraft(r *rand.Rand) blouse.Draft {
	u := func(lo, hi float64) float64 { return lo + r.Float64()*(hi-lo) }
	d := blouse.Base()
	d.Bust = u(860, 1300)
	d.Scye = u(175, 225)
	d.Length = u(300, 600)
	d.Shoulder, d.Neck = u(75, 100), u(90, 120)
	d.Flare = u(0, 40)
	d.UpperArm = u(0.315, 0.345) * d.Bust
	d.Underarm = u(70, 160)
	d.Taper = u(0, 18)
	d.EaseFront = u(5, 10)
	d.EaseBack = d.EaseFront + u(0, 6)
	d.CrownRight = u(0, 8)
	d.DotAlong = u(80, 110)
	return d
}

// sleeves draws random drafts of which the block itself can be drafted at all.
func sleeves(t *testing.T, seed uint64, n int, f func(r *rand.Rand, d blouse.Draft, p pattern.Pattern)) {
	t.Helper()
	r := rand.New(rand.NewPCG(seed, 2))
	made := 0
	for range 4 * n {
		d := soundDraft(r)
		p, ok := try(d)
		if !ok {
			continue
		}
		if made++; made > n {
			return
		}
		f(r, d, p)
	}
	if made < n {
		t.Errorf("only %d of %d drafts could be made", made, n)
	}
}

func try(d blouse.Draft) (p pattern.Pattern, ok bool) {
	defer func() {
		if recover() != nil {
			ok = false
		}
	}()
	return blouse.Make(d), true
}

func TestThePetalAgreesWithOneMadeOfPolylines(t *testing.T) {
	worst, worstArea := 0.0, 0.0
	sleeves(t, 1, 60, func(r *rand.Rand, d blouse.Draft, p pattern.Pattern) {
		share, in, full := 0.3+0.5*r.Float64(), 20+60*r.Float64(), 0.1+0.7*r.Float64()
		res, err := bind(t, "petal", "cap_share", share, "hem_in", in, "fullness", full).Apply(p)
		if err != nil {
			t.Errorf("%+v: %v", d, err)
			return
		}
		outline, curve := refereeBack(p.PieceNamed("sleeve"), share, in, full)
		b := res.Pattern.PieceNamed("sleeve_back")
		got := b.Edges[b.EdgeNamed("petal")].Path
		for i := range 41 {
			worst = math.Max(worst, curve.dist(got.PointAt(got.Length()*float64(i)/40)))
		}
		for _, s := range b.Outline() {
			for i := range 9 {
				worst = math.Max(worst, append(outline, outline[0]).dist(s.At(float64(i)/8)))
			}
		}
		worstArea = math.Max(worstArea, math.Abs(b.Outline().Area()-outline.area())/outline.area())
	})
	if worst > 0.02 || worstArea > 1e-4 {
		t.Errorf("outline off by %.4f mm, area by %.2g", worst, worstArea)
	}
	t.Logf("60 sleeves: outline within %.4f mm, area within %.1g of itself", worst, worstArea)
}

// Whatever the sleeve and the parameters: kept edges keep their lengths, promises hold, no mark on a
// remaining part is lost.
func TestThePetalKeepsWhatItPromisesOnAnySoundSleeve(t *testing.T) {
	sleeves(t, 2, 150, func(r *rand.Rand, d blouse.Draft, p pattern.Pattern) {
		args := []any{"cap_share", obj("back", 0.3+0.6*r.Float64(), "front", 0.3+0.6*r.Float64()),
			"hem_in", obj("back", 10+90*r.Float64(), "front", 10+90*r.Float64())}
		if r.IntN(2) == 0 {
			args = append(args, "fullness", 0.1+0.8*r.Float64())
		}
		res, err := bind(t, "petal", args...).Apply(p)
		if err != nil {
			t.Errorf("%+v %v: %v", d, args, err)
			return
		}
		for _, c := range res.Checks {
			if c.Verdict != inspect.Pass {
				t.Errorf("%+v: %s %.4f: %s", d, c.Rule, c.Measured, c.Text)
			}
		}
		s, b, f := p.PieceNamed("sleeve"), res.Pattern.PieceNamed("sleeve_back"), res.Pattern.PieceNamed("sleeve_front")
		for _, e := range []string{"cap_back", "underarm_back"} {
			if off := math.Abs(lengthOf(s, e) - lengthOf(b, e)); !(off <= 0.1) {
				t.Errorf("%s: %.3f mm off", e, off)
			}
		}
		for _, e := range []string{"cap_front", "underarm_front"} {
			if off := math.Abs(lengthOf(s, e) - lengthOf(f, e)); !(off <= 0.1) {
				t.Errorf("%s: %.3f mm off", e, off)
			}
		}
		for _, m := range s.Marks {
			if b.MarkNamed(m.Name) == nil && f.MarkNamed(m.Name) == nil {
				t.Errorf("the mark %s vanished", m.Name)
			}
		}
		sew(t, res.Pattern, d)
	})
}

// sew walks every seam: it must have the ease that the draft gave it.
func sew(t *testing.T, p pattern.Pattern, d blouse.Draft) {
	t.Helper()
	want := map[string]float64{"armhole_front": d.EaseFront, "armhole_back": d.EaseBack}
	for _, s := range p.Seams {
		a, err1 := inspect.Walk(&p, s.Sew)
		b, err2 := inspect.Walk(&p, s.To)
		if err1 != nil || err2 != nil {
			t.Errorf("seam %s: %v %v", s.Name, err1, err2)
			continue
		}
		if off := a.Len - b.Len - want[s.Name]; math.Abs(off) > 0.1 {
			t.Errorf("seam %s is %.3f mm off", s.Name, off)
		}
	}
}
