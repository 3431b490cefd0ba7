package geom

import "testing"

var (
	sinkF float64
	sinkN int
)

func benchCurves(n int) []Seg {
	r := seeded(99)
	out := make([]Seg, n)
	for i := range out {
		out[i] = garmentCurve(r)
	}
	return out
}

func BenchmarkLength(b *testing.B) {
	c := benchCurves(256)
	for i := 0; b.Loop(); i++ {
		sinkF = c[i%256].Length()
	}
}

func BenchmarkLengthNearCusp(b *testing.B) {
	c := degenerate()["almost a cusp"]
	for b.Loop() {
		sinkF = c.Length()
	}
}

func BenchmarkParamAt(b *testing.B) {
	c := benchCurves(256)
	for i := 0; b.Loop(); i++ {
		sinkF = c[i%256].ParamAt(30)
	}
}

func BenchmarkProject(b *testing.B) {
	p := smoothChain(seeded(98), 6)
	r := seeded(97)
	q := make([]Point, 64)
	for i := range q {
		q[i] = p.PointAt(p.Length() * float64(i) / 64).Add(Vec{r.NormFloat64() * 20, r.NormFloat64() * 20})
	}
	for i := 0; b.Loop(); i++ {
		_, sinkF = p.Project(q[i%64])
	}
}

func BenchmarkIntersectCubics(b *testing.B) {
	r := seeded(96)
	var s [256][2]Path
	for i := range s {
		s[i] = [2]Path{{anyCubic(r, 300)}, {anyCubic(r, 300)}}
	}
	for i := 0; b.Loop(); i++ {
		sinkN = len(Intersect(s[i%256][0], s[i%256][1], 1e-6))
	}
}

func BenchmarkIntersectLine(b *testing.B) {
	r := seeded(95)
	var s [256][2]Path
	for i := range s {
		s[i] = [2]Path{{anyCubic(r, 300)}, {Line(anyPoint(r, 300), anyPoint(r, 300))}}
	}
	for i := 0; b.Loop(); i++ {
		sinkN = len(Intersect(s[i%256][0], s[i%256][1], 1e-6))
	}
}

// benchOutline is a closed piece of lines and curves, as a bodice front is.
func benchOutline() Path {
	return Path{
		Line(Pt(0, 0), Pt(260, 0)),
		Cubic(Pt(260, 0), Pt(255, 60), Pt(250, 120), Pt(270, 200)),
		Cubic(Pt(270, 200), Pt(220, 200), Pt(215, 260), Pt(225, 340)),
		Line(Pt(225, 340), Pt(100, 390)),
		Cubic(Pt(100, 390), Pt(95, 330), Pt(50, 310), Pt(0, 310)),
		Line(Pt(0, 310), Pt(0, 0)),
	}
}

func BenchmarkSelfCrossings(b *testing.B) {
	p := benchOutline()
	for b.Loop() {
		sinkN = len(p.SelfCrossings(true, 1e-6))
	}
}

func BenchmarkContains(b *testing.B) {
	p := benchOutline()
	for i := 0; b.Loop(); i++ {
		if p.Contains(Pt(float64(i%300), float64(i%400))) {
			sinkN++
		}
	}
}

func BenchmarkFitOneCurveOf500Points(b *testing.B) {
	s := Cubic(Pt(0, 250), Pt(0, 110), Pt(60, 0), Pt(150, 0))
	pts := dense(Path{s}, s.Length()/499)
	for b.Loop() {
		p, _ := Fit(pts, 0.05)
		sinkN = len(p)
	}
}

func BenchmarkFitChainOf500Points(b *testing.B) {
	c := smoothChain(seeded(94), 5)
	pts := dense(c, c.Length()/499)
	for b.Loop() {
		p, _ := Fit(pts, 0.05)
		sinkN = len(p)
	}
}

func BenchmarkFair(b *testing.B) {
	for b.Loop() {
		p, _ := Fair(Pt(0, 200), Vec{-0.1, -1}, Pt(120, 0), Vec{1, 0.1}, FairOptions{})
		sinkN = len(p)
	}
}

func BenchmarkThrough(b *testing.B) {
	pts := []Point{{0, 0}, {40, 15}, {90, 22}, {150, 18}, {200, 5}, {240, -20}}
	for b.Loop() {
		p, _ := Through(pts, nil, nil)
		sinkN = len(p)
	}
}

func BenchmarkSplit(b *testing.B) {
	p := benchOutline()
	for b.Loop() {
		x, _ := p.Split(700)
		sinkN = len(x)
	}
}
