package draft

import (
	"math"

	"sizerun/internal/geom"
	"sizerun/internal/pattern"
)

// TriangleProportions are the bust and the waist that a proportion triangle gives for a size number: an
// upright triangle whose base and height are a third of the size has the bust as its perimeter, and the two
// lines from its apex to the quarters of its base make the waist (Rosenfeld, "The Practical Designer",
// about 1918, page 14; Wikisource, public domain; it prints 39 and 25 for size 36). Any unit of length.
//
// They are the proportions of a figure of that time, kept as a worked example and not used by the drafts.
func TriangleProportions(size float64) (bust, waist float64) {
	base := size / 3
	apex := base // the height
	bust = base + 2*math.Hypot(base/2, apex)
	waist = 2 * math.Hypot(base/4, apex)
	return bust, waist
}

// PlainSleeve is the frame of a one-piece sleeve as a school book draws it ("School Sewing", one-piece
// foundation sleeve; chestofbooks.com, public domain): a cap of 4 in, half the sleeve half an inch wider
// than half the armhole, the cap's guide points at one and two fifths of the armhole from the fold's end,
// the under half hollowed by 3/4 in.
type PlainSleeve struct {
	Cap    float64 // height of the cap
	Wide   float64 // of the whole sleeve at the underarm
	N, O   float64 // guide points of the cap, from the underarm
	Hollow float64 // of the under half of the cap below the line
}

// PlainSleeveFrame draws that frame for an armhole; lengths in mm.
func PlainSleeveFrame(armhole float64) PlainSleeve {
	const in = pattern.Inch
	return PlainSleeve{Cap: 4 * in, Wide: 2 * (armhole/2 + in/2), N: armhole / 5, O: 2 * armhole / 5, Hollow: 0.75 * in}
}

func plainSleeveDraft() Definition {
	return Definition{
		Name:     "plain_sleeve",
		Sentence: "A one-piece sleeve with a low cap, from the armhole it is for, after a public-domain school book.",
		Measures: []Measure{
			{Name: "armhole", Sentence: "Round the armhole, along the seam.", Min: 250, Max: 900},
			{Name: "wrist", Sentence: "Round the wrist.", Min: 80, Max: 500},
			{Name: "arm_length", Sentence: "From the shoulder's end over the bent elbow to the wrist.", Min: 250, Max: 900},
		},
		Ease: []Option{
			{Name: "wrist", Sentence: "How much wider than the wrist.", Default: 60, Min: 10, Max: 400},
		},
		Finished: []pattern.Finished{
			{Name: "biceps", Says: "Sleeve, at the underarm", Terms: []pattern.Term{armRow()}},
			crownRow(),
			hemRow("Sleeve, round the hem", 1, "sleeve"),
		},
		draw: plainSleeve,
	}
}

// plainSleeve draws the frame's sleeve: biceps line on y = 0, the back to the left.
func plainSleeve(b *board) {
	f := PlainSleeveFrame(b.m("armhole"))
	half := f.Wide / 2
	long := b.m("arm_length") - f.Cap
	hem := (b.m("wrist") + b.ease["wrist"]) / 2
	if !b.within("arm_length", "the underarm seam", long, 40, 900, "check the arm length") ||
		!b.within("wrist", "half the hem", hem, 30, half, "check wrist and armhole against each other") {
		return
	}
	o := newOutline("sleeve", "Sleeve", pattern.Cut{Count: 2, Pair: true, Cloth: "main"})
	crown := geom.Pt(0, f.Cap)
	underF, underB := geom.Pt(half, 0), geom.Pt(-half, 0)
	hemF, hemB := geom.Pt(hem, -long), geom.Pt(-hem, -long)
	lean := underF.Sub(hemF).Unit()
	mirror := geom.Scale(-1, 1)
	o.edge("hem", "hem_back", "hem_front", curve(hemB, mirror.ApplyVec(lean).Right(), hemF, lean.Right(), third, third))
	o.line("underarm_front", "hem_front", "underarm_front", hemF, underF)
	// The front half is hollowed below the straight line from underarm to crown where N lies, and
	// rises over it at O; the back half is hollowed half as much (common practice: the front of the
	// arm moves forward). A curve through these runs level into the crown.
	capHalf := func(hollow float64) (geom.Path, error) {
		u := crown.Sub(underF).Unit()
		l := crown.Dist(underF)
		n := underF.Add(u.Mul(math.Min(f.N, 0.4*l))).Add(u.Left().Mul(hollow))
		p := underF.Add(u.Mul(math.Min(f.O, 0.72*l))).Add(u.Right().Mul(hollow / 3))
		leave, arrive := lean.Left(), out().Mul(-1)
		return geom.Through([]geom.Point{underF, n, p, crown}, &leave, &arrive)
	}
	front, err := capHalf(f.Hollow)
	back, err2 := capHalf(f.Hollow / 2)
	if err != nil || err2 != nil {
		b.refuse("draft_range", "armhole", "no cap can be drawn for this armhole", "", "check the armhole")
		return
	}
	o.edge("cap_front", "underarm_front", "crown", front)
	o.edge("cap_back", "crown", "underarm_back", back.Transform(mirror).Reverse())
	o.line("underarm_back", "underarm_back", "hem_back", underB, hemB)
	o.dotAtCorner("crown", "crown")
	o.notch("front_notch", 1, "cap_front", "underarm_front", f.N)
	o.notch("back_notch", 2, "cap_back", "underarm_back", f.N)
	o.grain(0, -0.7*long, 0.6*f.Cap)
	b.put(o.done(geom.Identity()), "armhole")
	b.seam(pattern.Seam{Name: "underarm", Sew: refs("sleeve", "underarm_front"), To: against("sleeve", "underarm_back"), SmoothStart: true, SmoothEnd: true})
}
