// Package blouse drafts a small blouse for tests: front, back and a short set-in sleeve, in any size.
//
// It is drafted so that everything a checker looks for is right: sides, shoulders and underarms match,
// hem, neck and armhole run on smoothly across their seams, and the cap is solved for so that it has
// exactly the ease asked for, all of it above the notches. A test spoils one thing and sees it found.
package blouse

import (
	"fmt"
	"math"

	"sizerun/internal/geom"
	"sizerun/internal/pattern"
)

// Draft are the measures of one size, in mm.
type Draft struct {
	Size                 string
	Bust, Scye, Length   float64 // girth; shoulder level to underarm; underarm to hem
	Shoulder, Neck       float64 // shoulder length; half the neck's width
	Flare                float64 // how far the hem stands out beyond the underarm, a side
	UpperArm             float64 // sleeve width
	Underarm             float64 // sleeve length below the biceps line, at the side
	Taper                float64 // how far the sleeve narrows to its hem, a side
	EaseFront, EaseBack  float64
	NotchAlong, DotAlong float64 // from the underarm; from the crown
	CrownRight           float64 // how far the crown stands forward of the middle
}

// Base is the size that was fitted.
func Base() Draft {
	return Draft{Size: "14", Bust: 1040, Scye: 190, Length: 400, Shoulder: 84, Neck: 105, Flare: 14, UpperArm: 350, Underarm: 95, Taper: 12,
		EaseFront: 9, EaseBack: 13, NotchAlong: 84, DotAlong: 100, CrownRight: 5}
}

// Chart is the run that Step walks: the bust grows by 40 mm a size, and by 60 from size 18 on.
func Chart() pattern.SizeChart {
	return pattern.SizeChart{Base: "14", Run: []string{"8", "10", "12", "14", "16", "18", "20", "22"}, Breaks: []string{"18"},
		Body: map[string][]float64{"bust": {800, 840, 880, 920, 960, 1020, 1080, 1140}, "upper_arm": {250, 262, 274, 286, 298, 316, 334, 352}}}
}

// At is the draft of the i-th size of Chart: everything that grows, grows with the bust.
func At(i int) Draft {
	c := Chart()
	d := Base()
	d.Size = c.Run[i]
	g := c.Body["bust"][i] - c.Body["bust"][3]
	d.Bust += g
	d.Scye += 0.075 * g
	d.Shoulder += 0.075 * g
	d.Neck += 0.05 * g
	d.UpperArm += 0.3 * g
	return d
}

// Run drafts all sizes of Chart.
func Run() []pattern.Pattern {
	var out []pattern.Pattern
	c := Chart()
	for i := range c.Run {
		d := At(i)
		p := Make(d)
		p.Base = d.Size == c.Base
		p.Body = c.BodyOf(i)
		out = append(out, p)
	}
	return out
}

// curve leaves a along da with handle ka and arrives at b along db with handle kb.
func curve(a geom.Point, da geom.Vec, ka float64, b geom.Point, db geom.Vec, kb float64) geom.Path {
	return geom.Path{geom.Cubic(a, a.Add(da.Unit().Mul(ka)), b.Add(db.Unit().Mul(-kb)), b)}
}

func line(a, b geom.Point) geom.Path { return geom.Polyline(a, b) }

// piece closes edges given as name, from, path.
type edge struct {
	name, from string
	path       geom.Path
}

func piece(name string, cut pattern.Cut, edges ...edge) pattern.Piece {
	p := pattern.Piece{Name: name, Title: name, Of: name, Cut: cut}
	for i, e := range edges {
		p.Edges = append(p.Edges, pattern.Edge{Name: e.name, From: e.from, To: edges[(i+1)%len(edges)].from, Path: e.path,
			Src: pattern.Source{Piece: name, Edge: e.name, S1: e.path.Length()}})
	}
	return p
}

func mark(p *pattern.Piece, kind pattern.MarkKind, name string, count int, edge string, s float64) {
	i := p.EdgeNamed(edge)
	l := p.Edges[i].Path.Length()
	if s < 0 {
		s += l
	}
	s = math.Min(s, l)
	p.Marks = append(p.Marks, pattern.Mark{Kind: kind, Name: name, Count: count, Edge: edge, S: s, At: p.Edges[i].Path.PointAt(s)})
}

// Make drafts one size.
func Make(d Draft) pattern.Pattern {
	q := d.Bust / 4
	top := d.Scye // y of the shoulder's outer end above the underarm
	// Front: centre at x = 0 on the right, the side on the left, as seen from the right side.
	fSide := line(geom.Pt(-q, 0), geom.Pt(-q-d.Flare, -d.Length))
	neckF, shF := geom.Pt(-d.Neck, top+35), geom.Pt(-d.Neck-d.Shoulder*0.9, top)
	shF = neckF.Add(shF.Sub(neckF).Unit().Mul(d.Shoulder))
	down := shF.Sub(neckF)
	front := piece("front", pattern.Cut{Count: 1, Cloth: "main"},
		edge{"centre_front", "cf_hem", line(geom.Pt(0, -d.Length), geom.Pt(0, top-70))},
		edge{"neck", "cf_neck", curve(geom.Pt(0, top-70), geom.Vec{X: -1}, 60, neckF, down.Right(), 50)},
		edge{"shoulder", "neck", line(neckF, shF)},
		edge{"armhole", "shoulder", curve(shF, down.Left(), 90, geom.Pt(-q, 0), fSide.StartTangent().Right(), 60)},
		edge{"side", "underarm", fSide},
		edge{"hem", "hem_side", curve(fSide.End(), fSide.EndTangent().Left(), 80, geom.Pt(0, -d.Length), geom.Vec{X: 1}, 80)},
	)
	front.Edges[0].Fold = true
	front.Grain = [2]geom.Point{geom.Pt(-70, -d.Length+60), geom.Pt(-70, -20)}
	front.Align = geom.Pt(0, -d.Length)
	bSide := line(geom.Pt(q+d.Flare, -d.Length), geom.Pt(q, 0))
	neckB, shB := geom.Pt(d.Neck, top+45), geom.Pt(d.Neck+d.Shoulder*0.92, top+12)
	shB = neckB.Add(shB.Sub(neckB).Unit().Mul(d.Shoulder))
	up := neckB.Sub(shB)
	back := piece("back", pattern.Cut{Count: 1, Cloth: "main"},
		edge{"hem", "cb_hem", curve(geom.Pt(0, -d.Length), geom.Vec{X: 1}, 80, bSide.Start(), bSide.StartTangent().Right(), 80)},
		edge{"side", "hem_side", bSide},
		edge{"armhole", "underarm", curve(geom.Pt(q, 0), bSide.EndTangent().Left(), 55, shB, up.Right(), 100)},
		edge{"shoulder", "shoulder", line(shB, neckB)},
		edge{"neck", "neck", curve(neckB, up.Left(), 25, geom.Pt(0, top+20), geom.Vec{X: -1}, 60)},
		edge{"centre_back", "cb_neck", line(geom.Pt(0, top+20), geom.Pt(0, -d.Length))},
	)
	back.Edges[5].Fold = true
	back.Grain = [2]geom.Point{geom.Pt(70, -d.Length+60), geom.Pt(70, -20)}
	back.Align = geom.Pt(0, -d.Length)
	mark(&front, pattern.Notch, "front_notch", 1, "armhole", -d.NotchAlong)
	mark(&front, pattern.Notch, "waist", 1, "side", d.Length*0.4)
	mark(&back, pattern.Notch, "back_notch", 2, "armhole", d.NotchAlong)
	mark(&back, pattern.Notch, "waist", 1, "side", -d.Length*0.4)
	front.Marks = append(front.Marks, pattern.Mark{Kind: pattern.Dot, Name: "bust_point", At: geom.Pt(-95, -60)})
	sleeve := Sleeve(d, front.Edges[3].Path.Length(), back.Edges[2].Path.Length())
	ref := func(p, e string, against bool) []pattern.EdgeRef {
		return []pattern.EdgeRef{{Piece: p, Edge: e, Against: against}}
	}
	pair := func(p, m, q, n string) [2]pattern.MarkRef {
		return [2]pattern.MarkRef{{Piece: p, Mark: m}, {Piece: q, Mark: n}}
	}
	return pattern.Pattern{Size: d.Size, Pieces: []pattern.Piece{front, back, sleeve}, Seams: []pattern.Seam{
		{Name: "shoulder", Sew: ref("front", "shoulder", false), To: ref("back", "shoulder", true), SmoothStart: true, SmoothEnd: true},
		{Name: "side", Sew: ref("front", "side", false), To: ref("back", "side", true), SmoothStart: true, SmoothEnd: true,
			Notches: [][2]pattern.MarkRef{pair("front", "waist", "back", "waist")}},
		{Name: "underarm", Sew: ref("sleeve", "underarm_back", false), To: ref("sleeve", "underarm_front", true), SmoothStart: true, SmoothEnd: true},
		{Name: "armhole_front", Sew: ref("sleeve", "cap_front", false), To: ref("front", "armhole", true), Cap: true,
			Ease:    pattern.Range{Min: d.EaseFront - 3, Max: d.EaseFront + 3},
			Notches: [][2]pattern.MarkRef{pair("sleeve", "front_notch", "front", "front_notch")}},
		{Name: "armhole_back", Sew: ref("sleeve", "cap_back", false), To: ref("back", "armhole", true), Cap: true,
			Ease:    pattern.Range{Min: d.EaseBack - 3, Max: d.EaseBack + 3},
			Notches: [][2]pattern.MarkRef{pair("sleeve", "back_notch", "back", "back_notch")}},
	}}
}

// Sleeve drafts the sleeve for two halves of an armhole: the cap's height is solved for the front, how
// far the cap bows for the back, to a thousandth of a millimetre.
func Sleeve(d Draft, armFront, armBack float64) pattern.Piece {
	x := d.UpperArm / 2
	uf, ub := geom.Pt(x, 0), geom.Pt(-x, 0)
	hf, hb := geom.Pt(x-d.Taper, -d.Underarm), geom.Pt(-x+d.Taper, -d.Underarm)
	rise := uf.Sub(hf).Left() // square to the underarm, into the sleeve
	fall := hb.Sub(ub).Right().Neg()
	cap := func(h, bow float64, front bool) geom.Path {
		c := geom.Pt(d.CrownRight, h)
		if front {
			return curve(uf, rise, bow*x, c, geom.Vec{X: -1}, bow*x)
		}
		return curve(c, geom.Vec{X: -1}, bow*x, ub, fall.Neg(), bow*x)
	}
	h := solve(20, 400, func(h float64) float64 { return cap(h, 0.33, true).Length() - armFront - d.EaseFront })
	bow := solve(0.05, 0.95, func(b float64) float64 { return cap(h, b, false).Length() - armBack - d.EaseBack })
	hemL, hemR := ub.Sub(hb).Right(), uf.Sub(hf).Right()
	p := piece("sleeve", pattern.Cut{Count: 2, Pair: true, Cloth: "main"},
		edge{"hem", "hem_back", curve(hb, hemL, 0.6*x, hf, hemR, 0.6*x)},
		edge{"underarm_front", "hem_front", line(hf, uf)},
		edge{"cap_front", "underarm_front", cap(h, 0.33, true)},
		edge{"cap_back", "crown", cap(h, bow, false)},
		edge{"underarm_back", "underarm_back", line(ub, hb)},
	)
	p.Grain = [2]geom.Point{geom.Pt(0, -0.6*d.Underarm), geom.Pt(0, 0.7*h)}
	p.Align = geom.Pt(0, 0)
	mark(&p, pattern.Dot, "crown", 0, "cap_back", 0)
	mark(&p, pattern.Notch, "front_notch", 1, "cap_front", d.NotchAlong)
	mark(&p, pattern.Dot, "front_dot", 0, "cap_front", -d.DotAlong)
	mark(&p, pattern.Notch, "back_notch", 2, "cap_back", -d.NotchAlong)
	mark(&p, pattern.Dot, "back_dot", 0, "cap_back", d.DotAlong)
	return p
}

// solve finds where f crosses zero between lo and hi, by halving; it panics when it does not, which is
// a mistake in the test's own draft.
func solve(lo, hi float64, f func(float64) float64) float64 {
	if f(lo) > 0 || f(hi) < 0 {
		panic(fmt.Sprintf("blouse: no such sleeve: %g … %g", f(lo), f(hi)))
	}
	for range 60 {
		m := (lo + hi) / 2
		if f(m) > 0 {
			hi = m
		} else {
			lo = m
		}
	}
	return (lo + hi) / 2
}
