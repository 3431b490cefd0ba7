package draft

import (
	"fmt"
	"math"

	"sizerun/internal/geom"
	"sizerun/internal/pattern"
)

// The bodice reaches to the natural waist, fits with one bust dart from the side and one waist dart
// in front and one in the back, and carries a set-in sleeve.
//
// Its frame, common practice throughout: the waist is y = 0; the nape lies a back length above it and
// the underarm a scye depth (and ease) below the nape; each quarter takes a quarter of the bust.

func bodiceDraft() Definition {
	return Definition{
		Name:     "bodice",
		Sentence: "A close bodice to the waist with bust and waist darts, and a set-in sleeve that fits its armhole.",
		Measures: []Measure{
			{Name: "bust", Sentence: "Round the fullest part of the bust.", Min: 500, Max: 2000},
			{Name: "waist", Sentence: "Round the natural waist.", Min: 350, Max: 2000},
			{Name: "neck", Sentence: "Round the base of the neck.", Min: 200, Max: 700},
			{Name: "shoulder", Sentence: "Along one shoulder, from the neck to the arm.", Min: 60, Max: 220},
			{Name: "nape_to_waist", Sentence: "From the nape down the back to the waist.", Min: 220, Max: 650},
			{Name: "scye_depth", Sentence: "From the nape down the back to the level of the underarm.", Min: 110, Max: 380},
			{Name: "upper_arm", Sentence: "Round the upper arm at its fullest.", Min: 120, Max: 800},
			// The guesses are straight lines through what charts of women's sizes give at bust 800
			// and 1040 (from memory); the increments agree with the bodies of ANSUR II (2012, public
			// domain): 9 mm of back width to 40 mm of bust.
			{Name: "back_width", Sentence: "Across the back, arm to arm, midway between shoulder and underarm.", Min: 180, Max: 800,
				Guess: func(m map[string]float64) float64 { return m["bust"]/4 + 124 }, Rule: "a quarter of the bust, and 124 mm"},
			{Name: "chest_width", Sentence: "Across the chest, arm to arm, midway between shoulder and underarm.", Min: 160, Max: 850,
				Guess: func(m map[string]float64) float64 { return 0.27*m["bust"] + 83 }, Rule: "0.27 of the bust, and 83 mm"},
			{Name: "bust_span", Sentence: "From bust point to bust point.", Min: 80, Max: 420,
				Guess: func(m map[string]float64) float64 { return m["bust"]/5 + 8 }, Rule: "a fifth of the bust, and 8 mm"},
			{Name: "bust_depth", Sentence: "From the neck, where the shoulder begins, down to the bust point.", Min: 130, Max: 520,
				Guess: func(m map[string]float64) float64 { return m["scye_depth"]*1.15 + 25 }, Rule: "1.15 of the scye depth, and 25 mm"},
			// What the front is longer than the back is the take-up of the bust dart at the side:
			// 25 to 45 mm for most (common practice), growing with the bust.
			{Name: "front_waist", Sentence: "From the neck, where the shoulder begins, over the bust point to the waist.", Min: 240, Max: 800,
				Guess: func(m map[string]float64) float64 { return backLength(m) + m["bust"]/28 }, Rule: "the back from the same point, and a 28th of the bust"},
		},
		Ease: []Option{
			// Wearing ease 1½ to 2 in at the bust, ¾ to 1 in at the waist: a university's costume
			// text (CWU), chapter 16.
			{Name: "bust", Sentence: "How much wider than the bust, in all.", Default: 50, Min: 0, Max: 400},
			{Name: "waist", Sentence: "How much wider than the waist, in all.", Default: 25, Min: 0, Max: 400},
			{Name: "neck", Sentence: "How much longer the neckline is than the neck.", Default: 10, Min: 0, Max: 100},
			{Name: "back_width", Sentence: "How much wider than the back between the arms.", Default: 10, Min: 0, Max: 100},
			{Name: "chest_width", Sentence: "How much wider than the chest between the arms.", Default: 6, Min: 0, Max: 100},
			{Name: "armhole", Sentence: "How far the underarm lies below the scye depth.", Default: 0, Min: -20, Max: 100},
			// At least 2 in over the arm: Threads, 27 September 2021.
			{Name: "upper_arm", Sentence: "How much wider the sleeve is than the arm.", Default: 52, Min: 15, Max: 300},
			// 12 to 40 mm in all, more at the back: common practice.
			{Name: "cap_front", Sentence: "How much longer the front of the cap is than the front armhole.", Default: 9, Min: -5, Max: 40},
			{Name: "cap_back", Sentence: "How much longer the back of the cap is than the back armhole.", Default: 13, Min: -5, Max: 40},
		},
		Lengths: []Option{
			{Name: "sleeve_underarm", Sentence: "The underarm seam of the sleeve.", Default: 95, Min: 20, Max: 700},
			{Name: "sleeve_taper", Sentence: "How much each side of the sleeve comes in at its hem.", Default: 12, Min: -150, Max: 150},
		},
		Finished: []pattern.Finished{
			{Name: "bust", Says: "Bust, under the arm", Body: "bust", Terms: []pattern.Term{across("front", "underarm", "centre_front", 2), across("back", "underarm", "centre_back", 2)}},
			waistRow("waist_centre", "waist_side", "waist_centre", "waist_side"),
			{Name: "biceps", Says: "Sleeve, round the upper arm", Body: "upper_arm", Terms: []pattern.Term{armRow()}},
			{Name: "back_length", Says: "Centre back, neck to waist", Terms: []pattern.Term{{Edges: refs("back", "centre_back"), Times: 1}}},
			crownRow(),
			{Name: "sleeve_hem", Says: "Sleeve, round the hem", Terms: []pattern.Term{{Edges: refs("sleeve", "hem"), Outer: true, Times: 1}}},
		},
		draw: bodice,
	}
}

// The slopes of the shoulder: about 23 degrees on the body; the seam lies a little to the front, so the
// back slopes less and the front more (common practice).
const (
	slopeBack  = 21.0
	slopeFront = 25.0
)

// neckTurn is by how many degrees the neckline meets the shoulder less steeply in the back, and more so in
// front, than square: so it runs on across the seam, upright in front, and the back neck is no tight hook
// (common practice).
const neckTurn = 25.0

// The directions in which the neckline leaves the shoulder.
func neckBack() geom.Vec  { return at(180 - slopeBack + 90 - neckTurn) }
func neckFront() geom.Vec { return at(180 - slopeFront + 90 + neckTurn) }

// neckWidth is where the shoulder begins: a fifth of the neck from the centre (common practice; a
// circle of that girth has a radius of 0.16, and the neck is wider than it is deep).
func neckWidth(m map[string]float64) float64 { return m["neck"] / 5 }

// neckRise is how far that lies above the nape: a quarter of the width, 15 to 20 mm (common practice).
func neckRise(m map[string]float64) float64 { return neckWidth(m) / 4 }

// backLength is the back from where the shoulder begins to the waist.
func backLength(m map[string]float64) float64 { return m["nape_to_waist"] + neckRise(m) }

// frame is what both halves of the bodice have in common.
type frame struct {
	underarm float64 // above the waist, in the back
	quarter  float64 // half the front, and half the back, at the underarm
	dart     float64 // width of each waist dart
	side     float64 // what each side seam takes in at the waist
	shoulder float64
}

func bodice(b *board) {
	f := frame{
		underarm: b.m("nape_to_waist") - b.m("scye_depth") - b.ease["armhole"],
		// Each half takes a quarter (common practice): the armhole then reaches about as far into the
		// front as the chest is narrower than the back, and the crown of the sleeve stays near its middle.
		quarter: (b.m("bust") + b.ease["bust"]) / 4,
	}
	// Three fifths of what each quarter loses to the waist is taken by its dart, the rest by the
	// side (common practice: the dart takes more, for a side seam past 20 to 30 mm pulls). A waist
	// as wide as the bust still has darts of 12 mm, so that each size has the same edges, and the
	// side flares instead.
	loss := (b.m("bust") + b.ease["bust"] - b.m("waist") - b.ease["waist"]) / 4
	f.dart = math.Max(leastDart, 0.6*loss)
	f.side = loss - f.dart
	if !b.within("nape_to_waist", "the side seam", f.underarm, 60, 420, "check back length and scye depth against each other") ||
		!b.within("waist", "what the side seam takes in at the waist", f.side, -70, 50, "check bust and waist against each other") ||
		!b.within("waist", "each waist dart", f.dart, leastDart, 65, "check bust and waist against each other") {
		return
	}
	f.shoulder = b.shoulder(f.underarm)
	if !b.within("shoulder", "what the shoulder falls short of the width between the arms", f.shoulder-b.m("shoulder"), 0, 20, "check the shoulder, the neck, the back width and the chest width against each other") {
		return
	}
	back := b.back(f)
	if b.failed() {
		return
	}
	front := b.front(f, back.length("side"))
	if b.failed() {
		return
	}
	armB, armF := back.length("armhole"), front.length("armhole")
	// Notches at two fifths of the armhole from the underarm, where it turns from level to upright
	// (common practice); dots half-way from there to the shoulder.
	nb, nf := 0.4*armB, 0.4*armF
	back.notch("back_notch", 2, "armhole", "underarm", nb)
	front.notch("front_notch", 1, "armhole", "underarm", nf)
	db, df := 0.3*armB, 0.3*armF
	back.dotOn("back_dot", "armhole", "shoulder", db)
	front.dotOn("front_dot", "armhole", "shoulder", df)
	b.put(front.done(geom.Scale(-1, 1)), "bust")
	b.put(back.done(geom.Identity()), "bust")
	b.seam(pattern.Seam{Name: "shoulder", Sew: refs("front", "shoulder"), To: against("back", "shoulder"), SmoothStart: true, SmoothEnd: true})
	b.seam(pattern.Seam{Name: "side", Sew: refs("front", "side_upper", "side_lower"), To: against("back", "side"), SmoothStart: true, SmoothEnd: true})
	b.seam(pattern.Seam{Name: "bust_dart", Sew: refs("front", "bust_dart_upper"), To: against("front", "bust_dart_lower"), SmoothStart: true})
	b.seam(pattern.Seam{Name: "front_waist_dart", Sew: refs("front", "waist_dart_out"), To: against("front", "waist_dart_in"), SmoothStart: true})
	b.seam(pattern.Seam{Name: "back_waist_dart", Sew: refs("back", "waist_dart_in"), To: against("back", "waist_dart_out"), SmoothStart: true})
	b.sleeve(armhole{length: armF, notch: nf, dot: df}, armhole{length: armB, notch: nb, dot: db})
}

// leastDart keeps a dart a dart: less than 12 mm is eased in and not sewn (common practice).
const leastDart = 12.0

// back is drawn counter-clockwise from the centre of the waist.
func (b *board) back(f frame) *outline {
	m := b.body
	o := newOutline("back", "Back", pattern.Cut{Count: 1, Cloth: "main"})
	neck := geom.Pt(neckWidth(m), backLength(m))
	slope := at(180 - slopeBack) // along the shoulder, towards the neck
	tip := neck.Add(slope.Mul(-f.shoulder))
	underarm := geom.Pt(f.quarter, f.underarm)
	pitch := b.pitch("back_width", tip, underarm, 0.5)
	if !b.armholeRoom("back_width", "back", tip, underarm, pitch) {
		return o
	}
	// The dart stands half-way between the centre and the side, and ends 20 mm below the underarm,
	// under the blade (common practice).
	mouth := f.quarter - f.side
	w := waistline{to: geom.Pt(mouth, 0), t0: out(),
		darts: []wedge{{name: "waist_dart", at: 0.48 * mouth, width: f.dart, length: f.underarm - 20}}}
	w.settle(underarm)
	tips := w.draw(o, "centre_waist", "side_waist")
	side := underarm.Sub(w.to).Unit()
	o.line("side", "side_waist", "underarm", w.to, underarm)
	o.edge("armhole", "underarm", "shoulder", armholeCurve(underarm, side.Left(), pitch, tip, slope.Right(), 0.55))
	o.line("shoulder", "shoulder", "neck", tip, neck)
	nape := geom.Pt(0, m["nape_to_waist"])
	o.edge("neck", "neck", "centre_neck", neckCurve(neck, neckBack(), nape))
	o.line("centre_back", "centre_neck", "centre_waist", nape, w.from).fold()
	o.dotIn("waist_dart_point", tips[0])
	o.grain(0.3*mouth, 0.15*nape.Y, 0.75*nape.Y)
	return o
}

// neckCurve runs from the shoulder, which it leaves along leave, to the centre, square to that. Its handles
// reach 0.6 of the way to where the two directions meet: a little fuller than the quarter of an ellipse
// (0.55), for a neck is flat at the centre (common practice).
func neckCurve(neck geom.Point, leave geom.Vec, centre geom.Point) geom.Path {
	const full = 0.6
	toMeet := (neck.Y - centre.Y) / -leave.Y
	meet := neck.Add(leave.Mul(toMeet))
	return geom.Path{geom.Cubic(neck, neck.Lerp(meet, full), centre.Lerp(meet, full), centre)}
}

// standOut is how far the shoulder must reach beyond the place where the armhole is upright, as a share of
// the height between the two, for the armhole to meet the shoulder square without a hook.
const standOut = 0.11

// shoulder is the length of both shoulder seams: as measured, or a little longer where the widths between
// the arms, without ease, ask for it.
func (b *board) shoulder(underarm float64) float64 {
	m := b.body
	long := m["shoulder"]
	for _, h := range []struct {
		slope, neck, height float64
		width               string
	}{{slopeBack, neckWidth(m), backLength(m) - underarm, "back_width"}, {slopeFront, neckWidth(m) - 2, backLength(m) - underarm, "chest_width"}} {
		s, c := math.Sincos(degrees(h.slope))
		// The tip lies at (neck + long·c, height - long·s) over the underarm.
		long = math.Max(long, (m[h.width]/2+standOut/2*h.height-h.neck)/(c+standOut/2*s))
	}
	return long
}

// pitch is where the armhole is upright: at the width between the arms and its ease, a share of the way up
// from the underarm. Where the shoulder does not stand out enough some of the ease is given up.
func (b *board) pitch(width string, tip, underarm geom.Point, share float64) geom.Point {
	body := b.m(width) / 2
	height := tip.Y - underarm.Y
	x := math.Max(body, math.Min(body+b.ease[width]/2, tip.X-standOut*(1-share)*height))
	return geom.Pt(x, underarm.Y+share*height)
}

// armholeRoom refuses widths between which no armhole can be drawn.
func (b *board) armholeRoom(width, half string, tip, underarm, pitch geom.Point) bool {
	return b.within("scye_depth", "the "+half+" armhole's height", tip.Y-underarm.Y, 90, 400, "check the scye depth and the shoulder") &&
		b.within(width, "the armhole's reach under the arm, in the "+half+",", underarm.X-pitch.X, 15, 260, "check the "+width+" against the bust") &&
		b.within("shoulder", "what the "+half+" shoulder stands out over the width between the arms", tip.X-pitch.X, 1, 90, "check the shoulder, the neck and the "+width+" against each other")
}

// armholeCurve runs from the underarm, square to the side, over a hollow to the place at the width between
// the arms, where it is upright, and on to the shoulder, square to that. It turns one way only. hollow is
// how far its lower handles reach into the corner: 0.55 is the quarter of an ellipse; the front is scooped
// more than the back, for the arm moves forward (common practice).
func armholeCurve(underarm geom.Point, leave geom.Vec, pitch, tip geom.Point, arrive geom.Vec, hollow float64) geom.Path {
	meet := underarm.Add(leave.Mul((pitch.X - underarm.X) / leave.X))
	lower := geom.Cubic(underarm, underarm.Lerp(meet, hollow), pitch.Lerp(meet, hollow), pitch)
	rise := tip.Y - pitch.Y
	// Near the shoulder the curve swings out to meet it square, in the last stretch: with a handle
	// longer than this it would first have to swing in.
	stand := tip.X - pitch.X
	swing := math.Min(third*rise, 0.85*stand/arrive.X)
	// And where it stands out much, a long upright beginning would make it swing out too far and back.
	upright := math.Max(0.1, math.Min(0.4, 0.95-stand*arrive.Y/(arrive.X*rise)))
	upper := geom.Cubic(pitch, pitch.Add(up().Mul(upright*rise)), tip.Add(arrive.Mul(-swing)), tip)
	return geom.Path{lower, upper}
}

// front is drawn like the back; side is the length that its side seam must have.
func (b *board) front(f frame, side float64) *outline {
	m := b.body
	o := newOutline("front", "Front", pattern.Cut{Count: 1, Cloth: "main"})
	// The front neck is 2 mm narrower: the neck leans forward (common practice).
	neck := geom.Pt(neckWidth(m)-2, m["front_waist"])
	slope := at(180 - slopeFront)
	tip := neck.Add(slope.Mul(-f.shoulder))
	// What the front is longer than the back, the bust dart takes up at the side.
	take := m["front_waist"] - backLength(m)
	if !b.within("front_waist", "the take-up of the bust dart", take, 8, 110, "the front must be longer than the back from the same point; check both") {
		return o
	}
	underarm := geom.Pt(f.quarter, f.underarm+take)
	pitch := b.pitch("chest_width", tip, underarm, 0.42)
	if !b.armholeRoom("chest_width", "front", tip, underarm, pitch) {
		return o
	}
	span := m["bust_span"] / 2
	fall := m["bust_depth"]*m["bust_depth"] - (span-neck.X)*(span-neck.X)
	bust := geom.Pt(span, neck.Y-math.Sqrt(math.Max(0, fall)))
	if !b.within("bust_depth", "the bust point's height over the waist", bust.Y, 60, underarm.Y+40, "check the bust depth against the front length") ||
		!b.within("bust_span", "the bust point's distance from the side", underarm.X-span, 60, 500, "check the bust span against the bust") {
		return o
	}
	// The waist dart points at the bust and ends 25 mm below it (common practice: 15 to 30 mm).
	mouth := f.quarter - f.side
	w := waistline{to: geom.Pt(mouth, 0), t0: out(),
		darts: []wedge{{name: "waist_dart", at: math.Min(span, mouth-f.dart/2-15), width: f.dart, length: bust.Y - setBack}}}
	w.settle(underarm.Add(geom.Vec{Y: -take}))
	d, ok := b.sideDart(underarm, w.to, bust, side)
	if !ok {
		return o
	}
	w.t1 = d.lower.Sub(w.to).Unit().Right()
	tips := w.draw(o, "centre_waist", "side_waist")
	o.line("side_lower", "side_waist", "bust_dart_below", w.to, d.lower)
	o.line("bust_dart_lower", "bust_dart_below", "bust_dart_point", d.lower, d.point)
	o.line("bust_dart_upper", "bust_dart_point", "bust_dart_above", d.point, d.upper)
	o.dart("bust_dart", "bust_dart_lower", "bust_dart_upper", "bust_dart_lower") // pressed down: common practice
	o.line("side_upper", "bust_dart_above", "underarm", d.upper, underarm)
	leave := underarm.Sub(d.upper).Unit().Left()
	o.edge("armhole", "underarm", "shoulder", armholeCurve(underarm, leave, pitch, tip, slope.Right(), 0.6))
	o.line("shoulder", "shoulder", "neck", tip, neck)
	centre, ok := b.neckDepth(neck)
	if !ok {
		return o
	}
	o.edge("neck", "neck", "centre_neck", neckCurve(neck, neckFront(), centre))
	o.line("centre_front", "centre_neck", "centre_waist", centre, w.from).fold()
	o.dotIn("waist_dart_point", tips[0])
	o.dotIn("bust_dart_point", d.point)
	o.dotIn("bust_point", bust)
	o.grain(0.35*span, 0.15*centre.Y, 0.8*centre.Y)
	return o
}

// setBack is how far a dart ends before the bust point: 10 to 30 mm (common practice), so that it does
// not make a point of its own.
const setBack = 25.0

// neckDepth finds how deep the front neck must be for the whole neckline to have the neck's girth and
// its ease.
func (b *board) neckDepth(neck geom.Point) (geom.Point, bool) {
	m := b.body
	nape := geom.Pt(0, m["nape_to_waist"])
	backHalf := neckCurve(geom.Pt(neckWidth(m), backLength(m)), neckBack(), nape).Length()
	want := (m["neck"]+b.ease["neck"])/2 - backHalf
	centre := func(depth float64) geom.Point { return geom.Pt(0, neck.Y-depth) }
	depth, ok := root(func(d float64) float64 { return neckCurve(neck, neckFront(), centre(d)).Length() - want }, 0.2*neck.X, 5*neck.X, 1e-7)
	if !ok {
		b.refuse("draft_range", "neck", "no neckline has this length", "", "check the neck and its ease")
	}
	return centre(depth), ok
}

// bustDart is the dart in the side seam.
type bustDart struct{ upper, point, lower geom.Point }

// sideDart places the bust dart so that the side seam has its length and is straight when the dart is
// closed: then the part below the dart has turned about the dart's point until the waist's end lies
// where the length from the underarm and the distance from the point meet.
func (b *board) sideDart(underarm, waist, bust geom.Point, side float64) (bustDart, bool) {
	// A quarter of the way down from the underarm the dart begins (common practice: 40 to 80 mm
	// below it), pointing up to the bust.
	down := 0.25 * side
	flat := waist.Sub(underarm).Unit()
	mid := underarm.Add(flat.Mul(down + (underarm.Dist(waist)-side)/2))
	d := bustDart{point: bust.Add(mid.Sub(bust).Unit().Mul(setBack))}
	// Where two circles meet: round the underarm and round the dart's point.
	r := d.point.Dist(waist)
	v := d.point.Sub(underarm)
	l := v.Len()
	x := (side*side - r*r + l*l) / (2 * l)
	h2 := side*side - x*x
	if !(h2 > 0) {
		b.refuse("draft_range", "front_waist", "the bust dart can't be closed", "", "check front length, bust depth and bust span against each other")
		return d, false
	}
	u := v.Unit()
	closed := underarm.Add(u.Mul(x)).Add(u.Left().Mul(math.Sqrt(h2)))
	angle := closed.Sub(d.point).AngleTo(waist.Sub(d.point))
	d.upper = underarm.Add(closed.Sub(underarm).Unit().Mul(down))
	d.lower = geom.RotateAbout(d.point, angle).Apply(d.upper)
	if !(angle < -degrees(1.5) && angle > -degrees(45)) {
		b.refuse("draft_range", "front_waist", fmt.Sprintf("the bust dart would have an angle of %s degrees", whole(-angle*180/math.Pi)), "1.5 to 45 degrees",
			"the front must be longer than the back from the same point; check both")
		return d, false
	}
	return d, true
}
