package change_test

import (
	"math/rand/v2"
	"testing"

	"sizerun/internal/change"
	"sizerun/internal/geom"
	"sizerun/internal/inspect"
	"sizerun/internal/pattern"
)

// skirtDraft are the measures of a straight skirt for tests, in mm.
type skirtDraft struct {
	size                    string
	waist, hip, long, flare float64
	dart, drop              float64 // width of each dart; how far the centre waist lies below the side
}

func skirtBase() skirtDraft {
	return skirtDraft{size: "14", waist: 760, hip: 1000, long: 600, dart: 22, drop: 14}
}

func skirtChart() pattern.SizeChart {
	return pattern.SizeChart{Base: "14", Run: []string{"10", "12", "14", "16"}, Body: map[string][]float64{"waist": {680, 720, 760, 800}, "hip": {920, 960, 1000, 1040}}}
}

func skirtRun() []pattern.Pattern {
	c := skirtChart()
	var out []pattern.Pattern
	for i, n := range c.Run {
		d := skirtBase()
		d.size, d.waist, d.hip = n, c.Body["waist"][i], c.Body["hip"][i]
		p := d.make()
		p.Body = c.BodyOf(i)
		out = append(out, p)
	}
	return out
}

// quarter is one quarter of the skirt, its centre at x = 0, its side to the left.
func (d skirtDraft) quarter(name, centre string, drop float64) pattern.Piece {
	q, w := d.hip/4+5, d.waist/4+d.dart
	top := geom.Pt(-w, d.long)
	waist := geom.Path{geom.Cubic(geom.Pt(0, d.long-drop), geom.Pt(-w/3, d.long-drop), geom.Pt(-w*0.7, d.long-6), top)}
	m := waist.Length() * 0.45
	s0, s1 := m-d.dart/2, m+d.dart/2
	for range 20 { // the mouth is measured straight
		k := waist.PointAt(s0).Dist(waist.PointAt(s1))
		s0, s1 = s0-(d.dart-k)/2, s1+(d.dart-k)/2
	}
	a, b := waist.PointAt(s0), waist.PointAt(s1)
	tip := a.Lerp(b, 0.5).Add(b.Sub(a).Unit().Left().Mul(95))
	hip := geom.Pt(-q, d.long-200)
	side := geom.Path{geom.Cubic(top, geom.Pt(-w-6, d.long-70), geom.Pt(-q, d.long-130), hip), geom.Line(hip, geom.Pt(-q-d.flare, 0))}
	hem := geom.Path{geom.Cubic(side.End(), side.End().Add(side.EndTangent().Left().Mul(q/3)), geom.Pt(-q/3, 0), geom.Pt(0, 0))}
	e := func(n, from string, path geom.Path) pattern.Edge {
		return pattern.Edge{Name: n, From: from, Path: path, Src: pattern.Source{Piece: name, Edge: n, S1: path.Length()}}
	}
	p := pattern.Piece{Name: name, Title: name, Of: name, Cut: pattern.Cut{Count: 1, Cloth: "main"}, Edges: []pattern.Edge{
		e("hem", "hem_side", hem),
		e("centre", "hem_centre", geom.Polyline(geom.Pt(0, 0), waist.Start())),
		e("waist_centre", "waist_centre", waist.Sub(0, s0)),
		e("dart_1", "dart_near", geom.Polyline(a, tip)),
		e("dart_2", "dart_tip", geom.Polyline(tip, b)),
		e("waist_side", "dart_far", waist.Sub(s1, waist.Length())),
		e("side", "waist_at_side", side),
	}}
	for i := range p.Edges {
		p.Edges[i].To = p.Edges[(i+1)%len(p.Edges)].From
	}
	p.Darts = []pattern.Dart{{Name: "dart", First: "dart_1", Second: "dart_2", Towards: "dart_1"}}
	p.Marks = []pattern.Mark{{Kind: pattern.Notch, Name: "hip", Count: 1, Edge: "side", S: side[0].Length(), At: hip}, {Kind: pattern.Dot, Name: "dart_tip_dot", At: tip}}
	p.Grain = [2]geom.Point{geom.Pt(-60, 0.2*d.long), geom.Pt(-60, 0.6*d.long)}
	return p
}

func mirrored(p pattern.Piece) pattern.Piece {
	n := len(p.Edges)
	q := p.Clone()
	m := geom.Scale(-1, 1)
	for i, e := range p.Edges {
		l := e.Path.Length()
		e.Path = e.Path.Reverse().Transform(m)
		e.From, e.To = e.To, e.From
		q.Edges[n-1-i] = e
		for k := range q.Marks {
			if q.Marks[k].Edge == e.Name {
				q.Marks[k].S = l - q.Marks[k].S
			}
		}
	}
	for k := range q.Marks {
		q.Marks[k].At = m.Apply(q.Marks[k].At)
	}
	q.Darts = []pattern.Dart{{Name: "dart", First: "dart_2", Second: "dart_1", Towards: "dart_2"}}
	q.Grain = [2]geom.Point{m.Apply(p.Grain[0]), m.Apply(p.Grain[1])}
	return q
}

// make drafts front (on the fold) and back (centre back seam), sides alike.
func (d skirtDraft) make() pattern.Pattern {
	f, b := d.quarter("front", "centre_front", d.drop), mirrored(d.quarter("back", "centre_back", d.drop+8))
	f.Edges[f.EdgeNamed("centre")].Fold = true
	b.Cut = pattern.Cut{Count: 2, Pair: true, Cloth: "main"}
	refs := func(p string, against bool, es ...string) (out []pattern.EdgeRef) {
		for _, e := range es {
			out = append(out, pattern.EdgeRef{Piece: p, Edge: e, Against: against})
		}
		return out
	}
	return pattern.Pattern{Size: d.size, Base: d.size == "14", Body: map[string]float64{"waist": d.waist, "hip": d.hip}, Pieces: []pattern.Piece{f, b}, Seams: []pattern.Seam{
		{Name: "side", Sew: refs("front", false, "side"), To: refs("back", true, "side"), Notches: [][2]pattern.MarkRef{{{Piece: "front", Mark: "hip"}, {Piece: "back", Mark: "hip"}}}, SmoothEnd: true},
		{Name: "dart_front", Sew: refs("front", false, "dart_1"), To: refs("front", true, "dart_2")},
		{Name: "dart_back", Sew: refs("back", false, "dart_2"), To: refs("back", true, "dart_1")},
	}}
}

var waistEdges = []any{"back.waist_centre", "back.waist_side", "front.waist_side", "front.waist_centre"}

// anySkirt drafts sound skirts at random.
func anySkirt(r *rand.Rand) pattern.Pattern {
	d := skirtBase()
	d.waist = 500 + 700*r.Float64()
	d.hip = d.waist + 60 + 200*r.Float64()
	d.long = 350 + 600*r.Float64()
	d.dart = 8 + 16*r.Float64()
	d.drop = 2 + 18*r.Float64()
	d.flare = 60 * r.Float64()
	return d.make()
}

func TestTheTestSkirtIsSound(t *testing.T) {
	var sizes []inspect.Sized
	for _, p := range skirtRun() {
		sizes = append(sizes, cutOut(t, change.Result{Pattern: p}))
	}
	for _, c := range inspect.Run(sizes, skirtChart(), inspect.Options{}).Worst() {
		t.Errorf("%s %s size %s %s.%s: %.3f %s in %v: %s", c.Verdict, c.Rule, c.Size, c.Piece, c.Place, c.Measured, c.Unit, c.Want, c.Text)
	}
}
