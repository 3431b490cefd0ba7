package geom

import (
	"fmt"
	"math"
	"testing"
)

// bruteCrossings counts by chords: every pair of chords that properly crosses. It also tells the
// smallest sine of a crossing angle, so that near-tangent cases can be set apart.
func bruteCrossings(a, b Seg, n int) (count int, minSine float64) {
	pa, pb := make([]Point, n+1), make([]Point, n+1)
	for i := range pa {
		pa[i], pb[i] = a.At(float64(i)/float64(n)), b.At(float64(i)/float64(n))
	}
	minSine = 1
	for i := range n {
		ra := EmptyRect().Add(pa[i]).Add(pa[i+1])
		d := pa[i+1].Sub(pa[i])
		for j := range n {
			if !ra.Overlaps(EmptyRect().Add(pb[j]).Add(pb[j+1])) {
				continue
			}
			e, w := pb[j+1].Sub(pb[j]), pb[j].Sub(pa[i])
			det := d.Cross(e)
			t, u := w.Cross(e)/det, w.Cross(d)/det
			if t >= 0 && t < 1 && u >= 0 && u < 1 {
				count++
				minSine = math.Min(minSine, math.Abs(det)/(d.Len()*e.Len()))
			}
		}
	}
	return count, minSine
}

func TestEveryCrossingOfTwoCubicsIsFoundOnceAndExactly(t *testing.T) {
	r := seeded(1)
	total, skipped := 0, 0
	for i := range 600 {
		a, b := anyCubic(r, 300), anyCubic(r, 300)
		if i%3 == 0 {
			a, b = garmentCurve(r), garmentCurve(r)
			b = b.Transform(Translate(a.At(r.Float64()).Sub(b.At(r.Float64()))))
		}
		want, sine := bruteCrossings(a, b, 250)
		got := Intersect(Path{a}, Path{b}, 1e-6)
		for _, c := range got {
			pa, pb := Path{a}.PointAt(c.S), Path{b}.PointAt(c.T)
			if pa.Dist(pb) > 1e-8 || pa.Dist(c.P) > 1e-8 {
				t.Fatalf("pair %d: the place on one is %g mm from that on the other", i, pa.Dist(pb))
			}
		}
		total += want
		if len(got) != want {
			if w2, s2 := bruteCrossings(a, b, 4000); len(got) != w2 {
				if s2 < 1e-3 || sine < 0.02 {
					skipped++
					continue
				}
				t.Errorf("pair %d: %d crossings, by chords %d, by finer chords %d (sine %.3g %.3g)\n%v\n%v\n%v", i, len(got), want, w2, sine, s2, a, b, got)
			}
		}
	}
	t.Logf("%d crossings, %d near-tangent pairs not judged", total, skipped)
	if skipped > 5 {
		t.Errorf("%d pairs could not be judged", skipped)
	}
}

func TestMeetingsDoNotDependOnWhoIsAskedOrWhereItLies(t *testing.T) {
	r := seeded(5)
	for i := range 300 {
		p, q := smoothChain(r, 3), smoothChain(r, 2)
		q = q.Transform(RotateAbout(Pt(0, 0), 6*r.Float64()))
		q = q.Transform(Translate(p.PointAt(p.Length() * r.Float64()).Sub(q.PointAt(q.Length() * r.Float64()))))
		got := Intersect(p, q, 1e-6)
		if len(got) == 0 {
			t.Errorf("pair %d was laid across and does not meet", i)
		}
		m := MirrorAbout(Pt(7, 9), Vec{2, 5}).Then(Translate(Vec{300, -900}))
		for name, other := range map[string][]Crossing{
			"swapped":  Intersect(q, p, 1e-6),
			"reversed": Intersect(p.Reverse(), q.Reverse(), 1e-6),
			"moved":    Intersect(p.Transform(m), q.Transform(m), 1e-6),
		} {
			if len(other) != len(got) {
				t.Errorf("pair %d %s: %d places, %d before", i, name, len(other), len(got))
				continue
			}
			for _, c := range got {
				near := math.Inf(1)
				for _, o := range other {
					switch name {
					case "moved":
						near = math.Min(near, o.P.Dist(m.Apply(c.P)))
					default:
						near = math.Min(near, o.P.Dist(c.P))
					}
				}
				if near > 1e-7 {
					t.Errorf("pair %d %s: a place is %g mm from any before", i, name, near)
				}
			}
		}
	}
}

// A wide tolerance adds touches and ends that fall short, and takes no crossing away.
func TestAWideToleranceLosesNoCrossing(t *testing.T) {
	r := seeded(6)
	for i := range 500 {
		a, b := Path{anyCubic(r, 300)}, Path{anyCubic(r, 300)}
		wide := Intersect(a, b, 0.05)
		for _, c := range Intersect(a, b, 1e-9) {
			near := math.Inf(1)
			for _, o := range wide {
				near = math.Min(near, o.P.Dist(c.P))
			}
			if near > 1e-7 {
				t.Errorf("pair %d: the crossing at %v is lost at 0.05 mm", i, c.P)
			}
		}
		for _, o := range wide {
			if d := a.PointAt(o.S).Dist(b.PointAt(o.T)); d > 0.0500001 {
				t.Errorf("pair %d: %g mm apart", i, d)
			}
		}
	}
}

func TestACircleTouchedByALineOrAnotherCircleIsTouchedOnce(t *testing.T) {
	k := 4.0 / 3 * math.Tan(math.Pi/8)
	quarter := func(c Point, r, turn float64) Seg {
		s := Cubic(Pt(r, 0), Pt(r, r*k), Pt(r*k, r), Pt(0, r))
		return s.Transform(RotateAbout(Pt(0, 0), turn).Then(Translate(c.Sub(Pt(0, 0)))))
	}
	for _, turn := range []float64{0, 0.3, 0.7, 1.1} {
		for _, gap := range []float64{0, 5e-7, -1e-3, 1e-3} {
			want := 1
			if gap == -1e-3 {
				want = 2
			} else if gap == 1e-3 {
				want = 0
			}
			a := quarter(Pt(0, 0), 100, turn)
			m := a.At(0.5)
			n := m.Sub(Pt(0, 0)).Unit()
			tan := n.Left()
			touch := m.Add(n.Mul(gap))
			// a line tangent at the middle, a smaller circle outside, one of another bend inside
			line := Line(touch.Add(tan.Mul(-50)), touch.Add(tan.Mul(70)))
			out := quarter(touch.Add(n.Mul(60)), 60, turn+math.Pi)
			out = out.Transform(Translate(touch.Sub(out.At(0.5))))
			wide := quarter(Pt(0, 0), 180, turn)
			wide = wide.Transform(Translate(touch.Sub(wide.At(0.5))))
			for name, b := range map[string]Seg{"line": line, "outside": out, "wide": wide} {
				got := Intersect(Path{a}, Path{b}, 1e-6)
				if len(got) != want {
					t.Errorf("%s at turn %g, gap %g: %d places, want %d: %v", name, turn, gap, len(got), want, got)
				}
				if want == 1 && len(got) == 1 && got[0].P.Dist(m) > 1e-3 {
					t.Errorf("%s at turn %g, gap %g: touch found %g mm off", name, turn, gap, got[0].P.Dist(m))
				}
			}
		}
	}
}

func TestWhereTwoEdgesRunTogetherTheEndsOfTheStretchAreTold(t *testing.T) {
	r := seeded(2)
	for i := range 200 {
		whole := garmentCurve(r)
		a, b := whole.Sub(0, 0.3+0.3*r.Float64()), whole.Sub(0.1+0.15*r.Float64(), 1)
		if i%2 == 0 {
			b = b.Reverse()
		}
		got := Intersect(Path{a}, Path{b}, 1e-6)
		if len(got) != 2 {
			t.Errorf("curve %d: overlap told by %d places, want its two ends: %v", i, len(got), got)
			continue
		}
		for _, c := range got {
			if math.Min(c.P.Dist(a.P3), math.Min(c.P.Dist(b.P0), c.P.Dist(b.P3))) > 1e-5 {
				t.Errorf("curve %d: %v is not an end of the overlap", i, c)
			}
		}
		if n := len(Intersect(Path{whole}, Path{whole}, 1e-6)); n != 2 {
			t.Errorf("curve %d with itself: %d places", i, n)
		}
	}
	a, b := Line(Pt(0, 0), Pt(100, 50)), Line(Pt(50, 25), Pt(200, 100))
	if got := Intersect(Path{a}, Path{b}, 1e-6); len(got) != 2 {
		t.Errorf("two lines on one: %v", got)
	}
	c := Cubic(Pt(20, 10), Pt(40, 20), Pt(60, 30), Pt(80, 40))
	if got := Intersect(Path{a}, Path{c}, 1e-6); len(got) != 2 {
		t.Errorf("a straight cubic on a line: %v", got)
	}
}

func TestAPlaceAtAKnotIsToldOnce(t *testing.T) {
	square := Polyline(Pt(0, 0), Pt(100, 0), Pt(100, 100), Pt(0, 100), Pt(0, 0))
	diagonal := Polyline(Pt(-50, -50), Pt(50, 50), Pt(150, 150))
	got := Intersect(diagonal, square, 1e-6)
	if len(got) != 2 || got[0].P.Dist(Pt(0, 0)) > 1e-9 || got[1].P.Dist(Pt(100, 100)) > 1e-9 {
		t.Fatalf("a diagonal meets a square in two corners: %v", got)
	}
	close2(t, "the corner is the outline's beginning", got[0].T, 0, 1e-9)
	close2(t, "far corner along the outline", got[1].T, 200, 1e-9)
}

func TestASeamThatStopsAtALineReachesIt(t *testing.T) {
	hem := Path{Cubic(Pt(0, 0), Pt(60, 10), Pt(120, 10), Pt(180, 0))}
	foot := hem[0].At(0.4)
	for _, short := range []float64{0, 1e-7, -1e-7} {
		side := Path{Line(Pt(foot.X, 100), Pt(foot.X, foot.Y+short))}
		if got := Intersect(side, hem, 1e-6); len(got) != 1 {
			t.Errorf("stopping %g short: %d places", short, len(got))
		}
		bowl := Path{Cubic(Pt(0, 100), Pt(10, 60), Pt(foot.X, 40), Pt(foot.X, foot.Y+short))}
		if got := Intersect(bowl, hem, 1e-6); len(got) != 1 {
			t.Errorf("bowl stopping %g short: %d places", short, len(got))
		}
	}
}

func TestASoundOutlineDoesNotMeetItself(t *testing.T) {
	r := seeded(3)
	for i := range 100 {
		p := smoothChain(r, 1+r.IntN(3))
		if len(p[0].Inflections()) > 0 {
			continue
		}
		s, e := p.Start(), p.End()
		if got := p.SelfCrossings(false, 1e-6); len(got) != 0 && bruteSelf(p, 0.01) == 0 {
			t.Errorf("chain %d from %v to %v: %v", i, s, e, got)
		}
	}
	k := 4.0 / 3 * math.Tan(math.Pi/8)
	q := Cubic(Pt(50, 0), Pt(50, 50*k), Pt(50*k, 50), Pt(0, 50))
	var circle Path
	for i := range 4 {
		circle = append(circle, q.Transform(RotateAbout(Pt(0, 0), float64(i)*math.Pi/2)))
	}
	if got := circle.SelfCrossings(true, 1e-6); len(got) != 0 {
		t.Errorf("a circle meets itself: %v", got)
	}
}

func bruteSelf(p Path, tol float64) int {
	pts := p.Flatten(tol)
	n := 0
	for i := 1; i < len(pts); i++ {
		for j := i + 2; j < len(pts); j++ {
			n += len(lineLine(Line(pts[i-1], pts[i]), Line(pts[j-1], pts[j])))
		}
	}
	return n
}

func TestAnOutlineThatCrossesItselfIsCaught(t *testing.T) {
	bow := Polyline(Pt(0, 0), Pt(100, 100), Pt(100, 0), Pt(0, 100), Pt(0, 0))
	got := bow.SelfCrossings(true, 1e-6)
	if len(got) != 1 || got[0].P.Dist(Pt(50, 50)) > 1e-9 {
		t.Errorf("bow tie: %v", got)
	}
	loop := Path{Cubic(Pt(0, 0), Pt(150, 100), Pt(-50, 100), Pt(100, 0))}
	got = loop.SelfCrossings(false, 1e-6)
	if len(got) != 1 {
		t.Fatalf("loop: %v", got)
	}
	if d := loop.PointAt(got[0].S).Dist(loop.PointAt(got[0].T)); d > 1e-8 {
		t.Errorf("loop's two places are %g mm apart", d)
	}
	spike := Polyline(Pt(0, 0), Pt(100, 0), Pt(100, 100), Pt(100, 50), Pt(0, 50), Pt(0, 0))
	if got := spike.SelfCrossings(true, 1e-6); len(got) == 0 {
		t.Error("a spike that runs back on itself was not seen")
	}
	// Against all pairs of chords of random chains.
	r := seeded(4)
	for i := range 60 {
		var p Path
		at := anyPoint(r, 200)
		for range 4 {
			c := anyCubic(r, 200)
			c.P0 = at
			at = c.P3
			p = append(p, c)
		}
		got, want := 0, bruteSelf(p, 0.01)
		for _, c := range p.SelfCrossings(false, 1e-6) {
			if c.T-c.S > 1 { // chords miss what lies close to a sharp knot
				got++
			}
		}
		if got != want {
			want = bruteSelf(p, 0.0005)
		}
		if got != want {
			t.Errorf("chain %d: %d self crossings, by chords %d", i, got, want)
		}
	}
}

func TestDegenerateCurvesMeetWithoutHarm(t *testing.T) {
	all := degenerate()
	for n, a := range all {
		for m, b := range all {
			for _, c := range Intersect(Path{a}, Path{b}, 1e-6) {
				if !c.P.Finite() || math.IsNaN(c.S) || math.IsNaN(c.T) {
					t.Errorf("%s with %s: %v", n, m, c)
				}
			}
		}
		if got := (Path{a}).SelfCrossings(false, 1e-6); n == "loop" && len(got) != 1 {
			t.Errorf("%s: %v", n, got)
		}
	}
	cross := Path{Line(Pt(50, -200), Pt(50, 200))}
	for n, want := range map[string]int{"no start handle": 1, "no end handle": 1, "exact cusp": 1, "no handles": 1, "straight out of order": 1, "loop": 3} {
		if got := Intersect(cross, Path{all[n]}, 1e-6); len(got) != want {
			t.Errorf("%s cut in the middle: %d places, want %d: %v", n, len(got), want, got)
		}
	}
}

func ExampleIntersect() {
	armhole := Path{Cubic(Pt(0, 200), Pt(-10, 100), Pt(40, 0), Pt(120, 0))}
	yoke := Path{Line(Pt(-50, 100), Pt(200, 100))}
	for _, c := range Intersect(armhole, yoke, 1e-6) {
		fmt.Printf("%.3f along the armhole, %.3f along the yoke\n", c.S, c.T)
	}
	// Output: 101.191 along the armhole, 60.035 along the yoke
}

// What onward spares SelfCrossings must be spared rightly: where it says that two neighbours meet at
// their knot only, looking closely finds nothing else.
func TestNeighboursThatLeadOnMeetAtTheirKnotOnly(t *testing.T) {
	r := seeded(64)
	proved := 0
	for range 4000 {
		var a, b Seg
		if r.IntN(2) == 0 {
			p := smoothChain(r, 2)
			a, b = p[0], p[1]
		} else {
			a, b = anyCubic(r, 300), anyCubic(r, 300)
		}
		switch r.IntN(4) {
		case 0:
			a = Line(a.P0, a.P3)
		case 1:
			b.P1 = b.P0
		}
		b.P0 = a.P3
		if b.Straight = r.IntN(5) == 0; b.Straight {
			b = Line(b.P0, b.P3)
		}
		if !onward(a, b) {
			continue
		}
		proved++
		for _, h := range meet(a, b, exactGap) {
			if a.lengthTo(h.t, 1)+b.lengthTo(0, h.u) > 1e-6 {
				t.Fatalf("%v and %v meet at %g and %g too", a, b, h.t, h.u)
			}
		}
	}
	if proved < 500 {
		t.Fatalf("only %d pairs lead on", proved)
	}
	if onward(Line(Pt(0, 0), Pt(100, 0)), Line(Pt(100, 0), Pt(20, 1))) || onward(Line(Pt(0, 0), Pt(100, 0)), Line(Pt(90, 0), Pt(190, 0))) {
		t.Fatal("a line that turns back, or that begins elsewhere, does not lead on")
	}
}

func TestTheFirstPlaceAlongALineIsTheFirstOfAll(t *testing.T) {
	r := seeded(65)
	met := 0
	for range 500 {
		p := smoothChain(r, 5)
		b := p.Bounds()
		any := func() Point { return Pt(b.Min.X+b.W()*(1.4*r.Float64()-0.2), b.Min.Y+b.H()*(1.4*r.Float64()-0.2)) }
		s := Line(any(), any())
		got, ok := s.FirstOn(p, 1e-9)
		all := Intersect(Path{s}, p, 1e-9)
		if ok != (len(all) > 0) {
			t.Fatalf("%v meets the path: %t, in %d places", s, ok, len(all))
		}
		if ok {
			met++
			if got.Dist(all[0].P) > 1e-9 {
				t.Fatalf("%v first meets the path at %v, not at %v", s, all[0].P, got)
			}
		}
	}
	if met < 100 {
		t.Fatalf("only %d lines meet the path", met)
	}
}
