package change_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"sizerun/internal/geom"
	"sizerun/internal/pattern"
	"sizerun/internal/testkit/blouse"
)

// darts says how a front is given darts: a bust dart in the side seam and, if its width is not 0, a waist
// dart that runs out into the hem.
type darts struct {
	mouth, down   float64 // of the bust dart: width at 180 mm from the bust point, how far below the underarm
	short         float64 // from its point to the bust point
	waist, waistX float64 // the waist dart's width and its middle from the centre
	waistUp       float64 // from the hem to its point
}

func usual() darts { return darts{mouth: 32, down: 55, short: 22, waist: 0, waistX: 95, waistUp: 300} }

// darted is the blouse with darts in its front: with the bust dart closed the side seam is straight and as
// long as the back's.
func darted(d blouse.Draft, o darts) pattern.Pattern {
	p := blouse.Make(d)
	f := p.PieceNamed("front")
	q := d.Bust / 4
	under, bust := geom.Pt(-q, 0), geom.Pt(-95-0.1*(d.Bust-1040), -40)
	side := f.Edges[f.EdgeNamed("side")].Path
	u := side.StartTangent()
	a := side.PointAt(o.down)
	turn := 2 * math.Asin(o.mouth/2/180) // the same angle in every size, so that the mouth grows evenly
	rot := geom.RotateAbout(bust, turn)
	b := rot.Apply(a)
	tip := bust.Add(a.Lerp(b, 0.5).Sub(bust).Unit().Mul(o.short))
	// With the dart closed the lower side runs on in the upper one's direction; open, it is turned.
	low := geom.Polyline(b, b.Add(rot.ApplyVec(u).Mul(side.Length()-o.down)))
	hem := low.End()
	cf := geom.Pt(0, hem.Y)
	cfTop := f.Edges[0].Path.End()
	edges := []pattern.Edge{{Name: "centre_front", From: "cf_hem", To: "cf_neck", Path: geom.Polyline(cf, cfTop), Fold: true}}
	edges = append(edges, f.Edges[1], f.Edges[2], f.Edges[3])
	edges = append(edges, pattern.Edge{Name: "side_upper", From: "underarm", To: "dart_top", Path: geom.Polyline(under, a)},
		pattern.Edge{Name: "dart_upper", From: "dart_top", To: "dart_point", Path: geom.Polyline(a, tip)},
		pattern.Edge{Name: "dart_lower", From: "dart_point", To: "dart_bottom", Path: geom.Polyline(tip, b)},
		pattern.Edge{Name: "side_lower", From: "dart_bottom", To: "hem_side", Path: low})
	h := geom.Path{geom.Cubic(hem, hem.Add(low.EndTangent().Left().Mul(60)), geom.Pt(-80, cf.Y), cf)}
	f.Darts = []pattern.Dart{{Name: "bust", First: "dart_upper", Second: "dart_lower", Towards: "dart_lower"}}
	if o.waist > 0 {
		x0, x1 := h.Length()-o.waistX-o.waist/2, h.Length()-o.waistX+o.waist/2
		m := h.PointAt(h.Length() - o.waistX)
		t := geom.Pt(m.X, m.Y+o.waistUp)
		edges = append(edges, pattern.Edge{Name: "hem", From: "hem_side", To: "waist_in", Path: h.Sub(0, x0)},
			pattern.Edge{Name: "waist_first", From: "waist_in", To: "waist_point", Path: geom.Polyline(h.PointAt(x0), t)},
			pattern.Edge{Name: "waist_second", From: "waist_point", To: "waist_out", Path: geom.Polyline(t, h.PointAt(x1))},
			pattern.Edge{Name: "hem_centre", From: "waist_out", To: "cf_hem", Path: h.Sub(x1, h.Length())})
		f.Darts = append(f.Darts, pattern.Dart{Name: "waist", First: "waist_first", Second: "waist_second", Towards: "waist_second"})
	} else {
		edges = append(edges, pattern.Edge{Name: "hem", From: "hem_side", To: "cf_hem", Path: h})
	}
	for i := range edges {
		edges[i].Src = pattern.Source{Piece: "front", Edge: edges[i].Name, S1: edges[i].Path.Length()}
	}
	f.Edges = edges
	var marks []pattern.Mark
	for _, m := range f.Marks {
		if m.Name == "waist" {
			m.Edge, m.S = "side_lower", m.S-o.down
			m.At = low.PointAt(m.S)
		}
		if m.Name == "bust_point" {
			m.At = bust // grown with the bust
		}
		marks = append(marks, m)
	}
	f.Marks = append(marks, pattern.Mark{Kind: pattern.Dot, Name: "dart_point", Edge: "dart_lower", At: tip})
	f.Lines = []pattern.InnerLine{{Name: "pocket", Path: geom.Polyline(geom.Pt(-170, -170), geom.Pt(-90, -170))}}
	f.Grain = [2]geom.Point{geom.Pt(-40, cf.Y+60), geom.Pt(-40, -20)}
	f.Align = cf
	for i := range p.Seams {
		if p.Seams[i].Name == "side" {
			p.Seams[i].Sew = []pattern.EdgeRef{{Piece: "front", Edge: "side_upper"}, {Piece: "front", Edge: "side_lower"}}
			p.Seams[i].SmoothEnd = false
		}
	}
	p.Seams = append(p.Seams, pattern.Seam{Name: "bust_dart", Sew: []pattern.EdgeRef{{Piece: "front", Edge: "dart_upper"}}, To: []pattern.EdgeRef{{Piece: "front", Edge: "dart_lower", Against: true}}})
	return p
}

// dartedRun is the blouse with darts in every size.
func dartedRun(o darts) []pattern.Pattern {
	var out []pattern.Pattern
	c := blouse.Chart()
	for i := range c.Run {
		p := darted(blouse.At(i), o)
		p.Base, p.Body = c.Run[i] == c.Base, c.BodyOf(i)
		out = append(out, p)
	}
	return out
}

// dartFronts draws random sound fronts with darts.
func dartFronts(t *testing.T, seed uint64, n int, f func(r *rand.Rand, p pattern.Pattern, o darts)) {
	t.Helper()
	sleeves(t, seed, n, func(r *rand.Rand, d blouse.Draft, _ pattern.Pattern) {
		u := func(lo, hi float64) float64 { return lo + r.Float64()*(hi-lo) }
		o := darts{mouth: u(10, 60), down: u(30, 90), short: u(0, 35)}
		f(r, darted(d, o), o)
	})
}
