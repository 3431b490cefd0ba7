package geom

import (
	"math"
	"testing"
)

// blob is a closed outline of n curves around the origin, corners and smooth knots mixed; jag moves
// its handles at random, so that much of it makes the outline cross itself.
func blob(n int, jag float64, u func() float64) Path {
	at := func(k int) Point {
		a := 2 * math.Pi * float64(k%n) / float64(n)
		return Pt(200*math.Cos(a), 150*math.Sin(a))
	}
	var p Path
	for k := range n {
		a, b := at(k), at(k+1)
		if u() < 0.3 {
			p = append(p, Line(a, b))
			continue
		}
		w := func() Vec { return Vec{(u() - 0.5) * jag, (u() - 0.5) * jag} }
		p = append(p, Cubic(a, a.Lerp(b, 0.3).Add(w()), a.Lerp(b, 0.7).Add(w()), b))
	}
	return p
}

// A proof must hold: whatever is told to be clear has no crossing, and no two places closer than
// the margin but beside a knot.
func TestWhatIsToldToBeClearIsClear(t *testing.T) {
	r := seeded(71)
	told, meeting := 0, 0
	for k := range 3000 {
		p := blob(3+k%14, 40+float64(k%10)*25, r.Float64)
		const margin = 0.02
		if k%3 == 0 { // with steps of about the margin between the curves
			var q Path
			for i, s := range p {
				s = s.Transform(Translate(Vec{(r.Float64() - 0.5) * margin, (r.Float64() - 0.5) * 3 * margin}))
				if i > 0 {
					q = append(q, Line(q.End(), s.P0))
				}
				q = append(q, s)
			}
			p = append(q, Line(q.End(), q.Start()))
		}
		clear := p.Clear(margin)
		// Not closed to SelfCrossings, or it would ask Clear itself; the knot of end and start is told then.
		var x []Crossing
		for _, c := range p.SelfCrossings(false, margin) {
			if l := p.Length(); l-(c.T-c.S) > 4*margin {
				x = append(x, c)
			}
		}
		if len(x) > 0 {
			meeting++
		}
		if !clear {
			continue
		}
		told++
		if len(x) > 0 {
			t.Fatalf("an outline that meets itself at %v is told to be clear: %v", x[0].P, p)
		}
		if told%20 == 0 {
			for i, a := range p {
				for j, b := range p {
					if d := (j - i + len(p)) % len(p); d <= 2 || d >= len(p)-2 {
						continue
					}
					for f := 0.0; f <= 1; f += 0.1 {
						if _, d := (Path{b}).Project(a.At(f)); d <= margin {
							t.Fatalf("Segs %d and %d come within %g", i, j, d)
						}
					}
				}
			}
		}
	}
	if told < 500 || meeting < 500 {
		t.Fatalf("%d of 3000 are clear, %d meet themselves", told, meeting)
	}
}

func TestMostSoundOutlinesAreProvedClear(t *testing.T) {
	r := seeded(72)
	sound, told := 0, 0
	for k := range 1000 {
		p := blob(4+k%10, 30, r.Float64)
		if len(p.SelfCrossings(true, 0.02)) == 0 {
			sound++
			if p.Clear(0.02) {
				told++
			}
		}
	}
	if told < sound*95/100 {
		t.Fatalf("%d of %d sound outlines are proved", told, sound)
	}
}

func TestFoldsSpikesAndGapsAreNotClear(t *testing.T) {
	o := Pt(0, 0)
	for name, p := range map[string]Path{
		"a spike":                 Polyline(o, Pt(100, 0), Pt(100, 50), Pt(100, 120), Pt(100, 50), Pt(0, 50), o),
		"a line there and back":   Polyline(o, Pt(100, 0), Pt(50, 0), o),
		"a straight curve's fold": {Cubic(o, Pt(150, 0), Pt(-50, 0), Pt(100, 0)), Line(Pt(100, 0), Pt(50, 80)), Line(Pt(50, 80), o)},
		"a loop":                  {Cubic(o, Pt(200, 100), Pt(-100, 100), Pt(100, 0)), Line(Pt(100, 0), Pt(50, -80)), Line(Pt(50, -80), o)},
		"a cusp":                  {Cubic(o, Pt(100, 100), Pt(0, 100), Pt(100, 0)), Line(Pt(100, 0), Pt(50, -80)), Line(Pt(50, -80), o)},
		"a gap":                   {Line(o, Pt(100, 0)), Line(Pt(100, 1), Pt(50, 80)), Line(Pt(50, 80), o)},
		"an open line":            Polyline(o, Pt(100, 0), Pt(100, 100), Pt(0, 100)),
		"a bow tie":               Polyline(o, Pt(100, 100), Pt(100, 0), Pt(0, 100), o),
		"a touch":                 Polyline(o, Pt(100, 0), Pt(100, 100), Pt(50, 0), Pt(0, 100), o),
		"no number":               Polyline(o, Pt(math.NaN(), 0), Pt(100, 100), o),
		"a point":                 Polyline(o, o, o, o),
		"nothing":                 nil,
	} {
		if p.Clear(0.01) {
			t.Errorf("%s is told to be clear", name)
		}
	}
	if !Polyline(o, Pt(100, 0), Pt(100, 100), Pt(0, 100), o).Clear(1) {
		t.Error("a square is not proved")
	}
}

func BenchmarkClear(b *testing.B) {
	p := blob(12, 50, seeded(73).Float64)
	for !p.Clear(0.02) {
		b.Fatal("not clear")
	}
	for b.Loop() {
		p.Clear(0.02)
	}
}
