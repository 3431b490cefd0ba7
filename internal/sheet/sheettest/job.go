package sheettest

import (
	"fmt"
	"math"

	"sizerun/internal/geom"
	"sizerun/internal/sheet"
)

// Typical is the job that benchmarks speak of: a dress with petal sleeves, eight pieces in
// twelve sizes, every kind of mark on it. The shapes are invented.
func Typical() sheet.Job { return Run(12) }

// Run is the typical job in n sizes.
func Run(n int) sheet.Job {
	j := sheet.Job{
		Title: "Wren dress, petal sleeve",
		Shop:  "Rookery Lane Patterns",
		Ref:   "wren-petal, engine 1",
		Notes: []string{
			"A seam allowance of 15.9 mm (5/8 in) is included, the hem has 30 mm.",
			"Curved sleeve edges have 12.7 mm (1/2 in) for a narrow hem turned twice.",
		},
	}
	for i := range n {
		j.Sizes = append(j.Sizes, fmt.Sprint(6+2*i))
	}
	j.Chart = sheet.Table{Title: "Body measurements, cm", Head: append([]string{""}, j.Sizes...)}
	j.Finished = sheet.Table{Title: "Finished garment, cm", Head: append([]string{""}, j.Sizes...)}
	for _, r := range []struct {
		name     string
		from, by float64
	}{{"bust", 78, 4}, {"waist", 60, 4}, {"hip", 85, 4}, {"upper arm", 25.4, 1.1}, {"height", 164, 0.6}} {
		row := []string{r.name}
		for i := range n {
			row = append(row, fmt.Sprintf("%.1f", r.from+r.by*float64(i)))
		}
		j.Chart.Rows = append(j.Chart.Rows, row)
	}
	for _, r := range []struct {
		name     string
		from, by float64
	}{{"bust", 88, 4}, {"hem", 112, 4}, {"back length", 92, 0.8}} {
		row := []string{r.name}
		for i := range n {
			row = append(row, fmt.Sprintf("%.1f", r.from+r.by*float64(i)))
		}
		j.Finished.Rows = append(j.Finished.Rows, row)
	}
	j.Cutting = sheet.Table{Title: "Cutting list", Head: []string{"piece", "cut", "cloth", "allowance"}}
	for _, p := range pieces() {
		pc := sheet.Piece{Name: p.name, Lines: []string{p.title, j.Title, p.cut + ", " + p.cloth, "sizes " + j.Sizes[0] + " to " + j.Sizes[n-1], "allowance included"}}
		for i := range n {
			pc.Sizes = append(pc.Sizes, p.draw(float64(i)))
		}
		j.Pieces = append(j.Pieces, pc)
		j.Cutting.Rows = append(j.Cutting.Rows, []string{p.title, p.cut, p.cloth, "15.9 mm"})
	}
	return j
}

type piece struct {
	name, title, cut, cloth string
	draw                    func(k float64) sheet.Drawn
}

// pieces lists the eight; k is the number of steps above the smallest size.
func pieces() []piece {
	return []piece{
		{"front", "Front", "cut 1 on the fold", "main cloth", func(k float64) sheet.Drawn { return body(k, 92, true) }},
		{"back", "Back", "cut 1 on the fold", "main cloth", func(k float64) sheet.Drawn { return body(k, 38, false) }},
		{"sleeve_back", "Sleeve, back half", "cut 2, a mirrored pair", "main cloth", func(k float64) sheet.Drawn { return petal(k, 1) }},
		{"sleeve_front", "Sleeve, front half", "cut 2, a mirrored pair", "main cloth", func(k float64) sheet.Drawn { return petal(k, -1) }},
		{"front_facing", "Front neck facing", "cut 1 on the fold", "main cloth", func(k float64) sheet.Drawn { return facing(k, 92) }},
		{"back_facing", "Back neck facing", "cut 1 on the fold", "main cloth", func(k float64) sheet.Drawn { return facing(k, 38) }},
		{"pocket", "Pocket bag", "cut 4, two mirrored pairs", "lining", pocket},
		{"tie", "Tie belt", "cut 2, same way", "main cloth", tie},
	}
}

// loop closes a chain of points; a pair of handles between two of them makes that stretch a curve.
type vertex struct {
	at     geom.Point
	h1, h2 *geom.Point // handles of the stretch that leaves this point
}

func loop(vs ...vertex) geom.Path {
	var p geom.Path
	for i, v := range vs {
		next := vs[(i+1)%len(vs)].at
		if v.h1 != nil {
			p = append(p, geom.Cubic(v.at, *v.h1, *v.h2, next))
		} else {
			p = append(p, geom.Line(v.at, next))
		}
	}
	return p
}

func v(x, y float64) vertex { return vertex{at: geom.Pt(x, y)} }
func c(x, y, ax, ay, bx, by float64) vertex {
	a, b := geom.Pt(ax, ay), geom.Pt(bx, by)
	return vertex{geom.Pt(x, y), &a, &b}
}

// notch is a short stroke across the path at arc length s, inward.
func notch(p geom.Path, s float64) geom.Path {
	at, t := p.PointAt(s), p.TangentAt(s)
	return geom.Polyline(at, at.Add(t.Left().Mul(8)))
}

// body is half a front or back on the fold, its origin at the waist on the fold. Neck is how deep
// the neckline lies below the shoulder.
func body(k, neck float64, front bool) sheet.Drawn {
	bust, hip, len1, len2 := 225+10*k, 315+12*k, 400+3*k, 700+1.5*k
	nw, sh := 78+1.5*k, 128+2.5*k
	arm := 205 + 4.5*k // depth of the armhole
	p := loop(
		v(0, -len2),
		v(hip, -len2+12),
		c(bust-12, 0, bust-12, 60, bust-4, 120),
		c(bust+8, len1-arm, bust-60, len1-arm+8, nw+sh-22, len1-arm+70),
		v(nw+sh, len1-42),
		c(nw, len1, nw-6, len1-neck*0.8, 30, len1-neck),
		v(0, len1-neck),
	)
	// The first stretch of the side seam is a curve from the hem to the waist.
	a, b := geom.Pt(hip-6, -300), geom.Pt(bust+10, -120)
	p[1] = geom.Cubic(p[1].P0, a, b, p[1].P3)
	fold := geom.Path{p[len(p)-1]}
	d := sheet.Drawn{
		Cut: p, Folds: []geom.Path{fold},
		Grain: [2]geom.Point{geom.Pt(60, -560), geom.Pt(60, 180)},
		Dots:  []geom.Point{geom.Pt(nw+2, len1-20)},
		Seam:  []geom.Path{inset(p, 15.9)},
	}
	armhole := p[:3].Length() + p[3].Length()*0.42
	d.Notches = append(d.Notches, notch(p, armhole))
	if !front {
		d.Notches = append(d.Notches, notch(p, armhole+9))
	} else {
		q := geom.Pt(bust*0.42, len1-arm-28)
		d.Inner = append(d.Inner, geom.Polyline(p.PointAt(p[:2].Length()+60), q, p.PointAt(p[:2].Length()+94)))
		d.Dots = append(d.Dots, q)
		d.Texts = append(d.Texts, sheet.Callout{At: q, S: "dart point"})
	}
	d.Notches = append(d.Notches, notch(p, p[0].Length()+p[1].Length()))
	d.Texts = append(d.Texts, sheet.Callout{At: geom.Pt(bust-12, 0), S: "waist"})
	return d
}

// petal is one half of a sleeve; side is +1 for the back half and -1 for the front half. The origin is the
// crown's level on the biceps line.
func petal(k float64, side float64) sheet.Drawn {
	w, cap, hem := 205+6*k, 150+3*k, 540+2*k
	p := loop(
		v(-w+18, -hem),
		c(w-70, -hem+4, w-20, -hem+60, w*0.62, 20),
		c(w*0.45, cap*0.74, w*0.3, cap*0.93, w*0.16, cap),
		c(0, cap, -w*0.42, cap, -w*0.6, 12),
		v(-w, 0),
	)
	mirror := side < 0
	var m geom.Affine
	if mirror {
		m = geom.MirrorAbout(geom.Pt(0, 0), geom.Vec{Y: 1})
		p = p.Transform(m).Reverse()
	}
	at := func(x, y float64) geom.Point {
		if mirror {
			return geom.Pt(-x, y)
		}
		return geom.Pt(x, y)
	}
	d := sheet.Drawn{
		Cut: p, Seam: []geom.Path{inset(p, 15.9)},
		Grain:   [2]geom.Point{at(-30, -hem+40), at(-30, cap-60)},
		Dots:    []geom.Point{at(0, cap-15.9)},
		Squares: []sheet.Square{{At: at(w*0.30, cap-34), Dir: geom.Vec{X: 1}}, {At: at(-w*0.12, cap-22), Dir: geom.Vec{X: 1, Y: 0.1}}},
		Texts:   []sheet.Callout{{At: at(0, cap-15.9), S: "crown"}},
	}
	s, _ := p.Project(at(-w*0.62, cap*0.45))
	d.Notches = append(d.Notches, notch(p, s))
	if side > 0 {
		d.Notches = append(d.Notches, notch(p, s+8))
	}
	return d
}

// facing follows the neck, 60 mm wide, on the fold.
func facing(k, neck float64) sheet.Drawn {
	nw, w := 78+1.5*k, 60.0
	p := loop(
		c(0, -neck-w, 46+k, -neck-w, nw+40, -neck*0.7-20),
		v(nw+58, -18),
		c(nw, 0, nw-6, -neck*0.8, 30, -neck),
		v(0, -neck),
	)
	return sheet.Drawn{
		Cut: p, Folds: []geom.Path{{p[len(p)-1]}}, Seam: []geom.Path{inset(p, 10)},
		Grain:   [2]geom.Point{geom.Pt(14, -neck-w+8), geom.Pt(14, -neck-8)},
		Notches: []geom.Path{notch(p, p[:2].Length()+p[2].Length()/2)},
	}
}

func pocket(k float64) sheet.Drawn {
	g := k * 1.2
	p := loop(
		c(0, -120-g, 60, -135-g, 120+g, -130-g),
		c(150+g, -60, 158+g, 20, 120, 80+g),
		c(60, 90+g, 40, 92+g, 20, 90+g),
		v(0, 90+g),
	)
	d := sheet.Drawn{Cut: p, Grain: [2]geom.Point{geom.Pt(60, -90), geom.Pt(60, 50)}, Seam: []geom.Path{inset(p, 10)}}
	d.Notches = []geom.Path{notch(p, p[:3].Length()+p[3].Length()+60), notch(p, p[:3].Length()+p[3].Length()+200-10)}
	return d
}

// tie is a long narrow strip: its label has to be turned or made small.
func tie(k float64) sheet.Drawn {
	l := 860 + 14*k
	p := loop(v(0, 0), v(70, 0), v(70, l-40), v(35, l), v(0, l-40))
	return sheet.Drawn{
		Cut: p, Grain: [2]geom.Point{geom.Pt(20, 120), geom.Pt(20, 620)}, Seam: []geom.Path{inset(p, 10)},
		Notches: []geom.Path{notch(p, 70+l/3)},
	}
}

// inset is a rough inner line for the fixture: the points moved towards the inside along the normal
// of a dense sampling. True parallels belong to the offset package.
func inset(p geom.Path, d float64) geom.Path {
	n := int(math.Max(12, p.Length()/40))
	var pts []geom.Point
	for i := range n {
		s := (float64(i) + 0.5) / float64(n) * p.Length()
		pts = append(pts, p.PointAt(s).Add(p.TangentAt(s).Left().Mul(d)))
	}
	pts = append(pts, pts[0])
	return geom.Polyline(pts...)
}
