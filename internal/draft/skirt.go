package draft

import (
	"math"

	"sizerun/internal/geom"
	"sizerun/internal/pattern"
)

func skirtDraft() Definition {
	return Definition{
		Name:     "skirt",
		Sentence: "A straight skirt with one dart in each front half and two in each back half.",
		Measures: []Measure{
			{Name: "waist", Sentence: "Round the natural waist.", Min: 350, Max: 2000},
			{Name: "hip", Sentence: "Round the fullest part of the hip.", Min: 500, Max: 2200},
			hipDepth(),
		},
		Ease: []Option{
			// Wearing ease at the hip 2 to 2¾ in, at the waist ¾ to 1 in, for garments in one with a
			// bodice (CWU, chapter 16); a skirt by itself has less (common practice).
			{Name: "waist", Sentence: "How much wider than the waist, in all.", Default: 15, Min: 0, Max: 200},
			{Name: "hip", Sentence: "How much wider than the hip, in all.", Default: 40, Min: 0, Max: 400},
		},
		Lengths: []Option{
			{Name: "skirt", Sentence: "The length at the centre, from waist to hem.", Default: 600, Min: 250, Max: 1300},
			{Name: "hem_in", Sentence: "How much each side seam comes in at the hem; less than 0 flares it.", Default: 0, Min: -200, Max: 40},
		},
		Finished: []pattern.Finished{
			waistRow("waist_centre", "waist_side", "waist_centre", "waist_middle", "waist_side"),
			{Name: "hip", Says: "Hip", Body: "hip", Terms: []pattern.Term{across("front", "hip", "centre_front", 2), across("back", "hip", "centre_back", 2)}},
			lengthRow("length", "Centre back, waist to hem", "back", "centre_back", "centre_waist", "hem"),
			hemRow("Hem, all round", 2, "front", "back"),
		},
		draw: skirt,
	}
}

// hipDepth is shared by skirt and trousers.
func hipDepth() Measure {
	return Measure{Name: "waist_to_hip", Sentence: "From the waist down the side to the level of the hip.", Min: 120, Max: 330,
		// About 200 mm, a little more for the larger (common practice).
		Guess: func(m map[string]float64) float64 { return 140 + m["hip"]/14 }, Rule: "a 14th of the hip, and 140 mm"}
}

// skirt draws both pieces standing on their waist (y up from the waist to the hem) and turns them over.
func skirt(b *board) {
	hip := (b.m("hip") + b.ease["hip"]) / 4
	waist := (b.m("waist") + b.ease["waist"]) / 4
	depth, long, hem := b.m("waist_to_hip"), b.lengths["skirt"], b.lengths["hem_in"]
	loss := hip - waist
	// A third of what is lost to the waist goes into the side seam, as much in front as in the back,
	// so that both sides have the same course; the darts take the rest, the back more than the front
	// by 20 mm, for the seat is rounder than the belly (common practice). Where there is little to
	// lose the darts stay at 10 mm each and the side takes less, or flares.
	front := math.Max(10, 2*loss/3-10)
	back := math.Max(20, 2*loss/3+10)
	side := loss - (front+back)/2
	if !b.within("waist", "what each side of the skirt takes in from hip to waist", side, -60, 75, "check waist and hip against each other") ||
		!b.within("waist_to_hip", "the length from hip to hem", long-depth, 60, 2000, "make the skirt longer") {
		return
	}
	// The front is wider at the hip by 10 mm a half, and as much at the waist as its darts take less.
	f := skirtHalf{"front", "Skirt front", hip + 10, side, depth, long, hem, spread(0.62, hip+10-side, []wedge{
		{name: "waist_dart", width: front, length: 0.5 * depth}})}
	k := skirtHalf{"back", "Skirt back", hip - 10, side, depth, long, hem, spread(0.36, hip-10-side, []wedge{
		{name: "waist_dart_1", width: 0.54 * back, length: 0.68 * depth},
		{name: "waist_dart_2", width: 0.46 * back, length: 0.6 * depth}})}
	// Their waists would end at different heights, by a few millimetres; both get the mean, so that the
	// side seams are the same.
	height := (f.waistline().to.Y + k.waistline().to.Y) / 2
	b.put(f.draw(height).done(geom.RotateAbout(geom.Pt(0, 0), math.Pi)), "hip")
	b.put(k.draw(height).done(geom.Scale(1, -1)), "hip")
	b.seam(pattern.Seam{Name: "side", Sew: refs("back", "side"), To: against("front", "side"), SmoothStart: true, SmoothEnd: true, Notches: meet("back", "front", "hip")})
	b.seam(pattern.Seam{Name: "front_waist_dart", Sew: refs("front", "waist_dart_in"), To: against("front", "waist_dart_out"), SmoothStart: true})
	for _, n := range []string{"waist_dart_1", "waist_dart_2"} {
		b.seam(pattern.Seam{Name: "back_" + n, Sew: refs("back", n+"_out"), To: against("back", n+"_in"), SmoothStart: true})
	}
}

// spread puts darts along a waist: a single one at a share of it, two at that share and as far again.
func spread(share, waist float64, darts []wedge) []wedge {
	for i := range darts {
		darts[i].at = share * float64(i+1) * waist
	}
	return darts
}

// skirtHalf is a half on the fold, standing on its waist.
type skirtHalf struct {
	name, title            string
	hip, side, depth, long float64 // width at the hip; what the side takes in; down to the hip, to the hem
	hemIn                  float64
	darts                  []wedge
}

// ends of the side below the hip. There it is already on its way to the hem: it runs on without a corner.
func (h *skirtHalf) ends() (hip, hem geom.Point, fall geom.Vec) {
	hip, hem = geom.Pt(h.hip, h.depth), geom.Pt(h.hip-h.hemIn, h.long)
	return hip, hem, hem.Sub(hip).Unit()
}

// over is the place a little over the hip that the side leans out to from the waist: the hip is round.
func (h *skirtHalf) over() geom.Point {
	hip, _, fall := h.ends()
	return hip.Add(fall.Mul(-0.45 * h.depth))
}

func (h *skirtHalf) waistline() waistline {
	w := waistline{to: geom.Pt(h.hip-h.side, 0), t0: out(), darts: h.darts}
	w.settle(h.over())
	return w
}

// draw puts the half down with the side's end of the waist at a height.
func (h *skirtHalf) draw(height float64) *outline {
	o := newOutline(h.name, h.title, pattern.Cut{Count: 1, Cloth: "main"})
	w := h.waistline()
	w.to.Y = height
	w.t1 = h.over().Sub(w.to).Unit().Right()
	tips := w.draw(o, "centre_waist", "side_waist")
	hip, hem, fall := h.ends()
	l := w.to.Dist(hip)
	o.edge("side", "side_waist", "side_hem", geom.Path{
		geom.Cubic(w.to, w.to.Add(w.t1.Left().Mul(0.33*l)), hip.Add(fall.Mul(-0.45*l)), hip), geom.Line(hip, hem)})
	// The hem leaves the side square and runs level into the centre.
	centre := geom.Pt(0, h.long+hemDrop(hem.X, fall))
	o.edge("hem", "side_hem", "centre_hem", curve(hem, fall.Left(), centre, out().Mul(-1), third, third))
	o.line("centre_"+h.name, "centre_hem", "centre_waist", centre, w.from).fold()
	for i, t := range tips {
		o.dotIn(h.darts[i].name+"_point", t)
	}
	o.notch("hip", 1, "side", "side_hem", hem.Dist(hip))
	o.grain(0.25*h.hip, 0.3*h.long, 0.85*h.long)
	return o
}

// hemDrop is how far the centre of a hem lies below its sides when both are square and the hem turns
// evenly between them.
func hemDrop(half float64, side geom.Vec) float64 { return half * math.Tan(up().AngleTo(side)/-2) }
