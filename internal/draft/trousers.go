package draft

import (
	"math"

	"sizerun/internal/geom"
	"sizerun/internal/pattern"
)

// The trousers have straight legs about a crease, one dart in each piece, and a seat seam that leans in the
// back, so that there is length to sit down with. Front and back have the same side seam and the same inside
// leg: the height of the back waist and the drop of the back fork are found for that, not guessed.

func trousersDraft() Definition {
	return Definition{
		Name:     "trousers",
		Sentence: "Straight trousers with one dart in each front and back.",
		Measures: []Measure{
			{Name: "waist", Sentence: "Round the natural waist.", Min: 350, Max: 2000},
			{Name: "hip", Sentence: "Round the fullest part of the hip.", Min: 500, Max: 2200},
			{Name: "body_rise", Sentence: "Sitting on a flat chair: from the waist down the side to the seat.", Min: 170, Max: 480},
			{Name: "inside_leg", Sentence: "From the crotch down the inside of the leg to the floor.", Min: 400, Max: 1100},
			hipDepth(),
		},
		Ease: []Option{
			{Name: "waist", Sentence: "How much wider than the waist, in all.", Default: 10, Min: 0, Max: 200},
			// 25 to 50 mm in woven cloth (common practice).
			{Name: "hip", Sentence: "How much wider than the hip, in all.", Default: 40, Min: 0, Max: 400},
			{Name: "rise", Sentence: "How far the fork hangs below the body.", Default: 10, Min: 0, Max: 120},
			// 0.46 and 0.42 of the hip make a straight leg: 440 and 400 mm at a hip of 960 (common practice).
			{Name: "knee", Sentence: "How much wider the leg is at the knee than 0.46 of the hip.", Default: 0, Min: -80, Max: 500},
			{Name: "hem", Sentence: "How much wider the leg is at the hem than 0.42 of the hip.", Default: 0, Min: -150, Max: 600},
		},
		Lengths: []Option{
			{Name: "hem_up", Sentence: "How far the hem ends above the floor.", Default: 20, Min: 0, Max: 450},
		},
		Finished: []pattern.Finished{
			waistRow("waist_centre", "waist_side", "waist_centre", "waist_side"),
			{Name: "hip", Says: "Hip", Body: "hip", Terms: []pattern.Term{across("front", "side_hip", "centre_front", 2), across("back", "side_hip", "centre_back", 2)}},
			{Name: "inside_leg", Says: "Inside leg", Terms: []pattern.Term{{Edges: refs("front", "inside_leg"), Times: 1}}},
			{Name: "side_length", Says: "Side, waist to hem", Terms: []pattern.Term{{Edges: refs("front", "side"), Times: 1}}},
			hemRow("Leg, round the hem", 1, "front", "back"),
		},
		draw: trousers,
	}
}

// leg is one piece as it stands on its waist: y from the waist to the hem, the centre seam near x = 0, the
// side to the right, the fork to the left.
type leg struct {
	hip, fork    float64 // width at the hip line, and how far the fork goes beyond it
	crease       float64
	knee, hem    float64 // half widths about the crease
	centreIn     float64 // what the centre seam leans in up to the waist
	raise        float64 // of the waist at the centre
	drop         float64 // of the fork
	waist, dart  float64 // width of the waist, and of its dart
	dartLong     float64
	full         float64 // of the curve of the fork
	hipY, forkY  float64
	kneeY, hemY  float64
	hipAt        float64 // of the notch at the hip, along the side
	name, title  string
	centre, seat string // names of the centre edge and of the fork's corner
}

func trousers(b *board) {
	h, w := b.m("hip"), b.m("waist")
	quarter := (h + b.ease["hip"]) / 4
	waist := (w + b.ease["waist"]) / 4
	rise := b.m("body_rise") + b.ease["rise"]
	inside := b.m("inside_leg") - b.ease["rise"]
	// The knee lies 50 mm above the middle of the inside leg (common practice).
	kneeY := rise + inside/2 - 50
	hemY := rise + inside - b.lengths["hem_up"]
	knee, hem := (0.46*h+b.ease["knee"])/4, (0.42*h+b.ease["hem"])/4
	if !b.within("body_rise", "the length from hip line to fork", rise-b.m("waist_to_hip"), 15, 250, "check the body rise and the depth of the hip against each other") ||
		!b.within("inside_leg", "the leg below the knee", hemY-kneeY, 40, 900, "check the inside leg; end the hem nearer to the floor") {
		return
	}
	// The back is wider than the front by 10 mm at the hip, and by as much narrower at the waist; its leg
	// is 20 mm wider; its fork goes a tenth of the hip beyond the hip line, that of the front a twentieth
	// (common practice). The centre front leans in by 10 mm, the centre back by a fortieth of the hip.
	front := leg{name: "front", title: "Trouser front", centre: "centre_front", seat: "fork", hip: quarter - 5, fork: h / 20, knee: knee - 5, hem: hem - 5,
		centreIn: 10, waist: waist + 5, dartLong: 0.5 * b.m("waist_to_hip"), full: 0.62, hipY: b.m("waist_to_hip"), forkY: rise, kneeY: kneeY, hemY: hemY}
	front.crease = (front.hip - front.fork) / 2 // half-way between fork and side
	back := front
	back.name, back.title, back.centre = "back", "Trouser back", "centre_back"
	back.hip, back.fork, back.knee, back.hem = quarter+5, h/10, knee+5, hem+5
	back.centreIn, back.waist, back.dartLong, back.full = h/40, waist-5, 0.62*b.m("waist_to_hip"), 0.58
	// The back reaches a 60th of the hip further out from its crease at the side, the rest further in.
	back.crease = back.hip - (front.hip - front.crease) - (back.hip-front.hip)/2 - h/60
	for _, l := range []*leg{&front, &back} {
		// What is lost from hip to waist: half to the dart, the rest to the side. Where there is little
		// to lose the dart stays at 10 mm.
		loss := l.hip - l.centreIn - l.waist
		l.dart = math.Max(10, 0.48*loss)
		if !b.within("waist", "what the side of the "+l.name+" takes in from hip to waist", loss-l.dart, -70, 75, "check waist and hip against each other") ||
			!b.within("hip", "the fork's distance from the "+l.name+" crease", l.crease+l.fork-l.knee, 4, 400, "make the knee narrower") ||
			!b.within("hip", "the side's distance from the "+l.name+" crease", l.hip-l.crease-l.knee, -120, 400, "make the knee narrower") {
			return
		}
	}
	sideLength := front.side().Length()
	insideLength := front.inside().Length()
	var ok1, ok2 bool
	back.raise, ok1 = root(func(r float64) float64 { l := back; l.raise = r; return l.side().Length() - sideLength }, -60, 120, 1e-8)
	back.drop, ok2 = root(func(d float64) float64 { l := back; l.drop = d; return l.inside().Length() - insideLength }, -60, 120, 1e-8)
	if !ok1 || !ok2 {
		b.refuse("draft_range", "hip", "front and back can't be given equal seams", "", "check hip, body rise and inside leg against each other")
		return
	}
	// The notch lies on the front's hip line, in the back as far along the side as there.
	front.hipAt = front.side()[0].Length()
	back.hipAt = front.hipAt
	b.put(front.draw().done(geom.RotateAbout(geom.Pt(0, 0), math.Pi)), "hip")
	b.put(back.draw().done(geom.Scale(1, -1)), "hip")
	b.seam(pattern.Seam{Name: "side", Sew: refs("back", "side"), To: against("front", "side"), SmoothStart: true, SmoothEnd: true, Notches: meet("back", "front", "side_hip", "side_knee")})
	b.seam(pattern.Seam{Name: "inside_leg", Sew: refs("front", "inside_leg"), To: against("back", "inside_leg"), SmoothStart: true, SmoothEnd: true, Notches: meet("front", "back", "inside_knee")})
	b.seam(pattern.Seam{Name: "front_waist_dart", Sew: refs("front", "waist_dart_in"), To: against("front", "waist_dart_out"), SmoothStart: true})
	b.seam(pattern.Seam{Name: "back_waist_dart", Sew: refs("back", "waist_dart_out"), To: against("back", "waist_dart_in"), SmoothStart: true})
}

// waistTop is where the centre seam meets the waist; below it lies the hip line on x = 0.
func (l *leg) waistTop() geom.Point { return geom.Pt(l.centreIn, -l.raise) }

// lean is the direction of the centre seam, up to the waist.
func (l *leg) lean() geom.Vec { return l.waistTop().Sub(geom.Pt(0, l.hipY)).Unit() }

func (l *leg) line() waistline {
	w := waistline{from: l.waistTop(), t0: l.lean().Left(), darts: []wedge{{name: "waist_dart", at: 0.52 * (l.waist + l.dart), width: l.dart, length: l.dartLong}}}
	w.to = w.from.Add(w.t0.Mul(l.waist + l.dart))
	w.settle(geom.Pt(l.hip, 0.55*l.hipY))
	return w
}

// below is the straight leg from the knee to the hem, on the side (1) or the inside (-1) of the crease.
func (l *leg) below(side float64) (knee, hem geom.Point) {
	return geom.Pt(l.crease+side*l.knee, l.kneeY), geom.Pt(l.crease+side*l.hem, l.hemY)
}

// side runs from the waist over the hip, where it is upright, to the knee, and straight to the hem.
func (l *leg) side() geom.Path {
	w := l.line()
	hip := geom.Pt(l.hip, l.hipY)
	knee, hem := l.below(1)
	d := w.to.Dist(hip)
	return geom.Path{geom.Cubic(w.to, w.to.Add(w.t1.Left().Mul(0.33*d)), hip.Add(geom.Vec{Y: -0.45 * d}), hip)}.
		Join(curve(hip, up(), knee, hem.Sub(knee), 0.4, 0.35)).Join(geom.Path{geom.Line(knee, hem)})
}

// tip is the point of the fork.
func (l *leg) tip() geom.Point { return geom.Pt(-l.fork, l.forkY+l.drop) }

// inside runs from the hem straight to the knee and in a bow to the fork. The bow ends flatter than it
// begins: the less the inside leg leans there, the more level the fork is (common practice).
func (l *leg) inside() geom.Path {
	knee, hem := l.below(-1)
	leg := knee.Sub(hem).Unit()
	chord := l.tip().Sub(knee)
	return geom.Path{geom.Line(hem, knee)}.Join(curve(knee, leg, l.tip(), chord.Unit().Rotate(0.4*leg.AngleTo(chord)), 0.4, third))
}

func (l *leg) draw() *outline {
	o := newOutline(l.name, l.title, pattern.Cut{Count: 2, Pair: true, Cloth: "main"})
	w := l.line()
	tips := w.draw(o, "centre_waist", "side_waist")
	o.edge("side", "side_waist", "side_hem", l.side())
	kneeOut, hemOut := l.below(1)
	kneeIn, hemIn := l.below(-1)
	o.edge("hem", "side_hem", "inside_hem", curve(hemOut, hemOut.Sub(kneeOut).Unit().Left(), hemIn, kneeIn.Sub(hemIn).Unit().Right(), third, third))
	inside := l.inside()
	o.edge("inside_leg", "inside_hem", l.seat, inside)
	// The fork leaves the inside leg square, so that it runs on from front to back, and goes over into
	// the centre seam at the hip line.
	leave := inside.EndTangent().Left()
	hip := geom.Pt(0, l.hipY)
	tip := l.tip()
	lean := l.lean()
	// Where the two directions meet, ahead of both.
	k := hip.Sub(tip).Cross(lean) / leave.Cross(lean)
	meet := tip.Add(leave.Mul(k))
	o.edge(l.centre, l.seat, "centre_waist", geom.Path{
		geom.Cubic(tip, tip.Lerp(meet, l.full), hip.Lerp(meet, l.full), hip), geom.Line(hip, l.waistTop())})
	o.dotIn("waist_dart_point", tips[0])
	o.notch("side_hip", 1, "side", "side_waist", l.hipAt)
	o.notch("side_knee", 1, "side", "side_hem", hemOut.Dist(kneeOut))
	o.notch("inside_knee", 1, "inside_leg", "inside_hem", hemIn.Dist(kneeIn))
	o.piece.Lines = []pattern.InnerLine{{Name: "crease", Path: geom.Path{geom.Line(geom.Pt(l.crease, l.hipY), geom.Pt(l.crease, l.hemY-2))}}}
	o.grain(l.crease, l.forkY+0.1*(l.hemY-l.forkY), l.hemY-0.2*(l.hemY-l.forkY))
	o.align = geom.Pt(l.crease, l.forkY)
	return o
}
