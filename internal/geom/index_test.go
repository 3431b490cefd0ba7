package geom

import (
	"math"
	"testing"
)

// askIndex compares an Index with the Path's own, slower answers in q.
func askIndex(t *testing.T, name string, p Path, x *Index, q Point) {
	t.Helper()
	_, want := p.Project(q)
	for _, most := range []float64{0, want / 2, want * 0.999, want + 1e-9, want * 2, math.Inf(1)} {
		got := x.Distance(q, most)
		switch {
		case want > most+1e-9 && !math.IsInf(got, 1):
			t.Fatalf("%s: %v is %g off, the index says %g though no more than %g was asked for", name, q, want, got, most)
		case want <= most-1e-9 && math.Abs(got-want) > 1e-7*(1+want):
			t.Fatalf("%s: %v is %g off, the index says %g of at most %g", name, q, want, got, most)
		}
	}
	if want > 1e-6 && x.Contains(q) != p.Contains(q) {
		t.Fatalf("%s: the index says %v to whether %v lies inside", name, x.Contains(q), q)
	}
}

func TestAnIndexTellsTheSameDistancesAndInsides(t *testing.T) {
	r := seeded(41)
	for k := range 60 {
		p := smoothChain(r, 1+k%7)
		if k%2 == 0 {
			p = append(p, Line(p.End(), p.Start()))
		}
		x, b := p.Index(), p.Bounds()
		for range 100 {
			q := Pt(b.Min.X+(r.Float64()*1.4-0.2)*b.W(), b.Min.Y+(r.Float64()*1.4-0.2)*b.H())
			askIndex(t, "chain", p, x, q)
			on := p.PointAt(r.Float64() * p.Length())
			if d := x.Distance(on, 0.5); !(d <= 1e-7) {
				t.Fatalf("a place of the path is %g off it", d)
			}
			askIndex(t, "chain", p, x, on.Add(Vec{r.NormFloat64(), r.NormFloat64()}))
		}
	}
	for name, s := range degenerate() {
		p := Path{s}
		x := p.Index()
		for range 50 {
			askIndex(t, name, p, x, anyPoint(r, 120))
		}
	}
}

func TestAnIndexOfNothingIsFarFromEverything(t *testing.T) {
	x := Path(nil).Index()
	if d := x.Distance(Pt(0, 0), 1e9); !math.IsInf(d, 1) || x.Contains(Pt(0, 0)) {
		t.Fatalf("an empty path is %g off", d)
	}
	if d := (Path{Line(Pt(0, 0), Pt(9, 0))}).Index().Distance(Pt(math.NaN(), 0), 5); !math.IsInf(d, 1) {
		t.Fatalf("what is nowhere is %g off", d)
	}
}

func TestSpreadTellsWhatPointAtTells(t *testing.T) {
	r := seeded(42)
	check := func(name string, p Path, n int) {
		t.Helper()
		got := p.Spread(n)
		if len(got) != n+1 {
			t.Fatalf("%s: %d places, want %d", name, len(got), n+1)
		}
		l := p.Length()
		for i, q := range got {
			if want := p.PointAt(l * float64(i) / float64(n)); q.Dist(want) > 1e-9*(1+l) {
				t.Fatalf("%s: place %d of %d is %v, PointAt says %v", name, i, n, q, want)
			}
		}
	}
	for k := range 60 {
		p := smoothChain(r, 1+k%5)
		if k%3 == 0 {
			p = append(p, Line(p.End(), p.Start()))
		}
		check("chain", p, 1+r.IntN(200))
	}
	for name, s := range degenerate() {
		if s.size() < 1e6 {
			check(name, Path{s}, 16)
			check(name+" twice", Path{s, Line(s.P3, Pt(50, 50)), Line(Pt(50, 50), Pt(50, 50)), Line(Pt(50, 50), Pt(90, 50))}, 33)
		}
	}
	if Path(nil).Spread(4) != nil || (Path{Line(Pt(0, 0), Pt(1, 0))}).Spread(0) != nil {
		t.Fatal("places of nothing")
	}
}
