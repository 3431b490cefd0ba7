package geom

import (
	"encoding/binary"
	"math"
	"testing"
)

// reader turns fuzz bytes into bounded coordinates on a grid that makes coincidences likely.
type reader struct{ b []byte }

func (r *reader) num() float64 {
	if len(r.b) < 2 {
		return 0
	}
	v := int16(binary.LittleEndian.Uint16(r.b))
	r.b = r.b[2:]
	if v%4 == 0 {
		return float64(v / 256)
	}
	return float64(v) / 64
}

func (r *reader) point() Point { return Pt(r.num(), r.num()) }

func (r *reader) seg() Seg {
	a, b, c, d := r.point(), r.point(), r.point(), r.point()
	if a.X == b.X {
		return Line(a, d)
	}
	return Cubic(a, b, c, d)
}

func fuzzSeeds(f *testing.F) {
	enc := func(segs ...Seg) []byte {
		var b []byte
		for _, s := range segs {
			for _, p := range [4]Point{s.P0, s.P1, s.P2, s.P3} {
				for _, v := range [2]float64{p.X, p.Y} {
					b = binary.LittleEndian.AppendUint16(b, uint16(int16(math.Max(-500, math.Min(500, v))*64)|1))
				}
			}
		}
		return b
	}
	var last Seg
	for _, s := range degenerate() {
		f.Add(enc(s, last))
		last = s
	}
	r := seeded(70)
	for range 10 {
		f.Add(enc(anyCubic(r, 300), anyCubic(r, 300)))
	}
}

// FuzzIntersect: whatever meets lies on both, is told once, and does not depend on who is asked
// first; where chords cross clearly, so do the curves.
func FuzzIntersect(f *testing.F) {
	fuzzSeeds(f)
	f.Fuzz(func(t *testing.T, b []byte) {
		r := &reader{b}
		s, q := r.seg(), r.seg()
		const tol = 1e-6
		got := Intersect(Path{s}, Path{q}, tol)
		if len(got) > 24 {
			t.Errorf("%d places", len(got))
		}
		for _, c := range got {
			if !c.P.Finite() || !(c.S >= 0) || !(c.T >= 0) {
				t.Fatalf("%v", c)
			}
			a, b := (Path{s}).PointAt(c.S), (Path{q}).PointAt(c.T)
			if d := math.Max(a.Dist(b), a.Dist(c.P)); d > 2*tol {
				t.Errorf("%v: %g mm apart", c, d)
			}
		}
		// Every clear crossing of chords lies near a place found.
		const n = 96
		for i := range n {
			u := Line(s.At(float64(i)/n), s.At(float64(i+1)/n))
			for j := range n {
				v := Line(q.At(float64(j)/n), q.At(float64(j+1)/n))
				for _, h := range lineLine(u, v) {
					if h.sine < 0.2 || h.t < 0.2 || h.t > 0.8 || h.u < 0.2 || h.u > 0.8 || flatness(s.Sub(float64(i)/n, float64(i+1)/n))+flatness(q.Sub(float64(j)/n, float64(j+1)/n)) > 0.02*math.Min(u.Length(), v.Length()) {
						continue
					}
					near := false
					for _, c := range got {
						near = near || c.P.Dist(u.At(h.t)) < u.Length()
					}
					if !near && u.Length() > 1e-3 {
						t.Errorf("the crossing near %v was missed\n%#v\n%#v\n%v", u.At(h.t), s, q, got)
					}
				}
			}
		}
		(Path{s, Line(s.P3, q.P0), q}).SelfCrossings(true, tol)
	})
}

// FuzzFit: a fit passes its points within tolerance and keeps their ends.
func FuzzFit(f *testing.F) {
	fuzzSeeds(f)
	f.Fuzz(func(t *testing.T, b []byte) {
		r := &reader{b}
		s, q := r.seg(), r.seg()
		q.P0 = s.P3
		pts := Path{s, q}.Flatten(0.05)
		for len(r.b) > 0 && len(pts) < 400 {
			pts = append(pts, r.point())
		}
		if len(pts) > 400 {
			pts = pts[:400]
		}
		for _, tol := range []float64{0.05, 1} {
			p, err := Fit(pts, tol)
			if err != nil {
				if l := Polyline(pts...).Length(); l > 1e-6 {
					t.Fatalf("%v", err)
				}
				return
			}
			if len(p) > 2*len(pts)+2 {
				t.Errorf("%d cubics for %d points", len(p), len(pts))
			}
			for i, g := range p {
				if !g.P0.Finite() || !g.P1.Finite() || !g.P2.Finite() || !g.P3.Finite() {
					t.Fatalf("%v", g)
				}
				if i > 0 && g.P0 != p[i-1].P3 {
					t.Errorf("a gap before cubic %d", i)
				}
			}
			for _, x := range pts {
				if _, d := p.Project(x); d > tol+1e-6 {
					t.Errorf("a point is %g off at tolerance %g", d, tol)
				}
			}
			if p.Start().Dist(pts[0]) > 1e-9 || p.End().Dist(pts[len(pts)-1]) > 2e-9 {
				t.Error("the ends moved")
			}
		}
		if p, err := Through(pts[:min(len(pts), 12)], nil, nil); err == nil && !(p.Length() >= 0) {
			t.Errorf("through: %v", p)
		}
	})
}

// FuzzSplitJoin: parts add up, places stay.
func FuzzSplitJoin(f *testing.F) {
	fuzzSeeds(f)
	f.Fuzz(func(t *testing.T, b []byte) {
		r := &reader{b}
		p := Path{r.seg()}
		for len(r.b) > 0 && len(p) < 6 {
			s := r.seg()
			s.P0 = p.End()
			if s.Straight {
				s = Line(s.P0, s.P3)
			}
			p = append(p, s)
		}
		l := p.Length()
		if !(l >= 0) {
			t.Fatalf("length %g", l)
		}
		for _, f := range []float64{0, 0.1, 1.0 / 3, 0.5, 0.9, 1} {
			s := f * l
			x, y := p.Split(s)
			if d := math.Abs(x.Length() + y.Length() - l); d > 1e-8*l+1e-9 {
				t.Errorf("the parts are %g off the whole of %g", d, l)
			}
			if d := math.Abs(x.Length() - s); d > 1e-8*l+2e-9 {
				t.Errorf("asked for %g, got %g", s, x.Length())
			}
			if len(x) > 0 && len(y) > 0 && x.End() != y.Start() {
				t.Error("the parts do not meet")
			}
			q := p.PointAt(s)
			if a, d := p.Project(q); d > 1e-6 || p.PointAt(a).Dist(q) > 1e-6 {
				t.Errorf("a place on the path is %g off it", d)
			}
			if d := x.Join(y).PointAt(s).Dist(q); d > 1e-6*(1+l/1000) {
				t.Errorf("split and joined it is %g mm off", d)
			}
		}
		for _, q := range p.Flatten(0.1) {
			if !q.Finite() {
				t.Fatal("a flattened point is no number")
			}
		}
		if m := p.MinRadius(); math.IsNaN(m) || m < 0 {
			t.Errorf("radius %g", m)
		}
		c := p.Clean(1e-3)
		if d := math.Abs(c.Length() - l); d > 0.02*float64(len(p)) {
			t.Errorf("cleaned it is %g longer or shorter", d)
		}
	})
}

// FuzzFair: a style line keeps its ends and directions, or says why not.
func FuzzFair(f *testing.F) {
	f.Add(0.0, 0.0, 1.0, 0.0, 100.0, 0.0, 0.0, 1.0, 0.0, false)
	f.Add(0.0, 0.0, 1.0, 0.0, 100.0, 0.0, -1.0, 0.0, 0.5, true)
	f.Add(3.0, 4.0, -1.0, 1e-9, 3.0, 4.0000001, 1.0, 0.0, 0.05, true)
	f.Add(0.0, 0.0, 1e-300, 0.0, 1e300, 0.0, 0.0, 1e300, 0.95, false)
	f.Fuzz(func(t *testing.T, x0, y0, u0, v0, x1, y1, u1, v1, full float64, allow bool) {
		p0, p1, t0, t1 := Pt(x0, y0), Pt(x1, y1), Vec{u0, v0}, Vec{u1, v1}
		p, err := Fair(p0, t0, p1, t1, FairOptions{Fullness: full, AllowInflection: allow})
		if err != nil {
			return
		}
		if p.Start() != p0 || p.End() != p1 {
			t.Errorf("ends %v", p)
		}
		far := math.Max(math.Hypot(x0, y0), math.Hypot(x1, y1))
		if far > 1e6 || p0.Dist(p1) < 1e-3 {
			return
		}
		for _, s := range p {
			for _, q := range [4]Point{s.P0, s.P1, s.P2, s.P3} {
				if !q.Finite() {
					t.Fatalf("%v", p)
				}
			}
		}
		if a, b := p.StartTangent().AngleTo(t0), p.EndTangent().AngleTo(t1); math.Abs(a) > 1e-5 || math.Abs(b) > 1e-5 {
			t.Errorf("directions off by %g and %g: %v", a, b, p)
		}
	})
}
