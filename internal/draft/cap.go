package draft

import (
	"sizerun/internal/geom"
)

// The cap of a set-in sleeve is fitted, not guessed: a sleeve of a given width has one cap height, and
// one place for its crown between front and back, at which each half is as long as its armhole and its
// ease. A half grows with its width and with the height; so for a height each half has one width, and
// the higher the cap, the narrower the sleeve.

// capShape is the character of half a cap: its handles as shares of its width. Under the arm it is
// level and hollow, at the crown level and round.
type capShape struct{ underarm, crown float64 }

// The front is hollowed more under the arm and rounder before the crown, as the arm moves forward
// (common practice).
var (
	capFront = capShape{0.42, 0.47}
	capBack  = capShape{0.36, 0.49}
)

// half draws half a cap from the underarm at (w, 0), which it leaves along leave, to the crown.
func (c capShape) half(w, h float64, leave geom.Vec) geom.Path {
	e := geom.Pt(w, 0)
	return geom.Path{geom.Cubic(e, e.Add(leave.Mul(c.underarm*w)), geom.Pt(c.crown*w, h), geom.Pt(0, h))}
}

// width of a half that is l long under a cap of height h.
func (c capShape) width(l, h float64, leave geom.Vec) (float64, bool) {
	return root(func(w float64) float64 { return c.half(w, h, leave).Length() - l }, 0.02*l, l, 1e-8)
}

// fittedCap is a cap that fits: its height and the widths of its halves.
type fittedCap struct{ height, front, back float64 }

// fitCap finds the cap of a sleeve that is wide at the biceps line and whose halves are as long as told.
// It answers false when no cap is.
func fitCap(front, back, wide float64, leave geom.Vec) (fittedCap, bool) {
	var c fittedCap
	sound := true
	// Seen per height, the width left over falls from the whole of the halves, nearly flat, to nothing.
	lower := front
	if back < front {
		lower = back
	}
	over := func(h float64) float64 {
		var ok1, ok2 bool
		c.height = h
		c.front, ok1 = capFront.width(front, h, leave)
		c.back, ok2 = capBack.width(back, h, leave)
		sound = ok1 && ok2
		return c.front + c.back - wide
	}
	h, ok := root(over, 0.05*lower, 0.93*lower, 1e-8)
	if !ok || !sound {
		return c, false
	}
	over(h)
	return c, sound
}
