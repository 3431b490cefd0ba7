package draft

import (
	"fmt"

	"sizerun/internal/geom"
	"sizerun/internal/pattern"
)

// armhole is half an armhole as the sleeve needs to know it.
type armhole struct {
	length float64
	notch  float64 // from the underarm
	dot    float64 // from the shoulder
}

// sleeve draws the set-in sleeve of a bodice: biceps line on y = 0, crown on x = 0, the back to the left.
func (b *board) sleeve(front, back armhole) {
	ef, eb := b.ease["cap_front"], b.ease["cap_back"]
	wide := b.m("upper_arm") + b.ease["upper_arm"]
	long, taper := b.lengths["sleeve_underarm"], b.lengths["sleeve_taper"]
	// The underarm seams lean alike, and the cap leaves them square, so that it runs on across the
	// seam when that is sewn.
	lean := geom.Vec{X: taper, Y: long}.Unit()
	if hem := wide - 2*taper; hem < 60 {
		b.refuse("draft_range", "upper_arm", fmt.Sprintf("the hem of the sleeve would be %s mm round", whole(hem)), "60 mm and more", "taper the sleeve less")
		return
	}
	c, ok := fitCap(front.length+ef, back.length+eb, wide, lean.Left())
	// A cap lower than a fifth of the armhole binds when the arm hangs, one higher than 0.45 of it
	// when the arm is lifted (common practice: a quarter to two fifths).
	arm := front.length + back.length
	if !ok || c.height < 0.15*arm || c.height > 0.46*arm {
		b.refuse("cap_height", "upper_arm", fmt.Sprintf("no sleeve of %s mm fits an armhole of %s mm", whole(wide), whole(arm)),
			fmt.Sprintf("a cap between %s and %s mm high", whole(0.15*arm), whole(0.46*arm)),
			"check the upper arm; for a strong arm lower the armhole, for a thin one give the sleeve more ease")
		return
	}
	o := newOutline("sleeve", "Sleeve", pattern.Cut{Count: 2, Pair: true, Cloth: "main"})
	underF, underB := geom.Pt(c.front, 0), geom.Pt(-c.back, 0)
	hemF, hemB := underF.Add(geom.Vec{X: -taper, Y: -long}), underB.Add(geom.Vec{X: taper, Y: -long})
	mirror := geom.Scale(-1, 1)
	// The hem leaves both seams square for the same reason.
	o.edge("hem", "hem_back", "hem_front", curve(hemB, mirror.ApplyVec(lean).Right(), hemF, lean.Right(), third, third))
	o.line("underarm_front", "hem_front", "underarm_front", hemF, underF)
	o.edge("cap_front", "underarm_front", "crown", capFront.half(c.front, c.height, lean.Left()))
	o.edge("cap_back", "crown", "underarm_back", capBack.half(c.back, c.height, lean.Left()).Transform(mirror).Reverse())
	o.line("underarm_back", "underarm_back", "hem_back", underB, hemB)
	o.dotAtCorner("crown", "crown")
	// No ease from the underarm to the notches; half of it between notch and dot, half from there to
	// the crown.
	o.notch("front_notch", 1, "cap_front", "underarm_front", front.notch)
	o.dotOn("front_dot", "cap_front", "crown", front.dot+ef/2)
	o.notch("back_notch", 2, "cap_back", "underarm_back", back.notch)
	o.dotOn("back_dot", "cap_back", "crown", back.dot+eb/2)
	o.grain(0, -0.6*long, 0.65*c.height)
	b.put(o.done(geom.Identity()), "upper_arm")
	b.seam(pattern.Seam{Name: "underarm", Sew: refs("sleeve", "underarm_front"), To: against("sleeve", "underarm_back"), SmoothStart: true, SmoothEnd: true})
	b.seam(pattern.Seam{Name: "armhole_front", Cap: true, Sew: refs("sleeve", "cap_front"), To: against("front", "armhole"),
		Ease: pattern.Range{Min: ef, Max: ef}, Notches: meet("sleeve", "front", "front_notch", "front_dot")})
	b.seam(pattern.Seam{Name: "armhole_back", Cap: true, Sew: refs("sleeve", "cap_back"), To: against("back", "armhole"),
		Ease: pattern.Range{Min: eb, Max: eb}, Notches: meet("sleeve", "back", "back_dot", "back_notch")})
}
