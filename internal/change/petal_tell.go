package change

import (
	"fmt"
	"math"

	"sizerun/internal/geom"
	"sizerun/internal/inspect"
	"sizerun/internal/pattern"
)

// What the petal sleeve promises, how it is sewn, and how it is drawn by hand.

// promises measures the halves that were made, not what they were meant to be.
func (a *petalArgs) promises(w *work, plain, b, f *pattern.Piece, hb, hf half) {
	off, why := laidTogether(plain, b, f, a.Crown)
	w.promise(inspect.Check{Rule: "petal_together", Piece: plain.Name, Place: "cap", Measured: off, Tolerance: 0.1, Unit: inspect.MM,
		Text: fmt.Sprintf("Laid together by crown dot and match marks, the halves of %s give back its plain cap to %.3f mm%s.", plain.Name, off, why)})
	for _, q := range []*pattern.Piece{b, f} {
		h, hem := hb, 0
		if q == f {
			h = hf
		}
		hem = q.EdgeNamed(a.Hem)
		line := q.Edges[q.EdgeNamed(h.edge)].Path
		top, low := line.EndTangent().Neg(), line.StartTangent() // of the back half, walked from the hem up
		into := q.Edges[hem].Path.EndTangent()
		if q == f {
			top, low = line.StartTangent(), line.EndTangent()
			into = q.Edges[hem].Path.StartTangent()
		}
		w.promise(inspect.Check{Rule: "petal_leaves_cap", Piece: q.Name, Place: h.edge, Measured: degrees(top, down(plain, crownOf(plain, a.Crown))), Tolerance: 1, Unit: inspect.Degrees,
			Text: fmt.Sprintf("The curve of %s leaves the cap straight down the grain.", q.Name)})
		w.promise(inspect.Check{Rule: "petal_meets_hem", Piece: q.Name, Place: h.edge, Measured: degrees(low, into), Tolerance: 1, Unit: inspect.Degrees,
			Text: fmt.Sprintf("The curve of %s runs into the hem without a corner.", q.Name)})
		want := pattern.Range{}
		if a.Inflection {
			want.Max = 4
		}
		w.promise(inspect.Check{Rule: "petal_bends", Piece: q.Name, Place: h.edge, Measured: float64(inflections(line)), Want: want, Unit: inspect.Count,
			Text: fmt.Sprintf("The curve of %s bends one way only, unless asked otherwise.", q.Name)})
		w.promise(inspect.Check{Rule: "petal_hem_stub", Piece: q.Name, Place: a.Hem, Measured: q.Edges[hem].Path.Length(), Want: pattern.Range{Min: h.hemIn, Max: h.hemIn}, Tolerance: 0.1, Unit: inspect.MM,
			Text: fmt.Sprintf("The curve of %s runs into the hem %.1f mm from its underarm.", q.Name, h.hemIn)})
		has := 0.0
		if m := q.MarkNamed(a.Crown); m != nil {
			has = 1
		}
		w.promise(inspect.Check{Rule: "petal_crown", Piece: q.Name, Place: a.Crown, Measured: has, Want: pattern.Range{Min: 1, Max: 1}, Unit: inspect.Count,
			Text: fmt.Sprintf("%s carries the crown dot.", q.Name)})
	}
}

func crownOf(q *pattern.Piece, name string) geom.Point {
	_, _, at, err := q.Find(pattern.Place{Point: name})
	if err != nil {
		return q.Align
	}
	return at
}

// laidTogether lays the halves onto the plain sleeve by the marks that all three share, and measures
// how far their caps lie off the plain cap, theirs from its and its from theirs, and how far the marks
// miss. Only marks and curves are used, no knowledge of how the halves were made.
func laidTogether(plain, b, f *pattern.Piece, crown string) (off float64, why string) {
	isCap := map[string]bool{}
	for i := range plain.Edges {
		if e := plain.Edges[i].Name; b.EdgeNamed(e) >= 0 && f.EdgeNamed(e) >= 0 && touchesCap(plain, i, crown) {
			isCap[e] = true
		}
	}
	var whole geom.Path
	for i := range plain.Edges {
		if isCap[plain.Edges[i].Name] {
			whole = append(whole, plain.Edges[i].Path...)
		}
	}
	var halves [2]geom.Path
	for k, q := range []*pattern.Piece{b, f} {
		var from, to []geom.Point
		for _, m := range q.Marks {
			if p := plain.MarkNamed(m.Name); p != nil && (m.Match != "" || m.Name == crown) {
				from, to = append(from, m.At), append(to, p.At)
			}
		}
		if len(from) < 3 {
			return 999, fmt.Sprintf(", but %s has only %d marks to lay it by", q.Name, len(from))
		}
		lay := rigid(from, to)
		for i := range from {
			off = max(off, lay.Apply(from[i]).Dist(to[i]))
		}
		for i := range q.Edges {
			if isCap[q.Edges[i].Name] {
				halves[k] = append(halves[k], q.Edges[i].Path.Transform(lay)...)
			}
		}
	}
	onto := func(x *geom.Index, q geom.Point) float64 {
		if d := x.Distance(q, 1); !math.IsInf(d, 1) {
			return d
		}
		return x.Distance(q, math.Inf(1))
	}
	plainCap, back, front := whole.Index(), halves[0].Index(), halves[1].Index()
	for _, h := range halves {
		for _, s := range h {
			for i := range 13 {
				off = max(off, onto(plainCap, s.At(float64(i)/12)))
			}
		}
	}
	for _, s := range whole {
		for i := range 25 {
			q := s.At(float64(i) / 24)
			if d := onto(back, q); d > off { // what lies on one half need not lie on the other
				off = max(off, min(d, onto(front, q)))
			}
		}
	}
	return off, ""
}

// touchesCap: the edge is a cap edge when the cap's marks or its crown lie on it.
func touchesCap(p *pattern.Piece, i int, crown string) bool {
	if touches(p, crown, p.Edges[i].Name) {
		return true
	}
	for _, m := range p.Marks {
		if m.Edge == p.Edges[i].Name && m.Match != "" {
			return true
		}
	}
	return false
}

// rigid is the motion without stretching that brings points nearest to others (least squares).
func rigid(from, to []geom.Point) geom.Affine {
	var cf, ct geom.Vec
	n := float64(len(from))
	for i := range from {
		cf, ct = cf.Add(from[i].Sub(geom.Point{})), ct.Add(to[i].Sub(geom.Point{}))
	}
	cf, ct = cf.Mul(1/n), ct.Mul(1/n)
	dot, cross := 0.0, 0.0
	for i := range from {
		a, b := from[i].Sub(geom.Point{}).Sub(cf), to[i].Sub(geom.Point{}).Sub(ct)
		dot += a.Dot(b)
		cross += a.Cross(b)
	}
	return geom.Translate(cf.Neg()).Then(geom.RotateAbout(geom.Point{}, math.Atan2(cross, dot))).Then(geom.Translate(ct))
}

// steps are TRADE 4.1's, with this size's amounts. Both sleeves are sewn alike.
func (a *petalArgs) steps(w *work, b, f *pattern.Piece, hb, hf half) {
	const (
		seam  = 15.9 // 5/8 in: the ease rows and the underarm seam of a home pattern
		row   = 9.5  // 3/8 in
		baste = 12.7 // 1/2 in
	)
	top, under := b, f
	if a.Top == "front" {
		top, under = f, b
	}
	names := []string{b.Name, f.Name}
	turn := a.Narrow / 2
	add := func(st Stage, amounts []Amount, format string, args ...any) {
		w.res.Steps = append(w.res.Steps, Step{Stage: st, Pieces: names, Whole: true, Text: fmt.Sprintf(format, args...), Amounts: amounts})
	}
	lb, lf := b.Edges[b.EdgeNamed(hb.edge)].Path.Length(), f.Edges[f.EdgeNamed(hf.edge)].Path.Length()
	stop := 2 * pattern.Inch
	add(Prepare, []Amount{{"turn", turn}, {"narrow hem", a.Narrow}, {"stop before underarm seam", stop}, {"curve of " + b.Name, lb}, {"curve of " + f.Name, lf}},
		"Narrow hem on the curved edges of %s (%.0f mm) and %s (%.0f mm): turn under %s, then %s again, press, and stitch from the cap to about %s from the underarm seam. Leave the rest open.",
		b.Name, lb, f.Name, lf, say(turn), say(turn), say(stop))
	add(Prepare, []Amount{{"baste", baste}}, "Lay %s over %s, right sides up, crown dot on crown dot and match mark on match mark, and baste the overlap along the cap %s from the raw edge.", top.Name, under.Name, say(baste))
	add(Prepare, []Amount{{"first row", seam}, {"second row", row}}, "Sew two rows of ease stitches along the cap from notch to notch, %s and %s from the raw edge.", say(seam), say(row))
	add(Join, []Amount{{"underarm seam", seam}}, "Right sides together, sew the underarm seam %s from the edge, "+NeatenOpen+".", say(seam))
	add(Join, []Amount{{"turn", turn}}, "Finish the narrow hem across the underarm seam: turn %s twice and stitch what was left open.", say(turn))
	add(SetIn, nil, "Set in the sleeve, right sides together: crown dot to shoulder seam, dots to dots, notches to notches, underarm seam to side seam. Draw up the ease stitches until the cap lies in the armhole without a pucker, baste, and stitch. Sew both sleeves.")
}

// drawing redoes the change by hand, first the back half, then the front.
func (a *petalArgs) drawing(w *work, plain, b, f *pattern.Piece, hb, hf half) {
	l := plan{d: Drawing{Title: "Petal sleeve, size " + w.p.Size}}
	l.line(Outline, plain.Name, plain.Outline(), plain.Name)
	l.step("Copy the plain sleeve with its crown dot and the marks of both halves of the cap.")
	crown := l.point(crownOf(plain, a.Crown), "crown dot")
	c, cerr := (&work{}).spotOf("", plain, pattern.Place{Point: a.Crown})
	hem := plain.Edges[plain.EdgeNamed(a.Hem)].Path
	for _, h := range []half{hb, hf} {
		q, other, dir, under, hemAt := b, "front", -1.0, hem.Start(), h.hemIn
		if h.side == "front" {
			q, other, dir, under, hemAt = f, "back", 1.0, hem.End(), hem.Length()-h.hemIn
		}
		line := h.cut.path
		l.step("%s half: on the %s cap go %s from the crown along the cap%s; this is where the curve begins.", title(h.side), other, say(h.along), shareOf(h, other))
		if m := plain.MarkNamed(h.mark); m != nil {
			n := l.point(m.At, m.Name)
			if cerr == nil {
				l.measure(crown, n, stretch(plain, c, dir*h.whole), "crown to "+m.Name)
			}
		}
		top := l.point(line.Start(), other+" cap point")
		if cerr == nil {
			l.measure(crown, top, stretch(plain, c, dir*h.along), "crown to cap point")
		}
		l.step("On the hem go in %s from the %s underarm.", say(h.hemIn), h.side)
		u := l.point(under, h.side+" underarm at the hem")
		low := l.point(hem.PointAt(hemAt), h.side+" hem point")
		var along geom.Path
		if h.side == "back" {
			along = hem.Sub(0, h.hemIn)
		} else {
			along = hem.Sub(hem.Length()-h.hemIn, hem.Length())
		}
		l.measure(u, low, along, "underarm to hem point")
		l.step("Join the two by a smooth curve that leaves the cap straight down and runs into the hem; keep what lies on the %s side of it.", h.side)
		reach := line.Length() / 3
		l.line(Construction, plain.Name, geom.Polyline(line.Start(), line.Start().Add(line.StartTangent().Mul(reach))), "straight down")
		l.line(Construction, plain.Name, geom.Polyline(line.End(), line.End().Add(line.EndTangent().Mul(-reach))), "along the hem")
		l.line(New, q.Name, line, h.edge)
		l.measure(top, low, line, "curve")
	}
	if in, out := hb.hemIn, hem.Length()-hf.hemIn; out-in > pattern.Near {
		l.line(CutAway, plain.Name, hem.Sub(in, out), "falls away, with what lies between the two curves")
	}
	l.step("Mark the overlap %s from each of its ends, on both halves, and trace the halves apart: cut each twice, as a mirrored pair. The %s half lies on top.", say(a.MatchIn), a.Top)
	for _, m := range plain.Marks {
		if m.Match != "" {
			l.point(m.At, m.Name)
		}
	}
	w.res.Drawing = l.d
}

func shareOf(h half, other string) string {
	if h.whole <= 0 || h.mark == "" {
		return ""
	}
	share := h.along / h.whole
	for _, w := range []struct {
		share float64
		say   string
	}{{0.25, "a quarter"}, {1.0 / 3, "a third"}, {0.5, "half"}, {2.0 / 3, "two thirds"}, {0.75, "three quarters"}} {
		if math.Abs(share-w.share) < 0.005 {
			return fmt.Sprintf(", %s of the way to the %s mark", w.say, other)
		}
	}
	return fmt.Sprintf(", %.0f %% of the way to the %s mark", 100*share, other)
}

func title(s string) string {
	if s == "" {
		return s
	}
	return string(s[0]-'a'+'A') + s[1:]
}

// stretch is the outline from a spot onwards by d, or backwards when d is negative, from the spot.
func stretch(p *pattern.Piece, from spot, d float64) geom.Path {
	l := p.Length()
	at := from.outlinePos(p)
	if d < 0 {
		return stretch(p, spotAt(p, at+d), -d).Reverse()
	}
	out := p.Outline()
	start := math.Mod(at+l, l)
	if start+d <= l {
		return out.Sub(start, start+d)
	}
	return out.Sub(start, l).Join(out.Sub(0, start+d-l))
}
