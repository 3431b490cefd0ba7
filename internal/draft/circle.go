package draft

import (
	"math"

	"sizerun/internal/geom"
	"sizerun/internal/pattern"
)

// A circle skirt is exact geometry: the waist is an arc of a circle about the centre of the cloth, and the
// hem another. A whole circle has its waist all round; the less of a circle there is, the larger it must be.

func circleDraft() Definition {
	return Definition{
		Name:     "circle_skirt",
		Sentence: "A skirt that is a quarter, half, three quarters or the whole of a circle, with side seams.",
		Measures: []Measure{{Name: "waist", Sentence: "Round the waist, where the skirt is to hang.", Min: 200, Max: 2500}},
		Ease: []Option{
			{Name: "waist", Sentence: "How much wider than the waist, in all.", Default: 10, Min: 0, Max: 600},
		},
		Lengths: []Option{
			{Name: "skirt", Sentence: "The length from waist to hem.", Default: 600, Min: 100, Max: 1300},
		},
		Numbers: []Option{{Name: "quarters", Sentence: "How many quarters of a circle.", Default: 2, Min: 1, Max: 4}},
		Finished: []pattern.Finished{
			{Name: "waist", Says: "Waist", Body: "waist", Terms: []pattern.Term{{Edges: append(refs("front", "waist"), refs("back", "waist")...), Times: 2}}},
			lengthRow("length", "Centre back, waist to hem", "back", "centre_back", "centre_waist", "hem"),
			hemRow("Hem, all round", 2, "front", "back"),
		},
		draw: circleSkirt,
	}
}

// CircleRadius is the radius of the waist of a circle skirt of so many quarters of a circle: an arc of
// quarters × 90 degrees that is waist long.
func CircleRadius(waist, quarters float64) float64 { return waist / (quarters * math.Pi / 2) }

func circleSkirt(b *board) {
	waist := b.m("waist") + b.ease["waist"]
	q := b.numbers["quarters"]
	r := CircleRadius(waist, q)
	long := b.lengths["skirt"]
	angle := q * math.Pi / 2 / 4 // of each half of front and back, from the fold to the side
	for _, name := range []string{"front", "back"} {
		title := "Skirt " + name
		o := newOutline(name, title, pattern.Cut{Count: 1, Cloth: "main"})
		// Drawn about the centre of the circle, upside down like every skirt: the fold on x = 0.
		at := func(radius, a float64) geom.Point {
			s, c := math.Sincos(a)
			return geom.Pt(radius*s, radius*c-r)
		}
		waistArc, hemArc := arc(at, r, 0, angle), arc(at, r+long, 0, angle)
		o.edge("waist", "centre_waist", "side_waist", waistArc)
		o.line("side", "side_waist", "side_hem", at(r, angle), at(r+long, angle))
		o.edge("hem", "side_hem", "centre_hem", hemArc.Reverse())
		o.line("centre_"+name, "centre_hem", "centre_waist", at(r+long, 0), at(r, 0)).fold()
		x := 0.3 * r * math.Sin(angle)
		o.grain(x, 0.2*long, 0.8*long)
		o.notch("side_half", 1, "side", "side_waist", long/2)
		m := geom.Scale(1, -1)
		if name == "front" {
			m = geom.RotateAbout(geom.Pt(0, 0), math.Pi)
		}
		b.put(o.done(m), "waist")
	}
	b.seam(pattern.Seam{Name: "side", Sew: refs("back", "side"), To: against("front", "side"), SmoothStart: true, SmoothEnd: true, Notches: meet("back", "front", "side_half")})
}

// arc is a circular arc by cubics of at most 30 degrees, within 1e-7 of its radius (T. Dokken and others,
// "Good approximation of circles by curvature-continuous Bézier curves", CAGD 7, 1990, for the handles
// (4/3) tan(θ/4)).
func arc(at func(radius, a float64) geom.Point, radius, a0, a1 float64) geom.Path {
	n := int(math.Ceil(math.Abs(a1-a0) / (math.Pi / 6)))
	step := (a1 - a0) / float64(n)
	h := 4.0 / 3 * math.Tan(step/4)
	var p geom.Path
	for i := range n {
		b0 := a0 + float64(i)*step
		b1 := b0 + step
		// The direction of travel is that of a quarter turn further on.
		d0 := at(radius, b0+math.Pi/2).Sub(at(0, 0)).Mul(h)
		d1 := at(radius, b1+math.Pi/2).Sub(at(0, 0)).Mul(h)
		p0, p1 := at(radius, b0), at(radius, b1)
		if i > 0 {
			p0 = p[i-1].P3
		}
		p = append(p, geom.Cubic(p0, p0.Add(d0), p1.Add(d1.Mul(-1)), p1))
	}
	return p
}
